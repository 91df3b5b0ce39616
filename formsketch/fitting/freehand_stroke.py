"""A freehand stroke made ready for fitting: in units of the tolerance, evenly spaced, its sharp bends found.

All lengths here are multiples of the tolerance, so that a fit does not depend on the size of the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray

# Samples that crowd within half a tolerance are one place, their mean: a resting hand trembles.
_CROWDED = 0.5
_PATH_STEP, _LEAST_PATH, _MOST_PATH = 0.6, 120, 2400
_SMOOTHED_OVER = 1.0
# A sharp bend turns at least this far, rounded to no more than this radius (in tolerances).
SHARP_LEAST_RAD = np.deg2rad(35.0)
SHARP_MOST_RADIUS = 2.5
# The directions before and after it are taken over this reach (in tolerances), longer in a noisy stroke.
_REACH, _MOST_REACH, _LEAST_REACH_STEPS = 3.0, 8.0, 4
_SURE = 4.5
_NOISE_TO_JUMP = 2.2


@dataclass(frozen=True, eq=False)
class Stroke:
    """A cleaned stroke, in tolerances.

    `raw` are its distinct samples with their places `raw_at` along the line through `nodes`, samples that
    crowd taken together; `path` has evenly spaced points on that line, `step` apart, `smooth` the same without
    tremble, never smoothed across the sharp bends, which are at the path indices `sharp`.
    """

    raw: ComplexArray
    raw_at: FloatArray
    nodes: ComplexArray
    nodes_at: FloatArray
    path: ComplexArray
    step: float
    sharp: IntArray
    smooth: ComplexArray

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
        return list(zip(bounds[:-1], bounds[1:], strict=True))


def stroke_of(raw: ComplexArray) -> Stroke:
    """The stroke through distinct points (in tolerances)."""
    nodes, cell = _uncrowded(raw)
    at = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(nodes)))))
    count = int(np.clip(np.ceil(at[-1] / _PATH_STEP), _LEAST_PATH, _MOST_PATH)) + 1
    even = np.linspace(0.0, at[-1], count)
    path = _interpolated(even, at, nodes)
    step = float(even[1])
    sharp = _sharp_bends(path, step, _noise(raw), len(raw))
    smooth = _smoothed(path, step, sharp)
    return Stroke(raw, at[cell], nodes, at, path, step, sharp, smooth)


def outermost(stroke: Stroke, cells: int) -> tuple[ComplexArray, FloatArray]:
    """The two points furthest to either side in each of so many equal cells along a stroke, and both ends."""
    points = np.concatenate((stroke.raw, stroke.path))
    at = np.concatenate((stroke.raw_at, stroke.path_at))
    ways = np.gradient(stroke.smooth)
    base, way = _interpolated(at, stroke.path_at, stroke.smooth), _interpolated(at, stroke.path_at, ways)
    aside = ((points - base) * np.conj(way)).imag / np.maximum(np.abs(way), 1e-12)
    cell = np.minimum((at / stroke.length * cells).astype(np.int64), cells - 1)
    order = np.lexsort((aside, cell))
    begins = np.flatnonzero(np.diff(cell[order], prepend=-1))
    ends = np.append(begins[1:], len(order)) - 1
    chosen = np.unique(np.concatenate((order[begins], order[ends])))
    chosen = chosen[np.argsort(at[chosen], kind="stable")]
    return (
        np.concatenate((stroke.raw[:1], points[chosen], stroke.raw[-1:])),
        np.concatenate(([0.0], at[chosen], [stroke.length])),
    )


def _uncrowded(raw: ComplexArray) -> tuple[ComplexArray, IntArray]:
    """Means of runs of samples that stay within reach of their first, the two ends kept; cell of each."""
    cell = np.empty(len(raw), dtype=np.int64)
    anchor, number = complex(np.inf), 0
    for i, point in enumerate(raw.tolist()):
        if not abs(point - anchor) <= _CROWDED:
            anchor, number = point, number + 1
        cell[i] = number
    cell[0] = 0
    cell[-1] = number + 1
    _, cell = np.unique(cell, return_inverse=True)
    count = np.bincount(cell)
    nodes = np.bincount(cell, raw.real) / count + 1j * (np.bincount(cell, raw.imag) / count)
    return nodes, cell


def _interpolated(at: FloatArray, known_at: FloatArray, known: ComplexArray) -> ComplexArray:
    return np.asarray(np.interp(at, known_at, known.real) + 1j * np.interp(at, known_at, known.imag))


def _noise(raw: ComplexArray) -> float:
    """Standard deviation of the samples across the stroke, from third differences (median, so robust)."""
    if len(raw) < 8:
        return 0.0
    across = np.diff(raw, 3) * np.conj(raw[3:] - raw[:-3])
    length = np.abs(raw[3:] - raw[:-3])
    third = np.abs(across.imag) / np.maximum(length, 1e-12)
    # The coefficients 1, 3, 3, 1 add 20 variances; a normal variable's median deviation is 0.6745 sigma.
    return float(np.median(third)) / (0.6745 * np.sqrt(20.0))


def _smoothed(path: ComplexArray, step: float, sharp: IntArray) -> ComplexArray:
    """Moving mean whose width shrinks towards ends and sharp bends, which stay where they are."""
    index = np.arange(len(path))
    bounds = np.concatenate(([0], sharp, [len(path) - 1]))
    piece = np.clip(np.searchsorted(bounds, index, side="right") - 1, 0, len(bounds) - 2)
    room = np.minimum(index - bounds[piece], bounds[piece + 1] - index)
    reach = np.minimum(room, round(_SMOOTHED_OVER / step))
    total = np.concatenate(([0.0], np.cumsum(path)))
    return np.asarray((total[index + reach + 1] - total[index - reach]) / (2 * reach + 1))


def _sharp_bends(path: ComplexArray, step: float, noise: float, samples: int) -> IntArray:
    """Path indices where the direction jumps: more than a round bend of the same turning would show."""
    reach = _reach(noise, samples / (step * (len(path) - 1)))
    m = max(_LEAST_REACH_STEPS, round(reach / step))
    slope = _slopes(path, m)
    if len(slope) <= m:
        return np.empty(0, dtype=np.int64)
    # Turn from the stretch before to the stretch after each of the indices m ... n - 1 - m.
    turn = np.angle(slope[m:] * np.conj(slope[:-m]))
    padded = np.concatenate((np.zeros(m), turn, np.zeros(m)))
    sign = np.sign(turn)
    beside = np.clip(sign * padded[: -2 * m], 0, None) + np.clip(sign * padded[2 * m :], 0, None)
    jump = np.abs(turn) - beside / 2
    found: list[int] = []
    for k in np.argsort(-jump, kind="stable").tolist():
        if jump[k] < SHARP_LEAST_RAD:
            break
        if all(abs(k - other) >= m for other in found) and _is_sharp(path, k + m, m, step, abs(turn[k])):
            found.append(k)
    return np.array(sorted(found), dtype=np.int64) + m


def _reach(noise: float, samples_per_length: float) -> float:
    """Reach at which noise alone hardly ever turns a direction by half of what makes a sharp bend."""
    # A straight line fitted to m samples over w has a direction known to noise / w * sqrt(12 / m).
    needed = (_SURE * _NOISE_TO_JUMP * noise / SHARP_LEAST_RAD) ** 2 * 12 / samples_per_length
    return float(np.clip(np.cbrt(needed), _REACH, _MOST_REACH))


def _slopes(path: ComplexArray, m: int) -> ComplexArray:
    """Direction of the regression line through each m + 1 neighbouring points; not of unit length."""
    weight = np.arange(m + 1) - m / 2
    if len(path) <= m:
        return np.empty(0, dtype=complex)
    return np.convolve(path, weight[::-1], mode="valid")


def _is_sharp(path: ComplexArray, k: int, m: int, step: float, turn: float) -> bool:
    """Whether the stroke comes as near to the crossing of its two flanks as a tight bend does."""
    near = max(1, m // 3)
    before, after = path[k - m : k - near + 1], path[k + near : k + m + 1]
    along = _slopes(before, len(before) - 1)[0], _slopes(after, len(after) - 1)[0]
    if turn > np.deg2rad(150.0):
        return True
    gap = after.mean() - before.mean()
    reach = (gap * np.conj(along[1])).imag / (along[0] * np.conj(along[1])).imag
    crossing = before.mean() + reach * along[0]
    rounding = np.abs(path[k - m : k + m + 1] - crossing).min()
    allowed = SHARP_MOST_RADIUS * (1 / np.cos(turn / 2) - 1)
    return bool(rounding <= allowed + step / 2)
