"""Stadium sections against integrals over the width, polygons and textbook rounds.

[P] published, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from shapely import LineString

from formsketch.forging.section import (
    plastic_moduli_mm3,
    round_area_mm2,
    second_moments_mm4,
    stadium_area_mm2,
    stadium_perimeter_mm,
)

SECTIONS = [(1.5, 0.5), (1.0, 1.0), (2.2, 0.3), (6.0, 0.4)]


def breadth_across(z: float, width: float, thickness: float) -> float:
    """Width of the stadium at the height z above its middle plane."""
    return width - thickness + 2 * np.sqrt(max(thickness**2 / 4 - z**2, 0.0))


def breadth_along(y: float, width: float, thickness: float) -> float:
    """Thickness of the stadium at the distance y from its middle, along its width."""
    past_flat = max(abs(y) - (width - thickness) / 2, 0.0)
    return 2 * np.sqrt(max(thickness**2 / 4 - past_flat**2, 0.0))


def over_section(weight, breadth, half: float, width: float, thickness: float) -> float:
    """Twice the integral over the half section from 0 to `half`, split where the round edge begins."""
    kink = max((width - thickness) / 2, 0.0) if breadth is breadth_along else 0.0
    return 2 * sum(
        quad(lambda x: weight(x) * breadth(x, width, thickness), low, high, epsabs=1e-13, epsrel=1e-12)[0]
        for low, high in ((0.0, kink), (kink, half))
    )


def test_section_1_5_by_0_5() -> None:
    # [D] closed forms of the stadium w 1.5, t 0.5.
    assert stadium_area_mm2(1.5, 0.5) == pytest.approx(0.6963495408, rel=1e-8)
    assert second_moments_mm4(1.5, 0.5) == pytest.approx((0.0134846282, 0.1146553468), rel=1e-8)
    assert plastic_moduli_mm3(1.5, 0.5) == pytest.approx((0.0833333333, 0.2440081038), rel=1e-8)


@pytest.mark.parametrize(("width", "thickness"), SECTIONS)
def test_against_integrals_over_the_section(width: float, thickness: float) -> None:
    # Independent: scipy quadrature of the definitions int b dx, int x^2 b dx, int |x| b dx.
    weak, strong = (breadth_across, thickness / 2), (breadth_along, width / 2)
    for axis, (breadth, half) in enumerate((weak, strong)):
        area = over_section(lambda x: 1.0, breadth, half, width, thickness)
        second = over_section(lambda x: x * x, breadth, half, width, thickness)
        plastic = over_section(abs, breadth, half, width, thickness)
        assert stadium_area_mm2(width, thickness) == pytest.approx(area, rel=1e-8)
        assert second_moments_mm4(width, thickness)[axis] == pytest.approx(second, rel=1e-8)
        assert plastic_moduli_mm3(width, thickness)[axis] == pytest.approx(plastic, rel=1e-8)


@pytest.mark.parametrize(("width", "thickness"), SECTIONS[:1] + SECTIONS[2:])
def test_against_a_polygon(width: float, thickness: float) -> None:
    # Independent: shapely's buffer of a line is the stadium, drawn with 4 x 500 sides (short by 1.7e-6).
    flat = LineString([(0, 0), (width - thickness, 0)])
    polygon = flat.buffer(thickness / 2, quad_segs=500)
    assert stadium_area_mm2(width, thickness) == pytest.approx(polygon.area, rel=2e-6)
    assert stadium_perimeter_mm(width, thickness) == pytest.approx(polygon.length, rel=2e-6)


def test_round_wire_is_the_textbook_round() -> None:
    # [P] any strength-of-materials text: A = pi d^2/4, I = pi d^4/64, Z plastic = d^3/6, girth pi d.
    d = np.array([0.51, 1.0, 3.2])
    np.testing.assert_allclose(round_area_mm2(d), np.pi * d**2 / 4, rtol=1e-14)
    np.testing.assert_allclose(stadium_area_mm2(d, d), np.pi * d**2 / 4, rtol=1e-14)
    np.testing.assert_allclose(stadium_perimeter_mm(d, d), np.pi * d, rtol=1e-14)
    for second in second_moments_mm4(d, d):
        np.testing.assert_allclose(second, np.pi * d**4 / 64, rtol=1e-14)
    for plastic in plastic_moduli_mm3(d, d):
        np.testing.assert_allclose(plastic, d**3 / 6, rtol=1e-14)


def test_thin_band_is_the_textbook_rectangle() -> None:
    # [P] any strength-of-materials text: I = b h^3/12, Z plastic = b h^2/4; round edges vanish as w/t grows.
    w, t = 1000.0, 0.1
    assert stadium_area_mm2(w, t) == pytest.approx(w * t, rel=1e-3)
    assert second_moments_mm4(w, t) == pytest.approx((w * t**3 / 12, t * w**3 / 12), rel=1e-3)
    assert plastic_moduli_mm3(w, t) == pytest.approx((w * t**2 / 4, t * w**2 / 4), rel=1e-3)
