"""The piece as it is worn, to scale: from above, front, side and back, and the flat form under them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from formsketch.evaluation.oval import Oval
from formsketch.evaluation.rolled_views import PieceViews, View
from formsketch.ui.theme import current_palette
from formsketch.units import length_text

_EDGE_PX, _BETWEEN_PX = 12.0, 30.0
_MOST_PX_PER_MM = 24.0
_ROUND_POINTS = 360


class RolledView(QWidget):
    """One piece from all sides at one scale; nothing while there is none to show."""

    def __init__(self) -> None:
        super().__init__()
        self._views: tuple[View, ...] = ()
        self._paths: tuple[tuple[QPainterPath, QPainterPath], ...] = ()
        self._wanted: Oval | None = None
        self._words = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The piece as it is worn, from all sides")

    def sizeHint(self) -> QSize:
        return QSize(620, 290)

    def minimumSizeHint(self) -> QSize:
        return QSize(420, 200)

    def show_piece(self, piece: PieceViews, wanted: Oval | None, words: str) -> None:
        """Show a piece, the inside wanted dashed; `words` say which piece it is."""
        self._views, self._wanted, self._words = piece.views, wanted, words
        self._paths = tuple((_path(view.beyond), _path(view.near)) for view in piece.views)
        said = [f"{words.capitalize()}: {'; '.join(view.words for view in piece.views)}"]
        if wanted is not None:
            said.append(f"inside wanted {length_text(wanted.width_mm)} by {length_text(wanted.depth_mm)}")
        self.setAccessibleDescription("; ".join(said) + ".")
        self.update()

    def show_nothing(self) -> None:
        self._views, self._paths = (), ()
        self.setAccessibleDescription("Nothing is rolled.")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(colours.paper))
        if not self._views:
            return
        if self._words:
            painter.setPen(QColor(colours.ink_soft))
            box = QRectF(self.rect()).adjusted(_EDGE_PX, _EDGE_PX / 2, -_EDGE_PX, 0)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, self._words)
        rows = [row for row in (range(len(self._views) - 1), [len(self._views) - 1]) if row]
        sizes = [self._size_mm(number) for number in range(len(self._views))]
        px = self._scale(rows, sizes)
        heights = [max(sizes[n][1] for n in row) * px + self._words_px(row) for row in rows]
        spare = self.height() - sum(heights)
        top = spare / (len(rows) + 1)
        for row, high in zip(rows, heights, strict=True):
            self._paint_row(painter, row, sizes, px, QRectF(0, top, self.width(), high))
            top += high + spare / (len(rows) + 1)

    def _scale(self, rows: Sequence[Sequence[int]], sizes: list[tuple[float, float]]) -> float:
        across = min(
            (self.width() - 2 * _EDGE_PX - (len(row) - 1) * _BETWEEN_PX) / sum(sizes[n][0] for n in row)
            for row in rows
        )
        room = self.height() - (len(rows) + 1) * _EDGE_PX - sum(self._words_px(row) for row in rows)
        down = room / sum(max(sizes[n][1] for n in row) for row in rows)
        return min(max(min(across, down), 1e-3), _MOST_PX_PER_MM)

    def _words_px(self, row: Sequence[int]) -> float:
        """Room for the words under a row: in two lines where several views stand side by side."""
        return self.fontMetrics().lineSpacing() * (2 if len(row) > 1 else 1) + 4.0

    def _size_mm(self, number: int) -> tuple[float, float]:
        """Room a view takes: the inside wanted belongs to the view from above."""
        x0, y0, x1, y1 = self._views[number].bounds_mm
        wide, high = 2 * max(-x0, x1), 2 * max(-y0, y1)
        if self._wanted is not None and self._views[number].side == "top":
            wide, high = max(wide, self._wanted.width_mm), max(high, self._wanted.depth_mm)
        return wide, high

    def _paint_row(
        self,
        painter: QPainter,
        row: Sequence[int],
        sizes: list[tuple[float, float]],
        px: float,
        box: QRectF,
    ) -> None:
        """The views of a row beside each other, their room shared out evenly, words under each."""
        words_px = self._words_px(row)
        free = (box.width() - sum(sizes[n][0] for n in row) * px) / len(row)
        left = box.left()
        for number in row:
            wide = sizes[number][0] * px + free
            middle = QPointF(left + wide / 2, box.top() + (box.height() - words_px) / 2)
            self._paint_view(painter, number, middle, px)
            painter.setPen(QColor(current_palette().ink_soft))
            words = self._views[number].words
            below = QRectF(left, box.bottom() - words_px + 4, wide, words_px)
            flags = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop
            painter.drawText(below, flags, words.replace(", ", "\n", 1) if len(row) > 1 else words)
            left += wide

    def _paint_view(self, painter: QPainter, number: int, middle: QPointF, px: float) -> None:
        colours = current_palette()
        painter.save()
        painter.translate(middle)
        painter.scale(px, -px)
        painter.setPen(Qt.PenStyle.NoPen)
        for path, colour in zip(self._paths[number], (colours.line, colours.ink), strict=True):
            painter.fillPath(path, QColor(colour))
        if self._wanted is not None and self._views[number].side == "top":
            pen = QPen(QColor(colours.accent), 1.4 / px)
            pen.setDashPattern([4.0, 3.0])
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolygon(_polygon(self._wanted.offset(0.0, _ROUND_POINTS)))
        painter.restore()


def _path(shape: Any) -> QPainterPath:
    """A shapely polygon or several, their holes left out."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    parts = shapely.get_parts(shape)
    for ring in shapely.get_rings(parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]):
        path.addPolygon(_polygon(shapely.get_coordinates(ring) @ np.array([1.0, 1j])))
        path.closeSubpath()
    return path


def _polygon(points: NDArray[np.complex128]) -> QPolygonF:
    return QPolygonF([QPointF(p.real, p.imag) for p in points.tolist()])
