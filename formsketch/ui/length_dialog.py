"""A length to type, with units, asked for until it can be read."""

from __future__ import annotations

from PySide6.QtWidgets import QDialog, QLabel, QLineEdit, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError, InputError
from formsketch.ui.dialogs import accept_buttons


class LengthDialog(QDialog):
    """Asks for a length above 0; `length_mm` is what was typed once the dialog is accepted."""

    def __init__(self, parent: QWidget, title: str, question: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.length_mm = 0.0
        self.field = QLineEdit()
        self.field.setAccessibleName("Length")
        self.field.setPlaceholderText("such as 42 mm, 1 5/8 in")
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        column = QVBoxLayout(self)
        words = QLabel(question)
        words.setBuddy(self.field)
        for widget in (words, self.field, self._fault, accept_buttons(self)):
            column.addWidget(widget)
        self.setMinimumWidth(380)

    def accept(self) -> None:
        """Take the length, or say what is wrong with it and stay."""
        try:
            length_mm = parse_length_mm(self.field.text())
            if length_mm <= 0:
                raise InputError("A length above 0 was expected.")
        except FormSketchError as fault:
            self._fault.setText(str(fault))
            self._fault.show()
            self.field.setFocus()
            return
        self.length_mm = length_mm
        super().accept()
