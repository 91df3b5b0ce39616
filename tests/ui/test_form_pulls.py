"""Pulls with keys held, tubes to snap to, and the handles of scrolls, directions and held flares.

Where a pull should end comes from closed forms of the arc (chord 2R sin(turn/2), middle at the half of it)
and from quadrature of the span's direction by scipy; what must stay is compared with how it lay.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from scipy.integrate import quad

from formsketch.bench.metals import load_metals
from formsketch.bench.tubes import Tube, load_tubes
from formsketch.design.edits import SpanAddress, loosened, span_at
from formsketch.design.mark_edits import insert_mark
from formsketch.design.model import Design, Flare, Form, HookEnd, OwnMetal, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import evaluate
from formsketch.fitting.snapping import snapped, tube_turns
from formsketch.units import angle_text, length_text
from tests.support import events
from tests.support.desk import (
    Desk,
    assert_back,
    assert_numbers_follow,
    assert_one_step,
    away_px,
    state_of,
)

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Keys = Qt.KeyboardModifier
NONE, SHIFT, CONTROL, ALT = Keys.NoModifier, Keys.ShiftModifier, Keys.ControlModifier, Keys.AltModifier
LEFT = Qt.MouseButton.LeftButton
PLACE_MM = 1e-9
Lay = Callable[..., Desk]

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
FLARE = Flare(thickness=0.6, centre=0.45, hold=0.2)


def free() -> Design:
    """Free spans of every kind: scroll, hammered arc, one bent sharply, one turned over."""
    spans = (
        Span(length_mm=22.0, turn_deg=-40.0, skew_deg=30.0),
        Span(length_mm=30.0, turn_deg=110.0, flare=FLARE),
        Span(length_mm=24.0, turn_deg=60.0, corner_deg=35.0),
        Span(length_mm=26.0, turn_deg=75.0, turned_over=True),
        Span(length_mm=20.0, turn_deg=50.0),
    )
    return Design(title="Free", wire=BRASS, form=Form(runs=(Run(spans=spans),)))


def row(turn_deg: float = 236.0) -> Design:
    """Nine loops of one written span, each turned over, graded, between half loops."""
    return make_starter("row-of-s-forms", BRASS, numbers={"turn_deg": turn_deg})


def directions(desk: Desk) -> list[complex]:
    """The direction on the table in which the wire leaves each mark, and that in which it ends."""
    wire, pose = desk.session.wire, desk.session.pose
    headings = [wire.heading_from_rad(span) for span in range(wire.span_count)]
    headings.append(wire.heading_to_rad(wire.span_count - 1))
    return [complex(np.exp(1j * (pose.angle_rad + heading))) for heading in headings]


def reaches(desk: Desk, mark: int) -> complex:
    """The direction on the table in which the wire reaches a mark."""
    wire = desk.session.wire
    return complex(np.exp(1j * (desk.session.pose.angle_rad + wire.heading_to_rad(mark - 1))))


def mark_mm(desk: Desk, mark: int) -> complex:
    return desk.session.pose.to_table(desk.session.wire.mark_mm(mark))


def marks_mm(desk: Desk) -> list[complex]:
    return [mark_mm(desk, mark) for mark in range(desk.session.wire.span_count + 1)]


def place_in(span: Span, u: float, turn_deg: float, skew_deg: float) -> complex:
    """Place of a span at the fraction u, leaving 0 along +x: direction turn u + skew (u^2 - u) integrated."""
    turn, skew = np.radians(turn_deg), np.radians(skew_deg)

    def angle(v: float) -> float:
        return float(turn * v + skew * (v * v - v))

    x = quad(lambda v: np.cos(angle(v)), 0, u, epsabs=1e-13, epsrel=1e-12)[0]
    y = quad(lambda v: np.sin(angle(v)), 0, u, epsabs=1e-13, epsrel=1e-12)[0]
    return span.length_mm * complex(x, y)


def look_near(desk: Desk, place_mm: complex, px_per_mm: float) -> None:
    """See a place in the middle of the canvas, this large."""
    desk.canvas.zoom(px_per_mm / desk.canvas.view.px_per_mm)
    middle = QPointF(desk.canvas.rect().center())
    desk.canvas.show_view(desk.canvas.view.moved(middle - desk.px(place_mm)))


def assert_back_and_forth(desk: Desk, act: Callable[[], QPointF], name: str) -> None:
    """A pull held on: the numbers follow it, Esc restores all; made again and let go, it is one step."""
    before = state_of(desk)
    end = act()
    assert desk.canvas.is_pulling
    assert desk.session.step_count == before.step_count
    assert desk.design is not before.design
    assert_numbers_follow(desk)
    events.key(desk.canvas, Qt.Key.Key_Escape)
    assert_back(desk, before)
    assert_numbers_follow(desk)
    events.release(desk.canvas, end)
    assert_back(desk, before)
    end = act()
    shown = desk.design
    events.release(desk.canvas, end)
    assert desk.design is shown
    assert_one_step(desk, before, name)


# ---- a mark led along the wire or square to it ---------------------------------------------------------


@dataclass(frozen=True)
class LedMark:
    """A mark to lead, and the marks that stay."""

    make: Callable[[], Design]
    mark: int
    stay: tuple[int, ...]


LED = {
    "between two spans": LedMark(free, 1, (0, 2, 3, 4, 5)),
    "at a sharp bend": LedMark(free, 2, (0, 1, 3, 4, 5)),
    "turned over": LedMark(free, 3, (0, 1, 2, 4, 5)),
    "start of a scroll": LedMark(free, 0, (1, 2, 3, 4, 5)),
    "finish of an arc": LedMark(free, 5, (0, 1, 2, 3, 4)),
    "between repeats": LedMark(row, 4, (3,)),
}


@pytest.mark.parametrize("way", ["along", "square"])
@pytest.mark.parametrize("case", LED.values(), ids=LED.keys())
def test_a_mark_is_led_along_the_wire_or_square_to_it(lay: Lay, case: LedMark, way: str) -> None:
    desk = lay(case.make(), max(0, case.mark - 1))
    before, grabbed = state_of(desk), mark_mm(desk, case.mark)
    leaves = directions(desk)[case.mark]
    if 0 < case.mark < len(before.marks_mm) - 1:
        # Halfway between the two directions of a sharp bend.
        leaves += reaches(desk, case.mark)
    line = leaves / abs(leaves) * (1 if way == "along" else 1j)
    # The pointer wanders off the line, at times further than it goes on along it.
    ways = [line * along + 1j * line * off for along, off in ((4, 1), (7, 5), (10, -6), (16, 9), (22, 11))]

    def act() -> QPointF:
        events.move(desk.canvas, desk.px(grabbed))
        events.press(desk.canvas, desk.px(grabbed))
        for by in ways:
            at = desk.px(grabbed) + QPointF(by.real, -by.imag)
            events.move(desk.canvas, at, LEFT, SHIFT)
            on_line = (mark_mm(desk, case.mark) - grabbed) * line.conjugate()
            assert on_line.imag == pytest.approx(0, abs=PLACE_MM)
            expected = (by * line.conjugate()).real / desk.canvas.view.px_per_mm
            assert on_line.real == pytest.approx(expected, abs=1e-6)
        assert "Shift" not in desk.told[-1]
        return at

    assert_back_and_forth(desk, act, f"Move mark {case.mark + 1}")
    for mark in case.stay:
        assert abs(marks_mm(desk)[mark] - before.marks_mm[mark]) < PLACE_MM, mark


def test_shift_leads_from_where_the_mark_was_grabbed_whenever_it_is_pressed(lay: Lay) -> None:
    desk = lay(free())
    grabbed = mark_mm(desk, 1)
    line = directions(desk)[1]

    def moved(to: complex, keys: Keys) -> complex:
        by = to * line
        events.move(desk.canvas, desk.px(grabbed) + QPointF(by.real, -by.imag), LEFT, keys)
        return (mark_mm(desk, 1) - grabbed) * line.conjugate() * desk.canvas.view.px_per_mm

    events.press(desk.canvas, desk.px(grabbed))
    assert moved(20 + 9j, NONE) == pytest.approx(20 + 9j, abs=1e-6)
    assert desk.told[-1].count("Shift") == 1  # says what Shift would do
    assert moved(21 + 9j, SHIFT) == pytest.approx(21, abs=1e-6)
    assert moved(8 + 19j, SHIFT) == pytest.approx(19j, abs=1e-6)
    assert moved(-12 + 11j, SHIFT) == pytest.approx(-12, abs=1e-6)
    assert moved(-12 + 11j, NONE) == pytest.approx(-12 + 11j, abs=1e-6)
    events.key(desk.canvas, Qt.Key.Key_Escape)
    events.release(desk.canvas, desk.px(grabbed))


# ---- a belly between its marks -------------------------------------------------------------------------


def belly_by(desk: Desk, span: int, out_px: float, keys: Keys, steps: int = 8) -> QPointF:
    """Pull a span's belly square to its chord, left of the wire's way positive; the button stays down."""
    middle = desk.middle_mm(span)
    chord = mark_mm(desk, span + 1) - mark_mm(desk, span)
    out = 1j * chord / abs(chord) * out_px
    start = desk.px(middle)
    end = start + QPointF(out.real, -out.imag)
    events.pull(desk.canvas, start, end, steps, modifiers=keys)
    return end


def out_mm(desk: Desk, span: int) -> float:
    """How far left of its chord a span's middle stands."""
    begin, end = mark_mm(desk, span), mark_mm(desk, span + 1)
    return float(((desk.middle_mm(span) - begin) * (end - begin).conjugate()).imag / abs(end - begin))


@pytest.mark.parametrize("span", range(5))
@pytest.mark.parametrize("out_px", [-14.0, 11.0])
def test_a_belly_with_shift_keeps_both_marks_and_changes_the_length(
    lay: Lay, span: int, out_px: float
) -> None:
    desk = lay(free(), span)
    before, stood = state_of(desk), out_mm(desk, span)
    lengths = desk.session.evaluation.spans.finished_length_mm
    name = f"Open or close span {span + 1} between its marks"
    assert_back_and_forth(desk, lambda: belly_by(desk, span, out_px, SHIFT), name)
    # Every other span is free, and is solved anew between the same marks.
    assert marks_mm(desk) == pytest.approx(before.marks_mm, abs=PLACE_MM)
    stands = out_mm(desk, span)
    assert stands == pytest.approx(stood + out_px / desk.canvas.view.px_per_mm, abs=1e-6)
    now_mm = desk.session.evaluation.spans.finished_length_mm
    assert (now_mm[span] > lengths[span]) == (abs(stands) > abs(stood))
    change = length_text(now_mm[span] - lengths[span], signed=True)
    assert any(f"marks kept, wire {length_text(now_mm[span])} ({change})" in said for said in desk.told)


def test_an_arc_between_its_marks_stays_an_arc(lay: Lay) -> None:
    desk = lay(free(), 1)
    chord = abs(mark_mm(desk, 2) - mark_mm(desk, 1))
    events.release(desk.canvas, belly_by(desk, 1, -17.0, SHIFT))
    arc = span_at(desk.design, SpanAddress(0, 1))
    turn = np.radians(arc.turn_deg)
    assert arc.skew_deg == pytest.approx(0, abs=1e-6)
    assert arc.length_mm == pytest.approx(turn / 2 * chord / np.sin(turn / 2), rel=1e-9)
    assert abs(out_mm(desk, 1)) == pytest.approx(chord / 2 * np.tan(turn / 4), rel=1e-9)


def test_shift_in_a_row_changes_every_repeat_alike_and_keeps_the_row_straight(lay: Lay) -> None:
    desk = lay(row(), 5)
    before = np.array(marks_mm(desk))
    lengths = desk.session.evaluation.spans.finished_length_mm
    turns = desk.session.evaluation.spans.turn_deg
    events.release(desk.canvas, belly_by(desk, 5, 9.0, SHIFT))
    after = np.array(marks_mm(desk))
    grown = desk.session.evaluation.spans.finished_length_mm / lengths
    assert grown[1:10] == pytest.approx(np.full(9, grown[1]), rel=1e-9)
    assert abs(grown[1] - 1) > 0.01
    assert np.abs(desk.session.evaluation.spans.turn_deg - turns)[1:10].min() > 1
    assert after == pytest.approx(before, abs=PLACE_MM)


# ---- a whole row ---------------------------------------------------------------------------------------


def middle_moves(desk: Desk, span: int, turn_deg: float) -> complex:
    """How far on the table the middle of an arc of constant length goes when it turns so far, as written.

    Closed form: the middle of an arc of length L that leaves 0 along +x is at L (exp(i turn/2) - 1) / i turn.
    """
    wire = desk.session.wire
    part = wire.part(span)
    side = float(wire.chain.side[part])

    def middle(deg: float) -> complex:
        turn = side * np.radians(deg)
        return complex(wire.chain.length_mm[part] * (np.exp(0.5j * turn) - 1) / (1j * turn))

    written = span_at(desk.design, wire.address(span)).turn_deg
    return (middle(turn_deg) - middle(written)) * desk.way(span)


ROWS = {
    "nearly closed repeats": (lambda: row(300.0), 5),
    "nearly closed repeats, turned over": (lambda: row(300.0), 6),
    "free loops": (lambda: loosened(row(300.0), 1), 4),
    "closed the other way": (lambda: row(110.0), 4),
}


@pytest.mark.parametrize(("make", "span"), ROWS.values(), ids=ROWS.keys())
def test_control_opens_the_whole_row_in_one_drag(lay: Lay, make: Callable[[], Design], span: int) -> None:
    desk = lay(make(), span)
    before = desk.design
    written = span_at(before, desk.session.wire.address(span))
    wanted = 130.0 if abs(written.turn_deg) > 200 else 270.0
    grabbed = desk.handle("belly").at_mm
    by = middle_moves(desk, span, np.copysign(wanted, written.turn_deg))

    def act() -> QPointF:
        end = desk.px(grabbed + by)
        events.pull(desk.canvas, desk.px(grabbed), end, 12, modifiers=CONTROL)
        assert desk.told[-1].startswith(f"The row: span {span + 1} turns")
        assert away_px(desk, desk.middle_mm(span), end) < 0.1
        return end

    assert_back_and_forth(desk, act, "Open or close the row")
    changed = 0
    for run, was in zip(desk.design.form.runs, before.form.runs, strict=True):
        for now, old in zip(run.spans, was.spans, strict=True):
            if abs(old.turn_deg) == abs(written.turn_deg):
                assert now.turn_deg == pytest.approx(np.copysign(wanted, old.turn_deg), abs=1e-3)
                assert replace(now, turn_deg=old.turn_deg) == old
                changed += run.times
            else:
                assert now == old
    assert changed == 9
    # Every like span the same turn, to the last digit.
    turns = np.abs(desk.session.evaluation.spans.turn_deg[1:10])
    assert np.ptp(turns) < 1e-12


def test_control_may_be_pressed_and_let_go_during_the_pull(lay: Lay) -> None:
    desk = lay(loosened(row(), 1), 4)
    grabbed = desk.handle("belly").at_mm
    by = middle_moves(desk, 4, 190.0)
    start, end = desk.px(grabbed), desk.px(grabbed + by)

    def turns() -> list[float]:
        return [round(abs(span.turn_deg), 2) for span in desk.design.form.runs[1].spans]

    events.pull(desk.canvas, start, start + (end - start) * 0.6)
    assert turns().count(236.0) == 8
    events.move(desk.canvas, end, LEFT, CONTROL)
    assert turns() == [190.0] * 9
    events.move(desk.canvas, end, LEFT)
    assert turns() == [236.0] * 3 + [190.0] + [236.0] * 5
    assert desk.told[-1].startswith("Span 5 turns")
    # And Shift: the length of the span as it was grabbed is what is changed.
    events.move(desk.canvas, end, LEFT, SHIFT)
    length = desk.session.evaluation.spans.finished_length_mm[4]
    events.move(desk.canvas, end, LEFT)
    assert turns() == [236.0] * 3 + [190.0] + [236.0] * 5
    assert abs(length / desk.session.evaluation.spans.finished_length_mm[4] - 1) > 0.01
    events.release(desk.canvas, end)
    assert desk.session.undo_name == "Open or close span 5"
    desk.session.undo()
    assert desk.design == loosened(row(), 1)


def test_a_row_does_not_take_up_spans_whose_turn_it_comes_by(lay: Lay) -> None:
    loop, tube = Span(length_mm=30.0, turn_deg=285.0), Tube(12.0, "12 mm")
    # Pulled over the tube on which the row turns exactly as the others do, and on.
    on_tube = tube_turn_deg(loop, BRASS, tube)
    assert 200 < on_tube < 280
    other = replace(loop, turn_deg=on_tube)
    spans = (loop, other, replace(loop, turned_over=True), other)
    desk = lay(Design(title="Two kinds", wire=BRASS, form=Form(runs=(Run(spans=spans),))), 0, (tube,))
    grabbed, start = desk.handle("belly").at_mm, desk.px(desk.handle("belly").at_mm)
    first, then = middle_moves(desk, 0, on_tube), middle_moves(desk, 0, on_tube - 40)
    events.pull(desk.canvas, start, desk.px(grabbed + first), modifiers=CONTROL)
    turns = [span.turn_deg for span in desk.design.form.runs[0].spans]
    assert turns == pytest.approx([on_tube] * 4, abs=1e-9)
    events.move(desk.canvas, desk.px(grabbed + then), LEFT, CONTROL)
    turns = [span.turn_deg for span in desk.design.form.runs[0].spans]
    assert turns == pytest.approx([on_tube - 40, on_tube] * 2, abs=1e-3)
    events.release(desk.canvas, desk.px(grabbed + then))


# ---- tubes to snap to ----------------------------------------------------------------------------------

# A metal whose strength is not known springs by nothing that is known: it lies as the tube had it.
SOFT = OwnMetal(key="soft", name="soft", density_g_per_cm3=10.0, yield_mpa=None)
OWN_TUBE = Tube(13.7, "my old bottle neck")


def tube_turn_deg(span: Span, wire: Wire, tube: Tube) -> float:
    """How far a span turns that leaves this tube, by bisection: the more it turns the thinner the tube."""
    low, high = 1.0, 720.0
    for _ in range(60):
        turn = (low + high) / 2
        form = Form(runs=(Run(spans=(replace(span, turn_deg=turn),)),))
        wants = evaluate(Design(title="One", wire=wire, form=form)).spans.tube_diameter_mm[0]
        low, high = (turn, high) if wants > tube.diameter_mm else (low, turn)
    return (low + high) / 2


def loop_of(flare: Flare | None, metal: str, turned_over: bool = False) -> Design:
    span = Span(length_mm=34.0, turn_deg=250.0, flare=flare, turned_over=turned_over)
    other = Span(length_mm=20.0, turn_deg=-40.0)
    wire = Wire(metal=metal, diameter_mm=1.3)
    runs = (Run(spans=(other, span, other)),)
    return Design(title="Loop", wire=wire, form=Form(runs=runs), metals=(SOFT,))


@pytest.mark.parametrize("turned_over", [False, True])
@pytest.mark.parametrize("off", [0.009, -0.009])
def test_a_belly_snaps_lightly_to_an_own_tube(lay: Lay, turned_over: bool, off: float) -> None:
    desk = lay(loop_of(None, "soft", turned_over), 1, (OWN_TUBE,))
    # No hammering and no spring-back: turn = length / centreline radius on the tube [D].
    on_tube = np.degrees(34.0 / ((13.7 + 1.3) / 2))
    by = middle_moves(desk, 1, on_tube * (1 + off))
    grabbed = desk.handle("belly").at_mm

    def act() -> QPointF:
        end = desk.px(grabbed + by)
        events.pull(desk.canvas, desk.px(grabbed), end)
        assert "on the my old bottle neck tube (Alt: free)" in desk.told[-1]
        return end

    assert_back_and_forth(desk, act, "Open or close span 2")
    span = span_at(desk.design, SpanAddress(0, 1))
    assert span.turn_deg == pytest.approx(on_tube, rel=1e-12)
    assert span.length_mm == 34.0
    assert desk.shown("Tube") == length_text(13.7)


def test_alt_lets_go_of_a_tube_and_so_does_pulling_on(lay: Lay) -> None:
    desk = lay(loop_of(None, "soft"), 1, (OWN_TUBE,))
    on_tube = float(np.degrees(34.0 / 7.5))
    grabbed = desk.handle("belly").at_mm

    def pulled_to(turn_deg: float, keys: Keys) -> float:
        events.move(desk.canvas, desk.px(grabbed + moves[turn_deg]), LEFT, keys)
        return span_at(desk.design, SpanAddress(0, 1)).turn_deg

    near, far = on_tube * 0.993, on_tube * 0.98
    moves = {turn: middle_moves(desk, 1, turn) for turn in (near, far)}
    events.press(desk.canvas, desk.px(grabbed))
    assert pulled_to(near, NONE) == pytest.approx(on_tube, rel=1e-12)
    assert pulled_to(near, ALT) == pytest.approx(near, abs=1e-3)
    assert "tube" not in desk.told[-1]
    assert pulled_to(near, NONE) == pytest.approx(on_tube, rel=1e-12)
    assert "tube" in desk.told[-1]
    assert pulled_to(far, NONE) == pytest.approx(far, abs=1e-3)
    assert "tube" not in desk.told[-1]
    assert pulled_to(near, ALT) == pytest.approx(near, abs=1e-3)
    events.release(desk.canvas, desk.px(grabbed + moves[near]))
    assert desk.session.undo_name == "Open or close span 2"


def test_hammering_and_spring_back_are_allowed_for(lay: Lay) -> None:
    desk = lay(loop_of(Flare(thickness=0.5), "brass-c26000"), 1, (Tube(12.0, "a"), OWN_TUBE, Tube(20.0, "b")))
    numbers = desk.session.evaluation.spans
    # Pulled to where the panel, which works the other way from turn to tube, wants a tube near 13.7 mm.
    tube = float(numbers.tube_diameter_mm[1])
    wanted = 250.0 * (tube + 1.3) / (13.7 + 1.3)
    grabbed = desk.handle("belly").at_mm
    events.drag(desk.canvas, desk.px(grabbed), desk.px(grabbed + middle_moves(desk, 1, wanted)))
    assert float(desk.session.evaluation.spans.tube_diameter_mm[1]) == pytest.approx(13.7, abs=1e-6)
    assert desk.session.evaluation.spans.finished_length_mm == pytest.approx(
        numbers.finished_length_mm, rel=1e-14
    )


def test_on_a_full_bench_most_turns_are_free_and_every_tube_can_be_had() -> None:
    tubes = load_tubes()
    twins = (*tubes, Tube(tubes[30].diameter_mm, "its twin"))
    for length_mm in (12.0, 21.0, 34.0, 60.0):
        choices = tube_turns(twins, length_mm, 0.85, 1.29, load_metals()["brass-c26000"])
        turns = [choice.turn_rad for choice in choices]
        assert all(snapped(turn, choices) is not None for turn in turns)
        places = np.linspace(np.pi / 2, 2 * np.pi, 600)
        taken = np.array([snapped(float(place), choices) is not None for place in places])
        # At most a fifth of the way to the next tube to either side.
        assert 0 < taken.mean() <= 0.4
    assert snapped(1.0, tube_turns((), 30.0, 1.0, 1.3, load_metals()["brass-c26000"])) is None


def test_a_scroll_and_a_bench_without_tubes_snap_to_nothing(lay: Lay) -> None:
    for design, tubes in (
        (loop_of(None, "soft"), ()),
        (loop_of(None, "brass-c26000"), ()),
        (make_starter("scroll", BRASS), (OWN_TUBE, Tube(9.0, "9 mm"))),
    ):
        desk = lay(design, 1, tubes)
        events.release(desk.canvas, belly_by(desk, 1, 12.0, NONE, steps=40))
        assert desk.session.step_count == 1
        assert not any(" tube " in said for said in desk.told)


# ---- skew ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("near_end", [False, True], ids=["near its start", "near its end"])
@pytest.mark.parametrize(("span", "skew_deg"), [(0, 75.0), (1, -60.0), (3, 55.0)])
def test_a_skew_handle_makes_a_span_tighten_towards_one_end(
    lay: Lay, span: int, skew_deg: float, near_end: bool
) -> None:
    desk = lay(free(), span)
    look_near(desk, desk.middle_mm(span), 25.0)
    handles = [h for h in desk.handles() if h.kind == "skew"]
    assert len(handles) == 2
    handle = max(handles, key=lambda h: h.u) if near_end else min(handles, key=lambda h: h.u)
    before, address = state_of(desk), desk.session.wire.address(span)
    kept = span if near_end else span + 1
    leaves = directions(desk)[kept]
    written = span_at(desk.design, address)
    trace = desk.canvas.wire.trace
    own = np.flatnonzero(trace.part == desk.session.wire.part(span))
    u = float(trace.u[own[np.argmin(np.abs(trace.u[own] - handle.u))]])
    # The mark further off stays: backwards a span turns the other way and is skewed the same way.
    turn_deg, far = (written.turn_deg, u) if near_end else (-written.turn_deg, 1 - u)
    there, was = (place_in(written, far, turn_deg, s) for s in (skew_deg, written.skew_deg))
    over = span == 3
    way = desk.way(span) if near_end else -reaches(desk, span + 1)
    by = ((there - was).conjugate() if over else there - was) * way
    # As far for a change of skew at either handle: the further mark is 0.78 of the span away.
    skewed_rad = np.radians(abs(skew_deg - written.skew_deg))
    assert abs(by) == pytest.approx(written.length_mm * skewed_rad * (0.78**2 / 2 - 0.78**3 / 3), rel=0.15)

    def act() -> QPointF:
        end = desk.px(handle.at_mm + by)
        events.pull(desk.canvas, desk.px(handle.at_mm), end)
        lies = -skew_deg if over else skew_deg
        tighter = "its end" if lies * (-75 if over else written.turn_deg) > 0 else "its beginning"
        assert f"skew {angle_text(lies)}, tighter towards {tighter}" in desk.told[-1]
        assert desk.shown("Skew") == angle_text(lies)
        return end

    assert_back_and_forth(desk, act, f"Skew span {span + 1}")
    skewed = span_at(desk.design, address)
    assert skewed.skew_deg == pytest.approx(skew_deg, abs=1e-2)
    # Turn and length are written anew through radians.
    assert skewed.turn_deg == pytest.approx(written.turn_deg, rel=1e-14)
    assert replace(skewed, skew_deg=written.skew_deg, turn_deg=written.turn_deg) == written
    stay = range(span + 1) if near_end else range(span + 1, len(before.marks_mm))
    for mark in stay:
        assert abs(marks_mm(desk)[mark] - before.marks_mm[mark]) < PLACE_MM
    assert directions(desk)[kept] == pytest.approx(leaves, abs=1e-12)


# ---- directions ----------------------------------------------------------------------------------------


def turn_by(desk: Desk, mark: int, side: int, by_deg: float, grab_px: complex = 0j) -> QPointF:
    """Pull a direction handle round its mark by an angle; the button stays down."""
    handle = next(h for h in desk.handles() if h.kind == "direction" and h.side == side and h.number == mark)
    at = desk.px(mark_mm(desk, mark))
    start = desk.px(handle.at_mm) + QPointF(grab_px.real, -grab_px.imag)
    arm = complex(start.x() - at.x(), at.y() - start.y()) * np.exp(1j * np.radians(by_deg))
    end = at + QPointF(arm.real, -arm.imag)
    events.pull(desk.canvas, start, end)
    return end


@pytest.mark.parametrize(
    ("span", "side", "by_deg"),
    [(span, side, -15.0 if (span + (side > 0)) % 2 else 9.0) for span in range(5) for side in (-1, 1)],
)
def test_a_direction_turns_and_the_marks_stay(lay: Lay, span: int, side: int, by_deg: float) -> None:
    desk = lay(free(), span)
    mark = span if side < 0 else span + 1
    before, ways = state_of(desk), directions(desk)
    corners = [complex(np.exp(1j * x)) for x in desk.session.evaluation.chain.corner_rad]

    def act() -> QPointF:
        end = turn_by(desk, mark, side, by_deg)
        assert f"Direction at mark {mark + 1} turned {angle_text(by_deg, signed=True)}" in desk.told[-1]
        return end

    assert_back_and_forth(desk, act, f"Turn direction at mark {mark + 1}")
    assert marks_mm(desk) == pytest.approx(before.marks_mm, abs=PLACE_MM)
    for other, (now, was) in enumerate(zip(directions(desk), ways, strict=True)):
        turned = np.degrees(np.angle(now / was))
        assert turned == pytest.approx(by_deg if other == mark else 0.0, abs=1e-6), other
    bends = [complex(np.exp(1j * x)) for x in desk.session.evaluation.chain.corner_rad]
    assert bends == pytest.approx(corners, abs=1e-12)
    assert desk.session.evaluation.finished_length_mm != pytest.approx(118.0, abs=0.2)


def test_a_direction_is_held_where_it_was_grabbed(lay: Lay) -> None:
    for span, side in ((0, -1), (1, 1), (2, -1)):
        desk = lay(free(), span)
        mark = span if side < 0 else span + 1
        was = directions(desk)[mark]
        events.release(desk.canvas, turn_by(desk, mark, side, 12.0, grab_px=4 - 3j))
        assert np.degrees(np.angle(directions(desk)[mark] / was)) == pytest.approx(12.0, abs=1e-6)


def test_a_direction_beside_a_hook_turns_the_hook_with_it(lay: Lay) -> None:
    design = free()
    design = replace(design, form=replace(design.form, start=HookEnd(inside_diameter_mm=4.0)))
    desk = lay(design, 0)
    before, trace = state_of(desk), desk.canvas.wire.trace
    arm = complex(trace.z_mm[0]) - before.marks_mm[0]
    events.release(desk.canvas, turn_by(desk, 0, -1, 14.0))
    assert marks_mm(desk) == pytest.approx(before.marks_mm, abs=PLACE_MM)
    swung = complex(desk.canvas.wire.trace.z_mm[0]) - marks_mm(desk)[0]
    assert swung == pytest.approx(arm * np.exp(1j * np.radians(14.0)), abs=1e-6)


def test_a_direction_between_repeats_turns_in_every_repeat(lay: Lay) -> None:
    desk = lay(row(), 4)
    before, ways = state_of(desk), directions(desk)
    events.release(desk.canvas, turn_by(desk, 5, 1, 8.0))
    assert marks_mm(desk) == pytest.approx(before.marks_mm, abs=PLACE_MM)
    turned = [np.degrees(np.angle(a / b)) for a, b in zip(directions(desk), ways, strict=True)]
    # As written all repeats turn one way, and each is turned over from the one before.
    signs = [1 if mark % 2 else -1 for mark in range(2, 10)]
    assert turned[2:10] == pytest.approx([8.0 * sign for sign in signs], abs=1e-6)
    assert_one_step(desk, before, "Turn direction at mark 6")


# ---- flares along the span -----------------------------------------------------------------------------


@pytest.fixture
def lay_near(lay: Lay) -> Lay:
    """Lay a design with a span selected and seen from near, so that pulls along it are straight enough."""

    def lay_out(design: Design, span: int) -> Desk:
        desk = lay(design, span)
        look_near(desk, desk.handle("flare", 1).at_mm, 40.0)
        return desk

    return lay_out


def hammered(flare: Flare) -> Design:
    curve = Span(length_mm=30.0, turn_deg=60.0)
    spans = (curve, replace(curve, turn_deg=-80.0, flare=flare), curve)
    return Design(title="Hammered", wire=replace(BRASS, diameter_mm=2.0), form=Form(runs=(Run(spans=spans),)))


def pull_along(desk: Desk, along_mm: float, keys: Keys, steps: int = 8) -> QPointF:
    """Pull a flare's handle along the wire there; the button stays down."""
    above, below = desk.handle("flare", 1).at_mm, desk.handle("flare", -1).at_mm
    way = (above - below) / abs(above - below) / 1j
    end = desk.px(above + along_mm * way)
    events.pull(desk.canvas, desk.px(above), end, steps, modifiers=keys)
    return end


def flare_of(desk: Desk, span: int) -> Flare:
    flare = span_at(desk.design, desk.session.wire.address(span)).flare
    assert flare is not None
    return flare


@pytest.mark.parametrize("along_mm", [4.5, -2.1])
def test_a_held_flare_is_stretched_with_shift(lay_near: Lay, along_mm: float) -> None:
    desk = lay_near(hammered(FLARE), 1)
    # One end of the hold goes with the pointer, the other as far the other way.
    wanted = FLARE.hold + 2 * along_mm / 30.0

    def act() -> QPointF:
        end = pull_along(desk, along_mm, SHIFT)
        assert f"Thinnest at 45 % of the span, held over {100 * wanted:.0f} %" in desk.told[-1]
        return end

    assert_back_and_forth(desk, act, "Hammer span 2")
    flare = flare_of(desk, 1)
    assert flare.hold == pytest.approx(wanted, abs=1e-9)
    assert replace(flare, hold=FLARE.hold) == FLARE


@pytest.mark.parametrize("along_mm", [3.0, -3.6])
def test_a_flare_slides_and_keeps_its_hold(lay_near: Lay, along_mm: float) -> None:
    desk = lay_near(hammered(FLARE), 1)

    def act() -> QPointF:
        end = pull_along(desk, along_mm, NONE)
        place = 100 * (0.45 + along_mm / 30)
        assert f"Thinnest at {place:.0f} % of the span, held over 20 %" in desk.told[-1]
        return end

    assert_back_and_forth(desk, act, "Hammer span 2")
    flare = flare_of(desk, 1)
    assert flare.centre == pytest.approx(0.45 + along_mm / 30.0, abs=1e-9)
    assert replace(flare, centre=FLARE.centre) == FLARE


def test_a_flare_leaves_room_to_ease_in_and_out(lay_near: Lay) -> None:
    for keys in (NONE, SHIFT):
        for along_mm in (60.0, -60.0):
            desk = lay_near(hammered(FLARE), 1)
            events.release(desk.canvas, pull_along(desk, along_mm, keys, steps=3))
            flare = flare_of(desk, 1)
            assert flare != FLARE
            assert flare.hold >= 0
            assert flare.centre - flare.hold / 2 > 0 and flare.centre + flare.hold / 2 < 1
            assert (flare.centre == 0.45) == (keys == SHIFT)


def test_shift_may_be_pressed_and_let_go_along_a_flare(lay_near: Lay) -> None:
    desk = lay_near(hammered(FLARE), 1)
    before = state_of(desk)
    end = pull_along(desk, 3.0, NONE)
    assert (flare_of(desk, 1).hold, flare_of(desk, 1).centre) == (0.2, pytest.approx(0.55))
    events.move(desk.canvas, end, LEFT, SHIFT)
    assert (flare_of(desk, 1).hold, flare_of(desk, 1).centre) == (pytest.approx(0.4), 0.45)
    events.move(desk.canvas, end, LEFT)
    assert (flare_of(desk, 1).hold, flare_of(desk, 1).centre) == (0.2, pytest.approx(0.55))
    events.release(desk.canvas, end)
    assert_one_step(desk, before, "Hammer span 2")


def test_the_part_of_a_flare_between_marks_is_pulled_where_it_is_deepest(lay_near: Lay) -> None:
    # A mark at 30 %: the second part shows the flare from 0.3 on, deepest at (0.45 - 0.3) / 0.7 of it.
    design = insert_mark(hammered(FLARE), SpanAddress(0, 1), 0.3)
    desk = lay_near(design, 2)
    line = desk.line_mm(2)
    place = (desk.handle("flare", 1).at_mm + desk.handle("flare", -1).at_mm) / 2
    steps = np.abs(line - place)
    assert np.argmin(steps) / (len(line) - 1) == pytest.approx(0.15 / 0.7, abs=0.02)
    along_mm = 2.1
    events.release(desk.canvas, pull_along(desk, along_mm, NONE))
    # The whole flare is 30 mm long, and moves as far as it is pulled.
    assert flare_of(desk, 2).centre == pytest.approx(0.45 + along_mm / 30.0, abs=1e-9)
