"""The bench card: one piece on a page or two, picture, facts, tubes, steps to tick, cautions and notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_steps import Step, bench_steps, tubes_to_fetch
from formsketch.template.drawing import Group, Item, Path, Sheet, Stroke, Text
from formsketch.template.form_part import FormPart
from formsketch.template.lettering import LINE_PITCH, block, title_text, wrapped
from formsketch.template.pages import sheets_of
from formsketch.template.papers import A4_UPRIGHT, Paper
from formsketch.template.sheet_style import SheetStyle
from formsketch.template.template import FINISHED_HEADING, refuse_stopped
from formsketch.template.tiling import Part
from formsketch.template.title_block import TitleBlock, caution_texts

_TEXT_MM, _TITLE_MM, _BOX_MM = 2.8, 3.5, 3.2
_INDENT_MM, _TITLE_PITCH_MM, _GAP_MM = 7.0, 5.5, 3.5


def card_sheets(
    evaluation: Evaluation, order: Sequence[str] | None = None, paper: Paper = A4_UPRIGHT
) -> list[Sheet]:
    """The card as sheets. Raises `FormSketchError` when the form cannot be made as it is."""
    refuse_stopped(evaluation)
    title = title_text(evaluation.design.title)
    style = SheetStyle(f"{title}: bench card", paper, gap_mm=_GAP_MM)
    return sheets_of(list(_parts(evaluation, order, style.body_width_mm)), style)


def _parts(evaluation: Evaluation, order: Sequence[str] | None, width_mm: float) -> Iterator[Part]:
    yield TitleBlock(evaluation, width_mm)
    form = FormPart("form", FINISHED_HEADING, evaluation)
    yield form
    tubes = tubes_to_fetch(evaluation)
    if tubes:
        yield Paragraph("tubes", "Tubes to fetch", ("; ".join(tubes) + ".",), width_mm, ticked=False)
    for number, step in enumerate(bench_steps(evaluation, order), start=1):
        yield Paragraph(f"step-{step.key}", f"{number}. {step.title}", _lines(step), width_mm, step.within)
    cautions = caution_texts(evaluation)
    if cautions:
        yield Paragraph("cautions", "Cautions", tuple(cautions), width_mm, ticked=False)
    notes = tuple(line for line in evaluation.design.notes.splitlines() if line.strip())
    if notes:
        yield Paragraph("notes", "Notes", notes, width_mm, ticked=False)


def _lines(step: Step) -> tuple[str, ...]:
    return (*step.lines, f"Caution: {step.caution}") if step.caution else step.lines


@dataclass(frozen=True, eq=False)
class Paragraph:
    """A heading over lines, each with a box to tick; `aside` stands at the right of the heading."""

    name: str
    heading: str
    lines: tuple[str, ...]
    width_mm: float
    aside: str = ""
    ticked: bool = True

    @cached_property
    def _wrapped(self) -> list[list[str]]:
        return [wrapped(line, self.width_mm - _INDENT_MM, _TEXT_MM) for line in self.lines]

    @cached_property
    def height_mm(self) -> float:
        return _TITLE_PITCH_MM + sum(map(len, self._wrapped)) * _TEXT_MM * LINE_PITCH

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """One group of its name."""
        items: list[Item] = [Text((left_mm, top_mm + 3.5), self.heading, _TITLE_MM, bold=True)]
        if self.aside:
            items.append(Text((left_mm + self.width_mm, top_mm + 3.5), self.aside, _TEXT_MM, "end"))
        y = top_mm + _TITLE_PITCH_MM
        for line, texts in zip(self.lines, self._wrapped, strict=True):
            if self.ticked and not line.startswith("Caution"):
                items.append(_box(left_mm, y))
            items += block(texts, _TEXT_MM).drawn(left_mm + _INDENT_MM, y, "start")
            y += len(texts) * _TEXT_MM * LINE_PITCH
        return [Group(self.name, items)]


def _box(left_mm: float, top_mm: float) -> Path:
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * _BOX_MM
    return Path(corners + np.array([left_mm, top_mm + 0.1]), Stroke.CONTINUOUS_NARROW, closed=True)
