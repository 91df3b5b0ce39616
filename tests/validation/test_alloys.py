"""Density of an alloy by composition and by weighing, against published values and closed forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.bench.alloys import (
    PURE_METALS,
    density_from_parts,
    density_from_weighing,
    mass_fractions,
    water_density_g_per_cm3,
)
from formsketch.bench.metals import load_metals
from formsketch.errors import InputError
from tests.support.strategies import calm


@pytest.mark.parametrize(
    ("parts", "derived", "published", "within"),
    [
        ({"Ag": 925, "Cu": 75}, 10.357354, 10.36, 0.005),  # [D]; [P] sterling
        ({"Au": 750, "Ag": 125, "Cu": 125}, 15.459086, 15.4, 0.08),  # [D]; [M] 18k yellow
        ({"Au": 583, "Ag": 104, "Cu": 313}, 13.329206, 13.33, 0.005),  # [D]; [P] a worked example
        ({"Ag": 92.5, "Cu": 7.5}, 10.357354, 10.36, 0.005),  # the same in per cent
        ({"Pt": 950, "Ru": 50}, None, 20.7, 0.2),  # [M med] 950 platinum/ruthenium, trade data sheets
        ({"Cu": 900, "Sn": 100}, None, 8.78, 0.06),  # [M med] cast tin bronze, handbooks
    ],
)
def test_densities_by_composition(
    parts: dict[str, float], derived: float | None, published: float, within: float
) -> None:
    found = density_from_parts(parts)
    if derived is not None:
        assert found.density_g_per_cm3 == pytest.approx(derived, abs=5e-7)
    assert found.density_g_per_cm3 == pytest.approx(published, abs=within)
    assert found.low <= published <= found.high


def test_brass_is_said_to_read_low() -> None:
    # [P] C26000, 70 copper and 30 zinc, is 8.53; the rule gives 2.4 % less, and the band reaches it.
    found = density_from_parts({"Cu": 70, "Zn": 30})
    assert found.density_g_per_cm3 / 8.53 - 1 == pytest.approx(-0.024, abs=0.0005)
    assert found.low <= 8.53 <= found.high
    assert "prefer a published density" in found.remark
    assert density_from_parts({"Ag": 925, "Cu": 75}).remark == ""


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"Au": 750, "Ag": 125}, "add up to 875"),
        ({"Au": 75, "Ag": 12}, "add up to 87"),
        ({}, "add up to 0"),
        ({"Xx": 1000}, "one of Au"),
        ({"Au": -10, "Ag": 110}, "share of Au"),
        ({"Au": math.nan}, "share of Au"),
    ],
)
def test_shares_that_make_no_whole_are_refused(parts: dict[str, float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        density_from_parts(parts)


def test_shares_may_be_thousandths_or_per_cent() -> None:
    assert mass_fractions({"Au": 750, "Ag": 250, "Cu": 0}) == {"Au": 0.75, "Ag": 0.25}
    assert mass_fractions({"Au": 75, "Ag": 25}) == {"Au": 0.75, "Ag": 0.25}


@given(st.sampled_from(sorted(PURE_METALS)), st.sampled_from(sorted(PURE_METALS)), st.floats(0.0, 1.0))
@calm(80)
def test_a_mixture_lies_between_its_metals(one: str, other: str, share: float) -> None:
    # Limits: all of one metal is that metal; any mixture lies between the two.
    if one == other:
        return
    ends = sorted(PURE_METALS[each].density_g_per_cm3 for each in (one, other))
    found = density_from_parts({one: 1000 * share, other: 1000 * (1 - share)}).density_g_per_cm3
    assert ends[0] * (1 - 1e-12) <= found <= ends[1] * (1 + 1e-12)


def test_every_metal_says_where_its_density_is_from() -> None:
    # [M] Densities of the elements as handbooks round them, g/cm3 near 20 C.
    rounded = {"Au": 19.3, "Ag": 10.5, "Cu": 9.0, "Zn": 7.1, "Ni": 8.9, "Pd": 12.0, "Pt": 21.5, "Sn": 7.3}
    for symbol, density in rounded.items():
        assert PURE_METALS[symbol].density_g_per_cm3 == pytest.approx(density, abs=0.0501)
    for symbol, metal in PURE_METALS.items():
        assert metal.symbol == symbol and metal.source and metal.mark


@pytest.mark.parametrize(
    ("celsius", "kg_per_m3", "within"),
    [
        # [M hi] CRC Handbook, 'Standard density of water' (older table; the two agree to 0.004 kg/m3).
        (0.0, 999.8426, 0.004),
        (4.0, 999.9750, 0.004),
        (10.0, 999.7026, 0.004),
        (15.0, 999.1026, 0.004),
        (20.0, 998.2071, 0.004),
        (25.0, 997.0479, 0.004),
        (30.0, 995.6502, 0.004),
        (40.0, 992.2187, 0.008),
        # [P] Hydrostatic weighing of quartz spheres, 998.9468 +- 0.0006 at 16 C and 0.101325 MPa.
        (16.0, 998.9468, 0.004),
    ],
)
def test_density_of_water(celsius: float, kg_per_m3: float, within: float) -> None:
    assert 1000 * water_density_g_per_cm3(celsius) == pytest.approx(kg_per_m3, abs=within)


def test_water_by_another_published_formula() -> None:
    # [M hi] Kell, J. Chem. Eng. Data 20 (1975) 97-105, a rational polynomial, 0 to 40 C.
    top = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    for celsius in range(0, 41, 2):
        kell = sum(c * celsius**i for i, c in enumerate(top)) / (1 + 16.879850e-3 * celsius)
        assert 1000 * water_density_g_per_cm3(celsius) == pytest.approx(kell, abs=0.006)


@pytest.mark.parametrize("celsius", [-0.1, 40.1, math.nan])
def test_water_that_is_ice_or_hot_is_refused(celsius: float) -> None:
    with pytest.raises(InputError, match="from 0 to 40"):
        water_density_g_per_cm3(celsius)


@given(st.floats(2.0, 22.0), st.floats(0.5, 200.0), st.floats(5.0, 35.0))
@calm(80)
def test_weighing_gives_the_density_back(density: float, volume_cm3: float, celsius: float) -> None:
    # Archimedes' principle written out: each weight is the mass less the lift of what surrounds it. The
    # balance is set by steel weights of 8.0, which are lifted too; that cancels.
    steel = 1 - 0.0012 / 8.0
    in_air = (density - 0.0012) * volume_cm3 / steel
    in_water = (density - water_density_g_per_cm3(celsius)) * volume_cm3 / steel
    found = density_from_weighing(in_air, in_water, celsius, 0.0)
    assert found.density_g_per_cm3 == pytest.approx(density, rel=1e-9)
    assert found.low == found.high == found.density_g_per_cm3


def test_the_band_of_a_weighing_is_that_of_the_balance() -> None:
    # Derivatives by central differences; e/sqrt 3 a reading and 1.96 standard uncertainties (GUM [P]).
    def rho(air: float, water: float) -> float:
        return density_from_weighing(air, water, 20.0, 0.0).density_g_per_cm3

    air, water, step = 20.0, 18.1, 1e-5
    by_air = (rho(air + step, water) - rho(air - step, water)) / (2 * step)
    by_water = (rho(air, water + step) - rho(air, water - step)) / (2 * step)
    half = 1.95996 * 0.01 / math.sqrt(3) * math.hypot(by_air, by_water)
    found = density_from_weighing(air, water, 20.0, 0.01)
    assert found.high - found.density_g_per_cm3 == pytest.approx(half, rel=1e-4)
    assert found.remark == ""
    assert "small for this balance" in density_from_weighing(1.0, 0.905, 20.0, 0.01).remark


@pytest.mark.parametrize(
    ("air", "water", "said"),
    [
        (0.0, 0.0, "weight in air above 0"),
        (10.0, 10.0, "weigh less"),
        (10.0, 10.5, "weigh less"),
        (10.0, -1.0, "not less than nothing"),
        (math.nan, 1.0, "weight in air"),
        (10.0, 9.9, "g/cm³"),
    ],
)
def test_weights_that_cannot_be_are_explained(air: float, water: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        density_from_weighing(air, water, 20.0)


def test_a_balance_too_coarse_is_explained() -> None:
    with pytest.raises(InputError, match="weigh a larger piece"):
        density_from_weighing(0.1, 0.09, 20.0, 0.01)


def test_sterling_weighed_is_the_sterling_of_the_table() -> None:
    # [P] 10.36: 10.36 g of it is 1 cm3 and loses 0.9982067 g in water of 20 C, less the lift of the air.
    found = density_from_weighing(10.36 - 0.0012, 10.36 - 0.998207, 20.0)
    assert found.density_g_per_cm3 == pytest.approx(load_metals()["sterling-925"].density_g_per_cm3, abs=1e-4)
