"""A page of fields with live results: Enter takes what is typed, and only its buttons close it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QDialog


class LiveDialog(QDialog):
    """A dialog in which Enter in a field takes the number and does not end the dialog."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        entered = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if entered and not isinstance(self.focusWidget(), QAbstractButton):
            event.accept()
            return
        super().keyPressEvent(event)
