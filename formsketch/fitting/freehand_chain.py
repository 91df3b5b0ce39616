"""A chain of spans with one direction at each mark, and how its points move with its numbers.

The same curve as a written-out form (see geometry.spans), as arrays over spans, with derivatives. Lengths in
any one unit, angles in radians, left positive.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from msgspec.structs import replace

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import (
    GAUSS_NODES,
    GAUSS_WEIGHTS,
    MOST_TURN_PER_INTERVAL_RAD,
    ComplexArray,
)
from formsketch.values import Result

BoolArray = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
# Four nodes on an interval four times as long as a form's own are exact to 1e-9 of it: enough here.
_TURN_PER_INTERVAL_RAD = 4 * MOST_TURN_PER_INTERVAL_RAD
_ARRAYS = ("length", "turn", "skew", "corner", "turns", "skews", "bends", "held")
_SAME_WAY_RAD = 1e-9


class Links(Result, frozen=True):
    """Spans in a row from a start pose, arrays of shape (spans,); a corner stands before its span.

    `turns`, `skews` and `bends` say which turns, skews and corners are free to move. Where `held` is not 0
    the span is an arc of that curvature and its turn follows its length.
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
    held: FloatArray

    @property
    def count(self) -> int:
        return len(self.length)

    @property
    def heading_from(self) -> FloatArray:
        """Direction at the beginning of each span."""
        return np.asarray(self.heading + np.cumsum(self.turn + self.corner) - self.turn)

    @property
    def heading_to(self) -> float:
        """Direction at the end."""
        return float(self.heading + np.sum(self.turn + self.corner))

    @property
    def turning(self) -> float:
        """A bound on all the turning of the chain, to and fro."""
        return float(np.sum(np.abs(self.turn) + np.abs(self.skew)))

    @property
    def marks_at(self) -> FloatArray:
        """Length along the chain at each mark; shape (spans + 1,)."""
        marks = np.zeros(self.count + 1)
        np.cumsum(self.length, out=marks[1:])
        return marks

    @property
    def points_at_marks(self) -> ComplexArray:
        """The points at all marks; shape (spans + 1,)."""
        return place(self, np.zeros(1, dtype=np.int64), np.zeros(1)).marks

    def part(self, first: int, last: int) -> Links:
        """The spans from one number up to, not including, another."""
        start, heading = self.points_at_marks[first], self.heading_from[first]
        arrays: dict[str, Any] = {name: getattr(self, name)[first:last] for name in _ARRAYS}
        return replace(self, **arrays | {"start": complex(start), "heading": float(heading)})

    def followed_by(self, other: Links) -> Links:
        """This chain and another that begins where this ends, with a corner if it begins in another way."""
        arrays: dict[str, Any] = {
            name: np.concatenate((getattr(self, name), getattr(other, name))) for name in _ARRAYS
        }
        bend = float(np.angle(np.exp(1j * (other.heading - self.heading_to))))
        arrays["bends"][self.count] = abs(bend) > _SAME_WAY_RAD
        arrays["corner"][self.count] = bend if abs(bend) > _SAME_WAY_RAD else 0.0
        return replace(self, **arrays)

    def without(self, span: int) -> Links:
        """The chain with a span taken out."""
        arrays: dict[str, Any] = {name: np.delete(getattr(self, name), span) for name in _ARRAYS}
        return replace(self, **arrays)

    def spans_at(self, at: FloatArray) -> tuple[IntArray, FloatArray]:
        """Span and fraction of it at these lengths along the chain."""
        marks = self.marks_at
        span = np.clip(np.searchsorted(marks, at, side="right") - 1, 0, self.count - 1)
        return span, np.clip((at - marks[span]) / self.length[span], 0.0, 1.0)

    def moved(self, step: FloatArray, least_length: float) -> Links:
        """The chain after a step of its free numbers, in the order of `Placed.slopes`."""
        n = self.count
        length = self.length + step[3 : 3 + n]
        length = np.maximum(length, np.maximum(self.length / 4, least_length))
        angles = np.stack((self.turn, self.skew, self.corner))
        angles[np.stack((self.turns, self.skews, self.bends))] += step[3 + n :]
        return replace(
            self,
            start=self.start + complex(step[0], step[1]),
            heading=self.heading + float(step[2]),
            length=length,
            turn=np.where(self.held != 0, self.held * length, angles[0]),
            skew=angles[1],
            corner=angles[2],
        )


class Placed(Result, frozen=True):
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

        Numbers: start x and y, heading, all lengths, free turns, skews and corners.
        """
        links, n = self.links, self.links.count
        span, z = self.span[of], self.z[of]
        back = np.conj(across)
        frame = np.stack((across.real, across.imag, (back * 1j * z).real), axis=1)
        # How the whole plane beyond a span moves (shift x and y, turn about 0) with its length at constant
        # turn and skew, its turn, its skew, and the corner before it.
        sides = self._turner * links.length
        shifts = np.stack(
            (
                self._turner * self._whole[0],
                1j * (sides * self._whole[1] - self.marks[1:]),
                1j * sides * self._whole[2],
                -1j * self.marks[:-1],
            )
        )
        turns = np.broadcast_to(np.array([[0.0], [1.0], [0.0], [1.0]]), shifts.shape)
        motions = np.stack((shifts.real, shifts.imag, turns)).reshape(3, 4 * n)
        slopes = np.einsum("ri,ij->rj", frame, motions).reshape(len(z), 4, n)
        beyond = span[:, None] - np.arange(n)
        slopes[:, :3] *= (beyond > 0)[:, None, :]
        slopes[:, 3] *= beyond >= 0
        # Within the span itself.
        own = self._own[:, of] * (self._turner[span] * back)
        rows = np.arange(len(z))
        slopes[rows, 0, span] = own[0].real
        slopes[rows, 1, span] = -links.length[span] * own[1].imag
        slopes[rows, 2, span] = -links.length[span] * own[2].imag
        slopes[:, 0] += links.held * slopes[:, 1]
        rigid = np.array([[1.0, 0.0, self.marks[0].imag], [0.0, 1.0, -self.marks[0].real], [0.0, 0.0, 1.0]])
        free = (slopes[:, 1, links.turns], slopes[:, 2, links.skews], slopes[:, 3, links.bends])
        return np.concatenate((frame @ rigid, slopes[:, 0], *free), axis=1)


def place(links: Links, span: IntArray, u: FloatArray) -> Placed:
    """Evaluate a chain at these fractions of these spans."""
    turn, skew, count = links.turn, links.skew, links.count
    pieces = np.ceil((np.abs(turn) + np.abs(skew)) / _TURN_PER_INTERVAL_RAD + 1e-9).astype(np.int64)
    first = np.zeros(count + 1, dtype=np.int64)
    np.cumsum(pieces, out=first[1:])
    width = 1.0 / pieces
    # One pass over all intervals: the equal ones of each span, then those from the last knot to a point.
    knots = int(first[-1])
    of = np.empty(knots + len(span), dtype=np.int64)
    of[:knots], of[knots:] = np.repeat(np.arange(count), pieces), span
    below = np.minimum((u * pieces[span]).astype(np.int64), pieces[span] - 1)
    begin, steps = np.empty(len(of)), width[of]
    begin[:knots] = np.arange(knots) - first[of[:knots]]
    begin[knots:] = below
    begin *= steps
    steps[knots:] = u - begin[knots:]
    at = begin + steps * GAUSS_NODES[:, None]
    bow = at * (at - 1)
    angle = turn[of] * at + skew[of] * bow
    terms = np.empty((3, 2, *at.shape))
    np.cos(angle, out=terms[0, 0])
    np.sin(angle, out=terms[0, 1])
    np.multiply(terms[0], at, out=terms[1])
    np.multiply(terms[0], bow, out=terms[2])
    sums = np.einsum("g,abgk->bak", GAUSS_WEIGHTS, terms) * steps
    parts = np.empty(sums.shape[1:], dtype=complex)
    parts.real, parts.imag = sums
    run = np.zeros((3, knots + 1), dtype=complex)
    np.cumsum(parts[:, :knots], axis=1, out=run[:, 1:])
    begins = run[:, first[:-1]]
    whole = run[:, first[1:]] - begins
    own = run[:, first[span] + below] - begins[:, span] + parts[:, knots:]
    turner = _turner(links.heading_from)
    sides = turner * links.length
    marks = np.empty(count + 1, dtype=complex)
    marks[0] = 0.0
    np.cumsum(sides * whole[0], out=marks[1:])
    marks += links.start
    z = marks[span] + sides[span] * own[0]
    direction = turner[span] * _turner(u * (turn[span] + skew[span] * (u - 1)))
    return Placed(links, span, u, z, direction, marks, turner, own, whole)


def _turner(angle: FloatArray) -> ComplexArray:
    turner = np.empty(angle.shape, dtype=complex)
    turner.real, turner.imag = np.cos(angle), np.sin(angle)
    return turner


def closing_gap(placed: Placed, start: int, end: int, smoothly: bool) -> tuple[FloatArray, FloatArray]:
    """How far the end is from the start (x, y, and direction if wanted), and its slopes.

    `start` and `end` are the numbers of the points placed at the chain's two ends.
    """
    links = placed.links
    gap = placed.z[end] - placed.z[start]
    ways = np.array([1.0, 1j])
    slopes = placed.slopes(ways, np.array([end, end])) - placed.slopes(ways, np.array([start, start]))
    if not smoothly:
        return np.array([gap.real, gap.imag]), slopes
    turned = links.heading_to - links.heading
    short = turned - 2 * np.pi * round(turned / (2 * np.pi))
    turning = (np.zeros(3), links.held, np.ones(links.turns.sum()))
    rest = (np.zeros(links.skews.sum()), np.ones(links.bends.sum()))
    return np.array([gap.real, gap.imag, short]), np.vstack((slopes, np.concatenate((*turning, *rest))))
