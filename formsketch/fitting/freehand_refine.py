"""All numbers of a chain moved together until it passes as near as it can to the points of a stroke.

Levenberg-Marquardt on the distances across the curve; each point's foot follows along the chain from where
the stroke was when it was drawn, so that crossings do not confuse it. Lengths are in tolerances.
"""

from __future__ import annotations

import numpy as np

from formsketch.fitting.freehand_chain import Links, Placed, closing_gap, place
from formsketch.fitting.freehand_corners import TURNS_BACK_RAD
from formsketch.fitting.freehand_target import Refined, Target
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Result

# First whole offsets count, so that a chain that has drifted finds back; then distances only.
_DRAWING_IN_STEPS, _DRAWN_IN = 4, 2.5
_SETTLING_STEPS, _SQUEEZING_STEPS, _POLISHING_STEPS = 10, 14, 12
_SETTLED, _POLISHED = 0.02, 1e-9
# Least squares make the root mean square least, and where all keep within 1 it is hardly above this.
_HOPELESS_RMS = 0.65
# Distances up to here are let be while larger ones are squeezed; what is below _GOOD is good enough.
_LET_BE, _GOOD, _EVENNESS = 0.9, 0.97, 0.002
# Squeezing that has not come this near after so many steps will not succeed.
_MUST_REACH = {3: 1.35, 6: 1.15, 10: 1.05}
_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING = 1e-4, 1e-12, 1e6
_AS_EXPECTED, _FAR_LESS = 0.75, 0.25
_MOST_FOOT_STEP = 3.0
# A point this near to the centre of a bend has no sure foot.
_LEAST_CLEAR = 0.3
# Where a stroke turns back, its tip is among the points as near as this.
_NEAR_TIP = 5.0
# A closing gap counts this much more than a distance when a step is judged.
_GAP_WEIGHT = 1e4
# Products up to this size are done on one core: on a busy machine waiting for another costs far more.
_SMALL_PRODUCT = 2**18


class _State(Result, frozen=True):
    """A chain with feet placed on it, and the offsets of the points seen from them.

    `across` and `along` are measured from the foot. `distance` is that to the chain's circle of curvature at
    the foot and `astray` how far along that circle the true foot is, `leaning` the turn to there. `spikes`
    lead from each sharp bend of the chain, placed after the feet, to the nearest place of the stroke, or to
    its tip where it turns back: a spike that has no point near is seen from no foot, nor is one cut short.
    """

    placed: Placed
    across: FloatArray
    along: FloatArray
    distance: FloatArray
    astray: FloatArray
    leaning: FloatArray
    spikes: ComplexArray

    @property
    def worst(self) -> float:
        ends = (float(np.hypot(self.across[i], self.along[i])) for i in (0, -1))
        return max(float(np.abs(self.distance).max()), float(np.abs(self.spikes).max(initial=0.0)), *ends)

    @property
    def rows(self) -> FloatArray:
        """What is to be small: all distances, how far the two ends are off along the chain, spikes."""
        return np.concatenate((self.distance, self.along[[0, -1]], np.abs(self.spikes)))

    def slopes(self) -> FloatArray:
        """Slopes of the rows, with the sign of a point that is being reached."""
        count = len(self.distance)
        normal = 1j * self.placed.direction[:count] * np.exp(1j * self.leaning)
        ends = np.array([0, count - 1])
        length = np.abs(self.spikes)
        ways = np.where(length > 0, self.spikes, 1.0) / np.where(length > 0, length, 1.0)
        which = np.concatenate((np.arange(count), ends, count + np.arange(len(length))))
        return self.placed.slopes(np.concatenate((normal, self.placed.direction[ends], ways)), which)


def _state(links: Links, at: FloatArray, target: Target) -> _State:
    """The chain with feet at these places along it, the last at its end."""
    count, bends = len(at), np.flatnonzero(links.bends)
    span, u = links.spans_at(at)
    u[-1] = 1.0
    placed = place(links, np.concatenate((span, bends)), np.concatenate((u, np.zeros(len(bends)))))
    gap = (target.points - placed.z[:count]) * np.conj(placed.direction[:count])
    along, across = gap.real, gap.imag
    bend = (links.turn[span] + links.skew[span] * (2 * u - 1)) / links.length[span]
    clear = np.maximum(1 - bend * across, _LEAST_CLEAR)
    sideways = bend * along
    # The two ends have their feet at the chain's ends, wherever these are.
    sideways[[0, -1]] = 0.0
    distance = across - sideways * along / (clear + np.hypot(clear, sideways))
    spikes = _to_nearest(placed.z[count:], target.points)
    for number in np.flatnonzero(np.abs(links.corner[bends]) > TURNS_BACK_RAD):
        mark = complex(placed.z[count + number])
        spikes[number] = _to_tip(mark, links, int(bends[number]), target.points, at) or spikes[number]
    return _State(placed, across, along, distance, along / clear, np.arctan2(sideways, clear), spikes)


def _to_nearest(marks: ComplexArray, points: ComplexArray) -> ComplexArray:
    """From each mark to the nearest place on the line through points."""
    if not len(marks):
        return marks
    begin, way = points[:-1], np.diff(points)
    gap = begin - marks[:, None]
    square = np.maximum(way.real**2 + way.imag**2, 1e-30)
    along = np.clip(-(gap.real * way.real + gap.imag * way.imag) / square, 0.0, 1.0)
    gaps = gap + along * way
    return np.asarray(gaps[np.arange(len(marks)), np.argmin(np.abs(gaps), axis=1)])


def _to_tip(mark: complex, links: Links, span: int, points: ComplexArray, at: FloatArray) -> complex:
    """From where the chain turns back to the furthest point near there, in the way it went before."""
    near = points[np.abs(at - links.marks_at[span]) <= _NEAR_TIP]
    if not len(near):
        return 0j
    onward = np.exp(-1j * (links.heading_from[span] - links.corner[span]))
    return complex(near[np.argmax((near * onward).real)] - mark)


class _Refiner:
    """One chain on its way; every step is taken or refused."""

    def __init__(self, links: Links, target: Target, at: FloatArray) -> None:
        self.target = target
        self.damping = _FIRST_DAMPING
        self.state = _state(links, at, target)

    @property
    def worst(self) -> float:
        return self.state.worst

    def feet(self) -> FloatArray:
        """Where along the chain the feet should be."""
        placed, links, count = self.state.placed, self.state.placed.links, len(self.state.astray)
        span, marks = placed.span[:count], links.marks_at
        at = marks[span] + placed.u[:count] * links.length[span]
        at += np.clip(self.state.astray, -_MOST_FOOT_STEP, _MOST_FOOT_STEP)
        at[0], at[-1] = 0.0, marks[-1]
        return np.clip(at, 0.0, marks[-1])

    def result(self, squeezed: bool) -> Refined:
        return Refined(self.state.placed.links, self.feet(), self.state.distance, self.worst, squeezed)

    def draw_in(self) -> bool:
        """A step that makes whole offsets small, along the chain too, the feet staying where they are."""
        state, placed, count = self.state, self.state.placed, len(self.state.along)
        way = placed.direction[:count]
        slopes = placed.slopes(np.concatenate((1j * way, way)), np.tile(np.arange(count), 2))
        slopes = slopes[:, self.target.fixed :]
        square, fall = _gram(slopes), _pulled(slopes, np.concatenate((state.across, state.along)))
        move = np.linalg.solve(square + _FIRST_DAMPING * np.diag(np.diag(square)), fall)
        links = self._moved(np.asarray(move, dtype=float))
        self.target.effort.spend(*slopes.shape)
        if not self.target.allows(links):
            return False
        # The feet keep their share of their spans.
        span = placed.span[:count]
        self.state = _state(links, links.marks_at[span] + placed.u[:count] * links.length[span], self.target)
        return self.worst > _DRAWN_IN

    def step(self, squeeze: bool = False) -> float:
        """One step; how far what is being made small fell, as a share of it (0 when no step helps).

        The feet follow one step behind, which saves placing the points twice.
        """
        placed, target = self.state.placed, self.target
        slopes = self.state.slopes()[:, target.fixed :]
        target.effort.spend(*slopes.shape)
        let_be = _LET_BE * target.within if squeeze else None
        weight, pull, cost = _weighed(self.state.rows, let_be)
        square, fall = _gram(slopes, weight), _pulled(slopes, pull)
        gap, gap_slopes = self._gap(placed)
        cost += _GAP_WEIGHT * float(gap @ gap)
        scale = np.sqrt(np.diag(square)) + 1e-9
        square, fall, gap_slopes = square / np.outer(scale, scale), fall / scale, gap_slopes / scale
        at = self.feet()
        while self.damping < _MOST_DAMPING:
            move = _solved(square, fall, gap, gap_slopes, self.damping)
            links = self._moved(move / scale)
            if target.allows(links):
                trial = _state(links, at, target)
                gap_left, _ = self._gap(trial.placed)
                new = _weighed(trial.rows, let_be)[2] + _GAP_WEIGHT * float(gap_left @ gap_left)
                if new <= cost:
                    expected = float(move @ (2 * fall - square @ move))
                    if cost - new > _AS_EXPECTED * expected:
                        self.damping = max(self.damping / 3, _LEAST_DAMPING)
                    elif cost - new < _FAR_LESS * expected:
                        self.damping *= 3
                    self.state = trial
                    return (cost - new) / max(cost, 1e-300)
            self.damping = max(self.damping, _FIRST_DAMPING) * 10
        self.damping = _FIRST_DAMPING
        self.state = _state(placed.links, at, target)
        return 0.0

    def _moved(self, move: FloatArray) -> Links:
        whole = np.concatenate((np.zeros(self.target.fixed), move))
        return self.state.placed.links.moved(whole, self.target.least_length)

    def _gap(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        if not self.target.closes:
            return np.empty(0), np.empty((0, 1))
        return closing_gap(placed, 0, len(self.target.points) - 1, self.target.smoothly)


def _gram(slopes: FloatArray, weight: FloatArray | None = None) -> FloatArray:
    """The weighted products of all columns with one another."""
    weighted = slopes if weight is None else slopes * weight[:, None]
    rows = max(1, _SMALL_PRODUCT // slopes.shape[1] ** 2)
    return np.asarray(
        sum(weighted[i : i + rows].T @ slopes[i : i + rows] for i in range(0, len(slopes), rows))
    )


def _pulled(slopes: FloatArray, pull: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,i->j", slopes, pull))


def _weighed(offsets: FloatArray, let_be: float | None) -> tuple[FloatArray, FloatArray, float]:
    """Weight and pull of each row, and the cost; what is let be counts for next to nothing."""
    if let_be is None:
        return np.ones(len(offsets)), offsets, float(offsets @ offsets)
    beyond = offsets - np.clip(offsets, -let_be, let_be)
    cost = float(beyond @ beyond + _EVENNESS * (offsets @ offsets))
    return (beyond != 0.0) + _EVENNESS, beyond + _EVENNESS * offsets, cost


def _solved(
    square: FloatArray, fall: FloatArray, gap: FloatArray, gap_slopes: FloatArray, damping: float
) -> FloatArray:
    """The damped step; one that also closes the gap, by Lagrange's multipliers, where there is one."""
    damped = square + damping * np.eye(len(square))
    if not len(gap):
        return np.asarray(np.linalg.solve(damped, fall), dtype=float)
    size = len(square)
    both = np.zeros((size + len(gap), size + len(gap)))
    both[:size, :size] = damped
    both[size:, :size] = gap_slopes
    both[:size, size:] = gap_slopes.T
    # A gap that nothing moves (a lone line) leaves a zero row: least squares copes with it.
    solution = np.linalg.lstsq(both, np.concatenate((fall, -gap)), rcond=1e-12)[0]
    return np.asarray(solution[:size], dtype=float)


def refined(links: Links, target: Target, at: FloatArray, drifted: bool = True) -> Refined:
    """Move the chain to the points, `at` being their places along it; bounded work.

    A chain that has not `drifted` passes near the points already.
    """
    refiner, effort = _Refiner(links, target, at), target.effort
    for _ in range(_DRAWING_IN_STEPS if drifted else 0):
        if effort.left < 0 or not refiner.draw_in():
            break
    for _ in range(_SETTLING_STEPS):
        if effort.left < 0 or refiner.step() < _SETTLED:
            break
    rms = float(np.sqrt(np.mean(refiner.state.distance**2)))
    good = _GOOD * target.within
    squeezing = refiner.worst > good and rms < _HOPELESS_RMS * target.within
    best = refiner.worst
    for number in range(_SQUEEZING_STEPS if squeezing else 0):
        if effort.left < 0:
            break
        refiner.step(squeeze=True)
        best = min(best, refiner.worst)
        if refiner.worst <= good or best > _MUST_REACH.get(number, np.inf) * target.within:
            break
    return refiner.result(squeezing)


def unrefined(links: Links, target: Target, at: FloatArray) -> Refined:
    """A chain as it is."""
    return _Refiner(links, target, at).result(False)


def polished(start: Refined, target: Target) -> Refined:
    """Least squares to the last digit."""
    refiner = _Refiner(start.links, target, start.at)
    for _ in range(_POLISHING_STEPS):
        if target.effort.left < 0 or refiner.step() < _POLISHED:
            break
    return refiner.result(False)
