"""The same wire straight, as it is cut and marked: marks, hammer zones, tubes and turns along it."""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from formsketch.bench.gauges import gauge_text
from formsketch.ui.gestures import DRAG_THRESHOLD_PX
from formsketch.ui.kept_picture import KeptPicture
from formsketch.ui.lit_wire import ViewTransform, WireSamples, lit_wire_image
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.strip_gestures import MarkSlide, ZonePull
from formsketch.ui.theme import Palette, current_palette, rgb
from formsketch.ui.view import View
from formsketch.units import angle_text, length_text

_SIDE_PX, _HEAD_PX = 22.0, 30.0
# Wire drawn thinner than this could not show its hammering; it is drawn thicker, and the strip says so.
_LEAST_WIRE_PX = 15.0
_LEAST_LABEL_PX = 44.0
_GRAB_PX = 5.0
_FOLLOW_MS = 30


class WireStripView(QWidget):
    """The straight wire of the session's design, stretched over the width of the widget."""

    told = Signal(str)

    def __init__(self, session: Session, selection: Selection) -> None:
        super().__init__()
        self._session, self._selection = session, selection
        self._gesture: MarkSlide | ZonePull | None = None
        self._button = Qt.MouseButton.NoButton
        self._pressed: tuple[QPointF, int | None, int | None] | None = None
        self._held_view = View(1.0, 0.0, 0.0)
        self._unbent = KeptPicture()
        # While something else changes the design, the strip follows a little less often than the form.
        self._follow = QTimer(self)
        self._follow.setSingleShot(True)
        self._follow.setInterval(_FOLLOW_MS)
        self._follow.timeout.connect(self.update)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setMinimumHeight(176)
        self.setAccessibleName("The straight wire")
        self.setAccessibleDescription("The wire as cut, with marks measured from its start end.")
        session.changed.connect(self._design_changed)
        selection.changed.connect(self.update)
        selection.pointed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(800, 190)

    def _design_changed(self) -> None:
        if self._gesture is not None:
            self.update()
            return
        # What was pressed may be gone.
        self._pressed = None
        if not self._follow.isActive():
            self._follow.start()

    # --- from millimetres of stock to pixels

    @property
    def _px_per_mm(self) -> float:
        return (self.width() - 2 * _SIDE_PX) / self._session.evaluation.cut_length_mm

    @property
    def _thicker(self) -> float:
        """How many times thicker than to scale the wire is drawn; 1 when it is thick enough."""
        return max(1.0, _LEAST_WIRE_PX / (self._session.evaluation.diameter_mm * self._px_per_mm))

    @property
    def _wire_y_px(self) -> float:
        return _HEAD_PX + 50.0

    def x_px(self, stock_mm: float) -> float:
        """Where a distance from the start of the cut wire lies across the widget."""
        return _SIDE_PX + self._px_per_mm * stock_mm

    # --- painting

    def paintEvent(self, event: QPaintEvent) -> None:
        colours = current_palette()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        kept = self._unbent.painted(
            self._unbent_key(colours),
            self.size(),
            QColor(colours.paper),
            painter,
            lambda inside: self._paint_unbent(inside, colours),
        )
        painter.drawPixmap(0, 0, kept)
        self._paint_spans(painter, colours)
        self._paint_pointed(painter, colours)

    def _unbent_key(self, colours: Palette) -> Hashable:
        """All that the wire's looks depend on before any of it is bent; lengths to a millionth of a mm."""
        e = self._session.evaluation
        lengths = (*e.spans.stock_from_mm, *e.spans.stock_length_mm, e.cut_length_mm, e.ends[1].stock_mm)
        hammered = (e.chain.flares, e.chain.flare[e.chain.spans].tobytes(), e.design.hammer)
        look = (e.diameter_mm, e.metal.colour, colours, self._selection.span)
        return np.round(lengths, 6).tobytes(), hammered, look

    def _paint_unbent(self, painter: QPainter, colours: Palette) -> None:
        """What stays on the paper while spans open and close: the wire, its marks and the heading."""
        painter.setPen(QPen(QColor(colours.line), 1))
        painter.drawLine(0, 0, self.width(), 0)
        self._paint_heading(painter, colours)
        self._paint_selected(painter, colours)
        self._paint_wire(painter, colours)
        self._paint_marks(painter, colours)

    def _paint_heading(self, painter: QPainter, colours: Palette) -> None:
        e = self._session.evaluation
        bold = QFont(painter.font())
        bold.setBold(True)
        painter.setFont(bold)
        painter.setPen(QColor(colours.ink))
        painter.drawText(QPointF(_SIDE_PX, 20), "The straight wire")
        after = painter.fontMetrics().horizontalAdvance("The straight wire") + _SIDE_PX + 16
        self._set_font(painter, 8.5)
        painter.setPen(QColor(colours.ink_soft))
        parts = [f"cut {length_text(e.cut_length_mm)}", gauge_text(e.diameter_mm), "marks from the start end"]
        if self._thicker > 1.005:
            parts.append(f"thickness drawn {self._thicker:.1f} times")
        painter.drawText(QPointF(after, 20), "  ·  ".join(parts))

    def _paint_selected(self, painter: QPainter, colours: Palette) -> None:
        span = self._selection.span
        spans = self._session.evaluation.spans
        if span is None or span >= len(spans.stock_from_mm):
            return
        x0 = self.x_px(float(spans.stock_from_mm[span]))
        wide = self._px_per_mm * float(spans.stock_length_mm[span])
        painter.fillRect(QRectF(x0, self._wire_y_px - 26, wide, 88), QColor(colours.accent_wash))

    def _paint_wire(self, painter: QPainter, colours: Palette) -> None:
        ratio = self.devicePixelRatioF()
        e, thicker = self._session.evaluation, self._thicker
        x, thickness, width, first = self._samples_along()
        samples = WireSamples(x / thicker, np.zeros(len(x)), np.zeros(len(x)), thickness, width, first)
        scale = self._px_per_mm * thicker * ratio
        image = lit_wire_image(
            samples,
            ViewTransform(scale, _SIDE_PX * ratio, self._wire_y_px * ratio),
            (max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio))),
            e.metal.colour,
            paper_rgb=rgb(colours.paper),
            rim_rgb=rgb(colours.rim),
        )
        image.setDevicePixelRatio(ratio)
        painter.drawImage(0, 0, image)

    def _samples_along(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Stock distance, thickness and width at samples of the cut wire; the ends are still round."""
        e = self._session.evaluation
        chain, trace = e.chain, e.own_trace
        begin, end = trace.first[chain.spans.start], trace.first[chain.spans.stop]
        d = e.diameter_mm
        ends = np.array([0.0, e.cut_length_mm])
        x = np.concatenate((ends[:1], e.stock_at_samples_mm[begin:end], ends[1:]))
        thickness = np.concatenate(([d], e.samples.thickness_mm[begin:end], [d]))
        width = np.concatenate(([d], e.samples.width_mm[begin:end], [d]))
        return x, thickness, width, np.array([0, len(x)])

    def _paint_marks(self, painter: QPainter, colours: Palette) -> None:
        e = self._session.evaluation
        places = np.append(e.spans.stock_from_mm, e.cut_length_mm - e.ends[1].stock_mm)
        all_places = np.unique(np.concatenate(([0.0], places, [e.cut_length_mm])).round(9))
        self._set_font(painter, 8.5)
        labelled = self._fitting(all_places)
        y = self._wire_y_px
        for place in all_places:
            x = self.x_px(float(place))
            end = place in (0.0, all_places[-1])
            painter.setPen(QPen(QColor(colours.ink), 2.0 if end else 1.3))
            painter.drawLine(QPointF(x, y - 20), QPointF(x, y + 20))
            if place in labelled:
                painter.setPen(QColor(colours.ink))
                painter.drawText(QRectF(x - 30, y - 40, 60, 16), Qt.AlignmentFlag.AlignCenter, f"{place:.1f}")

    def _fitting(self, places: np.ndarray) -> set[float]:
        """Places whose labels have room: the selected span's first, then both ends, then the rest in turn."""
        wanted = [float(places[0]), float(places[-1])]
        span = self._selection.span
        spans = self._session.evaluation.spans
        if span is not None and span < len(spans.stock_from_mm):
            begin = float(spans.stock_from_mm[span].round(9))
            wanted = [
                begin,
                float((spans.stock_from_mm[span] + spans.stock_length_mm[span]).round(9)),
                *wanted,
            ]
        shown: list[float] = []
        for place in [*wanted, *(float(p) for p in places)]:
            if all(abs(place - other) * self._px_per_mm >= _LEAST_LABEL_PX * 0.82 for other in shown):
                shown.append(place)
        return set(shown)

    def _paint_spans(self, painter: QPainter, colours: Palette) -> None:
        """Under each span the tube to bend it on, to scale with the wire, and how far it turns."""
        spans = self._session.evaluation.spans
        middles = spans.stock_from_mm + spans.stock_length_mm / 2
        y = self._wire_y_px + 44
        chosen = self._selection.span
        order = sorted(range(len(middles)), key=lambda i: (i != chosen, i))
        taken: list[float] = []
        for i in order:
            x = self.x_px(float(middles[i]))
            if any(abs(x - other) < _LEAST_LABEL_PX for other in taken):
                continue
            taken.append(x)
            tube = float(spans.tube_diameter_mm[i])
            self._set_font(painter, 8.5)
            if np.isfinite(tube):
                radius = min(14.0, max(9.0, tube * self._px_per_mm / 2))
                painter.setPen(QPen(QColor(colours.ink_soft), 1.0))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(QPointF(x, y), radius, radius)
                painter.setPen(QColor(colours.ink))
                painter.drawText(QRectF(x - 24, y - 9, 48, 18), Qt.AlignmentFlag.AlignCenter, f"{tube:.1f}")
            elif abs(float(spans.turn_deg[i])) < 1e-6:
                painter.setPen(QColor(colours.ink_soft))
                painter.drawText(QRectF(x - 30, y - 9, 60, 18), Qt.AlignmentFlag.AlignCenter, "straight")
                continue
            painter.setPen(QColor(colours.ink_soft))
            turn = float(spans.turn_deg[i])
            side = "left" if turn > 0 else "right"
            roomy = self._px_per_mm * float(spans.stock_length_mm[i]) > 64
            text = f"{angle_text(abs(turn))} {side if roomy else side[0].upper()}"
            painter.drawText(QRectF(x - 40, y + 15, 80, 16), Qt.AlignmentFlag.AlignCenter, text)
        self._set_font(painter, 8.0)
        painter.setPen(QColor(colours.ink_soft))
        painter.drawText(
            QRectF(_SIDE_PX, self.height() - 20, self.width() - 2 * _SIDE_PX, 16),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            "Circles: the tube in mm that leaves each bend after spring-back; below, how far it turns.",
        )

    def _paint_pointed(self, painter: QPainter, colours: Palette) -> None:
        sample = self._selection.sample
        e = self._session.evaluation
        if sample is None or sample > len(e.stock_at_samples_mm) - 1:
            return
        numbers = np.arange(len(e.stock_at_samples_mm))
        place, width, thickness = (
            float(np.interp(sample, numbers, values))
            for values in (e.stock_at_samples_mm, e.samples.width_mm, e.samples.thickness_mm)
        )
        x, y = self.x_px(place), self._wire_y_px
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        painter.drawLine(QPointF(x, y - 24), QPointF(x, y + 24))
        self._set_font(painter, 8.5)
        section = f"{length_text(width)} x {length_text(thickness)}"
        text = f"{place:.1f} mm from the start end, section {section}"
        painter.drawText(
            QRectF(self.width() - 420 - _SIDE_PX, 6, 420, 18),
            Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
            text,
        )

    @staticmethod
    def _set_font(painter: QPainter, points: float) -> None:
        font = QFont(painter.font())
        font.setBold(False)
        font.setPointSizeF(points)
        painter.setFont(font)

    # --- the mouse

    @property
    def _view(self) -> View:
        """Millimetres along the straight wire; the wire lies on the x axis."""
        return View(self._px_per_mm, _SIDE_PX, self._wire_y_px)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._gesture is not None:
            return
        at = event.position()
        self._button = event.button()
        self._pressed = (at, self._mark_at(at), self._span_at(at))
        if self._pressed[1] is None:
            self._selection.select(self._pressed[2])

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
        self._pressed = None
        if self._gesture is not None:
            gesture, self._gesture = self._gesture, None
            gesture.finish()
            self.told.emit("")
        self._hover(event.position())

    def _begin(self, at: QPointF, mark: int | None, span: int | None) -> None:
        # The scale changes while the wire gets longer; the pull is measured in the one it began with.
        self._held_view = self._view
        grabbed = self._held_view.to_mm(at)
        if mark is not None:
            self._gesture = MarkSlide(self._session, mark, grabbed)
        elif span is not None:
            self._gesture = ZonePull(self._session, span, grabbed, self._thicker)
        if self._gesture is not None:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.setCursor(self._gesture.cursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and (self._gesture is not None or self._pressed is not None):
            gesture, self._gesture, self._pressed = self._gesture, None, None
            if gesture is not None:
                gesture.cancel()
            self.told.emit("Put back as it was.")
        else:
            super().keyPressEvent(event)

    def _hover(self, at: QPointF) -> None:
        self._selection.point_at(self._sample_at(at))
        mark, span = self._mark_at(at), self._span_at(at)
        if mark is not None:
            self.setCursor(Qt.CursorShape.SplitHCursor)
            self.told.emit(f"Mark {mark + 1}: drag it along; wire passes from one span to the next.")
        elif span is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            self.told.emit(
                f"Span {span + 1}: drag up or down to hammer it thinner or less, click to select it."
            )
        else:
            self.unsetCursor()
            self.told.emit("")

    def leaveEvent(self, event: QEvent) -> None:
        self._selection.point_at(None)
        if self._gesture is None:
            self.told.emit("")

    @property
    def is_pulling(self) -> bool:
        """Whether a gesture is under way; menus wait for its end."""
        return self._gesture is not None

    def _mark_at(self, at: QPointF) -> int | None:
        if abs(at.y() - self._wire_y_px) > 34:
            return None
        e = self._session.evaluation
        places = np.append(e.spans.stock_from_mm, e.cut_length_mm - e.ends[1].stock_mm)
        away = np.abs(_SIDE_PX + self._px_per_mm * places - at.x())
        nearest = int(np.argmin(away))
        return nearest if away[nearest] <= _GRAB_PX else None

    def _stock_at_mm(self, at: QPointF) -> float | None:
        place = (at.x() - _SIDE_PX) / self._px_per_mm
        near = abs(at.y() - self._wire_y_px) <= 34
        return place if near and 0 <= place <= self._session.evaluation.cut_length_mm else None

    def _sample_at(self, at: QPointF) -> float | None:
        place = self._stock_at_mm(at)
        if place is None:
            return None
        stock = self._session.evaluation.stock_at_samples_mm
        return float(np.interp(place, stock, np.arange(len(stock))))

    def _span_at(self, at: QPointF) -> int | None:
        place = self._stock_at_mm(at)
        spans = self._session.evaluation.spans
        if place is None or not spans.stock_from_mm[0] <= place:
            return None
        span = int(np.searchsorted(spans.stock_from_mm, place, side="right")) - 1
        return span if place <= spans.stock_from_mm[span] + spans.stock_length_mm[span] else None
