"""The openings of a form: where parts of the wire face each other across nothing, nearest edge to edge.

Every two places along the wire are compared; an opening is where their distance can only grow as one goes on
along the wire on either side, and where no other part of the wire lies between.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.clearance import ALONG_TO_ACROSS, beside_own_end, place_on
from formsketch.geometry.outline import Outline
from formsketch.values import Value

# Nearer than this parts touch.
TOUCHING_MM = 1e-6
# Places compared are this far apart along the wire, further on a wire that would have more than so many.
_STEP_MM, _MOST_PLACES = 0.5, 1_200
# An opening is looked at closely over so many steps to both sides of its places.
_CLOSE_STEPS = 2
# It goes on narrowing where so many steps further it is narrower by so much.
_AHEAD_STEPS, _NARROWS_MM = 0.25, 0.01
# The way across is looked along but for this share at both its ends, where it meets the edges it joins.
_CLEAR_SHARE = 1e-3
# Two openings of the same parts nearer than so many widths are one: legs side by side have no nearest place.
_SAME_WIDTHS = 5.0


class Opening(Value, frozen=True):
    """Where two parts of the wire face each other: the way across in plan, and its place on both.

    The points lie on the facing edges, x + iy in mm; `place` and `other_place` are samples with the share of
    the way to the next, the lower first, `part` and `other_part` what they belong to. `gap_mm` is 0 where
    they touch.
    """

    gap_mm: float
    at_mm: complex
    other_at_mm: complex
    place: float
    other_place: float
    part: int
    other_part: int

    @property
    def middle_mm(self) -> complex:
        return (self.at_mm + self.other_at_mm) / 2


def openings(outline: Outline, reach_mm: float) -> tuple[Opening, ...]:
    """Every opening no wider than `reach_mm`, in the order of the wire; an eye's own and a hook's are none.

    Where parts touch or cross it is an opening of 0, reported once for the two parts. Gaps to 0.005 mm.
    """
    trace = outline.trace
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(trace.z_mm)))))
    step_mm = max(_STEP_MM, float(along[-1]) / _MOST_PLACES)
    way = np.arange(0.0, float(along[-1]), step_mm)
    places = np.interp(way, along, np.arange(len(along)))
    pairs = places[_nearest_places(outline, places, way, reach_mm)]
    pairs = pairs[~beside_own_end(trace.part[pairs.astype(np.int64)], outline)]
    close = [_close(outline, along, pair, _CLOSE_STEPS * step_mm) for pair in pairs]
    found = [one for one in close if one.gap_mm <= reach_mm and not _narrows_on(outline, along, one, step_mm)]
    clear = _is_clear(found, outline.pieces)
    return _each_once([one for one, is_clear in zip(found, clear, strict=True) if is_clear], outline)


def _nearest_places(outline: Outline, places: FloatArray, way: FloatArray, reach_mm: float) -> IntArray:
    """Numbers of two places that face each other and from where they part on all sides; shape (pairs, 2)."""
    samples = np.arange(len(outline.trace.z_mm))
    z = np.interp(places, samples, outline.trace.z_mm.real) + 1j * np.interp(
        places, samples, outline.trace.z_mm.imag
    )
    half = np.interp(places, samples, outline.plan_width_mm) / 2
    across = np.abs(z[:, None] - z[None, :])
    gap = across - half[:, None] - half[None, :]
    padded = np.pad(gap, 1, constant_values=np.inf)
    count = len(places)
    nearest = np.ones(gap.shape, dtype=bool)
    for i in (0, 1, 2):
        for j in (0, 1, 2):
            if (i, j) != (1, 1):
                nearest &= gap <= padded[i : i + count, j : j + count] + TOUCHING_MM
    faces = way[None, :] - way[:, None] > ALONG_TO_ACROSS * across
    return np.argwhere(nearest & faces & (gap <= reach_mm))


def _close(outline: Outline, along: FloatArray, pair: FloatArray, reach_mm: float) -> Opening:
    """The opening about two places, from the edges themselves."""
    samples, last = np.arange(len(along)), len(along) - 1
    middles = np.interp(pair, samples, along)
    windows = [
        (max(int(begin) - 1, 0), min(int(end), last))
        for begin, end in np.searchsorted(along, np.stack((middles - reach_mm, middles + reach_mm), axis=1))
    ]
    way = shapely.shortest_line(*(_ribbon(outline, begin, end + 1) for begin, end in windows))
    at = shapely.get_coordinates(way) @ np.array([1.0, 1j])
    gap_mm = float(abs(at[1] - at[0]))
    places = [float(place) for place in pair]
    if gap_mm <= TOUCHING_MM:
        gap_mm = 0.0
    else:
        places = [
            place_on(outline.trace.z_mm, begin, end, complex(point))
            for (begin, end), point in zip(windows, at, strict=True)
        ]
    part, other = (int(outline.trace.part[int(place)]) for place in places)
    return Opening(gap_mm, complex(at[0]), complex(at[1]), places[0], places[1], part, other)


def _narrows_on(outline: Outline, along: FloatArray, one: Opening, step_mm: float) -> bool:
    """Whether an opening goes on narrowing a little further along on both sides, as into a bend."""
    if one.gap_mm == 0:
        return False
    samples = np.arange(len(along))
    middles = np.interp((one.place, one.other_place), samples, along)
    ahead = _AHEAD_STEPS * step_mm * np.array([-1.0, 0.0, 1.0])
    beyond = [middle + ahead for middle in middles]
    # At a tip of the wire there is nothing further out.
    beyond = [np.where((way < 0) | (way > along[-1]), way[1], way) for way in beyond]
    places = [np.interp(way, along, samples) for way in beyond]
    z = [
        np.interp(at, samples, outline.trace.z_mm.real) + 1j * np.interp(at, samples, outline.trace.z_mm.imag)
        for at in places
    ]
    half = [np.interp(at, samples, outline.plan_width_mm) / 2 for at in places]
    gap = np.abs(z[0][:, None] - z[1][None, :]) - half[0][:, None] - half[1][None, :]
    return bool(np.min(gap) < gap[1, 1] - _NARROWS_MM)


def _ribbon(outline: Outline, begin: int, end: int) -> Any:
    edge = np.concatenate((outline.left_mm[begin:end], outline.right_mm[begin:end][::-1]))
    return shapely.buffer(shapely.polygons(np.stack((edge.real, edge.imag), axis=1)), 0)


def _is_clear(found: list[Opening], pieces: NDArray[Any]) -> NDArray[np.bool_]:
    """Which ways across meet no part of the wire between their ends."""
    clear = np.ones(len(found), dtype=bool)
    if not found:
        return clear
    at = np.array([one.at_mm for one in found])
    way = np.array([one.other_at_mm for one in found]) - at
    inner = np.stack((at + _CLEAR_SHARE * way, at + (1 - _CLEAR_SHARE) * way), axis=1)
    lines = shapely.linestrings(np.stack((inner.real, inner.imag), axis=2))
    clear[shapely.STRtree(pieces).query(lines, predicate="intersects")[0]] = False
    return clear | (np.abs(way) <= TOUCHING_MM)


def _each_once(found: list[Opening], outline: Outline) -> tuple[Opening, ...]:
    """The nearest of those that are one opening: the same two parts at one place, or touching anywhere."""
    kept: dict[tuple[int, int], list[Opening]] = {}
    for one in sorted(found, key=lambda one: one.gap_mm):
        same = kept.setdefault((one.part, one.other_part), [])
        apart_mm = _SAME_WIDTHS * float(outline.plan_width_mm[int(one.place)])
        if all(abs(one.middle_mm - k.middle_mm) > apart_mm and one.gap_mm + k.gap_mm > 0 for k in same):
            same.append(one)
    return tuple(
        sorted((one for same in kept.values() for one in same), key=lambda one: (one.place, one.other_place))
    )
