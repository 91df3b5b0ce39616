"""Lettering in lines: breaking text to a width, and small blocks of lines set about a place."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cached_property
from typing import Literal

from formsketch.template.drawing import (
    ASCENT_EM,
    BLACK,
    CAPITAL_HEIGHT_EM,
    DESCENT_EM,
    Text,
    text_width_mm,
)
from formsketch.values import Value

# From one baseline to the next, in heights of the capitals: what the letters reach, and a little air.
LINE_PITCH = 1.5
_UNPRINTABLE = ("Cc", "Cn", "Cs", "Zl", "Zp")
_REACH = (ASCENT_EM + DESCENT_EM) / CAPITAL_HEIGHT_EM
_RISE = ASCENT_EM / CAPITAL_HEIGHT_EM


class Line(Value, frozen=True):
    """One line of lettering; `height_mm` is that of its capitals."""

    text: str
    height_mm: float = 3.0
    bold: bool = False


class Block(Value, frozen=True, dict=True):
    """Lines under one another, measured by the boxes round their lettering."""

    lines: tuple[Line, ...]

    @cached_property
    def width_mm(self) -> float:
        return max(text_width_mm(line.text, line.height_mm, line.bold) for line in self.lines)

    @cached_property
    def height_mm(self) -> float:
        between = sum(line.height_mm * LINE_PITCH for line in self.lines[:-1])
        return between + self.lines[-1].height_mm * _REACH

    def drawn(
        self,
        x_mm: float,
        top_mm: float,
        anchor: Literal["start", "middle", "end"] = "middle",
        colour: str = BLACK,
    ) -> list[Text]:
        """The lines, their box beginning at `top_mm`."""
        texts = []
        for line in self.lines:
            place = (x_mm, top_mm + line.height_mm * _RISE)
            texts.append(Text(place, line.text, line.height_mm, anchor, bold=line.bold, colour=colour))
            top_mm += line.height_mm * LINE_PITCH
        return texts


def block(texts: Sequence[str], height_mm: float = 3.0, bold: bool = False) -> Block:
    """A block of lines that are all lettered alike."""
    return Block(tuple(Line(text, height_mm, bold) for text in texts))


def printable(text: str) -> str:
    """The text with a space for every sign that no drawing can carry, such as a control character."""
    return "".join(" " if unicodedata.category(sign) in _UNPRINTABLE else sign for sign in text)


def title_text(title: str) -> str:
    """A design's title as it is printed; 'Untitled' where nothing of it can be."""
    return printable(title).strip() or "Untitled"


def wrapped(text: str, width_mm: float, height_mm: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than this; a single word that is wider is broken where it must be."""
    lines: list[str] = []
    current = ""
    for word in printable(text).split():
        joined = f"{current} {word}" if current else word
        if text_width_mm(joined, height_mm, bold) <= width_mm:
            current = joined
            continue
        if current:
            lines.append(current)
        *full, current = _broken(word, width_mm, height_mm, bold)
        lines += full
    return [*lines, current] if current else lines


def _broken(word: str, width_mm: float, height_mm: float, bold: bool) -> list[str]:
    pieces = [""]
    for sign in word:
        if pieces[-1] and text_width_mm(pieces[-1] + sign, height_mm, bold) > width_mm:
            pieces.append("")
        pieces[-1] += sign
    return pieces
