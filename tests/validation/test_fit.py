"""A piece that closes at its size: ring sizes there and back, and the blank for a round and an oval.

Sources: ISO 8653 (size = inner circumference) [P]; BS 6820:1987, 36.25 mm + 1.25 mm a letter [P]; the common
US chart, 0.458 in + 0.032 in a size across [P], no standard; the Japanese trade scale, 13 mm + 1/3 mm [P];
blank for a closed band = pi (inside diameter + thickness) [P trade]; any convex inside + pi thickness [D].
"""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy import integrate, special

from formsketch.bench.ring_sizes import (
    nearest_ring_size,
    read_ring_size,
    ring_circumference_mm,
    ring_size_label,
)
from formsketch.design.model import Design, EyeEnd, Flare, Form, HookEnd, Run, Span, Wire, Worn
from formsketch.design.starters import make_starter
from formsketch.errors import InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.fit_size import fit
from formsketch.evaluation.oval import Oval
from formsketch.evaluation.rolled import (
    height_on_mandrel_mm,
    inside_of_rolled_mm,
    length_needed_mm,
    rolled,
)
from formsketch.evaluation.worn import EASES, reached_mm, wanted_mm

BRASS = Wire(metal="brass-c26000", diameter_mm=1.5)


def wire(length_mm: float, *flares: Flare | None, **ends: Any) -> Design:
    """A straight wire in as many equal spans as flares are given."""
    each = flares or (None,)
    spans = tuple(Span(length_mm=length_mm / len(each), flare=flare) for flare in each)
    return Design(title="Band", wire=BRASS, form=Form(runs=(Run(spans=spans),), **ends))


def ring(standard: str, size: float) -> Worn:
    return Worn(kind="ring", standard=standard, size=size)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("system", "text", "circumference_mm"),
    [
        ("iso", "52", 52.0),
        ("us", "7", pi * (0.458 + 0.032 * 7) * 25.4),
        ("us", "6½", pi * (0.458 + 0.032 * 6.5) * 25.4),
        ("uk", "N", 53.75),
        ("uk", "A", 37.5),
        ("japan", "13", pi * 17.0),
    ],
)
def test_a_ring_size_is_its_circumference_and_back(system: str, text: str, circumference_mm: float) -> None:
    size = read_ring_size(system, text)
    assert wanted_mm(ring(system, size)) == pytest.approx(circumference_mm, abs=1e-9)
    assert nearest_ring_size(system, circumference_mm) == size
    assert read_ring_size(system, ring_size_label(system, size)) == size
    # [P] US 7 is 17.3228 mm across.
    assert ring_circumference_mm("us", 7) / pi == pytest.approx(17.3228, abs=5e-5)


def test_a_wrist_has_its_ease() -> None:
    # [C] common practice, no source: snug 6 to 12, comfortable 12 to 25, loose 25 to 30 mm.
    assert EASES == {"snug": (6, 12), "comfortable": (12, 25), "loose": (25, 30)}
    assert wanted_mm(Worn(kind="bracelet", standard="wrist", size=165, ease_mm=15)) == 180
    assert wanted_mm(Worn(kind="hoop", standard="diameter", size=25)) == pytest.approx(25 * pi)


@pytest.mark.parametrize("size", [-1.0, 20.5])
def test_no_such_us_size(size: float) -> None:
    with pytest.raises(InputError, match=r"from 0 to 20 was expected"):
        wanted_mm(ring("us", size))


def test_the_perimeter_of_an_oval() -> None:
    # [P] semi-axes 30 and 20: 158.6544 round (complete elliptic integral).
    oval = Oval(158.6544, 20 / 30)
    assert (oval.width_mm, oval.depth_mm) == pytest.approx((60.0, 40.0), abs=1e-4)
    assert oval.tightest_radius_mm == pytest.approx(20**2 / 30, abs=1e-4)


@pytest.mark.parametrize("aspect", [1.0, 0.8, 0.5])
def test_the_blank_closes_at_the_size(aspect: float) -> None:
    """[D] The inner line of the blank rolled up, integrated numerically, is the size to 0.01 mm."""
    wanted = ring_circumference_mm("us", 7)
    length_mm = wanted + pi * 1.5  # [P trade] pi (inside diameter + thickness)
    made = evaluate(wire(length_mm))
    assert length_needed_mm(made, wanted) == pytest.approx(length_mm, abs=1e-9)
    piece = rolled(made, aspect)
    around = piece.at(np.linspace(0, piece.band.length_mm, 20_001))
    assert np.sum(np.abs(np.diff(around))) == pytest.approx(wanted, abs=0.01)
    # The same ellipse by itself, its middle line from the normals: as long as the blank.
    angle = np.linspace(0, 2 * pi, 20_001)
    a, b = piece.inside.width_mm / 2, piece.inside.depth_mm / 2
    normal = b * np.cos(angle) + 1j * a * np.sin(angle)
    middle = a * np.cos(angle) + 1j * b * np.sin(angle) + 0.75 * normal / np.abs(normal)
    assert np.sum(np.abs(np.diff(middle))) == pytest.approx(length_mm, abs=0.01)
    assert b == pytest.approx(aspect * a)


@pytest.mark.parametrize("aspect", [1.0, 0.75, 0.4])
def test_the_inside_of_a_hammered_band_by_integration(aspect: float) -> None:
    """[D] Rolled by a differential equation along the band: what the mandrel's surface measures, to 0.01 mm.

    While the middle of the wire goes on by dx, the inside goes on by du = dx / (1 + k(u) h(x)/2), k the
    curvature of the ellipse: integrated by scipy, the ellipse by its complete elliptic integral. The design
    is made to close at US 7 and the equation asked where the band ends.
    """
    wanted = ring_circumference_mm("us", 7)
    # Flat where the oval turns most, a quarter from the opening on both sides.
    flat = Flare(thickness=0.4, hold=0.7)
    drawn = wire(60.0, None, flat, None, flat, None)
    made = fit(drawn, replace(ring("us", 7), aspect=aspect), "scale").evaluation
    assert made is not None
    half_mm = wanted / (4 * special.ellipe(1 - aspect**2))
    x, h = made.trace.z_mm.real, made.samples.height_mm

    def speed(angle: float) -> float:
        return float(np.hypot(half_mm * np.sin(angle), aspect * half_mm * np.cos(angle)))

    # The ellipse's own angle is followed; the opening stands at the end of its shorter axis.
    def rate(along: float, angle: NDArray[np.float64]) -> list[float]:
        v = speed(angle[0])
        curvature = aspect * half_mm**2 / v**3
        return [1 / (v * (1 + curvature * float(np.interp(along, x, h)) / 2))]

    ends = integrate.solve_ivp(rate, (x[0], x[-1]), [pi / 2], rtol=1e-9, atol=1e-11, max_step=0.2).y[0, -1]
    reached = integrate.quad(speed, pi / 2, ends, epsabs=1e-9)[0]
    assert reached == pytest.approx(wanted, abs=0.01)
    assert reached_mm(made, replace(ring("us", 7), aspect=aspect)) == pytest.approx(reached, abs=0.01)
    # It matters: by the wire's diameter the blank would be far too long, by the mean height still too long.
    assert wanted + pi * 1.5 - made.envelope_mm[0] > 0.9
    by_mean = wanted + pi * float(np.average(h[1:] + h[:-1], weights=np.diff(x))) / 2
    assert by_mean - made.envelope_mm[0] > {1.0: -0.1, 0.75: 0.1, 0.4: 0.5}[aspect]


def test_a_gap_and_an_overlap() -> None:
    # [D] a gap adds its length to the inside, an overlap takes its own away.
    made = evaluate(wire(60.0))
    shut = inside_of_rolled_mm(made)
    assert inside_of_rolled_mm(made, 3.0) - shut == pytest.approx(3.0)
    assert inside_of_rolled_mm(made, -5.0) - shut == pytest.approx(-5.0)


def test_a_hook_in_its_eye() -> None:
    # [D] caught, each lies a wire's diameter over the other; both count in the length from end to end.
    made = evaluate(wire(150.0, start=HookEnd(inside_diameter_mm=3.0), finish=EyeEnd(inside_diameter_mm=3.0)))
    assert inside_of_rolled_mm(made) == pytest.approx(made.envelope_mm[0] - 2 * 1.5 - pi * 1.5, abs=1e-9)
    assert made.envelope_mm[0] > 155


def test_hammered_flat_is_lower_and_on_edge_is_higher() -> None:
    flat = evaluate(wire(60.0, Flare(thickness=0.5, hold=0.9), None, Flare(thickness=0.6, hold=0.5)))
    edge = evaluate(wire(60.0, Flare(thickness=0.5, hold=0.9, face="edge")))
    assert 0.75 < height_on_mandrel_mm(flat) < 1.5 < height_on_mandrel_mm(edge)
    # [D] over the mandrel of radius r the middle is (r + h/2) wide for each radian: r solved for one round.
    along = np.linspace(0.0, flat.trace.z_mm.real[-1], 40_001)
    height = np.interp(along, flat.trace.z_mm.real, flat.samples.height_mm)
    low, high = 1.0, 60.0
    for _ in range(60):
        r = (low + high) / 2
        turned = np.trapezoid(1 / (r + height / 2), along)
        low, high = (r, high) if turned > 2 * pi else (low, r)
    assert inside_of_rolled_mm(flat) == pytest.approx(2 * pi * r, abs=0.01)


@pytest.mark.parametrize(("inside_mm", "opening_mm"), [(12.0, 1.0), (25.0, 2.0), (40.0, 12.0)])
def test_a_hoop_as_it_is_laid(inside_mm: float, opening_mm: float) -> None:
    # [D] an arc open a little is as wide inside as its whole circle.
    numbers = {"inside_mm": inside_mm, "opening_mm": opening_mm, "thickness": 1.0}
    made = make_starter("hoop", BRASS, numbers=numbers)
    worn = Worn(kind="hoop", standard="diameter", size=inside_mm, rolled=False)
    assert reached_mm(evaluate(made), worn) == pytest.approx(pi * inside_mm, abs=1e-3)
