"""Uneven blows on the spans of a form: how far each is bent before hammering, and how thick its edges are.

A span's turn and skew are those of the finished curve; what the blows turn the wire is taken off before.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.forging.forged import ForgedFlares
from formsketch.forging.uneven import UnevenFlares, forge_uneven
from formsketch.geometry.chain import STRAIGHT_TURN_RAD, Chain
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]


class AsBent(Result, frozen=True):
    """The spans before hammering, arrays of shape (spans,), as laid; `uneven` is None for even blows only."""

    chain: Chain
    flares: ForgedFlares
    uneven: UnevenFlares | None

    @cached_property
    def _flare(self) -> NDArray[np.int64]:
        return self.chain.flare[self.chain.spans]

    @cached_property
    def turn_gained_rad(self) -> FloatArray:
        """Turn that hammering adds, left positive."""
        return self._gained("turn_per_mm")

    @cached_property
    def turn_rad(self) -> FloatArray:
        """How far to bend before hammering."""
        turn = self.chain.turn_rad[self.chain.spans]
        return turn if self.uneven is None else turn - self.turn_gained_rad

    @cached_property
    def skew_rad(self) -> FloatArray:
        """The skew before hammering."""
        skew = self.chain.skew_rad[self.chain.spans]
        return skew if self.uneven is None else skew - self._gained("skew_per_mm")

    @cached_property
    def radius_mm(self) -> FloatArray:
        """Centreline radius at the tightest place; nan for a straight span."""
        finished = self.chain.length_mm[self.chain.spans]
        turning = np.abs(self.turn_rad) + np.abs(self.skew_rad)
        curved = turning > STRAIGHT_TURN_RAD
        radius = np.full(len(finished), np.nan)
        radius[curved] = (finished * self.flares.stock_fraction[self._flare])[curved] / turning[curved]
        return radius

    @cached_property
    def outer_is_right(self) -> NDArray[np.bool_]:
        """Whether the outer edge of each span is the right one as it lies.

        A straight span has no outer edge: the one hammered more heavily stands in.
        """
        turn, side = self.chain.turn_rad[self.chain.spans], self.chain.side[self.chain.spans]
        lean = np.zeros(len(turn)) if self.uneven is None else self.uneven.lean[self._flare]
        straight = np.abs(turn) <= STRAIGHT_TURN_RAD
        return np.asarray(np.where(straight, side * lean, turn) > 0)

    @cached_property
    def edges_mm(self) -> tuple[FloatArray, FloatArray]:
        """Thickness of the outer and the inner edge at the thinnest place, before they are rounded over."""
        thinnest = self.flares.thinnest_mm[self._flare]
        if self.uneven is None:
            return thinnest, thinnest
        thinner = self.chain.side[self.chain.spans] * self.uneven.lean[self._flare]
        thinner = np.where(self.outer_is_right, thinner, -thinner)
        return thinnest * (1 - thinner), thinnest * (1 + thinner)

    def _gained(self, per_mm: str) -> FloatArray:
        span = self.chain.spans
        if self.uneven is None:
            return np.zeros(len(self._flare))
        gained = getattr(self.uneven, per_mm)[self._flare]
        return np.asarray(self.chain.side[span] * self.chain.length_mm[span] * gained)


def turn_gained_band_deg(evaluation: Evaluation, span: int) -> tuple[float, float]:
    """Turn that hammering adds to a span (deg, as it lies) over the plausible range of spread."""
    e = evaluation
    low, high, _ = e.spread_band
    gained = (
        AsBent(e.chain, e.flares, forge_uneven(e.chain.flares, e.diameter_mm, spread)).turn_gained_rad
        for spread in (low, high)
    )
    first, last = sorted(float(np.rad2deg(turns[span])) for turns in gained)
    return first, last


def plan_area_lost_mm2(chain: Chain, uneven: UnevenFlares) -> FloatArray:
    """By how much each span's ribbon is smaller than its width times its length, the middle of its width
    lying beside the line that has that length; shape (spans,)."""
    span = chain.spans
    area, skewed = uneven.off_area_mm2[chain.flare[span]], uneven.off_skewed_mm2[chain.flare[span]]
    return np.asarray(chain.side[span] * (chain.turn_rad[span] * area + chain.skew_rad[span] * skewed))
