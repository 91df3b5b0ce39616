"""Where the marks of a piece of stroke may best lie: dynamic programming over candidates along it.

Lengths are in tolerances; marks and intervals are indices of the stroke's path.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from formsketch.fitting.freehand_intervals import (
    ARC,
    LINE,
    SPIRAL,
    Moments,
    interval_errors,
    interval_headings,
    moments_of,
)
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray

CANDIDATES, _LEAST_CANDIDATES, _MOST_CANDIDATES = 64, 5, 400
_CANDIDATES_PER_SPAN, _MANY_SPANS = 8, 8
# A span that must also be tangent to its neighbours fits worse than a free one. To be tangent on a smoothly
# bending stroke costs an arc 8 times and a spiral 4 times (Favard's constants, h^3/24 against h^3/192, and
# h^4/768 against h^4/3072); with noise in both a little less.
_LIKELY = np.array([0.8, 0.3, 0.4])
_QUALITY = 0.2
# A span may not go round more often than a design may hold (20 times).
_MOST_TURN_RAD = 19 * 2 * np.pi


class Interval(NamedTuple):
    """A span to be: first and last path index, and its kind."""

    first: int
    last: int
    kind: int


@dataclass(frozen=True, eq=False)
class Piece:
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
        return self._reaching((self.errors <= _LIKELY[:, None, None]).any(axis=0))

    @property
    def most_count(self) -> int:
        return len(self.nodes) - 1

    def _reaching(self, fits: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> int:
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
        costs = np.where(self.errors <= 1.0, ranks + _QUALITY / count * self.errors**2, np.inf)
        kind, cost = np.argmin(costs, axis=0), np.min(costs, axis=0)
        nothing = ~np.isfinite(cost)
        # What nothing covers has to be covered all the same.
        return self._divided(
            np.where(nothing, 10.0 + self.errors[SPIRAL] ** 2, cost), np.where(nothing, SPIRAL, kind), count
        )

    def _divided(self, cost: FloatArray, kind: IntArray, count: int) -> list[Interval]:
        best, came = cost[0], []
        for _ in range(count - 1):
            total = best[:, None] + cost
            came.append(np.argmin(total, axis=0))
            best = np.min(total, axis=0)
        to, marks = len(self.nodes) - 1, [len(self.nodes) - 1]
        for back in reversed(came):
            to = int(back[to])
            marks.append(to)
        marks = [0, *reversed(marks)]
        node = self.nodes + self.first
        return [
            Interval(int(node[i]), int(node[j]), int(kind[i, j]))
            for i, j in zip(marks[:-1], marks[1:], strict=True)
        ]

    def headings(self, interval: Interval) -> tuple[float, float, float]:
        """Direction at both ends, and skew, of the span that covers an interval best."""
        first, last, kind = interval
        return interval_headings(self.moments, first - self.first, last - self.first, kind)


def pieces_of(smooth: ComplexArray, step: float, bounds: list[tuple[int, int]]) -> tuple[Piece, ...]:
    """The pieces of a smooth path between these first and last indices, with candidates for marks."""
    total = len(smooth) - 1
    return tuple(_piece(smooth, step, a, b, CANDIDATES * (b - a) / total) for a, b in bounds)


def _piece(smooth: ComplexArray, step: float, first: int, last: int, candidates: float) -> Piece:
    moments = moments_of(smooth[first : last + 1], step)
    points = last - first + 1
    piece = _with_candidates(moments, first, min(points, max(_LEAST_CANDIDATES, round(candidates))), points)
    needed = min(points, _MOST_CANDIDATES, _CANDIDATES_PER_SPAN * piece.likely_count)
    if piece.likely_count <= _MANY_SPANS or needed <= len(piece.nodes):
        return piece
    # Many spans: more candidates, but no interval much longer than the longest that fits.
    begin, end = np.nonzero(piece.errors[SPIRAL] <= 1.0)
    reach = int(np.max(piece.nodes[end] - piece.nodes[begin], initial=1) * 1.2)
    return _with_candidates(moments, first, needed, max(reach, 3 * points // needed))


def _with_candidates(moments: Moments, first: int, count: int, reach: int) -> Piece:
    nodes = np.unique(np.rint(np.linspace(0, len(moments.z) - 1, count)).astype(np.int64))
    begin, end = np.triu_indices(len(nodes), 1)
    near = nodes[end] - nodes[begin] <= reach
    begin, end = begin[near], end[near]
    errors = np.full((3, len(nodes), len(nodes)), np.inf)
    errors[:, begin, end] = interval_errors(moments, nodes[begin], nodes[end])
    errors[:, np.abs(np.subtract.outer(moments.heading[nodes], moments.heading[nodes])) > _MOST_TURN_RAD] = np.inf
    return Piece(moments, first, nodes, errors)
