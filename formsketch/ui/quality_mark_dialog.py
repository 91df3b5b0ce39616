"""Room for a quality mark: where a flat of the size asked for exists, on the wire and in plan."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from formsketch.design.model import Design, QualityMark
from formsketch.design.set_edits import place_quality_mark
from formsketch.errors import InputError
from formsketch.evaluation.bays import place_text, wire_places
from formsketch.fitting.quality_mark import LAW_SENTENCE, USUAL_MARK_MM, MarkRoom, room_for_mark
from formsketch.ui.balls_picture import Placed
from formsketch.ui.fields import NumberGroup
from formsketch.ui.fit_page import FitPage, size_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text

_HEADINGS = ("Mark", "Along the form", "On the straight wire", "To spare across", "Middle at x, y")


class QualityMarkPage(FitPage):
    """The place with the most room for a punch so wide and so long."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection) -> None:
        super().__init__(parent, session, selection, "Room for a quality mark", _HEADINGS)
        self._wide, self._long = USUAL_MARK_MM
        self.room: MarkRoom | None = None
        group = NumberGroup("The mark")
        self.wide = group.add_field("Across the wire", self.field(size_mm(0.1, 20.0), self._set_wide))
        self.long = group.add_field("Along the wire", self.field(size_mm(0.1, 100.0), self._set_long))
        self.asked.addWidget(group)
        self.asked.addStretch(1)
        self.place = self.add_button("&Keep this place", "Place for a quality mark", self._place)
        self.take_out = self.add_button(
            "&Take out", "Take out the quality mark", lambda design: place_quality_mark(design, None)
        )
        self.note.setText(
            f"{LAW_SENTENCE} The flat is the hammered width less the thickness, for the edges stay round; "
            "how wide it comes out rests on the spread of your hammer."
        )

    def _place(self, design: Design) -> Design:
        """The design with the place that was found kept for the mark."""
        if self.room is None:
            raise InputError("There is no place to keep.")
        share = round(self.room.finished_mm / self.session.evaluation.finished_length_mm, 9)
        return place_quality_mark(design, QualityMark(at_share=share, wide_mm=self._wide, long_mm=self._long))

    def _set_wide(self, value: float) -> None:
        self._wide = value

    def _set_long(self, value: float) -> None:
        self._long = value

    def show_design(self) -> None:
        """The best place in the design as it is, or that there is none."""
        e = self.session.evaluation
        self.wide.show(length_text(self._wide))
        self.long.show(length_text(self._long))
        size = f"{self._wide:g} × {self._long:g} mm"
        room = self.room = room_for_mark(wire_places(e), self._wide, self._long, e.set_on.seats_taken_mm)
        kept = e.design.quality_mark
        self.write.setEnabled(room is not None)
        self.place.setEnabled(room is not None)
        self.take_out.setEnabled(kept is not None)
        if room is None:
            self.table.show_rows([])
            self.found.setText(
                f"There is no flat of {size}: hammer a straight enough stretch flatter, or mark a tag."
            )
            self.picture.show_form(e, with_set=True)
            return
        self.table.show_rows(
            [
                [
                    "1",
                    *map(length_text, (room.finished_mm, room.mark_mm, room.spare_mm)),
                    place_text(room.at_mm),
                ]
            ]
        )
        self.found.setText(f"There is room for {size}; {length_text(room.spare_mm)} to spare across.")
        corners = room.corners_mm(self._wide, self._long)
        mark = Placed(room.at_mm, self._wide, "mark", "1", corners_mm=corners)
        self.picture.show_form(e, [mark], with_set=True)

    def notes_text(self) -> str:
        room = self.room
        where = "" if room is None else f" Middle {length_text(room.mark_mm)} from the start of the cut wire."
        return f"Room for a quality mark: {self.found.text()}{where}"
