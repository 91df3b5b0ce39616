"""Springback of a round wire, against stress integrated over the section and an independent root search.

[P] published, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.forging.springback import (
    LOSS_RATE,
    curvature_kept_rectangle,
    curvature_kept_round,
    free_radius_mm,
    loaded_ratio,
    moment_ratio,
    outer_fibre_strain,
    tube_radius_mm,
)

# [D] share of curvature kept.
KEPT = [(0.05, 0.9152234272), (0.1, 0.8310822790), (0.5, 0.2531699951), (1.0, 0.0)]

# [D] d 1.02 mm, E 100 GPa: yield MPa, tube radius mm, centreline radius after letting go.
FREE = [
    (200, 3, 3.59397494),
    (200, 5, 5.71976703),
    (200, 10, 11.29998788),
    (400, 3, 3.68201518),
    (400, 5, 5.94580836),
    (400, 10, 12.21333082),
]


def moment_by_integration(u: float, breadth, hardening: float = 0.0) -> float:
    """Moment over Sy of a section of half depth 1 held so that |y| = u yields: int sigma y b dy / Sy."""

    def stress(y: float) -> float:
        return y / u if y < u else 1 + hardening * (y / u - 1)

    parts = ((0.0, min(u, 1.0)), (min(u, 1.0), 1.0))
    return 2 * sum(quad(lambda y: stress(y) * y * breadth(y), *part, epsabs=1e-12)[0] for part in parts)


def round_breadth(y: float) -> float:
    return 2 * np.sqrt(1 - y * y)


@pytest.mark.parametrize("u", [0.01, 0.05, 0.3, 0.8, 1.0, 1.7])
def test_moment_against_integrated_stress(u: float) -> None:
    assert moment_ratio(u) == pytest.approx(moment_by_integration(u, round_breadth), rel=1e-8)


def test_moments_of_a_round_section() -> None:
    # [P] any strength-of-materials text: first yield pi d^3 Sy/32, full plastic d^3 Sy/6, their quotient the
    # shape factor 16/(3 pi) = 1.69765273.
    first_yield, full_plastic = np.pi * 2**3 / 32, 2**3 / 6
    assert moment_ratio(1.0) == pytest.approx(first_yield, rel=1e-12)
    assert moment_ratio(0.0) == pytest.approx(full_plastic, rel=1e-12)
    assert moment_ratio(0.0) / moment_ratio(1.0) == pytest.approx(1.69765273, rel=1e-8)
    assert pytest.approx(1.69765273, rel=1e-8) == LOSS_RATE


@pytest.mark.parametrize(("u", "kept"), KEPT)
def test_curvature_kept(u: float, kept: float) -> None:
    assert curvature_kept_round(u) == pytest.approx(kept, rel=1e-8, abs=1e-15)


@pytest.mark.parametrize("u", [0.02, 0.1, 0.4, 0.9])
def test_curvature_kept_against_integrated_stress(u: float) -> None:
    # Unloading is elastic: curvature falls by M/(E I). In units Sy = c = 1: 1/u - M/(pi/4) of 1/u is left.
    lost = moment_by_integration(u, round_breadth) / (np.pi / 4)
    assert curvature_kept_round(u) == pytest.approx(1 - u * lost, rel=1e-8)


@pytest.mark.parametrize("x", [0.01, 0.1, 0.3, 0.45])
def test_rectangle(x: float) -> None:
    # [P] Gardiner, Trans. ASME 79 (1957) 1-9: 4 X^3 - 3 X + 1; and integrated stress with u = 2 X, I = 2/3.
    assert curvature_kept_rectangle(x) == pytest.approx(4 * x**3 - 3 * x + 1, rel=1e-12)
    lost = moment_by_integration(2 * x, lambda y: 1.0) / (2 / 3)
    assert curvature_kept_rectangle(x) == pytest.approx(1 - 2 * x * lost, rel=1e-8)


@pytest.mark.parametrize(("yield_mpa", "tube", "free"), FREE)
def test_free_radius(yield_mpa: float, tube: float, free: float) -> None:
    assert free_radius_mm(tube, 1.02, yield_mpa, 100_000) == pytest.approx(free, rel=1e-8)


@pytest.mark.parametrize("hardening", [0.0, 0.02, 0.2])
def test_free_radius_against_integrated_stress(hardening: float) -> None:
    # [D] bilinear stress integrated over the section, curvature lowered by M/(E I).
    d, tube, yield_mpa, e_mpa = 1.3, 7.0, 350.0, 95_000.0
    c, held = d / 2, tube + d / 2
    u = yield_mpa * held / (e_mpa * c)
    moment = moment_by_integration(u, round_breadth, hardening) * yield_mpa * c**3
    curvature = 1 / held - moment / (e_mpa * np.pi * c**4 / 4)
    assert free_radius_mm(tube, d, yield_mpa, e_mpa, hardening) == pytest.approx(1 / curvature, rel=1e-8)


@pytest.mark.parametrize(("yield_mpa", "inside", "tube"), [(300, 5, 4.71275893), (400, 3, 2.84333482)])
def test_tube_for_a_wanted_inside_radius(yield_mpa: float, inside: float, tube: float) -> None:
    # [D] d 1.02, E 100 GPa.
    assert tube_radius_mm(inside + 0.51, 1.02, yield_mpa, 100_000) == pytest.approx(tube, rel=1e-8)


@pytest.mark.parametrize("wanted", [0.8, 2.0, 10.0, 60.0, 400.0, 1e5])
@pytest.mark.parametrize("yield_mpa", [60.0, 300.0, 595.0])
def test_tube_radius_against_bracketing(wanted: float, yield_mpa: float) -> None:
    # Independent: Brent's method on the closed form of the curvature kept, written out here.
    c, e_mpa = 0.51, 100_000.0

    def too_tight(held: float) -> float:
        u = yield_mpa * held / (e_mpa * c)
        kept = 1 - 2 / np.pi * (np.arcsin(u) + u * np.sqrt(1 - u * u) * (5 - 2 * u * u) / 3)
        return kept * wanted / held - 1

    held = brentq(too_tight, 1e-6, e_mpa * c / yield_mpa * (1 - 1e-12), xtol=1e-13, rtol=1e-13)
    assert tube_radius_mm(wanted, 2 * c, yield_mpa, e_mpa) == pytest.approx(held - c, rel=1e-8)


def test_yield_begins_where_the_outer_fibre_reaches_it() -> None:
    # [P] Hooke: at u = 1 the outer fibre strain d/(2 R) is the yield strain Sy/E; 2 d round a tube is 20 %.
    held = 0.51 * 100_000 / 300
    assert loaded_ratio(held, 1.02, 300, 100_000) == pytest.approx(1.0, rel=1e-12)
    assert outer_fibre_strain(held, 1.02) == pytest.approx(300 / 100_000, rel=1e-12)
    assert outer_fibre_strain(2.5, 1.0) == pytest.approx(0.2, rel=1e-12)
