"""The maker's own way of working: steps in order, own words and own steps, kept for every bench card."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace
from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.working_order import LONGEST_TITLE, WorkStep, checked_order, usual_order
from formsketch.errors import FormSketchError
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.live_dialog import LiveDialog

_ABOUT = (
    "Bench cards list the steps a piece needs in this order, whatever the design. Take the tick from a step "
    "to leave it out; add steps and words of your own."
)
_NEW_TITLE = "Step of my own"
_NUMBER = Qt.ItemDataRole.UserRole


class WorkingOrderDialog(LiveDialog):
    """A list put in order by dragging or by buttons; `order` is what it now says."""

    def __init__(self, parent: QWidget | None, order: Sequence[WorkStep]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Order of work")
        # An item carries the number of its step, so that it can be dragged about.
        self._steps: list[WorkStep] = []
        self.list = QListWidget()
        self.list.setAccessibleName("Steps in order")
        self.list.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.earlier, self.later = QPushButton("Ea&rlier"), QPushButton("&Later")
        self.add, self.remove = QPushButton("&Add a step"), QPushButton("Re&move")
        self.usual = QPushButton("&Usual order")
        self.title, self.words = QLineEdit(), QPlainTextEdit()
        self.title.setMaxLength(LONGEST_TITLE)
        self.title.setAccessibleName("Title of the step")
        self.words.setAccessibleName("Your own words for the step")
        self.words.setTabChangesFocus(True)
        self.words.setPlaceholderText("Such as: flush cutters, then square on the disc")
        self.fault = QLabel()
        self.fault.setObjectName("caution")
        self.fault.setWordWrap(True)
        self.buttons = accept_buttons(self, "Keep")
        self._lay_out()
        self._fill(order)
        self._connect()
        self.resize(640, 560)

    def _lay_out(self) -> None:
        about = QLabel(_ABOUT)
        about.setWordWrap(True)
        about.setObjectName("soft")
        side = QVBoxLayout()
        for button in (self.earlier, self.later, self.add, self.remove, self.usual):
            button.setAutoDefault(False)
            side.addWidget(button)
        side.addStretch(1)
        self.words.setFixedHeight(86)
        grid = QGridLayout()
        title, words = QLabel("&Title"), QLabel("Your &words")
        title.setBuddy(self.title)
        words.setBuddy(self.words)
        grid.addWidget(self.list, 0, 0, 1, 2)
        grid.addLayout(side, 0, 2)
        grid.addWidget(title, 1, 0)
        grid.addWidget(self.title, 1, 1)
        grid.addWidget(words, 2, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self.words, 2, 1)
        grid.setRowStretch(0, 1)
        grid.setColumnStretch(1, 1)
        column = QVBoxLayout(self)
        column.addWidget(about)
        column.addLayout(grid, 1)
        column.addWidget(self.fault)
        column.addWidget(self.buttons)

    def _connect(self) -> None:
        self.earlier.clicked.connect(lambda: self._move(-1))
        self.later.clicked.connect(lambda: self._move(1))
        self.add.clicked.connect(self._add_step)
        self.remove.clicked.connect(self._remove_step)
        self.usual.clicked.connect(lambda: self._fill(usual_order()))
        self.list.currentRowChanged.connect(self._show_step)
        self.list.itemChanged.connect(self._ticked)
        self.list.model().rowsMoved.connect(self._refresh)
        self.title.textEdited.connect(self._typed)
        self.words.textChanged.connect(self._typed)

    @property
    def order(self) -> tuple[WorkStep, ...]:
        """The steps as they now stand."""
        items = (self.list.item(row) for row in range(self.list.count()))
        return tuple(self._steps[item.data(_NUMBER)] for item in items)

    def _fill(self, order: Sequence[WorkStep]) -> None:
        with QSignalBlocker(self.list):
            self.list.clear()
            self._steps = []
            for step in order:
                self._put(self.list.count(), step)
            self.list.setCurrentRow(0)
        self._show_step()

    def _put(self, row: int, step: WorkStep) -> None:
        self._steps.append(step)
        item = QListWidgetItem()
        item.setData(_NUMBER, len(self._steps) - 1)
        item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
        self._word(item, step)
        self.list.insertItem(row, item)

    def _word(self, item: QListWidgetItem, step: WorkStep) -> None:
        """Title, tick and slant of a step: its own words show that it has some."""
        words = " ".join(step.words.split())
        item.setText(f"{step.heading}: {words}" if words else step.heading)
        item.setCheckState(Qt.CheckState.Unchecked if step.left_out else Qt.CheckState.Checked)
        font = item.font()
        font.setItalic(not step.do)
        item.setFont(font)

    @property
    def _current(self) -> WorkStep | None:
        item = self.list.currentItem()
        return None if item is None else self._steps[item.data(_NUMBER)]

    def _replace(self, item: QListWidgetItem, step: WorkStep) -> None:
        self._steps[item.data(_NUMBER)] = step
        with QSignalBlocker(self.list):
            self._word(item, step)
        self._refresh()

    def _show_step(self) -> None:
        """The step chosen in the fields below the list."""
        step = self._current
        with QSignalBlocker(self.title), QSignalBlocker(self.words):
            self.title.setText("" if step is None else step.heading)
            self.words.setPlainText("" if step is None else step.words)
        self.title.setReadOnly(step is None or bool(step.do))
        self._refresh()

    def _typed(self) -> None:
        item, step = self.list.currentItem(), self._current
        if item is not None and step is not None:
            title = "" if step.do else self.title.text()
            self._replace(item, replace(step, title=title, words=self.words.toPlainText()))

    def _ticked(self, item: QListWidgetItem) -> None:
        left_out = item.checkState() == Qt.CheckState.Unchecked
        self._replace(item, replace(self._steps[item.data(_NUMBER)], left_out=left_out))

    def _move(self, by: int) -> None:
        row = self.list.currentRow()
        with QSignalBlocker(self.list):
            self.list.insertItem(row + by, self.list.takeItem(row))
            self.list.setCurrentRow(row + by)
        self._refresh()

    def _add_step(self) -> None:
        """A step of the maker's own under the one chosen, its title ready to be typed over."""
        row = self.list.currentRow() + 1
        with QSignalBlocker(self.list):
            self._put(row, WorkStep(title=_NEW_TITLE))
            self.list.setCurrentRow(row)
        self._show_step()
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)
        self.title.selectAll()

    def _remove_step(self) -> None:
        with QSignalBlocker(self.list):
            self.list.takeItem(self.list.currentRow())
        self._show_step()

    def _refresh(self) -> None:
        row, step = self.list.currentRow(), self._current
        self.earlier.setEnabled(row > 0)
        self.later.setEnabled(0 <= row < self.list.count() - 1)
        # Operations are left out by their tick; only own steps are taken away for good.
        self.remove.setEnabled(step is not None and not step.do)
        try:
            checked_order(self.order, "Order of work")
            sentence = ""
        except FormSketchError as fault:
            sentence = str(fault)
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(not sentence)
