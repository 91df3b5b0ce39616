"""Edits from the menus: what each changes and what it leaves, one step each, undone to the byte."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QDialog, QDoubleSpinBox, QInputDialog, QSpinBox

from formsketch.design.edits import SpanAddress, change_run, change_span, loosened, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import BeadEnd, Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.ui import dialogs
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
PLACE_MM = 1e-9
# The questions as they are, before a test answers for them.
ASK_NUMBER, ASK_REPEATS = dialogs.ask_number, dialogs.ask_repeats
Open = Callable[..., Window]


def row() -> Design:
    """Nine loops of one written span, each turned over, graded, between half loops."""
    return make_starter("row-of-s-forms", BRASS)


def even_loops() -> Design:
    """Eight loops of one size, each turned over, between straight ends."""
    loop = Span(length_mm=25.0, turn_deg=230.0, flare=Flare(thickness=0.5))
    straight = Run(spans=(Span(length_mm=10.0),))
    loops = Run(spans=(loop,), times=8, turned_over=True)
    return Design(title="Even", wire=BRASS, form=Form(runs=(straight, loops, straight)))


def free() -> Design:
    """Free spans of every kind between a hook and a bead."""
    spans = (
        Span(length_mm=22.0, turn_deg=-40.0, skew_deg=30.0),
        Span(length_mm=30.0, turn_deg=110.0, flare=Flare(thickness=0.6, centre=0.45, hold=0.2)),
        Span(length_mm=24.0, turn_deg=60.0, corner_deg=35.0),
        Span(length_mm=26.0, turn_deg=75.0, turned_over=True),
        Span(length_mm=30.1, turn_deg=-110.4),
    )
    ends = {"start": HookEnd(inside_diameter_mm=4.0), "finish": BeadEnd(diameter_mm=3.0)}
    return Design(title="Free", wire=BRASS, form=Form(runs=(Run(spans=spans),), **ends))


@dataclass(frozen=True)
class Lain:
    """How a form lies on the table: its marks, how far it reaches, what it weighs, what it covers."""

    marks_mm: tuple[complex, ...]
    bounds_mm: tuple[float, ...]
    weight_g: float
    cut_length_mm: float
    area_mm2: float


def lain(window: Window) -> Lain:
    session, e = window.session, window.session.evaluation
    marks = [session.pose.to_table(session.wire.mark_mm(m)) for m in range(session.wire.span_count + 1)]
    return Lain(
        tuple(marks), window.canvas.wire.bounds_mm, e.weight_g, e.cut_length_mm, e.silhouette_area_mm2
    )


def assert_unmoved(window: Window, before: Lain, marks: list[int] | None = None) -> None:
    """The form lies as it did; `marks` says which of its marks were there before."""
    now = lain(window)
    kept = now.marks_mm if marks is None else [now.marks_mm[m] for m in marks]
    assert kept == pytest.approx(before.marks_mm, abs=PLACE_MM)
    # Sampled at other places where spans are cut at others: edges to 0.003 mm.
    assert now.bounds_mm == pytest.approx(before.bounds_mm, abs=3e-3)
    assert now.weight_g == pytest.approx(before.weight_g, rel=1e-9)
    assert now.cut_length_mm == pytest.approx(before.cut_length_mm, rel=1e-9)
    assert now.area_mm2 == pytest.approx(before.area_mm2, rel=1e-4)


def one_step(window: Window, act: Callable[[], None] | str, name: str) -> None:
    """Do it: one step of this name, undone to the byte and the place, and redone."""
    session = window.session
    before, data, pose, steps = session.design, design_bytes(session.design), session.pose, session.step_count
    if isinstance(act, str):
        trigger(window, act)
    else:
        act()
    assert (session.step_count, session.undo_name) == (steps + 1, name)
    after, lies = session.design, session.pose
    assert design_bytes(after) != data
    trigger(window, "undo")
    assert session.design is before
    assert (design_bytes(session.design), session.pose) == (data, pose)
    trigger(window, "redo")
    assert session.design is after
    assert session.pose == lies
    assert not window.grab().isNull()


def refused(window: Window, asked: Asked, name: str) -> str:
    """Choose a command that has nothing to do; what it explained."""
    design, steps = window.session.design, window.session.step_count
    asked.explained.clear()
    trigger(window, name)
    assert (window.session.design, window.session.step_count) == (design, steps)
    (sentence,) = asked.explained
    return sentence


def place_px(window: Window, span: int, share: float) -> tuple[QPointF, complex, float]:
    """A place on the wire of a span near this share of it, where it lies on the table, and its true share."""
    line = window.canvas.wire.centreline_mm(window.session.wire.part(span))
    number = round((len(line) - 1) * share)
    place = complex(line[number])
    return window.canvas.view.to_px(place), place, number / (len(line) - 1)


# ---- marks ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.25, 0.7])
@pytest.mark.parametrize("span", range(5))
def test_a_mark_is_put_where_pointed_at(open_window: Open, span: int, share: float) -> None:
    window = open_window(free())
    before = lain(window)
    window.selection.select(span)
    at, place, share = place_px(window, span, share)
    events.move(window.canvas, at)
    name = f"Insert a mark in span {span + 1}"
    one_step(window, lambda: events.key(window.canvas, Qt.Key.Key_M), name)
    assert abs(lain(window).marks_mm[span + 1] - place) < 0.5 / window.canvas.view.px_per_mm
    assert_unmoved(window, before, [m for m in range(7) if m != span + 1])
    spans, was = window.session.design.form.runs[0].spans, free().form.runs[0].spans
    assert spans[span].length_mm + spans[span + 1].length_mm == pytest.approx(was[span].length_mm, rel=1e-14)
    assert spans[span].length_mm == pytest.approx(share * was[span].length_mm, abs=1e-6)


def test_without_a_place_pointed_at_the_mark_goes_into_the_middle(open_window: Open) -> None:
    window = open_window(free())
    before = lain(window)
    window.selection.select(1)
    one_step(window, "insert_mark", "Insert a mark in span 2")
    assert [s.length_mm for s in window.session.design.form.runs[0].spans[1:3]] == [15.0, 15.0]
    assert_unmoved(window, before, [0, 1, 3, 4, 5, 6])
    # Pointed at a span that is not the selected one: into the middle, too.
    events.move(window.canvas, place_px(window, 4, 0.3)[0])
    one_step(window, "insert_mark", "Insert a mark in span 2")
    assert [s.length_mm for s in window.session.design.form.runs[0].spans[1:4]] == [7.5, 7.5, 15.0]


def test_a_mark_in_a_repeat_comes_into_every_repeat(open_window: Open) -> None:
    window = open_window(row())
    before = lain(window)
    window.selection.select(4)
    one_step(window, "insert_mark", "Insert a mark in span 5")
    assert len(window.session.design.form.runs[1].spans) == 2
    assert window.session.wire.span_count == 20
    assert_unmoved(window, before, [0, 1, *range(3, 20, 2), 20])
    # The loop that was selected still is, its first half now.
    assert window.selection.span == 7
    window.selection.select(8)
    one_step(window, "remove_mark", "Remove mark 9")
    assert_unmoved(window, before)
    assert window.selection.span == 4
    assert window.session.design.form.runs[1].spans[0].length_mm == pytest.approx(
        row().form.runs[1].spans[0].length_mm, rel=1e-14
    )


@pytest.mark.parametrize("span", [0, 1, 2, 3, 4])
def test_a_mark_taken_out_again_leaves_the_form_as_it_was(open_window: Open, span: int) -> None:
    window = open_window(free())
    before = lain(window)
    window.selection.select(span)
    events.move(window.canvas, place_px(window, span, 0.35)[0])
    trigger(window, "insert_mark")
    window.selection.select(span + 1)
    one_step(window, "remove_mark", f"Remove mark {span + 2}")
    assert_unmoved(window, before)
    for now, was in zip(window.session.design.form.runs[0].spans, free().form.runs[0].spans, strict=True):
        numbers = [(s.length_mm, s.turn_deg, s.skew_deg, s.corner_deg) for s in (now, was)]
        assert numbers[0] == pytest.approx(numbers[1], rel=1e-9, abs=1e-9)
        assert (now.flare, now.turned_over) == (was.flare, was.turned_over)


def test_a_mark_between_unlike_spans_keeps_length_and_turn(open_window: Open) -> None:
    window = open_window(free())
    before, marks = window.session.evaluation, lain(window).marks_mm
    window.selection.select(2)
    one_step(window, "remove_mark", "Remove mark 3")
    e = window.session.evaluation
    assert e.finished_length_mm == pytest.approx(before.finished_length_mm, rel=1e-12)
    turned = [float(np.sum(x.chain.turn_rad) + np.sum(x.chain.corner_rad)) for x in (before, e)]
    assert turned[1] == pytest.approx(turned[0], abs=1e-9)
    assert lain(window).marks_mm[:2] == pytest.approx(marks[:2], abs=PLACE_MM)


def test_marks_that_must_stay_are_explained(open_window: Open, asked: Asked) -> None:
    window = open_window(free())
    window.selection.select(3)
    assert "turned over" in refused(window, asked, "remove_mark")
    window.selection.select(0)
    assert "begins" in refused(window, asked, "remove_mark")


# ---- turning over --------------------------------------------------------------------------------------


@pytest.mark.parametrize("span", [1, 2, 3])
def test_turning_over_mirrors_all_that_follows(open_window: Open, span: int) -> None:
    window = open_window(free())
    before = lain(window).marks_mm
    turns = window.session.evaluation.spans.turn_deg
    window.selection.select(span)
    one_step(window, "turn_over", f"Turn over at mark {span + 1}")
    after = lain(window).marks_mm
    assert after[: span + 1] == pytest.approx(before[: span + 1], abs=PLACE_MM)
    signs = np.where(np.arange(5) < span, 1.0, -1.0)
    assert window.session.evaluation.spans.turn_deg == pytest.approx(signs * turns, abs=1e-9)
    # The rest is its mirror image in the line the wire reaches the mark by: distances stay.
    steps = [np.abs(np.subtract.outer(m[span:], m[span:])) for m in (np.array(before), np.array(after))]
    assert steps[1] == pytest.approx(steps[0], abs=1e-9)
    trigger(window, "turn_over")
    assert window.session.design == free()
    assert lain(window).marks_mm == pytest.approx(before, abs=PLACE_MM)


def test_a_repeat_is_turned_over_in_every_repeat(open_window: Open) -> None:
    window = open_window(even_loops())
    window.selection.select(3)
    assert np.ptp(np.sign(window.session.evaluation.spans.turn_deg[1:9])) == 2
    one_step(window, "turn_over", "Turn over at mark 4")
    assert window.session.design.form.runs[1] == replace(even_loops().form.runs[1], turned_over=False)
    assert window.session.evaluation.spans.turn_deg[1:9] == pytest.approx(np.full(8, 230.0))


# ---- rows ----------------------------------------------------------------------------------------------


def test_the_row_is_opened_to_the_number_given(open_window: Open, asked: Asked) -> None:
    window = open_window(loosened(row(), 1))
    before = window.session.design
    window.selection.select(4)
    asked.number = 150.0
    kept = lain(window).marks_mm[4]
    one_step(window, "open_row", "Open the row to 150°")
    turns = [span.turn_deg for span in window.session.design.form.runs[1].spans]
    assert turns == [150.0] * 9
    assert window.session.design.form.runs[0] == before.form.runs[0]
    assert np.abs(window.session.evaluation.spans.turn_deg[1:10]) == pytest.approx(np.full(9, 150.0))
    assert lain(window).marks_mm[4] == pytest.approx(kept, abs=PLACE_MM)
    asked.number = None
    steps = window.session.step_count
    trigger(window, "open_row")
    assert window.session.step_count == steps


def test_a_row_without_a_turn_cannot_be_opened(open_window: Open, asked: Asked) -> None:
    window = open_window(even_loops())
    window.selection.select(0)
    asked.number = 100.0
    assert "does not turn" in refused(window, asked, "open_row")


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, float]]:
    """What the number dialog showed and what it gave back, used as it stands."""
    seen: list[tuple[float, float]] = []

    def used_as_it_stands(parent, title, question, value, low, high, decimals):  # type: ignore[no-untyped-def]
        seen.append((value, round(value, decimals)))
        return round(value, decimals), True

    monkeypatch.setattr(QInputDialog, "getDouble", used_as_it_stands)
    return seen


def test_a_number_used_as_it_stands_changes_nothing(
    open_window: Open, typed: list[tuple[float, float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dialogs, "ask_number", ASK_NUMBER)
    window = open_window(change_run(even_loops(), 1, spans=(Span(length_mm=25.0, turn_deg=200.0 / 3),)))
    window.selection.select(3)
    trigger(window, "open_row")
    assert typed == [(pytest.approx(200.0 / 3), 66.7)]
    assert window.session.step_count == 0


def test_a_row_is_made_even(open_window: Open, asked: Asked) -> None:
    design = loosened(even_loops(), 1)
    for place, (length, turn) in enumerate([(24.0, 225.0), (26.0, 236.0), (25.5, 229.0)]):
        design = change_span(design, SpanAddress(1, 2 * place), length_mm=length, turn_deg=turn)
    window = open_window(design)
    length_mm = window.session.evaluation.finished_length_mm
    window.selection.select(4)
    one_step(window, "even_row", "Even up the row")
    spans = window.session.design.form.runs[1].spans
    # Means over all eight: (24 + 26 + 25.5 + 5 x 25) / 8 and (225 + 236 + 229 + 5 x 230) / 8.
    assert [s.length_mm for s in spans] == pytest.approx([200.5 / 8] * 8, rel=1e-14)
    assert [s.turn_deg for s in spans] == pytest.approx([1840 / 8] * 8, rel=1e-14)
    assert window.session.evaluation.finished_length_mm == pytest.approx(length_mm, rel=1e-13)
    assert [s.flare for s in spans] == [Flare(thickness=0.5)] * 8
    window.selection.select(0)
    window.session.change("Longer", change_span(window.session.design, SpanAddress(2, 0), length_mm=90.0))
    assert "No other span" in refused(window, asked, "even_row")


# ---- repeats -------------------------------------------------------------------------------------------


def test_repeats_and_grading_are_asked_for_together(
    open_window: Open, asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dialogs, "ask_repeats", ASK_REPEATS)
    window = open_window(even_loops())
    window.selection.select(4)
    begins = lain(window).marks_mm[0]

    def choose(dialog: QDialog) -> None:
        (count,), (size,) = dialog.findChildren(QSpinBox), dialog.findChildren(QDoubleSpinBox)
        assert (count.value(), size.value()) == (8, 100.0)
        count.setValue(12)
        size.setValue(62.5)
        dialog.accept()

    asked.drive(QDialog, choose)
    one_step(window, "repeat_run", "Repeats and grading")
    assert window.session.design.form.runs[1] == replace(
        even_loops().form.runs[1], times=12, ends_scale=0.625
    )
    lengths = window.session.evaluation.spans.finished_length_mm[1:13]
    assert lengths[[0, -1]] == pytest.approx([0.625 * 25.0] * 2, rel=1e-12)
    assert (np.diff(lengths[:6]) > 0).all()
    assert (np.diff(lengths[6:]) < 0).all()
    assert lain(window).marks_mm[0] == pytest.approx(begins, abs=PLACE_MM)
    asked.drive(QDialog, lambda dialog: dialog.reject())
    steps = window.session.step_count
    trigger(window, "repeat_run")
    assert window.session.step_count == steps


def test_a_grading_used_as_it_stands_is_not_rounded(
    open_window: Open, asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dialogs, "ask_repeats", ASK_REPEATS)
    window = open_window(change_run(even_loops(), 1, ends_scale=2 / 3))
    window.selection.select(4)
    asked.drive(QDialog, lambda dialog: dialog.accept())
    trigger(window, "repeat_run")
    assert window.session.step_count == 0

    def one_more(dialog: QDialog) -> None:
        dialog.findChildren(QSpinBox)[0].setValue(9)
        dialog.accept()

    asked.drive(QDialog, one_more)
    trigger(window, "repeat_run")
    assert (window.session.design.form.runs[1].times, window.session.design.form.runs[1].ends_scale) == (
        9, 2 / 3,
    )  # fmt: skip


@pytest.mark.parametrize("make", [even_loops, row], ids=["even", "graded"])
@pytest.mark.parametrize("span", [2, 5, 8])
def test_a_row_is_split_where_it_is_selected(
    open_window: Open, make: Callable[[], Design], span: int
) -> None:
    window = open_window(make())
    before = lain(window)
    window.selection.select(span)
    one_step(window, "split_run", "Split the repeats")
    runs = window.session.design.form.runs
    assert len(runs) == 4
    # The second part begins with the span selected.
    assert len(runs[1].spans) * runs[1].times == span - 1
    assert len(runs[2].spans) * runs[2].times == make().form.runs[1].times - (span - 1)
    assert_unmoved(window, before)
    assert window.selection.span == span


def test_a_row_is_not_split_before_its_first_repeat(open_window: Open, asked: Asked) -> None:
    window = open_window(even_loops())
    window.selection.select(1)
    assert "repeat" in refused(window, asked, "split_run")


def test_runs_are_joined(open_window: Open, asked: Asked) -> None:
    window = open_window(row())
    before = lain(window)
    window.selection.select(0)
    one_step(window, "join_runs", "Join runs")
    assert [len(run.spans) * run.times for run in window.session.design.form.runs] == [10, 1]
    assert_unmoved(window, before)
    window.selection.select(10)
    assert "no run after this one" in refused(window, asked, "join_runs")


@pytest.mark.parametrize("make", [even_loops, row], ids=["even", "graded"])
def test_repeats_are_loosened_and_gathered(
    open_window: Open, asked: Asked, make: Callable[[], Design]
) -> None:
    window = open_window(make())
    before, times = lain(window), make().form.runs[1].times
    window.selection.select(3)
    one_step(window, "loosen_run", "Loosen repeats")
    assert [(len(run.spans), run.times) for run in window.session.design.form.runs] == [
        (1, 1), (times, 1), (1, 1),
    ]  # fmt: skip
    assert_unmoved(window, before)
    assert not window.actions_by_name["loosen_run"].isEnabled()
    one_step(window, "gather_repeats", "Gather repeats")
    assert_unmoved(window, before)
    gathered, was = window.session.design.form.runs[1], make().form.runs[1]
    assert (gathered.times, gathered.turned_over) == (was.times, was.turned_over)
    assert gathered.ends_scale == pytest.approx(was.ends_scale, rel=1e-9)
    assert gathered.spans[0].length_mm == pytest.approx(was.spans[0].length_mm, rel=1e-9)
    assert "repeated already" in refused(window, asked, "gather_repeats")


def test_unlike_spans_are_not_gathered(open_window: Open, asked: Asked) -> None:
    window = open_window(free())
    window.selection.select(2)
    assert "Nothing repeats" in refused(window, asked, "gather_repeats")


# ---- the whole form ------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [free, row, even_loops])
def test_the_wire_is_reversed_where_it_lies(open_window: Open, make: Callable[[], Design]) -> None:
    window = open_window(make())
    before, form = lain(window), window.session.design.form
    lengths = window.session.evaluation.spans.finished_length_mm
    window.selection.select(1)
    one_step(window, "reverse_wire", "Reverse the wire")
    assert window.selection.span == window.session.wire.span_count - 2  # the same place
    now = lain(window)
    assert now.marks_mm[::-1] == pytest.approx(before.marks_mm, abs=PLACE_MM)
    assert now.bounds_mm == pytest.approx(before.bounds_mm, abs=3e-3)
    assert now.weight_g == pytest.approx(before.weight_g, rel=1e-9)
    assert now.area_mm2 == pytest.approx(before.area_mm2, rel=1e-4)
    reversed_form = window.session.design.form
    assert (reversed_form.start, reversed_form.finish) == (form.finish, form.start)
    assert window.session.evaluation.spans.finished_length_mm[::-1] == pytest.approx(lengths, rel=1e-12)
    trigger(window, "reverse_wire")
    assert lain(window).marks_mm == pytest.approx(before.marks_mm, abs=PLACE_MM)


def test_the_form_is_mirrored(open_window: Open) -> None:
    window = open_window(free())
    before, turns = lain(window), window.session.evaluation.spans.turn_deg
    one_step(window, "mirror_form", "Mirror")
    now = lain(window)
    assert window.session.evaluation.spans.turn_deg == pytest.approx(-turns, abs=1e-12)
    assert (now.weight_g, now.cut_length_mm) == pytest.approx((before.weight_g, before.cut_length_mm))
    # A mirror image: every distance between marks stays, and the form cannot be laid on the one before.
    a, b = np.array(before.marks_mm), np.array(now.marks_mm)
    assert np.abs(np.subtract.outer(b, b)) == pytest.approx(np.abs(np.subtract.outer(a, a)), abs=1e-9)
    image = (b - b[0]) / (b[1] - b[0])
    assert image == pytest.approx(np.conj((a - a[0]) / (a[1] - a[0])), abs=1e-9)
    window.session.change("Mirror again", free())


# ---- flares --------------------------------------------------------------------------------------------


def test_a_flare_is_copied_to_spans_that_are_like_it(open_window: Open, asked: Asked) -> None:
    window = open_window(free())
    kept = lain(window).marks_mm
    window.selection.select(1)
    one_step(window, "copy_flare", "Like spans as span 2")
    flares = [span.flare for span in window.session.design.form.runs[0].spans]
    wanted = Flare(thickness=0.6, centre=0.45, hold=0.2)
    # The last is as long and turns as far to within 1 %, though to the other side; the others do not.
    assert flares == [None, wanted, None, None, wanted]
    assert lain(window).marks_mm == pytest.approx(kept, abs=PLACE_MM)
    window.session.change("Longer", change_span(window.session.design, SpanAddress(0, 4), length_mm=40.0))
    window.selection.select(1)
    assert "No other span" in refused(window, asked, "copy_flare")
    window.selection.select(2)
    assert not window.actions_by_name["copy_flare"].isEnabled()  # nothing to copy


def test_all_curved_spans_get_the_flare_and_straight_ones_do_not(open_window: Open) -> None:
    window = open_window(change_span(row(), SpanAddress(0, 0), turn_deg=0.0))
    window.selection.select(4)
    one_step(window, "flare_like_spans", "Flares like span 5")
    flares = [run.spans[0].flare for run in window.session.design.form.runs]
    wanted = span_at(row(), SpanAddress(1, 0)).flare
    assert flares == [None, wanted, wanted]
