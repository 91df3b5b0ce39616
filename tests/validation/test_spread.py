"""Hammering a round wire flat, against published laws, an independent root search and integrals.

[P] published, [M] published, quoted from memory, [D] derived and checked numerically by an independent route.
[D] values are checks on the code, not on the metal. They are given to eight decimals unless said.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.forging.flare import thickness_ratio
from formsketch.forging.spread import (
    area_ratio,
    bite_spread,
    elongation,
    equivalent_strain,
    equivalent_strip_reduction,
    footprint_mm,
    hammered_width_mm,
    least_thickness_ratio,
    rolled_width_mm,
    spread_from_sample,
    thickness_for_width_mm,
    thickness_ratio_at,
)

EIGHT_DECIMALS = {"rel": 1e-8, "abs": 6e-9}

# [D] t/d, S, w/d, A/d^2, elongation.
TABLE = [
    (0.8, 0.45, 1.07271529, 0.72082706, 1.08957919),
    (0.8, 0.60, 1.09550677, 0.73906024, 1.06269844),
    (0.8, 0.80, 1.12495241, 0.76261676, 1.02987268),
    (0.8, 1.00, 1.15342917, 0.78539816, 1.0),
    (0.6, 0.60, 1.25426299, 0.67530113, 1.16303398),
    (0.6, 0.80, 1.34440438, 0.72938596, 1.07679363),
    (0.5, 0.00, 1.00000000, 0.44634954, 1.75960339),
    (0.5, 0.30, 1.17835299, 0.53552604, 1.46659193),
    (0.5, 0.60, 1.37663150, 0.63466529, 1.23749979),
    (0.5, 0.80, 1.52160923, 0.70715416, 1.11064632),
    (0.5, 1.00, 1.67809725, 0.78539816, 1.0),
    (0.3, 0.60, 1.82038709, 0.52680196, 1.49087934),
    (0.3, 0.80, 2.21126404, 0.64406505, 1.21943920),
]


def stadium_area(w: float, t: float) -> float:
    return t * (w - t) + np.pi * t * t / 4


def width_by_bracketing(t: float, spread: float) -> float:
    """Independent: w of a wire d = 1 from ln w = S ln(h0 w/A) itself, by Brent's method on w."""
    widest = t + np.pi * (1 - t * t) / (4 * t)
    if t == 1.0 or spread == 0.0:
        return 1.0

    def excess(w: float) -> float:
        return np.log(w) - spread * np.log(np.pi / 4 * w / stadium_area(w, t))

    return brentq(excess, 1.0 - 1e-9, widest + 1e-9, xtol=1e-15, rtol=1e-14)


@pytest.mark.parametrize("diameter", [1.0, 1.290846])
@pytest.mark.parametrize(("t", "spread", "w", "area", "longer"), TABLE)
def test_table(t: float, spread: float, w: float, area: float, longer: float, diameter: float) -> None:
    # [D] w scales with d, A with d^2, the elongation not at all.
    width = hammered_width_mm(t * diameter, diameter, spread)
    assert width / diameter == pytest.approx(w, **EIGHT_DECIMALS)
    assert np.pi / 4 * area_ratio(width, t * diameter, diameter) == pytest.approx(area, **EIGHT_DECIMALS)
    assert elongation(width, t * diameter, diameter) == pytest.approx(longer, **EIGHT_DECIMALS)


def test_fixed_newton_steps_reach_rounding_everywhere() -> None:
    # Independent: scipy's brentq, over the whole range and well past the thinnest section that is accepted.
    thickness = np.concatenate([np.geomspace(0.02, 0.1, 8), np.linspace(0.1, 1.0, 61)])
    spread = np.linspace(0.0, 1.0, 41)
    expected = np.array([[width_by_bracketing(t, s) for s in spread] for t in thickness])
    width = hammered_width_mm(thickness[:, None], 1.0, spread)
    np.testing.assert_allclose(width, expected, rtol=1e-13)


def test_limits_are_exact() -> None:
    # [D] closed forms: S = 0 keeps the width, S = 1 the area, t >= d everything.
    d = 1.27
    t = np.linspace(0.1, 1.0, 37) * d
    assert (hammered_width_mm(t, d, 0.0) == d).all()
    np.testing.assert_allclose(
        hammered_width_mm(t, d, 1.0), t + np.pi * (d * d - t * t) / (4 * t), rtol=2e-15
    )
    thick = np.array([d, 1.0000001 * d, 2 * d])
    for spread in (0.0, 0.3, 0.8, 1.0):
        width = hammered_width_mm(thick, d, spread)
        assert (width == d).all()
        assert (elongation(width, thick, d) == 1.0).all()


def test_sample() -> None:
    # [D] a 1 mm wire hammered to 0.5 thick and 1.5 wide.
    assert spread_from_sample(1.0, 0.5, 1.5) == pytest.approx(0.7711333156, rel=1e-8)
    assert elongation(1.5, 0.5, 1.0) == pytest.approx(1.1278792005, rel=1e-8)
    assert hammered_width_mm(0.5, 1.0, 0.7711333156) == pytest.approx(1.5, rel=1e-9)


@pytest.mark.parametrize(("t", "spread", "w", "area", "longer"), TABLE)
def test_table_inverted(t: float, spread: float, w: float, area: float, longer: float) -> None:
    # [D] the same table read backwards; its eight decimals leave 4e-8 of the spread.
    if spread > 0:
        assert thickness_for_width_mm(w, 1.0, spread) == pytest.approx(t, rel=5e-8)
    assert spread_from_sample(1.0, t, w) == pytest.approx(spread, abs=5e-8)


def test_bite_spread() -> None:
    # [M hi] Tomlinson & Stringer, J. Iron Steel Inst. 193 (1959) 157-162.
    np.testing.assert_allclose(
        bite_spread([0.5, 1.0, 2.0, 3.0]), [0.30650, 0.44600, 0.64400, 0.73400], rtol=0, atol=5e-6
    )


def test_footprint_is_the_chord_of_the_face() -> None:
    # [D] chord of a circle of radius rho at depth delta, 2 sqrt(2 rho delta - delta^2).
    rho, delta = 50.0, np.array([0.001, 0.01, 0.1])
    np.testing.assert_allclose(footprint_mm(rho, delta), 2 * np.sqrt(2 * rho * delta - delta**2), rtol=6e-4)
    assert footprint_mm(50.0, 0.04) == 4.0


def test_rolling_law() -> None:
    # [M hi] Kazeminezhad & Karimi Taheri, Materials & Design 26 (2005) 99-103, by hand: at t/d = 2^-2 the
    # law reads 1.02 x 2^0.9; its logarithm has slope -0.45.
    assert rolled_width_mm(0.25, 1.0) == pytest.approx(1.02 * 1.8660659830736148, rel=1e-12)
    slope = np.diff(np.log(rolled_width_mm(np.array([0.3, 0.8]), 1.0))) / np.diff(np.log([0.3, 0.8]))
    assert slope == pytest.approx(-0.45, rel=1e-12)


def test_rolling_spread_follows_the_rolling_law() -> None:
    # [M hi] the law above; [D] spread 0.60 keeps within 4 % of it for t/d 0.3..0.8, while 0.45, the exponent
    # of another formula, reads 5-10 % narrow.
    t = np.linspace(0.3, 0.8, 51)
    off = hammered_width_mm(t, 1.0, 0.60) / rolled_width_mm(t, 1.0) - 1
    assert abs(off).max() < 0.04
    narrow = hammered_width_mm(t, 1.0, 0.45) / rolled_width_mm(t, 1.0) - 1
    assert narrow.max() == pytest.approx(-0.05, abs=0.005)
    assert narrow.min() == pytest.approx(-0.10, abs=0.005)


def test_flare_hammered_in_stock_length() -> None:
    # [D] t = d (1 - 0.5 sin^2(pi s/10)) over 10 mm of unhammered wire, by scipy quadrature.
    def longer(s: float, spread: float) -> float:
        thickness = thickness_ratio(s / 10, 0.5, 0.5, 0.0)
        return float(elongation(hammered_width_mm(thickness, 1.0, spread), thickness, 1.0))

    assert quad(longer, 0, 10, args=(0.6,), epsabs=1e-11)[0] == pytest.approx(11.00701845, **EIGHT_DECIMALS)
    assert quad(longer, 0, 10, args=(1.0,), epsabs=1e-11)[0] == pytest.approx(10.0, rel=1e-12)


def test_flare_drawn_in_finished_length() -> None:
    # [D] 10 mm finished, d 1, least thickness 0.5, centre 0.5, no hold, S 0.6. By Gauss-Legendre.
    nodes, weights = np.polynomial.legendre.leggauss(80)
    thickness = thickness_ratio((nodes + 1) / 2, 0.5, 0.5, 0.0)
    stock = 10 * weights / 2 @ area_ratio(hammered_width_mm(thickness, 1.0, 0.6), thickness, 1.0)
    assert stock == pytest.approx(9.13622559, **EIGHT_DECIMALS)


def test_equivalent_strip_reduction() -> None:
    # [D] S 0.6, per cent to four decimals.
    t = np.array([0.8, 0.6, 0.5, 0.4])
    reduction = equivalent_strip_reduction(hammered_width_mm(t, 1.0, 0.6), t, 1.0, 0.6)
    np.testing.assert_allclose(100 * reduction, [12.4128, 28.0477, 37.1504, 47.1569], rtol=0, atol=5.1e-5)


@pytest.mark.parametrize("spread", [0.0, 0.3, 0.6, 1.0])
def test_equivalent_strain_is_von_mises(spread: float) -> None:
    # [P] any plasticity text: sqrt(2/3 (e1^2 + e2^2 + e3^2)) of the strains in height, width and length, and
    # (2/sqrt 3) ln 1/(1 - r) for strip rolled without spreading.
    width = hammered_width_mm(0.5, 1.0, spread)
    area = stadium_area(float(width), 0.5)
    strains = np.log([area / width / (np.pi / 4), width, np.pi / 4 / area])
    assert strains.sum() == pytest.approx(0, abs=1e-14)
    strain = equivalent_strain(width, 0.5, 1.0, spread)
    assert strain == pytest.approx(np.sqrt(2 / 3 * (strains**2).sum()), rel=1e-12)
    reduction = equivalent_strip_reduction(width, 0.5, 1.0, spread)
    assert 2 / np.sqrt(3) * np.log(1 / (1 - reduction)) == pytest.approx(strain, rel=1e-12)


@pytest.mark.parametrize("spread", [0.0, 0.14, 0.6, 1.0])
def test_least_thickness(spread: float) -> None:
    # [P] width over thickness of flattened wire ends at about 15 (general encyclopedia, 'flattening').
    # Independent: bracketing the thickness at which the hammered section is 15 times as wide as thick.
    found = brentq(lambda t: width_by_bracketing(t, spread) / t - 15, 0.02, 0.9, xtol=1e-14)
    assert least_thickness_ratio(spread) == pytest.approx(found, rel=1e-9)


@pytest.mark.parametrize(("t", "spread", "w", "area", "longer"), TABLE)
def test_thickness_at_a_width_over_thickness(
    t: float, spread: float, w: float, area: float, longer: float
) -> None:
    # [D] the table again, read from its width over thickness.
    assert thickness_ratio_at(w / t, spread) == pytest.approx(t, rel=1e-8)
