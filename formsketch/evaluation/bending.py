"""Bending every span at the bench: which tube, how far past the turn, where the marks stand.

Everything here is of the straight, unhammered wire. Spring-back is a range: annealed wire over its yield and
stiffness, down to hard-drawn wire where its yield is known; hand tension lessens it, down to none.

At a tight bend the line that keeps its length moves inward: bend allowance = angle (r + K d), r the inside
radius. K = 0.5 for r >= 2 d and 0.33 at the tightest, as for sheet (Groover, Fundamentals of Modern
Manufacturing; Kalpakjian & Schmid, Manufacturing Engineering and Technology; from memory), here on a
straight line between r = 0 and 2 d. So a tight bend needs angle x d x (0.5 - K) less wire than its middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from formsketch.bench.metals import Metal, temper_at
from formsketch.bench.tempers import strip_reduction_percent
from formsketch.bench.tubes import Tube, nearest_tubes
from formsketch.evaluation.bend_marks import grip_marks_mm
from formsketch.forging.section import FloatArray
from formsketch.forging.springback import (
    LEAST_TUBE_RADIUS_TO_DIAMETER,
    MODULUS_DROP,
    free_radius_mm,
    outer_fibre_strain,
    tube_radius_mm,
)
from formsketch.geometry.spans import unit_gauss
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# Bend allowance (see above): K at a loose bend and at the tightest.
K_LOOSE, K_TIGHT = 0.5, 0.33
# Sound wire wraps round a rod of its own diameter (wrapping test for wire, ISO 7802; from memory).
LEAST_TUBE_TO_WIRE = 1.0
# B&S numbers that hard-drawn wire has been worked by, as strip.
_HARD_NUMBERS = 4
# Turn of a span that is a bend at all, degrees, as everywhere in the numbers.
_LEAST_TURN_RAD = 1e-9
# Wire bent unevenly is summed at as many places.
_NODES, _WEIGHTS = unit_gauss(16)


class Spring(Value, frozen=True):
    """One case of spring-back: yield and stiffness as they act on unloading."""

    yield_mpa: float
    e_mpa: float


class Springs(Value, frozen=True):
    """Annealed wire in the middle, least and most springy; hard-drawn wire where its yield is known."""

    middle: Spring
    least: Spring
    most: Spring
    hard: Spring | None


class OnTube(Value, frozen=True):
    """What a tube that is there gives, annealed and let go.

    `finished_radius_mm` of the centreline once hammered, with its range; `inside_mm` the opening then, at the
    widest place; `kept` the share of the turn kept; `held_deg` how far to turn it round the tube for the turn
    wanted; `wrapped_deg` the turn it keeps when all the wire of the span is laid round the tube. Radii are
    None where the wire springs fully straight, angles also where the span does not turn evenly.
    """

    tube: Tube
    finished_radius_mm: float | None
    finished_radius_range_mm: tuple[float | None, float | None]
    inside_mm: float | None
    kept: float
    held_deg: float | None
    wrapped_deg: float | None


class SpanBend(Value, frozen=True):
    """How one span is bent; None where a straight span, an unknown yield or too tight a bend leaves nothing.

    `turn_deg` is the turn before hammering, which uneven blows change. Radius, tube, share kept and strain
    are those of the tightest place. `held_deg` is the turn to bend to before letting go, None where the span
    turns both ways. `round_from_mm` and `round_to_mm` are the pen marks for laying it round a tube (tangent
    points), `grip_at_mm` the one mark its bend is centred on when gripped there, None where it turns both
    ways. `stock_length_mm` is the wire it takes by its middle, `corrected_length_mm` by the line that keeps
    its length in tight bends.
    """

    turn_deg: float
    as_bent_radius_mm: float | None
    tube_mm: float | None
    tube_range_mm: tuple[float, float] | None
    hard_tube_mm: float | None
    kept: float | None
    held_deg: float | None
    held_range_deg: tuple[float, float] | None
    outer_strain: float | None
    stock_length_mm: float
    corrected_length_mm: float
    round_from_mm: float
    round_to_mm: float
    grip_at_mm: float | None
    on_tubes: tuple[OnTube, ...]
    caution: str


def springs_of(metal: Metal) -> Springs | None:
    """The range of spring-back of a metal, None when its soft yield is not known.

    The most springy case takes the stiffness as it is after strain, lower by up to MODULUS_DROP.
    """
    middle, low, high = metal.soft_yield_mid_mpa, metal.soft_yield_low_mpa, metal.soft_yield_high_mpa
    if middle is None or low is None or high is None:
        return None
    e_most = 1000 * metal.e_low_gpa * (1 - MODULUS_DROP[1])
    hard_mpa = temper_at(metal, strip_reduction_percent(_HARD_NUMBERS)).yield_mpa
    return Springs(
        Spring(middle, 1000 * metal.e_mid_gpa),
        Spring(low, 1000 * metal.e_high_gpa),
        Spring(high, e_most),
        None if hard_mpa is None else Spring(hard_mpa, e_most),
    )


def k_factor(inside_radius_mm: ArrayLike, diameter_mm: float) -> FloatArray:
    """K of the bend allowance: 0.33 at an inside radius of 0, rising evenly to 0.5 at two wire diameters."""
    loose = np.asarray(inside_radius_mm, dtype=np.float64) / (LEAST_TUBE_RADIUS_TO_DIAMETER * diameter_mm)
    return np.asarray(K_TIGHT + (K_LOOSE - K_TIGHT) * np.clip(loose, 0.0, 1.0))


def shorter_by_mm(angle_rad: ArrayLike, inside_radius_mm: ArrayLike, diameter_mm: float) -> FloatArray:
    """Wire saved by a bend against the length of its middle, angle x d x (0.5 - K)."""
    return np.asarray(
        np.abs(angle_rad) * diameter_mm * (K_LOOSE - k_factor(inside_radius_mm, diameter_mm)),
        dtype=np.float64,
    )


def bending_of(evaluation: Evaluation, tubes: Sequence[Tube] = ()) -> tuple[SpanBend, ...]:
    """How each span is bent, repeats written out; `tubes` are those at hand, the nearest two are tried."""
    work = _Work(evaluation, tubes)
    return tuple(work.span(i) for i in range(len(evaluation.spans.turn_deg)))


class _Work:
    """What all spans are worked out from, in arrays of shape (spans,) or (spans, nodes)."""

    def __init__(self, evaluation: Evaluation, tubes: Sequence[Tube]) -> None:
        e = evaluation
        self.e, self.tubes, self.d = e, tubes, e.diameter_mm
        self.springs = springs_of(e.metal)
        # Before hammering: uneven blows turn the wire further, or back.
        self.turn = np.deg2rad(e.spans.as_bent_turn_deg)
        self.skew = np.deg2rad(e.spans.as_bent_skew_deg)
        stock = e.spans.stock_length_mm
        # Angle per step of the wire, and its as-bent radius there.
        self.angle = np.abs(self.turn[:, None] + self.skew[:, None] * (2 * _NODES - 1))
        self.bends = self.angle > _LEAST_TURN_RAD
        self.radius = np.where(self.bends, stock[:, None] / np.where(self.bends, self.angle, 1.0), np.inf)
        inside = np.maximum(self._held_mm("middle") - self.d / 2, 0.0)
        saved = np.where(self.bends, shorter_by_mm(self.angle, inside, self.d), 0.0)
        self.corrected = stock - saved @ _WEIGHTS
        self.grip = grip_marks_mm(e)
        self.one_way = np.abs(self.skew) <= np.abs(self.turn)
        self.held_deg = {which: self._held_deg(which) for which in ("middle", "least", "most")}
        self.tubes_mm = {which: self._tube_mm(which) for which in ("middle", "least", "most", "hard")}
        self._on_tubes: dict[tuple[float, ...], tuple[OnTube, ...]] = {}

    def _spring(self, which: str) -> Spring | None:
        return None if self.springs is None else getattr(self.springs, which)

    def _held_mm(self, which: str) -> FloatArray:
        """Centreline radius to hold the wire to at each node so that it springs to the one wanted."""
        spring = self._spring(which)
        held = self.radius.copy()
        if spring is not None and self.bends.any():
            wanted = self.radius[self.bends]
            tube = tube_radius_mm(wanted, self.d, spring.yield_mpa, spring.e_mpa)
            held[self.bends] = tube + self.d / 2
        return held

    def _held_deg(self, which: str) -> FloatArray:
        """Turn before letting go, signed as the span turns; nan where it turns both ways or is not known."""
        if self._spring(which) is None:
            return np.full(len(self.turn), np.nan)
        with np.errstate(invalid="ignore"):
            held = np.where(self.bends, self.angle * self.radius / self._held_mm(which), 0.0) @ _WEIGHTS
        return np.where(self.one_way, np.sign(self.turn) * np.rad2deg(held), np.nan)

    def _tube_mm(self, which: str) -> FloatArray:
        """Diameter of the tube for the tightest place of each span; nan for none."""
        tube = np.full(len(self.turn), np.nan)
        spring, radius = self._spring(which), self.e.spans.as_bent_radius_mm
        curved = np.isfinite(radius)
        if spring is not None and curved.any():
            tube[curved] = 2 * tube_radius_mm(radius[curved], self.d, spring.yield_mpa, spring.e_mpa)
        return np.where(tube > 0, tube, np.nan)

    def span(self, i: int) -> SpanBend:
        """One span's numbers."""
        e, spans = self.e, self.e.spans
        radius_mm, begin, stock_mm = (
            float(spans.as_bent_radius_mm[i]),
            float(spans.stock_from_mm[i]),
            float(spans.stock_length_mm[i]),
        )
        curved = math.isfinite(radius_mm)
        tube_mm = _known(spans.tube_diameter_mm[i])
        held, held_low, held_high = (_known(self.held_deg[w][i]) for w in ("middle", "least", "most"))
        tubes_low, tubes_high = (_known(self.tubes_mm[w][i]) for w in ("most", "least"))
        kept = None
        if tube_mm is not None and self.springs is not None:
            kept = (tube_mm + self.d) / (2 * radius_mm)
        strain = float(outer_fibre_strain(radius_mm, self.d)) if curved else None
        return SpanBend(
            turn_deg=float(spans.as_bent_turn_deg[i]),
            as_bent_radius_mm=radius_mm if curved else None,
            tube_mm=tube_mm,
            tube_range_mm=None if tubes_low is None or tubes_high is None else (tubes_low, tubes_high),
            hard_tube_mm=_known(self.tubes_mm["hard"][i]),
            kept=kept,
            held_deg=held if curved else None,
            held_range_deg=(held_low, held_high)
            if curved and held_low is not None and held_high is not None
            else None,
            outer_strain=strain,
            stock_length_mm=stock_mm,
            corrected_length_mm=float(self.corrected[i]),
            round_from_mm=begin,
            round_to_mm=begin + stock_mm,
            grip_at_mm=self.grip[i],
            on_tubes=() if tube_mm is None else self._tried(i, tube_mm, radius_mm),
            caution=_caution(e, tube_mm, strain),
        )

    def _tried(self, i: int, tube_mm: float, radius_mm: float) -> tuple[OnTube, ...]:
        """The two tubes nearest to the one wanted, thinner first; like spans are tried once."""
        spans = self.e.spans
        alike = (
            tube_mm,
            radius_mm,
            *(float(a[i]) for a in (self.turn, spans.stock_length_mm, spans.widest_mm)),
        )
        if alike not in self._on_tubes:
            near = sorted(nearest_tubes(tube_mm, self.tubes, 2), key=lambda tube: tube.diameter_mm)
            self._on_tubes[alike] = tuple(self._on_tube(i, tube, radius_mm) for tube in near)
        return self._on_tubes[alike]

    def _on_tube(self, i: int, tube: Tube, radius_mm: float) -> OnTube:
        spans = self.e.spans
        longer = float(spans.finished_radius_mm[i]) / radius_mm
        free = {which: self._free_mm(tube, which) for which in ("middle", "least", "most")}
        finished = {which: longer * free_mm for which, free_mm in free.items()}
        kept = (tube.diameter_mm + self.d) / 2 / free["middle"]
        flares, flare = self.e.flares, self.e.chain.flare[self.e.chain.spans][i]
        plan_mm = self.d if flares.on_edge[flare] else float(spans.widest_mm[i])
        turn_deg = float(spans.as_bent_turn_deg[i])
        even = abs(float(self.skew[i])) <= _LEAST_TURN_RAD
        wrapped = math.copysign(math.degrees(float(spans.stock_length_mm[i]) / free["middle"]), turn_deg)
        return OnTube(
            tube=tube,
            finished_radius_mm=_known(finished["middle"]),
            finished_radius_range_mm=(_known(finished["least"]), _known(finished["most"])),
            inside_mm=_known(2 * finished["middle"] - plan_mm),
            kept=kept,
            held_deg=turn_deg / kept if even and kept > 0 else None,
            wrapped_deg=wrapped if even else None,
        )

    def _free_mm(self, tube: Tube, which: str) -> float:
        """Centreline radius after letting go of a tube; without a known yield nothing springs."""
        spring = self._spring(which)
        if spring is None:
            return (tube.diameter_mm + self.d) / 2
        return float(free_radius_mm(tube.diameter_mm / 2, self.d, spring.yield_mpa, spring.e_mpa))


def _caution(evaluation: Evaluation, tube_mm: float | None, strain: float | None) -> str:
    """What to mind at a tight bend, '' at others."""
    if strain is None:
        return ""
    stretched = f"the outside stretches by {100 * strain:.0f} %"
    d = evaluation.diameter_mm
    if tube_mm is None:
        return f"tighter than any tube allows; {stretched}"
    if tube_mm < LEAST_TUBE_TO_WIRE * d:
        return f"under the least radius, a rod as thick as the wire: it may crack; {stretched}"
    if tube_mm < 2 * LEAST_TUBE_RADIUS_TO_DIAMETER * d:
        return f"tube radius under two wire diameters, the middle lengthens; {stretched}"
    return ""


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
