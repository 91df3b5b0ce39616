"""Painting the straight wire: the lit wire with its marks, under it how each span is bent and hammered."""

from __future__ import annotations

from collections.abc import Hashable
from functools import cached_property

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from formsketch.bench.gauges import gauge_text
from formsketch.design.set_places import is_set
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.lit_wire import ViewTransform, WireSamples, lit_wire_image
from formsketch.ui.selection import Selection
from formsketch.ui.set_painting import paint_set_on_strip
from formsketch.ui.strip_layout import LEAST_LABEL_PX, SIDE_PX, WIRE_Y_PX, StripLayout
from formsketch.ui.theme import Palette, rgb
from formsketch.units import angle_text, length_text

SMALL_PT, SMALLEST_PT = 8.5, 8.0
_CENTRED = Qt.AlignmentFlag.AlignCenter
# From this width on a span has room for whole words.
_ROOMY_PX = 92.0
_WASH_ABOVE_PX, _WASH_HIGH_PX = 26.0, 117.0
_TITLE = "The straight wire"
_KEY = "Circles: tube in mm, with spring-back; below: bend (sides as in the form above), least thickness."


def use_font(painter: QPainter, points: float, bold: bool = False) -> None:
    """Write on in this size."""
    font = QFont(painter.font())
    font.setBold(bold)
    font.setPointSizeF(points)
    painter.setFont(font)


class StripPainting:
    """Paints one strip of this size, in logical pixels, on a device of `ratio` device pixels to each."""

    def __init__(
        self, layout: StripLayout, selection: Selection, colours: Palette, size: QSizeF, ratio: float
    ) -> None:
        self._layout, self._selection, self._colours = layout, selection, colours
        self._size, self._ratio = size, ratio

    @property
    def _e(self) -> Evaluation:
        return self._layout.evaluation

    # --- what stays on the paper while spans open and close

    def unbent_key(self) -> Hashable:
        """All that the wire's looks depend on before any of it is bent; lengths to a millionth of a mm."""
        e = self._e
        lengths = (*e.spans.stock_from_mm, *e.spans.stock_length_mm, e.cut_length_mm, e.ends[1].stock_mm)
        lengths += self._layout.end_marks_mm
        hammered = (e.chain.flares, e.chain.flare[e.chain.spans].tobytes(), e.design.hammer)
        look = (e.diameter_mm, e.metal.colour, self._colours, self._selection.span, self._selection.spans)
        design = e.design
        set_on = (design.pearls, design.stones, design.quality_mark)
        return np.round(lengths, 6).tobytes(), hammered, look, set_on

    def paint_unbent(self, painter: QPainter) -> None:
        """The wire, its marks and the heading."""
        painter.setPen(QPen(QColor(self._colours.line), 1))
        painter.drawLine(0, 0, round(self._size.width()), 0)
        self._paint_heading(painter)
        self._paint_selected(painter)
        self._paint_wire(painter)
        self._paint_marks(painter)
        if is_set(self._e.design):
            labelled = self._layout.labelled_mm(self._selection.span)
            paint_set_on_strip(painter, self._e.set_on, self._layout, tuple(labelled), self._colours)

    def _paint_heading(self, painter: QPainter) -> None:
        e, thicker = self._e, self._layout.thicker
        use_font(painter, painter.font().pointSizeF(), bold=True)
        painter.setPen(QColor(self._colours.ink))
        painter.drawText(QPointF(SIDE_PX, 20), _TITLE)
        after = painter.fontMetrics().horizontalAdvance(_TITLE) + SIDE_PX + 16
        use_font(painter, SMALL_PT)
        painter.setPen(QColor(self._colours.ink_soft))
        parts = [f"cut {length_text(e.cut_length_mm)}", gauge_text(e.diameter_mm), "marks from the start end"]
        if thicker > 1.005:
            parts.append(f"thickness drawn {thicker:.1f} times")
        painter.drawText(QPointF(after, 20), " · ".join(parts))

    def _paint_selected(self, painter: QPainter) -> None:
        spans, lead = self._e.spans, self._selection.span
        wash = QColor(self._colours.accent_wash)
        for span in self._selection.spans:
            if span >= len(spans.stock_from_mm):
                continue
            x0 = self._layout.x_px(float(spans.stock_from_mm[span]))
            wide = self._layout.px_per_mm * float(spans.stock_length_mm[span])
            area = QRectF(x0, WIRE_Y_PX - _WASH_ABOVE_PX, wide, _WASH_HIGH_PX)
            painter.fillRect(area, wash)
            if span == lead and self._selection.has_many:
                # The one whose handles are shown, and that a stretch is counted from.
                painter.fillRect(QRectF(x0, area.bottom() - 2, wide, 2), QColor(self._colours.accent))

    def _paint_wire(self, painter: QPainter) -> None:
        ratio, e, thicker = self._ratio, self._e, self._layout.thicker
        x, thickness, width, first = self._samples_along()
        samples = WireSamples(x / thicker, np.zeros(len(x)), np.zeros(len(x)), thickness, width, first)
        scale = self._layout.px_per_mm * thicker * ratio
        image = lit_wire_image(
            samples,
            ViewTransform(scale, SIDE_PX * ratio, WIRE_Y_PX * ratio),
            (max(1, round(self._size.width() * ratio)), max(1, round(self._size.height() * ratio))),
            e.metal.colour,
            paper_rgb=rgb(self._colours.paper),
            rim_rgb=rgb(self._colours.rim),
        )
        image.setDevicePixelRatio(ratio)
        painter.drawImage(0, 0, image)

    def _samples_along(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Stock distance, thickness and width at samples of the cut wire; the ends are still round."""
        e = self._e
        chain, trace = e.chain, e.own_trace
        begin, end = trace.first[chain.spans.start], trace.first[chain.spans.stop]
        d = e.diameter_mm
        ends = np.array([0.0, e.cut_length_mm])
        x = np.concatenate((ends[:1], e.stock_at_samples_mm[begin:end], ends[1:]))
        thickness = np.concatenate(([d], e.samples.thickness_mm[begin:end], [d]))
        width = np.concatenate(([d], e.samples.width_mm[begin:end], [d]))
        return x, thickness, width, np.array([0, len(x)])

    def _paint_marks(self, painter: QPainter) -> None:
        layout, lines = self._layout, self._layout.lines_mm
        labelled = layout.labelled_mm(self._selection.span)
        use_font(painter, SMALL_PT)
        painter.setPen(QPen(QColor(self._colours.ink_soft), 1.0))
        for inside in layout.end_marks_mm:
            x = layout.x_px(inside)
            painter.drawLine(QPointF(x, WIRE_Y_PX - 13), QPointF(x, WIRE_Y_PX + 13))
        for place in lines:
            x, end = layout.x_px(float(place)), place in (lines[0], lines[-1])
            painter.setPen(QPen(QColor(self._colours.ink), 2.0 if end else 1.3))
            painter.drawLine(QPointF(x, WIRE_Y_PX - 20), QPointF(x, WIRE_Y_PX + 20))
            if place in labelled:
                painter.drawText(layout.label_rect(float(place)), _CENTRED, f"{place:.1f}")

    # --- what changes while spans open and close

    def paint_spans(self, painter: QPainter) -> None:
        """Under each span the tube to bend it on, how far to bend it, and how thin it is hammered."""
        spans = self._e.spans
        middles = spans.stock_from_mm + spans.stock_length_mm / 2
        lead = self._selection.span
        taken: list[float] = []
        use_font(painter, SMALL_PT)
        for span in sorted(range(len(middles)), key=lambda i: (i != lead, i)):
            x = self._layout.x_px(float(middles[span]))
            if all(abs(x - other) >= LEAST_LABEL_PX for other in taken):
                taken.append(x)
                self._paint_bend(painter, span, x)
                self._paint_thickness(painter, span, x)
        use_font(painter, SMALLEST_PT)
        painter.setPen(QColor(self._colours.ink_soft))
        painter.drawText(
            QRectF(SIDE_PX, self._size.height() - 20, self._size.width() - 2 * SIDE_PX, 16),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            _KEY,
        )

    def _paint_bend(self, painter: QPainter, span: int, x: float) -> None:
        spans, y = self._e.spans, WIRE_Y_PX + 44
        tube, turn = float(spans.tube_diameter_mm[span]), float(spans.as_bent_turn_deg[span])
        if np.isfinite(tube):
            radius = min(14.0, max(9.0, tube * self._layout.px_per_mm / 2))
            painter.setPen(QPen(QColor(self._colours.ink_soft), 1.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(x, y), radius, radius)
            painter.setPen(QColor(self._colours.ink))
            painter.drawText(QRectF(x - 24, y - 9, 48, 18), _CENTRED, f"{tube:.1f}")
        elif abs(turn) < 1e-6:
            painter.setPen(QColor(self._colours.ink_soft))
            painter.drawText(QRectF(x - 30, y - 9, 60, 18), _CENTRED, "straight")
            return
        painter.setPen(QColor(self._colours.ink_soft))
        side = "left" if turn > 0 else "right"
        # Where it is narrow a tenth of a degree would run into the next span's.
        roomy = self._is_roomy
        text = f"{angle_text(abs(turn))} {side}" if roomy else f"{abs(turn):.0f}° {side[0].upper()}"
        painter.drawText(QRectF(x - 40, y + 15, 80, 16), _CENTRED, text)

    def _paint_thickness(self, painter: QPainter, span: int, x: float) -> None:
        thin = float(self._e.spans.thinnest_mm[span])
        if thin < self._e.diameter_mm:
            text = f"{length_text(thin)} thick" if self._is_roomy else f"{thin:.2f}"
            painter.setPen(QColor(self._colours.ink_soft))
            painter.drawText(QRectF(x - 45, WIRE_Y_PX + 74, 90, 16), _CENTRED, text)

    @cached_property
    def _is_roomy(self) -> bool:
        """Whether there is room for whole words under every span that needs some: all alike, or none."""
        spans = self._e.spans
        worded = np.isfinite(spans.tube_diameter_mm) | (spans.thinnest_mm < self._e.diameter_mm)
        shortest_mm = float(np.min(spans.stock_length_mm[worded], initial=np.inf))
        return self._layout.px_per_mm * shortest_mm > _ROOMY_PX

    def paint_focused_mark(self, painter: QPainter, mark: int) -> None:
        """The mark that the keys act on."""
        place = float(self._layout.marks_mm[mark])
        x, label = self._layout.x_px(place), self._layout.label_rect(place)
        painter.fillRect(label, QColor(self._colours.paper))
        painter.setPen(QPen(QColor(self._colours.accent), 2.0))
        painter.drawLine(QPointF(x, WIRE_Y_PX - 22), QPointF(x, WIRE_Y_PX + 22))
        painter.setPen(QPen(QColor(self._colours.accent), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(label, 3.0, 3.0)
        use_font(painter, SMALL_PT)
        painter.drawText(label, _CENTRED, f"{place:.1f}")
