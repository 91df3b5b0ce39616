"""The template as the maker wants it: which parts, on which paper, how set. Parts are drawn as elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.apart_part import ApartPart
from formsketch.template.drawing import Group, Sheet
from formsketch.template.form_part import FormPart
from formsketch.template.gauge_part import GaugePart, TruingPart
from formsketch.template.lettering import block, title_text, wrapped
from formsketch.template.mark_table import MarkTable
from formsketch.template.moved import Move
from formsketch.template.pages import sheets_of
from formsketch.template.papers import A4_UPRIGHT, MARGIN_MM, Paper, paper_named
from formsketch.template.rule_part import rule_strips
from formsketch.template.set_part import set_parts
from formsketch.template.sheet_style import OVERLAP_MM, TRUE_PRINT, SheetStyle, Stretch, stretch_for
from formsketch.template.stages import (
    evaluated_as_bent,
    evaluated_as_hammered,
    hammered_apart,
    is_turned_over,
    piles_up,
)
from formsketch.template.template import FINISHED_HEADING, refuse_stopped
from formsketch.template.tiling import Part
from formsketch.template.title_block import TitleBlock, caution_texts
from formsketch.template.wire_row_drawing import RowDrawing
from formsketch.template.wire_strip import WireStrip, lay_wire
from formsketch.values import Result, Value

# What a template can hold, in the order it is set in, with words for people.
PART_WORDS: dict[str, str] = {
    "wire": "the straight wire to lay the wire on",
    "rule": "the wire as a strip to cut out",
    "table": "marks and bends in order",
    "bent": "the form as bent, before hammering, over its tubes",
    "hammered": "the form as hammered, before it is turned over",
    "finished": "the finished form",
    "set": "pearls, stones and the quality mark",
    "gauges": "gauges of width and thickness",
}
USUAL_PARTS = ("wire", "table", "bent", "finished", "set", "gauges")
_TEXT_MM = 2.5
_NEVER_TURNED = ("table", "gauges")  # alike from both sides


class Choice(Value, frozen=True):
    """What to print and how. `mirrored` turns the drawing over for transfer, lettering kept readable;
    `left_handed` runs the wire from right to left; `truing_mm` is an inside circumference to true on and
    `truing_aspect` its height over its width.
    """

    parts: tuple[str, ...] = USUAL_PARTS
    paper: Paper = A4_UPRIGHT
    overlap_mm: float = OVERLAP_MM
    mirrored: bool = False
    left_handed: bool = False
    stretch: Stretch = TRUE_PRINT
    truing_mm: float | None = None
    truing_aspect: float = 1.0

    def __post_init__(self) -> None:
        unknown = [part for part in self.parts if part not in PART_WORDS]
        if unknown or not self.parts:
            got = repr(unknown[0]) if unknown else "none"
            raise FormSketchError(f"parts of a template: expected some of {', '.join(PART_WORDS)}, got {got}")
        if self.truing_mm is not None and not 20.0 <= self.truing_mm <= 2_000.0:
            raise FormSketchError(f"truing: expected 20 to 2000 mm round inside, got {self.truing_mm:g}")
        if not 0.3 <= self.truing_aspect <= 1.0:
            raise FormSketchError(
                f"oval: expected its height over its width, 0.3 to 1, got {self.truing_aspect:g}"
            )


def choice_of(
    paper: str | None = None,
    lying: bool = False,
    parts: str | None = None,
    margin_mm: float | None = None,
    overlap_mm: float | None = None,
    bar_across_mm: float | None = None,
    bar_down_mm: float | None = None,
    mirrored: bool = False,
    left_handed: bool = False,
    truing_mm: float | None = None,
    truing_aspect: float | None = None,
) -> Choice | None:
    """What was asked for, in words and numbers as typed; None when nothing was. Raises `FormSketchError`."""
    asked = (paper, lying, parts, margin_mm, overlap_mm, bar_across_mm, bar_down_mm)
    if not any((*asked, mirrored, left_handed, truing_mm, truing_aspect)):
        return None
    return Choice(
        USUAL_PARTS if parts is None else tuple(part.strip() for part in parts.split(",")),
        paper_named(paper or "a4", lying, MARGIN_MM if margin_mm is None else margin_mm),
        OVERLAP_MM if overlap_mm is None else overlap_mm,
        mirrored,
        left_handed,
        stretch_for(
            100.0 if bar_across_mm is None else bar_across_mm, 100.0 if bar_down_mm is None else bar_down_mm
        ),
        truing_mm,
        1.0 if truing_aspect is None else truing_aspect,
    )


def printed_sheets(evaluation: Evaluation, choice: Choice) -> list[Sheet]:
    """All sheets of a template. Raises `FormSketchError` when the form cannot be made as it is."""
    refuse_stopped(evaluation)
    remarks = []
    if choice.mirrored:
        remarks.append("Mirrored for transfer: left and right are those of the piece, not of this drawing.")
    if choice.left_handed:
        when = " once transferred" if choice.mirrored else ""
        remarks.append(f"The straight wire runs from right to left{when}.")
    style = SheetStyle(
        title_text(evaluation.design.title), choice.paper, choice.overlap_mm, choice.stretch, tuple(remarks)
    )
    return sheets_of(list(_parts(evaluation, choice, style)), style)


def _parts(evaluation: Evaluation, choice: Choice, style: SheetStyle) -> Iterator[Part]:
    wide = style.body_width_mm
    yield TitleBlock(evaluation, wide)
    cautions = caution_texts(evaluation)
    if cautions:
        yield _Cautions(cautions, wide)
    for key in PART_WORDS:
        if key in choice.parts:
            for part in _MAKERS[key](evaluation, style):
                flip = choice.mirrored != (choice.left_handed and key in ("wire", "rule"))
                yield _Flipped(part) if flip and key not in _NEVER_TURNED else part
    if choice.truing_mm is not None:
        yield TruingPart(choice.truing_mm, choice.truing_aspect)


def _wire(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    strip = lay_wire(evaluation, style.body_width_mm)
    shown: set[str] = set()
    yield _WireHead(strip)
    for drawing in strip.drawings:
        yield _WireRow(drawing, style.body_width_mm, shown)


def _rule(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    yield from rule_strips(evaluation, style.body_width_mm)


def _table(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    yield from MarkTable(evaluation, style.body_width_mm).parted(style.body_height_mm)


def _bent(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    bent = evaluated_as_bent(evaluation)
    tubes = tuple(evaluation.spans.tube_diameter_mm.tolist())
    yield FormPart("bent", "As bent, before hammering, over its tubes", bent, tubes)


def _hammered(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    if is_turned_over(evaluation.design):
        hammered = evaluated_as_hammered(evaluation)
        if piles_up(evaluation, hammered):
            yield ApartPart(hammered_apart(evaluation), style.body_width_mm)
        else:
            yield FormPart("hammered", "As hammered, before it is turned over", hammered)


def _finished(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    yield FormPart("form", FINISHED_HEADING, evaluation)


def _gauges(evaluation: Evaluation, style: SheetStyle) -> Iterator[Part]:
    part = GaugePart(evaluation, style.body_width_mm)
    if part.rows:
        yield part


_MAKERS = {
    "wire": _wire,
    "rule": _rule,
    "table": _table,
    "bent": _bent,
    "hammered": _hammered,
    "finished": _finished,
    "set": set_parts,
    "gauges": _gauges,
}


class _Flipped(Result, frozen=True):
    """A part seen in a mirror that stands upright on the sheet."""

    part: Part

    @property
    def width_mm(self) -> float:
        return self.part.width_mm

    @property
    def height_mm(self) -> float:
        return self.part.height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        return Move(2 * left_mm + self.width_mm, 0.0, -1.0).groups(self.part.drawn(left_mm, top_mm))


class _Cautions(Result, frozen=True):
    texts: list[str]
    width_mm: float

    @property
    def _lines(self) -> list[str]:
        return [line for text in self.texts for line in wrapped(f"• {text}", self.width_mm, _TEXT_MM)]

    @property
    def height_mm(self) -> float:
        return block(self._lines, _TEXT_MM).height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        return [Group("cautions", block(self._lines, _TEXT_MM).drawn(left_mm, top_mm, "start"))]


class _WireHead(Result, frozen=True):
    strip: WireStrip

    @property
    def width_mm(self) -> float:
        return self.strip.width_mm

    @property
    def height_mm(self) -> float:
        return self.strip.heading_height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        return [self.strip.heading(left_mm, top_mm)]


class _WireRow(Result, frozen=True):
    drawing: RowDrawing
    width_mm: float
    shown: set[str]

    @property
    def height_mm(self) -> float:
        return self.drawing.height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        return [self.drawing.drawn(left_mm, top_mm, self.shown)]
