"""Where things lie on the straight wire's strip: millimetres of stock to pixels, and what is where."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF

from formsketch.evaluation.end_marks import end_marks_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.view import View
from formsketch.values import Result

SIDE_PX = 22.0
WIRE_Y_PX = 80.0
# Wire drawn thinner than this could not show its hammering; it is drawn thicker, and the strip says so.
_LEAST_WIRE_PX = 15.0
# Labels of spans stand at least this far apart, those of marks a little less.
LEAST_LABEL_PX = 44.0
_LEAST_MARK_LABEL_PX = 36.0
_LABEL_WIDE_PX, _LABEL_HIGH_PX, _LABEL_ABOVE_PX = 60.0, 16.0, 40.0
_GRAB_PX = 5.0
_NEAR_WIRE_PX = 34.0


class StripLayout(Result, frozen=True):
    """One evaluated wire stretched over a strip of this width."""

    evaluation: Evaluation
    width_px: float

    @cached_property
    def px_per_mm(self) -> float:
        return (self.width_px - 2 * SIDE_PX) / self.evaluation.cut_length_mm

    @property
    def thicker(self) -> float:
        """How many times thicker than to scale the wire is drawn; 1 when it is thick enough."""
        return max(1.0, _LEAST_WIRE_PX / (self.evaluation.diameter_mm * self.px_per_mm))

    @property
    def view(self) -> View:
        """Millimetres along the straight wire; the wire lies on the x axis."""
        return View(self.px_per_mm, SIDE_PX, WIRE_Y_PX)

    def x_px(self, stock_mm: float) -> float:
        """Where a distance from the start of the cut wire lies across the strip."""
        return SIDE_PX + self.px_per_mm * stock_mm

    # --- marks

    @cached_property
    def marks_mm(self) -> NDArray[np.float64]:
        """Distance of each mark from the start of the cut wire; shape (spans + 1,)."""
        e = self.evaluation
        return np.append(e.spans.stock_from_mm, e.cut_length_mm - e.ends[1].stock_mm)

    @cached_property
    def lines_mm(self) -> NDArray[np.float64]:
        """Where a line is drawn across the wire: at each mark and at both ends of the cut wire."""
        lines = np.concatenate(([0.0], self.marks_mm, [self.evaluation.cut_length_mm])).round(9)
        # Not np.unique: the first call of that loads masked arrays, which the window opens sooner without.
        return np.array(sorted(set(lines.tolist())))

    @cached_property
    def end_marks_mm(self) -> tuple[float, ...]:
        """Where marks inside the ends stand, such as where a hook begins."""
        return tuple(at for own in end_marks_mm(self.evaluation) for _, at in own)

    def labelled_mm(self, lead: int | None) -> set[float]:
        """The lines whose labels have room: the lead span's first, then both ends, then the rest in turn."""
        lines = self.lines_mm
        wanted = [float(lines[0]), float(lines[-1])]
        if lead is not None and lead + 1 < len(self.marks_mm):
            wanted = [float(place) for place in self.marks_mm[lead : lead + 2].round(9)] + wanted
        shown: list[float] = []
        for place in [*wanted, *(float(p) for p in lines)]:
            if all(abs(place - other) * self.px_per_mm >= _LEAST_MARK_LABEL_PX for other in shown):
                shown.append(place)
        return set(shown)

    def label_rect(self, stock_mm: float) -> QRectF:
        """Where the label of a line is written."""
        left = self.x_px(stock_mm) - _LABEL_WIDE_PX / 2
        return QRectF(left, WIRE_Y_PX - _LABEL_ABOVE_PX, _LABEL_WIDE_PX, _LABEL_HIGH_PX)

    # --- what is where

    def mark_at(self, at: QPointF, lead: int | None) -> int | None:
        """The mark whose line or whose label lies under a point."""
        away = np.abs(SIDE_PX + self.px_per_mm * self.marks_mm - at.x())
        nearest = int(np.argmin(away))
        if abs(at.y() - WIRE_Y_PX) <= _NEAR_WIRE_PX and away[nearest] <= _GRAB_PX:
            return nearest
        labelled = self.labelled_mm(lead)
        for mark in np.argsort(away)[:3]:
            place = float(self.marks_mm[mark].round(9))
            if place in labelled and self.label_rect(place).contains(at):
                return int(mark)
        return None

    def stock_at_mm(self, at: QPointF) -> float | None:
        """The distance from the start of the cut wire under a point near the wire."""
        place = (at.x() - SIDE_PX) / self.px_per_mm
        near = abs(at.y() - WIRE_Y_PX) <= _NEAR_WIRE_PX
        return place if near and 0 <= place <= self.evaluation.cut_length_mm else None

    def sample_at(self, at: QPointF) -> float | None:
        """The place along the wire under a point: a sample's number and the share of the way to the next."""
        place = self.stock_at_mm(at)
        if place is None:
            return None
        stock = self.evaluation.stock_at_samples_mm
        return float(np.interp(place, stock, np.arange(len(stock))))

    def span_at(self, at: QPointF) -> int | None:
        """The span under a point; None on an end and away from the wire."""
        place = self.stock_at_mm(at)
        spans = self.evaluation.spans
        if place is None or not spans.stock_from_mm[0] <= place:
            return None
        span = int(np.searchsorted(spans.stock_from_mm, place, side="right")) - 1
        return span if place <= spans.stock_from_mm[span] + spans.stock_length_mm[span] else None
