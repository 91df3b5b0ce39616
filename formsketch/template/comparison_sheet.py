"""Forms side by side on one sheet, all at one scale, with their figures and how they differ."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from formsketch.comparison.variants import Candidate
from formsketch.errors import FormSketchError
from formsketch.template.comparison_table import FIGURE_GAPS_MM, FIGURE_MM, ComparisonTable
from formsketch.template.drawing import Group, Item, Path, Sheet, Stroke, Text
from formsketch.template.lettering import LINE_PITCH, Block, Line, block, wrapped
from formsketch.template.papers import (
    A3_LYING,
    A3_UPRIGHT,
    A4_LYING,
    A4_UPRIGHT,
    MARGIN_MM,
    Paper,
    larger_paper,
)
from formsketch.template.plan import form_items, placed_in
from formsketch.template.set_items import plan_items
from formsketch.template.title_block import CHECK_BAR_MM, CHECK_TEXT, check_bar
from formsketch.values import Result

# ISO 5455, reductions.
REDUCTIONS = (1, 2, 5, 10, 20, 50, 100)
METAL_TONE = "#d9d3c5"
FAINT_TONE, FAINT_LINE = "#f4f4f4", "#b8b8b8"
LARGEST_SIDE_MM = 1189.0  # A0, the largest sheet that shops print as a matter of course

_TITLE_MM, _SUBTITLE_MM, _SHEET_TITLE_MM = 3.5, 2.5, 5.0
_CELL_GAP_MM, _CELL_PAD_MM = 8.0, 4.0
_FIGURE_PITCH_MM = 4.2
_FIGURE_COLUMN_GAP_MM = 10.0
_FOOT_MM = 12.0
_REASON_OFF_MM = 2.0
_LEAST_CELL_MM = 40.0


def comparison_sheet(candidates: Sequence[Candidate], columns: int) -> Sheet:
    """All candidates in cells, row by row, in so many columns, or in as many as suit when `columns` is 0.

    At true size when that fits a sheet of A4 or A3, else at the first reduction of ISO 5455 that does; when
    figures alone are too many for A3, on a larger sheet. Raises `FormSketchError` when there is nothing to
    compare, or more than any such sheet holds.
    """
    if not any(one.measured is not None for one in candidates):
        raise FormSketchError(_nothing_to_show(candidates))
    table = ComparisonTable(candidates)
    wanted = [columns] if columns > 0 else list(range(len(candidates), 0, -1))
    for reduction in REDUCTIONS:
        for paper in (A4_LYING, A4_UPRIGHT, A3_LYING, A3_UPRIGHT):
            for count in wanted:
                layout = _Layout(table, count, paper.usable_width_mm, reduction)
                if layout.fits_across and layout.height_mm <= paper.usable_height_mm:
                    return layout.sheet(paper)
    for reduction in REDUCTIONS:
        layouts = (_Layout(table, count, None, reduction) for count in wanted)
        layout = min(layouts, key=lambda one: max(one.width_mm, one.height_mm))
        if max(layout.width_mm, layout.height_mm) + 2 * MARGIN_MM <= LARGEST_SIDE_MM:
            return layout.sheet(larger_paper(layout.width_mm, layout.height_mm))
    raise FormSketchError(
        f"A comparison of {len(candidates)} forms: more than a sheet of A0 holds; compare fewer at once."
    )


def _nothing_to_show(candidates: Sequence[Candidate]) -> str:
    if not candidates:
        return "A comparison: expected at least one form, got none."
    return f"A comparison: none of the forms can be made. {candidates[0].reason}"


class _Layout(Result, frozen=True):
    """Cells in so many columns at one reduction, in a given width or (None) in as much as they need."""

    table: ComparisonTable
    columns: int
    given_width_mm: float | None
    reduction: int

    @property
    def scale(self) -> float:
        return 1.0 / self.reduction

    @property
    def _needed_mm(self) -> float:
        """Width a cell cannot do without."""
        forms = max(width for width, _ in self.table.form_sizes_mm) * self.scale
        return max(forms, self.table.figures_width_mm, _LEAST_CELL_MM)

    @cached_property
    def cell_width_mm(self) -> float:
        if self.given_width_mm is None:
            return self._needed_mm
        return (self.given_width_mm - _CELL_GAP_MM * (self.columns - 1)) / self.columns

    @property
    def width_mm(self) -> float:
        return self.cell_width_mm * self.columns + _CELL_GAP_MM * (self.columns - 1)

    @property
    def fits_across(self) -> bool:
        return self.cell_width_mm >= self._needed_mm

    @cached_property
    def _rows(self) -> list[range]:
        count = len(self.table.candidates)
        return [range(at, min(at + self.columns, count)) for at in range(0, count, self.columns)]

    @cached_property
    def _figure_columns(self) -> int:
        room = (self.cell_width_mm + _FIGURE_COLUMN_GAP_MM) / (
            self.table.figures_width_mm + _FIGURE_COLUMN_GAP_MM
        )
        return max(1, min(3, int(room)))

    @cached_property
    def _headings(self) -> list[Block]:
        headings = []
        for one in self.table.candidates:
            title = wrapped(one.title, self.cell_width_mm, _TITLE_MM, bold=True) or ["Untitled"]
            lines = [Line(text, _TITLE_MM, True) for text in title]
            lines += [Line(t, _SUBTITLE_MM) for t in wrapped(one.subtitle, self.cell_width_mm, _SUBTITLE_MM)]
            headings.append(Block(tuple(lines)))
        return headings

    @cached_property
    def _reasons(self) -> list[Block | None]:
        return [
            block(wrapped(f"Cannot be made. {c.reason}", self.cell_width_mm, _SUBTITLE_MM), _SUBTITLE_MM)
            if c.reason
            else None
            for c in self.table.candidates
        ]

    def _below_mm(self, number: int) -> float:
        """Height of what stands under a form: the figures, and the reason why it cannot be made."""
        figures = self._figures_height_mm(number)
        reason = self._reasons[number]
        return figures + (reason.height_mm + _REASON_OFF_MM if reason is not None and figures else 0.0)

    def _figures_height_mm(self, number: int) -> float:
        return -(-len(self.table.figures[number]) // self._figure_columns) * _FIGURE_PITCH_MM

    def _form_height_mm(self, number: int) -> float:
        """Height of the form, or of the reason that stands in its place."""
        reason = self._reasons[number]
        if self.table.candidates[number].measured is None and reason is not None:
            return reason.height_mm
        return self.table.form_sizes_mm[number][1] * self.scale

    def _row_heights_mm(self, row: range) -> tuple[float, float, float]:
        """Heights in a row of cells: heading, form, and what stands below."""
        return (
            max(self._headings[i].height_mm for i in row),
            max(self._form_height_mm(i) for i in row) + 2 * _CELL_PAD_MM,
            max(self._below_mm(i) for i in row),
        )

    @cached_property
    def _sheet_heading(self) -> Block:
        scale = "true size" if self.reduction == 1 else f"1:{self.reduction}"
        told = f"All at {scale}."
        if len(self.table.candidates) > 1:
            told += f" Differences are from {self.table.base.title}."
        width = self.width_mm
        lines = [
            Line(t, _SHEET_TITLE_MM, True) for t in wrapped(self.table.titles, width, _SHEET_TITLE_MM, True)
        ]
        lines += [Line(text, 3.0) for text in wrapped(told, width, 3.0)]
        return Block(tuple(lines))

    @cached_property
    def height_mm(self) -> float:
        rows = sum(sum(self._row_heights_mm(row)) + _CELL_GAP_MM for row in self._rows)
        return self._sheet_heading.height_mm + _CELL_GAP_MM + rows + _FOOT_MM

    def sheet(self, paper: Paper) -> Sheet:
        """The sheet drawn."""
        return Sheet(paper.width_mm, paper.height_mm, self.table.titles, list(self._groups(paper)))

    def _groups(self, paper: Paper) -> Iterator[Group]:
        yield Group("heading", self._sheet_heading.drawn(MARGIN_MM, MARGIN_MM, "start"))
        y = MARGIN_MM + self._sheet_heading.height_mm + _CELL_GAP_MM
        for row in self._rows:
            heights = self._row_heights_mm(row)
            for column, number in enumerate(row):
                left = MARGIN_MM + column * (self.cell_width_mm + _CELL_GAP_MM)
                yield Group(f"candidate-{number + 1}", list(self._cell(number, left, y, heights)))
            yield Group(f"rules-{row[0] + 1}", self._rules(row, y, sum(heights)))
            y += sum(heights) + _CELL_GAP_MM
        bar_y = paper.height_mm - MARGIN_MM - _FOOT_MM + 4.0
        true = self.reduction == 1
        told = CHECK_TEXT if true else f"This bar stands for {CHECK_BAR_MM:.0f} mm."
        bar = check_bar(MARGIN_MM, bar_y, CHECK_BAR_MM * self.scale)
        yield Group("check-bar" if true else "scale-bar", bar)
        yield Group("printing", block([told]).drawn(MARGIN_MM, bar_y + 3.0, "start"))

    def _rules(self, row: range, top_mm: float, height_mm: float) -> list[Item]:
        """Upright lines between the cells of a row."""
        return [
            Path(np.array([[x, top_mm], [x, top_mm + height_mm]]), Stroke.CONTINUOUS_EXTRA_NARROW)
            for x in (
                MARGIN_MM + column * (self.cell_width_mm + _CELL_GAP_MM) - _CELL_GAP_MM / 2
                for column in range(1, len(row))
            )
        ]

    def _cell(
        self, number: int, left_mm: float, top_mm: float, heights_mm: tuple[float, float, float]
    ) -> Iterator[Item | Group]:
        one, middle = self.table.candidates[number], left_mm + self.cell_width_mm / 2
        heading_mm, form_mm, _ = heights_mm
        yield from self._headings[number].drawn(middle, top_mm)
        form_top = top_mm + heading_mm
        if one.measured is not None:
            placing = placed_in(one.measured, left_mm, form_top, self.cell_width_mm, form_mm, self.scale)
            fill, line = (FAINT_TONE, FAINT_LINE) if one.reason else (METAL_TONE, "#000000")
            form = form_items(one.measured, placing, fill, line)
            yield Group(f"form-{number + 1}", [*form, *plan_items(one.measured, placing)])
        reason, y = self._reasons[number], form_top + form_mm
        if self.table.figures[number]:
            yield Group(f"figures-{number + 1}", self._figures(number, middle, y))
            y += self._figures_height_mm(number) + _REASON_OFF_MM
        else:
            y = form_top + _CELL_PAD_MM
        if reason is not None:
            yield Group(f"reason-{number + 1}", reason.drawn(middle, y))

    def _figures(self, number: int, middle_mm: float, top_mm: float) -> list[Item]:
        """Label, value and difference in aligned columns, the whole centred."""
        figures = self.table.figures[number]
        count = self._figure_columns
        each = -(-len(figures) // count)
        labels, values, _ = self.table.widths_mm
        one_width = self.table.figures_width_mm
        whole = count * one_width + (count - 1) * _FIGURE_COLUMN_GAP_MM
        items: list[Item] = []
        for place, (label, value, difference) in enumerate(figures):
            column, line = divmod(place, each)
            x = middle_mm - whole / 2 + column * (one_width + _FIGURE_COLUMN_GAP_MM)
            y = top_mm + line * _FIGURE_PITCH_MM + FIGURE_MM * LINE_PITCH * 0.75
            items.append(Text((x, y), label, FIGURE_MM))
            x += labels + FIGURE_GAPS_MM[0] + values
            items.append(Text((x, y), value, FIGURE_MM, "end", bold=True))
            if difference:
                items.append(Text((x + FIGURE_GAPS_MM[1], y), difference, FIGURE_MM))
        return items
