"""Real events for widgets: mouse with fractional places, buttons and modifiers; wheel; keys.

`QTest.mouseMove` works in whole pixels and drops the modifiers, so mouse events are made here and sent.
Places are in the widget's own pixels; every event is delivered before the call returns.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

Place = QPointF | tuple[float, float]
Button = Qt.MouseButton
Modifier = Qt.KeyboardModifier
LEFT = Button.LeftButton
NO_BUTTON = Button.NoButton
PLAIN = Modifier.NoModifier
# One notch of a common mouse wheel, in the eighths of a degree Qt counts in.
NOTCH = 120


def press(widget: QWidget, at: Place, button: Button = LEFT, modifiers: Modifier = PLAIN) -> None:
    _mouse(widget, QEvent.Type.MouseButtonPress, at, button, button, modifiers)


def move(widget: QWidget, to: Place, buttons: Button = NO_BUTTON, modifiers: Modifier = PLAIN) -> None:
    """Move with these buttons held; none is plain hovering."""
    _mouse(widget, QEvent.Type.MouseMove, to, NO_BUTTON, buttons, modifiers)


def release(widget: QWidget, at: Place, button: Button = LEFT, modifiers: Modifier = PLAIN) -> None:
    _mouse(widget, QEvent.Type.MouseButtonRelease, at, button, NO_BUTTON, modifiers)


def click(widget: QWidget, at: Place, button: Button = LEFT, modifiers: Modifier = PLAIN) -> None:
    press(widget, at, button, modifiers)
    release(widget, at, button, modifiers)


def double_click(widget: QWidget, at: Place, button: Button = LEFT, modifiers: Modifier = PLAIN) -> None:
    """The four events of a double click: press, release, double click, release."""
    click(widget, at, button, modifiers)
    _mouse(widget, QEvent.Type.MouseButtonDblClick, at, button, button, modifiers)
    release(widget, at, button, modifiers)


def pull(
    widget: QWidget,
    start: Place,
    end: Place,
    steps: int = 8,
    button: Button = LEFT,
    modifiers: Modifier = PLAIN,
) -> None:
    """Press at the start and move to the end in equal steps, holding on: to look, to press Esc."""
    first, last = _point(start), _point(end)
    move(widget, first, NO_BUTTON, modifiers)
    press(widget, first, button, modifiers)
    for step in range(1, steps + 1):
        move(widget, first + (last - first) * (step / steps), button, modifiers)


def drag(
    widget: QWidget,
    start: Place,
    end: Place,
    steps: int = 8,
    button: Button = LEFT,
    modifiers: Modifier = PLAIN,
) -> None:
    """Press at the start, move to the end in equal steps, and let go."""
    pull(widget, start, end, steps, button, modifiers)
    release(widget, end, button, modifiers)


def wheel(widget: QWidget, at: Place, notches: float = 1.0, modifiers: Modifier = PLAIN) -> None:
    """Turn the wheel at a place; positive is away from the person."""
    place = _point(at)
    turned = QPoint(0, round(notches * NOTCH))
    event = QWheelEvent(
        place,
        widget.mapToGlobal(place),
        QPoint(),
        turned,
        NO_BUTTON,
        modifiers,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)


def key(widget: QWidget, which: Qt.Key, modifiers: Modifier = PLAIN) -> None:
    """Press and release a key; the shortcuts of the widget's window see it first, as they do in use."""
    QTest.keyClick(widget, which, modifiers)


def keys(widget: QWidget, text: Iterable[str]) -> None:
    """Type text."""
    QTest.keyClicks(widget, "".join(text))


def _point(place: Place) -> QPointF:
    return QPointF(place) if isinstance(place, QPointF) else QPointF(*place)


def _mouse(
    widget: QWidget, kind: QEvent.Type, at: Place, button: Button, buttons: Button, modifiers: Modifier
) -> None:
    place = _point(at)
    in_window = QPointF(widget.mapTo(widget.window(), place))
    event = QMouseEvent(kind, place, in_window, widget.mapToGlobal(place), button, buttons, modifiers)
    QApplication.sendEvent(widget, event)
