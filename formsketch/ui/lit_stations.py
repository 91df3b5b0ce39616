"""Where the lit wire is cut: cross-sections ("stations") so close that their points hit every pixel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.ui.lit_wire import ViewTransform, WireSamples

FloatArray = NDArray[np.float64]
Float32Array = NDArray[np.float32]
IndexArray = NDArray[np.intp]

# Pieces that begin further than this from where the one before ended are separate wires.
JOINED_WITHIN_MM = 1e-3
# A grid of points hits every pixel at any angle while its cell's projections stay within one pixel; the
# little that is left is for the fan of a bend.
GRID_PX = 0.97
# Points go on past an end this far, so that its edge pixels are hit wherever the last station falls.
PAST_END_PX = 1.5
# Where parts of the wire overlap that lie this many widths apart along it, they cross; nearer ones are one
# bend. A U-turn on its own inner edge is pi/2 widths of outer edge for each half.
CROSSING_WIDTHS, LEAST_CROSSING_PX = 4.0, 8.0
STEEPEST = 50.0

# Rows of the station table, all in pixels: place, direction, half the plan width, half the width of the
# flat, 1 / radius of the edges, how half width and half height grow along the wire, the way to the nearest
# end, whether that end lies behind (1) or ahead (-1), and the length along the outer edge from the start.
X, Y, COS, SIN, HALF, FLAT, PER_EDGE, SWELL, RISE, TO_END, END_SIDE, ALONG = range(12)


class Stations(Result, frozen=True):
    """Cross-sections of the visible wire, shape (12, stations), and how many points each has across.

    `strips` are the stations at which what is drawn in one go begins: all of the wire, then each stretch
    that is drawn again.
    """

    table: Float32Array
    across: int
    crossing_px: float
    strips: IndexArray

    @property
    def points(self) -> int:
        return self.table.shape[1] * self.across


class _Rows(Result, frozen=True):
    """The samples in pixels, with one more past each end of each wire; `turn` and `edge` of the intervals.

    `sample` is the number of each row's sample.
    `edge` is the length of an interval's outer edge, 0 between two wires. `length` runs along the middle,
    from `start` to `finish` of each sample's wire, `along` on the outer edge.
    """

    sample: IndexArray
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
        order, x, y, heading, half, high, swell, rise, length, along, start, finish, turn, edge, crossing_px
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


def stations_of(samples: WireSamples, view: ViewTransform, size: tuple[int, int]) -> Stations:
    """Cross-sections so close that their points hit every pixel of the visible wire."""
    rows = _rows(samples, view)
    at, fraction, across = _spaced(rows, size)
    drawn, strips = _drawn(rows.sample[at] + fraction * np.diff(rows.sample)[at], samples.again)
    at, fraction = at[drawn], fraction[drawn]
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
    return Stations(table, across, rows.crossing_px, strips)


def _drawn(places: FloatArray, again: tuple[tuple[float, float], ...]) -> tuple[IndexArray, IndexArray]:
    """Stations in the order in which they are drawn, and where in it the wire and each stretch begin."""
    stretches = [np.flatnonzero((places >= begin) & (places <= end)) for begin, end in again]
    strips = np.cumsum([0, len(places), *(len(stretch) for stretch in stretches)])[:-1]
    return np.concatenate((np.arange(len(places)), *stretches)), strips


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
