"""The bays of a form: where a ball sits between, inside or beside the wire, and how large it may be.

A ball that cannot grow by moving touches the metal on all sides: the angle free of contacts round it is no
more than half round. Its centre is a corner of the Voronoi diagram of the metal's edge, a local maximum of
the distance to it. The corners come from the Delaunay triangles of points on the edge (their circumcentres)
and are joined into bays along the passes between them; the largest of each bay is then refined on the edge
itself. A ball that touches along a little less than half round sits in a half open bay, as in an S.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely

from formsketch.errors import FormSketchError, InputError
from formsketch.geometry.ball_pairs import REFINED_MM, Mouth, Room, largest_pair
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.edges_near import ComplexArray, Edges, distance_rows, widest_gaps_rad
from formsketch.geometry.linear_steps import best_step

Hold = Literal["closed", "held", "half open"]

# A half open bay touches its ball along half its round, or this little less.
HALF_ROUND_SHORT_RAD = np.deg2rad(10.0)
# Smaller balls than these are no pearls.
LEAST_DIAMETER_MM = 1.0
# Two largest balls are two bays when the pass between them is this much narrower than the smaller one.
PASS_SHARE = 0.06
# Points on the edge are this far apart, further where there would be more than so many.
_STEP_MM, _MOST_POINTS = 0.25, 6_000
_SAME_CENTRE_MM = 0.01
_GRIDS_MM = (1e-5, 1e-4, 1e-3, 3e-3)
_MOST_REFINEMENTS = 30
# A contact is seen as some degrees wide: under this gap a ball is surely held, from there to the next it
# touches on just half its round. Along a channel it is moved no further than the reach.
_HELD_GAP_RAD, _SNUG_GAP_RAD, _LOOSE_REACH_MM = np.deg2rad(175.0), np.deg2rad(180.5), 0.05
# A ball that cannot grow is the largest for this share of its radius around, to so many mm.
_NEAR_SHARE, _SAME_SIZE_MM = 0.5, 1e-3
# A ball that lies in a bay touches its bottom: beside the opening there is no other gap as wide as this.
_BOTTOM_GAP_RAD = np.deg2rad(120.0)
# A channel round an island is as wide all along; where a ball grows more than this it would roll on.
_CHANNEL_SHARE = 0.002
# Middles nearer than this share of the larger ball's diameter are one bay; contacts further apart than
# this angle lie on different sides.
_APART_SHARE, _SIDE_APART_RAD = 0.25, np.deg2rad(25.0)
# Metal that meets end to end closes, though a hairline be left.
_HAIRLINE_RAD = np.deg2rad(15.0)


@dataclass(frozen=True)
class Bay:
    """Room for balls in plan; centres x + iy in mm in the frame of the silhouette.

    `hold` is "closed" inside metal that closes round it, "held" where the ball touches on more than half
    its round, "half open" where it touches on about half and the bay opens on the other side. `sides` is
    on how many separate sides it touches; `open_rad` the widest angle free of contacts. `pair_diameter_mm`
    is that of the two largest equal balls that fit side by side; no part of them stands out of a half open
    bay. 0 where they would be under the least size.
    """

    centre_mm: complex
    diameter_mm: float
    hold: Hold
    sides: int
    open_rad: float
    opens_towards_rad: float
    pair_diameter_mm: float
    pair_mm: tuple[complex, complex]


def bays_of(
    silhouette: Any, clearance_mm: float = 0.0, least_diameter_mm: float = LEAST_DIAMETER_MM
) -> tuple[Bay, ...]:
    """Every bay of a silhouette (shapely, mm) that holds a ball of the least size, from left to right.

    Balls stay `clearance_mm` (0 or more) off the metal. Radii to 0.002 mm of the silhouette given. Raises
    InputError for a clearance or least size that cannot be.
    """
    if not (np.isfinite(clearance_mm) and clearance_mm >= 0):
        raise InputError(f"clearance: expected 0 mm or more, got {clearance_mm:g} mm")
    if not (np.isfinite(least_diameter_mm) and least_diameter_mm > 0):
        raise InputError(f"least ball: expected a diameter above 0 mm, got {least_diameter_mm:g} mm")
    length = float(shapely.length(silhouette))
    edges = Edges(silhouette, max(_STEP_MM, length / _MOST_POINTS))
    corners = _corners(edges, least_diameter_mm / 2 + clearance_mm)
    found = [_bay(edges, corners, basin, clearance_mm, least_diameter_mm) for basin in _basins(corners)]
    bays = _apart([bay for bay in found if bay is not None])
    return tuple(sorted(bays, key=lambda bay: (round(bay.centre_mm.real, 3), bay.centre_mm.imag)))


def _apart(bays: list[Bay]) -> list[Bay]:
    """Without those whose middle lies well inside a larger ball: a ball is in one place or the other."""
    kept: list[Bay] = []
    for bay in sorted(bays, key=lambda bay: -bay.diameter_mm):
        if all(abs(bay.centre_mm - k.centre_mm) > _APART_SHARE * k.diameter_mm for k in kept):
            kept.append(bay)
    return kept


@dataclass(frozen=True, eq=False)
class _Corners:
    """Corners of the Voronoi diagram where a ball touches on half its round or nearly, and their passes.

    `gap_rad` and `second_gap_rad` are the widest angles free of contacts. A ball with two wide ones lies in a
    channel and would roll on: it only leads from one place to the next.
    """

    centre_mm: ComplexArray
    radius_mm: FloatArray
    gap_rad: FloatArray
    second_gap_rad: FloatArray
    joined: IntArray
    pass_mm: FloatArray


def _corners(edges: Edges, least_radius_mm: float) -> _Corners:
    triangles = _triangles(edges.points_mm)
    centres, radii = _circles(triangles)
    key = np.round(centres / _SAME_CENTRE_MM)
    # Points on one circle give as many triangles of one centre.
    _, one, node = np.unique(key, return_index=True, return_inverse=True)
    at = centres[one]
    large = np.flatnonzero(np.isfinite(radii[one]) & (radii[one] >= 0.9 * least_radius_mm))
    large = large[~edges.in_metal(at[large])]
    radius = edges.distance_mm(at[large]) if len(large) else np.zeros(0)
    large, radius = large[radius >= least_radius_mm], radius[radius >= least_radius_mm]
    gap, second, _ = widest_gaps_rad(*edges.contacts(at[large], radius), len(large))
    near = gap <= np.pi + HALF_ROUND_SHORT_RAD
    large, radius, gap, second = large[near], radius[near], gap[near], second[near]
    number = np.full(len(at), -1)
    number[large] = np.arange(len(large))
    joined, pass_mm = _passes(triangles, centres, number[node], radius)
    return _Corners(at[large], radius, gap, second, joined, pass_mm)


def _triangles(points_mm: ComplexArray) -> ComplexArray:
    """Delaunay triangles of points, shape (triangles, 3).

    Points nearly in one place stop the triangulation: they are laid on a grid first, a coarser one in need.
    """
    for grid_mm in _GRIDS_MM:
        places = np.unique(np.round(points_mm / grid_mm)) * grid_mm
        points = shapely.multipoints(np.stack((places.real, places.imag), axis=1))
        try:
            parts = shapely.get_parts(shapely.delaunay_triangles(points))
        except shapely.errors.GEOSException:
            continue
        break
    else:
        raise FormSketchError("bays: the edge of this form is too tangled for its bays to be found")
    corners = shapely.get_coordinates(parts)
    return np.asarray((corners[:, 0] + 1j * corners[:, 1]).reshape(-1, 4)[:, :3])


def _circles(triangles: ComplexArray) -> tuple[ComplexArray, FloatArray]:
    """Centres and radii of the circles through the corners; infinite for flat triangles."""
    a, b, c = triangles.T
    u, v = b - a, c - a
    twice = 2 * (u.real * v.imag - u.imag * v.real)
    flat = np.abs(twice) < 1e-14
    offset = 1j * (u * np.abs(v) ** 2 - v * np.abs(u) ** 2) / np.where(flat, 1, -twice)
    return a - offset, np.where(flat, np.inf, np.abs(offset))


def _passes(
    triangles: ComplexArray, centres: ComplexArray, node: IntArray, radius_mm: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Pairs of neighbouring held corners and the radius that passes from one to the other."""
    begin = triangles.ravel()
    end = np.roll(triangles, -1, axis=1).ravel()
    _, names = np.unique(np.concatenate((begin, end)), return_inverse=True)
    low = np.minimum(names[: len(begin)], names[len(begin) :])
    high = np.maximum(names[: len(begin)], names[len(begin) :])
    order = np.lexsort((high, low))
    same = np.flatnonzero((np.diff(low[order]) == 0) & (np.diff(high[order]) == 0))
    first, second = order[same], order[same + 1]
    pair = np.stack((node[first // 3], node[second // 3]), axis=1)
    kept = (pair >= 0).all(axis=1) & (pair[:, 0] != pair[:, 1])
    pair, first, second = pair[kept], first[kept], second[kept]
    middle, half = (begin[first] + end[first]) / 2, np.abs(begin[first] - end[first]) / 2
    here, there = centres[first // 3] - middle, centres[second // 3] - middle
    between = (here * there.conj()).real < 0
    narrow = np.minimum(radius_mm[pair[:, 0]], radius_mm[pair[:, 1]])
    return pair, np.where(between, np.minimum(half, narrow), narrow)


def _basins(corners: _Corners) -> list[IntArray]:
    """Numbers of the corners of each bay, the largest ball first."""
    parent = list(range(len(corners.radius_mm)))
    radius = corners.radius_mm.tolist()

    def top(corner: int) -> int:
        while parent[corner] != corner:
            parent[corner] = parent[parent[corner]]
            corner = parent[corner]
        return corner

    for edge in np.argsort(-corners.pass_mm, kind="stable"):
        a, b = (top(int(i)) for i in corners.joined[edge])
        smaller, larger = (a, b) if radius[a] < radius[b] else (b, a)
        if a != b and corners.pass_mm[edge] >= (1 - PASS_SHARE) * radius[smaller]:
            parent[smaller] = larger
    tops = np.array([top(i) for i in range(len(parent))], dtype=np.int64)
    basins = []
    for peak in np.unique(tops):
        others = np.flatnonzero((tops == peak) & (np.arange(len(tops)) != peak))
        basins.append(np.append(peak, others))
    return basins


def _bay(
    edges: Edges, corners: _Corners, basin: IntArray, clearance_mm: float, least_diameter_mm: float
) -> Bay | None:
    """The bay of a basin; None where no ball rests in it."""
    at = _resting(edges, corners, basin)
    if at is None:
        return None
    radius = float(edges.distance_mm(np.array([at]))[0])
    if radius - clearance_mm < least_diameter_mm / 2:
        return None
    gap, second, towards = _gaps(edges, at, radius)
    hold: Hold = "held"
    mouth = None
    if gap < _HAIRLINE_RAD or _in_hole(edges, at):
        hold = "closed"
    elif gap > _HELD_GAP_RAD and second <= _BOTTOM_GAP_RAD:
        hold = "half open"
        outward = complex(np.cos(towards), np.sin(towards))
        # Through the two contacts beside the opening.
        mouth = Mouth(outward, (at * outward.conjugate()).real + radius * min(float(np.cos(gap / 2)), 0.0))
    room = Room(at, radius, clearance_mm, hold == "closed", mouth)
    pair_radius, pair = largest_pair(edges, room, corners.centre_mm[basin])
    if 2 * pair_radius < least_diameter_mm:
        pair_radius, pair = 0.0, (at, at)
    return Bay(
        centre_mm=at,
        diameter_mm=2 * (radius - clearance_mm),
        hold=hold,
        sides=_sides(edges, at, radius),
        open_rad=gap,
        opens_towards_rad=towards,
        pair_diameter_mm=2 * pair_radius,
        pair_mm=pair,
    )


def _resting(edges: Edges, corners: _Corners, basin: IntArray) -> complex | None:
    """Where the largest ball of a basin rests, refined; None where all would roll on."""
    by_size = basin[np.argsort(-corners.radius_mm[basin], kind="stable")]
    bottomed = corners.second_gap_rad[by_size] <= _BOTTOM_GAP_RAD
    most_gap = np.where(bottomed, _HELD_GAP_RAD, _SNUG_GAP_RAD)
    for corner in by_size[corners.gap_rad[by_size] < most_gap][:1]:
        at = _grown(edges, complex(corners.centre_mm[corner]), 2 * edges.step_mm)
        channel = corners.second_gap_rad[corner] > _BOTTOM_GAP_RAD
        if channel and _rolls_on(edges, at):
            continue
        radius = float(edges.distance_mm(np.array([at]))[0])
        further = _grown(edges, at, _NEAR_SHARE * radius)
        if float(edges.distance_mm(np.array([further]))[0]) < radius + _SAME_SIZE_MM:
            return at
    lying = by_size[bottomed]
    if len(lying):
        # Rather one that touches half its round than a larger one that touches less.
        snug = lying[corners.gap_rad[lying] <= _SNUG_GAP_RAD]
        return complex(corners.centre_mm[(snug if len(snug) else lying)[0]])
    at = complex(corners.centre_mm[by_size[0]])
    if not _in_hole(edges, at):
        return None
    at = _grown(edges, at, _LOOSE_REACH_MM)
    return None if _rolls_on(edges, at) else at


def _rolls_on(edges: Edges, at_mm: complex) -> bool:
    """Whether a larger ball fits one radius away."""
    radius = float(edges.distance_mm(np.array([at_mm]))[0])
    round_it = at_mm + radius * np.exp(np.pi / 8 * 1j * np.arange(16))
    free = round_it[~edges.in_metal(round_it)]
    return bool(len(free)) and bool(np.max(edges.distance_mm(free)) > (1 + _CHANNEL_SHARE) * radius)


def _in_hole(edges: Edges, at_mm: complex) -> bool:
    return any(shapely.contains_xy(hole, at_mm.real, at_mm.imag) for hole in edges.holes)


def _gaps(edges: Edges, at_mm: complex, radius_mm: float) -> tuple[float, float, float]:
    number, angle = edges.contacts(np.array([at_mm]), np.array([radius_mm]))
    gap, second, middle = widest_gaps_rad(number, angle, 1)
    return float(gap[0]), float(second[0]), float(middle[0])


def _sides(edges: Edges, at_mm: complex, radius_mm: float) -> int:
    """On how many sides, each clear of the next, a ball touches."""
    _, angle = edges.contacts(np.array([at_mm]), np.array([radius_mm]))
    angle = np.sort(angle)
    steps = np.diff(np.append(angle, angle[0] + 2 * np.pi))
    return max(1, int(np.sum(steps > _SIDE_APART_RAD)))


def _grown(edges: Edges, at_mm: complex, reach_mm: float) -> complex:
    """Where a ball that cannot grow sits, no further than `reach_mm` from here; it never shrinks."""
    begun, radius = at_mm, float(edges.distance_mm(np.array([at_mm]))[0])
    for _ in range(_MOST_REFINEMENTS):
        step_mm = min(reach_mm, 0.5 * radius)
        toward, away = distance_rows(edges, at_mm, radius + 2 * step_mm)
        step = best_step(np.column_stack((toward, np.ones(len(away)))), away, step_mm)
        if step is None:
            break
        moved = at_mm + complex(step[0], step[1])
        grown = float(edges.distance_mm(np.array([moved]))[0])
        if grown <= radius or abs(moved - begun) > reach_mm:
            break
        gained, at_mm, radius = grown - radius, moved, grown
        if gained < REFINED_MM:
            break
    return at_mm
