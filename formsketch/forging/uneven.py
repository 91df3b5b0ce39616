"""Uneven blows: a flare hammered deeper on one edge than on the other, and the turn the wire gains by it.

`Flare.bias` beta says by which share of their depth the blows are heavier on the wire's right edge than in
the middle, and lighter by as much on its left one. Where the even flare of depth D leaves the thickness
t = d (1 - D e) the edges come out at d (1 - D e (1 + beta)) on the right and d (1 - D e (1 - beta)) on the
left. The section leans: with y across the width w, left positive, its height is that of the even stadium
times 1 + lean y/(w/2), lean = beta D e/(1 - D e).

The model, derived to first order in the lean:

- Each fibre follows the law of spread by its own height, so it is lengthened by
  lambda (1 + lean y/(w/2))^-(1 - S); lambda is the even flare's elongation. The straight line through these
  lengths, weighted by the metal, has the slope of their tangent to within a share of lean^2/3, and the wire,
  which stays whole, follows it: it gains the curvature **2 (1 - S) lean/w**, to the left for beta > 0.
- Area, width and mean elongation stay those of even blows; what is left out is at most
  S (1 - S) lean^2/6 of each. So cut length, weight and places on the straight wire stay as they are.
- The finished line of a span is the line of its sections' centroids, which keeps the volume of a curved
  wire exactly (Pappus). The middle of the width lies beside it, to the thin side, by 2 lean I/(w A), I being
  the second moment of the even section in the plane of the form: w/6 of the lean in a rectangle.

Free fibres that only stay plane: friction, and the round edges, make a real wire turn less or more. It is
trusted to a lean of TRUSTED_LEAN, and to be checked on a hammered sample: by 1 - S it hangs strongly on the
spread. Flares hammered on edge gain no turn in the plane of the form and take no bias.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from formsketch.design.model import Flare
from formsketch.forging.flare import deepest_ease, flare_ease, place_in_flare
from formsketch.forging.forged import nodes_in_parts
from formsketch.forging.section import FloatArray, second_moments_mm4, stadium_area_mm2
from formsketch.forging.spread import hammered_width_mm
from formsketch.geometry.chain import Chain
from formsketch.geometry.trace import Trace
from formsketch.values import Result

# Up to here the law above follows free fibres within 3.5 % for every spread (derived, checked numerically).
TRUSTED_LEAN = 0.3
# A flare in the middle of its span adds no skew but rounding, less than this share of the turn.
_SKEW_ROUNDING = 1e-13
_EVEN = Flare(thickness=1.0)


class UnevenFlares(Result, frozen=True):
    """What the bias of each flare does, arrays of shape (flares + 1,), seen before any turning over.

    The last entry is the unhammered wire. `turn_per_mm` and `skew_per_mm` times a span's finished length are
    the turn and skew (rad) it gains, the least-squares line through the curvature gained. `lean` is that of
    the deepest place shown, whose right edge is thinner than its middle by this share and whose left edge is
    thicker; `lean_from` and `lean_to` are the leans at the span's marks. `off_area_mm2` is the mean over the
    span of width x offset of the middle of the width from the finished line, left positive,
    `off_skewed_mm2` its mean weighted by 2u - 1, `most_off_mm` the greatest offset, unsigned.
    """

    turn_per_mm: FloatArray
    skew_per_mm: FloatArray
    lean: FloatArray
    off_area_mm2: FloatArray
    off_skewed_mm2: FloatArray
    most_off_mm: FloatArray
    lean_from: FloatArray
    lean_to: FloatArray


def forge_uneven(flares: Sequence[Flare], diameter_mm: float, spread: float) -> UnevenFlares | None:
    """The bias of each distinct flare of a form worked out; None where all blows are even."""
    if not any(flare.bias for flare in flares):
        return None
    every = [*flares, _EVEN]
    depth, centre, hold, begin, end, bias = np.array(
        [(1 - f.thickness, f.centre, f.hold, f.begin, f.end, f.bias) for f in every]
    ).T
    places, weights = nodes_in_parts(centre, hold, begin, end)
    across = 2 * (places - begin[:, None]) / (end - begin)[:, None] - 1
    ease = flare_ease(places, centre[:, None], hold[:, None])
    thickness, width, lean = _leaning(ease, depth[:, None], bias[:, None], diameter_mm, spread)
    gained = _curvature_gained_per_mm(width, lean, spread)
    off = _off_middle_mm(thickness, width, lean)
    deepest = deepest_ease(centre, hold, begin, end)
    thinnest, widest, most = _leaning(deepest, depth, bias, diameter_mm, spread)
    turn, skew = np.sum(gained * weights, axis=1), 3 * np.sum(gained * across * weights, axis=1)
    return UnevenFlares(
        turn_per_mm=turn,
        skew_per_mm=np.where(np.abs(skew) > _SKEW_ROUNDING * np.abs(turn), skew, 0.0),
        lean=most,
        off_area_mm2=np.sum(width * off * weights, axis=1),
        off_skewed_mm2=np.sum(width * off * across * weights, axis=1),
        most_off_mm=np.abs(_off_middle_mm(thinnest, widest, most)),
        lean_from=_leaning(flare_ease(begin, centre, hold), depth, bias, diameter_mm, spread)[2],
        lean_to=_leaning(flare_ease(end, centre, hold), depth, bias, diameter_mm, spread)[2],
    )


def off_middle_at_mm(chain: Chain, trace: Trace, diameter_mm: float, spread: float) -> FloatArray:
    """How far the middle of the width lies beside the finished line at each sample, left positive as laid."""
    off = np.zeros(len(trace.u))
    biased = np.array([flare.bias != 0 for flare in (*chain.flares, _EVEN)])
    uneven = np.flatnonzero(biased[chain.flare[trace.part]])
    if not len(uneven):
        return off
    part = trace.part[uneven]
    rows = np.array([(1 - f.thickness, f.centre, f.hold, f.begin, f.end, f.bias) for f in chain.flares])
    depth, centre, hold, begin, end, bias = rows[chain.flare[part]].T
    ease = flare_ease(place_in_flare(trace.u[uneven], begin, end), centre, hold)
    off[uneven] = chain.side[part] * _off_middle_mm(*_leaning(ease, depth, bias, diameter_mm, spread))
    return off


def _leaning(
    ease: FloatArray, depth: FloatArray, bias: FloatArray, diameter_mm: float, spread: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Thickness in the middle, width, and lean of the section where the blows reach this ease."""
    ratio = 1 - depth * ease
    thickness = diameter_mm * ratio
    return thickness, hammered_width_mm(thickness, diameter_mm, spread), bias * depth * ease / ratio


def _curvature_gained_per_mm(width_mm: FloatArray, lean: FloatArray, spread: float) -> FloatArray:
    """Curvature gained by a leaning section, left positive."""
    return 2 * (1 - spread) * lean / width_mm


def _off_middle_mm(thickness_mm: FloatArray, width_mm: FloatArray, lean: FloatArray) -> FloatArray:
    """From the centroid of a leaning section to the middle of its width, left positive."""
    _, strong = second_moments_mm4(width_mm, thickness_mm)
    return -2 * lean * strong / (width_mm * stadium_area_mm2(width_mm, thickness_mm))
