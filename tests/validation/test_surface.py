"""Sections and surface of the finished wire, against shapely polygons, elementary solids and a swept mesh.

[P] published, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from msgspec.structs import replace
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely import LineString, Polygon

from formsketch.bench.metals import load_metals
from formsketch.design.model import (
    BeadEnd,
    End,
    EyeEnd,
    Flare,
    HookEnd,
    PostEnd,
    Span,
    TaperedEnd,
)
from formsketch.evaluation.section_at import section_at
from formsketch.evaluation.surface import section_of, surface_mm2, thinnest_edge_mm
from tests.support.pieces import evaluated

METALS = load_metals()


def sizes(u: float, flare: Flare, d: float, spread: float) -> tuple[float, float]:
    """Thickness and width of a flare at u, from the easing's and the spread law's definitions."""
    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    ramp = min(u / a, (1 - u) / (1 - b), 1.0)
    t = d * (1 - (1 - flare.thickness) * math.sin(math.pi / 2 * ramp) ** 2)
    if t > d * (1 - 1e-14):
        return d, d
    widest = t + math.pi * (d * d - t * t) / (4 * t)

    def miss(w: float) -> float:
        return math.log(w / d) - spread * math.log(math.pi * d / 4 * w / (t * (w - t) + math.pi * t * t / 4))

    return t, float(brentq(miss, d * (1 - 1e-12), widest * (1 + 1e-12), xtol=1e-15))


def discs(d: float) -> float:
    """The two cut faces of a wire."""
    return 2 * math.pi * d * d / 4


@pytest.mark.parametrize(("length", "d"), [(100.0, 1.02), (7.5, 3.0)])
@pytest.mark.parametrize("turn", [0.0, 200.0, -75.0])
def test_a_plain_round_wire(length: float, d: float, turn: float) -> None:
    # [P] pi d L and the two faces; bent the same (Pappus).
    piece = evaluated(Span(length_mm=length, turn_deg=turn, skew_deg=turn / 3), d=d)
    assert surface_mm2(piece) == pytest.approx(math.pi * d * length + discs(d), rel=1e-12)


@pytest.mark.parametrize(
    "flare",
    [Flare(thickness=0.5), Flare(thickness=0.35, centre=0.3, hold=0.2), Flare(thickness=0.7, face="edge")],
)
def test_a_flare_is_its_girth_summed_along_the_wire(flare: Flare) -> None:
    # Independent: scipy quadrature of 2 (w - t) + pi t with the width by bracketing.
    d, spread, length = 1.3, 0.75, 18.0

    def girth(u: float) -> float:
        t, w = sizes(u, flare, d, spread)
        return 2 * (w - t) + math.pi * t

    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    along = sum(quad(girth, *part, epsabs=1e-11)[0] for part in ((0, a), (a, b), (b, 1)) if part[1] > part[0])
    piece = evaluated(Span(length_mm=length, turn_deg=90.0, flare=flare), d=d, spread=spread)
    assert surface_mm2(piece) == pytest.approx(length * along + discs(d), rel=1e-9)
    # Cut in two by a mark it is the same surface.
    whole = surface_mm2(piece)
    parts = [
        Span(length_mm=share * length, flare=replace(flare, begin=begin, end=end))
        for share, begin, end in ((0.4, 0.0, 0.4), (0.6, 0.4, 1.0))
    ]
    assert surface_mm2(evaluated(*parts, d=d, spread=spread)) == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize(
    ("end", "beyond"),
    [
        # [P] lateral surface of a frustum by mean girth (its slope, 0.8 %, left out) and its tip.
        (TaperedEnd(length_mm=12.0, tip_diameter_mm=0.5), math.pi * 0.85 * 12 + math.pi / 4 * 0.25),
        # [P] sphere less the cap that sits on the wire: pi D^2 - pi D h, h = D/2 - sqrt(D^2 - d^2)/2.
        (BeadEnd(diameter_mm=2.4), math.pi * 2.4**2 - math.pi * 2.4 * (1.2 - math.sqrt(2.4**2 - 1.2**2) / 2)),
        # A straight, half a circle of 5 mm inside, its face.
        (
            HookEnd(inside_diameter_mm=5.0, turn_deg=180.0, straight_mm=2.0),
            math.pi * 1.2 * (2 + math.pi * 3.1) + math.pi / 4 * 1.44,
        ),
        (
            EyeEnd(inside_diameter_mm=3.0),
            math.pi * 1.2 * (2 * math.pi * 2.1 - 0.6) + math.pi / 4 * 1.44,
        ),
        (PostEnd(length_mm=10.0, diameter_mm=0.8), math.pi * 0.8 * 10 + math.pi / 4 * 0.64),
    ],
)
@pytest.mark.parametrize("where", ["start", "finish"])
def test_ends(end: End, beyond: float, where: str) -> None:
    d = 1.2
    piece = evaluated(Span(length_mm=20.0), d=d, **{where: end})
    expected = math.pi * d * 20 + math.pi / 4 * d * d + beyond
    assert surface_mm2(piece) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("u", [0.0, 0.2, 0.5, 0.9, 1.0])
def test_a_section_is_its_polygon(u: float) -> None:
    # Independent: the stadium as shapely's buffer of a line; second moments by Green's theorem.
    d, spread, flare = 1.3, 0.75, Flare(thickness=0.4, centre=0.45)
    piece = evaluated(
        Span(length_mm=5.0), Span(length_mm=18.0, turn_deg=90.0, flare=flare), d=d, spread=spread
    )
    first = piece.own_trace.first[1]
    seen = section_at(piece, first + u * (piece.own_trace.first[2] - 1 - first))
    section = section_of(seen.width_mm, seen.thickness_mm)
    t, w = sizes(u, flare, d, spread)
    assert (section.thickness_mm, section.width_mm) == pytest.approx((t, w), rel=1e-9)
    half = max((w - t) / 2, 1e-12)
    polygon = LineString([(-half, 0), (half, 0)]).buffer(t / 2, quad_segs=4000)
    assert section.area_mm2 == pytest.approx(polygon.area, rel=1e-6)
    assert section.girth_mm == pytest.approx(polygon.length, rel=1e-6)
    over_x, over_y = second_moments(polygon)
    assert (section.weak_mm4, section.strong_mm4) == pytest.approx((over_x, over_y), rel=1e-6)


def second_moments(polygon: Polygon) -> tuple[float, float]:
    """int y^2 dA and int x^2 dA of a polygon, summed over its sides."""
    x, y = np.array(polygon.exterior.coords)[::-1].T
    cross = x[:-1] * y[1:] - x[1:] * y[:-1]
    return tuple(  # type: ignore[return-value]
        abs(float(np.sum(cross * (v[:-1] ** 2 + v[:-1] * v[1:] + v[1:] ** 2)))) / 12 for v in (y, x)
    )


def test_section_1_5_by_0_5() -> None:
    # [D] closed forms of the stadium w 1.5, t 0.5.
    section = section_of(1.5, 0.5)
    assert section.area_mm2 == pytest.approx(0.6963495408, rel=1e-9)
    assert (section.weak_mm4, section.strong_mm4) == pytest.approx((0.0134846282, 0.1146553468), rel=1e-8)
    assert section.girth_mm == pytest.approx(2 + math.pi / 2, rel=1e-12)


@pytest.mark.parametrize(
    ("turn", "skew", "face"), [(200.0, 0.0, "flat"), (150.0, 80.0, "flat"), (200.0, 0.0, "edge")]
)
def test_a_swept_solid_has_the_volume_of_the_stock_and_the_surface(
    turn: float, skew: float, face: str
) -> None:
    # Independent: stadiums set square to the wire along scipy's integral of its direction, joined to a mesh.
    d, spread, length = 1.2, 0.7, 26.0
    flare = Flare(thickness=0.45, centre=0.55, hold=0.1, face=face)  # type: ignore[arg-type]
    mesh = swept(length, math.radians(turn), math.radians(skew), flare, d, spread)
    assert mesh.is_watertight
    piece = evaluated(Span(length_mm=length, turn_deg=turn, skew_deg=skew, flare=flare), d=d, spread=spread)
    stock_mm3 = piece.stock_length_mm * math.pi * d * d / 4
    assert mesh.volume == pytest.approx(stock_mm3, rel=1e-3)
    assert surface_mm2(piece) == pytest.approx(mesh.area, rel=1e-3)


def swept(length: float, turn: float, skew: float, flare: Flare, d: float, spread: float) -> trimesh.Trimesh:
    """A closed mesh: rings of 4 x 24 corners at 400 places, and a fan at each end."""
    places, quarter = np.linspace(0, 1, 401), 24
    heading = turn * places + skew * (places**2 - places)
    fine = np.linspace(0, 1, 20_001)
    direction = np.exp(1j * (turn * fine + skew * (fine**2 - fine)))
    middle = np.concatenate(([0], np.cumsum((direction[1:] + direction[:-1]) / 2))) * length / 20_000
    centre = middle[:: 20_000 // 400]
    angle = np.linspace(0, 2 * np.pi, 4 * quarter, endpoint=False) + np.pi / (4 * quarter)
    rings = []
    for u, z, phi in zip(places, centre, heading, strict=True):
        t, w = sizes(float(u), flare, d, spread)
        along = np.cos(angle) * t / 2 + np.sign(np.cos(angle)) * (w - t) / 2
        across = np.sin(angle) * t / 2
        plan, high = (along, across) if flare.face == "flat" else (across, along)
        left = 1j * np.exp(1j * phi)
        rings.append(np.column_stack((z.real + plan * left.real, z.imag + plan * left.imag, high)))
    count = len(angle)
    first = np.arange(count)
    after = (first + 1) % count
    faces = [
        np.column_stack((r * count + first, r * count + after, (r + 1) * count + first))
        for r in range(len(rings) - 1)
    ]
    faces += [
        np.column_stack((r * count + after, (r + 1) * count + after, (r + 1) * count + first))
        for r in range(len(rings) - 1)
    ]
    tips = len(rings) * count, len(rings) * count + 1
    last = (len(rings) - 1) * count
    faces.append(np.column_stack((after, first, np.full(count, tips[0]))))
    faces.append(np.column_stack((last + first, last + after, np.full(count, tips[1]))))
    ends = [[centre[i].real, centre[i].imag, 0.0] for i in (0, -1)]
    mesh = trimesh.Trimesh(np.concatenate([*rings, ends]), np.concatenate(faces), process=False)
    mesh.fix_normals()
    return mesh


def test_the_thinnest_edge_is_that_of_flats_tips_and_uneven_blows() -> None:
    flat = Span(length_mm=12.0, flare=Flare(thickness=0.5))
    assert thinnest_edge_mm(evaluated(Span(length_mm=5.0), d=1.2)) == pytest.approx(1.2)
    assert thinnest_edge_mm(evaluated(flat, d=1.2)) == pytest.approx(0.6)
    tip = TaperedEnd(length_mm=5.0, tip_diameter_mm=0.35)
    assert thinnest_edge_mm(evaluated(flat, d=1.2, finish=tip)) == pytest.approx(0.35)
    # Blows a fifth heavier on one edge leave it d (1 - 0.5 x 1.2) = 0.4 d thick, by their definition.
    uneven = Span(length_mm=12.0, flare=Flare(thickness=0.5, bias=0.2))
    assert thinnest_edge_mm(evaluated(uneven, d=1.2)) == pytest.approx(0.48)


def test_edges_under_0_4_mm_are_cautioned_of() -> None:
    # [C] edges under 0.4 mm cut and catch.
    def codes(thickness: float) -> set[str]:
        piece = evaluated(Span(length_mm=12.0, flare=Flare(thickness=thickness)), d=1.0)
        return {caution.code for caution in piece.cautions}

    assert "sharp_edge" in codes(0.399)
    assert "sharp_edge" not in codes(0.401)
