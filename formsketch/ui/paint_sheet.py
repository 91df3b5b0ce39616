"""The neutral drawing painted with Qt: on the screen for a preview, on a printer at true size."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPainter, QPainterPath, QPen, QPolygonF

from formsketch.template.drawing import (
    CAPITAL_HEIGHT_EM,
    Circle,
    Group,
    Item,
    MultiPath,
    Path,
    Sheet,
    Stroke,
    Text,
    font_file,
    set_text,
    text_width_mm,
)

# Lettering is laid out this large, in pixels, and scaled down: whole pixels would not be true enough.
_LAYOUT_PX = 1000


def paint_sheet(painter: QPainter, sheet: Sheet, px_per_mm: float) -> None:
    """Paint a sheet with its upper left corner at the painter's origin, `px_per_mm` device pixels to a mm."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(px_per_mm, px_per_mm)
    _paint(painter, sheet.groups)
    painter.restore()


def _paint(painter: QPainter, items: Sequence[Item | Group]) -> None:
    for item in items:
        if isinstance(item, Group):
            _paint_group(painter, item)
        elif isinstance(item, Text):
            _paint_text(painter, item)
        else:
            _paint_shape(painter, item)


def _paint_group(painter: QPainter, group: Group) -> None:
    if group.clip is None:
        _paint(painter, group.items)
        return
    x0, y0, x1, y1 = group.clip
    painter.save()
    painter.setClipRect(QRectF(x0, y0, x1 - x0, y1 - y0), Qt.ClipOperation.IntersectClip)
    _paint(painter, group.items)
    painter.restore()


def _paint_shape(painter: QPainter, item: Path | MultiPath | Circle) -> None:
    shape = QPainterPath()
    if isinstance(item, Circle):
        shape.addEllipse(QPointF(*item.centre), item.radius_mm, item.radius_mm)
    elif isinstance(item, Path):
        shape.addPolygon(_polygon(item.points))
        if item.closed:
            shape.closeSubpath()
    else:
        for ring in item.rings:
            shape.addPolygon(_polygon(ring))
            shape.closeSubpath()
    odd = isinstance(item, MultiPath) and item.fill_rule == "evenodd"
    shape.setFillRule(Qt.FillRule.OddEvenFill if odd else Qt.FillRule.WindingFill)
    painter.setPen(_pen(item.stroke, item.colour))
    painter.setBrush(QColor(item.fill) if item.fill else Qt.BrushStyle.NoBrush)
    painter.drawPath(shape)


def _polygon(points: NDArray[np.float64]) -> QPolygonF:
    return QPolygonF([QPointF(x, y) for x, y in points.tolist()])


def _pen(stroke: Stroke | None, colour: str) -> QPen:
    if stroke is None:
        return QPen(Qt.PenStyle.NoPen)
    pen = QPen(QColor(colour), stroke.width_mm)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if stroke.dash_mm:
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setDashPattern([part / stroke.width_mm for part in stroke.dash_mm])
    else:
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


def _paint_text(painter: QPainter, text: Text) -> None:
    """Lettering as outlines of the bundled font, so that it is as large as the sheet says on any device."""
    font = _font(text.bold)
    outline = QPainterPath()
    outline.addText(QPointF(0.0, 0.0), font, set_text(text.text))
    scale = text.font_size_mm / _LAYOUT_PX
    width = _advance(text.text, text.bold) * scale
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    painter.save()
    painter.translate(*text.position)
    painter.rotate(text.angle_deg)
    painter.translate(start, text.baseline_drop_mm)
    painter.scale(scale, scale)
    painter.fillPath(outline, QColor(text.colour))
    painter.restore()


@cache
def _family(bold: bool) -> str:
    number = QFontDatabase.addApplicationFont(str(font_file(bold)))
    return QFontDatabase.applicationFontFamilies(number)[0]


def _font(bold: bool) -> QFont:
    font = QFont(_family(bold))
    font.setBold(bold)
    font.setPixelSize(_LAYOUT_PX)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


def _advance(text: str, bold: bool) -> float:
    """Width of a line as it is laid out, as the drawing reckons it."""
    return text_width_mm(text, CAPITAL_HEIGHT_EM * _LAYOUT_PX, bold)
