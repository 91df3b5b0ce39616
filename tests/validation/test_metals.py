"""Metals against published data.

[P] Mill data sheet for C26000 strip to ASTM B36: tempers, tensile and yield strength.
[P] Copper Development Association, cold-rolled tempers of C26000: nominal reduction, typical strength.
[P] Trade charts for silver: reduction in area of wire and of sheet, and Vickers hardness, by temper.
[P] Wire and sheet data for sterling: density 10.36, soft 124/207 MPa.
[D] Mixture densities and wire weights: derived, checked numerically.
"""

import math
from fractions import Fraction

import pytest

from formsketch.bench.alloys import mixture_density_g_per_cm3
from formsketch.bench.metals import ASSUMED_E_GPA, load_metals, temper_at
from formsketch.bench.tempers import TEMPERS, strip_reduction_percent, wire_reduction_percent

METALS = load_metals()
MPA_PER_KSI = 6.894757

# Temper, strip reduction %, tensile strength low and high, yield strength, MPa [P mill data, ASTM B36].
C26000_STRIP = [
    ("soft", 0.0, 310, 420, 145),
    ("quarter hard", 10.9, 340, 405, 230),
    ("half hard", 20.7, 395, 460, 350),
    ("three-quarter hard", 29.4, 440, 510, 425),
    ("hard", 37.1, 490, 560, 495),
    ("extra hard", 50.0, 570, 635, 570),
    ("spring", 60.5, 625, 690, 595),
    ("extra spring", 68.7, 655, 755, 615),
]


@pytest.mark.parametrize(("name", "reduction", "low", "high", "yield_mpa"), C26000_STRIP)
def test_c26000_tempers(name: str, reduction: float, low: float, high: float, yield_mpa: float) -> None:
    temper = temper_at(METALS["brass-c26000"], reduction)
    assert temper.name == name
    assert temper.yield_mpa == pytest.approx(yield_mpa)
    assert temper.strength_mpa == pytest.approx((low + high) / 2)
    assert not temper.beyond_table


@pytest.mark.parametrize(
    ("reduction", "tensile_ksi"), [(11, 54), (21, 62), (37, 76), (50, 86), (60, 94)]
)  # [P] Copper Development Association
def test_c26000_against_a_second_publisher(reduction: float, tensile_ksi: float) -> None:
    temper = temper_at(METALS["brass-c26000"], reduction)
    assert temper.strength_mpa == pytest.approx(tensile_ksi * MPA_PER_KSI, rel=0.02)


@pytest.mark.parametrize(
    ("numbers", "percent"), [(1, 10.9), (2, 20.7), (3, 29.4), (4, 37.1), (6, 50.0), (8, 60.5), (10, 68.7)]
)  # [P] ASTM B36 practice
def test_strip_reductions_of_the_tempers(numbers: int, percent: float) -> None:
    # As printed 6 numbers take off half, which is rounded further than the rest.
    assert strip_reduction_percent(numbers) == pytest.approx(percent, abs=0.13)


@pytest.mark.parametrize(
    ("numbers", "wire_percent", "sheet_percent"),
    [(1, 21, 11), (2, 37, 21), (3, 50, 29), (4, 60, 37), (8, 84, 60)],
)  # [P] trade chart for silver
def test_wire_and_sheet_reductions_of_the_trade(
    numbers: int, wire_percent: float, sheet_percent: float
) -> None:
    assert wire_reduction_percent(numbers) == pytest.approx(wire_percent, abs=0.5)
    assert strip_reduction_percent(numbers) == pytest.approx(sheet_percent, abs=0.6)


def test_drawing_wire_follows_the_gauge_itself() -> None:
    # Closed form: area after n numbers is the square of the ratio of the diameters, ASTM B258.
    thick, thin = 0.005 * 92 ** ((36 - 12) / 39), 0.005 * 92 ** ((36 - 16) / 39)
    assert wire_reduction_percent(4) == pytest.approx(100 * (1 - (thin / thick) ** 2), rel=1e-12)
    assert strip_reduction_percent(4) == pytest.approx(100 * (1 - thin / thick), rel=1e-12)


@pytest.mark.parametrize(
    ("sheet_percent", "low_hv", "high_hv"),
    [(11, 78, 88), (21, 90, 100), (29, 102, 114), (37, 116, 130), (60, 132, 148)],
)  # [P] trade chart for sterling sheet, quarter hard to spring
def test_sterling_hardness_lies_in_the_trade_chart(
    sheet_percent: float, low_hv: float, high_hv: float
) -> None:
    hardness_hv = temper_at(METALS["sterling-925"], sheet_percent).hardness_hv
    assert hardness_hv is not None
    assert low_hv <= hardness_hv <= high_hv


def test_named_worked_rows_stand_at_the_reduction_of_their_temper() -> None:
    numbers = dict(TEMPERS)
    named = [row for metal in METALS.values() for row in metal.worked if row.name in numbers]
    assert len(named) >= 20
    for row in named:
        assert row.reduction_percent == pytest.approx(strip_reduction_percent(numbers[row.name]), abs=0.13)


@pytest.mark.parametrize(
    ("key", "density", "e_gpa", "soft_yield"),
    [
        ("brass-c26000", 8.53, 110.0, 134.0),  # [P] soft wire 110 to 158 MPa
        ("red-brass-c22000", 8.80, 117.0, 85.0),  # [P] mill data, ASTM B36
        ("copper-c11000", 8.94, 115.0, 70.0),  # [P]
        ("nickel-silver-c75200", 8.73, 125.0, 170.0),  # [M]
        ("sterling-925", 10.36, 79.0, 124.0),  # [P] technical data for sterling
        ("fine-silver", 10.49, 77.0, 55.0),  # [P/M]
        ("gold-14k-yellow-us", 13.07, 95.0, 315.0),  # [P/M] trade data
        ("gold-585-yellow", 14.1, 95.0, 315.0),  # [P/M]
        ("gold-18k-yellow", 15.4, 92.5, 325.0),  # [M]
        ("gold-18k-rose", 14.9, 92.5, 360.0),  # [P]
        ("gold-22k", 17.6, 82.0, None),  # [P] yield not given
    ],
)
def test_soft_metal_as_published(key: str, density: float, e_gpa: float, soft_yield: float | None) -> None:
    metal = METALS[key]
    assert metal.density_g_per_cm3 == density
    assert metal.e_mid_gpa == pytest.approx(e_gpa)
    assert metal.soft_yield_mid_mpa == (None if soft_yield is None else pytest.approx(soft_yield))


def test_an_assumed_stiffness_spans_the_table() -> None:
    lowest = min(metal.e_low_gpa for metal in METALS.values())
    highest = max(metal.e_high_gpa for metal in METALS.values())
    assert (lowest, highest) == ASSUMED_E_GPA


@pytest.mark.parametrize(
    ("mass_fractions", "derived", "published", "error_percent"),
    [
        ({"Ag": 0.925, "Cu": 0.075}, 10.357354, 10.36, 0.05),  # [D], [P] sterling
        ({"Au": 0.75, "Ag": 0.125, "Cu": 0.125}, 15.459086, 15.4, 0.5),  # [D], [P] 18k yellow
        ({"Au": 0.583, "Ag": 0.104, "Cu": 0.313}, 13.329206, 13.33, 0.02),  # [D], [P] worked example
    ],
)
def test_mixture_densities(
    mass_fractions: dict[str, float], derived: float, published: float, error_percent: float
) -> None:
    density = mixture_density_g_per_cm3(mass_fractions)
    assert density == pytest.approx(derived, abs=5e-7)
    assert density == pytest.approx(published, rel=error_percent / 100)


def test_mixture_density_by_exact_fractions() -> None:
    # Closed form in rational arithmetic: 1 kg of the alloy over the sum of the volumes.
    pure = {"Au": Fraction("19.32"), "Ag": Fraction("10.49"), "Cu": Fraction("8.96"), "Zn": Fraction("7.14")}
    shares = {
        "Au": Fraction(583, 1000),
        "Ag": Fraction(40, 1000),
        "Cu": Fraction(310, 1000),
        "Zn": Fraction(67, 1000),
    }
    volume = sum((share / pure[element] for element, share in shares.items()), Fraction(0))
    density = mixture_density_g_per_cm3({element: float(share) for element, share in shares.items()})
    assert density == pytest.approx(float(1 / volume), rel=1e-8)


def test_a_mixture_reads_low_for_brass() -> None:
    # [P] C26000 is 8.53; volumes do not add up when copper takes in zinc.
    mixed = mixture_density_g_per_cm3({"Cu": 0.7, "Zn": 0.3})
    assert mixed / METALS["brass-c26000"].density_g_per_cm3 - 1 == pytest.approx(-0.024, abs=0.0005)


@pytest.mark.parametrize(
    ("key", "mass_fractions"),
    [
        ("gold-585-yellow", {"Au": 0.585, "Ag": 0.305, "Cu": 0.11}),
        ("gold-18k-yellow", {"Au": 0.75, "Ag": 0.125, "Cu": 0.125}),
        ("gold-22k", {"Au": 0.917, "Ag": 0.0415, "Cu": 0.0415}),
    ],
)
def test_gold_densities_lie_within_two_percent_of_the_mixture(
    key: str, mass_fractions: dict[str, float]
) -> None:
    # [D] The band within which gold weights are quoted.
    expected = mixture_density_g_per_cm3(mass_fractions)
    assert METALS[key].density_g_per_cm3 == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize(
    ("key", "weight_g"),
    [("brass-c26000", 0.69701040), ("sterling-925", 0.84654487), ("gold-14k-yellow-us", 1.06798662)],
)  # [D]
def test_weight_of_100_mm_of_wire(key: str, weight_g: float) -> None:
    volume_cm3 = math.pi / 4 * 0.102**2 * 10.0
    assert volume_cm3 * METALS[key].density_g_per_cm3 == pytest.approx(weight_g, abs=5e-9)
