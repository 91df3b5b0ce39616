"""The same numbers worked out the plain way: one place at a time, with scipy's general tools.

Widths by brentq, stock lengths and points by quad, the silhouette as the union of all the little quads'
hulls. It is as exact as the program and shares no code with it but the design, the chain's plain columns and
the places to sample; what the program's own way is measured and checked against.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.design.model import Design, Flare, Span


@dataclass(frozen=True)
class PlainNumbers:
    """What both ways work out: mm, g, mm2; areas are None when only the numbers were asked for."""

    cut_length_mm: float
    weight_g: float
    envelope_mm: tuple[float, float]
    silhouette_area_mm2: float | None
    hull_area_mm2: float | None


def plain_numbers(
    design: Design, density_g_per_cm3: float, samples: list[np.ndarray], level_rad: float, outline: bool
) -> PlainNumbers:
    """Evaluate a design of free spans with plain ends, sampled at these u in each, laid at this angle."""
    d, spread = design.wire.diameter_mm, design.hammer.spread
    spans = [span for run in design.form.runs for _ in range(run.times) for span in run.spans]
    stock = sum(_stock_length_mm(span, d, spread) for span in spans)
    at, heading = 0j, level_rad
    left: list[complex] = []
    right: list[complex] = []
    for span, places in zip(spans, samples, strict=True):
        turn, skew = np.deg2rad(span.turn_deg), np.deg2rad(span.skew_deg)
        before = 0.0
        for u in places:
            if u > before:
                at += _step_mm(span.length_mm, heading, turn, skew, before, float(u))
                before = float(u)
            half = _plan_width_mm(span.flare, float(u), d, spread) / 2
            normal = 1j * np.exp(1j * (heading + turn * u + skew * (u * u - u)))
            left.append(at + half * normal)
            right.append(at - half * normal)
        heading += turn
    edges = np.array(left + right)
    areas = (
        _areas_mm2(np.array(left), np.array(right), [len(u) for u in samples]) if outline else (None, None)
    )
    weight = np.pi / 4 * d * d * stock * density_g_per_cm3 / 1000
    box = (float(np.ptp(edges.real)), float(np.ptp(edges.imag)))
    return PlainNumbers(float(stock), float(weight), box, *areas)


def _thickness_mm(flare: Flare | None, u: float, d: float) -> float:
    if flare is None:
        return d
    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    ease = 1.0 if a <= u <= b else np.sin(np.pi / 2 * (u / a if u < a else (1 - u) / (1 - b))) ** 2
    return float(d * (1 - (1 - flare.thickness) * ease))


def _width_mm(thickness: float, d: float, spread: float) -> float:
    """ln(w/d) = S ln(h0/h) by Brent's method."""
    if thickness >= d * (1 - 1e-13):
        return d

    def miss(width: float) -> float:
        height = (thickness * (width - thickness) + np.pi * thickness**2 / 4) / width
        return float(np.log(width / d) - spread * np.log(np.pi * d / 4 / height))

    widest = thickness + np.pi * (d * d - thickness**2) / (4 * thickness)
    return float(brentq(miss, 0.999 * d, 1.001 * widest, xtol=1e-14, rtol=1e-13))


def _plan_width_mm(flare: Flare | None, u: float, d: float, spread: float) -> float:
    thickness = _thickness_mm(flare, u, d)
    return thickness if flare is not None and flare.face == "edge" else _width_mm(thickness, d, spread)


def _stock_length_mm(span: Span, d: float, spread: float) -> float:
    flare = span.flare
    if flare is None:
        return span.length_mm
    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2

    def fraction(u: float) -> float:
        thickness = _thickness_mm(flare, u, d)
        width = _width_mm(thickness, d, spread)
        return (thickness * (width - thickness) + np.pi * thickness**2 / 4) / (np.pi * d * d / 4)

    parts = [part for part in ((0.0, a), (a, b), (b, 1.0)) if part[1] > part[0]]
    return span.length_mm * sum(quad(fraction, *part, epsabs=1e-12, epsrel=1e-11)[0] for part in parts)


def _step_mm(length: float, heading: float, turn: float, skew: float, begin: float, end: float) -> complex:
    def angle(u: float) -> float:
        return heading + turn * u + skew * (u * u - u)

    x = quad(lambda u: np.cos(angle(u)), begin, end, epsabs=1e-13, epsrel=1e-12)[0]
    y = quad(lambda u: np.sin(angle(u)), begin, end, epsabs=1e-13, epsrel=1e-12)[0]
    return length * complex(x, y)


def _areas_mm2(left: np.ndarray, right: np.ndarray, counts: list[int]) -> tuple[float, float]:
    quads, first = [], 0
    for count in counts:
        for i in range(first, first + count - 1):
            corners = (left[i], left[i + 1], right[i + 1], right[i])
            quads.append(shapely.MultiPoint([(z.real, z.imag) for z in corners]).convex_hull)
        first += count
    union = shapely.union_all(quads)
    return float(union.area), float(union.convex_hull.area)
