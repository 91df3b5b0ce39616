"""The piece rolled up, to scale: from above with the thickness of the wire, and from the side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.rolled import Oval, Rolled
from formsketch.ui.theme import current_palette
from formsketch.units import length_text

_EDGE_PX, _BETWEEN_PX, _LINE_PX = 12.0, 28.0, 18.0
# Quads along the wire, a few to each filled piece: a piece so short does not cross itself.
_QUADS, _QUADS_PER_PIECE = 2_400, 6
_BAND_POINTS = 360


class RolledView(QWidget):
    """One piece from above and from the side at one scale; nothing while there is none to show."""

    def __init__(self) -> None:
        super().__init__()
        self._piece: tuple[Evaluation, Rolled, Oval] | None = None
        self._words = ""
        self._ribbon: list[tuple[QPolygonF, bool]] = []
        self._discs: list[tuple[QRectF, bool]] = []
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("The piece rolled up, from above and from the side")

    def sizeHint(self) -> QSize:
        return QSize(560, 210)

    def minimumSizeHint(self) -> QSize:
        return QSize(320, 180)

    def show_piece(self, evaluation: Evaluation, rolled: Rolled, wanted: Oval, words: str) -> None:
        """Show a piece, the inside wanted dashed; `words` say which piece it is."""
        self._piece = (evaluation, rolled, wanted)
        self._words = words
        self._ribbon = _ribbon(evaluation, rolled)
        self._discs = _discs(evaluation, rolled)
        inside, meant = (
            f"{length_text(oval.width_mm)} by {length_text(oval.depth_mm)}"
            for oval in (rolled.inside, wanted)
        )
        self.setAccessibleDescription(f"{words.capitalize()}: inside {inside}, wanted {meant}.")
        self.update()

    def show_nothing(self) -> None:
        self._piece = None
        self.setAccessibleDescription("Nothing is rolled.")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(colours.paper))
        if self._piece is None:
            return
        evaluation, rolled, wanted = self._piece
        wide = max(rolled.inside.width_mm, wanted.width_mm) + 2 * rolled.height_mm
        deep = max(rolled.inside.depth_mm, wanted.depth_mm) + 2 * rolled.height_mm
        high = evaluation.envelope_mm[1]
        room = self.width() - 2 * _EDGE_PX - _BETWEEN_PX, self.height() - 2 * _EDGE_PX - _LINE_PX
        px = max(min(room[0] / (2 * wide), room[1] / max(deep, high)), 1e-3)
        left = (self.width() - 2 * wide * px - _BETWEEN_PX) / 2
        middle_y = _EDGE_PX + room[1] / 2
        above = QPointF(left + wide * px / 2, middle_y)
        beside = QPointF(left + 1.5 * wide * px + _BETWEEN_PX, middle_y)
        painter.save()
        painter.translate(above)
        painter.scale(px, -px)
        self._paint_above(painter, rolled, wanted, px)
        painter.restore()
        painter.save()
        painter.translate(beside)
        painter.scale(px, -px)
        self._paint_side(painter)
        painter.restore()
        painter.setPen(QColor(colours.ink_soft))
        inside = f"{self._words}, inside {length_text(rolled.inside.width_mm)}"
        if rolled.inside.aspect < 1:
            inside += f" by {length_text(rolled.inside.depth_mm)}"
        for at, words in ((above, inside), (beside, f"{length_text(high)} high")):
            line = QRectF(at.x() - self.width() / 4, self.height() - _LINE_PX - 4, self.width() / 2, _LINE_PX)
            painter.drawText(line, Qt.AlignmentFlag.AlignCenter, words)

    def _paint_above(self, painter: QPainter, rolled: Rolled, wanted: Oval, px: float) -> None:
        colours = current_palette()
        along = np.linspace(0.0, rolled.band_mm, _BAND_POINTS)
        inner, outer = rolled.at(along, -rolled.height_mm / 2), rolled.at(along, rolled.height_mm / 2)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.ink))
        band = QPainterPath()
        band.addPolygon(_polygon(np.concatenate((inner, outer[::-1]))))
        band.setFillRule(Qt.FillRule.WindingFill)
        painter.drawPath(band)
        pen = QPen(QColor(colours.accent), 1.4 / px)
        pen.setDashPattern([4.0, 3.0])
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolygon(_polygon(wanted.offset(0.0, _BAND_POINTS)))

    def _paint_side(self, painter: QPainter) -> None:
        colours = current_palette()
        for front in (False, True):
            colour = QColor(colours.ink if front else colours.line)
            # A hairline closes the seams between the pieces.
            painter.setPen(QPen(colour, 0))
            painter.setBrush(colour)
            for piece, lies_front in self._ribbon:
                if lies_front == front:
                    painter.drawPolygon(piece, Qt.FillRule.WindingFill)
            for disc, lies_front in self._discs:
                if lies_front == front:
                    painter.drawEllipse(disc)


def _ribbon(evaluation: Evaluation, rolled: Rolled) -> list[tuple[QPolygonF, bool]]:
    """Pieces of the wire seen from the side, x across and y up in mm, and whether each lies in front."""
    outline = evaluation.outline
    z = evaluation.trace.z_mm
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
    places = np.linspace(0.0, along[-1], _QUADS + 1)
    edges, in_front = [], None
    for edge in (outline.left_mm, outline.right_mm):
        x, y = np.interp(places, along, edge.real), np.interp(places, along, edge.imag)
        seen, in_front = _seen(evaluation, rolled, x, y)
        edges.append(seen)
    pieces = []
    for begin in range(0, _QUADS, _QUADS_PER_PIECE):
        part = slice(begin, begin + _QUADS_PER_PIECE + 1)
        ring = np.concatenate((edges[0][part], edges[1][part][::-1]))
        pieces.append((_polygon(ring), bool(in_front is not None and in_front[begin])))
    return pieces


def _discs(evaluation: Evaluation, rolled: Rolled) -> list[tuple[QRectF, bool]]:
    discs = []
    for disc in evaluation.outline.discs:
        at, front = _seen(
            evaluation, rolled, np.array([disc.centre_mm.real]), np.array([disc.centre_mm.imag])
        )
        x, y, r = float(at[0].real), float(at[0].imag), disc.radius_mm
        discs.append((QRectF(x - r, y - r, 2 * r, 2 * r), bool(front[0])))
    return discs


def _seen(
    evaluation: Evaluation, rolled: Rolled, x_mm: NDArray[np.float64], y_mm: NDArray[np.float64]
) -> tuple[NDArray[np.complex128], NDArray[np.bool_]]:
    """Places of the flat form as seen from the side of the rolled one, and which lie in front."""
    x0, y0, _, y1 = evaluation.outline.bounds_mm
    above = rolled.at(x_mm - x0, rolled.height_mm / 2)
    return np.asarray(above.real + 1j * (y_mm - (y0 + y1) / 2)), np.asarray(above.imag < 0)


def _polygon(points: NDArray[np.complex128]) -> QPolygonF:
    return QPolygonF([QPointF(p.real, p.imag) for p in points.tolist()])
