"""Ends as the program handles them: files, other sizes and sides, words, marks and cautions."""

from __future__ import annotations

import json

import pytest
from msgspec.structs import replace

from formsketch.design.edits import change_ends, mirrored, scaled_with_wire
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.model import (
    BeadEnd,
    Design,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PlainEnd,
    PostEnd,
    RoundedEnd,
    Run,
    SHookEnd,
    Span,
    TaperedEnd,
    Variant,
    Wire,
)
from formsketch.design.run_edits import reversed_wire
from formsketch.design.soundness import sound
from formsketch.design.transforms import scaled_form
from formsketch.design.variant_edits import pulled
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.end_marks import end_marks_mm
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.forging.end_defaults import default_end
from formsketch.forging.ends import end_piece
from formsketch.template.bench_ending import end_steps
from formsketch.template.mark_table import MarkTable
from formsketch.template.rule_part import rule_strips
from formsketch.template.stages import as_bent
from formsketch.template.wire_strip import lay_wire

D = 1.2
KINDS: dict[str, End] = {
    "plain": PlainEnd(),
    "rounded": RoundedEnd(),
    "tapered": TaperedEnd(length_mm=8.0, tip_diameter_mm=0.6, turn_deg=90.0),
    "bead": BeadEnd(diameter_mm=2.4),
    "hook": HookEnd(inside_diameter_mm=4.0, bead_diameter_mm=2.0),
    "twisted hook": HookEnd(inside_diameter_mm=4.0, twist_deg=-90.0),
    "s-hook": SHookEnd(inside_diameter_mm=4.0, curl_diameter_mm=1.5, turn_deg=-210.0),
    "eye": EyeEnd(inside_diameter_mm=2.5, side="right"),
    "post": PostEnd(),
    "ear-wire": EarWireEnd(turn_deg=170.0, leg_mm=12.0),
    "drilled": DrilledEnd(hole_diameter_mm=0.9, thickness=0.5),
}
PLAIN = KINDS["plain"]
each_kind = pytest.mark.parametrize("end", KINDS.values(), ids=KINDS)


def design(
    start: End = KINDS["plain"], finish: End = KINDS["plain"], d: float = D, metal: str = ""
) -> Design:
    span = Span(length_mm=30.0, turn_deg=60.0, flare=Flare(thickness=0.6))
    return sound(
        Design(
            title="Ends",
            wire=Wire(metal=metal or "brass-c26000", diameter_mm=d),
            form=Form(runs=(Run(spans=(span,)),), start=start, finish=finish),
        )
    )


def codes(e: Evaluation) -> set[str]:
    return {caution.code for caution in e.cautions}


# ---- files


@each_kind
def test_every_end_goes_through_a_file(end: End) -> None:
    made = design(end, end)
    data = design_bytes(made)
    assert read_design(data, "ends").design == made
    assert design_bytes(read_design(data, "ends").design) == data


@pytest.mark.parametrize(
    "written",
    [
        {"kind": "plain"},
        {"kind": "tapered", "length_mm": 8, "tip_diameter_mm": 0.6, "turn_deg": 90},
        {"kind": "bead", "diameter_mm": 2.4},
        {"kind": "hook", "inside_diameter_mm": 4.5, "turn_deg": -190, "straight_mm": 1.5,
         "bead_diameter_mm": 2.5},
        {"kind": "eye", "inside_diameter_mm": 3.2, "side": "right"},
        {"kind": "post", "length_mm": 10.5, "diameter_mm": 0.9},
    ],
    ids=lambda written: written["kind"],
)  # fmt: skip
def test_ends_of_earlier_files_keep_their_bytes(written: dict[str, object]) -> None:
    document = json.loads(design_bytes(design()))
    if written != {"kind": "plain"}:
        document["form"]["start"] = written
    data = (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()
    assert design_bytes(read_design(data, "ends").design) == data
    assert "twist" not in data.decode()


@pytest.mark.parametrize(
    ("end", "what"),
    [
        (EarWireEnd(diameter_mm=1.3), "ear wire no thicker"),
        (EarWireEnd(turn_deg=0.0), "a turn to the left"),
        (SHookEnd(inside_diameter_mm=4.0, curl_diameter_mm=1.5, turn_deg=0.0), "a turn to the left"),
        (DrilledEnd(hole_diameter_mm=3.0, length_mm=2.0), "long enough for its hole"),
        (HookEnd(inside_diameter_mm=4.0, bead_diameter_mm=1.0), "thicker than"),
    ],
)
def test_an_end_that_cannot_be_is_refused_in_words(end: End, what: str) -> None:
    with pytest.raises(EditRefused, match=what):
        change_ends(design(), start=end)


# ---- other sizes, other sides

# Fields that grow with the form in the same wire; the rest is the wire's or made to a fitting.
GROWS = {
    "tapered": {"length_mm"},
    "bead": {"diameter_mm"},
    "hook": {"inside_diameter_mm", "straight_mm", "bead_diameter_mm"},
    "twisted hook": {"inside_diameter_mm", "straight_mm"},
    "s-hook": {"inside_diameter_mm", "straight_mm", "curl_diameter_mm"},
    "eye": {"inside_diameter_mm"},
}


@pytest.mark.parametrize("name", KINDS)
def test_what_of_an_end_scales_with_the_form(name: str) -> None:
    end = KINDS[name]
    scaled = scaled_form(design(end), 1.5).form.start
    grown = {
        field: 1.5 if field in GROWS.get(name, ()) else 1.0
        for field in end.__struct_fields__
        if isinstance(getattr(end, field), float)
    }
    for field, times in grown.items():
        assert getattr(scaled, field) == pytest.approx(times * getattr(end, field), rel=1e-15), field


@each_kind
def test_a_true_enlargement_scales_all_of_an_end(end: End) -> None:
    # Lengths by k, weight by k^3.
    one, large = evaluate(design(end, end)), evaluate(scaled_with_wire(design(end, end), 1.25))
    assert large.cut_length_mm == pytest.approx(1.25 * one.cut_length_mm, rel=1e-12)
    assert large.weight_g == pytest.approx(1.25**3 * one.weight_g, rel=1e-12)
    assert large.envelope_mm == pytest.approx([1.25 * x for x in one.envelope_mm], rel=1e-3)


@each_kind
def test_a_pull_on_a_scaled_variant_leaves_every_end_as_it_is(end: End) -> None:
    base = replace(design(end, end), variants=(Variant(title="large", scale=1.3),))
    made = scaled_form(base, 1.3)
    longer = replace(made.form.runs[0].spans[0], length_mm=50.0)
    form = replace(made.form, runs=(Run(spans=(longer,)),))
    after = pulled(base, 0, form, to_all=True)
    assert (after.form.start, after.form.finish) == (end, end)


@each_kind
def test_mirroring_and_reading_from_the_finish_change_no_number(end: End) -> None:
    one = evaluate(design(end, KINDS["plain"]))
    for other in (mirrored(one.design), reversed_wire(one.design)):
        e = evaluate(other)
        assert e.cut_length_mm == pytest.approx(one.cut_length_mm, rel=1e-14)
        assert e.silhouette_area_mm2 == pytest.approx(one.silhouette_area_mm2, rel=1e-5)
        assert sorted(e.envelope_mm) == pytest.approx(sorted(one.envelope_mm), abs=1e-3)
    assert mirrored(mirrored(one.design)) == one.design


# ---- words, marks and stages


@pytest.mark.parametrize("where", ["start", "finish"])
@each_kind
def test_marks_inside_an_end_stand_on_strip_rule_and_table(end: End, where: str) -> None:
    e = evaluate(design(**{where: end}))
    piece = e.ends[0 if where == "start" else 1]
    places = end_marks_mm(e)[0 if where == "start" else 1]
    assert sorted(word for word, _ in places) == sorted(mark.words[0] for mark in piece.marks)
    form_mark = piece.stock_mm if where == "start" else e.cut_length_mm - piece.stock_mm
    assert sorted(abs(at - form_mark) for _, at in places) == pytest.approx(
        [mark.beyond_mm for mark in piece.marks], rel=1e-9
    )
    strip = lay_wire(e, 170.0)
    on_strip = [
        (words.block.lines[0].text, words.at_mm)
        for row in strip.rows
        for words in row.over.words
        if words.name.startswith("end-mark-")
    ]
    assert on_strip == [(word, pytest.approx(at)) for word, at in places]
    allowances = [
        words for row in strip.rows for words in row.under.words if words.name.startswith("allowance-")
    ]
    # The braces under the allowance cover all of it.
    covered = sum(2 * words.half_mm for words in allowances)
    assert covered == pytest.approx(piece.stock_mm, abs=1e-9)
    said = [line.text for words in allowances for line in words.block.lines]
    assert (piece.word in said) == (piece.stock_mm > 0)
    rows = MarkTable(e, 250.0).rows
    assert [row[1] for row in rows] == sorted((row[1] for row in rows), key=float)
    assert {row[0] for row in rows} - {"1", "2"} == {word for word, _ in places}
    assert {name for strip in rule_strips(e, 400.0) for name, _ in strip.marks} - {"1", "2"} == {
        word for word, _ in places
    }


@each_kind
def test_the_bench_is_told_what_to_do_for_an_end(end: End) -> None:
    e = evaluate(design(finish=end))
    piece = e.ends[1]
    assert piece.text and not piece.text.endswith(".")
    lines = [line for step in end_steps(e) for line in step.lines]
    assert len(lines) == len(piece.work)
    assert all(line.startswith("Finish: ") for line in lines)
    if isinstance(end, HookEnd) and end.twist_deg:
        assert any("90° anticlockwise" in line for line in lines)


@pytest.mark.parametrize("name", ["twisted hook", "drilled", "rounded"])
def test_as_bent_an_end_is_straight_round_wire_of_its_stock(name: str) -> None:
    e = evaluate(design(finish=KINDS[name]))
    bent = evaluate(as_bent(e))
    assert bent.cut_length_mm == pytest.approx(e.cut_length_mm, rel=1e-12)
    assert bent.ends[1].hole_diameter_mm == bent.ends[1].tip_width_mm == 0
    assert set(bent.chain.foreshortening) == {1.0}


@pytest.mark.parametrize("d", [0.5, 0.8, 1.0, 1.29, 2.0, 3.0])
def test_every_default_can_be_made_and_goes_by_the_wire(d: float) -> None:
    for kind in {type(end) for end in KINDS.values()}:
        for twisted in (False, True):
            end = default_end(kind, d, twisted)
            assert type(end) is kind
            e = evaluate(design(end, d=d, metal="sterling-925"))
            assert not {c.code for c in e.cautions if c.weight == "stop"}
    assert default_end(BeadEnd, d) == BeadEnd(diameter_mm=2 * d)  # twice the wire, common practice


# ---- cautions

EAR = "ear-wire"
CAUTIONS: list[tuple[str, Design, Design]] = [
    # Common practice: on wire over 1.2 mm a bead of 2.5 wires starts to fall off.
    ("bead_large", design(BeadEnd(diameter_mm=3.25), d=1.3), design(BeadEnd(diameter_mm=2.7), d=1.3)),
    ("bead_large", design(BeadEnd(diameter_mm=3.25), d=1.3), design(BeadEnd(diameter_mm=2.7), d=1.08)),
    ("ear_wire", design(KINDS[EAR]), design(KINDS["hook"])),
    ("ear_wire_thick", design(EarWireEnd(diameter_mm=1.1)), design(KINDS[EAR])),
    ("ear_thin", design(EarWireEnd(diameter_mm=0.6)), design(KINDS[EAR])),
    ("ear_thin", design(PostEnd(diameter_mm=0.6)), design(PostEnd())),
    # EU REACH Annex XVII entry 27.
    (
        "nickel_ear",
        design(KINDS[EAR], metal="nickel-silver-c75200"),
        design(KINDS["hook"], metal="nickel-silver-c75200"),
    ),
    ("sharp_tip", design(TaperedEnd(length_mm=8.0, tip_diameter_mm=0.3)), design(KINDS["tapered"])),
    (
        "sharp_end",
        design(DrilledEnd(hole_diameter_mm=0.5, thickness=0.3)),
        design(DrilledEnd(hole_diameter_mm=0.5, thickness=0.6)),
    ),
    # 1.2 mm of round wire is all eaten by a hole of 1.2 mm.
    ("hole_too_wide", design(DrilledEnd(hole_diameter_mm=1.2)), design(DrilledEnd(hole_diameter_mm=1.1))),
    # Common practice: half a hole beside it, a whole one at the tip.
    (
        "hole_little_metal",
        design(DrilledEnd(hole_diameter_mm=0.7, from_end_mm=1.0)),
        design(DrilledEnd(hole_diameter_mm=0.6, from_end_mm=0.6)),
    ),
    (
        "hole_little_metal",
        design(DrilledEnd(hole_diameter_mm=0.5, from_end_mm=0.4)),
        design(DrilledEnd(hole_diameter_mm=0.5, from_end_mm=0.5)),
    ),
    ("drilling", design(KINDS["drilled"]), design(KINDS["eye"])),
    (
        "catch_does_not_fit",
        design(HookEnd(inside_diameter_mm=4.0, bead_diameter_mm=2.4), EyeEnd(inside_diameter_mm=2.3)),
        design(HookEnd(inside_diameter_mm=4.0, bead_diameter_mm=2.4), EyeEnd(inside_diameter_mm=2.5)),
    ),
    (
        "catch_does_not_fit",
        design(HookEnd(inside_diameter_mm=1.1), EyeEnd(inside_diameter_mm=2.3)),
        design(HookEnd(inside_diameter_mm=1.3), EyeEnd(inside_diameter_mm=2.3)),
    ),
    # A hook without a fellow carries nothing that is known.
    (
        "hook_weak",
        design(HookEnd(inside_diameter_mm=6.0), EyeEnd(inside_diameter_mm=3.0), d=0.8),
        design(HookEnd(inside_diameter_mm=6.0), d=0.8),
    ),
]


@pytest.mark.parametrize(("code", "where", "where_not"), CAUTIONS)
def test_a_caution_about_an_end_is_shown_where_it_applies(
    code: str, where: Design, where_not: Design
) -> None:
    assert code in codes(evaluate(where))
    assert code not in codes(evaluate(where_not))


def test_heat_after_hammering_is_cautioned_of_at_a_post() -> None:
    (caution,) = [c for c in evaluate(design(PostEnd())).cautions if c.code == "post_heat"]
    assert "hammer last" in caution.message and "soften" in caution.message


def test_an_end_thicker_than_its_wire_is_no_end() -> None:
    with pytest.raises(FormSketchError):
        end_piece(BeadEnd(diameter_mm=1.0), 1.2)
