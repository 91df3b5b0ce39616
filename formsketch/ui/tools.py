"""Modes of the canvas: while a tool is in hand it has the mouse and the keys before the pulls have."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QWheelEvent

from formsketch.ui.gestures import Keys
from formsketch.ui.theme import Palette
from formsketch.ui.view import View


class Tool(QObject):
    """What a tool may do; each answer True means it took the event. Places are in the canvas's pixels."""

    # To be painted again, and something to say in the status line.
    changed = Signal()
    told = Signal(str)
    # Put down by itself.
    ended = Signal()

    cursor = Qt.CursorShape.CrossCursor
    hint = ""

    @property
    def is_busy(self) -> bool:
        """Whether something is half done; menus wait for its end."""
        return False

    def press(self, at: QPointF, view: View, keys: Keys) -> bool:
        """The left button went down."""
        return False

    def move(self, at: QPointF, view: View, keys: Keys) -> bool:
        """The pointer moved, pressed or not."""
        return False

    def release(self, at: QPointF, view: View, keys: Keys) -> bool:
        """The left button came up."""
        return False

    def key(self, event: QKeyEvent) -> bool:
        """A key went down while the canvas has the focus."""
        return False

    def wheel(self, event: QWheelEvent) -> bool:
        """The wheel turned."""
        return False

    def paint(self, painter: QPainter, view: View, colours: Palette) -> None:
        """Draw what the tool shows, over the form."""

    def put_down(self) -> None:
        """The tool is put away: leave nothing half done."""
