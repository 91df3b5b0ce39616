"""Small parts of the numbers panel: headed groups, rows of label, value and band, and fields to type in."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QGridLayout,
    QLabel,
    QLineEdit,
    QSizePolicy,
    QSpinBox,
    QWidget,
)

from formsketch.errors import FormSketchError


class CalmComboBox(QComboBox):
    """A choice the wheel scrolls past: turning it over the panel must not change the wire."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class CalmSpinBox(QSpinBox):
    """A count the wheel scrolls past."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class NumberGroup(QWidget):
    """A heading over rows of three columns: label, value, and what the value rests on in small type."""

    def __init__(self, heading: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(0, 1)
        self.heading = QLabel(heading, self)
        self.heading.setObjectName("heading")
        self._grid.addWidget(self.heading, 0, 0, 1, 3)
        rule = QFrame(self)
        rule.setObjectName("rule")
        rule.setFrameShape(QFrame.Shape.HLine)
        self._grid.addWidget(rule, 1, 0, 1, 3)

    def add_value(self, label: str, tip: str = "") -> ValueRow:
        """A row that shows a number."""
        row = self._grid.rowCount()
        name, value, aside = QLabel(label, self), QLabel(self), QLabel(self)
        name.setObjectName("soft")
        value.setObjectName("value")
        aside.setObjectName("aside")
        value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        aside.setMinimumWidth(62)
        for widget in (name, value, aside):
            widget.setToolTip(tip)
        self._grid.addWidget(name, row, 0)
        self._grid.addWidget(value, row, 1)
        self._grid.addWidget(aside, row, 2)
        return ValueRow(name, value, aside)

    def add_field(self, label: str, widget: QWidget, tip: str = "", wide: bool = False) -> ValueRow:
        """A row with something to type in or choose from; `wide` takes the whole right side."""
        row = self._grid.rowCount()
        name, aside = QLabel(label, self), None if wide else QLabel(self)
        name.setObjectName("soft")
        name.setBuddy(widget)
        for part in (name, widget):
            part.setToolTip(tip)
        widget.setAccessibleName(label)
        widget.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._grid.addWidget(name, row, 0)
        self._grid.addWidget(widget, row, 1, 1, 2 if wide else 1)
        if aside is not None:
            aside.setObjectName("aside")
            self._grid.addWidget(aside, row, 2)
        return ValueRow(name, widget, aside)

    def put_for_label(self, row: ValueRow, widget: QWidget) -> None:
        """Something to choose from in the place of a row's label."""
        widget.setToolTip(row.name.toolTip())
        self._grid.replaceWidget(row.name, widget)
        row.name.hide()
        row.name.deleteLater()
        row.name = widget

    def add_wide(self, widget: QWidget) -> None:
        """A row of its own over all columns."""
        self._grid.addWidget(widget, self._grid.rowCount(), 0, 1, 3)


class ValueRow:
    """The widgets of a row: name, value, and what is said beside it, where there is room for that."""

    def __init__(self, name: QWidget, value: QWidget, aside: QLabel | None) -> None:
        self.name, self.value, self.aside = name, value, aside

    def show(self, text: str, aside: str = "") -> None:
        if isinstance(self.value, QLabel):
            self.value.setText(text)
        elif isinstance(self.value, QuantityField):
            self.value.show_value(text)
        self.say_aside(aside)

    def say_aside(self, text: str) -> None:
        """Say something beside the value; a wide row has no room for it."""
        if self.aside is not None:
            self.aside.setText(text)

    def explain_aside(self, tip: str) -> None:
        """What is told where the aside is pointed at."""
        if self.aside is not None:
            self.aside.setToolTip(tip)

    def set_visible(self, visible: bool) -> None:
        for widget in (self.name, self.value, self.aside):
            if widget is not None:
                widget.setVisible(visible)


class QuantityField(QLineEdit):
    """A number with its unit, typed by the maker. Wrong input is explained and changes nothing.

    `read` turns text into a number or raises `FormSketchError`; `use` takes the number and may refuse it
    the same way. `refused` carries the explanation, '' when all is well.
    """

    refused = Signal(str)

    def __init__(self, read: Callable[[str], float], use: Callable[[float], None]) -> None:
        super().__init__()
        self._read, self._use = read, use
        self._shown = ""
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setFixedWidth(96)
        self.editingFinished.connect(self._take)

    def show_value(self, text: str) -> None:
        """Show the design's value, unless the maker is typing another."""
        self._shown = text
        if self.text() == text and not self.isModified() and not self.property("refused"):
            return
        if not (self.hasFocus() and self.isModified()):
            self._put_back()

    def _put_back(self) -> None:
        self.setText(self._shown)
        self.setModified(False)
        if self.property("refused"):
            self._mark_refused("")

    def _take(self) -> None:
        if not self.isModified():
            return
        if self.text() == self._shown:
            self._put_back()
            return
        try:
            self._use(self._read(self.text()))
        except FormSketchError as fault:
            self._mark_refused(str(fault))
            return
        self._put_back()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._put_back()
            event.accept()
            return
        super().keyPressEvent(event)

    def _mark_refused(self, sentence: str) -> None:
        self.setProperty("refused", bool(sentence))
        self.style().unpolish(self)
        self.style().polish(self)
        self.refused.emit(sentence)
