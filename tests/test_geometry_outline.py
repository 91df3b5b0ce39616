"""The wire's edge in plan, piece by piece. Areas by closed forms are in validation/test_silhouette.py."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given

from formsketch.bench.metals import load_metals
from formsketch.design.model import BeadEnd, Design, End, Flare, Form, PlainEnd, PostEnd, Run, Span, Wire
from formsketch.evaluation.evaluate import Evaluation, evaluate
from tests.support.strategies import calm, designs

PLAIN = PlainEnd()


def evaluated(*spans: Span, d: float = 1.0, start: End = PLAIN, finish: End = PLAIN) -> Evaluation:
    form = Form(runs=(Run(spans=spans),), start=start, finish=finish)
    return evaluate(
        Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=d), form=form), load_metals()
    )


@calm(60)
@given(designs())
def test_edges_lie_half_the_plan_width_to_both_sides(design: Design) -> None:
    outline = evaluate(design, load_metals()).outline
    assert np.abs(outline.left_mm - outline.right_mm) == pytest.approx(outline.plan_width_mm, rel=1e-9)
    middle = (outline.left_mm + outline.right_mm) / 2
    assert np.abs(middle - outline.trace.z_mm).max() < 1e-9
    across = (outline.left_mm - outline.trace.z_mm) * np.conj(outline.trace.direction)
    assert np.abs(across.real).max() < 1e-9 and (across.imag > 0).all()


@calm(60)
@given(designs())
def test_the_bounds_are_those_of_the_silhouette(design: Design) -> None:
    outline = evaluate(design, load_metals()).outline
    # A drawn disc of 128 corners has four of them on its bounds.
    assert outline.bounds_mm == pytest.approx(outline.silhouette.bounds, abs=1e-6)


@calm(40)
@given(designs())
def test_the_area_by_sums_and_overlaps_is_that_of_the_drawn_union(design: Design) -> None:
    # Two ways to one area: exact integrals less overlaps, and the plain union of all that is drawn, whose
    # edges leave the true ones by 0.003 mm and whose discs have 128 corners.
    evaluation = evaluate(design, load_metals())
    drawn = float(shapely.area(shapely.union_all([shapely.make_valid(s) for s in evaluation.outline.shapes])))
    girth = 2 * float(evaluation.chain.length_mm.sum())
    discs = np.pi * sum(disc.radius_mm**2 for disc in evaluation.outline.discs)
    outline = evaluation.outline  # holes drilled through an end are not in it
    assert outline.silhouette_area_mm2 == pytest.approx(drawn, abs=0.003 * girth + 4.1e-4 * discs)


@calm(40)
@given(designs())
def test_pieces_are_sound_polygons_that_follow_the_wire(design: Design) -> None:
    evaluation = evaluate(design, load_metals())
    outline, line = evaluation.outline, evaluation.own_trace.z_mm
    begin, end, part = outline.piece_bounds
    assert len(outline.pieces) == len(part)
    assert (outline.trace.part[begin] == part).all() and (outline.trace.part[end] == part).all()
    assert (begin < end).all()
    # One piece begins where the one before it ends, or at the same mark.
    assert (np.abs(line[begin[1:]] - line[end[:-1]]) < 1e-9).all()
    unfolded = outline.pieces[~outline.folds[part]]
    # A piece that is no longer than rounding (a hook turned by next to nothing) has no area to be sound.
    assert shapely.is_valid(unfolded[shapely.area(unfolded) > 1e-9]).all()


def test_an_edge_hammered_flare_thins_in_plan_and_a_flat_one_widens() -> None:
    # To half the wire: on edge the plan width is the thickness, 0.5 mm; flat it is wider than the wire.
    for face, check in (("edge", lambda w: w == pytest.approx(0.5, rel=1e-9)), ("flat", lambda w: w > 1.2)):
        outline = evaluated(Span(length_mm=10.0, flare=Flare(thickness=0.5, face=face))).outline  # type: ignore[arg-type]
        middle = np.flatnonzero(outline.trace.u == 0.5)[0]
        assert check(outline.plan_width_mm[middle])
        assert outline.plan_width_mm[[0, -1]] == pytest.approx(1.0, rel=1e-12)


def test_round_things_stand_where_they_belong() -> None:
    leg = Span(length_mm=10.0)
    wire = evaluated(
        leg,
        Span(length_mm=5.0, corner_deg=90.0),
        start=BeadEnd(diameter_mm=2.0),
        finish=PostEnd(diameter_mm=0.8),
    )
    bead, post, bend = (
        sorted(wire.outline.discs, key=lambda disc: -disc.radius_mm)[0],
        *sorted(wire.outline.discs, key=lambda disc: disc.radius_mm)[:2],
    )
    z = wire.trace.z_mm
    # A ball of 2 mm on 1 mm wire: its centre lies sqrt(4 - 1)/2 before the rim that meets it.
    outward = (z[0] - z[1]) / abs(z[0] - z[1])
    assert (bead.radius_mm, bead.centre_mm) == (1.0, pytest.approx(z[0] + outward * np.sqrt(3) / 2, abs=1e-9))
    assert (post.radius_mm, post.centre_mm) == (0.4, pytest.approx(z[-1], abs=1e-9))
    corner = z[wire.trace.first[1]]
    assert (bend.radius_mm, bend.centre_mm) == (0.5, pytest.approx(corner, abs=1e-9))


def test_only_wire_wider_than_its_bend_folds() -> None:
    # Radius 1 mm: wire of 1.9 mm does not fold, of 2.1 mm does; only the span concerned.
    arc, leg = Span(length_mm=np.pi, turn_deg=180.0), Span(length_mm=5.0)
    assert list(evaluated(leg, arc, leg, d=1.9).outline.folds) == [False, False, False]
    assert list(evaluated(leg, arc, leg, d=2.1).outline.folds) == [False, True, False]


def test_the_hull_of_a_closed_ring_is_its_outer_circle() -> None:
    ring = evaluated(Span(length_mm=2 * np.pi * 9, turn_deg=360.0))
    assert ring.outline.hull_area_mm2 == pytest.approx(np.pi * 9.5**2, rel=1e-3)
    # Closed form: ring area over outer circle.
    share = (9.5**2 - 8.5**2) / 9.5**2
    assert ring.proportion.silhouette_to_hull == pytest.approx(share, rel=1e-3)
