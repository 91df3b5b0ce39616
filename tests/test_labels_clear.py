"""Lettering on every demo's sheets: clear of other lettering and of the page's edge, large enough to read.

Ink is measured by FreeType (through Pillow), which reads the bundled font by itself. ISO 3098: the nominal
size of lettering is the height of its capitals; 2.5 mm is the second of its sizes [M hi].
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
import pytest
from lxml import etree
from numpy.typing import NDArray
from PIL import ImageFont

from formsketch.design.transforms import scaled_form
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.drawing import Box, Group, Item, Sheet, Text, font_file, set_text
from formsketch.template.papers import paper_named
from formsketch.template.printed import PART_WORDS, Choice, printed_sheets
from formsketch.template.svg import svg_text
from tests.support.read_back import DEMOS, SVG, demo
from tests.support.strategies import EVERY_WAY

ALL = tuple(PART_WORDS)
APART_MM = 0.2
EDGE_MM = 9.0  # sheets have 10 mm of margin; bars and ticks may stand in it by their own width
EM_DOTS = 500


@cache
def font(bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(font_file(bold)), EM_DOTS, layout_engine=ImageFont.Layout.BASIC)


@cache
def ink_em(text: str, bold: bool, anchor: str) -> Box:
    """The ink of a line about its place on the baseline, y down, in ems."""
    at = {"start": "ls", "middle": "ms", "end": "rs"}[anchor]
    x0, y0, x1, y1 = font(bold).getbbox(set_text(text), anchor=at)
    return x0 / EM_DOTS, y0 / EM_DOTS, x1 / EM_DOTS, y1 / EM_DOTS


def ink_box(text: Text) -> Box:
    """The ink of a text on its sheet, upright box round it."""
    x0, y0, x1, y1 = (text.font_size_mm * side for side in ink_em(text.text, text.bold, text.anchor))
    y0, y1 = y0 + text.baseline_drop_mm, y1 + text.baseline_drop_mm
    turn = complex(math.cos(math.radians(text.angle_deg)), math.sin(math.radians(text.angle_deg)))
    corners = [turn * complex(x, y) + complex(*text.position) for x in (x0, x1) for y in (y0, y1)]
    x, y = [c.real for c in corners], [c.imag for c in corners]
    return min(x), min(y), max(x), max(y)


def lettering(items: Sequence[Item | Group], window: Box | None = None) -> Iterator[tuple[str, Box]]:
    """Texts with the ink of them that can be seen."""
    for item in items:
        if isinstance(item, Group):
            yield from lettering(item.items, item.clip or window)
        elif isinstance(item, Text):
            x0, y0, x1, y1 = ink_box(item)
            if window is not None:
                x0, y0, x1, y1 = (
                    max(x0, window[0]),
                    max(y0, window[1]),
                    min(x1, window[2]),
                    min(y1, window[3]),
                )
            if x0 < x1 and y0 < y1:
                yield item.text, (x0, y0, x1, y1)


def assert_clear(sheet: Sheet) -> None:
    texts = list(lettering(sheet.groups))
    boxes: NDArray[np.float64] = np.array([box for _, box in texts])
    least, most = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    assert (least >= EDGE_MM).all() and most[0] <= sheet.width_mm - EDGE_MM, sheet.title
    assert most[1] <= sheet.height_mm - EDGE_MM, sheet.title
    a, b = np.triu_indices(len(boxes), 1)
    near = (boxes[a, :2] < boxes[b, 2:] + APART_MM) & (boxes[b, :2] < boxes[a, 2:] + APART_MM)
    meet = near.all(axis=1)
    assert not meet.any(), [(texts[i], texts[j]) for i, j in zip(a[meet], b[meet], strict=True)]


def ways(e: Evaluation) -> Iterator[list[Sheet]]:
    """A4 as it is and Letter mirrored with the wire from right to left; if asked, all eight combinations."""
    every = itertools.product(("a4", "letter"), (False, True), (False, True))
    for paper, mirrored, left in every if EVERY_WAY else (("a4", False, False), ("letter", True, True)):
        choice = Choice(ALL, paper_named(paper), mirrored=mirrored, left_handed=left, truing_mm=170.0)
        yield printed_sheets(e, choice)


@pytest.mark.parametrize("name", DEMOS)
def test_no_lettering_meets_other_lettering_or_the_edge(name: str) -> None:
    for sheets in ways(demo(name)):
        for number, sheet in enumerate(sheets, start=1):
            assert_clear(sheet)
            assert f"sheet {number} of {len(sheets)}" in sheet.title


@pytest.mark.parametrize("mirrored", [False, True])
def test_no_lettering_of_tiles_meets_what_stands_round_them(mirrored: bool) -> None:
    big = evaluate(scaled_form(demo("slack-water-figure-eight").design, 9.0))
    sheets = printed_sheets(big, Choice(("bent", "finished"), mirrored=mirrored))
    assert sum(any(group.name == "tile" for group in sheet.groups) for sheet in sheets) >= 4
    for sheet in sheets:
        assert_clear(sheet)


def test_the_smallest_capitals_are_2_5_mm_high() -> None:
    """Font size in the file times the height of an H in the font."""
    capital_em = -ink_em("H", False, "start")[1]
    sizes = []
    for sheet in printed_sheets(demo("eddy-bracelet"), Choice(ALL)):
        root = etree.fromstring(svg_text(sheet).encode())
        sizes += [float(text.get("font-size")) for text in root.iter(f"{SVG}text")]
    assert min(sizes) * capital_em >= 2.5 - 0.005
