"""Sections of a bench card in lettering: headings, lines with boxes to tick, tables, cautions with a bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from msgspec.structs import replace

from formsketch.template.bench_card_text import Section
from formsketch.template.drawing import SMALLEST_TEXT_MM, Group, Item, Path, Stroke, Text, text_width_mm
from formsketch.template.lettering import LINE_PITCH, Block, Line, block, wrapped
from formsketch.values import Result, Value

# At least so many rows of a section stay together.
_FEWEST_ROWS = 4
_LINES_TOGETHER = 8
_GOES_ON = ", continued"
_NARROWEST_MM = 18.0
CAUTION = "Caution"


class Lettering(Value, frozen=True):
    """How large a card is lettered; `text_mm` is the height of the capitals of what is to be read at work."""

    text_mm: float

    @property
    def title_mm(self) -> float:
        return self.text_mm * 1.2

    @property
    def small_mm(self) -> float:
        return max(SMALLEST_TEXT_MM, self.text_mm * 0.9)

    @property
    def pitch_mm(self) -> float:
        """From line to line in a text."""
        return self.text_mm * LINE_PITCH

    @property
    def air_mm(self) -> float:
        """Between what is ticked one by one."""
        return self.text_mm * 0.25

    @property
    def indent_mm(self) -> float:
        """Room for a box to tick, or for the bar beside a caution."""
        return self.text_mm * 2.1

    @property
    def column_gap_mm(self) -> float:
        return self.text_mm * 1.2

    @property
    def title_pitch_mm(self) -> float:
        return self.title_mm * 1.65

    @property
    def gap_mm(self) -> float:
        """Between sections."""
        return self.text_mm * 0.9


class CardHead(Result, frozen=True):
    """Title of the piece and what to cut of which wire."""

    title: str
    cut: str
    width_mm: float
    lettering: Lettering

    @cached_property
    def _block(self) -> Block:
        title_mm, cut_mm = self.lettering.text_mm * 1.6, self.lettering.title_mm
        title = wrapped(self.title, self.width_mm, title_mm, bold=True)
        cut = wrapped(self.cut, self.width_mm, cut_mm, bold=True)
        return Block(
            tuple(Line(text, title_mm, True) for text in title)
            + tuple(Line(text, cut_mm, True) for text in cut)
        )

    @property
    def height_mm(self) -> float:
        return self._block.height_mm

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'card-head'."""
        return [Group("card-head", self._block.drawn(left_mm, top_mm, "start"))]


class _Row(Value, frozen=True):
    """Texts beside each other, each in lines under one another; with boxes to tick, or a bar to mind."""

    cells: tuple[tuple[float, tuple[str, ...], bool], ...]
    text_mm: float
    height_mm: float
    boxes: tuple[float, ...] = ()
    bar: bool = False
    rule: bool = False
    in_table: bool = False

    def drawn(self, left_mm: float, top_mm: float, width_mm: float) -> Iterator[Item]:
        for x in self.boxes:
            side = self.text_mm * 1.1
            yield box(left_mm + x, top_mm + 0.2, side, side, Stroke.CONTINUOUS_NARROW)
        if self.bar:
            x = left_mm + self.cells[0][0] - 2.5
            ends = np.array([[x, top_mm + 0.2], [x, top_mm + self.height_mm - 0.4]])
            yield Path(ends, Stroke.CONTINUOUS_WIDE)
        if self.rule:
            y = top_mm + self.height_mm - 1.1
            ends = np.array([[left_mm + self.cells[0][0], y], [left_mm + width_mm, y]])
            yield Path(ends, Stroke.CONTINUOUS_EXTRA_NARROW)
        for x, texts, bold in self.cells:
            yield from block(texts, self.text_mm, bold).drawn(left_mm + x, top_mm, "start")


def box(left_mm: float, top_mm: float, width_mm: float, height_mm: float, stroke: Stroke) -> Path:
    """An empty box, its upper left corner at this place."""
    right, low = left_mm + width_mm, top_mm + height_mm
    corners = np.array([[left_mm, top_mm], [right, top_mm], [right, low], [left_mm, low]])
    return Path(corners, stroke, closed=True)


class SectionPart(Result, frozen=True):
    """A section, or a piece of one; `table_head` stands again over a table that goes on on another sheet."""

    name: str
    heading: str
    aside: str
    rows: tuple[_Row, ...]
    table_head: tuple[_Row, ...]
    width_mm: float
    lettering: Lettering

    @cached_property
    def _aside(self) -> list[str]:
        """What stands at the right of the heading, in lines that leave it room."""
        taken = text_width_mm(self.heading, self.lettering.title_mm, bold=True) if self.heading else 0.0
        room = max(self.width_mm - taken - self.lettering.column_gap_mm, 30.0)
        return wrapped(self.aside, room, self.lettering.small_mm)

    @property
    def _heading_mm(self) -> float:
        if not self.heading:
            return 0.0
        more = max(0, len(self._aside) - 1) * self.lettering.small_mm * LINE_PITCH
        return self.lettering.title_pitch_mm + more

    @cached_property
    def height_mm(self) -> float:
        return self._heading_mm + sum(row.height_mm for row in self.rows)

    def parted(self, room_mm: float, keep_mm: float) -> tuple[SectionPart, SectionPart] | None:
        """What of it fits into the room, and the rest to go on with; None where it is better kept together.

        It is kept together up to `keep_mm` of height, and where hardly anything of it would fit or be left.
        """
        if self.height_mm <= keep_mm:
            return None
        used, fits = self._heading_mm, 0
        for row in self.rows:
            if used + row.height_mm > room_mm:
                break
            used, fits = used + row.height_mm, fits + 1
        # Headings of a table are never the last, nor is a row alone.
        while fits and (self.rows[fits - 1].rule or len(self.rows) - fits == 1):
            fits -= 1
        if fits < _FEWEST_ROWS or fits == len(self.rows):
            return None
        again = self.table_head if self.rows[fits].in_table else ()
        name, _, number = self.name.partition("--")
        rest = replace(
            self,
            name=f"{name}--{int(number or 1) + 1}",
            heading=self.heading if self.heading.endswith(_GOES_ON) else f"{self.heading}{_GOES_ON}",
            aside="",
            rows=again + self.rows[fits:],
        )
        return replace(self, rows=self.rows[:fits]), rest

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """One group of its name."""
        items: list[Item] = []
        if self.heading:
            baseline = top_mm + self.lettering.title_mm * 1.15
            items.append(Text((left_mm, baseline), self.heading, self.lettering.title_mm, bold=True))
            for line in self._aside:
                place = (left_mm + self.width_mm, baseline)
                items.append(Text(place, line, self.lettering.small_mm, "end"))
                baseline += self.lettering.small_mm * LINE_PITCH
        y = top_mm + self._heading_mm
        for row in self.rows:
            items += row.drawn(left_mm, y, self.width_mm)
            y += row.height_mm
        return [Group(self.name, items)]


def section_part(section: Section, width_mm: float, lettering: Lettering) -> SectionPart:
    """The section in this width and lettering."""
    rows = _Rows(section, width_mm, lettering)
    head = tuple(rows.table_head())
    return SectionPart(
        section.name, section.heading, section.aside, tuple(rows.all()), head, width_mm, lettering
    )


class _Rows(Result, frozen=True):
    """A section row by row, in this width and lettering."""

    section: Section
    width_mm: float
    lettering: Lettering

    @property
    def _indent_mm(self) -> float:
        """Room for what is ticked; a section that is only read begins under its heading."""
        return self.lettering.indent_mm if self.section.ticked else 0.0

    def all(self) -> Iterator[_Row]:
        """Every row."""
        for line in self.section.lines:
            yield from self._text(line, self._indent_mm, (0.0,) if self.section.ticked else ())
        table = self.section.table
        if table is not None:
            yield from self.table_head()
            for at in range(0, len(table.rows), self._abreast):
                yield self._cells(table.rows[at : at + self._abreast])
        for text in self.section.cautions:
            yield from self._text(f"{CAUTION}: {text}", self.lettering.indent_mm, (), bar=True)

    def _text(
        self, text: str, indent_mm: float, boxes: tuple[float, ...], bar: bool = False
    ) -> Iterator[_Row]:
        """The text in lines; a long one in several rows, so that it can go on on the next sheet."""
        size = self.lettering.text_mm
        lines = wrapped(text, self.width_mm - indent_mm, size)
        for at in range(0, len(lines), _LINES_TOGETHER):
            some = tuple(lines[at : at + _LINES_TOGETHER])
            air = self.lettering.air_mm if at + _LINES_TOGETHER >= len(lines) else 0.0
            height = len(some) * self.lettering.pitch_mm + air
            yield _Row(((indent_mm, some, False),), size, height, boxes if at == 0 else (), bar)

    def table_head(self) -> list[_Row]:
        """The row of headings over the table, if it has any."""
        table, size = self.section.table, self.lettering.small_mm
        if table is None or not table.headings:
            return []
        cells = tuple(
            (x, tuple(wrapped(text, width, size)), False)
            for (x, width), text in zip(self._columns, table.headings * self._abreast, strict=True)
        )
        lines = max(len(texts) for _, texts, _ in cells)
        return [_Row(cells, size, lines * size * LINE_PITCH + 1.8, rule=True, in_table=True)]

    def _cells(self, things: Sequence[tuple[str, ...]]) -> _Row:
        size = self.lettering.text_mm
        cells, boxes = [], []
        texts = [(text, at == 0) for thing in things for at, text in enumerate(thing)]
        for (x, width), (text, first) in zip(self._columns, texts, strict=False):
            if lines := wrapped(text, width, size, first):
                cells.append((x, tuple(lines), first))
            if first and self.section.ticked:
                boxes.append(x - self.lettering.indent_mm)
        lines_high = max((len(lines) for _, lines, _ in cells), default=1)
        height = lines_high * self.lettering.pitch_mm + self.lettering.air_mm
        return _Row(tuple(cells), size, height, tuple(boxes), in_table=True)

    @cached_property
    def _widths_mm(self) -> list[float]:
        """How wide each column of one thing is when no text is broken."""
        table, size = self.section.table, self.lettering.text_mm
        assert table is not None
        columns = list(zip(*([table.headings] if table.headings else []), *table.rows, strict=True))
        # A hair more than the text needs, so that rounding never breaks it.
        return [
            max((text_width_mm(text, size, at == 0) for text in column if text), default=0.0) + 0.01
            for at, column in enumerate(columns)
        ]

    @cached_property
    def _abreast(self) -> int:
        """How many things stand beside each other."""
        table = self.section.table
        assert table is not None
        one = sum(self._widths_mm) + self._indent_mm + self.lettering.column_gap_mm * len(self._widths_mm)
        return max(
            1, min(table.abreast, len(table.rows), int((self.width_mm + self.lettering.column_gap_mm) / one))
        )

    @cached_property
    def _columns(self) -> list[tuple[float, float]]:
        """Left side and width of each column; the widest gives way where room lacks."""
        widths = list(self._widths_mm)
        room = self.width_mm - self._indent_mm - self.lettering.column_gap_mm * (len(widths) - 1)
        if sum(widths) > room:
            widest = int(np.argmax(widths))
            widths[widest] = max(_NARROWEST_MM, widths[widest] - (sum(widths) - room))
        if sum(widths) > room + 1e-6:
            widths = [room / len(widths)] * len(widths)
        x, places = 0.0, []
        for _ in range(self._abreast):
            x += self._indent_mm
            for width in widths:
                places.append((x, width))
                x += width + self.lettering.column_gap_mm
        return places
