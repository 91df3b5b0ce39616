"""Ends and catches against the curves and solids they are: wire used, what is drawn, what is left of a hole.

The curves are written here from their radii and turns and integrated by scipy's quad, the hammered section by
its own volume relation and scipy's brentq; nothing of the program is used to expect a number.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, log, pi, radians, sin, sqrt

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.design.model import (
    BeadEnd,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    Flare,
    HookEnd,
    PlainEnd,
    PostEnd,
    RoundedEnd,
    SHookEnd,
    Span,
    TaperedEnd,
)
from formsketch.evaluation.end_cautions import hole_metal_mm, hook_yields_at_n
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.rolled import caught_mm
from formsketch.evaluation.surface import surface_mm2
from formsketch.forging.end_defaults import default_end, fitting_eye
from tests.support.pieces import evaluated

D, LONG = 1.2, 20.0
PLAIN = PlainEnd()
WAYS = ["start", "finish"]

HOOK = HookEnd(inside_diameter_mm=5.0, turn_deg=-190.0, straight_mm=3.0)
S_HOOK = SHookEnd(
    inside_diameter_mm=4.6, curl_diameter_mm=1.4, turn_deg=205.0, straight_mm=1.5, curl_turn_deg=280.0
)
EAR = EarWireEnd(
    diameter_mm=0.8,
    inside_diameter_mm=8.4,
    turn_deg=175.0,
    straight_mm=5.0,
    leg_mm=11.0,
    kick_deg=25.0,
    kick_mm=4.0,
)
DRILLED = DrilledEnd(hole_diameter_mm=0.9, from_end_mm=1.1, length_mm=5.0, thickness=0.5)
KINDS: list[End] = [
    PLAIN,
    RoundedEnd(),
    TaperedEnd(length_mm=9.0, tip_diameter_mm=0.5, turn_deg=70.0),
    BeadEnd(diameter_mm=2.4),
    HOOK,
    replace(HOOK, twist_deg=90.0, bead_diameter_mm=2.2),
    replace(HOOK, twist_deg=-55.0),
    S_HOOK,
    EyeEnd(inside_diameter_mm=3.0),
    PostEnd(),
    EAR,
    DRILLED,
    DrilledEnd(hole_diameter_mm=0.5),
]


def piece(end: End, where: str = "finish", d: float = D, spread: float = 0.8) -> Evaluation:
    """A straight span with this end at one side of it."""
    return evaluated(Span(length_mm=LONG), d=d, spread=spread, **{where: end})


def outward(e: Evaluation, where: str, z_mm: np.ndarray) -> np.ndarray:
    """Places seen from the end's mark, x outward along the wire, y to the left looking outward."""
    trace, spans = e.own_trace, e.chain.spans
    if where == "finish":
        return np.asarray(z_mm - trace.z_mm[trace.first[spans.stop] - 1])
    return np.asarray(-(z_mm - trace.z_mm[trace.first[spans.start]]))


def drawn(e: Evaluation, where: str) -> np.ndarray:
    """The centreline drawn of an end, from its mark outward."""
    trace, spans = e.own_trace, e.chain.spans
    if where == "finish":
        return outward(e, where, trace.z_mm[trace.first[spans.stop] :])
    return outward(e, where, trace.z_mm[: trace.first[spans.start]])[::-1]


def curve(pieces: Sequence[tuple[float, float]]) -> tuple[Callable[[float], complex], float]:
    """A curve of (length, turn in rad) pieces from the origin along +x: place by length, and its length."""

    def heading(s: float) -> float:
        turned = 0.0
        for length, turn in pieces:
            if s <= length:
                return turned + turn * s / length
            s, turned = s - length, turned + turn
        return turned

    total = sum(length for length, _ in pieces)
    breaks = np.cumsum([length for length, _ in pieces])[:-1].tolist()

    def at(s: float) -> complex:
        inside = [b for b in breaks if b < s] or None
        x = quad(lambda t: cos(heading(t)), 0, s, points=inside, epsabs=1e-11)[0]
        y = quad(lambda t: sin(heading(t)), 0, s, points=inside, epsabs=1e-11)[0]
        return complex(x, y)

    return at, total


def hook_pieces(end: HookEnd) -> list[tuple[float, float]]:
    turn = radians(end.turn_deg)
    return [(end.straight_mm, 0.0), (abs(turn) * (end.inside_diameter_mm + D) / 2, turn)]


def s_hook_pieces(end: SHookEnd) -> list[tuple[float, float]]:
    turn, curl = radians(end.turn_deg), radians(end.curl_turn_deg)
    return [
        (end.straight_mm, 0.0),
        (turn * (end.inside_diameter_mm + D) / 2, turn),
        (curl * (end.curl_diameter_mm + D) / 2, -curl),
    ]


def ear_pieces(end: EarWireEnd) -> list[tuple[float, float]]:
    turn = radians(end.turn_deg)
    return [
        (end.straight_mm, 0.0),
        (turn * (end.inside_diameter_mm + end.diameter_mm) / 2, turn),
        (end.leg_mm, 0.0),
        (end.kick_mm, -radians(end.kick_deg)),
    ]


BENT = [(HOOK, hook_pieces(HOOK)), (S_HOOK, s_hook_pieces(S_HOOK)), (EAR, ear_pieces(EAR))]


@pytest.mark.parametrize("where", WAYS)
@pytest.mark.parametrize(("end", "pieces"), BENT, ids=lambda value: type(value).__name__)
def test_a_bent_end_is_drawn_along_its_curve(end: End, pieces: list[tuple[float, float]], where: str) -> None:
    at, total = curve(pieces)
    line = drawn(piece(end, where), where)
    # Every sample lies on the curve as far along it as chords, a little shorter, say.
    run = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(line)))))
    run *= total / run[-1]
    for sample in range(0, len(line), 7):
        assert abs(line[sample] - at(run[sample])) < 0.02
    assert line[-1] == pytest.approx(at(total), abs=1e-8)
    assert line[0] == 0


@pytest.mark.parametrize("where", WAYS)
def test_wire_of_hooks_is_the_length_of_their_curves(where: str) -> None:
    for end, pieces in BENT[:2]:
        _, total = curve(pieces)
        assert piece(end, where).cut_length_mm == pytest.approx(LONG + total, rel=1e-12)
    # By hand: 3 + 190 deg x (5 + 1.2)/2; 1.5 + 205 deg x 2.9 + 280 deg x 1.3.
    assert piece(HOOK).ends[1].stock_mm == pytest.approx(3 + radians(190) * 3.1, rel=1e-12)
    assert piece(S_HOOK).ends[1].stock_mm == pytest.approx(
        1.5 + radians(205) * 2.9 + radians(280) * 1.3, rel=1e-12
    )


@pytest.mark.parametrize("where", WAYS)
def test_wire_of_an_ear_wire_is_its_volume(where: str) -> None:
    pieces = ear_pieces(EAR)

    def area_mm2(s: float) -> float:
        """Round, drawn down evenly along the straight."""
        share = min(s / EAR.straight_mm, 1.0)
        return pi / 4 * (D + (EAR.diameter_mm - D) * share) ** 2

    total = sum(length for length, _ in pieces)
    volume = quad(area_mm2, 0, total, points=[EAR.straight_mm], epsabs=1e-12)[0]
    e = piece(EAR, where)
    assert e.cut_length_mm == pytest.approx(LONG + volume / (pi / 4 * D**2), rel=1e-10)
    # Wire that is that thin already is only bent.
    thin = piece(EAR, where, d=0.8)
    assert thin.cut_length_mm == pytest.approx(LONG + total, rel=1e-12)
    # Its marks part the wire as its shapes do.
    arc, leg, kick = (mark.beyond_mm for mark in thin.ends[WAYS.index(where)].marks)
    assert (arc, leg - arc, kick - leg) == pytest.approx([length for length, _ in pieces[:3]], rel=1e-12)


@pytest.mark.parametrize("where", WAYS)
@pytest.mark.parametrize("twist_deg", [35.0, 90.0, -90.0, 130.0, 180.0])
def test_a_twisted_hook_is_its_projection(twist_deg: float, where: str) -> None:
    end = replace(HOOK, twist_deg=twist_deg, bead_diameter_mm=2.0)
    at, total = curve(hook_pieces(HOOK))
    e, flat = piece(end, where), piece(replace(end, twist_deg=0.0), where)
    # Turned in space about its axis, x, and seen from above; as long as it was.
    c = cos(radians(twist_deg))
    line, before = drawn(e, where), drawn(flat, where)
    assert line[-1] == pytest.approx(complex(at(total).real, c * at(total).imag), abs=1e-8)
    centre, radius = complex(3.0, -3.1), 3.1
    arc = line[line.real > 3.0 + 1e-9]
    if abs(c) > 1e-9:
        # Every place of the arc lies on an ellipse: the circle foreshortened across the axis.
        round_mm = np.abs((arc.real - centre.real) + 1j * (arc.imag / c - centre.imag))
        assert round_mm == pytest.approx(np.full(len(arc), radius), abs=1e-8)
    else:
        assert np.max(np.abs(line.imag)) < 1e-9
    assert e.cut_length_mm == pytest.approx(flat.cut_length_mm, rel=1e-14)
    assert np.max(before.real) == pytest.approx(np.max(line.real), abs=2e-3)
    # The bead's middle goes round with the hook.
    number = WAYS.index(where)
    bead = [outward(x, where, np.array([x.discs_on(x.own_trace)[0].centre_mm]))[0] for x in (flat, e)]
    assert bead[1] == pytest.approx(complex(bead[0].real, c * bead[0].imag), abs=1e-8)
    assert e.ends[number].word == "twisted hook"


def test_the_outline_of_a_hook_twisted_square_is_a_rod_with_a_round_end() -> None:
    # Seen from above a round wire is as wide as it is thick, whichever way it goes.
    e = piece(replace(HOOK, turn_deg=180.0, twist_deg=90.0))
    reach = HOOK.straight_mm + 3.1
    rod = D * (LONG + reach) + pi / 8 * D**2
    assert e.silhouette_area_mm2 == pytest.approx(rod, abs=0.01)
    assert e.envelope_mm == pytest.approx((LONG + reach + D / 2, D), abs=2e-3)


def stadium_mm2(width: float, thickness: float) -> float:
    return thickness * (width - thickness) + pi / 4 * thickness**2


def hammered_mm(thickness: float, spread: float, d: float = D) -> float:
    """Width by the spread relation, solved by bracketing: ln(w/d) = S ln(h0/h), h = A/w, h0 = pi d/4."""
    if thickness >= d:
        return d

    def unlike(w: float) -> float:
        return log(w / d) - spread * log(pi * d / 4 * w / stadium_mm2(w, thickness))

    return float(brentq(unlike, d, thickness + pi * (d**2 - thickness**2) / (4 * thickness), xtol=1e-14))


@pytest.mark.parametrize("where", WAYS)
@pytest.mark.parametrize("spread", [0.6, 0.8])
def test_wire_of_a_flat_drilled_end_is_its_volume(spread: float, where: str) -> None:
    e = piece(DRILLED, where, spread=spread)
    flat = DRILLED.thickness * D

    def area_mm2(s: float) -> float:
        """The flat eases in over three sevenths of the length, as a flare does, and holds."""
        ease = sin(pi / 2 * min(s / DRILLED.length_mm * 7 / 3, 1.0)) ** 2
        thickness = D * (1 - (1 - DRILLED.thickness) * ease)
        return stadium_mm2(hammered_mm(thickness, spread), thickness)

    bend = DRILLED.length_mm * 3 / 7
    volume = quad(area_mm2, 0, DRILLED.length_mm, points=[bend], epsabs=1e-11)[0]
    width = hammered_mm(flat, spread)
    # Its tip is filed round from wire as long as it stands out; the hole takes nothing off the cut length.
    volume += width / 2 * stadium_mm2(width, flat)
    assert e.cut_length_mm == pytest.approx(LONG + volume / (pi / 4 * D**2), rel=1e-9)
    smaller = piece(replace(DRILLED, hole_diameter_mm=0.4), where, spread=spread)
    assert smaller.cut_length_mm == e.cut_length_mm
    # In plan: the hole's middle, and the metal beside it and before the tip.
    tip = DRILLED.length_mm + width / 2
    (hole,) = e.holes_on(e.own_trace)
    assert outward(e, where, np.array([hole.centre_mm]))[0] == pytest.approx(tip - 1.1 - 0.45, abs=1e-9)
    beside, to_tip = hole_metal_mm(e, WAYS.index(where))
    assert (beside, to_tip) == pytest.approx(((width - 0.9) / 2, 1.1), abs=1e-6)
    # The mark for the drill: metal beyond the hole's middle is what is beyond it on the straight wire.
    (mark,) = e.ends[WAYS.index(where)].marks
    beyond = 1.1 + 0.45
    expected = e.ends[WAYS.index(where)].stock_mm - beyond * stadium_mm2(width, flat) / (pi / 4 * D**2)
    assert mark.beyond_mm == pytest.approx(expected, rel=1e-9)


def test_an_end_goes_on_flat_where_the_wire_is_flat_at_its_mark() -> None:
    # The last span shows the first half of a flare: at its end mark the wire is 0.6 mm thick.
    span = Span(length_mm=LONG, flare=Flare(thickness=0.5, end=0.5))
    width = hammered_mm(0.6, 0.8)
    share = stadium_mm2(width, 0.6) / (pi / 4 * D**2)
    bare = evaluated(span, d=D, spread=0.8)
    for end, finished in (
        (RoundedEnd(), width / 2),
        (replace(DRILLED, thickness=1.0), DRILLED.length_mm + width / 2),
    ):
        e = evaluated(span, d=D, spread=0.8, finish=end)
        assert e.cut_length_mm - bare.cut_length_mm == pytest.approx(finished * share, rel=1e-9)
        assert e.ends[1].tip_width_mm == pytest.approx(width, rel=1e-9)
        assert e.envelope_mm[0] == pytest.approx(LONG + finished, abs=1e-6)


def test_a_rounded_end_is_a_half_ball() -> None:
    e, bare = piece(RoundedEnd()), piece(PLAIN)
    # It stands out half the wire, and is filed from as much wire: a sixth of a diameter goes in filings,
    # cylinder pi d^3/8 less half ball pi d^3/12.
    assert e.cut_length_mm - bare.cut_length_mm == pytest.approx(D / 2, rel=1e-12)
    assert e.envelope_mm == pytest.approx((LONG + D / 2, D), abs=1e-6)
    assert e.silhouette_area_mm2 == pytest.approx(LONG * D + pi * D**2 / 8, abs=1e-3)


def test_a_bead_uses_its_ball_less_the_cap_it_sits_on() -> None:
    # [D] physics of a joined bead: d 1, D 2 take 5.26474288 mm.
    assert piece(BeadEnd(diameter_mm=2.0), d=1.0).cut_length_mm == pytest.approx(LONG + 5.26474288, abs=1e-8)


@pytest.mark.parametrize("where", WAYS)
@pytest.mark.parametrize("end", KINDS, ids=lambda end: type(end).__name__)
def test_cut_length_is_the_spans_and_both_ends(end: End, where: str) -> None:
    other = HookEnd(inside_diameter_mm=4.0)
    ends = {where: end, ("start" if where == "finish" else "finish"): other}
    e = evaluated(Span(length_mm=25.0, turn_deg=120.0, flare=Flare(thickness=0.5)), d=D, **ends)
    start, finish = e.ends
    assert e.cut_length_mm == pytest.approx(start.stock_mm + e.stock_length_mm + finish.stock_mm, rel=1e-14)
    # Weight is that of the wire cut: A0 L rho, brass C26000 8.53 g/cm3 (published).
    assert e.weight_g == pytest.approx(pi / 4 * D**2 * e.cut_length_mm * 8.53e-3, rel=1e-12)
    # What is melted or drawn up square has no part of the centreline; the rest of the wire lies along it.
    at, spans, first = e.stock_at_samples_mm, e.chain.spans, e.own_trace.first
    assert at[first[spans.start]] == pytest.approx(start.stock_mm, rel=1e-12, abs=1e-12)
    assert at[first[spans.stop] - 1] == pytest.approx(e.cut_length_mm - finish.stock_mm, rel=1e-12)
    for piece_of in e.ends:
        places = [mark.beyond_mm for mark in piece_of.marks]
        assert places == sorted(places)
        assert all(0 < place < piece_of.stock_mm for place in places)


@pytest.mark.parametrize("where", WAYS)
@pytest.mark.parametrize(
    "end", [end for end in KINDS if not isinstance(end, EyeEnd)], ids=lambda end: type(end).__name__
)
def test_the_drawing_meets_the_wire_smoothly(end: End, where: str) -> None:
    e = evaluated(Span(length_mm=25.0, turn_deg=80.0, flare=Flare(thickness=0.6)), d=D, **{where: end})
    trace, width = e.own_trace, e.samples.plan_width_mm
    for part in range(1, e.chain.part_count):
        before, after = trace.first[part] - 1, trace.first[part]
        assert abs(trace.z_mm[before] - trace.z_mm[after]) < 1e-9
        if e.chain.foreshortening[part] == 1.0:  # a twisted hook turns back on itself in plan
            assert abs(trace.direction[before] - trace.direction[after]) < 1e-9
        assert width[before] == pytest.approx(width[after], abs=1e-9)


def test_a_catch_takes_up_the_wire_of_both() -> None:
    # [D] pulled tight the wire of each lies inside the other: both thicknesses count.
    def caught(start: End, finish: End) -> float:
        return caught_mm(evaluated(Span(length_mm=LONG), d=D, start=start, finish=finish))

    eye = EyeEnd(inside_diameter_mm=5.0)
    assert caught(HOOK, eye) == pytest.approx(2 * D)
    assert caught(eye, replace(HOOK, twist_deg=90.0)) == pytest.approx(2 * D)
    assert caught(S_HOOK, eye) == pytest.approx(2 * D)
    assert caught(S_HOOK, DRILLED) == pytest.approx(D + 1.1)  # the metal before the hole's edge
    assert caught(HOOK, replace(HOOK, twist_deg=90.0)) == pytest.approx(2 * D)
    assert caught(eye, eye) == caught(EAR, eye) == caught(RoundedEnd(), eye) == 0


def test_an_eye_that_fits_lets_through_what_hangs_in_it() -> None:
    for d in (0.6, 1.0, 1.29, 2.5):
        for hook in (
            default_end(HookEnd, d),
            HookEnd(inside_diameter_mm=5.0, bead_diameter_mm=2.2 * d),
            default_end(SHookEnd, d),
        ):
            assert isinstance(hook, HookEnd | SHookEnd)
            eye = fitting_eye(hook, d)
            through = d
            if isinstance(hook, HookEnd):
                through = max(d, hook.bead_diameter_mm)
            else:
                through = hook.curl_diameter_mm + 2 * d
            # Common practice, no source: room to spare of half a wire, 0.4 mm at the least.
            assert through + max(0.4, d / 2) <= eye.inside_diameter_mm + 1e-9
            assert eye.inside_diameter_mm < through + max(0.4, d / 2) + 0.1
            codes = {c.code for c in evaluated(Span(length_mm=60.0), d=d, start=hook, finish=eye).cautions}
            assert "catch_does_not_fit" not in codes


def test_the_pull_at_which_a_hook_yields() -> None:
    # [P] bending: M = sigma I/c, with the second moment of the round by integration; M = P x (radius of the
    # centreline) where the arc begins, pulled through its middle.
    d = 0.9
    second = quad(lambda y: 2 * y * y * sqrt(d * d / 4 - y * y), -d / 2, d / 2, epsabs=1e-14)[0]
    e = piece(HookEnd(inside_diameter_mm=4.1), d=d)
    soft = e.metal.soft_yield_mid_mpa
    assert soft is not None
    pull = soft * second / (d / 2) / ((4.1 + d) / 2)
    assert hook_yields_at_n(e, e.ends[1]) == pytest.approx(pull, rel=1e-9)


def test_surface_of_rounded_and_drilled_tips() -> None:
    # [P] half a sphere 2 pi r^2 in the place of a face pi r^2.
    bare, half_ball = surface_mm2(piece(PLAIN)), surface_mm2(piece(RoundedEnd()))
    assert half_ball - bare == pytest.approx(pi / 4 * D**2, rel=1e-9)
    # A flat tip: both half-round faces, and half of a ring for an edge, integrated round its half circle.
    span = Span(length_mm=LONG, flare=Flare(thickness=0.5, end=0.5))
    width, height = hammered_mm(0.6, 0.8), 0.6
    middle, r = (width - height) / 2, height / 2
    edge = quad(lambda phi: (middle + r * cos(phi)) * r * pi, -pi / 2, pi / 2)[0]
    e, square = evaluated(span, d=D, spread=0.8, finish=RoundedEnd()), evaluated(span, d=D, spread=0.8)
    tip = surface_mm2(e) - surface_mm2(square) + pi / 4 * D**2  # a cut face counts as that of the wire
    assert tip == pytest.approx(pi * middle**2 + edge, rel=1e-9)
    # A hole takes its two mouths away and adds its wall.
    hole = DRILLED.hole_diameter_mm
    drilled, smaller = (surface_mm2(piece(replace(DRILLED, hole_diameter_mm=x))) for x in (hole, 0.2))
    wall = pi * 0.6 * (hole - 0.2) - pi / 2 * (hole**2 - 0.2**2)
    assert drilled - smaller == pytest.approx(wall, rel=1e-9)
