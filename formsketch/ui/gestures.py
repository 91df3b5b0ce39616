"""Pulling with the mouse, as objects: begun on a press, moved, finished in one step, or cancelled whole.

A gesture tells the session what to show and returns the sentence for the status line. A pull that cannot
be leaves the last form that could be and says why.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

from PySide6.QtCore import QPointF, Qt

from formsketch.errors import FormSketchError
from formsketch.fitting.pulling import Pulled
from formsketch.ui.session import Session
from formsketch.ui.view import View

Keys = Qt.KeyboardModifier
NO_KEYS = Keys.NoModifier
SHIFT, CONTROL, ALT = Keys.ShiftModifier, Keys.ControlModifier, Keys.AltModifier
# A click with one of these held chooses among several spans.
CHOOSING = SHIFT | CONTROL

# A press that moves less than this is a click.
DRAG_THRESHOLD_PX = 4.0


class Gesture(ABC):
    """One press, its moves and its end. `cursor` is shown while it lasts."""

    cursor = Qt.CursorShape.ClosedHandCursor

    @abstractmethod
    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        """Follow the pointer with these keys held; returns the sentence for the status line."""

    @abstractmethod
    def finish(self) -> None:
        """End as one step, or none when nothing changed."""

    @abstractmethod
    def cancel(self) -> None:
        """Put everything back exactly."""


class Pan(Gesture):
    """Slides the table under the view."""

    def __init__(self, view: View, at: QPointF, show: Callable[[View], None]) -> None:
        self._view, self._at, self._show = view, at, show

    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        self._show(self._view.moved(at - self._at))
        return "Moving the table."

    def finish(self) -> None:
        pass

    def cancel(self) -> None:
        self._show(self._view)


class Pull(Gesture):
    """A pull on the form: previews designs while it moves."""

    name = "Pull"
    # Keys that change what is pulled, and not only where to.
    modes = NO_KEYS

    def __init__(self, session: Session) -> None:
        self._session = session
        self.keys = NO_KEYS

    @abstractmethod
    def pulled(self, table_mm: complex) -> Pulled:
        """The design after pulling to a place on the table."""

    @abstractmethod
    def said(self) -> str:
        """What to say of the design now shown."""

    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        if (keys ^ self.keys) & self.modes:
            # Another pull from here on, and so from the form as it was.
            self._session.cancel()
        self.keys = keys
        try:
            pulled = self.pulled(view.to_mm(at))
            self._session.preview(pulled.design, pulled.kept_mark, pulled.turned_rad)
        except FormSketchError as fault:
            return str(fault)
        return f"{self.said()}   Esc puts it back."

    def finish(self) -> None:
        self._session.commit(self.name)

    def cancel(self) -> None:
        self._session.cancel()
