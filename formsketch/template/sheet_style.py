"""How sheets of a template look all over: paper, what a printer's error asks for, heading, bars and foot."""

from __future__ import annotations

from functools import cached_property

from msgspec.structs import replace

from formsketch.errors import FormSketchError
from formsketch.template.drawing import Group, Item, Path, Text, text_width_mm
from formsketch.template.lettering import Block, Line, block, wrapped
from formsketch.template.moved import Move
from formsketch.template.papers import Paper
from formsketch.template.title_block import check_bar
from formsketch.units import MM_PER_INCH
from formsketch.values import Value

LEAST_OVERLAP_MM, OVERLAP_MM, MOST_OVERLAP_MM = 3.0, 10.0, 40.0
LEAST_STRETCH, MOST_STRETCH = 0.9, 1.1
HEAD_MM, TEXT_MM = 8.5, 2.5
PART_GAP_MM = 7.0
_HEAD_TEXT_MM, _LEAST_ROOM_MM = 3.0, 60.0
_TITLE_SHARE = 0.5  # of the heading's width; the rest is for where a tile belongs
# Length, words, and the name of its groups.
BARS = ((100.0, "100 mm", "metric"), (4 * MM_PER_INCH, "4 in", "inch"))
BAR_PITCH_MM, BAR_SIDE_MM = 4.5, 10.0
_PRINT = "Print at 100 %, never 'fit to page'. Measure a bar each way: if one is not true, the print is not."
_CORRECT = "If one is off, say what the 100 mm bar measured when you make the template anew: it is put right."


class Stretch(Value, frozen=True):
    """What a printer's error asks for: true mm times this is what is drawn, along and down the sheet."""

    across: float = 1.0
    down: float = 1.0

    def __post_init__(self) -> None:
        for name, value in (("across", self.across), ("down", self.down)):
            if not LEAST_STRETCH <= value <= MOST_STRETCH:
                low, high = 100.0 / MOST_STRETCH, 100.0 / LEAST_STRETCH
                raise FormSketchError(
                    f"100 mm bar {name} the sheet: expected it to measure {low:.1f} to {high:.1f} mm, "
                    f"got {100.0 / value:.1f}"
                )

    @property
    def is_true(self) -> bool:
        return self.across == 1.0 and self.down == 1.0

    @property
    def text(self) -> str:
        """What is stated on every sheet."""
        if self.is_true:
            return ""
        return (
            f"Put right for a printer whose 100 mm bar measured {100.0 / self.across:.1f} mm across and "
            f"{100.0 / self.down:.1f} mm down: drawn times {self.across:.4f} and {self.down:.4f}."
        )


def stretch_for(bar_across_mm: float = 100.0, bar_down_mm: float = 100.0) -> Stretch:
    """What puts right a printer whose 100 mm bars measured this. Raises `FormSketchError` when far off."""
    if not (bar_across_mm > 0 and bar_down_mm > 0):
        raise FormSketchError("100 mm bar: expected what it measured, in mm, more than nought")
    return Stretch(100.0 / bar_across_mm, 100.0 / bar_down_mm)


TRUE_PRINT = Stretch()


class SheetStyle(Value, frozen=True, dict=True):
    """How parts are set: on which paper, tiles overlapping by how much, and what every sheet says."""

    title: str
    paper: Paper
    overlap_mm: float = OVERLAP_MM
    stretch: Stretch = TRUE_PRINT
    remarks: tuple[str, ...] = ()
    gap_mm: float = PART_GAP_MM

    def __post_init__(self) -> None:
        if not LEAST_OVERLAP_MM <= self.overlap_mm <= MOST_OVERLAP_MM:
            raise FormSketchError(
                f"overlap of tiles: expected {LEAST_OVERLAP_MM:g} to {MOST_OVERLAP_MM:g} mm, "
                f"got {self.overlap_mm:g}"
            )
        if min(self.body_width_mm, self.body_height_mm) < _LEAST_ROOM_MM:
            raise FormSketchError(
                f"paper {self.paper.name}: expected at least 60 mm of room inside its margins"
            )

    def turned(self) -> SheetStyle:
        """The same on the sheet turned a quarter."""
        return replace(self, paper=self.paper.turned())

    @cached_property
    def foot_lines(self) -> list[str]:
        """What stands at the foot of every sheet."""
        room = self.paper.usable_width_mm - BAR_SIDE_MM - 4.0
        stated = [_PRINT, self.stretch.text or _CORRECT, *self.remarks]
        return [line for text in stated for line in wrapped(text, room, TEXT_MM)]

    @property
    def foot_mm(self) -> float:
        return len(BARS) * BAR_PITCH_MM + 1.5 * TEXT_MM * len(self.foot_lines) + 2.0

    @property
    def body_width_mm(self) -> float:
        """Room for parts in true mm."""
        return (self.paper.usable_width_mm - BAR_SIDE_MM) / self.stretch.across

    @property
    def body_height_mm(self) -> float:
        return (self.paper.usable_height_mm - HEAD_MM - self.foot_mm) / self.stretch.down

    @property
    def body_corner_mm(self) -> tuple[float, float]:
        return self.paper.margin_mm + BAR_SIDE_MM, self.paper.margin_mm + HEAD_MM


def furniture(title: str, word: str, paper: Paper, style: SheetStyle) -> list[Group]:
    """Name and number over the body; bars each way and how to print beside and under it."""
    margin = paper.margin_mm
    heading = Block((Line(_shortened(title, paper.usable_width_mm), _HEAD_TEXT_MM, True),))
    items: list[Item] = [*heading.drawn(margin, margin, "start")]
    if word:
        room = paper.usable_width_mm * (1.0 - _TITLE_SHARE) - 4.0
        items += block(wrapped(word, room, TEXT_MM), TEXT_MM).drawn(paper.width_mm - margin, margin, "end")
    foot_top = paper.height_mm - margin - style.foot_mm
    lines_top = foot_top + len(BARS) * BAR_PITCH_MM + 1.0
    lines = block(style.foot_lines, TEXT_MM).drawn(margin + BAR_SIDE_MM, lines_top, "start")
    bars = [group for row in range(len(BARS)) for group in _bars(row, margin, foot_top, style.stretch)]
    return [Group("sheet-heading", items), *bars, Group("printing", lines)]


def _bars(row: int, margin_mm: float, foot_top_mm: float, stretch: Stretch) -> list[Group]:
    """One length along the foot and up the side of the sheet."""
    length, text, name = BARS[row]
    left, y = margin_mm + BAR_SIDE_MM, foot_top_mm + 2.0 + row * BAR_PITCH_MM
    x, low = margin_mm + 1.5 + row * BAR_PITCH_MM, foot_top_mm - 4.0
    bar = check_bar(0.0, 0.0, length)
    along = Move(left, y, stretch.across).group(Group(f"bar-across-{name}", bar))
    up = Move(x, low, 1.0, stretch.down).group(Group(f"bar-down-{name}", [stood_up(one) for one in bar]))
    words = [
        Text((left + length * stretch.across + 2.0, y), text, TEXT_MM, baseline="middle"),
        Text((x, low - length * stretch.down - 2.0), text, TEXT_MM, baseline="middle", angle_deg=-90.0),
    ]
    return [along, up, Group(f"bar-words-{name}", words)]


def stood_up(item: Item) -> Item:
    """A line of a bar along the sheet, turned to stand up from its start."""
    assert isinstance(item, Path)
    return replace(item, points=item.points[:, ::-1] * (1.0, -1.0))


def _shortened(title: str, width_mm: float) -> str:
    """The title in its share of the width, its end kept."""
    room = width_mm * _TITLE_SHARE
    if text_width_mm(title, _HEAD_TEXT_MM, bold=True) <= room:
        return title
    tail = f" ...{title[title.rindex(',') :]}"
    room -= text_width_mm(tail, _HEAD_TEXT_MM, bold=True)
    return wrapped(title, room, _HEAD_TEXT_MM, bold=True)[0] + tail
