"""The edges of the metal as short segments, and how far they lie from a point and in which direction."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.values import Result

BoolArray = NDArray[np.bool_]
ComplexArray = NDArray[np.complex128]
# Two contacts count as one ball's when they are as near as this: the chords of an edge, and rounding.
TOUCH_MM, TOUCH_SHARE = 0.004, 0.002


class Edges(Result, frozen=True):
    """Segments of the boundary of a silhouette, cut so that none is longer than `step_mm`."""

    silhouette: Any
    step_mm: float

    @cached_property
    def points_mm(self) -> ComplexArray:
        """Every vertex, repeated where rings close; shape (vertices,)."""
        return np.asarray(self._rings[0])

    @cached_property
    def _rings(self) -> tuple[ComplexArray, IntArray]:
        lines = shapely.get_parts(shapely.boundary(shapely.get_parts(self.silhouette)))
        lines = shapely.get_parts(lines)
        cut = shapely.segmentize(lines, self.step_mm)
        places, ring = shapely.get_coordinates(cut, return_index=True)
        return places[:, 0] + 1j * places[:, 1], ring

    @cached_property
    def ends(self) -> tuple[ComplexArray, ComplexArray]:
        """Both ends of every segment."""
        places, ring = self._rings
        inside = np.flatnonzero(ring[1:] == ring[:-1])
        return places[inside], places[inside + 1]

    @cached_property
    def holes(self) -> tuple[Any, ...]:
        """What the metal closes round, shapely polygons."""
        parts = shapely.get_parts(self.silhouette)
        return tuple(shapely.Polygon(ring) for part in parts for ring in part.interiors)

    @cached_property
    def _tree(self) -> Any:
        begin, end = self.ends
        ends = np.stack((begin, end), axis=1)
        lines = shapely.linestrings(np.stack((ends.real, ends.imag), axis=2))
        return shapely.STRtree(lines)

    def distance_mm(self, at_mm: ComplexArray) -> FloatArray:
        """Distance of points to the nearest edge, never negative; shape as given, one dimension."""
        pairs, away = self._tree.query_nearest(
            shapely.points(at_mm.real, at_mm.imag), return_distance=True, all_matches=False
        )
        distance = np.empty(len(at_mm))
        distance[pairs[0]] = away
        return distance

    def within(self, at_mm: ComplexArray, reach_mm: FloatArray) -> tuple[IntArray, ComplexArray]:
        """Numbers of points, rising, and vectors from each to the nearest place of each segment in reach."""
        number, segment = self._tree.query(
            shapely.points(at_mm.real, at_mm.imag), predicate="dwithin", distance=reach_mm
        )
        order = np.argsort(number, kind="stable")
        number, segment = number[order], segment[order]
        begin, end = (side[segment] for side in self.ends)
        along, at = end - begin, at_mm[number]
        share = ((at - begin) * along.conj()).real / np.maximum(np.abs(along) ** 2, 1e-24)
        return number, begin + np.clip(share, 0.0, 1.0) * along - at

    def in_metal(self, at_mm: ComplexArray) -> BoolArray:
        shapely.prepare(self.silhouette)
        return np.asarray(shapely.contains_xy(self.silhouette, at_mm.real, at_mm.imag))

    def contacts(self, at_mm: ComplexArray, radius_mm: FloatArray) -> tuple[IntArray, FloatArray]:
        """Numbers of points and the directions, rad, in which balls of these radii touch the metal."""
        number, vector = self.within(at_mm, radius_mm * (1 + TOUCH_SHARE) + TOUCH_MM)
        return number, np.angle(vector)


def distance_rows(edges: Edges, at_mm: complex, reach_mm: float) -> tuple[FloatArray, FloatArray]:
    """For each edge in reach: what a step takes from its distance, shape (edges, 2), and the distance.

    Distance to a segment is convex, so that after the step it is at least what the line says.
    """
    _, vector = edges.within(np.array([at_mm]), np.array([reach_mm]))
    away = np.abs(vector)
    vector, away = vector[away > 0], away[away > 0]
    return np.stack((vector.real, vector.imag), axis=1) / away[:, None], away


def widest_gaps_rad(
    number: IntArray, angle_rad: FloatArray, count: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The widest and second widest angle free of contacts round each of `count` balls, and the direction of
    the middle of the widest; contacts by the number of their ball and their direction."""
    gap, second, middle = np.full(count, 2 * np.pi), np.zeros(count), np.zeros(count)
    if not len(number):
        return gap, second, middle
    order = np.lexsort((angle_rad, number))
    number, angle = number[order], angle_rad[order]
    first = np.flatnonzero(np.diff(number, prepend=-1))
    last = np.append(first[1:], len(number)) - 1
    following = np.append(angle[1:], angle[0])
    following[last] = angle[first] + 2 * np.pi
    gaps = following - angle
    gap[number[first]] = np.maximum.reduceat(gaps, first)
    widest = np.flatnonzero(gaps >= gap[number] - 1e-12)[::-1]
    middle[number[widest]] = angle[widest] + gaps[widest] / 2
    # One of the widest is set aside, the one whose middle was kept.
    kept = np.zeros(count, dtype=np.int64)
    kept[number[widest]] = widest
    others = gaps.copy()
    others[kept[number[first]]] = 0.0
    second[number[first]] = np.maximum.reduceat(others, first)
    return gap, second, middle
