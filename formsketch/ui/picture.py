"""A lit picture of an evaluated form, fitted into a widget: for dialogs and for comparing."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from formsketch.evaluation.evaluate import Evaluation
from formsketch.geometry.trace import level_angle_rad
from formsketch.ui.lit_tips import paint_holes
from formsketch.ui.lit_wire import MOST_POINTS, ViewTransform, lit_wire_image
from formsketch.ui.pose import Pose
from formsketch.ui.theme import Palette, current_palette, rgb
from formsketch.ui.view import View, fitted
from formsketch.ui.wire_picture import PlacedWire, placed_wire

_SOFT_PX, _NUDGE_PX, _MOST_PX_PER_MM = 4, 1e-3, 12.0
Bounds = tuple[float, float, float, float]


def level_wire(evaluation: Evaluation) -> PlacedWire:
    """The wire laid level at the table's origin."""
    return placed_wire(evaluation, Pose(0j, level_angle_rad(evaluation.own_trace, evaluation.chain)))


def paint_lit(
    painter: QPainter,
    wire: PlacedWire,
    view: View,
    area: QRectF,
    colours: Palette,
    ratio: float,
    max_points: int = MOST_POINTS,
) -> None:
    """Paint a lit wire inside an area of a widget; `view` is in the widget's logical pixels.

    Fewer `max_points` are quicker and softer where the wire fills the area.
    """
    # Only where the wire is: most of a large canvas is empty, and every frame would clear it.
    left, top, right, bottom = _taken_px(wire, view, area, ratio)
    if left >= right or top >= bottom:
        return
    transform = ViewTransform(
        view.px_per_mm * ratio,
        (view.origin_x_px - area.left()) * ratio - left,
        (view.origin_y_px - area.top()) * ratio - top,
    )
    image = lit_wire_image(
        wire.samples,
        transform,
        (right - left, bottom - top),
        wire.evaluation.metal.colour,
        paper_rgb=rgb(colours.paper),
        rim_rgb=rgb(colours.rim),
        max_points=max_points,
    )
    image.setDevicePixelRatio(ratio)
    # A widget may begin at half a device pixel; the nudge rounds the image to the same side as the widget.
    painter.drawImage(area.topLeft() + QPointF(left + _NUDGE_PX, top + _NUDGE_PX) / ratio, image)
    paint_holes(painter, wire.holes, view, colours)


def paint_fitted(
    painter: QPainter,
    widget: QWidget,
    wire: PlacedWire | None,
    most_px_per_mm: float,
    bounds_mm: Callable[[PlacedWire], Bounds] | None = None,
) -> View | None:
    """Paper all over a widget, and on it a lit wire as large as it fits, or as these bounds of it do.

    Returns where the wire lies; None without one.
    """
    colours, area = current_palette(), QRectF(widget.rect())
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(widget.rect(), QColor(colours.paper))
    if wire is None:
        return None
    view = fitted(bounds_mm(wire) if bounds_mm else wire.bounds_mm, area, most_px_per_mm)
    paint_lit(painter, wire, view, area, colours, widget.devicePixelRatioF())
    return view


def _taken_px(wire: PlacedWire, view: View, area: QRectF, ratio: float) -> tuple[int, int, int, int]:
    """Left, top, right and bottom device pixel inside the area of what a wire takes, soft edges included."""
    x0, y0, x1, y1 = wire.bounds_mm
    near = (view.to_px(complex(x0, y1)) - area.topLeft()) * ratio
    far = (view.to_px(complex(x1, y0)) - area.topLeft()) * ratio
    return (
        max(0, math.floor(near.x()) - _SOFT_PX),
        max(0, math.floor(near.y()) - _SOFT_PX),
        min(max(1, round(area.width() * ratio)), math.ceil(far.x()) + _SOFT_PX),
        min(max(1, round(area.height() * ratio)), math.ceil(far.y()) + _SOFT_PX),
    )


class FormPicture(QWidget):
    """Shows one form as large as it fits."""

    def __init__(self) -> None:
        super().__init__()
        self.setMinimumSize(320, 220)
        self._wire: PlacedWire | None = None

    def show_form(self, evaluation: Evaluation | None) -> None:
        self._wire = None if evaluation is None else level_wire(evaluation)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        paint_fitted(QPainter(self), self, self._wire, _MOST_PX_PER_MM)
