"""Pearls hung in bays: where on the wire a ball's binding wire is tied, and where the ball lies between."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from formsketch.design.model import SetPearl
from formsketch.errors import InputError
from formsketch.fitting.pearls import Pearl
from formsketch.fitting.stones import WirePlaces
from formsketch.geometry.edges_near import ComplexArray

# Places on the wire are tried this near to each other, fewer on a long wire.
_STEP_MM, _MOST_PLACES = 0.05, 20_000
# Ways of the hole that are tried, all round; wire further aside of a way than this is not tied to.
_WAYS, _MOST_ASIDE_RAD = 24, np.deg2rad(60.0)
# What a ball's radius of free binding wire is worth in straightness of the hole, and in how far it is off
# the way that was asked for. Judgement.
_STRAIGHT_WEIGHT, _ASKED_WEIGHT = 2.0, 0.5
# Wire further off than so many radii of the ball does not hold it.
_FARTHEST_RADII = 3.0
_DECIMALS = 9


def tied_at(wire: WirePlaces, middle_mm: complex, hole: complex, turns: bool = True) -> tuple[float, float]:
    """The two shares of the finished length between which a ball is best bound, lesser first.

    `hole` is the way asked for. Unless told not to, another is taken where it spares binding wire: of the
    wire on either side that which lies near and in line. Raises InputError where a side has none.
    """
    total = float(wire.finished_mm[-1])
    places = np.linspace(0.0, total, min(_MOST_PLACES, max(2, int(total / _STEP_MM))))
    away = (wire.z_at(places) - middle_mm) / (hole / abs(hole))
    free = np.abs(away) - wire.at(places, wire.plan_width_mm) / 2
    radius = max(float(np.min(free)), 0.1)
    near = free <= (1 + _FARTHEST_RADII) * radius
    places, away, free = places[near], away[near], free[near]
    best, found = np.inf, (0.0, 0.0)
    for way in np.linspace(-np.pi / 2, np.pi / 2, _WAYS, endpoint=False) if turns else (0.0,):
        cost, ends = _ASKED_WEIGHT * float(way) ** 2, []
        for side in (-1.0, 1.0):
            aside = np.abs(np.angle(side * away * np.exp(-1j * way)))
            each = np.where(aside > _MOST_ASIDE_RAD, np.inf, free / radius + _STRAIGHT_WEIGHT * aside**2)
            at = int(np.argmin(each))
            cost += float(each[at])
            ends.append(float(places[at]) / total)
        if cost < best:
            best, found = cost, (min(ends), max(ends))
    if not np.isfinite(best) or found[0] == found[1]:
        raise InputError("expected wire of the form near to both sides of the pearl, to bind it to")
    return found


def hole_way(wire: WirePlaces, middle_mm: complex, hole: complex) -> complex | None:
    """The unit way of a single ball's hole once it is bound; None where there is nothing to bind it to."""
    try:
        shares = np.array(tied_at(wire, middle_mm, hole))
    except InputError:
        return None
    first, second = wire.z_at(shares * float(wire.finished_mm[-1]))
    return complex((second - first) / max(abs(second - first), 1e-12))


def hung(
    wire: WirePlaces, pearls: Sequence[Pearl], middles_mm: Sequence[complex], hole: complex
) -> tuple[SetPearl, ...]:
    """The pearls of one bay as a design keeps them, their middles in plan and the way of their common hole.

    Raises InputError where there is nothing to bind them to.
    """
    begin, end = tied_at(wire, complex(np.mean(middles_mm)), hole, turns=len(pearls) == 1)
    begin, end = round(begin, _DECIMALS), round(end, _DECIMALS)
    first, second = wire.z_at(np.array([begin, end]) * float(wire.finished_mm[-1]))
    made = []
    for pearl, middle in zip(pearls, middles_mm, strict=True):
        way = (middle - first) / (second - first)
        made.append(
            SetPearl(
                from_share=begin,
                to_share=end,
                diameter_mm=pearl.diameter_mm,
                length_mm=pearl.length_mm,
                shape=pearl.shape,
                along=round(float(way.real), _DECIMALS) + 0.0,
                aside=round(float(way.imag), _DECIMALS) + 0.0,
            )
        )
    return tuple(made)


def hangs_at_mm(wire: WirePlaces, pearls: Sequence[SetPearl]) -> tuple[ComplexArray, ComplexArray]:
    """Where set pearls lie: middles and unit ways of their holes in plan, x + iy; each of shape (pearls,)."""
    total = float(wire.finished_mm[-1])
    first = wire.z_at(np.array([pearl.from_share for pearl in pearls]) * total)
    second = wire.z_at(np.array([pearl.to_share for pearl in pearls]) * total)
    way = second - first
    along = np.array([complex(pearl.along, pearl.aside) for pearl in pearls])
    length = np.maximum(np.abs(way), 1e-12)
    return first + along * way, way / length
