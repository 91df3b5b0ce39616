"""Where the wire crosses itself, and how near parts come that do not touch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.outline import Outline

# Two places on the wire face each other across a gap when the way along it is this much longer than the
# way across, middle to middle: the legs of a U do (half a turn, pi/2), the ends of a shallow bow do not.
_ALONG_TO_ACROSS = 1.5
# The search begins this many plan widths around each piece and widens until it finds a gap.
_FIRST_REACH_TO_WIDTH = 4.0
# In plan widths: how far a tip may fall short of the wire it lies on, and how near two crossings are one.
_TIP_STRETCH, _SAME_PLACE = 1e-6, 1e-3
_MOST_COMPARED = 2_000


@dataclass(frozen=True)
class Crossing:
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

    Where it comes by a crossing for the first time counts.
    """
    begin, end, _ = outline.piece_bounds
    pairs = outline.touching
    pairs = pairs[(pairs < len(begin)).all(axis=1)]
    pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
    if not len(pairs):
        return ()
    d = float(np.max(outline.plan_width_mm))
    lines = np.array(
        [_piece_line(outline, int(b), int(e), _TIP_STRETCH * d) for b, e in zip(begin, end, strict=True)]
    )
    meetings = shapely.intersection(lines[pairs[:, 0]], lines[pairs[:, 1]])
    points, pair = shapely.get_coordinates(meetings, return_index=True)
    # Where a mark lies on a crossing the pieces on both its sides report it.
    places = points @ np.array([1.0, 1j])
    kept = _apart(places, _SAME_PLACE * d)
    found = [_crossing(outline, complex(places[i]), pairs[pair[i]]) for i in kept]
    # A wire that closes on itself meets itself there, tip to tip, without crossing.
    last = len(outline.trace.z_mm) - 1
    found = [crossing for crossing in found if (crossing.under_sample, crossing.over_sample) != (0, last)]
    return tuple(sorted(found, key=lambda crossing: crossing.places))


def _apart(places_mm: NDArray[np.complex128], same_mm: float) -> list[int]:
    """Numbers of places that are no repetition of an earlier one."""
    if len(places_mm) > _MOST_COMPARED:
        # A tangle: all that matters is that there are thousands.
        return [int(i) for i in np.unique(np.round(places_mm / same_mm), return_index=True)[1]]
    kept: list[int] = []
    for i, place in enumerate(places_mm):
        if not kept or np.abs(places_mm[kept] - place).min() > same_mm:
            kept.append(i)
    return kept


def _crossing(outline: Outline, at_mm: complex, pieces: NDArray[np.int64]) -> Crossing:
    begin, end, _ = outline.piece_bounds
    under, over = (_place_on(outline.trace.z_mm, int(begin[i]), int(end[i]), at_mm) for i in pieces)
    return Crossing(at_mm, under, over)


def _place_on(z_mm: NDArray[np.complex128], begin: int, end: int, at_mm: complex) -> float:
    """The place nearest to a point on the centreline from one sample to another."""
    start, step = z_mm[begin:end], np.diff(z_mm[begin : end + 1])
    share = np.clip(((at_mm - start) * step.conj()).real / np.abs(step) ** 2, 0.0, 1.0)
    nearest = int(np.argmin(np.abs(start + share * step - at_mm)))
    return begin + nearest + float(share[nearest])


def _piece_line(outline: Outline, begin: int, end: int, stretch_mm: float) -> Any:
    """Centreline of a piece, the wire's two tips stretched so that one lying on the wire is met."""
    z = outline.trace.z_mm[begin : end + 1].copy()
    if begin == 0:
        z[0] -= stretch_mm * outline.trace.direction[0]
    if end == len(outline.trace.z_mm) - 1:
        z[-1] += stretch_mm * outline.trace.direction[-1]
    return shapely.linestrings(np.stack((z.real, z.imag), axis=1))


def smallest_gap_mm(outline: Outline) -> float | None:
    """The narrowest opening between parts of the wire that do not touch; None when nothing comes near.

    Edge to edge in plan. Places that are near only because the wire between them is short do not count,
    nor does an end against itself or the span it grows from: an eye is meant to close.
    """
    begin, end, part = outline.piece_bounds
    trace = outline.trace
    pieces = outline.pieces
    run = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(trace.z_mm)))))
    half, tree = outline.plan_width_mm / 2, shapely.STRtree(pieces)
    reach = _FIRST_REACH_TO_WIDTH * float(np.max(outline.plan_width_mm))
    x0, y0, x1, y1 = outline.bounds_mm
    while True:
        pairs = tree.query(pieces, predicate="dwithin", distance=reach).T
        pairs = pairs[pairs[:, 0] + 1 < pairs[:, 1]]
        pairs = pairs[~_beside_own_end(part[pairs], outline)]
        across = shapely.distance(pieces[pairs[:, 0]], pieces[pairs[:, 1]])
        along = run[begin[pairs[:, 1]]] - run[end[pairs[:, 0]]]
        middles = across + half[end[pairs[:, 0]]] + half[begin[pairs[:, 1]]]
        facing = (across > 0) & (along > _ALONG_TO_ACROSS * middles)
        if facing.any():
            return float(across[facing].min())
        if reach > max(x1 - x0, y1 - y0):
            return None
        reach *= 3


def _beside_own_end(parts: NDArray[np.int64], outline: Outline) -> NDArray[np.bool_]:
    """Which pairs of parts, shape (pairs, 2), are an end and itself or its neighbouring span."""
    spans = outline.chain.spans
    low, high = parts.min(axis=1), parts.max(axis=1)
    at_start = (low < spans.start) & (high <= spans.start)
    at_finish = (high >= spans.stop) & (low >= spans.stop - 1)
    return np.asarray(at_start | at_finish)
