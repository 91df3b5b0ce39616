"""Shaping between marks: what must stay stays, on the table as the maker sees it, and targets are met.

A pull is judged as a view shows it: the kept mark in its place, its direction turned by what the pull
says. Expected places are those before the pull; arcs are checked against their closed forms (chord 2R
sin(turn/2), sagitta R (1 - cos(turn/2))).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.design.edits import SpanAddress, change_run, span_at
from formsketch.design.model import Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.design.starters import STARTERS, make_starter
from formsketch.errors import EditRefused
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.fitting.shaping import (
    Constraint,
    constrained_target,
    even_row,
    open_row,
    pull_belly_keeping_marks,
    pull_mark_constrained,
    pull_skew,
    turn_direction,
)
from formsketch.geometry.spans import span_points
from tests.support.strategies import calm
from tests.test_mark_edits import evaluated, walked

WIRE = Wire(metal="brass-c26000", diameter_mm=1.0)
ARC = Span(length_mm=24.0, turn_deg=150.0, flare=Flare(thickness=0.5))
LEG = Span(length_mm=15.0, turn_deg=-40.0, skew_deg=20.0)
BENT = Span(length_mm=18.0, turn_deg=60.0, corner_deg=35.0)


def of(*runs: Run) -> Design:
    return Design(title="t", wire=WIRE, form=Form(runs=runs))


FREE = of(Run(spans=(LEG, ARC, BENT, LEG, replace(ARC, turned_over=True), BENT)))


def in_hand(design: Design) -> WireInHand:
    evaluation = evaluated(design)
    return WireInHand(design, evaluation.chain, evaluation.own_trace)


def direction_rad(wire: WireInHand, mark: int) -> float:
    """Direction in which the wire leaves a mark, or reaches the last."""
    last = wire.span_count
    return wire.heading_to_rad(last - 1) if mark == last else wire.heading_from_rad(mark)


class OnTable:
    """A wire before and after a pull, both in the frame of the wire before."""

    def __init__(self, before: WireInHand, pulled: Pulled) -> None:
        self.before, self.after = before, in_hand(pulled.design)
        kept = pulled.kept_mark
        self.angle_rad = direction_rad(before, kept) + pulled.turned_rad - direction_rad(self.after, kept)
        own, was = walked(pulled.design), walked(before.design)
        self.old_mm = was
        self.new_mm = was[kept] + (own - own[kept]) * np.exp(1j * self.angle_rad)
        # Two walks of one wire: the program's own and that of the tests.
        assert abs(own[-1] - self.after.mark_mm(len(own) - 1)) < 1e-9

    @property
    def moved_mm(self) -> NDArray[np.float64]:
        """How far each mark moved."""
        return np.asarray(abs(self.new_mm - self.old_mm))

    def turned_rad(self, mark: int) -> float:
        """How far the direction at a mark turned, between half a turn right and left."""
        turned = self.angle_rad + direction_rad(self.after, mark) - direction_rad(self.before, mark)
        return float((turned + np.pi) % (2 * np.pi) - np.pi)

    def middle_mm(self, span: int) -> complex:
        """Place of a span's middle after the pull."""
        shape = self.after.shape(span)
        way = span_points(shape.length_mm, shape.turn_rad, shape.skew_rad, 0.5)[0]
        return complex(
            self.new_mm[span] + way * np.exp(1j * (self.angle_rad + direction_rad(self.after, span)))
        )


def middle_mm(wire: WireInHand, span: int) -> complex:
    shape = wire.shape(span)
    way = span_points(shape.length_mm, shape.turn_rad, shape.skew_rad, 0.5)[0]
    return complex(wire.mark_mm(span) + way * np.exp(1j * wire.heading_from_rad(span)))


def out_mm(wire: WireInHand, span: int, place: complex) -> float:
    """How far left of a span's chord a place lies."""
    chord = wire.mark_mm(span + 1) - wire.mark_mm(span)
    return float(((place - wire.mark_mm(span)) * np.conj(chord)).imag / abs(chord))


# Turning the direction at a mark


@pytest.mark.parametrize("mark", range(7))
@pytest.mark.parametrize("angle_deg", [-12.0, 3.0, 25.0])
def test_a_direction_turns_and_every_mark_stays(mark: int, angle_deg: float) -> None:
    before = in_hand(FREE)
    table = OnTable(before, turn_direction(before, mark, np.deg2rad(angle_deg)))
    assert table.moved_mm.max() < 1e-9
    for other in range(7):
        wanted = np.deg2rad(angle_deg) if other == mark else 0.0
        assert table.turned_rad(other) == pytest.approx(wanted, abs=1e-9)
    # Sharp bends are as they were, and only the two neighbours have changed.
    spans, were = table.after.design.form.runs[0].spans, FREE.form.runs[0].spans
    for k, (a, b) in enumerate(zip(spans, were, strict=True)):
        assert (a.corner_deg, a.turned_over, a.flare) == (b.corner_deg, b.turned_over, b.flare)
        assert (a == b) == (k not in (mark - 1, mark))


@pytest.mark.parametrize("turned_over", [False, True])
def test_a_direction_between_repeats_turns_at_every_repeat(turned_over: bool) -> None:
    before = in_hand(of(Run(spans=(ARC, LEG), times=4, turned_over=turned_over)))
    table = OnTable(before, turn_direction(before, 3, 0.1))
    assert table.moved_mm.max() < 1e-9
    sides = np.array([1, -1, 1, -1]) if turned_over else np.ones(4)
    # All repeats are one as seen before turning over; mark 3 is inside the second.
    turned = [table.turned_rad(mark) for mark in (1, 3, 5, 7)]
    assert turned == pytest.approx(0.1 * sides * sides[1], abs=1e-9)
    inner = OnTable(before, turn_direction(before, 4, 0.1))
    assert inner.moved_mm.max() < 1e-9
    assert abs(inner.turned_rad(4) - 0.1) < 1e-9


def test_beside_a_run_only_the_span_that_stands_alone_changes() -> None:
    design = of(Run(spans=(LEG,)), Run(spans=(ARC, LEG), times=3), Run(spans=(BENT,)))
    before = in_hand(design)
    for mark, alone in ((1, 0), (7, 2)):
        table = OnTable(before, turn_direction(before, mark, 0.1))
        changed = [r for r in range(3) if table.after.design.form.runs[r] != design.form.runs[r]]
        assert changed == [alone]
        assert table.turned_rad(mark) == pytest.approx(0.1, abs=1e-9)
        # That span keeps its marks, and what is beyond the mark swings round with it.
        stays = [0, 1] if mark == 1 else [7, 8]
        assert table.moved_mm[stays].max() < 1e-9 and np.delete(table.moved_mm, stays).min() > 0.1


def test_where_two_repeated_runs_meet_the_one_before_follows() -> None:
    design = of(Run(spans=(LEG, BENT), times=2), Run(spans=(ARC,), times=2))
    before = in_hand(design)
    after = turn_direction(before, 4, 0.1).design
    assert after.form.runs[1] == design.form.runs[1]
    assert after.form.runs[0].spans[0] == LEG != after.form.runs[0].spans[1]


def test_a_direction_turned_too_far_is_refused() -> None:
    wire = in_hand(of(Run(spans=(Span(length_mm=0.04), Span(length_mm=5.0)))))
    with pytest.raises(EditRefused, match="closer than"):
        turn_direction(wire, 1, 0.1)


# The belly between its marks


@pytest.mark.parametrize("span", range(6))
@pytest.mark.parametrize("by_mm", [-2.5, -0.1, 0.0, 0.4, 3.0])
def test_a_belly_meets_its_target_and_every_mark_stays(span: int, by_mm: float) -> None:
    before = in_hand(FREE)
    chord = before.mark_mm(span + 1) - before.mark_mm(span)
    # Along the chord the target may lie anywhere: how far out it is counts.
    target = middle_mm(before, span) + chord / abs(chord) * (1j * by_mm + 0.7)
    table = OnTable(before, pull_belly_keeping_marks(before, span, target))
    assert table.moved_mm.max() < 1e-9
    assert out_mm(before, span, table.middle_mm(span)) == pytest.approx(
        out_mm(before, span, target), abs=1e-9
    )
    here, there = table.turned_rad(span), table.turned_rad(span + 1)
    assert here == pytest.approx(-there, abs=1e-9)
    for other in set(range(7)) - {span, span + 1}:
        assert table.turned_rad(other) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("turn_deg", "skew_deg", "reach_mm"),
    [
        (150.0, -330.0, 3.0),
        (150.0, -200.0, 3.0),
        (150.0, 90.0, 8.0),
        (-100.0, 250.0, 3.0),
        # Here the belly goes the other way than an arc's.
        (420.0, -330.0, 0.5),
    ],
)
def test_the_belly_of_a_scroll_meets_its_target(turn_deg: float, skew_deg: float, reach_mm: float) -> None:
    scroll = Span(length_mm=40.0, turn_deg=turn_deg, skew_deg=skew_deg)
    before = in_hand(of(Run(spans=(LEG, scroll, LEG))))
    chord = before.mark_mm(2) - before.mark_mm(1)
    for by_mm in (-reach_mm, -reach_mm / 6, reach_mm / 6, reach_mm):
        target = middle_mm(before, 1) + 1j * by_mm * chord / abs(chord)
        table = OnTable(before, pull_belly_keeping_marks(before, 1, target))
        wanted = out_mm(before, 1, target)
        assert out_mm(before, 1, table.middle_mm(1)) == pytest.approx(wanted, abs=1e-9)
        assert table.moved_mm.max() < 1e-9


@given(st.floats(20.0, 340.0), st.floats(-0.5, 1.0))
def test_an_arc_between_its_marks_stays_an_arc(turn_deg: float, by: float) -> None:
    before = in_hand(of(Run(spans=(Span(length_mm=20.0, turn_deg=turn_deg),))))
    half = np.deg2rad(turn_deg) / 2
    radius = 10.0 / half
    chord, sagitta = 2 * radius * np.sin(half), radius * (1 - np.cos(half))
    assume(chord > 0.5)
    wanted = sagitta * (1 + by)
    # A turn to the left bulges to the right of the way from mark to mark.
    target = middle_mm(before, 0) + np.exp(1j * half) * -1j * sagitta * by
    pulled = pull_belly_keeping_marks(before, 0, target)
    made = span_at(pulled.design, SpanAddress(0, 0))
    # The circle through three points: tan(turn/4) = 2 sagitta/chord.
    quarter = np.arctan2(2 * wanted, chord)
    assert made.turn_deg == pytest.approx(np.rad2deg(4 * quarter), rel=1e-9)
    assert made.length_mm == pytest.approx(2 * quarter * chord / np.sin(2 * quarter), rel=1e-9)
    assert abs(made.skew_deg) < 1e-9
    assert OnTable(before, pulled).moved_mm.max() < 1e-9


@pytest.mark.parametrize("turn_deg", [-300.0, 400.0, 500.0, 900.0])
def test_a_loop_that_goes_round_more_than_once_keeps_going_round(turn_deg: float) -> None:
    before = in_hand(of(Run(spans=(LEG, Span(length_mm=60.0, turn_deg=turn_deg), LEG))))
    chord = before.mark_mm(2) - before.mark_mm(1)
    target = middle_mm(before, 1) + 0.05j * chord / abs(chord)
    table = OnTable(before, pull_belly_keeping_marks(before, 1, target))
    assert abs(table.middle_mm(1) - target) < 1e-9
    assert table.moved_mm.max() < 1e-9
    assert abs(span_at(table.after.design, SpanAddress(0, 1)).turn_deg - turn_deg) < 30


@pytest.mark.parametrize("ends_scale", [1.0, 0.7])
def test_a_row_of_loops_turned_over_opens_with_all_its_marks_kept(ends_scale: float) -> None:
    # Each loop is bent as the one before, to the other side: the directions at their marks agree.
    design = of(
        Run(spans=(Span(length_mm=8.0, turn_deg=100.0),)),
        Run(spans=(replace(ARC, turn_deg=230.0, turned_over=True),), times=6, ends_scale=ends_scale),
        Run(spans=(Span(length_mm=8.0, turn_deg=100.0, turned_over=True),)),
    )
    before = in_hand(design)
    table = OnTable(before, pull_belly_keeping_marks(before, 3, middle_mm(before, 3) + 0.5j))
    assert table.moved_mm.max() < 1e-9
    assert table.after.design.form.runs[1].spans[0].turn_deg != 230.0


@pytest.mark.parametrize("key", ["row-of-loops", "zigzag"])
def test_loops_and_links_open_with_all_their_marks_kept(key: str) -> None:
    before = in_hand(make_starter(key, WIRE))
    for span in (4, 5):
        chord = before.mark_mm(span + 1) - before.mark_mm(span)
        target = middle_mm(before, span) + 0.3j * chord / abs(chord)
        table = OnTable(before, pull_belly_keeping_marks(before, span, target))
        assert table.moved_mm.max() < 1e-9


def test_a_row_that_cannot_keep_its_marks_swings_about_the_one_pulled() -> None:
    # Loops side by side, not turned over: each has itself for a neighbour.
    before = in_hand(of(Run(spans=(ARC,), times=4)))
    target = middle_mm(before, 1) + 0.5j
    table = OnTable(before, pull_belly_keeping_marks(before, 1, target))
    assert table.moved_mm[1:3].max() < 1e-9 and table.moved_mm[[0, 3, 4]].min() > 0.1


def test_a_belly_between_marks_that_meet_is_refused() -> None:
    wire = in_hand(of(Run(spans=(Span(length_mm=20.0, turn_deg=360.0),))))
    with pytest.raises(EditRefused, match="lie on one another"):
        pull_belly_keeping_marks(wire, 0, 1j)


def test_a_hook_stays_at_its_place_on_the_wire() -> None:
    form = replace(FREE.form, finish=HookEnd(inside_diameter_mm=5.0))
    before = in_hand(replace(FREE, form=form))
    pulled = pull_belly_keeping_marks(before, 5, middle_mm(before, 5) + 1j)
    assert OnTable(before, pulled).moved_mm.max() < 1e-9 and pulled.design.form.finish == form.finish


# Skew and rows


@pytest.mark.parametrize("span", [1, 4])
def test_skew_as_it_lies(span: int) -> None:
    before = in_hand(FREE)
    table = OnTable(before, pull_skew(before, span, 50.0))
    assert table.after.shape(span).skew_rad == pytest.approx(np.deg2rad(50.0))
    assert table.after.shape(span).turn_rad == pytest.approx(before.shape(span).turn_rad)
    assert table.after.shape(span).length_mm == before.shape(span).length_mm
    assert table.moved_mm[: span + 1].max() < 1e-9
    assert table.turned_rad(span) == table.turned_rad(6) == pytest.approx(0.0, abs=1e-9)


def test_a_row_opens_to_both_sides() -> None:
    other = Span(length_mm=9.0, turn_deg=-240.0, skew_deg=10.0)
    loop, odd = Span(length_mm=20.0, turn_deg=240.0), Span(length_mm=20.0, turn_deg=239.99)
    design = of(Run(spans=(loop, LEG), times=3, turned_over=True), Run(spans=(other, odd)))
    pulled = open_row(in_hand(design), 2, 200.0)
    assert pulled.kept_mark == 2
    assert pulled.design.form.runs == (
        Run(spans=(replace(loop, turn_deg=200.0), LEG), times=3, turned_over=True),
        Run(spans=(replace(other, turn_deg=-200.0), odd)),
    )
    for turn in (0.0, -10.0, float("nan")):
        with pytest.raises(EditRefused, match="above 0"):
            open_row(in_hand(design), 2, turn)
    with pytest.raises(EditRefused, match="does not turn"):
        open_row(in_hand(of(Run(spans=(Span(length_mm=5.0),)))), 0, 90.0)


def test_a_row_is_made_even_and_keeps_its_wire() -> None:
    uneven = (Span(length_mm=20.0, turn_deg=240.0), Span(length_mm=22.0, turn_deg=-230.0, skew_deg=5.0))
    row = Run(spans=(Span(length_mm=19.0, turn_deg=250.0), LEG), times=3, ends_scale=0.7)
    design = of(Run(spans=(*uneven, LEG)), row)
    after = even_row(in_hand(design), 0).design
    # Means over the five places: turns 240, 230, 3 x 250; lengths over sizes 1, 1, 0.7 + 1 + 0.7.
    turn, length = (240 + 230 + 750) / 5, (20 + 22 + 2.4 * 19) / 4.4
    made = [*after.form.runs[0].spans[:2], after.form.runs[1].spans[0]]
    assert [s.turn_deg for s in made] == pytest.approx([turn, -turn, turn])
    assert [s.length_mm for s in made] == pytest.approx([length] * 3)
    assert (made[1].skew_deg, after.form.runs[0].spans[2], after.form.runs[1].spans[1]) == (5.0, LEG, LEG)
    assert evaluated(after).finished_length_mm == pytest.approx(evaluated(design).finished_length_mm)
    with pytest.raises(EditRefused, match="No other span"):
        even_row(in_hand(of(Run(spans=(ARC, LEG)))), 0)


# Leading a mark


@pytest.mark.parametrize("mark", range(7))
@pytest.mark.parametrize("constrain", ["along", "square"])
def test_a_mark_is_led(mark: int, constrain: Constraint) -> None:
    wire = in_hand(FREE)
    at = wire.mark_mm(mark)
    led = constrained_target(wire, mark, at + 1.5 + 0.8j, constrain)
    # At the bend of 35 degrees before span 2 the wire's direction is halfway.
    direction = wire.heading_from_rad(min(mark, 5)) - np.deg2rad({2: 17.5, 5: -17.5}.get(mark, 0.0))
    if mark == 6:
        direction = wire.heading_to_rad(5)
    along = np.exp(1j * direction) * (1j if constrain == "square" else 1)
    assert ((led - at) / along).imag == pytest.approx(0.0, abs=1e-12)
    # The nearest place on that line: the way left over is square to it.
    assert ((at + 1.5 + 0.8j - led) / along).real == pytest.approx(0.0, abs=1e-12)
    assert constrained_target(wire, mark, at + 1.5 + 0.8j, "free") == at + 1.5 + 0.8j
    if 0 < mark < 6:
        table = OnTable(wire, pull_mark_constrained(wire, mark, at + 1.5 + 0.8j, constrain))
        assert abs(table.new_mm[mark] - led) < 1e-9


# Everything on every starter


@calm(60)
@given(st.sampled_from(sorted(STARTERS)), st.data())
def test_no_pull_leaves_a_wire_that_cannot_be_measured(key: str, data: st.DataObject) -> None:
    wire = in_hand(make_starter(key, WIRE))
    span = data.draw(st.integers(0, wire.span_count - 1))
    target = middle_mm(wire, span) + complex(data.draw(st.floats(-9, 9)), data.draw(st.floats(-9, 9)))
    pulls = (
        lambda: turn_direction(wire, data.draw(st.integers(0, wire.span_count)), data.draw(st.floats(-1, 1))),
        lambda: pull_belly_keeping_marks(wire, span, target),
        lambda: pull_skew(wire, span, data.draw(st.floats(-200, 200))),
        lambda: open_row(wire, span, data.draw(st.floats(1, 350))),
        lambda: even_row(wire, span),
        lambda: pull_mark_constrained(wire, span, target, data.draw(st.sampled_from(["along", "square"]))),
    )
    try:
        pulled = data.draw(st.sampled_from(pulls))()
    except EditRefused as refusal:
        assert str(refusal).endswith(".")
        return
    assert 0 <= pulled.kept_mark <= wire.span_count
    table = OnTable(wire, pulled)
    assert np.isfinite(table.new_mm).all() and table.moved_mm[pulled.kept_mark] < 1e-9


def test_changed_times_follow() -> None:
    # A pull on one repeat is written once: more repeats are pulled alike.
    before = in_hand(of(Run(spans=(ARC, LEG), times=3)))
    pulled = pull_belly_keeping_marks(before, 2, middle_mm(before, 2) + 0.5j).design
    longer = change_run(before.design, 0, times=5)
    again = pull_belly_keeping_marks(in_hand(longer), 2, middle_mm(in_hand(longer), 2) + 0.5j).design
    assert change_run(pulled, 0, times=5).form.runs[0].spans[0].turn_deg == pytest.approx(
        again.form.runs[0].spans[0].turn_deg, rel=1e-12
    )


def test_a_belly_pulled_too_far_for_its_marks_is_refused() -> None:
    # A scroll's belly comes out to a furthest place and then goes back: beyond it there is no such span.
    wire = in_hand(of(Run(spans=(Span(length_mm=40.0, turn_deg=-300.0, skew_deg=-330.0),))))
    chord = wire.mark_mm(1)
    target = middle_mm(wire, 0) + 3j * chord / abs(chord)
    with pytest.raises(EditRefused, match="that far while both its marks stay"):
        pull_belly_keeping_marks(wire, 0, target)
