"""The flare's shape along a span."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.errors import FormSketchError
from formsketch.forging.flare import flare_ease, thickness_ratio


@st.composite
def flares(draw: st.DrawFn) -> tuple[float, float]:
    """(centre, hold) with room to ease in and out."""
    before = draw(st.floats(0.02, 0.96))
    hold = draw(st.floats(0.0, 1.0)) * (0.98 - before)
    return before + hold / 2, hold


def test_without_hold_it_is_a_sine_squared() -> None:
    u = np.linspace(0, 1, 21)
    np.testing.assert_allclose(flare_ease(u, 0.5, 0.0), np.sin(np.pi * u) ** 2, atol=1e-15)


def test_off_centre_with_hold() -> None:
    # Hold from 0.2 to 0.4: half way up each slope, in u, the depth is half.
    assert flare_ease([0.0, 0.1, 0.2, 0.3, 0.4, 0.7, 1.0], 0.3, 0.2) == pytest.approx(
        [0, 0.5, 1, 1, 1, 0.5, 0], abs=1e-14
    )
    assert thickness_ratio([0.1, 0.3, 0.7], 0.4, 0.3, 0.2) == pytest.approx([0.7, 0.4, 0.7])


def test_broadcasts() -> None:
    ratio = thickness_ratio(np.linspace(0, 1, 5), np.array([[0.4], [0.8]]), 0.5, 0.0)
    assert ratio.shape == (2, 5)
    assert ratio[:, 2] == pytest.approx([0.4, 0.8])
    assert isinstance(flare_ease(0.5, 0.5, 0.0), np.float64)


@given(flares(), st.floats(0.05, 1.0))
def test_unhammered_at_the_marks_and_full_depth_on_the_hold(flare: tuple[float, float], thin: float) -> None:
    centre, hold = flare
    u = np.linspace(0, 1, 401)
    ratio = thickness_ratio(u, thin, centre, hold)
    assert ratio[[0, -1]] == pytest.approx([1, 1], abs=1e-14)
    assert thickness_ratio(
        [centre - hold / 2, centre, centre + hold / 2], thin, centre, hold
    ) == pytest.approx([thin] * 3, abs=1e-12)
    assert ratio.min() >= thin - 1e-14 and ratio.max() <= 1


@given(flares())
def test_value_and_slope_are_continuous(flare: tuple[float, float]) -> None:
    # The steepest slope of sin^2(pi/2 u/a) is pi/(2 a), its greatest curvature pi^2/(2 a^2).
    centre, hold = flare
    least = min(centre - hold / 2, 1 - centre - hold / 2)
    step = least / 400
    ease = flare_ease(np.arange(0, 1, step), centre, hold)
    assert abs(np.diff(ease)).max() <= np.pi / (2 * least) * step * (1 + 1e-6)
    assert abs(np.diff(ease, 2)).max() <= np.pi**2 / (2 * least**2) * step**2 * (1 + 1e-6)


@given(flares(), st.floats(0.0, 1.0))
def test_mirrors(flare: tuple[float, float], u: float) -> None:
    centre, hold = flare
    assert flare_ease(u, centre, hold) == pytest.approx(flare_ease(1 - u, 1 - centre, hold), abs=1e-10)


def test_a_flare_of_zero_depth_changes_nothing() -> None:
    assert (thickness_ratio(np.linspace(0, 1, 11), 1.0, 0.4, 0.3) == 1.0).all()


@pytest.mark.parametrize(
    ("u", "thickness", "centre", "hold", "message"),
    [
        (1.1, 0.5, 0.5, 0.0, "place along the span: expected a fraction from 0 to 1"),
        (np.nan, 0.5, 0.5, 0.0, "place along the span"),
        (0.5, 1.2, 0.5, 0.0, "thickness of the flare: expected a number from 0 to 1, got 1.2"),
        (0.5, 0.5, 0.1, 0.2, "flare: expected its hold to begin after one mark"),
        (0.5, 0.5, 1.0, 0.0, "flare: expected its hold to begin after one mark"),
        (0.5, 0.5, 0.5, -0.1, "hold of the flare"),
        (0.5, 0.5, np.nan, 0.1, "flare: expected"),
    ],
)
def test_refuses(u: float, thickness: float, centre: float, hold: float, message: str) -> None:
    with pytest.raises(FormSketchError, match=message):
        thickness_ratio([0.5, u], thickness, centre, hold)
