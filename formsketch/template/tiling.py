"""A part too large for any sheet, tiled over several that are cut and laid together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from formsketch.errors import FormSketchError
from formsketch.template.drawing import Box, Group, Item, Path, Stroke
from formsketch.template.moved import Move
from formsketch.template.sheet_style import SheetStyle

MOST_SHEETS = 400
_CROP_MM = 4.0


class Part(Protocol):
    """Something to be set on sheets."""

    @property
    def width_mm(self) -> float: ...

    @property
    def height_mm(self) -> float: ...

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]: ...


@dataclass(frozen=True)
class Page:
    """What goes into the body of a sheet, about the body's upper left corner, and its word in the heading."""

    groups: tuple[Group, ...]
    height_mm: float
    word: str = ""


def tiles(part: Part, style: SheetStyle, before: int) -> Iterator[Page]:
    """Windows on a part too large for a sheet, row by row, each overlapping its neighbours.

    `before` sheets come before them. Raises `FormSketchError` when it would take too many.
    """
    step_x, step_y = style.body_width_mm - style.overlap_mm, style.body_height_mm - style.overlap_mm
    columns = _count(part.width_mm, style.body_width_mm, step_x)
    rows = _count(part.height_mm, style.body_height_mm, step_y)
    if before + columns * rows > MOST_SHEETS:
        raise FormSketchError(
            f"{style.title}: it would take {columns} by {rows} sheets of {style.paper.name}; "
            f"expected {MOST_SHEETS} at most"
        )
    groups = part.drawn(0.0, 0.0)
    for row in range(rows):
        for column in range(columns):
            left, top = column * step_x, row * step_y
            window = (
                0.0,
                0.0,
                min(style.body_width_mm, part.width_mm - left),
                min(style.body_height_mm, part.height_mm - top),
            )
            shown = Move(-left, -top).groups(groups)
            number = before + row * columns + column + 1
            around = {
                "left": number - 1 if column > 0 else None,
                "right": number + 1 if column < columns - 1 else None,
                "above": number - columns if row > 0 else None,
                "below": number + columns if row < rows - 1 else None,
            }
            # Windows are clipped; crop marks stand at the corners of what neighbours share.
            yield Page(
                (Group("tile", shown, window), _crop_marks(window, around, style.overlap_mm)),
                window[3],
                f"tile {column + 1} of {columns} across, {row + 1} of {rows} down: {_neighbours(around)}",
            )


def _count(whole_mm: float, window_mm: float, step_mm: float) -> int:
    return 1 + max(0, -int(-(whole_mm - window_mm - 1e-9) // step_mm))


def _neighbours(around: dict[str, int | None]) -> str:
    return ", ".join(f"sheet {number} {side}" for side, number in around.items() if number is not None)


def _crop_marks(window: Box, around: dict[str, int | None], overlap_mm: float) -> Group:
    """Where to cut: dashed through the middle of each overlap, with crosses at the corners."""
    x0, y0, x1, y1 = window
    left = x0 + overlap_mm / 2 if around["left"] is not None else x0
    right = x1 - overlap_mm / 2 if around["right"] is not None else x1
    top = y0 + overlap_mm / 2 if around["above"] is not None else y0
    bottom = y1 - overlap_mm / 2 if around["below"] is not None else y1
    items: list[Item] = []
    for side, line in (
        ("left", ((left, y0), (left, y1))),
        ("right", ((right, y0), (right, y1))),
        ("above", ((x0, top), (x1, top))),
        ("below", ((x0, bottom), (x1, bottom))),
    ):
        if around[side] is not None:
            items.append(Path(np.array(line), Stroke.DASHED_NARROW))
    for x in (left, right):
        for y in (top, bottom):
            items.append(Path(np.array([[x - _CROP_MM, y], [x + _CROP_MM, y]]), Stroke.CONTINUOUS_NARROW))
            items.append(Path(np.array([[x, y - _CROP_MM], [x, y + _CROP_MM]]), Stroke.CONTINUOUS_NARROW))
    return Group("crop-marks", items)
