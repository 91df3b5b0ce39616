"""Where the marks of a piece of stroke may best lie: dynamic programming over candidates along it.

Lengths are in tolerances; marks and intervals are indices of the stroke's path.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from formsketch.fitting.freehand_chain import BoolArray
from formsketch.fitting.freehand_intervals import (
    SPIRAL,
    Moments,
    interval_errors,
    interval_headings,
    moments_of,
)
from formsketch.fitting.freehand_stroke import Stroke
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.values import Result

CANDIDATES, _LEAST_CANDIDATES, _MANY_CANDIDATES, _MOST_CANDIDATES = 56, 5, 120, 400
_CANDIDATES_PER_SPAN, _MANY_SPANS = 8, 8
# A span that must also be tangent to its neighbours fits worse than a free one. To be tangent on a smoothly
# bending stroke costs an arc 8 times and a spiral 4 times (Favard's constants, h^3/24 against h^3/192, and
# h^4/768 against h^4/3072); with noise in both a little less.
_LIKELY = np.array([0.8, 0.3, 0.4])
# What a plain one may leave where it is tried first.
_PLAIN = np.array([0.5, 0.8, 1.0])
_QUALITY = 0.2
_CANDIDATE_TURN_RAD = 1.0
# A span may not go round more often than a design may hold (20 times).
_MOST_TURN_RAD = 19 * 2 * np.pi


class Interval(NamedTuple):
    """A span to be: first and last path index, and its kind."""

    first: int
    last: int
    kind: int


class Piece(Result, frozen=True):
    """A piece of stroke between sharp bends: candidates for marks and what each interval costs.

    `nodes` count from the path index `first`; `errors`, shape (3, nodes, nodes), are the distances a line,
    an arc and a spiral leave from node i to node j, infinite where j <= i.
    """

    moments: Moments
    first: int
    nodes: IntArray
    errors: FloatArray

    @cached_property
    def least_count(self) -> int:
        """Fewest free spans that cover the piece; no chain of tangent spans has fewer."""
        return self._reaching(self.errors[SPIRAL] <= 1.0)

    @cached_property
    def likely_count(self) -> int:
        """How many tangent spans the piece probably needs."""
        return self._reaching(np.any(self.errors <= _LIKELY[:, None, None], axis=0))

    @property
    def most_count(self) -> int:
        return len(self.nodes) - 1

    def _reaching(self, fits: BoolArray) -> int:
        last, at, count = len(self.nodes) - 1, 0, 0
        while at < last:
            reached = np.flatnonzero(fits[at])
            at, count = max(at + 1, int(reached[-1]) if len(reached) else 0), count + 1
        return count

    def flexible(self, count: int) -> list[Interval]:
        """The best `count` spirals."""
        errors = self.errors[SPIRAL]
        return self._divided(errors**2, np.full(errors.shape, SPIRAL), count)

    def plain(self, count: int) -> list[Interval]:
        """The best `count` spans with as few spirals, then as many lines, as can be."""
        ranks = np.array([0.0, 1.0, 1.0 + count])[:, None, None] / (1.0 + count)
        costs = np.where(
            self.errors <= _PLAIN[:, None, None], ranks + _QUALITY / count * self.errors**2, np.inf
        )
        kind, cost = np.argmin(costs, axis=0), np.min(costs, axis=0)
        nothing = ~np.isfinite(cost)
        # What nothing covers has to be covered all the same.
        return self._divided(
            np.where(nothing, 10.0 + self.errors[SPIRAL] ** 2, cost), np.where(nothing, SPIRAL, kind), count
        )

    def _divided(self, cost: FloatArray, kind: IntArray, count: int) -> list[Interval]:
        best, came = cost[0], []
        into = np.ascontiguousarray(cost.T)
        for _ in range(count - 1):
            total = into + best
            came.append(np.argmin(total, axis=1))
            best = total[np.arange(len(total)), came[-1]]
        to, marks = len(self.nodes) - 1, [len(self.nodes) - 1]
        for back in reversed(came):
            to = int(back[to])
            marks.append(to)
        return self._intervals([0, *reversed(marks)], kind)

    def _intervals(self, marks: list[int], kind: IntArray) -> list[Interval]:
        node = self.nodes + self.first
        return [Interval(int(node[i]), int(node[j]), int(kind[i, j])) for i, j in pairwise(marks)]

    def likely(self, plain: bool) -> list[Interval]:
        """Intervals that probably will do when they are tangent, plain ones or spirals; as few as can be."""
        fits = self.errors <= _LIKELY[:, None, None]
        kind = np.where(fits.any(axis=0), np.argmax(fits, axis=0), SPIRAL)
        cost = np.where(fits.any(axis=0), 1.0 + _QUALITY * self.errors[SPIRAL] ** 2, np.inf)
        # From one candidate to the next something must always lead.
        np.fill_diagonal(cost[:, 1:], np.minimum(cost.diagonal(1), 2.0))
        best, came = np.zeros(len(cost)), np.zeros(len(cost), dtype=np.int64)
        for to in range(1, len(cost)):
            total = best[:to] + cost[:to, to]
            came[to] = np.argmin(total)
            best[to] = total[came[to]]
        marks = [len(cost) - 1]
        while marks[-1]:
            marks.append(int(came[marks[-1]]))
        return self._intervals(marks[::-1], kind if plain else np.full_like(kind, SPIRAL))

    def headings(self, intervals: Sequence[Interval]) -> FloatArray:
        """Direction at both ends, and skew, of the spans that cover intervals best; (3, intervals)."""
        first, last, kind = np.array(intervals).T
        return interval_headings(self.moments, first - self.first, last - self.first, kind)


def pieces_of(stroke: Stroke) -> tuple[Piece, ...]:
    """The pieces of a stroke between its sharp bends, with candidates for marks."""
    return tuple(_piece(stroke, first, last) for first, last in stroke.pieces)


def _piece(stroke: Stroke, first: int, last: int) -> Piece:
    moments = moments_of(stroke.smooth[first : last + 1], stroke.step)
    pace = stroke.pace[first : last + 1]
    points = last - first + 1
    wanted = np.clip(stroke.turning / _CANDIDATE_TURN_RAD, CANDIDATES, _MANY_CANDIDATES)
    candidates = max(_LEAST_CANDIDATES, round(float(wanted) * (pace[-1] - pace[0])))
    piece = _with_candidates(moments, first, pace, candidates, points)
    needed = min(points, _MOST_CANDIDATES, _CANDIDATES_PER_SPAN * piece.likely_count)
    if piece.likely_count <= _MANY_SPANS or needed <= len(piece.nodes):
        return piece
    # Many spans: more candidates, but no interval much longer than the longest that fits.
    begin, end = np.nonzero(piece.errors[SPIRAL] <= 1.0)
    reach = int(np.max(piece.nodes[end] - piece.nodes[begin], initial=1) * 1.2)
    return _with_candidates(moments, first, pace, needed, max(reach, 3 * points // needed))


def _with_candidates(moments: Moments, first: int, pace: FloatArray, count: int, reach: int) -> Piece:
    even = np.interp(np.linspace(pace[0], pace[-1], count), pace, np.arange(len(pace)))
    nodes = np.unique(np.rint(even).astype(np.int64))
    begin, end = np.triu_indices(len(nodes), 1)
    near = nodes[end] - nodes[begin] <= reach
    begin, end = begin[near], end[near]
    errors = np.full((3, len(nodes), len(nodes)), np.inf)
    errors[:, begin, end] = interval_errors(moments, nodes[begin], nodes[end])
    errors[:, np.abs(np.subtract.outer(moments.heading[nodes], moments.heading[nodes])) > _MOST_TURN_RAD] = (
        np.inf
    )
    return Piece(moments, first, nodes, errors)
