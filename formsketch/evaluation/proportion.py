"""Is it a lump or a thread? The ratios a maker judges a form by."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

MM_PER_CM = 10.0
# A span that turns this far reads as a loop; without any, curved spans stand in.
LOOP_TURN_DEG = 90.0


class Proportion(Result, frozen=True):
    """Ratios of one evaluated form; None where the form has nothing to measure."""

    evaluation: Evaluation

    @cached_property
    def loop_inside_mm(self) -> float | None:
        """Inside diameter of the middling loop: twice its mean radius less the wire's diameter."""
        spans = self.evaluation.spans
        turn = np.abs(spans.turn_deg)
        loops = turn >= LOOP_TURN_DEG
        if not loops.any():
            loops = turn > 1e-6
        if not loops.any():
            return None
        radius = spans.finished_length_mm[loops] / np.deg2rad(turn[loops])
        # numpy's own median takes longer to be imported than all the other numbers to be worked out.
        return float(np.sum(np.sort(radius)[[(len(radius) - 1) // 2, len(radius) // 2]])) - (
            self.evaluation.diameter_mm
        )

    @property
    def loop_to_wire(self) -> float | None:
        """Loop inside diameter / wire diameter."""
        inside = self.loop_inside_mm
        return None if inside is None or inside <= 0 else inside / self.evaluation.diameter_mm

    @property
    def wire_to_height(self) -> float:
        """Wire diameter / form height, laid level."""
        return self.evaluation.diameter_mm / self.evaluation.envelope_mm[1]

    @property
    def flare_to_wire(self) -> float:
        """Greatest hammered width / wire diameter."""
        return self.evaluation.widest_mm / self.evaluation.diameter_mm

    @property
    def silhouette_to_hull(self) -> float:
        """Metal in plan / its convex hull: how much of its own space the form fills."""
        outline = self.evaluation.outline
        return outline.silhouette_area_mm2 / outline.hull_area_mm2

    @property
    def gap_to_wire(self) -> float | None:
        """Narrowest opening between parts that do not touch / wire diameter."""
        gap_mm = self.evaluation.smallest_gap_mm
        return None if gap_mm is None else gap_mm / self.evaluation.diameter_mm

    @property
    def grams_per_cm(self) -> float:
        """Weight / the longer side of the form laid level: how heavy it is for its size."""
        return self.evaluation.weight_g * MM_PER_CM / max(self.evaluation.envelope_mm)
