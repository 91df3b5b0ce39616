"""Where the wire crosses itself, and how near parts come that do not touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from formsketch.geometry.outline import Outline

# Two places on the wire face each other across a gap when the way along the wire is this much longer.
_ALONG_TO_ACROSS = 2.5
# Gaps wider than this many of the greatest plan width are open space, not gaps.
_WIDEST_GAP_TO_WIDTH = 12.0


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

    Edge to edge in plan. Places that are near only because the wire between them is short do not count.
    """
    begin, end, _ = outline.piece_bounds
    trace = outline.trace
    pieces = outline.pieces
    reach = _WIDEST_GAP_TO_WIDTH * float(np.max(outline.plan_width_mm))
    pairs = shapely.STRtree(pieces).query(pieces, predicate="dwithin", distance=reach).T
    pairs = pairs[pairs[:, 0] + 1 < pairs[:, 1]]
    if not len(pairs):
        return None
    run = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(trace.z_mm)))))
    along = run[begin[pairs[:, 1]]] - run[end[pairs[:, 0]]]
    across = shapely.distance(pieces[pairs[:, 0]], pieces[pairs[:, 1]])
    facing = (across > 0) & (along > _ALONG_TO_ACROSS * across)
    return float(across[facing].min()) if facing.any() else None
