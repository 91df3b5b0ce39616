"""A small lit picture of one end of the wire, as it comes out."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.picture import Bounds, level_wire, paint_fitted
from formsketch.ui.theme import current_palette
from formsketch.ui.wire_picture import PlacedWire

_WIDE_PX, _HIGH_PX = 280, 150
_MOST_PX_PER_MM = 26.0
# So much of the form is shown beside its end.
_FORM_MM, _FORM_TO_WIRE = 5.0, 4.0


class EndPicture(QWidget):
    """Shows one end (0 start, 1 finish) of a form laid level, with the pen mark it begins at."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self._number = number
        self._wire: PlacedWire | None = None
        self.setMinimumSize(_WIDE_PX, _HIGH_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"Picture of the {('start', 'finish')[number]}")

    def sizeHint(self) -> QSize:
        return QSize(_WIDE_PX, _HIGH_PX)

    def show_end(self, evaluation: Evaluation | None) -> None:
        """Show the end of this form; None for one that cannot be made."""
        self._wire = None if evaluation is None else level_wire(evaluation)
        self.setAccessibleDescription("" if evaluation is None else evaluation.ends[self._number].text)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        view = paint_fitted(painter, self, self._wire, _MOST_PX_PER_MM, self._bounds_mm)
        if view is None or self._wire is None:
            return
        mark = -1 if self._number else 0
        left, right = (complex(edge[mark]) for edge in self._wire.mark_edges_mm)
        painter.setPen(QPen(QColor(current_palette().mark), 1.6))
        painter.drawLine(view.to_px(left), view.to_px(right))

    def _bounds_mm(self, wire: PlacedWire) -> Bounds:
        """(x0, y0, x1, y1) of an end and the wire next to it."""
        e, trace = wire.evaluation, wire.trace
        spans, z = e.chain.spans, trace.z_mm
        mark = int(trace.first[spans.stop]) - 1 if self._number else int(trace.first[spans.start])
        along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
        beside_mm = max(_FORM_MM, _FORM_TO_WIRE * e.diameter_mm)
        shown = along >= along[mark] - beside_mm if self._number else along <= along[mark] + beside_mm
        # Samples lie far apart on straight wire: the place where the form is cut off is put between them.
        cut_mm = along[mark] - beside_mm if self._number else along[mark] + beside_mm
        cut = complex(np.interp(cut_mm, along, z.real), np.interp(cut_mm, along, z.imag))
        half = 0.5 * e.samples.plan_width_mm[shown]
        end, tip = e.ends[self._number], complex(z[-1 if self._number else 0])
        round_mm = max(end.bead_diameter_mm, end.post_diameter_mm, end.tip_width_mm)
        places = np.concatenate((z[shown], [cut, tip]))
        reach = np.concatenate((half, [e.diameter_mm / 2, round_mm]))
        return (
            float(np.min(places.real - reach)),
            float(np.min(places.imag - reach)),
            float(np.max(places.real + reach)),
            float(np.max(places.imag + reach)),
        )
