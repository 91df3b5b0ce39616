"""The rolled piece in the neutral drawing: third-angle views at true size, with the inside they reach."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from formsketch.design.model import Worn
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.rolled_views import SHEET_STEP_WIDTHS, PieceViews, View, piece_views
from formsketch.template.drawing import SMALLEST_TEXT_MM, Group, Item, MultiPath, Stroke, Text, text_width_mm

_BETWEEN_MM, _WORDS_MM = 8.0, 5.5
_WASH = "#d9d9d9"


def rolled_views(evaluation: Evaluation, worn: Worn | None = None) -> Group | None:
    """The piece as it is worn, seen from above, front, side and back, its upper left corner at 0.

    None for a piece that is not rolled or that never said what it becomes. Raises `InputError` when it is
    too short to close. What is seen of the far half is drawn narrow, the near half wide over it.
    """
    asked = worn or evaluation.design.worn
    if asked is None:
        return None
    seen = piece_views(evaluation, asked, SHEET_STEP_WIDTHS)
    return None if seen.rolled is None else _drawn(seen)


def _drawn(seen: PieceViews) -> Group:
    by_side = {view.side: view for view in seen.views}
    row = [by_side["front"], by_side["side"], by_side["back"]]
    above = by_side["top"]
    sizes = {view.side: _size_mm(view) for view in (*row, above)}
    wide = {view.side: max(sizes[view.side][0], _words_width_mm(view)) for view in (*row, above)}
    first = max(wide["front"], wide["top"])
    high = sizes["top"][1]
    items: list[Item | Group] = [_view(above, first / 2, high / 2), _words(above, first / 2, high)]
    below = high + _WORDS_MM + _BETWEEN_MM
    tall, left = max(sizes[view.side][1] for view in row), 0.0
    for view in row:
        room = first if view.side == "front" else wide[view.side]
        items += [_view(view, left + room / 2, below + tall / 2), _words(view, left + room / 2, below + tall)]
        left += room + _BETWEEN_MM
    return Group("rolled", items)


def _size_mm(view: View) -> tuple[float, float]:
    x0, y0, x1, y1 = view.bounds_mm
    return 2 * max(-x0, x1), 2 * max(-y0, y1)


def _words_width_mm(view: View) -> float:
    return text_width_mm(view.words, SMALLEST_TEXT_MM)


def _words(view: View, x_mm: float, y_mm: float) -> Text:
    return Text((x_mm, y_mm + _WORDS_MM), view.words, anchor="middle")


def _view(view: View, x_mm: float, y_mm: float) -> Group:
    items = [
        MultiPath(rings, fill, stroke)
        for shape, fill, stroke in (
            (view.beyond, None, Stroke.CONTINUOUS_EXTRA_NARROW),
            (view.near, _WASH, Stroke.CONTINUOUS_NARROW),
        )
        if (rings := _rings(shape, x_mm, y_mm))
    ]
    return Group(f"rolled-{view.side}", items)


def _rings(shape: Any, x_mm: float, y_mm: float) -> list[np.ndarray]:
    """Every ring of a shape, y turned down."""
    return [
        shapely.get_coordinates(ring)[:-1] * (1.0, -1.0) + (x_mm, y_mm)
        for polygon in shapely.get_parts(shape)
        if shapely.get_type_id(polygon) == shapely.GeometryType.POLYGON and not shapely.is_empty(polygon)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
