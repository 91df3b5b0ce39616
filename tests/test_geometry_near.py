"""Which pieces are near each other, how much they overlap, their hull: against shapely's own ways."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.geometry.extents import Extents
from formsketch.geometry.hull import hull_of
from formsketch.geometry.overlap import overlap_area
from tests.support.strategies import calm, designs

METALS = load_metals()


def evaluated(*spans: Span, d: float = 1.0, times: int = 1) -> Evaluation:
    form = Form(runs=(Run(spans=spans, times=times),))
    return evaluate(Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=d), form=form), METALS)


@calm(25)
@given(st.integers(0, 10**6), st.integers(1, 120), st.floats(0.0, 3.0))
def test_no_near_pair_of_discs_is_left_out(seed: int, count: int, reach: float) -> None:
    rng = np.random.default_rng(seed)
    centre = rng.uniform(-10, 10, count) * rng.choice([1.0, 8.0]) + 1j * rng.uniform(-10, 10, count)
    radius = rng.uniform(0.05, 2.0, count)
    extents = Extents.of_discs(centre, radius)
    pairs = extents.pairs_within(reach)
    assert (pairs[:, 0] < pairs[:, 1]).all() and len(np.unique(pairs, axis=0)) == len(pairs)
    apart = np.abs(centre[:, None] - centre) - radius[:, None] - radius
    wanted = {(int(i), int(j)) for i, j in np.argwhere(apart <= reach) if i < j}
    assert wanted <= set(map(tuple, pairs.tolist()))
    # A lower bound of the way between them, and no pair further than the corners of eight sides allow.
    assert (extents.least_apart_mm(pairs) <= np.maximum(apart[pairs[:, 0], pairs[:, 1]], 0.0) + 1e-9).all()


@calm(15)
@given(designs())
def test_touching_overlap_and_hull_are_those_of_the_polygons(design: Design) -> None:
    outline = evaluate(design, METALS).outline
    shapes = outline.shapes
    near = shapely.STRtree(shapes).query(shapes, predicate="intersects").T
    near = {(int(i), int(j)) for i, j in near if i + 1 < j}
    assert {(i, j) for i, j in outline.touching.tolist() if i + 1 < j} == near
    involved = shapes[np.unique(outline.touching)]
    # On a grid of its own: without one the union is now and then wrong, of a wire laid back on itself.
    union = shapely.union_all(involved, grid_size=1e-9)
    plain = float(np.sum(shapely.area(involved))) - float(shapely.area(union))
    size = float(np.sum(shapely.area(shapes)))
    assert overlap_area(shapes, outline.touching) == pytest.approx(plain, abs=1e-8 * size)
    hull = float(shapely.area(shapely.convex_hull(shapely.geometrycollections(list(shapes)))))
    assert outline.hull_area_mm2 == pytest.approx(hull, rel=1e-9)


def test_what_three_things_share_counts_once() -> None:
    # Three discs of radius 1 through one middle, and three far apart of which two meet: by shapely's union.
    places = [(0, 0), (0.8, 0), (0.4, 0.7), (9, 0), (10.5, 0), (20, 0)]
    shapes = np.asarray(shapely.buffer(shapely.points(places), 1.0))
    pairs = np.array([(0, 1), (0, 2), (1, 2), (3, 4)])
    expected = float(np.sum(shapely.area(shapes))) - float(shapely.area(shapely.union_all(shapes)))
    # To what the grid leaves that overlaps are found on.
    assert overlap_area(shapes, pairs) == pytest.approx(expected, rel=1e-9)
    assert overlap_area(shapes, np.empty((0, 2), dtype=np.int64)) == 0.0


@calm(25)
@given(st.integers(0, 10**6), st.sampled_from([3, 70, 5_000]), st.floats(0.001, 1.0))
def test_the_hull_of_points_is_shapelys(seed: int, count: int, flatness: float) -> None:
    rng = np.random.default_rng(seed)
    points = rng.normal(size=count) + 1j * flatness * rng.normal(size=count)
    plain = shapely.convex_hull(shapely.multipoints(np.stack((points.real, points.imag), axis=1)))
    assert shapely.equals(hull_of(points), plain)


def test_a_flat_coil_is_a_tangle_and_says_so() -> None:
    # Five hundred turns on one spot: every piece of it lies on a quarter of all others.
    coil = evaluated(Span(length_mm=500.0, turn_deg=90_000.0), d=2.0)
    assert coil.outline.tangled and coil.smallest_gap_mm is None and coil.crossings == ()
    assert [c.code for c in coil.cautions].count("tangled") == 1
    # Wire wider than its bend covers the round of its radius and half its width.
    radius = 500.0 / np.deg2rad(90_000.0)
    assert coil.silhouette_area_mm2 == pytest.approx(np.pi * (radius + 1.0) ** 2, rel=0.02)
    loops = evaluated(Span(length_mm=18.0, turn_deg=300.0), times=60)
    assert not loops.outline.tangled and "tangled" not in {c.code for c in loops.cautions}
