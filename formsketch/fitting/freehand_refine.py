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

# First whole offsets count, so that a chain that has drifted finds back; then distances only.
_DRAWING_IN_STEPS, _DRAWN_IN = 4, 4.0
_SETTLING_STEPS, _SQUEEZING_STEPS, _POLISHING_STEPS = 10, 16, 12
_SETTLED, _POLISHED = 0.01, 1e-9
# Least squares make the root mean square least, and where all keep within 1 it is hardly above this.
_HOPELESS_RMS = 0.65
# Distances up to here are let be while larger ones are squeezed; what is below _GOOD is good enough.
_LET_BE, _GOOD, _EVENNESS = 0.9, 0.97, 0.002
# Squeezing that has not come this near after so many steps will not succeed.
_MUST_REACH = {4: 1.35, 8: 1.16, 12: 1.06}
_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING = 1e-4, 1e-12, 1e6
_AS_EXPECTED = 0.75
_MOST_FOOT_STEP = 3.0
# A point this near to the centre of a bend has no sure foot.
_LEAST_CLEAR = 0.3
# A closing gap counts this much more than a distance when a step is judged.
_GAP_WEIGHT = 1e4


@dataclass(frozen=True, eq=False)
class Refined:
    """A chain, where along it each point has its foot, and how far each is from it, left positive."""

    links: Links
    at: FloatArray
    across: FloatArray
    worst: float
    squeezed: bool


@dataclass(frozen=True, eq=False)
class Target:
    """Points in order along a stroke, and the least length a span may have; all in tolerances.

    `closes` asks the chain to end where it began, in the same direction too if `smoothly`.
    """

    points: ComplexArray
    least_length: float
    closes: bool = False
    smoothly: bool = False


@dataclass(frozen=True, eq=False)
class _State:
    """A chain with feet placed on it, and the offsets of the points seen from them.

    `across` and `along` are measured from the foot. `distance` is that to the chain's circle of curvature at
    the foot and `astray` how far along that circle the true foot is, `leaning` the turn to there.
    """

    placed: Placed
    across: FloatArray
    along: FloatArray
    distance: FloatArray
    astray: FloatArray
    leaning: FloatArray

    @property
    def worst(self) -> float:
        ends = (float(np.hypot(self.across[i], self.along[i])) for i in (0, -1))
        return max(float(np.abs(self.distance).max()), *ends)


def _state(placed: Placed, target: Target) -> _State:
    links, span, u = placed.links, placed.span, placed.u
    gap = (target.points - placed.z) * np.conj(placed.direction)
    along, across = gap.real, gap.imag
    bend = (links.turn[span] + links.skew[span] * (2 * u - 1)) / links.length[span]
    clear = np.maximum(1 - bend * across, _LEAST_CLEAR)
    sideways = bend * along
    # The two ends have their feet at the chain's ends, wherever these are.
    sideways[[0, -1]] = 0.0
    distance = across - sideways * along / (clear + np.hypot(clear, sideways))
    return _State(placed, across, along, distance, along / clear, np.arctan2(sideways, clear))


class _Refiner:
    """One chain on its way; every step is taken or refused."""

    def __init__(self, links: Links, target: Target, at: FloatArray) -> None:
        self.target = target
        self.damping = _FIRST_DAMPING
        self.state = self._placed(links, at)

    @property
    def worst(self) -> float:
        return self.state.worst

    def feet(self) -> FloatArray:
        """Where along the chain the feet should be."""
        placed, links = self.state.placed, self.state.placed.links
        marks = links.marks_at
        at = marks[placed.span] + placed.u * links.length[placed.span]
        at += np.clip(self.state.astray, -_MOST_FOOT_STEP, _MOST_FOOT_STEP)
        at[0], at[-1] = 0.0, marks[-1]
        return np.clip(at, 0.0, marks[-1])

    def result(self, squeezed: bool) -> Refined:
        return Refined(self.state.placed.links, self.feet(), self.state.distance, self.worst, squeezed)

    def draw_in(self) -> None:
        """One step that makes whole offsets small, along the chain too, the feet staying where they are."""
        state = self.state
        placed = state.placed
        ways = np.concatenate((1j * placed.direction, placed.direction))
        slopes = placed.slopes(ways, np.tile(np.arange(len(placed.z)), 2))
        offsets = np.concatenate((state.across, state.along))
        square, fall = slopes.T @ slopes, slopes.T @ offsets
        move = np.linalg.solve(square + _FIRST_DAMPING * np.diag(np.diag(square)), fall)
        links = placed.links.moved(move, self.target.least_length)
        self.state = _state(place(links, placed.span, placed.u), self.target)

    def step(self, squeeze: bool = False) -> float:
        """One step; how far what is being made small fell, as a share of it (0 when no step helps).

        The feet follow one step behind, which saves placing the points twice.
        """
        state = self.state
        placed = state.placed
        offsets, slopes = _rows(state), self._slopes()
        weight, pull, cost = _weighed(offsets, squeeze)
        square, fall = (slopes.T * weight) @ slopes, slopes.T @ pull
        gap, gap_slopes = self._gap(placed)
        cost += _GAP_WEIGHT * float(gap @ gap)
        scale = np.sqrt(np.diag(square)) + 1e-9
        square, fall, gap_slopes = square / np.outer(scale, scale), fall / scale, gap_slopes / scale
        at = self.feet()
        while self.damping < _MOST_DAMPING:
            move = _solved(square, fall, gap, gap_slopes, self.damping)
            links = placed.links.moved(move / scale, self.target.least_length)
            trial = self._placed(links, at)
            new = _weighed(_rows(trial), squeeze)[2]
            gap_left, _ = self._gap(trial.placed)
            new += _GAP_WEIGHT * float(gap_left @ gap_left)
            if new <= cost:
                if cost - new > _AS_EXPECTED * float(move @ (2 * fall - square @ move)):
                    self.damping = max(self.damping / 10, _LEAST_DAMPING)
                self.state = trial
                return (cost - new) / max(cost, 1e-300)
            self.damping = max(self.damping, _FIRST_DAMPING) * 10
        self.damping = _FIRST_DAMPING
        self.state = self._placed(placed.links, at)
        return 0.0

    def _placed(self, links: Links, at: FloatArray) -> _State:
        span, u = links.spans_at(at)
        u[-1] = 1.0
        return _state(place(links, span, u), self.target)

    def _slopes(self) -> FloatArray:
        placed = self.state.placed
        normal = 1j * placed.direction * np.exp(1j * self.state.leaning)
        ends = np.array([0, -1])
        which = np.concatenate((np.arange(len(normal)), ends))
        return placed.slopes(np.concatenate((normal, placed.direction[ends])), which)

    def _gap(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        if not self.target.closes:
            return np.empty(0), np.empty((0, 1))
        return closing_gap(placed, self.target.smoothly)


def _rows(state: _State) -> FloatArray:
    """What is to be made small: all distances, and how far the two ends are off along the chain."""
    return np.concatenate((state.distance, state.along[[0, -1]]))


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
    both = np.zeros((size + len(gap), size + len(gap)))
    both[:size, :size] = damped
    both[size:, :size] = gap_slopes
    both[:size, size:] = gap_slopes.T
    # A gap that nothing moves (a lone line) leaves a zero row: least squares copes with it.
    return np.linalg.lstsq(both, np.concatenate((fall, -gap)), rcond=1e-12)[0][:size]


def refined(links: Links, target: Target, at: FloatArray, drifted: bool = True) -> Refined:
    """Move the chain to the points, `at` being their places along it; bounded work.

    A chain that has not `drifted` passes near the points already.
    """
    refiner = _Refiner(links, target, at)
    for _ in range(_DRAWING_IN_STEPS if drifted else 0):
        refiner.draw_in()
        if refiner.worst < _DRAWN_IN:
            break
    for _ in range(_SETTLING_STEPS):
        if refiner.step() < _SETTLED:
            break
    rms = float(np.sqrt(np.mean(refiner.state.distance**2)))
    squeezing = refiner.worst > _GOOD and rms < _HOPELESS_RMS
    best = refiner.worst
    for number in range(_SQUEEZING_STEPS if squeezing else 0):
        refiner.step(squeeze=True)
        best = min(best, refiner.worst)
        if refiner.worst <= _GOOD or best > _MUST_REACH.get(number, np.inf):
            break
    return refiner.result(squeezing)


def polished(start: Refined, target: Target) -> Refined:
    """Least squares to the last digit."""
    refiner = _Refiner(start.links, target, start.at)
    for _ in range(_POLISHING_STEPS):
        if refiner.step() < _POLISHED:
            break
    return refiner.result(False)
