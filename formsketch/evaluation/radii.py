"""The radius of a span as it is measured at the bench: of the bend before hammering, or of the finished wire.

All are those of the tightest place. Inside and outside lie half the plan width from the centreline, at the
widest place of the span.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.fitting.many_spans import refused_for
from formsketch.units import length_text

FloatArray = NDArray[np.float64]
RadiusKind = Literal["bent", "finished", "inside", "outside"]


def radii_mm(e: Evaluation, kind: RadiusKind) -> FloatArray:
    """Radius of each span at its tightest place, shape (spans,); nan where it is straight.

    An inside radius is negative where the wire is wider than its bend is round.
    """
    if kind == "bent":
        return e.spans.as_bent_radius_mm
    return np.asarray(e.spans.finished_radius_mm + _beyond_centreline_mm(e, kind))


def lengths_for_radius_mm(
    e: Evaluation, spans: Sequence[int], kind: RadiusKind, radius_mm: float
) -> dict[int, float]:
    """The finished length at which each of these spans, turning as it does, has this radius.

    Raises `EditRefused` for a straight span, for an as-bent radius under uneven blows, and where the
    centreline would have no radius left.
    """
    numbers = e.spans
    per_finished = numbers.as_bent_radius_mm / numbers.finished_radius_mm if kind == "bent" else 1.0
    finished = (radius_mm - _beyond_centreline_mm(e, kind)) / per_finished
    finished = np.broadcast_to(finished, numbers.finished_radius_mm.shape)
    for span in spans:
        if not np.isfinite(numbers.finished_radius_mm[span]):
            raise refused_for(span, len(spans), "A straight span has no radius; give it a turn first.")
        flare = e.chain.flare[e.chain.spans.start + span]
        if kind == "bent" and flare >= 0 and e.chain.flares[flare].bias:
            # The blows turn it too, by more the longer it is.
            raise refused_for(span, len(spans), "Its blows are uneven; type the finished radius instead.")
        if finished[span] <= 0:
            least = length_text(float(_beyond_centreline_mm(e, kind)[span]))
            raise refused_for(span, len(spans), f"A radius of more than {least} was expected here.")
    lengths = numbers.finished_length_mm * finished / numbers.finished_radius_mm
    return {span: float(lengths[span]) for span in spans}


def _beyond_centreline_mm(e: Evaluation, kind: RadiusKind) -> FloatArray:
    """How far outside the centreline this radius is measured, shape (spans,)."""
    half = _widest_plan_mm(e) / 2
    return {"inside": -half, "outside": half}.get(kind, np.zeros_like(half))


def _widest_plan_mm(e: Evaluation) -> FloatArray:
    """Plan width of each span at its widest place: on edge that is at one of its marks."""
    flares, flare = e.flares, e.chain.flare[e.chain.spans]
    at_marks = np.maximum(flares.thickness_from_mm, flares.thickness_to_mm)
    return np.asarray(np.where(flares.on_edge, at_marks, flares.plan_extreme_mm)[flare])
