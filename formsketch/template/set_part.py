"""Where pearls, stones and the quality mark go: on the finished form, along it, and as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np

from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_words import place_text
from formsketch.template.drawing import Group, Item, Path, Stroke, Text, bounds, text_width_mm
from formsketch.template.form_part import HEADING_HEIGHT_MM, HEADING_PITCH_MM
from formsketch.template.lettering import Block, Line, wrapped
from formsketch.template.plan import Placing, form_items
from formsketch.template.plan_labels import Label, labels_at, number_items
from formsketch.template.set_items import (
    MARK_LETTERS,
    SetRow,
    hole_lines,
    pearl_circles,
    plan_items,
    set_rows_of,
)
from formsketch.template.sheet_style import SheetStyle
from formsketch.template.tiling import Part
from formsketch.template.words_along import Side, Words, set_along
from formsketch.values import Result

_TEXT_MM, _ROW_PITCH_MM, _COLUMN_GAP_MM = 2.5, 4.0, 4.0
_TITLES = ("", "what", "cut wire, mm", "along, mm", "to next", "")
# Words of a row are broken at this width, what else is to be known at what is left over.
_WHAT_MM, _LEAST_MORE_MM = 66.0, 30.0
# What a tick reaches beyond a seat, and half of one in the middle of a pearl.
_BEYOND_MM, _HALF_TICK_MM = 1.0, 0.4
_LINE_DOWN_MM, _TICK_MM, _WORDS_OFF_MM, _UNDER_MM = 2.0, 2.0, 0.8, 4.5
_MOST_ROWS, _INSET_MM = 200, 3.0


def set_parts(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    """The plan, the seats along the form where there are stones, the table; nothing where nothing is set."""
    rows = set_rows_of(evaluation)
    if not rows:
        return
    yield SetPlan(evaluation)
    if evaluation.design.stones:
        yield from seat_lines(evaluation, style.body_width_mm)
    yield from SetTable(tuple(rows), style.body_width_mm).parted(style.body_height_mm)


class SetPlan(Result, frozen=True):
    """The finished form at true size with everything that is set on it, each with its letter and number."""

    evaluation: Evaluation

    @cached_property
    def _ticks(self) -> np.ndarray:
        """Lines that the labels belong to, in the order of the rows of the table; shape (rows, 2)."""
        on = self.evaluation.set_on
        lines = []
        for s in on.stones:
            reach = 1j * np.exp(1j * s.heading_rad) * (s.stone.seat_mm / 2 + _BEYOND_MM)
            lines.append((s.seat.at_mm + reach, s.seat.at_mm - reach))
        for p in on.pearls:
            lines.append((p.at_mm + 1j * p.hole * _HALF_TICK_MM, p.at_mm - 1j * p.hole * _HALF_TICK_MM))
        if on.mark is not None and self.evaluation.design.quality_mark is not None:
            half = self.evaluation.design.quality_mark.wide_mm / 2 + _BEYOND_MM
            reach = 1j * np.exp(1j * on.mark.heading_rad) * half
            lines.append((on.mark.at_mm + reach, on.mark.at_mm - reach))
        return np.array(lines)

    @cached_property
    def _labels(self) -> list[Label]:
        e = self.evaluation
        texts = [row.label for row in set_rows_of(e)]
        return labels_at(e.outline, self._ticks, texts, pearl_circles(e, Placing(0.0, 0.0)), hole_lines(e))

    def _items(self, placing: Placing) -> tuple[list[Item], list[Item]]:
        ticks: list[Item] = [
            Path(placing.points(tick), Stroke.CONTINUOUS_EXTRA_NARROW) for tick in self._ticks
        ]
        return [*plan_items(self.evaluation, placing), *ticks], number_items(self._labels, placing)

    @cached_property
    def _about_nought(self) -> tuple[float, float, float, float]:
        left, low, right, high = self.evaluation.outline.bounds_mm
        things, numbers = self._items(Placing(0.0, 0.0))
        x0, y0, x1, y1 = bounds([*things, *numbers])
        return min(x0, left), min(y0, -high), max(x1, right), max(y1, -low)

    @cached_property
    def _head(self) -> Block:
        return Block((Line("Pearls, stones and quality mark, true size", HEADING_HEIGHT_MM, True),))

    @cached_property
    def width_mm(self) -> float:
        x0, _, x1, _ = self._about_nought
        return max(x1 - x0, self._head.width_mm)

    @cached_property
    def height_mm(self) -> float:
        _, y0, _, y1 = self._about_nought
        return HEADING_PITCH_MM + y1 - y0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Groups 'set-heading', 'set-outline', 'set-plan' and 'set-labels'."""
        x0, y0, _, _ = self._about_nought
        placing = Placing(left_mm - x0, top_mm + HEADING_PITCH_MM - y0)
        things, numbers = self._items(placing)
        return [
            Group("set-heading", self._head.drawn(left_mm, top_mm, "start")),
            Group("set-outline", form_items(self.evaluation, placing)),
            Group("set-plan", things),
            Group("set-labels", numbers),
        ]


# --- seats along the form


def seat_lines(evaluation: Evaluation, width_mm: float) -> list[SeatLine]:
    """The finished wire laid straight in as few rows as hold its seats' words, true length in each."""
    on, total = evaluation.set_on, evaluation.finished_length_mm
    places = [(s.seat.finished_mm, s.stone.seat_mm, f"S{n}") for n, s in enumerate(on.stones, start=1)]
    if on.mark is not None and evaluation.design.quality_mark is not None:
        places.append((on.mark.finished_mm, evaluation.design.quality_mark.long_mm, MARK_LETTERS))
        places.sort()
    fewest = int(np.ceil(total / (width_mm - 2 * _INSET_MM)))
    lines: list[SeatLine] = []
    for rows in range(fewest, max(fewest, _MOST_ROWS) + 1):
        edges = np.linspace(0.0, total, rows + 1)
        lines = [
            SeatLine(
                number,
                float(first),
                float(last),
                tuple(p for p in places if first < p[0] <= last or (number == 1 and p[0] == 0.0)),
                width_mm,
                number == rows,
            )
            for number, (first, last) in enumerate(pairwise(edges), start=1)
        ]
        if all(line.side.fits for line in lines):
            break
    return lines


class SeatLine(Result, frozen=True):
    """A row of the finished wire laid straight, `from_mm` to `to_mm`, with its seats: place, size, label."""

    number: int
    from_mm: float
    to_mm: float
    places: tuple[tuple[float, float, str], ...]
    width_mm: float
    last: bool

    @cached_property
    def side(self) -> Side:
        """The words over the line, in one tier or in two where they crowd."""
        words = [
            Words(
                f"seat-{label.lower()}",
                at,
                Block((Line(label, _TEXT_MM + 0.5, True), Line(place_text(at), _TEXT_MM))),
            )
            for at, _, label in self.places
        ]
        x = np.array([self._x_mm(at) for at, _, _ in self.places])
        sides = [set_along(words, x, self.width_mm, tiers) for tiers in (1, 2)]
        return next((side for side in sides if side.fits), sides[-1])

    def _x_mm(self, at_mm: float) -> float:
        return _INSET_MM + at_mm - self.from_mm

    @property
    def _words_mm(self) -> float:
        return sum(self.side.tier_height_mm(tier) + _WORDS_OFF_MM for tier in range(self.side.tiers))

    @property
    def _heading_mm(self) -> float:
        return HEADING_PITCH_MM if self.number == 1 else 0.0

    @property
    def height_mm(self) -> float:
        return self._heading_mm + self._words_mm + _LINE_DOWN_MM + _TICK_MM + _UNDER_MM + 1.0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'seats-1' and so on: the line first, then ticks with their words, and the steps under it."""
        items: list[Item] = []
        y = top_mm + self._heading_mm + self._words_mm + _LINE_DOWN_MM
        x0, x1 = left_mm + self._x_mm(self.from_mm), left_mm + self._x_mm(self.to_mm)
        items.append(Path(np.array([[x0, y], [x1, y]]), Stroke.LONG_DASH_DOT_NARROW))
        if self.number == 1:
            text = "Seats in mm along the finished form, true length"
            items.append(Text((left_mm, top_mm + HEADING_HEIGHT_MM), text, HEADING_HEIGHT_MM, bold=True))
        for at, size, _ in self.places:
            x = left_mm + self._x_mm(at)
            items.append(_line(x, y - _TICK_MM, x, y + _TICK_MM, Stroke.CONTINUOUS_NARROW))
            items.append(_line(x - size / 2, y, x + size / 2, y, Stroke.CONTINUOUS_WIDE))
        for end, shown in ((x0, self.number == 1), (x1, self.last)):
            stroke = Stroke.CONTINUOUS_WIDE if shown else Stroke.DASHED_NARROW
            items.append(_line(end, y - _TICK_MM, end, y + _TICK_MM, stroke))
        return [Group(f"seats-{self.number}", [*items, *self._words(left_mm, y), *self._steps(left_mm, y)])]

    def _words(self, left_mm: float, y: float) -> Iterator[Item]:
        side = self.side
        for number, words in enumerate(side.words):
            tier = side.tier(number)
            bottom = y - _TICK_MM - _WORDS_OFF_MM
            if tier:
                bottom -= side.tier_height_mm(0) + _WORDS_OFF_MM
            x, place = left_mm + float(side.x_mm[number]), left_mm + float(side.place_x_mm[number])
            line = np.array([[place, y - _TICK_MM], [x, bottom]])
            yield Path(line, Stroke.CONTINUOUS_EXTRA_NARROW)
            yield from words.block.drawn(x, bottom - words.block.height_mm)

    def _steps(self, left_mm: float, y: float) -> Iterator[Item]:
        """The distance from each place to the next where it has room, the ends of the form included."""
        stops = [self.from_mm] if self.number == 1 else []
        stops += [at for at, _, _ in self.places]
        stops += [self.to_mm] if self.last else []
        for first, second in pairwise(stops):
            text = place_text(second - first)
            if text_width_mm(text, _TEXT_MM) + 1.0 < second - first:
                x = left_mm + (self._x_mm(first) + self._x_mm(second)) / 2
                yield Text((x, y + _UNDER_MM), text, _TEXT_MM, "middle")


def _line(x0: float, y0: float, x1: float, y1: float, stroke: Stroke) -> Path:
    return Path(np.array([[x0, y0], [x1, y1]]), stroke)


# --- the table


class SetTable(Result, frozen=True):
    """What is set, a row each, its words broken to the width; `number` counts the pieces of one table."""

    rows: tuple[SetRow, ...]
    width_mm: float
    number: int = 1

    def parted(self, height_mm: float) -> list[SetTable]:
        """The table in pieces no higher than this."""
        pieces: list[SetTable] = []
        first, lines = 0, 1
        most = max(2, int((height_mm - HEADING_PITCH_MM - 1.0) / _ROW_PITCH_MM))
        for at, cells in enumerate(self._cells):
            high = max(map(len, cells))
            if lines + high > most and at > first:
                pieces.append(SetTable(self.rows[first:at], self.width_mm, len(pieces) + 1))
                first, lines = at, 1
            lines += high
        return [*pieces, SetTable(self.rows[first:], self.width_mm, len(pieces) + 1)]

    @cached_property
    def _cells(self) -> list[list[list[str]]]:
        """The lines of each cell of each row."""
        rows = [
            [
                [r.label],
                wrapped(r.what, _WHAT_MM, _TEXT_MM),
                [r.cut_text],
                [r.along_text],
                ["" if r.to_next_mm is None else place_text(r.to_next_mm)],
            ]
            for r in self.rows
        ]
        used = [
            _width_mm([t, *(line for row in rows for line in row[i])]) for i, t in enumerate(_TITLES[:-1])
        ]
        left = max(_LEAST_MORE_MM, self.width_mm - sum(used) - _COLUMN_GAP_MM * len(used))
        return [[*row, wrapped(r.more, left, _TEXT_MM)] for row, r in zip(rows, self.rows, strict=True)]

    @property
    def height_mm(self) -> float:
        lines = 1 + sum(max(map(len, cells)) for cells in self._cells)
        return HEADING_PITCH_MM + _ROW_PITCH_MM * lines + 1.0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'set-table-1' and so on."""
        heading = "What is set, and where" if self.number == 1 else "What is set, continued"
        items: list[Item] = [
            Text((left_mm, top_mm + HEADING_HEIGHT_MM), heading, HEADING_HEIGHT_MM, bold=True)
        ]
        table = [[[title] for title in _TITLES], *self._cells]
        columns = zip(*table, strict=True)
        widths = [_width_mm([line for cell in column for line in cell]) for column in columns]
        y = top_mm + HEADING_PITCH_MM + _ROW_PITCH_MM / 2
        for cells in table:
            x = left_mm
            for lines, width in zip(cells, widths, strict=True):
                items += [
                    Text((x, y + number * _ROW_PITCH_MM), line, _TEXT_MM)
                    for number, line in enumerate(lines)
                    if line
                ]
                x += width + _COLUMN_GAP_MM
            y += _ROW_PITCH_MM * max(map(len, cells))
        return [Group(f"set-table-{self.number}", items)]


def _width_mm(column: Sequence[str]) -> float:
    return max((text_width_mm(text, _TEXT_MM) for text in column if text), default=0.0)
