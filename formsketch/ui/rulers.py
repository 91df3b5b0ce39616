"""Grid, rulers and the note that says how large the form is shown, in millimetres or in inches."""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from formsketch.ui.theme import Palette
from formsketch.ui.view import View
from formsketch.units import MM_PER_INCH, inch_fraction_text
from formsketch.values import Value

RULER_PX = 22
_LEAST_TICK_PX, _LEAST_LABEL_PX, _LEAST_MINOR_PX, _LEAST_MAJOR_PX = 5.0, 46.0, 20.0, 80.0
_SHORTEST_TICK_PX, _LABELLED_TICK_PX = 3.0, 9.0
_ZERO_MM = 1e-9
_NOTE_PAPER = 0.8


class Scale(Value, frozen=True):
    """How a rule is divided: the name of its unit, and its steps in mm from the finest up."""

    name: str
    steps_mm: tuple[float, ...]

    def step_mm(self, px_per_mm: float, least_px: float) -> float:
        """The finest step that takes at least so many pixels, or the coarsest there is."""
        return next((step for step in self.steps_mm if step * px_per_mm >= least_px), self.steps_mm[-1])


MILLIMETRES = Scale("mm", (0.1, 0.5, 1.0, 5.0, 10.0, 50.0, 100.0, 500.0, 1000.0))
# A maker's rule: halves, quarters and so on to 64ths; feet are not used at the bench.
INCHES = Scale(
    "in",
    (
        *(MM_PER_INCH / parts for parts in (64, 32, 16, 8, 4, 2)),
        *(MM_PER_INCH * inches for inches in (1, 5, 10, 50)),
    ),
)


def places_mm(low_mm: float, high_mm: float, step_mm: float) -> Iterator[float]:
    """Multiples of a step between two places, both included."""
    for number in range(math.ceil(low_mm / step_mm - 1e-9), math.floor(high_mm / step_mm + 1e-9) + 1):
        yield number * step_mm


def place_text(place_mm: float, scale: Scale) -> str:
    """A place of a rule as it is written beside it: "12.5", or "−1 1/4" on a rule in inches; no unit."""
    size = abs(place_mm)
    if size < _ZERO_MM:
        return "0"
    if scale is INCHES:
        text = inch_fraction_text(size).removesuffix(" in")
    else:
        text = f"{size:.1f}".removesuffix(".0")
    return f"−{text}" if place_mm < 0 else text


def tick_px(place_mm: float, scale: Scale, tick_mm: float, label_mm: float) -> float:
    """How long a tick is: longest at the labels, shortest at the finest step, between them by its step."""
    steps = [step for step in scale.steps_mm if tick_mm < step <= label_mm]
    reached = sum(_is_multiple(place_mm, step) for step in steps)
    if not steps:
        return _LABELLED_TICK_PX
    return _SHORTEST_TICK_PX + (_LABELLED_TICK_PX - _SHORTEST_TICK_PX) * reached / len(steps)


def _is_multiple(place_mm: float, step_mm: float) -> bool:
    return abs(place_mm / step_mm - round(place_mm / step_mm)) < 1e-6


def grid_steps_mm(px_per_mm: float, scale: Scale) -> tuple[float, float]:
    """The steps of the fine and of the stronger lines of the grid."""
    return scale.step_mm(px_per_mm, _LEAST_MINOR_PX), scale.step_mm(px_per_mm, _LEAST_MAJOR_PX)


def paint_grid(
    painter: QPainter, view: View, area: QRect, colours: Palette, scale: Scale = MILLIMETRES
) -> None:
    """Quiet lines every 1, 5, 10 ... mm, or every 1/4, 1/2, 1 ... inch, as the view leaves room for."""
    low, high = view.to_mm(QPointF(area.bottomLeft())), view.to_mm(QPointF(area.topRight()))
    minor, major = grid_steps_mm(view.px_per_mm, scale)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    for step, colour in ((minor, colours.grid_minor), (major, colours.grid_major)):
        lines = []
        for x in places_mm(low.real, high.real, step):
            px = view.to_px(complex(x, 0)).x()
            lines.append(QLineF(px, area.top(), px, area.bottom()))
        for y in places_mm(low.imag, high.imag, step):
            px = view.to_px(complex(0, y)).y()
            lines.append(QLineF(area.left(), px, area.right(), px))
        painter.setPen(QPen(QColor(colour), 1))
        painter.drawLines(lines)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def paint_rulers(
    painter: QPainter, view: View, area: QRect, colours: Palette, scale: Scale = MILLIMETRES
) -> None:
    """Rulers along the top and the left, measured from the form's start mark as first laid; no edges."""
    low, high = view.to_mm(QPointF(area.bottomLeft())), view.to_mm(QPointF(area.topRight()))
    tick = scale.step_mm(view.px_per_mm, _LEAST_TICK_PX)
    label = scale.step_mm(view.px_per_mm, _LEAST_LABEL_PX)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.fillRect(QRect(area.left(), area.top(), area.width(), RULER_PX), QColor(colours.panel))
    painter.fillRect(QRect(area.left(), area.top(), RULER_PX, area.height()), QColor(colours.panel))
    ticks = []
    for x in places_mm(low.real, high.real, tick):
        px = view.to_px(complex(x, 0)).x()
        if px > RULER_PX:
            ticks.append(QLineF(px, RULER_PX - tick_px(x, scale, tick, label), px, RULER_PX - 1))
    for y in places_mm(low.imag, high.imag, tick):
        py = view.to_px(complex(0, y)).y()
        if py > RULER_PX:
            ticks.append(QLineF(RULER_PX - tick_px(y, scale, tick, label), py, RULER_PX - 1, py))
    painter.setPen(QPen(QColor(colours.ink_soft), 1))
    painter.drawLines(ticks)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    _paint_labels(painter, view, (low, high), label, colours, scale)
    painter.fillRect(QRect(area.left(), area.top(), RULER_PX, RULER_PX), QColor(colours.panel))
    _small(painter)
    painter.setPen(QColor(colours.ink_soft))
    painter.drawText(QRectF(0, 0, RULER_PX, RULER_PX), Qt.AlignmentFlag.AlignCenter, scale.name)


def paint_ruler_edges(painter: QPainter, area: QRect, colours: Palette) -> None:
    """The lines between the rulers and the table, beside what `paint_rulers` paints."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(QPen(QColor(colours.line), 1))
    painter.drawLine(area.left(), RULER_PX, area.right(), RULER_PX)
    painter.drawLine(RULER_PX, area.top(), RULER_PX, area.bottom())
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def _paint_labels(
    painter: QPainter,
    view: View,
    bounds: tuple[complex, complex],
    label_mm: float,
    colours: Palette,
    scale: Scale,
) -> None:
    low, high = bounds
    _small(painter)
    painter.setPen(QColor(colours.ink_soft))
    for x in places_mm(low.real, high.real, label_mm):
        px = view.to_px(complex(x, 0)).x()
        if px > RULER_PX + 8:
            box = QRectF(px - 40, 0, 80, RULER_PX - 8)
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, place_text(x, scale))
    for y in places_mm(low.imag, high.imag, label_mm):
        py = view.to_px(complex(0, y)).y()
        if py > RULER_PX + 8:
            painter.save()
            painter.translate((RULER_PX - 8) / 2, py)
            painter.rotate(-90)
            painter.drawText(QRectF(-40, -7, 80, 14), Qt.AlignmentFlag.AlignCenter, place_text(y, scale))
            painter.restore()


def _small(painter: QPainter) -> None:
    font = QFont(painter.font())
    font.setPointSizeF(7.0)
    painter.setFont(font)


def scale_note(px_per_mm: float, true_px_per_mm: float, matched: bool, scale: Scale = MILLIMETRES) -> str:
    """How large the form is shown, how far to trust that, and how wide the squares of the grid are."""
    shown = px_per_mm / true_px_per_mm
    said = "True size" if abs(shown - 1) < 0.005 else f"{100 * shown:.0f} % of true size"
    said += " on this screen" if matched else ", approximate until the screen is matched"
    minor, _ = grid_steps_mm(px_per_mm, scale)
    return f"{said}; squares of {place_text(minor, scale)} {scale.name}"


def paint_scale_note(
    painter: QPainter,
    view: View,
    area: QRect,
    colours: Palette,
    true_px_per_mm: float | None,
    matched: bool,
    scale: Scale = MILLIMETRES,
) -> None:
    """The note on the scale, in the lower left corner."""
    if true_px_per_mm is None:
        return
    font = QFont(painter.font())
    font.setPointSizeF(8.0)
    painter.setFont(font)
    corner = QRectF(area).adjusted(RULER_PX + 10, 0, -10, -8)
    note = scale_note(view.px_per_mm, true_px_per_mm, matched, scale)
    where = Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft
    # On paper of its own, so that it is read where the wire comes under it.
    paper = QColor(colours.paper)
    paper.setAlphaF(_NOTE_PAPER)
    painter.fillRect(painter.boundingRect(corner, where, note).adjusted(-4, -2, 4, 2), paper)
    painter.setPen(QColor(colours.ink_soft))
    painter.drawText(corner, where, note)
