"""Parts of a template set on sheets, one under another; what no sheet can hold is tiled."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from formsketch.errors import FormSketchError
from formsketch.template.drawing import Group, Sheet
from formsketch.template.moved import Move
from formsketch.template.sheet_style import HEAD_MM, SheetStyle, furniture
from formsketch.template.tiling import MOST_SHEETS, Page, Part, tiles

_SHORTEST_ROLL_MM = 160.0


def pages_of(parts: Sequence[Part], style: SheetStyle) -> list[Page]:
    """Parts in their order, one under another as long as a sheet has room; then larger ones, tiled."""
    pages: list[Page] = []
    larger: list[Part] = []
    waiting: list[Group] = []
    y = 0.0
    for part in parts:
        wide, high = part.width_mm, part.height_mm
        if wide > style.body_width_mm + 1e-9 or high > style.body_height_mm + 1e-9:
            larger.append(part)
            continue
        if waiting and y + high > style.body_height_mm + 1e-9:
            pages.append(Page(tuple(waiting), y - style.gap_mm, style))
            waiting, y = [], 0.0
        waiting += part.drawn(0.0, y)
        y += high + style.gap_mm
    if waiting:
        pages.append(Page(tuple(waiting), y - style.gap_mm, style))
    for part in larger:
        pages += tiles(part, style, len(pages))
    return pages


def sheets_of(parts: Sequence[Part], style: SheetStyle) -> list[Sheet]:
    """All sheets, numbered. Raises `FormSketchError` when it would take more than 400."""
    pages = pages_of(parts, style)
    if len(pages) > MOST_SHEETS:
        raise FormSketchError(
            f"{style.title}: it would take {len(pages)} sheets of {style.paper.name}; "
            f"expected {MOST_SHEETS} at most"
        )
    return [_sheet(page, number, len(pages)) for number, page in enumerate(pages, start=1)]


def _sheet(page: Page, number: int, count: int) -> Sheet:
    style = page.style
    paper, stretch = style.paper, style.stretch
    left, top = style.body_corner_mm
    if paper.roll:
        height = page.height_mm * stretch.down + style.foot_mm + HEAD_MM + 2 * paper.margin_mm + 2.0
        paper = replace(paper, height_mm=max(height, _SHORTEST_ROLL_MM))
    body = Move(left, top, stretch.across, stretch.down).groups(page.groups)
    title = f"{style.title}, sheet {number} of {count}"
    return Sheet(paper.width_mm, paper.height_mm, title, [*body, *furniture(title, page.word, paper, style)])
