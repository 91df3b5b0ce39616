"""Where a stroke bends sharply, as with pliers, rather than round something. Lengths are in tolerances."""

from __future__ import annotations

import numpy as np

from formsketch.geometry.chain import IntArray
from formsketch.geometry.spans import ComplexArray

# A sharp bend turns at least this far, rounded to no more than this radius (in tolerances).
SHARP_LEAST_RAD = float(np.deg2rad(35.0))
SHARP_MOST_RADIUS = 2.5
# The directions before and after it are taken over this reach, longer in a stroke that trembles.
_REACH, _MOST_REACH, _LEAST_REACH_STEPS = 3.0, 8.0, 4
# By how many standard deviations a jump must exceed what trembling makes, and how many of a line's direction
# there are in a jump: it is the difference of two, less half of two more.
_SURE, _NOISE_IN_JUMP = 4.5, 2.2
# Beyond this a stroke turns back on itself, and the flanks hardly cross.
TURNS_BACK_RAD = float(np.deg2rad(150.0))


def sharp_bends(path: ComplexArray, step: float, tremble: float, samples: int) -> IntArray:
    """Indices of an evenly spaced path where its direction jumps, more than at a round bend of that turning.

    `tremble` is the standard deviation of the samples across the stroke.
    """
    m = max(_LEAST_REACH_STEPS, round(_reach(tremble, samples / (step * (len(path) - 1))) / step))
    slope = _slopes(path, m)
    if len(slope) <= m:
        return np.empty(0, dtype=np.int64)
    # Turn from the stretch before to the stretch after each of the indices m ... n - 1 - m.
    turn = np.angle(slope[m:] * np.conj(slope[:-m]))
    padded = np.concatenate((np.zeros(m), turn, np.zeros(m)))
    sign = np.sign(turn)
    beside = np.clip(sign * padded[: -2 * m], 0, None) + np.clip(sign * padded[2 * m :], 0, None)
    jump = np.abs(turn) - beside / 2
    # A stretch with the bend in it makes less way than one that ends at the bend.
    way = np.minimum(np.abs(slope[:-m]), np.abs(slope[m:]))
    found: list[int] = []
    for k in np.argsort(-jump * way, kind="stable").tolist():
        if jump[k] < SHARP_LEAST_RAD:
            continue
        if all(abs(k - other) >= m for other in found) and _is_sharp(path, k + m, m, step, abs(turn[k])):
            found.append(k)
    return np.array(sorted(found), dtype=np.int64) + m


def _reach(tremble: float, samples_per_length: float) -> float:
    """Reach at which tremble alone hardly ever makes a sharp bend."""
    # A straight line fitted to m samples over w has a direction known to sigma / w * sqrt(12 / m).
    needed = (_SURE * _NOISE_IN_JUMP * tremble / SHARP_LEAST_RAD) ** 2 * 12 / samples_per_length
    return float(np.clip(np.cbrt(needed), _REACH, _MOST_REACH))


def _slopes(path: ComplexArray, m: int) -> ComplexArray:
    """Direction of the regression line through each m + 1 neighbouring points; not of unit length."""
    if len(path) <= m:
        return np.empty(0, dtype=complex)
    return np.convolve(path, (m / 2 - np.arange(m + 1)), mode="valid")


def _is_sharp(path: ComplexArray, k: int, m: int, step: float, turn: float) -> bool:
    """Whether the stroke comes as near to the crossing of its two flanks as a tight bend does."""
    if turn > TURNS_BACK_RAD:
        return True
    near = max(1, m // 3)
    before, after = path[k - m : k - near + 1], path[k + near : k + m + 1]
    along = _slopes(before, len(before) - 1)[0], _slopes(after, len(after) - 1)[0]
    gap = after.mean() - before.mean()
    reach = (gap * np.conj(along[1])).imag / (along[0] * np.conj(along[1])).imag
    rounding = np.abs(path[k - m : k + m + 1] - (before.mean() + reach * along[0])).min()
    return bool(rounding <= SHARP_MOST_RADIUS * (1 / np.cos(turn / 2) - 1) + step / 2)
