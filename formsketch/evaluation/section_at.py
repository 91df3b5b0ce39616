"""The section of the wire at one place along it, for whoever points there."""

from __future__ import annotations

import numpy as np

from formsketch.bench.metals import temper_at
from formsketch.evaluation.evaluate import Evaluation
from formsketch.forging.forged import forge_places
from formsketch.forging.section import stadium_area_mm2
from formsketch.forging.spread import equivalent_strip_reduction
from formsketch.values import Value

# Thinned by less than this share of its diameter the wire is as it was supplied.
_ROUND_TOLERANCE = 1e-6


class SectionAt(Value, frozen=True):
    """Width and thickness of the flat, mm; `plan_width_mm` and `height_mm` as it lies in the form.

    `stock_mm` is the distance from the start end of the cut wire. `temper` is the trade's name for how hard
    the hammer has made it, "as supplied" where it did not reach, "" on an end, which is shaped otherwise.
    """

    stock_mm: float
    width_mm: float
    thickness_mm: float
    plan_width_mm: float
    height_mm: float
    area_mm2: float
    temper: str


def section_at(e: Evaluation, sample: float) -> SectionAt:
    """The section at a sample, or between it and the next; `sample` from 0 to the last sample's number."""
    trace, last = e.own_trace, len(e.own_trace.u) - 1
    own = trace.part == trace.part[min(int(sample), last)]
    part, numbers = trace.part[own][:1], np.flatnonzero(own)
    u = np.interp([sample], numbers, trace.u[own])
    there = forge_places(e.chain, part, u, e.diameter_mm, e.design.hammer.spread)
    width, thickness = float(there.width_mm[0]), float(there.thickness_mm[0])
    return SectionAt(
        stock_mm=float(np.interp(sample, np.arange(last + 1), e.stock_at_samples_mm)),
        width_mm=width,
        thickness_mm=thickness,
        plan_width_mm=float(there.plan_width_mm[0]),
        height_mm=float(there.height_mm[0]),
        area_mm2=float(stadium_area_mm2(width, thickness)),
        temper=_temper(e, int(part[0]), width, thickness),
    )


def _temper(e: Evaluation, part: int, width_mm: float, thickness_mm: float) -> str:
    if not e.chain.spans.start <= part < e.chain.spans.stop:
        return ""
    if thickness_mm >= e.diameter_mm * (1 - _ROUND_TOLERANCE):
        return "as supplied"
    spread = e.design.hammer.spread
    worked = float(equivalent_strip_reduction(width_mm, thickness_mm, e.diameter_mm, spread))
    return temper_at(e.metal, 100 * worked).name
