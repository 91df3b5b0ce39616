"""How well one line, one arc or one span of linear curvature covers each interval of a stroke, all at once.

The stroke's own direction is replaced by one that is constant, linear or quadratic along the interval; how
far its points then move across the stroke is, to first order, linear in those coefficients. Least squares
on Chebyshev points is near to the least greatest distance. Lengths are in tolerances, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray

LINE, ARC, SPIRAL = 0, 1, 2
_SAMPLES = 10
_CHEBYSHEV = (1 - np.cos(np.pi * np.arange(_SAMPLES) / (_SAMPLES - 1))) / 2
# A column that is this nearly spanned by those before it says nothing new.
_NOTHING_NEW = 1e-2


@dataclass(frozen=True, eq=False)
class Moments:
    """Integrals along a piece of smooth path, from its first point; arrays of shape (points,)."""

    z: ComplexArray
    step: float
    direction: ComplexArray
    first: ComplexArray
    second: ComplexArray
    bent: ComplexArray
    heading: FloatArray


def moments_of(path: ComplexArray, step: float) -> Moments:
    """Moments of an evenly spaced path of at least two points."""
    moves = np.diff(path)
    ways = np.where(moves == 0, 1.0, moves)
    heading = np.unwrap(np.angle(ways))
    at = (np.arange(len(moves)) + 0.5) * step

    def run(values: ComplexArray) -> ComplexArray:
        return np.concatenate(([0.0], np.cumsum(values)))

    at_points = np.concatenate((heading[:1], (heading[1:] + heading[:-1]) / 2, heading[-1:]))
    return Moments(
        z=path,
        step=step,
        direction=np.exp(1j * at_points),
        first=run(moves * at),
        second=run(moves * (at * at + step * step / 12)),
        bent=run(moves * heading),
        heading=at_points,
    )


@dataclass(frozen=True, eq=False)
class _Columns:
    """Regressors across the path at the samples of each interval; (columns, samples, intervals)."""

    columns: FloatArray
    wanted: FloatArray
    middle: FloatArray
    half: FloatArray


def _columns(moments: Moments, begin: IntArray, end: IntArray) -> _Columns:
    index = begin + np.rint(np.multiply.outer(_CHEBYSHEV, end - begin)).astype(np.int64)
    middle, half = (begin + end) * (moments.step / 2), (end - begin) * (moments.step / 2)
    middle_heading = moments.heading[(begin + end) // 2]
    frame = np.exp(-1j * middle_heading)
    across = np.conj(1j * moments.direction[index])
    z = moments.z[index] - moments.z[begin]
    first = moments.first[index] - moments.first[begin] - middle * z
    second = moments.second[index] - moments.second[begin] - middle * (2 * first + middle * z)
    bent = moments.bent[index] - moments.bent[begin] - middle_heading * z
    tilted = across / frame
    columns = np.stack(
        (
            -tilted.imag,
            tilted.real,
            -(across * z).imag,
            -(across * first).imag / half,
            -(across * second).imag / (half * half),
        )
    )
    return _Columns(columns, -(across * bent).imag, middle, half)


def interval_errors(moments: Moments, begin: IntArray, end: IntArray) -> FloatArray:
    """Greatest distance left by a line, an arc and a spiral over intervals; shape (3, intervals)."""
    made = _columns(moments, begin, end)
    basis, rest = made.columns, made.wanted
    errors = np.empty((3, len(begin)))
    before = np.sqrt((basis**2).sum(axis=1))
    for i in range(len(basis)):
        column = basis[i]
        size = np.sqrt((column**2).sum(axis=0))
        new = size > _NOTHING_NEW * before[i]
        column = column * (np.where(new, 1.0, 0.0) / np.where(new, size, 1.0))
        rest = rest - (rest * column).sum(axis=0) * column
        if i >= 2:
            errors[i - 2] = np.abs(rest).max(axis=0)
        for j in range(i + 1, len(basis)):
            basis[j] -= (basis[j] * column).sum(axis=0) * column
    return errors


def interval_headings(moments: Moments, begin: int, end: int, kind: int) -> tuple[float, float, float]:
    """Direction at both ends and skew of the line, arc or spiral over one interval."""
    made = _columns(moments, np.array([begin]), np.array([end]))
    columns = made.columns[: 3 + kind, :, 0].T
    scale = np.sqrt((columns**2).sum(axis=0)) + 1e-12
    found = np.linalg.lstsq(columns / scale, made.wanted[:, 0], rcond=_NOTHING_NEW)[0] / scale
    level = moments.heading[(begin + end) // 2] + found[2]
    tilt = float(found[3]) if kind >= ARC else 0.0
    bow = float(found[4]) if kind == SPIRAL else 0.0
    # heading = level + tilt x + bow x^2 for x from -1 to 1 is turn 2 tilt and skew 4 bow.
    return float(level - tilt + bow), float(level + tilt + bow), 4 * bow
