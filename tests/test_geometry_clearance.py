"""Where the wire crosses itself and how near its parts come: places and gaps worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import Evaluation, evaluate


def evaluated(*spans: Span, d: float = 1.0) -> Evaluation:
    form = Form(runs=(Run(spans=spans),))
    return evaluate(
        Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=d), form=form), load_metals()
    )


def arc(radius: float, turn: float) -> Span:
    return Span(length_mm=float(np.deg2rad(abs(turn)) * radius), turn_deg=turn)


def test_legs_of_a_loop_cross_once_where_the_tangents_meet() -> None:
    # Two tangents of a circle of radius R that turn 270 degrees meet R from both points of contact.
    leg, radius = 20.0, 4.0
    loop = evaluated(Span(length_mm=leg), arc(radius, 270.0), Span(length_mm=leg))
    (crossing,) = loop.crossings
    z = loop.trace.z_mm
    first, second = z[loop.trace.first[1]], z[loop.trace.first[2]]
    assert abs(crossing.at_mm - first) == pytest.approx(radius, abs=1e-6)
    assert abs(crossing.at_mm - second) == pytest.approx(radius, abs=1e-6)
    # The wire further along lies over.
    assert crossing.over_sample > crossing.under_sample
    assert loop.trace.part[crossing.under_sample] == 0 and loop.trace.part[crossing.over_sample] == 2


def test_a_crossing_right_at_a_mark_is_one_crossing() -> None:
    # The second leg is written as two spans whose mark lies where the legs cross, as nearly as can be
    # written: R/tan((turn - 180)/2) from the point of contact.
    radius, seen = 4.0, []
    for turn in range(200, 340, 4):
        reach = radius / np.tan(np.deg2rad(turn - 180.0) / 2)
        half = Span(length_mm=reach)
        seen.append(len(evaluated(Span(length_mm=2 * reach), arc(radius, turn), half, half).crossings))
    assert seen == [1] * len(seen)


def test_a_row_of_loops_crosses_as_often_as_it_has_loops() -> None:
    # Far apart, each loop crosses its own legs once and no other loop.
    row = make_starter(
        "row-of-loops",
        Wire(metal="brass-c26000", diameter_mm=1.0),
        numbers={"inside_mm": 8.0, "times": 6, "turn_deg": 330.0, "link_mm": 40.0, "thickness": 1.0},
    )
    evaluation = evaluate(row, load_metals())
    assert len(evaluation.crossings) == 6
    unders = [crossing.under_sample for crossing in evaluation.crossings]
    assert unders == sorted(unders)


@pytest.mark.parametrize(
    "spans",
    [
        (Span(length_mm=30.0),),
        (arc(10.0, 300.0),),
        (arc(5.0, 180.0), arc(5.0, -180.0), arc(5.0, 180.0)),
        (Span(length_mm=10.0), Span(length_mm=10.0, corner_deg=120.0)),
    ],
)
def test_what_does_not_cross_has_no_crossing(spans: tuple[Span, ...]) -> None:
    assert evaluated(*spans).crossings == ()


def test_a_closed_ring_does_not_cross_where_its_ends_meet() -> None:
    assert evaluated(arc(9.0, 360.0)).crossings == ()


@pytest.mark.parametrize("d", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("radius", [3.0, 6.0])
def test_the_gap_between_the_legs_of_a_u(radius: float, d: float) -> None:
    # Parallel, 2 R apart centre to centre.
    u = evaluated(Span(length_mm=30.0), arc(radius, 180.0), Span(length_mm=30.0), d=d)
    assert u.smallest_gap_mm == pytest.approx(2 * radius - d, abs=0.007)


def test_the_gap_does_not_depend_on_where_marks_are_set() -> None:
    # One wire, its legs written as one span, as two, as five.
    gaps = []
    for pieces in (1, 2, 5):
        leg = (Span(length_mm=30.0 / pieces),) * pieces
        gaps.append(evaluated(*leg, arc(3.0, 180.0), *leg).smallest_gap_mm)
    assert gaps == pytest.approx([5.0] * 3, abs=0.007)


def test_the_gap_of_a_hoop_is_its_opening_edge_to_edge() -> None:
    # Ends square to the round, 20 degrees apart: nearest at their inner corners.
    radius, d = 10.0, 1.0
    hoop = evaluated(arc(radius, 340.0), d=d)
    assert hoop.smallest_gap_mm == pytest.approx(2 * (radius - d / 2) * np.sin(np.deg2rad(10.0)), abs=0.007)


@pytest.mark.parametrize(
    "spans", [(Span(length_mm=30.0),), (arc(20.0, 60.0),), (arc(8.0, 90.0), Span(length_mm=9.0))]
)
def test_wire_that_comes_near_nothing_has_no_gap(spans: tuple[Span, ...]) -> None:
    assert evaluated(*spans).smallest_gap_mm is None
