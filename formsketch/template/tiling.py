"""A part too large for any sheet, tiled over several that are cut and laid together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

import numpy as np

from formsketch.errors import FormSketchError
from formsketch.template.drawing import Box, Group, Item, Path, Stroke
from formsketch.template.moved import Move
from formsketch.template.sheet_style import SheetStyle
from formsketch.values import Value

MOST_SHEETS = 400
_CROP_MM = 3.0
_LINE_MM = 0.5  # lines along the outermost edge of a part are as wide as this at most


class Part(Protocol):
    """Something to be set on sheets."""

    @property
    def width_mm(self) -> float: ...

    @property
    def height_mm(self) -> float: ...

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]: ...


class Page(Value, frozen=True):
    """What goes into the body of a sheet, about the body's upper left corner, and its word in the heading.

    `style` is that of the sheet, which may be turned a quarter from the others.
    """

    groups: tuple[Group, ...]
    height_mm: float
    style: SheetStyle
    word: str = ""


def tiles(part: Part, style: SheetStyle, before: int) -> Iterator[Page]:
    """Windows on a part too large for a sheet, row by row, each overlapping its neighbours.

    Where the sheets turned a quarter take fewer they are turned, one alone perhaps, and say so. `before`
    sheets come before them. Raises `FormSketchError` when it would take too many.
    """
    word = ""
    if not style.paper.roll and _sheets(part, style.turned()) < _sheets(part, style):
        style = style.turned()
        word = f"turned, {style.paper.stance}"
        if _sheets(part, style) == 1:
            yield Page(tuple(part.drawn(0.0, 0.0)), part.height_mm, style, word)
            return
        word += "; "
    columns, rows = _grid(part, style)
    step_x, step_y = style.body_width_mm - style.overlap_mm, style.body_height_mm - style.overlap_mm
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
                (
                    Group("tile", shown, _with_lines(window, around)),
                    _crop_marks(window, around, style.overlap_mm),
                ),
                window[3],
                style,
                f"{word}tile {_place(column, columns, row, rows)}: {_neighbours(around)}; lay cross on cross",
            )


def _grid(part: Part, style: SheetStyle) -> tuple[int, int]:
    """How many sheets a part takes across and down."""
    step_x, step_y = style.body_width_mm - style.overlap_mm, style.body_height_mm - style.overlap_mm
    columns = _count(part.width_mm, style.body_width_mm, step_x)
    return columns, _count(part.height_mm, style.body_height_mm, step_y)


def _sheets(part: Part, style: SheetStyle) -> int:
    columns, rows = _grid(part, style)
    return columns * rows


def _count(whole_mm: float, window_mm: float, step_mm: float) -> int:
    return 1 + max(0, -int(-(whole_mm - window_mm - 1e-9) // step_mm))


def _place(column: int, columns: int, row: int, rows: int) -> str:
    across = f"{column + 1} of {columns} across" if columns > 1 else ""
    down = f"{row + 1} of {rows} down" if rows > 1 else ""
    return ", ".join(filter(None, (across, down)))


def _neighbours(around: dict[str, int | None]) -> str:
    return ", ".join(f"sheet {number} {side}" for side, number in around.items() if number is not None)


def _with_lines(window: Box, around: dict[str, int | None]) -> Box:
    """The window and, where no sheet goes on, the whole width of the lines at its edge."""
    x0, y0, x1, y1 = window
    left, right, above, below = (
        _LINE_MM if around[side] is None else 0.0 for side in ("left", "right", "above", "below")
    )
    return x0 - left, y0 - above, x1 + right, y1 + below


def _crop_marks(window: Box, around: dict[str, int | None], overlap_mm: float) -> Group:
    """Where to cut: dashed through the middle of each overlap, with crosses at its ends."""
    x0, y0, x1, y1 = window
    inward = {side: _CROP_MM if number is None else overlap_mm / 2 for side, number in around.items()}
    left, right = x0 + inward["left"], x1 - inward["right"]
    top, bottom = y0 + inward["above"], y1 - inward["below"]
    items: list[Item] = []
    for side, line in (
        ("left", ((left, y0), (left, y1))),
        ("right", ((right, y0), (right, y1))),
        ("above", ((x0, top), (x1, top))),
        ("below", ((x0, bottom), (x1, bottom))),
    ):
        if around[side] is not None:
            items.append(Path(np.array(line), Stroke.DASHED_NARROW))
    # A corner that nothing is laid against has nothing to be cut to.
    beside = {left: around["left"], right: around["right"]}
    under = {top: around["above"], bottom: around["below"]}
    for x in beside:
        for y in under:
            if beside[x] is None and under[y] is None:
                continue
            items.append(Path(np.array([[x - _CROP_MM, y], [x + _CROP_MM, y]]), Stroke.CONTINUOUS_NARROW))
            items.append(Path(np.array([[x, y - _CROP_MM], [x, y + _CROP_MM]]), Stroke.CONTINUOUS_NARROW))
    return Group("crop-marks", items)
