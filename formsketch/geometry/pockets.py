"""The bays of a form: where a ball sits between, inside or beside the wire, and how large it may be.

A ball that cannot grow by moving touches the metal on all sides: the angle free of contacts round it is no
more than half round. Its centre is a corner of the Voronoi diagram of the metal's edge, a local maximum of
the distance to it. The corners come from the Delaunay triangles of points on the edge (their circumcentres)
and are joined into bays along the passes between them; the largest of each bay is then refined on the edge
itself. A ball that touches along a little less than half round sits in a half open bay, as in an S.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
import shapely

from formsketch.errors import InputError
from formsketch.geometry.ball_pairs import REFINED_MM, Mouth, Room, largest_pair
from formsketch.geometry.ball_places import Corners, basins_of, corners_of
from formsketch.geometry.chain import IntArray
from formsketch.geometry.edges_near import Edges, distance_rows, widest_gaps_rad
from formsketch.geometry.linear_steps import best_step
from formsketch.values import Value

Hold = Literal["closed", "held", "half open"]

# Smaller balls than these are no pearls.
LEAST_DIAMETER_MM = 1.0
# Points on the edge are this far apart, further where there would be more than so many.
_STEP_MM, _MOST_POINTS = 0.25, 6_000
_MOST_REFINEMENTS = 30
# A contact is seen as some degrees wide: under this gap a ball is surely held, from there to the next it
# touches on just half its round. Along a channel it is moved no further than the reach.
_HELD_GAP_RAD, _SNUG_GAP_RAD = np.deg2rad(175.0), np.deg2rad(180.5)
_LOOSE_REACH_MM, _SETTLE_REACH_MM = 0.05, 0.005
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


class Bay(Value, frozen=True):
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
    corners = corners_of(edges, least_diameter_mm / 2 + clearance_mm)
    found = [_bay(edges, corners, basin, clearance_mm, least_diameter_mm) for basin in basins_of(corners)]
    bays = _apart([bay for bay in found if bay is not None])
    return tuple(sorted(bays, key=lambda bay: (round(bay.centre_mm.real, 3), bay.centre_mm.imag)))


def _apart(bays: list[Bay]) -> list[Bay]:
    """Without those whose middle lies well inside a larger ball: a ball is in one place or the other."""
    kept: list[Bay] = []
    for bay in sorted(bays, key=lambda bay: -bay.diameter_mm):
        if all(abs(bay.centre_mm - k.centre_mm) > _APART_SHARE * k.diameter_mm for k in kept):
            kept.append(bay)
    return kept


def _bay(
    edges: Edges, corners: Corners, basin: IntArray, clearance_mm: float, least_diameter_mm: float
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


def _resting(edges: Edges, corners: Corners, basin: IntArray) -> complex | None:
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
        # A ball that touches just half its round grows outward, too, but by next to nothing in this reach.
        return _grown(edges, complex(corners.centre_mm[(snug if len(snug) else lying)[0]]), _SETTLE_REACH_MM)
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
        # A step reaches as far to both sides: along the diagonal it is half as long again.
        step_mm = min(0.7 * reach_mm, 0.5 * radius)
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
