"""The template's words and layout: nothing on anything else, nothing lost, the right thing said.

Sources: sides and turns from the curvature (turn + skew (2u - 1)) / length by integration, in closed form
beside each check [D]; isotonic regression against SciPy; crossings against the picture drawn by resvg.
"""

import io
import itertools
import math
from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from PIL import Image
from scipy.optimize import isotonic_regression

from formsketch.bench.tubes import Tube
from formsketch.design.model import (
    Design,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Wire,
)
from formsketch.design.starters import STARTERS, make_starter
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.bench_words import marks_in_words, spans_in_words
from formsketch.template.drawing import (
    SMALLEST_TEXT_MM,
    Group,
    Item,
    Path,
    Sheet,
    Text,
    bounds,
    text_box,
    text_width_mm,
    walk,
)
from formsketch.template.lettering import Block, Line, block, wrapped
from formsketch.template.plan import Placing, form_items, placed_in, stretch_starts
from formsketch.template.plan_labels import mark_labels, mark_ticks
from formsketch.template.png import png_bytes
from formsketch.template.svg import svg_text
from formsketch.template.template import template_sheets
from formsketch.template.wire_rows import Gap, Tiers, break_into_rows
from formsketch.template.words_along import Words, isotonic, set_along
from tests.support.strategies import calm, designs, numbers, texts

BRASS_16 = Wire(metal="brass-c26000", diameter_mm=1.290846)
SILVER_18 = Wire(metal="sterling-925", diameter_mm=1.02)

ODD = Form(
    runs=(
        Run(
            spans=(
                Span(length_mm=12.0),
                Span(length_mm=14.0, turn_deg=200.0, skew_deg=150.0, flare=Flare(thickness=0.5)),
                Span(length_mm=9.0, turn_deg=-40.0, skew_deg=90.0, corner_deg=-90.0),
                Span(length_mm=10.0, corner_deg=150.0, flare=Flare(thickness=0.6, face="edge")),
            )
        ),
        Run(
            times=3,
            turned_over=True,
            spans=(Span(length_mm=6.0, corner_deg=60.0), Span(length_mm=6.0, corner_deg=-60.0)),
        ),
    ),
    start=EyeEnd(inside_diameter_mm=3.0),
    finish=HookEnd(inside_diameter_mm=5.0, turn_deg=-200.0, bead_diameter_mm=1.9),
)
COIL = Form(
    runs=(Run(spans=(Span(length_mm=300.0, turn_deg=1400.0, skew_deg=-900.0), Span(length_mm=60.0))),),
    start=PostEnd(),
    finish=TaperedEnd(length_mm=12.0, tip_diameter_mm=0.4),
)
HAIR = Form(
    runs=(Run(times=25, spans=(Span(length_mm=1.2, turn_deg=90.0), Span(length_mm=0.6, turn_deg=-90.0))),)
)
FOLDED = Form(
    runs=(
        Run(
            spans=(
                Span(length_mm=60.0, turn_deg=200.0, flare=Flare(thickness=0.4, hold=0.3)),
                Span(length_mm=10.0, turn_deg=-190.0, flare=Flare(thickness=0.5)),
                Span(length_mm=100.0, turn_deg=20.0),
            )
        ),
    )
)


def design(form: Form, wire: Wire = SILVER_18, title: str = "Check") -> Design:
    return Design(title=title, wire=wire, form=form)


def spans(*written: Span, wire: Wire = SILVER_18) -> Evaluation:
    return evaluate(design(Form(runs=(Run(spans=written),)), wire))


DESIGNS = {
    **{key: make_starter(key, BRASS_16) for key in STARTERS},
    **{f"{n}-loops": make_starter("row-of-loops", BRASS_16, numbers={"times": n}) for n in (1, 2, 25)},
    **{f"{n}-s-forms": make_starter("row-of-s-forms", BRASS_16, numbers={"times": n}) for n in (1, 4, 60)},
    **{f"{n}-corners": make_starter("zigzag", BRASS_16, numbers={"times": n}) for n in (2, 30)},
    **{f"{n}-half-turns": make_starter("spiral", BRASS_16, numbers={"half_turns": n}) for n in (2, 24)},
    "thin": make_starter("row-of-s-forms", Wire(metal="fine-silver", diameter_mm=0.3)),
    "thick": make_starter("hoop", Wire(metal="copper-c11000", diameter_mm=8.0)),
    "odd": design(ODD),
    "coil": design(COIL),
    "hair": design(HAIR, Wire(metal="brass-c26000", diameter_mm=0.3)),
    "folded": design(FOLDED, Wire(metal="brass-c26000", diameter_mm=8.0)),
    "long-title": design(ODD, title="A title that goes on and on " * 7),
    "straight": design(Form(runs=(Run(spans=(Span(length_mm=2_000.0),)),))),
}


@cache
def sheet_of(name: str) -> Sheet:
    (sheet,) = template_sheets(evaluate(DESIGNS[name]))
    return sheet


def named(sheet: Sheet) -> dict[str, Group]:
    def groups(items: object) -> Iterator[Group]:
        for item in items:  # type: ignore[attr-defined]
            if isinstance(item, Group):
                yield item
                yield from groups(item.items)

    return {group.name: group for group in groups(sheet.groups)}


def overlapping(texts_: list[Text]) -> list[tuple[str, str]]:
    boxes = np.array([text_box(text) for text in texts_])
    slack = 1e-6
    meet_x = (boxes[:, None, 0] < boxes[None, :, 2] - slack) & (boxes[None, :, 0] < boxes[:, None, 2] - slack)
    meet_y = (boxes[:, None, 1] < boxes[None, :, 3] - slack) & (boxes[None, :, 1] < boxes[:, None, 3] - slack)
    pairs = np.argwhere(np.triu(meet_x & meet_y, 1))
    return [(texts_[i].text, texts_[j].text) for i, j in pairs]


def words_of(items: object) -> list[str]:
    return [item.text for item in walk(items) if isinstance(item, Text)]  # type: ignore[arg-type]


def assert_legible(sheet: Sheet) -> None:
    """Lettering lies apart, inside the sheet, off the wire, and is large enough; so is all else inside."""
    found = [item for item in walk(sheet.groups) if isinstance(item, Text)]
    assert overlapping(found) == []
    assert min(text.height_mm for text in found) >= SMALLEST_TEXT_MM
    x0, y0, x1, y1 = bounds(sheet.groups)
    margin = 5.0
    assert margin <= x0 and margin <= y0 and x1 <= sheet.width_mm - margin and y1 <= sheet.height_mm - margin
    groups = named(sheet)
    bodies = [bounds(group.items) for name, group in groups.items() if name.startswith("wire-body-")]
    for body in bodies:
        for text in found:
            box = text_box(text)
            apart = box[0] > body[2] or box[2] < body[0] or box[1] > body[3] or box[3] < body[1]
            assert apart, f"{text.text} lies on the wire"


# The whole sheet


@pytest.mark.parametrize("name", DESIGNS)
def test_everything_is_legible(name: str) -> None:
    assert_legible(sheet_of(name))


@pytest.mark.parametrize("name", DESIGNS)
def test_every_mark_and_span_has_its_words(name: str) -> None:
    evaluation = evaluate(DESIGNS[name])
    groups = named(sheet_of(name))
    count = len(evaluation.spans.turn_deg)
    for k in range(1, count + 2):
        assert str(k) in words_of([groups[f"mark-{k}"]])
    for k in range(1, count + 1):
        assert words_of([groups[f"span-{k}"]])
    numbers_on_form = words_of([groups["form-mark-numbers"]])
    expected = [f"{k}" for k in range(1, count + 2)]
    expected[0], expected[-1] = "1 start", f"{count + 1} finish"
    assert sorted(numbers_on_form) == sorted(expected)


@calm(20)
@given(designs())
def test_any_design_gives_a_legible_sheet_or_a_reason(drawn: Design) -> None:
    try:
        (sheet,) = template_sheets(evaluate(drawn))
    except FormSketchError as fault:
        assert str(fault).startswith("No template of ")
    else:
        assert_legible(sheet)
        svg_text(sheet)


@calm(10)
@given(designs(wild=True))
def test_the_wildest_design_gives_a_sheet_or_a_reason(drawn: Design) -> None:
    try:
        (sheet,) = template_sheets(evaluate(drawn))
    except FormSketchError as fault:
        assert str(fault).startswith("No template of ")
    else:
        assert_legible(sheet)


def test_title_block_says_what_to_cut() -> None:
    """100 mm of 1 mm silver wire: pi/4 x 0.1^2 x 10 cm3 at 10.36 g/cm3 is 0.8137 g."""
    wire = Wire(metal="sterling-925", diameter_mm=1.0)
    (sheet,) = template_sheets(spans(Span(length_mm=100.0), wire=wire))
    text = " ".join(words_of([named(sheet)["title-block"]]))
    assert "Cut 100.0 mm of 1.00 mm (between 18 and 19 gauge) wire" in text
    assert f"{math.pi / 4 * 0.1**2 * 10 * 10.36:.2f} g" in text
    assert "plain, cut square and smoothed" in text
    assert "Hammered" not in text and "spread" not in text  # nothing rests on a hammer here


def test_hammering_and_its_band_are_said() -> None:
    text = " ".join(words_of([named(sheet_of("hoop"))["title-block"]]))
    assert "thinnest 0.65 mm" in text  # 0.5 x 1.290846
    assert "spread 0.80 (0.75 to 0.95)" in text


def test_cautions_and_safety_are_on_the_sheet() -> None:
    text = " ".join(words_of([named(sheet_of("s-ring"))["cautions"]]))
    assert "zinc" in text and "eye protection" in text and "Hot metal" in text
    assert words_of([named(sheet_of("s-ring"))["printing"]])[0].startswith("Print at 100 %.")


def test_what_cannot_be_hammered_has_no_template() -> None:
    flat = spans(Span(length_mm=40.0, flare=Flare(thickness=0.1)))
    with pytest.raises(FormSketchError, match=r"^No template of Check: Span 1: .*times as wide as thick"):
        template_sheets(flat)


def test_what_no_sheet_holds_has_no_template() -> None:
    # A straight form of six metres; the largest page of a PDF is 5.08 m.
    with pytest.raises(FormSketchError, match=r"^No template of Check: it would need a sheet of"):
        template_sheets(spans(Span(length_mm=6_000.0)))


def test_a_large_sheet_says_so() -> None:
    sheet = sheet_of("60-s-forms")
    text = " ".join(words_of([named(sheet)["printing"]]))
    assert f"This sheet is {sheet.width_mm:.0f} x {sheet.height_mm:.0f} mm" in text
    assert "This sheet" not in " ".join(words_of([named(sheet_of("hoop"))["printing"]]))


def test_marks_are_listed_where_there_is_room() -> None:
    """Marks at 0, 30 and 70 mm of unhammered wire; half a turn on 40 mm."""
    (sheet,) = template_sheets(spans(Span(length_mm=30.0), Span(length_mm=40.0, turn_deg=-180.0)))
    table = words_of([named(sheet)["mark-table"]])
    assert table[0] == "Marks and bends in order"
    # Nothing is hammered: no band, and no sizes.
    assert table[1:7] == ["mark", "at mm", "to next", "turn", "tube", "exact"]
    assert table[7:11] == ["1", "0.0", "30.0", "straight"]
    assert table[11:15] == ["2", "30.0", "40.0", "180° right"]
    assert table[-2:] == ["3", "70.0"]


@pytest.mark.parametrize("title", ["", "   ", "tab\x85bed \u2028 line", "\x9f"])
def test_titles_no_drawing_can_carry_are_cleaned(title: str) -> None:
    (sheet,) = template_sheets(evaluate(design(ODD, title=title)))
    assert svg_text(sheet)


# Words


def test_turns_in_words() -> None:
    evaluation = spans(
        Span(length_mm=20.0),
        Span(length_mm=20.0, turn_deg=236.0),
        Span(length_mm=20.0, turn_deg=-90.5),
        # Curvature grows from nothing: tightens. And the other way round.
        Span(length_mm=20.0, turn_deg=90.0, skew_deg=90.0),
        Span(length_mm=20.0, turn_deg=-90.0, skew_deg=90.0),
        # Turn 0: to one side by a quarter of the skew, then back by as much.
        Span(length_mm=20.0, skew_deg=120.0),
        Span(length_mm=20.0, skew_deg=-120.0),
    )
    words = spans_in_words(evaluation)
    assert [w.turn for w in words] == [
        ("straight",),
        ("236° left",),
        ("90.5° right",),
        ("90° left",),
        ("90° right",),
        ("30° right,", "then 30° left"),
        ("30° left,", "then 30° right"),
    ]
    assert [w.change for w in words] == ["", "", "", "tightens to", "opens from", "tightest", "tightest"]


def test_parts_of_an_s_add_up() -> None:
    """Turn 30, skew 90: no curvature at u = 1/3, by where it has turned -10 degrees; 40 more follow."""
    (words,) = spans_in_words(spans(Span(length_mm=20.0, turn_deg=30.0, skew_deg=90.0)))
    assert words.turn == ("10° right,", "then 40° left")


def test_tubes_in_words() -> None:
    evaluation = spans(
        Span(length_mm=math.pi * 6.0, turn_deg=180.0),
        Span(length_mm=math.pi * 60.0, turn_deg=180.0),
        Span(length_mm=math.pi * 0.65, turn_deg=180.0),
        Span(length_mm=math.pi * 0.5, turn_deg=180.0),
    )
    exact = evaluation.spans.tube_diameter_mm
    served, large, small, none = spans_in_words(evaluation, [Tube(8.0, "8 mm"), Tube(11.0, "11 mm")])
    assert served.lines()[1:] == ["Ø 11 mm", f"({exact[0]:.2f})"]
    assert large.lines()[1:] == [f"Ø {exact[1]:.2f}", "mandrel"]
    assert small.lines()[1:] == [f"Ø {exact[2]:.2f}", "pliers"]
    assert none.lines()[1:] == ["too tight"]  # the radius is less than half of the wire


def test_hammering_in_words() -> None:
    flat, edge, none = spans_in_words(
        spans(
            Span(length_mm=20.0, flare=Flare(thickness=0.5)),
            Span(length_mm=20.0, flare=Flare(thickness=0.5, face="edge")),
            Span(length_mm=20.0),
        )
    )
    assert flat.thin == "0.51" and not flat.on_edge  # 0.5 x 1.02
    assert edge.lines()[-1] == "on edge"
    assert none.lines() == ["straight"]


def test_marks_in_words() -> None:
    evaluation = spans(
        Span(length_mm=10.0),
        Span(length_mm=10.0, corner_deg=90.0),
        Span(length_mm=10.0, turned_over=True, turn_deg=60.0),
        Span(length_mm=10.0, corner_deg=45.0),  # still turned over, so it lies to the other side
    )
    assert marks_in_words(evaluation) == [
        [],
        ["bend 90°", "left"],
        ["turn", "over"],
        ["bend 45°", "right"],
        [],
    ]


@calm(50)
@given(texts(60), numbers(5.0, 60.0))
def test_wrapped_lines_keep_to_the_width_and_lose_nothing(text: str, width_mm: float) -> None:
    assume(text_width_mm(text, 2.5) > 0)
    lines = wrapped(text, width_mm, 2.5)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(text_width_mm(line, 2.5) <= width_mm or len(line) == 1 for line in lines)


# Words along the wire, and rows


@calm(100)
@given(st.lists(numbers(-500.0, 500.0), min_size=1, max_size=30))
def test_isotonic_agrees_with_scipy(values: list[float]) -> None:
    assert isotonic(np.array(values)) == pytest.approx(isotonic_regression(values).x, abs=1e-9)


def some_words(count: int, at: list[float] | None = None, width: int = 5) -> list[Words]:
    places = at if at is not None else [10.0 * i for i in range(count)]
    return [Words(f"mark-{i}", place, block(["8" * width])) for i, place in enumerate(places)]


@calm(60)
@given(st.lists(numbers(0.0, 150.0), min_size=1, max_size=20), st.sampled_from((1, 2)))
def test_words_along_the_wire_never_meet(places: list[float], tiers: int) -> None:
    ordered = sorted(places)
    words = [Words("a", x, block(["8" * (1 + i % 9)])) for i, x in enumerate(ordered)]
    side = set_along(words, np.array(ordered), 1_000.0, tiers)
    assert side.fits
    widths = np.array([w.block.width_mm for w in words])
    for step in range(tiers):
        x, w = side.x_mm[step::tiers], widths[step::tiers]
        assert (np.diff(x) >= (w[1:] + w[:-1]) / 2 + 1e-9).all()
    assert (side.x_mm - widths / 2 >= -1e-9).all() and (side.x_mm + widths / 2 <= 1_000.0 + 1e-9).all()
    if tiers == 2:  # the line to a farther word goes down past the nearer ones
        for far in range(1, len(words), 2):
            near = [i for i in (far - 1, far + 1) if i < len(words)]
            assert all(abs(side.x_mm[far] - side.x_mm[i]) > widths[i] / 2 for i in near)


def test_words_with_room_stand_over_their_places() -> None:
    side = set_along(some_words(5), 50.0 + 30.0 * np.arange(5), 300.0, 1)
    assert side.x_mm == pytest.approx(side.place_x_mm) and side.most_shift_mm == 0


def rows_of(places: list[float], width_mm: float = 190.0, tiers: tuple[int, int] = (1, 1)) -> list:
    stops = some_words(0, places)
    gaps = [
        Gap(f"span-{i + 1}", a, b, block(["straight", "0.65 thick"]))
        for i, (a, b) in enumerate(itertools.pairwise(places))
    ]
    return break_into_rows(stops, gaps, width_mm, Tiers(*tiers), 3.0)


@calm(60)
@given(
    st.lists(
        st.one_of(numbers(0.05, 3.0), numbers(3.0, 60.0), numbers(60.0, 700.0)), min_size=1, max_size=60
    ),
    st.sampled_from(((1, 1), (1, 2), (2, 2))),
)
def test_rows_show_all_wire_and_every_mark_once(lengths: list[float], tiers: tuple[int, int]) -> None:
    places = np.concatenate(([0.0], np.cumsum(lengths))).tolist()
    rows = rows_of(places, tiers=tiers)
    assert rows[0].from_mm == 0.0 and rows[-1].to_mm == places[-1]
    for row, following in itertools.pairwise(rows):
        assert row.ends == following.begins and row.ends.half_mm > 0
        assert following.from_mm == row.ends.at_mm - row.ends.half_mm
        assert row.to_mm == row.ends.at_mm + row.ends.half_mm
    named_marks = [w.name for row in rows for w in row.over.words if w.name.startswith("mark-")]
    assert named_marks == [f"mark-{i}" for i in range(len(places))]
    spans_named = [w.name for row in rows for w in row.under.words]
    assert sorted(spans_named) == sorted(f"span-{i + 1}" for i in range(len(lengths)))
    for row in rows:
        assert row.x_mm(row.from_mm) >= 0 and row.x_mm(row.to_mm) <= 190.0
        for side in (row.over, row.under):
            assert side.fits
            for words, x in zip(side.words, side.place_x_mm, strict=True):
                # A place on the row is its place on the wire, from where the row begins.
                assert x == pytest.approx(row.wire_x_mm + words.at_mm - row.from_mm, abs=1e-6)


def test_a_long_straight_wire_overlaps_by_a_centimetre() -> None:
    rows = rows_of([0.0, 2_000.0])
    assert len(rows) == math.ceil(2_000.0 / (190.0 - 2.0 - 10.0))
    overlaps = [row.to_mm - following.from_mm for row, following in itertools.pairwise(rows)]
    assert overlaps == pytest.approx([10.0] * (len(rows) - 1))
    assert [row.ends.letter for row in rows[:-1]] == list("ABCDEFGHIJK")


def test_letters_go_on_after_z() -> None:
    rows = rows_of([0.0, 20_000.0])
    letters = [row.ends.letter for row in rows[:-1]]
    assert letters[24:30] == ["Y", "Z", "AA", "AB", "AC", "AD"] and len(set(letters)) == len(letters)


def test_sheet_mark_places_are_exact() -> None:
    """Marks of the drawing itself stand within 1e-6 mm of row origin + (place - row start)."""
    evaluation = evaluate(DESIGNS["60-s-forms"])
    groups = named(sheet_of("60-s-forms"))
    origin = {}
    for name, group in groups.items():
        if name.startswith("wire-row-"):
            first = bounds(named(Sheet(100.0, 100.0, "", [group]))[f"wire-body-{name[9:]}"].items)[0]
            marks = [one for one in group.items if isinstance(one, Group) and one.name.startswith("mark-")]
            for mark in marks:
                line = mark.items[0]
                assert isinstance(line, Path)
                stock = evaluation.spans.stock_from_mm
                k = int(mark.name[5:]) - 1
                if k < len(stock):
                    origin.setdefault(name, []).append(float(line.points[0, 0]) - first - float(stock[k]))
    for starts in origin.values():
        assert np.ptp(starts) < 1e-6


# The form in plan


@pytest.mark.parametrize("name", DESIGNS)
def test_form_reaches_exactly_as_far_as_its_outline(name: str) -> None:
    evaluation = evaluate(DESIGNS[name])
    for scale in (1.0, 0.5):
        x0, y0, x1, y1 = bounds(form_items(evaluation, placed_in(evaluation, 0.0, 0.0, 100.0, 50.0, scale)))
        size = (scale * evaluation.envelope_mm[0], scale * evaluation.envelope_mm[1])
        assert (x1 - x0, y1 - y0) == pytest.approx(size, abs=1e-3)
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((50.0, 25.0), abs=1e-3)


def drawn(items: list[Item], width_mm: float, height_mm: float, dots_per_mm: float) -> np.ndarray:
    sheet = Sheet(width_mm, height_mm, "", [Group("form", items)])
    return np.asarray(Image.open(io.BytesIO(png_bytes(sheet, dots_per_mm))).convert("L"), dtype=float)


def test_wire_further_along_lies_over() -> None:
    """At each crossing the edge of the wire under is covered and that of the wire over is drawn."""
    # Straights that cross at right angles under and over three quarters of a round, three times.
    quarters = Span(length_mm=1.5 * math.pi * 6.0, turn_deg=270.0, flare=Flare(thickness=0.5))
    legs = Span(length_mm=9.0), Span(length_mm=18.0)
    evaluation = spans(legs[0], quarters, legs[1], quarters, legs[1], quarters, legs[0], wire=BRASS_16)
    wide, high = (side + 4.0 for side in evaluation.envelope_mm)
    placing = placed_in(evaluation, 0.0, 0.0, wide, high)
    dots = 30.0
    picture = drawn(form_items(evaluation, placing), wide, high, dots)
    outline, seen = evaluation.outline, 0

    def dark(z: complex) -> bool:
        x, y = placing.point(z)
        return bool(picture[int(y * dots), int(x * dots)] < 128.0)

    for crossing in evaluation.crossings:
        over, under = crossing.over_sample, crossing.under_sample
        along_over, along_under = outline.trace.direction[over], outline.trace.direction[under]
        seen += abs((along_over.conjugate() * along_under).imag) > 0.9  # nearly square to each other
        half = outline.plan_width_mm[under] / 2
        for side in (1j, -1j):
            # Under: its edge where it passes beneath the middle of the wire over.
            assert not dark(crossing.at_mm + side * half * along_under)
            assert dark(crossing.at_mm + side * outline.plan_width_mm[over] / 2 * along_over)
    assert seen == len(evaluation.crossings) >= 3


def test_a_form_without_crossings_is_one_stretch_of_two_ends() -> None:
    evaluation = evaluate(DESIGNS["row-of-s-forms"])
    assert stretch_starts(evaluation.outline) == [0]
    _, edge = form_items(evaluation, Placing(0.0, 0.0))
    assert isinstance(edge, Path) and edge.closed


def test_stretches_meet_only_their_neighbours() -> None:
    for name in ("row-of-loops", "figure-eight", "coil", "odd"):
        outline = evaluate(DESIGNS[name]).outline
        starts = [*stretch_starts(outline), len(outline.pieces)]
        for begin, end in itertools.pairwise(starts):
            for i, j in outline.touching.tolist():
                assert not (begin <= i < j < end and j > i + 1), (name, i, j)


def test_ticks_cross_the_wire_at_its_marks() -> None:
    """A straight wire with marks at 0, 10, 30: upright ticks there, 1 mm beyond each edge."""
    ticks = mark_ticks(spans(Span(length_mm=10.0), Span(length_mm=20.0)))
    assert ticks.real == pytest.approx(np.array([[0.0, 0.0], [10.0, 10.0], [30.0, 30.0]]), abs=1e-9)
    assert ticks.imag == pytest.approx(np.array([[1.51, -1.51]] * 3))


@pytest.mark.parametrize("name", [*STARTERS, "60-s-forms", "odd"])
def test_numbers_keep_off_the_metal(name: str) -> None:
    import shapely

    evaluation = evaluate(DESIGNS[name])
    for label in mark_labels(evaluation):
        x0, y0, x1, y1 = text_box(
            Text((label.at_mm.real, -label.at_mm.imag), label.text, 3.0, "middle", "middle")
        )
        box = shapely.box(x0, -y1, x1, -y0)
        assert not shapely.intersects(evaluation.outline.silhouette, box), label.text


def test_a_block_is_as_high_as_its_lettering() -> None:
    lines = Block((Line("first", 3.5, True), Line("second"), Line("third", 2.5)))
    x0, y0, x1, y1 = bounds(lines.drawn(10.0, 20.0))
    assert (x1 - x0, y1 - y0) == pytest.approx((lines.width_mm, lines.height_mm))
    assert y0 == pytest.approx(20.0) and (x0 + x1) / 2 == pytest.approx(10.0)
    assert overlapping(lines.drawn(0.0, 0.0)) == []
