"""Stones along the wire: evenly spaced places for heads or tubes, what metal is left there, and the marks."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QWidget

from formsketch.evaluation.bays import place_text, wire_places
from formsketch.fitting.stones import (
    METAL_LEFT_MM,
    MOST_STONES,
    SOLDER_SENTENCE,
    USUAL_DEPTH,
    Seat,
    Spacing,
    brilliant_ct,
    nearest_seats_mm,
    seats_along,
)
from formsketch.ui.balls_picture import Placed
from formsketch.ui.fields import CalmComboBox, NumberGroup
from formsketch.ui.fit_page import FitPage, count_of, size_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text

_HEADINGS = (
    "Stone",
    "Along form",
    "On straight wire",
    "Plan width",
    "Each side",
    "Width",
    "Middle at x, y",
)
_NOTE = (
    f"{SOLDER_SENTENCE} Marks are from the start end of the cut wire. Carat of a diamond brilliant by the "
    "trade formula 0.0061 × diameter² × depth, good to some per cent; other stones weigh by their density."
)


class StonesPage(FitPage):
    """So many seats, evenly by length or by angle, over the whole form or a stretch of it."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection) -> None:
        super().__init__(parent, session, selection, "Stones along the wire", _HEADINGS)
        self._numbers: dict[str, float] = {
            "count": 3, "seat": 1.5, "left": METAL_LEFT_MM, "depth": 0.0, "begin": 0.0, "end": 0.0
        }  # fmt: skip
        self.seats: tuple[Seat, ...] = ()
        group = NumberGroup("Stones")
        self.rows = {
            "count": group.add_field("Stones", self._number("count", count_of(1, MOST_STONES))),
            "seat": group.add_field(
                "Seat, outside", self._number("seat", size_mm(0.3, 50.0)), "Head or tube."
            ),
            "left": group.add_field("Metal left each side", self._number("left", size_mm(0.0, 10.0))),
            "depth": group.add_field(
                "Depth of the stone", self._number("depth", size_mm(0.0, 50.0)), "0 for 60 % of its diameter."
            ),
            "begin": group.add_field(
                "From", self._number("begin", size_mm(0.0, 20_000.0)), "Along the form."
            ),
            "end": group.add_field(
                "To", self._number("end", size_mm(0.0, 20_000.0)), "Along the form; 0 for its end."
            ),
        }
        self.spacing = CalmComboBox()
        self.spacing.addItem("equal lengths", "length")
        self.spacing.addItem("equal angles", "angle")
        self.spacing.currentIndexChanged.connect(self.refresh)
        group.add_field("Spaced by", self.spacing, wide=True)
        self.asked.addWidget(group)
        self.asked.addStretch(1)
        self.note.setText(_NOTE)

    def _number(self, name: str, read: Callable[[str], float]) -> QWidget:
        return self.field(read, lambda value: self._numbers.__setitem__(name, value))

    def show_design(self) -> None:
        """The seats of the design as it is; told where they cannot be."""
        e, n = self.session.evaluation, self._numbers
        total = e.finished_length_mm
        for name, row in self.rows.items():
            row.show(str(int(n[name])) if name == "count" else length_text(n[name]))
        usual = f"{length_text(USUAL_DEPTH * n['seat'])} taken" if not n["depth"] else "your own"
        self.rows["depth"].aside.setText(usual)
        self.seats = ()
        self.table.show_rows([])
        self.found.setText("")
        self.picture.show_form(e)
        kind: Spacing = "angle" if self.spacing.currentData() == "angle" else "length"
        self.seats = seats_along(
            wire_places(e), int(n["count"]), n["seat"], kind, n["left"],
            n["begin"] / total, min(1.0, (n["end"] or total) / total),
        )  # fmt: skip
        self.table.show_rows([_row(number, seat) for number, seat in enumerate(self.seats, start=1)])
        self.found.setText(self._sentence())
        self.picture.show_form(
            e, [Placed(s.at_mm, n["seat"], "stone", str(i)) for i, s in enumerate(self.seats, start=1)]
        )

    def _sentence(self) -> str:
        n = self._numbers
        fit = sum(seat.fits for seat in self.seats)
        carat = brilliant_ct(n["seat"], n["depth"] or None)
        apart = nearest_seats_mm(self.seats)
        near = "" if apart is None else f" Middles {length_text(apart)} apart in plan at least."
        if apart is not None and apart < n["seat"]:
            near += " Seats overlap."
        return (
            f"Wide enough: {fit} of {len(self.seats)} places.{near} A diamond brilliant of "
            f"{length_text(n['seat'])} weighs about {carat:.3f} ct, {len(self.seats)} of them "
            f"{carat * len(self.seats):.2f} ct."
        )

    def notes_text(self) -> str:
        lines = ["Stones along the wire:"]
        for number, seat in enumerate(self.seats, start=1):
            row = _row(number, seat)
            lines.append(f"{row[0]}: mark at {row[2]}, plan width {row[3]}, left each side {row[4]}")
        return "\n".join([*lines, self.found.text(), SOLDER_SENTENCE])


def _row(number: int, seat: Seat) -> list[str]:
    room = "wide enough" if seat.fits else "too narrow"
    sizes = (seat.finished_mm, seat.mark_mm, seat.plan_width_mm, seat.left_mm)
    return [str(number), *map(length_text, sizes), room, place_text(seat.at_mm)]
