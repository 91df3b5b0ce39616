"""Wire gauges against the standards as printed and against an independent library.

[P] ASTM B258, Standard Nominal Diameters and Cross-Sectional Areas of AWG Sizes: diameters in mils, and
    weights of copper wire at density 8.89. The standard computes weights from diameters rounded to
    0.1 mil, hence 2 parts in 10 000.
[P] BS 3737:1964, British Standard wire gauge.
The package fluids carries both tables (in metres); its gauge BSWG is the British one.
"""

import math
from itertools import pairwise

import pytest
from fluids import piping

from formsketch.bench.gauges import awg_diameter_mm, awg_number, gauge_number, swg_diameter_mm

# fmt: off
B258_MILS = {
    "0000": 460.0, "000": 409.6, "00": 364.8, "0": 324.9, "1": 289.3, "2": 257.6, "4": 204.3, "6": 162.0,
    "8": 128.5, "10": 101.9, "12": 80.8, "14": 64.1, "16": 50.8, "18": 40.3, "20": 32.0, "22": 25.3,
    "24": 20.1, "26": 15.9, "28": 12.6, "30": 10.0, "36": 5.0,
}
B258_COPPER_LB_PER_1000_FT = {
    "0000": 640.5, "00": 402.8, "0": 319.5, "2": 200.9, "6": 79.46, "8": 49.98, "10": 31.43, "14": 12.43,
}
# fmt: on
# How fluids writes the sizes thicker than No. 0: 0.5 stands for 2/0, 0.333 for 3/0 and so on.
OVER_ZERO = {0.5: -1, 0.33: -2, 0.25: -3, 0.2: -4, 0.167: -5, 0.143: -6}


@pytest.mark.parametrize(("gauge", "mils"), B258_MILS.items())
def test_awg_diameters_as_printed(gauge: str, mils: float) -> None:
    assert awg_diameter_mm(gauge_number(gauge)) / 0.0254 == pytest.approx(mils, abs=0.05)


@pytest.mark.parametrize(("gauge", "pounds"), B258_COPPER_LB_PER_1000_FT.items())
def test_copper_weights_as_printed(gauge: str, pounds: float) -> None:
    diameter_cm = awg_diameter_mm(gauge_number(gauge)) / 10
    length_cm = 1000 * 12 * 2.54
    weight_g = math.pi / 4 * diameter_cm**2 * length_cm * 8.89
    assert weight_g / 453.59237 == pytest.approx(pounds, rel=2e-4)


def test_awg_rests_on_two_sizes_39_equal_ratios_apart() -> None:
    # [P] ASTM B258: No. 36 is 0.005 in, No. 0000 is 0.460 in.
    assert awg_diameter_mm(36) == pytest.approx(0.127, rel=1e-14)
    assert awg_diameter_mm(-3) == pytest.approx(11.684, rel=1e-14)
    ratios = [awg_diameter_mm(number) / awg_diameter_mm(number + 1) for number in range(-3, 36)]
    assert ratios == pytest.approx([92 ** (1 / 39)] * 39, rel=1e-13)


@pytest.mark.parametrize("number", [-3.0, 0.0, 7.5, 16.0, 20.0, 40.0])
def test_awg_number_undoes_the_diameter(number: float) -> None:
    assert awg_number(awg_diameter_mm(number)) == pytest.approx(number, abs=1e-12)


def test_awg_agrees_with_fluids() -> None:
    schedule_gauges, schedule_inch = piping.wire_schedules["AWG"][:2]
    assert len(schedule_gauges) == 56
    for gauge, inch in zip(schedule_gauges, schedule_inch, strict=True):
        number = OVER_ZERO.get(gauge, gauge)
        # Four decimals are given, then five; 38 AWG (0.003965 in) has its last one cut off, not rounded.
        rounding_inch = 0.000051 if number <= 30 else 0.00001
        assert awg_diameter_mm(number) / 25.4 == pytest.approx(inch, abs=rounding_inch), number


def test_swg_agrees_with_fluids() -> None:
    schedule_gauges, _, schedule_m = piping.wire_schedules["BSWG"][:3]
    assert len(schedule_gauges) == 57
    for gauge, diameter_m in zip(schedule_gauges, schedule_m, strict=True):
        number = OVER_ZERO.get(gauge, gauge)
        # fluids has No. 28 as 0.0149 in; BS 3737 as printed has 0.0148.
        slack_mm = 0.00255 if number == 28 else 1e-9
        assert swg_diameter_mm(int(number)) == pytest.approx(diameter_m * 1000, abs=slack_mm), number


@pytest.mark.parametrize(
    ("number", "diameter_mm"),
    [(-6, 12.7), (12, 2.6416), (16, 1.6256), (18, 1.2192), (20, 0.9144), (50, 0.0254)],
)
def test_swg_as_printed(number: int, diameter_mm: float) -> None:
    assert swg_diameter_mm(number) == pytest.approx(diameter_mm, abs=1e-9)


def test_swg_28_as_printed() -> None:
    assert swg_diameter_mm(28) == pytest.approx(0.0148 * 25.4, rel=1e-12)


def test_swg_has_every_number_and_only_falls() -> None:
    diameters = [swg_diameter_mm(number) for number in range(-6, 51)]
    assert all(thick > thin for thick, thin in pairwise(diameters))
