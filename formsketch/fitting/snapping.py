"""Light snapping of a pull to the tubes on the bench."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from formsketch.bench.metals import Metal
from formsketch.bench.tubes import Tube
from formsketch.forging.springback import free_radius_mm
from formsketch.values import Value

# A pull within this share of what a tube gives takes the tube, but no further than this share of the way to
# what the next tube gives: on a full bench most turns must still be free to pull to.
SNAP_WITHIN, SNAP_SHARE = 0.012, 0.2
_SAME_TURN_RAD = 1e-9


class TubeTurn(Value, frozen=True):
    """A tube and how far a span of a given length turns when bent round it."""

    tube: Tube
    turn_rad: float


def tube_turns(
    tubes: Iterable[Tube], length_mm: float, stock_fraction: float, diameter_mm: float, metal: Metal
) -> list[TubeTurn]:
    """How far an arc of this finished length turns on each tube, spring-back and hammering allowed for.

    `stock_fraction` is stock length / finished length of the span. Tubes that spring fully straight are left
    out; where the yield is not known the tubes are taken without spring-back.
    """
    tubes = list(tubes)
    radii = np.array([tube.diameter_mm / 2 for tube in tubes])
    if metal.soft_yield_mid_mpa is None:
        free = radii + diameter_mm / 2
    else:
        free = free_radius_mm(radii, diameter_mm, metal.soft_yield_mid_mpa, 1000.0 * metal.e_mid_gpa)
    turns = length_mm * stock_fraction / free
    return [
        TubeTurn(tube, float(t)) for tube, t in zip(tubes, turns, strict=True) if np.isfinite(t) and t > 0
    ]


def snapped(turn_rad: float, choices: list[TubeTurn]) -> TubeTurn | None:
    """The tube whose turn is nearest, if it is near enough; side is kept by the caller."""
    if not choices:
        return None
    nearest = min(choices, key=lambda choice: abs(choice.turn_rad - abs(turn_rad)))
    gaps = (abs(choice.turn_rad - nearest.turn_rad) for choice in choices)
    # Two tubes of one size are one place to snap to.
    next_gap = min((gap for gap in gaps if gap > _SAME_TURN_RAD), default=math.inf)
    within = min(SNAP_WITHIN * nearest.turn_rad, SNAP_SHARE * next_gap)
    return nearest if abs(nearest.turn_rad - abs(turn_rad)) <= within else None
