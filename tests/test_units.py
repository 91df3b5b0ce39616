"""Conversions against the legal definitions, and numbers as people see them."""

import math

import pytest

from formsketch import units
from formsketch.errors import InputError


def test_an_inch_is_25_4_mm() -> None:
    # [P] International yard and pound agreement, 1959.
    assert units.mm_from_inch(1.0) == 25.4
    assert units.inch_from_mm(12.7) == pytest.approx(0.5, rel=1e-15)


def test_troy_units_follow_from_the_grain() -> None:
    # [P] The grain is 64.79891 mg (1959 agreement); 24 grains make a pennyweight, 480 a troy ounce.
    grain_g = 0.06479891
    assert pytest.approx(480 * grain_g, rel=1e-12) == units.GRAMS_PER_TROY_OUNCE
    assert pytest.approx(24 * grain_g, rel=1e-12) == units.GRAMS_PER_PENNYWEIGHT
    assert units.troy_ounce_from_g(31.1034768) == pytest.approx(1.0, rel=1e-15)
    assert units.pennyweight_from_g(31.1034768) == pytest.approx(20.0, rel=1e-15)


@pytest.mark.parametrize(
    ("length_mm", "text"),
    [
        (20.94, "20.94 mm"),
        (0.8118, "0.81 mm"),
        (0.0254, "0.025 mm"),
        (0.0, "0.00 mm"),
        (99.994, "99.99 mm"),
        (99.996, "100.0 mm"),  # never "100.00 mm": the decimals are those of the rounded number
        (250.0, "250.0 mm"),
        (-0.314, "−0.31 mm"),
        (-1e-9, "0.000 mm"),  # no negative zero
    ],
)
def test_lengths_as_people_see_them(length_mm: float, text: str) -> None:
    assert units.length_text(length_mm) == text


def test_differences_carry_their_sign() -> None:
    assert units.length_text(1.2, signed=True) == "+1.20 mm"
    assert units.length_text(0.0, signed=True) == "0.00 mm"
    assert units.weight_text(-0.25, signed=True) == "−0.25 g"
    assert units.percent_text(12.4, signed=True) == "+12 %"
    assert units.angle_text(30.0, signed=True) == "+30°"


def test_weights_angles_shares_and_ratios() -> None:
    assert units.weight_text(3.972) == "3.97 g"
    assert units.weight_text(0.0447) == "0.045 g"
    assert units.angle_text(240.0) == "240°"
    assert units.angle_text(-12.54) == "−12.5°"
    assert units.percent_text(9.94) == "9.9 %"
    assert units.percent_text(9.96) == "10 %"
    assert units.ratio_text(1.2374) == "1.24"
    assert units.ratio_text(12.37) == "12.4"


def test_a_band_is_small_text_or_nothing() -> None:
    assert units.band_text(1.0, 3.4, 2.2) == "± 1.2"
    assert units.band_text(1.8, 4.2, 2.2) == "+2.0 −0.4"
    assert units.band_text(2.2, 2.2, 2.2) == ""
    assert units.band_text(2.199, 2.201, 2.2) == ""
    assert units.band_text(0.3, 0.3, 0.1 + 0.2) == ""  # rounding in the last place is no slip
    with pytest.raises(InputError, match="outside its own band"):
        units.band_text(1.0, 2.0, 2.5)


@pytest.mark.parametrize(
    ("length_mm", "text"),
    [
        (11.1125, "7/16 in"),  # closed form: 7 x 25.4 / 16
        (11.1125 + 0.019, "7/16 in"),
        (11.1125 + 0.021, "0.44 in"),
        (31.75, "1 1/4 in"),
        (25.4, "1 in"),
        (11.0, "0.43 in"),
        (1.02, "0.040 in"),
        (0.01, "0.000 in"),
    ],
)
def test_fractions_of_an_inch(length_mm: float, text: str) -> None:
    assert units.inch_fraction_text(length_mm) == text


def test_only_the_denominators_asked_for_are_used() -> None:
    seven_64ths_mm = 25.4 * 7 / 64
    assert units.inch_fraction_text(seven_64ths_mm) == "7/64 in"
    assert units.inch_fraction_text(seven_64ths_mm, denominators=(2, 4, 8)) == "0.11 in"


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_not_shown(number: float) -> None:
    with pytest.raises(InputError, match="finite"):
        units.length_text(number)
    with pytest.raises(InputError, match="finite"):
        units.inch_fraction_text(number)
    with pytest.raises(InputError, match="finite"):
        units.band_text(0.0, number, 0.0)
