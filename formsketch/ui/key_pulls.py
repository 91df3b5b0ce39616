"""Pulls by the keyboard: the selected span opened and closed, lengthened and shortened, hammered.

A press is one step, named as the pull with the mouse is. Presses of one key soon after one another are one
step together, as the moves of a drag are.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from math import copysign

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from formsketch.design.edits import change_span, span_at, with_flare
from formsketch.design.model import Design, Run
from formsketch.errors import EditRefused, FormSketchError
from formsketch.fitting.hammering import least_ratio
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.fitting.repeating import row_of
from formsketch.ui.gestures import ALT, CONTROL, SHIFT
from formsketch.ui.repeat_pull import GRADING, REPEATS, grading_text
from formsketch.ui.session import Session
from formsketch.units import angle_text, length_text
from formsketch.values import Value

TURN_DEG, LONG_TURN_DEG = 1.0, 10.0
LENGTH_MM, LONG_LENGTH_MM = 0.1, 1.0
HAMMER_OF_WIRE = 0.01
GRADING_STEP = 0.05
# Presses of one key this soon after one another are one step.
ONE_STEP_S = 1.0
# Sums of steps are rounded to this many places, so that the file holds what was meant.
_PLACES = 9

KEYS = (
    ("Open, close the span", "Alt+Up, Alt+Down", f"By {TURN_DEG:g} degree, with Shift by {LONG_TURN_DEG:g}."),
    (
        "Lengthen, shorten the span",
        "Alt+Right, Alt+Left",
        f"By {LENGTH_MM:g} mm, with Shift by {LONG_LENGTH_MM:g} mm.",
    ),
    ("Hammer thinner, thicker", "[, ]", f"By {HAMMER_OF_WIRE:g} of the wire."),
    ("One repeat more, fewer", "Alt+PgUp, Alt+PgDown", "Of the selected span's row."),
    (
        "Larger, smaller ends of the row",
        "Alt+Shift+PgUp, Alt+Shift+PgDown",
        f"By {100 * GRADING_STEP:g} % of the middle.",
    ),
)


class _Last(Value, frozen=True):
    """The last press: its key, its span, when it was, and the design and the step it made."""

    key: object
    span: int
    at_s: float
    design: Design
    step: int


class KeyPulls:
    """The selected span pulled by keys. `clock` tells seconds."""

    def __init__(self, session: Session, clock: Callable[[], float] = time.monotonic) -> None:
        self._session, self._clock = session, clock
        self._last: _Last | None = None
        # Where the pulled span is after the last press.
        self.span: int | None = None

    def press(self, event: QKeyEvent, span: int | None) -> str | None:
        """What to say of a key that pulls on the span; None for any other key."""
        pull = _pull_of(event)
        self.span = span
        if pull is None:
            return None
        if span is None:
            return "Select a span first: Right and Left choose one."
        try:
            return self._pull(pull, span)
        except FormSketchError as fault:
            return str(fault)

    def _pull(self, pull: _Pull, span: int) -> str:
        session, now_s = self._session, self._clock()
        pulled = pull.pulled(session.wire, span)
        last = self._last
        goes_on = (
            last is not None
            and (last.key, last.span) == (pull.key, span)
            and now_s - last.at_s <= ONE_STEP_S
            and session.design is last.design
            and session.step_count == last.step
        )
        after = pull.span_after(session.wire, span)
        session.change(pull.step_name(span), pulled.design, pulled.kept_mark, goes_on=goes_on)
        self.span = after
        self._last = _Last(pull.key, after, now_s, session.design, session.step_count)
        return pull.said(session, after)


class _Pull:
    """One kind of pull by one amount: `key` is the same for all presses that go on with one another."""

    name = ""

    def __init__(self, by: float) -> None:
        self.by = by

    @property
    def key(self) -> object:
        return type(self), self.by

    def step_name(self, span: int) -> str:
        return f"{self.name} span {span + 1}"

    def design(self, wire: WireInHand, span: int) -> Design:
        raise NotImplementedError

    def pulled(self, wire: WireInHand, span: int) -> Pulled:
        """The design and the mark that stays: where the span begins, unless a pull knows better."""
        return Pulled(self.design(wire, span), span)

    def span_after(self, wire: WireInHand, span: int) -> int:
        """Where the span is after the pull on this wire."""
        return span

    def said(self, session: Session, span: int) -> str:
        raise NotImplementedError


class _Opening(_Pull):
    """Turns the span less, down to straight, or more; a straight span closes to the left."""

    name = "Open or close"

    def design(self, wire: WireInHand, span: int) -> Design:
        address = wire.address(span)
        turn = span_at(wire.design, address).turn_deg
        if turn == 0 and self.by < 0:
            raise EditRefused(f"Span {span + 1} is straight; it cannot be opened further.")
        side = copysign(1.0, turn) if turn else float(wire.chain.side[wire.part(span)])
        size = max(0.0, round(abs(turn) + self.by, _PLACES))
        # A straight span turns 0, not -0.
        return change_span(wire.design, address, turn_deg=side * size + 0.0)

    def said(self, session: Session, span: int) -> str:
        turn = float(session.evaluation.spans.turn_deg[span])
        return f"Span {span + 1} turns {angle_text(turn)}, same length."


class _Lengthening(_Pull):
    """Lengthens or shortens the span as finished; its turn stays."""

    name = "Lengthen or shorten"

    def design(self, wire: WireInHand, span: int) -> Design:
        part, address = wire.part(span), wire.address(span)
        length = round(float(wire.chain.length_mm[part]) + self.by, _PLACES)
        if length <= 0:
            raise EditRefused(f"Span {span + 1} cannot be shortened further.")
        return change_span(wire.design, address, length_mm=length / float(wire.chain.repeat_scale[part]))

    def said(self, session: Session, span: int) -> str:
        length = float(session.evaluation.spans.finished_length_mm[span])
        return f"Span {span + 1} is {length_text(length)} long, same turn."


class _Hammering(_Pull):
    """Hammers the span's flare thinner or thicker, up to the round wire."""

    name = "Hammer"

    def design(self, wire: WireInHand, span: int) -> Design:
        address = wire.address(span)
        flare = span_at(wire.design, address).flare
        ratio = round((1.0 if flare is None else flare.thickness) + self.by, _PLACES)
        if flare is None and self.by > 0:
            raise EditRefused(f"Span {span + 1} is not hammered; it cannot be thicker than the wire.")
        if ratio >= 1:
            return change_span(wire.design, address, flare=None)
        least = least_ratio(wire.design.hammer.spread)
        if ratio < least:
            least_mm = least * wire.design.wire.diameter_mm
            raise EditRefused(
                f"Below {length_text(least_mm)} is beyond what hammering flat reaches in this wire."
            )
        return with_flare(wire.design, address, thickness=ratio)

    def said(self, session: Session, span: int) -> str:
        spans = session.evaluation.spans
        thin, wide = float(spans.thinnest_mm[span]), float(spans.widest_mm[span])
        return f"Span {span + 1} hammered to {length_text(thin)}, {length_text(wide)} wide."


class _Repeating(_Pull):
    """One repeat more or fewer in the span's row."""

    name = REPEATS

    def step_name(self, span: int) -> str:
        return self.name

    def pulled(self, wire: WireInHand, span: int) -> Pulled:
        row = row_of(wire, span)
        if row.times + self.by < 1:
            raise EditRefused("One repeat is the least; there is none to take away.")
        return row.with_times(row.times + int(self.by))

    def span_after(self, wire: WireInHand, span: int) -> int:
        row = row_of(wire, span)
        return row.span_within(span, row.times + int(self.by))

    def said(self, session: Session, span: int) -> str:
        times = _run_of(session, span).times
        cut = length_text(session.evaluation.cut_length_mm)
        return f"{times} repeat{'' if times == 1 else 's'}, cut length {cut}."


class _Grading(_Pull):
    """Larger or smaller ends of the span's row."""

    name = GRADING

    def step_name(self, span: int) -> str:
        return self.name

    def pulled(self, wire: WireInHand, span: int) -> Pulled:
        row = row_of(wire, span)
        if row.times == 1:
            raise EditRefused("One repeat alone cannot be graded.")
        return row.with_ends_scale(round(row.ends_scale + self.by, _PLACES))

    def said(self, session: Session, span: int) -> str:
        cut = length_text(session.evaluation.cut_length_mm)
        return f"Ends {grading_text(_run_of(session, span).ends_scale)} of the middle, cut length {cut}."


def _run_of(session: Session, span: int) -> Run:
    return session.design.form.runs[session.wire.address(span).run]


def _pull_of(event: QKeyEvent) -> _Pull | None:
    key, held = event.key(), event.modifiers()
    if key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
        # Some keyboards need Control and Alt together to type a bracket.
        typed = not held & CONTROL or bool(held & ALT)
        thinner = key == Qt.Key.Key_BracketLeft
        return _Hammering(-HAMMER_OF_WIRE if thinner else HAMMER_OF_WIRE) if typed else None
    if not held & ALT or held & CONTROL:
        return None
    turn = LONG_TURN_DEG if held & SHIFT else TURN_DEG
    length = LONG_LENGTH_MM if held & SHIFT else LENGTH_MM
    pulls: dict[int, _Pull] = {
        Qt.Key.Key_Up: _Opening(-turn),
        Qt.Key.Key_Down: _Opening(turn),
        Qt.Key.Key_Right: _Lengthening(length),
        Qt.Key.Key_Left: _Lengthening(-length),
        Qt.Key.Key_PageUp: _Grading(GRADING_STEP) if held & SHIFT else _Repeating(1),
        Qt.Key.Key_PageDown: _Grading(-GRADING_STEP) if held & SHIFT else _Repeating(-1),
    }
    return pulls.get(key)
