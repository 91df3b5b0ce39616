"""The section at any place of the finished wire, and the surface of the whole piece.

Surface is girth integrated along the centreline, to which a bend makes no difference (Pappus), and the round
things at the ends. The slope of a flare's faces is left out: it adds under a thousandth to most.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from formsketch.errors import InputError
from formsketch.forging.beads import bead_centre_offset_mm
from formsketch.forging.ends import EndPiece
from formsketch.forging.flare import place_in_flare, thickness_ratio
from formsketch.forging.section import (
    FloatArray,
    round_area_mm2,
    second_moments_mm4,
    stadium_area_mm2,
    stadium_perimeter_mm,
)
from formsketch.forging.spread import hammered_width_mm
from formsketch.geometry.spans import unit_gauss

if TYPE_CHECKING:
    from formsketch.design.model import Flare
    from formsketch.evaluation.evaluate import Evaluation

# Girth is smooth over rise, hold and fall of a flare, each by itself: as many nodes as for its area.
_NODES, _WEIGHTS = unit_gauss(24)


@dataclass(frozen=True)
class Section:
    """One section of the finished wire; `weak` is bent over the flat, `strong` in the plane of the flat."""

    width_mm: float
    thickness_mm: float
    area_mm2: float
    girth_mm: float
    weak_mm4: float
    strong_mm4: float


def section_of(width_mm: float, thickness_mm: float) -> Section:
    """The stadium of this width and thickness, width >= thickness > 0."""
    weak, strong = second_moments_mm4(width_mm, thickness_mm)
    return Section(
        width_mm,
        thickness_mm,
        float(stadium_area_mm2(width_mm, thickness_mm)),
        float(stadium_perimeter_mm(width_mm, thickness_mm)),
        float(weak),
        float(strong),
    )


def section_in_span(evaluation: Evaluation, span: int, u: float) -> Section:
    """The section of a span (from 0, repeats written out) at `u`, 0 to 1 along its finished length.

    Raises InputError for a span that is not there or a place outside it.
    """
    chain = evaluation.chain
    count = chain.spans.stop - chain.spans.start
    if not 0 <= span < count:
        raise InputError(f"A span from 1 to {count} was expected, not {span + 1}.")
    if not 0 <= u <= 1:
        raise InputError(f"A place from 0 to 1 along the span was expected, not {u:g}.")
    thickness, width = _sizes_mm(evaluation, chain.spans.start + span, u)
    return section_of(float(width), float(thickness))


def surface_mm2(evaluation: Evaluation) -> float:
    """Surface of the finished piece, ends and beads included; parts that touch are not taken off."""
    chain = evaluation.chain
    girth = np.pi / 2 * (chain.diameter_from_mm + chain.diameter_to_mm)
    flare_girth = [_mean_girth_mm(evaluation, flare) for flare in chain.flares]
    hammered = chain.flare >= 0
    if hammered.any():
        girth[hammered] = np.array(flare_girth)[chain.flare[hammered]]
    along = float(girth @ chain.length_mm)
    tips = chain.diameter_from_mm[0], chain.diameter_to_mm[-1]
    return along + sum(_tip_mm2(end, float(tip)) for end, tip in zip(evaluation.ends, tips, strict=True))


def thinnest_edge_mm(evaluation: Evaluation) -> float:
    """The thinnest the finished wire is anywhere: flats, edges of uneven blows, and tips of tapers."""
    spans, chain = evaluation.spans, evaluation.chain
    sizes = (spans.thinnest_mm, spans.outer_edge_mm, spans.inner_edge_mm)
    ends = (chain.diameter_from_mm, chain.diameter_to_mm)
    return float(min(np.nanmin(size) for size in (*sizes, *ends)))


def _tip_mm2(end: EndPiece, diameter_mm: float) -> float:
    """Surface beyond the last part of an end: the cut face, a bead less where it sits, or a post."""
    if end.bead_diameter_mm > 0:
        cap_mm = end.bead_diameter_mm / 2 - float(bead_centre_offset_mm(end.bead_diameter_mm, diameter_mm))
        return float(np.pi * end.bead_diameter_mm * (end.bead_diameter_mm - cap_mm))
    if end.post_diameter_mm > 0:
        side = np.pi * end.post_diameter_mm * end.post_length_mm
        return float(side + round_area_mm2(end.post_diameter_mm))
    return float(round_area_mm2(diameter_mm))


def _mean_girth_mm(evaluation: Evaluation, flare: Flare) -> float:
    """Girth averaged over the part of a flare that its span shows."""
    rise, fall = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    bounds = np.clip((flare.begin, rise, fall, flare.end), flare.begin, flare.end)
    steps = np.diff(bounds)
    places = bounds[:-1, None] + steps[:, None] * _NODES
    thickness, width = _flare_sizes_mm(evaluation, flare, places)
    means = stadium_perimeter_mm(width, thickness) @ _WEIGHTS
    return float(means @ steps / (flare.end - flare.begin))


def _sizes_mm(evaluation: Evaluation, part: int, u: float) -> tuple[FloatArray, FloatArray]:
    """Thickness and width of a part at `u`; parts of an end are round."""
    chain = evaluation.chain
    number = int(chain.flare[part])
    if number < 0:
        begin, end = chain.diameter_from_mm[part], chain.diameter_to_mm[part]
        size = np.asarray(begin + (end - begin) * u)
        return size, size
    flare = chain.flares[number]
    return _flare_sizes_mm(evaluation, flare, place_in_flare(u, flare.begin, flare.end))


def _flare_sizes_mm(evaluation: Evaluation, flare: Flare, place: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Thickness and width at places of a whole flare."""
    d = evaluation.diameter_mm
    thickness = d * thickness_ratio(place, flare.thickness, flare.centre, flare.hold)
    return thickness, hammered_width_mm(thickness, d, evaluation.design.hammer.spread)
