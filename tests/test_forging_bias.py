"""Uneven blows on a form: what they change, what they leave alone, and how every edit carries them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, change_span, loosened, mirrored, span_at, with_flare_depth
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.mark_edits import insert_mark, remove_mark
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.design.run_edits import copy_flare_to_like, gather_repeats, reversed_wire
from formsketch.design.soundness import Unsound, sound
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.report import measurement
from formsketch.evaluation.uneven import turn_gained_band_deg
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.fitting.uneven_blows import hammer_unevenly
from formsketch.forging.uneven import forge_uneven
from formsketch.template.bench_words import spans_in_words
from tests.support.strategies import calm, designs, numbers

FIRST = SpanAddress(0, 0)
LEANING = Flare(thickness=0.5, bias=0.2)


def design_of(*spans: Span, spread: float = 0.8, times: int = 1, turned_over: bool = False) -> Design:
    run = Run(spans=spans, times=times, turned_over=turned_over)
    wire = Wire(metal="brass-c26000", diameter_mm=1.0)
    return sound(Design(title="", wire=wire, form=Form(runs=(run,)), hammer=Hammer(spread=spread)))


def loop(turn_deg: float = 240.0, flare: Flare | None = LEANING, **more: Any) -> Span:
    return Span(length_mm=20.0, turn_deg=turn_deg, flare=flare, **more)


def codes(e: Evaluation) -> set[str]:
    return {caution.code for caution in e.cautions}


def hammered(design: Design, bias: float, keep_bends: bool, span: int = 0) -> Pulled:
    e = evaluate(design)
    return hammer_unevenly(WireInHand(design, e.chain, e.own_trace), span, bias, keep_bends)


def without_bias(design: Design) -> Design:
    runs = tuple(
        replace(
            run,
            spans=tuple(
                s if s.flare is None else replace(s, flare=replace(s.flare, bias=0.0)) for s in run.spans
            ),
        )
        for run in design.form.runs
    )
    return replace(design, form=replace(design.form, runs=runs))


# --- even blows


@calm(25)
@given(designs())
def test_even_blows_are_no_model_at_all(design: Design) -> None:
    """Nothing is computed, nothing is moved: the very same arrays, and the file says nothing."""
    even = without_bias(design)
    e = evaluate(even)
    assert e.uneven is None
    assert e.own_ribbon is e.own_trace
    assert np.array_equal(e.spans.as_bent_turn_deg, e.spans.turn_deg)
    assert np.array_equal(e.spans.outer_edge_mm, e.spans.thinnest_mm)
    assert np.array_equal(e.spans.inner_edge_mm, e.spans.thinnest_mm)
    assert b'"bias"' not in design_bytes(replace(even, title="", notes="", variants=()))


@calm(25)
@given(designs())
def test_uneven_blows_change_no_wire(design: Design) -> None:
    """Cut length, weight, marks on the straight wire, widths and cold work are those of even blows."""
    uneven, even = evaluate(design), evaluate(without_bias(design))
    assert uneven.cut_length_mm == even.cut_length_mm
    assert uneven.weight_g == even.weight_g
    for name in ("stock_from_mm", "turn_deg", "thinnest_mm", "widest_mm", "strip_reduction"):
        assert np.array_equal(getattr(uneven.spans, name), getattr(even.spans, name)), name
    assert np.array_equal(uneven.own_trace.mark_samples.shape, even.own_trace.mark_samples.shape)


# --- the turn gained


def test_heavier_outside_is_bent_less_before() -> None:
    """Heavier blows on the outer edge tighten a bend, on the inner edge open it. [D] physics of fibres."""
    for side in (1.0, -1.0):
        turn_deg = side * 240.0
        out = evaluate(design_of(loop(turn_deg, replace(LEANING, bias=0.2 * side)))).spans
        into = evaluate(design_of(loop(turn_deg, replace(LEANING, bias=-0.2 * side)))).spans
        even = evaluate(design_of(loop(turn_deg, replace(LEANING, bias=0.0)))).spans
        assert abs(out.as_bent_turn_deg[0]) < 240 < abs(into.as_bent_turn_deg[0])
        assert out.as_bent_radius_mm[0] > even.as_bent_radius_mm[0] > into.as_bent_radius_mm[0]
        assert out.tube_diameter_mm[0] > even.tube_diameter_mm[0] > into.tube_diameter_mm[0]
        assert out.outer_edge_mm[0] < 0.5 < out.inner_edge_mm[0]
        assert (into.outer_edge_mm[0], into.inner_edge_mm[0]) == (out.inner_edge_mm[0], out.outer_edge_mm[0])


def test_edges_by_the_definition() -> None:
    """Depth 0.5 d, 20 % more at the outer edge: 1 - 0.5 x 1.2 = 0.4, and 0.6 at the inner one."""
    spans = evaluate(design_of(loop())).spans
    assert spans.outer_edge_mm[0] == pytest.approx(0.4, abs=1e-12)
    assert spans.inner_edge_mm[0] == pytest.approx(0.6, abs=1e-12)


@calm(40)
@given(numbers(0.3, 0.9), numbers(0.0, 1.0), numbers(-0.3, 0.3))
def test_turn_gained_is_odd_and_linear_in_the_bias(thickness: float, spread: float, bias: float) -> None:
    flares = [Flare(thickness=thickness, centre=0.4, bias=b) for b in (bias, -bias, 2 * bias, 1e-9)]
    gained = forge_uneven(flares, 1.0, spread)
    assert gained is not None
    one, other, twice, least = gained.turn_per_mm[:4]
    assert other == -one
    assert twice == pytest.approx(2 * one, rel=1e-12, abs=1e-300)
    assert one == pytest.approx(least / 1e-9 * bias, rel=1e-9, abs=1e-15)


def test_nothing_is_gained_where_nothing_lengthens() -> None:
    """Spread 1: all of the squeeze goes sideways, no fibre is lengthened, no bend changes. [D]"""
    spans = evaluate(design_of(loop(), spread=1.0)).spans
    assert spans.as_bent_turn_deg[0] == pytest.approx(240.0, abs=1e-12)


def test_turn_gained_grows_with_the_length_of_a_like_flare() -> None:
    """The same curvature over twice the length is twice the turn; in a wire k times as thick 1/k of it."""
    short, long = loop(), replace(loop(), length_mm=40.0)
    gained = [240.0 - float(evaluate(design_of(s)).spans.as_bent_turn_deg[0]) for s in (short, long)]
    assert gained[1] == pytest.approx(2 * gained[0], rel=1e-12)
    thick = replace(design_of(long), wire=Wire(metal="brass-c26000", diameter_mm=2.0))
    assert 240.0 - float(evaluate(thick).spans.as_bent_turn_deg[0]) == pytest.approx(gained[0], rel=1e-12)


def test_a_straight_span_is_bent_the_other_way_first() -> None:
    e = evaluate(design_of(loop(0.0)))
    assert e.spans.as_bent_turn_deg[0] < -5
    assert e.spans.outer_edge_mm[0] < e.spans.inner_edge_mm[0]
    assert np.isfinite(e.spans.tube_diameter_mm[0])


def test_turn_gained_over_the_band_of_the_spread() -> None:
    """1 - S runs from 0.25 to 0.05 over the band 0.75 to 0.95: about five to one."""
    e = evaluate(design_of(loop()))
    low, high = turn_gained_band_deg(e, 0)
    assert low < float(np.rad2deg(e.as_bent.turn_gained_rad[0])) < high
    assert 4.5 < high / low < 6


# --- edits carry it


@calm(30)
@given(designs())
def test_mirrored_it_bends_to_the_other_side(design: Design) -> None:
    one, other = evaluate(design).spans, evaluate(mirrored(design)).spans
    assert other.as_bent_turn_deg == pytest.approx(-one.as_bent_turn_deg, rel=1e-9, abs=1e-9)
    assert other.outer_edge_mm == pytest.approx(one.outer_edge_mm, rel=1e-12)
    assert design_bytes(mirrored(mirrored(design))) == design_bytes(sound(design))


@calm(30)
@given(designs())
def test_read_from_the_finish_it_is_the_same_wire(design: Design) -> None:
    try:
        back = reversed_wire(design)
    except EditRefused:
        return
    one, other = evaluate(design).spans, evaluate(back).spans
    assert np.abs(other.as_bent_turn_deg[::-1]) == pytest.approx(
        np.abs(one.as_bent_turn_deg), rel=1e-9, abs=1e-7
    )
    assert np.abs(other.as_bent_skew_deg[::-1]) == pytest.approx(
        np.abs(one.as_bent_skew_deg), rel=1e-9, abs=1e-7
    )
    # Straight ones aside, which have the heavier edge for their outer one.
    assert other.outer_edge_mm[::-1] == pytest.approx(one.outer_edge_mm, rel=1e-12)


@calm(30)
@given(numbers(0.05, 0.95), numbers(-300.0, 300.0), numbers(-200.0, 200.0), numbers(-0.4, 0.4), st.booleans())
def test_a_mark_put_into_it_changes_nothing(
    u: float, turn_deg: float, skew_deg: float, bias: float, over: bool
) -> None:
    flare = Flare(thickness=0.5, centre=0.4, hold=0.1, bias=bias)
    design = design_of(loop(turn_deg, flare, skew_deg=skew_deg, turned_over=over))
    cut = insert_mark(design, FIRST, u)
    whole, parts = evaluate(design), evaluate(cut)
    assert parts.cut_length_mm == pytest.approx(whole.cut_length_mm, rel=1e-12)
    assert parts.weight_g == pytest.approx(whole.weight_g, rel=1e-12)
    assert np.sum(parts.spans.as_bent_turn_deg) == pytest.approx(
        float(whole.spans.as_bent_turn_deg[0]), abs=1e-8
    )
    assert "uneven_step" not in codes(parts)
    end = whole.own_ribbon.z_mm[-1]
    assert parts.own_ribbon.z_mm[-1] == pytest.approx(end, abs=1e-9)
    # At the mark, inside the flare, both sides have the edges the whole has there.
    left, right = parts.own_ribbon.z_mm[parts.own_trace.first[1] - 1 : parts.own_trace.first[1] + 1]
    assert left == pytest.approx(right, abs=1e-9)
    again = span_at(remove_mark(cut, SpanAddress(0, 1)), FIRST)
    assert again.flare == flare


def test_bias_differing_at_a_mark_inside_a_flare_is_cautioned_of() -> None:
    cut = insert_mark(design_of(loop()), FIRST, 0.5)
    flare = span_at(cut, SpanAddress(0, 1)).flare
    assert flare is not None
    assert "uneven_step" in codes(
        evaluate(change_span(cut, SpanAddress(0, 1), flare=replace(flare, bias=0.1)))
    )


def test_turned_over_repeats_bend_alike_to_the_other_side() -> None:
    e = evaluate(design_of(loop(), times=3, turned_over=True))
    first = e.spans.as_bent_turn_deg[0]
    assert e.spans.as_bent_turn_deg == pytest.approx([first, -first, first], rel=1e-12)
    assert e.spans.outer_edge_mm == pytest.approx([0.4] * 3, rel=1e-12)
    free = loosened(e.design, 0)
    assert evaluate(free).spans.as_bent_turn_deg == pytest.approx(e.spans.as_bent_turn_deg, rel=1e-12)
    assert gather_repeats(free, 0).form == e.design.form


def test_spans_of_another_bias_are_no_repeats() -> None:
    other = replace(LEANING, bias=0.1)
    with pytest.raises(EditRefused):
        gather_repeats(design_of(loop(), loop(flare=other)), 0)


def test_like_spans_get_it_on_their_own_outer_edge() -> None:
    design = copy_flare_to_like(design_of(loop(), loop(-240.0, None)), FIRST)
    outer = evaluate(design).spans.outer_edge_mm
    assert outer[1] == outer[0] == pytest.approx(0.4)


def test_deeper_hammering_leans_more() -> None:
    """Edges follow the depth: at 1.2 times the depth 0.5 they are 1 - 0.6 x 1.2 and 1 - 0.6 x 0.8."""
    spans = evaluate(with_flare_depth(design_of(loop()), 1.2)).spans
    assert spans.outer_edge_mm[0] == pytest.approx(0.28, abs=1e-12)
    assert spans.inner_edge_mm[0] == pytest.approx(0.52, abs=1e-12)
    even = evaluate(with_flare_depth(design_of(loop()), 0.0))
    assert even.spans.as_bent_turn_deg[0] == pytest.approx(240.0, abs=1e-12)


# --- hammering unevenly


def test_keeping_the_form_changes_the_bend_only() -> None:
    before = design_of(loop(flare=Flare(thickness=0.5)))
    after = hammered(before, 0.2, keep_bends=False).design
    assert span_at(after, FIRST) == loop()


@pytest.mark.parametrize(
    ("turn_deg", "bias", "tighter"), [(240, 0.2, True), (240, -0.2, False), (-90, -0.1, True)]
)
@pytest.mark.parametrize("times", [1, 3])
def test_keeping_the_bends_the_form_follows(turn_deg: float, bias: float, tighter: bool, times: int) -> None:
    flare = Flare(thickness=0.5, centre=0.3)
    before = design_of(loop(turn_deg, flare), times=times, turned_over=times > 1)
    after = hammered(before, bias, keep_bends=True, span=times - 1).design
    one, other = evaluate(before), evaluate(after)
    assert other.spans.as_bent_turn_deg == pytest.approx(one.spans.as_bent_turn_deg, rel=1e-12)
    assert other.spans.as_bent_skew_deg == pytest.approx(one.spans.as_bent_skew_deg, abs=1e-10)
    assert other.spans.as_bent_radius_mm == pytest.approx(one.spans.as_bent_radius_mm, rel=1e-9)
    assert other.cut_length_mm == one.cut_length_mm
    turn = abs(span_at(after, FIRST).turn_deg)
    assert turn > abs(turn_deg) + 1 if tighter else turn < abs(turn_deg) - 1
    # Off the middle the flare tightens the end it lies at.
    assert abs(span_at(after, FIRST).skew_deg) > 1
    # There and back again.
    back = span_at(hammered(after, 0.0, keep_bends=True, span=times - 1).design, FIRST)
    assert back.turn_deg == pytest.approx(turn_deg, rel=1e-12)
    assert back.skew_deg == pytest.approx(0.0, abs=1e-10)


def test_a_flare_in_the_middle_gains_no_skew() -> None:
    assert span_at(hammered(design_of(loop()), -0.1, keep_bends=True).design, FIRST).skew_deg == 0


def test_spans_that_cannot_be_hammered_unevenly() -> None:
    with pytest.raises(EditRefused, match="not hammered"):
        hammered(design_of(loop(flare=None)), 0.1, keep_bends=False)
    with pytest.raises(EditRefused, match="on edge"):
        hammered(design_of(loop(flare=Flare(thickness=0.5, face="edge"))), 0.1, keep_bends=False)
    with pytest.raises(EditRefused, match="heavier edge"):
        hammered(design_of(loop()), 0.95, keep_bends=False)


# --- files, cautions, the bench


def test_it_is_kept_in_the_file() -> None:
    design = design_of(loop())
    assert read_design(design_bytes(design), "leaning").design == design


@pytest.mark.parametrize(
    ("flare", "words"),
    [
        (Flare(thickness=0.5, bias=0.2, face="edge"), "even blows"),
        (Flare(thickness=0.3, bias=0.5), "at least 0.05"),
        (Flare(thickness=0.9, bias=1.5), "at most 1"),
        (Flare(thickness=0.9, bias=float("nan")), "number"),
    ],
)
def test_unsound_bias_is_refused_with_its_place(flare: Flare, words: str) -> None:
    with pytest.raises(Unsound, match=words) as refused:
        design_of(loop(flare=flare))
    assert refused.value.place == "$.form.runs[0].spans[0].flare.bias"


def test_cautions() -> None:
    assert "uneven_blows" not in codes(evaluate(design_of(loop(flare=Flare(thickness=0.5)))))
    slight = codes(evaluate(design_of(loop(flare=Flare(thickness=0.5, bias=0.1)))))
    assert "uneven_blows" in slight and "uneven_beyond_model" not in slight and "sharp_edge" not in slight
    steep = codes(evaluate(design_of(loop(flare=Flare(thickness=0.5, bias=0.4)))))
    assert {"uneven_blows", "uneven_beyond_model", "sharp_edge"} <= steep


def test_measured_numbers() -> None:
    span = measurement(evaluate(design_of(loop())))["spans"][0]
    assert span["turn_deg"] == pytest.approx(240.0, rel=1e-12)
    assert 200 < span["as_bent_turn_deg"] < 225
    assert (span["outer_edge_mm"], span["inner_edge_mm"]) == (pytest.approx(0.4), pytest.approx(0.6))


def test_the_bench_is_told_how_far_to_bend_and_what_to_hammer() -> None:
    e = evaluate(design_of(loop()))
    lines = spans_in_words(e)[0].lines()
    assert lines[0] == f"{e.spans.as_bent_turn_deg[0]:.1f}° left"
    assert lines[-4:] == ["outer edge 0.40", "inner edge 0.60", "comes to", "240° left"]
    straight = spans_in_words(evaluate(design_of(loop(0.0, replace(LEANING, bias=-0.2)))))[0].lines()
    assert straight[-4:] == ["left edge 0.40", "right edge 0.60", "comes", "straight"]
