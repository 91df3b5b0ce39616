"""A lit form with balls, stones or marks drawn where they fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.picture import level_wire, paint_fitted
from formsketch.ui.set_painting import paint_pearl, paint_set, paint_stone
from formsketch.ui.theme import Palette, current_palette
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire
from formsketch.values import Value

_MOST_PX_PER_MM = 40.0


class Placed(Value, frozen=True):
    """One thing drawn in place: a round of a diameter, or a polygon of corners; mm, form laid level.

    An "empty" round is only outlined. `axis` is the way of a pearl's hole, 0 for none, and `along_mm` its
    length there, 0 for a round one; `stone_mm` is the stone in a seat.
    """

    at_mm: complex
    diameter_mm: float
    kind: Literal["empty", "pearl", "stone", "mark"]
    label: str = ""
    axis: complex = 0j
    corners_mm: tuple[complex, ...] = ()
    along_mm: float = 0.0
    stone_mm: float = 0.0


class BallsPicture(QWidget):
    """Shows one form as large as it fits, with things in place; one of them may be pointed out."""

    def __init__(self) -> None:
        super().__init__()
        self.setMinimumSize(420, 300)
        self.setAccessibleName("The form, with what fits drawn in")
        self._wire: PlacedWire | None = None
        self.placed: tuple[Placed, ...] = ()
        self.with_set = False
        self._chosen = -1

    def show_form(
        self, evaluation: Evaluation, placed: Sequence[Placed] = (), with_set: bool = False
    ) -> None:
        """Show a form and what fits on it, maybe with what is set on it already."""
        if self._wire is None or self._wire.evaluation is not evaluation:
            self._wire = level_wire(evaluation)
        self.placed, self.with_set = tuple(placed), with_set
        self.update()

    def point_out(self, number: int) -> None:
        """Draw the thing with this label number stronger; -1 for none."""
        self._chosen = number
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        view = paint_fitted(painter, self, self._wire, _MOST_PX_PER_MM)
        if view is None or self._wire is None:
            return
        if self.with_set:
            paint_set(painter, self._wire.set_on, view, colours)
        for one in self.placed:
            self._paint_one(painter, one, view, colours, one.label == str(self._chosen + 1))

    def _paint_one(self, painter: QPainter, one: Placed, view: View, colours: Palette, chosen: bool) -> None:
        px = view.px_per_mm
        middle, radius = view.to_px(one.at_mm), one.diameter_mm / 2 * px
        if one.kind == "pearl":
            paint_pearl(painter, middle, 2 * radius, px * (one.along_mm or one.diameter_mm), one.axis)
        elif one.kind == "stone":
            paint_stone(painter, middle, 2 * radius, px * (one.stone_mm or one.diameter_mm), colours)
        painter.setPen(QPen(QColor(colours.accent), 2.4 if chosen else 1.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if one.corners_mm:
            painter.setBrush(QColor(colours.accent_wash))
            painter.drawPolygon(QPolygonF([view.to_px(corner) for corner in one.corners_mm]))
        elif radius and (chosen or one.kind == "empty"):
            painter.drawEllipse(middle, radius, radius)
        self._paint_label(painter, one, middle, radius, colours)

    @staticmethod
    def _paint_label(
        painter: QPainter, one: Placed, middle: QPointF, radius: float, colours: Palette
    ) -> None:
        """The number in the middle where there is room, else above."""
        metrics = QFontMetricsF(painter.font())
        wide, high = metrics.horizontalAdvance(one.label) + 4, metrics.height()
        inside = radius > 0.55 * max(wide, high)
        top = middle.y() - high / 2 if inside else middle.y() - radius - high - 3
        box = QRectF(middle.x() - wide / 2, top, wide, high)
        if not inside:
            # Readable over metal, too.
            behind = QColor(colours.paper)
            behind.setAlpha(190)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(behind)
            painter.drawRoundedRect(box.adjusted(0, 2, 0, -2), 3, 3)
        painter.setPen(QColor("#2b2620" if inside and one.kind in ("pearl", "stone") else colours.ink))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, one.label)
