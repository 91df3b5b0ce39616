"""How many spans: the fewest that, tangent to one another, keep a stroke within one tolerance.

What free spans cover gives a least count; being tangent takes more. The best marks for each count are the
start of a refinement of all numbers together, and that decides. Lengths are in tolerances.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formsketch.fitting.freehand_chain import Links
from formsketch.fitting.freehand_intervals import ARC, LINE, SPIRAL
from formsketch.fitting.freehand_marks import Interval, Piece, pieces_of
from formsketch.fitting.freehand_measure import Measure, measure_of
from formsketch.fitting.freehand_refine import Refined, Target, refined
from formsketch.fitting.freehand_stroke import Stroke, outermost
from formsketch.geometry.chain import FloatArray

MOST_SPANS = 80
_CELL, _LEAST_CELLS, _MOST_CELLS, _CELLS_PER_SPAN = 4.0, 48, 80, 8
_MOST_RISES, _MOST_FALLS = 12, 6
# Spans fitted freely whose directions at a mark differ more than this (as a sagitta) are not going to agree.
_MOST_STRAIN = 3.0


@dataclass(frozen=True, eq=False)
class Search:
    """A stroke, its pieces, the points to pass by with their places along the stroke, and the judge."""

    stroke: Stroke
    pieces: tuple[Piece, ...]
    target: Target
    at: FloatArray
    measure: Measure

    def keeps(self, found: Refined) -> bool:
        """Whether a chain keeps within the tolerance."""
        return found.worst <= 1.0 and self.deviation(found) <= 1.0

    def deviation(self, found: Refined) -> float:
        """Greatest distance between stroke and chain."""
        return self.measure.deviation(found.links, self.at, found.at)

    def best(self, counts: Sequence[int]) -> Refined:
        """The chain with so many spans in each piece: plain ones if they go together, or all spirals."""
        plain = [piece.plain(n) for piece, n in zip(self.pieces, counts, strict=True)]
        links, strain = _links(self.stroke, self.pieces, plain)
        if strain <= _MOST_STRAIN:
            found = refined(links, self.target, self.at)
            if self.keeps(found):
                return found
        flexible = [piece.flexible(n) for piece, n in zip(self.pieces, counts, strict=True)]
        return refined(_links(self.stroke, self.pieces, flexible)[0], self.target, self.at)

    def raised(self, counts: Sequence[int], missed: Refined) -> list[int]:
        """More spans for the pieces that a chain misses."""
        places = self.at[np.abs(missed.across) > 1.0] / self.stroke.step
        piece = np.searchsorted(self.stroke.sharp, places, side="right")
        misses = np.bincount(piece, minlength=len(self.pieces))
        if not misses.any():
            misses[:] = 1
        new = [n + int(missed > 0) for n, missed in zip(counts, misses, strict=True)]
        return [min(n, p.most_count) for n, p in zip(new, self.pieces, strict=True)]


def search_of(stroke: Stroke, least_length: float) -> Search:
    """Make ready to search a stroke."""
    pieces = pieces_of(stroke.smooth, stroke.step, stroke.pieces)
    spans = sum(piece.likely_count for piece in pieces)
    most = max(_MOST_CELLS, _CELLS_PER_SPAN * spans)
    points, at = outermost(stroke, int(np.clip(stroke.length / _CELL, _LEAST_CELLS, most)))
    return Search(stroke, pieces, Target(points, least_length), at, measure_of(stroke))


def fewest(search: Search) -> Refined | None:
    """A chain with the fewest spans; None where none is found that keeps within the tolerance."""
    least = [piece.least_count for piece in search.pieces]
    counts = [piece.likely_count for piece in search.pieces]
    if sum(least) > MOST_SPANS:
        return None
    found = search.best(counts)
    if search.keeps(found):
        return _fallen(search, counts, least, found)
    for _ in range(_MOST_RISES):
        counts = search.raised(counts, found)
        found = search.best(counts)
        if search.keeps(found):
            return found
    return None


def _fallen(search: Search, counts: list[int], least: list[int], found: Refined) -> Refined:
    """Fewer spans where they still do, piece by piece."""
    tries = 0
    for number in range(len(counts)):
        while counts[number] > least[number] and tries < _MOST_FALLS:
            tries += 1
            fewer = [n - (i == number) for i, n in enumerate(counts)]
            tried = search.best(fewer)
            if not search.keeps(tried):
                break
            counts, found = fewer, tried
    return found


def _links(
    stroke: Stroke, pieces: Sequence[Piece], divided: list[list[Interval]]
) -> tuple[Links, float]:
    """The chain to begin with: each span as its interval alone would have it, made tangent at the marks.

    Also how far the worst of these marks had to be bent, in tolerances.
    """
    intervals = [interval for part in divided for interval in part]
    kind = np.array([interval.kind for interval in intervals])
    length = np.array([(interval.last - interval.first) * stroke.step for interval in intervals])
    fits = [piece.headings(interval) for piece, part in zip(pieces, divided, strict=True) for interval in part]
    begin, end, skew = (np.array(values) for values in zip(*fits, strict=True))
    bends = np.array([number == 0 for part in divided for number in range(len(part))])
    bends[0] = False
    tangent = np.flatnonzero(~bends[1:]) + 1
    apart = np.abs(begin[tangent] - end[tangent - 1]) * np.minimum(length[tangent], length[tangent - 1])
    begin[tangent] = end[tangent - 1] = (begin[tangent] + end[tangent - 1]) / 2
    links = Links(
        start=complex(stroke.smooth[0]),
        heading=float(begin[0]),
        length=length,
        turn=np.where(kind == LINE, 0.0, end - begin),
        skew=np.where(kind == SPIRAL, skew, 0.0),
        corner=np.where(bends, np.angle(np.exp(1j * (begin - np.roll(end, 1)))), 0.0),
        turns=kind >= ARC,
        skews=kind == SPIRAL,
        bends=bends,
        held=np.zeros(len(intervals)),
    )
    return links, float(np.max(apart / 8, initial=0.0))
