"""How a finished piece feels in the hand: what opens it, how far it springs, where it first takes a set.

The piece is the curved bar of varying section that it is, loaded in one of the ways of a `Question`. Small
movements, elastic up to the set, stress as in a straight bar. Sources stand beside the formulas in
`bar_loads`, `bar_limits` and `yielding`. Each number is computed when it is first asked for.
"""

from __future__ import annotations

import math
from functools import cached_property

from formsketch.evaluation.bar import FloatArray, Places
from formsketch.evaluation.bar_limits import elastic_stress_mpa
from formsketch.evaluation.bar_loads import Moments
from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.evaluation.feel_question import Question
from formsketch.evaluation.loaded_bar import LoadedBar
from formsketch.evaluation.yielding import Softened
from formsketch.values import Result, Value

MPA_PER_GPA = 1000.0


class WirePlace(Value, frozen=True):
    """A place on the wire: distance from the start mark along the finished wire, the sample of the trace
    with its fraction, and the span's number from 0, None on an end.
    """

    along_mm: float
    sample: float
    span: int | None


class Limit(Value, frozen=True):
    """What is reached first somewhere on the wire: at this load, having moved so far, there.

    `at_least`: the strength of the hammered metal there is not known; load and move are lower bounds, and
    `high` may be infinite.
    """

    load: Band
    move: Band
    place: WirePlace
    at_least: bool


class Along(Result, frozen=True):
    """The wire under a load, at each sample of the trace: moments N mm; stress and yield MPa, nan unknown."""

    along_mm: FloatArray
    moments: Moments
    stress_mpa: FloatArray
    yield_mpa: FloatArray


class Feel:
    """The answer to a question. Loads are N and moves mm; of `wrist` they are N mm and degrees."""

    def __init__(self, loaded: LoadedBar) -> None:
        self._loaded = loaded
        self.question: Question = loaded.question
        self.from_mm, self.to_mm = loaded.load.from_mm, loaded.load.to_mm
        turns = self.question.kind == "wrist"
        self.load_unit, self.move_unit = ("N mm", "°") if turns else ("N", "mm")
        self._unit = math.degrees(1.0) if turns else 1.0

    @property
    def evaluation(self) -> Evaluation:
        return self._loaded.evaluation

    @cached_property
    def load_per_move(self) -> Band:
        """Stiffness: load for a move of 1; its band is that of the metal's stiffness and the hammer."""
        metal, loaded = self.evaluation.metal, self._loaded
        least, most = loaded.given_at_band
        per_gpa = MPA_PER_GPA / self._unit
        return Band(
            metal.e_mid_gpa * per_gpa / loaded.given,
            metal.e_low_gpa * per_gpa / most,
            metal.e_high_gpa * per_gpa / least,
        )

    def load_for(self, move: float) -> Band:
        """The load that moves it so far while it stays elastic."""
        k = self.load_per_move
        return Band(k.value * move, k.low * move, k.high * move)

    def move_for(self, load: float) -> Band:
        """How far a load moves it while it stays elastic."""
        k = self.load_per_move
        return Band(load / k.value, load / k.high, load / k.low)

    @cached_property
    def first_set(self) -> Limit | None:
        """Where and when its surface first yields, so that it does not quite come back; None if unknown."""
        return self._limit(self._loaded.softened)

    @cached_property
    def hinge(self) -> Limit | None:
        """Where and when a section first yields right through and bends there to stay.

        The load is right; the move is that of an elastic piece, and the true one is larger.
        """
        return self._limit(self._loaded.softened, right_through=True)

    @cached_property
    def first_set_annealed(self) -> Limit | None:
        """The first set if the whole piece were annealed after hammering."""
        low, high = self._loaded.bar.reach_mm
        return self._limit((Softened((low + high) / 2, high - low),))

    @property
    def round_diameter_mm(self) -> float:
        """The plain round wire compared with: as much metal, on the same centreline."""
        return self._loaded.round_diameter_mm

    @cached_property
    def stiffness_to_round(self) -> float:
        """How many times as stiff as that plain round wire."""
        return self._loaded.as_round[0] / self._loaded.given

    @cached_property
    def set_to_round(self) -> float | None:
        """How many times the load of first set of that plain round wire, annealed; None if unknown."""
        _, load = self._loaded.as_round
        return None if load is None or self.first_set is None else self.first_set.load.value / load

    @property
    def left_out_share(self) -> float:
        """Bound on what stretching and shear of the wire would add to a move, as a share of it."""
        return self._loaded.left_out

    @property
    def reach_mm(self) -> float:
        """How far the loaded stretch reaches; moves are to be small beside it."""
        return self._loaded.reach_mm

    def along(self, load: float) -> Along:
        """Moments, stress and yield at each sample of the trace under a load."""
        trace = self.evaluation.own_trace
        places = self._loaded.bar.at(trace.part, trace.u)
        unit = self._loaded.moments(places)
        moments = Moments(load * unit.in_plane, load * unit.out_of_plane, load * unit.torque)
        strength = self._loaded.yields(places, self._loaded.softened).counted
        return Along(places.along_mm, moments, elastic_stress_mpa(moments, places), strength)

    def _limit(self, softened: tuple[Softened, ...], right_through: bool = False) -> Limit | None:
        found = self._loaded.first_yield(softened, right_through)
        if found is None:
            return None
        k = self.load_per_move
        return Limit(
            Band(found.load, found.low, found.high),
            Band(found.load / k.value, found.low / k.high, found.high / k.low),
            self._wire_place(found.place),
            found.at_least,
        )

    def _wire_place(self, place: Places) -> WirePlace:
        trace, spans = self.evaluation.own_trace, self.evaluation.chain.spans
        part, u = int(place.part[0]), float(place.u[0])
        if u == 1.0 and part + 1 < spans.stop:
            # A mark belongs to the span that begins there.
            part, u = part + 1, 0.0
        intervals = int(trace.first[part + 1] - trace.first[part] - 1)
        span = part - spans.start if spans.start <= part < spans.stop else None
        return WirePlace(float(place.along_mm[0]), float(trace.first[part]) + u * intervals, span)


def feel_of(evaluation: Evaluation, question: Question | None = None) -> Feel:
    """How a form answers a question, by default what opens it. Raises `NoFeel` where nothing is bent."""
    return Feel(LoadedBar(evaluation, question or Question()))
