"""Painting the canvas: the table, the lit wire, what is selected and what it can be pulled by, the rulers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF, QRegion

from formsketch.design.set_places import is_set
from formsketch.ui.handles import Handle
from formsketch.ui.kept_picture import KeptPicture
from formsketch.ui.lit_wire import MOST_POINTS
from formsketch.ui.picture import paint_lit
from formsketch.ui.place_marker import paint_place
from formsketch.ui.rulers import RULER_PX, paint_grid, paint_ruler_edges, paint_rulers, paint_scale_note
from formsketch.ui.selected_spans import paint_selected_spans
from formsketch.ui.set_painting import paint_set
from formsketch.ui.theme import Palette, current_palette

if TYPE_CHECKING:
    from formsketch.ui.form_canvas import FormCanvas

_HANDLE_PX, _ROW_HANDLE_PX = 5.0, 8.5
# While it is pulled the wire is painted with fewer points, a little softer at high zoom. Fewer still would
# not be quicker: what is painted smaller has to be scaled up.
_POINTS_WHILE_PULLED = 110_000


class FormPainting:
    """Paints one canvas; keeps the table and the rulers as pictures while the view stays."""

    def __init__(self, canvas: FormCanvas) -> None:
        self._canvas = canvas
        self._table, self._rulers = KeptPicture(), KeptPicture()

    def paint(self, painter: QPainter) -> None:
        """Everything, from the table up."""
        canvas, colours = self._canvas, current_palette()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        area = QRectF(canvas.rect())
        self._paint_table(painter, colours)
        most = _POINTS_WHILE_PULLED if canvas.is_pulling else MOST_POINTS
        paint_lit(painter, canvas.wire, canvas.view, area, colours, canvas.devicePixelRatioF(), most)
        self._paint_marks(painter, colours)
        if is_set(canvas.wire.evaluation.design):
            paint_set(painter, canvas.wire.set_on, canvas.view, colours)
        self._paint_selected(painter, colours)
        self._paint_pointed(painter, colours)
        for place in (canvas.place_shown, canvas.other_place_shown):
            if place is not None:
                paint_place(painter, canvas.wire, place, canvas.view, colours)
        if canvas.tool is not None:
            canvas.tool.paint(painter, canvas.view, colours)
        self._paint_rulers(painter, colours)
        true_px_per_mm, matched = canvas.true_scale
        paint_scale_note(painter, canvas.view, canvas.rect(), colours, true_px_per_mm, matched, canvas.scale)
        if canvas.hasFocus():
            painter.setPen(QPen(QColor(colours.accent), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(canvas.rect().adjusted(0, 0, -1, -1))

    def _paint_table(self, painter: QPainter, colours: Palette) -> None:
        """Paper, picture and grid; without a picture kept from one paint to the next while the view stays."""
        canvas, paper = self._canvas, QColor(colours.paper)
        area, view, scale = canvas.rect(), canvas.view, canvas.scale

        def paint(inside: QPainter) -> None:
            inside.fillRect(area, paper)
            canvas.picture.paint(inside, view, QRectF(area), canvas.devicePixelRatioF(), paper)
            paint_grid(inside, view, area, colours, scale)

        if canvas.picture.place is not None:
            paint(painter)
        else:
            key = (view, colours, scale)
            painter.drawPixmap(0, 0, self._table.painted(key, canvas.size(), paper, painter, paint))

    def _paint_rulers(self, painter: QPainter, colours: Palette) -> None:
        """The rulers, kept from one paint to the next while the view stays."""
        area, view, scale = self._canvas.rect(), self._canvas.view, self._canvas.scale
        kept = self._rulers.painted(
            (view, colours, scale),
            self._canvas.size(),
            QColor(colours.panel),
            painter,
            lambda inside: paint_rulers(inside, view, area, colours, scale),
        )
        along, down = QRect(area), QRect(area)
        along.setHeight(RULER_PX)
        down.setWidth(RULER_PX)
        painter.setClipRegion(QRegion(along).united(QRegion(down)))
        painter.drawPixmap(0, 0, kept)
        painter.setClipping(False)
        paint_ruler_edges(painter, area, colours)

    def _paint_marks(self, painter: QPainter, colours: Palette) -> None:
        """Pen marks across the wire."""
        view = self._canvas.view
        left, right = self._canvas.wire.mark_edges_mm
        painter.setPen(QPen(QColor(colours.mark), 1.6))
        for a, b in zip(left, right, strict=True):
            painter.drawLine(view.to_px(complex(a)), view.to_px(complex(b)))

    def _paint_selected(self, painter: QPainter, colours: Palette) -> None:
        canvas = self._canvas
        span, hovered = canvas.selection.span, canvas.mouse.hovered
        if span is not None:
            paint_selected_spans(painter, canvas.wire, canvas.selection.spans, span, canvas.view, colours)
        # The lines to directions go under the marks they come from.
        shown = sorted(canvas.handles(), key=lambda handle: handle.kind != "direction")
        for handle in shown if span is not None else [h for h in shown if h == hovered]:
            far_mark = handle.kind == "mark" and span is not None and handle.number not in (span, span + 1)
            if handle == hovered or not far_mark:
                self._paint_handle(painter, handle, colours)

    def _paint_handle(self, painter: QPainter, handle: Handle, colours: Palette) -> None:
        canvas = self._canvas
        at, hovered = canvas.view.to_px(handle.at_mm), handle == canvas.mouse.hovered
        painter.setPen(QPen(QColor(colours.accent), 2.0))
        painter.setBrush(QColor(colours.accent if hovered else colours.handle_fill))
        size = _HANDLE_PX + (1.0 if hovered else 0.0)
        if handle.kind == "direction":
            session = canvas.session
            mark = canvas.view.to_px(session.pose.to_table(session.wire.mark_mm(handle.number)))
            painter.setPen(QPen(QColor(colours.accent), 1.2))
            painter.drawLine(mark, at)
            painter.drawEllipse(at, size - 2, size - 2)
        elif handle.kind == "skew":
            painter.drawPolygon(
                QPolygonF(
                    [at + QPointF(0, -size), at + QPointF(size, size - 1), at + QPointF(-size, size - 1)]
                )
            )
        elif handle.kind == "repeat":
            self._paint_row_handle(painter, handle, hovered, colours)
        elif handle.kind == "mark":
            painter.drawEllipse(at, size, size)
        elif handle.kind == "belly":
            painter.drawRect(QRectF(at.x() - size + 0.5, at.y() - size + 0.5, 2 * size - 1, 2 * size - 1))
        else:
            painter.drawPolygon(
                QPolygonF(
                    [
                        at + QPointF(size, 0),
                        at + QPointF(0, size),
                        at - QPointF(size, 0),
                        at - QPointF(0, size),
                    ]
                )
            )

    def _paint_row_handle(self, painter: QPainter, handle: Handle, hovered: bool, colours: Palette) -> None:
        """Two arrowheads pointing on along the row, in a disc that is seen over wire, too."""
        at, way = self._canvas.view.to_px(handle.at_mm), QPointF(handle.way.real, -handle.way.imag)
        square = QPointF(-way.y(), way.x())
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        painter.drawEllipse(at, _ROW_HANDLE_PX + hovered, _ROW_HANDLE_PX + hovered)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(colours.handle_fill if hovered else colours.accent), 1.8))
        for ahead in (-0.5, 4.0):
            tip = at + way * ahead
            painter.drawPolyline(QPolygonF([tip + (square - way) * 3.5, tip, tip - (square + way) * 3.5]))

    def _paint_pointed(self, painter: QPainter, colours: Palette) -> None:
        canvas = self._canvas
        sample = canvas.selection.sample
        if sample is None or canvas.mouse.gesture is not None or sample > len(canvas.wire.trace.z_mm) - 1:
            return
        left, right = canvas.wire.edges_at_mm(sample, beyond_mm=5.0 / canvas.view.px_per_mm)
        painter.setPen(QPen(QColor(colours.accent), 1.2))
        painter.drawLine(canvas.view.to_px(left), canvas.view.to_px(right))
