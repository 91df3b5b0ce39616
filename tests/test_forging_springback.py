"""Springback: limits, scaling, the inverse and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.errors import FormSketchError
from formsketch.forging.springback import (
    curvature_kept_rectangle,
    curvature_kept_round,
    free_radius_mm,
    loaded_ratio,
    moment_ratio,
    outer_fibre_strain,
    tube_radius_mm,
)

diameters = st.floats(0.3, 4.0)
yields = st.floats(40.0, 700.0)
moduli = st.floats(60_000.0, 130_000.0)
hardenings = st.floats(0.0, 0.3)


@given(diameters, yields, moduli, hardenings, st.floats(0.0, 0.95))
def test_tube_and_back(d: float, yield_mpa: float, e_mpa: float, hardening: float, depth: float) -> None:
    # Round every tube from a fold about the wire itself to one that hardly sets it.
    tube = depth * e_mpa * d / (2 * yield_mpa)
    free = free_radius_mm(tube, d, yield_mpa, e_mpa, hardening)
    if np.isfinite(free):
        again = tube_radius_mm(free, d, yield_mpa, e_mpa, hardening)
        assert again == pytest.approx(tube, rel=1e-9, abs=1e-9)


@given(diameters, yields, moduli, hardenings, st.floats(-1.0, 7.0))
def test_wanted_radius_and_back(
    d: float, yield_mpa: float, e_mpa: float, hardening: float, exponent: float
) -> None:
    # Negative tubes included: they say how much too tight a bend is, and the formula still closes.
    wanted = d * 10.0**exponent
    tube = tube_radius_mm(wanted, d, yield_mpa, e_mpa, hardening)
    assert free_radius_mm(tube, d, yield_mpa, e_mpa, hardening) == pytest.approx(wanted, rel=1e-6)


@given(diameters, yields, moduli)
def test_wider_tubes_leave_wider_bends_and_always_spring_open(
    d: float, yield_mpa: float, e_mpa: float
) -> None:
    straight = e_mpa * d / (2 * yield_mpa) - d / 2
    tube = np.linspace(0, 0.999 * straight, 300)
    free = free_radius_mm(tube, d, yield_mpa, e_mpa)
    assert (free > tube + d / 2).all()
    assert (np.diff(free) > 0).all()


@given(diameters, yields, moduli)
def test_a_tube_beyond_the_elastic_limit_leaves_the_wire_straight(
    d: float, yield_mpa: float, e_mpa: float
) -> None:
    straight = e_mpa * d / (2 * yield_mpa) - d / 2
    assert (free_radius_mm(straight * np.array([1.0000001, 2, 1e6]), d, yield_mpa, e_mpa) == np.inf).all()


@given(diameters, yields, moduli)
def test_a_very_large_ring_behaves_as_a_straight_wire(d: float, yield_mpa: float, e_mpa: float) -> None:
    straight = e_mpa * d / (2 * yield_mpa) - d / 2
    tube = tube_radius_mm([1e6 * d, 1e12 * d, 1e300, np.inf], d, yield_mpa, e_mpa)
    assert (np.diff(tube) >= -1e-9 * straight).all()
    assert tube[0] == pytest.approx(straight, rel=0.1)
    assert tube[1:] == pytest.approx(straight, rel=1e-3)
    assert tube[-1] == pytest.approx(straight, rel=2e-6)


@given(diameters, yields, moduli, st.floats(0.1, 10.0), st.floats(0.5, 100.0))
def test_scaling_form_and_wire_scales_the_tube(
    d: float, yield_mpa: float, e_mpa: float, scale: float, wanted: float
) -> None:
    tube = tube_radius_mm(wanted, d, yield_mpa, e_mpa)
    scaled = tube_radius_mm(wanted * scale, d * scale, yield_mpa, e_mpa)
    assert scaled == pytest.approx(tube * scale, rel=1e-9, abs=1e-9)
    # Only the quotient of yield and modulus matters.
    assert tube_radius_mm(wanted, d, 2 * yield_mpa, 2 * e_mpa) == pytest.approx(tube, rel=1e-9, abs=1e-9)


def test_dead_soft_wire_stays_where_it_is_put() -> None:
    # Sy/E tends to 0: free radius and tube differ by half the wire only.
    assert free_radius_mm(5.0, 1.0, 1e-9, 1e5) == pytest.approx(5.5, rel=1e-9)
    assert tube_radius_mm(5.5, 1.0, 1e-9, 1e5) == pytest.approx(5.0, rel=1e-9)


def test_a_bend_tighter_than_the_wire_asks_for_a_negative_tube() -> None:
    d, yield_mpa, e_mpa = 1.02, 300.0, 100_000.0
    tightest = free_radius_mm(0.0, d, yield_mpa, e_mpa)
    tube = tube_radius_mm(np.array([0.4, 0.9999 * tightest, 1.0001 * tightest]), d, yield_mpa, e_mpa)
    assert tube[0] < -0.1 and tube[1] < 0 < tube[2]


def test_hardening_multiplies_what_is_kept() -> None:
    free = free_radius_mm(5.0, 1.0, 300, 1e5)
    assert free_radius_mm(5.0, 1.0, 300, 1e5, 0.05) == pytest.approx(free / 0.95, rel=1e-12)


def test_kept_curvature_falls_from_all_to_none() -> None:
    for kept, elastic in ((curvature_kept_round, 1.0), (curvature_kept_rectangle, 0.5)):
        curve = kept(np.linspace(0, elastic, 1001))
        assert curve[0] == 1 and curve[-1] == 0
        assert (np.diff(curve) < 0).all()
        assert (kept(elastic * np.array([1.001, 5, np.inf])) == 0).all()


def test_kept_curvature_keeps_its_digits_near_the_elastic_limit() -> None:
    # Series at u = cos(theta): k = (2/pi)(8/15) theta^5 (1 + ...), derived by expanding the closed form.
    theta = 1e-3
    assert curvature_kept_round(np.cos(theta)) == pytest.approx(16 / (15 * np.pi) * theta**5, rel=1e-5)


def test_moment_is_continuous_and_falls_with_the_radius() -> None:
    moment = moment_ratio(np.linspace(0, 3, 3001))
    assert (np.diff(moment) <= 0).all()
    assert abs(np.diff(moment)).max() < 1e-3
    assert moment_ratio(np.inf) == 0


def test_broadcasts() -> None:
    tube = tube_radius_mm(np.array([[3.0], [5.0]]), 1.02, np.array([100.0, 200.0, 300.0]), 1e5)
    assert tube.shape == (2, 3)
    assert tube[1, 2] == pytest.approx(tube_radius_mm(5.0, 1.02, 300.0, 1e5), rel=1e-12)
    for number in (
        tube_radius_mm(5.0, 1.02, 300.0, 1e5),
        free_radius_mm(5.0, 1.02, 300.0, 1e5),
        moment_ratio(0.3),
        curvature_kept_round(0.3),
        curvature_kept_rectangle(0.3),
    ):
        assert isinstance(number, np.float64)
    assert tube_radius_mm(np.array([]), 1.02, 300.0, 1e5).shape == (0,)


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ((0.0, 1.0, 300.0, 1e5), "bend radius"),
        ((np.nan, 1.0, 300.0, 1e5), "bend radius"),
        ((5.0, 0.0, 300.0, 1e5), "wire diameter"),
        ((5.0, 1.0, 0.0, 1e5), "yield strength"),
        ((5.0, 1.0, 300.0, -1.0), "modulus of elasticity"),
        ((5.0, 1.0, 300.0, 1e5, 1.0), "hardening ratio"),
        ((5.0, 1.0, 300.0, 1e5, -0.1), "hardening ratio"),
    ],
)
def test_tube_radius_refuses(arguments: tuple[float, ...], what: str) -> None:
    with pytest.raises(FormSketchError, match=f"^{what}: expected"):
        tube_radius_mm(*arguments)


def test_others_refuse() -> None:
    with pytest.raises(FormSketchError, match="bend radius"):
        free_radius_mm(-0.6, 1.0, 300.0, 1e5)
    with pytest.raises(FormSketchError, match="hardening ratio"):
        free_radius_mm(5.0, 1.0, 300.0, 1e5, 1.0)
    with pytest.raises(FormSketchError, match="bend radius"):
        loaded_ratio([1.0, -1.0], 1.0, 300.0, 1e5)
    with pytest.raises(FormSketchError, match="bend radius"):
        outer_fibre_strain(0.0, 1.0)
    for formula in (moment_ratio, curvature_kept_round, curvature_kept_rectangle):
        with pytest.raises(FormSketchError, match="bending load: expected a number of at least 0"):
            formula([0.1, -0.1])
