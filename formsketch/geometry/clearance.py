"""Where the wire crosses itself, and how near parts come that do not touch."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.extents import Extents
from formsketch.geometry.outline import Outline
from formsketch.geometry.united import common_of
from formsketch.values import Value

# Two places on the wire face each other across a gap when the way along it is this much longer than the
# way across, middle to middle: the legs of a U do (half a turn, pi/2), the ends of a shallow bow do not.
ALONG_TO_ACROSS = 1.5
# The search begins this many plan widths around each piece and widens until it finds a gap. Pairs of pieces
# are measured so many at a time, those first that may be nearest.
_FIRST_REACH_TO_WIDTH = 1.0
_PAIRS_AT_A_TIME = 32
_MOST_COMPARED = 2_000
# In plan widths: how far a tip may fall short of the wire it lies on, and how near two crossings are one.
_TIP_STRETCH, _SAME_PLACE = 1e-6, 1e-3


class Crossing(Value, frozen=True):
    """Where the centreline crosses itself: the point (x + iy, mm) and its place on both parts of the wire.

    The wire at `over_place` lies over that at `under_place`. A place is a sample's number and, after the
    point, the share of the way to the next.
    """

    at_mm: complex
    under_place: float
    over_place: float

    @property
    def places(self) -> tuple[float, float]:
        """The two places in the order of the wire."""
        return min(self.under_place, self.over_place), max(self.under_place, self.over_place)

    @property
    def under_sample(self) -> int:
        """The sample nearest to the crossing on the part under."""
        return round(self.under_place)

    @property
    def over_sample(self) -> int:
        """The sample nearest to the crossing on the part over."""
        return round(self.over_place)


def crossings(outline: Outline) -> tuple[Crossing, ...]:
    """Every crossing of the centreline with itself, the part further along over, in the order of the wire.

    Where it comes by a crossing for the first time counts. None are told of a tangle.
    """
    begin, end, _ = outline.piece_bounds
    pairs = outline.touching
    pairs = pairs[(pairs < len(begin)).all(axis=1)]
    pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
    if not len(pairs):
        return ()
    d = float(np.max(outline.plan_width_mm))
    # Only the lines of pieces that touch are made, each once.
    wanted, number = np.unique(pairs, return_inverse=True)
    lines = _piece_lines(outline, begin[wanted], end[wanted], _TIP_STRETCH * d)
    meetings = common_of(*lines[number.reshape(pairs.shape).T])
    points, pair = shapely.get_coordinates(meetings, return_index=True)
    # Where a mark lies on a crossing the pieces on both its sides report it.
    places = points @ np.array([1.0, 1j])
    kept = _apart(places, _SAME_PLACE * d)
    at, (under, over) = places[kept], pairs[pair[kept]].T
    z = outline.trace.z_mm
    sides = (places_on(z, begin[piece], end[piece], at).tolist() for piece in (under, over))
    found = [Crossing(*crossing) for crossing in zip(at.tolist(), *sides, strict=True)]
    # A wire that closes on itself meets itself there, tip to tip, without crossing.
    last = len(outline.trace.z_mm) - 1
    found = [crossing for crossing in found if (crossing.under_sample, crossing.over_sample) != (0, last)]
    return tuple(sorted(found, key=lambda crossing: crossing.places))


def _apart(places_mm: NDArray[np.complex128], same_mm: float) -> NDArray[np.int64]:
    """Numbers of places that are no repetition of an earlier one."""
    if len(places_mm) > _MOST_COMPARED:
        # Wire along itself: all that matters is that there are thousands.
        return np.asarray(np.unique(np.round(places_mm / same_mm), return_index=True)[1])
    near = Extents.of_discs(places_mm, np.full(len(places_mm), same_mm / 2)).pairs_within(0.0)
    near = near[np.abs(places_mm[near[:, 0]] - places_mm[near[:, 1]]) <= same_mm]
    kept = np.ones(len(places_mm), dtype=bool)
    for earlier, later in near[np.argsort(near[:, 1], kind="stable")].tolist():
        if kept[earlier]:
            kept[later] = False
    return np.flatnonzero(kept)


def place_on(z_mm: NDArray[np.complex128], begin: int, end: int, at_mm: complex) -> float:
    """The place nearest to a point on the centreline from one sample to another."""
    return float(places_on(z_mm, np.array([begin]), np.array([end]), np.array([at_mm]))[0])


def places_on(
    z_mm: NDArray[np.complex128],
    begin: NDArray[np.int64],
    end: NDArray[np.int64],
    at_mm: NDArray[np.complex128],
) -> NDArray[np.float64]:
    """The place nearest to each point on its stretch of the centreline, all of shape (points,)."""
    counts = end - begin
    first = np.cumsum(counts) - counts
    point = np.repeat(np.arange(len(at_mm)), counts)
    sample = np.arange(len(point)) + (begin - first)[point]
    start, at = z_mm[sample], at_mm[point]
    step = z_mm[sample + 1] - start
    # At a mark two samples lie in one place.
    length2 = np.maximum(np.abs(step) ** 2, np.finfo(float).tiny)
    share = np.clip(((at - start) * step.conj()).real / length2, 0.0, 1.0)
    away = np.abs(start + share * step - at)
    nearest = np.flatnonzero(away == np.minimum.reduceat(away, first)[point])
    nearest = nearest[np.diff(point[nearest], prepend=-1) > 0]
    return np.asarray(sample[nearest] + share[nearest])


def _piece_lines(
    outline: Outline, begin: NDArray[np.int64], end: NDArray[np.int64], stretch_mm: float
) -> NDArray[Any]:
    """Centrelines of pieces, the wire's two tips stretched so that one lying on the wire is met."""
    trace = outline.trace
    z = trace.z_mm.copy()
    z[0] -= stretch_mm * trace.direction[0]
    z[-1] += stretch_mm * trace.direction[-1]
    counts = end - begin + 1
    line = np.repeat(np.arange(len(begin)), counts)
    z = z[np.arange(len(line)) + np.repeat(begin - np.cumsum(counts) + counts, counts)]
    return np.asarray(shapely.linestrings(z.real, z.imag, indices=line))


def smallest_gap_mm(outline: Outline) -> float | None:
    """The narrowest opening between parts of the wire that do not touch; None when nothing comes near, and
    of a tangle.

    Edge to edge in plan. Places that are near only because the wire between them is short do not count,
    nor does an end against itself or the span it grows from: an eye is meant to close.
    """
    if outline.tangled:
        return None
    x0, y0, x1, y1 = outline.bounds_mm
    reach = _FIRST_REACH_TO_WIDTH * float(np.max(outline.plan_width_mm))
    while True:
        gap = _gap_within(outline, reach)
        if gap <= reach or reach > max(x1 - x0, y1 - y0):
            return gap if np.isfinite(gap) else None
        reach *= 3


def _gap_within(outline: Outline, reach_mm: float) -> float:
    """The narrowest opening up to this reach; a wider one, or infinite, where there is none."""
    begin, end, part = outline.piece_bounds
    run = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(outline.trace.z_mm)))))
    half, pairs = outline.plan_width_mm / 2, outline.extents.pairs_within(reach_mm)
    pairs = pairs[(pairs[:, 0] + 1 < pairs[:, 1]) & (pairs[:, 1] < len(begin))]
    pairs = pairs[~beside_own_end(part[pairs], outline)]
    one, other = pairs.T
    # Pieces face each other while they are nearer than this: the way along the wire allows no more.
    most = (run[begin[other]] - run[end[one]]) / ALONG_TO_ACROSS - half[end[one]] - half[begin[other]]
    least = outline.extents.least_apart_mm(pairs)
    order = np.argsort(least, kind="stable")
    touch = np.isin(_codes(pairs, len(begin)), _codes(outline.touching, len(begin)))
    order = order[(least < most)[order] & ~touch[order]]
    gap, at = np.inf, 0
    while at < len(order) and least[order[at]] < gap:
        looked_at = order[at : at + _PAIRS_AT_A_TIME]
        looked_at = looked_at[least[looked_at] < gap]
        across = shapely.distance(*outline.shapes_of(pairs[looked_at].T))
        facing = (across > 0) & (across < most[looked_at])
        gap = min(gap, float(np.min(across[facing], initial=np.inf)))
        at += _PAIRS_AT_A_TIME
    return gap


def _codes(pairs: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    """One number for each pair that no other pair of pieces has."""
    return np.asarray(pairs[:, 0] * (count + 1) + np.minimum(pairs[:, 1], count))


def beside_own_end(parts: NDArray[np.int64], outline: Outline) -> NDArray[np.bool_]:
    """Which pairs of parts, shape (pairs, 2), are an end and itself or its neighbouring span."""
    spans = outline.chain.spans
    low, high = parts.min(axis=1), parts.max(axis=1)
    at_start = (low < spans.start) & (high <= spans.start)
    at_finish = (high >= spans.stop) & (low >= spans.stop - 1)
    return np.asarray(at_start | at_finish)
