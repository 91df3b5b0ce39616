"""Spans by themselves: shapes of arrays, ends, sums of parts. Points: validation/test_euler_spirals.py."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.geometry.spans import (
    MOST_TURN_PER_INTERVAL_RAD,
    curvature_per_mm,
    direction_rad,
    intervals_for_turning,
    span_points,
)
from tests.support.strategies import calm

TURNS = st.floats(-20.0, 20.0)


def test_points_begin_at_nothing_and_have_the_shape_asked_for() -> None:
    assert span_points(5.0, 1.0, 0.3, 0.0).tolist() == [0j]
    assert span_points(5.0, 1.0, 0.3, [0.1, 0.2, 0.9]).shape == (3,)


@calm(60)
@given(TURNS, TURNS)
def test_direction_runs_from_heading_to_heading_plus_turn(turn: float, skew: float) -> None:
    assert direction_rad(np.array([0.0, 1.0]), 0.7, turn, skew) == pytest.approx([0.7, 0.7 + turn], abs=1e-12)


@calm(60)
@given(st.floats(0.1, 100.0), TURNS, TURNS)
def test_curvature_runs_from_turn_less_skew_to_turn_plus_skew(
    length: float, turn: float, skew: float
) -> None:
    # Definition: curvature x length = turn + skew (2u - 1).
    found = curvature_per_mm(np.array([0.0, 0.5, 1.0]), length, turn, skew) * length
    assert found == pytest.approx([turn - skew, turn, turn + skew], abs=1e-9)


@calm(100)
@given(st.floats(1.0, 60.0), st.floats(-9.0, 9.0), st.floats(-9.0, 9.0), st.floats(0.05, 0.95))
def test_a_span_cut_in_two_is_the_same_curve(length: float, turn: float, skew: float, cut: float) -> None:
    # The pieces of a linear curvature are linear: piece 0..c turns turn c + skew (c^2 - c), skewed skew c^2.
    first = (length * cut, turn * cut + skew * (cut * cut - cut), skew * cut * cut)
    rest = 1 - cut
    second = (length * rest, turn - first[1], skew * rest * rest)
    joint = span_points(*first, 1.0)[0]
    end = joint + np.exp(1j * first[1]) * span_points(*second, 1.0)[0]
    whole = span_points(length, turn, skew, [cut, 1.0])
    assert abs(joint - whole[0]) < 1e-10 and abs(end - whole[1]) < 1e-10


@calm(60)
@given(st.floats(1.0, 60.0), st.floats(-9.0, 9.0), st.floats(-9.0, 9.0))
def test_a_span_walked_backwards_is_the_same_curve(length: float, turn: float, skew: float) -> None:
    # Seen from its end a span turns to the other side and is skewed the same way.
    u = np.linspace(0, 1, 11)
    there = span_points(length, turn, skew, u)
    back = span_points(length, -turn, skew, u)
    laid = there[-1] - np.exp(1j * turn) * back
    assert np.abs(laid[::-1] - there).max() < 1e-10


@calm(60)
@given(TURNS, TURNS)
def test_intervals_are_as_many_as_the_sharpest_place_asks_for(turn: float, skew: float) -> None:
    count = intervals_for_turning(turn, skew)
    assert count >= 1
    assert (abs(turn) + abs(skew)) / count <= MOST_TURN_PER_INTERVAL_RAD * (1 + 1e-12)
