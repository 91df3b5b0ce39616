"""Edits: from design to design, each sound or refused in the maker's words, the old design untouched."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formsketch.design.edits import (
    SpanAddress,
    applied,
    change_ends,
    change_run,
    change_span,
    change_spread,
    change_texts,
    change_wire,
    checked,
    loosened,
    mirrored,
    replace_spans,
    scaled,
    scaled_with_wire,
    span_at,
    with_flare,
    with_flare_depth,
    with_variants,
)
from formsketch.design.file_format import design_bytes
from formsketch.design.model import (
    BeadEnd,
    Design,
    EyeEnd,
    Flare,
    Form,
    PlainEnd,
    PostEnd,
    Run,
    Span,
    Variant,
    Wire,
)
from formsketch.errors import EditRefused, FormSketchError

LOOP = Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.5))
LINK = Span(length_mm=5.0, turn_deg=-60.0)
BASE = Design(
    title="base",
    wire=Wire(metal="brass-c26000", diameter_mm=1.0),
    form=Form(
        runs=(Run(spans=(LOOP, LINK), times=4, turned_over=True), Run(spans=(LINK,))),
        start=BeadEnd(diameter_mm=2.0),
        finish=PostEnd(),
    ),
)
HERE = SpanAddress(0, 1)

EDITS: dict[str, Callable[[Design], Design]] = {
    "span": lambda d: change_span(d, HERE, turn_deg=-90.0),
    "spans": lambda d: replace_spans(d, {HERE: LOOP, SpanAddress(1, 0): LOOP}),
    "run": lambda d: change_run(d, 0, times=9, ends_scale=0.7),
    "wire": lambda d: change_wire(d, diameter_mm=1.2, metal="sterling-925"),
    "spread": lambda d: change_spread(d, 0.55),
    "end": lambda d: change_ends(d, start=EyeEnd(inside_diameter_mm=4.0)),
    "texts": lambda d: change_texts(d, title="other", notes="two\nlines"),
    "variants": lambda d: with_variants(d, (Variant(title="v", scale=1.1),)),
    "mirrored": mirrored,
    "scaled": lambda d: scaled(d, 1.1),
    "scaled-with-wire": lambda d: scaled_with_wire(d, 1.1),
    "depth": lambda d: with_flare_depth(d, 0.8),
    "flare": lambda d: with_flare(d, HERE, thickness=0.6),
    "applied": lambda d: applied(d, Variant(title="v", diameter_mm=1.3)),
    "loosened": lambda d: loosened(d, 0),
}


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_makes_another_sound_design_and_leaves_the_old_one(name: str) -> None:
    before = design_bytes(BASE)
    after = EDITS[name](BASE)
    assert after != BASE
    assert checked(after) is after
    # Undo is keeping the old value: it is the same to the byte.
    assert design_bytes(BASE) == before


@pytest.mark.parametrize("name", EDITS)
def test_the_same_edit_gives_the_same_design(name: str) -> None:
    assert EDITS[name](BASE) == EDITS[name](BASE)
    assert design_bytes(EDITS[name](BASE)) == design_bytes(EDITS[name](BASE))


def test_editing_the_motif_edits_every_repeat() -> None:
    after = change_span(BASE, SpanAddress(0, 0), length_mm=22.0)
    assert after.form.runs[0].spans == (Span(length_mm=22.0, turn_deg=240.0, flare=LOOP.flare), LINK)
    assert after.form.runs[0].times == 4 and after.form.runs[1] == BASE.form.runs[1]


def test_spans_are_replaced_where_they_are_written_and_nowhere_else() -> None:
    other = Span(length_mm=7.0)
    after = replace_spans(BASE, {SpanAddress(0, 1): other, SpanAddress(1, 0): LOOP})
    assert [run.spans for run in after.form.runs] == [(LOOP, other), (LOOP,)]
    assert span_at(after, SpanAddress(0, 1)) == other
    assert replace_spans(BASE, {}) == BASE


def test_a_flare_is_begun_where_there_is_none_and_changed_where_there_is() -> None:
    begun = span_at(with_flare(BASE, HERE, thickness=0.6), HERE)
    assert begun.flare == Flare(thickness=0.6, centre=0.5, hold=0.0, face="flat")
    changed = span_at(with_flare(BASE, SpanAddress(0, 0), centre=0.4), SpanAddress(0, 0))
    assert changed.flare == Flare(thickness=0.5, centre=0.4)


def test_each_end_is_changed_by_itself() -> None:
    after = change_ends(BASE, finish=PlainEnd())
    assert (after.form.start, after.form.finish) == (BASE.form.start, PlainEnd())
    after = change_ends(BASE, start=PlainEnd())
    assert (after.form.start, after.form.finish) == (PlainEnd(), BASE.form.finish)


def test_scaling_there_and_back_is_the_same_form() -> None:
    back = scaled(scaled(BASE, 2.0), 0.5)
    assert back == BASE  # doubling and halving are exact


def test_scaling_with_the_wire_scales_the_wire_and_the_post() -> None:
    larger = scaled_with_wire(BASE, 2.0)
    assert larger.wire.diameter_mm == 2.0
    assert larger.form.finish == PostEnd(length_mm=20.0, diameter_mm=1.6)
    assert scaled(BASE, 2.0).form.finish == BASE.form.finish


def test_a_loosened_run_is_free_spans_each_to_be_edited_alone() -> None:
    free = loosened(BASE, 0)
    assert len(free.form.runs) == 2 and free.form.runs[1] == BASE.form.runs[1]
    assert len(free.form.runs[0].spans) == 8 and free.form.runs[0].times == 1
    one = change_span(free, SpanAddress(0, 4), length_mm=1.0)
    changed = [a != b for a, b in zip(one.form.runs[0].spans, free.form.runs[0].spans, strict=True)]
    assert changed == [i == 4 for i in range(8)]
    assert loosened(free, 0) == free


@pytest.mark.parametrize(
    ("edit", "names"),
    [
        (lambda d: change_span(d, HERE, length_mm=0.0), "length_mm"),
        (lambda d: change_span(d, HERE, length_mm=float("nan")), "length_mm"),
        (lambda d: change_span(d, HERE, turn_deg=1e6), "turn_deg"),
        (lambda d: change_run(d, 0, times=0), "times"),
        (lambda d: change_run(d, 0, times=1_000_000), "times"),
        (lambda d: change_run(d, 0, spans=()), "spans"),
        (lambda d: change_wire(d, diameter_mm=2.0), "bead"),  # its bead would vanish in the wire
        (lambda d: change_wire(d, diameter_mm=0.6), "post"),  # thinner than its post
        (lambda d: change_wire(d, metal=""), "metal"),
        (lambda d: change_spread(d, 1.5), "spread"),
        (lambda d: change_spread(d, float("nan")), "spread"),
        (lambda d: change_ends(d, start=BeadEnd(diameter_mm=0.5)), "bead"),
        (lambda d: change_texts(d, title="a\nb"), "one line"),
        (lambda d: scaled(d, 0.0), "length_mm"),
        (lambda d: scaled(d, 1e9), "length_mm"),
        (lambda d: scaled_with_wire(d, 30.0), ""),
        (lambda d: with_flare_depth(d, 2.0), "thickness"),
        (lambda d: with_flare(d, HERE, thickness=0.01), "thickness"),
        (lambda d: with_flare(d, HERE, centre=0.0), "flare"),
        (lambda d: with_variants(d, (Variant(title="v", diameter_mm=5.0),)), "variants[0]"),
        (lambda d: applied(d, Variant(title="v", diameter_mm=5.0)), "bead"),
    ],
)
def test_an_impossible_edit_is_refused_in_one_sentence(edit: Callable[[Design], Design], names: str) -> None:
    before = design_bytes(BASE)
    with pytest.raises(EditRefused) as refused:
        edit(BASE)
    sentence = str(refused.value)
    assert isinstance(refused.value, FormSketchError)
    assert "\n" not in sentence and sentence.endswith(".") and names in sentence
    assert design_bytes(BASE) == before
