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
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage

from formsketch.errors import DrawingError

FloatArray = NDArray[np.float64]
Float32Array = NDArray[np.float32]
IndexArray = NDArray[np.intp]
PixelArray = NDArray[np.uint32]
Rgb = tuple[int, int, int]

# Pieces that begin further than this from where the one before ended are separate wires.
JOINED_WITHIN_MM = 1e-3
# A grid of points hits every pixel at any angle while its cell's projections stay within one pixel; the
# little that is left is for the fan of a bend.
GRID_PX = 0.97
# Points go on past an end this far, so that its edge pixels are hit wherever the last station falls.
PAST_END_PX = 1.5
# The rim is a line this wide inside the edge, on thin wire no more than a share of the width.
RIM_PX, RIM_SHARE, RIM_STRENGTH = 1.0, 0.09, 0.8
# What lies over throws a soft shadow on what lies under, this far as a share of its width. The light stands
# at the upper left, so that the shadow falls this much right and down.
SHADOW_SHARE, SHADOW_STRENGTH, MOST_SHADOW_PX = 0.45, 0.75, 40.0
SHADOW_RIGHT, SHADOW_DOWN = np.float32(0.6), np.float32(0.8)
# Where parts of the wire overlap that lie this many widths apart along it, they cross; nearer ones are one
# bend. A U-turn on its own inner edge is pi/2 widths of outer edge for each half.
CROSSING_WIDTHS, LEAST_CROSSING_PX = 4.0, 8.0
# Parts nearer than that but this far apart overlap in a fold, on the inner side of a sharp bend; on one
# side of a pixel and the other they lie up to 1.4 apart.
FOLD_PX = 1.6
BALL_PX = 512
BALL_SAMPLES = 41
STEEPEST = 50.0
MOST_SHRINKS = 12


@dataclass(frozen=True, eq=False)
class WireSamples:
    """Samples of one or more wires in drawing order, arrays of shape (samples,), y up.

    `plan_width_mm` is the section's width seen from above, `height_mm` its height out of the plane, both
    above 0 (0 only at a ball's poles). Piece i is samples first[i] to first[i + 1] - 1; a piece that begins
    where the one before ended is joined to it, any other begins a new wire. Raises `DrawingError` for
    columns of different lengths and numbers that are not finite.
    """

    x_mm: FloatArray
    y_mm: FloatArray
    heading_rad: FloatArray
    plan_width_mm: FloatArray
    height_mm: FloatArray
    first: NDArray[np.int64]

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
        return WireSamples(x_mm, y_mm, heading, width, height, np.array(first))


@dataclass(frozen=True)
class ViewTransform:
    """Where the form lies on the image: pixel x = origin_x + scale x, pixel y = origin_y - scale y."""

    scale_px_per_mm: float
    origin_x_px: float
    origin_y_px: float

    def __post_init__(self) -> None:
        if not (self.scale_px_per_mm > 0 and np.isfinite(list(vars(self).values())).all()):
            raise DrawingError("view: expected a finite place and a scale above 0 px/mm")

    def shrunk(self, factor: float) -> ViewTransform:
        return ViewTransform(*(factor * value for value in vars(self).values()))


def lit_wire_image(
    samples: WireSamples,
    view: ViewTransform,
    size_px: tuple[int, int],
    metal_rgb: Rgb,
    *,
    paper_rgb: Rgb,
    rim_rgb: Rgb,
    max_points: int = 250_000,
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
        paint = _Paint(pixels, size, stations, lit_ball(metal_rgb, paper_rgb), _packed(rim_rgb))
        paint.draw(max_points)
    if size == size_px:
        return image
    smoothly = Qt.TransformationMode.SmoothTransformation
    return image.scaled(QSize(*size_px), Qt.AspectRatioMode.IgnoreAspectRatio, smoothly)


# ---- stations: where the wire is cut -----------------------------------------------------------------

# Rows of the station table, all in pixels: place, direction, half the plan width, half the width of the
# flat, 1 / radius of the edges, how half width and half height grow along the wire, the way to the nearest
# end, whether that end lies behind (1) or ahead (-1), and the length along the outer edge from the start.
X, Y, COS, SIN, HALF, FLAT, PER_EDGE, SWELL, RISE, TO_END, END_SIDE, ALONG = range(12)


@dataclass(frozen=True, eq=False)
class _Stations:
    """Cross-sections of the visible wire, shape (12, stations), and how many points each has across."""

    table: Float32Array
    across: int
    crossing_px: float

    @property
    def points(self) -> int:
        return self.table.shape[1] * self.across


@dataclass(frozen=True, eq=False)
class _Rows:
    """The samples in pixels, with one more past each end of each wire; `turn` and `edge` of the intervals.

    `edge` is the length of an interval's outer edge, 0 between two wires. `length` runs along the middle,
    from `start` to `finish` of each sample's wire, `along` on the outer edge.
    """

    x: FloatArray
    y: FloatArray
    heading: FloatArray
    half: FloatArray
    high: FloatArray
    swell: FloatArray
    rise: FloatArray
    length: FloatArray
    along: FloatArray
    start: FloatArray
    finish: FloatArray
    turn: FloatArray
    edge: FloatArray
    crossing_px: float


def _rows(samples: WireSamples, view: ViewTransform) -> _Rows:
    scale = view.scale_px_per_mm
    order, before, after = _with_past_ends(samples)
    x = view.origin_x_px + scale * samples.x_mm[order]
    y = view.origin_y_px - scale * samples.y_mm[order]
    heading = samples.heading_rad[order]
    half, high = 0.5 * scale * samples.plan_width_mm[order], 0.5 * scale * samples.height_mm[order]
    for row, past in (before, -PAST_END_PX), (after, PAST_END_PX):
        x[row] += past * np.cos(heading[row])
        y[row] -= past * np.sin(heading[row])

    turn = np.diff(heading)
    turn -= 2 * np.pi * np.round(turn / (2 * np.pi))
    step = np.hypot(np.diff(x), np.diff(y))
    edge = np.hypot(step, np.diff(half)) + np.abs(turn) * (_larger(half) + 0.5)
    # Separate wires lie far apart along the wire, with nothing between them.
    between = after[:-1]
    crossing_px = CROSSING_WIDTHS * 2 * float(half.max()) + LEAST_CROSSING_PX
    step[between], edge[between] = 0.0, crossing_px + 1
    length, along = _running(step), _running(edge)
    edge[between] = 0.0
    wire = np.repeat(np.arange(len(before)), after - before + 1)
    start, finish = length[before + 1][wire], length[after - 1][wire]
    reach = np.maximum(length[2:] - length[:-2], 1e-9)
    swell, rise = (np.pad(np.clip((v[2:] - v[:-2]) / reach, -STEEPEST, STEEPEST), 1) for v in (half, high))
    return _Rows(
        x, y, heading, half, high, swell, rise, length, along, start, finish, turn, edge, crossing_px
    )


def _spaced(rows: _Rows, size: tuple[int, int]) -> tuple[IndexArray, FloatArray, int]:
    """Interval and fraction of it of each visible station, and how many points across hit every pixel."""
    wider = _larger(rows.half)
    seen_from, seen_share = _visible(rows.x, rows.y, wider + 2.0, size)
    seen = (rows.edge > 0) & (seen_share > 0)
    # A grid of points that lies diagonally on the pixels must be closer than one that lies square.
    big, small = _lie(rows.heading, rows.turn)
    across = 2 + int(((2 * wider + 1) * (big + small) / GRID_PX)[seen].max(initial=0.0))
    apart = (2 * wider + 1) / (across - 1)
    apart = np.minimum((GRID_PX - apart * small) / big, (GRID_PX - apart * big) / small)
    apart[~seen] = 1.0
    count = _running(seen_share * rows.edge / apart)
    number = np.ceil(count).astype(np.intp)
    at = np.repeat(np.arange(len(wider)), np.diff(number))
    done = (np.arange(number[-1]) - count[at]) / (count[at + 1] - count[at])
    return at, seen_from[at] + seen_share[at] * done, across


def _stations(samples: WireSamples, view: ViewTransform, size: tuple[int, int]) -> _Stations:
    """Cross-sections so close that their points hit every pixel of the visible wire."""
    rows = _rows(samples, view)
    at, fraction, across = _spaced(rows, size)
    values = np.stack((rows.x, rows.y, rows.half, rows.high, rows.swell, rows.rise, rows.along, rows.length))
    way = values[:, at + 1] - values[:, at]
    values = values[:, at] + fraction * way
    # From the chord out to the curve.
    bulge = 0.5 * rows.turn[at] * fraction * (1 - fraction)
    values[0] -= bulge * way[1]
    values[1] += bulge * way[0]
    heading = rows.heading[at] + fraction * rows.turn[at]
    half, high = values[2:4]
    behind, ahead = values[7] - rows.start[at], rows.finish[at] - values[7]
    table = np.empty((12, len(at)), np.float32)
    table[[X, Y, HALF, SWELL, RISE, ALONG]] = values[[0, 1, 2, 4, 5, 6]]
    table[COS], table[SIN] = np.cos(heading), np.sin(heading)
    table[FLAT] = np.maximum(half - high, 0.0)
    table[PER_EDGE] = 1 / np.maximum(np.minimum(half, high), 1e-3)
    table[TO_END], table[END_SIDE] = np.minimum(behind, ahead), np.where(behind < ahead, 1.0, -1.0)
    return _Stations(table, across, rows.crossing_px)


def _with_past_ends(samples: WireSamples) -> tuple[IndexArray, IndexArray, IndexArray]:
    """Order of the samples with each end of each wire twice; rows before each start, after each finish."""
    begins = samples.first[1:-1]
    x, y = samples.x_mm, samples.y_mm
    gaps = np.hypot(x[begins] - x[begins - 1], y[begins] - y[begins - 1]) > JOINED_WITHIN_MM
    starts = np.concatenate(([0], begins[gaps]))
    finishes = np.append(starts[1:], len(x)) - 1
    order = np.sort(np.concatenate((np.arange(len(x)), starts, finishes)))
    added = 2 * np.arange(len(starts))
    return order, starts + added, finishes + added + 2


def _running(values: FloatArray) -> FloatArray:
    """Sums from the beginning, one more than the values."""
    return np.concatenate(([0.0], np.cumsum(values)))


def _larger(values: FloatArray) -> FloatArray:
    """The larger value at the two ends of each interval."""
    return np.asarray(np.maximum(values[1:], values[:-1]))


def _lie(heading: FloatArray, turn: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Larger and smaller of |cos| and |sin| of each interval, taken where its grid lies least well."""
    worse = _larger(np.minimum(np.abs(np.cos(heading)), np.abs(np.sin(heading))))
    worse[np.abs(turn) > 0.25] = 0.5**0.5
    worse = np.maximum(worse, 1e-6)
    return np.sqrt(1 - worse * worse), worse


def _visible(
    x: FloatArray, y: FloatArray, margin: FloatArray, size: tuple[int, int]
) -> tuple[FloatArray, FloatArray]:
    """Where each interval comes into the image widened by the margin, and the share of it that does."""
    enters, leaves = np.zeros(len(margin)), np.ones(len(margin))
    for place, extent in (x, size[0]), (y, size[1]):
        way = np.diff(place)
        way[np.abs(way) < 1e-9] = 1e-9
        low, high = (-margin - place[:-1]) / way, (extent + margin - place[:-1]) / way
        enters = np.maximum(enters, np.minimum(low, high))
        leaves = np.minimum(leaves, np.maximum(low, high))
    return enters, np.maximum(leaves - enters, 0.0)


# ---- painting ------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Points:
    """Points of stations, by the pixel each lies in; all of shape (points,)."""

    station: IndexArray
    x: IndexArray
    y: IndexArray
    pixel: IndexArray

    def __getitem__(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> _Points:
        return _Points(self.station[which], self.x[which], self.y[which], self.pixel[which])


@dataclass(frozen=True, eq=False)
class _Paint:
    """An empty image as flat packed pixels, and what is drawn on it."""

    pixels: PixelArray
    size: tuple[int, int]
    stations: _Stations
    ball: PixelArray
    rim: np.uint32

    def draw(self, max_points: int) -> None:
        """Draw the wire: what lies on top, then the shadows and soft edges where it crosses itself."""
        table = self.stations.table
        share = np.linspace(-1, 1, self.stations.across, dtype=np.float32)
        every = np.arange(table.shape[1])
        points = self.points(every, (table[HALF] + np.float32(0.5))[:, None] * share)
        number = np.arange(len(points.pixel), dtype=np.int32)
        owner_of = np.empty(len(self.pixels), np.int32)
        owner_of[points.pixel] = number
        owner = owner_of[points.pixel]
        top = points[np.flatnonzero(owner == number)]
        self.pixels[top.pixel] = self.shaded(top)[0]

        hidden = np.flatnonzero(owner != number)
        over, under = points.station[owner[hidden]], points.station[hidden]
        apart = table[ALONG][over] - table[ALONG][under]
        crosses = apart > self.stations.crossing_px
        folds = ~crosses & (apart > FOLD_PX)
        if folds.any():
            self.fold(points[hidden[folds]], points[owner[hidden[folds]]])
        if crosses.any():
            shadow = self.shadow_points(np.unique(over[crosses]), max_points)
            below = points.station[owner_of[shadow.pixel]]
            apart = table[ALONG][shadow.station] - table[ALONG][below]
            self.throw(shadow[apart > self.stations.crossing_px])
            self.show_through(points[hidden[crosses]])

    def points(self, station: IndexArray, across: Float32Array, ahead: Float32Array | None = None) -> _Points:
        """Points on the image of stations, at distances across of shape (stations, any)."""
        x, y, cos, sin = (self.stations.table[row][station] for row in (X, Y, COS, SIN))
        if ahead is not None:
            x, y = x + cos * ahead, y - sin * ahead
        px = (x[:, None] - sin[:, None] * across).ravel()
        py = (y[:, None] - cos[:, None] * across).ravel()
        number = np.repeat(station, across.shape[1])
        width, height = self.size
        if px.min() < 0 or py.min() < 0 or px.max() >= width or py.max() >= height:
            on = np.flatnonzero((px >= 0) & (py >= 0) & (px < width) & (py < height))
            number, px, py = number[on], px[on], py[on]
        column, row = px.astype(np.intp), py.astype(np.intp)
        return _Points(number, column, row, row * width + column)

    def in_frame(self, points: _Points) -> tuple[Float32Array, Float32Array]:
        """Pixel centres along and across (left positive) the wire, as the points' stations see them."""
        x, y, cos, sin = (self.stations.table[row][points.station] for row in (X, Y, COS, SIN))
        right = points.x.astype(np.float32) + np.float32(0.5) - x
        down = points.y.astype(np.float32) + np.float32(0.5) - y
        return right * cos - down * sin, -right * sin - down * cos

    def shaded(self, points: _Points) -> tuple[PixelArray, Float32Array]:
        """Premultiplied colours of the points' pixels, and how far inside the wire's edge they lie."""
        table, station = self.stations.table, points.station
        cos, sin, half, flat, per_edge, swell, rise, to_end, end_side = (
            table[row][station] for row in (COS, SIN, HALF, FLAT, PER_EDGE, SWELL, RISE, TO_END, END_SIDE)
        )
        along, across = self.in_frame(points)
        away = np.abs(across)

        # The normal tilts across on the half-round edges, and along as the wire swells and rises.
        tilt = np.clip((away - flat) * per_edge, 0, 1)
        lean = rise + tilt * (swell - rise)
        tilt = np.copysign(tilt, across)
        unit = (BALL_PX / 2 - 0.5) / np.sqrt(1 + lean * lean)
        right = ((-sin * tilt - cos * lean) * unit + BALL_PX / 2).astype(np.intp)
        up = ((cos * tilt - sin * lean) * unit + BALL_PX / 2).astype(np.intp)
        colour = self.ball[up * BALL_PX + right]

        # How much of the pixel the wire covers, and how much of that the rim inside its edge.
        inside = (half + swell * along - away) / np.sqrt(1 + swell * swell)
        inside = np.minimum(inside, to_end + end_side * along)
        covered = 256 * np.clip(inside + 0.5, 0, 1)
        line = np.minimum(2 * RIM_SHARE * half, RIM_PX)
        rim = RIM_STRENGTH * covered * np.clip(line + 0.5 - inside, 0, 1)
        share, rim_share = covered.astype(np.uint32), rim.astype(np.uint32)
        return _mixed(colour, share - rim_share, self.rim, rim_share), inside

    def fold(self, hidden: _Points, top: _Points) -> None:
        """Within one bend no part lies over another: show the one whose edge is further away."""
        colour, inside = self.shaded(hidden)
        better = np.flatnonzero(inside > self.shaded(top)[1])
        better = better[np.argsort(inside[better], kind="stable")]
        self.pixels[hidden.pixel[better]] = colour[better]

    def shadow_points(self, over: IndexArray, max_points: int) -> _Points:
        """Points on what is drawn beside stations that lie over others; none where they would be too many."""
        table = self.stations.table
        reach = self.shadow_px
        spread = int(2 * reach) + 2
        near = np.zeros(table.shape[1] + 1, np.intp)
        np.add.at(near, np.maximum(over - spread, 0), 1)
        np.add.at(near, np.minimum(over + spread + 1, table.shape[1]), -1)
        # Twice along, since points outside a bend lie further apart than its stations.
        station = np.repeat(np.flatnonzero(np.cumsum(near[:-1])), 2)
        out = np.arange(0.0, reach + 0.5, 0.6, dtype=np.float32)
        if 2 * len(station) * len(out) > max_points:
            station = station[:0]
        out = table[HALF][station][:, None] + out
        ahead = np.tile(np.array([0, 0.5], np.float32), len(station) // 2)
        points = self.points(station, np.concatenate((-out, out), axis=1), ahead)
        return points[np.flatnonzero(self.pixels[points.pixel])]

    @property
    def shadow_px(self) -> float:
        return min(SHADOW_SHARE * 2 * float(self.stations.table[HALF].max()), MOST_SHADOW_PX)

    def throw(self, points: _Points) -> None:
        """Darken the pixels of these points, which lie under and beside their stations."""
        table, station = self.stations.table, points.station
        _, across = self.in_frame(points)
        falls = -table[SIN][station] * SHADOW_RIGHT - table[COS][station] * SHADOW_DOWN
        reach = self.shadow_px * (0.4 + 0.6 * np.clip(falls * np.sign(across), 0, 1))
        out = np.clip((np.abs(across) - table[HALF][station]) / reach, 0, 1)
        kept = (256 * (1 - SHADOW_STRENGTH * (1 - out) ** 2)).astype(np.uint32)
        # Of several points in a pixel the darkest is written last.
        order = np.argsort(-kept.astype(np.int32), kind="stable")
        pixel, kept = points.pixel[order], kept[order]
        self.pixels[pixel] = self.shadowed(self.pixels[pixel], kept)

    def shadowed(self, colour: PixelArray, kept: PixelArray) -> PixelArray:
        """Colours of which only so much, in 256ths, is kept; the rest is the metal's darkest tone."""
        dark = _mixed(self.ball.min(), _share(colour), CLEAR, CLEAR)
        return _mixed(colour, kept, dark, np.uint32(256) - kept)

    def show_through(self, points: _Points) -> None:
        """Let what lies under, in deepest shadow, show through the soft edges over it."""
        points = points[np.flatnonzero(self.pixels[points.pixel] < OPAQUE)]
        above = self.pixels[points.pixel]
        under = self.shadowed(self.shaded(points)[0], np.full_like(above, 256 * (1 - SHADOW_STRENGTH)))
        through = np.uint32(255) - (above >> TWENTY_FOUR)
        self.pixels[points.pixel] = above + _mixed(under, through, CLEAR, CLEAR)


# ---- colours packed as 0xAARRGGBB, premultiplied -------------------------------------------------------

CLEAR, OPAQUE, RED_BLUE = np.uint32(0), np.uint32(0xFF000000), np.uint32(0x00FF00FF)
EIGHT, SIXTEEN, TWENTY_FOUR = np.uint32(8), np.uint32(16), np.uint32(24)


def _packed(rgb: Rgb) -> np.uint32:
    return np.uint32(0xFF000000 | rgb[0] << 16 | rgb[1] << 8 | rgb[2])


def _share(colour: PixelArray) -> PixelArray:
    """How opaque premultiplied colours are, in 256ths."""
    alpha = colour >> TWENTY_FOUR
    return np.asarray(alpha + (alpha >> np.uint32(7)))


Packed = PixelArray | np.uint32


def _mixed(a: Packed, share_a: PixelArray, b: Packed, share_b: Packed) -> PixelArray:
    """a x share_a + b x share_b of packed colours, two channels at a time; shares in 256ths, at most 256."""
    red_blue = (a & RED_BLUE) * share_a + (b & RED_BLUE) * share_b
    alpha_green = (a >> EIGHT & RED_BLUE) * share_a + (b >> EIGHT & RED_BLUE) * share_b
    return np.asarray((red_blue >> EIGHT & RED_BLUE) | (alpha_green & ~RED_BLUE))


@lru_cache(maxsize=64)
def lit_ball(metal_rgb: Rgb, paper_rgb: Rgb) -> PixelArray:
    """A ball of the metal in the studio's light: BALL_PX rows upward of BALL_PX packed opaque colours.

    What a metal shows is its colour times what it mirrors: here a broad lamp at the upper left, a sky
    brighter above, the eye's own side, and below the horizon the paper. A flat face shows a little more
    than the metal's own colour. The look is tuned by eye.
    """
    place = (np.arange(BALL_PX, dtype=np.float32) + 0.5) / (BALL_PX / 2) - 1
    x, y = np.meshgrid(place, place)
    past = np.maximum(np.hypot(x, y), 1.0)
    x, y = x / past, y / past
    z = np.sqrt(np.maximum(1 - x * x - y * y, 0.0))
    mirrored = np.stack((2 * z * x, 2 * z * y, 2 * z * z - 1), axis=-1)
    key = np.array([-0.495, 0.614, 0.614], np.float32)
    to_key = mirrored @ key
    below = _rise(-7 * (mirrored[..., 2] + 0.25))
    sky = _rise(mirrored @ np.array([-1.35, 1.86, 1.05], np.float32)) * (1 - 0.6 * below)
    lamp = _rise(9 * (to_key - 0.72))
    diffuse = np.clip(np.stack((x, y, z), axis=-1) @ key, 0, None)
    front = np.exp(6 * (mirrored[..., 2] - 1))
    bounce = below * (0.55 + 0.45 * _rise(mirrored @ np.array([2.4, -3.2, 0.0], np.float32)))

    metal, paper = _linear(metal_rgb), _linear(paper_rgb)
    light = (0.10 + 0.42 * sky + lamp + 0.22 * diffuse + 0.16 * front)[..., None]
    light = light + 0.45 * bounce[..., None] * (0.08 + 0.92 * paper)
    light *= 1.06 / light[BALL_PX // 2, BALL_PX // 2].mean()
    # Grazing light is mirrored nearly white; where it is dark the metal mirrors itself and deepens.
    tint = metal + (1 - metal) * 0.25 * (1 - z[..., None]) ** 5
    colour = light * tint ** (1 + 0.25 * np.clip(1 - light, 0, 1))
    colour += 0.25 * np.exp(60 * (to_key[..., None] - 1)) * (1 + metal)
    bright = 0.62
    colour = np.where(
        colour > bright, bright + (1 - bright) * np.tanh((colour - bright) / (1 - bright)), colour
    )
    red, green, blue = np.moveaxis(np.round(255 * colour ** (1 / 2.2)).astype(np.uint32), -1, 0)
    packed = np.asarray((OPAQUE | red << SIXTEEN | green << EIGHT | blue).ravel())
    packed.flags.writeable = False
    return packed


def _rise(values: NDArray[np.floating]) -> Float32Array:
    return np.asarray(1 / (1 + np.exp(-values)), np.float32)


def _linear(rgb: Rgb) -> Float32Array:
    return np.asarray((np.array(rgb) / 255) ** 2.2, np.float32)
