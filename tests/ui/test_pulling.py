"""Pulling on the form with a real mouse: marks, bellies and flares; one step each, and Esc puts all back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from scipy.integrate import quad

from formsketch.design.edits import SpanAddress, change_span, mirrored, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import BeadEnd, Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.design.transforms import repeat_scales
from formsketch.evaluation.evaluate import evaluate
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

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
LEFT = Qt.MouseButton.LeftButton
PLACE_MM = 1e-6  # what is said to stay may move by rounding only


# ---- marks ---------------------------------------------------------------------------------------------


def cuff() -> Design:
    """Five free spans with beads at both ends."""
    return make_starter("open-cuff", BRASS)


def s_row() -> Design:
    """Graded repeats of one span, each turned over, between free half spans."""
    return make_starter("row-of-s-forms", BRASS)


def hooked_pair() -> Design:
    """Two free spans with a sharp bend between them, turned over, a hook before and a bead after."""
    spans = (
        Span(length_mm=30.0, turn_deg=70.0, skew_deg=25.0),
        Span(length_mm=26.0, turn_deg=80.0, corner_deg=-30.0, turned_over=True),
    )
    form = Form(
        runs=(Run(spans=spans),), start=HookEnd(inside_diameter_mm=4.0), finish=BeadEnd(diameter_mm=3.0)
    )
    return Design(title="Pair", wire=BRASS, form=form)


@dataclass(frozen=True)
class MarkCase:
    """A mark to pull, by so many pixels, and the marks that stay where they are."""

    make: Callable[[], Design]
    mark: int
    by: tuple[float, float]
    stay: tuple[int, ...]


MARK_CASES = {
    "interior": MarkCase(cuff, 2, (-23.5, 31.25), (0, 1, 3, 4, 5)),
    "interior, bent and turned over": MarkCase(hooked_pair, 1, (17.0, 22.5), (0, 2)),
    "end that is an arc": MarkCase(lambda: make_starter("hoop", BRASS), 1, (30.0, 40.0), (0,)),
    "end of a scroll": MarkCase(lambda: make_starter("scroll", BRASS), 2, (-20.0, 18.0), (0, 1)),
    "end that turns over": MarkCase(hooked_pair, 2, (-14.0, -31.0), (0, 1)),
    "start that is an arc": MarkCase(cuff, 0, (-18.0, 26.0), (1, 2, 3, 4, 5)),
    "start of a scroll": MarkCase(lambda: make_starter("scroll", BRASS), 0, (15.0, -22.0), (1, 2)),
    "start with a hook": MarkCase(hooked_pair, 0, (-25.0, 12.0), (1, 2)),
    "between repeats": MarkCase(s_row, 4, (6.0, 21.0), (3,)),
    "between repeats, other side": MarkCase(s_row, 5, (8.0, -19.0), (4,)),
    "where repeats begin": MarkCase(s_row, 1, (9.0, 16.0), (0,)),
    "in every repeat": MarkCase(
        lambda: make_starter("row-of-loops", BRASS), 5, (5.0, -17.0), (0, 1, 2, 4, 6, 8, 10, 14)
    ),
}


@pytest.mark.parametrize("case", MARK_CASES.values(), ids=MARK_CASES.keys())
def test_a_mark_follows_the_pointer_in_one_step(lay: Callable[..., Desk], case: MarkCase) -> None:
    desk = lay(case.make(), max(0, case.mark - 1))
    before = state_of(desk)
    start = desk.mark_px(case.mark)
    end = start + QPointF(*case.by)
    events.pull(desk.canvas, start, end)
    assert desk.canvas.is_pulling
    assert desk.session.step_count == before.step_count
    assert_numbers_follow(desk)
    assert away_px(desk, complex(desk.marks_mm()[case.mark]), end) < 1
    events.release(desk.canvas, end)
    assert not desk.canvas.is_pulling

    marks = desk.marks_mm()
    pixel_mm = 1 / desk.canvas.view.px_per_mm
    assert abs(marks[case.mark] - desk.canvas.view.to_mm(end)) < pixel_mm
    for mark in case.stay:
        assert abs(marks[mark] - before.marks_mm[mark]) < PLACE_MM, mark
    assert_numbers_follow(desk)
    assert_one_step(desk, before, f"Move mark {case.mark + 1}")


def test_a_mark_is_held_where_it_was_grabbed(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    off = QPointF(4.5, -3.25)
    start = desk.mark_px(2)
    by = QPointF(20.0, 15.0)
    events.drag(desk.canvas, start + off, start + off + by)
    assert away_px(desk, complex(desk.marks_mm()[2]), start + by) < 0.01


def test_directions_at_the_marks_stay(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    before = [desk.way(span) for span in range(5)]
    start = desk.mark_px(3)
    events.drag(desk.canvas, start, start + QPointF(22, 31))
    assert [desk.way(span) for span in range(5)] == pytest.approx(before, abs=1e-9)


def test_an_arc_at_an_end_stays_an_arc_and_a_scroll_keeps_its_direction(lay: Callable[..., Desk]) -> None:
    for mark in (0, 1):
        desk = lay(make_starter("hoop", BRASS))
        start = desk.mark_px(mark)
        events.drag(desk.canvas, start, start + QPointF(25, -30))
        pulled = span_at(desk.design, SpanAddress(0, 0))
        assert pulled.skew_deg == 0.0
        # Chord of an arc: 2 R sin(turn / 2), R = length / turn.
        radius, half = pulled.length_mm / np.radians(pulled.turn_deg), np.radians(pulled.turn_deg) / 2
        marks = desk.marks_mm()
        assert abs(marks[1] - marks[0]) == pytest.approx(abs(2 * radius * np.sin(half)), rel=1e-9)
    for mark in (0, 2):
        desk = lay(make_starter("scroll", BRASS))
        trace = desk.canvas.wire.trace
        tip = trace.first[desk.session.wire.part(0)] if mark == 0 else trace.first[-1] - 1
        way = complex(trace.direction[tip])
        start = desk.mark_px(mark)
        events.drag(desk.canvas, start, start + QPointF(-12, 17))
        trace = desk.canvas.wire.trace
        tip = trace.first[desk.session.wire.part(0)] if mark == 0 else trace.first[-1] - 1
        assert complex(trace.direction[tip]) == pytest.approx(way, abs=1e-9)


def test_a_mark_in_a_repeat_changes_every_repeat_alike(lay: Callable[..., Desk]) -> None:
    desk = lay(s_row())
    lengths = desk.session.evaluation.spans.finished_length_mm
    start = desk.mark_px(4)
    events.drag(desk.canvas, start, start + QPointF(6, 21))
    grown = desk.session.evaluation.spans.finished_length_mm / lengths
    assert grown[1:10] == pytest.approx(np.full(9, grown[1]), rel=1e-12)
    assert abs(grown[1] - 1) > 0.01
    assert (grown[0], grown[10]) == (1.0, 1.0)
    assert desk.design.form.runs[1].times == 9


def test_the_status_line_says_what_is_shown(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    before_mm = desk.session.evaluation.finished_length_mm
    start = desk.mark_px(2)
    events.pull(desk.canvas, start, start + QPointF(30, 20), steps=3)
    now_mm = desk.session.evaluation.finished_length_mm
    assert length_text(now_mm) in desk.told[-1]
    assert length_text(now_mm - before_mm, signed=True) in desk.told[-1]
    assert "Esc" in desk.told[-1]
    events.release(desk.canvas, start + QPointF(30, 20))


def test_a_mark_pulled_onto_its_neighbour_is_refused(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    before = state_of(desk)
    start, neighbour = desk.mark_px(2), desk.mark_px(1)
    events.pull(desk.canvas, start, neighbour, steps=1)
    assert "closer than 0.05 mm" in desk.told[-1]
    assert_back(desk, before)
    events.release(desk.canvas, neighbour)
    assert_back(desk, before)


def test_a_refused_place_leaves_the_last_form_that_could_be(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    before = state_of(desk)
    start, neighbour = desk.mark_px(2), desk.mark_px(1)
    half_way = start + (neighbour - start) * 0.5
    events.pull(desk.canvas, start, half_way)
    there = desk.design
    events.move(desk.canvas, neighbour, LEFT)
    assert "closer than 0.05 mm" in desk.told[-1]
    assert desk.design is there
    events.release(desk.canvas, neighbour)
    assert desk.design is there
    assert_one_step(desk, before, "Move mark 3")


# ---- bellies -------------------------------------------------------------------------------------------


def middle_of(span: Span, turn_deg: float) -> complex:
    """The middle of a span that begins at 0 along +x, by quadrature of its direction (scipy)."""
    turn, skew = np.radians(turn_deg), np.radians(span.skew_deg)

    def angle(u: float) -> float:
        return float(u * turn + skew * u * (u - 1))

    x, _ = quad(lambda u: np.cos(angle(u)), 0, 0.5, epsabs=1e-12)
    y, _ = quad(lambda u: np.sin(angle(u)), 0, 0.5, epsabs=1e-12)
    return span.length_mm * complex(x, y)


@dataclass(frozen=True)
class BellyCase:
    """A span to open or close by so many degrees; it is laid `side` and drawn `scale` times as long."""

    make: Callable[[], Design]
    span: int
    by_deg: float
    side: int = 1
    scale: float = 1.0


# Spans 1 to 9 of the row are turned over by turns; the fifth is the middle one, at full size.
BELLY_CASES = {
    "open": BellyCase(cuff, 2, -24.0),
    "close": BellyCase(cuff, 3, 30.0),
    "repeat turned over": BellyCase(s_row, 5, 18.0, side=-1),
    "repeat": BellyCase(s_row, 6, -21.0, scale=repeat_scales(9, 0.8)[5]),
    "scroll": BellyCase(lambda: make_starter("scroll", BRASS), 1, 26.0),
    "after a sharp bend": BellyCase(hooked_pair, 1, 25.0, side=-1),
}


@pytest.mark.parametrize("by_handle", [True, False], ids=["by its handle", "by the wire"])
@pytest.mark.parametrize("case", BELLY_CASES.values(), ids=BELLY_CASES.keys())
def test_a_belly_opens_at_constant_length(lay: Callable[..., Desk], case: BellyCase, by_handle: bool) -> None:
    desk = lay(case.make(), case.span if by_handle else None)
    before = state_of(desk)
    address = desk.session.wire.address(case.span)
    written = span_at(desk.design, address)
    numbers = desk.session.evaluation.spans
    way, middle = desk.way(case.span), desk.middle_mm(case.span)
    wanted_deg = written.turn_deg + case.by_deg
    moves = middle_of(written, wanted_deg) - middle_of(written, written.turn_deg)
    moves = case.scale * (moves if case.side > 0 else moves.conjugate()) * way
    line = desk.line_mm(case.span)
    grabbed = desk.handle("belly").at_mm if by_handle else complex(line[len(line) * 3 // 10])
    start, end = desk.px(grabbed), desk.px(grabbed + moves)
    assert abs(moves) * desk.canvas.view.px_per_mm > 6
    events.pull(desk.canvas, start, end)
    assert desk.selection.span == case.span
    assert_numbers_follow(desk)
    turns = [case.side * written.turn_deg, case.side * wanted_deg]
    assert f"turns {angle_text(turns[0])} -> {angle_text(turns[1])}" in desk.told[-1]
    events.release(desk.canvas, end)

    pulled = span_at(desk.design, address)
    assert pulled.turn_deg == pytest.approx(wanted_deg, abs=1e-3)
    assert pulled.length_mm == pytest.approx(written.length_mm, rel=1e-14)
    assert pulled.skew_deg == pytest.approx(written.skew_deg, abs=1e-12)
    assert away_px(desk, desk.middle_mm(case.span), desk.px(middle + moves)) < 1
    after = desk.session.evaluation.spans
    assert after.finished_length_mm == pytest.approx(numbers.finished_length_mm, rel=1e-14)
    assert desk.shown("Finished length") == length_text(float(np.sum(numbers.finished_length_mm)))
    # What was drawn before the span stays, where it is not repeats of it.
    stay = range(case.span + 1) if written == pulled or desk.session.wire.alone(case.span) else (case.span,)
    for mark in stay:
        assert abs(desk.marks_mm()[mark] - before.marks_mm[mark]) < PLACE_MM
    assert_one_step(desk, before, f"Open or close span {case.span + 1}")


def test_the_rest_of_the_piece_swings_unchanged(lay: Callable[..., Desk]) -> None:
    desk = lay(cuff())
    before = desk.marks_mm()
    line = desk.line_mm(1)
    start = desk.px(complex(line[len(line) * 4 // 10]))
    events.drag(desk.canvas, start, start + QPointF(0, 24))
    after = desk.marks_mm()
    assert after[:2] == pytest.approx(before[:2], abs=PLACE_MM)
    assert np.abs(after[2:] - before[2:]).min() > 1
    # A rigid motion: the steps between the marks keep their lengths and the angles between them.
    steps_before, steps_after = np.diff(before[2:]), np.diff(after[2:])
    turned = steps_after / steps_before
    assert np.abs(turned) == pytest.approx(np.ones(3), rel=1e-9)
    assert turned == pytest.approx(np.full(3, turned[0]), abs=1e-9)


def test_a_belly_of_any_number_of_samples_can_be_pulled(lay: Callable[..., Desk]) -> None:
    # n / 2 steps of 1 / n do not always add up to 1 / 2: 98, 196 and 206 are the first even n that do not.
    awkward: dict[int, Design] = {}
    for length_mm in np.geomspace(20.0, 9000.0, 300):
        span = Span(length_mm=float(length_mm), turn_deg=90.0)
        design = Design(title="Long", wire=BRASS, form=Form(runs=(Run(spans=(span,)),)))
        intervals = len(evaluate(design).own_trace.u) - 1
        if intervals // 2 * (1 / intervals) != 0.5:
            awkward[intervals] = design
    assert len(awkward) >= 2
    for design in awkward.values():
        desk = lay(design)
        line = desk.line_mm(0)
        start = desk.px(complex(line[len(line) * 3 // 10]))
        events.drag(desk.canvas, start, start + QPointF(5, 12), steps=2)
        assert desk.session.undo_name == "Open or close span 1"


# ---- flares --------------------------------------------------------------------------------------------

HELD = Flare(thickness=0.6, centre=0.45, hold=0.2)


def hammered(flare: Flare | None) -> Design:
    """Three free spans, the middle one hammered this way."""
    curve = Span(length_mm=30.0, turn_deg=60.0)
    return Design(
        title="Hammered",
        wire=replace(BRASS, diameter_mm=2.0),
        form=Form(runs=(Run(spans=(curve, replace(curve, turn_deg=-80.0, flare=flare), curve)),)),
    )


@pytest.fixture
def lay_near(lay: Callable[..., Desk]) -> Callable[..., Desk]:
    """Lay a hammered design with its middle span selected and seen from near, so that pulls are fine."""

    def lay_out(design: Design) -> Desk:
        desk = lay(design, 1)
        desk.canvas.zoom(40 / desk.canvas.view.px_per_mm)
        middle = QPointF(desk.canvas.rect().center())
        desk.canvas.show_view(desk.canvas.view.moved(middle - desk.px(desk.middle_mm(1))))
        return desk

    return lay_out


def flare_of(desk: Desk, span: int = 1) -> Flare | None:
    return span_at(desk.design, desk.session.wire.address(span)).flare


def plan_width_mm(desk: Desk, span: int = 1) -> float:
    """The plan width drawn at the flare's own place."""
    e = desk.session.evaluation
    flare = flare_of(desk, span)
    own = np.flatnonzero(e.own_trace.part == desk.session.wire.part(span))
    u = 0.5 if flare is None else flare.centre
    return float(e.samples.plan_width_mm[own[np.argmin(np.abs(e.own_trace.u[own] - u))]])


def pull_flare_by(desk: Desk, out_mm: float, side: int = 1, steps: int = 8) -> QPointF:
    """Press on a flare's handle and pull it outward (inward: negative); the button stays down."""
    handle = desk.handle("flare", side)
    outward = handle.at_mm - (desk.handle("flare", -side).at_mm + handle.at_mm) / 2
    end = desk.px(handle.at_mm + out_mm * outward / abs(outward))
    events.pull(desk.canvas, desk.px(handle.at_mm), end, steps)
    return end


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("out_mm", [0.35, -0.2])
def test_a_flare_is_pulled_wider_and_narrower_at_its_edge(
    lay_near: Callable[..., Desk], side: int, out_mm: float
) -> None:
    desk = lay_near(hammered(HELD))
    before, width = state_of(desk), plan_width_mm(desk)
    end = pull_flare_by(desk, out_mm, side)
    assert_numbers_follow(desk)
    thin, wide = desk.session.evaluation.spans.thinnest_mm[1], desk.session.evaluation.spans.widest_mm[1]
    assert f"hammered to {length_text(thin)}, {length_text(wide)} wide" in desk.told[-1]
    events.release(desk.canvas, end)
    # Each edge goes with the pointer, the other one as far the other way.
    assert plan_width_mm(desk) == pytest.approx(width + 2 * out_mm, abs=0.002)
    flare = flare_of(desk)
    assert flare is not None
    assert replace(flare, thickness=HELD.thickness) == HELD
    assert (flare.thickness < HELD.thickness) == (out_mm > 0)
    assert desk.shown("Width there") == length_text(width + 2 * out_mm)
    assert flare_of(desk, 0) is None
    assert desk.session.evaluation.spans.finished_length_mm == pytest.approx([30.0] * 3, rel=1e-14)
    assert desk.marks_mm() == pytest.approx(np.array(before.marks_mm), abs=PLACE_MM)
    assert_one_step(desk, before, "Hammer span 2")


def test_pulling_an_unhammered_span_begins_a_flare(lay_near: Callable[..., Desk]) -> None:
    desk = lay_near(hammered(None))
    before = state_of(desk)
    events.release(desk.canvas, pull_flare_by(desk, 0.3))
    flare = flare_of(desk)
    assert flare is not None
    assert (flare.centre, flare.hold, flare.face) == (0.5, 0.0, "flat")
    assert plan_width_mm(desk) == pytest.approx(2.0 + 2 * 0.3, abs=0.002)
    assert_one_step(desk, before, "Hammer span 2")


def test_a_flare_pulled_to_the_wires_own_width_is_taken_away(lay_near: Callable[..., Desk]) -> None:
    desk = lay_near(hammered(HELD))
    before, width = state_of(desk), plan_width_mm(desk)
    events.release(desk.canvas, pull_flare_by(desk, -(width - 2.0) / 2 - 0.05))
    assert flare_of(desk) is None
    assert desk.shown("Width there") == length_text(2.0)
    assert_one_step(desk, before, "Hammer span 2")


def test_a_flare_pulled_away_and_back_in_one_pull_is_what_it_was(lay_near: Callable[..., Desk]) -> None:
    desk = lay_near(hammered(HELD))
    before = state_of(desk)
    start = desk.px(desk.handle("flare", 1).at_mm)
    pull_flare_by(desk, -1.5)
    assert flare_of(desk) is None
    events.move(desk.canvas, start, LEFT)
    flare = flare_of(desk)
    assert flare is not None
    assert (flare.centre, flare.hold, flare.face) == (HELD.centre, HELD.hold, HELD.face)
    assert flare.thickness == pytest.approx(HELD.thickness, abs=1e-6)
    events.key(desk.canvas, Qt.Key.Key_Escape)
    assert_back(desk, before)
    events.release(desk.canvas, start)


@pytest.mark.parametrize("along_mm", [3.0, -3.6])
def test_a_flare_is_pulled_along_its_span(lay_near: Callable[..., Desk], along_mm: float) -> None:
    desk = lay_near(hammered(HELD))
    before, width = state_of(desk), plan_width_mm(desk)
    above, below = desk.handle("flare", 1).at_mm, desk.handle("flare", -1).at_mm
    along = (above - below) / abs(above - below) / 1j
    end = desk.px(above + along_mm * along)
    events.drag(desk.canvas, desk.px(above), end)
    flare = flare_of(desk)
    assert flare is not None
    assert flare.centre == pytest.approx(HELD.centre + along_mm / 30.0, abs=1e-6)
    assert replace(flare, centre=HELD.centre) == HELD
    assert plan_width_mm(desk) == pytest.approx(width, abs=0.01)
    assert_one_step(desk, before, "Hammer span 2")


def test_an_edge_hammered_span_thins_in_plan(lay_near: Callable[..., Desk]) -> None:
    on_edge = replace(HELD, face="edge")
    desk = lay_near(hammered(on_edge))
    before = state_of(desk)
    assert plan_width_mm(desk) == pytest.approx(0.6 * 2.0)
    events.release(desk.canvas, pull_flare_by(desk, -0.15))
    assert flare_of(desk) == replace(on_edge, thickness=pytest.approx(0.6 - 0.15, abs=1e-6))
    assert plan_width_mm(desk) == pytest.approx(1.2 - 2 * 0.15, abs=1e-6)
    assert desk.shown("Width there") == length_text(1.2 - 2 * 0.15)
    assert_one_step(desk, before, "Hammer span 2")
    events.release(desk.canvas, pull_flare_by(desk, 0.8))
    assert flare_of(desk) is None  # as thick again as the wire is


@pytest.mark.parametrize(
    ("flare", "out_mm", "said"),
    [(HELD, 40.0, "cannot be hammered to"), (replace(HELD, face="edge"), -3.0, "cannot be hammered on edge")],
    ids=["flat", "on edge"],
)
def test_what_no_hammer_reaches_is_refused(
    lay_near: Callable[..., Desk], flare: Flare, out_mm: float, said: str
) -> None:
    desk = lay_near(hammered(flare))
    before = state_of(desk)
    end = pull_flare_by(desk, out_mm, steps=1)
    assert said in desk.told[-1]
    assert "−" not in desk.told[-1]
    assert "-" not in desk.told[-1]
    assert_back(desk, before)
    events.release(desk.canvas, end)
    assert_back(desk, before)
    # In steps: the last that could be stays, and is a step.
    end = pull_flare_by(desk, out_mm, steps=200)
    assert said in desk.told[-1]
    events.release(desk.canvas, end)
    assert_one_step(desk, before, "Hammer span 2")


def test_a_wire_that_does_not_spread_is_not_pulled_wider(lay_near: Callable[..., Desk]) -> None:
    design = hammered(None)
    desk = lay_near(replace(design, hammer=replace(design.hammer, spread=0.0)))
    before = state_of(desk)
    end = pull_flare_by(desk, 0.5)
    assert "only lengthens" in desk.told[-1]
    events.release(desk.canvas, end)
    assert_back(desk, before)


# ---- Esc, clicks, other buttons ------------------------------------------------------------------------


def start_of(desk: Desk, kind: str) -> QPointF:
    if kind == "mark":
        return desk.mark_px(2)
    if kind == "wire":
        line = desk.line_mm(2)
        return desk.px(complex(line[len(line) * 3 // 10]))
    return desk.px(desk.handle(kind, 1 if kind == "flare" else 0).at_mm)


KINDS = ("mark", "belly", "wire", "flare")


@pytest.mark.parametrize("kind", KINDS)
def test_escape_puts_back_everything_and_the_rest_of_the_drag_does_nothing(
    lay: Callable[..., Desk], kind: str
) -> None:
    desk = lay(cuff(), 2)
    session = desk.session
    session.change("Mirror", mirrored(desk.design))
    session.change("Turn", change_span(desk.design, SpanAddress(0, 0), turn_deg=-33.0), 2)
    session.undo()
    before = state_of(desk)
    assert (before.undo_name, before.redo_name) == ("Mirror", "Turn")
    start = start_of(desk, kind)
    events.pull(desk.canvas, start, start + QPointF(9, 23))
    assert design_bytes(desk.design) != before.data
    events.key(desk.canvas, Qt.Key.Key_Escape)
    assert_back(desk, before)
    assert_numbers_follow(desk)
    assert desk.told[-1] == "Put back as it was."
    assert not desk.canvas.is_pulling
    for by in (QPointF(40, 40), QPointF(-60, 10)):
        events.move(desk.canvas, start + by, LEFT)
        assert_back(desk, before)
    events.release(desk.canvas, start + QPointF(-60, 10))
    assert_back(desk, before)
    session.redo()
    assert session.undo_name == "Turn"


@pytest.mark.parametrize("kind", KINDS)
def test_escape_before_the_pull_began_stops_it_too(lay: Callable[..., Desk], kind: str) -> None:
    desk = lay(cuff(), 2)
    before = state_of(desk)
    start = start_of(desk, kind)
    events.move(desk.canvas, start)
    events.press(desk.canvas, start)
    events.key(desk.canvas, Qt.Key.Key_Escape)
    events.move(desk.canvas, start + QPointF(30, 30), LEFT)
    events.release(desk.canvas, start + QPointF(30, 30))
    assert_back(desk, before)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("by", [(0.0, 0.0), (1.5, -2.0)], ids=["still", "within a click"])
def test_a_click_makes_no_step(lay: Callable[..., Desk], kind: str, by: tuple[float, float]) -> None:
    desk = lay(cuff(), 2)
    before = state_of(desk)
    start = start_of(desk, kind)
    events.drag(desk.canvas, start, start + QPointF(*by))
    assert_back(desk, before)


@pytest.mark.parametrize("kind", KINDS)
def test_a_pull_out_and_back_makes_no_more_than_it_changed(lay: Callable[..., Desk], kind: str) -> None:
    desk = lay(cuff(), 2)
    before = state_of(desk)
    start = start_of(desk, kind)
    events.pull(desk.canvas, start, start + QPointF(0, 20))
    events.move(desk.canvas, start, LEFT)
    assert desk.marks_mm() == pytest.approx(np.array(before.marks_mm), abs=0.01)
    events.release(desk.canvas, start)
    assert desk.session.step_count <= 1


@pytest.mark.parametrize("other", [Qt.MouseButton.RightButton, Qt.MouseButton.MiddleButton])
def test_another_button_neither_ends_nor_takes_over_a_pull(
    lay: Callable[..., Desk], other: Qt.MouseButton
) -> None:
    desk = lay(cuff(), 2)
    before, view = state_of(desk), desk.canvas.view
    start = desk.mark_px(2)
    half_way, end = start + QPointF(10, 14), start + QPointF(24, 30)
    events.pull(desk.canvas, start, half_way)
    events.press(desk.canvas, half_way, other)
    events.move(desk.canvas, half_way + QPointF(2, 1), LEFT | other)
    events.release(desk.canvas, half_way, other)
    assert desk.canvas.is_pulling
    assert desk.session.step_count == 0
    events.move(desk.canvas, end, LEFT)
    events.release(desk.canvas, end)
    assert desk.canvas.view == view
    assert away_px(desk, complex(desk.marks_mm()[2]), end) < 1
    assert_one_step(desk, before, "Move mark 3")


def test_what_was_pressed_is_forgotten_when_the_design_changes_under_it(lay: Callable[..., Desk]) -> None:
    desk = lay(s_row())
    last = len(desk.marks_mm()) - 1
    start = desk.mark_px(last)
    events.press(desk.canvas, start)
    desk.session.change("Hoop", make_starter("hoop", BRASS))
    hoop = state_of(desk)
    events.move(desk.canvas, start + QPointF(20, 20), LEFT)
    events.release(desk.canvas, start + QPointF(20, 20))
    assert_back(desk, hoop)


def test_painting_goes_on_during_a_pull_near_and_far(lay: Callable[..., Desk], qtlog: object) -> None:
    desk = lay(cuff(), 2)
    for px_per_mm in (1.0, 12.0, 300.0):
        desk.canvas.zoom(px_per_mm / desk.canvas.view.px_per_mm)
        here = desk.mark_px(2)
        desk.canvas.show_view(desk.canvas.view.moved(QPointF(400, 250) - here))
        start = desk.mark_px(2)
        events.pull(desk.canvas, start, start + QPointF(9, 7), steps=3)
        assert not desk.canvas.grab().isNull()
        events.release(desk.canvas, start + QPointF(9, 7))
        assert not desk.canvas.grab().isNull()
