"""The forged wire: what each flare does to the section, and the section at every sample of a trace.

A flare eases in and out by the same curve whatever its centre, so all it needs along its length are the
means over one easing and the values on the hold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from msgspec.structs import astuple
from numpy.typing import NDArray

from formsketch.design.model import Flare
from formsketch.forging.flare import deepest_ease, flare_ease, place_in_flare, thickness_ratio
from formsketch.forging.section import round_area_mm2, stadium_area_mm2
from formsketch.forging.spread import equivalent_strip_reduction, hammered_width_mm
from formsketch.geometry.chain import Chain
from formsketch.geometry.remembered import Remembered
from formsketch.geometry.spans import unit_gauss
from formsketch.geometry.trace import Trace
from formsketch.values import Result

FloatArray = NDArray[np.float64]

# Over one easing the section is smooth: 24 nodes give means to 1e-12 down to a tenth of the wire.
_NODES, _WEIGHTS = unit_gauss(24)
_EASE_AT_NODES = np.sin(np.pi / 2 * _NODES) ** 2
_UNHAMMERED = Flare(thickness=1.0)


class ForgedFlares(Result, frozen=True):
    """What each flare does, arrays of shape (flares + 1,); the last entry is the unhammered wire.

    All over the part of the flare that its span shows. `stock_fraction` is stock length / finished length;
    `mean_plan_width_mm` the plan width averaged over the span; `strip_reduction` the cold work at the
    thinnest place as an equivalent reduction of strip, a fraction; `shorter_ease` the shorter of its
    easings as a fraction of the span, infinite on a hold; `thickness_from_mm` and `thickness_to_mm` are
    those at its marks.
    """

    thinnest_mm: FloatArray
    widest_mm: FloatArray
    thickness_from_mm: FloatArray
    thickness_to_mm: FloatArray
    stock_fraction: FloatArray
    mean_plan_width_mm: FloatArray
    plan_extreme_mm: FloatArray
    strip_reduction: FloatArray
    shorter_ease: FloatArray
    on_edge: NDArray[np.bool_]


def forge_flares(flares: Sequence[Flare], diameter_mm: float, spread: float) -> ForgedFlares:
    """Forge each distinct flare of a form in round wire of this diameter under a hammer of this spread.

    What was forged lately is handed out again; the arrays cannot be written to.
    """
    return _forged(tuple(flares), diameter_mm, spread)


# While a form is pulled about its flares are asked for several times a frame, and mostly stay.
@lru_cache(maxsize=16)
def _forged(flares: tuple[Flare, ...], diameter_mm: float, spread: float) -> ForgedFlares:
    table = _flare_table([*flares, _UNHAMMERED])
    ratio, centre, hold, _, begin, end = table.T
    on_edge = table[:, 3] != 0
    cut = np.flatnonzero((begin > 0) | (end < 1))
    # One column for the thinnest place, then the nodes of the easing.
    ease = np.empty((len(table), 1 + len(_NODES)))
    ease[:, 0], ease[:, 1:] = 1.0, _EASE_AT_NODES
    if len(cut):
        ease[cut, 0] = deepest_ease(centre[cut], hold[cut], begin[cut], end[cut])
    thickness, width, area, plan = _sections(ratio, on_edge, ease, diameter_mm, spread)
    forged = ForgedFlares(
        thinnest_mm=thickness[:, 0],
        widest_mm=width[:, 0],
        thickness_from_mm=np.full(len(table), diameter_mm),
        thickness_to_mm=np.full(len(table), diameter_mm),
        stock_fraction=hold * area[:, 0] + (1 - hold) * (area[:, 1:] @ _WEIGHTS),
        mean_plan_width_mm=hold * plan[:, 0] + (1 - hold) * (plan[:, 1:] @ _WEIGHTS),
        plan_extreme_mm=plan[:, 0],
        strip_reduction=equivalent_strip_reduction(width[:, 0], thickness[:, 0], diameter_mm, spread),
        shorter_ease=np.minimum(centre - hold / 2, 1 - (centre + hold / 2)),
        on_edge=on_edge,
    )
    if len(cut):
        _forge_parts(forged, cut, table[cut], diameter_mm, spread)
    # To the last digit: the weights of a mean add up to 1 only within rounding.
    unhammered = forged.thinnest_mm >= diameter_mm
    forged.stock_fraction[unhammered], forged.mean_plan_width_mm[unhammered] = 1.0, diameter_mm
    for array in astuple(forged):
        array.flags.writeable = False
    return forged


def _flare_table(flares: Sequence[Flare]) -> FloatArray:
    """Rows of thickness, centre, hold, on edge, begin, end; shape (flares, 6)."""
    return np.array([(f.thickness, f.centre, f.hold, f.face == "edge", f.begin, f.end) for f in flares])


def _sections(
    ratio: FloatArray, on_edge: NDArray[np.bool_], ease: FloatArray, diameter_mm: float, spread: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Thickness, width, area over the wire's and plan width of each flare (rows) at its eases (columns)."""
    thickness = diameter_mm * (1 - (1 - ratio[:, None]) * ease)
    width = hammered_width_mm(thickness, diameter_mm, spread)
    area = stadium_area_mm2(width, thickness) / round_area_mm2(diameter_mm)
    return thickness, width, area, np.where(on_edge[:, None], thickness, width)


def _forge_parts(
    forged: ForgedFlares, cut: NDArray[np.int64], table: FloatArray, diameter_mm: float, spread: float
) -> None:
    """Fill in the flares of which only a part is shown: means over rise, hold and fall cut to that part."""
    ratio, centre, hold, _, begin, end = table.T
    rise, fall = centre - hold / 2, centre + hold / 2
    places, weights = nodes_in_parts(centre, hold, begin, end)
    ease = flare_ease(places, centre[:, None], hold[:, None])
    _, _, area, plan = _sections(ratio, forged.on_edge[cut], ease, diameter_mm, spread)
    forged.stock_fraction[cut] = np.sum(area * weights, axis=1)
    forged.mean_plan_width_mm[cut] = np.sum(plan * weights, axis=1)
    forged.thickness_from_mm[cut] = diameter_mm * thickness_ratio(begin, ratio, centre, hold)
    forged.thickness_to_mm[cut] = diameter_mm * thickness_ratio(end, ratio, centre, hold)
    easing = np.minimum(np.where(begin < rise, rise, np.inf), np.where(end > fall, 1 - fall, np.inf))
    # The easing swells as steeply as the whole flare does, however little of its depth is shown.
    steepness = np.sqrt(deepest_ease(centre, hold, begin, end))
    forged.shorter_ease[cut] = easing * steepness / (end - begin)


def nodes_in_parts(
    centre: FloatArray, hold: FloatArray, begin: FloatArray, end: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Places in each whole flare, and weights of their mean over the part `begin` to `end` of it.

    All of shape (flares,); both results (flares, nodes): rise, hold and fall cut to the part, nodes on each.
    """
    rise, fall = centre - hold / 2, centre + hold / 2
    bounds = np.stack((begin, np.clip(rise, begin, end), np.clip(fall, begin, end), end), axis=1)
    steps = np.diff(bounds, axis=1)
    places = (bounds[:, :-1, None] + steps[:, :, None] * _NODES).reshape(len(begin), -1)
    weights = (steps[:, :, None] * _WEIGHTS).reshape(len(begin), -1) / (end - begin)[:, None]
    return places, weights


class ForgedSamples(Result, frozen=True):
    """The section at each sample of a trace, mm: hammered thickness and width, plan width and height."""

    thickness_mm: FloatArray
    width_mm: FloatArray
    plan_width_mm: FloatArray
    height_mm: FloatArray


def forge_samples(chain: Chain, trace: Trace, diameter_mm: float, spread: float) -> ForgedSamples:
    """The section at each sample of a trace, whose parts are cut into equal intervals.

    Each flare is forged once for all parts that show it in as many intervals.
    """
    table = _flare_table([*chain.flares, _UNHAMMERED])
    like = np.empty((chain.part_count, _INTERVALS + 1))
    like[:, : table.shape[1]] = table[chain.flare]
    like[:, _ON_EDGE] = 0.0
    like[:, _FROM], like[:, _TO] = chain.diameter_from_mm, chain.diameter_to_mm
    like[chain.flare >= 0, _FROM : _TO + 1] = diameter_mm
    like[:, _SPREAD], like[:, _INTERVALS] = spread, np.diff(trace.first) - 1
    thickness, width = np.concatenate(_SECTIONS.all_of(like, _sections_along), axis=1)
    return _as_samples(chain, trace.part, thickness, width)


def forge_places(
    chain: Chain, part: NDArray[np.int64], u: FloatArray, diameter_mm: float, spread: float
) -> ForgedSamples:
    """The section at any places, by part and fraction of its length, both of shape (places,)."""
    at_start = chain.diameter_from_mm[part]
    thickness = at_start + (chain.diameter_to_mm[part] - at_start) * u
    width = thickness.copy()
    hammered = np.flatnonzero(chain.flare[part] >= 0)
    if len(hammered):
        columns = _flare_table(chain.flares).T[:, chain.flare[part[hammered]]]
        thickness[hammered], width[hammered] = _sections_at(columns, u[hammered], diameter_mm, spread)
    return _as_samples(chain, part, thickness, width)


# Columns of a table that says all that the sections along a part depend on, after those of its flare.
_ON_EDGE, _FROM, _TO, _SPREAD, _INTERVALS = 3, 6, 7, 8, 9
_SECTIONS = Remembered(most_bytes=12_000_000)


def _sections_along(like: FloatArray) -> Iterator[FloatArray]:
    """Thickness and width at equal steps along each part, shape (2, intervals + 1).

    Parts of an end are round, their diameter linear along the part; a span's wire is of one diameter.
    """
    intervals = like[:, _INTERVALS].astype(np.int64)
    ends = np.cumsum(intervals + 1)
    begins = ends - intervals - 1
    u = (np.arange(ends[-1]) - np.repeat(begins, intervals + 1)) / np.repeat(intervals, intervals + 1)
    # Column by column: long rows of a table would be read across the processor's memory.
    columns = np.repeat(like[:, :_INTERVALS].T, intervals + 1, axis=1)
    diameter = columns[_FROM] + (columns[_TO] - columns[_FROM]) * u
    sections = _sections_at(columns, u, diameter, float(like[0, _SPREAD]))
    return (sections[:, begin:end] for begin, end in zip(begins, ends, strict=True))


def _sections_at(
    columns: FloatArray, u: FloatArray, diameter_mm: FloatArray | float, spread: float
) -> FloatArray:
    """Thickness and width at places in flares, a column of their table for each; shape (2, places)."""
    ratio, centre, hold, _, begin, end = columns[:6]
    thickness = diameter_mm * thickness_ratio(place_in_flare(u, begin, end), ratio, centre, hold)
    return np.stack((thickness, hammered_width_mm(thickness, diameter_mm, spread)))


def _as_samples(
    chain: Chain, part: NDArray[np.int64], thickness: FloatArray, width: FloatArray
) -> ForgedSamples:
    on_edge = np.array([flare.face == "edge" for flare in chain.flares] + [False])
    if not on_edge.any():
        return ForgedSamples(thickness, width, width, thickness)
    turned = on_edge[chain.flare[part]]
    return ForgedSamples(
        thickness, width, np.where(turned, thickness, width), np.where(turned, width, thickness)
    )


def stock_fraction_at(samples: ForgedSamples, diameter_mm: float) -> FloatArray:
    """Local stock length / finished length at each sample: the section's area over the wire's."""
    return np.asarray(
        stadium_area_mm2(samples.width_mm, samples.thickness_mm) / round_area_mm2(diameter_mm), dtype=float
    )
