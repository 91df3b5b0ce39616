"""Head and foot of a template: what the piece is, and how to print it and work safely."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np

from formsketch.bench.gauges import gauge_text
from formsketch.evaluation.bend_marks import BEND_MARKS_TEXT, is_bent
from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.template.drawing import Group, Item, Path, Stroke
from formsketch.template.lettering import LINE_PITCH, Block, Line, block, wrapped
from formsketch.template.papers import A3_LYING, Paper
from formsketch.units import band_text, length_text, pennyweight_from_g, ratio_text, weight_text
from formsketch.values import Result

TITLE_HEIGHT_MM = 5.0
CUT_HEIGHT_MM = 3.5
TEXT_HEIGHT_MM = 3.0
SMALL_HEIGHT_MM = 2.5
CHECK_BAR_MM = 100.0
CHECK_TEXT = "Print at 100 %. This bar is 100 mm long; if it is not, the print is not true."
# Notes that are about safety; warnings are given whole.
SAFETY_CODES = ("eye_protection", "hot_bead", "post_heat", "ear_wire", "drilling", "sharp_tip", "sharp_end")

_LABEL_WIDTH_MM = 27.0
_AFTER_HEAD_MM = 1.5
_BAR_TICK_MM = 3.0
_BULLET, _BULLET_WIDTH_MM = "•", 3.0


class TitleBlock(Result, frozen=True):
    """Title and the facts of the piece, ready to be drawn anywhere."""

    evaluation: Evaluation
    width_mm: float

    @cached_property
    def _head(self) -> Block:
        """Title, and what to cut of which wire."""
        title = wrapped(self.evaluation.design.title, self.width_mm, TITLE_HEIGHT_MM, bold=True)
        cut = wrapped(cut_text(self.evaluation), self.width_mm, CUT_HEIGHT_MM, bold=True)
        return Block(
            tuple(Line(text, TITLE_HEIGHT_MM, True) for text in title or ["Untitled"])
            + tuple(Line(text, CUT_HEIGHT_MM, True) for text in cut)
        )

    @cached_property
    def _facts(self) -> list[tuple[str, Block]]:
        room = self.width_mm - _LABEL_WIDTH_MM
        return [
            (label, block(wrapped(text, room, TEXT_HEIGHT_MM), TEXT_HEIGHT_MM))
            for label, text in facts_of(self.evaluation)
        ]

    @cached_property
    def height_mm(self) -> float:
        facts = sum(len(value.lines) for _, value in self._facts) * LINE_PITCH * TEXT_HEIGHT_MM
        return self._head.height_mm + _AFTER_HEAD_MM + facts

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'title-block', its upper left corner at this place."""
        items: list[Item] = [*self._head.drawn(left_mm, top_mm, "start")]
        top_mm += self._head.height_mm + _AFTER_HEAD_MM
        for label, value in self._facts:
            items += block([label], TEXT_HEIGHT_MM).drawn(left_mm, top_mm, "start")
            items += value.drawn(left_mm + _LABEL_WIDTH_MM, top_mm, "start")
            top_mm += len(value.lines) * LINE_PITCH * TEXT_HEIGHT_MM
        return [Group("title-block", items)]


class Foot(Result, frozen=True):
    """Check bar and cautions, ready to be drawn anywhere."""

    evaluation: Evaluation
    width_mm: float

    @cached_property
    def _cautions(self) -> list[list[str]]:
        room = self.width_mm - _BULLET_WIDTH_MM
        return [wrapped(text, room, SMALL_HEIGHT_MM) for text in caution_texts(self.evaluation)]

    @property
    def height_mm(self) -> float:
        lines = sum(map(len, self._cautions))
        # One more line for a sheet that has to be printed otherwise.
        return lines * SMALL_HEIGHT_MM * LINE_PITCH + 2.0 + 2 * TEXT_HEIGHT_MM * LINE_PITCH + 2 * _BAR_TICK_MM

    def drawn(self, left_mm: float, top_mm: float, paper: Paper) -> list[Group]:
        """Groups 'cautions' and 'check-bar', the upper left corner at this place."""
        texts: list[Item] = []
        for lines in self._cautions:
            texts += block([_BULLET], SMALL_HEIGHT_MM).drawn(left_mm, top_mm, "start")
            texts += block(lines, SMALL_HEIGHT_MM).drawn(left_mm + _BULLET_WIDTH_MM, top_mm, "start")
            top_mm += len(lines) * SMALL_HEIGHT_MM * LINE_PITCH
        bar_y = top_mm + 2.0 + _BAR_TICK_MM
        printing = [CHECK_TEXT]
        if max(paper.width_mm, paper.height_mm) > A3_LYING.width_mm:
            printing.append(f"This sheet is {paper.name}: print it on a roll, or tiled over several sheets.")
        return [
            Group("cautions", texts),
            Group("check-bar", check_bar(left_mm, bar_y)),
            Group("printing", block(printing, TEXT_HEIGHT_MM).drawn(left_mm, bar_y + _BAR_TICK_MM, "start")),
        ]


def check_bar(left_mm: float, y_mm: float, length_mm: float = CHECK_BAR_MM) -> list[Item]:
    """A bar with ticks at its ends; the bar is the first item."""
    ends = [left_mm, left_mm + length_mm]
    items: list[Item] = [Path(np.array([[x, y_mm] for x in ends]), Stroke.CONTINUOUS_WIDE)]
    half = _BAR_TICK_MM / 2
    return items + [
        Path(np.array([[x, y_mm - half], [x, y_mm + half]]), Stroke.CONTINUOUS_NARROW) for x in ends
    ]


def caution_texts(evaluation: Evaluation) -> list[str]:
    """The sentences to print: all that weighs more than a note, and the notes about safety."""
    return [
        caution.message
        for caution in evaluation.cautions
        if caution.weight != "note" or caution.code in SAFETY_CODES
    ]


def cut_text(e: Evaluation) -> str:
    band = _band(e.cut_length_band)
    around = f" ({band})" if band else ""
    return f"Cut {length_text(e.cut_length_mm)}{around} of {gauge_text(e.diameter_mm)} wire, {e.metal.name}"


def facts_of(e: Evaluation) -> Iterator[tuple[str, str]]:
    """Label and value of each further fact."""
    yield "Weight", f"{weight_text(e.weight_g)} ({pennyweight_from_g(e.weight_g):.2f} dwt)"
    if e.thinnest_mm < e.diameter_mm:
        widest = f"{length_text(e.widest_mm)} {_band(e.widest_band)}".strip()
        yield "Hammered", f"thinnest {length_text(e.thinnest_mm)}, widest {widest}"
        low, high, basis = e.spread_band
        spread = ratio_text(e.design.hammer.spread)
        yield "Rests on", f"spread {spread} ({low:.2f} to {high:.2f}): {basis}"
    if is_bent(e):
        yield "Bend marks", BEND_MARKS_TEXT[e.design.bend_marks]
    start, finish = (end.text for end in e.ends)
    if start == finish:
        yield "Both ends", start
    else:
        yield "Start", start
        yield "Finish", finish


def _band(band: Band) -> str:
    return band_text(band.low, band.high, band.value)
