"""The picture under the form with real events: put there, moved, turned, faded, scaled, kept with it."""

from __future__ import annotations

import cmath
import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image, ImageDraw
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication, QLabel

from formsketch.design.edits import SpanAddress, change_span
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Design, Picture, Wire
from formsketch.design.picture_edits import change_picture
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import evaluate
from formsketch.shipped import demo_design_files
from formsketch.ui import background, dialogs
from formsketch.ui.length_dialog import LengthDialog
from formsketch.ui.picture_place import PicturePlace
from formsketch.ui.picture_tools import AdjustPictureTool, TwoPointsTool
from formsketch.ui.session import Session
from formsketch.ui.theme import DARK, LIGHT
from formsketch.ui.view import View
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, said, trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
LEFT = Qt.MouseButton.LeftButton
SHIFT, CONTROL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
# Places in the design are kept to a millionth of a millimetre.
KEPT_MM = 5e-6
Open = Callable[..., Window]


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


def draw_sketch(file: Path) -> Path:
    """200 x 100 pixels: red, lime, blue and black from the top left, row by row. Dark, so shown as it is."""
    image = Image.new("RGB", (200, 100), "black")
    image.paste("red", (0, 0, 100, 50))
    image.paste("lime", (100, 0, 200, 50))
    image.paste("blue", (0, 50, 100, 100))
    image.save(file)
    return file


@pytest.fixture
def over(open_window: Open, tmp_path: Path) -> Callable[..., Window]:
    """A window on a cuff whose file lies beside a sketch; what is said of the picture may be added."""

    def open_it(**changes: object) -> Window:
        draw_sketch(tmp_path / "sketch.png")
        picture = Picture(
            file="sketch.png", width_mm=60.0, x_mm=25.0, y_mm=-20.0, angle_deg=15.0, opacity=1.0
        )
        file = tmp_path / "cuff.formsketch.json"
        file.write_bytes(design_bytes(replace(cuff(), picture=replace(picture, **changes))))
        loaded = load_design(file)
        return open_window(Session(loaded.design, file, loaded))

    return open_it


@pytest.fixture
def beside(open_window: Open, tmp_path: Path) -> Window:
    """A window on a cuff in a file of its own, without a picture."""
    file = tmp_path / "cuff.formsketch.json"
    file.write_bytes(design_bytes(cuff()))
    loaded = load_design(file)
    return open_window(Session(loaded.design, file, loaded))


def picture_of(window: Window) -> Picture:
    picture = window.session.design.picture
    assert picture is not None
    return picture


def place_of(window: Window) -> PicturePlace:
    place = window.canvas.picture.place
    assert place is not None
    return place


def px(window: Window, table_mm: complex) -> QPointF:
    return window.canvas.view.to_px(table_mm)


def near_middle(window: Window) -> QPointF:
    """On the picture, a little off its middle."""
    place = place_of(window)
    return px(window, place.to_table(complex(0.2 * place.width_mm, 0.1 * place.height_mm)))


def state(window: Window) -> tuple[object, ...]:
    session = window.session
    return (
        session.design, design_bytes(session.design), session.pose,
        session.undo_name, session.redo_name, session.step_count,
    )  # fmt: skip


def assert_one_step(window: Window, before: tuple[object, ...], name: str) -> None:
    """One step of this name, which leaves the form alone and is undone exactly."""
    session = window.session
    after = state(window)
    design = before[0]
    assert isinstance(design, Design)
    assert (session.undo_name, session.step_count) == (name, int(str(before[5])) + 1)
    assert session.design != design
    assert replace(session.design, picture=design.picture) == design
    session.undo()
    assert session.design is design
    assert state(window)[:4] == before[:4]
    session.redo()
    assert state(window) == after


def assert_lies(window: Window, corners_mm: tuple[complex, ...]) -> None:
    assert place_of(window).corners_mm == pytest.approx(corners_mm, abs=KEPT_MM)


# ---- where it lies and how it looks --------------------------------------------------------------------


def test_it_is_placed_from_the_start_mark_along_the_first_span(over: Callable[..., Window]) -> None:
    window = over()
    picture, session = picture_of(window), window.session
    # As the model describes it: the start mark and the direction the wire leaves it in are the frame.
    trace = window.canvas.wire.trace
    begin = int(trace.first[session.wire.part(0)])
    along = complex(trace.direction[begin])
    middle = complex(trace.z_mm[begin]) + complex(picture.x_mm, picture.y_mm) * along
    across = along * cmath.exp(1j * math.radians(picture.angle_deg)) * picture.width_mm / 2
    up = 1j * across / 2  # half as high as wide
    expected = (middle - across + up, middle + across + up, middle + across - up, middle - across - up)
    assert place_of(window).corners_mm == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("angle_deg", [0.0, 90.0, -137.0])
@pytest.mark.parametrize("zoom", [0.3, 1.0, 40.0])
def test_it_is_painted_at_its_place(over: Callable[..., Window], angle_deg: float, zoom: float) -> None:
    window = over(angle_deg=angle_deg, x_mm=0.0, y_mm=300.0)  # away from the form
    canvas, place = window.canvas, place_of(window)
    middle = QPointF(canvas.rect().center())
    canvas.show_view(View(6.0 * zoom, 0.0, 0.0))
    canvas.show_view(canvas.view.moved(middle - canvas.view.to_px(place.middle_mm)))
    shot = canvas.grab().toImage()
    quarter = 100.0 / (6.0 * zoom) if zoom > 1 else place.height_mm / 4
    for x, y, colour in ((-1, 1, "#ff0000"), (1, 1, "#00ff00"), (-1, -1, "#0000ff"), (1, -1, "#000000")):
        at = canvas.view.to_px(place.to_table(complex(x, y) * quarter)).toPoint()
        around = {shot.pixelColor(at.x() + dx, at.y() + dy).name() for dx in (-2, 0, 2) for dy in (-2, 0, 2)}
        assert colour in around  # a grid line may hide some of it
    if zoom > 1:  # it reaches beyond the canvas on every side
        edges = (
            (40, 40),
            (canvas.width() - 9, 40),
            (40, canvas.height() - 40),
            (canvas.width() - 9, canvas.height() - 9),
        )
        paper = QColor(LIGHT.paper).name()
        for x, y in edges:
            assert paper not in {shot.pixelColor(x + dx, y + dy).name() for dx in (0, 2) for dy in (0, 2)}
    if zoom < 1:
        outside = canvas.view.to_px(place.to_table(complex(0.6, 0.6) * place.width_mm)).toPoint()
        assert shot.pixelColor(outside).lightness() > 200


def test_the_wire_lies_over_it(over: Callable[..., Window]) -> None:
    window = over()
    line = window.canvas.wire.centreline_mm(window.session.wire.part(2))
    at = px(window, complex(line[len(line) // 2])).toPoint()
    lit = window.canvas.grab().toImage().pixelColor(at)
    window.session.change("Away", replace(window.session.design, picture=None))
    assert window.canvas.grab().toImage().pixelColor(at) == lit


def test_it_fades(over: Callable[..., Window]) -> None:
    window = over(x_mm=0.0, y_mm=300.0)
    canvas, place = window.canvas, place_of(window)
    canvas.show_view(canvas.view.moved(QPointF(canvas.rect().center()) - px(window, place.middle_mm)))
    at = (px(window, place.to_table(complex(15, -7.5))) + QPointF(3, 3)).toPoint()  # in the black quarter
    seen = []
    for opacity in (1.0, 0.5, 0.0):
        window.session.change("Fade", change_picture(window.session.design, opacity=opacity))
        seen.append(canvas.grab().toImage().pixelColor(at).lightness())
    paper = QColor(LIGHT.paper).lightness()
    assert seen[0] == 0
    assert seen[1] == pytest.approx(paper / 2, abs=2)
    assert seen[2] == paper


@pytest.mark.parametrize(("key", "palette"), [("light", LIGHT), ("dark", DARK)])
def test_a_sheet_takes_the_tables_colour_and_its_lines_stand_out(
    over: Callable[..., Window], tmp_path: Path, key: str, palette: object
) -> None:
    window = over(x_mm=0.0, y_mm=300.0)
    sheet = Image.new("L", (200, 100), 255)
    ImageDraw.Draw(sheet).rectangle((100, 0, 120, 100), fill=0)
    sheet.save(tmp_path / "sketch.png")
    window.canvas.picture.reload()
    window.use_appearance(key)
    canvas, place = window.canvas, place_of(window)
    canvas.show_view(canvas.view.moved(QPointF(canvas.rect().center()) - px(window, place.middle_mm)))
    shot = canvas.grab().toImage()
    paper = QColor(palette.paper)  # type: ignore[attr-defined]
    line = shot.pixelColor((px(window, place.to_table(complex(3, 0))) + QPointF(2, 2)).toPoint())
    bare = [shot.pixelColor((px(window, place.to_table(complex(-15, y)))).toPoint()) for y in (3.1, 3.4, 3.7)]
    assert paper in bare
    assert abs(line.lightness() - paper.lightness()) > 150


def test_what_it_costs_is_not_in_any_number(over: Callable[..., Window]) -> None:
    window = over()
    session = window.session
    chain, weight = session.evaluation.chain, evaluate(cuff()).weight_g
    session.change("Fade", change_picture(session.design, opacity=0.3))
    assert session.evaluation.chain is chain  # nothing was computed anew
    assert session.evaluation.weight_g == weight
    assert session.evaluation.design.picture == picture_of(window)


# ---- moving and turning --------------------------------------------------------------------------------


def test_dragging_moves_it_and_nothing_else(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "adjust_picture")
    before, place = state(window), place_of(window)
    start, by = near_middle(window), QPointF(37.5, -22.25)
    events.pull(window.canvas, start, start + by)
    assert "The picture moves" in said(window)
    moved = complex(by.x(), -by.y()) / window.canvas.view.px_per_mm
    assert_lies(window, tuple(corner + moved for corner in place.corners_mm))
    assert window.session.step_count == 0
    events.release(window.canvas, start + by)
    assert_lies(window, tuple(corner + moved for corner in place.corners_mm))
    assert_one_step(window, before, "Move picture")


@pytest.mark.parametrize("turn_deg", [30.0, -100.0, 170.0])
def test_shift_dragging_turns_it_about_its_middle(over: Callable[..., Window], turn_deg: float) -> None:
    window = over()
    trigger(window, "adjust_picture")
    before, place = state(window), place_of(window)
    arm = place.to_table(complex(8.0, 2.0)) - place.middle_mm
    turn = cmath.exp(1j * math.radians(turn_deg))
    start, end = px(window, place.middle_mm + arm), px(window, place.middle_mm + 1.7 * arm * turn)
    events.drag(window.canvas, start, end, modifiers=SHIFT)
    assert_lies(
        window, tuple(place.middle_mm + (corner - place.middle_mm) * turn for corner in place.corners_mm)
    )
    assert -180.0 <= picture_of(window).angle_deg <= 180.0
    assert_one_step(window, before, "Turn picture")


@pytest.mark.parametrize("keys", [Qt.KeyboardModifier.NoModifier, SHIFT])
def test_escape_puts_it_back_and_the_rest_of_the_drag_does_nothing(
    over: Callable[..., Window], keys: Qt.KeyboardModifier
) -> None:
    window = over()
    trigger(window, "adjust_picture")
    before = state(window)
    start = near_middle(window)
    end = start + QPointF(30, 40)
    events.pull(window.canvas, start, end, modifiers=keys)
    assert window.session.design != before[0]
    events.key(window.canvas, Qt.Key.Key_Escape)
    assert state(window) == before
    assert said(window) == "Put back as it was."
    events.move(window.canvas, end + QPointF(20, 20), LEFT, keys)
    events.release(window.canvas, end, modifiers=keys)
    assert state(window) == before
    # Still in hand: only the next Escape puts the tool down.
    assert isinstance(window.canvas.tool, AdjustPictureTool)
    events.key(window.canvas, Qt.Key.Key_Escape)
    assert window.canvas.tool is None
    assert not window.actions_by_name["adjust_picture"].isChecked()


def test_out_and_back_and_a_click_make_no_step(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "adjust_picture")
    before, start = state(window), near_middle(window)
    events.pull(window.canvas, start, start + QPointF(30, 10))
    events.move(window.canvas, start, LEFT)
    events.release(window.canvas, start)
    events.click(window.canvas, start)
    assert state(window) == before


def test_a_pointer_that_rests_in_mid_drag_changes_nothing(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "adjust_picture")
    start = near_middle(window)
    events.pull(window.canvas, start, start + QPointF(30, 10))
    lies = place_of(window).corners_mm
    for _ in range(3):
        events.move(window.canvas, start + QPointF(30, 10), LEFT)
        assert_lies(window, lies)
    events.release(window.canvas, start + QPointF(30, 10))
    assert_lies(window, lies)


def test_menus_wait_while_it_is_dragged(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "adjust_picture")
    start = near_middle(window)
    events.pull(window.canvas, start, start + QPointF(30, 10))
    dragged = window.session.design
    for name in ("mirror_form", "lock_picture", "take_picture_away", "adjust_picture"):
        trigger(window, name)
        assert window.session.design is dragged
    events.release(window.canvas, start + QPointF(30, 10))
    assert window.session.undo_name == "Move picture"


def test_beside_the_picture_the_form_is_pulled_as_ever(over: Callable[..., Window]) -> None:
    window = over(width_mm=10.0, x_mm=0.0, y_mm=60.0)
    trigger(window, "adjust_picture")
    left, right = window.canvas.wire.mark_edges_mm
    start = px(window, complex(left[2] + right[2]) / 2)
    events.drag(window.canvas, start, start + QPointF(12, 9))
    assert window.session.undo_name == "Move mark 3"


def test_without_adjusting_the_mouse_is_the_forms(over: Callable[..., Window]) -> None:
    window = over()
    before, view, start = state(window), window.canvas.view, near_middle(window)
    assert window.canvas.wire.sample_near(window.canvas.view.to_mm(start), 1.0) is None  # bare table
    events.drag(window.canvas, start, start + QPointF(30, 10))
    assert state(window) == before
    assert window.canvas.view == view.moved(QPointF(30, 10))


# ---- fading and locking --------------------------------------------------------------------------------


def test_control_and_the_wheel_fade_it_in_one_step(over: Callable[..., Window]) -> None:
    window = over(opacity=0.5)
    trigger(window, "adjust_picture")
    before, view = state(window), window.canvas.view
    at = near_middle(window)
    for notches in (-1.0, -1.0, -1.0, 0.5):
        events.wheel(window.canvas, at, notches, CONTROL)
    assert picture_of(window).opacity == pytest.approx(0.5 - 2.5 * 0.05)
    assert "38 %" in said(window) or "37 %" in said(window)
    assert window.canvas.view == view
    assert_one_step(window, before, "Fade picture")
    # As far as it goes and no further; back to where it was, there is nothing to undo.
    for notches, opacity in ((-40.0, 0.05), (60.0, 1.0)):
        events.wheel(window.canvas, at, notches, CONTROL)
        assert picture_of(window).opacity == opacity
        assert "as it goes" in said(window)
    events.wheel(window.canvas, at, 1.0)
    assert window.canvas.view.px_per_mm > view.px_per_mm


def test_fading_by_the_wheel_never_takes_another_step_back(over: Callable[..., Window]) -> None:
    window = over(opacity=0.5)
    window.session.change("Turn", change_span(window.session.design, SpanAddress(0, 0), turn_deg=-33.0), 0)
    turned = window.session.design
    trigger(window, "adjust_picture")
    at = near_middle(window)
    for notches in (1.0, -1.0, -1.0, 1.0, 1.0):  # twice back to where it began
        events.wheel(window.canvas, at, notches, CONTROL)
    assert picture_of(window).opacity == pytest.approx(0.55)
    assert replace(window.session.design, picture=turned.picture) == turned
    assert window.session.undo_name == "Fade picture"
    window.session.undo()
    assert window.session.design is turned
    # After another step a further turning is a step of its own.
    trigger(window, "fade_picture_less")
    events.wheel(window.canvas, at, 1.0, CONTROL)
    assert window.session.step_count == 3


def test_the_wheel_waits_while_the_form_or_the_picture_is_dragged(over: Callable[..., Window]) -> None:
    window = over(opacity=0.5)
    trigger(window, "adjust_picture")
    start = near_middle(window)
    events.pull(window.canvas, start, start + QPointF(20, 0))
    events.wheel(window.canvas, start, 1.0, CONTROL)
    assert picture_of(window).opacity == 0.5
    assert window.session.step_count == 0
    events.release(window.canvas, start + QPointF(20, 0))
    assert window.session.step_count == 1


def test_the_menu_fades_it_step_by_step(over: Callable[..., Window]) -> None:
    window = over(opacity=0.5)
    before = state(window)
    trigger(window, "fade_picture_more")
    assert picture_of(window).opacity == pytest.approx(0.4)
    assert_one_step(window, before, "Fade picture")
    trigger(window, "fade_picture_less")
    trigger(window, "fade_picture_less")
    assert picture_of(window).opacity == pytest.approx(0.6)
    assert window.session.step_count == 3


def test_locked_it_stays_where_it_is(over: Callable[..., Window]) -> None:
    window = over()
    before, actions = state(window), window.actions_by_name
    trigger(window, "adjust_picture")
    trigger(window, "lock_picture")
    assert_one_step(window, before, "Lock picture")
    assert window.canvas.tool is None  # there is nothing left to adjust
    assert actions["lock_picture"].isChecked()
    assert not actions["adjust_picture"].isEnabled()
    assert not actions["set_picture_scale"].isEnabled()
    lies, start = place_of(window).corners_mm, near_middle(window)
    events.drag(window.canvas, start, start + QPointF(20, 20))
    events.wheel(window.canvas, start, 1.0, CONTROL)
    assert place_of(window).corners_mm == lies
    assert picture_of(window).opacity == 1.0
    trigger(window, "lock_picture")
    assert window.session.undo_name == "Unlock picture"
    assert actions["adjust_picture"].isEnabled()


def test_taken_away_it_comes_back_by_undo(over: Callable[..., Window], tmp_path: Path) -> None:
    window = over()
    before = state(window)
    trigger(window, "adjust_picture")
    trigger(window, "take_picture_away")
    assert window.session.design == cuff()
    assert window.canvas.picture.place is None
    assert window.canvas.tool is None
    assert not window.actions_by_name["take_picture_away"].isEnabled()
    assert (tmp_path / "sketch.png").exists()
    assert_one_step(window, before, "Take picture away")
    window.session.undo()
    assert window.canvas.picture.place is not None


def test_another_design_puts_the_tool_down(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "adjust_picture")
    window.session.replace(cuff())
    assert window.canvas.tool is None
    assert window.canvas.picture.place is None
    assert not window.actions_by_name["adjust_picture"].isChecked()


# ---- setting its scale ---------------------------------------------------------------------------------


def choose_points(window: Window, first: complex, second: complex) -> None:
    """Click two points given from the picture's middle in mm."""
    trigger(window, "set_picture_scale")
    place = place_of(window)
    for point in (first, second):
        at = px(window, place.to_table(point))
        events.move(window.canvas, at)
        events.click(window.canvas, at)


@pytest.mark.parametrize(("typed", "true_mm"), [("30", 30.0), ("1 1/2 in", 38.1), ("2.5 cm + 1 mm", 26.0)])
def test_two_points_and_their_true_distance_set_its_scale(
    over: Callable[..., Window], asked: Asked, typed: str, true_mm: float
) -> None:
    window = over()
    before, place = state(window), place_of(window)
    first, second = complex(-20.0, 4.0), complex(10.0, -6.0)
    questions: list[str] = []

    def answer(dialog: LengthDialog) -> None:
        questions.extend(label.text() for label in dialog.findChildren(QLabel))
        events.keys(dialog.field, typed)
        dialog.accept()

    asked.drive(LengthDialog, answer)
    choose_points(window, first, second)
    assert "31.62 mm apart now" in questions[0]  # sqrt(30^2 + 10^2)
    after = place_of(window)
    factor = true_mm / abs(second - first)
    assert after.width_mm == pytest.approx(60.0 * factor, abs=1e-5)
    assert abs(after.to_table(factor * second) - after.to_table(factor * first)) == pytest.approx(
        true_mm, abs=1e-5
    )
    # The first point of the picture lies where it lay, and nothing is turned.
    assert abs(after.to_table(factor * first) - place.to_table(first)) < 1e-5
    assert after.angle_rad == pytest.approx(place.angle_rad, abs=1e-8)
    assert window.canvas.tool is None
    assert_one_step(window, before, "Set picture's scale")


def test_a_length_that_cannot_be_is_explained_in_the_dialog(
    over: Callable[..., Window], asked: Asked
) -> None:
    window = over()
    before = state(window)
    faults: list[str] = []

    def answer(dialog: LengthDialog) -> None:
        for typed in ("", "far", "0", "-3 mm"):
            dialog.field.setText(typed)
            dialog.accept()
            assert dialog.isVisible()
            faults.extend(
                label.text() for label in dialog.findChildren(QLabel)
                if label.objectName() == "caution" and label.isVisible()
            )  # fmt: skip
        dialog.reject()

    asked.drive(LengthDialog, answer)
    choose_points(window, complex(-20.0, 4.0), complex(10.0, -6.0))
    assert len(faults) == 4
    assert all(faults)
    assert state(window) == before
    assert said(window) == "The picture keeps its size."


def test_a_scale_beyond_all_measure_is_refused(over: Callable[..., Window], asked: Asked) -> None:
    window = over()
    before = state(window)

    def answer(dialog: LengthDialog) -> None:
        dialog.field.setText("9000000")
        dialog.accept()

    asked.drive(LengthDialog, answer)
    choose_points(window, complex(-20.0, 4.0), complex(10.0, -6.0))
    assert state(window) == before
    assert "$.picture" in asked.explained[0]


def test_points_are_on_the_picture_and_apart_and_can_be_left(
    over: Callable[..., Window], asked: Asked
) -> None:
    window = over()
    before, place = state(window), place_of(window)
    asked.drive(LengthDialog, lambda dialog: pytest.fail("asked"))
    trigger(window, "set_picture_scale")
    beside = px(window, place.to_table(complex(0.0, 0.7 * place.height_mm)))
    events.click(window.canvas, beside)
    assert "beside the picture" in said(window)
    on_it = px(window, place.to_table(complex(5.0, 3.0)))
    events.click(window.canvas, on_it)
    assert "other point" in said(window)
    assert not window.canvas.grab().isNull()
    events.click(window.canvas, on_it + QPointF(1, 1))
    assert "too close together" in said(window)
    assert isinstance(window.canvas.tool, TwoPointsTool)
    events.key(window.canvas, Qt.Key.Key_Escape)
    assert window.canvas.tool is None
    assert state(window) == before


def test_the_table_may_be_zoomed_between_the_points(over: Callable[..., Window], asked: Asked) -> None:
    window = over()
    asked.drive(LengthDialog, lambda dialog: (dialog.field.setText("60"), dialog.accept()))
    place = place_of(window)
    trigger(window, "set_picture_scale")
    events.click(window.canvas, px(window, place.to_table(complex(-20.0, 0.0))))
    events.wheel(window.canvas, px(window, place.to_table(complex(10.0, 0.0))), 3.0)
    events.click(window.canvas, px(window, place.to_table(complex(10.0, 0.0))))
    assert place_of(window).width_mm == pytest.approx(120.0, abs=1e-5)


# ---- keeping to the form -------------------------------------------------------------------------------


def pull_first_mark(window: Window) -> None:
    left, right = window.canvas.wire.mark_edges_mm
    start = px(window, complex(left[0] + right[0]) / 2)
    events.drag(window.canvas, start, start + QPointF(-14, 19))
    assert window.session.undo_name == "Move mark 1"


EDITS: dict[str, Callable[[Window], None]] = {
    "pull the start mark": pull_first_mark,
    "reverse": lambda window: trigger(window, "reverse_wire"),
    "mirror": lambda window: trigger(window, "mirror_form"),
    "corner": lambda window: window.session.change(
        "Bend", change_span(window.session.design, SpanAddress(0, 2), corner_deg=40.0), 3
    ),
}


@pytest.mark.parametrize("edit", EDITS)
def test_it_lies_still_while_the_form_is_changed_over_it(over: Callable[..., Window], edit: str) -> None:
    window = over()
    before, lies = state(window), place_of(window).corners_mm
    EDITS[edit](window)
    assert window.session.step_count == 1
    assert_lies(window, lies)
    assert picture_of(window) != before[0].picture  # type: ignore[attr-defined]  # its frame has moved
    trigger(window, "undo")
    assert state(window)[:4] == before[:4]
    trigger(window, "redo")
    assert_lies(window, lies)


def form_and_picture(window: Window) -> list[complex]:
    """The picture's corners and the pen marks, seen from the first mark towards the last: no table in it."""
    left, right = window.canvas.wire.mark_edges_mm
    marks = [complex(z) for z in (left + right) / 2]
    places = [*place_of(window).corners_mm, *marks]
    return [(place - marks[0]) / (marks[-1] - marks[0]) for place in places]


def test_picture_and_form_are_together_when_the_file_is_opened_again(
    over: Callable[..., Window], open_window: Open
) -> None:
    window = over()
    pull_first_mark(window)
    trigger(window, "adjust_picture")
    start = near_middle(window)
    events.drag(window.canvas, start, start + QPointF(25, 8))
    line = window.canvas.wire.centreline_mm(window.session.wire.part(1))
    bare = window.canvas.tool
    assert bare is not None
    events.key(window.canvas, Qt.Key.Key_Escape)
    wire = px(window, complex(line[len(line) // 3]))
    events.drag(window.canvas, wire, wire + QPointF(9, 14))
    lay = form_and_picture(window)
    file = window.session.file
    assert file is not None
    trigger(window, "save_design")
    loaded = load_design(file)
    assert loaded.design == window.session.design
    again = open_window(Session(loaded.design, file, loaded))
    assert again.session.pose != window.session.pose  # laid level again
    assert form_and_picture(again) == pytest.approx(lay, abs=1e-7)


def test_laying_level_takes_it_along(over: Callable[..., Window]) -> None:
    window = over()
    pull_first_mark(window)
    design, lay = window.session.design, form_and_picture(window)
    trigger(window, "lay_level")
    assert window.session.design is design
    assert form_and_picture(window) == pytest.approx(lay, abs=1e-9)


def test_a_pull_on_the_form_is_put_back_with_the_picture(over: Callable[..., Window]) -> None:
    window = over()
    before = state(window)
    left, right = window.canvas.wire.mark_edges_mm
    start = px(window, complex(left[0] + right[0]) / 2)
    lies = place_of(window).corners_mm
    events.pull(window.canvas, start, start + QPointF(-14, 19), steps=5)
    assert_lies(window, lies)
    events.key(window.canvas, Qt.Key.Key_Escape)
    assert state(window) == before
    # Out and back in one pull leaves the picture's numbers as they were.
    events.release(window.canvas, start)
    events.pull(window.canvas, start, start + QPointF(-14, 19), steps=5)
    events.move(window.canvas, start, LEFT)
    events.release(window.canvas, start)
    assert picture_of(window) == before[0].picture  # type: ignore[attr-defined]


# ---- missing, or not to be had -------------------------------------------------------------------------


@pytest.mark.parametrize("trouble", ["missing", "damaged", "outside"])
def test_a_picture_that_cannot_be_shown_is_said_once_and_the_design_is_open(
    open_window: Open, asked: Asked, tmp_path: Path, trouble: str
) -> None:
    if trouble == "damaged":
        (tmp_path / "sketch.png").write_bytes(b"\x89PNG\r\n\x1a\nnothing more")
    if trouble == "outside":
        elsewhere = tmp_path / "elsewhere"
        elsewhere.mkdir()
        (tmp_path / "sketch.png").symlink_to(draw_sketch(elsewhere / "other.png"))
        tmp_path = elsewhere.parent / "designs"
        tmp_path.mkdir()
        (tmp_path / "sketch.png").symlink_to(elsewhere / "other.png")
    file = tmp_path / "cuff.formsketch.json"
    file.write_bytes(design_bytes(replace(cuff(), picture=Picture(file="sketch.png", width_mm=60.0))))
    window = open_window()
    window.files.open_file(file)
    told: list[str] = []
    window.canvas.told.connect(told.append)
    QApplication.processEvents()
    words = {"missing": "not there", "damaged": "damaged", "outside": "outside the design's folder"}[trouble]
    assert [sentence for sentence in told if words in sentence] == [said(window)]
    assert said(window).startswith("sketch.png: ")
    assert window.session.file == file
    assert not asked.explained
    assert not window.canvas.grab().isNull()
    actions = window.actions_by_name
    assert not actions["adjust_picture"].isEnabled()
    assert not actions["set_picture_scale"].isEnabled()
    # Not again with every edit, and the design keeps it.
    trigger(window, "mirror_form")
    trigger(window, "fade_picture_more")
    QApplication.processEvents()
    assert len([sentence for sentence in told if words in sentence]) == 1
    trigger(window, "save_design")
    assert load_design(file).design.picture is not None
    trigger(window, "take_picture_away")
    assert window.session.design.picture is None


def test_a_path_that_climbs_is_refused_with_its_place_and_what_is_open_stays(
    open_window: Open, asked: Asked, tmp_path: Path
) -> None:
    folder = tmp_path / "designs"
    folder.mkdir()
    draw_sketch(tmp_path / "sketch.png")
    tree = json.loads(design_bytes(cuff()))
    tree["picture"] = {"file": "../sketch.png", "width_mm": 60}
    file = folder / "cuff.formsketch.json"
    file.write_text(json.dumps(tree))
    window = open_window()
    open_now = window.session.design
    window.files.open_file(file)
    assert window.session.design is open_now
    assert "$.picture.file" in asked.explained[0]
    assert "does not leave it" in asked.explained[0]


# ---- putting it under ----------------------------------------------------------------------------------


def copies_asked(monkeypatch: pytest.MonkeyPatch, answer: bool) -> list[str]:
    names: list[str] = []
    monkeypatch.setattr(
        dialogs, "ask_to_copy_picture", lambda _, name, folder: (names.append(name), answer)[1]
    )
    return names


def test_a_picture_beside_the_design_is_put_under_the_form(
    beside: Window, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "sketches").mkdir()
    asked.file = (str(draw_sketch(tmp_path / "sketches" / "First idea.png")), "")
    names = copies_asked(monkeypatch, False)
    before = state(beside)
    trigger(beside, "put_picture_under")
    assert picture_of(beside).file == "sketches/First idea.png"
    assert names == []
    assert asked.starts == [str(tmp_path)]
    assert "lies under the form" in said(beside)
    # Upright on the table, in the middle of the form and a little beyond it.
    place = place_of(beside)
    x0, y0, x1, y1 = beside.canvas.wire.bounds_mm
    assert place.angle_rad == pytest.approx(0.0, abs=1e-7)
    assert abs(place.middle_mm - complex(x0 + x1, y0 + y1) / 2) < KEPT_MM
    assert all(place.holds(corner) for corner in (complex(x0, y0), complex(x1, y1)))
    assert_one_step(beside, before, "Put a picture under")


@pytest.mark.usefixtures("few_pixels")
def test_a_drawing_that_says_its_size_is_laid_at_it(beside: Window, asked: Asked, tmp_path: Path) -> None:
    file = tmp_path / "drawing.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="20mm" viewBox="0 0 8 2">'
        '<path d="M0 0L8 2" stroke="black"/></svg>'
    )
    asked.file = (str(file), "")
    trigger(beside, "put_picture_under")
    assert (picture_of(beside).file, picture_of(beside).width_mm) == ("drawing.svg", 80.0)
    assert place_of(beside).height_mm == pytest.approx(20.0, rel=1e-3)


def test_a_design_without_a_file_is_saved_first(
    open_window: Open, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window()
    asked_first: list[bool] = []

    def first(answer: bool) -> Callable[..., bool]:
        return lambda _: (asked_first.append(answer), answer)[1]

    monkeypatch.setattr(dialogs, "ask_to_save_first", first(False))
    trigger(window, "put_picture_under")
    assert (asked_first, asked.starts) == ([False], [])  # thought better of
    monkeypatch.setattr(dialogs, "ask_to_save_first", first(True))
    trigger(window, "put_picture_under")  # but no file is named
    assert (window.session.file, len(asked.starts)) == (None, 1)
    # Saved, then chosen.
    design_file, sketch = tmp_path / "cuff.formsketch.json", draw_sketch(tmp_path / "sketch.png")
    chosen = iter([(str(design_file), ""), (str(sketch), "")])
    monkeypatch.setattr(
        "PySide6.QtWidgets.QFileDialog.getSaveFileName", staticmethod(lambda *_: next(chosen))
    )
    monkeypatch.setattr(
        "PySide6.QtWidgets.QFileDialog.getOpenFileName", staticmethod(lambda *_: next(chosen))
    )
    trigger(window, "put_picture_under")
    assert window.session.file == design_file
    assert picture_of(window).file == "sketch.png"
    assert load_design(design_file).design == cuff()


def test_a_picture_from_elsewhere_is_copied_beside_the_design_when_wanted(
    beside: Window, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    home = tmp_path / "home"
    home.mkdir()
    beside.session.save(home / "cuff.formsketch.json")
    source = draw_sketch(elsewhere / "sketch.png")
    asked.file = (str(source), "")
    names = copies_asked(monkeypatch, False)
    before = state(beside)
    trigger(beside, "put_picture_under")
    assert state(beside) == before
    assert (names, list(home.glob("*.png"))) == (["sketch.png"], [])
    # Another picture of this name lies there already: it is not touched.
    (home / "sketch.png").write_bytes(b"mine")
    copies_asked(monkeypatch, True)
    trigger(beside, "put_picture_under")
    assert picture_of(beside).file == "sketch-2.png"
    assert (home / "sketch-2.png").read_bytes() == source.read_bytes()
    assert (home / "sketch.png").read_bytes() == b"mine"
    assert source.exists()
    assert "sketch-2.png was copied beside the design" in said(beside)
    assert beside.canvas.picture.place is not None
    assert not asked.explained


@pytest.mark.parametrize("name", ["words.png", "missing.png", "sketch.bmp"])
def test_what_is_no_picture_is_explained_and_nothing_is_copied(
    beside: Window, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    if name != "missing.png":
        (elsewhere / name).write_text("no picture")
    names, files = copies_asked(monkeypatch, True), sorted(tmp_path.iterdir())
    asked.file = (str(elsewhere / name), "")
    before = state(beside)
    trigger(beside, "put_picture_under")
    assert len(asked.explained) == 1
    assert name in asked.explained[0]
    assert state(beside) == before
    assert (names, sorted(tmp_path.iterdir())) == ([], files)


@pytest.mark.usefixtures("few_pixels")
def test_a_drawing_that_takes_its_time_is_laid_when_it_is_there(
    beside: Window, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qtbot: object
) -> None:
    monkeypatch.setattr(background, "A_MOMENT_MS", 0)
    file = tmp_path / "slow.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm"><path d="M0 0h9v9z"/></svg>'
    )
    beside.pictures.put(file)
    assert beside.session.design.picture is None  # the window is not held up
    assert "being drawn" in said(beside)
    qtbot.waitUntil(lambda: beside.session.design.picture is not None, timeout=30_000)  # type: ignore[attr-defined]
    assert picture_of(beside).width_mm == 40.0
    under = beside.canvas.picture
    qtbot.waitUntil(lambda: under.place is not None, timeout=30_000)  # type: ignore[attr-defined]
    # One that is refused late is explained; nothing changes.
    before = beside.session.design
    bad = tmp_path / "bad.svg"
    bad.write_text("no drawing")
    asked.file = (str(bad), "")
    trigger(beside, "put_picture_under")
    qtbot.waitUntil(lambda: len(asked.explained) == 1, timeout=30_000)  # type: ignore[attr-defined]
    assert "bad.svg" in asked.explained[0]
    assert beside.session.design is before
    # And one for a design that is no longer open is forgotten.
    beside.pictures.put(file)
    beside.session.replace(make_starter("hoop", beside.session.design.wire))
    beside.pictures._work._pool.waitForDone(30_000)
    QApplication.processEvents()
    assert beside.session.design.picture is None


def test_a_changed_file_is_read_again_when_put_under_again(over: Callable[..., Window], asked: Asked) -> None:
    window = over()
    folder = window.session.file.parent  # type: ignore[union-attr]
    Image.new("RGB", (100, 100), "red").save(folder / "sketch.png")
    asked.file = (str(folder / "sketch.png"), "")
    trigger(window, "put_picture_under")
    place = place_of(window)
    assert place.height_mm == pytest.approx(place.width_mm)


# ---- saving elsewhere ----------------------------------------------------------------------------------


def test_saved_elsewhere_the_design_takes_its_picture_along(
    over: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = over()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    asked.file = (str(elsewhere / "cuff.formsketch.json"), "")
    trigger(window, "save_design_as")
    assert (elsewhere / "sketch.png").read_bytes() == (tmp_path / "sketch.png").read_bytes()
    assert "sketch.png was copied beside it" in said(window)
    assert window.canvas.picture.place is not None
    assert load_design(elsewhere / "cuff.formsketch.json").design == window.session.design
    assert window.session.step_count == 0
    # Beside another picture of this name it gets a name of its own, and the design says so.
    taken = tmp_path / "taken"
    taken.mkdir()
    (taken / "sketch.png").write_bytes(b"mine")
    asked.file = (str(taken / "cuff.formsketch.json"), "")
    trigger(window, "save_design_as")
    picture = load_design(taken / "cuff.formsketch.json").design.picture
    assert picture is not None
    assert picture.file == "sketch-2.png"
    assert (taken / "sketch.png").read_bytes() == b"mine"
    assert window.canvas.picture.place is not None
    assert not window.session.unsaved
    # In the same folder under another name there is nothing to copy.
    asked.file = (str(taken / "other.formsketch.json"), "")
    trigger(window, "save_design_as")
    assert "copied" not in said(window)
    assert sorted(file.name for file in taken.glob("*.png")) == ["sketch-2.png", "sketch.png"]


def test_a_missing_picture_keeps_no_design_from_being_saved(
    over: Callable[..., Window], asked: Asked, tmp_path: Path
) -> None:
    window = over()
    (tmp_path / "sketch.png").unlink()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    asked.file = (str(elsewhere / "cuff.formsketch.json"), "")
    trigger(window, "save_design_as")
    assert load_design(elsewhere / "cuff.formsketch.json").design == window.session.design


def test_a_demo_shows_its_sketch_and_keeps_it_when_saved(
    open_window: Open, asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    demo = next(file for file in demo_design_files() if load_design(file).design.picture is not None)
    window.files.open_demo(demo)
    QApplication.processEvents()
    assert window.session.file is None
    assert window.canvas.picture.place is not None
    # The sketch lies under the form it is of.
    x0, y0, x1, y1 = window.canvas.wire.bounds_mm
    assert all(place_of(window).holds(corner) for corner in (complex(x0, y0), complex(x1, y1)))
    asked.file = (str(tmp_path / "mine.formsketch.json"), "")
    trigger(window, "save_design_as")
    name = picture_of(window).file
    assert (tmp_path / name).read_bytes() == (demo.parent / name).read_bytes()
    assert (demo.parent / name).stat().st_size < 40_000
    assert window.canvas.picture.place is not None


def test_comparing_takes_no_notice(over: Callable[..., Window]) -> None:
    window = over()
    trigger(window, "compare_forms")
    with_it = window.compare_view.grab().toImage()
    window.session.change("Away", replace(window.session.design, picture=None))
    assert window.compare_view.grab().toImage() == with_it
