"""Where on the wire the metal yields: strength after hammering, soft where it was not or was annealed.

Hammering hardens; how far is read from the metal's own tempers at the equivalent reduction of strip. Bending
the wire round its tubes hardens it some more, and an opening then bends it back: neither is counted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from formsketch.bench.metals import Metal, temper_at
from formsketch.evaluation.bar import ON_PLACE_MM, FloatArray, Places
from formsketch.forging.spread import equivalent_strip_reduction
from formsketch.geometry.chain import Chain
from formsketch.values import Result, Value

_LEAST_TABLE_STEP = 1e-9


class Softened(Value, frozen=True):
    """A place made soft by a join or an anneal: its middle, from the start mark along the finished wire."""

    at_mm: float
    length_mm: float

    @property
    def from_mm(self) -> float:
        return self.at_mm - self.length_mm / 2

    @property
    def to_mm(self) -> float:
        return self.at_mm + self.length_mm / 2


class Yield(Result, frozen=True):
    """Yield strength at places, MPa, shape (places,): the value, and the least and most it may be.

    Where only the annealed strength is known of hammered metal, `value` is nan, `low` the annealed strength
    (hammering softens nothing) and `high` the tensile strength, infinite when that is unknown too. Where
    nothing is known all are nan.
    """

    value: FloatArray
    low: FloatArray
    high: FloatArray

    @property
    def counted(self) -> FloatArray:
        """What is reckoned with: the value, or the least it may be; nan where nothing is known."""
        return np.where(np.isnan(self.value), self.low, self.value)


class YieldTable:
    """Yield strength of one metal at any reduction of strip, read between the rows that give it."""

    def __init__(self, metal: Metal) -> None:
        rows = [0.0, *(row.reduction_percent for row in metal.worked if row.reduction_percent > 0)]
        tempers = [temper_at(metal, place) for place in rows]
        # Between rows the table is read along straight lines, so its rows say all.
        self._places = np.array(rows) / 100
        self._value = _known([t.yield_mpa for t in tempers])
        self._strength = _known([t.strength_mpa for t in tempers])
        # A yield of soft metal alone says nothing about worked metal.
        worked = [row for row in metal.worked if row.reduction_percent > 0]
        self._works = any(row.yield_mpa is not None for row in worked)
        self._strengthens = any(row.strength_mid_mpa is not None for row in worked)
        soft = self._value[0]
        self.soft_mpa = None if np.isnan(soft) else float(soft)
        low, high = metal.soft_yield_low_mpa, metal.soft_yield_high_mpa
        self._below = 0.0 if low is None or np.isnan(soft) else max(float(soft) - low, 0.0)
        self._above = 0.0 if high is None or np.isnan(soft) else max(high - float(soft), 0.0)

    def at(self, reduction: FloatArray) -> Yield:
        """Yield at reductions 0 to under 1, shape kept."""
        worked = reduction > _LEAST_TABLE_STEP
        value = _read(reduction, self._places, self._value)
        if not self._works:
            value = np.where(worked, np.nan, value)
        # How far the soft metal's own range still shows, fading to the first row of the table.
        first = self._places[1] if len(self._places) > 1 else 1.0
        fade = np.clip(1 - reduction / first, 0.0, 1.0)
        unknown = np.isnan(value)
        low = np.where(unknown, self._value[0] - self._below, value - fade * self._below)
        strongest = _read(reduction, self._places, self._strength)
        strongest[np.isnan(strongest) | (worked & (not self._strengthens))] = np.inf
        high = np.where(unknown, strongest, value + fade * self._above)
        return Yield(value, low, np.where(np.isnan(low), np.nan, high))


def yield_at(
    places: Places,
    chain: Chain,
    table: YieldTable,
    diameter_mm: float,
    spread: float,
    softened: Sequence[Softened] = (),
) -> Yield:
    """Yield strength at places: hammered by their own section, soft on the ends and where softened."""
    hammered = np.flatnonzero(chain.flare[places.part] >= 0)
    reduction = np.zeros(len(places.part))
    reduction[hammered] = equivalent_strip_reduction(
        places.width_mm[hammered], places.thickness_mm[hammered], diameter_mm, spread
    )
    for soft in softened:
        inside = (places.along_mm >= soft.from_mm - ON_PLACE_MM) & (
            places.along_mm <= soft.to_mm + ON_PLACE_MM
        )
        reduction[inside] = 0.0
    return table.at(np.maximum(reduction, 0.0))


def _known(values: Sequence[float | None]) -> FloatArray:
    return np.array([np.nan if value is None else value for value in values], dtype=float)


def _read(reduction: FloatArray, places: FloatArray, values: FloatArray) -> FloatArray:
    """Between the rows that give a value; nan before the first of them, the last beyond."""
    given = ~np.isnan(values)
    if not given.any():
        return np.full(reduction.shape, np.nan)
    return np.asarray(np.interp(reduction, places[given], values[given], left=np.nan))
