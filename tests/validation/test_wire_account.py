"""Wire to order: lengths added up by hand, a coil cut piece by piece, weights against published densities.

[P] published, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.wire_account import WireOrder, left_after, pieces_from, wire_account
from tests.support.strategies import calm

METALS = load_metals()


def straight(length: float, metal: str = "brass-c26000", d: float = 1.02) -> Evaluation:
    spans = (Span(length_mm=length),)
    return evaluate(
        Design(title="wire", wire=Wire(metal=metal, diameter_mm=d), form=Form(runs=(Run(spans=spans),))),
        METALS,
    )


@pytest.mark.parametrize(
    ("metal", "weight"),
    # [P] densities 8.53, 10.36 and 13.07 g/cm3; [D] 100 mm of 1.02 mm wire.
    [("brass-c26000", 0.69701040), ("sterling-925", 0.84654487), ("gold-14k-yellow-us", 1.06798662)],
)
def test_weight_to_order(metal: str, weight: float) -> None:
    # 80 mm and 10 mm to hold at each end.
    account = wire_account(straight(80.0, metal), WireOrder(hold_mm=10.0))
    assert account.piece_mm == 100.0
    assert account.order_g == pytest.approx(weight, abs=6e-9)
    # [P] 1 ozt = 31.1034768 g = 20 dwt.
    assert account.order_dwt == pytest.approx(weight * 20 / 31.1034768, abs=6e-9)
    assert account.order_ozt == pytest.approx(weight / 31.1034768, abs=6e-9)
    assert account.scrap_g == pytest.approx(0.2 * weight, abs=6e-9)


@pytest.mark.parametrize(
    ("awg", "pounds"),
    [(6, 79.46), (8, 49.98), (10, 31.43), (14, 12.43)],
)
def test_a_thousand_feet_of_copper(awg: int, pounds: float) -> None:
    # [P] ASTM B258: lb per 1000 ft at a density of 8.89; C11000 is 8.94 here; 40 x 7.62 m.
    d = 25.4 * 0.005 * 92 ** ((36 - awg) / 39)
    order = WireOrder(hold_mm=0.0, kerf_mm=0.0, pieces=40)
    account = wire_account(straight(7620.0, "copper-c11000", d), order)
    assert account.order_mm == pytest.approx(304_800.0)
    assert account.order_g / 453.59237 * 8.89 / 8.94 == pytest.approx(pounds, abs=0.006)


def test_a_coil_by_hand() -> None:
    # Pieces of 120 mm, 0.5 mm a cut: 8 from 1 m, 1000 - 8 x 120.5 = 36 left; 20 take three coils.
    account = wire_account(straight(100.0), WireOrder(hold_mm=10.0, kerf_mm=0.5, pieces=20, coil_mm=1000.0))
    assert (account.per_coil, account.coils, account.order_mm) == (8, 3, 3000.0)
    assert account.left_per_coil_mm == pytest.approx(36.0)
    assert account.left_mm == pytest.approx(2 * 36.0 + 1000 - 4 * 120.5)
    assert account.trims_mm == 400.0
    assert account.lost_mm == pytest.approx(20 * 0.5)


def test_limits_of_a_coil() -> None:
    # Exactly three pieces and the two cuts between them: nothing left, no third cut.
    assert pieces_from(361.0, 120.0, 0.5) == 3
    assert left_after(361.0, 3, 120.0, 0.5) == 0.0
    assert pieces_from(360.9, 120.0, 0.5) == 2
    assert pieces_from(120.0, 120.0, 0.5) == 1
    assert pieces_from(119.9, 120.0, 0.5) == 0
    account = wire_account(straight(100.0), WireOrder(coil_mm=361.0, pieces=3))
    assert (account.coils, account.left_mm, account.lost_mm) == (1, 0.0, pytest.approx(1.0))


@given(
    st.floats(1.0, 500.0), st.floats(0.0, 50.0), st.floats(0.0, 3.0), st.integers(1, 60), st.floats(1.0, 5e3)
)
@calm(200)
def test_metal_is_neither_made_nor_lost(
    length: float, hold: float, kerf: float, pieces: int, coil: float
) -> None:
    e, order = straight(length), WireOrder(hold_mm=hold, kerf_mm=kerf, pieces=pieces, coil_mm=coil)
    piece = length + 2 * hold
    assume(abs(coil / piece - 1) > 1e-6)
    if coil < piece:
        with pytest.raises(FormSketchError, match="too short"):
            wire_account(e, order)
        return
    account = wire_account(e, order)
    used = pieces * length + account.trims_mm + account.left_mm + account.lost_mm
    assert account.order_mm == pytest.approx(used, rel=1e-9)
    # Independent: sawn off one by one, a cut after each piece while there is wire.
    count, rest = 0, coil
    while rest >= piece * (1 - 1e-9) and count < 10_000:
        count, rest = count + 1, max(rest - piece - kerf, 0.0)
    if abs((coil + kerf) / (piece + kerf) % 1 - 0.5) < 0.499:  # not on the edge of one more
        assert account.per_coil == count
        assert account.left_per_coil_mm == pytest.approx(rest, abs=1e-6)
        assert account.coils == math.ceil(pieces / count)


@pytest.mark.parametrize(
    "wrong",
    [
        {"hold_mm": -1.0},
        {"hold_mm": math.nan},
        {"kerf_mm": math.inf},
        {"pieces": 0},
        {"pieces": 10**9},
        {"coil_mm": -5.0},
        {"coil_mm": math.nan},
    ],
)
def test_an_order_that_cannot_be_is_explained(wrong: dict[str, float]) -> None:
    with pytest.raises(FormSketchError, match=r"expected, not"):
        WireOrder(**wrong)  # type: ignore[arg-type]


def test_a_coil_that_is_too_short_says_what_a_piece_takes() -> None:
    with pytest.raises(FormSketchError, match=r"50\.00 mm is too short: one piece .* 120\.0 mm"):
        wire_account(straight(100.0), WireOrder(coil_mm=50.0))


def test_what_is_usual_is_told_from_ones_own() -> None:
    assert (WireOrder().hold_is_usual, WireOrder().kerf_is_usual) == (True, True)
    assert not WireOrder(hold_mm=12.0).hold_is_usual
    assert not WireOrder(kerf_mm=0.3).kerf_is_usual
