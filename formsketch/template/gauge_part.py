"""Gauges to hold the work against: the widths to reach, the thicknesses, and a round or oval to true on."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.oval import Oval
from formsketch.template.drawing import Group, Item, Path, Stroke, Text
from formsketch.template.lettering import Block, Line, block, wrapped
from formsketch.units import length_text
from formsketch.values import Result, Value

_HEADING_PITCH_MM, _NOTE_MM, _TEXT_MM = 6.5, 2.5, 3.0
_SLOT_LENGTH_MM, _ROW_PITCH_MM, _WORDS_LEFT_MM = 30.0, 9.0, 38.0
# Common practice, no source: what a careful hand holds with a sliding gauge.
GO_WITHIN_MM = 0.05
_SAME_MM = 0.005
_NOTE = (
    "Lay the work between the lines: it has the width when it just covers the slot. Thickness is tried with "
    "a sliding gauge: go on hammering until it passes the first size, stop before it passes the second. "
    "Span 1 is the wire from mark 1 to mark 2, and so on."
)


class GaugeRow(Value, frozen=True):
    """One size to reach: width in plan and thickness, and the spans that reach it, from 1."""

    width_mm: float
    thickness_mm: float
    spans: tuple[int, ...]


def gauge_rows(evaluation: Evaluation) -> list[GaugeRow]:
    """Every size to hammer to, widest first; spans of one size together. Empty for unhammered wire."""
    spans = evaluation.spans
    sizes: dict[tuple[int, int], list[int]] = {}
    for at in np.flatnonzero(spans.thinnest_mm < evaluation.diameter_mm).tolist():
        key = (
            round(float(spans.widest_mm[at]) / _SAME_MM),
            round(float(spans.thinnest_mm[at]) / _SAME_MM),
        )
        sizes.setdefault(key, []).append(at)
    rows = [
        GaugeRow(
            float(spans.widest_mm[members[0]]),
            float(spans.thinnest_mm[members[0]]),
            tuple(member + 1 for member in members),
        )
        for members in sizes.values()
    ]
    return sorted(rows, key=lambda row: -row.width_mm)


def spans_text(spans: Sequence[int]) -> str:
    """`span 3`, `spans 1 to 4, 7`."""
    ranges: list[tuple[int, int]] = []
    for span in spans:
        if ranges and span == ranges[-1][1] + 1:
            ranges[-1] = (ranges[-1][0], span)
        else:
            ranges.append((span, span))
    words = [f"{a}" if a == b else f"{a} to {b}" if b > a + 1 else f"{a}, {b}" for a, b in ranges]
    return ("span " if len(spans) == 1 else "spans ") + ", ".join(words)


class GaugePart(Result, frozen=True):
    """Slots as wide as the work has to be, each with its thickness in words."""

    evaluation: Evaluation
    width_mm: float

    @cached_property
    def rows(self) -> list[GaugeRow]:
        return gauge_rows(self.evaluation)

    @cached_property
    def _note(self) -> Block:
        return block(wrapped(_NOTE, self.width_mm, _NOTE_MM), _NOTE_MM)

    @cached_property
    def _words(self) -> list[Block]:
        room = self.width_mm - _WORDS_LEFT_MM
        return [
            block([line for text in _row_texts(row) for line in wrapped(text, room, _TEXT_MM)], _TEXT_MM)
            for row in self.rows
        ]

    def _row_mm(self, number: int) -> float:
        return max(_ROW_PITCH_MM, self.rows[number].width_mm + 4.0, self._words[number].height_mm + 3.0)

    @cached_property
    def height_mm(self) -> float:
        rows = sum(self._row_mm(number) for number in range(len(self.rows)))
        return _HEADING_PITCH_MM + self._note.height_mm + 3.0 + rows

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Groups 'gauges-heading' and 'gauge-1' onwards; the slot's two lines come first in each."""
        heading = Block((Line("Gauges to hold the work against", 3.5, True),))
        texts = heading.drawn(left_mm, top_mm, "start")
        texts += self._note.drawn(left_mm, top_mm + _HEADING_PITCH_MM, "start")
        groups = [Group("gauges-heading", texts)]
        y = top_mm + _HEADING_PITCH_MM + self._note.height_mm + 3.0
        for number, (row, words) in enumerate(zip(self.rows, self._words, strict=True)):
            height = self._row_mm(number)
            middle = y + height / 2
            items: list[Item] = [*gauge_lines(row, left_mm, middle, _SLOT_LENGTH_MM)]
            items += words.drawn(left_mm + _WORDS_LEFT_MM, middle - words.height_mm / 2, "start")
            groups.append(Group(f"gauge-{number + 1}", items))
            y += height
        return groups


def gauge_lines(row: GaugeRow, left_mm: float, middle_mm: float, long_mm: float) -> list[Item]:
    """The two lines of a slot as wide as the work has to be, about this middle."""
    lines = [
        np.array([[left_mm, at], [left_mm + long_mm, at]])
        for at in (middle_mm - row.width_mm / 2, middle_mm + row.width_mm / 2)
    ]
    return [Path(line, Stroke.CONTINUOUS_NARROW) for line in lines]


def _row_texts(row: GaugeRow) -> tuple[str, str]:
    go, stop = row.thickness_mm + GO_WITHIN_MM, max(0.01, row.thickness_mm - GO_WITHIN_MM)
    return (
        f"{length_text(row.width_mm)} wide, {length_text(row.thickness_mm)} thick: {spans_text(row.spans)}",
        f"passes {length_text(go)}, does not pass {length_text(stop)}",
    )


class TruingPart(Result, frozen=True):
    """A round of the inside size to true the piece on, or an oval of the same way round."""

    inside_circumference_mm: float
    aspect: float = 1.0

    @cached_property
    def _oval(self) -> Oval:
        return Oval(self.inside_circumference_mm, self.aspect)

    @property
    def width_mm(self) -> float:
        return max(self._oval.width_mm, 60.0)

    @property
    def height_mm(self) -> float:
        return _HEADING_PITCH_MM + self._oval.depth_mm + 1.0

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'truing', its line first."""
        oval, middle = self._oval, top_mm + _HEADING_PITCH_MM + self._oval.depth_mm / 2
        line = oval.offset(0.0)[:-1]
        shape = "round" if self.aspect == 1.0 else "oval"
        text = f"Inside {shape}: {length_text(oval.width_mm)}"
        text += "" if self.aspect == 1.0 else f" × {length_text(oval.depth_mm)}"
        points = np.column_stack((left_mm + oval.width_mm / 2 + line.real, middle - line.imag))
        items: list[Item] = [
            Path(points, Stroke.CONTINUOUS_NARROW, closed=True),
            Text((left_mm, top_mm + 3.5), f"{text}, {length_text(self.inside_circumference_mm)} round", 3.0),
        ]
        return [Group("truing", items)]
