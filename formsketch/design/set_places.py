"""Places on the wire carried over an edit: what was set on a span stays on that span."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate
from math import isclose

from msgspec.structs import replace

from formsketch.design.model import Design, QualityMark, SetPearl, Span, Stone

# Shares are kept to this many decimals: 20 m of wire to far less than a thousandth of a micrometre.
_DECIMALS = 12
_SAME_LENGTH = 1e-9


class ShareMap:
    """Where shares of one wire's length are in another made from it.

    As many spans as before are taken one for one, a place staying at its share of its span. With another
    number of them in the same length, as when a mark is put in or taken out, places stay where they are.
    Otherwise spans that the two begin with alike, but for their lengths, are the same spans, and so are those
    they end with; what is between is taken as one stretch, and lost where nothing is left of it.
    """

    def __init__(self, before: Sequence[Span], after: Sequence[Span]) -> None:
        self._before = [0.0, *accumulate(span.length_mm for span in before)]
        self._after = [0.0, *accumulate(span.length_mm for span in after)]
        # How many spans of each are taken one for one from the start on, and back from the finish.
        self._head = self._tail = 0
        if len(before) == len(after):
            self._head = len(before)
        elif not isclose(self._before[-1], self._after[-1], rel_tol=_SAME_LENGTH):
            fewer = min(len(before), len(after))
            self._head = next((i for i in range(fewer) if not _alike(before[i], after[i])), fewer)
            rest = fewer - self._head
            self._tail = next((i for i in range(rest) if not _alike(before[-1 - i], after[-1 - i])), rest)

    def __call__(self, share: float) -> float | None:
        """The share of the new wire, None where the place is gone."""
        place, last = share * self._before[-1], len(self._before) - 1
        span = max(min(bisect_right(self._before, place), last) - 1, 0)
        longer = len(self._after) - len(self._before)
        if span < self._head:
            old, new = (span, span + 1), (span, span + 1)
        elif span >= last - self._tail:
            old, new = (span, span + 1), (span + longer, span + longer + 1)
        else:
            old = (self._head, last - self._tail)
            new = (self._head, last + longer - self._tail)
            if new[0] == new[1]:
                return None
        begin, end = (self._before[i] for i in old)
        first, second = (self._after[i] for i in new)
        at = first + (place - begin) / (end - begin) * (second - first)
        return min(max(round(at / self._after[-1], _DECIMALS), 0.0), 1.0)


def _alike(span: Span, other: Span) -> bool:
    return replace(span, length_mm=1.0) == replace(other, length_mm=1.0)


def is_set(design: Design) -> bool:
    """Whether anything is set on the wire."""
    return bool(design.pearls or design.stones or design.quality_mark)


def moved(design: Design, to: ShareMap) -> Design:
    """The design with what is set on it moved to other shares; what has no place any more is left out."""
    pearls = tuple(pearl for pearl in (_pearl_moved(pearl, to) for pearl in design.pearls) if pearl)
    stones: list[Stone] = []
    for stone in design.stones:
        at = to(stone.at_share)
        if at is not None:
            stones.append(replace(stone, at_share=at))
    mark: QualityMark | None = design.quality_mark
    if mark is not None:
        at = to(mark.at_share)
        mark = None if at is None else replace(mark, at_share=at)
    return replace(design, pearls=pearls, stones=tuple(stones), quality_mark=mark)


def _pearl_moved(pearl: SetPearl, to: ShareMap) -> SetPearl | None:
    begin, end = to(pearl.from_share), to(pearl.to_share)
    if begin is None or end is None or not begin < end:
        return None
    return replace(pearl, from_share=begin, to_share=end)


def mirrored_pearls(pearls: tuple[SetPearl, ...]) -> tuple[SetPearl, ...]:
    """Pearls of the mirror image."""
    return tuple(replace(pearl, aside=0.0 - pearl.aside) for pearl in pearls)


def read_from_finish(design: Design) -> Design:
    """The design with what is set on it counted from the finish mark; in the order of the wire as before."""

    def back(share: float) -> float:
        return round(1.0 - share, _DECIMALS)

    pearls = tuple(
        replace(
            pearl,
            from_share=back(pearl.to_share),
            to_share=back(pearl.from_share),
            along=round(1.0 - pearl.along, _DECIMALS),
            aside=0.0 - pearl.aside,
        )
        for pearl in reversed(design.pearls)
    )
    stones = tuple(replace(stone, at_share=back(stone.at_share)) for stone in reversed(design.stones))
    mark = design.quality_mark
    if mark is not None:
        mark = replace(mark, at_share=back(mark.at_share))
    return replace(design, pearls=pearls, stones=stones, quality_mark=mark)
