"""The form as hammered where loops would lie on each other: each length between turnings over by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.drawing import Group, Item, Path, Stroke
from formsketch.template.form_part import HEADING_HEIGHT_MM, HEADING_PITCH_MM
from formsketch.template.lettering import Block, Line, block, wrapped
from formsketch.template.plan import Placing, centreline, form_items
from formsketch.template.plan_labels import mark_ticks
from formsketch.template.stages import Apart
from formsketch.values import Result

_HEADING = "As hammered, before it is turned over, true size"
_NOTE = (
    "In one piece the loops would lie on each other. So each length from one turning over to the next is "
    "drawn by itself, with the marks at its ends."
)
_NOTE_MM, _WORDS_MM, _WIDE_WORDS_MM, _MOST_LINES = 2.5, 3.0, 45.0, 3
_BESIDE_MM, _UNDER_MM, _WORDS_OFF_MM = 6.0, 4.0, 1.5


class _Cell(Result, frozen=True):
    """One length with the marks it lies between; lengths alike are drawn once."""

    evaluation: Evaluation
    words: Block

    @cached_property
    def _about_nought(self) -> tuple[float, float, float, float]:
        """Left, low, right, high of the form with its ticks, y up."""
        left, low, right, high = self.evaluation.outline.bounds_mm
        ticks = mark_ticks(self.evaluation)
        x, y = ticks.real, ticks.imag
        return min(left, x.min()), min(low, y.min()), max(right, x.max()), max(high, y.max())

    @cached_property
    def form_width_mm(self) -> float:
        left, _, right, _ = self._about_nought
        return right - left

    @cached_property
    def form_height_mm(self) -> float:
        _, low, _, high = self._about_nought
        return high - low

    @property
    def width_mm(self) -> float:
        return max(self.form_width_mm, self.words.width_mm)

    def placing(self, left_mm: float, low_mm: float) -> Placing:
        """In the middle of the cell, its lowest point at this height of the sheet."""
        left, low, _, _ = self._about_nought
        return Placing(left_mm + (self.width_mm - self.form_width_mm) / 2 - left, low_mm + low)


class ApartPart(Result, frozen=True):
    """Lengths of a form beside each other in rows no wider than `width_mm`, ready to be drawn anywhere."""

    lengths: Sequence[Apart]
    width_mm: float

    @cached_property
    def cells(self) -> list[_Cell]:
        cells = []
        for length in self.lengths:
            evaluation = evaluate(length.design)
            texts = length.texts
            if len(texts) > _MOST_LINES:
                texts = wrapped(", ".join(texts), _WIDE_WORDS_MM, _WORDS_MM)
            cells.append(_Cell(evaluation, block(texts, _WORDS_MM)))
        return cells

    @cached_property
    def _head(self) -> Block:
        return Block((Line(_HEADING, HEADING_HEIGHT_MM, True),))

    @cached_property
    def _note(self) -> Block:
        return block(wrapped(_NOTE, self.width_mm, _NOTE_MM), _NOTE_MM)

    @cached_property
    def _rows(self) -> list[list[_Cell]]:
        rows: list[list[_Cell]] = [[]]
        used = 0.0
        for cell in self.cells:
            if rows[-1] and used + cell.width_mm > self.width_mm:
                rows.append([])
                used = 0.0
            rows[-1].append(cell)
            used += cell.width_mm + _BESIDE_MM
        return rows

    @cached_property
    def height_mm(self) -> float:
        rows = sum(_forms_mm(row) + _WORDS_OFF_MM + _words_mm(row) for row in self._rows)
        return self._head_mm + rows + _UNDER_MM * (len(self._rows) - 1)

    @property
    def _head_mm(self) -> float:
        return HEADING_PITCH_MM - 1.0 + self._note.height_mm + 2.0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Groups 'hammered-outline' and so on, in each one group for every length."""
        texts: list[Item] = [*self._head.drawn(left_mm, top_mm, "start")]
        texts += self._note.drawn(left_mm, top_mm + HEADING_PITCH_MM - 1.0, "start")
        kinds: dict[str, list[Group]] = {name: [] for name in ("outline", "centreline", "marks", "words")}
        for number, (cell, x, low) in enumerate(self._set(left_mm, top_mm + self._head_mm), start=1):
            placing = cell.placing(x, low)
            ticks: list[Item] = [
                Path(placing.points(tick), Stroke.CONTINUOUS_NARROW) for tick in mark_ticks(cell.evaluation)
            ]
            words = cell.words.drawn(x + cell.width_mm / 2, low + _WORDS_OFF_MM)
            for name, items in (
                ("outline", form_items(cell.evaluation, placing)),
                ("centreline", [centreline(cell.evaluation, placing)]),
                ("marks", ticks),
                ("words", words),
            ):
                kinds[name].append(Group(f"hammered-{name}-{number}", items))
        return [
            Group("hammered-heading", texts),
            *(Group(f"hammered-{name}", groups) for name, groups in kinds.items()),
        ]

    def _set(self, left_mm: float, top_mm: float) -> Iterator[tuple[_Cell, float, float]]:
        """Every cell with its left edge and the height of its form's lowest point."""
        for row in self._rows:
            x, low = left_mm, top_mm + _forms_mm(row)
            for cell in row:
                yield cell, x, low
                x += cell.width_mm + _BESIDE_MM
            top_mm = low + _WORDS_OFF_MM + _words_mm(row) + _UNDER_MM


def _forms_mm(row: Sequence[_Cell]) -> float:
    return max(cell.form_height_mm for cell in row)


def _words_mm(row: Sequence[_Cell]) -> float:
    return max(cell.words.height_mm for cell in row)
