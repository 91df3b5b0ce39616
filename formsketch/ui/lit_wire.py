"""The wire as lit metal: an image of it from above, shaded by its real section, by numpy alone.

The wire is cut into cross-sections ("stations") and each into points, close enough that every pixel the
wire covers is hit; the last point that hits a pixel owns it, so later parts of the wire lie over earlier
ones. Colour, coverage and rim are then worked out once for each owned pixel, at the pixel's centre in its
owner's frame. The surface normal looks its colour up in a picture of a lit ball of the metal (the
lit-sphere method: Sloan, Martin, Gooch & Gooch, "The Lit Sphere", Graphics Interface 2001).

Pixels run right and down; headings and normals keep y up.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from msgspec.structs import astuple
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage

from formsketch.errors import DrawingError
from formsketch.ui.lit_ball import BALL_PX as BALL_PX
from formsketch.ui.lit_ball import lit_ball
from formsketch.ui.lit_colour import Rgb, packed
from formsketch.ui.lit_paint import Paint as _Paint
from formsketch.ui.lit_stations import stations_of as _stations
from formsketch.values import Result, Value

FloatArray = NDArray[np.float64]

# Samples from pole to pole of a ball drawn as a piece of wire.
BALL_SAMPLES = 41
MOST_SHRINKS = 12
MOST_POINTS = 250_000


class WireSamples(Result, frozen=True):
    """Samples of one or more wires in drawing order, arrays of shape (samples,), y up.

    `plan_width_mm` is the section's width seen from above, `height_mm` its height out of the plane, both
    above 0 (0 only at a ball's poles). Piece i is samples first[i] to first[i + 1] - 1; a piece that begins
    where the one before ended is joined to it, any other begins a new wire. `again` are stretches drawn once
    more over all the rest, each from one place to another: a sample's number and the share of the way to the
    next. Raises `DrawingError` for columns of different lengths and numbers that are not finite.
    """

    x_mm: FloatArray
    y_mm: FloatArray
    heading_rad: FloatArray
    plan_width_mm: FloatArray
    height_mm: FloatArray
    first: NDArray[np.int64]
    again: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        columns = self._columns()
        if {np.shape(column) for column in columns} != {(int(self.first[-1]),)} or self.first[0] != 0:
            raise DrawingError("wire samples: expected columns of one length, with the pieces dividing them")
        if not all(np.isfinite(column).all() for column in columns):
            raise DrawingError("wire samples: expected finite numbers")

    def _columns(self) -> tuple[FloatArray, ...]:
        return self.x_mm, self.y_mm, self.heading_rad, self.plan_width_mm, self.height_mm

    def with_balls(self, balls: Iterable[tuple[float, float, float]]) -> WireSamples:
        """The same with balls (x_mm, y_mm, radius_mm), such as beads, lying over it."""
        angle = np.linspace(0.0, np.pi, BALL_SAMPLES)
        pieces, first = [self._columns()], self.first.tolist()
        for x, y, radius in balls:
            across = 2 * radius * np.sin(angle)
            pieces.append((x - radius * np.cos(angle), np.full_like(angle, y), 0 * angle, across, across))
            first.append(first[-1] + BALL_SAMPLES)
        x_mm, y_mm, heading, width, height = (np.concatenate(column) for column in zip(*pieces, strict=True))
        return WireSamples(x_mm, y_mm, heading, width, height, np.array(first), self.again)


class ViewTransform(Value, frozen=True):
    """Where the form lies on the image: pixel x = origin_x + scale x, pixel y = origin_y - scale y."""

    scale_px_per_mm: float
    origin_x_px: float
    origin_y_px: float

    def __post_init__(self) -> None:
        if not (self.scale_px_per_mm > 0 and np.isfinite(astuple(self)).all()):
            raise DrawingError("view: expected a finite place and a scale above 0 px/mm")

    def shrunk(self, factor: float) -> ViewTransform:
        return ViewTransform(*(factor * value for value in astuple(self)))


def lit_wire_image(
    samples: WireSamples,
    view: ViewTransform,
    size_px: tuple[int, int],
    metal_rgb: Rgb,
    *,
    paper_rgb: Rgb,
    rim_rgb: Rgb,
    max_points: int = MOST_POINTS,
) -> QImage:
    """The lit wire on a transparent image of `size_px` device pixels (ARGB32_Premultiplied).

    Where it would take more than `max_points` points it is drawn smaller and scaled up smoothly, so that
    it never blocks.
    """
    if min(size_px) < 1:
        raise DrawingError("image of the wire: expected a size of at least 1 x 1 pixels")
    shrink, size = 1.0, size_px
    stations = _stations(samples, view, size)
    for _ in range(MOST_SHRINKS):
        if stations.points <= max_points:
            break
        shrink *= min(0.9, 0.97 * (max_points / stations.points) ** 0.5)
        size = max(1, round(size_px[0] * shrink)), max(1, round(size_px[1] * shrink))
        stations = _stations(samples, view.shrunk(shrink), size)
    image = QImage(QSize(*size), QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(0)
    if 0 < stations.points <= max_points:
        # Rows of 32-bit pixels have no padding.
        pixels = np.frombuffer(image.bits(), np.uint32)
        paint = _Paint(pixels, size, stations, lit_ball(metal_rgb, paper_rgb), packed(rim_rgb))
        paint.draw(max_points)
    if size == size_px:
        return image
    smoothly = Qt.TransformationMode.SmoothTransformation
    return image.scaled(QSize(*size_px), Qt.AspectRatioMode.IgnoreAspectRatio, smoothly)
