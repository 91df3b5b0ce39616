"""Bending at the bench, against springback by quadrature, published tables of bend allowance and limits.

[P] published, [M] published, quoted from memory, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.bench.metals import load_metals
from formsketch.bench.tubes import Tube
from formsketch.design.model import Design, Flare, Form, Hammer, OwnMetal, Run, Span, Wire
from formsketch.evaluation.bending import SpanBend, bending_of, k_factor, shorter_by_mm, springs_of
from formsketch.evaluation.evaluate import Evaluation, evaluate

METALS = load_metals()
# The values of [D] springback below: d 1.02 mm, E 100 GPa.
D, E_MPA = 1.02, 100_000.0


def evaluated(*spans: Span, yield_mpa: float | None = 200.0, d: float = D, spread: float = 0.6) -> Evaluation:
    own = OwnMetal(key="mine", name="Mine", density_g_per_cm3=8.5, yield_mpa=yield_mpa, e_gpa=E_MPA / 1000)
    design = Design(
        title="bends",
        wire=Wire(metal="mine", diameter_mm=d),
        hammer=Hammer(spread=spread),
        form=Form(runs=(Run(spans=spans),)),
        metals=(own,),
    )
    return evaluate(design, METALS)


def arc(radius: float, turn: float, **more: object) -> Span:
    return Span(length_mm=radius * math.radians(abs(turn)), turn_deg=turn, **more)  # type: ignore[arg-type]


def kept(u: float) -> float:
    """Share of curvature kept, by integrating the stress over the round section with scipy."""
    if u >= 1:
        return 0.0

    def moment(y: float) -> float:
        return min(y / u, 1.0) * y * 2 * math.sqrt(1 - y * y)

    m = 2 * sum(quad(moment, *part, epsabs=1e-13)[0] for part in ((0.0, u), (u, 1.0)))
    return 1 - u * m / (math.pi / 4)


def held_for(wanted: float, yield_mpa: float, d: float = D, e_mpa: float = E_MPA) -> float:
    """Centreline radius to hold, by bracketing the integral above."""
    limit = e_mpa * d / 2 / yield_mpa
    return float(brentq(lambda r: kept(r / limit) * wanted / r - 1, 1e-3 * d, limit * (1 - 1e-9), xtol=1e-12))


@pytest.mark.parametrize(
    ("yield_mpa", "tube", "free"),
    # [D] tube radius and centreline radius after letting go.
    [(200, 3, 3.59397494), (200, 5, 5.71976703), (400, 3, 3.68201518), (400, 10, 12.21333082)],
)
def test_what_a_tube_gives(yield_mpa: float, tube: float, free: float) -> None:
    e = evaluated(arc(free, 200.0), yield_mpa=yield_mpa)
    tubes = (Tube(2 * tube, "it"), Tube(90.0, "far"))
    (bend,) = bending_of(e, tubes)
    on = bend.on_tubes[0]
    assert bend.tube_mm == pytest.approx(2 * tube, rel=1e-8)
    assert on.tube.label == "it"
    assert on.finished_radius_mm == pytest.approx(free, rel=1e-8)
    assert on.inside_mm == pytest.approx(2 * free - D, rel=1e-8)
    # The bend angle shrinks by k, so bend to turn/k; all the wire of the span laid round gives its turn.
    assert bend.kept == pytest.approx((tube + D / 2) / free, rel=1e-8)
    assert on.held_deg == pytest.approx(200 * free / (tube + D / 2), rel=1e-8)
    assert bend.held_deg == pytest.approx(on.held_deg, rel=1e-8)
    assert on.wrapped_deg == pytest.approx(200.0, rel=1e-8)


@pytest.mark.parametrize(("radius", "turn"), [(3.0, 270.0), (6.0, -90.0), (25.0, 60.0)])
def test_bend_to_and_tube_against_integrated_stress(radius: float, turn: float) -> None:
    (bend,) = bending_of(evaluated(arc(radius, turn), yield_mpa=350.0))
    held = held_for(radius, 350.0)
    assert bend.tube_mm == pytest.approx(2 * held - D, rel=1e-8)
    assert bend.held_deg == pytest.approx(turn * radius / held, rel=1e-8)
    assert bend.outer_strain == pytest.approx(D / 2 / radius, rel=1e-9)  # [P] any strength-of-materials text


def test_an_uneven_bend_is_summed_along_the_wire() -> None:
    # Curvature x length = turn + skew (2u - 1); each place springs by itself; by scipy quadrature.
    turn, skew, length = math.radians(150.0), math.radians(90.0), 20.0
    e = evaluated(Span(length_mm=length, turn_deg=150.0, skew_deg=90.0), yield_mpa=300.0)
    (bend,) = bending_of(e)
    held = quad(
        lambda u: length / held_for(length / (turn + skew * (2 * u - 1)), 300.0), 0, 1, epsabs=1e-9, limit=60
    )[0]
    assert bend.held_deg == pytest.approx(math.degrees(held), rel=1e-8)
    # Half of the turn is made where turn u + skew (u^2 - u) is half of it.
    half = brentq(lambda u: turn * u + skew * (u * u - u) - turn / 2, 0, 1, xtol=1e-14)
    assert bend.grip_at_mm == pytest.approx(half * length, rel=1e-10)


def test_hammering_after_bending_multiplies_the_radius() -> None:
    # [D] uniform elongation keeps the angle and multiplies the radius; the flare of 0.5, S 0.6, takes
    # 9.13622559 mm of stock per 10 mm finished.
    length, turn = 30.0, 240.0
    e = evaluated(Span(length_mm=length, turn_deg=turn, flare=Flare(thickness=0.5)), d=1.0)
    finished = length / math.radians(turn)
    as_bent = 0.913622559 * finished
    exact = 2 * held_for(as_bent, 200.0, d=1.0) - 1.0
    (bend,) = bending_of(e, (Tube(exact, "exact"),))
    assert bend.as_bent_radius_mm == pytest.approx(as_bent, rel=1e-8)
    assert bend.tube_mm == pytest.approx(exact, rel=1e-7)
    (on,) = bend.on_tubes
    assert on.finished_radius_mm == pytest.approx(finished, rel=1e-7)
    # [D] 1.37663150 wide at the thinnest.
    assert on.inside_mm == pytest.approx(2 * finished - 1.37663150, rel=1e-6)


def test_the_range_runs_from_soft_to_hard() -> None:
    # [P] C26000 annealed wire yields at 110-158 MPa, hard strip at 495; E 110 GPa. [M med] E falls by 5-15 %.
    design = Design(
        title="brass",
        wire=Wire(metal="brass-c26000", diameter_mm=D),
        form=Form(runs=(Run(spans=(arc(8.0, 180.0),)),)),
    )
    (bend,) = bending_of(evaluate(design, METALS))
    least = 2 * held_for(8.0, 110.0, e_mpa=110_000) - D
    most = 2 * held_for(8.0, 158.0, e_mpa=0.85 * 110_000) - D
    hard = 2 * held_for(8.0, 495.0, e_mpa=0.85 * 110_000) - D
    assert bend.tube_range_mm == pytest.approx((most, least), rel=1e-8)
    # Hard is read at 4 B&S numbers, 37.105 %, against the table's 37.1.
    assert bend.hard_tube_mm == pytest.approx(hard, rel=5e-5)
    low, high = bend.held_range_deg or (0.0, 0.0)
    assert low < (bend.held_deg or 0.0) < high
    assert low == pytest.approx(180 * 8 / (least / 2 + D / 2), rel=1e-8)


def test_without_a_yield_nothing_is_said_of_springback() -> None:
    (bend,) = bending_of(evaluated(arc(5.0, 180.0), yield_mpa=None), (Tube(9.0, "nine"),))
    assert springs_of(METALS["gold-22k"]) is None
    assert (bend.kept, bend.held_deg, bend.tube_range_mm, bend.hard_tube_mm) == (None, None, None, None)
    assert bend.tube_mm == pytest.approx(10 - D)
    assert bend.on_tubes[0].finished_radius_mm == pytest.approx(4.5 + D / 2)
    # Sterling's worked rows give no yield: its hard wire is not known.
    sterling = springs_of(METALS["sterling-925"])
    assert sterling is not None and sterling.hard is None


@pytest.mark.parametrize(
    ("inside", "k"),
    # [M] Groover, Fundamentals of Modern Manufacturing: K 0.5 from R = 2 t, 0.33 below; here a line.
    [(0.0, 0.33), (D, 0.415), (2 * D, 0.5), (3 * D, 0.5), (100 * D, 0.5)],
)
def test_k_factor(inside: float, k: float) -> None:
    assert k_factor(inside, D) == pytest.approx(k, rel=1e-12)
    # Bend allowance angle x (r + K d) against the middle's angle x (r + d/2).
    allowance, middle = math.pi * (inside + k * D), math.pi * (inside + D / 2)
    assert shorter_by_mm(math.pi, inside, D) == pytest.approx(middle - allowance, rel=1e-12, abs=1e-15)


def test_a_tight_bend_takes_less_wire_than_its_middle() -> None:
    # Tube radius one wire: K 0.415, so 2 pi d 0.085 less for a full turn; a loose one takes its own length.
    spring_free = 1e-3
    tight, loose = bending_of(evaluated(arc(1.5 * D, 360.0), arc(4 * D, 360.0), yield_mpa=1.0))
    saved = tight.stock_length_mm - tight.corrected_length_mm
    assert saved == pytest.approx(2 * math.pi * D * 0.085, rel=spring_free)
    assert loose.corrected_length_mm == loose.stock_length_mm
    assert "two wire diameters" in tight.caution
    assert loose.caution == ""


def test_the_least_radius_is_said() -> None:
    # [M] ISO 7802: wire wraps round a rod of its own diameter; outside d/(2 R) = 1/2 [P].
    under, beyond = bending_of(evaluated(arc(0.9 * D, 90.0), arc(0.4 * D, 90.0), yield_mpa=1.0))
    assert "may crack" in under.caution
    assert under.outer_strain == pytest.approx(1 / 1.8, rel=1e-9)
    assert beyond.tube_mm is None
    assert beyond.on_tubes == ()
    assert "tighter than any tube" in beyond.caution


def test_limits_straight_huge_and_both_ways() -> None:
    straight, huge, both = bending_of(
        evaluated(Span(length_mm=12.0), arc(1e6, 1e-3), Span(length_mm=20.0, turn_deg=10.0, skew_deg=200.0)),
        (Tube(8.0, "8 mm"), Tube(300.0, "can")),
    )
    assert (straight.as_bent_radius_mm, straight.tube_mm, straight.grip_at_mm) == (None, None, None)
    assert straight.on_tubes == ()
    # All but straight: held just inside the elastic limit E c/Sy = 255 mm (u = 1).
    assert huge.tube_mm == pytest.approx(2 * held_for(1e6, 200.0) - D, rel=1e-7)
    assert 0.95 * 510 < huge.tube_mm + D < 510
    assert (both.held_deg, both.grip_at_mm) == (None, None)
    assert all(one.held_deg is None for one in both.on_tubes)
    # From a can of 300 mm the wire, 151 mm at its middle, springs less open than E c/Sy = 255 mm.
    assert huge.on_tubes[-1].finished_radius_mm == pytest.approx(150.51 / kept(150.51 / 255), rel=1e-7)


def test_a_wire_that_springs_fully_straight_gives_no_radius() -> None:
    (bend,) = bending_of(evaluated(arc(400.0, 30.0), yield_mpa=400.0), (Tube(1000.0, "drum"),))
    (on,) = bend.on_tubes
    assert (on.kept, on.finished_radius_mm, on.held_deg) == (0.0, None, None)


def test_marks_for_both_ways() -> None:
    def bends() -> tuple[SpanBend, ...]:
        return bending_of(evaluated(Span(length_mm=10.0), arc(4.0, 90.0), arc(6.0, -180.0)))

    quarter, half = 2 * math.pi, 6 * math.pi
    straight, one, two = bends()
    assert (straight.round_from_mm, straight.round_to_mm) == (0.0, 10.0)
    # Round: the tangent points. Gripped: the middle of the bend's wire.
    assert (one.round_from_mm, one.round_to_mm) == pytest.approx((10.0, 10.0 + quarter))
    assert one.grip_at_mm == pytest.approx(10.0 + quarter / 2)
    assert two.grip_at_mm == pytest.approx(10.0 + quarter + half / 2)


def test_sixty_spans_are_soon_done() -> None:
    # Like spans are solved once: their numbers are the same objects.
    bends = bending_of(evaluated(*(arc(5.0, 200.0) for _ in range(60))), (Tube(9.0, "9"), Tube(10.0, "10")))
    assert len(bends) == 60
    assert len({id(bend.on_tubes) for bend in bends}) == 1
    assert np.ptp([bend.corrected_length_mm for bend in bends]) == 0.0
