"""A freehand stroke made ready for fitting: in units of the tolerance, evenly spaced, its sharp bends found.

All lengths here are multiples of the tolerance, so that a fit does not depend on the size of the drawing.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from formsketch.fitting.freehand_corners import sharp_bends
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Result

# Samples that crowd within a few times the tremble of the hand are one place, their mean.
_CROWDED_TO_NOISE, _LEAST_CROWDED, _MOST_CROWDED = 6.0, 0.3, 1.0
_PATH_STEP, _LEAST_PATH, _MOST_PATH = 0.6, 120, 2400
_SMOOTHED_OVER = 1.0
# Directions are compared over this length to see how much a stroke turns, tremble apart.
_TURNING_OVER = 2.0
# Where samples are further apart than this, the line between them counts as drawn.
_FAR_APART = 2.0


class Stroke(Result, frozen=True):
    """A cleaned stroke, in tolerances.

    `raw` are its distinct samples with their places `raw_at` along the line through `nodes`, samples that
    crowd taken together; `node` says in which a sample went. `path` has evenly spaced points on that line,
    `step` apart; `smooth` is the same without tremble, never smoothed across the sharp bends, which are at
    the path indices `sharp`. `pace` goes from 0 to 1 along the path, faster where it turns; `turning` is how
    far it turns, to and fro, in radians.
    """

    raw: ComplexArray
    raw_at: FloatArray
    node: IntArray
    nodes: ComplexArray
    nodes_at: FloatArray
    path: ComplexArray
    step: float
    sharp: IntArray
    smooth: ComplexArray
    pace: FloatArray
    turning: float

    @property
    def length(self) -> float:
        return self.step * (len(self.path) - 1)

    @property
    def path_at(self) -> FloatArray:
        return np.asarray(self.step * np.arange(len(self.path)))

    @property
    def pieces(self) -> list[tuple[int, int]]:
        """First and last path index of each piece between sharp bends."""
        bounds = [0, *self.sharp.tolist(), len(self.path) - 1]
        return list(pairwise(bounds))

    @property
    def line(self) -> tuple[ComplexArray, FloatArray]:
        """The line through the nodes, near sharp bends through all samples, and places along the path."""
        tips = self.path_at[self.sharp]
        if not len(tips):
            return self.nodes, self.nodes_at
        node, raw = (
            np.abs(at - tips[:, None]).min(axis=0) <= _FAR_APART for at in (self.nodes_at, self.raw_at)
        )
        number = np.bincount(self.node, np.arange(len(self.raw))) / np.bincount(self.node)
        order = np.argsort(np.concatenate((number[~node], np.flatnonzero(raw))), kind="stable")
        points = np.concatenate((self.nodes[~node], self.raw[raw]))[order]
        at = np.concatenate((self.nodes_at[~node], self.raw_at[raw]))[order]
        return points, np.maximum.accumulate(at)

    @property
    def drawn(self) -> tuple[ComplexArray, FloatArray]:
        """All samples, and points of the path where these are far apart, with their places along the path."""
        gap = np.diff(self.nodes_at)
        between = np.clip(np.searchsorted(self.nodes_at, self.path_at, side="right") - 1, 0, len(gap) - 1)
        filling = gap[between] > _FAR_APART
        return (
            np.concatenate((self.raw, self.path[filling])),
            np.concatenate((self.raw_at, self.path_at[filling])),
        )


def stroke_of(raw: ComplexArray) -> Stroke:
    """The stroke through distinct points (in tolerances)."""
    noise = tremble(raw)
    nodes, cell = _uncrowded(raw, float(np.clip(_CROWDED_TO_NOISE * noise, _LEAST_CROWDED, _MOST_CROWDED)))
    at = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(nodes)))))
    count = int(np.clip(np.ceil(at[-1] / _PATH_STEP), _LEAST_PATH, _MOST_PATH)) + 1
    even = np.linspace(0.0, at[-1], count)
    path, step = interpolated(even, at, nodes), float(even[1])
    sharp = sharp_bends(path, step, noise, len(raw))
    smooth = _smoothed(path, step, sharp)
    pace, turning = _pace(smooth, step)
    ways = interpolated(at[cell], even, np.gradient(smooth))
    aside = (raw - nodes[cell]) * np.conj(ways) / np.maximum(np.abs(ways), 1e-12)
    raw_at = np.clip(at[cell] + aside.real, 0.0, at[-1])
    return Stroke(raw, raw_at, cell, nodes, at, path, step, sharp, smooth, pace, turning)


def outermost(stroke: Stroke, cells: int) -> tuple[ComplexArray, FloatArray]:
    """The two points furthest to either side in each of so many cells of a stroke, its ends and its tips."""
    points, at = stroke.drawn
    base = interpolated(at, stroke.path_at, stroke.smooth)
    way = interpolated(at, stroke.path_at, np.gradient(stroke.smooth))
    aside = ((points - base) * np.conj(way)).imag / np.maximum(np.abs(way), 1e-12)
    cell = np.minimum((np.interp(at, stroke.path_at, stroke.pace) * cells).astype(np.int64), cells - 1)
    order = np.lexsort((aside, cell))
    begins = np.flatnonzero(np.diff(cell[order], prepend=-1))
    ends = np.append(begins[1:], len(order)) - 1
    tips = [int(np.argmin(np.abs(stroke.raw_at - place))) for place in stroke.path_at[stroke.sharp]]
    chosen = np.unique(np.concatenate((order[begins], order[ends], np.array(tips, dtype=np.int64))))
    chosen = chosen[np.argsort(at[chosen], kind="stable")]
    return (
        np.concatenate((stroke.raw[:1], points[chosen], stroke.raw[-1:])),
        np.concatenate(([0.0], at[chosen], [stroke.length])),
    )


def interpolated(at: FloatArray, known_at: FloatArray, known: ComplexArray) -> ComplexArray:
    """Points between known ones."""
    return np.asarray(np.interp(at, known_at, known.real) + 1j * np.interp(at, known_at, known.imag))


def tremble(raw: ComplexArray) -> float:
    """Standard deviation of the samples across the stroke, from third differences (median, so robust)."""
    if len(raw) < 8:
        return 0.0
    across = np.diff(raw, 3) * np.conj(raw[3:] - raw[:-3])
    length = np.abs(raw[3:] - raw[:-3])
    third = np.abs(across.imag) / np.maximum(length, 1e-12)
    # The coefficients 1, 3, 3, 1 add 20 variances; a normal variable's median deviation is 0.6745 sigma.
    return float(np.median(third)) / (0.6745 * np.sqrt(20.0))


def _uncrowded(raw: ComplexArray, reach: float) -> tuple[ComplexArray, IntArray]:
    """Means of runs of samples that stay within reach of their first, the two ends kept; node of each."""
    cell = np.empty(len(raw), dtype=np.int64)
    anchor, number = complex(np.inf), 0
    for i, point in enumerate(raw.tolist()):
        if not abs(point - anchor) <= reach:
            anchor, number = point, number + 1
        cell[i] = number
    cell[0] = 0
    cell[-1] = number + 1
    _, cell = np.unique(cell, return_inverse=True)
    count = np.bincount(cell)
    nodes = np.bincount(cell, raw.real) / count + 1j * (np.bincount(cell, raw.imag) / count)
    return nodes, cell


def _smoothed(path: ComplexArray, step: float, sharp: IntArray) -> ComplexArray:
    """Moving mean whose width shrinks towards ends and sharp bends, which stay where they are."""
    index = np.arange(len(path))
    bounds = np.concatenate(([0], sharp, [len(path) - 1]))
    piece = np.clip(np.searchsorted(bounds, index, side="right") - 1, 0, len(bounds) - 2)
    room = np.minimum(index - bounds[piece], bounds[piece + 1] - index)
    reach = np.minimum(room, round(_SMOOTHED_OVER / step))
    total = np.concatenate(([0.0], np.cumsum(path)))
    return np.asarray((total[index + reach + 1] - total[index - reach]) / (2 * reach + 1))


def _pace(smooth: ComplexArray, step: float) -> tuple[FloatArray, float]:
    """From 0 to 1 along the path, half by length and half by turning; and the turning in all, radians."""
    stride = min(max(1, round(_TURNING_OVER / step)), len(smooth) - 1)
    ways = smooth[stride:] - smooth[:-stride]
    turned = np.zeros(len(smooth))
    turned[stride // 2 + 1 : stride // 2 + len(ways)] = np.abs(np.angle(ways[1:] * np.conj(ways[:-1])))
    turning = float(turned.sum())
    share = np.cumsum(turned) / max(turning, 1e-12) if turning > 1e-6 else np.linspace(0.0, 1.0, len(smooth))
    return (share + np.linspace(0.0, 1.0, len(smooth))) / 2, turning
