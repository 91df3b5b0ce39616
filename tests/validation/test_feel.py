"""How a piece gives under a load: closed forms, scipy's quadrature, and a plane frame of straight bars.

[P] published, [M] published and quoted from memory, [D] derived and checked numerically by an independent
route. Roark: Young, Budynas & Sadegh, Roark's Formulas for Stress and Strain.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from formsketch.design.model import Flare, Span, TaperedEnd
from formsketch.evaluation.bar import Bar
from formsketch.evaluation.bar_loads import (
    E_OVER_G,
    Moments,
    UnitLoad,
    closed_form,
    compliance,
    flexibility,
    moments_of,
)
from formsketch.evaluation.feel import feel_of
from formsketch.evaluation.feel_question import Question
from tests.support.feeling import (
    DIAMETER_MM,
    E_MPA,
    I_ROUND_MM4,
    SPREAD,
    YIELD_MPA,
    arc,
    cantilever,
    even,
    piece,
)

R = 10.0
EI = E_MPA * I_ROUND_MM4


# --- in the plane of the form


def test_a_closed_ring_under_a_load_across() -> None:
    # [M hi] Roark, circular rings: shortens 0.1488, widens 0.1366 W R^3/EI; [D] exactly pi/4 - 2/pi and
    # 2/pi - 1/2.
    ring = piece(arc(R, 360))
    feel = feel_of(ring, Question("ring"))
    assert EI / R**3 / feel.load_per_move.value == pytest.approx(0.1487783910, rel=1e-8)
    bar = Bar(ring, (0.0, np.pi * R / 2, np.pi * R, 1.5 * np.pi * R))
    flexible = flexibility(bar.nodes)
    down = UnitLoad(0.0, np.pi * R, complex(bar.at_along((np.pi * R,)).z_mm[0]), force=1j)
    across = UnitLoad(
        np.pi * R / 2, 1.5 * np.pi * R, complex(bar.at_along((1.5 * np.pi * R,)).z_mm[0]), force=-1 + 0j
    )
    loaded = closed_form(bar, down, flexible, 2 * np.pi * R).moments_of(down, bar.nodes)
    other = moments_of(across, bar.nodes)
    widened = compliance(bar, across, loaded, other, flexible) * I_ROUND_MM4 / R**3
    assert abs(widened) == pytest.approx(0.1366197724, rel=1e-8)
    # Roark: greatest moment W R/pi, under the load.
    assert feel.first_set is not None
    assert feel.first_set.load.value == pytest.approx(
        YIELD_MPA * np.pi * DIAMETER_MM**3 / 32 * np.pi / R, rel=1e-7
    )


@pytest.mark.parametrize(
    ("alpha_deg", "factor"),
    [(0, 3 * np.pi), (10, 9.2352738040), (30, 7.8440228007), (60, 4.4406307593), (90, np.pi / 2)],
)
def test_an_open_ring_pulled_apart(alpha_deg: float, factor: float) -> None:
    # [D] f = (pi - alpha)(2 + cos 2 alpha) + 1.5 sin 2 alpha; greatest moment P R (1 + cos alpha).
    feel = feel_of(piece(arc(R, 360 - 2 * alpha_deg)))
    assert EI / R**3 / feel.load_per_move.value == pytest.approx(factor, rel=1e-9)
    greatest = R * (1 + np.cos(np.deg2rad(alpha_deg)))
    assert feel.first_set is not None
    assert feel.first_set.load.value == pytest.approx(
        YIELD_MPA * np.pi * DIAMETER_MM**3 / 32 / greatest, rel=1e-7
    )
    # [P] full plastic moment d^3 Sy/6, any strength-of-materials text.
    assert feel.hinge is not None
    assert feel.hinge.load.value == pytest.approx(YIELD_MPA * DIAMETER_MM**3 / 6 / greatest, rel=1e-7)
    # Half-way round.
    assert feel.first_set.place.along_mm == pytest.approx(feel.to_mm / 2, abs=0.02)


def test_the_slit_hoop() -> None:
    # [D] R 10, d 1.02, E 100 GPa, Sy 300 MPa.
    feel = feel_of(piece(arc(R, 360)))
    assert feel.move_for(1.0).value == pytest.approx(1.7737832180, rel=1e-9)
    assert feel.load_for(1.7737832180).value == pytest.approx(1.0, rel=1e-9)
    assert feel.first_set is not None
    assert feel.first_set.load.value == pytest.approx(1.5627577766, rel=1e-8)
    assert feel.first_set.move.value == pytest.approx(1.5627577766 * 1.7737832180, rel=1e-8)
    under = feel.along(feel.first_set.load.value)
    assert np.max(under.stress_mpa) == pytest.approx(YIELD_MPA, rel=1e-6)
    assert np.all(under.yield_mpa == YIELD_MPA)


@pytest.mark.parametrize(
    ("angle_deg", "radial", "tangential"),
    [(90, 0.7853981634, 0.3561944902), (180, 1.5707963268, 4.7123889804)],
)
def test_arcs_held_at_one_end(angle_deg: float, radial: float, tangential: float) -> None:
    # [D] radial phi/2 - sin(2 phi)/4, tangential 3 phi/2 - 2 sin phi + sin(2 phi)/4, x P R^3/EI.
    held = piece(arc(R, angle_deg))
    along = complex(np.exp(1j * np.deg2rad(angle_deg)))
    assert cantilever(held, force=1j * along) * I_ROUND_MM4 / R**3 == pytest.approx(radial, rel=1e-9)
    assert cantilever(held, force=along) * I_ROUND_MM4 / R**3 == pytest.approx(tangential, rel=1e-9)


def test_a_half_circle_of_varying_section() -> None:
    # [D] EI = EI0 (1 + 0.5 cos theta), theta from the free end; radial load: 1.6835744290 P R^3/EI0.
    bar = Bar(piece(arc(R, 180)))
    theta = np.pi - bar.nodes.along_mm / R
    none = np.zeros(len(theta))
    flexible = Moments(1 / (1 + 0.5 * np.cos(theta)), none, none)
    load = UnitLoad(0.0, np.pi * R, complex(bar.at_along((np.pi * R,)).z_mm[0]), force=1j)
    moments = moments_of(load, bar.nodes)
    assert compliance(bar, load, moments, moments, flexible) / R**3 == pytest.approx(1.6835744290, rel=1e-9)


def test_straight_and_tapered_bars() -> None:
    # [P] P L^3/(3 E I), any strength-of-materials text.
    straight = Span(length_mm=25.0)
    expected = 25.0**3 / 3 / I_ROUND_MM4
    assert cantilever(piece(straight), force=1j) == pytest.approx(expected, rel=1e-12)
    assert cantilever(piece(straight), lift=1.0) == pytest.approx(expected, rel=1e-12)
    # [D] round taper, d at the held end, tip at the load: 64 P L^3/(3 pi E d^3 tip), by direct integration.
    stub = 0.01  # the span before the taper
    taper = piece(Span(length_mm=stub), finish=TaperedEnd(length_mm=20.0, tip_diameter_mm=0.4))

    def arm_squared(s: float) -> float:
        width = DIAMETER_MM + (0.4 - DIAMETER_MM) * max(s - stub, 0.0) / 20.0
        return (20.0 + stub - s) ** 2 * 64 / (np.pi * width**4)

    by_quad = quad(arm_squared, 0, 20.0 + stub, points=[stub], epsrel=1e-11, limit=200)[0]
    assert cantilever(taper, force=1j) == pytest.approx(by_quad, rel=1e-8)
    assert cantilever(taper, force=1j) == pytest.approx(
        64 * 20.0**3 / (3 * np.pi * DIAMETER_MM**3 * 0.4), rel=2e-3
    )


# --- out of the plane


def test_a_quarter_bow_lifted_at_one_end() -> None:
    # [M hi] Roark, curved beams loaded square to their plane (also Timoshenko): P R^3 [(pi/4)/EI +
    # (3 pi/4 - 2)/GJ], GJ = EI x 2/(E/G) for a round wire.
    expected = R**3 / EI * (np.pi / 4 + (3 * np.pi / 4 - 2) * E_OVER_G / 2)
    feel = feel_of(piece(arc(R, 90)), Question("lift"))
    assert 1 / feel.load_per_move.value == pytest.approx(expected, rel=1e-5)


def test_bent_over_the_wrist() -> None:
    # [P] a straight bar under equal end moments turns M L/EI. [D] a half circle about its own axis of
    # symmetry bends and twists by halves: M R (pi/2)(1/EI + 1/GJ).
    per_degree = feel_of(piece(Span(length_mm=40.0)), Question("wrist")).load_per_move.value
    assert per_degree == pytest.approx(np.deg2rad(1) * EI / 40.0, rel=1e-9)
    per_degree = feel_of(piece(arc(R, 180)), Question("wrist")).load_per_move.value
    expected = R * np.pi / 2 * (1 + E_OVER_G / 2) / EI
    assert np.deg2rad(1) / per_degree == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(("face", "strong_in_plane"), [("flat", True), ("edge", False)])
def test_which_axis_a_flare_resists_on(face: str, strong_in_plane: bool) -> None:
    # [D] an evenly flat wire is a bar of one section; the stadium's moments for w, t from the spread law.
    bent = piece(arc(R, 180, even(0.5, face)))
    width, thickness = bent.samples.width_mm[3], bent.samples.thickness_mm[3]
    a = width - thickness
    weak = a * thickness**3 / 12 + np.pi * thickness**4 / 64
    strong = (
        thickness * a**3 / 12 + np.pi * thickness**2 * a**2 / 16 + a * thickness**3 / 6
    ) + np.pi * thickness**4 / 64
    inside = strong if strong_in_plane else weak
    opened = feel_of(bent)
    assert R**3 * np.pi / 2 / E_MPA * opened.load_per_move.value == pytest.approx(inside, rel=1e-8)
    # As much metal in a round wire: I = A^2/(4 pi).
    area = thickness * a + np.pi * thickness**2 / 4
    assert opened.round_diameter_mm == pytest.approx(np.sqrt(4 * area / np.pi), rel=1e-9)
    assert opened.stiffness_to_round == pytest.approx(inside / (area**2 / 4 / np.pi), rel=1e-8)
    straight = piece(Span(length_mm=40.0, flare=even(0.5, face)))
    outside = weak if strong_in_plane else strong
    per_degree = feel_of(straight, Question("wrist")).load_per_move.value
    assert per_degree == pytest.approx(np.deg2rad(1) * E_MPA * outside / 40.0, rel=1e-8)


# --- varying sections, by independent sums


def stadium_by_hand(diameter: float, thickness: float) -> tuple[float, float]:
    """Width by the spread law, solved by Brent; and the second moment in the plane of the flat."""
    if thickness >= diameter:
        return diameter, np.pi * diameter**4 / 64

    def miss(width: float) -> float:
        height = (thickness * (width - thickness) + np.pi * thickness**2 / 4) / width
        return float(np.log(width / diameter) - SPREAD * np.log(np.pi * diameter / 4 / height))

    widest = thickness + np.pi * (diameter**2 - thickness**2) / (4 * thickness)
    width = brentq(miss, diameter, widest, xtol=1e-14, rtol=1e-14)
    a, t = width - thickness, thickness
    return width, t * a**3 / 12 + np.pi * t**2 * a**2 / 16 + a * t**3 / 6 + np.pi * t**4 / 64


def thickness_by_hand(u: float, flare: Flare) -> float:
    """The flare's own definition: sin^2 up to the hold, and down from it."""
    begin, end = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
    ease = np.sin(np.pi / 2 * (u / begin if u < begin else 1.0)) ** 2
    if u > end:
        ease = np.sin(np.pi / 2 * (1 - u) / (1 - end)) ** 2
    return DIAMETER_MM * (1 - (1 - flare.thickness) * ease)


@pytest.mark.parametrize(
    "flare",
    [
        Flare(thickness=0.5),
        Flare(thickness=0.2, centre=0.3, hold=0.2),
        Flare(thickness=0.15, centre=0.85, hold=0.2),
    ],
)
def test_stored_energy_is_half_of_load_times_move(flare: Flare) -> None:
    # Stored energy, integral of M^2/(2 E I), by scipy's adaptive quadrature over the flare's own formula.
    angle = np.deg2rad(200)
    feel = feel_of(piece(arc(R, 200, flare)))
    load = 0.7
    half_chord, rise = R * np.sin(angle / 2), -R * np.cos(angle / 2)
    assert half_chord > 0

    def energy(u: float) -> float:
        arm = R * np.cos(angle * (u - 0.5)) + rise
        _, second_moment = stadium_by_hand(DIAMETER_MM, thickness_by_hand(u, flare))
        return (load * arm) ** 2 / (2 * E_MPA * second_moment) * R * angle

    breaks = [flare.centre - flare.hold / 2, flare.centre + flare.hold / 2]
    stored = sum(
        quad(energy, *stretch, epsabs=0, epsrel=1e-12, limit=400)[0]
        for stretch in zip([0.0, *breaks], [*breaks, 1.0], strict=True)
        if stretch[1] > stretch[0]
    )
    assert load * feel.move_for(load).value / 2 == pytest.approx(stored, rel=1e-9)


def plane_frame(x: np.ndarray, y: np.ndarray, bending: np.ndarray, stretching: np.ndarray) -> float:
    """How far the ends of a chain of straight bars come apart under a unit pull along the line between them.

    Plane frame of Euler-Bernoulli bars by the stiffness method (any text on structures); x, y of the joints
    with both ends on the x axis, EI and EA of the bars. The first joint is pinned, the last slides along x.
    """
    count = len(x) - 1
    rows, columns, values = [], [], []
    for bar in range(count):
        dx, dy = x[bar + 1] - x[bar], y[bar + 1] - y[bar]
        length = np.hypot(dx, dy)
        ei, ea = bending[bar], stretching[bar]
        k = np.zeros((6, 6))
        k[np.ix_((0, 3), (0, 3))] = ea / length * np.array([[1, -1], [-1, 1]])
        k[np.ix_((1, 2, 4, 5), (1, 2, 4, 5))] = (
            ei
            / length**3
            * np.array(
                [
                    [12, 6 * length, -12, 6 * length],
                    [6 * length, 4 * length**2, -6 * length, 2 * length**2],
                    [-12, -6 * length, 12, -6 * length],
                    [6 * length, 2 * length**2, -6 * length, 4 * length**2],
                ]
            )
        )
        c, s = dx / length, dy / length
        turn = np.eye(6)
        for at in (0, 3):
            turn[at : at + 2, at : at + 2] = [[c, s], [-s, c]]
        place = np.arange(3 * bar, 3 * bar + 6)
        rows.append(np.repeat(place, 6))
        columns.append(np.tile(place, 6))
        values.append((turn.T @ k @ turn).ravel())
    size = 3 * (count + 1)
    whole = coo_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(size, size)
    ).tocsr()
    free = np.setdiff1d(np.arange(size), (0, 1, size - 2))
    load = np.zeros(size)
    load[size - 3] = 1.0
    moved = np.zeros(size)
    moved[free] = spsolve(whole[free][:, free].tocsc(), load[free])
    return float(moved[size - 3])


def test_a_bracelet_of_eight_s_forms_against_a_plane_frame() -> None:
    # Independent: 2,000 straight bars from the form's own definition, arcs turned over one by one. Bars are
    # so stiff along that only bending is left.
    flare, length, turn, loops = Flare(thickness=0.45), 20.94, np.deg2rad(240), 8
    feel = feel_of(piece(Span(length_mm=length, turn_deg=240, flare=flare), times=loops, turned_over=True))
    bars = 2000
    s = np.linspace(0, loops * length, bars + 1)
    fine = np.linspace(0, loops * length, 40 * bars + 1)

    def heading(at: np.ndarray) -> np.ndarray:
        loop = np.minimum((at / length).astype(int), loops - 1)
        within = at / length - loop
        return np.where(loop % 2 == 0, within, 1 - within) * turn

    middles = (fine[1:] + fine[:-1]) / 2
    z = np.concatenate(([0], np.cumsum(np.exp(1j * heading(middles)) * np.diff(fine))))[::40]
    z *= np.exp(-1j * np.angle(z[-1]))
    u = ((s[1:] + s[:-1]) / 2 / length) % 1.0
    second = np.array([stadium_by_hand(DIAMETER_MM, thickness_by_hand(one, flare))[1] for one in u])
    opened = plane_frame(z.real, z.imag, E_MPA * second, np.full(bars, 1e9))
    assert 1 / feel.load_per_move.value == pytest.approx(opened, rel=2e-3)


def test_what_is_left_out_is_bounded() -> None:
    # [D] half circle pulled apart: the force is cos along the wire and sin across it; stretching pi R/2 /EA,
    # shear 10/9 pi R/2 /GA (10/9: Timoshenko, round section).
    feel = feel_of(piece(arc(R, 180)))
    area = np.pi * DIAMETER_MM**2 / 4
    left_out = np.pi * R / 2 / area * (1 + 10 / 9 * E_OVER_G) / E_MPA * feel.load_per_move.value
    assert left_out < feel.left_out_share < 2.5 * left_out
    joined = feel_of(piece(arc(R, 360)), Question("ring"))
    # Roark's ring with stretching and shear: half the load goes each way.
    left_out = np.pi * R / 4 / area * (1 + 10 / 9 * E_OVER_G) / E_MPA * joined.load_per_move.value
    assert left_out < joined.left_out_share < 2.5 * left_out
