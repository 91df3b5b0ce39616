"""Pulls by the keyboard, what a screen reader is told, and that Tab goes on: with real keys on the canvas."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleEvent
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import SpanAddress, change_span, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import evaluate
from formsketch.forging.spread import least_thickness_ratio
from formsketch.ui import spoken
from formsketch.ui.key_pulls import KEYS, KeyPulls
from formsketch.ui.spoken import HOW, NAME, span_in_words
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, said, trigger
from tests.support.desk import Desk, assert_back, assert_one_step, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key, Held = Qt.Key, Qt.KeyboardModifier
ALT, SHIFT, CONTROL, PLAIN = Held.AltModifier, Held.ShiftModifier, Held.ControlModifier, Held.NoModifier
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
Lay = Callable[..., Desk]


def mixed() -> Design:
    """Straight, a left loop hammered, a right loop turned over into a left one, repeated at two sizes."""
    spans = (
        Span(length_mm=10.0),
        Span(length_mm=20.0, turn_deg=200.0, flare=Flare(thickness=0.5, centre=0.4)),
        Span(length_mm=18.0, turn_deg=150.0, turned_over=True),
    )
    runs = (Run(spans=spans), Run(spans=(Span(length_mm=12.0, turn_deg=90.0),), times=3, ends_scale=0.5))
    return Design(title="mixed", wire=BRASS, form=Form(runs=runs))


class Clock:
    """Seconds as a test wants them."""

    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


class Hands:
    """A desk with a span selected, its canvas in focus and time stood still."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.canvas, self.clock = desk, desk.canvas, Clock()
        self.canvas.mouse.key_pulls = KeyPulls(desk.session, self.clock)
        self.canvas.setFocus()

    def press(self, key: Key, held: Held = PLAIN, after_s: float = 0.1) -> None:
        self.clock.now_s += after_s
        events.key(self.canvas, key, held)

    def span(self, number: int) -> Span:
        return span_at(self.desk.design, self.desk.session.wire.address(number))


# ---- one press, one step -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("span", "key", "held", "name", "field", "by"),
    [
        (1, Key.Key_Up, ALT, "Open or close span 2", "turn_deg", -1.0),
        (1, Key.Key_Down, ALT, "Open or close span 2", "turn_deg", 1.0),
        (1, Key.Key_Up, ALT | SHIFT, "Open or close span 2", "turn_deg", -10.0),
        (2, Key.Key_Down, ALT | SHIFT, "Open or close span 3", "turn_deg", 10.0),
        (1, Key.Key_Right, ALT, "Lengthen or shorten span 2", "length_mm", 0.1),
        (0, Key.Key_Left, ALT, "Lengthen or shorten span 1", "length_mm", -0.1),
        (0, Key.Key_Right, ALT | SHIFT, "Lengthen or shorten span 1", "length_mm", 1.0),
        (1, Key.Key_Left, ALT | SHIFT, "Lengthen or shorten span 2", "length_mm", -1.0),
    ],
)
def test_a_press_is_one_step_named_as_the_pull(
    lay: Lay, span: int, key: Key, held: Held, name: str, field: str, by: float
) -> None:
    hands = Hands(lay(mixed(), span))
    before, old = state_of(hands.desk), hands.span(span)
    hands.press(key, held)
    assert getattr(hands.span(span), field) == pytest.approx(getattr(old, field) + by, abs=1e-12)
    for other in ("length_mm", "turn_deg", "skew_deg", "flare"):
        assert other == field or getattr(hands.span(span), other) == getattr(old, other)
    assert hands.desk.selection.span == span
    assert hands.desk.told[-1].startswith(f"Span {span + 1} ")
    assert_one_step(hands.desk, before, name)


@pytest.mark.parametrize(("key", "by"), [(Key.Key_BracketLeft, -0.01), (Key.Key_BracketRight, 0.01)])
def test_brackets_hammer_thinner_and_thicker(lay: Lay, key: Key, by: float) -> None:
    hands = Hands(lay(mixed(), 1))
    before = state_of(hands.desk)
    hands.press(key)
    # By a hundredth of the wire, where it was hammered before.
    assert hands.span(1).flare == Flare(thickness=0.5 + by, centre=0.4)
    thin_mm = float(hands.desk.session.evaluation.spans.thinnest_mm[1])
    assert thin_mm == pytest.approx((0.5 + by) * 1.29, abs=1e-9)
    assert_one_step(hands.desk, before, "Hammer span 2")


def test_hammering_begins_and_ends_with_the_round_wire(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 0))
    hands.press(Key.Key_BracketLeft)
    assert hands.span(0).flare == Flare(thickness=0.99)
    hands.press(Key.Key_BracketRight)
    assert hands.span(0).flare is None
    before = state_of(hands.desk)
    hands.press(Key.Key_BracketRight)
    assert hands.desk.told[-1] == "Span 1 is not hammered; it cannot be thicker than the wire."
    assert_back(hands.desk, before)


def test_hammering_stops_where_no_hammer_reaches(lay: Lay) -> None:
    least = max(0.1, float(least_thickness_ratio(Hammer().spread)))
    spans = (Span(length_mm=20.0, turn_deg=60.0, flare=Flare(thickness=round(least + 0.005, 4))),)
    hands = Hands(lay(Design(title="thin", wire=BRASS, form=Form(runs=(Run(spans=spans),))), 0))
    before = state_of(hands.desk)
    hands.press(Key.Key_BracketLeft)
    assert hands.desk.told[-1].startswith("Below ")
    assert_back(hands.desk, before)


def test_opening_goes_down_to_straight_and_no_further(lay: Lay) -> None:
    spans = (Span(length_mm=20.0, turn_deg=-1.5),)
    hands = Hands(lay(Design(title="bow", wire=BRASS, form=Form(runs=(Run(spans=spans),))), 0))
    for turn in (-0.5, 0.0):
        hands.press(Key.Key_Up, ALT)
        assert hands.span(0).turn_deg == pytest.approx(turn, abs=1e-12)
    assert "-0" not in design_bytes(hands.desk.design).decode()
    before = state_of(hands.desk)
    hands.press(Key.Key_Up, ALT)
    assert hands.desk.told[-1] == "Span 1 is straight; it cannot be opened further."
    assert_back(hands.desk, before)
    # From straight it closes to the left.
    hands.press(Key.Key_Down, ALT)
    assert hands.span(0).turn_deg == 1.0


def test_a_straight_span_of_turned_over_wire_closes_to_the_left_too(lay: Lay) -> None:
    spans = (Span(length_mm=20.0, turn_deg=90.0), Span(length_mm=20.0, turned_over=True))
    hands = Hands(lay(Design(title="bow", wire=BRASS, form=Form(runs=(Run(spans=spans),))), 1))
    hands.press(Key.Key_Down, ALT)
    assert float(hands.desk.session.evaluation.spans.turn_deg[1]) == pytest.approx(1.0)


def test_a_span_cannot_be_shortened_away(lay: Lay) -> None:
    spans = (Span(length_mm=0.5), Span(length_mm=20.0))
    hands = Hands(lay(Design(title="short", wire=BRASS, form=Form(runs=(Run(spans=spans),))), 0))
    before = state_of(hands.desk)
    hands.press(Key.Key_Left, ALT | SHIFT)
    assert hands.desk.told[-1] == "Span 1 cannot be shortened further."
    assert_back(hands.desk, before)


def test_a_repeat_is_lengthened_by_as_much_as_is_seen(lay: Lay) -> None:
    # The first of three repeats is half as large as the middle one: 0.1 mm of it is 0.2 mm of the motif.
    hands = Hands(lay(mixed(), 3))
    lengths = hands.desk.session.evaluation.spans.finished_length_mm[3:].tolist()
    assert lengths == pytest.approx([6.0, 12.0, 6.0])
    hands.press(Key.Key_Right, ALT)
    assert hands.desk.session.evaluation.spans.finished_length_mm[3:].tolist() == pytest.approx(
        [6.1, 12.2, 6.1]
    )


def test_the_rest_of_the_piece_swings_as_it_does_in_pliers(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    marks = hands.desk.marks_mm()
    hands.press(Key.Key_Down, ALT | SHIFT)
    after = hands.desk.marks_mm()
    assert abs(after[:2] - marks[:2]).max() < 1e-9
    assert abs(after[2:] - marks[2:]).min() > 0.1


def test_without_a_span_nothing_is_pulled(lay: Lay) -> None:
    hands = Hands(lay(mixed()))
    before = state_of(hands.desk)
    for key, held in ((Key.Key_Up, ALT), (Key.Key_Left, ALT | SHIFT), (Key.Key_BracketLeft, PLAIN)):
        hands.press(key, held)
        assert hands.desk.told[-1].startswith("Select a span first")
        assert hands.desk.selection.span is None
    assert_back(hands.desk, before)


def test_other_keys_are_left_alone(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    before = state_of(hands.desk)
    for key, held in ((Key.Key_Up, PLAIN), (Key.Key_Up, ALT | CONTROL), (Key.Key_BracketLeft, CONTROL)):
        hands.press(key, held)
    assert_back(hands.desk, before)
    hands.press(Key.Key_Right)
    assert hands.desk.selection.span == 2


def test_keys_wait_while_the_mouse_pulls(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    start = hands.desk.px(hands.desk.middle_mm(1))
    events.pull(hands.canvas, start, start * 1.02)
    pulled = hands.desk.design
    hands.press(Key.Key_Down, ALT)
    assert hands.desk.design is pulled
    events.key(hands.canvas, Key.Key_Escape)


# ---- presses in a row ----------------------------------------------------------------------------------


def test_presses_in_a_row_are_one_step(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    before = state_of(hands.desk)
    for _ in range(7):
        hands.press(Key.Key_Down, ALT, after_s=0.9)
    assert hands.span(1).turn_deg == pytest.approx(207.0, abs=1e-12)
    assert_one_step(hands.desk, before, "Open or close span 2")


@pytest.mark.parametrize("between", ["time", "key", "span", "step", "undo and redo elsewhere"])
def test_what_comes_between_makes_another_step(lay: Lay, between: str) -> None:
    hands = Hands(lay(mixed(), 1))
    session = hands.desk.session
    hands.press(Key.Key_Down, ALT)
    assert session.step_count == 1
    if between == "time":
        hands.press(Key.Key_Down, ALT, after_s=1.1)
    elif between == "key":
        hands.press(Key.Key_Down, ALT | SHIFT)
    elif between == "span":
        hands.desk.selection.select(2)
        hands.press(Key.Key_Down, ALT)
    elif between == "step":
        session.change("Other", mixed())
        hands.press(Key.Key_Down, ALT)
    else:
        session.undo()
        hands.press(Key.Key_Up, ALT)
        session.undo()
        session.redo()
        hands.press(Key.Key_Down, ALT)
        assert hands.span(1).turn_deg == pytest.approx(200.0)
    assert session.step_count == (3 if between == "step" else 2)
    names = session.step_names[1:]
    assert names[0] == "Open or close span 2"


def test_after_undo_a_press_begins_anew(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    session, first = hands.desk.session, hands.desk.design
    hands.press(Key.Key_Down, ALT)
    session.undo()
    hands.press(Key.Key_Down, ALT)
    assert session.step_count == 1
    session.undo()
    assert session.design is first


def test_a_pull_of_the_same_name_that_is_not_a_press_stays_its_own_step(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    session = hands.desk.session
    hands.press(Key.Key_Down, ALT)
    session.undo()
    by_hand = change_span(mixed(), SpanAddress(0, 1), turn_deg=230.0)
    session.change("Open or close span 2", by_hand, 1)
    hands.press(Key.Key_Down, ALT)
    assert session.step_count == 2
    session.undo()
    assert session.design == by_hand


def test_many_presses_leave_round_numbers(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    for _ in range(20):
        hands.press(Key.Key_BracketLeft)
        hands.press(Key.Key_Right, ALT)
    assert hands.span(1).flare == Flare(thickness=0.3, centre=0.4)
    assert hands.span(1).length_mm == 22.0


# ---- what is read aloud --------------------------------------------------------------------------------


def name_read(desk: Desk) -> str:
    """The canvas's name as assistive programs ask for it."""
    found = QAccessible.queryAccessibleInterface(desk.canvas)
    assert found is not None
    return found.text(QAccessible.Text.Name)


def test_a_span_in_words() -> None:
    e = evaluate(mixed())
    # A left loop of 200 degrees on 20 mm, hammered to half of 1.29 mm: 0.645 mm.
    tube = float(e.spans.tube_diameter_mm[1])
    words = span_in_words(e, 1)
    assert words.startswith("Span 2 of 6, turn 200 degrees left, tube ")
    number = words.split("tube ")[1].split(" mm")[0]
    assert float(number) == pytest.approx(tube, abs=0.005)
    assert words.endswith((" mm, thinnest 0.65 mm", " mm, thinnest 0.64 mm"))
    assert span_in_words(e, 0) == "Span 1 of 6, straight, not hammered"
    # Turned over, it turns to the right as it lies.
    assert span_in_words(e, 2).startswith("Span 3 of 6, turn 150 degrees right, tube ")


def test_a_bend_no_tube_gives_is_said() -> None:
    tight = Design(
        title="tight", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=2.0, turn_deg=200.0),)),))
    )
    assert "no tube so tight" in span_in_words(evaluate(tight), 0)


def test_the_selected_span_is_named_and_followed(lay: Lay) -> None:
    hands = Hands(lay(mixed()))
    assert name_read(hands.desk) == NAME
    assert hands.canvas.accessibleDescription() == HOW
    events.key(hands.canvas, Key.Key_Right)
    assert name_read(hands.desk) == f"{NAME}: Span 1 of 6, straight, not hammered"
    events.key(hands.canvas, Key.Key_Right)
    assert "Span 2 of 6, turn 200 degrees left" in name_read(hands.desk)
    hands.press(Key.Key_Down, ALT)
    assert "Span 2 of 6, turn 201 degrees left" in name_read(hands.desk)
    hands.desk.session.undo()
    assert "turn 200 degrees left" in name_read(hands.desk)
    events.key(hands.canvas, Key.Key_Escape)
    assert name_read(hands.desk) == NAME


def test_changes_are_told_once_and_only_when_they_are_some(lay: Lay, monkeypatch: pytest.MonkeyPatch) -> None:
    hands = Hands(lay(mixed()))
    told: list[tuple[QAccessible.Event, object]] = []

    class Heard:
        """Stands where the assistive programs listen."""

        @staticmethod
        def updateAccessibility(event: QAccessibleEvent) -> None:
            told.append((event.type(), event.value()))  # type: ignore[attr-defined]

    monkeypatch.setattr(spoken, "QAccessible", Heard)
    hands.desk.selection.select(1)
    hands.press(Key.Key_BracketLeft)
    hands.desk.canvas.update()
    hands.desk.session.lay_level()  # nothing of the span changes
    hands.desk.selection.select(None)
    assert {kind for kind, _ in told} == {QAccessible.Event.ValueChanged}
    values = [str(value) for _, value in told]
    assert len(values) == 3
    assert values[0].startswith("Span 2 of 6") and values[1] != values[0] and values[2] == ""


def test_a_pull_is_read_when_it_ends(lay: Lay) -> None:
    hands = Hands(lay(mixed(), 1))
    before = name_read(hands.desk)
    start = hands.desk.px(hands.desk.middle_mm(1))
    events.pull(hands.canvas, start, start * 1.03)
    assert name_read(hands.desk) == before
    events.release(hands.canvas, start * 1.03)
    assert name_read(hands.desk) != before


def test_tab_goes_on_and_comes_back(open_window: Callable[..., Window]) -> None:
    window = open_window(make_starter("row-of-s-forms", BRASS))
    window.canvas.setFocus()
    window.selection.select(3)
    events.key(window.canvas, Key.Key_Tab)
    onward = QApplication.focusWidget()
    assert onward is not None and onward is not window.canvas
    events.key(onward, Key.Key_Backtab, SHIFT)
    assert QApplication.focusWidget() is window.canvas
    events.key(window.canvas, Key.Key_Backtab, SHIFT)
    assert QApplication.focusWidget() is not window.canvas
    assert window.selection.span == 3


# ---- in the window -------------------------------------------------------------------------------------


def test_keys_pull_in_the_window(open_window: Callable[..., Window]) -> None:
    window = open_window(mixed())
    window.canvas.setFocus()
    window.selection.select(1)
    events.key(window.canvas, Key.Key_Up, ALT | SHIFT)
    assert span_at(window.session.design, SpanAddress(0, 1)).turn_deg == 190.0
    assert window.session.undo_name == "Open or close span 2"
    assert "Span 2 turns 190°" in said(window)
    trigger(window, "undo")
    assert window.session.design == mixed()


def test_the_list_of_keys_names_them(open_window: Callable[..., Window], asked: Asked) -> None:
    trigger(open_window(), "show_keys")
    ((_, html),) = asked.pages
    for text, keys, hint in KEYS:
        assert text in html and keys in html and hint in html
    assert "Double click" in html
