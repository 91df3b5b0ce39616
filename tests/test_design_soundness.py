"""What makes a design sound: bounds on each number, rules that tie numbers together, and where it is said."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from formsketch.design.model import (
    BeadEnd,
    Design,
    Flare,
    Form,
    HookEnd,
    OwnMetal,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Variant,
    Wire,
)
from formsketch.design.soundness import Unsound, sound

PLAIN = Design(
    title="plain",
    wire=Wire(metal="brass-c26000", diameter_mm=1.0),
    form=Form(runs=(Run(spans=(Span(length_mm=10.0),)),)),
)


def with_span(**changes: Any) -> Design:
    span = replace(PLAIN.form.runs[0].spans[0], **changes)
    return replace(PLAIN, form=Form(runs=(Run(spans=(span,)),)))


def with_flare(**changes: Any) -> Design:
    return with_span(flare=Flare(**{"thickness": 0.5, **changes}))


def with_run(**changes: Any) -> Design:
    return replace(PLAIN, form=Form(runs=(replace(PLAIN.form.runs[0], **changes),)))


def with_wire(**changes: Any) -> Design:
    return replace(PLAIN, wire=replace(PLAIN.wire, **changes))


def refused_at(design: Design) -> str:
    with pytest.raises(Unsound) as refused:
        sound(design)
    assert refused.value.expected
    return refused.value.place


def test_a_sound_design_is_given_back_itself() -> None:
    assert sound(PLAIN) is PLAIN


def test_a_design_is_frozen_and_can_be_a_key() -> None:
    with pytest.raises(AttributeError):
        PLAIN.title = "other"  # type: ignore[misc]
    assert {PLAIN: 1}[replace(PLAIN)] == 1
    assert hash(PLAIN) == hash(replace(PLAIN)) and with_wire(diameter_mm=1.1) != PLAIN


# Each number's range belongs to it: what no bench has is refused, what it has is not.
@pytest.mark.parametrize(
    ("make", "key", "good", "bad", "place"),
    [
        (with_wire, "diameter_mm", (0.05, 20.0), (0.0, -1.0, 20.001, 1e9), "$.wire.diameter_mm"),
        (with_run, "times", (1, 1_000), (0, -3, 1_001), "$.form.runs[0].times"),
        (with_run, "ends_scale", (0.1, 5.0), (0.0, -1.0, 5.01), "$.form.runs[0].ends_scale"),
        (with_span, "length_mm", (0.01, 10_000.0), (0.0, -5.0, 1e5), "$.form.runs[0].spans[0].length_mm"),
        (with_span, "turn_deg", (-7_200.0, 7_200.0), (1e4, -1e4), "$.form.runs[0].spans[0].turn_deg"),
        (with_span, "skew_deg", (-7_200.0, 7_200.0), (1e4, -1e4), "$.form.runs[0].spans[0].skew_deg"),
        (with_span, "corner_deg", (-180.0, 180.0), (181.0, -181.0), "$.form.runs[0].spans[0].corner_deg"),
        (with_flare, "thickness", (0.1, 1.0), (0.0, 1.001, -1.0), "$.form.runs[0].spans[0].flare.thickness"),
        (with_flare, "centre", (0.02, 0.98), (-0.1, 1.1), "$.form.runs[0].spans[0].flare.centre"),
        (with_flare, "hold", (0.0, 0.96), (-0.1, 1.1), "$.form.runs[0].spans[0].flare.hold"),
    ],
)
def test_bounds_are_inclusive_and_what_lies_beyond_is_named(
    make: Any, key: str, good: tuple[float, ...], bad: tuple[float, ...], place: str
) -> None:
    for value in good:
        assert sound(make(**{key: value}))
    for value in (*bad, float("nan"), float("inf"), float("-inf")):
        assert refused_at(make(**{key: value})) == place


@pytest.mark.parametrize(
    "make_and_bad",
    [
        (with_wire, "diameter_mm", "1"),
        (with_wire, "diameter_mm", True),
        (with_wire, "metal", 3),
        (with_run, "times", 2.5),
        (with_run, "turned_over", 1),
        (with_run, "spans", ()),
        (with_span, "flare", "flat"),
        (with_flare, "face", "side"),
    ],
)
def test_wrong_types_are_refused_though_constructors_take_them(make_and_bad: tuple[Any, str, Any]) -> None:
    make, key, bad = make_and_bad
    assert refused_at(make(**{key: bad})).startswith("$.")


@pytest.mark.parametrize(
    ("flare", "fine"),
    [
        ({"centre": 0.5, "hold": 0.9}, True),
        ({"centre": 0.5, "hold": 0.97}, False),
        ({"centre": 0.1, "hold": 0.1}, True),
        ({"centre": 0.1, "hold": 0.2}, False),
        ({"centre": 0.9, "hold": 0.2}, False),
        ({"centre": 0.0}, False),
        ({"centre": 1.0}, False),
        ({"begin": 0.3, "end": 0.7}, True),
        ({"begin": 0.7, "end": 0.3}, False),
        ({"begin": 0.5, "end": 0.5}, False),
    ],
)
def test_a_flare_needs_room_to_ease_in_and_out(flare: dict[str, float], fine: bool) -> None:
    design = with_flare(**flare)
    if fine:
        assert sound(design)
    else:
        assert refused_at(design) == "$.form.runs[0].spans[0].flare"


@pytest.mark.parametrize(
    ("end", "key"),
    [
        (BeadEnd(diameter_mm=1.0), "diameter_mm"),
        (BeadEnd(diameter_mm=0.6), "diameter_mm"),
        (HookEnd(inside_diameter_mm=4.0, bead_diameter_mm=0.9), "bead_diameter_mm"),
        (TaperedEnd(length_mm=5.0, tip_diameter_mm=1.2), "tip_diameter_mm"),
        (PostEnd(diameter_mm=1.1), "diameter_mm"),
    ],
)
@pytest.mark.parametrize("which", ["start", "finish"])
def test_ends_must_be_possible_in_their_wire(end: Any, key: str, which: str) -> None:
    assert refused_at(replace(PLAIN, form=replace(PLAIN.form, **{which: end}))) == f"$.form.{which}.{key}"
    # In thinner or thicker wire the same end can be made.
    wire = Wire(
        metal="brass-c26000",
        diameter_mm=0.5 if "Bead" in type(end).__name__ or key.startswith("bead") else 1.5,
    )
    assert sound(replace(PLAIN, wire=wire, form=replace(PLAIN.form, **{which: end})))


def test_a_form_beyond_all_jewellery_is_refused() -> None:
    assert refused_at(with_run(spans=(Span(length_mm=1.0),) * 30, times=1_000)) == "$.form.runs"
    assert refused_at(with_run(spans=(Span(length_mm=900.0),), times=100)) == "$.form.runs"
    assert refused_at(with_run(spans=(Span(length_mm=1.0, turn_deg=7_000.0),), times=150)) == "$.form.runs"


def test_own_metals_need_different_keys() -> None:
    metal = OwnMetal(key="mine", name="Mine", density_g_per_cm3=9.0)
    assert refused_at(replace(PLAIN, metals=(metal, metal))) == "$.metals[1].key"
    assert sound(replace(PLAIN, metals=(metal, replace(metal, key="other"))))


@pytest.mark.parametrize(
    "variant",
    [
        Variant(title="thick", diameter_mm=3.0),  # its bead would vanish in the wire
        Variant(title="small", scale=0.05),
        Variant(title="deep", flare_depth=3.0),
    ],
)
def test_every_variant_must_be_possible(variant: Variant) -> None:
    span = Span(length_mm=10.0, flare=Flare(thickness=0.6))
    base = replace(PLAIN, form=Form(runs=(Run(spans=(span,)),), finish=BeadEnd(diameter_mm=2.0)))
    assert sound(base)
    assert refused_at(replace(base, variants=(Variant(title="good", scale=1.1), variant))) == "$.variants[1]"


@pytest.mark.parametrize("bad", ["a\x00b", "a\x1bb", "a\x7fb", "a\ud800b", "a\uffffb", "a\x9bb"])
def test_texts_hold_no_control_characters(bad: str) -> None:
    assert refused_at(replace(PLAIN, title=bad)) == "$.title"
    assert refused_at(replace(PLAIN, notes=bad)) == "$.notes"


def test_notes_may_have_lines_and_titles_may_not() -> None:
    assert sound(replace(PLAIN, notes="first\nsecond\tcolumn"))
    assert refused_at(replace(PLAIN, title="first\nsecond")) == "$.title"
