"""The form on the table, lit, at any scale; pulled by its marks, bellies and flares."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QRegion,
    QResizeEvent,
    QTabletEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from formsketch.bench.tubes import Tube
from formsketch.errors import FormSketchError
from formsketch.ui.form_pulls import BellyPull, DirectionPull, FlarePull, MarkPull, SkewPull
from formsketch.ui.gestures import DRAG_THRESHOLD_PX, Gesture, Pan
from formsketch.ui.handles import Handle, handles_of, nearest_handle
from formsketch.ui.kept_picture import KeptPicture
from formsketch.ui.key_pulls import KeyPulls
from formsketch.ui.lit_wire import MOST_POINTS
from formsketch.ui.over_under import crossing_at, swap_over_under
from formsketch.ui.picture import paint_lit
from formsketch.ui.rulers import (
    INCHES,
    MILLIMETRES,
    RULER_PX,
    paint_grid,
    paint_ruler_edges,
    paint_rulers,
    paint_scale_note,
)
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.spoken import Spoken, span_in_words
from formsketch.ui.theme import Palette, current_palette
from formsketch.ui.tools import Tool
from formsketch.ui.trace_picture import TracePicture
from formsketch.ui.view import View, centred, fitted
from formsketch.ui.wire_picture import PlacedWire, placed_wire

_HANDLE_PX, _CLOSE_PX = 5.0, 9.0
_WHEEL_STEP = 1.0015
# While it is pulled the wire is painted with fewer points, a little softer at high zoom. Fewer still would
# not be quicker: what is painted smaller has to be scaled up.
_POINTS_WHILE_PULLED = 110_000


class FormCanvas(QWidget):
    """Shows the session's form and lets it be pulled. `told` carries sentences for the status line."""

    told = Signal(str)
    view_changed = Signal()

    def __init__(self, session: Session, selection: Selection, tubes: Sequence[Tube] = ()) -> None:
        super().__init__()
        self._session, self._selection, self._tubes = session, selection, tubes
        self._view = View(6.0, 0.0, 0.0)
        self._wants_fit = True
        self._seen_size = QSize()
        self._true_px_per_mm: float | None = None
        self._true_is_matched = False
        self._gesture: Gesture | None = None
        self._tool: Tool | None = None
        self._pressed: tuple[QPointF, Handle | None, float | None] | None = None
        self._button = Qt.MouseButton.NoButton
        self._hovered: Handle | None = None
        self._wire: PlacedWire | None = None
        self._table, self._rulers = KeptPicture(), KeptPicture()
        self.picture = TracePicture(session)
        self.picture.told.connect(self.told)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(320, 200)
        self.spoken = Spoken(self)
        self._key_pulls = KeyPulls(session)
        self._scale = MILLIMETRES
        self._pointer: QPointF | None = None
        session.changed.connect(self._design_changed)
        selection.changed.connect(self.update)
        selection.changed.connect(self._speak)
        selection.pointed.connect(self.update)

    # --- the view

    @property
    def view(self) -> View:
        return self._view

    def show_view(self, view: View) -> None:
        """Look at the table through another view."""
        self._view, self._wants_fit = view, False
        self.view_changed.emit()
        self.update()

    def fit(self) -> None:
        """Show the whole form with room around it."""
        self._view = fitted(self.wire.bounds_mm, self._table_area())
        self._wants_fit = False
        self.view_changed.emit()
        self.update()

    def fit_when_shown(self) -> None:
        """Fit at the next chance: now, or when the canvas gets its size."""
        self._wants_fit = True
        self.update()

    def set_true_scale(self, px_per_mm: float, matched: bool) -> None:
        """How many logical pixels a true millimetre takes on this screen, and whether it was measured."""
        self._true_px_per_mm, self._true_is_matched = px_per_mm, matched
        self.update()

    def show_true_size(self) -> None:
        """Show the form as large as it will be."""
        if self._true_px_per_mm is not None:
            self.show_view(centred(self.wire.bounds_mm, self._table_area(), self._true_px_per_mm))

    @property
    def in_inches(self) -> bool:
        """Whether rulers, grid and lengths measured on the form are in inches."""
        return self._scale is INCHES

    def show_inches(self, inches: bool) -> None:
        """Rulers, grid and scale note in inches, or in millimetres."""
        self._scale = INCHES if inches else MILLIMETRES
        self.update()

    @property
    def pointer_mm(self) -> complex | None:
        """Where on the table the pointer was last seen; None before it was."""
        return None if self._pointer is None else self._view.to_mm(self._pointer)

    def zoom(self, factor: float) -> None:
        self.show_view(self._view.zoomed(factor, self._table_area().center()))

    def _table_area(self) -> QRectF:
        return QRectF(self.rect()).adjusted(RULER_PX, RULER_PX, 0, 0)

    @property
    def wire(self) -> PlacedWire:
        """The wire as it lies on the table now."""
        if self._wire is None:
            self._wire = placed_wire(self._session.evaluation, self._session.pose)
        return self._wire

    def _design_changed(self) -> None:
        self._wire = None
        if self._gesture is None:
            # What was pressed may be gone.
            self._pressed = None
            self._speak()
        self.update()

    def _speak(self) -> None:
        """Say which span has the focus, with its numbers."""
        span, evaluation = self._selection.span, self._session.evaluation
        chosen = span is not None and span < len(evaluation.spans.turn_deg)
        self.spoken.say(span_in_words(evaluation, span) if chosen and span is not None else "")

    # --- painting

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._wants_fit:
            self.fit()
        colours = current_palette()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        area = QRectF(self.rect())
        self._paint_table(painter, colours)
        most = _POINTS_WHILE_PULLED if self.is_pulling else MOST_POINTS
        paint_lit(painter, self.wire, self._view, area, colours, self.devicePixelRatioF(), most)
        self._paint_marks(painter, colours)
        self._paint_selected(painter, colours)
        self._paint_pointed(painter, colours)
        if self._tool is not None:
            self._tool.paint(painter, self._view, colours)
        self._paint_rulers(painter, colours)
        matched = self._true_is_matched
        paint_scale_note(
            painter, self._view, self.rect(), colours, self._true_px_per_mm, matched, self._scale
        )
        if self.hasFocus():
            painter.setPen(QPen(QColor(colours.accent), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    def _paint_table(self, painter: QPainter, colours: Palette) -> None:
        """Paper, picture and grid; without a picture kept from one paint to the next while the view stays."""
        area, view, scale, paper = self.rect(), self._view, self._scale, QColor(colours.paper)

        def paint(inside: QPainter) -> None:
            inside.fillRect(area, paper)
            self.picture.paint(inside, view, QRectF(area), self.devicePixelRatioF(), paper)
            paint_grid(inside, view, area, colours, scale)

        if self.picture.place is not None:
            paint(painter)
        else:
            key = (view, colours, scale)
            painter.drawPixmap(0, 0, self._table.painted(key, self.size(), paper, painter, paint))

    def _paint_rulers(self, painter: QPainter, colours: Palette) -> None:
        """The rulers, kept from one paint to the next while the view stays."""
        area, view, scale = self.rect(), self._view, self._scale
        kept = self._rulers.painted(
            (view, colours, scale),
            self.size(),
            QColor(colours.panel),
            painter,
            lambda inside: paint_rulers(inside, view, area, colours, scale),
        )
        along, down = QRect(area), QRect(area)
        along.setHeight(RULER_PX)
        down.setWidth(RULER_PX)
        painter.setClipRegion(QRegion(along).united(QRegion(down)))
        painter.drawPixmap(0, 0, kept)
        painter.setClipping(False)
        paint_ruler_edges(painter, area, colours)

    def _paint_marks(self, painter: QPainter, colours: Palette) -> None:
        """Pen marks across the wire."""
        left, right = self.wire.mark_edges_mm
        painter.setPen(QPen(QColor(colours.mark), 1.6))
        for a, b in zip(left, right, strict=True):
            painter.drawLine(self._view.to_px(complex(a)), self._view.to_px(complex(b)))

    def _paint_selected(self, painter: QPainter, colours: Palette) -> None:
        span = self._selection.span
        if span is not None:
            line = self.wire.centreline_mm(self._session.wire.part(span))
            pen = QPen(QColor(colours.accent), 1.4)
            pen.setDashPattern([9, 3, 1.5, 3])
            painter.setPen(pen)
            painter.drawPolyline(QPolygonF([self._view.to_px(complex(z)) for z in line]))
        shown = self._handles()
        for handle in shown if span is not None else [h for h in shown if h == self._hovered]:
            far_mark = handle.kind == "mark" and span is not None and handle.number not in (span, span + 1)
            if handle == self._hovered or not far_mark:
                self._paint_handle(painter, handle, colours)

    def _paint_handle(self, painter: QPainter, handle: Handle, colours: Palette) -> None:
        at = self._view.to_px(handle.at_mm)
        lit = handle == self._hovered or self._gesture is not None
        painter.setPen(QPen(QColor(colours.accent), 2.0))
        painter.setBrush(QColor(colours.accent if lit and handle == self._hovered else colours.handle_fill))
        size = _HANDLE_PX + (1.0 if handle == self._hovered else 0.0)
        if handle.kind == "direction":
            mark = self._view.to_px(self._session.pose.to_table(self._session.wire.mark_mm(handle.number)))
            painter.setPen(QPen(QColor(colours.accent), 1.2))
            painter.drawLine(mark, at)
            painter.drawEllipse(at, size - 2, size - 2)
        elif handle.kind == "skew":
            painter.drawPolygon(
                QPolygonF(
                    [at + QPointF(0, -size), at + QPointF(size, size - 1), at + QPointF(-size, size - 1)]
                )
            )
        elif handle.kind == "mark":
            painter.drawEllipse(at, size, size)
        elif handle.kind == "belly":
            painter.drawRect(QRectF(at.x() - size + 0.5, at.y() - size + 0.5, 2 * size - 1, 2 * size - 1))
        else:
            painter.drawPolygon(
                QPolygonF(
                    [
                        at + QPointF(size, 0),
                        at + QPointF(0, size),
                        at - QPointF(size, 0),
                        at - QPointF(0, size),
                    ]
                )
            )

    def _paint_pointed(self, painter: QPainter, colours: Palette) -> None:
        sample = self._selection.sample
        if sample is None or self._gesture is not None or sample > len(self.wire.trace.z_mm) - 1:
            return
        left, right = self.wire.edges_at_mm(sample, beyond_mm=5.0 / self._view.px_per_mm)
        painter.setPen(QPen(QColor(colours.accent), 1.2))
        painter.drawLine(self._view.to_px(left), self._view.to_px(right))

    # --- tools

    @property
    def tubes(self) -> Sequence[Tube]:
        """The tubes on the bench, that pulls snap to."""
        return self._tubes

    @property
    def tool(self) -> Tool | None:
        """The tool in hand, if any."""
        return self._tool

    def take_tool(self, tool: Tool | None) -> None:
        """Take a tool in hand, or none: the last one is put down."""
        if self._tool is not None:
            before, self._tool = self._tool, None
            before.put_down()
            before.changed.disconnect(self.update)
            before.told.disconnect(self.told)
            before.ended.emit()
        self._tool = tool
        if tool is not None:
            tool.changed.connect(self.update)
            tool.told.connect(self.told)
            self._selection.select(None)
            self.setCursor(tool.cursor)
            self.told.emit(tool.hint)
        else:
            self.unsetCursor()
            self.told.emit("")
        self.update()

    # --- the mouse

    def _handles(self) -> list[Handle]:
        return handles_of(self._session, self.wire, self._selection.span, 14.0 / self._view.px_per_mm)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self._gesture is not None:
            return
        at = event.position()
        self._button, self._pressed = event.button(), None
        if event.button() == Qt.MouseButton.MiddleButton:
            self._begin(Pan(self._view, at, self.show_view))
        elif event.button() == Qt.MouseButton.LeftButton:
            if self._tool is not None and self._tool.press(at, self._view, event.modifiers()):
                return
            handle = nearest_handle(self._handles(), at, self._view, _CLOSE_PX)
            sample = None if handle else self._sample_under(at)
            self._pressed = (at, handle, sample)
            if sample is not None:
                self._selection.select(self._span_of(sample))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._pointer = at = event.position()
        tool = self._tool if self._gesture is None else None
        if tool is not None and tool.move(at, self._view, event.modifiers()):
            self.setCursor(tool.cursor)
            return
        if self._gesture is None and self._pressed is not None:
            moved = at - self._pressed[0]
            if abs(moved.x()) + abs(moved.y()) >= DRAG_THRESHOLD_PX:
                self._begin(self._gesture_for(*self._pressed))
        if self._gesture is not None:
            self.told.emit(self._gesture.move(at, self._view, event.modifiers()))
            return
        self._hover(at)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        tool = self._tool if self._gesture is None and event.button() == Qt.MouseButton.LeftButton else None
        if tool is not None and tool.release(event.position(), self._view, event.modifiers()):
            return
        if event.button() != self._button:
            return
        pressed, self._pressed = self._pressed, None
        if self._gesture is not None:
            gesture, self._gesture = self._gesture, None
            gesture.finish()
            self.update()
            self.unsetCursor()
            self.told.emit("")
        elif pressed is not None and pressed[1] is None and pressed[2] is None:
            self._selection.select(None)
        self._hover(event.position())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self._tool is not None:
            # To a tool a second press is one like any other.
            self.mousePressEvent(event)
            return
        table_mm = self._view.to_mm(event.position())
        if crossing_at(self._session, table_mm, _CLOSE_PX / self._view.px_per_mm) is not None:
            self.swap_over_under(table_mm)
        elif self._sample_under(event.position()) is None:
            self.fit()

    def swap_over_under(self, table_mm: complex) -> None:
        """Swap over and under at the crossing nearest to a place; what cannot be is said."""
        try:
            self.told.emit(swap_over_under(self._session, table_mm))
        except FormSketchError as fault:
            self.told.emit(str(fault))

    def tabletEvent(self, event: QTabletEvent) -> None:
        """A tool has the pen directly, as finely as the tablet tells; pulls take it as a mouse."""
        tool = self._tool if self._gesture is None else None
        if tool is None:
            event.ignore()
            return
        takes = {
            QEvent.Type.TabletPress: tool.press,
            QEvent.Type.TabletMove: tool.move,
            QEvent.Type.TabletRelease: tool.release,
        }.get(event.type())
        event.setAccepted(takes is not None and takes(event.position(), self._view, event.modifiers()))

    def wheelEvent(self, event: QWheelEvent) -> None:
        tool = self._tool if self._gesture is None else None
        taken = tool is not None and tool.wheel(event)
        if self._gesture is None and not taken:
            self.show_view(self._view.zoomed(_WHEEL_STEP ** event.angleDelta().y(), event.position()))
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:
        self._hovered = None
        self._selection.point_at(None)
        if self._gesture is None:
            self.told.emit("")
        self.update()

    def _begin(self, gesture: Gesture) -> None:
        self._gesture = gesture
        self.setCursor(gesture.cursor)

    def _gesture_for(self, at: QPointF, handle: Handle | None, sample: float | None) -> Gesture:
        grabbed = self._view.to_mm(at)
        if handle is not None:
            if handle.kind == "mark":
                return MarkPull(self._session, handle.number, grabbed)
            if handle.kind == "belly":
                return BellyPull(self._session, handle.number, grabbed, self._tubes)
            if handle.kind == "skew":
                return SkewPull(self._session, handle.number, handle.u, grabbed)
            if handle.kind == "direction":
                return DirectionPull(self._session, handle.number, grabbed)
            return FlarePull(self._session, handle.number, handle.u, grabbed)
        span = None if sample is None else self._span_of(sample)
        if span is not None:
            return BellyPull(self._session, span, grabbed, self._tubes)
        return Pan(self._view, at, self.show_view)

    def _hover(self, at: QPointF) -> None:
        handle = nearest_handle(self._handles(), at, self._view, _CLOSE_PX)
        if handle != self._hovered:
            self._hovered = handle
            self.update()
        sample = self._sample_under(at)
        self._selection.point_at(sample)
        if handle is not None:
            self.setCursor(Qt.CursorShape.OpenHandCursor)
            self.told.emit(handle.hint)
        elif sample is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            span = self._span_of(sample)
            if span is None:
                self.told.emit("An end of the wire; Form > Ends changes it.")
            else:
                self.told.emit(f"Span {span + 1}: drag to open or close it, click to select it.")
        else:
            self.unsetCursor()
            self.told.emit("Drag the table to move it, turn the wheel to zoom. Click a span to select it.")

    def _sample_under(self, at: QPointF) -> float | None:
        return self.wire.sample_near(self._view.to_mm(at), 4.0 / self._view.px_per_mm)

    def _span_of(self, sample: float) -> int | None:
        spans = self._session.evaluation.chain.spans
        part = int(self._session.evaluation.own_trace.part[int(sample)])
        return part - spans.start if spans.start <= part < spans.stop else None

    # --- the keyboard

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if self._tool is not None and self._gesture is None and self._tool.key(event):
            return
        if key == Qt.Key.Key_Escape and self._tool is not None and self._gesture is None:
            self.take_tool(None)
            return
        if self._gesture is None and self._pressed is None:
            said = self._key_pulls.press(event, self._selection.span)
            if said is not None:
                self.told.emit(said)
                return
        if key == Qt.Key.Key_Escape and (self._gesture is not None or self._pressed is not None):
            gesture, self._gesture, self._pressed = self._gesture, None, None
            if gesture is not None:
                gesture.cancel()
            self.unsetCursor()
            self.told.emit("Put back as it was.")
        elif key == Qt.Key.Key_Escape:
            self._selection.select(None)
        elif key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
            self._step_selection(1 if key == Qt.Key.Key_Right else -1)
        else:
            super().keyPressEvent(event)

    def _step_selection(self, step: int) -> None:
        count = self._session.wire.span_count
        now = self._selection.span
        self._selection.select((0 if step > 0 else count - 1) if now is None else (now + step) % count)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        # What lay in the middle stays in the middle. The old size an event carries is not to be trusted
        # after the canvas was hidden.
        if self._seen_size.isValid() and not self._wants_fit:
            by = event.size() - self._seen_size
            self._view = self._view.moved(QPointF(by.width() / 2, by.height() / 2))
        self._seen_size = event.size()
        super().resizeEvent(event)

    @property
    def is_pulling(self) -> bool:
        """Whether a gesture is under way; menus wait for its end."""
        return self._gesture is not None or (self._tool is not None and self._tool.is_busy)
