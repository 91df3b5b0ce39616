"""Metal is neither made nor lost: stock, forged volume, cut length and weight against each other.

Forged volumes come from scipy's adaptive quadrature of the section's area along the finished wire, with the
width of each section found by brentq; volumes of ends from elementary solids (frustum, cylinder, ball less
cap). No program function takes part in an expected value.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from msgspec.structs import replace
from scipy.integrate import quad
from scipy.optimize import brentq

from formsketch.bench.metals import load_metals
from formsketch.design.model import (
    BeadEnd,
    Design,
    End,
    EyeEnd,
    Flare,
    Form,
    Hammer,
    HookEnd,
    OwnMetal,
    PlainEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Wire,
)
from formsketch.evaluation.evaluate import evaluate
from tests.support.pieces import evaluated
from tests.support.strategies import calm, flares, numbers

EXACT = 1e-9


def stadium_mm2(width: float, thickness: float) -> float:
    """Two flat faces and two half-round edges: t (w - t) + pi t^2/4."""
    return thickness * (width - thickness) + np.pi * thickness**2 / 4


def hammered_mm2(thickness: float, d: float, spread: float) -> float:
    """Area of the section from the spread law ln(w/d) = S ln(h0/h), w by bracketing."""
    if thickness >= d * (1 - 1e-15):
        return np.pi * d * d / 4

    def miss(width: float) -> float:
        height = stadium_mm2(width, thickness) / width
        return float(np.log(width / d) - spread * np.log(np.pi * d / 4 / height))

    widest = thickness + np.pi * (d * d - thickness**2) / (4 * thickness)
    return stadium_mm2(brentq(miss, 0.999 * d, 1.001 * widest, xtol=1e-15, rtol=1e-14), thickness)


def forged_volume_mm3(span: Span, d: float, spread: float) -> float:
    """Integral of the section's area along the finished centreline of one span."""
    if span.flare is None:
        return np.pi * d * d / 4 * span.length_mm
    flare = span.flare
    a, b = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2

    def area(u: float) -> float:
        ease = 1.0 if a <= u <= b else np.sin(np.pi / 2 * (u / a if u < a else (1 - u) / (1 - b))) ** 2
        return hammered_mm2(d * (1 - (1 - flare.thickness) * ease), d, spread)

    # The span shows the part `begin` to `end` of its flare.
    cuts = np.clip((flare.begin, a, b, flare.end), flare.begin, flare.end)
    shown = sum(
        quad(area, low, high, epsabs=1e-12 * d * d, epsrel=1e-11, limit=200)[0]
        for low, high in pairwise(cuts)
        if high > low
    )
    return span.length_mm * shown / (flare.end - flare.begin)


def round_mm2(d: float) -> float:
    return np.pi * d * d / 4


# Spans


@pytest.mark.parametrize(
    ("length", "thickness", "spread", "stock"),
    [
        # [D] t = d (1 - 0.5 sin^2(pi u)) along 10 mm of finished wire, d 1, S 0.6.
        (10.0, 0.5, 0.6, 9.13622559),
        # [D] S = 1: the section keeps its area, nothing lengthens.
        (10.0, 0.5, 1.0, 10.0),
        (10.0, 1.0, 0.6, 10.0),
    ],
)
def test_stock_of_a_flare(length: float, thickness: float, spread: float, stock: float) -> None:
    piece = evaluated(Span(length_mm=length, flare=Flare(thickness=thickness)), spread=spread)
    assert piece.stock_length_mm == pytest.approx(stock, rel=1e-8)
    assert piece.cut_length_mm == pytest.approx(stock, rel=1e-8)


def test_a_flare_bent_round_needs_the_same_stock() -> None:
    # Stock goes by the length of the centreline, whatever its curve.
    piece = evaluated(Span(length_mm=10.0, turn_deg=240.0, skew_deg=90.0, flare=Flare(thickness=0.5)))
    assert piece.stock_length_mm == pytest.approx(9.13622559, rel=1e-8)


@calm(40)
@given(flares(), numbers(0.2, 4.0), numbers(0.0, 1.0), numbers(0.5, 80.0))
def test_stock_volume_is_forged_volume(flare: Flare, d: float, spread: float, length: float) -> None:
    span = Span(length_mm=length, flare=flare)
    stock_volume = evaluated(span, d=d, spread=spread).stock_length_mm * round_mm2(d)
    assert stock_volume == pytest.approx(forged_volume_mm3(span, d, spread), rel=EXACT)


def test_stock_volume_of_a_whole_form_repeats_and_grading_included() -> None:
    d, spread = 1.3, 0.75
    motif = (
        Span(length_mm=14.0, turn_deg=200.0, flare=Flare(thickness=0.4, centre=0.4, hold=0.2)),
        Span(length_mm=6.0, turn_deg=-40.0, flare=Flare(thickness=0.7, face="edge")),
        Span(length_mm=3.0),
    )
    form = Form(runs=(Run(spans=motif, times=5, turned_over=True, ends_scale=0.6), Run(spans=motif[:1])))
    design = Design(
        title="row", wire=Wire(metal="brass-c26000", diameter_mm=d), hammer=Hammer(spread=spread), form=form
    )
    evaluation = evaluate(design, load_metals())
    # Graded sizes by their definition: a parabola from 0.6 over 1 in the middle and back.
    scales = [1 - 0.4 * x * x for x in (-1, -0.5, 0, 0.5, 1)]
    written = [replace(span, length_mm=span.length_mm * scale) for scale in scales for span in motif]
    volumes = np.array([forged_volume_mm3(span, d, spread) for span in (*written, motif[0])])
    assert evaluation.spans.stock_length_mm * round_mm2(d) == pytest.approx(volumes, rel=EXACT)
    running = np.concatenate(([0.0], np.cumsum(volumes)[:-1])) / round_mm2(d)
    assert evaluation.spans.stock_from_mm == pytest.approx(running, rel=EXACT, abs=EXACT)
    assert evaluation.stock_length_mm * round_mm2(d) == pytest.approx(volumes.sum(), rel=EXACT)


@pytest.mark.parametrize("cut", [0.2, 0.45, 0.9])
def test_a_mark_set_inside_a_flare_takes_no_metal_and_adds_none(cut: float) -> None:
    # Two spans that show the two parts of one flare are the one span they were cut from.
    flare = Flare(thickness=0.45, centre=0.4, hold=0.2)
    whole = evaluated(Span(length_mm=20.0, turn_deg=150.0, flare=flare))
    parts = evaluated(
        Span(length_mm=20.0 * cut, turn_deg=150.0 * cut, flare=replace(flare, end=cut)),
        Span(length_mm=20.0 * (1 - cut), turn_deg=150.0 * (1 - cut), flare=replace(flare, begin=cut)),
    )
    assert parts.stock_length_mm == pytest.approx(whole.stock_length_mm, rel=EXACT)
    assert parts.weight_g == pytest.approx(whole.weight_g, rel=EXACT)
    assert parts.silhouette_area_mm2 == pytest.approx(whole.silhouette_area_mm2, rel=1e-6)
    assert (parts.widest_mm, parts.thinnest_mm) == pytest.approx((whole.widest_mm, whole.thinnest_mm))
    assert "flare_step" not in {caution.code for caution in parts.cautions}


def test_places_inside_a_flare_in_stock_coordinates() -> None:
    # Every sample of the finished wire knows its place on the straight wire: the volume before it over A0.
    d, spread, length = 1.0, 0.6, 12.0
    flare = Flare(thickness=0.5, centre=0.35, hold=0.1)
    piece = evaluated(Span(length_mm=length, turn_deg=200.0, flare=flare), d=d, spread=spread)
    a, b = 0.30, 0.40

    def fraction(u: float) -> float:
        ease = 1.0 if a <= u <= b else np.sin(np.pi / 2 * (u / a if u < a else (1 - u) / (1 - b))) ** 2
        return hammered_mm2(d * (1 - (1 - flare.thickness) * ease), d, spread) / round_mm2(d)

    at = piece.stock_at_samples_mm
    for sample in range(0, len(at), max(1, len(at) // 7)):
        u = float(piece.trace.u[sample])
        parts = [(low, min(high, u)) for low, high in ((0.0, a), (a, b), (b, 1.0)) if low < u]
        expected = length * sum(quad(fraction, *part, epsabs=1e-12)[0] for part in parts)
        # Between the marks, which are exact, the samples are placed by trapezes: good to a hundredth of a mm.
        assert at[sample] == pytest.approx(expected, abs=0.01)
    assert (at[0], at[-1]) == pytest.approx((0.0, piece.stock_length_mm), rel=EXACT)


# Ends


def ball_less_cap_mm3(bead: float, d: float) -> float:
    """Ball of diameter D less the cap that stands inside a wire of diameter d: by integrating discs."""
    offset = np.sqrt(bead**2 - d**2) / 2
    cap = quad(lambda x: np.pi * (bead**2 / 4 - x * x), offset, bead / 2, epsabs=1e-14)[0]
    return np.pi * bead**3 / 6 - cap


def end_volume_mm3(end: End, d: float) -> float:
    """Metal beyond the mark, from elementary solids."""
    if isinstance(end, TaperedEnd):
        # Frustum of a cone: pi L (r1^2 + r1 r2 + r2^2)/3; bent, the same (Pappus).
        r, tip = d / 2, end.tip_diameter_mm / 2
        return np.pi * end.length_mm * (r * r + r * tip + tip * tip) / 3
    if isinstance(end, BeadEnd):
        return ball_less_cap_mm3(end.diameter_mm, d)
    if isinstance(end, HookEnd):
        arc = np.deg2rad(abs(end.turn_deg)) * (end.inside_diameter_mm + d) / 2
        bead = ball_less_cap_mm3(end.bead_diameter_mm, d) if end.bead_diameter_mm else 0.0
        return round_mm2(d) * (end.straight_mm + arc) + bead
    if isinstance(end, PostEnd):
        return round_mm2(end.diameter_mm) * end.length_mm
    return 0.0


ENDS = [
    PlainEnd(),
    TaperedEnd(length_mm=12.0, tip_diameter_mm=0.5),
    TaperedEnd(length_mm=30.0, tip_diameter_mm=0.6, turn_deg=-400.0),
    BeadEnd(diameter_mm=2.6),
    BeadEnd(diameter_mm=1.21),
    HookEnd(inside_diameter_mm=5.0),
    HookEnd(inside_diameter_mm=4.0, turn_deg=-230.0, straight_mm=0.0, bead_diameter_mm=2.0),
    HookEnd(inside_diameter_mm=4.0, turn_deg=0.0, straight_mm=3.0),
    PostEnd(length_mm=11.0, diameter_mm=0.8),
]


@pytest.mark.parametrize("end", ENDS, ids=lambda end: type(end).__name__)
@pytest.mark.parametrize("where", ["start", "finish"])
def test_cut_length_and_weight_with_every_end(end: End, where: str) -> None:
    d, density = 1.2, 8.53  # brass C26000, published
    span = Span(length_mm=25.0, turn_deg=120.0, flare=Flare(thickness=0.5))
    plain = evaluated(span, d=d)
    piece = evaluated(span, d=d, **{where: end})
    volume = forged_volume_mm3(span, d, 0.6) + end_volume_mm3(end, d)
    assert piece.cut_length_mm * round_mm2(d) == pytest.approx(volume, rel=EXACT)
    assert piece.weight_g == pytest.approx(volume * density / 1000, rel=EXACT)
    # Ends do not change the spans; those of the start move every mark along.
    assert piece.stock_length_mm == pytest.approx(plain.stock_length_mm, rel=1e-14)
    moved = end_volume_mm3(end, d) / round_mm2(d) if where == "start" else 0.0
    assert piece.spans.stock_from_mm[0] == pytest.approx(moved, rel=EXACT)
    assert piece.stock_at_samples_mm[piece.trace.first[piece.chain.spans.start]] == pytest.approx(
        moved, rel=EXACT, abs=EXACT
    )


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_eye_takes_the_wire_it_shows(side: str) -> None:
    # Rolled to a circle on the wire's own line until the tip meets the side of the wire: all round the
    # centreline less half the wire.
    d, inside, length = 1.0, 6.0, 20.0
    eye = evaluated(Span(length_mm=length), d=d, finish=EyeEnd(inside_diameter_mm=inside, side=side))  # type: ignore[arg-type]
    used = np.pi * (inside + d) - d / 2
    assert eye.cut_length_mm == pytest.approx(length + used, rel=EXACT)
    assert eye.weight_g == pytest.approx((length + used) * round_mm2(d) * 8.53 / 1000, rel=EXACT)
    assert eye.envelope_mm == pytest.approx((length + inside + d + d / 2, inside + 2 * d), abs=0.007)


@pytest.mark.parametrize("density", [0.5, 7.85, 19.3])
def test_weight_in_a_metal_of_ones_own(density: float) -> None:
    own = OwnMetal(key="mine", name="Mine", density_g_per_cm3=density)
    design = Design(
        title="own",
        wire=Wire(metal="mine", diameter_mm=1.02),
        form=Form(runs=(Run(spans=(Span(length_mm=100.0),)),)),
        metals=(own,),
    )
    # A0 L rho.
    expected = np.pi / 4 * 1.02**2 * 100.0 * density / 1000
    assert evaluate(design, load_metals()).weight_g == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("metal", "weight"),
    # [P] densities 8.53, 10.36 and 13.07 g/cm3; [D] 100 mm of 1.02 mm wire.
    [("brass-c26000", 0.69701040), ("sterling-925", 0.84654487), ("gold-14k-yellow-us", 1.06798662)],
)
def test_a_hundred_millimetres_of_wire(metal: str, weight: float) -> None:
    design = Design(
        title="100 mm",
        wire=Wire(metal=metal, diameter_mm=1.02),
        form=Form(runs=(Run(spans=(Span(length_mm=100.0),)),)),
    )
    assert evaluate(design, load_metals()).weight_g == pytest.approx(weight, abs=6e-9)
