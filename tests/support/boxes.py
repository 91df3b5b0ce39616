"""Message boxes answered where they open, by a real key on a real button."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton

from tests.support import events


class Boxes:
    """What each box says, in turn; answered by the button of the next word, closed where there is none."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.answers: list[str] = []
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(5)

    def _look(self) -> None:
        box = QApplication.activeModalWidget()
        if not isinstance(box, QMessageBox) or not box.isVisible():
            return
        self.said.append(f"{box.text()} {box.informativeText()}".strip())
        if not self.answers:
            events.key(box, Qt.Key.Key_Escape)
            return
        word = self.answers.pop(0)
        button = next(b for b in box.findChildren(QPushButton) if b.text().replace("&", "") == word)
        button.setFocus()
        events.key(button, Qt.Key.Key_Space)

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()
