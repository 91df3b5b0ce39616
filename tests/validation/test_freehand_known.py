"""Strokes whose wire is known, drawn with and without a trembling hand, against the spans they were made of.

The strokes come from closed forms only: straight lines, circles, the ellipse and Bernoulli's lemniscate by
their equations [P], Euler's spiral by Fresnel integrals (scipy.special.fresnel, after Abramowitz & Stegun
7.3) [P]. How far a fit is from its stroke is measured here by dense points of both and a k-d tree, the fit's
own points by summing chords of its curvature law, curvature x length = turn + skew (2u - 1) [D].

A trembling hand is normal noise of 0.05 mm, about half a screen pixel, at a tolerance of 0.3 mm [C].
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import KDTree
from scipy.special import fresnel

from formsketch.fitting.freehand import StrokeFit, fit_stroke

Points = NDArray[np.complex128]
TOLERANCE_MM, TREMBLE_MM = 0.3, 0.05
SAMPLES = 300
# Chords this long leave an arc of 3 mm radius by 0.05^2 / 24 = 0.0001 mm.
CHORD_MM = 0.05
MEASURED_TO_MM = 0.02


def line(length: float) -> Points:
    return np.linspace(0, length, SAMPLES) + 0j


def arc(radius: float, turn_deg: float) -> Points:
    """From 0 along +x, turning left where the angle is positive."""
    angle = np.linspace(0, np.deg2rad(abs(turn_deg)), SAMPLES)
    points = radius * (np.sin(angle) + 1j * (1 - np.cos(angle)))
    return points if turn_deg > 0 else np.conj(points)


def euler_spiral(scale: float, until: float) -> Points:
    """Direction pi t^2 / 2 and arc length scale x t, for t from 0."""
    s, c = fresnel(np.linspace(0, until, SAMPLES))
    return scale * (c + 1j * s)


def joined(*parts: tuple[Points, float, float]) -> Points:
    """Parts one after another: points, the turn they make in degrees, and the sharp bend before them."""
    drawn, heading = [np.zeros(1, dtype=complex)], 0.0
    for points, turn_deg, bend_deg in parts:
        heading += np.deg2rad(bend_deg)
        drawn.append(drawn[-1][-1] + np.exp(1j * heading) * points[1:])
        heading += np.deg2rad(turn_deg)
    return np.concatenate(drawn)


def ellipse(first_deg: float = 0.0) -> Points:
    angle = np.deg2rad(first_deg) + np.linspace(0, 2 * np.pi, SAMPLES)
    return 15 * np.cos(angle) + 10j * np.sin(angle)


def lemniscate() -> Points:
    """Bernoulli's, 30 mm wide, from its crossing."""
    angle = np.linspace(0.5 * np.pi, 2.5 * np.pi, SAMPLES)
    return 15 * np.cos(angle) * (1 + 1j * np.sin(angle)) / (1 + np.sin(angle) ** 2)


def polygon(side: float, turns_deg: Sequence[float]) -> Points:
    return joined((line(side), 0, 0), *((line(side), 0, turn) for turn in turns_deg))


HOOK = joined((line(20), 0, 0), (arc(4, 180), 180, 0), (line(14), 0, 0))
S_CURVE = joined((arc(8, 150), 150, 0), (arc(6, -170), -170, 0))
FIGURE_EIGHT = joined((arc(6, 360), 360, 0), (arc(6, -360), -360, 0))
LOOPS = joined(*((arc(4, turn), turn, 0) for turn in (240, -240, 240, -240)))

# Stroke and the spans it was made of: L a line, A an arc, S a spiral.
KNOWN = {
    "line": (line(40), "L"),
    "circle": (arc(10, 360), "A"),
    "half circle": (arc(10, 180), "A"),
    "coil of three rounds": (arc(5, 1080), "A"),
    "S": (S_CURVE, "AA"),
    "hook": (HOOK, "LAL"),
    "Euler spiral": (euler_spiral(30, 1.6), "S"),
    "figure-eight": (FIGURE_EIGHT, "AA"),
    "loops": (LOOPS, "AAAA"),
    "square": (polygon(20, (90, 90, 90)), "LLLL"),
    "three sides of a square": (polygon(20, (90, 90)), "LLL"),
    "zigzag": (polygon(8, (100, -100, 80)), "LLLL"),
    "there and back": (polygon(25, (180,)), "LL"),
}


def drawn(points: Points, seed: int, tremble_mm: float = TREMBLE_MM) -> Points:
    """The stroke somewhere else, turned, and by a trembling hand."""
    random = np.random.default_rng(seed)
    turn, place = np.exp(2j * np.pi * random.random()), complex(*random.uniform(-80, 80, 2))
    noise = random.standard_normal((2, len(points)))
    return points * turn + place + tremble_mm * (noise[0] + 1j * noise[1])


def centreline(fit: StrokeFit) -> Points:
    """Dense points of the fitted spans, by the midpoint rule on their direction."""
    points, heading = [np.array([fit.start_mm])], fit.heading_rad
    for span in fit.spans:
        heading += np.deg2rad(span.corner_deg)
        count = int(np.ceil(span.length_mm / CHORD_MM)) * 4
        u = (np.arange(count) + 0.5) / count
        angle = heading + np.deg2rad(span.turn_deg * u + span.skew_deg * (u * u - u))
        points.append(points[-1][-1] + np.cumsum(np.exp(1j * angle)) * span.length_mm / count)
        heading += np.deg2rad(span.turn_deg)
    return np.concatenate(points)


def apart_mm(fit: StrokeFit, stroke: Points) -> float:
    """Greatest distance between a stroke's samples and a fit, and between a fit and the stroke's line."""
    curve = centreline(fit)
    steps = np.maximum(1, np.ceil(np.abs(np.diff(stroke)) / CHORD_MM).astype(int))
    along = np.concatenate([np.arange(n) / n + i for i, n in enumerate(steps)])
    dense = np.interp(along, range(len(stroke)), stroke.real) + 1j * np.interp(
        along, range(len(stroke)), stroke.imag
    )
    to_curve = KDTree(np.c_[curve.real, curve.imag]).query(np.c_[stroke.real, stroke.imag])[0]
    to_stroke = KDTree(np.c_[dense.real, dense.imag]).query(np.c_[curve.real, curve.imag])[0]
    return float(max(to_curve.max(), to_stroke.max()))


def kinds(fit: StrokeFit) -> str:
    return "".join("S" if span.skew_deg else "A" if span.turn_deg else "L" for span in fit.spans)


@pytest.mark.parametrize("name", KNOWN)
@pytest.mark.parametrize("seed", range(4))
def test_known_strokes_come_back_as_the_spans_they_were_made_of(name: str, seed: int) -> None:
    points, spans = KNOWN[name]
    stroke = drawn(points, seed, TREMBLE_MM if seed else 0.0)
    fit = fit_stroke(stroke, TOLERANCE_MM)
    assert kinds(fit) == spans
    assert fit.deviation_mm <= TOLERANCE_MM
    assert apart_mm(fit, stroke) <= TOLERANCE_MM + MEASURED_TO_MM


@pytest.mark.parametrize("name", KNOWN)
def test_a_steady_hand_is_followed_exactly(name: str) -> None:
    """Only chords between samples separate stroke and wire: radius x angle^2 / 8, most in the coil [D]."""
    stroke = drawn(KNOWN[name][0], 9, 0.0)
    chord_mm = 5 * (6 * np.pi / SAMPLES) ** 2 / 8
    assert fit_stroke(stroke, TOLERANCE_MM).deviation_mm <= 2 * chord_mm


def test_numbers_of_arcs_and_lines_come_back() -> None:
    """Radii and angles of the hook and the S, as they were drawn [D]."""
    line_a, bow, line_b = fit_stroke(drawn(HOOK, 1), TOLERANCE_MM).spans
    assert line_a.turn_deg == line_b.turn_deg == 0.0
    assert bow.turn_deg == pytest.approx(180, abs=1)
    assert bow.length_mm / np.deg2rad(bow.turn_deg) == pytest.approx(4, abs=0.05)
    assert (line_a.length_mm, line_b.length_mm) == pytest.approx((20, 14), abs=0.2)
    left, right = fit_stroke(drawn(S_CURVE, 2), TOLERANCE_MM).spans
    assert (left.turn_deg, right.turn_deg) == pytest.approx((150, -170), abs=2)
    assert (left.length_mm, right.length_mm) == pytest.approx(np.deg2rad([8 * 150, 6 * 170]), abs=0.2)


def test_an_euler_spiral_has_its_turn_and_skew() -> None:
    """Direction pi t^2 / 2, so turn and skew are both pi 1.6^2 / 2 = 230.4 degrees [D]."""
    (span,) = fit_stroke(drawn(euler_spiral(30, 1.6), 3), TOLERANCE_MM).spans
    assert span.length_mm == pytest.approx(48, abs=0.2)
    assert (span.turn_deg, span.skew_deg) == pytest.approx((230.4, 230.4), abs=3)


def test_a_circle_that_closes_goes_round_exactly_once() -> None:
    fit = fit_stroke(drawn(arc(10, 360), 4), TOLERANCE_MM)
    assert fit.closed
    assert fit.spans[0].turn_deg == 360.0
    assert fit.spans[0].length_mm == pytest.approx(20 * np.pi, abs=0.2)


def test_a_square_has_four_sides_and_four_corners_when_it_closes() -> None:
    square = fit_stroke(drawn(KNOWN["square"][0], 5), TOLERANCE_MM)
    assert square.closed
    assert square.corners == (0, 1, 2, 3)
    assert [span.corner_deg for span in square.spans] == pytest.approx([0, 90, 90, 90], abs=1.5)
    assert [span.length_mm for span in square.spans] == pytest.approx([20] * 4, abs=0.2)
    curve = centreline(square)
    assert abs(curve[-1] - curve[0]) < 1e-6
    u_form = fit_stroke(drawn(KNOWN["three sides of a square"][0], 5), TOLERANCE_MM)
    assert not u_form.closed
    assert u_form.corners == (1, 2)


def test_a_square_begun_in_the_middle_of_a_side_has_five_lines() -> None:
    half, side = line(10), line(20)
    stroke = joined((half, 0, 0), (side, 0, 90), (side, 0, 90), (side, 0, 90), (half, 0, 90))
    fit = fit_stroke(drawn(stroke, 6), TOLERANCE_MM)
    assert kinds(fit) == "LLLLL"
    assert fit.corners == (1, 2, 3, 4)


@pytest.mark.parametrize("first_deg", [0.0, 34.0, 90.0])
def test_an_ellipse_takes_few_spans(first_deg: float) -> None:
    """Semi-axes 15 and 10 mm within 0.1 mm: at most 8 spans were asked for; 5 do, or 4 begun off its axes."""
    stroke = ellipse(first_deg)
    fit = fit_stroke(stroke, 0.1)
    assert len(fit.spans) <= 5
    assert apart_mm(fit, stroke) <= 0.1 + MEASURED_TO_MM
    # Its curvature rises and falls twice, and no span of linear curvature does both.
    assert len(fit.spans) >= 3


def test_a_lemniscate_is_spirals() -> None:
    """Its curvature is as the distance from the crossing: close to linear in length on either side [P]."""
    fit = fit_stroke(lemniscate(), 0.1)
    assert len(fit.spans) <= 4
    assert "S" in kinds(fit)
    assert apart_mm(fit, lemniscate()) <= 0.1 + MEASURED_TO_MM


@pytest.mark.parametrize(("radius_mm", "spans"), [(0.3, "LL"), (0.6, "LL"), (1.5, "LAL"), (5.0, "LAL")])
def test_a_bend_is_sharp_where_its_rounding_is_within_the_tolerance(radius_mm: float, spans: str) -> None:
    """Rounding a right angle to radius r keeps (sqrt 2 - 1) r from its corner: 0.3 mm at r = 0.72 mm [D]."""
    stroke = joined((line(15), 0, 0), (arc(radius_mm, 90), 90, 0), (line(15), 0, 0))
    fit = fit_stroke(drawn(stroke, 7, 0.02), TOLERANCE_MM)
    assert kinds(fit) == spans
    assert fit.corners == ((1,) if spans == "LL" else ())


def test_few_samples_of_a_circle_are_a_circle_and_of_a_square_a_square() -> None:
    """Twelve chords of a circle of 3 mm leave it by 3 (1 - cos 15 degrees) = 0.10 mm [D]."""
    circle = fit_stroke(3 * np.exp(2j * np.pi * np.arange(13) / 12), TOLERANCE_MM)
    assert (kinds(circle), circle.corners) == ("A", ())
    square = fit_stroke(np.array([0, 20, 20 + 20j, 20j, 0]), TOLERANCE_MM)
    assert (kinds(square), square.corners) == ("LLLL", (0, 1, 2, 3))
