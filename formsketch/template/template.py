"""The true-scale template: what the bench needs of one design, on one sheet, never scaled."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.drawing import LARGEST_SHEET_MM, SMALLEST_TEXT_MM, Group, Sheet
from formsketch.template.form_part import FormPart
from formsketch.template.lettering import title_text
from formsketch.template.mark_table import MarkTable
from formsketch.template.papers import (
    A3_LYING,
    A3_UPRIGHT,
    A4_LYING,
    A4_UPRIGHT,
    MARGIN_MM,
    Paper,
    larger_paper,
)
from formsketch.template.title_block import Foot, TitleBlock
from formsketch.template.wire_strip import TEXT_HEIGHT_MM, WireStrip, lay_wire
from formsketch.values import Result

FINISHED_HEADING = "The finished form"
_SECTION_GAP_MM = 6.0
# Lettering to be read at arm's length; smaller, as small as ISO 3098 has it for drawings, when that saves
# a sheet larger than most printers take.
_TRIALS = (
    ((A4_UPRIGHT, A4_LYING), TEXT_HEIGHT_MM),
    ((A4_UPRIGHT, A4_LYING), SMALLEST_TEXT_MM),
    ((A3_UPRIGHT, A3_LYING), TEXT_HEIGHT_MM),
    ((A3_UPRIGHT, A3_LYING), SMALLEST_TEXT_MM),
)


def template_sheets(evaluation: Evaluation) -> list[Sheet]:
    """One sheet: title block, straight wire, finished form and marks, all at true size.

    A4 if it fits, then A3, else a larger sheet that says so. The same evaluation gives the same sheet. Raises
    `FormSketchError` when the form cannot be made as it is, or no sheet is large enough.
    """
    refuse_stopped(evaluation)
    plan = FormPart("form", FINISHED_HEADING, evaluation)
    for papers, text_mm in _TRIALS:
        for paper in papers:
            if plan.width_mm > paper.usable_width_mm:
                continue
            layout = Layout(evaluation, plan, paper.usable_width_mm, text_mm)
            if layout.least_height_mm <= paper.usable_height_mm:
                return [layout.sheet(paper)]
    layout = Layout(evaluation, plan, max(A3_LYING.usable_width_mm, plan.width_mm), TEXT_HEIGHT_MM)
    return [layout.sheet(_large_paper(layout))]


def refuse_stopped(evaluation: Evaluation) -> None:
    """Raises `FormSketchError` when the form cannot be made as it is."""
    stops = [caution.message for caution in evaluation.cautions if caution.weight == "stop"]
    if stops:
        raise FormSketchError(f"No template of {evaluation.design.title or 'this design'}: {stops[0]}")


def _large_paper(layout: Layout) -> Paper:
    """A sheet as large as it must be, the table of marks included."""
    table_mm = layout.table.height_mm + _SECTION_GAP_MM if layout.table.tables else 0.0
    paper = larger_paper(layout.width_mm, layout.least_height_mm + table_mm)
    if max(paper.width_mm, paper.height_mm) > LARGEST_SHEET_MM:
        raise FormSketchError(
            f"No template of {layout.evaluation.design.title or 'this design'}: it would need a sheet of "
            f"{paper.name}, and the largest is {LARGEST_SHEET_MM:.0f} mm a side."
        )
    return paper


class Layout(Result, frozen=True):
    """Everything on the sheet for one usable width, from the top: title, wire, form, table; foot below."""

    evaluation: Evaluation
    plan: FormPart
    width_mm: float
    text_mm: float

    @cached_property
    def strip(self) -> WireStrip:
        compact = self.text_mm < TEXT_HEIGHT_MM
        return lay_wire(self.evaluation, self.width_mm, self.text_mm, compact)

    @cached_property
    def title(self) -> TitleBlock:
        return TitleBlock(self.evaluation, self.width_mm)

    @cached_property
    def foot(self) -> Foot:
        return Foot(self.evaluation, self.width_mm)

    @cached_property
    def table(self) -> MarkTable:
        return MarkTable(self.evaluation, self.width_mm)

    @cached_property
    def least_height_mm(self) -> float:
        """All but the table."""
        parts = (self.title, self.strip, self.plan, self.foot)
        return sum(part.height_mm for part in parts) + _SECTION_GAP_MM * (len(parts) - 1)

    def sheet(self, paper: Paper) -> Sheet:
        """The sheet, with the table of marks if there is room left for it."""
        return Sheet(paper.width_mm, paper.height_mm, self._title, list(self._groups(paper)))

    @property
    def _title(self) -> str:
        return f"{title_text(self.evaluation.design.title)}: template at true scale"

    def _groups(self, paper: Paper) -> Iterator[Group]:
        y = MARGIN_MM
        yield from self.title.drawn(MARGIN_MM, y)
        y += self.title.height_mm + _SECTION_GAP_MM
        yield from self.strip.drawn(MARGIN_MM, y)
        y += self.strip.height_mm + _SECTION_GAP_MM
        yield from self.plan.drawn(MARGIN_MM, y, self.width_mm)
        y += self.plan.height_mm + _SECTION_GAP_MM
        spare_mm = paper.usable_height_mm - self.least_height_mm
        if self.table.tables and self.table.height_mm + _SECTION_GAP_MM <= spare_mm:
            yield from self.table.drawn(MARGIN_MM, y)
        yield from self.foot.drawn(MARGIN_MM, paper.height_mm - MARGIN_MM - self.foot.height_mm, paper)
