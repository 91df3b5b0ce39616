"""The cut list of a batch as a file to keep or to print: text, CSV, or sheets with boxes to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path

from formsketch.comparison.batch_cut import (
    WireCut,
    batch_csv,
    batch_text,
    metals_text,
    pieces_text,
    places_of,
    totals_text,
)
from formsketch.errors import FormSketchError
from formsketch.files import write_atomically
from formsketch.template.bench_card import parted_at_sheets
from formsketch.template.bench_card_text import Section
from formsketch.template.bench_section import Lettering, box, section_part
from formsketch.template.bench_work import Table
from formsketch.template.drawing import Group, Item, Sheet, Stroke, Text
from formsketch.template.lettering import Block, block, wrapped
from formsketch.template.moved import Move
from formsketch.template.output import write_drawing
from formsketch.template.pages import pages_of
from formsketch.template.papers import A4_UPRIGHT, Paper
from formsketch.template.sheet_style import SheetStyle
from formsketch.template.tiling import Part
from formsketch.units import length_text
from formsketch.values import Result

SUFFIXES = (".csv", ".txt", ".pdf")
TITLE = "Cut list"
_LETTERING = Lettering(3.1)
_BAR_MM, _BAR_PITCH_MM, _HEAD_TEXT_MM = 4.0, 6.0, 3.5


def write_cut_list(cuts: Sequence[WireCut], output: Path) -> None:
    """Write the list as the name says: .csv, .txt or .pdf. Raises `FormSketchError`; whole or not at all."""
    suffix = output.suffix.lower()
    if suffix == ".csv":
        write_atomically(output, batch_csv(cuts).encode("utf-8"))
    elif suffix == ".txt":
        write_atomically(output, f"{batch_text(cuts)}\n".encode())
    elif suffix == ".pdf":
        write_drawing(cut_list_sheets(cuts), output)
    else:
        raise FormSketchError(f"{output}: expected a name that ends in {', '.join(SUFFIXES)}")


def cut_list_sheets(cuts: Sequence[WireCut], paper: Paper = A4_UPRIGHT) -> list[Sheet]:
    """Each wire with its lengths to tick, a picture of where they are cut, and the metal in all."""
    style = SheetStyle(TITLE, paper, gap_mm=_LETTERING.gap_mm)
    parts, _ = parted_at_sheets(list(_parts(cuts, style.body_width_mm)), style)
    pages = pages_of(parts, style)
    left, top = style.body_corner_mm
    sheets = []
    for number, page in enumerate(pages, start=1):
        # Nothing on it is to scale, so it carries a heading and no bars to measure.
        title = f"{TITLE}, sheet {number} of {len(pages)}"
        heading = Text((left, paper.margin_mm + _HEAD_TEXT_MM), title, _HEAD_TEXT_MM, bold=True)
        groups = [Group("sheet-heading", [heading]), *Move(left, top).groups(page.groups)]
        sheets.append(Sheet(paper.width_mm, paper.height_mm, title, groups))
    return sheets


def _parts(cuts: Sequence[WireCut], width_mm: float) -> Iterator[Part]:
    for number, one in enumerate(cuts, start=1):
        rows = tuple(
            (str(at), length_text(length.length_mm), pieces_text(length), length_text(length.left_mm))
            for at, length in enumerate(one.cut.lengths, start=1)
        )
        table = Table(("", "From", "Cut", "Left"), rows)
        yield section_part(
            Section(f"wire-{number}", one.wire, table=table, ticked=True), width_mm, _LETTERING
        )
        yield CutPicture(f"wire-{number}-picture", one, width_mm)
    if metals := metals_text(cuts):
        yield section_part(Section("metal", "", (metals,)), width_mm, _LETTERING)


class CutPicture(Result, frozen=True):
    """Every length as a bar, all at one scale, with its cuts; under them what is taken in all."""

    name: str
    cut: WireCut
    width_mm: float

    @cached_property
    def _total(self) -> Block:
        size = _LETTERING.text_mm
        return block(wrapped(f"In all {totals_text(self.cut)}.", self.width_mm, size), size)

    @property
    def height_mm(self) -> float:
        return _BAR_PITCH_MM * len(self.cut.cut.lengths) + self._total.height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """One group of its name."""
        lengths = self.cut.cut.lengths
        scale = self.width_mm / max(length.length_mm for length in lengths)
        items: list[Item] = []
        for length in lengths:
            items.append(
                box(left_mm, top_mm, length.length_mm * scale, _BAR_MM, Stroke.CONTINUOUS_EXTRA_NARROW)
            )
            for _, begin, end in places_of(length, self.cut.kerf_mm):
                x = left_mm + begin * scale
                items.append(box(x, top_mm, (end - begin) * scale, _BAR_MM, Stroke.CONTINUOUS_NARROW))
            top_mm += _BAR_PITCH_MM
        return [Group(self.name, [*items, *self._total.drawn(left_mm, top_mm, "start")])]
