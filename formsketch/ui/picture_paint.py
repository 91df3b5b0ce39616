"""Painting the picture to trace: faded, at its place, and quick while the form is pulled over it.

A light sheet takes the colour of the table, so that only what is drawn on it is seen: its lines darken a
light table, and lighten a dark one, where the sheet is shown in negative. A dark photograph stays as it is.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPixmap, QTransform

from formsketch.ui.picture_place import PicturePlace
from formsketch.ui.view import View

# Painted anew only when it has moved by a part of a pixel that could be seen.
_STEPS_PER_PX = 20.0
_HALF_GREY = 128
_THUMBNAIL_PX = 48
_Blend = QPainter.CompositionMode


class PicturePainter:
    """Paints one picture. What was painted last is kept, and halves of the picture for looking from afar."""

    def __init__(self, image: QImage) -> None:
        self._plain = _Halves(image)
        self._negative: _Halves | None = None
        self._is_light = _mean_grey(image) >= _HALF_GREY
        self._kept: tuple[object, QPixmap] | None = None

    def paint(
        self,
        painter: QPainter,
        view: View,
        place: PicturePlace,
        opacity: float,
        area: QRectF,
        ratio: float,
        paper: QColor,
    ) -> None:
        """Cover an area of a widget with the table's paper and the picture on it.

        `ratio` is the screen's pixels to one of the widget's.
        """
        corners = [view.to_px(at) for at in place.corners_mm]
        seen = tuple(round(value * _STEPS_PER_PX) for at in corners for value in (at.x(), at.y()))
        size = QSize(math.ceil(area.width() * ratio), math.ceil(area.height() * ratio))
        key = (seen, opacity, size.width(), size.height(), ratio, paper.name())
        if self._kept is None or self._kept[0] != key:
            pixmap = QPixmap(size)
            pixmap.setDevicePixelRatio(ratio)
            pixmap.fill(paper)
            self._draw(pixmap, corners, opacity, ratio, paper)
            self._kept = (key, pixmap)
        painter.drawPixmap(area.topLeft(), self._kept[1])

    def _draw(
        self, pixmap: QPixmap, corners: list[QPointF], opacity: float, ratio: float, paper: QColor
    ) -> None:
        halves, blend = self._shown_on(paper)
        top_left, top_right, _, bottom_left = corners
        along, down = top_right - top_left, bottom_left - top_left
        image = halves.at_least(math.hypot(along.x(), along.y()) * ratio)
        along, down = along / image.width(), down / image.height()
        transform = QTransform(along.x(), along.y(), down.x(), down.y(), top_left.x(), top_left.y())
        back, invertible = transform.inverted()
        if not invertible:
            return
        # Only what is seen: from near, the whole picture reaches further than a painter can count.
        shown = back.mapRect(QRectF(QPointF(), pixmap.deviceIndependentSize()))
        shown = QRectF(shown.adjusted(-1, -1, 1, 1).toAlignedRect().intersected(image.rect()))
        if shown.isEmpty():
            return
        painter = QPainter(pixmap)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setCompositionMode(blend)
        painter.setOpacity(opacity)
        painter.setTransform(transform)
        painter.drawImage(shown, image, shown)
        painter.end()

    def _shown_on(self, paper: QColor) -> tuple[_Halves, _Blend]:
        """The picture as it is or in negative, and how it goes onto the paper."""
        if not self._is_light:
            return self._plain, _Blend.CompositionMode_SourceOver
        if paper.lightness() >= _HALF_GREY:
            return self._plain, _Blend.CompositionMode_Multiply
        if self._negative is None:
            turned = self._plain.image.copy()
            turned.invertPixels()
            self._negative = _Halves(turned)
        return self._negative, _Blend.CompositionMode_Screen


class _Halves:
    """A picture and its halves, each made when first needed."""

    def __init__(self, image: QImage) -> None:
        self.image = image
        self._all = [image]

    def at_least(self, wide_px: float) -> QImage:
        """The smallest half that still has a pixel for each one of the screen."""
        level = 0
        while self._all[level].width() >= 2 * wide_px and min(self._all[level].size().toTuple()) > 1:
            level += 1
            if level == len(self._all):
                self._all.append(_half(self._all[-1]))
        return self._all[level]


def _half(image: QImage) -> QImage:
    size = QSize(max(1, image.width() // 2), max(1, image.height() // 2))
    smoothly = Qt.TransformationMode.SmoothTransformation
    return image.scaled(size, Qt.AspectRatioMode.IgnoreAspectRatio, smoothly)


def _mean_grey(image: QImage) -> float:
    small = image.scaled(_THUMBNAIL_PX, _THUMBNAIL_PX, mode=Qt.TransformationMode.SmoothTransformation)
    grey = small.convertToFormat(QImage.Format.Format_Grayscale8)
    places = [(x, y) for x in range(grey.width()) for y in range(grey.height())]
    return sum(grey.pixelColor(x, y).lightness() for x, y in places) / len(places)
