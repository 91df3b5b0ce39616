"""Several spans selected: by clicks and keys on form and wire, shown and said; what is typed goes for all."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QComboBox, QLabel, QWidget

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Run, Span, Wire
from formsketch.ui.fields import NumberGroup, QuantityField
from formsketch.ui.selection import Selection
from formsketch.ui.theme import current_palette
from formsketch.ui.window import Window
from tests.support import events
from tests.support.desk import Desk

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
Key, Keys = Qt.Key, Qt.KeyboardModifier
NONE, SHIFT, CONTROL = Keys.NoModifier, Keys.ShiftModifier, Keys.ControlModifier
LEFT = Qt.MouseButton.LeftButton


def zigzag(flare: Flare | None = None) -> Design:
    """Five spans, each alone: all but the third, which is straight, turn to one side and the other."""
    turns = (60.0, -90.0, 0.0, 75.0, -50.0)
    spans = tuple(Span(length_mm=20.0 + 2 * i, turn_deg=turn, flare=flare) for i, turn in enumerate(turns))
    return Design(title="Zigzag", wire=BRASS, form=Form(runs=(Run(spans=spans),)))


def graded_row() -> Design:
    """Two free spans about a graded row of five turned over from one to the next."""
    row = Run(spans=(Span(length_mm=20.0, turn_deg=200.0),), times=5, turned_over=True, ends_scale=0.5)
    lead_in = Run(spans=(Span(length_mm=12.0, turn_deg=40.0),))
    lead_out = Run(spans=(Span(length_mm=14.0, turn_deg=40.0, turned_over=True),))
    return Design(title="Row", wire=BRASS, form=Form(runs=(lead_in, row, lead_out)))


Lay = Callable[..., Desk]


class Hand:
    """Clicks on the form or on the straight wire of a desk."""

    def __init__(self, desk: Desk, where: str) -> None:
        self.desk, self.where = desk, where
        self.widget: QWidget = desk.canvas if where == "form" else desk.strip

    def at(self, span: int, share: float = 0.37) -> QPointF:
        """A place on a span clear of its handles, which stand at its middle and marks."""
        if self.where == "form":
            line = self.desk.line_mm(span)
            step = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(line)))))
            place = share * step[-1]
            return self.desk.px(complex(np.interp(place, step, line.real), np.interp(place, step, line.imag)))
        spans = self.desk.session.evaluation.spans
        stock = float(spans.stock_from_mm[span] + share * spans.stock_length_mm[span])
        return QPointF(self.desk.strip.x_px(stock), 80.0)

    def click(self, span: int, keys: Qt.KeyboardModifier = NONE) -> None:
        events.click(self.widget, self.at(span), LEFT, keys)


@pytest.fixture(params=["form", "wire"])
def hand(request: pytest.FixtureRequest, lay: Lay) -> Hand:
    return Hand(lay(zigzag()), request.param)


# ---- clicks --------------------------------------------------------------------------------------------


def test_control_and_click_adds_and_takes_away(hand: Hand) -> None:
    selection = hand.desk.selection
    hand.click(1)
    hand.click(3, CONTROL)
    assert (selection.span, selection.spans) == (3, (1, 3))
    hand.click(4, CONTROL)
    assert (selection.span, selection.spans) == (4, (1, 3, 4))
    hand.click(1, CONTROL)
    assert (selection.span, selection.spans) == (4, (3, 4))
    # Without the lead the nearest leads, and without any nothing is selected.
    hand.click(4, CONTROL)
    assert (selection.span, selection.spans) == (3, (3,))
    hand.click(3, CONTROL)
    assert (selection.span, selection.spans) == (None, ())
    assert hand.desk.session.step_count == 0


def test_shift_and_click_takes_the_stretch_from_the_lead(hand: Hand) -> None:
    selection = hand.desk.selection
    hand.click(3)
    hand.click(1, SHIFT)
    assert (selection.span, selection.spans) == (3, (1, 2, 3))
    hand.click(4, SHIFT)
    assert (selection.span, selection.spans) == (3, (3, 4))
    hand.click(0)
    assert (selection.span, selection.spans) == (0, (0,))
    assert hand.desk.session.step_count == 0


def test_shift_and_click_without_a_lead_selects_one(hand: Hand) -> None:
    hand.click(2, SHIFT)
    assert (hand.desk.selection.span, hand.desk.selection.spans) == (2, (2,))


def test_a_click_on_a_handle_of_a_selected_span_takes_it_away_too(lay: Lay) -> None:
    desk = lay(zigzag(), 1)
    desk.selection.toggle(3)
    belly = desk.px(desk.handle("belly").at_mm)
    events.click(desk.canvas, belly, LEFT, CONTROL)
    assert (desk.selection.span, desk.selection.spans) == (1, (1,))
    assert desk.session.step_count == 0


def test_a_click_with_a_key_on_nothing_leaves_the_selection(lay: Lay) -> None:
    desk = lay(zigzag(), 1)
    desk.selection.toggle(3)
    for widget, at in ((desk.canvas, (60.0, 60.0)), (desk.strip, (300.0, 12.0))):
        events.click(widget, at, LEFT, CONTROL)
        assert desk.selection.spans == (1, 3)
    events.click(desk.canvas, (60.0, 60.0))
    assert desk.selection.spans == ()


@pytest.mark.parametrize("keys", [SHIFT, CONTROL])
def test_a_drag_with_a_key_pulls_the_span_and_selects_it_alone(hand: Hand, keys: Qt.KeyboardModifier) -> None:
    desk = hand.desk
    hand.click(0)
    hand.click(4, CONTROL)
    first, start = desk.design, hand.at(1)
    by = QPointF(3.0, 9.0) if hand.where == "form" else QPointF(2.0, -2.5)
    events.drag(hand.widget, start, start + by, modifiers=keys)
    assert desk.session.step_count == 1
    assert desk.design != first
    assert desk.selection.spans == (1,)
    desk.session.undo()
    assert desk.design is first


# ---- keys ----------------------------------------------------------------------------------------------


def test_shift_and_arrows_stretch_and_shrink(hand: Hand) -> None:
    selection = hand.desk.selection
    selection.select(2)
    seen = []
    for key in (Key.Key_Right, Key.Key_Right, Key.Key_Right, Key.Key_Left, Key.Key_Left, Key.Key_Left):
        events.key(hand.widget, key, SHIFT)
        seen.append(selection.spans)
    assert seen == [(2, 3), (2, 3, 4), (2, 3, 4), (2, 3), (2,), (1, 2)]
    assert selection.span == 2
    assert hand.desk.session.step_count == 0
    events.key(hand.widget, Key.Key_Escape)
    assert (selection.span, selection.spans) == (None, ())


def test_shift_and_arrows_begin_at_an_end_of_the_wire(hand: Hand) -> None:
    events.key(hand.widget, Key.Key_Left, SHIFT)
    assert hand.desk.selection.spans == (4,)


def test_control_and_a_selects_every_span_and_text_in_a_field(open_window: Callable[..., Window]) -> None:
    window = open_window(zigzag())
    events.key(window.canvas, Key.Key_A, CONTROL)
    assert window.selection.spans == (0, 1, 2, 3, 4)
    assert "5 spans selected" in window._told.text()
    window.selection.select(1)
    field = window.panel.findChildren(QuantityField)[0]
    field.setFocus()
    events.key(field, Key.Key_A, CONTROL)
    assert field.selectedText() == field.text()
    assert window.selection.spans == (1,)


def test_the_keys_are_listed(qapp: object) -> None:
    from formsketch.ui.help_texts import keys_text

    for keys in (
        "Shift+Right, Shift+Left",
        "Ctrl and click, Shift and click",
        "Ctrl+A",
        "Enter, double click",
    ):
        assert keys in keys_text()


def test_an_edit_takes_away_only_the_spans_that_are_gone() -> None:
    selection = Selection()
    selection.select(1)
    selection.stretch_to(4)
    selection.keep_within(3)
    assert (selection.span, selection.spans) == (1, (1, 2))
    selection.keep_within(1)
    assert (selection.span, selection.spans) == (None, ())


# ---- shown and said ------------------------------------------------------------------------------------


def accent_pixels(image: QImage, at: QPointF, ratio: float, reach_px: int = 7) -> int:
    """How many pixels near a place are of the accent."""
    accent = QColor(current_palette().accent)
    x, y = round(at.x() * ratio), round(at.y() * ratio)
    return sum(
        image.pixelColor(x + i, y + j) == accent
        for i in range(-reach_px, reach_px + 1)
        for j in range(-reach_px, reach_px + 1)
    )


def test_every_selected_span_is_shown_on_the_form(lay: Lay) -> None:
    desk = lay(zigzag(), 0)
    desk.selection.toggle(3)
    image, ratio, hand = desk.canvas.grab().toImage(), desk.devicePixelRatioF(), Hand(desk, "form")
    for span in range(5):
        found = sum(accent_pixels(image, hand.at(span, share), ratio) for share in (0.3, 0.4, 0.6, 0.7))
        assert found > 4 if span in (0, 3) else found == 0, span


def test_every_selected_span_is_shown_on_the_straight_wire(lay: Lay) -> None:
    desk = lay(zigzag(), 0)
    desk.selection.toggle(3)
    image, hand = desk.strip.grab().toImage(), Hand(desk, "wire")
    wash = QColor(current_palette().accent_wash)
    for span in range(5):
        at = hand.at(span, 0.25)
        shown = image.pixelColor(round(at.x()), round(at.y()) + 22) == wash
        assert shown == (span in (0, 3)), span


def test_how_many_are_selected_is_told_and_spoken(hand: Hand) -> None:
    desk = hand.desk
    told: list[str] = []
    desk.strip.told.connect(told.append)
    desk.canvas.told.connect(told.append)
    hand.click(1)
    assert "selected" not in told[-1]
    assert desk.canvas.spoken.value.startswith("Span 2 of 5")
    hand.click(3, CONTROL)
    assert told[-1].startswith("2 spans selected.")
    assert desk.canvas.spoken.value.startswith("2 spans selected, first Span 4 of 5, turn 75 degrees left")
    assert "2 spans selected" in desk.strip.accessibleName()
    assert heading(desk) == "2 of 5 spans"
    hand.click(3, CONTROL)
    assert desk.canvas.spoken.value.startswith("Span 2 of 5")
    assert heading(desk) == "Span 2 of 5"


# ---- what is typed goes for all ------------------------------------------------------------------------


def group(desk: Desk) -> NumberGroup:
    """The group of the selected spans' numbers."""
    return next(g for g in desk.panel.findChildren(NumberGroup) if g.isAncestorOf(field(desk, "Turn")))


def heading(desk: Desk) -> str:
    return group(desk).heading.text()


def field(desk: Desk, label: str) -> QuantityField:
    return next(f for f in desk.panel.findChildren(QuantityField) if f.accessibleName() == label)


def enter(desk: Desk, label: str, text: str) -> QuantityField:
    into = field(desk, label)
    into.setFocus()
    into.selectAll()
    events.keys(into, text)
    events.key(into, Key.Key_Return)
    return into


def explained(desk: Desk) -> str:
    return " ".join(
        label.text()
        for label in group(desk).findChildren(QLabel)
        if label.objectName() == "caution" and label.isVisible()
    )


def select(desk: Desk, *spans: int) -> None:
    """These spans, the last of them leading."""
    desk.selection.select(spans[0])
    for span in spans[1:]:
        desk.selection.toggle(span)


def choose_radius(desk: Desk, kind: str) -> None:
    box = next(b for b in desk.panel.findChildren(QComboBox) if b.accessibleName() == "Which radius")
    box.setCurrentIndex(box.findData(kind))


def written(desk: Desk) -> list[Span]:
    return [span for run in desk.design.form.runs for span in run.spans]


def assert_one_step(desk: Desk, first: Design, name: str) -> None:
    session, after = desk.session, design_bytes(desk.design)
    assert (session.step_count, session.undo_name) == (1, name)
    session.undo()
    assert desk.design is first
    session.redo()
    assert design_bytes(desk.design) == after


def test_a_value_in_common_is_shown_and_others_are_various(lay: Lay) -> None:
    desk = lay(zigzag(Flare(thickness=0.5)))
    select(desk, 0, 1)
    assert field(desk, "Thinnest").text() == f"{0.645:.2f} mm"
    for label in ("Length, finished", "Turn", "Radius"):
        assert (field(desk, label).text(), field(desk, label).placeholderText()) == ("", "various")
    select(desk, 1)
    assert (field(desk, "Turn").text(), field(desk, "Turn").placeholderText()) == ("−90°", "")


@pytest.mark.parametrize(("text", "mm"), [("3/32 in + 20", 3 / 32 * 25.4 + 20), ("15", 15.0), ("1 in", 25.4)])
def test_a_length_goes_for_all_in_one_step(lay: Lay, text: str, mm: float) -> None:
    desk = lay(zigzag())
    first = desk.design
    select(desk, 0, 4, 2)
    shown = enter(desk, "Length, finished", text)
    assert [span.length_mm for span in written(desk)] == pytest.approx([mm, 22.0, mm, 26.0, mm])
    assert shown.text() == f"{mm:.2f} mm"
    assert desk.selection.spans == (0, 2, 4)
    assert_one_step(desk, first, "Length of 3 spans")


def test_turns_and_skews_go_for_all(lay: Lay) -> None:
    desk = lay(zigzag())
    select(desk, 0, 1, 2)
    enter(desk, "Turn", "1/4 turn")
    enter(desk, "Skew", "-20")
    assert [span.turn_deg for span in written(desk)] == [90.0, 90.0, 90.0, 75.0, -50.0]
    assert [span.skew_deg for span in written(desk)] == [-20.0, -20.0, -20.0, 0.0, 0.0]


def test_repeats_of_one_motif_are_written_once_each_on_its_own_side(lay: Lay) -> None:
    desk = lay(graded_row())
    select(desk, 2, 3, 4, 5)
    first = desk.design
    # The last is the lead. As it lies it turns as the third does, the other way from the second.
    turns = desk.session.evaluation.spans.turn_deg
    assert np.sign(turns[1:6]).tolist() == [-1, 1, -1, 1, -1] or np.sign(turns[1:6]).tolist() == [
        1,
        -1,
        1,
        -1,
        1,
    ]
    lead = float(turns[5])
    assert abs(lead) == pytest.approx(200.0)
    enter(desk, "Turn", f"{np.sign(lead) * 230:g}")
    after = desk.session.evaluation.spans.turn_deg
    assert after[1:6] == pytest.approx(np.sign(turns[1:6]) * 230.0)
    assert after[[0, 6]] == pytest.approx(turns[[0, 6]])
    assert_one_step(desk, first, "Turn of 4 spans")


def test_of_graded_repeats_the_lead_is_as_long_as_typed(lay: Lay) -> None:
    desk = lay(graded_row())
    before = desk.session.evaluation.spans.finished_length_mm
    select(desk, 3, 2, 0, 1)
    enter(desk, "Length, finished", "18")
    after = desk.session.evaluation.spans.finished_length_mm
    # Span 2 is at an end of the row, half as large as its middle.
    assert after[[0, 1]] == pytest.approx([18.0, 18.0])
    assert after[1:6] == pytest.approx(18.0 / before[1] * before[1:6])
    assert after[3] == pytest.approx(36.0)


def test_thickness_and_width_go_for_all_flat_or_on_edge(lay: Lay) -> None:
    desk = lay(zigzag(Flare(thickness=0.7, centre=0.4, hold=0.1)))
    select(desk, 1, 2)
    enter(desk, "Thinnest", "0.645")
    thick = [span.flare.thickness for span in written(desk) if span.flare is not None]
    assert thick == pytest.approx([0.7, 0.5, 0.5, 0.7, 0.7])
    assert {(span.flare.centre, span.flare.hold) for span in written(desk) if span.flare} == {(0.4, 0.1)}
    enter(desk, "Width there", "1.9 mm")
    e, wire = desk.session.evaluation, desk.session.wire
    for span in (1, 2):
        assert e.samples.plan_width_mm[e.own_trace.part == wire.part(span)].max() == pytest.approx(
            1.9, abs=1e-6
        )


@pytest.mark.parametrize(
    ("label", "text", "said"),
    [
        ("Radius", "6 mm", "Span 3 cannot take it, so nothing was changed: a straight span has no radius"),
        ("Length, finished", "0", "0.01"),
        ("Turn", "99999", "7200"),
        ("Thinnest", "1.5", "at most"),
        ("Width there", "40", "cannot be hammered"),
    ],
)
def test_what_one_cannot_take_is_refused_as_a_whole(lay: Lay, label: str, text: str, said: str) -> None:
    desk = lay(zigzag())
    first = desk.design
    select(desk, 0, 2, 4)
    typed = enter(desk, label, text)
    assert said in explained(desk)
    assert explained(desk).count(". ") == 0
    assert typed.text() == text
    assert desk.design is first
    assert desk.session.step_count == 0
    events.key(typed, Key.Key_Escape)
    assert explained(desk) == ""


def test_tab_takes_the_value_and_moves_on(lay: Lay) -> None:
    desk = lay(zigzag())
    desk.activateWindow()
    select(desk, 0, 1)
    length = field(desk, "Length, finished")
    length.setFocus()
    length.selectAll()
    events.keys(length, "30")
    events.key(length, Key.Key_Tab)
    assert [span.length_mm for span in written(desk)[:2]] == [30.0, 30.0]
    assert field(desk, "Turn").hasFocus()
    events.keys(field(desk, "Turn"), "80")
    events.key(field(desk, "Turn"), Key.Key_Tab)
    assert [span.turn_deg for span in written(desk)[:2]] == [80.0, 80.0]
    assert field(desk, "Skew").hasFocus()
    assert desk.session.step_names[1:] == ["Length of 2 spans", "Turn of 2 spans"]


def test_hammering_is_taken_away_and_turned_on_edge_for_all(open_window: Callable[..., Window]) -> None:
    window = open_window(zigzag(Flare(thickness=0.5)))
    session, first = window.session, window.session.design
    window.selection.select(0)
    window.selection.stretch_to(2)
    window.actions_by_name["flare_on_edge"].trigger()
    flares = [span.flare for span in session.design.form.runs[0].spans]
    assert [flare.face for flare in flares if flare] == ["edge", "edge", "edge", "flat", "flat"]
    assert session.undo_name == "Hammer 3 spans on edge"
    window.actions_by_name["remove_flare"].trigger()
    assert [span.flare is None for span in session.design.form.runs[0].spans] == [True] * 3 + [False] * 2
    assert (session.step_count, session.undo_name) == (2, "Leave 3 spans unhammered")
    session.undo()
    session.undo()
    assert session.design is first


# ---- the radius ----------------------------------------------------------------------------------------


def curved(flare: Flare | None = None, skew_deg: float = 0.0) -> Design:
    spans = (
        Span(length_mm=20.0, turn_deg=-200.0, skew_deg=skew_deg, flare=flare),
        Span(length_mm=9.0, turn_deg=30.0),
    )
    return Design(title="Curved", wire=BRASS, form=Form(runs=(Run(spans=spans),)))


def arc_radii_mm(desk: Desk, span: int) -> np.ndarray:
    """Distances of the samples of an arc of a circle from its centre: that of three of its places."""
    line = desk.line_mm(span)
    a, b, c = line[0], line[len(line) // 2], line[-1]
    # The circumcentre, by the determinant formula of the triangle.
    z = np.array([[b.real - a.real, b.imag - a.imag], [c.real - a.real, c.imag - a.imag]])
    centre = np.linalg.solve(z, np.array([abs(b) ** 2 - abs(a) ** 2, abs(c) ** 2 - abs(a) ** 2]) / 2)
    return np.asarray(np.abs(line - complex(*centre)))


FLARES = [None, Flare(thickness=0.5, hold=0.2), Flare(thickness=0.6, face="edge")]


@pytest.mark.parametrize("flare", FLARES)
@pytest.mark.parametrize("kind", ["bent", "finished", "inside", "outside"])
def test_a_radius_is_typed_and_the_turn_stays(lay: Lay, kind: str, flare: Flare | None) -> None:
    desk = lay(curved(flare), 0)
    first = desk.design
    choose_radius(desk, kind)
    shown = enter(desk, "Radius", "5.5 mm")
    assert shown.text() == "5.50 mm"
    assert written(desk)[0].turn_deg == -200.0
    assert written(desk)[1] == first.form.runs[0].spans[1]
    e = desk.session.evaluation
    radii = arc_radii_mm(desk, 0)
    assert np.ptp(radii) < 1e-6
    plan = e.samples.plan_width_mm[e.own_trace.part == desk.session.wire.part(0)]
    bent = radii[0] * float(e.spans.stock_length_mm[0] / e.spans.finished_length_mm[0])
    measured = {
        "bent": bent,
        "finished": radii[0],
        "inside": radii[0] - plan.max() / 2,
        "outside": radii[0] + plan.max() / 2,
    }[kind]
    assert measured == pytest.approx(5.5, abs=1e-5)
    assert_one_step(desk, first, "Radius of span 1")


def test_where_curvature_varies_it_is_that_of_the_tightest_place(lay: Lay) -> None:
    desk = lay(curved(skew_deg=-60.0), 0)
    choose_radius(desk, "finished")
    # Curvature x length is turn + skew at the end: 260 degrees.
    assert field(desk, "Radius").text() == f"{20.0 / np.deg2rad(260.0):.2f} mm"
    enter(desk, "Radius", "1/4 in")
    assert written(desk)[0].length_mm == pytest.approx(6.35 * np.deg2rad(260.0))
    assert (written(desk)[0].turn_deg, written(desk)[0].skew_deg) == (-200.0, -60.0)


def test_several_radii_in_one_step(lay: Lay) -> None:
    desk = lay(zigzag())
    first = desk.design
    select(desk, 0, 1)
    choose_radius(desk, "inside")
    assert field(desk, "Radius").placeholderText() == "various"
    enter(desk, "Radius", "10")
    lengths = [(10 + 1.29 / 2) * np.deg2rad(turn) for turn in (60.0, 90.0)]
    assert [span.length_mm for span in written(desk)[:2]] == pytest.approx(lengths)
    assert field(desk, "Radius").text() == "10.00 mm"
    assert_one_step(desk, first, "Radius of 2 spans")


@pytest.mark.parametrize(
    ("span", "kind", "text", "said"),
    [
        (2, "finished", "6", "A straight span has no radius"),
        (0, "outside", "0.5", "more than 0.65 mm"),
        (0, "bent", "0", "more than 0"),
        (0, "finished", "60 deg", "not a unit"),
    ],
)
def test_a_radius_that_cannot_be_is_explained(lay: Lay, span: int, kind: str, text: str, said: str) -> None:
    desk = lay(zigzag(), span)
    first = desk.design
    choose_radius(desk, kind)
    enter(desk, "Radius", text)
    assert said in explained(desk)
    assert desk.design is first


def test_a_straight_span_has_no_radius_to_show(lay: Lay) -> None:
    desk = lay(zigzag(), 2)
    assert field(desk, "Radius").text() == "straight"
