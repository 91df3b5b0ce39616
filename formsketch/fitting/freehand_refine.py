"""All numbers of a chain moved together until it passes as near as it can to the points of a stroke.

Levenberg-Marquardt on the distances across the curve; each point's foot follows along the chain from where
the stroke was when it was drawn, so that crossings do not confuse it. Lengths are in tolerances.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.fitting.freehand_chain import Links, Placed, closing_gap, place
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.spans import ComplexArray

# First whole offsets count, so that a chain that has drifted finds back; then distances across only.
_DRAWING_IN_STEPS, _DRAWN_IN = 4, 4.0
_SETTLING_STEPS, _SQUEEZING_STEPS, _POLISHING_STEPS = 6, 12, 12
_SETTLED, _POLISHED = 0.03, 1e-9
# What a bound on the greatest distance gains over least squares: less than this, found by trial.
_HOPELESS = 2.5
# Distances up to here are let be while larger ones are squeezed; what is below _GOOD is good enough.
_LET_BE, _GOOD, _EVENNESS = 0.9, 0.97, 0.002
# Squeezing that has not come this near after so many steps will not succeed.
_MUST_REACH = {4: 1.35, 8: 1.08}
_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING = 1e-4, 1e-12, 1e6
_MOST_FOOT_STEP = 3.0
# A closing gap counts this much more than a distance when a step is judged.
_GAP_WEIGHT = 1e4


@dataclass(frozen=True, eq=False)
class Refined:
    """A chain, where along it each point has its foot, and its greatest distance from the points."""

    links: Links
    at: FloatArray
    worst: float
    across: FloatArray


@dataclass(frozen=True, eq=False)
class Target:
    """Points in order along a stroke, and the least length a span may have; all in tolerances.

    `closes` asks the chain to end where it began, in the same direction too if `smoothly`.
    """

    points: ComplexArray
    least_length: float
    closes: bool = False
    smoothly: bool = False


class _Refiner:
    """One chain on its way; every step is taken or refused."""

    def __init__(self, links: Links, target: Target, at: FloatArray) -> None:
        self.target = target
        self.damping = _FIRST_DAMPING
        span, u = links.spans_at(at)
        self._take(place(links, span, u))

    def _take(self, placed: Placed) -> None:
        self.placed = placed
        self.across, self.along = self._offsets(placed)

    def _offsets(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        gap = (self.target.points - placed.z) * np.conj(placed.direction)
        return gap.imag, gap.real

    @property
    def worst(self) -> float:
        ends = (float(np.hypot(self.across[i], self.along[i])) for i in (0, -1))
        return max(float(np.abs(self.across).max()), *ends)

    def feet(self) -> FloatArray:
        """Where along the chain the feet should be, by one Newton step from where they are."""
        placed, links = self.placed, self.placed.links
        span, u, length = placed.span, placed.u, links.length[placed.span]
        bend = (links.turn[span] + links.skew[span] * (2 * u - 1)) / length
        step = self.along / np.maximum(1 - bend * self.across, 0.5)
        marks = links.marks_at
        at = marks[span] + u * length + np.clip(step, -_MOST_FOOT_STEP, _MOST_FOOT_STEP)
        at[0], at[-1] = 0.0, marks[-1]
        return np.clip(at, 0.0, marks[-1])

    def result(self) -> Refined:
        return Refined(self.placed.links, self.feet(), self.worst, self.across)

    def step(self, whole: bool = False, squeeze: bool = False) -> float:
        """One step; how far what is being made small fell, as a share of it (0 when no step helps)."""
        if not whole:
            span, u = self.placed.links.spans_at(self.feet())
            self._take(place(self.placed.links, span, u))
        placed = self.placed
        weight, pull, cost = _weighed(_stacked(self.across, self.along, whole), squeeze)
        slopes = self._slopes(whole)
        square, fall = (slopes.T * weight) @ slopes, slopes.T @ pull
        gap, gap_slopes = self._gap(placed)
        cost += _GAP_WEIGHT * float(gap @ gap)
        scale = np.sqrt(np.diag(square)) + 1e-9
        square, fall, gap_slopes = square / np.outer(scale, scale), fall / scale, gap_slopes / scale
        while self.damping < _MOST_DAMPING:
            move = _solved(square, fall, gap, gap_slopes, self.damping) / scale
            trial = place(placed.links.moved(move, self.target.least_length), placed.span, placed.u)
            new = _weighed(_stacked(*self._offsets(trial), whole), squeeze)[2]
            gap_left, _ = self._gap(trial)
            new += _GAP_WEIGHT * float(gap_left @ gap_left)
            if new <= cost:
                self.damping = max(self.damping / 10, _LEAST_DAMPING)
                self._take(trial)
                return (cost - new) / max(cost, 1e-300)
            self.damping = max(self.damping, 1e-6) * 10
        self.damping = _FIRST_DAMPING
        return 0.0

    def _slopes(self, whole: bool) -> FloatArray:
        direction = self.placed.direction
        rows = np.arange(len(direction))
        which = np.concatenate((rows, rows if whole else rows[[0, -1]]))
        return self.placed.slopes(
            np.concatenate((1j * direction, direction if whole else direction[[0, -1]])), which
        )

    def _gap(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        if not self.target.closes:
            return np.empty(0), np.empty((0, 1))
        return closing_gap(placed, self.target.smoothly)


def _stacked(across: FloatArray, along: FloatArray, whole: bool) -> FloatArray:
    return np.concatenate((across, along if whole else along[[0, -1]]))


def _weighed(offsets: FloatArray, squeeze: bool) -> tuple[FloatArray, FloatArray, float]:
    """Weight and pull of each row, and the cost; squeezing asks only for what is beyond the tolerance."""
    if not squeeze:
        return np.ones(len(offsets)), offsets, float(offsets @ offsets)
    beyond = offsets - np.clip(offsets, -_LET_BE, _LET_BE)
    cost = float(beyond @ beyond + _EVENNESS * (offsets @ offsets))
    return (beyond != 0.0) + _EVENNESS, beyond + _EVENNESS * offsets, cost


def _solved(
    square: FloatArray, fall: FloatArray, gap: FloatArray, gap_slopes: FloatArray, damping: float
) -> FloatArray:
    """The damped step; one that also closes the gap, by Lagrange's multipliers, where there is one."""
    damped = square + damping * np.eye(len(square))
    if not len(gap):
        return np.linalg.solve(damped, fall)
    size = len(square)
    whole = np.zeros((size + len(gap), size + len(gap)))
    whole[:size, :size] = damped
    whole[size:, :size] = gap_slopes
    whole[:size, size:] = gap_slopes.T
    # A gap that nothing moves (a lone line) leaves a zero row: least squares copes with it.
    return np.linalg.lstsq(whole, np.concatenate((fall, -gap)), rcond=1e-12)[0][:size]


def refined(links: Links, target: Target, at: FloatArray, drifted: bool = True) -> Refined:
    """Move the chain to the points, `at` being their places along it; bounded work."""
    refiner = _Refiner(links, target, at)
    for _ in range(_DRAWING_IN_STEPS if drifted else 0):
        refiner.step(whole=True)
        if refiner.worst < _DRAWN_IN:
            break
    for _ in range(_SETTLING_STEPS):
        if refiner.step() < _SETTLED:
            break
    if _GOOD < refiner.worst < _HOPELESS:
        for number in range(_SQUEEZING_STEPS):
            refiner.step(squeeze=True)
            if refiner.worst <= _GOOD or refiner.worst > _MUST_REACH.get(number, np.inf):
                break
    return refiner.result()


def polished(start: Refined, target: Target) -> Refined:
    """Least squares to the last digit."""
    refiner = _Refiner(start.links, target, start.at)
    for _ in range(_POLISHING_STEPS):
        if refiner.step() < _POLISHED:
            break
    return refiner.result()
