"""Seeing the form turned and coming near to a span, by menu, keys and mouse; design and steps stay."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import mirrored
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Form, Picture, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.ui.pose import UNTURNED, Pose
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import said, trigger
from tests.support.desk import Desk, assert_back, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key, Held = Qt.Key, Qt.KeyboardModifier
ALT, SHIFT, CONTROL, PLAIN = Held.AltModifier, Held.ShiftModifier, Held.ControlModifier, Held.NoModifier
MIDDLE = Qt.MouseButton.MiddleButton
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
Lay = Callable[..., Desk]
Open = Callable[..., Window]


def row() -> Design:
    return make_starter("row-of-s-forms", BRASS)


def places(desk: Desk | Window) -> np.ndarray:
    return np.array(desk.canvas.wire.trace.z_mm)


def middle_mm(desk: Desk | Window) -> complex:
    return desk.canvas.view.to_mm(desk.canvas.middle)


def turned(before: np.ndarray, degrees: float, about_mm: complex) -> np.ndarray:
    return np.asarray(about_mm + (before - about_mm) * np.exp(1j * np.radians(degrees)))


# ---- by menu and keys ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "key", "by"), [("left", Key.Key_Left, 15.0), ("right", Key.Key_Right, -15.0)]
)
def test_commands_turn_what_is_seen_about_its_middle(
    open_window: Open, name: str, key: Key, by: float
) -> None:
    window = open_window(row())
    before, data, view = places(window), design_bytes(window.session.design), window.canvas.view
    about = middle_mm(window)
    trigger(window, f"turn_view_{name}")
    assert np.abs(places(window) - turned(before, by, about)).max() < 1e-9
    events.key(window.canvas, key, CONTROL | SHIFT)
    assert np.abs(places(window) - turned(before, 2 * by, about)).max() < 1e-9
    sign = "+" if by > 0 else "−"
    assert said(window) == f"Shown turned by {sign}30°; the design stays as it is."
    # Grid and rulers are the table's, the view upon it is the same.
    assert window.canvas.view == view
    assert design_bytes(window.session.design) == data
    assert window.session.step_count == 0
    events.key(window.canvas, Key.Key_Up, CONTROL | SHIFT)
    assert np.abs(places(window) - before).max() < 1e-9
    assert said(window) == "Shown as it was laid."


def test_edits_and_steps_keep_the_turn(lay: Lay) -> None:
    desk = lay(row(), 4)
    desk.canvas.setFocus()
    desk.canvas.turn(40.0)
    first = places(desk)
    state = state_of(desk)
    events.key(desk.canvas, Key.Key_Down, ALT | SHIFT)
    # The mark where the pulled span begins stays, as does the way the wire comes to it.
    assert abs(desk.marks_mm()[4] - state.marks_mm[4]) < 1e-9
    desk.canvas.turn(-25.0)
    desk.session.undo()
    about = middle_mm(desk)
    assert np.abs(places(desk) - turned(first, -25.0, about)).max() < 1e-9
    desk.session.redo()
    desk.canvas.turn(25.0)
    assert abs(desk.marks_mm()[4] - state.marks_mm[4]) < 1e-9


def test_laying_level_and_opening_put_the_turn_away(open_window: Open) -> None:
    window = open_window(row())
    before = places(window)
    trigger(window, "turn_view_left")
    trigger(window, "lay_level")
    assert (places(window) == before).all()
    assert window.session.turn == UNTURNED
    trigger(window, "turn_view_left")
    window.session.replace(row())
    assert (places(window) == before).all()


def test_what_is_placed_on_a_turned_table_lies_where_it_was_put(lay: Lay) -> None:
    desk = lay(row())
    desk.canvas.turn(30.0)
    desk.session.place("Put", mirrored(row()), Pose(3 + 4j, 0.5))
    assert desk.session.pose.offset_mm == pytest.approx(3 + 4j)
    assert desk.session.pose.angle_rad == pytest.approx(0.5)


def test_the_picture_under_the_form_turns_with_it(lay: Lay) -> None:
    design = row()
    picture = Picture(file="none.png", width_mm=30.0, x_mm=5.0, y_mm=3.0)
    desk = lay(Design(title="t", wire=design.wire, form=design.form, picture=picture), 3)
    desk.canvas.setFocus()
    desk.canvas.turn(30.0)
    assert desk.design.picture == picture
    # Pulled over it, the form moves and the picture lies still; put back, it is what it was.
    at = desk.session.pose.to_table(5 + 3j)
    events.key(desk.canvas, Key.Key_Down, ALT)
    now = desk.design.picture
    assert now is not None
    assert desk.session.pose.to_table(complex(now.x_mm, now.y_mm)) == pytest.approx(at, abs=2e-6)
    desk.session.undo()
    assert desk.design.picture == picture


# ---- by the mouse --------------------------------------------------------------------------------------


def ring_px(desk: Desk, degrees: float, radius_px: float = 150.0) -> QPointF:
    """A place round the middle of what is seen, left positive."""
    angle = np.radians(degrees)
    return desk.canvas.middle + radius_px * QPointF(float(np.cos(angle)), -float(np.sin(angle)))


def test_alt_and_the_middle_button_turn_the_form_with_the_pointer(lay: Lay) -> None:
    desk = lay(row())
    before, state, about = places(desk), state_of(desk), middle_mm(desk)
    events.press(desk.canvas, ring_px(desk, 10), MIDDLE, ALT)
    # Round by more than half a turn, nearer and further off.
    for degrees in range(20, 231, 10):
        at = ring_px(desk, degrees, 150.0 - 40.0 * (degrees % 20 == 0))
        events.move(desk.canvas, at, MIDDLE, ALT)
    assert np.abs(places(desk) - turned(before, 220.0, about)).max() < 1e-9
    assert "Shown turned by −140°" in desk.told[-1]
    # Shift: to whole steps of how it is shown turned.
    events.move(desk.canvas, ring_px(desk, 237), MIDDLE, ALT | SHIFT)
    assert np.abs(places(desk) - turned(before, 225.0, about)).max() < 1e-9
    events.key(desk.canvas, Key.Key_Escape)
    assert (places(desk) == before).all()
    assert_back(desk, state)
    events.release(desk.canvas, at, MIDDLE, ALT)
    events.press(desk.canvas, ring_px(desk, 10), MIDDLE, ALT)
    events.move(desk.canvas, ring_px(desk, 43), MIDDLE, ALT)
    events.release(desk.canvas, ring_px(desk, 43), MIDDLE, ALT)
    assert np.abs(places(desk) - turned(before, 33.0, about)).max() < 1e-9
    assert (desk.session.step_count, desk.design) == (state.step_count, state.design)


def test_pressed_in_the_very_middle_it_does_not_spin(lay: Lay) -> None:
    desk = lay(row())
    before = places(desk)
    events.press(desk.canvas, desk.canvas.middle, MIDDLE, ALT)
    events.move(desk.canvas, desk.canvas.middle + QPointF(2, 3), MIDDLE, ALT)
    assert (places(desk) == before).all()
    events.move(desk.canvas, ring_px(desk, 80), MIDDLE, ALT)
    assert (places(desk) == before).all()
    events.move(desk.canvas, ring_px(desk, 90), MIDDLE, ALT)
    assert np.abs(places(desk) - turned(before, 10.0, middle_mm(desk))).max() < 1e-9
    events.release(desk.canvas, ring_px(desk, 90), MIDDLE, ALT)


def test_pulls_on_a_turned_form_follow_the_pointer(lay: Lay) -> None:
    desk = lay(row(), 4)
    desk.canvas.turn(70.0)
    mark = complex(desk.marks_mm()[4])
    end = desk.px(mark) + QPointF(13.0, -9.0)
    events.drag(desk.canvas, desk.px(mark), end)
    assert desk.session.undo_name == "Move mark 5"
    assert complex(desk.marks_mm()[4]) == pytest.approx(desk.canvas.view.to_mm(end), abs=1e-6)


# ---- coming near ---------------------------------------------------------------------------------------


def test_zooming_to_the_selected_span_shows_all_of_it_and_little_else(open_window: Open) -> None:
    window = open_window(row())
    assert not window.actions_by_name["zoom_to_selected"].isEnabled()
    window.selection.select(5)
    before = state = window.session.design
    events.key(window.canvas, Key.Key_2, CONTROL)
    canvas = window.canvas
    line = canvas.wire.centreline_mm(window.session.wire.part(5))
    seen = np.array([(p.x(), p.y()) for p in (canvas.view.to_px(complex(z)) for z in line)])
    low, high = seen.min(axis=0), seen.max(axis=0)
    assert (low > 22).all()
    assert (high < (canvas.width(), canvas.height())).all()
    filled = (high - low) / (canvas.width() - 22, canvas.height() - 22)
    assert filled.max() > 0.6
    middle = canvas.middle
    wide_mm = canvas.wire.evaluation.diameter_mm * canvas.view.px_per_mm
    assert np.abs((low + high) / 2 - (middle.x(), middle.y())).max() < wide_mm
    assert window.session.design is before is state


def test_zooming_to_several_spans_shows_them_all(lay: Lay) -> None:
    desk = lay(row(), 3)
    desk.selection.stretch_to(6)
    QApplication.processEvents()
    desk.canvas.zoom_to_selected()
    for span in (3, 4, 5, 6):
        for z in desk.line_mm(span):
            at = desk.px(complex(z))
            assert 22 < at.x() < desk.canvas.width()
            assert 22 < at.y() < desk.canvas.height()


def test_from_a_whole_necklace_to_one_mark_and_back_the_place_is_kept(lay: Lay) -> None:
    # 40 loops, 1.2 m of wire; by the wheel, notch after notch, the pointer on a mark.
    spans = (Span(length_mm=30.0, turn_deg=240.0),)
    form = Form(runs=(Run(spans=spans, times=40, turned_over=True),))
    desk = lay(Design(title="Necklace", wire=BRASS, form=form))
    whole, mark = desk.canvas.view, complex(desk.marks_mm()[27])
    at = desk.px(mark)
    notches = 0
    while desk.canvas.view.px_per_mm < 300 and notches < 60:
        events.wheel(desk.canvas, at, 1)
        notches += 1
        assert abs(desk.px(mark).x() - at.x()) + abs(desk.px(mark).y() - at.y()) < 1e-6
    assert desk.canvas.view.px_per_mm >= 300
    assert not desk.canvas.grab().isNull()
    for _ in range(notches):
        events.wheel(desk.canvas, at, -1)
    assert desk.canvas.view.px_per_mm == pytest.approx(whole.px_per_mm, rel=1e-9)
    assert desk.canvas.view.origin_x_px == pytest.approx(whole.origin_x_px, abs=1e-6)
    assert desk.canvas.view.origin_y_px == pytest.approx(whole.origin_y_px, abs=1e-6)


def test_a_stroke_drawn_before_is_let_go(open_window: Open) -> None:
    window = open_window(row())
    trigger(window, "draw_freehand")
    events.drag(window.canvas, (200.0, 200.0), (420.0, 300.0), 20)
    assert window.session.undo_name == "Draw a form"
    drawn = window.session.design
    trigger(window, "turn_view_left")
    # At another tolerance it would be fitted anew, to where it no longer lies.
    window.canvas.setFocus()
    events.key(window.canvas, Key.Key_BracketRight)
    assert window.session.design is drawn
    trigger(window, "draw_freehand")
    trigger(window, "turn_view_back")
