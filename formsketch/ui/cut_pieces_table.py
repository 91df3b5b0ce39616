"""The designs of a cut list, each with its wire and how many are cut."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHeaderView, QTableWidgetItem

from formsketch.bench.gauges import gauge_text
from formsketch.comparison.batch_cut import MOST_EACH
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.fields import CalmSpinBox
from formsketch.ui.plain_table import PlainTable
from formsketch.units import length_text

_COUNT = 2


class CutPiecesTable(PlainTable):
    """`changed` says that other pieces are asked for: `designs`, called `titles`, so many as `counts`."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__("Designs to cut", ("Design", "Wire", "Pieces"))
        self.designs: list[Evaluation] = []
        self.titles: list[str] = []
        # The row chosen is shaded; a frame round one cell of it would take room from its text.
        self.setStyleSheet("QTableView::item { padding: 2px 6px; } QTableView::item:focus { border: 0; }")
        header = self.horizontalHeader()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(_COUNT, QHeaderView.ResizeMode.ResizeToContents)

    @property
    def counts(self) -> list[int]:
        """How many of each design."""
        return [self.count_of(row).value() for row in range(self.rowCount())]

    def count_of(self, row: int) -> CalmSpinBox:
        """The field for how many."""
        box = self.cellWidget(row, _COUNT)
        assert isinstance(box, CalmSpinBox)
        return box

    def add(self, title: str, evaluation: Evaluation) -> None:
        """One piece of a design more to cut."""
        row = self.rowCount()
        each = length_text(evaluation.cut_length_mm)
        wire = f"{gauge_text(evaluation.diameter_mm)}\n{evaluation.metal.name}\n{each} each"
        self.designs.append(evaluation)
        self.titles.append(title)
        self.insertRow(row)
        for column, text in enumerate((title, wire)):
            self.setItem(row, column, QTableWidgetItem(text))
        count = CalmSpinBox()
        count.setRange(1, MOST_EACH)
        count.setAccessibleName(f"Pieces of {title}")
        count.valueChanged.connect(self.changed)
        self.setCellWidget(row, _COUNT, count)
        self.setCurrentCell(row, 0)
        self.changed.emit()

    def remove_chosen(self) -> None:
        """Take the design of the row chosen out."""
        row = self.currentRow()
        if row >= 0:
            self.removeRow(row)
            del self.designs[row], self.titles[row]
            self.changed.emit()
