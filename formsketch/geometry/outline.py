"""The wire's true edge in plan, piece by piece along the wire, and the silhouette they unite to.

A ribbon that crosses itself is no simple polygon, so the wire is cut into short pieces that are simple;
where it is wider than its bend allows, into the hulls of its little quads. A ribbon that does not fold
covers the integral of its width, whatever its curve, so the silhouette's area is that exact sum less what
overlaps, and only pieces that come near each other are made polygons for it.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.chain import Chain, FloatArray, IntArray
from formsketch.geometry.extents import Extents
from formsketch.geometry.hull import hull_of
from formsketch.geometry.overlap import overlap_area
from formsketch.geometry.trace import FOLDING_HALF_WIDTH_TO_RADIUS, Trace
from formsketch.geometry.united import on_grid, united
from formsketch.values import Result

# While half the width is less than the radius, a piece turning less than half round cannot meet itself;
# at this size neither can it meet the next one, unless there is a sharp bend between them.
MOST_TURN_PER_PIECE_RAD = np.deg2rad(80.0)
_DISC_QUARTER_SEGMENTS = 64
# With more pairs of pieces near each other than this no crossing and no gap is looked for. A row of a
# thousand loops that cross has some twelve thousand, a flat spiral of thirty turns nine.
MOST_NEAR = 20_000
_KNOT_HALF_WIDTH_TO_RADIUS = 1.5
_LOST_SHARE = 1e-6


class Disc(Result, frozen=True):
    """A round thing in plan: a bead, the end of a post, the outside of a sharp `bend`, a rounded `tip`."""

    centre_mm: complex
    radius_mm: float
    bend: bool = False
    tip: bool = False


class Outline(Result, frozen=True):
    """Edges of the ribbon at each sample of a trace, its pieces and round things; y up, mm.

    `plan_area_mm2` is the exact area of each part's ribbon, shape (parts,). `beside_mm` is how far the trace
    lies beside the line whose curvature the chain has, unsigned, at each sample; None for nowhere.
    """

    trace: Trace
    chain: Chain
    plan_width_mm: FloatArray
    plan_area_mm2: FloatArray
    discs: tuple[Disc, ...]
    beside_mm: FloatArray | None = None

    @cached_property
    def left_mm(self) -> NDArray[np.complex128]:
        return np.asarray(self.trace.z_mm + 0.5j * self.plan_width_mm * self.trace.direction)

    @cached_property
    def right_mm(self) -> NDArray[np.complex128]:
        return np.asarray(self.trace.z_mm - 0.5j * self.plan_width_mm * self.trace.direction)

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y) of the outline."""
        edges = np.concatenate((self.left_mm, self.right_mm))
        centres = np.array([d.centre_mm for d in self.discs], dtype=complex)
        radii = np.array([d.radius_mm for d in self.discs])
        x = np.concatenate((edges.real, centres.real - radii, centres.real + radii))
        y = np.concatenate((edges.imag, centres.imag - radii, centres.imag + radii))
        return float(x.min()), float(y.min()), float(x.max()), float(y.max())

    @cached_property
    def piece_bounds(self) -> tuple[IntArray, IntArray, IntArray]:
        """First sample, last sample and part of every piece along the wire."""
        turning = self.chain.sharpest_per_mm * self.chain.length_mm
        intervals = np.diff(self.trace.first) - 1
        cuts = np.clip(np.ceil(turning / MOST_TURN_PER_PIECE_RAD), 1, intervals).astype(np.int64)
        part = np.repeat(np.arange(len(cuts)), cuts)
        number = np.arange(len(part)) - np.repeat(np.cumsum(cuts) - cuts, cuts)
        begin = self.trace.first[part] + number * intervals[part] // cuts[part]
        end = self.trace.first[part] + (number + 1) * intervals[part] // cuts[part]
        return begin, end, part

    @cached_property
    def folds(self) -> NDArray[np.bool_]:
        """Which parts are somewhere wider than twice their tightest radius, or may be; shape (parts,)."""
        width = self.plan_width_mm if self.beside_mm is None else self.plan_width_mm + 2 * self.beside_mm
        widest = np.maximum.reduceat(width, self.trace.first[:-1])
        folding = widest / 2 * self.chain.sharpest_per_mm >= FOLDING_HALF_WIDTH_TO_RADIUS
        # Foreshortened, a bend is tighter in plan than it is.
        return np.asarray(folding | (self.chain.foreshortening != 1.0))

    @cached_property
    def pieces(self) -> NDArray[Any]:
        """Shapely polygons along the wire in its order, shape (pieces,); folded pieces are united hulls."""
        return self.shapes[: len(self.piece_bounds[0])]

    def _polygons(self, numbers: IntArray) -> NDArray[Any]:
        begin, end, part = (bound[numbers] for bound in self.piece_bounds)
        counts = end - begin + 1
        ring = np.repeat(np.arange(len(part)), 2 * counts)
        place = np.arange(len(ring)) - np.repeat(np.cumsum(2 * counts) - 2 * counts, 2 * counts)
        on_left = place < counts[ring]
        sample = begin[ring] + np.where(on_left, place, 2 * counts[ring] - 1 - place)
        edge = np.where(on_left, self.left_mm[sample], self.right_mm[sample])
        rings = shapely.linearrings(edge.real, edge.imag, indices=ring)
        polygons = np.asarray(shapely.polygons(rings))
        # A part folded all the way round covers the whole round, however it is cut.
        coiled = np.abs(self.chain.turn_rad) > 2 * np.pi
        for piece in np.flatnonzero(self.folds[part]):
            if coiled[part[piece]] and self._is_knot(int(begin[piece]), int(end[piece]), int(part[piece])):
                polygons[piece] = shapely.convex_hull(polygons[piece])
            else:
                polygons[piece] = self._united_quads(int(begin[piece]), int(end[piece]))
        return polygons

    def _is_knot(self, begin: int, end: int, part: int) -> bool:
        """Whether the wire of a piece is far wider than its bend all along."""
        u = self.trace.u[begin : end + 1]
        chain = self.chain
        turning = np.abs(chain.turn_rad[part] + chain.skew_rad[part] * (2 * u - 1)) / chain.length_mm[part]
        return bool(np.min(self.plan_width_mm[begin : end + 1] * turning) > 2 * _KNOT_HALF_WIDTH_TO_RADIUS)

    def _united_quads(self, begin: int, end: int) -> Any:
        between = slice(begin, end + 1)
        return united(hulls_between(self.left_mm[between], self.right_mm[between]))

    @cached_property
    def shapes(self) -> NDArray[Any]:
        """Pieces, then discs, as shapely polygons."""
        return self.shapes_of(np.arange(len(self._made)))

    def shapes_of(self, numbers: IntArray) -> NDArray[Any]:
        """Some of the shapes, shape (numbers,); no others are made."""
        made, pieces = self._made, len(self.piece_bounds[0])
        wanted = np.zeros(len(made), dtype=bool)
        wanted[numbers] = True
        missing = np.flatnonzero(wanted & shapely.is_missing(made))
        if len(of_wire := missing[missing < pieces]):
            made[of_wire] = self._polygons(of_wire)
        if len(of_discs := missing[missing >= pieces]):
            centre, radius = self._rounds
            points = shapely.points(centre.real, centre.imag)[of_discs - pieces]
            radii = radius[of_discs - pieces]
            made[of_discs] = shapely.buffer(points, radii, quad_segs=_DISC_QUARTER_SEGMENTS)
        return np.asarray(made[numbers])

    @cached_property
    def _made(self) -> NDArray[Any]:
        """The shapes made so far, and None for those that nobody asked for."""
        return np.full(len(self.piece_bounds[0]) + len(self.discs), None, dtype=object)

    @cached_property
    def _rounds(self) -> tuple[NDArray[np.complex128], FloatArray]:
        """Centres and radii of the discs."""
        return (
            np.array([disc.centre_mm for disc in self.discs], dtype=complex),
            np.array([disc.radius_mm for disc in self.discs]),
        )

    @cached_property
    def extents(self) -> Extents:
        """How far each of the shapes reaches."""
        begin, end, _ = self.piece_bounds
        pieces = Extents.of_stretches(self.left_mm, self.right_mm, begin, end)
        return pieces.with_more(Extents.of_discs(*self._rounds)) if self.discs else pieces

    @cached_property
    def silhouette(self) -> Any:
        """The union of all the wire covers in plan, a shapely polygon or multipolygon."""
        quick = united(self.shapes)
        if self.tangled:
            return quick
        # It may lack a piece, and nothing says so (`united`): the area is held against what it has to be.
        area = float(np.sum(shapely.area(self.shapes))) - self._overlap_mm2
        whole = abs(float(shapely.area(quick)) - area) <= _LOST_SHARE * area
        return quick if whole else on_grid(shapely.union_all, self.shapes)

    @cached_property
    def tangled(self) -> bool:
        """Whether the wire lies on itself in more places than anybody counts, as a flat coil does."""
        return self._most_near > MOST_NEAR and len(self._near) > MOST_NEAR

    @cached_property
    def _most_near(self) -> int:
        """As many pairs may be near each other at most: those that lie side by side along the longer way."""
        begin, end, _ = self.piece_bounds
        x0, y0, x1, y1 = self.bounds_mm
        z = self.trace.z_mm
        along, half = (z.real if x1 - x0 > y1 - y0 else z.imag), self.plan_width_mm / 2
        bounds = np.stack((begin, end + 1), axis=1).ravel()
        # One more sample, for what ends at the last one ends before it.
        low = np.sort(np.minimum.reduceat(np.append(along - half, 0.0), bounds)[::2])
        high = np.maximum.reduceat(np.append(along + half, 0.0), bounds)[::2]
        count, others = len(low), len(self.discs)
        beside = int(np.searchsorted(low, high, side="right").sum()) - count * (count + 1) // 2
        return beside + others * (count + others)

    @cached_property
    def _near(self) -> IntArray:
        return self.extents.pairs_within(0.0, MOST_NEAR)

    @cached_property
    def touching(self) -> NDArray[np.int64]:
        """Pairs of shapes that meet other than end to end along the wire, lower number first; (pairs, 2).

        None are told of a tangle.
        """
        if self.tangled:
            return np.empty((0, 2), dtype=np.int64)
        pairs = self._near
        neighbours = pairs[:, 1] == pairs[:, 0] + 1
        _, _, part = self.piece_bounds
        first_of_part = np.flatnonzero(np.diff(part, prepend=-1))
        bent = first_of_part[np.abs(self.chain.corner_rad) > 0]
        odd = np.zeros(len(self._made) + 1, dtype=bool)
        odd[bent] = odd[len(part) : len(self._made)] = True
        odd[: len(part)] |= self.folds[part]
        pairs = pairs[~neighbours | odd[pairs[:, 1]] | odd[pairs[:, 0]]]
        return np.asarray(pairs[shapely.intersects(*self.shapes_of(pairs.T))])

    @cached_property
    def silhouette_area_mm2(self) -> float:
        """Area the wire covers in plan, overlaps counted once."""
        if self.tangled:
            return float(shapely.area(self.silhouette))
        _, _, part = self.piece_bounds
        total = float(np.sum(self.plan_area_mm2[~self.folds]))
        total += float(np.sum(shapely.area(self.shapes_of(np.flatnonzero(self.folds[part])))))
        total += np.pi * sum(disc.radius_mm**2 for disc in self.discs)
        return total - self._overlap_mm2

    @cached_property
    def _overlap_mm2(self) -> float:
        """How much less all shapes cover than they would side by side; none is told of a tangle."""
        self.shapes_of(self.touching)
        return overlap_area(self._made, self.touching)

    @cached_property
    def hull_area_mm2(self) -> float:
        """Area of the convex hull of the outline."""
        hull = hull_of(np.concatenate((self.left_mm, self.right_mm)))
        if self.discs:
            rounds = self.shapes_of(np.arange(len(self.piece_bounds[0]), len(self._made)))
            hull = shapely.convex_hull(shapely.geometrycollections([hull, *rounds]))
        return float(shapely.area(hull))


def hulls_between(left_mm: NDArray[np.complex128], right_mm: NDArray[np.complex128]) -> NDArray[Any]:
    """The hulls of the little quads between two edges, shapely polygons of shape (samples - 1,)."""
    corners = np.stack((left_mm[:-1], left_mm[1:], right_mm[1:], right_mm[:-1]), axis=1)
    points = np.stack((corners.real, corners.imag), axis=2)
    quads = shapely.multipoints(points.reshape(-1, 2), indices=np.repeat(np.arange(len(points)), 4))
    return np.asarray(shapely.convex_hull(quads))
