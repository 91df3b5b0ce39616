"""Spans of linear curvature, evaluated exactly: direction by a formula, place by Gauss-Legendre.

With u from 0 to 1 along a span, curvature x length = turn + skew (2u - 1), so that the direction is
heading + turn u + skew (u^2 - u). Angles in radians, lengths in mm, counter-clockwise positive.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
Values = FloatArray | float


def unit_gauss(count: int) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre nodes and weights on [0, 1].

    From the matrix of the polynomials' recurrence (Golub & Welsch, Math. Comp. 23 (1969) 221-230);
    numpy's own rules take as long to import as a form to evaluate.
    """
    order = np.arange(1.0, count)
    beside = order / np.sqrt(4 * order * order - 1)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return nodes / 2 + 0.5, vectors[0] ** 2


# Four nodes are exact to 1e-14 of an interval's length while it turns at most this far in all, and its
# direction leaves a straight line in u, by skew / count^2, by at most that.
GAUSS_NODES, GAUSS_WEIGHTS = unit_gauss(4)
MOST_TURN_PER_INTERVAL_RAD, MOST_BOW_PER_INTERVAL_RAD = 0.25, 0.012


def direction_rad(u: Values, heading: Values, turn: Values, skew: Values) -> FloatArray:
    """Direction at u; all arguments broadcast."""
    return np.asarray(heading + u * (turn + skew * (u - 1.0)), dtype=float)


def curvature_per_mm(u: Values, length: Values, turn: Values, skew: Values) -> FloatArray:
    """Curvature at u, left positive; all arguments broadcast."""
    return np.asarray((turn + skew * (2.0 * u - 1.0)) / length, dtype=float)


def interval_steps(
    u_from: FloatArray,
    u_step: FloatArray,
    length: FloatArray,
    heading: FloatArray,
    turn: FloatArray,
    skew: FloatArray,
) -> ComplexArray:
    """Displacement x + iy over intervals [u, u + step] of spans; all of shape (intervals,).

    Exact to rounding while there are as many as `intervals_for_turning` asks for.
    """
    u = u_from + u_step * GAUSS_NODES[:, None]
    angle = heading + u * (turn + skew * (u - 1.0))
    step = np.empty(len(u_from), dtype=complex)
    step.real = GAUSS_WEIGHTS @ np.cos(angle)
    step.imag = GAUSS_WEIGHTS @ np.sin(angle)
    step *= length * u_step
    return step


def unit_span(u: FloatArray, step: FloatArray, turn: FloatArray, skew: FloatArray) -> ComplexArray:
    """Directions at places of spans of length 1 that begin along +x, and the moves from each to the next.

    Result of shape (2, places); all others (places,), `step` what lies between a place and the next, as long
    as the next is of the same span. Two-point Hermite quadrature with three derivatives, which are known
    exactly (Hermite 1878; Lanczos, Applied Analysis, 1956): no directions but those of the places, and to
    1e-12 of a step while there are as many as `intervals_for_turning` asks for.
    """
    angle = u * (turn + skew * (u - 1.0))
    found = np.empty((2, len(u)), dtype=complex)
    direction, moves = found
    cos, sin = np.cos(angle), np.sin(angle)
    direction.real, direction.imag = cos, sin
    # The angle's first and second derivative by the share of the way to the next place.
    first, second = step * (turn + skew * (2.0 * u - 1.0)), (2.0 * skew) * (step * step)
    square = first * first
    # What a direction counts for as a beginning and as an end: conjugates but for the second derivative.
    even, odd = 0.5 - square / 84, first * second * (-1 / 560)
    even_across, odd_across = second / 84, first * (3 / 28 - square / 1680)
    along, across = even + odd, even_across + odd_across
    x, y = along * cos - across * sin, along * sin + across * cos
    along, across = even - odd, even_across - odd_across
    x[:-1] += (along * cos - across * sin)[1:]
    y[:-1] += (along * sin + across * cos)[1:]
    moves.real, moves.imag = x * step, y * step
    return found


def span_points(length: float, turn: float, skew: float, u: ArrayLike) -> ComplexArray:
    """Points x + iy of one span that begins at 0 along +x, at increasing u in 0..1; shape of u."""
    u = np.atleast_1d(np.asarray(u, dtype=float))
    knots = np.union1d(u, np.linspace(0.0, 1.0, int(intervals_for_turning(turn, skew)) + 1))
    steps = np.diff(knots)
    moves = interval_steps(
        knots[:-1],
        steps,
        np.full(len(steps), length),
        np.zeros(len(steps)),
        np.full(len(steps), turn),
        np.full(len(steps), skew),
    )
    points = np.concatenate(([0.0], np.cumsum(moves)))
    return np.asarray(points[np.searchsorted(knots, u)])


def intervals_for_turning(turn: Values, skew: Values) -> NDArray[np.int64]:
    """How many equal steps of u keep the places along a span exact to rounding; shape of the arguments."""
    turning = (np.abs(turn) + np.abs(skew)) / MOST_TURN_PER_INTERVAL_RAD
    bow = np.sqrt(np.abs(skew) / MOST_BOW_PER_INTERVAL_RAD)
    return np.maximum(1, np.ceil(np.maximum(turning, bow))).astype(np.int64)
