"""How deep a span is hammered along its length: nothing at its marks, most on the hold, smooth between."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from formsketch.errors import FormSketchError
from formsketch.forging.section import FloatArray, fraction

# Sampling may step past a mark by this share of the span and is still on the mark.
MARK_TOLERANCE = 1e-9


def flare_ease(u: ArrayLike, centre: ArrayLike, hold: ArrayLike) -> FloatArray:
    """Share of the full depth at `u`, 0 at both marks and 1 on the hold; value and slope are continuous.

    With the hold running from a = centre - hold/2 to b = centre + hold/2 the ease is sin^2(pi/2 u/a) before
    it and sin^2(pi/2 (1 - u)/(1 - b)) after it.

    u: fraction of the span's finished length, 0..1. centre, hold: fractions of the same length with
    0 < a and b < 1. All broadcast. Raises FormSketchError outside these ranges.
    """
    place = np.asarray(u, dtype=np.float64)
    if not ((place >= -MARK_TOLERANCE) & (place <= 1 + MARK_TOLERANCE)).all():
        raise FormSketchError("place along the span: expected a fraction from 0 to 1")
    half_hold = fraction("hold of the flare", hold) / 2
    middle = np.asarray(centre, dtype=np.float64)
    before, after = middle - half_hold, 1 - middle - half_hold
    if not ((before > 0) & (after > 0)).all():
        raise FormSketchError("flare: expected its hold to begin after one mark and end before the next")
    # Past its own end of the hold each ramp is above 1, so the least of the three is the one that acts.
    ramp = np.minimum(np.minimum(place / before, (1 - place) / after), 1.0)
    return np.sin(np.pi / 2 * ramp) ** 2


def place_in_flare(u: ArrayLike, begin: ArrayLike, end: ArrayLike) -> FloatArray:
    """Where in the whole flare a span stands at `u` that shows the part `begin` to `end` of it.

    u: fraction of the span's finished length, 0..1; begin < end, fractions of the whole. All broadcast.
    """
    first = np.asarray(begin, dtype=np.float64)
    return np.asarray(first + (np.asarray(end, dtype=np.float64) - first) * np.asarray(u, dtype=np.float64))


def deepest_ease(centre: ArrayLike, hold: ArrayLike, begin: ArrayLike, end: ArrayLike) -> FloatArray:
    """Greatest share of the full depth in the part `begin` to `end` of a flare; all broadcast."""
    return flare_ease(np.clip(centre, begin, end), centre, hold)


def thickness_ratio(u: ArrayLike, thickness: ArrayLike, centre: ArrayLike, hold: ArrayLike) -> FloatArray:
    """Thickness over wire diameter at `u`: 1 - (1 - thickness) ease.

    thickness: the least thickness as a fraction of the wire's diameter, 0..1 (1 hammers nothing). `u`,
    `centre` and `hold` as in `flare_ease`; all broadcast.
    """
    depth = 1 - fraction("thickness of the flare", thickness)
    return 1 - depth * flare_ease(u, centre, hold)
