"""Horizontal scales, one for each proportion: pieces as named ticks above, the form in hand marked below."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from formsketch.comparison.scale_of_pieces import PROPORTIONS, Piece, Proportioned, place_text
from formsketch.ui.theme import Palette, current_palette

_ROW_PX, _TOP_PX, _SIDE_PX = 118, 8, 60
_TICK_PX, _MARK_PX, _NAME_PX = 7, 6, 130
# A scale goes this share of its length beyond its first and last value.
_MARGIN = 0.04
_LEVELS = 2


class ScalesView(QWidget):
    """Scales of pieces for the forms given as (title, proportions by name), the first the one in hand.

    `own_file` is the file of the one in hand: it is not compared with itself.
    """

    def __init__(self, forms: Sequence[tuple[str, dict[str, float]]], own_file: str = "") -> None:
        super().__init__()
        self._forms, self._own_file = tuple(forms), own_file
        self._pieces: tuple[Piece, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Scales of my own pieces")

    @property
    def shown(self) -> tuple[Proportioned, ...]:
        """The proportions the form in hand, or any piece, has."""
        known = [numbers for _, numbers in self._forms] + [piece.numbers for piece in self._pieces]
        return tuple(p for p in PROPORTIONS if any(p.name in numbers for numbers in known))

    def show_pieces(self, pieces: Sequence[Piece]) -> None:
        """Show these pieces on every scale."""
        self._pieces = tuple(pieces)
        self.setAccessibleDescription("\n".join(self.sentences()))
        self.updateGeometry()
        self.update()

    def sentences(self) -> list[str]:
        """What each scale says of the form in hand."""
        return [f"{p.label}: {self._sentence(p)}" for p in self.shown]

    def _sentence(self, proportion: Proportioned) -> str:
        value = self._forms[0][1].get(proportion.name) if self._forms else None
        if value is None:
            return "this form has none"
        said = proportion.text(value)
        others = [piece for piece in self._pieces if piece.file != self._own_file]
        return f"{said}, {place_text(others, proportion, value)}" if others else said

    def sizeHint(self) -> QSize:
        return QSize(680, _TOP_PX + _ROW_PX * len(self.shown))

    def minimumSizeHint(self) -> QSize:
        return QSize(420, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(colours.paper))
        for row, proportion in enumerate(self.shown):
            painter.save()
            painter.translate(0, _TOP_PX + row * _ROW_PX)
            self._paint_scale(painter, colours, proportion)
            painter.restore()

    def _paint_scale(self, painter: QPainter, colours: Palette, proportion: Proportioned) -> None:
        metrics = QFontMetricsF(painter.font())
        line = metrics.height()
        painter.setPen(QColor(colours.accent))
        painter.drawText(QPointF(12, line), proportion.label)
        begin = 12 + metrics.horizontalAdvance(proportion.label) + 12
        painter.setPen(QColor(colours.ink_soft))
        room = self.width() - begin - 12
        said = metrics.elidedText(self._sentence(proportion), Qt.TextElideMode.ElideRight, room)
        painter.drawText(QPointF(begin, line), said)
        axis_y = line + 8 + _LEVELS * line + _TICK_PX
        left, right = _SIDE_PX, self.width() - _SIDE_PX
        painter.setPen(QPen(QColor(colours.outline), 1))
        painter.drawLine(QPointF(left, axis_y), QPointF(right, axis_y))
        self._paint_pieces(painter, colours, proportion, axis_y)
        self._paint_forms(painter, colours, proportion, axis_y)

    def _paint_pieces(
        self, painter: QPainter, colours: Palette, proportion: Proportioned, axis_y: float
    ) -> None:
        """Ticks, and as many names as there is room for, on two levels."""
        metrics = QFontMetricsF(painter.font())
        ends = [-math.inf] * _LEVELS
        name = proportion.name
        ranked = sorted((p for p in self._pieces if name in p.numbers), key=lambda p: p.numbers[name])
        for piece in ranked:
            x = self._x(proportion, piece.numbers[name])
            painter.setPen(QPen(QColor(colours.ink_soft), 1))
            painter.drawLine(QPointF(x, axis_y - _TICK_PX), QPointF(x, axis_y))
            title = metrics.elidedText(piece.title, Qt.TextElideMode.ElideRight, _NAME_PX)
            half = metrics.horizontalAdvance(title) / 2
            middle = min(max(x, half + 4), self.width() - half - 4)
            level = next((i for i, end in enumerate(ends) if middle - half > end + 8), None)
            if level is None:
                continue
            ends[level] = middle + half
            y = axis_y - _TICK_PX - 4 - level * metrics.height()
            painter.drawText(QPointF(middle - half, y), title)

    def _paint_forms(
        self, painter: QPainter, colours: Palette, proportion: Proportioned, axis_y: float
    ) -> None:
        """The form in hand as a filled mark with its value, its variants as open ones with their names."""
        metrics = QFontMetricsF(painter.font())
        taken: list[tuple[float, float, int]] = []
        marks: list[float] = []
        for number, (title, numbers) in enumerate(self._forms):
            if proportion.name not in numbers:
                continue
            value = numbers[proportion.name]
            x = self._x(proportion, value)
            marks.append(x)
            text = proportion.text(value) if number == 0 else title
            text = metrics.elidedText(text, Qt.TextElideMode.ElideRight, _NAME_PX)
            half = metrics.horizontalAdvance(text) / 2
            middle = min(max(x, half + 4), self.width() - half - 4)
            level = _free_level(taken, middle - half, middle + half)
            if level is None:
                continue
            taken.append((middle - half, middle + half, level))
            painter.setPen(QColor(colours.ink if number == 0 else colours.ink_soft))
            top = axis_y + 2 * _MARK_PX + 1 + level * metrics.height()
            painter.drawText(
                QRectF(middle - half - 1, top, 2 * half + 2, metrics.height()),
                Qt.AlignmentFlag.AlignCenter,
                text,
            )
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        in_hand = bool(self._forms) and proportion.name in self._forms[0][1]
        for number, x in reversed(list(enumerate(marks))):
            painter.setBrush(QColor(colours.accent if number == 0 and in_hand else colours.paper))
            painter.drawPolygon(_mark(x, axis_y))

    def _x(self, proportion: Proportioned, value: float) -> float:
        """Where a value stands: by ratio, the scale just long enough for all that stand on it."""
        known = [numbers[proportion.name] for _, numbers in self._forms if proportion.name in numbers]
        known += [p.numbers[proportion.name] for p in self._pieces if proportion.name in p.numbers]
        low, high = math.log(min(known)), math.log(max(known))
        share = 0.5 if high - low < 1e-9 else (math.log(value) - low) / (high - low)
        share = _MARGIN + share * (1 - 2 * _MARGIN)
        return _SIDE_PX + share * (self.width() - 2 * _SIDE_PX)


def _mark(x: float, axis_y: float) -> QPolygonF:
    """A triangle under the axis, its tip on the value."""
    points = ((x, axis_y + 2), (x - _MARK_PX, axis_y + 2 * _MARK_PX), (x + _MARK_PX, axis_y + 2 * _MARK_PX))
    return QPolygonF([QPointF(*point) for point in points])


def _free_level(taken: Sequence[tuple[float, float, int]], left: float, right: float) -> int | None:
    """The first level on which a name from left to right is clear of those set; None when all are full."""
    for level in range(_LEVELS):
        if all(other != level or right + 8 < begin or left > end + 8 for begin, end, other in taken):
            return level
    return None
