"""One number for several spans, radii, and marks put where their distance was typed, without a window."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.bench.tempers import temper_name
from formsketch.design.model import Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.radii import lengths_for_radius_mm, radii_mm
from formsketch.evaluation.section_at import section_at
from formsketch.fitting.many_spans import with_length, with_lengths, with_thickness, with_turn
from formsketch.fitting.pulling import WireInHand
from formsketch.fitting.typed_marks import slide_mark_from_previous, slide_mark_to

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
HOLD = Flare(thickness=0.6, centre=0.4, hold=0.2)


def in_hand(design: Design) -> tuple[Evaluation, WireInHand]:
    e = evaluate(design)
    return e, WireInHand(design, e.chain, e.own_trace)


def rows() -> Design:
    """A hook, a graded row of pairs of spans, and two free spans."""
    pair = (Span(length_mm=16.0, turn_deg=150.0, flare=HOLD), Span(length_mm=9.0, turn_deg=-40.0))
    row = Run(spans=pair, times=4, turned_over=True, ends_scale=0.6)
    free = Run(spans=(Span(length_mm=20.0, turn_deg=30.0, flare=HOLD), Span(length_mm=12.0)))
    return Design(title="", wire=BRASS, form=Form(runs=(row, free), start=HookEnd(inside_diameter_mm=4.0)))


def marks_mm(e: Evaluation) -> np.ndarray:
    """Distances of the marks from the first one on the straight wire."""
    return np.concatenate(([0.0], np.cumsum(e.spans.stock_length_mm)))


# ---- one number for several ----------------------------------------------------------------------------


def test_lengths_are_those_of_the_places_named() -> None:
    design = rows()
    _, wire = in_hand(design)
    after = evaluate(with_lengths(wire, {0: 8.0, 3: 7.0, 9: 5.0})).spans.finished_length_mm
    assert after[[0, 3, 9]] == pytest.approx([8.0, 7.0, 5.0])
    # The first of several repeats of one written span is the one that counts.
    both = evaluate(with_length(wire, (4, 0, 2), 10.0)).spans.finished_length_mm
    before = evaluate(design).spans.finished_length_mm
    assert both[4] == pytest.approx(10.0)
    assert both[[0, 2, 6]] == pytest.approx(10.0 / before[4] * before[[0, 2, 6]])


def test_turns_are_as_the_first_named_lies() -> None:
    e, wire = in_hand(rows())
    side = e.chain.side[e.chain.spans]
    assert (side[0], side[2]) == (1.0, -1.0)  # each repeat is turned over from the one before
    for lead in (0, 2):
        after = evaluate(with_turn(wire, (lead, 8), 77.0)).spans.turn_deg
        assert after[lead] == pytest.approx(77.0)
        assert after[8] == pytest.approx(77.0 * side[8] * side[lead])


def test_one_refusal_refuses_all_and_names_the_span() -> None:
    _, wire = in_hand(rows())
    with pytest.raises(
        EditRefused, match=r"^Span 10 cannot take it, so nothing was changed: hammering thins"
    ):
        with_thickness(wire, (9, 8), 1.4)
    with pytest.raises(EditRefused, match=r"^Hammering thins the wire"):
        with_thickness(wire, (9,), 1.4)


def test_thickness_is_that_of_the_place_shown_of_a_flare_with_a_mark_in_it() -> None:
    half = Flare(thickness=0.6, centre=0.5, begin=0.0, end=0.25)
    design = Design(title="", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=10.0, flare=half),)),)))
    _, wire = in_hand(design)
    assert evaluate(with_thickness(wire, (0,), 1.1)).spans.thinnest_mm[0] == pytest.approx(1.1)


# ---- radii ---------------------------------------------------------------------------------------------


def test_radii_of_a_round_wire_lie_half_the_wire_apart() -> None:
    spans = (Span(length_mm=20.0, turn_deg=-200.0), Span(length_mm=5.0))
    e = evaluate(Design(title="", wire=BRASS, form=Form(runs=(Run(spans=spans),))))
    middle = 20.0 / np.deg2rad(200.0)
    assert radii_mm(e, "finished")[0] == pytest.approx(middle)
    assert radii_mm(e, "bent")[0] == pytest.approx(middle)  # nothing is hammered
    assert radii_mm(e, "inside")[0] == pytest.approx(middle - 0.645)
    assert radii_mm(e, "outside")[0] == pytest.approx(middle + 0.645)
    assert np.isnan([radii_mm(e, kind)[1] for kind in ("bent", "finished", "inside", "outside")]).all()


def test_the_widest_place_of_a_span_on_edge_is_at_its_marks() -> None:
    edge = Flare(thickness=0.6, face="edge")
    span = Span(length_mm=20.0, turn_deg=200.0, flare=edge)
    e = evaluate(Design(title="", wire=BRASS, form=Form(runs=(Run(spans=(span,)),))))
    # On edge the wire thins in plan; at its marks it is round.
    assert radii_mm(e, "outside")[0] == pytest.approx(20.0 / np.deg2rad(200.0) + 0.645)


def test_an_as_bent_radius_under_uneven_blows_is_refused() -> None:
    span = Span(length_mm=20.0, turn_deg=200.0, flare=Flare(thickness=0.6, bias=0.3))
    e = evaluate(Design(title="", wire=BRASS, form=Form(runs=(Run(spans=(span,)),))))
    with pytest.raises(EditRefused, match="uneven"):
        lengths_for_radius_mm(e, (0,), "bent", 5.0)
    assert lengths_for_radius_mm(e, (0,), "finished", 5.0)[0] == pytest.approx(5.0 * np.deg2rad(200.0))


# ---- typed marks ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", [1, 3, 5, 7, 8, 9, 10])
@pytest.mark.parametrize("by_mm", [-1.5, 0.8])
def test_a_mark_comes_to_the_distance_typed(mark: int, by_mm: float) -> None:
    e, wire = in_hand(rows())
    wanted = marks_mm(e)[mark] + by_mm
    after = evaluate(slide_mark_to(wire, mark, wanted).design)
    assert marks_mm(after)[mark] == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("mark", [1, 4, 8, 9, 10])
def test_a_mark_comes_to_the_distance_from_the_one_before(mark: int) -> None:
    e, wire = in_hand(rows())
    wanted = float(e.spans.stock_length_mm[mark - 1]) + 0.7
    after = evaluate(slide_mark_from_previous(wire, mark, wanted).design)
    assert after.spans.stock_length_mm[mark - 1] == pytest.approx(wanted, abs=1e-9)


def test_marks_of_one_repeated_span_come_too() -> None:
    row = Run(spans=(Span(length_mm=10.0, turn_deg=90.0),), times=5)
    e, wire = in_hand(Design(title="", wire=BRASS, form=Form(runs=(row,))))
    assert e.spans.stock_length_mm == pytest.approx(10.0)
    after = evaluate(slide_mark_to(wire, 3, 36.0).design)
    assert marks_mm(after) == pytest.approx([0, 12, 24, 36, 48, 60])


def test_sliding_the_wire_in_all_stays_where_the_spans_stand_alone() -> None:
    e, wire = in_hand(rows())
    after = evaluate(slide_mark_to(wire, 9, marks_mm(e)[9] - 3.0).design)
    assert after.cut_length_mm == pytest.approx(e.cut_length_mm, abs=1e-9)
    assert np.delete(marks_mm(after), 9) == pytest.approx(np.delete(marks_mm(e), 9), abs=1e-9)


def test_a_mark_that_does_not_answer_is_explained() -> None:
    pair = (Span(length_mm=16.0, turn_deg=150.0), Span(length_mm=9.0, turn_deg=-40.0))
    _, wire = in_hand(Design(title="", wire=BRASS, form=Form(runs=(Run(spans=pair, times=4),))))
    with pytest.raises(EditRefused, match="between whole repeats"):
        slide_mark_to(wire, 4, 51.0)
    with pytest.raises(EditRefused, match="first mark"):
        slide_mark_to(wire, 0, 1.0)


@given(st.floats(0.0, 200.0))
def test_past_its_neighbour_or_there(place_mm: float) -> None:
    e, wire = in_hand(rows())
    marks = marks_mm(e)
    if marks[8] + 0.02 < place_mm < marks[10] - 0.02:
        after = evaluate(slide_mark_to(wire, 9, place_mm).design)
        assert marks_mm(after)[9] == pytest.approx(place_mm, abs=1e-9)
    elif not marks[8] <= place_mm <= marks[10]:
        with pytest.raises(EditRefused, match="past its neighbour"):
            slide_mark_to(wire, 9, place_mm)


# ---- the section pointed at ----------------------------------------------------------------------------


def test_the_section_on_the_hold_is_a_stadium_of_its_thickness() -> None:
    spans = (Span(length_mm=30.0), Span(length_mm=40.0, turn_deg=-90.0, flare=HOLD))
    e = evaluate(Design(title="", wire=BRASS, form=Form(runs=(Run(spans=spans),))))
    part = e.chain.spans.start + 1
    own = np.flatnonzero(e.own_trace.part == part)
    on_hold = float(own[np.argmin(np.abs(e.own_trace.u[own] - 0.4))])
    section = section_at(e, on_hold)
    t, w = 0.6 * 1.29, section.width_mm
    assert section.thickness_mm == pytest.approx(t)
    assert (section.plan_width_mm, section.height_mm) == (w, pytest.approx(t))
    # A stadium: a rectangle between two half circles.
    assert section.area_mm2 == pytest.approx(t * (w - t) + np.pi * t * t / 4)
    # By B&S numbers reduced (ASTM B601): the word for the span's cold work at its thinnest.
    assert section.temper == temper_name(100 * float(e.spans.strip_reduction[1])) != "soft"
    round_wire = section_at(e, 0.0)
    assert round_wire.temper == "as supplied"
    assert round_wire.area_mm2 == pytest.approx(np.pi / 4 * 1.29**2)


def test_the_section_on_edge_stands_upright_and_an_end_has_no_temper() -> None:
    edge = Flare(thickness=0.6, face="edge", hold=0.2)
    spans = (Span(length_mm=30.0, flare=edge),)
    e = evaluate(
        Design(
            title="", wire=BRASS, form=Form(runs=(Run(spans=spans),), start=HookEnd(inside_diameter_mm=4.0))
        )
    )
    own = np.flatnonzero(e.own_trace.part == e.chain.spans.start)
    middle = section_at(e, float(own[np.argmin(np.abs(e.own_trace.u[own] - 0.5))]))
    assert middle.plan_width_mm == pytest.approx(0.6 * 1.29)
    assert middle.height_mm == pytest.approx(middle.width_mm)
    assert middle.height_mm > 1.29
    assert section_at(e, 0.0).temper == ""
    assert section_at(e, float(len(e.own_trace.u) - 1)).temper == "as supplied"
