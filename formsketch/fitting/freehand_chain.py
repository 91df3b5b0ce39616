"""A chain of spans with one direction at each mark, and how its points move with its numbers.

The same curve as a written-out form (see geometry.spans), as arrays over spans, with derivatives. Lengths in
any one unit, angles in radians, left positive.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import (
    GAUSS_NODES,
    GAUSS_WEIGHTS,
    MOST_TURN_PER_INTERVAL_RAD,
    ComplexArray,
)

BoolArray = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
# Four nodes are exact to 1e-9 of an interval twice as long as a form's own, far below any tolerance here.
_TURN_PER_INTERVAL_RAD = 2 * MOST_TURN_PER_INTERVAL_RAD


@dataclass(frozen=True, eq=False)
class Links:
    """Spans in a row from a start pose, arrays of shape (spans,); angles at `corner` stand before a span.

    `turns`, `skews` and `bends` say which of turn, skew and corner are free to move; where `curvature` is
    a number the span is an arc of that curvature, its turn following its length.
    """

    start: complex
    heading: float
    length: FloatArray
    turn: FloatArray
    skew: FloatArray
    corner: FloatArray
    turns: BoolArray
    skews: BoolArray
    bends: BoolArray
    curvature: FloatArray

    @property
    def count(self) -> int:
        return len(self.length)

    @property
    def heading_from(self) -> FloatArray:
        """Direction at the beginning of each span."""
        before = np.concatenate(([0.0], np.cumsum(self.turn)[:-1]))
        return np.asarray(self.heading + before + np.cumsum(self.corner))

    @property
    def heading_to(self) -> float:
        """Direction at the end."""
        return float(self.heading + np.sum(self.turn) + np.sum(self.corner))

    @property
    def marks_at(self) -> FloatArray:
        """Length along the chain at each mark; shape (spans + 1,)."""
        return np.concatenate(([0.0], np.cumsum(self.length)))

    def spans_at(self, at: FloatArray) -> tuple[IntArray, FloatArray]:
        """Span and fraction of it at these lengths along the chain."""
        marks = self.marks_at
        span = np.clip(np.searchsorted(marks, at, side="right") - 1, 0, self.count - 1)
        return span, np.clip((at - marks[span]) / self.length[span], 0.0, 1.0)

    def eased(self, turns: BoolArray, skews: BoolArray) -> Links:
        """The same chain with fewer numbers left free; those no longer free become 0."""
        return replace(
            self,
            turns=turns,
            skews=skews,
            turn=np.where(turns | np.isfinite(self.curvature), self.turn, 0.0),
            skew=np.where(skews, self.skew, 0.0),
        )

    def moved(self, step: FloatArray, least_length: float) -> Links:
        """The chain after a step of its free numbers, in the order of `Placed.slopes`."""
        n = self.count
        length = self.length + step[3 : 3 + n]
        length = np.maximum(length, np.maximum(self.length / 4, least_length))
        angles = np.zeros((3, n))
        angles[np.stack((self.turns, self.skews, self.bends))] = step[3 + n :]
        turn = self.turn + angles[0]
        fixed = np.isfinite(self.curvature)
        turn[fixed] = self.curvature[fixed] * length[fixed]
        return replace(
            self,
            start=self.start + complex(step[0], step[1]),
            heading=self.heading + float(step[2]),
            length=length,
            turn=turn,
            skew=self.skew + angles[1],
            corner=self.corner + angles[2],
        )


@dataclass(frozen=True, eq=False)
class Placed:
    """Points of a chain at span numbers `span` and fractions `u` of them, all of shape (points,)."""

    links: Links
    span: IntArray
    u: FloatArray
    z: ComplexArray
    direction: ComplexArray
    marks: ComplexArray
    _turner: ComplexArray
    _own: ComplexArray
    _whole: ComplexArray

    def slopes(self, across: ComplexArray, of: IntArray | slice = slice(None)) -> FloatArray:
        """How far points `of` move along the unit vectors `across` for each free number; (rows, numbers).

        Numbers: start x and y, heading, all lengths, free turns, free skews, free corners.
        """
        links, n = self.links, self.links.count
        span, z = self.span[of], self.z[of]
        back = np.conj(across)
        frame = np.stack((across.real, across.imag, (back * 1j * z).real), axis=1)
        turner, length = self._turner, links.length
        moves = np.stack(
            (
                turner * self._whole[0],
                1j * turner * length * self._whole[1] - 1j * self.marks[1:],
                1j * turner * length * self._whole[2],
                -1j * self.marks[:-1],
            )
        )
        about = np.array([0.0, 1.0, 0.0, 1.0])
        rigid = np.array([[1.0, 0.0, self.marks[0].imag], [0.0, 1.0, -self.marks[0].real], [0.0, 0.0, 1.0]])
        columns = np.stack((moves.real, moves.imag, np.broadcast_to(about[:, None], moves.shape)))
        after = (frame @ columns.reshape(3, 4 * n)).reshape(len(z), 4, n)
        after[:, :3] *= (span[:, None] > np.arange(n))[:, None, :]
        after[:, 3] *= span[:, None] >= np.arange(n)
        own = self._own[:, of] * (turner[span] * back)
        rows = np.arange(len(z))
        after[rows, 0, span] = own[0].real
        after[rows, 1, span] = -length[span] * own[1].imag
        after[rows, 2, span] = -length[span] * own[2].imag
        fixed = np.isfinite(links.curvature)
        if fixed.any():
            after[:, 0, fixed] += after[:, 1, fixed] * links.curvature[fixed]
        return np.concatenate(
            (
                frame @ rigid,
                after[:, 0],
                after[:, 1, links.turns],
                after[:, 2, links.skews],
                after[:, 3, links.bends],
            ),
            axis=1,
        )


def place(links: Links, span: IntArray, u: FloatArray) -> Placed:
    """Evaluate a chain at these fractions of these spans."""
    turn, skew = links.turn, links.skew
    pieces = np.maximum(1, np.ceil((np.abs(turn) + np.abs(skew)) / _TURN_PER_INTERVAL_RAD)).astype(np.int64)
    first = np.concatenate(([0], np.cumsum(pieces + 1)))
    knot_span = np.repeat(np.arange(links.count), pieces + 1)
    width = 1.0 / pieces
    knot = (np.arange(first[-1]) - first[knot_span]) * width[knot_span]
    # One pass over all intervals: those between knots, then those from a knot to a point.
    below = np.minimum((u * pieces[span]).astype(np.int64), pieces[span] - 1)
    steps = np.concatenate((np.where(knot < 1 - width[knot_span] / 2, width[knot_span], 0.0), u - below * width[span]))
    begin = np.concatenate((knot, below * width[span]))
    of = np.concatenate((knot_span, span))
    at = begin + steps * GAUSS_NODES[:, None]
    bow = at * at - at
    angle = turn[of] * at + skew[of] * bow
    weighted = (np.cos(angle) + 1j * np.sin(angle)) * (GAUSS_WEIGHTS[:, None] * steps)
    parts = np.stack((weighted.sum(0), (weighted * at).sum(0), (weighted * bow).sum(0)))
    knots = first[-1]
    run = np.zeros((3, knots + 1), dtype=complex)
    np.cumsum(parts[:, :knots], axis=1, out=run[:, 1:])
    begins = run[:, first[:-1]]
    whole = run[:, first[1:] - 1] - begins
    own = run[:, first[span] + below] - begins[:, span] + parts[:, knots:]
    heading = links.heading_from
    turner = np.cos(heading) + 1j * np.sin(heading)
    marks = links.start + np.concatenate(([0.0], np.cumsum(turner * links.length * whole[0])))
    z = marks[span] + turner[span] * links.length[span] * own[0]
    direction = turner[span] * np.exp(1j * (turn[span] * u + skew[span] * (u * u - u)))
    return Placed(links, span, u, z, direction, marks, turner, own, whole)


def closing_gap(placed: Placed, smoothly: bool) -> tuple[FloatArray, FloatArray]:
    """How far the end is from the start (x, y, and direction if wanted), and its slopes.

    The first and last points placed must be the chain's two ends.
    """
    links = placed.links
    gap = placed.z[-1] - placed.z[0]
    ways = np.array([1.0, 1j])
    slopes = placed.slopes(ways, np.array([-1, -1])) - placed.slopes(ways, np.array([0, 0]))
    if not smoothly:
        return np.array([gap.real, gap.imag]), slopes
    turned = links.heading_to - links.heading
    short = turned - 2 * np.pi * round(turned / (2 * np.pi))
    fixed = np.where(np.isfinite(links.curvature), links.curvature, 0.0)
    turning = np.concatenate(
        (np.zeros(3), fixed, np.ones(links.turns.sum()), np.zeros(links.skews.sum()), np.ones(links.bends.sum()))
    )
    return np.array([gap.real, gap.imag, short]), np.vstack((slopes, turning))
