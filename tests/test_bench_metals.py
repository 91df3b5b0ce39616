"""How the table of metals is read between its rows; its values are checked in validation/test_metals.py."""

import math
from dataclasses import dataclass

import pytest

from formsketch.bench.alloys import mixture_density_g_per_cm3
from formsketch.bench.metals import (
    ASSUMED_E_GPA,
    Metal,
    WorkedRow,
    load_metals,
    metal_from_own,
    temper_at,
)
from formsketch.bench.tempers import temper_name
from formsketch.errors import InputError


@dataclass(frozen=True)
class _Own:
    key: str = "own"
    name: str = "Studio bronze"
    density_g_per_cm3: float = 8.7
    yield_mpa: float | None = None
    e_gpa: float | None = None
    nickel: bool = False
    zinc: bool = False


def _metal(*worked: WorkedRow, soft_yield: float | None = 100.0) -> Metal:
    return Metal(
        key="test",
        name="Test",
        density_g_per_cm3=9.0,
        e_low_gpa=100.0,
        e_high_gpa=120.0,
        soft_yield_low_mpa=soft_yield,
        soft_yield_high_mpa=soft_yield,
        nickel=False,
        zinc=False,
        worked=worked,
    )


def test_between_rows_a_quantity_runs_straight() -> None:
    metal = _metal(WorkedRow("half hard", 20.0, yield_mpa=300.0), WorkedRow("hard", 40.0, yield_mpa=400.0))
    assert temper_at(metal, 0.0).yield_mpa == 100.0
    assert temper_at(metal, 10.0).yield_mpa == pytest.approx(200.0)  # halfway from soft to the first row
    assert temper_at(metal, 25.0).yield_mpa == pytest.approx(325.0)
    assert temper_at(metal, 40.0).yield_mpa == pytest.approx(400.0)


def test_past_the_last_row_its_values_stand_and_are_marked() -> None:
    metal = _metal(WorkedRow("hard", 40.0, yield_mpa=400.0, hardness_hv=150.0))
    past = temper_at(metal, 60.0)
    assert (past.yield_mpa, past.hardness_hv, past.beyond_table) == (400.0, 150.0, True)
    assert not temper_at(metal, 40.0).beyond_table


def test_what_the_table_does_not_say_stays_unknown() -> None:
    metal = _metal(WorkedRow("worked 70 %", 70.0, hardness_hv=235.0))
    assert temper_at(metal, 0.0).yield_mpa == 100.0
    assert temper_at(metal, 30.0).yield_mpa is None  # soft alone says nothing about worked metal
    assert temper_at(metal, 30.0).hardness_hv is None  # nothing known below 70 %
    assert temper_at(metal, 70.0).hardness_hv == 235.0
    assert temper_at(_metal(soft_yield=None), 0.0).yield_mpa is None


def test_a_soft_row_goes_before_the_soft_values() -> None:
    metal = _metal(WorkedRow("soft", 0.0, yield_mpa=120.0), WorkedRow("hard", 40.0, yield_mpa=400.0))
    assert temper_at(metal, 0.0).yield_mpa == 120.0
    assert temper_at(metal, 20.0).yield_mpa == pytest.approx(260.0)
    assert metal.soft_yield_mid_mpa == 100.0


def test_a_quantity_is_read_past_rows_that_leave_it_out() -> None:
    metal = _metal(
        WorkedRow("half hard", 20.0, strength_low_mpa=300.0, strength_high_mpa=340.0),
        WorkedRow("hard", 40.0, yield_mpa=400.0),
    )
    temper = temper_at(metal, 20.0)
    assert temper.yield_mpa == pytest.approx(250.0)
    assert temper.strength_mpa == pytest.approx(320.0)


@pytest.mark.parametrize("reduction", [-0.1, 100.0, math.nan])
def test_reductions_out_of_range_are_refused(reduction: float) -> None:
    with pytest.raises(InputError, match="reduction from 0 to under 100"):
        temper_at(_metal(), reduction)


def test_temper_names_go_by_the_nearest_gauge_number() -> None:
    # [P] ASTM B601 names; half a number is 1 - 92^(-0.5/39) = 5.63 % off, one and a half 15.97 % off.
    assert temper_name(0.0) == "soft"
    assert temper_name(5.6) == "soft"
    assert temper_name(5.7) == "quarter hard"
    assert temper_name(15.9) == "quarter hard"
    assert temper_name(16.0) == "half hard"
    assert temper_name(99.0) == "extra spring"


def test_cold_work_never_softens_a_shipped_metal() -> None:
    metals = load_metals()
    assert len(metals) >= 11
    for metal in metals.values():
        known = [
            [value for reduction in range(0, 90, 5) if (value := getattr(temper_at(metal, reduction), what))]
            for what in ("yield_mpa", "strength_mpa", "hardness_hv")
        ]
        assert any(known), metal.key
        for values in known:
            assert values == sorted(values), metal.key


def test_every_shipped_metal_is_whole() -> None:
    for key, metal in load_metals().items():
        assert metal.key == key
        assert metal.source and metal.source != "entered by hand"
        assert metal.melts_low_c is not None and metal.anneal_high_c is not None
        assert metal.anneal_high_c < metal.melts_low_c
        assert metal.cold_work_limit_low_percent is not None


def test_cautions_stand_where_they_belong() -> None:
    metals = load_metals()
    assert [key for key, metal in metals.items() if metal.nickel] == ["nickel-silver-c75200"]
    assert {"brass-c26000", "red-brass-c22000", "nickel-silver-c75200"} <= {
        key for key, metal in metals.items() if metal.zinc
    }
    assert not metals["copper-c11000"].zinc and not metals["sterling-925"].zinc
    # Age hardening does nothing for brass, copper, nickel silver, fine silver and 22k.
    hardenable = {key for key, metal in metals.items() if metal.age_hardening}
    assert hardenable == {"sterling-925", "gold-585-yellow", "gold-18k-rose"}


def test_the_table_handed_out_may_be_changed_without_harm() -> None:
    load_metals().clear()
    assert "sterling-925" in load_metals()


def test_a_designs_own_metal() -> None:
    metal = metal_from_own(_Own(yield_mpa=210.0, e_gpa=98.0))
    assert (metal.key, metal.name, metal.density_g_per_cm3) == ("own", "Studio bronze", 8.7)
    assert (metal.e_mid_gpa, metal.soft_yield_mid_mpa, metal.indicative) == (98.0, 210.0, False)
    assert metal.source == "entered in the design"
    assert temper_at(metal, 20.0).yield_mpa is None
    assert temper_at(metal, 20.0).beyond_table


def test_an_own_metal_without_stiffness_says_what_was_assumed() -> None:
    metal = metal_from_own(_Own())
    assert (metal.e_low_gpa, metal.e_high_gpa) == ASSUMED_E_GPA
    assert metal.soft_yield_mid_mpa is None
    assert metal.indicative
    assert "taken as 71 to 125 GPa" in metal.source


@pytest.mark.parametrize(
    ("mass_fractions", "said"),
    [
        ({"Au": 0.75, "Xx": 0.25}, "Xx"),
        ({"Au": 1.2, "Ag": -0.2}, "share of Au"),
        ({"Au": 0.75, "Ag": 0.2}, "add up to 0.95"),
        ({"Au": math.nan}, "share of Au"),
        ({}, "add up to 0"),
    ],
)
def test_what_is_no_mixture_is_refused(mass_fractions: dict[str, float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        mixture_density_g_per_cm3(mass_fractions)


def test_a_pure_metal_is_its_own_mixture() -> None:
    assert mixture_density_g_per_cm3({"Au": 1.0}) == pytest.approx(19.32, rel=1e-15)
