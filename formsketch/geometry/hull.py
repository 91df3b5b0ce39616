"""The convex hull of many points."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

_DIRECTIONS = 8
# Fewer points than this are given to the hull as they are.
_FEW = 2_000


def hull_of(points_mm: NDArray[np.complex128]) -> Any:
    """Convex hull of points, shape (points,), two at least, as a shapely geometry.

    Those inside the polygon of a few extreme ones are dropped first (Akl & Toussaint, 'A fast convex hull
    algorithm', Inf. Process. Lett. 7 (1978) 219-222), in a first round and among those left in a second, of
    directions between. Directions are taken as if the points reached as far in both ways: most directions
    would find the two ends of a long row and nothing along it.
    """
    x, y = np.ascontiguousarray(points_mm.real), np.ascontiguousarray(points_mm.imag)
    wide, high = np.ptp(x), np.ptp(y)
    for turn in (0.0, 0.5):
        if len(x) <= _FEW:
            break
        angles = 2 * np.pi * (np.arange(_DIRECTIONS) + turn) / _DIRECTIONS
        extreme = [int(np.argmax(np.cos(a) * high * x + np.sin(a) * wide * y)) for a in angles]
        outside = np.zeros(len(x), dtype=bool)
        for one, other in zip(extreme, np.roll(extreme, -1), strict=True):
            across, along = x[other] - x[one], y[other] - y[one]
            if across or along:
                outside |= across * (y - y[one]) <= along * (x - x[one])
        if outside.any():
            x, y = x[outside], y[outside]
    # As a line they are one thing to make; thousands of points take longer to make than their hull.
    return shapely.convex_hull(shapely.linestrings(np.stack((x, y), axis=1)))
