"""From a freehand stroke to wire: the fewest spans that keep within a tolerance of what was drawn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace
from numpy.typing import ArrayLike

from formsketch.design.model import Span
from formsketch.errors import EditRefused
from formsketch.fitting.freehand_chain import Links, place
from formsketch.fitting.freehand_corners import SHARP_LEAST_RAD
from formsketch.fitting.freehand_measure import measure_of
from formsketch.fitting.freehand_plainer import closed, on_tubes, plainest
from formsketch.fitting.freehand_search import Search, fewest, search_of
from formsketch.fitting.freehand_sections import followed
from formsketch.fitting.freehand_stroke import Stroke, stroke_of
from formsketch.fitting.freehand_target import Refined
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Value

LEAST_TOLERANCE_MM, SHORTEST_STROKE_MM, LONGEST_STROKE_MM = 1e-4, 0.5, 10_000.0
_FURTHEST_MM = 1e6
# No span becomes shorter than this, in mm and in tolerances.
_SHORTEST_SPAN_MM, _SHORTEST_SPAN = 0.02, 0.3
# Ends that meet within the tolerance close a stroke, if it is this many tolerances long.
_LEAST_CLOSED = 12.0
# Lengths and angles carry no more decimals than are meant: a round turn is 360, not 359.9999999999.
_DECIMALS = 9
_GRID = 2.0**-34


class StrokeFit(Value, frozen=True):
    """Spans for a stroke: finished lengths, with `corner_deg` where it bends sharply.

    The wire begins at `start_mm` (x + iy, y up) in the direction `heading_rad`. `deviation_mm` is the
    greatest distance between stroke and centreline, from either to the other. `corners` are the marks with a
    sharp bend, counted from 0 at the start. In a stroke that is `closed` the two ends meet exactly, and mark
    0 is a corner where they meet at an angle, though no bend is written there.
    """

    spans: tuple[Span, ...]
    start_mm: complex
    heading_rad: float
    deviation_mm: float
    corners: tuple[int, ...]
    closed: bool


def fit_stroke(
    points_mm: ArrayLike, tolerance_mm: float, tubes_mm: Sequence[float] = (), wire_diameter_mm: float = 0.0
) -> StrokeFit:
    """The fewest spans whose centreline keeps within `tolerance_mm` of a stroke, tangent but at sharp bends.

    `points_mm` are the places of the pen in order, x + iy of shape (n,) or x and y of shape (n, 2), in mm, y
    up; they may repeat, crowd and tremble. Among as few spans as are found, arcs are preferred to spirals
    (spans with skew) and lines to arcs. A sharp bend turns at least 35 degrees and is rounded to no more than
    2.5 tolerances. Arcs are moved to the nearest radius that one of `tubes_mm` (diameters) bends wire of
    `wire_diameter_mm` to, where the whole stays within the tolerance. The work is bounded, and the same
    stroke always gives the same spans.

    Raises `EditRefused` for fewer than two distinct points, places that are not finite or further than a
    kilometre away, a stroke shorter than 0.5 mm or longer than 10 m, a tolerance, tube or wire that is not a
    size, and a stroke that bends too often to be followed.
    """
    drawn = _drawn(points_mm, tolerance_mm)
    # A tolerance larger than the stroke itself asks for no more than one as large.
    unit_mm = min(tolerance_mm, _extent(drawn))
    radii = _radii(tubes_mm, wire_diameter_mm) / unit_mm
    middle = complex(np.mean(drawn))
    # On a grid far finer than the tolerance, so that rounding alone never tells two equal strokes apart.
    points = np.round((drawn - middle) / unit_mm / _GRID) * _GRID
    # Drawn either way, a stroke is fitted the same way.
    backward = _runs_backward(points)
    stroke = stroke_of(points[::-1] if backward else points)
    found = _fitted(stroke, max(_SHORTEST_SPAN, _SHORTEST_SPAN_MM / unit_mm), radii)
    if found is None:
        raise EditRefused(
            f"The stroke bends or trembles too much to be followed within {tolerance_mm:g} mm: "
            "draw it in parts, or allow a greater tolerance."
        )
    chain, deviation, closes = found
    links = _reversed(chain.links) if backward else chain.links
    return StrokeFit(
        spans=_spans(links, unit_mm),
        start_mm=middle + links.start * unit_mm,
        heading_rad=float(np.angle(np.exp(1j * links.heading))),
        deviation_mm=deviation * unit_mm,
        corners=_corners(links, closes),
        closed=closes,
    )


def _fitted(stroke: Stroke, least_length: float, radii: FloatArray) -> tuple[Refined, float, bool] | None:
    """The chain for a stroke, its deviation, and whether it is closed; None where none is found."""
    begun, exact = search_of(stroke, least_length), measure_of(stroke, exact=True)
    if begun is None:
        return None
    # Of very many samples only the outermost are looked at; should that not do, all are.
    for measure in (begun.measure, exact):
        search = replace(begun, measure=measure)
        found = fewest(search) or followed(search)
        if found is None:
            return None
        found, closes = _finished(search, found, radii)
        deviation = exact.deviation(found.links, search.at, found.at)
        if deviation <= 1.0:
            return found, deviation, closes
    return None


def _finished(search: Search, found: Refined, radii: FloatArray) -> tuple[Refined, bool]:
    """The chain plainer, closed if the stroke is, and moved to tubes, where it keeps within the tolerance."""
    stroke, target = search.stroke, search.target
    if not search.long:
        found = plainest(search, found)
    if abs(stroke.raw[-1] - stroke.raw[0]) <= 1.0 and stroke.length >= _LEAST_CLOSED:
        found, target = closed(search, found)
    return on_tubes(search, found, radii, target), target.closes


def _drawn(points_mm: ArrayLike, tolerance_mm: float) -> ComplexArray:
    """The stroke as x + iy without immediate repeats, if it can be fitted."""
    if not LEAST_TOLERANCE_MM <= tolerance_mm < np.inf:
        raise EditRefused(
            f"A stroke is followed within a tolerance of {LEAST_TOLERANCE_MM:g} mm or more, "
            f"not {tolerance_mm:g} mm."
        )
    points = np.asarray(points_mm)
    if points.ndim == 2 and points.shape[1] == 2 and points.dtype.kind in "iuf":
        points = points[:, 0] + 1j * points[:, 1]
    if points.ndim != 1 or (len(points) and not np.iscomplexobj(points)):
        raise EditRefused("A stroke is a row of places, each with an x and a y.")
    if not np.isfinite(points).all():
        raise EditRefused("Every place of a stroke must be a finite number of millimetres.")
    if max(np.abs(points.real).max(initial=0), np.abs(points.imag).max(initial=0)) > _FURTHEST_MM:
        raise EditRefused("The stroke lies more than a kilometre away; it was expected near the form.")
    points = points[np.append(True, np.diff(points) != 0)[: len(points)]].astype(complex)
    if len(points) < 2:
        raise EditRefused("A stroke needs at least two different places.")
    if _extent(points) < SHORTEST_STROKE_MM:
        raise EditRefused(
            f"The stroke is shorter than {SHORTEST_STROKE_MM:g} mm, the shortest that is followed."
        )
    if np.abs(np.diff(points)).sum() > LONGEST_STROKE_MM:
        raise EditRefused(
            f"The stroke is longer than {LONGEST_STROKE_MM / 1000:g} m, the longest that is followed."
        )
    return points


def _extent(points: ComplexArray) -> float:
    return float(np.hypot(np.ptp(points.real), np.ptp(points.imag)))


def _radii(tubes_mm: Sequence[float], wire_diameter_mm: float) -> FloatArray:
    """Centreline radii in mm that these tubes bend the wire to."""
    tubes = np.asarray(tubes_mm, dtype=float).ravel()
    if not (np.isfinite(tubes) & (tubes > 0)).all():
        raise EditRefused("Every tube needs a diameter above 0 mm.")
    if not (np.isfinite(wire_diameter_mm) and wire_diameter_mm >= 0):
        raise EditRefused(f"A wire has a diameter of 0 mm or more, not {wire_diameter_mm:g} mm.")
    return np.unique(tubes / 2 + wire_diameter_mm / 2)


def _runs_backward(points: ComplexArray) -> bool:
    """Whether the first of two opposite samples that differ in their distance from the middle is further.

    Where none differ, as in an arc drawn without tremble, it is the end further to the right, or higher.
    """
    middle = complex(points.real.min() + points.real.max(), points.imag.min() + points.imag.max()) / 2
    out = np.abs(points - middle)
    differs = np.flatnonzero(np.abs(out - out[::-1]) > 1e-9 * out.max())
    if len(differs):
        return bool(out[differs[0]] > out[::-1][differs[0]])
    first, last = complex(points[0]), complex(points[-1])
    return (first.real, first.imag) > (last.real, last.imag)


def _reversed(links: Links) -> Links:
    """The same curve from its end to its start."""
    end = place(links, np.array([links.count - 1]), np.array([1.0])).z[0]
    return replace(
        links,
        start=complex(end),
        heading=links.heading_to + np.pi,
        length=links.length[::-1],
        turn=-links.turn[::-1],
        skew=links.skew[::-1],
        corner=-np.roll(links.corner[::-1], 1),
        bends=np.roll(links.bends[::-1], 1),
    )


def _spans(links: Links, unit_mm: float) -> tuple[Span, ...]:
    rows = zip(
        np.round(links.length * unit_mm, _DECIMALS).tolist(),
        *(np.round(np.rad2deg(v), _DECIMALS).tolist() for v in (links.turn, links.skew, links.corner)),
        strict=True,
    )
    return tuple(
        Span(length_mm=a, turn_deg=b + 0.0, skew_deg=c + 0.0, corner_deg=d + 0.0) for a, b, c, d in rows
    )


def _corners(links: Links, closes: bool) -> tuple[int, ...]:
    seam = links.heading - links.heading_to
    sharp = closes and abs(np.angle(np.exp(1j * seam))) >= SHARP_LEAST_RAD
    return (*((0,) if sharp else ()), *np.flatnonzero(links.bends).tolist())
