"""Hammering flat: limits, scaling, monotony, inverses and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.errors import FormSketchError
from formsketch.forging.section import round_area_mm2, stadium_area_mm2
from formsketch.forging.spread import (
    SampleError,
    area_ratio,
    bite_spread,
    check_sample,
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

diameters = st.floats(0.2, 8.0)
ratios = st.floats(0.05, 1.0)
spreads = st.floats(0.0, 1.0)
scales = st.floats(0.01, 100.0)


@given(diameters, ratios)
def test_spread_1_keeps_the_area_and_the_length(diameter: float, ratio: float) -> None:
    width = hammered_width_mm(ratio * diameter, diameter, 1.0)
    assert stadium_area_mm2(width, ratio * diameter) == pytest.approx(round_area_mm2(diameter), rel=1e-12)
    assert elongation(width, ratio * diameter, diameter) == pytest.approx(1, rel=1e-12)


@given(diameters, ratios)
def test_spread_0_keeps_the_width(diameter: float, ratio: float) -> None:
    assert hammered_width_mm(ratio * diameter, diameter, 0.0) == diameter


@given(diameters, st.floats(1.0, 3.0), spreads)
def test_unhammered_wire_is_unchanged(diameter: float, ratio: float, spread: float) -> None:
    thickness = ratio * diameter
    width = hammered_width_mm(thickness, diameter, spread)
    assert width == diameter
    assert elongation(width, thickness, diameter) == 1
    assert equivalent_strain(width, thickness, diameter, spread) == 0
    assert equivalent_strip_reduction(width, thickness, diameter, spread) == 0


@given(diameters, ratios, spreads)
def test_obeys_its_definition(diameter: float, ratio: float, spread: float) -> None:
    # ln(w/d) = S ln(h0/h) and A0/A = (h0/h)^(1 - S), with h = A/w written out.
    thickness = ratio * diameter
    width = hammered_width_mm(thickness, diameter, spread)
    mean_height = (thickness * (width - thickness) + np.pi * thickness**2 / 4) / width
    squeeze = np.log(np.pi * diameter / 4 / mean_height)
    assert np.log(width / diameter) == pytest.approx(spread * squeeze, abs=1e-12)
    longer = elongation(width, thickness, diameter)
    assert np.log(longer) == pytest.approx((1 - spread) * squeeze, abs=1e-12)
    assert longer * area_ratio(width, thickness, diameter) == pytest.approx(1, rel=1e-14)


@given(diameters, ratios, spreads, scales)
def test_scales_with_the_wire(diameter: float, ratio: float, spread: float, scale: float) -> None:
    width = hammered_width_mm(ratio * diameter, diameter, spread)
    scaled = hammered_width_mm(ratio * diameter * scale, diameter * scale, spread)
    assert scaled == pytest.approx(width * scale, rel=1e-12)


@given(spreads)
def test_thinner_is_wider_longer_and_harder(spread: float) -> None:
    thickness = np.linspace(1.0, 0.05, 200)
    width = hammered_width_mm(thickness, 1.0, spread)
    for quantity in (
        width,
        elongation(width, thickness, 1.0),
        equivalent_strain(width, thickness, 1.0, spread),
        equivalent_strip_reduction(width, thickness, 1.0, spread),
    ):
        assert np.diff(quantity).min() >= -1e-14


@given(ratios)
def test_more_spread_is_wider_and_shorter(ratio: float) -> None:
    width = hammered_width_mm(ratio, 1.0, np.linspace(0, 1, 101))
    assert np.diff(width).min() >= -1e-14
    assert np.diff(elongation(width, ratio, 1.0)).max() <= 1e-14


@given(diameters, ratios, st.floats(0.05, 1.0))
def test_width_to_thickness_and_back(diameter: float, ratio: float, spread: float) -> None:
    width = hammered_width_mm(ratio * diameter, diameter, spread)
    assert thickness_for_width_mm(width, diameter, spread) == pytest.approx(ratio * diameter, rel=1e-11)


@given(diameters, st.floats(0.05, 0.97), spreads)
def test_sample_gives_its_spread_back(diameter: float, ratio: float, spread: float) -> None:
    width = hammered_width_mm(ratio * diameter, diameter, spread)
    assert spread_from_sample(diameter, ratio * diameter, width) == pytest.approx(spread, abs=1e-11)


@given(st.floats(1.0, 30.0), spreads)
def test_thickness_at_a_width_over_thickness(aspect: float, spread: float) -> None:
    ratio = thickness_ratio_at(aspect, spread)
    assert hammered_width_mm(ratio, 1.0, spread) / ratio == pytest.approx(aspect, rel=1e-11)


def test_least_thickness_is_where_the_width_is_refused() -> None:
    assert isinstance(least_thickness_ratio(0.8), float)
    assert least_thickness_ratio(0.0) == pytest.approx(1 / 15)  # the width stays d


def test_broadcasts() -> None:
    thickness, spread = np.linspace(0.4, 1.2, 5), np.array([[0.0], [0.6], [1.0]])
    width = hammered_width_mm(thickness, 1.0, spread)
    assert width.shape == (3, 5)
    assert width[1, 2] == hammered_width_mm(thickness[2], 1.0, 0.6)
    assert elongation(width, thickness, 1.0).shape == (3, 5)
    assert isinstance(hammered_width_mm(0.5, 1, 0.6), np.float64)
    assert hammered_width_mm(np.array([]), 1.0, 0.6).shape == (0,)


@pytest.mark.parametrize(
    ("thickness", "diameter", "spread", "message"),
    [
        (0.0, 1.0, 0.6, "thickness: expected a number above 0, got 0"),
        (np.nan, 1.0, 0.6, "thickness: expected a number above 0, got nan"),
        (0.5, -1.0, 0.6, "wire diameter: expected a number above 0, got -1"),
        (0.5, 1.0, 1.2, "spread: expected a number from 0 to 1, got 1.2"),
        (0.5, 1.0, np.nan, "spread: expected a number from 0 to 1, got nan"),
    ],
)
def test_hammering_refuses(thickness: float, diameter: float, spread: float, message: str) -> None:
    with pytest.raises(FormSketchError, match=message):
        hammered_width_mm([0.7, thickness], diameter, spread)


def test_no_hammering_reaches_every_width() -> None:
    assert thickness_for_width_mm(1.0, 1.0, 0.0) == pytest.approx(1.0)
    with pytest.raises(FormSketchError, match="spread of 0 the wire never gets wider"):
        thickness_for_width_mm([1.0, 1.1], 1.0, 0.0)
    with pytest.raises(FormSketchError, match="expected at least the wire's diameter"):
        thickness_for_width_mm(0.9, 1.0, 0.5)
    with pytest.raises(FormSketchError, match="a width this wire can reach"):
        thickness_for_width_mm(2.0, 1.0, 1e-4)


@pytest.mark.parametrize(
    ("diameter", "thickness", "width", "reason"),
    [
        (1.0, 1.0, 1.0, "expected it thinner than the 1 mm wire .*, got 1 mm; nothing has been hammered"),
        (1.0, 1.2, 1.0, "nothing has been hammered"),
        (
            1.0,
            0.5,
            0.9,
            "0.9 mm is narrower than the 1 mm wire .*metal is missing; expected a width from 1 to",
        ),
        (1.0, 0.5, 1.7, "1.7 mm is wider than the metal allows .* can be 1.678 mm wide at most"),
    ],
)
def test_a_mistaken_sample_is_explained(diameter: float, thickness: float, width: float, reason: str) -> None:
    with pytest.raises(SampleError, match=f"^hammered sample: .*{reason}") as caught:
        check_sample([2.0, diameter], [1.0, thickness], [3.0, width])
    assert "\n" not in str(caught.value)
    with pytest.raises(SampleError):
        spread_from_sample(diameter, thickness, width)


@pytest.mark.parametrize("sizes", [(np.nan, 0.5, 1.5), (1.0, -0.5, 1.5), (1.0, 0.5, 0.0)])
def test_a_sample_needs_sizes(sizes: tuple[float, float, float]) -> None:
    with pytest.raises(FormSketchError, match=r"^sample (diameter|thickness|width): expected"):
        spread_from_sample(*sizes)


def test_a_sample_at_the_limits_gives_the_limits() -> None:
    widest = 0.5 + np.pi * 0.75 / 2
    assert spread_from_sample(1.0, 0.5, [1.0, widest * (1 + 1e-8)]).tolist() == [0.0, 1.0]


@pytest.mark.parametrize("bite", [0.24, 3.4, np.nan])
def test_bite_outside_the_tests_it_comes_from(bite: float) -> None:
    with pytest.raises(FormSketchError, match=r"bite length over width: expected 0\.25 to 3\.33"):
        bite_spread([1.0, bite])


def test_bites_within_range_give_a_rising_spread() -> None:
    spread = bite_spread(np.linspace(0.25, 3.33, 50))
    assert (np.diff(spread) > 0).all() and spread[0] > 0 and spread[-1] < 1


def test_footprint_and_rolled_width_refuse() -> None:
    with pytest.raises(FormSketchError, match="face radius"):
        footprint_mm(0.0, 0.1)
    with pytest.raises(FormSketchError, match="thickness of rolled wire"):
        rolled_width_mm([0.5, 1.0], 1.0)
