"""Pearls, stones and the quality mark on the template: at their places, in tables, nothing on anything."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Flare, Form, QualityMark, Run, SetPearl, Span, Stone, Wire
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.bench_words import place_text
from formsketch.template.drawing import Circle, Group, Item, Path, Sheet, Text, text_box
from formsketch.template.papers import paper_named
from formsketch.template.printed import USUAL_PARTS, Choice, printed_sheets
from formsketch.template.svg import svg_text
from formsketch.template.template import template_sheets

METALS = load_metals()


def bare() -> Design:
    arc = Span(length_mm=25.0, turn_deg=220.0, flare=Flare(thickness=0.5, hold=0.4))
    run = Run(spans=(arc,), times=4, turned_over=True)
    return Design(title="Set", wire=Wire(metal="sterling-925", diameter_mm=1.6), form=Form(runs=(run,)))


def stone(share: float) -> Stone:
    return Stone(at_share=share, size_mm=1.2, seat_mm=1.6)


def dressed(stones: Sequence[float] = (0.1, 0.35, 0.9)) -> Evaluation:
    pearls = (
        SetPearl(from_share=0.05, to_share=0.2, diameter_mm=6.0, length_mm=6.0),
        SetPearl(from_share=0.3, to_share=0.45, diameter_mm=5.0, length_mm=3.5, shape="button"),
    )
    design = replace(
        bare(),
        stones=tuple(stone(share) for share in stones),
        pearls=pearls,
        quality_mark=QualityMark(at_share=0.625, wide_mm=0.8, long_mm=2.0),
    )
    return evaluate(design, METALS)


def walk(items: Sequence[Item]) -> Iterator[Item]:
    for item in items:
        yield item
        if isinstance(item, Group):
            yield from walk(item.items)


def group(sheets: Sequence[Sheet], name: str) -> Group:
    found = [one for sheet in sheets for one in walk(sheet.groups) if isinstance(one, Group)]
    return next(one for one in found if one.name == name)


def circles(one: Group) -> list[Circle]:
    return [item for item in walk(one.items) if isinstance(item, Circle)]


def texts(one: Group) -> list[str]:
    return [item.text for item in walk(one.items) if isinstance(item, Text)]


@pytest.mark.parametrize("name", ["set-plan", "form-set"])
def test_everything_lies_on_the_plan_where_the_numbers_say(name: str) -> None:
    e = dressed()
    drawn = group(printed_sheets(e, Choice()), name)
    seats = [c for c in circles(drawn) if c.radius_mm == pytest.approx(0.8)]
    girdles = [c for c in circles(drawn) if c.radius_mm == pytest.approx(0.6)]
    (pearl,) = (c for c in circles(drawn) if c.radius_mm == pytest.approx(3.0))
    assert [c.centre for c in seats] == [c.centre for c in girdles]
    # From one to another, whatever place on the sheet the form has; y runs down there.
    at = [s.seat.at_mm for s in e.set_on.stones]
    for (c, d), (z, w) in zip(pairwise(seats), pairwise(at), strict=True):
        assert (d.centre[0] - c.centre[0], c.centre[1] - d.centre[1]) == pytest.approx(
            ((w - z).real, (w - z).imag), abs=0.01
        )
    away = e.set_on.pearls[0].at_mm - at[0]
    assert (pearl.centre[0] - seats[0].centre[0], seats[0].centre[1] - pearl.centre[1]) == pytest.approx(
        (away.real, away.imag), abs=0.01
    )
    closed = [item for item in walk(drawn.items) if isinstance(item, Path) and item.closed]
    sides = [np.ptp(item.points, axis=0) for item in closed]
    # The button, 5 across its hole and 3.5 along it; the mark, 2 by 0.8.
    button, mark = (item.points for item in sorted(closed, key=lambda item: -len(item.points)))
    middle = button.mean(axis=0)
    reach = np.hypot(*(button - middle).T)
    assert (2 * reach.max(), 2 * reach.min()) == pytest.approx((5.0, 3.5), abs=0.01)
    assert sorted(np.hypot(*np.diff(mark, axis=0).T)) == pytest.approx([0.8, 2.0, 2.0], abs=0.01)
    assert len(sides) == 2


def test_on_the_wire_seats_and_mark_stand_at_their_distance_from_its_start() -> None:
    e = dressed()
    sheets = printed_sheets(e, Choice(("wire",), paper_named("a3", True)))
    cut = next(item for item in walk(group(sheets, "cut-start").items) if isinstance(item, Path))
    start = float(cut.points[0, 0])
    drawn = group(sheets, "set-on-wire-1")
    assert [c.centre[0] - start for c in circles(drawn)] == pytest.approx(
        [s.seat.mark_mm for s in e.set_on.stones], abs=0.01
    )
    uprights = [p for p in walk(drawn.items) if isinstance(p, Path) and not p.closed]
    ties = [place for tie in e.set_on.ties for place in tie.marks_mm]
    assert [float(p.points[0, 0]) - start for p in uprights] == pytest.approx(ties, abs=0.01)
    (mark,) = (p for p in walk(drawn.items) if isinstance(p, Path) and p.closed)
    assert float(mark.points[:, 0].mean()) - start == pytest.approx(e.set_on.mark.mark_mm, abs=0.1)  # type: ignore[union-attr]


def test_the_seat_diagram_is_true_and_says_the_steps() -> None:
    e = dressed((0.1, 0.35, 0.6))
    line = group(printed_sheets(e, Choice(("set",))), "seats-1")
    along, *rest = (item for item in line.items if isinstance(item, Path))
    start = float(along.points[0, 0])
    assert float(np.ptp(along.points[:, 0])) == pytest.approx(e.finished_length_mm, abs=0.01)
    ticks = {round(float(p.points[0, 0]) - start, 2) for p in rest if np.ptp(p.points[:, 0]) == 0}
    wanted = {round(s.seat.finished_mm, 2) for s in e.set_on.stones}
    assert wanted <= ticks
    said = texts(line)
    # 100 mm of wire: from the start, to each next, the mark at 62.5 among them.
    for words in ("10.0", "25.0", "60.0", "S1", "S3", "QM", "37.5"):
        assert words in said


def test_the_tables_say_every_place() -> None:
    e = dressed()
    sheets = printed_sheets(e, Choice(("table", "set")))
    said = texts(group(sheets, "set-table-1"))
    assert [word for word in said if word in ("S1", "S2", "S3", "P1", "P2", "QM")] == [
        "S1", "S2", "S3", "P1", "P2", "QM"
    ]  # fmt: skip
    for stone_ in e.set_on.stones:
        assert place_text(stone_.seat.mark_mm) in said and place_text(stone_.seat.finished_mm) in said
    tie = e.set_on.ties[0]
    assert ", ".join(map(place_text, tie.marks_mm)) in said
    marks = texts(group(sheets, "mark-table"))
    for label, placed in zip(("S1", "S2", "S3"), e.set_on.stones, strict=True):
        assert marks[marks.index(label) + 1] == place_text(placed.seat.mark_mm)
    assert "P1" not in marks


def test_labels_lie_on_nothing_however_many() -> None:
    e = dressed(tuple((np.arange(60) + 0.5) / 60))
    for sheet in printed_sheets(e, Choice(("set",), paper_named("letter"))):
        boxes = np.array([text_box(item) for item in walk(sheet.groups) if isinstance(item, Text)])
        a, b = np.triu_indices(len(boxes), 1)
        meet = (
            (boxes[a, 0] < boxes[b, 2] - 0.3)
            & (boxes[b, 0] < boxes[a, 2] - 0.3)
            & (boxes[a, 1] < boxes[b, 3] - 1.2)
            & (boxes[b, 1] < boxes[a, 3] - 1.2)
        )
        assert not meet.any()
        assert boxes[:, 0].min() >= 4.0 and boxes[:, 2].max() <= sheet.width_mm - 4.0


def test_a_form_with_nothing_set_is_drawn_as_ever() -> None:
    e = evaluate(bare(), METALS)
    without = Choice(tuple(part for part in USUAL_PARTS if part != "set"))
    assert [svg_text(s) for s in printed_sheets(e, Choice())] == [
        svg_text(s) for s in printed_sheets(e, without)
    ]
    names = {one.name for s in template_sheets(e) for one in walk(s.groups) if isinstance(one, Group)}
    assert not any(name.startswith(("set", "form-set")) for name in names)


def test_the_single_sheet_shows_it_too_and_the_stages_before_do_not() -> None:
    names = {one.name for s in template_sheets(dressed()) for one in walk(s.groups) if isinstance(one, Group)}
    assert {"form-set", "set-on-wire-1"} <= names
    printed = printed_sheets(dressed(), Choice(("bent", "hammered")))
    names = {one.name for s in printed for one in walk(s.groups) if isinstance(one, Group)}
    assert "bent-outline" in names and not any(name.endswith("-set") for name in names)
