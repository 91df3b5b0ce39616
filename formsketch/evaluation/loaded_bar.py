"""A form's wire as a bar under the unit load of a question: how it gives and where it first yields."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from formsketch.evaluation.bar import Bar, FloatArray, Places
from formsketch.evaluation.bar_limits import (
    elastic_stress_mpa,
    inner_edge_factor,
    peak_of,
    plastic_stress_mpa,
)
from formsketch.evaluation.bar_loads import (
    ClosedForm,
    Moments,
    UnitLoad,
    closed_form,
    easiest_direction,
    flexibility,
    left_out_share,
    moments_of,
    round_flexibility,
)
from formsketch.evaluation.feel_question import NoFeel, Question, soldered, stretch_mm
from formsketch.evaluation.yielding import Softened, Yield, YieldTable, yield_at
from formsketch.forging.section import stadium_area_mm2
from formsketch.geometry.spans import curvature_per_mm
from formsketch.geometry.trace import CLOSED_TO_LENGTH
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# Arms shorter than this share of the stretch are none: the wire runs straight between the two places.
LEAST_ARM_TO_LENGTH = 1e-6


class FirstYield(Result, frozen=True):
    """The load at which a place first yields, the least and most it may be, and that place.

    `at_least`: only a lower bound of the strength there is known; `high` may then be infinite.
    """

    load: float
    low: float
    high: float
    at_least: bool
    place: Places


class LoadedBar:
    """The bar of a form under the unit load of a question. Raises `NoFeel` where nothing is bent by it."""

    def __init__(self, evaluation: Evaluation, question: Question) -> None:
        self.evaluation, self.question = evaluation, question
        from_mm, to_mm = stretch_mm(evaluation, question)
        self.softened = (*question.softened, *soldered(evaluation))
        cuts = [from_mm, to_mm]
        for soft in self.softened:
            cuts += [soft.from_mm, soft.to_mm]
        self.bar = Bar(evaluation, cuts)
        self._flexible = flexibility(self.bar.nodes)
        self.load = self._unit_load(from_mm, to_mm)
        self._closed = self._closing(self._flexible)
        self._moments = self.moments(self.bar.nodes)

    # --- the load

    def _unit_load(self, from_mm: float, to_mm: float) -> UnitLoad:
        start, finish = (complex(z) for z in self.bar.at_along((from_mm, to_mm)).z_mm)
        length, kind = to_mm - from_mm, self.question.kind
        held = UnitLoad(from_mm, to_mm, finish)
        apart = abs(finish - start)
        meet = apart < CLOSED_TO_LENGTH * length
        if kind == "lift":
            return replace(held, lift=1.0)
        if meet and kind != "open":
            raise NoFeel("Two places apart from each other were expected, and these two meet.")
        if kind == "wrist":
            return replace(held, axis=1j * (finish - start) / apart)
        way = easiest_direction(self.bar, held, self._flexible) if meet else (finish - start) / apart
        load = replace(held, force=way)
        if not np.max(np.abs(moments_of(load, self.bar.nodes).in_plane)) > LEAST_ARM_TO_LENGTH * length:
            raise NoFeel("The wire runs straight from one place to the other, so that nothing opens.")
        return load

    def _closing(self, flexible: Moments) -> ClosedForm | None:
        if self.question.kind != "ring":
            return None
        return closed_form(self.bar, self.load, flexible, self.evaluation.finished_length_mm)

    def moments(self, places: Places) -> Moments:
        """Moments of the unit load at places, N mm."""
        return self._moments_closed_by(self._closed, places)

    def _moments_closed_by(self, closed: ClosedForm | None, places: Places) -> Moments:
        return moments_of(self.load, places) if closed is None else closed.moments_of(self.load, places)

    @property
    def reach_mm(self) -> float:
        """How far the loaded stretch reaches, the larger of its two sides."""
        loaded = self.bar.weights_mm(self.load.from_mm, self.load.to_mm) > 0
        z = self.bar.nodes.z_mm[loaded]
        return float(max(np.ptp(z.real), np.ptp(z.imag)))

    # --- how it gives

    @cached_property
    def given(self) -> float:
        """Move per unit load, times E in MPa."""
        return self._given(self._moments, self._flexible)

    def _given(self, moments: Moments, flexible: Moments) -> float:
        return float(self._bent_mm @ moments.mixed(moments, flexible))

    @cached_property
    def _bent_mm(self) -> FloatArray:
        """Weights of an integral along the wire that bends: between the places, or all round when joined."""
        if self._closed is None:
            return self.bar.weights_mm(self.load.from_mm, self.load.to_mm)
        return self.bar.weights_mm(0.0, self._closed.length_mm)

    @cached_property
    def given_at_band(self) -> tuple[float, float]:
        """The same, least and most over the spread the hammer may have."""
        low, high, _ = self.evaluation.spread_band
        found = [self.given]
        for spread in (low, high) if self.evaluation.chain.flares else ():
            flexible = flexibility(self.bar.resectioned(self.bar.nodes, spread))
            moments = self._moments
            if self._closed is not None:
                moments = self._moments_closed_by(self._closing(flexible), self.bar.nodes)
            found.append(self._given(moments, flexible))
        return min(found), max(found)

    @property
    def left_out(self) -> float:
        """Bound on what stretching and shear would add, as a share."""
        held = None
        if self._closed is not None:
            _, about_x, about_y = self._closed.unknowns
            # A moment b x + c y is that of the force (c, -b) at the cut.
            held = complex(about_y, -about_x)
        return left_out_share(self.bar, self.load, self.given, held)

    # --- where it yields

    def yields(self, places: Places, softened: tuple[Softened, ...]) -> Yield:
        """Yield strength at places."""
        e = self.evaluation
        return yield_at(places, e.chain, self.table, e.diameter_mm, e.design.hammer.spread, softened)

    @cached_property
    def table(self) -> YieldTable:
        return YieldTable(self.evaluation.metal)

    def first_yield(self, softened: tuple[Softened, ...], right_through: bool = False) -> FirstYield | None:
        """Where a growing load first makes the surface yield, or a section right through; None if unknown."""
        stress = plastic_stress_mpa if right_through else elastic_stress_mpa

        def used(places: Places) -> FloatArray:
            unit = stress(self.moments(places), places)
            # Where nothing is loaded nothing yields, whatever the metal.
            return np.where(unit > 0, unit / self.yields(places, softened).counted, 0.0)

        peak = peak_of(self.bar, used)
        if not np.isfinite(peak.value) or peak.value <= 0:
            return None
        strength, load = self.yields(peak.place, softened), 1 / peak.value
        counted = float(strength.counted[0])
        return FirstYield(
            load,
            load * float(strength.low[0]) / counted / self._unevenness(peak.place, right_through),
            load * float(strength.high[0]) / counted,
            bool(np.isnan(strength.value[0])),
            peak.place,
        )

    def _unevenness(self, place: Places, right_through: bool) -> float:
        """How much higher than reckoned a place may be stressed: by the hammer's band, and by its bend."""
        stress = plastic_stress_mpa if right_through else elastic_stress_mpa
        unit, chain, part = self.moments(place), self.evaluation.chain, place.part
        here = float(stress(unit, place)[0])
        low, high, _ = self.evaluation.spread_band
        at_band = [float(stress(unit, self.bar.resectioned(place, spread))[0]) for spread in (low, high)]
        worst = max(here, *at_band) / here
        if right_through or self.question.kind in ("wrist", "lift"):
            return worst
        curvature = curvature_per_mm(
            place.u, chain.length_mm[part], chain.turn_rad[part], chain.skew_rad[part]
        )
        return worst * float(inner_edge_factor(place.plan_mm, curvature)[0])

    # --- a plain round wire in its place

    @cached_property
    def round_diameter_mm(self) -> float:
        """A round wire with as much metal between the two places; all round in a joined form."""
        nodes = self.bar.nodes
        area = stadium_area_mm2(nodes.width_mm, nodes.thickness_mm)
        return float(np.sqrt(4 / np.pi * (self._bent_mm @ area) / np.sum(self._bent_mm)))

    @cached_property
    def as_round(self) -> tuple[float, float | None]:
        """Of that round wire: move per unit load times E, and the load of the first set, annealed."""
        diameter = self.round_diameter_mm
        flexible = round_flexibility(diameter, len(self.bar.nodes.part))
        closed = self._closing(flexible)

        def stress(places: Places) -> FloatArray:
            m = self._moments_closed_by(closed, places)
            bending = np.abs(m.in_plane) + np.abs(m.out_of_plane)
            # Round: Z = pi d^3/32 for bending, twice that for twisting.
            return np.asarray(np.sqrt(bending**2 + 3 / 4 * m.torque**2) * 32 / (np.pi * diameter**3))

        soft = self.table.soft_mpa
        load = None if soft is None else soft / peak_of(self.bar, stress).value
        return self._given(self._moments_closed_by(closed, self.bar.nodes), flexible), load
