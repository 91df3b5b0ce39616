"""The silhouette's area against closed forms, adaptive quadrature, and a dense union of small pieces.

A ribbon of width w about a centreline whose radius is nowhere under w/2 covers the integral of w along the
centreline (Pappus' theorem in the plane) [P]. Where straight strips cross at an angle a they share a
parallelogram of area w1 w2/sin a (elementary) [D]. Widths come from the spread law ln(w/d) = S ln(h0/h)
solved with scipy's brentq, independent of the program's own solver.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.bench.metals import load_metals
from formsketch.design.model import BeadEnd, Design, End, Flare, Form, Hammer, PlainEnd, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import Evaluation, evaluate

CLOSE = 1e-4


PLAIN = PlainEnd()


def evaluated(
    *spans: Span, d: float = 1.0, spread: float = 0.8, start: End = PLAIN, finish: End = PLAIN
) -> Evaluation:
    design = Design(
        title="silhouette",
        wire=Wire(metal="brass-c26000", diameter_mm=d),
        hammer=Hammer(spread=spread),
        form=Form(runs=(Run(spans=spans),), start=start, finish=finish),
    )
    return evaluate(design, load_metals())


def width_mm(thickness: float, d: float, spread: float) -> float:
    """Width of the hammered section by bracketing: ln(w/d) = S ln(h0/h), h = area/w, h0 = pi d/4."""

    def miss(w: float) -> float:
        height = (thickness * (w - thickness) + np.pi * thickness**2 / 4) / w
        return float(np.log(w / d) - spread * np.log(np.pi * d / 4 / height))

    widest = thickness + np.pi * (d * d - thickness**2) / (4 * thickness)
    return d if thickness >= d else brentq(miss, d * 0.999, widest * 1.001, xtol=1e-14, rtol=1e-14)


def thickness_mm(u: float, flare: Flare, d: float) -> float:
    """Thickness along a flared span, by the definition of a flare."""
    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    ease = 1.0 if a <= u <= b else np.sin(np.pi / 2 * (u / a if u < a else (1 - u) / (1 - b))) ** 2
    return float(d * (1 - (1 - flare.thickness) * ease))


def ribbon_area_mm2(length: float, flare: Flare, d: float, spread: float) -> float:
    """Integral of the plan width along one span: flat the section's width, on edge its thickness."""

    def plan(u: float) -> float:
        t = thickness_mm(u, flare, d)
        return t if flare.face == "edge" else width_mm(t, d, spread)

    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    return length * sum(quad(plan, *part, epsabs=1e-11)[0] for part in ((0, a), (a, b), (b, 1)))


@pytest.mark.parametrize(("radius", "d"), [(9.0, 1.02), (3.0, 2.0), (0.8, 1.5), (120.0, 0.5)])
def test_a_closed_ring_is_the_difference_of_two_circles(radius: float, d: float) -> None:
    # Closed form: pi ((R + d/2)^2 - (R - d/2)^2).
    ring = evaluated(Span(length_mm=2 * np.pi * radius, turn_deg=360.0), d=d)
    expected = np.pi * ((radius + d / 2) ** 2 - (radius - d / 2) ** 2)
    assert ring.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)
    assert ring.envelope_mm == pytest.approx((2 * radius + d, 2 * radius + d), abs=0.007)


def test_a_ring_written_in_many_spans_is_the_same_ring() -> None:
    ring = evaluated(*[Span(length_mm=2 * np.pi * 9 / 12, turn_deg=30.0)] * 12)
    assert ring.silhouette_area_mm2 == pytest.approx(np.pi * (9.5**2 - 8.5**2), rel=CLOSE)


def test_a_ring_gone_round_twice_covers_no_more() -> None:
    once = np.pi * (9.5**2 - 8.5**2)
    twice = evaluated(Span(length_mm=4 * np.pi * 9, turn_deg=720.0))
    # The two rounds are chords of the same circle within 0.003 mm of each other.
    assert twice.silhouette_area_mm2 == pytest.approx(once, rel=1e-3)


@pytest.mark.parametrize("face", ["flat", "edge"])
@pytest.mark.parametrize("flare", [(0.5, 0.5, 0.0), (0.3, 0.3, 0.2), (0.7, 0.6, 0.5)])
@pytest.mark.parametrize("spread", [0.0, 0.6, 1.0])
def test_a_straight_flare_covers_the_integral_of_its_width(
    face: str, flare: tuple[float, float, float], spread: float
) -> None:
    thickness, centre, hold = flare
    made = Flare(thickness=thickness, centre=centre, hold=hold, face=face)  # type: ignore[arg-type]
    piece = evaluated(Span(length_mm=10.0, flare=made), spread=spread)
    expected = ribbon_area_mm2(10.0, made, 1.0, spread)
    assert piece.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)
    # The outline drawn covers the same, to its 0.003 mm.
    assert shapely.area(piece.outline.silhouette) == pytest.approx(expected, abs=2 * 10 * 0.003)
    widest = 1.0 if face == "edge" else width_mm(thickness, 1.0, spread)
    assert piece.envelope_mm == pytest.approx((10.0, widest), abs=0.007)


@pytest.mark.parametrize("skew", [0.0, 80.0, -200.0])
def test_a_curved_flare_covers_the_integral_of_its_width_all_the_same(skew: float) -> None:
    # Pappus: what the outer edge gains the inner loses while the half width stays under the radius.
    flare = Flare(thickness=0.45, centre=0.4, hold=0.2)
    piece = evaluated(Span(length_mm=30.0, turn_deg=140.0, skew_deg=skew, flare=flare))
    assert piece.silhouette_area_mm2 == pytest.approx(ribbon_area_mm2(30.0, flare, 1.0, 0.8), rel=CLOSE)
    assert shapely.area(piece.outline.silhouette) == pytest.approx(piece.silhouette_area_mm2, abs=0.18)


@pytest.mark.parametrize("d", [0.8, 1.6])
@pytest.mark.parametrize("turn", [210.0, 270.0, 300.0])
def test_two_straight_legs_that_cross(turn: float, d: float) -> None:
    # Legs of one loop cross at an angle of turn - 180 degrees and share a rhombus of area d^2/sin.
    radius, leg = 4.0, 40.0
    arc = np.deg2rad(turn) * radius
    legs = Span(length_mm=leg)
    loop = evaluated(legs, Span(length_mm=arc, turn_deg=turn), legs, d=d)
    expected = d * (2 * leg + arc) - d * d / np.sin(np.deg2rad(turn - 180))
    assert loop.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)
    assert len(loop.crossings) == 1


def test_a_hammered_loop_on_legs_that_cross() -> None:
    flare = Flare(thickness=0.4, hold=0.3)
    radius, leg, turn = 6.0, 30.0, 270.0
    arc = np.deg2rad(turn) * radius
    loop = evaluated(
        Span(length_mm=leg), Span(length_mm=arc, turn_deg=turn, flare=flare), Span(length_mm=leg), spread=0.6
    )
    expected = 2 * leg + ribbon_area_mm2(arc, flare, 1.0, 0.6) - 1.0
    assert loop.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)


@pytest.mark.parametrize(("inside", "between", "d"), [(12.0, 20.0, 1.0), (8.0, 40.0, 1.3), (20.0, 24.0, 0.8)])
def test_a_figure_eight(inside: float, between: float, d: float) -> None:
    # Radius r, centres 2 c apart: the crossing wires are the inner tangents, at 2 asin(r/c) to each other,
    # each sqrt(c^2 - r^2) long to either side, and each loop turns 180 + 2 asin(r/c) degrees.
    wire = Wire(metal="brass-c26000", diameter_mm=d)
    numbers = {"inside_mm": inside, "between_mm": between, "thickness": 1.0}
    eight = evaluate(make_starter("figure-eight", wire, numbers=numbers), load_metals())
    r, c = (inside + d) / 2, between / 2
    half_angle = np.arcsin(r / c)
    length = 4 * np.sqrt(c * c - r * r) + 2 * r * (np.pi + 2 * half_angle)
    assert eight.finished_length_mm == pytest.approx(length, rel=1e-12)
    expected = d * length - d * d / np.sin(2 * half_angle)
    assert eight.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)


@pytest.mark.parametrize("corner", [30.0, 90.0, 120.0])
def test_a_sharp_bend_is_rounded_outside_and_overlaps_inside(corner: float) -> None:
    # Two strips of width d meeting at their end centres: outside a sector of the angle c, radius d/2, is
    # added; inside they share a kite of area (d/2)^2 tan(c/2).
    d, leg = 1.2, 20.0
    angle = np.deg2rad(corner)
    bent = evaluated(Span(length_mm=leg), Span(length_mm=leg, corner_deg=corner), d=d)
    expected = 2 * leg * d + angle / 2 * (d / 2) ** 2 - np.tan(angle / 2) * (d / 2) ** 2
    assert bent.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)


@pytest.mark.parametrize("bead", [1.6, 2.5])
def test_a_straight_wire_with_beads(bead: float) -> None:
    # A circle of diameter D standing on the wire's end: the strip's corners lie on the circle, which adds all
    # but the segment beyond the chord d.
    d, length = 1.0, 30.0
    ends = BeadEnd(diameter_mm=bead)
    wire = evaluated(Span(length_mm=length), d=d, start=ends, finish=ends)
    half = np.arcsin(d / bead)
    segment = (bead / 2) ** 2 * (half - np.sin(half) * np.cos(half))
    expected = d * length + 2 * (np.pi * bead**2 / 4 - segment)
    assert wire.silhouette_area_mm2 == pytest.approx(expected, rel=CLOSE)
    reach = np.sqrt(bead**2 - d**2) / 2 + bead / 2
    assert wire.envelope_mm == pytest.approx((length + 2 * reach, bead), rel=1e-9)


# Wire wider than its bend allows

Half = Callable[[float], float]


def dense_reference_mm2(curve: Callable[[np.ndarray], np.ndarray], half_width: Half, pieces: int) -> float:
    """Area of the union of the hulls of thin slices; `curve` gives points at u, directions by difference."""
    u = np.linspace(0.0, 1.0, pieces + 1)
    h = 1e-6
    tangent = curve(u + h) - curve(u - h)
    normal = 1j * tangent / np.abs(tangent) * np.array([half_width(x) for x in u])
    left, right = curve(u) + normal, curve(u) - normal
    corners = np.stack((left[:-1], left[1:], right[1:], right[:-1]), axis=1)
    points = np.stack((corners.real, corners.imag), axis=2)
    slices = shapely.convex_hull(shapely.multipoints(points))
    return float(shapely.area(shapely.union_all(slices)))


@pytest.mark.parametrize("turn", [150.0, 270.0, 400.0])
@pytest.mark.parametrize("ratio", [0.6, 0.9, 1.2])
def test_an_arc_folded_over_its_own_centre(turn: float, ratio: float) -> None:
    # Radius under half the wire: the inner edge lies beyond the centre. Reference: 2,000 slices.
    d = 2.0
    radius = ratio * d / 2
    angle = np.deg2rad(turn)
    piece = evaluated(Span(length_mm=radius * angle, turn_deg=turn), d=d)
    expected = dense_reference_mm2(lambda u: -1j * radius * np.exp(1j * angle * u), lambda u: d / 2, 2_000)
    assert 0.99 * expected <= piece.silhouette_area_mm2 <= 1.01 * expected


@pytest.mark.parametrize("face", ["flat", "edge"])
@pytest.mark.parametrize("turn", [180.0, 340.0])
def test_a_flare_hammered_wider_than_its_loop_allows(turn: float, face: str) -> None:
    d, radius, spread = 1.5, 1.4, 0.8
    flare = Flare(thickness=0.25, hold=0.2, face=face)  # type: ignore[arg-type]
    angle = np.deg2rad(turn)
    piece = evaluated(Span(length_mm=radius * angle, turn_deg=turn, flare=flare), d=d, spread=spread)

    def half_width(u: float) -> float:
        t = thickness_mm(u, flare, d)
        return (t if face == "edge" else width_mm(t, d, spread)) / 2

    expected = dense_reference_mm2(lambda u: -1j * radius * np.exp(1j * angle * u), half_width, 2_000)
    assert 0.99 * expected <= piece.silhouette_area_mm2 <= 1.01 * expected
    if face == "flat":
        assert any(caution.code == "inner_edge_folds" for caution in piece.cautions)


@pytest.mark.parametrize("width_ratio", [1.0, 4.0, 30.0])
def test_a_wide_ribbon_wound_up_tight_is_measured_and_does_not_fail(width_ratio: float) -> None:
    # Far beyond any bench: the union fits in the hull and covers at least a disc as wide as the ribbon.
    d = 0.6 * width_ratio
    piece = evaluated(
        Span(length_mm=6.0, turn_deg=900.0, skew_deg=700.0, flare=Flare(thickness=0.3)),
        Span(length_mm=3.0, turn_deg=-1_200.0, corner_deg=170.0),
        d=d,
        start=BeadEnd(diameter_mm=1.5 * d),
    )
    assert np.pi / 4 * d * d < piece.silhouette_area_mm2 <= piece.outline.hull_area_mm2 * (1 + 4.1e-4)
