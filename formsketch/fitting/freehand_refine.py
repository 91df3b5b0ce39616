"""All numbers of a chain moved together until it passes as near as it can to the points of a stroke.

Levenberg-Marquardt on the distances across the curve; each point's foot follows along the chain from where
the stroke was when it was drawn, so that crossings do not confuse it. Lengths are in tolerances.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.fitting.freehand_chain import Links, Placed, place
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.spans import ComplexArray

# First whole offsets count, so that a chain that has drifted finds back; then distances across only.
_DRAWING_IN_STEPS = 2
_SETTLING_STEPS = 8
_SQUEEZING_STEPS = 12
_POLISHING_STEPS = 12
_SETTLED, _POLISHED = 1e-3, 1e-9
# Least squares that miss by more than this many tolerances are not worth squeezing.
_HOPELESS = 5.0
# Distances up to here are let be while larger ones are squeezed; what is below _GOOD is good enough.
_LET_BE, _GOOD = 0.9, 0.97
_EVENNESS = 0.02
_FIRST_DAMPING, _MOST_DAMPING = 1e-4, 1e6
_MOST_FOOT_STEP = 3.0


@dataclass(frozen=True, eq=False)
class Refined:
    """A chain, where along it each point has its foot, and its greatest distance from the points."""

    links: Links
    at: FloatArray
    worst: float


class _Refiner:
    """One chain on its way; every step is taken or refused."""

    def __init__(self, links: Links, points: ComplexArray, at: FloatArray, least_length: float) -> None:
        self.points, self.least_length = points, least_length
        self.damping = _FIRST_DAMPING
        span, u = links.spans_at(at)
        self._take(place(links, span, u))

    def _take(self, placed: Placed) -> None:
        self.placed = placed
        self.across, self.along = _offsets(placed, self.points)

    @property
    def worst(self) -> float:
        return _worst(self.across, self.along)

    def feet(self) -> FloatArray:
        """Where along the chain the feet should be, by one Newton step from where they are."""
        placed, links = self.placed, self.placed.links
        marks = links.marks_at
        span, u = placed.span, placed.u
        bend = (links.turn[span] + links.skew[span] * (2 * u - 1)) / links.length[span]
        step = self.along / np.maximum(1 - bend * self.across, 0.5)
        at = marks[placed.span] + placed.u * links.length[placed.span]
        at = np.clip(at + np.clip(step, -_MOST_FOOT_STEP, _MOST_FOOT_STEP), 0.0, marks[-1])
        at[0], at[-1] = 0.0, marks[-1]
        return np.asarray(at)

    def step(self, whole: bool, squeeze: bool) -> float:
        """One step; the relative fall of what is being made small (0 when no step helps)."""
        if not whole:
            span, u = self.placed.links.spans_at(self.feet())
            self._take(place(self.placed.links, span, u))
        placed = self.placed
        slopes, offsets = self._rows(whole)
        weight, pull, cost = _weighed(offsets, squeeze)
        square = (slopes.T * weight) @ slopes
        fall = slopes.T @ pull
        scale = np.sqrt(np.diag(square)) + 1e-9
        square /= np.outer(scale, scale)
        while self.damping < _MOST_DAMPING:
            damped = square + self.damping * np.eye(len(square))
            move = np.linalg.solve(damped, fall / scale) / scale
            links = placed.links.moved(move, self.least_length)
            trial = place(links, placed.span, placed.u)
            across, along = _offsets(trial, self.points)
            new = _weighed(_stacked(across, along, whole), squeeze)[2]
            if new <= cost:
                self.damping = max(self.damping / 10, 1e-12)
                self._take(trial)
                return (cost - new) / max(cost, 1e-300)
            self.damping = max(self.damping, 1e-6) * 10
        self.damping = _FIRST_DAMPING
        return 0.0

    def _rows(self, whole: bool) -> tuple[FloatArray, FloatArray]:
        direction = self.placed.direction
        offsets = _stacked(self.across, self.along, whole)
        rows = np.arange(len(direction))
        which = np.concatenate((rows, rows if whole else rows[[0, -1]]))
        way = np.concatenate((1j * direction, direction if whole else direction[[0, -1]]))
        return self.placed.slopes(way, which), offsets


def _offsets(placed: Placed, points: ComplexArray) -> tuple[FloatArray, FloatArray]:
    gap = (points - placed.z) * np.conj(placed.direction)
    return gap.imag, gap.real


def _stacked(across: FloatArray, along: FloatArray, whole: bool) -> FloatArray:
    return np.concatenate((across, along if whole else along[[0, -1]]))


def _worst(across: FloatArray, along: FloatArray) -> float:
    return max(float(np.abs(across).max()), *(float(np.hypot(across[i], along[i])) for i in (0, -1)))


def _weighed(offsets: FloatArray, squeeze: bool) -> tuple[FloatArray, FloatArray, float]:
    """Weight and pull of each row, and the cost; squeezing asks only for what is beyond the tolerance."""
    if not squeeze:
        return np.ones(len(offsets)), offsets, float(offsets @ offsets)
    beyond = offsets - np.clip(offsets, -_LET_BE, _LET_BE)
    cost = float(beyond @ beyond + _EVENNESS * (offsets @ offsets))
    return (beyond != 0.0) + _EVENNESS, beyond + _EVENNESS * offsets, cost


def refined(links: Links, points: ComplexArray, at: FloatArray, least_length: float, drifted: bool = True) -> Refined:
    """Move the chain to the points, `at` being their places along it; bounded work."""
    refiner = _Refiner(links, points, at, least_length)
    for _ in range(_DRAWING_IN_STEPS if drifted else 0):
        refiner.step(whole=True, squeeze=False)
    for _ in range(_SETTLING_STEPS):
        if refiner.step(whole=False, squeeze=False) < _SETTLED:
            break
    if _GOOD < refiner.worst < _HOPELESS:
        for _ in range(_SQUEEZING_STEPS):
            refiner.step(whole=False, squeeze=True)
            if refiner.worst <= _GOOD:
                break
    return Refined(refiner.placed.links, refiner.feet(), refiner.worst)


def polished(start: Refined, points: ComplexArray, least_length: float) -> Refined:
    """Least squares to the last digit."""
    refiner = _Refiner(start.links, points, start.at, least_length)
    for _ in range(_POLISHING_STEPS):
        if refiner.step(whole=False, squeeze=False) < _POLISHED:
            break
    return Refined(refiner.placed.links, refiner.feet(), refiner.worst)
