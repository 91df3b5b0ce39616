"""Shaping the form between its marks: directions, bellies, skew, and rows of like spans.

As in `pulling`: from wire to design, targets and angles in the wire's own frame, every repeat follows, and
what cannot be raises `EditRefused`. Where a span meets the end of a repeat and cannot be solved alone, the
rest of the piece swings.
"""

from __future__ import annotations

from collections.abc import Callable
from math import copysign, isclose
from typing import Literal

import numpy as np
from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, replace_spans, span_at
from formsketch.design.model import Design, Span
from formsketch.design.transforms import repeat_scales
from formsketch.errors import EditRefused
from formsketch.fitting.pulling import Pulled, WireInHand, pull_mark
from formsketch.geometry.joining import SHORTEST_JOIN_MM, SpanShape, join_poses
from formsketch.geometry.spans import span_points

Constraint = Literal["free", "along", "square"]

# Spans of a row turn alike to this; spans to be made even are within this share of one another.
SAME_TURN_DEG = 1e-6
EVEN_SHARE = 0.2
# The belly is looked for to the first, and taken to be found within the second share of the span's length.
_BELLY_TOLERANCE, _ACCEPTED_BELLY = 1e-12, 1e-8
_MOST_BELLY_STEPS, _FIRST_BELLY_STEP_RAD, _MOST_BELLY_STEP_RAD = 40, 1e-3, 0.15
# Between two steps a scroll changes less than this, or it has become another one.
_MOST_SKEW_STEP_RAD = np.pi
# The slope is taken to be at least this share of an arc's: where it is less a belly can go no further.
_LEAST_BELLY_SLOPE = 0.02
_BELLY_TOO_FAR = "This span cannot be opened or closed that far while both its marks stay."

# By how much the directions at the two marks of a span turn, rad, as written (before turning over).
_Turned = tuple[float, float]


def turn_direction(wire: WireInHand, mark: int, angle_rad: float) -> Pulled:
    """Turn the wire's direction at a mark by an angle, left positive; the marks stay where they are.

    Both neighbouring spans are solved anew, a sharp bend between them is kept. Where two runs meet, the
    spans that stand alone are; if neither does, the span before the mark in all its repeats.
    """
    before, after = mark - 1, mark
    solved = [span for span in (before, after) if 0 <= span < wire.span_count]
    if len(solved) == 2 and wire.address(before).run != wire.address(after).run:
        solved = [span for span in solved if wire.alone(span)] or [before]
    turned: dict[SpanAddress, _Turned] = {}
    for span in solved:
        begin, end = turned.get(wire.address(span), (0.0, 0.0))
        angle = angle_rad * _side(wire, span)
        turned[wire.address(span)] = (begin, angle) if span == before else (angle, end)
    design = _solved_anew(wire, turned)
    if before in solved:
        return Pulled(design, before, turned[wire.address(before)][0] * _side(wire, before))
    return Pulled(design, after + 1, turned[wire.address(after)][1] * _side(wire, after))


def pull_belly_keeping_marks(wire: WireInHand, span: int, target_mm: complex) -> Pulled:
    """Open or close a span between its two marks until its middle stands as far out as a target.

    The span's length changes, and the directions at its marks turn evenly; its neighbours are solved anew
    to meet them where they stand alone or in one repeat with it. At an outer mark the end simply turns.
    """
    at, chord = wire.mark_mm(span), wire.mark_mm(span + 1) - wire.mark_mm(span)
    if abs(chord) < SHORTEST_JOIN_MM:
        raise EditRefused("The marks of this span lie on one another; it has no belly to pull between them.")
    out_mm = ((target_mm - at) * np.conj(chord) / abs(chord)).imag
    angle, shape = _belly(wire, span, float(out_mm))
    as_written = angle * _side(wire, span)
    address = wire.address(span)
    turned: dict[SpanAddress, _Turned] = {address: (as_written, -as_written)}
    if not wire.alone(span):
        _turn_within_motif(wire.design, address, as_written, turned)
    return Pulled(_solved_anew(wire, turned, {address: wire.written(span, shape)}), span, angle)


def pull_skew(wire: WireInHand, span: int, skew_deg: float) -> Pulled:
    """Give a span this skew, as it lies; its first mark, length and turn are kept, the rest swings."""
    shape = wire.shape(span)
    skewed = SpanShape(shape.length_mm, shape.turn_rad, float(np.deg2rad(skew_deg)))
    return Pulled(replace_spans(wire.design, {wire.address(span): wire.written(span, skewed)}), span)


def open_row(wire: WireInHand, span: int, turn_deg: float) -> Pulled:
    """Open or close a row: every span that turns as far as this one turns this far, lengths and sides kept.

    turn_deg: above 0. Raises `EditRefused` for a span that does not turn: it has no side.
    """
    turn = span_at(wire.design, wire.address(span)).turn_deg
    if abs(turn) <= SAME_TURN_DEG:
        raise EditRefused("This span does not turn; only a row of spans that turn can be opened or closed.")
    if not turn_deg > 0:
        raise EditRefused(f"Expected a turn above 0 degrees for the spans of a row, got {turn_deg:g}.")
    row = _spans_where(wire.design, lambda s: isclose(abs(s.turn_deg), abs(turn), abs_tol=SAME_TURN_DEG))
    changes = {a: replace(s, turn_deg=copysign(turn_deg, s.turn_deg)) for a, s in row.items()}
    return Pulled(replace_spans(wire.design, changes), span)


def even_row(wire: WireInHand, span: int) -> Pulled:
    """Make all spans like this one even: each turns, to its own side, and is as long as their mean.

    Spans are like it when turn and length are within `EVEN_SHARE` of its. Means are over all repeats, so
    that the wire keeps its length. Raises `EditRefused` when there is no other such span.
    """
    model = span_at(wire.design, wire.address(span))
    row = _spans_where(
        wire.design,
        lambda s: (
            isclose(s.length_mm, model.length_mm, rel_tol=EVEN_SHARE)
            and isclose(abs(s.turn_deg), abs(model.turn_deg), rel_tol=EVEN_SHARE, abs_tol=SAME_TURN_DEG)
        ),
    )
    if len(row) == 1:
        raise EditRefused(f"No other span is like this one to within {100 * EVEN_SHARE:.0f} %.")
    runs = [wire.design.form.runs[address.run] for address in row]
    sizes = [sum(repeat_scales(run.times, run.ends_scale)) for run in runs]
    length = float(np.average([s.length_mm for s in row.values()], weights=sizes))
    turn = float(np.average([abs(s.turn_deg) for s in row.values()], weights=[run.times for run in runs]))
    changes = {
        address: replace(s, length_mm=length, turn_deg=copysign(turn, s.turn_deg))
        for address, s in row.items()
    }
    return Pulled(replace_spans(wire.design, changes), span)


def constrained_target(wire: WireInHand, mark: int, target_mm: complex, constrain: Constraint) -> complex:
    """The target led along the wire's direction at a mark, or square to it; at a sharp bend halfway."""
    if constrain == "free":
        return target_mm
    at, direction = wire.mark_mm(mark), complex(np.exp(1j * _direction_rad(wire, mark)))
    if constrain == "square":
        direction *= 1j
    return at + direction * ((target_mm - at) * direction.conjugate()).real


def pull_mark_constrained(
    wire: WireInHand, mark: int, target_mm: complex, constrain: Constraint = "free"
) -> Pulled:
    """`pull_mark`, the target led along the wire's direction at the mark or square to it."""
    return pull_mark(wire, mark, constrained_target(wire, mark, target_mm, constrain))


def _direction_rad(wire: WireInHand, mark: int) -> float:
    if mark == 0:
        return wire.heading_from_rad(0)
    reaches = wire.heading_to_rad(mark - 1)
    return reaches if mark == wire.span_count else (reaches + wire.heading_from_rad(mark)) / 2


def _side(wire: WireInHand, span: int) -> float:
    """1, or -1 where the span lies turned over."""
    return float(wire.chain.side[wire.part(span)])


def _spans_where(design: Design, test: Callable[[Span], bool]) -> dict[SpanAddress, Span]:
    """The spans written in the design that pass a test."""
    runs = enumerate(design.form.runs)
    return {SpanAddress(r, i): s for r, run in runs for i, s in enumerate(run.spans) if test(s)}


def _belly(wire: WireInHand, span: int, out_mm: float) -> tuple[float, SpanShape]:
    """How far the directions at a span's marks turn, left at its first, and the span whose middle is there.

    Out is to the left of the chord. The middle of an arc stands -chord/2 tan(turn/4) out, so that a secant
    in tan(turn/4) is there at once for an arc and soon for any other span. Each step begins from the span
    found last and is small enough for a scroll to stay the scroll it is.
    """
    start = wire.shape(span)
    rounds = round(start.turn_rad / (4 * np.pi))
    least_slope = _LEAST_BELLY_SLOPE * abs(wire.mark_mm(span + 1) - wire.mark_mm(span)) / 2
    angle, found, out, tangent = 0.0, start, _middle_out_mm(start), float(np.tan(start.turn_rad / 4))
    step = _FIRST_BELLY_STEP_RAD
    for _ in range(_MOST_BELLY_STEPS):
        if abs(out - out_mm) <= _BELLY_TOLERANCE * start.length_mm:
            break
        angle += step
        like = SpanShape(found.length_mm, start.turn_rad - 2 * angle, found.skew_rad)
        found = _joined_anew(wire, span, angle, -angle, like)
        if abs(found.skew_rad - like.skew_rad) > _MOST_SKEW_STEP_RAD:
            raise EditRefused(_BELLY_TOO_FAR)
        before, was = tangent, out
        tangent, out = float(np.tan((start.turn_rad - 2 * angle) / 4)), _middle_out_mm(found)
        slope = (out - was) / (tangent - before) if tangent != before else 0.0
        if abs(slope) < least_slope:
            slope = float(np.copysign(least_slope, slope))
        turn = 4 * (float(np.arctan(tangent + (out_mm - out) / slope)) + np.pi * rounds)
        step = (start.turn_rad - turn) / 2 - angle
        step = min(max(step, -_MOST_BELLY_STEP_RAD), _MOST_BELLY_STEP_RAD)
    if abs(out - out_mm) > _ACCEPTED_BELLY * start.length_mm:
        raise EditRefused(_BELLY_TOO_FAR)
    return angle, found


def _middle_out_mm(shape: SpanShape) -> float:
    """How far left of its chord the middle of a span stands."""
    middle, end = span_points(shape.length_mm, shape.turn_rad, shape.skew_rad, [0.5, 1.0])
    return float((middle * np.conj(end)).imag / abs(end))


def _turn_within_motif(
    design: Design, address: SpanAddress, angle_rad: float, turned: dict[SpanAddress, _Turned]
) -> None:
    """Have the spans before and after one in its repeated motif meet it, round the repeat and on."""
    run = design.form.runs[address.run]
    count = len(run.spans)
    if count == 1:
        return
    before = SpanAddress(address.run, (address.index - 1) % count)
    after = SpanAddress(address.run, (address.index + 1) % count)

    def side_at(index: int) -> float:
        over = run.spans[index].turned_over != (run.turned_over and index == 0)
        return -1.0 if over else 1.0

    turned[before] = (0.0, angle_rad * side_at(address.index))
    begin, end = -angle_rad * side_at(after.index), turned.get(after, (0.0, 0.0))[1]
    turned[after] = (begin, end)


def _solved_anew(
    wire: WireInHand, turned: dict[SpanAddress, _Turned], solved: dict[SpanAddress, Span] | None = None
) -> Design:
    """Spans solved anew between their marks, but for those solved already.

    Spans that stand alone beside them are made to meet them.
    """
    meeting: dict[SpanAddress, list[float]] = {}
    for address, (begin, end) in turned.items():
        for span in _places(wire, address):
            for beside, which, angle in ((span - 1, 1, begin), (span + 1, 0, end)):
                if not angle or not 0 <= beside < wire.span_count or not wire.alone(beside):
                    continue
                if (other := wire.address(beside)) not in turned:
                    angles = meeting.setdefault(other, [0.0, 0.0])
                    angles[which] = angle * _side(wire, span) * _side(wire, beside)
    changes = dict(solved or {})
    for address, (begin, end) in (*turned.items(), *meeting.items()):
        if address not in changes:
            span = _places(wire, address)[0]
            side = _side(wire, span)
            changes[address] = wire.written(span, _joined_anew(wire, span, begin * side, end * side))
    return replace_spans(wire.design, changes)


def _places(wire: WireInHand, address: SpanAddress) -> list[int]:
    """Where along the wire the span written at this address lies."""
    chain = wire.chain
    parts = np.flatnonzero((chain.run == address.run) & (chain.index == address.index))
    return [int(part) - chain.spans.start for part in parts]


def _joined_anew(
    wire: WireInHand, span: int, begin_rad: float, end_rad: float, like: SpanShape | None = None
) -> SpanShape:
    """The span between its two marks with the directions there turned by these angles, as it lies.

    `like` says which of the spans that do so is meant; without it the one most like the span as it is.
    """
    shape = wire.shape(span)
    chord = (wire.mark_mm(span + 1) - wire.mark_mm(span)) * np.exp(-1j * wire.heading_from_rad(span))
    if like is None:
        like = SpanShape(shape.length_mm, shape.turn_rad + end_rad - begin_rad, shape.skew_rad)
    return join_poses(complex(chord), begin_rad, shape.turn_rad + end_rad, like)
