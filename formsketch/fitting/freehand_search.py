"""How many spans: the fewest that, tangent to one another, keep a stroke within one tolerance.

What free spans cover gives a least count; being tangent takes more. The best marks for each count are the
start of a refinement of all numbers together, and that decides. Lengths are in tolerances.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

import numpy as np
from msgspec.structs import replace

from formsketch.fitting.freehand_chain import BoolArray, Links
from formsketch.fitting.freehand_intervals import ARC, LINE, SPIRAL, interval_errors
from formsketch.fitting.freehand_marks import Interval, Piece, pieces_of
from formsketch.fitting.freehand_measure import Measure, measure_of
from formsketch.fitting.freehand_refine import refined
from formsketch.fitting.freehand_stroke import Stroke, outermost
from formsketch.fitting.freehand_target import Effort, Refined, Target
from formsketch.geometry.chain import FloatArray
from formsketch.values import Result

MOST_SHARP_BENDS, MOST_SPANS = 64, 64
_CELL, _LEAST_CELLS, _MOST_CELLS, _CELLS_PER_SPAN = 4.0, 48, 80, 14
_CELL_TURN_RAD = 0.8
# What may be spent on a stroke in all, and on looking for fewer spans where some keep within the tolerance.
_ALLOWED_WORK, _FEWER_WORK = 160.0, 12.0
# A chain may be so many times as long as the stroke, and turn so many times as much and some.
_MOST_LENGTH, _MOST_TURNING, _SOME_TURNING_RAD = 2.0, 3.0, 30.0
_MANY_SPANS = 14
_MOST_RISES, _MOST_FALLS, _MERGERS_TRIED = 4, 6, 2
# Between the points it passes by a chain may be further from the stroke: so much further, and it is drawn in.
_NEARLY, _CLOSER = 1.3, 0.95
# Spans fitted freely whose directions at a mark differ more than this (as a sagitta) are not going to agree.
MOST_STRAIN = 3.0


class Search(Result, frozen=True):
    """A stroke, its pieces, the points to pass by with their places along the stroke, and the judge."""

    stroke: Stroke
    pieces: tuple[Piece, ...]
    target: Target
    at: FloatArray
    measure: Measure

    def refined(self, links: Links, at: FloatArray | None = None) -> Refined:
        """The chain refined and measured; `at` are the feet, if it passes near already."""
        feet = self.at if at is None else at
        found = self.measured(refined(links, self.target, feet, drifted=at is None))
        if found.worst <= 1.0 < found.deviation <= _NEARLY:
            closer = replace(self.target, within=_CLOSER * self.target.within / found.deviation)
            found = self.measured(refined(found.links, closer, found.at, drifted=False))
        return found

    def measured(self, found: Refined) -> Refined:
        """The chain with its deviation from the stroke, unless it misses the points it is to pass already."""
        if found.worst > 1.0:
            return found
        return replace(found, deviation=self.measure.deviation(found.links, self.at, found.at))

    @property
    def long(self) -> bool:
        """Whether there are too many spans to be laid out all at once."""
        return sum(piece.likely_count for piece in self.pieces) > _MANY_SPANS

    def divided(self, counts: Sequence[int], plain: bool) -> list[Interval]:
        """The best intervals with so many spans in each piece, plain or all spirals."""
        parts = (p.plain(n) if plain else p.flexible(n) for p, n in zip(self.pieces, counts, strict=True))
        return [interval for part in parts for interval in part]

    def best(self, counts: Sequence[int]) -> Refined:
        """The chain with so many spans in each piece: plain ones if they go together, or all spirals."""
        links, strain = links_of(self, self.divided(counts, plain=True))
        if strain <= MOST_STRAIN:
            found = self.refined(links)
            if found.keeps:
                return found
        return self.begun(self.divided(counts, plain=False))

    def begun(self, intervals: Sequence[Interval]) -> Refined:
        """The chain that begins with these intervals."""
        return self.refined(links_of(self, intervals)[0])


def search_of(stroke: Stroke, least_length: float) -> Search | None:
    """Make ready to search a stroke; None where it bends more often than can be followed."""
    if len(stroke.sharp) > MOST_SHARP_BENDS:
        return None
    pieces = pieces_of(stroke)
    spans = sum(piece.likely_count for piece in pieces)
    if spans > MOST_SPANS:
        return None
    cells = np.clip(stroke.length / _CELL, _LEAST_CELLS, max(_MOST_CELLS, _CELLS_PER_SPAN * spans))
    # As many to a round as it takes to see it as round.
    points, at = outermost(stroke, int(max(cells, stroke.turning / _CELL_TURN_RAD)))
    turning = _MOST_TURNING * stroke.turning + _SOME_TURNING_RAD
    length = _MOST_LENGTH * stroke.length + MOST_SPANS * least_length
    target = Target(points, least_length, turning, length, Effort(_ALLOWED_WORK))
    return Search(stroke, pieces, target, at, measure_of(stroke))


def fewest(search: Search) -> Refined | None:
    """A chain with the fewest spans; None for a long stroke, or where none is found that keeps within it."""
    if search.long:
        return None
    counts = [piece.likely_count for piece in search.pieces]
    found = search.best(counts)
    search.target.effort.grant(_FEWER_WORK)
    if found.keeps:
        return _merged(search, _fallen(search, counts, found))
    for _ in range(_MOST_RISES):
        if search.target.effort.left < 0:
            return None
        counts = _raised(search, counts, np.abs(found.across) > 1.0)
        found = search.best(counts)
        search.target.effort.grant(_FEWER_WORK)
        if found.keeps:
            return _merged(search, found)
    return None


def _raised(search: Search, counts: Sequence[int], missed: BoolArray) -> list[int]:
    """A span more for the pieces whose points are missed, or for all if none is."""
    places = search.at[missed] / search.stroke.step
    misses = np.bincount(np.searchsorted(search.stroke.sharp, places), minlength=len(counts))
    if not misses.any():
        misses[:] = 1
    return [
        min(n + int(miss > 0), piece.most_count)
        for n, miss, piece in zip(counts, misses, search.pieces, strict=True)
    ]


def _fallen(search: Search, counts: list[int], found: Refined) -> Refined:
    """Fewer spans where they still do, piece by piece, with all marks laid anew."""
    tries = 0
    for number, piece in enumerate(search.pieces):
        while counts[number] > piece.least_count and tries < _MOST_FALLS and search.target.effort.spare > 0:
            tries += 1
            fewer = [n - (i == number) for i, n in enumerate(counts)]
            tried = search.best(fewer)
            if not tried.keeps:
                break
            counts, found = fewer, tried
    return found


def _merged(search: Search, found: Refined) -> Refined:
    """Two neighbours made one where one spiral nearly covers both."""
    tries, least = 0, sum(piece.least_count for piece in search.pieces)
    while tries < _MERGERS_TRIED and found.links.count > least and search.target.effort.spare > 0:
        marks = marks_of(search, found)
        mergers = sorted(
            (_error(search, a, c), number + 1)
            for number, (a, b, c) in enumerate(zip(marks[:-2], marks[1:-1], marks[2:], strict=True))
            if b not in search.stroke.sharp
        )
        if tries >= len(mergers):
            break
        del marks[mergers[tries][1]]
        tried = search.begun(spirals(marks))
        tries += 1
        if tried.keeps:
            found, tries = tried, 0
    return found


def _error(search: Search, first: int, last: int) -> float:
    piece = search.pieces[_piece_number(search, first)]
    begin, end = np.array([first - piece.first]), np.array([last - piece.first])
    return float(interval_errors(piece.moments, begin, end)[SPIRAL, 0])


def _piece_number(search: Search, first: int) -> int:
    """The piece in which the interval beginning at a path index lies."""
    return int(np.searchsorted(search.stroke.sharp, first, side="right"))


def marks_of(search: Search, found: Refined) -> list[int]:
    """Path indices nearest to a chain's marks; those at sharp bends are the stroke's own."""
    links, stroke = found.links, search.stroke
    places = np.interp(links.marks_at, np.maximum.accumulate(found.at), search.at) / stroke.step
    index = np.rint(places).astype(np.int64)
    index[:-1][links.bends] = stroke.sharp
    index[0], index[-1] = 0, len(stroke.path) - 1
    return sorted(set(index.tolist()))


def spirals(marks: Sequence[int]) -> list[Interval]:
    """Spirals from mark to mark."""
    return [Interval(a, b, SPIRAL) for a, b in pairwise(marks)]


def links_of(search: Search, intervals: Sequence[Interval]) -> tuple[Links, float]:
    """The chain to begin with: each span as its interval alone would have it, made tangent at the marks.

    Also how far the worst of these marks had to be bent, in tolerances.
    """
    stroke = search.stroke
    kind = np.array([interval.kind for interval in intervals])
    length = np.array([(interval.last - interval.first) * stroke.step for interval in intervals])
    by_piece = groupby(intervals, key=lambda interval: _piece_number(search, interval.first))
    begin, end, skew = np.hstack([search.pieces[n].headings(list(part)) for n, part in by_piece])
    bends = np.isin([interval.first for interval in intervals], stroke.sharp)
    bends[0] = False
    tangent = np.flatnonzero(~bends[1:]) + 1
    apart = np.abs(begin[tangent] - end[tangent - 1]) * np.minimum(length[tangent], length[tangent - 1])
    begin[tangent] = end[tangent - 1] = (begin[tangent] + end[tangent - 1]) / 2
    most = search.target.most_turning / len(intervals)
    links = Links(
        start=complex(stroke.smooth[intervals[0].first]),
        heading=float(begin[0]),
        length=length,
        turn=np.where(kind == LINE, 0.0, end - begin),
        skew=np.where(kind == SPIRAL, np.clip(skew, -most, most), 0.0),
        corner=np.where(bends, np.angle(np.exp(1j * (begin - np.roll(end, 1)))), 0.0),
        turns=kind >= ARC,
        skews=kind == SPIRAL,
        bends=bends,
        held=np.zeros(len(intervals)),
    )
    return links, float(np.max(apart / 8, initial=0.0))
