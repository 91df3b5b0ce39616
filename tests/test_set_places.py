"""What is set on the wire of a design: what a file may say of it, and where it goes in edits of the form."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, change_run, change_span, loosened, mirrored, scaled
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.mark_edits import insert_mark, remove_mark
from formsketch.design.model import (
    Binding,
    Design,
    Form,
    QualityMark,
    Run,
    SetPearl,
    Span,
    Stone,
    Variant,
    Wire,
)
from formsketch.design.run_edits import reversed_wire, split_run
from formsketch.design.set_edits import (
    add_stones,
    place_quality_mark,
    set_pearls,
    set_stones,
    take_out_pearls,
)
from formsketch.design.transforms import applied
from formsketch.design.variant_edits import chosen
from formsketch.errors import DesignFileError, EditRefused
from tests.support.strategies import calm, designs, numbers

SPANS = (Span(length_mm=10.0), Span(length_mm=20.0, turn_deg=240.0), Span(length_mm=10.0, turn_deg=-40.0))


def row(times: int = 4, **of_run: Any) -> Design:
    """A motif of 10, 20 and 10 mm, repeated, with a stone, a pearl and a mark on its second repeat."""
    return Design(
        title="",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        form=Form(runs=(Run(spans=SPANS, times=times, **of_run),)),
        stones=(stone(60.0 / (40.0 * times)),),
        pearls=(pearl(52.0 / (40.0 * times), 68.0 / (40.0 * times)),),
        quality_mark=QualityMark(at_share=45.0 / (40.0 * times)),
    )


def stone(share: float) -> Stone:
    return Stone(at_share=share, size_mm=1.5, seat_mm=2.1)


def pearl(begin: float, end: float) -> SetPearl:
    return SetPearl(from_share=begin, to_share=end, diameter_mm=5.0, length_mm=5.0, aside=0.1)


def places_mm(design: Design, length_mm: float) -> list[float]:
    """All places along the wire: stones, both of each pearl, the mark."""
    shares = [s.at_share for s in design.stones]
    shares += [share for p in design.pearls for share in (p.from_share, p.to_share)]
    shares += [] if design.quality_mark is None else [design.quality_mark.at_share]
    return [share * length_mm for share in shares]


OWN = pytest.approx([60.0, 52.0, 68.0, 45.0])


def test_a_mark_put_in_or_taken_out_moves_nothing() -> None:
    design = row()
    assert places_mm(design, 160.0) == OWN
    cut = insert_mark(design, SpanAddress(0, 1), 0.3)
    assert places_mm(cut, 160.0) == OWN
    assert places_mm(remove_mark(cut, SpanAddress(0, 2)), 160.0) == OWN


def test_more_repeats_leave_each_on_its_own() -> None:
    assert places_mm(change_run(row(), 0, times=7), 280.0) == OWN
    # Graded, the second repeat is another size: each is as far along its span as it was.
    graded = change_run(row(), 0, ends_scale=0.5)
    sizes = [0.5, 1 - 0.5 / 9, 1 - 0.5 / 9, 0.5]
    second = sizes[1]
    wanted = [20 + second * (place - 40) for place in (60, 52, 68, 45)]
    assert places_mm(graded, 40 * sum(sizes)) == pytest.approx(wanted)


def test_what_was_on_a_repeat_that_goes_is_taken_out() -> None:
    fewer = change_run(row(), 0, times=1)
    assert (fewer.stones, fewer.pearls, fewer.quality_mark) == ((), (), None)
    # Half of a pearl's binding is no binding.
    assert change_run(replace(row(), pearls=(pearl(0.2, 0.6),)), 0, times=2).pearls == ()


def test_one_span_longer_leaves_the_others_what_they_carry() -> None:
    free = loosened(row(), 0)
    assert places_mm(free, 160.0) == OWN
    longer = change_span(free, SpanAddress(0, 0), length_mm=15.0)
    assert places_mm(longer, 165.0) == pytest.approx([65.0, 57.0, 73.0, 50.0])
    # The span they stand on: each stays at its share of it, what is on the next goes along.
    own = change_span(free, SpanAddress(0, 4), length_mm=30.0, turn_deg=100.0)
    assert places_mm(own, 170.0) == pytest.approx([50 + 15, 50 + 3, 50 + 27, 45])


def test_split_scaled_and_bent_they_stay() -> None:
    assert places_mm(split_run(row(), 0, 2), 160.0) == OWN
    assert places_mm(scaled(row(), 0.5), 160.0) == OWN
    assert scaled(row(), 0.5).pearls == row().pearls
    opened = change_span(row(), SpanAddress(0, 1), turn_deg=100.0)
    assert places_mm(opened, 160.0) == OWN


def test_mirrored_pearls_change_sides_and_nothing_else() -> None:
    there = mirrored(row())
    assert there.pearls[0].aside == -0.1
    assert mirrored(there) == row()
    assert there.stones == row().stones


def test_read_from_the_finish_they_are_counted_from_there() -> None:
    back = reversed_wire(row())
    assert places_mm(back, 160.0) == pytest.approx([100.0, 92.0, 108.0, 115.0])
    assert (back.pearls[0].along, back.pearls[0].aside) == (0.5, -0.1)
    assert places_mm(reversed_wire(back), 160.0) == OWN


def test_variants_and_cells_carry_what_is_set() -> None:
    more = Form(runs=(Run(spans=SPANS, times=6),))
    design = replace(row(), variants=(Variant(title="six", form=more), Variant(title="half", scale=0.5)))
    six, half = (applied(design, variant) for variant in design.variants)
    assert places_mm(six, 240.0) == OWN
    assert places_mm(half, 160.0) == OWN
    assert places_mm(chosen(design, six), 240.0) == OWN


@calm(8)
@given(design=designs(), at=numbers(0.05, 0.95), which=st.integers(0, 1000))
def test_marks_in_any_design_move_nothing(design: Design, at: float, which: int) -> None:
    run = which % len(design.form.runs)
    index = which % len(design.form.runs[run].spans)
    try:
        cut = insert_mark(design, SpanAddress(run, index), at)
    except EditRefused:
        return
    assert places_mm(cut, 1.0) == pytest.approx(places_mm(design, 1.0), abs=1e-9)
    assert len(cut.pearls) == len(design.pearls)


def test_old_files_say_nothing_of_it_and_new_ones_come_back() -> None:
    bare = Design(title="", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=row().form)
    assert not {b"pearls", b"stones", b"binding", b"quality_mark"} & set(design_bytes(bare).split(b'"'))
    data = design_bytes(row())
    assert read_design(data, "").design == row()
    assert design_bytes(read_design(data, "").design) == data


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"pearls": (pearl(0.5, 0.5),)}, r"pearls\[0\].to_share: expected a place beyond"),
        ({"stones": (replace(stone(0.5), size_mm=3.0),)}, r"stones\[0\].seat_mm: expected a tube at least"),
        ({"stones": (stone(1.2),)}, r"stones\[0\].at_share: expected a number of at most 1.0"),
        ({"binding": Binding(passes=0)}, r"binding.passes: expected a whole number of at least 1"),
        ({"binding": Binding(bead_mm=0.3)}, r"binding.bead_mm: expected 0 \(no bead\) or a bead thicker"),
        ({"quality_mark": QualityMark(at_share=0.5, wide_mm=0.0)}, "quality_mark.wide_mm: expected"),
    ],
)
def test_what_cannot_be_is_refused_by_place(wrong: dict[str, Any], told: str) -> None:
    plain = row()
    for name, value in wrong.items():
        with pytest.raises(EditRefused):
            if name == "pearls":
                set_pearls(plain, value)
            elif name == "stones":
                set_stones(plain, value)
            elif name == "binding":
                set_pearls(plain, plain.pearls, value)
            else:
                place_quality_mark(plain, value)
    data = design_bytes(plain).decode()
    said = {
        "pearls": ('"to_share": 0.425', '"to_share": 0.325'),
        "binding": (
            '"pearls"',
            '"binding": {"bead_mm": 0.3}, "pearls"'
            if "bead" in told
            else '"binding": {"passes": 0}, "pearls"',
        ),
        "quality_mark": ('"at_share": 0.28125', '"at_share": 0.28125, "wide_mm": 0'),
        "stones": ('"size_mm": 1.5', '"size_mm": 3')
        if "tube" in told
        else ('"at_share": 0.375', '"at_share": 1.2'),
    }[next(iter(wrong))]
    assert said[0] in data
    with pytest.raises(DesignFileError, match=told):
        read_design(data.replace(*said, 1).encode(), "f")


def test_kinds_are_told_in_words() -> None:
    data = design_bytes(row()).decode()
    with pytest.raises(DesignFileError, match='expected a kind of stone such as "diamond"'):
        read_design(data.replace('"size_mm": 1.5', '"size_mm": 1.5, "kind": "pebble"').encode(), "f")
    with pytest.raises(DesignFileError, match='expected "round", "button" or "rice"'):
        read_design(data.replace('"length_mm": 5', '"length_mm": 5, "shape": "pear"', 1).encode(), "f")


def test_stones_are_added_in_the_order_of_the_wire_and_taken_out() -> None:
    both = add_stones(row(), (stone(0.1), stone(0.9)))
    assert [s.at_share for s in both.stones] == [0.1, 0.375, 0.9]
    assert set_stones(both, ()).stones == ()
    bound = set_pearls(row(), row().pearls, Binding(wraps=5))
    assert bound.binding == Binding(wraps=5)
    assert (take_out_pearls(bound).pearls, take_out_pearls(bound).binding) == ((), Binding())
    assert place_quality_mark(row(), None).quality_mark is None
