"""Grid, rulers and the note that says how large the form is shown."""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from formsketch.ui.theme import Palette
from formsketch.ui.view import View

RULER_PX = 22
_STEPS_MM = (0.1, 0.5, 1.0, 5.0, 10.0, 50.0, 100.0, 500.0, 1000.0)
_LEAST_MINOR_PX, _LEAST_LABEL_PX = 8.0, 46.0


def _step_mm(px_per_mm: float, least_px: float) -> float:
    return next((step for step in _STEPS_MM if step * px_per_mm >= least_px), _STEPS_MM[-1])


def _places(low_mm: float, high_mm: float, step_mm: float) -> Iterator[float]:
    for number in range(math.ceil(low_mm / step_mm - 1e-9), math.floor(high_mm / step_mm + 1e-9) + 1):
        yield number * step_mm


def paint_grid(painter: QPainter, view: View, area: QRect, colours: Palette) -> None:
    """Quiet lines every 1, 5, 10 ... mm, whatever the scale leaves room for."""
    low, high = view.to_mm(QPointF(area.bottomLeft())), view.to_mm(QPointF(area.topRight()))
    minor = _step_mm(view.px_per_mm, 5 * _LEAST_MINOR_PX / 2)
    major = _step_mm(view.px_per_mm, 5 * _LEAST_MINOR_PX * 2)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    for step, colour in ((minor, colours.grid_minor), (major, colours.grid_major)):
        lines = []
        for x in _places(low.real, high.real, step):
            px = view.to_px(complex(x, 0)).x()
            lines.append(QLineF(px, area.top(), px, area.bottom()))
        for y in _places(low.imag, high.imag, step):
            px = view.to_px(complex(0, y)).y()
            lines.append(QLineF(area.left(), px, area.right(), px))
        painter.setPen(QPen(QColor(colour), 1))
        painter.drawLines(lines)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def paint_rulers(painter: QPainter, view: View, area: QRect, colours: Palette) -> None:
    """Rulers in mm along the top and the left, measured from the form's start mark as first laid."""
    low, high = view.to_mm(QPointF(area.bottomLeft())), view.to_mm(QPointF(area.topRight()))
    minor = _step_mm(view.px_per_mm, 5.0)
    label = _step_mm(view.px_per_mm, _LEAST_LABEL_PX)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.fillRect(QRect(area.left(), area.top(), area.width(), RULER_PX), QColor(colours.panel))
    painter.fillRect(QRect(area.left(), area.top(), RULER_PX, area.height()), QColor(colours.panel))
    ticks = []
    for x in _places(low.real, high.real, minor):
        px = view.to_px(complex(x, 0)).x()
        if px > RULER_PX:
            ticks.append(QLineF(px, RULER_PX - _tick_px(x, label, minor), px, RULER_PX - 1))
    for y in _places(low.imag, high.imag, minor):
        py = view.to_px(complex(0, y)).y()
        if py > RULER_PX:
            ticks.append(QLineF(RULER_PX - _tick_px(y, label, minor), py, RULER_PX - 1, py))
    painter.setPen(QPen(QColor(colours.ink_soft), 1))
    painter.drawLines(ticks)
    painter.setPen(QPen(QColor(colours.line), 1))
    painter.drawLine(area.left(), RULER_PX, area.right(), RULER_PX)
    painter.drawLine(RULER_PX, area.top(), RULER_PX, area.bottom())
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    _paint_labels(painter, view, (low, high), label, colours)
    painter.fillRect(QRect(area.left(), area.top(), RULER_PX, RULER_PX), QColor(colours.panel))
    _small(painter)
    painter.setPen(QColor(colours.ink_soft))
    painter.drawText(QRectF(0, 0, RULER_PX, RULER_PX), Qt.AlignmentFlag.AlignCenter, "mm")


def _tick_px(place_mm: float, label_mm: float, minor_mm: float) -> float:
    if _is_multiple(place_mm, label_mm):
        return 9.0
    return 6.0 if _is_multiple(place_mm, 5 * minor_mm) else 3.0


def _is_multiple(place_mm: float, step_mm: float) -> bool:
    return abs(place_mm / step_mm - round(place_mm / step_mm)) < 1e-6


def _paint_labels(
    painter: QPainter, view: View, bounds: tuple[complex, complex], label_mm: float, colours: Palette
) -> None:
    low, high = bounds
    _small(painter)
    painter.setPen(QColor(colours.ink_soft))
    for x in _places(low.real, high.real, label_mm):
        px = view.to_px(complex(x, 0)).x()
        if px > RULER_PX + 8:
            painter.drawText(QRectF(px - 40, 0, 80, RULER_PX - 8), Qt.AlignmentFlag.AlignCenter, _text(x))
    for y in _places(low.imag, high.imag, label_mm):
        py = view.to_px(complex(0, y)).y()
        if py > RULER_PX + 8:
            painter.save()
            painter.translate((RULER_PX - 8) / 2, py)
            painter.rotate(-90)
            painter.drawText(QRectF(-40, -7, 80, 14), Qt.AlignmentFlag.AlignCenter, _text(y))
            painter.restore()


def _text(place_mm: float) -> str:
    return f"{place_mm:.1f}".rstrip("0").rstrip(".") if abs(place_mm) > 1e-9 else "0"


def _small(painter: QPainter) -> None:
    font = QFont(painter.font())
    font.setPointSizeF(7.0)
    painter.setFont(font)


def paint_scale_note(
    painter: QPainter, view: View, area: QRect, colours: Palette, true_px_per_mm: float | None, matched: bool
) -> None:
    """How large the form is shown, and how far to trust that."""
    if true_px_per_mm is None:
        return
    scale = view.px_per_mm / true_px_per_mm
    said = "True size" if abs(scale - 1) < 0.005 else f"{100 * scale:.0f} % of true size"
    said += " on this screen" if matched else ", approximate until the screen is matched"
    font = QFont(painter.font())
    font.setPointSizeF(8.0)
    painter.setFont(font)
    painter.setPen(QColor(colours.ink_soft))
    corner = QRectF(area).adjusted(RULER_PX + 10, 0, -10, -8)
    painter.drawText(corner, Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft, said)
