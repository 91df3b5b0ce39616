"""Pulling on the form: a mark, the belly of a span, a flare. Each is a function from design to design.

Targets are given in the wire's own frame: the start mark at 0, the first span beginning along +x, y up.
A pull says which mark keeps its place and direction, so that a view can hold the rest of the piece still.
Where the span is part of a repeat, every repeat follows. A pull that cannot be raises `EditRefused`.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.design.edits import SpanAddress, change_span, replace_spans, span_at, with_flare
from formsketch.design.model import Design, Span
from formsketch.errors import EditRefused
from formsketch.fitting.hammering import flare_of_thickness, flare_of_width
from formsketch.forging.forged import forge_flares
from formsketch.geometry.chain import Chain
from formsketch.geometry.joining import SpanShape, arc_to, join_poses
from formsketch.geometry.spans import FloatArray, unit_gauss
from formsketch.geometry.trace import Trace
from formsketch.values import Result, Value

# One pull looks for the belly this far to either side of the present turn, in steps of a degree and a half,
# and then ever more finely, to a ten-thousandth of a degree.
_BELLY_REACH_DEG, _BELLY_STEPS = 90.0, 121
_BELLY_REFINEMENTS = 4
_NODES, _WEIGHTS = unit_gauss(12)


class Pulled(Value, frozen=True):
    """The design after a pull, and the mark whose place and direction stay as they were.

    `turned_rad`: by how much the direction at the kept mark turned all the same, where a pull turns every
    direction it could be held by.
    """

    design: Design
    kept_mark: int
    turned_rad: float = 0.0


class WireInHand(Result, frozen=True):
    """A design with its chain and its trace in the wire's own frame."""

    design: Design
    chain: Chain
    trace: Trace

    @cached_property
    def _stock_fractions(self) -> FloatArray:
        """Stock length / finished length of each distinct flare, then of unhammered wire."""
        wire = self.design.wire
        return forge_flares(self.chain.flares, wire.diameter_mm, self.design.hammer.spread).stock_fraction

    def stock_length_mm(self, span: int) -> float:
        """Straight wire in a span before hammering."""
        part = self.part(span)
        return float(self.chain.length_mm[part] * self._stock_fractions[self.chain.flare[part]])

    @property
    def span_count(self) -> int:
        return self.chain.spans.stop - self.chain.spans.start

    def part(self, span: int) -> int:
        """Number of a span's part in the chain."""
        return self.chain.spans.start + span

    def address(self, span: int) -> SpanAddress:
        """Where a span is written in the design."""
        part = self.part(span)
        return SpanAddress(int(self.chain.run[part]), int(self.chain.index[part]))

    def mark_mm(self, mark: int) -> complex:
        """Place of a mark, 0 to the number of spans."""
        if mark == self.span_count:
            return complex(self.trace.z_mm[self.trace.first[self.part(mark)] - 1])
        return complex(self.trace.z_mm[self.trace.first[self.part(mark)]])

    def heading_from_rad(self, span: int) -> float:
        """Direction in which a span leaves its first mark."""
        return float(self.chain.heading_rad[self.part(span)])

    def heading_to_rad(self, span: int) -> float:
        """Direction in which a span reaches its last mark."""
        return self.heading_from_rad(span) + float(self.chain.turn_rad[self.part(span)])

    def shape(self, span: int) -> SpanShape:
        """The span as it lies, turned over or not."""
        part = self.part(span)
        chain = self.chain
        return SpanShape(
            float(chain.length_mm[part]), float(chain.turn_rad[part]), float(chain.skew_rad[part])
        )

    def written(self, span: int, shape: SpanShape) -> Span:
        """The span of the design that lies as `shape` where this span lies."""
        part = self.part(span)
        side, scale = float(self.chain.side[part]), float(self.chain.repeat_scale[part])
        return replace(
            span_at(self.design, self.address(span)),
            length_mm=float(shape.length_mm) / scale,
            turn_deg=float(np.rad2deg(shape.turn_rad)) * side,
            skew_deg=float(np.rad2deg(shape.skew_rad)) * side,
        )

    def alone(self, span: int) -> bool:
        """Whether this span is written for this one place only."""
        return self.design.form.runs[self.address(span).run].times == 1


def pull_mark(wire: WireInHand, mark: int, target_mm: complex) -> Pulled:
    """Move a mark to a target; its two neighbouring spans are solved anew, directions at marks kept.

    The spans on both sides are solved where each stands alone or both lie in one repeat; where a repeat
    begins or ends at the mark only the span before it is, and the rest of the piece follows. An end of
    the wire that is an arc stays an arc.
    """
    last = wire.span_count
    if mark == 0:
        return Pulled(_pull_start(wire, target_mm), 1)
    before = mark - 1
    heading = wire.heading_from_rad(before)
    chord = (target_mm - wire.mark_mm(before)) * np.exp(-1j * heading)
    shape = wire.shape(before)
    if mark == last and abs(shape.skew_rad) < 1e-12:
        return Pulled(_write(wire, {before: arc_to(chord, shape)}), before)
    changes = {before: join_poses(chord, 0.0, wire.heading_to_rad(before) - heading, shape)}
    if mark < last and _solved_together(wire, before, mark):
        onward = wire.heading_from_rad(mark)
        rest = (wire.mark_mm(mark + 1) - target_mm) * np.exp(-1j * onward)
        changes[mark] = join_poses(rest, 0.0, wire.heading_to_rad(mark) - onward, wire.shape(mark))
    return Pulled(_write(wire, changes), before)


def _solved_together(wire: WireInHand, before: int, after: int) -> bool:
    a, b = wire.part(before), wire.part(after)
    chain = wire.chain
    in_one_repeat = chain.run[a] == chain.run[b] and chain.repeat[a] == chain.repeat[b]
    return bool(in_one_repeat) or (wire.alone(before) and wire.alone(after))


def _pull_start(wire: WireInHand, target_mm: complex) -> Design:
    """The first span walked backwards: an arc stays an arc, a scroll keeps its direction at the mark."""
    shape = wire.shape(0)
    backwards = wire.heading_to_rad(0) + np.pi
    chord = (target_mm - wire.mark_mm(1)) * np.exp(-1j * backwards)
    # Seen backwards a span turns to the other side and is skewed the same way.
    seen = SpanShape(shape.length_mm, -shape.turn_rad, shape.skew_rad)
    if abs(shape.skew_rad) < 1e-12:
        solved = arc_to(chord, seen)
    else:
        solved = join_poses(chord, 0.0, wire.heading_from_rad(0) + np.pi - backwards, seen)
    return _write(wire, {0: SpanShape(solved.length_mm, -solved.turn_rad, solved.skew_rad)})


def _write(wire: WireInHand, shapes: dict[int, SpanShape]) -> Design:
    return replace_spans(
        wire.design, {wire.address(span): wire.written(span, s) for span, s in shapes.items()}
    )


def pull_belly(wire: WireInHand, span: int, target_mm: complex) -> Pulled:
    """Open or close a span at constant length so that its middle comes nearest to a target.

    The wire before the span stays where it is, the rest of the piece swings, as it does in pliers.
    """
    shape = wire.shape(span)
    target = (target_mm - wire.mark_mm(span)) * np.exp(-1j * wire.heading_from_rad(span))
    turn, reach = shape.turn_rad, np.deg2rad(_BELLY_REACH_DEG)
    for _ in range(_BELLY_REFINEMENTS):
        turns = turn + np.linspace(-reach, reach, _BELLY_STEPS)
        turn = float(turns[np.argmin(np.abs(_places(shape, 0.5, turns, shape.skew_rad) - target))])
        reach *= 4 / _BELLY_STEPS
    return Pulled(_write(wire, {span: SpanShape(shape.length_mm, turn, shape.skew_rad)}), span)


def _places(
    shape: SpanShape, u: float, turns_rad: FloatArray | float, skews_rad: FloatArray | float
) -> NDArray[np.complex128]:
    """Where the span is at the fraction `u` for each turn or skew, leaving 0 along +x."""
    pieces = 1 + int((abs(shape.turn_rad) + abs(shape.skew_rad) + 2 * np.pi) / np.pi)
    v = (u * (np.arange(pieces)[:, None] + _NODES) / pieces).ravel()[:, None]
    angle = v * turns_rad + (v * (v - 1)) * skews_rad
    weight = np.tile(_WEIGHTS * (u / pieces), pieces)
    places = np.empty(angle.shape[1], dtype=complex)
    # A matrix product here would wake threads that spin for longer than the sum takes.
    places.real = np.einsum("v,vt->t", weight, np.cos(angle))
    places.imag = np.einsum("v,vt->t", weight, np.sin(angle))
    return np.asarray(shape.length_mm * places)


def pull_flare(wire: WireInHand, span: int, plan_width_mm: float) -> Pulled:
    """Hammer a span until its plan width at the thinnest place is this; begins a flare where there is none.

    Pulling a flat flare to the wire's own diameter or less takes the hammering away. An edge-hammered
    span thins in plan: its plan width is its thickness.
    """
    design, address = wire.design, wire.address(span)
    flare = flare_of_width(design, span_at(design, address).flare, plan_width_mm)
    return Pulled(change_span(design, address, flare=flare), span)


def slide_flare(wire: WireInHand, span: int, centre: float) -> Pulled:
    """Move the thinnest place of a span's flare to this fraction of its length.

    Of the whole flare's length, where the span shows a part of it.
    """
    return Pulled(with_flare(wire.design, wire.address(span), centre=float(centre)), span)


def stretch_flare(wire: WireInHand, span: int, hold: float) -> Pulled:
    """Hold a span's flare at its thickness over this fraction of its length."""
    return Pulled(with_flare(wire.design, wire.address(span), hold=hold), span)


def slide_mark(wire: WireInHand, mark: int, stock_before_mm: float, stock_after_mm: float) -> Pulled:
    """Slide a mark along the straight wire: wire passes from one neighbouring span to the other.

    The span before the mark gets this much straight wire, the span after it the rest; turns and hammering
    stay. An end mark slides by lengthening its one span. Where both spans are one written span, or either
    is repeated, every repeat follows.
    """
    before, after = mark - 1, mark
    changes: dict[SpanAddress, Span] = {}
    for span, stock_mm in ((before, stock_before_mm), (after, stock_after_mm)):
        if 0 <= span < wire.span_count and wire.address(span) not in changes:
            if stock_mm <= 0:
                raise EditRefused("A mark cannot slide past its neighbour.")
            written = span_at(wire.design, wire.address(span))
            old_mm = wire.stock_length_mm(span)
            changes[wire.address(span)] = replace(
                written, length_mm=written.length_mm * float(stock_mm) / old_mm
            )
    return Pulled(replace_spans(wire.design, changes), max(0, before))


def hammer_to(wire: WireInHand, span: int, thickness_mm: float) -> Pulled:
    """Hammer a span to this thickness at its thinnest; the wire's own diameter takes the hammering away.

    Keeps the flare's place and face; begins one in the middle where there is none.
    """
    design, address = wire.design, wire.address(span)
    flare = flare_of_thickness(design, span_at(design, address).flare, thickness_mm)
    return Pulled(change_span(design, address, flare=flare), span)


def pull_skew_to(wire: WireInHand, span: int, u: float, target_mm: complex) -> Pulled:
    """Make a span tighten towards one end so that its place at the fraction `u` comes nearest to a target.

    Length, turn and the mark further from that place stay: from the near one skew would move it so little
    that a small pull made a large skew. `u` is not 0, 1/2 or 1, where skew moves nothing or little.
    """
    shape, kept, way_rad = wire.shape(span), span, wire.heading_from_rad(span)
    seen = shape
    if u < 0.5:
        # Seen backwards a span turns to the other side and is skewed the same way.
        seen, u = SpanShape(shape.length_mm, -shape.turn_rad, shape.skew_rad), 1 - u
        kept, way_rad = span + 1, wire.heading_to_rad(span) + np.pi
    target = (target_mm - wire.mark_mm(kept)) * np.exp(-1j * way_rad)
    skew, reach = shape.skew_rad, np.deg2rad(2 * _BELLY_REACH_DEG)
    for _ in range(_BELLY_REFINEMENTS):
        skews = skew + np.linspace(-reach, reach, _BELLY_STEPS)
        skew = float(skews[np.argmin(np.abs(_places(seen, u, seen.turn_rad, skews) - target))])
        reach *= 4 / _BELLY_STEPS
    return Pulled(_write(wire, {span: SpanShape(shape.length_mm, shape.turn_rad, skew)}), kept)
