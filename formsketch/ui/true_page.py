"""The page that says whether a piece is true, and rings on the form what is chosen in its table."""

from __future__ import annotations

from typing import Protocol

from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.evaluation.true_checks import USUAL_TOLERANCE_MM, TrueChecks, checked_tolerance, true_checks
from formsketch.evaluation.true_report import HEADINGS, Finding, findings, row_words, verdict
from formsketch.ui.background import LatestOnly
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.fields import NumberGroup, QuantityField
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text
from formsketch.values import Result

_FIELDS_PX = 330


class ShowPlace(Protocol):
    """Rings one place on the form, or two; None for none."""

    def __call__(self, sample: float | None, other: float | None = None) -> None: ...


class _Answer(Result, frozen=True):
    checks: TrueChecks
    tolerance_mm: float


class TruePage(BenchPage):
    """Follows the design; worked out beside the window, `found` is what the table shows."""

    def __init__(
        self, parent: QWidget, session: Session, selection: Selection, show_place: ShowPlace
    ) -> None:
        super().__init__(parent, session, selection, "True")
        self._show_place = show_place
        self._tolerance_mm = USUAL_TOLERANCE_MM
        self.found: list[Finding] = []
        self.work = LatestOnly(self)
        self.work.done.connect(self._show_answer)
        group = NumberGroup("What counts as equal")
        self.tolerance = QuantityField(parse_length_mm, self._use_tolerance)
        self.tolerance.refused.connect(self.explain)
        group.add_field("Tolerance", self.tolerance, "0.2 mm is what the eye lets pass (common practice).")
        self.verdict, self.rows, self.note = words("value"), words(), words("note")
        self.note.setText(
            "Openings are measured edge to edge in plan, as the form is drawn; an even row may swell and "
            "shrink along its length. Rolled, they are measured in space on the mandrel that the size of "
            "the design asks for. Halves and loops are compared without the ends."
        )
        self.table = PlainTable("What was found", HEADINGS)
        self.table.keep_rows_low()
        self.table.currentCellChanged.connect(lambda row, *_: self._ring(row))
        left, side = QWidget(), QVBoxLayout()
        left.setLayout(side)
        left.setFixedWidth(_FIELDS_PX)
        side.setContentsMargins(0, 0, 0, 0)
        for part in (group, self.verdict, self.rows, self.note):
            side.addWidget(part)
        side.addStretch(1)
        beside = QHBoxLayout()
        beside.addWidget(left)
        beside.addWidget(self.table, 1)
        self.column.addLayout(beside, 1)
        self.tolerance.show_value(length_text(self._tolerance_mm))
        self.resize(1000, 480)

    def _use_tolerance(self, tolerance_mm: float) -> None:
        self._tolerance_mm = checked_tolerance(tolerance_mm)
        self.refresh()

    def show_design(self) -> None:
        self.tolerance.show_value(length_text(self._tolerance_mm))
        evaluation, tolerance_mm = self.session.evaluation, self._tolerance_mm
        self.work.ask(lambda: _Answer(true_checks(evaluation), tolerance_mm))
        if not self.verdict.text():
            self.verdict.setText("Working it out ...")

    def _show_answer(self, answer: object) -> None:
        if not isinstance(answer, _Answer):
            self.explain(str(answer))
            return
        if not self.isVisible() or answer.checks.evaluation is not self.session.evaluation:
            return
        checks, tolerance_mm = answer.checks, answer.tolerance_mm
        self.found = findings(checks, tolerance_mm)
        self.verdict.setText(verdict(checks, tolerance_mm))
        told = [row_words(checks, row) for row in checks.rows if len(row.gaps) > 1]
        if checks.not_rolled:
            told.append(f"{checks.not_rolled} Say so under Bench, Fit to a size.")
        self.rows.setText("\n\n".join(told))
        self.table.show_rows([one.texts for one in self.found])
        self._ring(self.table.currentRow())

    def _ring(self, row: int) -> None:
        """Ring the places of the row chosen, while the page is to be seen."""
        if not self.isVisible() or not 0 <= row < len(self.found):
            self._show_place(None)
            return
        places = self.found[row].places
        self._show_place(places[0], places[1] if len(places) > 1 else None)

    def hideEvent(self, event: QHideEvent) -> None:
        self.work.wait()
        self._show_place(None)
        super().hideEvent(event)
