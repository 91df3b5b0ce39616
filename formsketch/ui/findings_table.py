"""Findings to type in: name, price of one, how many a piece takes; a row to begin the next stands below."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from formsketch.bench.rates import Finding
from formsketch.errors import FormSketchError, InputError

_HEADINGS = ("Name", "Price", "How many")
_ROW_PX = 26
_MOST = 100


class FindingsTable(QTableWidget):
    """`changed` says that `findings` are others; `refused` explains a cell that cannot be used, or ''."""

    changed = Signal()
    refused = Signal(str)

    def __init__(self, findings: Sequence[Finding], parent: QWidget | None = None) -> None:
        super().__init__(0, len(_HEADINGS), parent)
        self.findings = tuple(findings)
        self.setAccessibleName("Findings")
        self.setHorizontalHeaderLabels(list(_HEADINGS))
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_ROW_PX)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.AllEditTriggers)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.setToolTip("Empty a name to take a finding away.")
        self._fill()
        self.itemChanged.connect(self._take)

    def _fill(self) -> None:
        self.blockSignals(True)
        self.setRowCount(len(self.findings) + 1)
        for row, finding in enumerate((*self.findings, None)):
            texts = ("", "", "") if finding is None else _texts(finding)
            for column, text in enumerate(texts):
                item = QTableWidgetItem(text)
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.setItem(row, column, item)
        self.blockSignals(False)
        shown = min(self.rowCount(), 5)
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + shown * _ROW_PX + 4)

    def _take(self, changed: QTableWidgetItem) -> None:
        """Take what was typed into a cell, or say what is wrong with it and put the row back."""
        row, column = changed.row(), changed.column()
        text = changed.text().strip()
        new = row == len(self.findings)
        if new and column:
            self.refused.emit("Name the finding first.")
            self._fill()
            return
        findings = list(self.findings)
        if new and text and len(findings) < _MOST:
            findings.append(Finding(name=text[:80], price=0.0))
        elif not new:
            try:
                findings[row : row + 1] = _changed(findings[row], column, text)
            except FormSketchError as fault:
                self.refused.emit(str(fault))
                self._fill()
                return
        self.findings = tuple(findings)
        self._fill()
        self.changed.emit()


def _texts(finding: Finding) -> tuple[str, str, str]:
    return finding.name, f"{finding.price:.2f}", str(finding.count)


def _changed(finding: Finding, column: int, text: str) -> list[Finding]:
    """The finding with one cell typed anew; none when its name was emptied. Raises `InputError`."""
    if column == 0:
        return [Finding(name=text[:80], price=finding.price, count=finding.count)] if text else []
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if column == 1:
        if not 0 <= value <= 1e9:
            raise InputError(f'"{text}": a price of 0 or more was expected, such as 1.20.')
        return [Finding(name=finding.name, price=value, count=finding.count)]
    if not (0 <= value <= 1000 and value == int(value)):
        raise InputError(f'"{text}": a whole number from 0 to 1000 was expected.')
    return [Finding(name=finding.name, price=finding.price, count=int(value))]
