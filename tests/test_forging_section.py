"""Sections: what is refused, what broadcasts, how numbers scale."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.errors import FormSketchError
from formsketch.forging.section import (
    plastic_moduli_mm3,
    round_area_mm2,
    second_moments_mm4,
    stadium_area_mm2,
    stadium_perimeter_mm,
)

thicknesses = st.floats(0.05, 10.0)
aspects = st.floats(1.0, 20.0)
scales = st.floats(0.01, 100.0)

OF_A_STADIUM = [stadium_area_mm2, stadium_perimeter_mm, second_moments_mm4, plastic_moduli_mm3]


@pytest.mark.parametrize("formula", OF_A_STADIUM)
@pytest.mark.parametrize(
    ("width", "thickness", "what"),
    [(1.0, 0.0, "thickness"), (1.0, np.nan, "thickness"), (-1.0, 0.5, "width"), (0.5, 0.6, "width")],
)
def test_refuses(formula: Callable[..., object], width: float, thickness: float, what: str) -> None:
    with pytest.raises(FormSketchError, match=f"{what} of the section: expected"):
        formula([2.0, width], thickness)


def test_refuses_a_wire_without_thickness() -> None:
    with pytest.raises(FormSketchError, match="diameter: expected a number above 0, got -1"):
        round_area_mm2([1.0, -1.0])


def test_rounding_of_a_round_section_is_no_fault() -> None:
    assert stadium_area_mm2(1 - 1e-15, 1.0) == pytest.approx(np.pi / 4, rel=1e-14)


@pytest.mark.parametrize("formula", OF_A_STADIUM[:2])
def test_broadcasts(formula: Callable[..., np.ndarray]) -> None:
    width, thickness = np.array([[1.5], [2.0]]), np.array([0.3, 0.4, 0.5])
    table = formula(width, thickness)
    assert table.shape == (2, 3)
    assert table[1, 2] == formula(2.0, 0.5)
    assert isinstance(formula(2.0, 0.5), np.float64)


@given(thicknesses, aspects, scales)
def test_lengths_areas_and_moments_scale(thickness: float, aspect: float, scale: float) -> None:
    width = thickness * aspect
    big = (width * scale, thickness * scale)
    assert stadium_perimeter_mm(*big) == pytest.approx(
        stadium_perimeter_mm(width, thickness) * scale, rel=1e-9
    )
    assert stadium_area_mm2(*big) == pytest.approx(stadium_area_mm2(width, thickness) * scale**2, rel=1e-9)
    for power, moments in ((4, second_moments_mm4), (3, plastic_moduli_mm3)):
        expected = [value * scale**power for value in moments(width, thickness)]
        assert moments(*big) == pytest.approx(expected, rel=1e-9)


@given(thicknesses, aspects)
def test_between_the_rectangle_and_the_ellipse(thickness: float, aspect: float) -> None:
    # A stadium lies inside the rectangle around it and outside the ellipse in that rectangle.
    width = thickness * aspect
    slack = 1 + 1e-12
    area = stadium_area_mm2(width, thickness)
    assert np.pi / 4 * width * thickness <= area * slack <= width * thickness * slack**2
    weak, strong = second_moments_mm4(width, thickness)
    assert np.pi / 64 * width * thickness**3 <= weak * slack <= width * thickness**3 / 12 * slack**2
    assert np.pi / 64 * thickness * width**3 <= strong * slack <= thickness * width**3 / 12 * slack**2
    weak, strong = plastic_moduli_mm3(width, thickness)
    assert width * thickness**2 / 6 <= weak * slack <= width * thickness**2 / 4 * slack**2
    assert thickness * width**2 / 6 <= strong * slack <= thickness * width**2 / 4 * slack**2
