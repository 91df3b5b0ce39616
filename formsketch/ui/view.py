"""How the table is seen: millimetres to pixels, zooming at the pointer, panning, fitting."""

from __future__ import annotations

from msgspec.structs import replace
from PySide6.QtCore import QPointF, QRectF

from formsketch.values import Value

LEAST_PX_PER_MM, MOST_PX_PER_MM = 0.2, 400.0
# What is fitted into view is shown no larger than this unless less is said.
MOST_FITTED_PX_PER_MM = 150.0
_FIT_MARGIN = 0.86


class View(Value, frozen=True):
    """Scale in logical pixels per mm and the pixel where the table's origin lies; screen y runs down."""

    px_per_mm: float
    origin_x_px: float
    origin_y_px: float

    def to_px(self, table_mm: complex) -> QPointF:
        return QPointF(
            self.origin_x_px + self.px_per_mm * table_mm.real,
            self.origin_y_px - self.px_per_mm * table_mm.imag,
        )

    def to_mm(self, point: QPointF) -> complex:
        return complex(point.x() - self.origin_x_px, self.origin_y_px - point.y()) / self.px_per_mm

    def zoomed(self, factor: float, at: QPointF) -> View:
        """Zoomed so that what lies under a point stays under it, within the range of scales."""
        scale = min(MOST_PX_PER_MM, max(LEAST_PX_PER_MM, self.px_per_mm * factor))
        held = self.to_mm(at)
        return View(scale, at.x() - scale * held.real, at.y() + scale * held.imag)

    def moved(self, by: QPointF) -> View:
        return replace(self, origin_x_px=self.origin_x_px + by.x(), origin_y_px=self.origin_y_px + by.y())


def fitted(bounds_mm: tuple[float, float, float, float], area: QRectF, most_px_per_mm: float = 40.0) -> View:
    """The view that shows these bounds (x0, y0, x1, y1) in the middle of an area with room around them."""
    x0, y0, x1, y1 = bounds_mm
    wide, high = max(x1 - x0, 1e-3), max(y1 - y0, 1e-3)
    scale = _FIT_MARGIN * min(area.width() / wide, area.height() / high)
    return centred(bounds_mm, area, min(most_px_per_mm, max(LEAST_PX_PER_MM, scale)))


def centred(bounds_mm: tuple[float, float, float, float], area: QRectF, px_per_mm: float) -> View:
    """The view at this scale with the middle of these bounds in the middle of an area."""
    x0, y0, x1, y1 = bounds_mm
    middle = area.center()
    return View(px_per_mm, middle.x() - px_per_mm * (x0 + x1) / 2, middle.y() + px_per_mm * (y0 + y1) / 2)
