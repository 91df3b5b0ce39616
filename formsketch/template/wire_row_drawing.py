"""One row of the straight wire, drawn: the wire, its hammered zones, its marks and its words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.drawing import Group, Item, Path, Stroke
from formsketch.template.set_items import wire_items
from formsketch.template.wire_rows import Row
from formsketch.template.words_along import Side, Words
from formsketch.values import Result

HAMMERED_GREY = "#8c8c8c"
# A mark reaches this far beyond the edge of the wire, to be seen when wire lies on the drawing.
MARK_BEYOND_MM = 4.0
_BRACE_BEYOND_MM = 2.4
_BRACE_HOOK_MM = 0.8
_BRACE_SHORT_OF_MARK_MM = 0.7
_WORDS_OFF_MM = 0.8
_BETWEEN_TIERS_MM = 0.8
# Height given to the lines that lead to words: over their places, and for each mm they stand aside.
_LINES_MM, _LINES_PER_SHIFT = 0.6, 0.25
_NO_SHIFT_MM = 0.05


class RowDrawing(Result, frozen=True):
    """A row ready to be drawn anywhere; heights from its top: words, lines, wire, lines, words."""

    evaluation: Evaluation
    row: Row
    number: int

    @property
    def mark_half_mm(self) -> float:
        """Half the length of a mark."""
        return self.evaluation.diameter_mm / 2 + MARK_BEYOND_MM

    @property
    def height_mm(self) -> float:
        under = self.row.under
        return self._wire_down_mm + self.mark_half_mm + _lines_mm(under) + _WORDS_OFF_MM + _words_mm(under)

    @property
    def _wire_down_mm(self) -> float:
        """From the top of the row to the middle of the wire."""
        over = self.row.over
        return _words_mm(over) + _WORDS_OFF_MM + _lines_mm(over) + self.mark_half_mm

    def drawn(self, left_mm: float, top_mm: float, shown: set[str]) -> Group:
        """Group 'wire-row-1' and so on; `shown` are the names used by rows before it, and grows.

        What comes again in a later row has its name with the row's number after it.
        """
        y = top_mm + self._wire_down_mm
        groups: list[Group] = []

        def add(name: str, items: list[Item]) -> None:
            groups.append(Group(name if name not in shown else f"{name}-row-{self.number}", items))
            shown.add(name)

        middle = np.array([left_mm, y])
        for span, zone in self._hammer_zones():
            add(f"hammer-zone-{span}", [Path(zone + middle, None, closed=True, fill=HAMMERED_GREY)])
        add(f"wire-body-{self.number}", self._edges(left_mm, y))
        row = self.row
        things = wire_items(self.evaluation, row.from_mm, row.to_mm, left_mm + row.wire_x_mm, y)
        if things:
            add(f"set-on-wire-{self.number}", things)
        for name, stock_mm, match in (
            ("cut-start", self.row.from_mm, self.row.begins),
            ("cut-finish", self.row.to_mm, self.row.ends),
        ):
            if match is None:
                add(name, [self._across(left_mm, y, stock_mm, Stroke.CONTINUOUS_WIDE)])
        for number, words in enumerate(self.row.over.words):
            add(words.name, self._stop(number, words, left_mm, y))
        for number, words in enumerate(self.row.under.words):
            add(words.name, self._span(number, words, left_mm, y))
        return Group(f"wire-row-{self.number}", groups)

    def _edges(self, left_mm: float, y: float) -> list[Item]:
        x0, x1 = (left_mm + self.row.x_mm(at) for at in (self.row.from_mm, self.row.to_mm))
        half = self.evaluation.diameter_mm / 2
        return [_line(x0, at, x1, at, Stroke.CONTINUOUS_EXTRA_NARROW) for at in (y - half, y + half)]

    def _across(self, left_mm: float, y: float, stock_mm: float, stroke: Stroke) -> Path:
        x = left_mm + self.row.x_mm(stock_mm)
        return _line(x, y - self.mark_half_mm, x, y + self.mark_half_mm, stroke)

    def _stop(self, number: int, words: Words, left_mm: float, y: float) -> list[Item]:
        """A mark, one inside an end, a match or a cut: a line across the wire, and one on to its words."""
        items: list[Item] = []
        if words.name.startswith("match-"):
            items.append(self._across(left_mm, y, words.at_mm, Stroke.DASHED_NARROW))
        elif words.name.startswith("end-mark-"):
            items.append(self._across(left_mm, y, words.at_mm, Stroke.CONTINUOUS_EXTRA_NARROW))
        elif not words.name.startswith("cut-"):
            items.append(self._across(left_mm, y, words.at_mm, Stroke.CONTINUOUS_NARROW))
        return items + self._words(self.row.over, number, left_mm, y, -1.0)

    def _span(self, number: int, words: Words, left_mm: float, y: float) -> list[Item]:
        """A brace under a length of wire, and a line from it to its words."""
        brace_y = y + self.evaluation.diameter_mm / 2 + _BRACE_BEYOND_MM
        x = left_mm + self.row.x_mm(words.at_mm)
        half = words.half_mm - _BRACE_SHORT_OF_MARK_MM
        items: list[Item] = []
        if half > 0:
            hook_y = brace_y - _BRACE_HOOK_MM
            points = [[x - half, hook_y], [x - half, brace_y], [x + half, brace_y], [x + half, hook_y]]
            items.append(Path(np.array(points), Stroke.CONTINUOUS_EXTRA_NARROW))
        items.append(_line(x, brace_y, x, y + self.mark_half_mm, Stroke.CONTINUOUS_EXTRA_NARROW))
        return items + self._words(self.row.under, number, left_mm, y, 1.0)

    def _words(self, side: Side, number: int, left_mm: float, y: float, down: float) -> list[Item]:
        """One block of words and the line that leads to it from the end of its mark; `down` is 1 or -1."""
        words = side.words[number]
        x, words_x = left_mm + self.row.x_mm(words.at_mm), left_mm + float(side.x_mm[number])
        mark_end = self.mark_half_mm
        near = mark_end + _lines_mm(side) + _WORDS_OFF_MM
        line = [[x, y + down * mark_end], [words_x, y + down * (near - _WORDS_OFF_MM / 2)]]
        if side.tier(number) == 1:
            near += side.tier_height_mm(0) + _BETWEEN_TIERS_MM
            line.append([words_x, y + down * (near - _BETWEEN_TIERS_MM / 2)])
        top = y + near if down > 0 else y - near - words.block.height_mm
        return [Path(np.array(line), Stroke.CONTINUOUS_EXTRA_NARROW), *words.block.drawn(words_x, top)]

    def _hammer_zones(self) -> Iterator[tuple[int, NDArray[np.float64]]]:
        """Number of each hammered span this row shows, and the metal left there, about the wire's middle.

        Shape (n, 2): x from the left edge of the row, y from the middle of the wire.
        """
        e, row = self.evaluation, self.row
        for span in np.flatnonzero(e.spans.thinnest_mm < e.diameter_mm).tolist():
            part = e.chain.spans.start + span
            samples = slice(e.trace.first[part], e.trace.first[part + 1])
            stock, half = e.stock_at_samples_mm[samples], e.samples.thickness_mm[samples] / 2
            low, high = max(row.from_mm, float(stock[0])), min(row.to_mm, float(stock[-1]))
            if high <= low:
                continue
            inside = stock[(stock > low) & (stock < high)]
            places = np.concatenate(([low], inside, [high]))
            halves = np.interp(places, stock, half)
            x = row.x_mm(0.0) + places
            yield span + 1, np.column_stack((np.append(x, x[::-1]), np.append(-halves, halves[::-1])))


def _lines_mm(side: Side) -> float:
    """Height of the lines that lead to words."""
    shift_mm = side.most_shift_mm
    return _LINES_MM + (_LINES_PER_SHIFT * shift_mm if shift_mm > _NO_SHIFT_MM else 0.0)


def _words_mm(side: Side) -> float:
    """Height of all tiers of words."""
    near, far = side.tier_height_mm(0), side.tier_height_mm(1) if side.tiers == 2 else 0.0
    return near + (far + _BETWEEN_TIERS_MM if far else 0.0)


def _line(x0: float, y0: float, x1: float, y1: float, stroke: Stroke) -> Path:
    return Path(np.array([[x0, y0], [x1, y1]]), stroke)
