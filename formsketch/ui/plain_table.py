"""A table to read: rows of text under headings, a row chosen at a time."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem


class PlainTable(QTableWidget):
    """Rows of texts; the last column takes what room is left and its text wraps.

    A row can be chosen where `choosing` says so.
    """

    def __init__(self, name: str, headings: Sequence[str], choosing: bool = True) -> None:
        super().__init__(0, len(headings))
        self.setAccessibleName(name)
        self.setHorizontalHeaderLabels(list(headings))
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.setShowGrid(False)
        # The headings have this padding, too.
        self.setStyleSheet("QTableView::item { padding: 2px 6px; }")
        self.setWordWrap(True)
        # Tab goes on to the next field; the arrows go from row to row.
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        mode = QAbstractItemView.SelectionMode
        self.setSelectionMode(mode.SingleSelection if choosing else mode.NoSelection)
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionsClickable(False)
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(headings) - 1, QHeaderView.ResizeMode.Stretch)

    def show_rows(self, rows: Sequence[Sequence[str]]) -> None:
        """Put these rows in place of what is shown, keeping the row chosen where there is one."""
        chosen = self.currentRow()
        self.setRowCount(len(rows))
        for at, row in enumerate(rows):
            for column, text in enumerate(row):
                self.setItem(at, column, QTableWidgetItem(text))
        self.setCurrentCell(min(max(chosen, 0), len(rows) - 1), 0)

    def row_texts(self, row: int) -> tuple[str, ...]:
        """The texts of a row."""
        items = (self.item(row, column) for column in range(self.columnCount()))
        return tuple("" if item is None else item.text() for item in items)

    def keep_rows_low(self) -> None:
        """Rows no higher than their text, so that more of them are seen at once."""
        rows = self.verticalHeader()
        rows.setMinimumSectionSize(0)
        rows.setStyleSheet("QHeaderView::section { padding: 0; border: 0; }")
