"""A ring around a place on the wire that a page speaks of."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPainter, QPen

from formsketch.ui.theme import Palette
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire

# How far the ring stands clear of the wire.
_CLEAR_PX = 6.0


def paint_place(painter: QPainter, wire: PlacedWire, sample: float, view: View, colours: Palette) -> None:
    """Ring the wire at a sample with its fraction; nothing where the wire no longer has it."""
    if not 0 <= sample <= len(wire.trace.z_mm) - 1:
        return
    left, right = wire.edges_at_mm(sample, beyond_mm=_CLEAR_PX / view.px_per_mm)
    middle = view.to_px((left + right) / 2)
    radius = abs(left - right) / 2 * view.px_per_mm
    painter.setBrush(Qt.BrushStyle.NoBrush)
    # On metal and on paper alike: a dark line within a light one.
    for colour, width in ((colours.paper, 4.5), (colours.caution, 2.2)):
        painter.setPen(QPen(QColor(colour), width))
        painter.drawEllipse(middle, radius, radius)
