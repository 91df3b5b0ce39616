"""The worked examples of the help on bench numbers are what the program says of them."""

from __future__ import annotations

import pytest

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, OwnMetal, Run, Span, Wire
from formsketch.evaluation.bending import bending_of
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.hammer_path import hammer_path, thickness_until_mm
from formsketch.evaluation.wire_account import WireOrder, wire_account
from formsketch.ui.help_bench import BENDING, HAMMERING, WIRE_TO_ORDER

METALS = load_metals()


def test_the_flat_of_the_example() -> None:
    brass = METALS["brass-c26000"]
    path = hammer_path(1.0, 0.5, 0.6, brass)
    assert path.last is not None
    assert f"0.50 mm it is {path.last.width_mm:.2f} mm wide" in HAMMERING
    assert f"worked {path.last.cold_work_percent:.0f} %: {path.last.temper.name}" in HAMMERING
    # [P] C26000 strip to ASTM B36: soft yields at 145 MPa, hard at 495; read between the rows it is 495 too.
    assert path.last.temper.yield_mpa == pytest.approx(495, abs=0.5)
    assert f"is {thickness_until_mm('before_annealing', 1.0, 0.6, brass):.2f} mm, at 50 %" in HAMMERING
    deep = hammer_path(1.0, 0.3, 0.6, brass)
    assert deep.anneals == 1
    assert f"it is\n{deep.steps[-1].in_all_percent:.0f} %" in HAMMERING


def test_the_bend_of_the_example() -> None:
    own = OwnMetal(key="mine", name="Mine", density_g_per_cm3=8.5, yield_mpa=300.0, e_gpa=100.0)
    spans = (Span(length_mm=5.51 * 3.141592653589793 / 2, turn_deg=90.0),)
    design = Design(
        title="bend",
        wire=Wire(metal="mine", diameter_mm=1.02),
        form=Form(runs=(Run(spans=spans),)),
        metals=(own,),
    )
    (bend,) = bending_of(evaluate(design, METALS))
    # [D] inside radius 5 wants a tube of radius 4.71275893.
    assert bend.tube_mm == pytest.approx(2 * 4.71275893, rel=1e-8)
    assert f"tube of {bend.tube_mm:.2f} mm it\nkeeps {100 * (bend.kept or 0):.0f} %" in BENDING
    assert f"bend to {bend.held_deg:.1f}°" in BENDING


def test_the_wire_of_the_example() -> None:
    spans = (Span(length_mm=80.0),)
    wire = Wire(metal="brass-c26000", diameter_mm=1.02)
    design = Design(title="wire", wire=wire, form=Form(runs=(Run(spans=spans),)))
    account = wire_account(evaluate(design, METALS), WireOrder(coil_mm=1000.0))
    assert f"100 mm, {account.piece_mm * account.g_per_mm:.2f} g" in WIRE_TO_ORDER
    assert f"gives {account.per_coil}," in WIRE_TO_ORDER
    assert f"{account.left_per_coil_mm:.1f} mm are left" in WIRE_TO_ORDER
