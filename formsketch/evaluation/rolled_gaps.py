"""How near parts of the wire come to each other once the form is rolled on its mandrel, in space.

A section is a stadium: a straight core, its rounded edge half the lesser side away all round. Rolled, the
sections stand square on the mandrel and lean towards each other; what counts is the distance between the ends
of their cores, followed along the wire, less the two edges.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.rolled import Rolled
from formsketch.evaluation.stations import Stations, along_mm, stations_of
from formsketch.geometry.openings import Opening
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Stations are no further apart than this, and the wire is followed so far to both sides of a place.
_STEP_MM, _AROUND_MM = 0.5, 3.0
# At the seam: the share of the band at both its ends among which the nearest two places are looked for.
_SEAM_SHARE, _MOST_AT_SEAM = 0.3, 600


class _Cores(Result, frozen=True):
    """Both ends of the core at every station, (2, stations, 3) in mm, and the radius of the edge round it."""

    at: Stations
    ends_mm: FloatArray
    radius_mm: FloatArray


def rolled_gaps_mm(evaluation: Evaluation, piece: Rolled, openings: Sequence[Opening]) -> FloatArray:
    """The gap of each opening once rolled, mm, below 0 where parts would lie in each other; (openings,)."""
    flat, round_it, along = _cores(evaluation, None), _cores(evaluation, piece), along_mm(evaluation)
    rolled = []
    for one in openings:
        at, other = np.interp((one.place, one.other_place), np.arange(len(along)), along).tolist()
        places = at, other
        rolled.append(one.gap_mm + _gap_mm(round_it, places) - _gap_mm(flat, places))
    return np.array(rolled)


def seam_gap_mm(evaluation: Evaluation, piece: Rolled) -> tuple[float, float, float]:
    """The nearest that start side and finish side come once rolled, mm, and where: samples with fractions.

    Two ends that are there to meet each other do not count: one side at least is no end.
    """
    cores, spans = _cores(evaluation, piece), evaluation.chain.spans
    at = cores.at
    x, part = at.z_mm.real, evaluation.trace.part[at.sample]
    left, right = float(np.min(x)), float(np.max(x))
    own = (part >= spans.start) & (part < spans.stop)
    nearest = (inf, 0.0, 0.0)
    along = along_mm(evaluation)
    for start_is_own, finish_is_own in ((True, True), (True, False), (False, True)):
        starts = _thinned(np.flatnonzero((x < left + _SEAM_SHARE * (right - left)) & (own == start_is_own)))
        finishes = _thinned(
            np.flatnonzero((x > right - _SEAM_SHARE * (right - left)) & (own == finish_is_own))
        )
        if len(starts) and len(finishes):
            moved = at.z_mm[finishes] - piece.band.round_mm
            apart = np.abs(at.z_mm[starts][:, None] - moved[None, :])
            apart -= (at.width_mm[starts][:, None] + at.width_mm[finishes][None, :]) / 2
            i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
            start, finish = int(starts[i]), int(finishes[j])
            places = float(at.along_mm[start]), float(at.along_mm[finish])
            gap = _gap_mm(cores, places, (own == start_is_own, own == finish_is_own))
            first, last = np.interp(places, along, np.arange(len(along)))
            nearest = min(nearest, (gap, float(first), float(last)))
    return nearest


def _thinned(samples: IntArray) -> IntArray:
    return samples[:: max(1, -(-len(samples) // _MOST_AT_SEAM))]


def _cores(evaluation: Evaluation, piece: Rolled | None) -> _Cores:
    at = stations_of(evaluation, _STEP_MM)
    radius = np.minimum(at.width_mm, at.height_mm) / 2
    beside, upright = at.width_mm / 2 - radius, at.height_mm / 2 - radius
    x0 = evaluation.outline.bounds_mm[0]
    # A core ends its edge's half before the tips, so that tips cut square reach no further than they do.
    kept = np.clip(at.along_mm, radius[0], max(float(at.along_mm[-1] - radius[-1]), float(radius[0])))
    z = np.interp(kept, at.along_mm, at.z_mm.real) + 1j * np.interp(kept, at.along_mm, at.z_mm.imag)
    ends = []
    for side in (1.0, -1.0):
        plan = z + 1j * at.direction * side * beside
        out = at.height_mm / 2 + side * upright
        if piece is None:
            ends.append(np.stack((plan.real, out, plan.imag), axis=1))
        else:
            above = piece.at(plan.real - x0, out)
            ends.append(np.stack((above.real, above.imag, plan.imag), axis=1))
    return _Cores(at, np.stack(ends), radius)


def _gap_mm(
    cores: _Cores,
    places_mm: tuple[float, float],
    among: tuple[NDArray[np.bool_], NDArray[np.bool_]] | None = None,
) -> float:
    """The least distance between the wire about one place and about another, mm along; `among` stations."""
    windows = []
    for number, place in enumerate(places_mm):
        begin, end = np.searchsorted(cores.at.along_mm, (place - _AROUND_MM, place + _AROUND_MM))
        here = np.arange(max(0, begin - 1), min(len(cores.at.along_mm), end + 1))
        if among is not None:
            here = here[among[number][here]]
        # Neighbouring stations make a piece; what was left out between two does not.
        first = here[:-1][np.diff(here) == 1] if len(here) > 1 else here
        second = np.minimum(first + 1, here[-1])
        rails = cores.ends_mm
        windows.append(
            (
                np.concatenate((rails[0][first], rails[1][first])),
                np.concatenate((rails[0][second], rails[1][second])),
                np.tile((cores.radius_mm[first] + cores.radius_mm[second]) / 2, 2),
            )
        )
    (a, b, r), (c, d, s) = windows
    apart = segments_apart_mm(a[:, None], b[:, None], c[None], d[None])
    return float(np.min(apart - r[:, None] - s[None]))


def segments_apart_mm(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> FloatArray:
    """Distance between straight pieces a to b and c to d in space; arrays (..., 3) that broadcast.

    Ericson, Real-Time Collision Detection (2005), section 5.1.9.
    """
    along, other, between = b - a, d - c, a - c
    aa = np.maximum(np.sum(along * along, axis=-1), 1e-30)
    ee = np.maximum(np.sum(other * other, axis=-1), 1e-30)
    f, g = np.sum(other * between, axis=-1), np.sum(along * between, axis=-1)
    ab = np.sum(along * other, axis=-1)
    slack = aa * ee - ab * ab
    s = np.where(slack > 1e-12 * aa * ee, np.clip((ab * f - g * ee) / np.maximum(slack, 1e-30), 0, 1), 0.0)
    t = np.clip((ab * s + f) / ee, 0.0, 1.0)
    s = np.clip((ab * t - g) / aa, 0.0, 1.0)
    apart = between + s[..., None] * along - t[..., None] * other
    return np.asarray(np.sqrt(np.sum(apart * apart, axis=-1)))
