"""Mouse, pen and keys on the canvas: the tool in hand first, then pulls, then pointing and selecting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QTabletEvent, QWheelEvent

from formsketch.ui.form_pulls import BellyPull, DirectionPull, FlarePull, MarkPull, SkewPull
from formsketch.ui.gestures import (
    ALT,
    CHOOSING,
    DRAG_THRESHOLD_PX,
    NO_KEYS,
    SHIFT,
    Gesture,
    Keys,
    Pan,
)
from formsketch.ui.handles import Handle, nearest_handle
from formsketch.ui.key_pulls import KeyPulls
from formsketch.ui.over_under import crossing_at
from formsketch.ui.repeat_pull import RepeatPull
from formsketch.ui.table_turns import TurnTable
from formsketch.ui.tools import Tool

if TYPE_CHECKING:
    from formsketch.ui.form_canvas import FormCanvas

_CLOSE_PX = 9.0
_WHEEL_STEP = 1.0015


class FormMouse:
    """What one canvas's events do. `gesture` is the pull under way, `hovered` the handle pointed at."""

    def __init__(self, canvas: FormCanvas) -> None:
        self._canvas = canvas
        self.gesture: Gesture | None = None
        self.hovered: Handle | None = None
        self.tool: Tool | None = None
        self.pointer: QPointF | None = None
        self.key_pulls = KeyPulls(canvas.session)
        self._pressed: tuple[QPointF, Handle | None, float | None] | None = None
        self._pressed_keys = NO_KEYS
        self._button = Qt.MouseButton.NoButton

    @property
    def is_pulling(self) -> bool:
        """Whether something is half done."""
        return self.gesture is not None or (self.tool is not None and self.tool.is_busy)

    def forget_pressed(self) -> None:
        """What was pressed may be gone."""
        self._pressed = None

    # --- tools

    def take_tool(self, tool: Tool | None) -> None:
        """Take a tool in hand, or none: the last one is put down."""
        canvas = self._canvas
        if self.tool is not None:
            before, self.tool = self.tool, None
            before.put_down()
            before.changed.disconnect(canvas.update)
            before.told.disconnect(canvas.told)
            before.ended.emit()
        self.tool, self.hovered = tool, None
        canvas.selection.point_at(None)
        if tool is not None:
            tool.changed.connect(canvas.update)
            tool.told.connect(canvas.told)
            canvas.selection.select(None)
            canvas.setCursor(tool.cursor)
            canvas.told.emit(tool.hint)
        else:
            canvas.unsetCursor()
            canvas.told.emit("")
        canvas.update()

    @property
    def _free_tool(self) -> Tool | None:
        """The tool in hand while nothing is pulled without it."""
        return self.tool if self.gesture is None else None

    # --- the mouse

    def press(self, event: QMouseEvent) -> None:
        if self.gesture is not None:
            return
        canvas, at = self._canvas, event.position()
        self._button, self._pressed = event.button(), None
        if event.button() == Qt.MouseButton.MiddleButton:
            if event.modifiers() & ALT:
                self._begin(TurnTable(canvas.session, canvas.middle, canvas.view, at))
            else:
                self._begin(Pan(canvas.view, at, canvas.show_view))
        elif event.button() == Qt.MouseButton.LeftButton:
            if self.tool is not None and self.tool.press(at, canvas.view, event.modifiers()):
                return
            handle = nearest_handle(canvas.handles(), at, canvas.view, _CLOSE_PX)
            sample = None if handle else canvas.sample_under(at)
            self._pressed, self._pressed_keys = (at, handle, sample), event.modifiers()
            # With these held a click chooses among several spans, and a drag is yet another pull.
            if sample is not None and not self._pressed_keys & CHOOSING:
                canvas.selection.select(canvas.span_of(sample))

    def move(self, event: QMouseEvent) -> None:
        canvas = self._canvas
        self.pointer = at = event.position()
        tool = self._free_tool
        if tool is not None and tool.move(at, canvas.view, event.modifiers()):
            canvas.setCursor(tool.cursor)
            return
        if self.gesture is None and self._pressed is not None:
            moved = at - self._pressed[0]
            if abs(moved.x()) + abs(moved.y()) >= DRAG_THRESHOLD_PX:
                self._begin(self._gesture_for(*self._pressed))
        if self.gesture is not None:
            canvas.told.emit(self.gesture.move(at, canvas.view, event.modifiers()))
            return
        self._hover(at)

    def release(self, event: QMouseEvent) -> None:
        canvas = self._canvas
        tool = self._free_tool if event.button() == Qt.MouseButton.LeftButton else None
        if tool is not None and tool.release(event.position(), canvas.view, event.modifiers()):
            return
        if event.button() != self._button:
            return
        pressed, self._pressed = self._pressed, None
        if self.gesture is not None:
            gesture, self.gesture = self.gesture, None
            gesture.finish()
            canvas.update()
            canvas.unsetCursor()
            canvas.told.emit("")
        elif pressed is not None:
            self._click(*pressed)
        self._hover(event.position())

    def _click(self, at: QPointF, handle: Handle | None, sample: float | None) -> None:
        """A press that was let go where it was."""
        canvas, selection = self._canvas, self._canvas.selection
        if not self._pressed_keys & CHOOSING:
            if handle is None and sample is None:
                selection.select(None)
            return
        under = canvas.sample_under(at) if sample is None else sample
        if under is not None:
            span = canvas.span_of(under)
        else:
            of_a_span = handle is not None and handle.kind not in ("mark", "direction")
            span = handle.number if handle is not None and of_a_span else None
        if span is not None:
            selection.choose(span, self._pressed_keys)

    def double_click(self, event: QMouseEvent) -> None:
        if self.tool is not None:
            # To a tool a second press is one like any other.
            self.press(event)
            return
        canvas = self._canvas
        table_mm = canvas.view.to_mm(event.position())
        if crossing_at(canvas.session, table_mm, _CLOSE_PX / canvas.view.px_per_mm) is not None:
            canvas.swap_over_under(table_mm)
        elif canvas.sample_under(event.position()) is None:
            canvas.fit()

    def tablet(self, event: QTabletEvent) -> None:
        """A tool has the pen directly, as finely as the tablet tells; pulls take it as a mouse."""
        tool = self._free_tool
        if tool is None:
            event.ignore()
            return
        takes = {
            QEvent.Type.TabletPress: tool.press,
            QEvent.Type.TabletMove: tool.move,
            QEvent.Type.TabletRelease: tool.release,
        }.get(event.type())
        view = self._canvas.view
        event.setAccepted(takes is not None and takes(event.position(), view, event.modifiers()))

    def wheel(self, event: QWheelEvent) -> None:
        canvas, tool = self._canvas, self._free_tool
        taken = tool is not None and tool.wheel(event)
        if self.gesture is None and not taken:
            canvas.show_view(canvas.view.zoomed(_WHEEL_STEP ** event.angleDelta().y(), event.position()))
        event.accept()

    def leave(self) -> None:
        self.hovered = None
        self._canvas.selection.point_at(None)
        if self.gesture is None:
            self._canvas.told.emit("")
        self._canvas.update()

    def _begin(self, gesture: Gesture) -> None:
        self.gesture = gesture
        self._canvas.setCursor(gesture.cursor)

    def _gesture_for(self, at: QPointF, handle: Handle | None, sample: float | None) -> Gesture:
        canvas = self._canvas
        session, grabbed = canvas.session, canvas.view.to_mm(at)
        if handle is not None:
            if handle.kind == "mark":
                return MarkPull(session, handle.number, grabbed)
            if handle.kind == "belly":
                return BellyPull(session, handle.number, grabbed, canvas.tubes)
            if handle.kind == "skew":
                return SkewPull(session, handle.number, handle.u, grabbed)
            if handle.kind == "direction":
                return DirectionPull(session, handle.number, grabbed)
            if handle.kind == "repeat":
                return RepeatPull(session, canvas.selection, handle.number, grabbed)
            return FlarePull(session, handle.number, handle.u, grabbed)
        span = None if sample is None else canvas.span_of(sample)
        if span is not None:
            canvas.selection.select(span)
            return BellyPull(session, span, grabbed, canvas.tubes)
        return Pan(canvas.view, at, canvas.show_view)

    def _hover(self, at: QPointF) -> None:
        canvas = self._canvas
        handle = nearest_handle(canvas.handles(), at, canvas.view, _CLOSE_PX)
        if handle != self.hovered:
            self.hovered = handle
            canvas.update()
        sample = canvas.sample_under(at)
        canvas.selection.point_at(sample)
        if handle is not None:
            canvas.setCursor(Qt.CursorShape.OpenHandCursor)
            canvas.told.emit(canvas.selection.telling(handle.hint))
        elif sample is not None:
            canvas.setCursor(Qt.CursorShape.PointingHandCursor)
            span = canvas.span_of(sample)
            if span is None:
                canvas.told.emit("An end of the wire; Form > Ends changes it.")
            else:
                hint = f"Span {span + 1}: drag to open or close it, click to select it."
                canvas.told.emit(canvas.selection.telling(hint))
        else:
            canvas.unsetCursor()
            hint = "Drag the table to move it, turn the wheel to zoom. Click a span to select it."
            canvas.told.emit(canvas.selection.telling(hint))

    # --- the keyboard

    def key(self, event: QKeyEvent) -> bool:
        """Whether the key did something here."""
        canvas, key = self._canvas, event.key()
        tool = self._free_tool
        if tool is not None and tool.key(event):
            return True
        if key == Qt.Key.Key_Escape and tool is not None:
            self.take_tool(None)
            return True
        if self.gesture is None and self._pressed is None:
            said = self.key_pulls.press(event, canvas.selection.span)
            if said is not None:
                # It goes on to another repeat when its own was taken away.
                if self.key_pulls.span != canvas.selection.span:
                    canvas.selection.select(self.key_pulls.span)
                canvas.told.emit(said)
                return True
        if key == Qt.Key.Key_Escape and (self.gesture is not None or self._pressed is not None):
            gesture, self.gesture, self._pressed = self.gesture, None, None
            if gesture is not None:
                gesture.cancel()
            canvas.unsetCursor()
            canvas.told.emit("Put back as it was.")
        elif key == Qt.Key.Key_Escape:
            canvas.selection.select(None)
        elif key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
            self._step_selection(1 if key == Qt.Key.Key_Right else -1, event.modifiers())
        else:
            return False
        return True

    def _step_selection(self, step: int, keys: Keys) -> None:
        count, selection = self._canvas.session.wire.span_count, self._canvas.selection
        if keys & SHIFT:
            selection.stretch_by(step, count)
            self._canvas.told.emit(selection.telling(""))
            return
        now = selection.span
        selection.select((0 if step > 0 else count - 1) if now is None else (now + step) % count)
