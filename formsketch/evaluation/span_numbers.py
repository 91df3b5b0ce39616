"""The numbers of each span: its lengths, bend, hammering, and the tube it is bent on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from formsketch.forging.springback import tube_radius_mm
from formsketch.geometry.chain import STRAIGHT_TURN_RAD, FloatArray
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation


class SpanNumbers(Result, frozen=True):
    """Numbers of each span, arrays of shape (spans,), repeats written out; nan where there is none.

    Radius and tube are those of the tightest place: `as_bent_radius_mm` of the centreline before
    hammering, `tube_diameter_mm` the tube that leaves it after spring-back. `as_bent_turn_deg` is how far
    to bend before hammering, which differs from the finished turn where the blows are uneven; `outer_edge_mm`
    and `inner_edge_mm` are the thicknesses they leave (of a straight span the heavier edge is the outer).
    """

    finished_length_mm: FloatArray
    stock_length_mm: FloatArray
    stock_from_mm: FloatArray
    turn_deg: FloatArray
    corner_deg: FloatArray
    thinnest_mm: FloatArray
    widest_mm: FloatArray
    strip_reduction: FloatArray
    finished_radius_mm: FloatArray
    as_bent_radius_mm: FloatArray
    tube_diameter_mm: FloatArray
    as_bent_turn_deg: FloatArray
    as_bent_skew_deg: FloatArray
    outer_edge_mm: FloatArray
    inner_edge_mm: FloatArray


def span_numbers(e: Evaluation) -> SpanNumbers:
    """Those of all spans of an evaluated design."""
    chain, flares, span = e.chain, e.flares, e.chain.spans
    flare = chain.flare[span]
    finished = chain.length_mm[span]
    stock = finished * flares.stock_fraction[flare]
    start = e.ends[0].stock_mm
    turning = chain.sharpest_per_mm[span] * finished
    curved = turning > STRAIGHT_TURN_RAD
    radius = np.full(len(finished), np.nan)
    radius[curved] = finished[curved] / turning[curved]
    bent, even = e.as_bent, e.uneven is None
    as_bent = radius * flares.stock_fraction[flare] if even else bent.radius_mm
    return SpanNumbers(
        finished_length_mm=finished,
        stock_length_mm=stock,
        stock_from_mm=start + np.concatenate(([0.0], np.cumsum(stock)[:-1])),
        turn_deg=np.rad2deg(chain.turn_rad[span]),
        corner_deg=np.rad2deg(chain.corner_rad[span]),
        thinnest_mm=flares.thinnest_mm[flare],
        widest_mm=flares.widest_mm[flare],
        strip_reduction=flares.strip_reduction[flare],
        finished_radius_mm=radius,
        as_bent_radius_mm=as_bent,
        tube_diameter_mm=_tubes_mm(e, as_bent),
        as_bent_turn_deg=np.rad2deg(bent.turn_rad),
        as_bent_skew_deg=np.rad2deg(bent.skew_rad),
        outer_edge_mm=bent.edges_mm[0],
        inner_edge_mm=bent.edges_mm[1],
    )


def _tubes_mm(e: Evaluation, as_bent_radius_mm: FloatArray) -> FloatArray:
    """Diameter of the tube for each as-bent radius; nan for a straight span or a bend no tube gives."""
    tube = np.full(len(as_bent_radius_mm), np.nan)
    soft_yield = e.metal.soft_yield_mid_mpa
    curved = np.isfinite(as_bent_radius_mm)
    if not curved.any():
        return tube
    # Like bends are solved once: a row of loops has few different ones.
    radii, which = np.unique(as_bent_radius_mm[curved], return_inverse=True)
    if soft_yield is None:
        solved = radii - e.diameter_mm / 2
    else:
        solved = tube_radius_mm(radii, e.diameter_mm, soft_yield, 1000.0 * e.metal.e_mid_gpa)
    tube[curved] = np.where(solved > 0, 2 * solved, np.nan)[which]
    return tube
