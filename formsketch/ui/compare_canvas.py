"""One form among others: a canvas whose place and scale are common to all, and outlines laid over it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from formsketch.bench.tubes import Tube
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.handles import Handle
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette, current_palette
from formsketch.ui.view import LEAST_PX_PER_MM, View
from formsketch.ui.wire_picture import PlacedWire
from formsketch.values import Value

_FILLS, _CLOSEST_PX_PER_MM = 0.86, 16.0
_FAINT = 0.62
# Line types in pen widths (ISO 128: continuous, dashed, long-dash dot, dotted, long-dash two dots, short).
LINE_TYPES: tuple[tuple[float, ...], ...] = (
    (),
    (7, 3),
    (14, 3, 1.5, 3),
    (1.5, 2.5),
    (14, 3, 1.5, 3, 1.5, 3),
    (3.5, 2),
)


class Placing(Value, frozen=True):
    """How all forms compared lie: by their middles or their starts, at what scale, and moved how far.

    `reach_mm` is how far the furthest of them reaches from there to the left, the right, up and down.
    """

    by_start: bool
    px_per_mm: float
    reach_mm: tuple[float, float, float, float]
    shift: QPointF

    def anchor_mm(self, wire: PlacedWire) -> complex:
        """The place of a wire that is laid on those of the others."""
        return anchor_mm(wire, self.by_start)

    def anchor_px(self, area: QRectF) -> QPointF:
        left, right, up, down = self.reach_mm
        off = QPointF(left - right, up - down) * (self.px_per_mm / 2)
        return area.center() + off + self.shift

    def view(self, anchor: complex, area: QRectF) -> View:
        """The view of an area in which an anchor lies where all do."""
        at = self.anchor_px(area)
        return View(
            self.px_per_mm, at.x() - self.px_per_mm * anchor.real, at.y() + self.px_per_mm * anchor.imag
        )

    def seen(self, view: View, anchor: complex, area: QRectF) -> Placing:
        """The placing after one of the forms is looked at through another view."""
        there = replace(self, px_per_mm=view.px_per_mm, shift=QPointF())
        return replace(there, shift=view.to_px(anchor) - there.anchor_px(area))


def anchor_mm(wire: PlacedWire, by_start: bool) -> complex:
    x0, y0, x1, y1 = wire.bounds_mm
    return complex(wire.trace.z_mm[0]) if by_start else complex((x0 + x1) / 2, (y0 + y1) / 2)


def fitted_placing(wires: Sequence[PlacedWire], area: QRectF, by_start: bool) -> Placing:
    """The largest common scale at which every wire fits its own area."""
    reach = reach_mm(wires, by_start)
    left, right, up, down = reach
    scale = _FILLS * min(area.width() / (left + right), area.height() / (up + down))
    return Placing(by_start, min(_CLOSEST_PX_PER_MM, max(LEAST_PX_PER_MM, scale)), reach, QPointF())


def reach_mm(wires: Sequence[PlacedWire], by_start: bool) -> tuple[float, float, float, float]:
    """How far wires laid on each other reach to the left, the right, up and down of where they meet."""
    reach = np.full(4, 1e-3)
    for wire in wires:
        x0, y0, x1, y1 = wire.bounds_mm
        at = anchor_mm(wire, by_start)
        reach = np.maximum(reach, (at.real - x0, x1 - at.real, y1 - at.imag, at.imag - y0))
    left, right, up, down = (float(x) for x in reach)
    return left, right, up, down


def outline_pen(number: int, colours: Palette) -> QPen:
    """The pen of a form laid over others: line type and tone, for eyes that tell no colours too."""
    ink, soft = QColor(colours.ink), QColor(colours.ink_soft)
    pen = QPen(ink if number % 2 == 0 else soft, 2.0 if number == 0 else 1.5)
    if LINE_TYPES[number % len(LINE_TYPES)]:
        pen.setDashPattern(list(LINE_TYPES[number % len(LINE_TYPES)]))
    return pen


class CompareCanvas(FormCanvas):
    """A form that is placed by the page. `view_wanted` and `fit_wanted` ask it to place all anew."""

    view_wanted = Signal(object, object)
    fit_wanted = Signal()

    def __init__(self, session: Session, selection: Selection, tubes: Sequence[Tube] = ()) -> None:
        super().__init__(session, selection, tubes)
        self._wants_fit = False
        self.setMinimumSize(120, 90)
        self.reason = ""
        # Others laid over this one: the session and the number of its line type.
        self.over: list[tuple[Session, int]] = []
        self.placing: Placing | None = None
        self._is_pointed = False

    def sizeHint(self) -> QSize:
        return QSize(240, 320)

    @property
    def table_area(self) -> QRectF:
        """Where the form lies, rulers left out."""
        return self._table_area()

    def place(self, placing: Placing) -> None:
        """Lie where all lie, as they lie now."""
        self.placing = placing
        self._view = placing.view(placing.anchor_mm(self.wire), self._table_area())
        self.view_changed.emit()
        self.update()

    def show_view(self, view: View) -> None:
        self.view_wanted.emit(self, view)

    def fit(self) -> None:
        self.fit_wanted.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        QWidget.resizeEvent(self, event)
        if self.placing is not None:
            self.fit_wanted.emit()

    def handles(self) -> list[Handle]:
        """Those of the form that is pointed at or has the keys: on all of them they would hide the forms."""
        return super().handles() if self._is_pointed or self.hasFocus() or self.is_pulling else []

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._is_pointed = True
        super().mouseMoveEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        self._is_pointed = False
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        idle = not self.is_pulling and self.selection.span is None and self.tool is None
        if event.key() == Qt.Key.Key_Escape and idle:
            # Nothing to put back here: the page leaves.
            event.ignore()
            return
        super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.over and not self.reason:
            return
        colours = current_palette()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        area = self._table_area()
        painter.setClipRect(area)
        if self.reason:
            self._paint_reason(painter, area, colours)
        if self.over and self.placing is not None:
            here = self.placing.anchor_mm(self.wire)
            for session, number in [(self.session, 0), *self.over]:
                painter.setPen(outline_pen(number, colours))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawPath(_outline_path(session, self.placing, here, self.view))

    def _paint_reason(self, painter: QPainter, area: QRectF, colours: Palette) -> None:
        paper = QColor(colours.paper)
        paper.setAlphaF(_FAINT)
        painter.fillRect(area, paper)
        painter.setPen(QColor(colours.caution))
        where = area.adjusted(10, 8, -10, -8)
        flags = int(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap)
        painter.drawText(where, flags, f"Cannot be made. {self.reason}")


def _outline_path(session: Session, placing: Placing, here: complex, view: View) -> QPainterPath:
    """A form's silhouette with its anchor laid on a place of the table."""
    outline = session.evaluation.outline
    # The outline is laid level; back to the wire's own frame, and from there to the table.
    level = complex(outline.trace.direction[0]) / complex(session.evaluation.own_trace.direction[0])
    pose = session.pose
    wire = PlacedWire(session.evaluation, pose.placed(session.evaluation.own_trace), ())
    moved = here - anchor_mm(wire, placing.by_start)
    path = QPainterPath()
    for ring in shapely.get_rings(shapely.get_parts(outline.silhouette)):
        xy = shapely.get_coordinates(ring)
        z = moved + pose.offset_mm + (xy[:, 0] + 1j * xy[:, 1]) / level * np.exp(1j * pose.angle_rad)
        path.addPolygon(QPolygonF([view.to_px(complex(p)) for p in z]))
        path.closeSubpath()
    return path
