"""Pearls, stones and the quality mark drawn in place, calm over the lit wire, and on the straight wire."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen, QPolygonF, QRadialGradient

from formsketch.ui.strip_layout import WIRE_Y_PX, StripLayout
from formsketch.ui.theme import Palette
from formsketch.ui.view import View

if TYPE_CHECKING:
    from formsketch.evaluation.set_on import SetOn

# A pearl is cream and a stone pale blue on light and dark paper alike.
_PEARL, _STONE, _SEAT = ("#fffdf6", "#d9d0bf"), ("#f2fbff", "#9cc4da"), "#d5d6d2"
_PEARL_EDGE, _STONE_EDGE, _HOLE = "#a79c88", "#5f8399", "#5b5346"
# The table of a faceted stone over its girdle; the look only.
_TABLE_SHARE = 0.58
_TICK_PX, _LABEL_APART_PX, _LABEL_PT = 7.0, 34.0, 8.0


def paint_set(painter: QPainter, on: SetOn, view: View, colours: Palette) -> None:
    """All that is set on a form where it lies."""
    for tie in on.ties:
        painter.setPen(QPen(QColor(colours.ink_soft), 1.0))
        painter.drawPolyline(QPolygonF([view.to_px(at) for at in tie.path_mm]))
    for placed in on.pearls:
        across = view.px_per_mm * placed.pearl.diameter_mm
        paint_pearl(
            painter, view.to_px(placed.at_mm), across, view.px_per_mm * placed.pearl.length_mm, placed.hole
        )
    for stone in on.stones:
        at, px = view.to_px(stone.seat.at_mm), view.px_per_mm
        paint_stone(painter, at, px * stone.stone.seat_mm, px * stone.stone.size_mm, colours)
    mark = on.mark
    if mark is not None:
        painter.setPen(QPen(QColor(colours.mark), 1.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolygon(QPolygonF([view.to_px(corner) for corner in on.mark_corners_mm]))


def paint_pearl(painter: QPainter, middle: QPointF, across_px: float, along_px: float, hole: complex) -> None:
    """A pearl in the light, its hole dashed along the way it runs (y up); 0 for a hole not known."""
    way = hole or 1 + 0j
    painter.save()
    painter.translate(middle)
    painter.rotate(-math.degrees(cmath.phase(way)))
    reach = max(across_px, along_px) / 2
    # The lamp stands at the upper left of the paper, however the pearl is turned.
    lamp = complex(-0.35, 0.35) * reach / (way / abs(way))
    shade = QRadialGradient(QPointF(lamp.real, -lamp.imag), 1.4 * max(reach, 1.0))
    shade.setColorAt(0, QColor(_PEARL[0]))
    shade.setColorAt(1, QColor(_PEARL[1]))
    painter.setPen(QPen(QColor(_PEARL_EDGE), 1.0))
    painter.setBrush(shade)
    painter.drawEllipse(QPointF(0, 0), along_px / 2, across_px / 2)
    if hole:
        painter.setPen(QPen(QColor(_HOLE), 1.0, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(-along_px / 2, 0), QPointF(along_px / 2, 0))
    painter.restore()


def paint_stone(
    painter: QPainter, middle: QPointF, seat_px: float, stone_px: float, colours: Palette
) -> None:
    """A head or tube from above with its stone's girdle and table in it."""
    painter.setPen(QPen(QColor(colours.mark), 1.2))
    painter.setBrush(QColor(_SEAT))
    painter.drawEllipse(middle, seat_px / 2, seat_px / 2)
    radius = stone_px / 2
    shade = QRadialGradient(middle - QPointF(0.35, 0.35) * radius, 1.4 * max(radius, 1.0))
    shade.setColorAt(0, QColor(_STONE[0]))
    shade.setColorAt(1, QColor(_STONE[1]))
    painter.setPen(QPen(QColor(_STONE_EDGE), 1.0))
    painter.setBrush(shade)
    painter.drawEllipse(middle, radius, radius)
    if radius > 4:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(middle, _TABLE_SHARE * radius, _TABLE_SHARE * radius)


def paint_set_on_strip(
    painter: QPainter, on: SetOn, layout: StripLayout, taken_mm: Sequence[float], colours: Palette
) -> None:
    """Seats, ties and the mark on the straight wire, with the distance of those that have room for it.

    `taken_mm` are the places that have labels already.
    """
    thicker, px = layout.thicker, layout.px_per_mm
    labels = [layout.x_px(place) for place in taken_mm]
    wanted: list[float] = []
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for stone in on.stones:
        at = QPointF(layout.x_px(stone.seat.mark_mm), WIRE_Y_PX)
        size = max(6.0, px * stone.stone.seat_mm)
        paint_stone(painter, at, size, size * stone.stone.size_mm / stone.stone.seat_mm, colours)
        wanted.append(stone.seat.mark_mm)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    half = layout.evaluation.diameter_mm * px * thicker / 2
    painter.setPen(QPen(QColor(colours.ink_soft), 1.0, Qt.PenStyle.DashLine))
    for tie in on.ties:
        for place in tie.marks_mm:
            x = layout.x_px(place)
            painter.drawLine(QPointF(x, WIRE_Y_PX - half - _TICK_PX), QPointF(x, WIRE_Y_PX + half + _TICK_PX))
    if on.mark is not None:
        first, last = (layout.x_px(place) for place in on.mark_stock_mm)
        painter.setPen(QPen(QColor(colours.mark), 1.2))
        painter.drawRect(QRectF(first, WIRE_Y_PX - half / 2, last - first, half))
        wanted.append(on.mark.mark_mm)
    font = QFont(painter.font())
    font.setPointSizeF(_LABEL_PT)
    painter.setFont(font)
    painter.setPen(QColor(colours.ink_soft))
    for place in wanted:
        x = layout.x_px(place)
        if all(abs(x - other) >= _LABEL_APART_PX for other in labels):
            labels.append(x)
            painter.drawText(layout.label_rect(place), Qt.AlignmentFlag.AlignCenter, f"{place:.1f}")
