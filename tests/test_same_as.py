"""Solving for the wire or size that keeps a quantity.

Sources: plain unhammered wire weighs A0 L rho, so at a given size it goes with d^2 and with the density, and
at a given wire with the length [D]; a form enlarged by k with its wire enlarged by k keeps every proportion
[D]. AWG: ASTM B258 [P], 16 gauge 1.290846 mm, 15 gauge 1.449532 mm. Densities: sterling 10.36 [P], C26000
brass 8.53 [P].
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.bench.rates import MetalPrice, Prices
from formsketch.comparison.same_as import (
    LOOP_TO_WIRE,
    STIFFNESS,
    WEIGHT,
    WIRE_TO_HEIGHT,
    Quantity,
    price_quantity,
    quantities,
    solve_same_as,
)
from formsketch.design.model import BeadEnd, Design, Flare, Form, Run, Span, Variant, Wire
from formsketch.errors import InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.fitting.same_as import NoSolution, Sought, solve_same
from tests.support.strategies import calm

WORDS = Sought("wire", "weight", lambda x: f"{x:.2f} mm", lambda g: f"{g:.2f} g")
ARC = Span(length_mm=math.pi * 6.0, turn_deg=180.0)
ROUND = Design(
    title="Round",
    wire=Wire(metal="sterling-925", diameter_mm=1.290846),
    form=Form(runs=(Run(spans=(ARC,)),)),
)
BEADED = replace(ROUND, form=replace(ROUND.form, start=BeadEnd(diameter_mm=2.6)))
FLARED = replace(ROUND, form=Form(runs=(Run(spans=(replace(ARC, flare=Flare(thickness=0.5)),)),)))


# The search itself


@calm(60)
@given(st.floats(0.05, 5.0), st.floats(-4.0, 4.0), st.floats(0.31, 4.9))
def test_a_power_law_is_solved_to_a_millionth(factor: float, power: float, root: float) -> None:
    if abs(power) < 0.05:
        power = 0.05
    found = solve_same(lambda x: factor * x**power, factor * root**power, 0.3, 5.0, 1.0, WORDS)
    assert found.unknown == pytest.approx(root, rel=1e-6)
    assert found.only


def test_no_power_law_is_solved_too_and_the_steps_are_bounded() -> None:
    tried = []

    def measured(x: float) -> float:
        tried.append(x)
        return 0.2 + math.atan(9 * (x - 3.0)) + math.pi / 2

    found = solve_same(measured, 0.2 + math.pi / 2, 0.3, 5.0, 1.0, WORDS)
    assert found.unknown == pytest.approx(3.0, rel=1e-6)
    assert len(tried) <= 60


def test_of_two_solutions_the_nearest_is_taken_and_said_not_to_be_the_only_one() -> None:
    for begin, root in ((1.2, 1.0), (2.7, 3.0)):
        found = solve_same(lambda x: 1 + (x - 2) ** 2, 2.0, 0.3, 5.0, begin, WORDS)
        assert found.unknown == pytest.approx(root, rel=1e-6)
        assert not found.only


def test_a_solution_hard_by_the_edge_of_what_can_be_made_is_found() -> None:
    def measured(x: float) -> float:
        if x > 2.0:
            raise InputError("The loops close up.")
        return x * x

    assert solve_same(measured, 1.9999**2, 0.3, 5.0, 1.0, WORDS).unknown == pytest.approx(1.9999, rel=1e-6)
    with pytest.raises(NoSolution) as fault:
        solve_same(measured, 2.1**2, 0.3, 5.0, 1.0, WORDS)
    assert str(fault.value) == (
        "No wire from 0.30 mm to 5.00 mm gives a weight of 4.41 g; it runs from 0.09 g to 4.00 g, and above "
        "2.00 mm it cannot be made: the loops close up."
    )


def test_what_has_no_solution_says_why() -> None:
    with pytest.raises(NoSolution, match=r"gives a weight of 30\.00 g; it runs from 0\.09 g to 25\.00 g\.$"):
        solve_same(lambda x: x * x, 30.0, 0.3, 5.0, 1.0, WORDS)
    with pytest.raises(NoSolution, match=r"^The weight does not change with the wire\.$"):
        solve_same(lambda x: 2.0, 3.0, 0.3, 5.0, 1.0, WORDS)

    def never(x: float) -> float:
        raise InputError("The loops close up.")

    with pytest.raises(
        NoSolution, match=r"^No wire from 0\.30 mm to 5\.00 mm can be made: the loops close up"
    ):
        solve_same(never, 3.0, 0.3, 5.0, 1.0, WORDS)


# Forms


def test_the_same_weight_in_another_metal_goes_with_the_square_of_the_wire() -> None:
    found = solve_same_as(ROUND, Variant(title="", metal="brass-c26000"), "wire", WEIGHT, (WEIGHT,))
    expected = 1.290846 * math.sqrt(10.36 / 8.53)
    assert found.exact.variant.diameter_mm == pytest.approx(expected, rel=1e-6)
    assert found.exact.differences["weight"] == pytest.approx(0.0, abs=1e-4)
    assert found.only
    # 16 gauge below and 15 above: 1.4226 mm lies between.
    assert found.below is not None and found.above is not None
    assert (found.below.label, found.above.label) == ("16 gauge", "15 gauge")
    light = 100 * ((1.290846 / expected) ** 2 - 1)
    assert found.below.differences["weight"] == pytest.approx(light, rel=1e-4)


def test_the_same_weight_at_another_size_and_the_size_for_another_wire() -> None:
    """Weight goes with d^2 L."""
    found = solve_same_as(ROUND, Variant(title="", scale=1.44), "wire", WEIGHT)
    assert found.exact.variant.diameter_mm == pytest.approx(1.290846 / 1.2, rel=1e-6)
    found = solve_same_as(ROUND, Variant(title="", diameter_mm=1.290846 * 1.2), "size", WEIGHT)
    assert found.exact.variant.scale == pytest.approx(1 / 1.44, rel=1e-6)
    assert (found.below, found.above) == (None, None)


@pytest.mark.parametrize("quantity", [LOOP_TO_WIRE, WIRE_TO_HEIGHT], ids=lambda quantity: quantity.name)
def test_the_same_look_at_another_size_takes_a_wire_enlarged_alike(quantity: Quantity) -> None:
    found = solve_same_as(ROUND, Variant(title="", scale=1.3), "wire", quantity)
    # The height is sampled: to 1e-4.
    assert found.exact.variant.diameter_mm == pytest.approx(1.3 * 1.290846, rel=3e-4)
    if quantity is LOOP_TO_WIRE:
        assert found.exact.variant.diameter_mm == pytest.approx(1.3 * 1.290846, rel=1e-6)


def test_the_same_price_of_metal_alone_goes_with_the_price_per_gram() -> None:
    prices = Prices(
        alloys_bought=(
            MetalPrice(of="sterling-925", price=1.0, per="g", date="2026-11-01"),
            MetalPrice(of="brass-c26000", price=0.5, per="g", date="2026-11-01"),
        )
    )
    given = Variant(title="", metal="brass-c26000")
    found = solve_same_as(ROUND, given, "wire", price_quantity(prices))
    assert found.exact.variant.diameter_mm == pytest.approx(1.290846 * math.sqrt(2 * 10.36 / 8.53), rel=1e-6)
    with pytest.raises(InputError, match=r"No price has been entered for Sterling silver 925\."):
        solve_same_as(ROUND, given, "wire", price_quantity(Prices()))


def test_the_same_stiffness_of_another_size() -> None:
    """A bar's stiffness goes with d^4 / L^3: at twice the size with 2^(3/4) of the wire."""
    found = solve_same_as(ROUND, Variant(title="", scale=2.0), "wire", STIFFNESS)
    assert found.exact.variant.diameter_mm == pytest.approx(2**0.75 * 1.290846, rel=2e-3)


@calm(15)
@given(st.floats(0.7, 1.5), st.floats(0.9, 1.8))
def test_a_beaded_form_keeps_its_weight_at_any_size(scale: float, wire_mm: float) -> None:
    """The bead takes less wire the thicker the wire, so no power law holds: measured anew."""
    given = Variant(title="", scale=scale, diameter_mm=wire_mm)
    wanted = evaluate(BEADED).weight_g
    try:
        found = solve_same_as(BEADED, given, "wire", WEIGHT)
    except NoSolution as fault:
        assert str(fault).endswith(".")
        return
    assert found.exact.candidate.evaluation.weight_g == pytest.approx(wanted, rel=1e-5)


def test_there_and_back_again() -> None:
    """The wire solved for a size, and the size solved for that wire."""
    there = solve_same_as(FLARED, Variant(title="", scale=1.25), "wire", WEIGHT).exact.variant
    back = solve_same_as(FLARED, replace(there, scale=1.0), "size", WEIGHT).exact.variant
    assert back.scale == pytest.approx(1.25, rel=2e-6)


def test_beads_too_small_for_the_wire_are_the_reason() -> None:
    with pytest.raises(NoSolution, match="bead thicker than the") as fault:
        solve_same_as(BEADED, Variant(title="", scale=0.3), "wire", WEIGHT)
    assert "$" not in str(fault.value)


def test_a_wire_that_runs_into_itself_is_the_reason() -> None:
    """Two legs 3 mm apart, middle to middle; 2.5 mm of 22k gold (17.6) weighs as 3.59 mm of brass."""
    leg, back = Span(length_mm=20.0), Span(length_mm=20.0, corner_deg=90.0)
    hairpin = Form(runs=(Run(spans=(leg, Span(length_mm=3.0, corner_deg=90.0), back)),))
    gold = replace(ROUND, form=hairpin, wire=Wire(metal="gold-22k", diameter_mm=2.5))
    with pytest.raises(NoSolution, match=r"^At 3\.59 mm: The wire runs into itself"):
        solve_same_as(gold, Variant(title="", metal="brass-c26000"), "wire", WEIGHT)
    thinner = solve_same_as(gold, Variant(title="", metal="brass-c26000", scale=2.0), "wire", WEIGHT)
    assert not thinner.exact.reason


def test_loops_that_close_up_are_the_reason() -> None:
    """Half a turn of 2.2 mm across, middle to middle, has nothing inside from 2.2 mm of wire on."""
    legs = (Span(length_mm=20.0), Span(length_mm=math.pi * 1.1, turn_deg=180.0), Span(length_mm=20.0))
    hairpin = replace(ROUND, form=Form(runs=(Run(spans=legs),)), wire=Wire(metal="gold-22k", diameter_mm=2.0))
    with pytest.raises(NoSolution, match=r"above 2\.20 mm it cannot be made: the loops close up\.$"):
        solve_same_as(hairpin, Variant(title="", metal="brass-c26000"), "wire", WEIGHT)


def test_every_quantity_has_its_own_name() -> None:
    names = [quantity.name for quantity in quantities(Prices())]
    assert len(set(names)) == len(names) == 5
