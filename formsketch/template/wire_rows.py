"""The straight wire in rows that a sheet can hold, with the words over and under each row.

A row shows true length, so it is never longer than the sheet. It also holds no more marks than have room
for their words. Rows are parted between marks, and overlap there round a match mark.
"""

from __future__ import annotations

import bisect
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from formsketch.errors import FormSketchError
from formsketch.template.bench_words import place_text
from formsketch.template.lettering import Block, Line
from formsketch.template.words_along import Side, Words, set_along
from formsketch.values import Result, Value

# Rows overlap by twice this, less where marks are closer together.
HALF_OVERLAP_MM = 5.0
# An overlap keeps this share of the way to the next mark, so that no mark falls inside one.
_OVERLAP_SHARE = 0.8
# An overlap of this share of the longest that marks allow is worth parting a row for.
_WORTHWHILE = 0.5
# The wire begins this far within its row, for words on both sides of its end; less when it is long.
_INSET_MM, _LEAST_INSET_MM = 5.0, 1.0
# Words stand at most this far to the side of their place on the wire.
MOST_SHIFT_MM = 60.0
# Beyond this the wire is moved to the middle of the row, which halves the shifts.
_SHIFT_AT_LEFT_MM = 10.0
_NARROWEST_WORDS_MM = 2.5
_ROUNDING_MM = 1e-9
# Letters and numbers of marks are this much higher than other words.
BOLDER_MM = 0.5


class Tiers(NamedTuple):
    """In how many tiers words stand over the wire and under it, 1 or 2 each."""

    over: int
    under: int


class Gap(Value, frozen=True):
    """The wire between two neighbouring stops by name, and the words for it."""

    name: str
    from_mm: float
    to_mm: float
    block: Block


class Match(Value, frozen=True):
    """Where two rows are laid on each other: a letter, its place, and half the overlap."""

    letter: str
    at_mm: float
    half_mm: float

    def words(self, text_mm: float) -> Words:
        """What is written over it, in letters this high: its own letter and its place."""
        lines = Line(self.letter, text_mm + BOLDER_MM, True), Line(place_text(self.at_mm), text_mm)
        return Words(f"match-{self.letter.lower()}", self.at_mm, Block(lines))


class Row(Result, frozen=True):
    """A piece of the straight wire, `from_mm` to `to_mm`, from 0 at the start of the cut wire.

    `wire_x_mm` is where `from_mm` stands, from the left edge of the row. The words of the matches come
    first and last in `over`.
    """

    from_mm: float
    to_mm: float
    begins: Match | None
    ends: Match | None
    wire_x_mm: float
    over: Side
    under: Side

    def x_mm(self, stock_mm: float) -> float:
        """Where a place on the straight wire stands, from the left edge of the row."""
        return self.wire_x_mm + (stock_mm - self.from_mm)

    @property
    def most_shift_mm(self) -> float:
        """How far any words stand to the side of their place."""
        return max(self.over.most_shift_mm, self.under.most_shift_mm)


class _Extent(Value, frozen=True):
    """The wire a row shows and the stops it names, `first` to `last` - 1, between its two matches."""

    from_mm: float
    to_mm: float
    begins: Match | None
    ends: Match | None
    first: int
    last: int

    @property
    def core_mm(self) -> tuple[float, float]:
        """The wire from match to match, which no other row's core shares."""
        return (
            self.from_mm if self.begins is None else self.begins.at_mm,
            self.to_mm if self.ends is None else self.ends.at_mm,
        )

    def shown_mm(self, gap: Gap) -> float:
        """How much of a gap lies in the core."""
        low, high = self.core_mm
        return min(high, gap.to_mm) - max(low, gap.from_mm)

    def words_about(self, gap: Gap) -> Words:
        """The words of a gap about as much of it as the row shows."""
        low, high = max(self.from_mm, gap.from_mm), min(self.to_mm, gap.to_mm)
        return Words(gap.name, (low + high) / 2, gap.block, (high - low) / 2)


def break_into_rows(
    stops: Sequence[Words], gaps: Sequence[Gap], row_width_mm: float, tiers: Tiers, text_mm: float
) -> list[Row]:
    """Rows no wider than `row_width_mm`, with words in letters `text_mm` high.

    `stops` are the places with words over the wire, ascending: both ends of the cut wire and all marks;
    `gaps` lie between neighbouring ones. Every stop is in exactly one row, and so are the words of every
    gap, in the row that shows most of it. Raises `FormSketchError` when the width cannot hold one mark.
    """
    return list(_Breaker(stops, gaps, row_width_mm, tiers, text_mm).rows())


class _Breaker:
    """Breaks one wire into rows."""

    def __init__(
        self,
        stops: Sequence[Words],
        gaps: Sequence[Gap],
        row_width_mm: float,
        tiers: Tiers,
        text_mm: float,
    ) -> None:
        self.stops, self.gaps = stops, gaps
        self.places = [stop.at_mm for stop in stops]
        self.row_width_mm, self.tiers, self.text_mm = row_width_mm, tiers, text_mm

    def rows(self) -> Iterator[Row]:
        """All rows, each with the gaps that it shows most of."""
        extents = self._extents()
        under: list[list[Words]] = [[] for _ in extents]
        first = 0
        for gap in self.gaps:
            while first + 1 < len(extents) and extents[first].core_mm[1] <= gap.from_mm:
                first += 1
            last = first
            while last + 1 < len(extents) and extents[last].core_mm[1] < gap.to_mm:
                last += 1
            home = max(range(first, last + 1), key=lambda i: extents[i].shown_mm(gap))
            under[home].append(extents[home].words_about(gap))
        for extent, words in zip(extents, under, strict=True):
            yield self._row(extent, words)

    def _extents(self) -> list[_Extent]:
        """One after another until the whole wire is shown; each takes in more wire, so they end."""
        found = [self._next(None)]
        while found[-1].ends is not None:
            found.append(self._next(found[-1]))
        return found

    def _next(self, before: _Extent | None) -> _Extent:
        begins, first, from_mm = None, 0, self.places[0]
        if before is not None and before.ends is not None:
            begins, first = before.ends, before.last
            from_mm = begins.at_mm - begins.half_mm
        limit_mm = from_mm + self.row_width_mm - 2 * _LEAST_INSET_MM
        reach = bisect.bisect_right(self.places, limit_mm + _ROUNDING_MM, lo=first)
        # No row holds more words than this; looking from further on would be in vain.
        most = first + 1 + int(self.row_width_mm / _NARROWEST_WORDS_MM)
        chosen: _Extent | None = None
        # Room is not quite lost for good once it is lost, as words differ in width; near enough.
        roomy = bisect.bisect_left(
            range(first + 2, min(reach, most) + 1),
            True,
            key=lambda last: not self._has_room(self._extent(from_mm, begins, first, last, limit_mm)),
        )
        for last in range(first + 1 + roomy, first - 1, -1):
            if last > reach:
                continue
            extent = self._extent(from_mm, begins, first, last, limit_mm)
            if extent is None or not self._has_room(extent):
                continue
            if extent.ends is None or extent.ends.half_mm >= _WORTHWHILE * self._best_half_mm(last):
                return extent
            if chosen is None or chosen.ends is None or extent.ends.half_mm > chosen.ends.half_mm:
                chosen = extent
        if chosen is None:
            raise FormSketchError(
                "The straight wire: expected a sheet wide enough for one mark and its words."
            )
        return chosen

    def _extent(
        self, from_mm: float, begins: Match | None, first: int, last: int, limit_mm: float
    ) -> _Extent | None:
        """The row that names stops `first` to `last` - 1, None when it cannot be parted after them."""
        if last == len(self.places):
            return _Extent(from_mm, self.places[-1], begins, None, first, last)
        after = self.places[last]
        before = self.places[last - 1] if last > first else from_mm if begins is None else begins.at_mm
        latest = min(after - HALF_OVERLAP_MM / _OVERLAP_SHARE, limit_mm - HALF_OVERLAP_MM)
        at_mm = min(max((before + after) / 2, latest), limit_mm - HALF_OVERLAP_MM)
        if at_mm <= before:
            return None
        # The wire behind a match that begins the row may be shown twice; marks may not.
        room = after - at_mm if last == first else min(at_mm - before, after - at_mm)
        ends = Match(_next_letter(begins), at_mm, min(HALF_OVERLAP_MM, _OVERLAP_SHARE * room))
        return _Extent(from_mm, at_mm + ends.half_mm, begins, ends, first, last)

    def _best_half_mm(self, last: int) -> float:
        between = self.places[last] - self.places[last - 1]
        return min(HALF_OVERLAP_MM, _OVERLAP_SHARE * between / 2)

    def _has_room(self, extent: _Extent | None) -> bool:
        """Whether all words fit beside each other and near their places; one mark alone always does."""
        if extent is None:
            return False
        if extent.last - extent.first <= 1:
            return True
        gaps = self.gaps[max(extent.first - 1, 0) : extent.last]
        row = self._row(extent, [extent.words_about(gap) for gap in gaps])
        return row.over.fits and row.under.fits and row.most_shift_mm <= MOST_SHIFT_MM

    def _row(self, extent: _Extent, under: Sequence[Words]) -> Row:
        """The row with all its words set: the wire at the left, or in the middle where words crowd."""
        over = [*self.stops[extent.first : extent.last]]
        if extent.begins is not None:
            over.insert(0, extent.begins.words(self.text_mm))
        if extent.ends is not None:
            over.append(extent.ends.words(self.text_mm))
        centred_mm = (self.row_width_mm - (extent.to_mm - extent.from_mm)) / 2
        row = self._set(extent, over, under, min(_INSET_MM, centred_mm))
        return row if row.most_shift_mm <= _SHIFT_AT_LEFT_MM else self._set(extent, over, under, centred_mm)

    def _set(self, extent: _Extent, over: Sequence[Words], under: Sequence[Words], wire_x_mm: float) -> Row:
        over_side, under_side = (
            set_along(
                words,
                np.array([wire_x_mm + (w.at_mm - extent.from_mm) for w in words]),
                self.row_width_mm,
                tiers,
            )
            for words, tiers in zip((over, under), self.tiers, strict=True)
        )
        return Row(extent.from_mm, extent.to_mm, extent.begins, extent.ends, wire_x_mm, over_side, under_side)


def _next_letter(match: Match | None) -> str:
    """A, B ... Z, AA, AB ..."""
    if match is None:
        return "A"
    head, last = match.letter[:-1], match.letter[-1]
    if last != "Z":
        return head + chr(ord(last) + 1)
    return (_next_letter(Match(head, 0.0, 0.0)) if head else "A") + "A"
