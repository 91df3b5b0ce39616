"""Tips of the wire on the lit picture: rounded ends, and holes drilled through them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QPainter, QPen

from formsketch.forging.ends import EndPiece
from formsketch.geometry.outline import Disc
from formsketch.ui.lit_wire import WireSamples
from formsketch.ui.theme import Palette
from formsketch.ui.view import View

# Samples from where a tip begins to be rounded to its pole.
_TIP_SAMPLES = 21
_RIM_PX = 1.2
Columns = tuple[NDArray[np.float64], ...]


def with_round_tips(wire: WireSamples, start: EndPiece, finish: EndPiece) -> WireSamples:
    """The wire of one form with its tips going on rounded where its ends are."""
    columns: Columns = (wire.x_mm, wire.y_mm, wire.heading_rad, wire.plan_width_mm, wire.height_mm)
    first, again = wire.first, wire.again
    if finish.tip_width_mm > 0:
        beyond = _tip(wire, -1, 1.0, finish)
        columns = _joined(columns, beyond)
        first = np.append(first, first[-1] + _TIP_SAMPLES)
    if start.tip_width_mm > 0:
        beyond = _tip(wire, 0, -1.0, start)
        columns = _joined(tuple(column[::-1] for column in beyond), columns)
        first = np.concatenate(([0], first + _TIP_SAMPLES))
        again = tuple((begin + _TIP_SAMPLES, end + _TIP_SAMPLES) for begin, end in again)
    x_mm, y_mm, heading, width, height = columns
    return WireSamples(x_mm, y_mm, heading, width, height, first, again)


def _joined(before: Columns, after: Columns) -> Columns:
    return tuple(np.concatenate(both) for both in zip(before, after, strict=True))


def _tip(wire: WireSamples, sample: int, sign: float, end: EndPiece) -> Columns:
    """Samples of a half round outward from a tip: place, heading, width, height."""
    angle, heading = np.linspace(0.0, np.pi / 2, _TIP_SAMPLES), float(wire.heading_rad[sample])
    out = sign * end.tip_width_mm / 2 * np.sin(angle)
    width = end.tip_width_mm * np.cos(angle)
    width[-1] = 0.0
    return (
        wire.x_mm[sample] + out * np.cos(heading),
        wire.y_mm[sample] + out * np.sin(heading),
        np.full(_TIP_SAMPLES, heading),
        width,
        np.minimum(width, end.tip_height_mm),
    )


def paint_holes(painter: QPainter, holes: Sequence[Disc], view: View, colours: Palette) -> None:
    """Holes, open to the paper under the wire."""
    painter.setPen(QPen(QColor(colours.rim), _RIM_PX))
    painter.setBrush(QColor(colours.paper))
    for hole in holes:
        radius_px = hole.radius_mm * view.px_per_mm
        painter.drawEllipse(QPointF(view.to_px(hole.centre_mm)), radius_px, radius_px)
