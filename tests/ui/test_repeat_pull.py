"""Pulling at the end of a row, by the mouse and by keys: more or fewer repeats, and their grading.

Half circles of radius R that turn over end 2 R further on for each repeat, and with ends of size s three of
them end 2 R (1 + 2 s) on [D].
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import loosened
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.ui.window import Window
from formsketch.units import length_text
from tests.support import events
from tests.support.desk import Desk, assert_back, assert_numbers_follow, assert_one_step, away_px, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key, Held = Qt.Key, Qt.KeyboardModifier
ALT, SHIFT = Held.AltModifier, Held.ShiftModifier
LEFT = Qt.MouseButton.LeftButton
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
RADIUS_MM = 4.0
Lay = Callable[..., Desk]


def half_circles(times: int = 5, ends_scale: float = 1.0) -> Design:
    """A straight, a row of half circles each turned over, and a straight after it."""
    half = Span(length_mm=np.pi * RADIUS_MM, turn_deg=180.0)
    row = Run(spans=(half,), times=times, turned_over=True, ends_scale=ends_scale)
    straight = Run(spans=(Span(length_mm=9.0),))
    return Design(title="Halves", wire=BRASS, form=Form(runs=(straight, row, straight)))


def times(desk: Desk, run: int = 1) -> int:
    return desk.design.form.runs[run].times


def row_way(desk: Desk, span: int) -> complex:
    """The direction of the row on the table: half circles lie beside one another, left of their beginning."""
    return 1j * desk.way(1)


def pulled_by(desk: Desk, repeats: float, keys: Held = Held.NoModifier, aside_mm: float = 0.0) -> QPointF:
    """Pull the row's handle along the row by so many repeats' widths, and hold it."""
    handle = desk.handle("repeat")
    way = row_way(desk, 1)
    end = desk.px(handle.at_mm + way * (2 * RADIUS_MM * repeats + 1j * aside_mm))
    events.pull(desk.canvas, desk.px(handle.at_mm), end, 9, modifiers=keys)
    return end


# ---- the mouse -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("span", [1, 3, 5])
@pytest.mark.parametrize(("by", "expected"), [(3.0, 8), (0.7, 6), (1.4, 6), (-2.2, 3), (-9.0, 1)])
def test_a_row_is_as_long_as_it_is_pulled(lay: Lay, span: int, by: float, expected: int) -> None:
    desk = lay(half_circles(), span)
    before = state_of(desk)
    begin_mm, cut_mm = desk.marks_mm()[1], desk.session.evaluation.cut_length_mm
    handle, end_mm = desk.handle("repeat"), complex(desk.marks_mm()[6])
    # Off the end of the last repeat, on along the row.
    assert (handle.at_mm - end_mm) / row_way(desk, 1) == pytest.approx(abs(handle.at_mm - end_mm), abs=1e-9)
    at = pulled_by(desk, by, aside_mm=2.0)
    assert desk.canvas.is_pulling
    assert times(desk) == expected
    assert desk.session.step_count == before.step_count
    now_mm = desk.session.evaluation.cut_length_mm
    # Each repeat is half a circle of round wire.
    assert now_mm - cut_mm == pytest.approx((expected - 5) * np.pi * RADIUS_MM)
    change = f"{length_text(now_mm)} ({length_text(now_mm - cut_mm, signed=True)})"
    assert desk.told[-1].startswith(f"5 -> {expected} repeats, cut length {change}.")
    assert abs(desk.marks_mm()[1] - begin_mm) < 1e-9
    assert_numbers_follow(desk)
    assert desk.selection.span == 1 + min(span - 1, expected - 1)
    events.key(desk.canvas, Key.Key_Escape)
    assert_back(desk, before)
    assert desk.selection.span == span
    events.release(desk.canvas, at)
    assert_back(desk, before)
    at = pulled_by(desk, by)
    events.release(desk.canvas, at)
    assert times(desk) == expected
    assert_one_step(desk, before, "Repeats")


def test_pulled_away_and_back_is_no_step(lay: Lay) -> None:
    desk = lay(half_circles(), 5)
    before, handle = state_of(desk), desk.handle("repeat")
    at = desk.px(handle.at_mm)
    pulled_by(desk, -3.0)
    assert (times(desk), desk.selection.span) == (2, 2)
    events.move(desk.canvas, at, LEFT)
    assert (times(desk), desk.selection.span) == (5, 5)
    events.release(desk.canvas, at)
    assert state_of(desk) == before


@pytest.mark.parametrize("wanted", [0.5, 1.25])
def test_shift_grades_the_row(lay: Lay, wanted: float) -> None:
    desk = lay(half_circles(3), 2)
    before, begin_mm = state_of(desk), complex(desk.marks_mm()[1])
    # Three end 2 R (1 + 2 s) on: to be s at the ends, pulled by 2 (s - 1) repeats.
    at = pulled_by(desk, 2 * (wanted - 1), SHIFT, aside_mm=-3.0)
    run = desk.design.form.runs[1]
    assert (run.times, run.ends_scale) == (3, pytest.approx(wanted, abs=0.0051))
    end_mm = complex(desk.marks_mm()[4])
    reach_mm = 2 * RADIUS_MM * (1 + 2 * run.ends_scale)
    assert (end_mm - begin_mm) / row_way(desk, 1) == pytest.approx(reach_mm, abs=1e-6)
    assert desk.told[-1].startswith(f"Ends 100 % -> {100 * wanted:.0f} % of the middle, cut length ")
    assert_numbers_follow(desk)
    events.key(desk.canvas, Key.Key_Escape)
    assert_back(desk, before)
    events.release(desk.canvas, at)
    at = pulled_by(desk, 2 * (wanted - 1), SHIFT)
    events.release(desk.canvas, at)
    assert_one_step(desk, before, "Grading")


def test_shift_may_be_pressed_and_let_go_during_the_pull(lay: Lay) -> None:
    desk = lay(half_circles(3), 3)
    at = pulled_by(desk, -0.6)
    assert (times(desk), desk.design.form.runs[1].ends_scale) == (2, 1.0)
    events.move(desk.canvas, at, LEFT, SHIFT)
    assert (times(desk), desk.design.form.runs[1].ends_scale) == (3, 0.7)
    events.move(desk.canvas, at, LEFT)
    assert (times(desk), desk.design.form.runs[1].ends_scale) == (2, 1.0)
    events.release(desk.canvas, at)
    assert desk.session.undo_name == "Repeats"


def test_what_a_grading_cannot_be_is_said(lay: Lay) -> None:
    desk = lay(half_circles(3), 1)
    # 0.1 is the least a design file may hold.
    at = pulled_by(desk, 2 * (0.02 - 1), SHIFT)
    assert desk.told[-1].startswith("Not possible")
    assert 0.1 <= desk.design.form.runs[1].ends_scale <= 1.0
    events.key(desk.canvas, Key.Key_Escape)
    events.release(desk.canvas, at)


def test_free_loops_become_a_row_again_when_it_is_pulled(lay: Lay) -> None:
    desk = lay(loosened(half_circles(4), 1), 2)
    before = state_of(desk)
    assert len(desk.design.form.runs[1].spans) == 4
    at = pulled_by(desk, 2.0)
    assert (len(desk.design.form.runs[1].spans), times(desk)) == (1, 6)
    assert desk.told[-1].startswith("4 -> 6 repeats")
    events.release(desk.canvas, at)
    assert_one_step(desk, before, "Repeats")


def test_a_single_span_is_repeated_and_its_end_stays_under_the_pointer(lay: Lay) -> None:
    arc = Span(length_mm=10.0, turn_deg=45.0)
    desk = lay(Design(title="Arc", wire=BRASS, form=Form(runs=(Run(spans=(arc,)),))), 0)
    handle, end_mm = desk.handle("repeat"), complex(desk.marks_mm()[-1])
    # Round the ring by a quarter, two arcs: round its middle, which lies square to the wire's end.
    radius_mm = 10.0 / np.radians(45.0)
    trace = desk.canvas.wire.trace
    middle_mm = end_mm + 1j * complex(trace.direction[-1]) * radius_mm
    off_mm = handle.at_mm - end_mm
    events.press(desk.canvas, desk.px(handle.at_mm))
    for turned in np.radians(np.arange(0, 91, 5)):
        at = desk.px(middle_mm + (end_mm - middle_mm) * np.exp(1j * turned) + off_mm)
        events.move(desk.canvas, at, LEFT)
    assert times(desk, 0) == 3
    assert away_px(desk, complex(desk.marks_mm()[-1]) + off_mm, at) < 0.01
    events.release(desk.canvas, at)
    assert desk.session.undo_name == "Repeats"


def test_the_handle_is_told_apart_and_pointed_at(lay: Lay) -> None:
    desk = lay(make_starter("row-of-s-forms", BRASS), 9)
    handle = desk.handle("repeat")
    others = [other for other in desk.handles() if other.kind != "repeat"]
    apart_px = min(abs(other.at_mm - handle.at_mm) for other in others) * desk.canvas.view.px_per_mm
    assert apart_px > 18
    unlit = desk.canvas.grab().toImage()
    events.move(desk.canvas, desk.px(handle.at_mm))
    assert desk.told[-1].startswith("Repeats: drag along the row")
    assert desk.canvas.cursor().shape() == Qt.CursorShape.OpenHandCursor
    at, lit = desk.px(handle.at_mm).toPoint(), desk.canvas.grab().toImage()
    near = [at + QPoint(x, y) for x in range(-7, 8) for y in range(-7, 8)]
    assert sum(lit.pixelColor(place) != unlit.pixelColor(place) for place in near) > 10
    desk.selection.select(None)
    assert not [other for other in desk.handles() if other.kind == "repeat"]


# ---- keys ----------------------------------------------------------------------------------------------


def test_keys_add_and_take_repeats(lay: Lay) -> None:
    desk = lay(half_circles(), 5)
    desk.canvas.setFocus()
    before, begin_mm = state_of(desk), desk.marks_mm()[1]
    events.key(desk.canvas, Key.Key_PageUp, ALT)
    assert (times(desk), desk.selection.span) == (6, 5)
    cut = length_text(desk.session.evaluation.cut_length_mm)
    assert desk.told[-1] == f"6 repeats, cut length {cut}."
    assert abs(desk.marks_mm()[1] - begin_mm) < 1e-9
    assert_one_step(desk, before, "Repeats")
    # The selected repeat is the last but one; taken away, the last left is selected.
    for expected in (5, 4):
        events.key(desk.canvas, Key.Key_PageDown, ALT)
        assert (times(desk), desk.selection.span) == (expected, min(5, expected))
    for _ in range(3):
        events.key(desk.canvas, Key.Key_PageDown, ALT)
    assert desk.told[-1].startswith("1 repeat,")
    events.key(desk.canvas, Key.Key_PageDown, ALT)
    assert "none to take away" in desk.told[-1]
    assert (times(desk), desk.selection.span) == (1, 1)


def test_keys_grade_the_row(lay: Lay) -> None:
    desk = lay(half_circles(3), 2)
    desk.canvas.setFocus()
    before = state_of(desk)
    for expected in (0.95, 0.9, 0.85):
        events.key(desk.canvas, Key.Key_PageDown, ALT | SHIFT)
        assert desk.design.form.runs[1].ends_scale == expected
    assert desk.told[-1].startswith("Ends 85 % of the middle, cut length ")
    # Pressed soon after one another they are one step.
    assert_one_step(desk, before, "Grading")
    for _ in range(4):
        events.key(desk.canvas, Key.Key_PageUp, ALT | SHIFT)
    assert desk.design.form.runs[1].ends_scale == 1.05


def test_in_the_window_a_row_pulled_short_keeps_a_span_selected(open_window: Callable[..., Window]) -> None:
    window = open_window(half_circles())
    canvas = window.canvas
    window.selection.select(5)
    QApplication.processEvents()
    (handle,) = [h for h in canvas.handles() if h.kind == "repeat"]
    way = 2 * RADIUS_MM * handle.way
    start = canvas.view.to_px(handle.at_mm)
    end = canvas.view.to_px(handle.at_mm - 3 * way)
    events.pull(canvas, start, end)
    QApplication.processEvents()
    assert (window.session.design.form.runs[1].times, window.selection.span) == (2, 2)
    events.key(canvas, Key.Key_Escape)
    QApplication.processEvents()
    assert (window.session.design.form.runs[1].times, window.selection.spans) == (5, (5,))
    events.release(canvas, end)
    events.drag(canvas, start, end)
    assert (window.session.design.form.runs[1].times, window.selection.span) == (2, 2)
    assert window.session.undo_name == "Repeats"


def test_a_span_seen_small_shows_only_handles_that_have_room(lay: Lay) -> None:
    desk = lay(make_starter("row-of-s-forms", BRASS), 5)
    kinds = {handle.kind for handle in desk.handles()}
    assert kinds == {"belly", "flare", "mark", "direction", "repeat"} | ({"skew"} & kinds)
    desk.canvas.zoom(0.25)
    shown = [h for h in desk.handles() if h.kind != "mark" or h.number in (5, 6)]
    assert {handle.kind for handle in shown} == {"belly", "flare", "mark", "repeat"}
    # One flare handle is left, outside the bend: further from the marks than the belly is.
    (flare,) = [h for h in shown if h.kind == "flare"]
    belly = desk.handle("belly")
    marks_mm = [complex(desk.marks_mm()[mark]) for mark in (5, 6)]
    assert all(abs(flare.at_mm - mark) > abs(belly.at_mm - mark) for mark in marks_mm)
