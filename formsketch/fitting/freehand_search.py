"""Which spans, and how many: the fewest that keep a stroke within one tolerance, then the plainest of those."""

from __future__ import annotations

from dataclasses import dataclass

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

MOST_CANDIDATES = 80
_PLAINNESS = 0.2


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of stroke between sharp bends: candidates for marks and what each interval costs.

    `nodes` are path indices; `errors` has shape (3, nodes, nodes): line, arc, spiral from i to j.
    """

    moments: Moments
    first: int
    nodes: IntArray
    errors: FloatArray

    def least_count(self) -> int:
        """Fewest spirals, not yet tangent to one another, that cover the piece."""
        fits = self.errors[SPIRAL] <= 1.0
        at, count = 0, 0
        last = len(self.nodes) - 1
        while at < last:
            at = max(at + 1, int(np.flatnonzero(fits[at])[-1]) if fits[at].any() else at + 1)
            count += 1
        return count

    def divided(self, count: int, plain: bool) -> list[tuple[int, int, int]]:
        """The best `count` spans as (from, to, kind), path indices; plain: as few spirals as can be."""
        errors = self.errors
        if plain:
            weight = np.array([0.0, 1.0, 1.0 + count])[:, None, None] / (1.0 + count)
            cost = np.where(errors <= 1.0, weight + _PLAINNESS / count * errors**2, np.inf)
            kind = np.argmin(cost, axis=0)
            cost = np.min(cost, axis=0)
            # What nothing covers must still be covered by something.
            hopeless = ~np.isfinite(cost)
            cost = np.where(hopeless, 10.0 + errors[SPIRAL] ** 2, cost)
            kind = np.where(hopeless, SPIRAL, kind)
        else:
            cost = errors[SPIRAL] ** 2
            kind = np.full(cost.shape, SPIRAL)
        size = len(self.nodes)
        cost = np.where(np.arange(size)[:, None] < np.arange(size), cost, np.inf)
        best = cost[0].copy()
        came = []
        for _ in range(count - 1):
            total = best[:, None] + cost
            came.append(np.argmin(total, axis=0))
            best = np.min(total, axis=0)
        spans: list[tuple[int, int, int]] = []
        to = size - 1
        for back in reversed(came):
            at = int(back[to])
            spans.append((at, to, int(kind[at, to])))
            to = at
        spans.append((0, to, int(kind[0, to])))
        node = self.nodes + self.first
        return [(int(node[i]), int(node[j]), k) for i, j, k in reversed(spans)]


def piece_of(smooth: ComplexArray, step: float, first: int, last: int, most: int = MOST_CANDIDATES) -> Piece:
    moments = moments_of(smooth[first : last + 1], step)
    points = last - first + 1
    nodes = np.unique(np.rint(np.linspace(0, points - 1, min(most, points))).astype(np.int64))
    begin, end = np.triu_indices(len(nodes), 1)
    errors = np.full((3, len(nodes), len(nodes)), np.inf)
    errors[:, begin, end] = interval_errors(moments, nodes[begin], nodes[end])
    return Piece(moments, first, nodes, errors)
