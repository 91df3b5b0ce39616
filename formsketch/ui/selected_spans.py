"""The selected spans on the form: a centreline over each, the leading one's strongest."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from formsketch.ui.theme import Palette
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire

# Centrelines as in drawings: long dash, dot.
_DASHES = [9.0, 3.0, 1.5, 3.0]
_LEAD_PX, _OTHER_PX = 2.0, 1.4
_GROUND = 0.55
# However many spans are selected, no more places of their centrelines than these are drawn.
_MOST_PLACES = 4000


def paint_selected_spans(
    painter: QPainter, wire: PlacedWire, spans: Sequence[int], lead: int, view: View, colours: Palette
) -> None:
    """Draw the centrelines of these spans, one stretch of neighbours at a time."""
    chain = wire.evaluation.chain.spans
    first = wire.trace.first[chain.start : chain.stop + 1]
    known = [span for span in spans if span + 1 < len(first)]
    stretches = np.split(known, np.flatnonzero(np.diff(known) > 1) + 1) if known else []
    places = sum(int(first[run[-1] + 1] - first[run[0]]) for run in stretches)
    every = 1 + places // _MOST_PLACES
    for run in stretches:
        _paint_line(
            painter, wire, int(first[run[0]]), int(first[run[-1] + 1]), every, _OTHER_PX, view, colours
        )
    if len(known) > 1 and lead in known:
        _paint_line(painter, wire, int(first[lead]), int(first[lead + 1]), every, _LEAD_PX, view, colours)


def _paint_line(
    painter: QPainter,
    wire: PlacedWire,
    begin: int,
    end: int,
    every: int,
    width_px: float,
    view: View,
    colours: Palette,
) -> None:
    line = wire.trace.z_mm[begin:end]
    line = np.append(line[:-1:every], line[-1])
    x = view.origin_x_px + view.px_per_mm * line.real
    y = view.origin_y_px - view.px_per_mm * line.imag
    places = QPolygonF([QPointF(a, b) for a, b in zip(x.tolist(), y.tolist(), strict=True)])
    # On a ground of its own: accent and metal may be as light as one another.
    ground = QColor(colours.paper)
    ground.setAlphaF(_GROUND)
    painter.setPen(QPen(ground, width_px + 2.0))
    painter.drawPolyline(places)
    pen = QPen(QColor(colours.accent), width_px)
    pen.setDashPattern(_DASHES)
    painter.setPen(pen)
    painter.drawPolyline(places)
