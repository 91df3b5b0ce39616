"""A section's own numbers, and the surface of the whole piece.

Surface is girth integrated along the centreline, to which a bend makes no difference (Pappus), and the round
things at the ends. The slope of a flare's faces is left out: it adds under a thousandth to most.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from formsketch.forging.beads import bead_centre_offset_mm
from formsketch.forging.ends import EndPiece
from formsketch.forging.flare import thickness_ratio
from formsketch.forging.section import (
    FloatArray,
    round_area_mm2,
    second_moments_mm4,
    stadium_area_mm2,
    stadium_perimeter_mm,
)
from formsketch.forging.spread import hammered_width_mm
from formsketch.geometry.spans import unit_gauss
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.design.model import Flare
    from formsketch.evaluation.evaluate import Evaluation

# Girth is smooth over rise, hold and fall of a flare, each by itself: as many nodes as for its area.
_NODES, _WEIGHTS = unit_gauss(24)


class Section(Value, frozen=True):
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
    tips = np.array([end.tip_height_mm for end in evaluation.ends if end.tip_height_mm > 0])
    ends = (chain.diameter_from_mm, chain.diameter_to_mm, *((tips,) if len(tips) else ()))
    return float(min(np.nanmin(size) for size in (*sizes, *ends)))


def _tip_mm2(end: EndPiece, diameter_mm: float) -> float:
    """Surface beyond the last part of an end: the cut face, a bead less where it sits, or a post."""
    if end.bead_diameter_mm > 0:
        cap_mm = end.bead_diameter_mm / 2 - float(bead_centre_offset_mm(end.bead_diameter_mm, diameter_mm))
        return float(np.pi * end.bead_diameter_mm * (end.bead_diameter_mm - cap_mm))
    if end.tip_width_mm > 0:
        return _rounded_mm2(end)
    if end.post_diameter_mm > 0:
        side = np.pi * end.post_diameter_mm * end.post_length_mm
        return float(side + round_area_mm2(end.post_diameter_mm))
    return float(round_area_mm2(diameter_mm))


def _rounded_mm2(end: EndPiece) -> float:
    """A half ball, or both faces of a half round and its half-round edge; less its hole's two mouths."""
    width, height, hole = end.tip_width_mm, end.tip_height_mm, end.hole_diameter_mm
    # The edge is a half torus: half the girth of a round of `height`, along its middle, and its bulge.
    middle = (width - height) / 2
    faces = np.pi * middle**2
    edge = np.pi / 2 * height * np.pi * middle + np.pi / 2 * height**2
    return float(faces + edge + np.pi * hole * height - np.pi / 2 * hole**2)


def _mean_girth_mm(evaluation: Evaluation, flare: Flare) -> float:
    """Girth averaged over the part of a flare that its span shows."""
    rise, fall = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    bounds = np.clip((flare.begin, rise, fall, flare.end), flare.begin, flare.end)
    steps = np.diff(bounds)
    places = bounds[:-1, None] + steps[:, None] * _NODES
    thickness, width = _flare_sizes_mm(evaluation, flare, places)
    means = stadium_perimeter_mm(width, thickness) @ _WEIGHTS
    return float(means @ steps / (flare.end - flare.begin))


def _flare_sizes_mm(evaluation: Evaluation, flare: Flare, place: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Thickness and width at places of a whole flare."""
    d = evaluation.diameter_mm
    thickness = d * thickness_ratio(place, flare.thickness, flare.centre, flare.hold)
    return thickness, hammered_width_mm(thickness, d, evaluation.design.hammer.spread)
