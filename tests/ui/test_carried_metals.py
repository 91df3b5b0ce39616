"""A metal of the person's own table goes with the design that is made of it, and opens where no table is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from formsketch.bench.carried_metals import carried_metal, carrying_own_metals, is_fuller
from formsketch.bench.metals import load_metals, metal_from_own
from formsketch.bench.own_alloys import table_row
from formsketch.bench.user_tables import METALS_FILE, keep_row, user_metals_file
from formsketch.design.edits import change_wire, with_variants
from formsketch.design.file_format import load_design
from formsketch.design.model import OwnMetal, Variant, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import UnknownMetal, evaluate
from formsketch.ui.session import Session
from formsketch.ui.window import Window

Open = Callable[..., Window]
# Invented for these tests.
TIDE = OwnMetal(key="own-tide", name="Tide metal", density_g_per_cm3=9.25, yield_mpa=140.0, e_gpa=105.0)
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


@pytest.fixture
def kept(own_tables: Path) -> Path:
    """The metal kept in the person's own table, with the hardening of brass; the table's folder."""
    brass = load_metals()["brass-c26000"]
    row = replace(
        brass,
        key=TIDE.key,
        name=TIDE.name,
        density_g_per_cm3=TIDE.density_g_per_cm3,
        soft_yield_low_mpa=130.0,
        soft_yield_high_mpa=150.0,
    )
    keep_row(METALS_FILE, "metals", row)
    return own_tables


def test_a_design_made_of_it_carries_it_and_opens_without_the_table(
    kept: Path, open_window: Open, tmp_path: Path
) -> None:
    window = open_window(make_starter("hoop", BRASS))
    choice = window.panel.wire.metal
    choice.setCurrentIndex(choice.findText("Tide metal"))
    choice.activated.emit(choice.currentIndex())
    assert window.session.undo_name == "Metal Tide metal"
    weight_g = window.session.evaluation.weight_g
    # Here the table says more than the design carries, such as how it hardens.
    assert window.session.evaluation.metal.worked
    assert choice.currentText().startswith("Tide metal")
    file = tmp_path / "tide.formsketch.json"
    window.session.save(file)

    (kept / METALS_FILE).unlink()
    elsewhere = Session(load_design(file).design)
    assert elsewhere.evaluation.weight_g == weight_g
    assert elsewhere.evaluation.metal.name == "Tide metal"
    assert not elsewhere.evaluation.metal.worked


def test_so_does_a_variant_of_it(kept: Path) -> None:
    session = Session(make_starter("hoop", BRASS))
    session.change("Add", with_variants(session.design, (Variant(title="tide", metal=TIDE.key),)))
    assert [own.key for own in session.design.metals] == [TIDE.key]
    (kept / METALS_FILE).unlink()
    evaluate(session.design)


def test_listed_metals_and_those_carried_already_are_left(kept: Path) -> None:
    design = make_starter("hoop", BRASS)
    assert carrying_own_metals(design) is design
    with pytest.raises(UnknownMetal):
        Session(design).change("Metal", change_wire(design, metal="own-nowhere"))
    once = carrying_own_metals(change_wire(design, metal=TIDE.key))
    assert carrying_own_metals(once) is once


def test_a_row_that_differs_does_not_take_the_place_of_what_is_carried(kept: Path) -> None:
    design = carrying_own_metals(change_wire(make_starter("hoop", BRASS), metal=TIDE.key))
    row = load_metals(user_metals_file())[TIDE.key]
    assert evaluate(design).metal == row
    for other in (
        {"density_g_per_cm3": 9.5},
        {"name": "Ebb metal"},
        {"soft_yield_low_mpa": 141.0},
        {"e_low_gpa": 200.0, "e_high_gpa": 210.0},
        {"nickel": True},
    ):
        keep_row(METALS_FILE, "metals", replace(row, **other))
        assert evaluate(design).metal == metal_from_own(design.metals[0])


@pytest.mark.parametrize(
    "own",
    [TIDE, replace(TIDE, yield_mpa=None), replace(TIDE, e_gpa=None), replace(TIDE, zinc=True)],
    ids=["all", "no yield", "no stiffness", "zinc"],
)
def test_an_alloy_kept_from_the_page_is_carried_as_it_was_made(own: OwnMetal) -> None:
    class Density:
        how = "from a data sheet"

    row = table_row(own, Density())  # type: ignore[arg-type]
    assert carried_metal(row) == own
    assert is_fuller(row, own)
