"""The largest balls in bays against closed forms, to 0.005 mm. All values derived."""

from __future__ import annotations

from math import hypot, pi, sqrt
from typing import Any

import numpy as np
import pytest
import shapely

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.evaluation.bays import bays_in
from formsketch.evaluation.evaluate import evaluate
from formsketch.geometry.pockets import Bay, bays_of

CLOSE_MM = 0.005
METALS = load_metals()


def disc(x: float, y: float, radius: float) -> Any:
    return shapely.Point(x, y).buffer(radius, quad_segs=256)


def form_bays(*spans: Span, wire_mm: float = 1.0) -> tuple[Bay, ...]:
    wire = Wire(metal="brass-c26000", diameter_mm=wire_mm)
    return bays_in(evaluate(Design(title="", wire=wire, form=Form(runs=(Run(spans=spans),))), METALS))


@pytest.mark.parametrize(("radius", "half_gap"), [(4.0, 0.5), (6.0, 0.2), (10.0, 0.4)])
def test_between_two_circles_and_a_line(radius: float, half_gap: float) -> None:
    board = shapely.box(-60, -1, 60, 0)
    metal = shapely.union_all([disc(s * (radius + half_gap), radius, radius) for s in (-1, 1)] + [board])
    (bay,) = bays_of(metal)
    # (R + g)^2 + (R - r)^2 = (R + r)^2.
    assert bay.diameter_mm == pytest.approx((radius + half_gap) ** 2 / (2 * radius), abs=CLOSE_MM)
    assert (bay.hold, bay.sides) == ("held", 3)
    # Two on the line, touching each other in the middle: (R + g - r)^2 + (R - r)^2 = (R + r)^2, from which
    # r^2 - (4 R + 2 (R + g)) r + (R + g)^2 = 0.
    half = 2 * radius + (radius + half_gap)
    pair = half - sqrt(half**2 - (radius + half_gap) ** 2)
    assert bay.pair_diameter_mm == pytest.approx(2 * pair, abs=CLOSE_MM)


def test_three_equal_circles_that_touch() -> None:
    # Soddy's inner circle of three equal ones: R (2 / sqrt 3 - 1).
    places = [10 * np.exp(2j * pi * k / 3) / sqrt(3) * 2 for k in range(3)]
    (bay,) = bays_of(shapely.union_all([disc(z.real, z.imag, 10.0) for z in places]))
    assert bay.diameter_mm == pytest.approx(20 * (2 / sqrt(3) - 1), abs=CLOSE_MM)
    assert bay.sides == 3


def test_inside_a_ring_and_between_two_rings() -> None:
    ring = disc(0, 0, 8).difference(disc(0, 0, 7))
    (bay,) = bays_of(ring)
    assert bay.hold == "closed"
    assert bay.diameter_mm == pytest.approx(14, abs=CLOSE_MM)
    assert bay.pair_diameter_mm == pytest.approx(7, abs=CLOSE_MM)
    (clear,) = bays_of(ring, clearance_mm=0.25)
    assert clear.diameter_mm == pytest.approx(13.5, abs=CLOSE_MM)
    assert clear.pair_diameter_mm == pytest.approx(6.75, abs=CLOSE_MM)
    # A channel round an island holds as many as one likes.
    (channel,) = bays_of(shapely.union_all([ring, disc(0, 0, 3)]))
    assert (channel.hold, channel.sides) == ("closed", 2)
    assert channel.diameter_mm == pytest.approx(4, abs=CLOSE_MM)
    assert channel.pair_diameter_mm == pytest.approx(4, abs=CLOSE_MM)
    # An island off the middle by 1: the widest place is 7 + 1 - 3 across.
    (off,) = bays_of(shapely.union_all([ring, disc(1, 0, 3)]))
    assert off.diameter_mm == pytest.approx(5, abs=CLOSE_MM)
    assert off.centre_mm.real == pytest.approx(-4.5, abs=0.1)


def test_inside_a_rectangle_and_a_triangle() -> None:
    (bay,) = bays_of(shapely.box(-1, -1, 11, 7).difference(shapely.box(0, 0, 10, 6)))
    assert bay.diameter_mm == pytest.approx(6, abs=CLOSE_MM)
    # Across the corners: (10 - 2 r)^2 + (6 - 2 r)^2 = (2 r)^2.
    assert bay.pair_diameter_mm == pytest.approx(16 - sqrt(16**2 - 136), abs=CLOSE_MM)
    # The incircle of the triangle 9, 12, 15 is 3.
    triangle = shapely.Polygon([(0, 0), (12, 0), (0, 9)])
    (bay,) = bays_of(shapely.box(-2, -2, 14, 11).difference(triangle))
    assert bay.diameter_mm == pytest.approx(6, abs=CLOSE_MM)


def test_a_half_s_of_two_arcs() -> None:
    # Two half circles of 5.5 mm through the middle of 1 mm wire: 5 mm inside each.
    half = 5.5 * pi
    bays = form_bays(Span(length_mm=half, turn_deg=180.0), Span(length_mm=half, turn_deg=-180.0))
    assert [bay.hold for bay in bays] == ["half open", "half open"]
    for bay in bays:
        assert bay.diameter_mm == pytest.approx(10, abs=CLOSE_MM)
        # Two that do not stand out of a half disc: (R - r)^2 = 2 r^2.
        assert bay.pair_diameter_mm == pytest.approx(10 * (sqrt(2) - 1), abs=CLOSE_MM)


@pytest.mark.parametrize(("inside_mm", "wire_mm"), [(10.0, 1.0), (3.0, 1.29), (25.0, 2.0)])
def test_inside_a_loop_of_wire(inside_mm: float, wire_mm: float) -> None:
    loop = Span(length_mm=pi * (inside_mm + wire_mm), turn_deg=360.0)
    (bay,) = form_bays(loop, wire_mm=wire_mm)
    assert bay.hold == "closed"
    assert bay.diameter_mm == pytest.approx(inside_mm, abs=CLOSE_MM)
    assert bay.pair_diameter_mm == pytest.approx(inside_mm / 2, abs=CLOSE_MM)


def test_an_open_ring_still_holds_its_ball() -> None:
    # 300 degrees round.
    (bay,) = form_bays(Span(length_mm=5.5 * 300 / 180 * pi, turn_deg=300.0))
    assert bay.hold == "held"
    assert bay.diameter_mm == pytest.approx(10, abs=CLOSE_MM)
    assert np.rad2deg(bay.open_rad) == pytest.approx(60, abs=6)


def test_no_bay_where_a_ball_would_roll_on() -> None:
    assert form_bays(Span(length_mm=40.0)) == ()
    assert form_bays(Span(length_mm=20.0, turn_deg=90.0)) == ()
    # The waist between two posts is no bay.
    assert bays_of(shapely.union_all([disc(-5, 0, 4), disc(5, 0, 4)])) == ()


def test_scaled_and_turned_the_bays_are_the_same() -> None:
    metal = shapely.union_all([disc(-4.5, 4, 4), disc(4.5, 4, 4), shapely.box(-20, -1, 20, 0)])
    (one,) = bays_of(metal)
    moved = shapely.affinity.translate(shapely.affinity.rotate(metal, 33, origin=(0, 0)), 7, -3)
    (same,) = bays_of(moved)
    assert same.diameter_mm == pytest.approx(one.diameter_mm, abs=CLOSE_MM)
    turned = one.centre_mm * np.exp(1j * np.deg2rad(33)) + (7 - 3j)
    assert abs(same.centre_mm - turned) < hypot(0.05, 0.05)
    (twice,) = bays_of(shapely.affinity.scale(metal, 2, 2, origin=(0, 0)))
    assert twice.diameter_mm == pytest.approx(2 * one.diameter_mm, abs=CLOSE_MM)
