"""Painting the stations of the lit wire: colour, rim and coverage of each pixel, folds and shadows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formsketch.ui.lit_ball import BALL_PX
from formsketch.ui.lit_colour import CLEAR, OPAQUE, TWENTY_FOUR, PixelArray, mixed, opacity
from formsketch.ui.lit_stations import (
    ALONG,
    COS,
    END_SIDE,
    FLAT,
    HALF,
    PER_EDGE,
    RISE,
    SIN,
    SWELL,
    TO_END,
    Float32Array,
    IndexArray,
    Stations,
    X,
    Y,
)
from formsketch.values import Result

# The rim is a line this wide inside the edge, on thin wire no more than a share of the width.
RIM_PX, RIM_SHARE, RIM_STRENGTH = 1.0, 0.09, 0.8
# What lies over throws a soft shadow on what lies under, this far as a share of its width. The light stands
# at the upper left, so that the shadow falls this much right and down.
SHADOW_SHARE, SHADOW_STRENGTH, MOST_SHADOW_PX = 0.45, 0.75, 40.0
SHADOW_RIGHT, SHADOW_DOWN = np.float32(0.6), np.float32(0.8)
# Parts too near each other to cross but this far apart overlap in a fold, on the inner side of a sharp
# bend; on one side of a pixel and the other they lie up to 1.4 apart.
FOLD_PX = 1.6


class Points(Result, frozen=True):
    """Points of stations, by the pixel each lies in; all of shape (points,)."""

    station: IndexArray
    x: IndexArray
    y: IndexArray
    pixel: IndexArray

    def __getitem__(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> Points:
        return Points(self.station[which], self.x[which], self.y[which], self.pixel[which])


class Paint(Result, frozen=True):
    """An empty image as flat packed pixels, and what is drawn on it."""

    pixels: PixelArray
    size: tuple[int, int]
    stations: Stations
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
        # What is drawn again, over what is further along, is as far from it along the wire.
        apart = np.abs(table[ALONG][over] - table[ALONG][under])
        crosses = apart > self.stations.crossing_px
        folds = ~crosses & (apart > FOLD_PX)
        if folds.any():
            self.fold(points[hidden[folds]], points[owner[hidden[folds]]])
        if crosses.any():
            is_over = np.zeros(table.shape[1], bool)
            is_over[over[crosses]] = True
            shadow = self.shadow_points(np.flatnonzero(is_over), max_points)
            below = points.station[owner_of[shadow.pixel]]
            apart = np.abs(table[ALONG][shadow.station] - table[ALONG][below])
            self.throw(shadow[(shadow.station > below) & (apart > self.stations.crossing_px)])
            self.show_through(points[hidden[crosses]])

    def points(self, station: IndexArray, across: Float32Array, ahead: Float32Array | None = None) -> Points:
        """Points on the image of stations, at distances across of shape (stations, any)."""
        x, y, cos, sin = (self.stations.table[row][station] for row in (X, Y, COS, SIN))
        if ahead is not None:
            x, y = x + cos * ahead, y - sin * ahead
        px = (x[:, None] - sin[:, None] * across).ravel()
        py = (y[:, None] - cos[:, None] * across).ravel()
        number = np.repeat(station, across.shape[1])
        width, height = self.size
        if px.size and (px.min() < 0 or py.min() < 0 or px.max() >= width or py.max() >= height):
            on = np.flatnonzero((px >= 0) & (py >= 0) & (px < width) & (py < height))
            number, px, py = number[on], px[on], py[on]
        column, row = px.astype(np.intp), py.astype(np.intp)
        return Points(number, column, row, row * width + column)

    def in_frame(self, points: Points) -> tuple[Float32Array, Float32Array]:
        """Pixel centres along and across (left positive) the wire, as the points' stations see them."""
        x, y, cos, sin = (self.stations.table[row][points.station] for row in (X, Y, COS, SIN))
        right = points.x.astype(np.float32) + np.float32(0.5) - x
        down = points.y.astype(np.float32) + np.float32(0.5) - y
        return right * cos - down * sin, -right * sin - down * cos

    def shaded(self, points: Points) -> tuple[PixelArray, Float32Array]:
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
        return mixed(colour, share - rim_share, self.rim, rim_share), inside

    def fold(self, hidden: Points, top: Points) -> None:
        """Within one bend no part lies over another: show the one whose edge is further away."""
        colour, inside = self.shaded(hidden)
        better = np.flatnonzero(inside > self.shaded(top)[1])
        better = better[np.argsort(inside[better], kind="stable")]
        self.pixels[hidden.pixel[better]] = colour[better]

    def shadow_points(self, over: IndexArray, max_points: int) -> Points:
        """Points on what is drawn beside stations that lie over others; none where they would be too many."""
        table = self.stations.table
        reach = self.shadow_px
        spread = int(2 * reach) + 2
        near = np.zeros(table.shape[1] + 1, np.intp)
        strips = np.append(self.stations.strips, table.shape[1])
        strip = np.searchsorted(strips, over, side="right")
        np.add.at(near, np.maximum(over - spread, strips[strip - 1]), 1)
        np.add.at(near, np.minimum(over + spread + 1, strips[strip]), -1)
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

    def throw(self, points: Points) -> None:
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
        dark = mixed(self.ball.min(), opacity(colour), CLEAR, CLEAR)
        return mixed(colour, kept, dark, np.uint32(256) - kept)

    def show_through(self, points: Points) -> None:
        """Let what lies under, in deepest shadow, show through the soft edges over it."""
        points = points[np.flatnonzero(self.pixels[points.pixel] < OPAQUE)]
        above = self.pixels[points.pixel]
        under = self.shadowed(self.shaded(points)[0], np.full_like(above, 256 * (1 - SHADOW_STRENGTH)))
        through = np.uint32(255) - (above >> TWENTY_FOUR)
        self.pixels[points.pixel] = above + mixed(under, through, CLEAR, CLEAR)
