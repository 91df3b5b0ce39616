"""A small straight wire under a form compared: all at one scale, so that lengths and gauges can be seen."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from formsketch.ui.lit_wire import ViewTransform, WireSamples, lit_wire_image
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette, current_palette, rgb

_SIDE_PX, _HEIGHT_PX, _MOST_POINTS = 14.0, 26, 30_000
# The wire is drawn at least so thick, the thickest of all so much, the others in proportion.
_THICKEST_PX = 11.0


class CompareStrip(QWidget):
    """The straight wire of one session; `longest_mm` and `thickest_mm` are those of all compared."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._longest_mm = self._thickest_mm = 0.0
        self.setFixedHeight(_HEIGHT_PX)
        self.setAccessibleName("The straight wire")
        self.setToolTip("The straight wire as it is cut, from the side: hammered thin is seen thin.")
        session.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(200, _HEIGHT_PX)

    def show_beside(self, longest_mm: float, thickest_mm: float) -> None:
        """Draw at the scale at which the longest and the thickest of all fit."""
        self._longest_mm, self._thickest_mm = longest_mm, thickest_mm
        self.update()

    @property
    def px_per_mm(self) -> float:
        """Scale along the wire."""
        longest = max(self._longest_mm, self._session.evaluation.cut_length_mm)
        return (self.width() - 2 * _SIDE_PX) / longest

    def paintEvent(self, event: QPaintEvent) -> None:
        colours = current_palette()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(colours.paper))
        self._paint_wire(painter, colours)
        self._paint_marks(painter, colours)

    def _paint_wire(self, painter: QPainter, colours: Palette) -> None:
        e, ratio = self._session.evaluation, self.devicePixelRatioF()
        across = max(self.px_per_mm, _THICKEST_PX / max(self._thickest_mm, e.diameter_mm))
        thicker = across / self.px_per_mm
        begin, end = e.own_trace.first[e.chain.spans.start], e.own_trace.first[e.chain.spans.stop]
        d = e.diameter_mm
        x = np.concatenate(([0.0], e.stock_at_samples_mm[begin:end], [e.cut_length_mm])) / thicker
        height = np.concatenate(([d], e.samples.thickness_mm[begin:end], [d]))
        width = np.concatenate(([d], e.samples.width_mm[begin:end], [d]))
        flat = np.zeros(len(x))
        # From the side: hammered thin is seen thin.
        samples = WireSamples(x, flat, flat, height, width, np.array([0, len(x)]))
        size = max(1, round(self.width() * ratio)), max(1, round(self.height() * ratio))
        image = lit_wire_image(
            samples,
            ViewTransform(across * ratio, _SIDE_PX * ratio, 13.0 * ratio),
            size,
            e.metal.colour,
            paper_rgb=rgb(colours.paper),
            rim_rgb=rgb(colours.rim),
            max_points=_MOST_POINTS,
        )
        image.setDevicePixelRatio(ratio)
        painter.drawImage(0, 0, image)

    def _paint_marks(self, painter: QPainter, colours: Palette) -> None:
        e, scale = self._session.evaluation, self.px_per_mm
        painter.setPen(QPen(QColor(colours.ink), 1.0))
        for place in (*e.spans.stock_from_mm, e.cut_length_mm - e.ends[1].stock_mm):
            x = _SIDE_PX + scale * float(place)
            painter.drawLine(QPointF(x, 4), QPointF(x, 22))
