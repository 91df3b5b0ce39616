"""How well one line, one arc or one span of linear curvature covers each interval of a stroke, all at once.

The stroke's own direction is replaced by one that is constant, linear or quadratic along the interval; how
far its points then move across the stroke is, to first order, linear in those coefficients. Least squares
on Chebyshev points is near to the least greatest distance. Lengths are in tolerances, angles in radians.
"""

from __future__ import annotations

import numpy as np

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Result

LINE, ARC, SPIRAL = 0, 1, 2
# Samples of an interval, and of one that goes round more than twice.
_SAMPLES, _MANY_SAMPLES, _GOES_ROUND_RAD = 12, 40, 12.0
# A column that is this nearly spanned by those before it says nothing new; where directions are wanted
# columns are trusted less, for near dependence makes large numbers of small differences.
_NOTHING_NEW, _LITTLE_NEW = 1e-3, 1e-2
# The direction of a fit is not further than this from the path's own.
_MOST_ASTRAY_RAD = 1.5


class Moments(Result, frozen=True):
    """Direction along a piece of smooth path and integrals from its first point; arrays of shape (points,).

    `first` and `second` are the integrals of s dz and s^2 dz, `bent` that of the direction (radians).
    """

    z: ComplexArray
    step: float
    heading: FloatArray
    first: ComplexArray
    second: ComplexArray
    bent: ComplexArray


def moments_of(path: ComplexArray, step: float) -> Moments:
    """Moments of an evenly spaced path of at least two points."""
    moves = np.diff(path)
    heading = np.unwrap(np.angle(np.where(moves == 0, 1.0, moves)))
    at = (np.arange(len(moves)) + 0.5) * step

    def run(values: ComplexArray) -> ComplexArray:
        return np.concatenate(([0.0], np.cumsum(values)))

    return Moments(
        z=path,
        step=step,
        heading=np.concatenate((heading[:1], (heading[1:] + heading[:-1]) / 2, heading[-1:])),
        first=run(moves * at),
        second=run(moves * (at * at + step * step / 12)),
        bent=run(moves * heading),
    )


def interval_errors(moments: Moments, begin: IntArray, end: IntArray) -> FloatArray:
    """Greatest distance left by a line, an arc and a spiral over intervals of the path; (3, intervals)."""
    round_and_round = np.abs(moments.heading[end] - moments.heading[begin]) > _GOES_ROUND_RAD
    errors = np.empty((3, len(begin)))
    for chosen, samples in ((~round_and_round, _SAMPLES), (round_and_round, _MANY_SAMPLES)):
        if chosen.any():
            errors[:, chosen] = _errors(*_across(moments, begin[chosen], end[chosen], samples))
    return errors


def _errors(columns: FloatArray, rest: FloatArray) -> FloatArray:
    errors = np.empty((3, rest.shape[1]))
    before = np.sqrt((columns**2).sum(axis=1))
    # Gram-Schmidt: the first two columns shift, the third turns, the others bend.
    for i, column in enumerate(columns):
        size = np.sqrt((column**2).sum(axis=0))
        new = size > _NOTHING_NEW * before[i]
        column *= np.where(new, 1.0, 0.0) / np.where(new, size, 1.0)
        rest -= (rest * column).sum(axis=0) * column
        if i >= 2:
            errors[i - 2] = np.abs(rest).max(axis=0)
        for later in columns[i + 1 :]:
            later -= (later * column).sum(axis=0) * column
    return errors


def interval_headings(moments: Moments, begin: IntArray, end: IntArray, kind: IntArray) -> FloatArray:
    """Direction at both ends, and skew, of the line, arc or spiral over each interval; (3, intervals)."""
    columns, wanted = _across(moments, begin, end, _MANY_SAMPLES)
    columns *= (np.arange(5)[:, None] < 3 + kind)[:, None, :]
    scale = np.sqrt((columns**2).sum(axis=1)) + 1e-12
    scaled = (columns / scale[:, None]).transpose(2, 0, 1)
    square = scaled @ scaled.transpose(0, 2, 1) + _LITTLE_NEW**2 * np.eye(5)
    found = np.linalg.solve(square, scaled @ wanted.T[:, :, None])[:, :, 0].T / scale
    level = moments.heading[(begin + end) // 2] + found[2]
    tilt, bow = found[3], found[4]
    # Direction level + tilt x + bow x^2, x from -1 to 1, is a turn of 2 tilt and a skew of 4 bow.
    ends = np.stack((level - tilt + bow, level + tilt + bow))
    drawn = moments.heading[np.stack((begin, end))]
    ends = np.clip(ends, drawn - _MOST_ASTRAY_RAD, drawn + _MOST_ASTRAY_RAD)
    return np.concatenate((ends, 4 * bow[None]))


def _across(moments: Moments, begin: IntArray, end: IntArray, samples: int) -> tuple[FloatArray, FloatArray]:
    """How samples of each interval move across the path when it is shifted, turned and bent, and should move.

    Shapes (5, samples, intervals) and (samples, intervals); the move wanted undoes the path's own bending.
    """
    chebyshev = (1 - np.cos(np.pi * np.arange(samples) / (samples - 1))) / 2
    index = begin + np.rint(np.multiply.outer(chebyshev, end - begin)).astype(np.int64)
    middle, half = (begin + end) * (moments.step / 2), (end - begin) * (moments.step / 2)
    middle_heading = moments.heading[(begin + end) // 2]
    heading = moments.heading[index]
    back = np.empty(index.shape, dtype=complex)
    back.real, back.imag = -np.sin(heading), -np.cos(heading)
    z = moments.z[index] - moments.z[begin]
    first = moments.first[index] - moments.first[begin] - middle * z
    second = moments.second[index] - moments.second[begin] - middle * (2 * first + middle * z)
    bent = moments.bent[index] - moments.bent[begin] - middle_heading * z
    tilt = heading - middle_heading
    columns = np.stack(
        (
            np.cos(tilt),
            np.sin(tilt),
            -(back * z).imag,
            -(back * first).imag / half,
            -(back * second).imag / (half * half),
        )
    )
    return columns, -(back * bent).imag
