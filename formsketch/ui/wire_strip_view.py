"""The same wire straight, as it is cut and marked: marks, hammer zones, tubes and turns along it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QSize, QSizeF, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from formsketch.ui.gestures import CHOOSING, DRAG_THRESHOLD_PX, NO_KEYS, SHIFT
from formsketch.ui.kept_picture import KeptPicture
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.strip_field import TypedMarks
from formsketch.ui.strip_gestures import MarkSlide, ZonePull
from formsketch.ui.strip_layout import StripLayout
from formsketch.ui.strip_painting import StripPainting
from formsketch.ui.strip_section import paint_pointed
from formsketch.ui.theme import current_palette
from formsketch.ui.view import View
from formsketch.units import length_text

NAME = "The straight wire"
_FOLLOW_MS = 30
_LEAST_HIGH_PX = 192
_HOW = (
    "The wire as cut, with marks measured from its start end. Right and Left choose a mark, Enter types its "
    "distance, Shift with Right and Left selects several spans."
)


class WireStripView(QWidget):
    """The straight wire of the session's design, stretched over the width of the widget."""

    told = Signal(str)

    def __init__(self, session: Session, selection: Selection) -> None:
        super().__init__()
        self._session, self._selection = session, selection
        self._gesture: MarkSlide | ZonePull | None = None
        self._button = Qt.MouseButton.NoButton
        self._pressed: tuple[QPointF, int | None, int | None] | None = None
        self._pressed_keys = NO_KEYS
        self._held_view = View(1.0, 0.0, 0.0)
        self._mark: int | None = None
        self._unbent = KeptPicture()
        self.typed = TypedMarks(self, session, lambda: self._layout, self.told.emit)
        # While something else changes the design, the strip follows a little less often than the form.
        self._follow = QTimer(self)
        self._follow.setSingleShot(True)
        self._follow.setInterval(_FOLLOW_MS)
        self._follow.timeout.connect(self.update)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumHeight(_LEAST_HIGH_PX)
        self.setAccessibleName(NAME)
        self.setAccessibleDescription(_HOW)
        session.changed.connect(self._design_changed)
        selection.changed.connect(self._selection_changed)
        selection.pointed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(800, _LEAST_HIGH_PX + 8)

    def _design_changed(self) -> None:
        self.typed.close()
        if self._mark is not None and self._mark > self._session.wire.span_count:
            self._mark = None
        if self._gesture is not None:
            self.update()
            return
        # What was pressed may be gone.
        self._pressed = None
        if not self._follow.isActive():
            self._follow.start()

    def _selection_changed(self) -> None:
        self._speak()
        self.update()

    @property
    def _layout(self) -> StripLayout:
        return StripLayout(self._session.evaluation, float(self.width()))

    def x_px(self, stock_mm: float) -> float:
        """Where a distance from the start of the cut wire lies across the widget."""
        return self._layout.x_px(stock_mm)

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, layout = current_palette(), self._layout
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painting = StripPainting(
            layout, self._selection, colours, QSizeF(self.size()), self.devicePixelRatioF()
        )
        kept = self._unbent.painted(
            painting.unbent_key(), self.size(), QColor(colours.paper), painter, painting.paint_unbent
        )
        painter.drawPixmap(0, 0, kept)
        painting.paint_spans(painter)
        if self._selection.sample is not None:
            paint_pointed(painter, layout, self._selection.sample, colours)
        if self.hasFocus():
            if self._mark is not None:
                painting.paint_focused_mark(painter, self._mark)
            painter.setPen(QPen(QColor(colours.accent), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    # --- the mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._gesture is not None:
            return
        at, layout = event.position(), self._layout
        mark, span = layout.mark_at(at, self._selection.span), layout.span_at(at)
        self._button, self._pressed_keys = event.button(), event.modifiers()
        self._pressed = (at, mark, span)
        self._focus_mark(mark)
        # With these held a click chooses among several spans.
        if mark is None and not self._pressed_keys & CHOOSING:
            self._selection.select(span)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        if self._gesture is None and self._pressed is not None:
            moved = at - self._pressed[0]
            if abs(moved.x()) + abs(moved.y()) >= DRAG_THRESHOLD_PX:
                self._begin(*self._pressed)
        if self._gesture is not None:
            self.told.emit(self._gesture.move(at, self._held_view))
        elif self._pressed is None:
            self._hover(at)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() != self._button:
            return
        pressed, self._pressed = self._pressed, None
        if self._gesture is not None:
            gesture, self._gesture = self._gesture, None
            gesture.finish()
            self.told.emit("")
        elif pressed is not None and pressed[2] is not None and self._pressed_keys & CHOOSING:
            self._selection.choose(pressed[2], self._pressed_keys)
        if self.typed.field is None:
            self._hover(event.position())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        mark = self._layout.mark_at(event.position(), self._selection.span)
        if event.button() == Qt.MouseButton.LeftButton and mark is not None and self._gesture is None:
            self._pressed = None
            self.typed.open(mark)
        else:
            self.mousePressEvent(event)

    def _begin(self, at: QPointF, mark: int | None, span: int | None) -> None:
        # The scale changes while the wire gets longer; the pull is measured in the one it began with.
        self._held_view = self._layout.view
        grabbed = self._held_view.to_mm(at)
        if mark is not None:
            self._gesture = MarkSlide(self._session, mark, grabbed)
        elif span is not None:
            self._selection.select(span)
            self._gesture = ZonePull(self._session, span, grabbed, self._layout.thicker)
        if self._gesture is not None:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.setCursor(self._gesture.cursor)

    def _hover(self, at: QPointF) -> None:
        layout = self._layout
        self._selection.point_at(layout.sample_at(at))
        mark, span = layout.mark_at(at, self._selection.span), layout.span_at(at)
        if mark is not None:
            self.setCursor(Qt.CursorShape.SplitHCursor)
            hint = f"Mark {mark + 1}: drag it along; wire passes from one span to the next."
            self._tell(f"{hint} Double-click to type its distance.")
        elif span is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            self._tell(f"Span {span + 1}: drag up or down to hammer it thinner or less, click to select it.")
        else:
            self.unsetCursor()
            self._tell("")

    def _tell(self, hint: str) -> None:
        self.told.emit(self._selection.telling(hint))

    def leaveEvent(self, event: QEvent) -> None:
        self._selection.point_at(None)
        if self._gesture is None and self.typed.field is None:
            self.told.emit("")

    @property
    def is_pulling(self) -> bool:
        """Whether a gesture is under way; menus wait for its end."""
        return self._gesture is not None

    # --- the keyboard

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key == Qt.Key.Key_Escape and (self._gesture is not None or self._pressed is not None):
            gesture, self._gesture, self._pressed = self._gesture, None, None
            if gesture is not None:
                gesture.cancel()
            self.told.emit("Put back as it was.")
        elif self._gesture is not None or self._pressed is not None:
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_Escape:
            if self._mark is None:
                self._selection.select(None)
            self._focus_mark(None)
        elif key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
            self._step(1 if key == Qt.Key.Key_Right else -1, bool(event.modifiers() & SHIFT))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._mark is not None:
            self.typed.open(self._mark)
        else:
            super().keyPressEvent(event)

    def _step(self, step: int, stretches: bool) -> None:
        count = self._session.wire.span_count
        if stretches:
            self._selection.stretch_by(step, count)
            self._tell("")
            return
        begun = 0 if step > 0 else count
        self._focus_mark(begun if self._mark is None else (self._mark + step) % (count + 1))

    def _focus_mark(self, mark: int | None) -> None:
        """Let the keys act on a mark, or on none."""
        self._mark = mark
        if mark is not None:
            self.told.emit(f"{self._mark_in_words(mark)}. Enter types its distance.")
        self._speak()
        self.update()

    def _mark_in_words(self, mark: int) -> str:
        layout = self._layout
        place = length_text(float(layout.marks_mm[mark]))
        return f"Mark {mark + 1} of {len(layout.marks_mm)}, {place} from the start end"

    def _speak(self) -> None:
        """Say which mark the keys act on, or how many spans are selected."""
        said = self._selection.telling("") if self._mark is None else self._mark_in_words(self._mark)
        self.setAccessibleName(f"{NAME}: {said}" if said else NAME)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()
