"""Where balls may rest: corners of the Voronoi diagram of the metal's edge, and the basins they form.

The corners are the circumcentres of the Delaunay triangles of points on the edge; neighbours are joined by
the pass between them, the narrowest place a ball goes through on the way.
"""

from __future__ import annotations

import numpy as np
import shapely

from formsketch.errors import FormSketchError
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.edges_near import ComplexArray, Edges, widest_gaps_rad
from formsketch.values import Result

# A half open bay touches its ball along half its round, or this little less.
HALF_ROUND_SHORT_RAD = np.deg2rad(10.0)
# Two largest balls are two bays when the pass between them is this much narrower than the smaller one.
PASS_SHARE = 0.06
_SAME_CENTRE_MM = 0.01
_GRIDS_MM = (1e-5, 1e-4, 1e-3, 3e-3)


class Corners(Result, frozen=True):
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


def corners_of(edges: Edges, least_radius_mm: float) -> Corners:
    """Corners off the metal with balls of the least radius or more. Raises FormSketchError for a tangle."""
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
    return Corners(at[large], radius, gap, second, joined, pass_mm)


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


def basins_of(corners: Corners) -> list[IntArray]:
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
