"""Edits across a design and its variants: pulls taken back through scale and depth, pins, swaps.

All values are derived [D]: a variant's length is the base's times its scale, a flare's depth the base's times
its flare depth, so what is done to a variant is divided by them.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.edits import with_variants
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Design, Flare, Form, HookEnd, Run, Span, Variant, Wire
from formsketch.design.soundness import Unsound, design_from_builtins
from formsketch.design.variant_edits import (
    change_numbers,
    chosen,
    made_from,
    pinned,
    pulled,
    shares_form,
    swapped,
)
from formsketch.errors import EditRefused
from formsketch.shipped import demo_design_files
from tests.support.strategies import calm, designs

LOOP = Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.6))
LINK = Span(length_mm=5.0)
BASE = Design(
    title="Row",
    wire=Wire(metal="brass-c26000", diameter_mm=1.3),
    form=Form(runs=(Run(spans=(LOOP, LINK), times=3),), finish=HookEnd(inside_diameter_mm=4.0)),
)
LARGE = Variant(title="large", diameter_mm=1.5, scale=1.5, flare_depth=0.5)
GOLD = Variant(title="gold", metal="gold-18k-yellow")
ROUND = Variant(title="round", flare_depth=0.0)
THREE = with_variants(BASE, (LARGE, GOLD, ROUND))


def with_loop(form: Form, **changes: object) -> Form:
    """The form with its first span changed."""
    run = form.runs[0]
    return replace(form, runs=(replace(run, spans=(replace(run.spans[0], **changes), *run.spans[1:])),))


def loop(design: Design) -> Span:
    return design.form.runs[0].spans[0]


# Pulling


def test_a_pull_on_a_scaled_variant_is_taken_back_to_the_form_all_share() -> None:
    """36 mm in a variant of 150 % is 24 mm in the form; a flare hammered half as deep, to 0.7, is 0.4."""
    form = with_loop(made_from(THREE, 0).form, length_mm=36.0, turn_deg=200.0, flare=Flare(thickness=0.7))
    after = pulled(THREE, 0, form, to_all=True)
    assert loop(after).length_mm == pytest.approx(24.0, rel=1e-15)
    assert loop(after).turn_deg == 200.0
    flare = loop(after).flare
    assert flare is not None
    assert flare.thickness == pytest.approx(0.4, rel=1e-14)
    # What was not pulled is what it was to the last bit, ends included.
    assert after.form.runs[0].spans[1] is LINK
    assert after.form.finish is BASE.form.finish
    assert after.variants == THREE.variants
    made = made_from(after, 0).form.runs[0].spans[0]
    assert made.length_mm == pytest.approx(36.0, rel=1e-15)
    assert made_from(after, 1).form == after.form


def test_an_end_pulled_on_a_variant_is_taken_back_too() -> None:
    form = replace(made_from(THREE, 0).form, finish=HookEnd(inside_diameter_mm=9.0))
    finish = pulled(THREE, 0, form, to_all=True).form.finish
    assert isinstance(finish, HookEnd)
    assert finish.inside_diameter_mm == pytest.approx(6.0)


def test_hammering_cannot_be_pulled_where_the_wire_is_left_round() -> None:
    before = made_from(THREE, 2).form
    with pytest.raises(EditRefused, match="leaves the wire round"):
        pulled(THREE, 2, with_loop(before, flare=Flare(thickness=0.5)), to_all=True)
    # Anything else can, and where a flare is thinnest.
    after = pulled(THREE, 2, with_loop(before, turn_deg=250.0, flare=Flare(thickness=1.0, centre=0.6)), True)
    assert loop(after).flare == Flare(thickness=0.6, centre=0.6)


def test_what_cannot_be_taken_back_is_refused_in_a_sentence() -> None:
    """Half as deep: to 0.45 of the wire would be 1 - 0.55 / 0.5 of it in the form, less than nothing."""
    form = with_loop(made_from(THREE, 0).form, flare=Flare(thickness=0.45))
    with pytest.raises(EditRefused, match=r"^Not possible: .*\.$"):
        pulled(THREE, 0, form, to_all=True)


@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_pull_kept_to_a_variant_leaves_the_others(number: int) -> None:
    form = with_loop(made_from(THREE, number).form, turn_deg=180.0)
    after = pulled(THREE, number, form, to_all=False)
    assert after.form == BASE.form
    for other in {0, 1, 2} - {number}:
        assert made_from(after, other) == made_from(THREE, other)
    assert loop(made_from(after, number)).turn_deg == 180.0
    # It shares no longer, and can again.
    assert made_from(shares_form(after, number), number) == made_from(THREE, number)
    again = with_loop(made_from(after, number).form, turn_deg=170.0)
    assert pulled(after, number, again, to_all=True).form == BASE.form


def test_a_pull_kept_to_the_base_leaves_every_variant() -> None:
    after = pulled(THREE, None, with_loop(BASE.form, turn_deg=180.0), to_all=False)
    assert loop(after).turn_deg == 180.0
    for number in range(3):
        assert made_from(after, number) == replace(made_from(THREE, number))


def test_a_pull_that_comes_back_is_no_change() -> None:
    for number in (0, 1, 2):
        assert pulled(THREE, number, made_from(THREE, number).form, to_all=True) is THREE


@calm(60)
@given(designs(), st.floats(0.5, 2.0), st.floats(0.9, 1.1), st.booleans())
def test_what_is_pulled_on_a_variant_is_what_it_becomes(
    design: Design, scale: float, longer: float, to_all: bool
) -> None:
    design = replace(design, variants=(Variant(title="v", scale=scale),))
    form = made_from(design, 0).form
    span = form.runs[0].spans[0]
    first = replace(
        form.runs[0], spans=(replace(span, length_mm=span.length_mm * longer), *form.runs[0].spans[1:])
    )
    form = replace(form, runs=(first, *form.runs[1:]))
    try:
        after = pulled(design, 0, form, to_all)
    except EditRefused:
        assume(False)
    made = made_from(after, 0).form
    assert made.runs[0].spans[0].length_mm == pytest.approx(first.spans[0].length_mm, rel=1e-14)
    assert [run.spans[1:] for run in made.runs] == [run.spans[1:] for run in form.runs]


# Numbers


def test_numbers_are_kept_to_one_or_given_to_all() -> None:
    one = change_numbers(THREE, 1, False, diameter_mm=1.0)
    assert [made_from(one, n).wire.diameter_mm for n in (None, 0, 1, 2)] == [1.3, 1.5, 1.0, 1.3]
    everywhere = change_numbers(THREE, 1, True, diameter_mm=1.0)
    assert [made_from(everywhere, n).wire.diameter_mm for n in (None, 0, 1, 2)] == [1.0] * 4
    base = change_numbers(THREE, None, False, metal="sterling-925")
    assert [made_from(base, n).wire.metal for n in (None, 0, 1, 2)] == [
        "sterling-925", "brass-c26000", "gold-18k-yellow", "brass-c26000",
    ]  # fmt: skip
    large = change_numbers(THREE, None, True, scale=1.2)
    assert [variant.scale for variant in large.variants] == [1.2] * 3
    assert large.form == BASE.form


# Pinning, choosing


def test_a_pin_stays_what_it_was() -> None:
    after = pinned(BASE, "pin 1")
    moved = replace(
        after, form=with_loop(BASE.form, turn_deg=100.0), wire=Wire(metal="copper-c11000", diameter_mm=2.0)
    )
    assert made_from(moved, 0) == made_from(BASE, None)


def test_a_design_holds_no_more_than_its_most_variants() -> None:
    full = with_variants(BASE, tuple(Variant(title=str(i)) for i in range(100)))
    with pytest.raises(EditRefused, match="at most 100"):
        pinned(full, "one more")


def test_choosing_takes_wire_and_form_and_keeps_the_variants() -> None:
    made = replace(made_from(THREE, 0), title="not this")
    after = chosen(THREE, made)
    assert (after.wire, after.form) == (made.wire, made.form)
    assert (after.title, after.variants) == ("Row", THREE.variants)


def test_a_form_of_its_own_is_in_the_file_and_is_checked(tmp_path) -> None:  # type: ignore[no-untyped-def]
    design = pinned(THREE, "pin")
    file = tmp_path / "pinned.formsketch.json"
    file.write_bytes(design_bytes(design))
    assert load_design(file).design == design
    # None is left out: files without pins are what they were.
    assert b'"form": null' not in design_bytes(THREE)
    too_long = {
        "title": "x",
        "wire": {"metal": "brass-c26000", "diameter_mm": 1.0},
        "form": {"runs": [{"spans": [{"length_mm": 10.0}]}]},
        "variants": [{"title": "pin", "form": {"runs": [{"times": 1000, "spans": [{"length_mm": 100.0}]}]}}],
    }
    with pytest.raises(Unsound, match=r"\$\.variants\[0\].*at most 20 m"):
        design_from_builtins(too_long)
    too_long["variants"] = [{"title": "pin", "form": {"runs": [{"spans": [{"length_mm": -1.0}]}]}}]
    with pytest.raises(Unsound, match=r"variants\[.*form\.runs"):
        design_from_builtins(too_long)
    too_long["variants"] = [
        {"title": "pin", "form": {"runs": [{"spans": [{"length_mm": 9.0}]}], "swapped_crossings": [2, 1]}}
    ]
    with pytest.raises(Unsound, match="rising order"):
        design_from_builtins(too_long)


# Swapping


@pytest.mark.parametrize("number", [0, 1, 2])
def test_swapping_shows_every_form_as_it_was(number: int) -> None:
    after = swapped(THREE, number)
    old, new = {None: number, number: None}, range(3)
    for one in (None, *new):
        was, now = made_from(THREE, one), made_from(after, old.get(one, one))
        assert now.wire == was.wire
        for a, b in zip(now.form.runs[0].spans, was.form.runs[0].spans, strict=True):
            assert a.length_mm == pytest.approx(b.length_mm, rel=1e-12)
            assert (a.flare is None) == (b.flare is None)
            if a.flare is not None and b.flare is not None:
                assert a.flare.thickness == pytest.approx(b.flare.thickness, rel=1e-12)
    assert after.variants[number].title == f"before {THREE.variants[number].title}"
    assert after.title == "Row"


@pytest.mark.parametrize("number", [0, 1, 2])
def test_swapping_back_gives_the_design_again(number: int) -> None:
    again = swapped(swapped(THREE, number), number)
    assert again.form == BASE.form and again.wire == BASE.wire
    for one in range(3):
        assert made_from(again, one) == made_from(THREE, one)
    if number < 2:  # A variant left round has kept no flares to reckon with, so its form is its own.
        assert again == THREE


def test_forms_go_on_being_shared_after_a_swap() -> None:
    after = swapped(THREE, 0)
    assert all(variant.form is None for variant in after.variants)
    assert after.variants[0].scale == pytest.approx(1 / 1.5)
    assert after.variants[0].flare_depth == pytest.approx(2.0)
    moved = pulled(after, None, with_loop(after.form, turn_deg=111.0), to_all=True)
    assert [loop(made_from(moved, n)).turn_deg for n in (None, 0, 1, 2)] == [111.0] * 4


def test_a_pin_is_swapped_too() -> None:
    design = pinned(THREE, "pin")
    design = pulled(design, None, with_loop(BASE.form, turn_deg=99.0), to_all=True)
    after = swapped(design, 3)
    assert after.form == BASE.form
    assert made_from(after, 3).form == design.form
    assert made_from(after, 1) == replace(made_from(design, 1))
    assert swapped(after, 3).form == design.form


@pytest.mark.parametrize("file", demo_design_files(), ids=lambda file: file.name.split(".")[0])
@pytest.mark.parametrize(("scale", "depth"), [(0.9, 1.0), (1.15, 0.8), (1.0, 1.1)])
def test_demos_come_back_to_the_byte(file, scale: float, depth: float) -> None:  # type: ignore[no-untyped-def]
    design = load_design(file).design
    variant = Variant(title="other", diameter_mm=1.02, scale=scale, flare_depth=depth)
    try:
        design = with_variants(design, (variant,))
        back = swapped(swapped(design, 0), 0)
    except EditRefused as fault:
        assert str(fault).startswith("Not possible")
        return
    assert design_bytes(back) == design_bytes(design)
