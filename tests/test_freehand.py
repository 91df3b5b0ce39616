"""Freehand strokes to spans: what is refused, what always holds, tubes, and work that stays bounded.

Distances are measured with tests.validation.test_freehand_known's own points and k-d tree, not the fit's.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import msgspec
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from formsketch.design.model import Span
from formsketch.errors import EditRefused
from formsketch.fitting.freehand import StrokeFit, fit_stroke
from tests.support.strategies import EVERY_WAY, calm
from tests.validation.test_freehand_known import (
    MEASURED_TO_MM,
    apart_mm,
    arc,
    centreline,
    drawn,
    ellipse,
    joined,
    kinds,
    line,
)

Points = NDArray[np.complex128]
TOLERANCE_MM = 0.3
# Many times what a fit takes here, so that only one that hangs or runs away fails on a busy machine.
NEVER_LONGER_S = 5.0


@st.composite
def arcs(draw: st.DrawFn) -> list[tuple[float, float]]:
    """Radius in mm and turn in degrees of one to four arcs, each bent quite otherwise than the one before."""
    chain: list[tuple[float, float]] = []
    for _ in range(draw(st.integers(1, 4))):
        radius = draw(st.floats(3, 12))
        turn = draw(st.floats(60, 300)) * draw(st.sampled_from([-1, 1]))
        if chain and abs(np.sign(turn) / radius - np.sign(chain[-1][1]) / chain[-1][0]) < 0.12:
            turn = -turn
        chain.append((radius, turn))
    return chain


def stroke_of(chain: list[tuple[float, float]], seed: int, tremble_mm: float) -> Points:
    return drawn(joined(*((arc(radius, turn), turn, 0) for radius, turn in chain)), seed, tremble_mm)


def wandering(seed: int, bends: int, length_mm: float, samples: int, tremble_mm: float = 0.03) -> Points:
    """A smooth stroke whose direction is a sum of sines."""
    random = np.random.default_rng(seed)
    s = np.linspace(0, 1, 20 * samples)
    angle = sum(
        random.normal() * 3 / k**0.7 * np.sin(np.pi * k * s + random.uniform(0, 6)) for k in range(1, bends)
    )
    points = np.cumsum(np.exp(1j * np.asarray(angle)))[::20] * length_mm / len(s)
    return drawn(points, seed, tremble_mm)


@given(arcs(), st.integers(0, 10_000), st.sampled_from([0.0, 0.04]))
@calm(30)
def test_arcs_come_back_in_no_more_spans_than_they_were(
    chain: list[tuple[float, float]], seed: int, tremble_mm: float
) -> None:
    stroke = stroke_of(chain, seed, tremble_mm)
    fit = fit_stroke(stroke, TOLERANCE_MM)
    assert len(fit.spans) <= len(chain)
    assert fit.deviation_mm <= TOLERANCE_MM
    assert apart_mm(fit, stroke) <= TOLERANCE_MM + MEASURED_TO_MM


@given(arcs(), st.integers(0, 10_000), st.sampled_from([0.0, 0.04]))
@example([(4.0, 60.0)], 1, 0.0)  # looks the same from both ends
@calm(30)
def test_drawn_backwards_it_is_the_same_wire_backwards(
    chain: list[tuple[float, float]], seed: int, tremble_mm: float
) -> None:
    stroke = stroke_of(chain, seed, tremble_mm)
    there, back = fit_stroke(stroke, TOLERANCE_MM), fit_stroke(stroke[::-1], TOLERANCE_MM)
    assert len(back.spans) == len(there.spans)
    lengths, backwards = ([span.length_mm for span in fit.spans] for fit in (there, back))
    assert backwards[::-1] == pytest.approx(lengths, abs=TOLERANCE_MM / 10)
    assert back.start_mm == pytest.approx(centreline(there)[-1], abs=TOLERANCE_MM / 10)


@given(arcs(), st.integers(0, 10_000), st.floats(0.2, 20))
@calm(30)
def test_a_larger_drawing_gives_longer_spans_and_the_same_angles(
    chain: list[tuple[float, float]], seed: int, scale: float
) -> None:
    stroke = stroke_of(chain, seed, 0.04)
    fit, larger = fit_stroke(stroke, TOLERANCE_MM), fit_stroke(scale * stroke, scale * TOLERANCE_MM)
    assert [s.length_mm for s in larger.spans] == pytest.approx([scale * s.length_mm for s in fit.spans])
    for angle in ("turn_deg", "skew_deg", "corner_deg"):
        assert [getattr(s, angle) for s in larger.spans] == pytest.approx(
            [getattr(s, angle) for s in fit.spans], abs=1e-6
        )


@pytest.mark.parametrize("seed", range(12))
def test_any_smooth_stroke_is_followed_within_the_tolerance(seed: int) -> None:
    tolerance_mm = (0.1, 0.3, 1.0)[seed % 3]
    stroke = wandering(seed, 3 + seed % 5, 90, 300, tolerance_mm / 8)
    fit = fit_stroke(stroke, tolerance_mm)
    assert fit.deviation_mm <= tolerance_mm
    assert apart_mm(fit, stroke) <= tolerance_mm + MEASURED_TO_MM
    # What is said of the distance is so, but for where the stroke's own tremble is measured.
    assert apart_mm(fit, stroke) == pytest.approx(fit.deviation_mm, abs=0.05 * tolerance_mm + MEASURED_TO_MM)
    for span in fit.spans:
        msgspec.convert(msgspec.to_builtins(span), Span)


def test_the_same_stroke_always_gives_the_same_spans() -> None:
    stroke = wandering(3, 5, 90, 300)
    assert fit_stroke(stroke, TOLERANCE_MM) == fit_stroke(stroke.copy(), TOLERANCE_MM)
    pairs = np.stack((stroke.real, stroke.imag), axis=1)
    assert fit_stroke(pairs, TOLERANCE_MM) == fit_stroke(stroke, TOLERANCE_MM)


def test_resting_and_repeating_change_nothing_that_shows() -> None:
    """The pen rests 200 samples at one place, and every sample comes three times."""
    stroke = drawn(joined((line(20), 0, 0), (arc(6, 200), 200, 0)), 1, 0.0)
    resting = np.concatenate((stroke[:100], np.full(200, stroke[100]), stroke[101:])).repeat(3)
    plain, rested = fit_stroke(stroke, TOLERANCE_MM), fit_stroke(resting, TOLERANCE_MM)
    assert kinds(rested) == kinds(plain) == "LA"
    assert [s.length_mm for s in rested.spans] == pytest.approx([s.length_mm for s in plain.spans], abs=0.01)


def test_spans_are_tangent_but_at_corners() -> None:
    stroke = drawn(joined((line(15), 0, 0), (arc(5, 90), 90, 0), (line(15), 0, 70)), 2)
    fit = fit_stroke(stroke, TOLERANCE_MM)
    assert kinds(fit) == "LAL"
    assert fit.corners == (2,)
    assert [span.corner_deg for span in fit.spans[:2]] == [0.0, 0.0]
    assert fit.spans[2].corner_deg == pytest.approx(70, abs=2)


# Tubes


def radius_mm(span: Span) -> float:
    return span.length_mm / abs(float(np.deg2rad(span.turn_deg)))


def test_a_circle_goes_to_the_tube_that_bends_it() -> None:
    """Wire of 1 mm round a tube of 19 mm lies at a radius of (19 + 1) / 2 mm [D]."""
    stroke = drawn(arc(10.05, 360), 3)
    fit = fit_stroke(stroke, TOLERANCE_MM, tubes_mm=(16, 18, 19, 21), wire_diameter_mm=1.0)
    assert radius_mm(fit.spans[0]) == pytest.approx(10.0, abs=1e-9)
    assert fit.spans[0].turn_deg == 360.0
    assert apart_mm(fit, stroke) <= TOLERANCE_MM + MEASURED_TO_MM


def test_a_tube_that_would_leave_the_tolerance_is_not_used() -> None:
    stroke = drawn(arc(10, 360), 3)
    free = fit_stroke(stroke, TOLERANCE_MM)
    assert fit_stroke(stroke, TOLERANCE_MM, tubes_mm=(15, 25), wire_diameter_mm=1.0) == free


def test_each_arc_has_its_own_tube_and_lines_have_none() -> None:
    stroke = drawn(joined((arc(8, 150), 150, 0), (line(10), 0, 0), (arc(5, -200), -200, 0)), 4)
    tubes = np.arange(3, 25, 0.5)
    fit = fit_stroke(stroke, TOLERANCE_MM, tubes_mm=tubes.tolist(), wire_diameter_mm=0.8)
    assert kinds(fit) == "ALA"
    for span in (fit.spans[0], fit.spans[2]):
        tube_mm = 2 * radius_mm(span) - 0.8
        assert np.abs(tubes - tube_mm).min() < 1e-6
    assert fit.deviation_mm <= TOLERANCE_MM


def test_one_arc_keeps_its_radius_when_only_the_other_has_a_tube() -> None:
    stroke = drawn(joined((arc(8, 150), 150, 0), (arc(5, -200), -200, 0)), 5)
    fit = fit_stroke(stroke, TOLERANCE_MM, tubes_mm=(10.0,))
    assert radius_mm(fit.spans[1]) == pytest.approx(5.0, abs=1e-9)
    assert radius_mm(fit.spans[0]) == pytest.approx(8.0, abs=0.1)


# What cannot be


@pytest.mark.parametrize(
    ("points", "tolerance_mm", "said"),
    [
        ([], 0.3, "two different places"),
        ([1 + 1j], 0.3, "two different places"),
        ([1 + 1j] * 50, 0.3, "two different places"),
        ([0j, complex("nan"), 5j], 0.3, "finite"),
        ([0j, complex("inf"), 5j], 0.3, "finite"),
        ([(0.0, 0.0), (float("nan"), 5.0)], 0.3, "finite"),
        ([0j, 0.4 + 0j], 0.3, "shorter than 0.5 mm"),
        ([0j, 20_000j], 0.3, "longer than 10 m"),
        ([0j, 1e300 + 0j], 0.3, "kilometre"),
        ([0j, 5e6 + 0j], 0.3, "kilometre"),
        ([0.0, 1.0, 2.0], 0.3, "an x and a y"),
        ([(0.0, 0.0, 0.0), (1.0, 1.0, 1.0)], 0.3, "an x and a y"),
        ([("a", "b"), ("c", "d")], 0.3, "an x and a y"),
        ([0j, 10 + 0j], 0.0, "tolerance"),
        ([0j, 10 + 0j], -1.0, "tolerance"),
        ([0j, 10 + 0j], float("nan"), "tolerance"),
        ([0j, 10 + 0j], float("inf"), "tolerance"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(points: object, tolerance_mm: float, said: str) -> None:
    with pytest.raises(EditRefused) as refusal:
        fit_stroke(points, tolerance_mm)  # type: ignore[arg-type]
    text = str(refusal.value)
    assert said in text
    assert text[0].isupper() and text.endswith(".") and "\n" not in text


@pytest.mark.parametrize(
    ("tubes_mm", "wire_mm"), [((0.0,), 1.0), ((float("nan"),), 1.0), ((5.0,), -1.0), ((5.0,), float("inf"))]
)
def test_tubes_and_wire_without_a_size_are_refused(tubes_mm: tuple[float, ...], wire_mm: float) -> None:
    with pytest.raises(EditRefused, match=r"diameter"):
        fit_stroke([0j, 10 + 0j], 0.3, tubes_mm, wire_mm)


def test_the_least_that_can_be() -> None:
    (span,) = fit_stroke([0j, 0.5 + 0j], 0.3).spans
    assert span == Span(length_mm=0.5)
    (span,) = fit_stroke([0j, 3 + 4j], 1e6).spans
    assert span == Span(length_mm=5.0)


# Bounded work

NASTY: dict[str, Callable[[np.random.Generator], Points]] = {
    "white noise": lambda r: 10 * (r.standard_normal(900) + 1j * r.standard_normal(900)),
    "a random walk": lambda r: np.cumsum(r.standard_normal(5000) + 1j * r.standard_normal(5000)) / 10,
    "a hundred zigzags": lambda r: 3.0 * np.arange(100) + 15j * (np.arange(100) % 2),
    "five thousand zigzags": lambda r: 0.3 * np.arange(5000) + 2j * (np.arange(5000) % 2),
    "back and forth": lambda r: r.uniform(-20, 20, 9) + 0j,
    "the same way back": lambda r: np.concatenate((wandering(1, 5, 80, 150), wandering(1, 5, 80, 150)[::-1])),
    "twenty rounds outward": lambda r: np.linspace(2, 33, 5000) * np.exp(1j * np.linspace(0, 126, 5000)),
    "twenty-five rounds": lambda r: 5 * np.exp(1j * np.linspace(0, 50 * np.pi, 3000)),
    "five places": lambda r: r.uniform(-30, 30, 5) + 1j * r.uniform(-30, 30, 5),
    "fifty bends": lambda r: wandering(1, 61, 1200, 5000),
    "dense": lambda r: drawn(joined(*((arc(4, t), t, 0) for t in (240, -240) * 8)), 1),
}


@pytest.mark.parametrize("name", NASTY)
@pytest.mark.parametrize("tolerance_mm", [0.05, 0.3, 3.0] if EVERY_WAY else [0.05, 3.0])
def test_no_stroke_hangs_and_what_is_followed_is_followed_well(name: str, tolerance_mm: float) -> None:
    stroke = NASTY[name](np.random.default_rng(4))
    begun = time.perf_counter()
    try:
        fit: StrokeFit | None = fit_stroke(stroke, tolerance_mm)
    except EditRefused:
        fit = None
    assert time.perf_counter() - begun < NEVER_LONGER_S
    if fit is not None:
        assert fit.deviation_mm <= tolerance_mm
        assert apart_mm(fit, stroke) <= tolerance_mm * 1.02 + MEASURED_TO_MM
        assert all(abs(span.turn_deg) <= 7200 for span in fit.spans)


def test_a_long_stroke_of_many_spans_is_followed_in_sections() -> None:
    """Thirty-two loops of 240 degrees, too many to be laid out all at once, come back as they were."""
    stroke = drawn(joined(*((arc(4, t), t, 0) for t in (240, -240) * 16)), 8)
    fit = fit_stroke(stroke, TOLERANCE_MM)
    assert kinds(fit) == "A" * 32
    assert apart_mm(fit, stroke) <= TOLERANCE_MM + MEASURED_TO_MM
    assert [abs(span.turn_deg) for span in fit.spans] == pytest.approx([240] * 32, abs=6)


def test_a_stroke_that_trembles_more_than_the_tolerance_is_refused() -> None:
    with pytest.raises(EditRefused, match="trembles too much"):
        fit_stroke(drawn(ellipse(), 1, 0.5), 0.1)
