"""How much flat things that overlap cover less than all of them together."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.chain import IntArray
from formsketch.geometry.united import on_grid

# With more pairs than this for each of them everything lies upon everything: one union of all is faster.
_MOST_PAIRS_EACH = 6


def overlap_area(shapes: NDArray[Any], pairs: IntArray) -> float:
    """The area of the shapes together less that of their union.

    `pairs`, lower number first, are all that may overlap, shape (pairs, 2). Of each shape counts what lies
    on earlier ones; where those overlap each other too, there is their union to make, else only a sum.
    All on a grid, for areas are believed.
    """
    if not len(pairs):
        return 0.0
    involved = np.flatnonzero(np.bincount(pairs.ravel(), minlength=len(shapes)))
    if len(pairs) > _MOST_PAIRS_EACH * len(involved):
        together = shapes[involved]
        return float(np.sum(shapely.area(together))) - _area_united(together)
    pairs = pairs[np.lexsort((pairs[:, 0], pairs[:, 1]))]
    common = on_grid(shapely.intersection, shapes[pairs[:, 0]], shapes[pairs[:, 1]])
    area = shapely.area(common)
    total = float(np.sum(area))
    for begin, end in _thrice_covered(pairs, len(shapes)):
        total -= float(np.sum(area[begin:end])) - _area_united(common[begin:end])
    return total


def _area_united(shapes: NDArray[Any]) -> float:
    return float(shapely.area(on_grid(shapely.union_all, shapes)))


def _thrice_covered(pairs: IntArray, count: int) -> list[tuple[int, int]]:
    """Stretches of pairs, in the order of their later shape, whose earlier shapes overlap each other."""
    later = pairs[:, 1]
    begin = np.flatnonzero(np.diff(later, prepend=-1))
    size = np.diff(np.append(begin, len(later)))
    # Every two pairs of one later shape: what each has before it.
    place = np.arange(len(pairs)) - np.repeat(begin, size)
    second = np.repeat(np.arange(len(pairs)), place)
    first = np.arange(len(second)) - np.repeat(np.cumsum(place) - place, place) + (second - place[second])
    both = pairs[first, 0] * count + pairs[second, 0]
    meet = np.isin(both, pairs[:, 0] * count + later)
    thrice = np.zeros(count, dtype=bool)
    thrice[later[second[meet]]] = True
    return [(int(b), int(b + n)) for b, n in zip(begin, size, strict=True) if thrice[later[b]]]
