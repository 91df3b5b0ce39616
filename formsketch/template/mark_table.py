"""The marks as a table, for setting them with rule and dividers."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from formsketch.evaluation.end_marks import end_marks_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_words import marks_in_words, place_text, spans_in_words
from formsketch.template.drawing import Group, Item, Path, Stroke, Text, text_width_mm
from formsketch.template.set_items import set_rows_of
from formsketch.template.wire_strip import mark_places_mm
from formsketch.units import band_text
from formsketch.values import Result

TEXT_HEIGHT_MM = 2.5
ROW_PITCH_MM = 4.0
HEADING_PITCH_MM = 6.5
_COLUMN_GAP_MM = 4.0
_TABLE_GAP_MM = 12.0
_FEWEST_ROWS = 8  # a shorter table is not split
_TITLES = ("mark", "at mm", "band", "to next", "turn", "tube", "exact", "thick", "wide")
_RIGHT_ALIGNED = (0, 1, 3, 6, 7, 8)


class MarkTable(Result, frozen=True):
    """Rows of text, set in as many tables beside each other as the width takes."""

    evaluation: Evaluation
    width_mm: float
    first: int = 0
    last: int | None = None

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The rows from `first` up to `last`, all of them if not said."""
        return self._all_rows[self.first : self.last]

    def parted(self, height_mm: float) -> list[MarkTable]:
        """The table in pieces no higher than this, each with its titles."""
        if self.height_mm <= height_mm:
            return [self]
        each = max(1, int((height_mm - 1.0 - HEADING_PITCH_MM) / ROW_PITCH_MM) - 1) * max(1, self.tables)
        count = len(self._all_rows)
        return [MarkTable(self.evaluation, self.width_mm, at, at + each) for at in range(0, count, each)]

    @cached_property
    def _all_rows(self) -> list[tuple[str, ...]]:
        """All rows; what uneven blows leave at the edges only where the sheet is wide enough for it."""
        rows = self._worded(edges=True)
        widest = sum(_width_mm(column) for column in zip(_TITLES, *rows, strict=True))
        fits = widest + _COLUMN_GAP_MM * (len(_TITLES) - 1) <= self.width_mm
        return rows if fits else self._worded(edges=False)

    def _worded(self, edges: bool) -> list[tuple[str, ...]]:
        """Mark, place, its band, wire to the next mark, turn up to it, tube, exact tube, thickness, width."""
        places = mark_places_mm(self.evaluation)
        at_marks = marks_in_words(self.evaluation, before_turning_over=True)
        low, high = self.evaluation.marks_band_mm
        bands = [
            band_text(least, most, place)
            for least, most, place in zip(low.tolist(), high.tolist(), places, strict=False)
        ]
        rows = []
        for i, words in enumerate(spans_in_words(self.evaluation, before_turning_over=True)):
            at_mark = " ".join(at_marks[i])
            turn = " ".join([*([f"{at_mark},"] if at_mark else []), *words.turn, words.change]).strip()
            turn = f"{turn}, {words.grip}" if words.grip else turn
            if words.edges and edges:
                turn = f"{turn}, {', '.join(words.edges)}, {' '.join(words.comes_to)}"
            rows.append(
                (
                    str(i + 1),
                    place_text(places[i]),
                    bands[i],
                    place_text(places[i + 1] - places[i]),
                    turn,
                    words.tube or words.no_tube,
                    words.tube_exact,
                    words.thin,
                    words.wide,
                )
            )
        in_start, in_finish = end_marks_mm(self.evaluation)
        inside = [at for _, at in in_start]
        following = [*inside, places[0]][1:] if inside else []
        before = [
            _end_row(word, at, after, "start") for (word, at), after in zip(in_start, following, strict=True)
        ]
        ends = [*(at for _, at in in_finish), None]
        last = (str(len(places)), place_text(places[-1]), "", _apart_text(places[-1], ends[0]), *[""] * 5)
        after_last = [
            _end_row(word, at, after, "finish") for (word, at), after in zip(in_finish, ends[1:], strict=True)
        ]
        return [*before, *rows, last, *after_last, *_set_rows(self.evaluation)]

    @cached_property
    def _titles(self) -> tuple[str, ...]:
        """Titles of the columns, none over one that has nothing to say."""
        return tuple(
            title if any(row[at] for row in self._all_rows) else "" for at, title in enumerate(_TITLES)
        )

    @cached_property
    def _column_widths_mm(self) -> list[float]:
        columns = zip(self._titles, *self._all_rows, strict=True)
        return [_width_mm(column) for column in columns]

    @property
    def _one_width_mm(self) -> float:
        return sum(self._column_widths_mm) + _COLUMN_GAP_MM * (len(_TITLES) - 1)

    @property
    def tables(self) -> int:
        """How many tables stand beside each other; 0 when not even one has room."""
        fit = int((self.width_mm + _TABLE_GAP_MM) / (self._one_width_mm + _TABLE_GAP_MM))
        return min(fit, -(-len(self.rows) // _FEWEST_ROWS))

    @property
    def _rows_each(self) -> int:
        return -(-len(self.rows) // max(1, self.tables))

    @property
    def height_mm(self) -> float:
        """Heading, titles and rows."""
        return HEADING_PITCH_MM + ROW_PITCH_MM * (self._rows_each + 1) + 1.0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'mark-table', its upper left corner at this place."""
        items: list[Item] = [Text((left_mm, top_mm + 3.8), "Marks and bends in order", 3.5, bold=True)]
        top_mm += HEADING_PITCH_MM
        each = self._rows_each
        for table in range(self.tables):
            left = left_mm + table * (self._one_width_mm + _TABLE_GAP_MM)
            rows = self.rows[table * each : (table + 1) * each]
            if rows:
                items += self._one_table(rows, left, top_mm)
        return [Group("mark-table", items)]

    def _one_table(self, rows: list[tuple[str, ...]], left_mm: float, top_mm: float) -> list[Item]:
        rule_y = top_mm + ROW_PITCH_MM + 0.4
        rule = np.array([[left_mm, rule_y], [left_mm + self._one_width_mm, rule_y]])
        items: list[Item] = [Path(rule, Stroke.CONTINUOUS_EXTRA_NARROW)]
        for number, row in enumerate([self._titles, *rows]):
            baseline = top_mm + ROW_PITCH_MM * (number + 1) - 0.9 + (1.0 if number else 0.0)
            x = left_mm
            for column, (text, width) in enumerate(zip(row, self._column_widths_mm, strict=True)):
                if text and column in _RIGHT_ALIGNED:
                    items.append(Text((x + width, baseline), text, TEXT_HEIGHT_MM, "end"))
                elif text:
                    items.append(Text((x, baseline), text, TEXT_HEIGHT_MM))
                x += width + _COLUMN_GAP_MM
        return items


def _end_row(word: str, at_mm: float, next_mm: float | None, which: str) -> tuple[str, ...]:
    """The row of a mark inside an end."""
    return (word, place_text(at_mm), "", _apart_text(at_mm, next_mm), f"in the {which} end", *[""] * 4)


def _apart_text(at_mm: float, next_mm: float | None) -> str:
    return "" if next_mm is None else place_text(next_mm - at_mm)


def _set_rows(evaluation: Evaluation) -> list[tuple[str, ...]]:
    """Seats and the quality mark; where pearls are tied is not marked on the wire."""
    rows = set_rows_of(evaluation)
    return [(r.label, r.cut_text, "", "", r.what, *[""] * 4) for r in rows if len(r.cut_mm) == 1]


def _width_mm(column: Sequence[str]) -> float:
    return max((text_width_mm(text, TEXT_HEIGHT_MM) for text in column if text), default=0.0)
