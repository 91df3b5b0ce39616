"""The place pointed at on the straight wire: its distance, its section to scale and its numbers."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from formsketch.evaluation.section_at import SectionAt, section_at
from formsketch.ui.strip_layout import SIDE_PX, WIRE_Y_PX, StripLayout
from formsketch.ui.strip_painting import SMALL_PT, use_font
from formsketch.ui.theme import Palette
from formsketch.units import length_text

# The widest section of the wire fills this much at the right end of the heading, or the highest does.
_MOST_WIDE_PX, _MOST_HIGH_PX = 60.0, 28.0
_TOP_PX, _LINE_PX, _GAP_PX = 4.0, 15.0, 12.0
_TO_THE_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def paint_pointed(painter: QPainter, layout: StripLayout, sample: float, colours: Palette) -> None:
    """Mark a place along the wire and show its section; `sample` may lie beyond what an edit has left."""
    e = layout.evaluation
    if sample > len(e.stock_at_samples_mm) - 1:
        return
    section = section_at(e, sample)
    x = layout.x_px(section.stock_mm)
    painter.setPen(QPen(QColor(colours.accent), 1.4))
    painter.drawLine(QPointF(x, WIRE_Y_PX - 24), QPointF(x, WIRE_Y_PX + 24))
    widest, highest = float(np.max(e.samples.plan_width_mm)), float(np.max(e.samples.height_mm))
    scale = min(_MOST_WIDE_PX / widest, _MOST_HIGH_PX / highest)
    right = layout.width_px - SIDE_PX
    _paint_numbers(painter, section, scale / layout.px_per_mm, right - _MOST_WIDE_PX - _GAP_PX, colours)
    _paint_section(painter, section, scale, right - _MOST_WIDE_PX / 2, e.metal.colour, colours)


def _paint_section(
    painter: QPainter,
    section: SectionAt,
    px_per_mm: float,
    middle_px: float,
    metal_rgb: tuple[int, int, int],
    colours: Palette,
) -> None:
    """The stadium as it lies in the form, seen along the wire."""
    wide, high = section.plan_width_mm * px_per_mm, section.height_mm * px_per_mm
    area = QRectF(middle_px - wide / 2, _TOP_PX + (_MOST_HIGH_PX - high) / 2, wide, high)
    painter.setPen(QPen(QColor(colours.ink), 1.0))
    painter.setBrush(QColor(*metal_rgb))
    painter.drawRoundedRect(area, min(wide, high) / 2, min(wide, high) / 2)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _paint_numbers(
    painter: QPainter, section: SectionAt, times: float, right_px: float, colours: Palette
) -> None:
    use_font(painter, SMALL_PT)
    size = f"{length_text(section.width_mm)} x {length_text(section.thickness_mm)}"
    about = [f"{section.area_mm2:.2f} mm²", section.temper, f"drawn {times:.1f} times the scale of the wire"]
    lines = (
        f"{section.stock_mm:.1f} mm from the start end, section {size}",
        ", ".join(part for part in about if part),
    )
    wide = max(painter.fontMetrics().horizontalAdvance(line) for line in lines) + 2.0
    area = QRectF(right_px - wide, _TOP_PX - 2, wide, _LINE_PX)
    # Where the strip is narrow they cover the end of the heading.
    cover = QRectF(area.left() - _GAP_PX, area.top(), painter.device().width(), 2 * _LINE_PX)
    painter.fillRect(cover, QColor(colours.paper))
    painter.setPen(QColor(colours.ink_soft))
    for number, line in enumerate(lines):
        painter.drawText(area.translated(0.0, number * _LINE_PX), _TO_THE_RIGHT, line)
