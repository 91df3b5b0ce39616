"""Light snapping of a pull to the tubes on the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from formsketch.bench.metals import Metal
from formsketch.bench.tubes import Tube
from formsketch.forging.springback import free_radius_mm

# A pull within this share of what a tube gives takes the tube.
SNAP_WITHIN = 0.012


@dataclass(frozen=True)
class TubeTurn:
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
    return nearest if abs(nearest.turn_rad - abs(turn_rad)) <= SNAP_WITHIN * nearest.turn_rad else None
