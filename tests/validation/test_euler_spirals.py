"""Spans of linear curvature against closed forms and an independent library.

A span of length L has curvature x L = turn + skew (2u - 1): a line, an arc of a circle, or a piece of an
Euler spiral, whose points are Fresnel integrals (scipy.special.fresnel, after Abramowitz & Stegun 7.3) [P].
pyclothoids is an independent implementation of Bertolazzi & Frego, 'G1 fitting with clothoids', Math. Meth.
Appl. Sci. 38 (2015) 881-897 [P], used for points and for the span that joins two poses.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import fresnel

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import evaluate
from formsketch.geometry.joining import SpanShape, arc_to, join_poses
from formsketch.geometry.spans import curvature_per_mm, direction_rad, span_points
from tests.support.strategies import EVERY_WAY

EXACT = 1e-10
U = np.linspace(0.0, 1.0, 41)

# (length mm, turn rad, skew rad): scrolls, S-forms, a coil of two and a half rounds, one nearly straight.
SPIRALS = [
    (10.0, 0.8, 1.3),
    (25.0, np.pi, -np.pi),
    (14.0, 0.0, 3.0),
    (40.0, -5.0, 2.0),
    (8.0, 15.7, 15.7),
    (100.0, 12.0, -20.0),
    (10.0, 1e-3, 1e-6),
]


def fresnel_points(length: float, turn: float, skew: float, u: np.ndarray) -> np.ndarray:
    """Points of the span that begins at 0 along +x, by Fresnel integrals.

    Direction = skew (u - v)^2 - skew v^2 with v = 1/2 - turn/(2 skew): completing the square.
    """
    v = 0.5 - turn / (2 * skew)
    k = np.sqrt(2 * abs(skew) / np.pi)

    def integral(x: np.ndarray) -> np.ndarray:
        s, c = fresnel(k * x)
        return (c + 1j * np.sign(skew) * s) / k

    return length * np.exp(-1j * skew * v * v) * (integral(u - v) - integral(np.asarray(-v)))


def design_of(*spans: Span) -> Design:
    return Design(
        title="spirals",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        form=Form(runs=(Run(spans=spans),)),
    )


def degrees_span(length: float, turn: float, skew: float) -> Span:
    return Span(length_mm=length, turn_deg=np.rad2deg(turn), skew_deg=np.rad2deg(skew))


# Sampling


def test_a_line_is_straight() -> None:
    assert np.max(np.abs(span_points(17.5, 0.0, 0.0, U) - 17.5 * U)) < EXACT


@pytest.mark.parametrize("turn", [1e-9, 0.1, np.pi / 2, -np.pi, 2 * np.pi, -7 * np.pi])
def test_an_arc_lies_on_its_circle(turn: float) -> None:
    # Closed form: R = L/turn, z = i R (1 - e^(i turn u)); written with sin and cos of half the angle so that
    # it keeps its digits for the flattest arc.
    length = 31.0
    half = turn * U / 2
    expected = length * U * np.sinc(half / np.pi) * np.exp(1j * half)
    assert np.max(np.abs(span_points(length, turn, 0.0, U) - expected)) < EXACT


def test_a_whole_turn_closes() -> None:
    assert abs(span_points(50.0, 2 * np.pi, 0.0, 1.0)[0]) < EXACT


@pytest.mark.parametrize(("length", "turn", "skew"), SPIRALS[:-1])
def test_points_of_spirals_against_fresnel_integrals(length: float, turn: float, skew: float) -> None:
    expected = fresnel_points(length, turn, skew, U)
    assert np.max(np.abs(span_points(length, turn, skew, U) - expected)) < EXACT


@pytest.mark.parametrize(("length", "turn", "skew"), SPIRALS)
def test_points_of_spirals_against_adaptive_quadrature(length: float, turn: float, skew: float) -> None:
    # Independent route that does not lose digits near zero skew: quad over cos and sin of the direction.
    def point(u: float) -> complex:
        def angle(x: float) -> float:
            return turn * x + skew * (x * x - x)

        parts = np.linspace(0.0, u, 9)
        pieces = list(pairwise(parts))
        x = sum(quad(lambda v: np.cos(angle(v)), *piece, epsabs=1e-14)[0] for piece in pieces)
        y = sum(quad(lambda v: np.sin(angle(v)), *piece, epsabs=1e-14)[0] for piece in pieces)
        return complex(x, y) * length

    u = np.array([0.2, 0.61, 1.0])
    expected = np.array([point(x) for x in u])
    assert np.max(np.abs(span_points(length, turn, skew, u) - expected)) < EXACT


# Gentle S-forms and scrolls that need hardly any samples: the quadrature must be as exact on long steps.
GENTLE = [(21.6, -0.038, -0.46), (50.0, 0.0, 0.25), (50.0, 0.1, 0.15), (50.0, 0.5, 0.5), (50.0, 0.2, 5.0)]


@pytest.mark.parametrize(("length", "turn", "skew"), GENTLE)
def test_the_end_of_a_gentle_spiral_sampled_nowhere_else(length: float, turn: float, skew: float) -> None:
    end = span_points(length, turn, skew, [0.0, 1.0])[1]
    assert abs(end - fresnel_points(length, turn, skew, np.array(1.0))) < EXACT


def test_the_ends_of_random_spirals() -> None:
    rng = np.random.default_rng(1_735)
    for _ in range(500):
        length = float(rng.uniform(1, 60))
        turn = float(rng.normal(0, 3))
        skew = float(rng.choice((-1, 1)) * rng.uniform(0.05, 6))
        end = span_points(length, turn, skew, 1.0)[0]
        assert abs(end - fresnel_points(length, turn, skew, np.array(1.0))) < EXACT, (length, turn, skew)


@pytest.mark.parametrize(("length", "turn", "skew"), [*SPIRALS[:-1], *GENTLE])
def test_the_trace_of_an_evaluated_spiral_lies_on_it(length: float, turn: float, skew: float) -> None:
    # As many samples as the program itself takes.
    trace = evaluate(design_of(degrees_span(length, turn, skew)), load_metals()).own_trace
    assert np.max(np.abs(trace.z_mm - fresnel_points(length, turn, skew, trace.u))) < EXACT
    direction = np.exp(1j * (turn * trace.u + skew * (trace.u**2 - trace.u)))
    assert np.max(np.abs(trace.direction - direction)) < 1e-12


@pytest.mark.parametrize(("length", "turn", "skew"), SPIRALS)
def test_direction_turns_at_the_rate_of_the_curvature(length: float, turn: float, skew: float) -> None:
    # Definition: d(direction)/ds is the curvature; five-point differences are exact for a quadratic.
    h = 1e-3
    u = np.linspace(0.1, 0.9, 9)
    around = [direction_rad(u + k * h, 0.4, turn, skew) for k in (-2, -1, 1, 2)]
    rate = (around[0] - 8 * around[1] + 8 * around[2] - around[3]) / (12 * h) / length
    assert curvature_per_mm(u, length, turn, skew) == pytest.approx(rate, rel=1e-9, abs=1e-10)


@pytest.mark.parametrize(("length", "turn", "skew"), SPIRALS)
def test_points_against_pyclothoids(length: float, turn: float, skew: float) -> None:
    pyclothoids = pytest.importorskip("pyclothoids")
    start = (turn - skew) / length
    curve = pyclothoids.Clothoid.StandardParams(0.0, 0.0, 0.0, start, 2 * skew / length**2, length)
    expected = np.array([complex(curve.X(length * u), curve.Y(length * u)) for u in U])
    assert np.max(np.abs(span_points(length, turn, skew, U) - expected)) < EXACT


def test_the_trace_of_a_chain_of_spirals_against_pyclothoids() -> None:
    pyclothoids = pytest.importorskip("pyclothoids")
    shapes = [shape for shape in (*SPIRALS, *GENTLE) if shape[0] < 50]
    trace = evaluate(design_of(*(degrees_span(*shape) for shape in shapes)), load_metals()).own_trace
    at, heading = 0j, 0.0
    for part, (length, turn, skew) in enumerate(shapes):
        curve = pyclothoids.Clothoid.StandardParams(
            at.real, at.imag, heading, (turn - skew) / length, 2 * skew / length**2, length
        )
        own = trace.part == part
        expected = np.array([complex(curve.X(length * u), curve.Y(length * u)) for u in trace.u[own]])
        assert np.max(np.abs(trace.z_mm[own] - expected)) < EXACT
        at, heading = complex(curve.XEnd, curve.YEnd), curve.ThetaEnd


# Joining


def pose_error(shape: SpanShape, chord: complex, heading_from: float, heading_to: float) -> float:
    """How far the joined span ends from the pose it was to reach: mm for place, radians for direction.

    Checked with this file's own quadrature of the direction, twelve panels per radian.
    """
    nodes, weights = np.polynomial.legendre.leggauss(12)
    panels = 12 * (1 + int(abs(shape.turn_rad) + abs(shape.skew_rad)))
    u = ((np.arange(panels)[:, None] + (nodes + 1) / 2) / panels).ravel()
    angle = heading_from + shape.turn_rad * u + shape.skew_rad * (u * u - u)
    end = shape.length_mm * np.sum(np.tile(weights / 2 / panels, panels) * np.exp(1j * angle))
    turned = np.exp(1j * (heading_from + shape.turn_rad - heading_to))
    return max(abs(end - chord), abs(turned - 1))


def random_poses(count: int, seed: int) -> list[tuple[complex, float, float]]:
    """Chords of 0.5 to 60 mm in any direction, directions at both ends at random."""
    rng = np.random.default_rng(seed)
    chords = rng.uniform(0.5, 60, count) * np.exp(1j * rng.uniform(-np.pi, np.pi, count))
    headings = rng.uniform(-np.pi, np.pi, (count, 2))
    return [(complex(c), float(a), float(b)) for c, (a, b) in zip(chords, headings, strict=True)]


def test_random_poses_are_joined_exactly() -> None:
    for chord, heading_from, heading_to in random_poses(2_000 if EVERY_WAY else 700, 20_150):
        shape = join_poses(chord, heading_from, heading_to)
        assert pose_error(shape, chord, heading_from, heading_to) < EXACT, (chord, heading_from, heading_to)


def test_joining_random_poses_agrees_with_pyclothoids() -> None:
    pyclothoids = pytest.importorskip("pyclothoids")
    for chord, heading_from, heading_to in random_poses(3_000 if EVERY_WAY else 1_000, 4_711):
        theirs = pyclothoids.Clothoid.G1Hermite(0.0, 0.0, heading_from, chord.real, chord.imag, heading_to)
        ours = join_poses(chord, heading_from, heading_to)
        length = theirs.length
        turn = theirs.KappaStart * length + theirs.dk * length**2 / 2
        case = (chord, heading_from, heading_to)
        assert ours.length_mm == pytest.approx(length, rel=EXACT), case
        assert ours.turn_rad == pytest.approx(turn, rel=EXACT, abs=EXACT), case
        assert ours.skew_rad == pytest.approx(theirs.dk * length**2 / 2, rel=EXACT, abs=EXACT), case


@pytest.mark.parametrize(("length", "turn", "skew"), SPIRALS)
def test_a_span_is_found_again_from_its_ends(length: float, turn: float, skew: float) -> None:
    # `like` says which way round is meant where directions differ by whole turns.
    before = SpanShape(length, turn, skew)
    chord = complex(span_points(length, turn, skew, 1.0)[0])
    again = join_poses(chord, 0.0, turn, before)
    # How exactly the ends fix the span: an error in the place of the end moves it by at most 100 times that.
    found, wanted = (again.length_mm, again.turn_rad, again.skew_rad), (length, turn, skew)
    assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_a_span_pulled_little_by_little_keeps_its_way_round() -> None:
    # A loop of a turn and a half, its end drawn away in small steps, stays a loop of about a turn and a half.
    shape = SpanShape(40.0, 3 * np.pi, 0.0)
    end = complex(span_points(40.0, 3 * np.pi, 0.0, 1.0)[0])
    for step in range(60):
        chord = end + 0.02 * step * (0.6 + 0.8j)
        shape = join_poses(chord, 0.0, 3 * np.pi, shape)
        assert shape.turn_rad == pytest.approx(3 * np.pi, abs=1e-12)
        assert pose_error(shape, chord, 0.0, 3 * np.pi) < EXACT


@pytest.mark.parametrize("turn", [0.0, 0.4, -2.0, 3.0, 5.0, -6.0])
def test_an_arc_to_its_own_end_is_itself(turn: float) -> None:
    # Closed form: the chord of an arc of length L and turn T is L sinc(T/2), at half its turn.
    length = 12.0
    chord = length * np.sinc(turn / 2 / np.pi) * np.exp(0.5j * turn)
    arc = arc_to(complex(chord), SpanShape(length, turn, 0.0))
    assert (arc.length_mm, arc.turn_rad, arc.skew_rad) == pytest.approx((length, turn, 0.0), rel=1e-12)


def test_joins_that_cannot_be_are_refused() -> None:
    for chord in (0j, 0.01 + 0.01j, complex("nan"), complex("inf")):
        with pytest.raises(EditRefused, match=r"closer than 0\.05 mm"):
            join_poses(chord, 0.0, 1.0)
        with pytest.raises(EditRefused, match=r"closer than 0\.05 mm"):
            arc_to(chord)
    with pytest.raises(EditRefused, match="straight behind"):
        arc_to(-5.0 + 0j)
