"""Rows of repeats: where they end, and the count and grading for an end.

Where a row ends is compared with the whole wire traced anew, which knows nothing of rows, and with closed
forms: n half circles of radius R, each turned over, end 2 n R on; n quarters of a circle go round it [D].
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from msgspec.structs import replace

from formsketch.design.edits import loosened
from formsketch.design.model import MOST_REPEATS, Design, Form, Run, Span, Wire
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import evaluate
from formsketch.fitting.pulling import WireInHand
from formsketch.fitting.repeating import row_of

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


def in_hand(*runs: Run) -> WireInHand:
    e = evaluate(Design(title="Row", wire=BRASS, form=Form(runs=runs)))
    return WireInHand(e.design, e.chain, e.own_trace)


def again(design: Design) -> WireInHand:
    return in_hand(*design.form.runs)


def half_circles(times: int, ends_scale: float = 1.0) -> Run:
    span = Span(length_mm=np.pi * 5, turn_deg=180.0)
    return Run(spans=(span,), times=times, turned_over=True, ends_scale=ends_scale)


def quarters(times: int) -> Run:
    return Run(spans=(Span(length_mm=np.pi / 2 * 5, turn_deg=90.0),), times=times)


@pytest.mark.parametrize(
    ("over", "first_over", "inner_over", "ends_scale", "after"),
    list(product([False, True], [False, True], [False, True], [1.0, 0.6], [False, True])),
)
def test_a_row_ends_where_the_traced_wire_does(
    over: bool, first_over: bool, inner_over: bool, ends_scale: float, after: bool
) -> None:
    motif = (
        Span(length_mm=9.0, turn_deg=70.0, skew_deg=20.0, corner_deg=15.0, turned_over=first_over),
        Span(length_mm=5.0, turn_deg=-30.0, corner_deg=-40.0, turned_over=inner_over),
    )
    before = (Run(spans=(Span(length_mm=7.0, turn_deg=33.0, turned_over=True),)),) if after else ()
    run = Run(spans=motif, times=4, turned_over=over, ends_scale=ends_scale)
    begin = len(before)
    row = row_of(in_hand(*before, run, Run(spans=(Span(length_mm=5.0),))), begin + 3)
    assert (row.run, row.begin, row.motif, row.times) == (begin, begin, 2, 4)
    for times in (1, 2, 3, 4, 7, 12):
        traced = again(row.with_times(times).design)
        assert abs(traced.mark_mm(begin + 2 * times) - row.end_mm[times - 1]) < 1e-9, times
    for wanted in (0.4, 0.85, 1.7):
        traced = again(row.with_ends_scale(wanted).design)
        assert row.ends_scale_at(traced.mark_mm(begin + 8)) == wanted


def test_half_circles_turned_over_lie_in_one_line() -> None:
    row = row_of(in_hand(half_circles(3)), 0)
    # The first leaves 0 along +x and comes back 10 mm beside it.
    assert row.end_mm == pytest.approx(10j * np.arange(1, MOST_REPEATS + 1), abs=1e-8)
    for times in (1, 2, 5, 9):
        assert row.times_at(10j * times + 4.9j, 3) == times
        assert row.times_at(10j * times - 4.9j + 7.0, 3) == times
    assert row.times_at(-80j, 3) == 1


def test_a_row_that_goes_round_is_followed_round() -> None:
    row = row_of(in_hand(quarters(3)), 0)
    # A circle round 5i; the ends of 4 and 8 quarters are one place, and the count as it is now decides.
    assert row.end_mm[[0, 1, 2, 3]] == pytest.approx([5 + 5j, 10j, -5 + 5j, 0], abs=1e-9)
    assert row.times_at(0.1 + 0j, 3) == 4
    assert row.times_at(0.1 + 0j, 7) == 8
    now = 3
    for quarter in range(4, 13):
        now = row.times_at(5j + 5 * np.exp(1j * (quarter - 1) * np.pi / 2), now)
        assert now == quarter


def test_graded_half_circles_end_at_the_sum_of_their_sizes() -> None:
    # Sizes 1 - 0.5 x^2 at x = -1, 0, 1 and at x = -1, -1/3, 1/3, 1 [D].
    row = row_of(in_hand(half_circles(3, ends_scale=0.5)), 0)
    assert row.end_mm[2] == pytest.approx(10j * (0.5 + 1 + 0.5))
    assert row.end_mm[3] == pytest.approx(10j * (0.5 + 17 / 18 + 17 / 18 + 0.5))
    # Three repeats with ends of size s end 10 (1 + 2 s) mm on [D].
    assert row.ends_scale_at(26j) == pytest.approx(0.8)
    assert row.ends_scale_at(26.04j + 3.0) == pytest.approx(0.8)


def test_free_spans_that_repeat_are_a_row_and_others_are_repeated_whole() -> None:
    wire = in_hand(half_circles(6))
    loose = again(loosened(wire.design, 0))
    row = row_of(loose, 4)
    assert (row.times, row.motif) == (6, 1)
    assert row.end_mm == pytest.approx(row_of(wire, 0).end_mm, abs=1e-9)
    assert row.with_times(6).design.form == wire.design.form
    other = row_of(in_hand(Run(spans=(Span(length_mm=7.0), Span(length_mm=9.0, turn_deg=40.0)))), 1)
    assert (other.times, other.motif) == (1, 2)
    pulled = other.with_times(3)
    assert (pulled.design.form.runs[0].times, pulled.kept_mark) == (3, 0)


def test_a_span_has_its_like_in_the_last_repeat() -> None:
    motif = (Span(length_mm=7.0), Span(length_mm=9.0, turn_deg=40.0))
    row = row_of(in_hand(Run(spans=(Span(length_mm=3.0),)), Run(spans=motif, times=5)), 1)
    assert [row.span_within(span, 2) for span in (1, 2, 3, 4, 5, 10)] == [1, 2, 3, 4, 3, 4]


def test_what_has_no_ends_is_not_graded() -> None:
    with pytest.raises(EditRefused, match="One repeat alone"):
        row_of(in_hand(half_circles(1)), 0).ends_scale_at(5j)
    # Two half circles to one side are a whole one, at any grading of the two.
    closed = Run(spans=(replace(half_circles(1).spans[0], length_mm=10.0),), times=2)
    with pytest.raises(EditRefused, match="closes on itself"):
        row_of(in_hand(closed), 0).ends_scale_at(5j)
