"""The order of work on the bench card, changed to the maker's own and kept for every design."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.working_order import OPERATIONS, usual_order
from formsketch.ui.dialogs import accept_buttons


class WorkingOrderDialog(QDialog):
    """A list to be put in order by dragging or by the buttons; `order` is what it now says."""

    def __init__(self, parent: QWidget | None, order: Sequence[str]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Order of work")
        self.list = QListWidget()
        self.list.setAccessibleName("Operations in order")
        self.list.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.earlier, self.later = QPushButton("Ea&rlier"), QPushButton("&Later")
        self.usual = QPushButton("&Usual order")
        self.earlier.clicked.connect(lambda: self._move(-1))
        self.later.clicked.connect(lambda: self._move(1))
        self.usual.clicked.connect(lambda: self._fill(usual_order()))
        self.list.currentRowChanged.connect(self._refresh)
        self.list.model().rowsMoved.connect(self._refresh)
        about = QLabel("Bench cards list the steps a piece needs in this order, whatever the design.")
        about.setWordWrap(True)
        about.setObjectName("soft")
        buttons = QVBoxLayout()
        for button in (self.earlier, self.later, self.usual):
            button.setAutoDefault(False)
            buttons.addWidget(button)
        buttons.addStretch(1)
        sides = QHBoxLayout()
        sides.addWidget(self.list, 1)
        sides.addLayout(buttons)
        column = QVBoxLayout(self)
        column.addWidget(about)
        column.addLayout(sides, 1)
        column.addWidget(accept_buttons(self, "Keep"))
        self._fill(order)
        self.resize(420, 460)

    @property
    def order(self) -> tuple[str, ...]:
        """The operations' keys as they now stand."""
        return tuple(
            str(self.list.item(row).data(Qt.ItemDataRole.UserRole)) for row in range(self.list.count())
        )

    def _fill(self, order: Sequence[str]) -> None:
        self.list.clear()
        for key in order:
            item = QListWidgetItem(OPERATIONS[key])
            item.setData(Qt.ItemDataRole.UserRole, key)
            self.list.addItem(item)
        self.list.setCurrentRow(0)

    def _move(self, by: int) -> None:
        row = self.list.currentRow()
        item = self.list.takeItem(row)
        self.list.insertItem(row + by, item)
        self.list.setCurrentRow(row + by)

    def _refresh(self) -> None:
        row = self.list.currentRow()
        self.earlier.setEnabled(row > 0)
        self.later.setEnabled(0 <= row < self.list.count() - 1)
