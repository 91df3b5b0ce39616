"""Where the wire crosses itself, and how near parts come that do not touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.outline import Outline

# Two places on the wire face each other across a gap when the way along it is this much longer than the
# way across, middle to middle: the legs of a U do (half a turn, pi/2), the ends of a shallow bow do not.
_ALONG_TO_ACROSS = 1.5
# The search begins this many plan widths around each piece and widens until it finds a gap.
_FIRST_REACH_TO_WIDTH = 4.0


@dataclass(frozen=True)
class Crossing:
    """Where the centreline crosses itself: the point (x + iy, mm) and the samples nearest to it.

    The wire at `over_sample`, further along, lies over that at `under_sample`.
    """

    at_mm: complex
    under_sample: int
    over_sample: int


def crossings(outline: Outline) -> tuple[Crossing, ...]:
    """Every crossing of the centreline with itself, in the order of the wire passing under."""
    begin, end, _ = outline.piece_bounds
    pairs = outline.touching
    pairs = pairs[(pairs < len(begin)).all(axis=1)]
    pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
    if not len(pairs):
        return ()
    z = outline.trace.z_mm
    lines = {
        int(i): shapely.linestrings(np.stack((z.real, z.imag), axis=1)[begin[i] : end[i] + 1])
        for i in np.unique(pairs)
    }
    found = []
    for under, over in pairs:
        meeting = shapely.intersection(lines[int(under)], lines[int(over)])
        for x, y in shapely.get_coordinates(meeting):
            at = complex(x, y)
            samples = [
                int(begin[i] + np.argmin(np.abs(z[begin[i] : end[i] + 1] - at))) for i in (under, over)
            ]
            found.append(Crossing(at, samples[0], samples[1]))
    return tuple(sorted(found, key=lambda crossing: crossing.under_sample))


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
