"""Drawings moved, stretched and mirrored: the same items elsewhere on a sheet. Lettering stays readable."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.template.drawing import Circle, Group, Item, MultiPath, Path, Text
from formsketch.values import Value

_CIRCLE_PIECES = 360
_OTHER_ANCHOR: dict[str, Literal["start", "middle", "end"]] = {
    "start": "end",
    "middle": "middle",
    "end": "start",
}


class Move(Value, frozen=True):
    """x becomes `stretch_x` x + `right_mm`, y becomes `stretch_y` y + `down_mm`; no stretch is 0.

    A negative `stretch_x` mirrors: places change side, lettering is set from its other end and stays
    readable. Lettering keeps its size.
    """

    right_mm: float = 0.0
    down_mm: float = 0.0
    stretch_x: float = 1.0
    stretch_y: float = 1.0

    def groups(self, groups: Sequence[Group]) -> list[Group]:
        """Groups moved, with all that is in them."""
        return [self.group(group) for group in groups]

    def group(self, group: Group) -> Group:
        items = [self.group(one) if isinstance(one, Group) else self.item(one) for one in group.items]
        clip = group.clip
        if clip is not None:
            (x0, y0), (x1, y1) = self._point(clip[:2]), self._point(clip[2:])
            clip = min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)
        return Group(group.name, items, clip)

    def item(self, item: Item) -> Item:
        """One item moved; a circle stretched unevenly becomes a path of 360 pieces."""
        if isinstance(item, Path):
            return replace(item, points=self._points(item.points))
        if isinstance(item, MultiPath):
            return replace(item, rings=tuple(self._points(ring) for ring in item.rings))
        if isinstance(item, Circle):
            return self._circle(item)
        return self._text(item)

    def _circle(self, item: Circle) -> Item:
        if abs(self.stretch_x) == abs(self.stretch_y):
            return replace(
                item, centre=self._point(item.centre), radius_mm=item.radius_mm * abs(self.stretch_x)
            )
        angle = np.linspace(0.0, 2 * np.pi, _CIRCLE_PIECES, endpoint=False)
        points = np.array(item.centre) + item.radius_mm * np.column_stack((np.cos(angle), np.sin(angle)))
        return Path(self._points(points), item.stroke, True, item.fill, item.colour)

    def _text(self, item: Text) -> Text:
        if self.stretch_x > 0:
            return replace(item, position=self._point(item.position))
        return replace(
            item,
            position=self._point(item.position),
            anchor=_OTHER_ANCHOR[item.anchor],
            angle_deg=-item.angle_deg,
        )

    def _points(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        return points * (self.stretch_x, self.stretch_y) + (self.right_mm, self.down_mm)

    def _point(self, place: tuple[float, float]) -> tuple[float, float]:
        x, y = place
        return self.stretch_x * x + self.right_mm, self.stretch_y * y + self.down_mm
