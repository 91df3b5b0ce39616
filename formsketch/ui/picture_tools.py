"""Tools for the picture under the form: moving, turning and fading it, and choosing two points of it."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen, QPolygonF, QWheelEvent

from formsketch.design.picture_edits import change_picture
from formsketch.ui.gestures import CONTROL, DRAG_THRESHOLD_PX, SHIFT, Keys
from formsketch.ui.picture_gestures import MovePicture, PictureGesture, TurnPicture
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette
from formsketch.ui.tools import Tool
from formsketch.ui.trace_picture import TracePicture
from formsketch.ui.view import View

FAINTEST, STRONGEST, FADE_STEP = 0.05, 1.0, 0.1
_FADE_PER_NOTCH, _NOTCH = 0.05, 120.0
_POINT_PX = 7.0


def fade(session: Session, opacity: float) -> str:
    """Make one step of another opacity, as far as there is room; returns what to say of it."""
    opacity = round(min(STRONGEST, max(FAINTEST, opacity)), 4)
    session.change("Fade picture", change_picture(session.design, opacity=opacity))
    limit = {FAINTEST: ", as faint as it goes", STRONGEST: ", as strong as it goes"}.get(opacity, "")
    return f"The picture is shown at {100 * opacity:.0f} %{limit}."


class AdjustPictureTool(Tool):
    """Has the mouse where the picture lies; beside it the form is pulled as ever."""

    hint = "Drag the picture to move it, Shift-drag to turn it, Ctrl and wheel to fade it. Esc when done."
    cursor = Qt.CursorShape.SizeAllCursor

    def __init__(self, session: Session, picture: TracePicture) -> None:
        super().__init__()
        self._session, self._picture = session, picture
        self._pressed: QPointF | None = None
        self._elsewhere = False
        self._gesture: PictureGesture | None = None
        # The design that the wheel's last fading made: turning on makes no further step.
        self._faded: object = None

    @property
    def is_busy(self) -> bool:
        return self._gesture is not None

    def press(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._elsewhere = not self._holds(at, view)
        self._pressed = None if self._elsewhere else at
        return not self._elsewhere

    def move(self, at: QPointF, view: View, keys: Keys) -> bool:
        if self._pressed is None:
            # What was pressed beside the picture may be dragged over it.
            on_it = not self._elsewhere and self._holds(at, view)
            if on_it:
                self.told.emit(self.hint)
            return on_it
        if self._gesture is None:
            moved = at - self._pressed
            if abs(moved.x()) + abs(moved.y()) >= DRAG_THRESHOLD_PX:
                self._gesture = self._gesture_for(view.to_mm(self._pressed), keys)
        if self._gesture is not None:
            self.told.emit(self._gesture.move(at, view, keys))
        return True

    def release(self, at: QPointF, view: View, keys: Keys) -> bool:
        taken, self._elsewhere = self._pressed is not None, False
        gesture, self._gesture, self._pressed = self._gesture, None, None
        if gesture is not None:
            gesture.finish()
            self.told.emit(self.hint)
            self.changed.emit()
        return taken

    def key(self, event: QKeyEvent) -> bool:
        if event.key() != Qt.Key.Key_Escape or self._pressed is None:
            return False
        self.put_down()
        self.told.emit("Put back as it was.")
        return True

    def wheel(self, event: QWheelEvent) -> bool:
        if not event.modifiers() & CONTROL:
            return False
        session, picture = self._session, self._session.design.picture
        if self._pressed is not None or picture is None:
            return True
        opacity = picture.opacity + _FADE_PER_NOTCH * event.angleDelta().y() / _NOTCH
        if session.design is self._faded:
            session.undo()
        before = session.step_count
        self.told.emit(fade(session, opacity))
        self._faded = session.design if session.step_count > before else None
        return True

    def put_down(self) -> None:
        gesture, self._gesture, self._pressed = self._gesture, None, None
        if gesture is not None:
            gesture.cancel()

    def paint(self, painter: QPainter, view: View, colours: Palette) -> None:
        """The picture's edge and middle."""
        place = self._picture.place
        if place is not None:
            painter.setPen(QPen(QColor(colours.accent), 1.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolygon(QPolygonF([view.to_px(at) for at in place.corners_mm]))
            _paint_cross(painter, view.to_px(place.middle_mm))

    def _holds(self, at: QPointF, view: View) -> bool:
        place = self._picture.place
        return place is not None and place.holds(view.to_mm(at))

    def _gesture_for(self, grabbed_mm: complex, keys: Keys) -> PictureGesture | None:
        place = self._picture.place
        if place is None:
            return None
        return (TurnPicture if keys & SHIFT else MovePicture)(self._session, place, grabbed_mm)


class TwoPointsTool(Tool):
    """Takes two points of the picture, then is done. `chosen` gives their places on the table, complex mm."""

    hint = "Click one of two points on the picture whose true distance you know. Esc to leave it."
    _second_hint = "Click the other point. Esc to leave it."
    chosen = Signal(object, object)

    def __init__(self, picture: TracePicture) -> None:
        super().__init__()
        self._picture = picture
        self._first: complex | None = None  # in the picture's own millimetres: the table may be moved
        self._pointer: QPointF | None = None
        self._pressed = False

    @property
    def is_busy(self) -> bool:
        return self._pressed

    def press(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._pressed = True
        return True

    def move(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._pointer = at
        self.told.emit(self.hint if self._first is None else self._second_hint)
        self.changed.emit()
        return True

    def release(self, at: QPointF, view: View, keys: Keys) -> bool:
        place, table_mm = self._picture.place, view.to_mm(at)
        pressed, self._pressed = self._pressed, False
        if not pressed or place is None:
            return True
        if not place.holds(table_mm):
            self.told.emit("That is beside the picture; click on the picture.")
        elif self._first is None:
            self._first = place.to_picture(table_mm)
            self.told.emit(self._second_hint)
            self.changed.emit()
        else:
            first = place.to_table(self._first)
            if abs(table_mm - first) * view.px_per_mm < DRAG_THRESHOLD_PX:
                self.told.emit("The two points lie too close together; click one further away.")
            else:
                self.chosen.emit(first, table_mm)
        return True

    def key(self, event: QKeyEvent) -> bool:
        if event.key() != Qt.Key.Key_Escape or not self._pressed:
            return False
        self._pressed = False
        return True

    def paint(self, painter: QPainter, view: View, colours: Palette) -> None:
        """The first point, and the distance to the pointer as a line."""
        place = self._picture.place
        if self._first is None or place is None:
            return
        at = view.to_px(place.to_table(self._first))
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, _POINT_PX, _POINT_PX)
        _paint_cross(painter, at)
        if self._pointer is not None:
            painter.drawLine(at, self._pointer)


def _paint_cross(painter: QPainter, at: QPointF) -> None:
    painter.drawLine(QLineF(at.x() - _POINT_PX, at.y(), at.x() + _POINT_PX, at.y()))
    painter.drawLine(QLineF(at.x(), at.y() - _POINT_PX, at.x(), at.y() + _POINT_PX))
