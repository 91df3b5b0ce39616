"""What lies over stays over at its crossing while others come and go: under pulls, keys and commands.

Which crossing is which is told by the spans that meet there, and they are known from how the form is made.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt

from formsketch.design.edits import change_run, loosened
from formsketch.design.model import BeadEnd, Design, Form, HookEnd, Run, Span, Wire
from formsketch.ui.over_under import crossings_mm
from tests.support import events
from tests.support.desk import Desk, assert_back, assert_one_step, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key, Held = Qt.Key, Qt.KeyboardModifier
ALT, SHIFT = Held.AltModifier, Held.ShiftModifier
LEFT = Qt.MouseButton.LeftButton
RADIUS_MM = 4.0
Lay = Callable[..., Desk]


def loops(times: int = 3, swapped: tuple[int, ...] = (), hooked: bool = False) -> Design:
    """Loops to one side, each between two legs that cross; crossing k is of spans 3 k and 3 k + 2."""
    loop = Span(length_mm=float(np.radians(290.0)) * RADIUS_MM, turn_deg=290.0)
    run = Run(spans=(Span(length_mm=10.0), loop, Span(length_mm=10.0)), times=times)
    start = HookEnd(inside_diameter_mm=4.0, turn_deg=-120.0) if hooked else BeadEnd(diameter_mm=2.4)
    form = Form(runs=(run,), start=start, swapped_crossings=swapped)
    return Design(title="Loops", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=form)


def first_over(desk: Desk) -> set[int]:
    """Which loops' crossings have the leg before the loop over that after it."""
    evaluation = desk.session.evaluation
    spans, part = evaluation.chain.spans, evaluation.own_trace.part
    found = set()
    for crossing in evaluation.crossings:
        over, under = (
            int(part[sample]) - spans.start for sample in (crossing.over_sample, crossing.under_sample)
        )
        assert over // 3 == under // 3
        if over < under:
            found.add(over // 3)
    return found


def pulled_open(desk: Desk, span: int, turns_deg: list[float]) -> QPointF:
    """Pull a loop's belly to each turn, and hold it.

    An arc of length L and turn t has its middle at L (exp(i t/2) - 1) / i t [D].
    """
    length = float(desk.session.evaluation.spans.finished_length_mm[span])
    begin, way = desk.session.pose.to_table(desk.session.wire.mark_mm(span)), desk.way(span)

    def middle_mm(turn_deg: float) -> complex:
        turn = np.radians(turn_deg)
        return begin + way * length * complex((np.exp(0.5j * turn) - 1) / (1j * turn))

    at = desk.px(desk.handle("belly").at_mm)
    events.move(desk.canvas, at)
    events.press(desk.canvas, at)
    for turn_deg in turns_deg:
        at = desk.px(middle_mm(turn_deg))
        events.move(desk.canvas, at, LEFT)
    return at


OPENING = [270.0, 240.0, 210.0, 185.0, 160.0, 130.0]


@pytest.mark.parametrize("hooked", [False, True])
@pytest.mark.parametrize("opened", [0, 1, 2])
@pytest.mark.parametrize("swapped", [(1,), (0, 2), (2,)])
def test_a_crossing_pulled_away_takes_no_swap_from_the_others(
    lay: Lay, opened: int, swapped: tuple[int, ...], hooked: bool
) -> None:
    desk = lay(loosened(loops(3, swapped, hooked), 0), 3 * opened + 1)
    before = state_of(desk)
    assert first_over(desk) == {*swapped}
    at = pulled_open(desk, 3 * opened + 1, OPENING)
    assert len(desk.session.evaluation.crossings) == 2
    assert first_over(desk) == {*swapped} - {opened}
    events.key(desk.canvas, Key.Key_Escape)
    assert_back(desk, before)
    events.release(desk.canvas, at)
    at = pulled_open(desk, 3 * opened + 1, OPENING)
    events.release(desk.canvas, at)
    assert_one_step(desk, before, f"Open or close span {3 * opened + 2}")
    assert first_over(desk) == {*swapped} - {opened}
    # And closed again, in a step of its own.
    at = pulled_open(desk, 3 * opened + 1, [*OPENING[::-1], 290.0])
    assert len(desk.session.evaluation.crossings) == 3
    assert first_over(desk) - {opened} == {*swapped} - {opened}
    events.release(desk.canvas, at)


def test_a_crossing_pulled_away_and_back_has_its_swap_again(lay: Lay) -> None:
    desk = lay(loosened(loops(3, (0, 1)), 0), 1)
    data = state_of(desk).data
    at = pulled_open(desk, 1, [*OPENING, *OPENING[::-1]])
    assert desk.design.form.swapped_crossings == (0, 1)
    events.release(desk.canvas, at)
    # In two pulls, too, with nothing else done between them.
    events.release(desk.canvas, pulled_open(desk, 1, OPENING))
    assert desk.design.form.swapped_crossings == (0,)
    assert first_over(desk) == {1}
    events.release(desk.canvas, pulled_open(desk, 1, [*OPENING[::-1], 290.0]))
    assert desk.design.form.swapped_crossings == (0, 1)
    while desk.session.undo_name:
        desk.session.undo()
    assert state_of(desk).data == data


def test_keys_keep_what_lies_over(lay: Lay) -> None:
    desk = lay(loosened(loops(3, (1,)), 0), 1)
    desk.canvas.setFocus()
    before = state_of(desk)
    for _ in range(12):
        events.key(desk.canvas, Key.Key_Up, ALT | SHIFT)
        assert first_over(desk) == {1}
    assert desk.design.form.swapped_crossings == (0,)
    assert_one_step(desk, before, "Open or close span 2")
    for _ in range(12):
        events.key(desk.canvas, Key.Key_Down, ALT | SHIFT)
        assert first_over(desk) == {1}
    assert desk.design.form.swapped_crossings == (1,)


def test_a_double_click_swaps_the_crossing_it_is_on_after_one_has_gone(lay: Lay) -> None:
    desk = lay(loosened(loops(3, (1,)), 0), 1)
    events.release(desk.canvas, pulled_open(desk, 1, OPENING))
    at = desk.px(complex(crossings_mm(desk.session)[1]))
    events.double_click(desk.canvas, at)
    assert desk.session.undo_name == "Swap over and under at crossing 2"
    assert first_over(desk) == {1, 2}
    events.double_click(desk.canvas, at)
    assert first_over(desk) == {1}


def test_repeats_that_come_and_go_leave_the_swaps_of_the_others(lay: Lay) -> None:
    # Five would come round on one another.
    design = loops(3)
    form = Form(runs=(*design.form.runs, *loops(1).form.runs), swapped_crossings=(1, 3))
    desk = lay(Design(title="Two rows", wire=design.wire, form=form), 1)
    assert first_over(desk) == {1, 3}
    # The loop of the second row is the third, the second, and at last the fourth again.
    for times, expected in ((2, {1, 2}), (1, {1}), (2, {1, 2}), (3, {1, 3})):
        desk.session.change(f"{times} repeats", change_run(desk.design, 0, times=times), 0)
        assert first_over(desk) == expected


def test_marks_set_and_runs_loosened_leave_every_swap(lay: Lay) -> None:
    desk = lay(loops(3, (1,)), 1)
    desk.session.change("Loosen", loosened(desk.design, 0), 0)
    assert desk.design.form.swapped_crossings == (1,)
    assert first_over(desk) == {1}
