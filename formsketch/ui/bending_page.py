"""Bending at the bench: every bend with its tube, how far past the turn to go, and where its mark stands."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QWidget

from formsketch.bench.tubes import Tube
from formsketch.design.edits import change_bend_marks
from formsketch.evaluation.bench_report import mark_mm
from formsketch.evaluation.bend_marks import BEND_MARKS_TEXT
from formsketch.evaluation.bending import OnTube, SpanBend, bending_of
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import angle_text, band_text, inch_fraction_text, length_text, percent_text

_WAYS = (("round", "round a tube, from mark to mark"), ("grip", "gripped at a mark in the middle"))
_HEADINGS = ("Span", "Mark at", "Turn", "Bend to", "Tube", "Annealed", "Drawn hard", "Nearest")
_TUBES = ("Tube", "Finished radius", "Inside, finished", "Bend to", "All its wire gives")
NOTES = (
    "All before hammering. Annealed is the range of the metal's yield and stiffness, a smaller tube where it "
    "springs more; pulling the wire by hand lessens spring-back, down to none. Finished is after letting go "
    "and hammering, inside at the widest place."
)


class BendingPage(BenchPage):
    """A table of the bends, and the selected one on the tubes at hand."""

    def __init__(
        self, parent: QWidget, session: Session, selection: Selection, tubes: Sequence[Tube]
    ) -> None:
        super().__init__(parent, session, selection, "Bending")
        self._tubes = tubes
        self._spans: list[int] = []
        self.way = QComboBox()
        self.way.setAccessibleName("Bend")
        for way, text in _WAYS:
            self.way.addItem(text, way)
        label = QLabel("&Bend")
        label.setBuddy(self.way)
        asked = QHBoxLayout()
        asked.addWidget(label)
        asked.addWidget(self.way)
        asked.addStretch(1)
        self.meaning = words()
        self.bends = PlainTable("Bends in order", _HEADINGS)
        self.heading = QLabel()
        self.heading.setObjectName("heading")
        self.on_tubes = PlainTable("The selected bend on the nearest tubes", _TUBES, choosing=False)
        self.on_tubes.setFixedHeight(102)
        self.facts, self.caution, notes = words(), words("caution"), words("note")
        notes.setText(NOTES)
        self.column.addLayout(asked)
        for widget in (
            self.meaning,
            self.bends,
            self.heading,
            self.on_tubes,
            self.facts,
            self.caution,
            notes,
        ):
            self.column.addWidget(widget, 1 if widget is self.bends else 0)
        self.way.activated.connect(self._use_way)
        self.bends.currentCellChanged.connect(self._choose)
        self.resize(780, 640)

    def show_design(self) -> None:
        """All bends, and the selected one's tubes."""
        e = self.session.evaluation
        way = e.design.bend_marks
        self.way.setCurrentIndex(self.way.findData(way))
        self.meaning.setText(f"{BEND_MARKS_TEXT[way].capitalize()}.")
        bends = bending_of(e, self._tubes)
        self._spans = [i for i, bend in enumerate(bends) if bend.as_bent_radius_mm is not None]
        span = self.chosen_span()
        self.bends.blockSignals(True)
        self.bends.show_rows([_row(i, bends[i], way) for i in self._spans])
        self.bends.setCurrentCell(self._spans.index(span) if span in self._spans else -1, 0)
        self.bends.blockSignals(False)
        bend = None if span is None else bends[span]
        self.heading.setText("No span selected" if span is None else f"Span {span + 1}")
        self.on_tubes.show_rows([] if bend is None else [_tube_row(one) for one in bend.on_tubes])
        self.facts.setText("" if bend is None else _facts(bend))
        caution = "" if bend is None else bend.caution
        self.caution.setText(f"{caution[:1].upper()}{caution[1:]}.")
        self.caution.setVisible(bool(caution))

    def _choose(self, row: int, *_: int) -> None:
        if 0 <= row < len(self._spans):
            self.selection.select(self._spans[row])

    def _use_way(self) -> None:
        way = self.way.currentData()
        if way != self.session.design.bend_marks:
            self.session.change("Bend marks", change_bend_marks(self.session.design, way))


def _row(span: int, bend: SpanBend, way: str) -> tuple[str, ...]:
    low, high = bend.tube_range_mm or (None, None)
    annealed = "unknown" if low is None or high is None else f"{low:.2f} to {high:.2f}"
    nearest = min(
        bend.on_tubes, key=lambda one: abs(one.tube.diameter_mm - (bend.tube_mm or 0.0)), default=None
    )
    return (
        str(span + 1),
        _length(mark_mm(bend, way)),
        angle_text(bend.turn_deg),
        "by eye" if bend.held_deg is None else angle_text(bend.held_deg),
        "none so tight" if bend.tube_mm is None else length_text(bend.tube_mm),
        annealed,
        _length(bend.hard_tube_mm),
        "" if nearest is None else nearest.tube.label,
    )


def _tube_row(one: OnTube) -> tuple[str, ...]:
    low, high = one.finished_radius_range_mm
    middle = one.finished_radius_mm
    band = ""
    if low is not None and high is not None and middle is not None:
        band = f" ({band_text(low, high, middle)})" if band_text(low, high, middle) else ""
    return (
        one.tube.label,
        f"{_length(middle)}{band}",
        _length(one.inside_mm),
        "by eye" if one.held_deg is None else angle_text(one.held_deg),
        "" if one.wrapped_deg is None else angle_text(one.wrapped_deg),
    )


def _facts(bend: SpanBend) -> str:
    """What else there is to know of a bend, in a sentence or two."""
    if bend.as_bent_radius_mm is None:
        return "Straight: nothing to bend."
    said = [f"Radius as bent {length_text(bend.as_bent_radius_mm)} to the middle of the wire."]
    if bend.tube_mm is not None:
        said.append(f"Tube {length_text(bend.tube_mm)}, {inch_fraction_text(bend.tube_mm)}.")
    if bend.kept is not None:
        said.append(f"{percent_text(100 * bend.kept)} of the turn stays after letting go.")
    if bend.held_range_deg is not None:
        low, high = sorted(bend.held_range_deg, key=abs)
        said.append(f"Bend to {angle_text(low)} up to {angle_text(high)}.")
    if bend.outer_strain is not None:
        said.append(f"The outside stretches by {percent_text(100 * bend.outer_strain)}.")
    shorter = bend.stock_length_mm - bend.corrected_length_mm
    if shorter >= 0.005:
        said.append(
            f"Bent so tight it takes {length_text(shorter)} less wire, "
            f"{length_text(bend.corrected_length_mm)} "
            "(bend allowance with K from 0.5 down to 0.33, as for sheet; marks are not moved by it)."
        )
    grip = bend.grip_at_mm
    said.append(
        f"Marks round a tube {length_text(bend.round_from_mm)} to {length_text(bend.round_to_mm)}"
        + (f"; gripped at {length_text(grip)}." if grip is not None else "; turns both ways, no one middle.")
    )
    return " ".join(said)


def _length(value_mm: float | None) -> str:
    return "unknown" if value_mm is None else length_text(value_mm)
