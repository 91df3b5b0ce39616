"""The forged wire: what each flare does to the section, and the section at every sample of a trace.

A flare eases in and out by the same curve whatever its centre, so all it needs along its length are the
means over one easing and the values on the hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formsketch.design.model import Flare
from formsketch.forging.flare import thickness_ratio
from formsketch.forging.section import round_area_mm2, stadium_area_mm2
from formsketch.forging.spread import equivalent_strip_reduction, hammered_width_mm
from formsketch.geometry.chain import Chain
from formsketch.geometry.trace import Trace

FloatArray = NDArray[np.float64]

# Over one easing the section is smooth: 24 nodes give means to 1e-12 down to a tenth of the wire.
_NODES, _WEIGHTS = (lambda rule: ((rule[0] + 1) / 2, rule[1] / 2))(np.polynomial.legendre.leggauss(24))
_EASE_AT_NODES = np.sin(np.pi / 2 * _NODES) ** 2


@dataclass(frozen=True, eq=False)
class ForgedFlares:
    """What each flare does, arrays of shape (flares + 1,); the last entry is the unhammered wire.

    `stock_fraction` is stock length / finished length; `mean_plan_width_mm` the plan width averaged over
    the span; `strip_reduction` the cold work at the thinnest place as an equivalent reduction of strip,
    a fraction; `shorter_ease` the shorter of the two easings as a fraction of the span.
    """

    thinnest_mm: FloatArray
    widest_mm: FloatArray
    stock_fraction: FloatArray
    mean_plan_width_mm: FloatArray
    plan_extreme_mm: FloatArray
    strip_reduction: FloatArray
    shorter_ease: FloatArray
    on_edge: NDArray[np.bool_]


def forge_flares(flares: Sequence[Flare], diameter_mm: float, spread: float) -> ForgedFlares:
    """Forge each distinct flare of a form in round wire of this diameter under a hammer of this spread."""
    table = np.array(
        [(f.thickness, f.centre, f.hold, f.face == "edge") for f in flares] + [(1.0, 0.5, 0.0, 0)]
    )
    ratio, centre, hold = table[:, 0], table[:, 1], table[:, 2]
    on_edge = table[:, 3] != 0
    # One column for the hold, then the nodes of the easing.
    ease = np.concatenate(([1.0], _EASE_AT_NODES))
    thickness = diameter_mm * (1 - (1 - ratio[:, None]) * ease)
    width = hammered_width_mm(thickness, diameter_mm, spread)
    area = stadium_area_mm2(width, thickness) / round_area_mm2(diameter_mm)
    plan = np.where(on_edge[:, None], thickness, width)
    return ForgedFlares(
        thinnest_mm=thickness[:, 0],
        widest_mm=width[:, 0],
        stock_fraction=hold * area[:, 0] + (1 - hold) * (area[:, 1:] @ _WEIGHTS),
        mean_plan_width_mm=hold * plan[:, 0] + (1 - hold) * (plan[:, 1:] @ _WEIGHTS),
        plan_extreme_mm=plan[:, 0],
        strip_reduction=equivalent_strip_reduction(width[:, 0], thickness[:, 0], diameter_mm, spread),
        shorter_ease=np.minimum(centre - hold / 2, 1 - (centre + hold / 2)),
        on_edge=on_edge,
    )


@dataclass(frozen=True, eq=False)
class ForgedSamples:
    """The section at each sample of a trace, mm: hammered thickness and width, plan width and height."""

    thickness_mm: FloatArray
    width_mm: FloatArray
    plan_width_mm: FloatArray
    height_mm: FloatArray


def forge_samples(chain: Chain, trace: Trace, diameter_mm: float, spread: float) -> ForgedSamples:
    """The section at each sample; parts of an end are round, their diameter linear along the part."""
    at_start = chain.diameter_from_mm[trace.part]
    thickness = at_start + (chain.diameter_to_mm[trace.part] - at_start) * trace.u
    width = thickness.copy()
    on_edge = np.zeros(len(thickness), dtype=bool)
    hammered = np.flatnonzero(chain.flare[trace.part] >= 0)
    if len(hammered):
        table = np.array([(f.thickness, f.centre, f.hold, f.face == "edge") for f in chain.flares])
        rows = table[chain.flare[trace.part[hammered]]]
        thickness[hammered] = diameter_mm * thickness_ratio(
            trace.u[hammered], rows[:, 0], rows[:, 1], rows[:, 2]
        )
        width[hammered] = hammered_width_mm(thickness[hammered], diameter_mm, spread)
        on_edge[hammered] = rows[:, 3] != 0
    return ForgedSamples(
        thickness, width, np.where(on_edge, thickness, width), np.where(on_edge, width, thickness)
    )


def stock_fraction_at(samples: ForgedSamples, diameter_mm: float) -> FloatArray:
    """Local stock length / finished length at each sample: the section's area over the wire's."""
    return np.asarray(
        stadium_area_mm2(samples.width_mm, samples.thickness_mm) / round_area_mm2(diameter_mm), dtype=float
    )
