"""From a design to its numbers: radii, tubes, bands, proportion, cautions, and where each applies.

Volumes, areas and curves are checked in validation/; here values come from closed forms and from bracketing
with scipy.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import brentq

from formsketch.bench.metals import load_metals
from formsketch.design.edits import SpanAddress as At
from formsketch.design.edits import change_span, change_spread, change_wire
from formsketch.design.model import (
    BeadEnd,
    Design,
    Flare,
    Form,
    Hammer,
    HookEnd,
    OwnMetal,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Wire,
)
from formsketch.evaluation.evaluate import Evaluation, UnknownMetal, evaluate
from formsketch.evaluation.report import measurement

STRONG = OwnMetal(key="strong", name="Strong", density_g_per_cm3=9.0, yield_mpa=300.0, e_gpa=100.0)
UNKNOWN = OwnMetal(key="unknown", name="Unknown strength", density_g_per_cm3=9.0)
BEND = Span(length_mm=10.0, turn_deg=90.0)


def design_of(*spans: Span, d: float = 1.02, metal: str = "strong", **changes: Any) -> Design:
    form = Form(runs=(Run(spans=spans),), **{k: v for k, v in changes.items() if k in ("start", "finish")})
    return Design(
        title="t",
        wire=Wire(metal=metal, diameter_mm=d),
        hammer=Hammer(spread=changes.get("spread", 0.6)),
        form=form,
        metals=(STRONG, UNKNOWN),
    )


def evaluated(*spans: Span, **changes: Any) -> Evaluation:
    return evaluate(design_of(*spans, **changes), load_metals())


def arc(radius: float, turn: float = 180.0, **changes: Any) -> Span:
    return Span(length_mm=float(np.deg2rad(abs(turn)) * radius), turn_deg=turn, **changes)


def codes(evaluation: Evaluation) -> set[str]:
    return {caution.code for caution in evaluation.cautions}


# Metals


def test_a_designs_own_metal_comes_before_the_table() -> None:
    own = OwnMetal(key="brass-c26000", name="Other brass", density_g_per_cm3=8.0)
    design = replace(design_of(Span(length_mm=10.0), metal="brass-c26000"), metals=(own,))
    assert evaluate(design, load_metals()).metal.name == "Other brass"
    assert evaluate(replace(design, metals=()), load_metals()).metal.density_g_per_cm3 == 8.53


def test_an_unknown_metal_is_named_with_its_place() -> None:
    with pytest.raises(UnknownMetal, match=r"\$\.wire\.metal: .*'unobtainium'"):
        evaluated(Span(length_mm=10.0), metal="unobtainium")


# Bending


@pytest.mark.parametrize(
    ("inside_radius", "yield_mpa", "tube_radius"),
    # [D] d 1.02, E 100 GPa: tube radius that leaves this inside radius after spring-back.
    [(5.0, 300.0, 4.71275893), (3.0, 400.0, 2.84333482)],
)
def test_the_tube_that_leaves_a_wanted_inside_radius(
    inside_radius: float, yield_mpa: float, tube_radius: float
) -> None:
    metal = replace(STRONG, yield_mpa=yield_mpa)
    design = replace(design_of(arc(inside_radius + 0.51)), metals=(metal,))
    spans = evaluate(design, load_metals()).spans
    assert spans.as_bent_radius_mm[0] == pytest.approx(inside_radius + 0.51, rel=1e-12)
    assert spans.tube_diameter_mm[0] == pytest.approx(2 * tube_radius, abs=2e-8)


def test_hammering_opens_a_bend_by_its_elongation() -> None:
    # Even elongation keeps the angle and multiplies the radius: as bent = finished x stock/finished length.
    # [D] thickness 0.5, S 0.6, d 1: 9.13622559 mm of stock in 10 mm.
    bent = evaluated(Span(length_mm=10.0, turn_deg=120.0, flare=Flare(thickness=0.5)), d=1.0).spans
    finished = 10.0 / np.deg2rad(120.0)
    assert bent.finished_radius_mm[0] == pytest.approx(finished, rel=1e-12)
    assert bent.as_bent_radius_mm[0] == pytest.approx(finished * 0.913622559, rel=1e-8)


def test_radius_and_tube_are_those_of_the_tightest_place() -> None:
    # A scroll of 30 mm, turn 90, skew -200: sharpest where curvature x length = 90 + 200 degrees.
    scroll = evaluated(Span(length_mm=30.0, turn_deg=90.0, skew_deg=-200.0)).spans
    assert scroll.as_bent_radius_mm[0] == pytest.approx(30.0 / np.deg2rad(290.0), rel=1e-12)
    # An S that turns nothing in all is bent all the same.
    s_form = evaluated(Span(length_mm=30.0, turn_deg=0.0, skew_deg=200.0)).spans
    assert s_form.as_bent_radius_mm[0] == pytest.approx(30.0 / np.deg2rad(200.0), rel=1e-12)


def test_a_straight_span_has_no_radius_and_no_tube() -> None:
    evaluation = evaluated(Span(length_mm=10.0), arc(4.0), Span(length_mm=10.0, flare=Flare(thickness=0.5)))
    spans = measurement(evaluation)["spans"]
    assert [span["as_bent_radius_mm"] is None for span in spans] == [True, False, True]
    assert [span["tube_diameter_mm"] is None for span in spans] == [True, False, True]


def test_without_a_yield_the_tube_is_given_without_spring_back_and_it_is_said() -> None:
    evaluation = evaluated(arc(4.0), metal="unknown", d=1.0)
    assert evaluation.spans.tube_diameter_mm[0] == pytest.approx(7.0, rel=1e-12)
    assert "springback_unknown" in codes(evaluation)
    assert "springback_unknown" not in codes(evaluated(Span(length_mm=5.0), metal="unknown"))


def test_a_bend_tighter_than_any_tube_has_none_and_it_is_said() -> None:
    evaluation = evaluated(arc(4.0), arc(0.4), d=1.0)
    spans = measurement(evaluation)["spans"]
    assert spans[1]["as_bent_radius_mm"] == pytest.approx(0.4, rel=1e-12)
    assert spans[0]["tube_diameter_mm"] is not None and spans[1]["tube_diameter_mm"] is None
    (caution,) = (c for c in evaluation.cautions if c.code == "no_tube_so_tight")
    assert caution.spans == (1,)


def test_spring_back_asks_for_a_smaller_tube_the_stronger_the_metal() -> None:
    tubes = []
    for yield_mpa in (50.0, 150.0, 300.0, 600.0):
        design = replace(design_of(arc(8.0)), metals=(replace(STRONG, yield_mpa=yield_mpa),))
        tubes.append(float(evaluate(design, load_metals()).spans.tube_diameter_mm[0]))
    assert tubes == sorted(tubes, reverse=True) and tubes[0] < 2 * 8.0 - 1.02


# Bands


@pytest.mark.parametrize("spread", [0.0, 0.33, 0.5, 0.6, 0.8, 1.0])
def test_bands_hold_their_values_and_are_those_of_the_ends_of_the_spread(spread: float) -> None:
    design = design_of(Span(length_mm=20.0, flare=Flare(thickness=0.4)), BEND, d=1.0, spread=spread)
    evaluation = evaluate(design, load_metals())
    low, high, basis = evaluation.spread_band
    assert 0 <= low <= spread <= high <= 1 and basis
    ends = [evaluate(change_spread(design, s), load_metals()) for s in (low, high)]
    for band, name in ((evaluation.cut_length_band, "cut_length_mm"), (evaluation.widest_band, "widest_mm")):
        assert band.value == getattr(evaluation, name)
        assert band.low <= band.value <= band.high
        # Both grow with the spread, so that the ends of the one band are those of the other.
        assert (band.low, band.high) == pytest.approx(tuple(getattr(end, name) for end in ends), rel=1e-12)


def test_bands_of_what_is_not_hammered_are_nil() -> None:
    evaluation = evaluated(BEND)
    for band in (evaluation.cut_length_band, evaluation.widest_band):
        assert band.low == band.value == band.high


# Proportion


def test_proportion_of_a_hoop() -> None:
    # Radius 9 in 1 mm wire: inside 17, 17 wires; gone once round, as high as it is wide.
    hoop = evaluated(arc(9.0, 360.0), d=1.0)
    p = hoop.proportion
    assert (p.loop_inside_mm, p.loop_to_wire) == pytest.approx((17.0, 17.0), rel=1e-12)
    assert p.wire_to_height == pytest.approx(1 / 19.0, rel=1e-3)
    assert p.flare_to_wire == pytest.approx(1.0, rel=1e-12)


def test_proportion_of_what_has_no_loops() -> None:
    straight = evaluated(Span(length_mm=10.0), d=1.0).proportion
    assert (straight.loop_inside_mm, straight.loop_to_wire) == (None, None)
    assert straight.wire_to_height == pytest.approx(1.0, rel=1e-12)
    assert straight.silhouette_to_hull == pytest.approx(1.0, rel=1e-12)  # a rectangle is its own hull


def test_the_middling_loop_speaks_for_all() -> None:
    row = evaluated(arc(2.0, 200.0), arc(5.0, 200.0), arc(9.0, 200.0), arc(50.0, 30.0), d=1.0)
    assert row.proportion.loop_inside_mm == pytest.approx(2 * 5.0 - 1.0, rel=1e-12)


# Extremes


def test_widest_and_thinnest_are_of_the_section_whichever_way_it_was_hammered() -> None:
    # [D] t/d 0.5, S 0.6: w 1.37663150; the same metal hammered on its side.
    for face in ("flat", "edge"):
        flare = Flare(thickness=0.5, face=face)  # type: ignore[arg-type]
        evaluation = evaluated(Span(length_mm=10.0), Span(length_mm=10.0, flare=flare), d=1.0)
        assert (evaluation.thinnest_mm, evaluation.widest_mm) == pytest.approx((0.5, 1.37663150), abs=5e-9)
        assert evaluation.spans.widest_mm == pytest.approx([1.0, 1.37663150], abs=5e-9)
        assert evaluation.spans.thinnest_mm == pytest.approx([1.0, 0.5], rel=1e-12)


@pytest.mark.parametrize(
    # [D] equivalent strip reduction at S 0.6, d 1.
    ("thickness", "percent"),
    [(0.8, 12.4128), (0.6, 28.0477), (0.5, 37.1504), (0.4, 47.1569)],
)
def test_cold_work_of_a_flare(thickness: float, percent: float) -> None:
    piece = evaluated(Span(length_mm=10.0, flare=Flare(thickness=thickness)), d=1.0)
    assert measurement(piece)["spans"][0]["cold_work_percent"] == pytest.approx(percent, abs=6e-5)


def test_the_envelope_holds_ends_and_flares() -> None:
    # A straight wire of 20 mm: a bead of 2 mm before it, a flare in it, a tapered tip of 5 mm after it.
    bead = BeadEnd(diameter_mm=2.0)
    tip = TaperedEnd(length_mm=5.0, tip_diameter_mm=0.5)
    wire = evaluated(Span(length_mm=20.0), d=1.0, start=bead, finish=tip)
    reach = np.sqrt(3) / 2 + 1.0  # ball of 2 mm whose sphere meets the rim of 1 mm wire
    assert wire.envelope_mm == pytest.approx((reach + 20.0 + 5.0, 2.0), rel=1e-9)


def test_a_hook_reaches_round_its_arc() -> None:
    # Straight 2, then half round of radius 3 back: 20 + 2 + 3 + half a wire long, 6 + a wire high.
    hook = HookEnd(inside_diameter_mm=5.0, turn_deg=180.0, straight_mm=2.0)
    wire = evaluated(Span(length_mm=20.0), d=1.0, finish=hook)
    assert wire.envelope_mm == pytest.approx((20.0 + 2.0 + 3.5, 7.0), abs=0.007)


def test_a_post_stands_up_and_takes_no_room_but_its_own() -> None:
    # Bent up square to the form: in plan only its round section at the mark.
    wire = evaluated(Span(length_mm=20.0), d=1.0, finish=PostEnd(length_mm=10.0, diameter_mm=0.8))
    assert wire.envelope_mm == pytest.approx((20.4, 1.0), rel=1e-9)


def test_stock_places_at_samples_pass_through_every_mark() -> None:
    evaluation = evaluated(
        Span(length_mm=10.0, flare=Flare(thickness=0.5)),
        arc(4.0),
        d=1.0,
        start=HookEnd(inside_diameter_mm=5.0),
    )
    trace, span = evaluation.trace, evaluation.chain.spans
    marks = evaluation.stock_at_samples_mm[trace.first[span]]
    assert marks == pytest.approx(evaluation.spans.stock_from_mm, rel=1e-12)
    assert evaluation.stock_at_samples_mm[-1] == pytest.approx(evaluation.cut_length_mm, rel=1e-12)
    assert evaluation.stock_at_samples_mm[0] == pytest.approx(0.0, abs=1e-9)


def test_each_step_is_worked_out_once_and_only_when_asked_for() -> None:
    evaluation = evaluated(arc(4.0))
    assert "own_trace" not in vars(evaluation)
    assert evaluation.cut_length_mm > 0
    assert "own_trace" not in vars(evaluation)  # no need of a drawing to know the length
    for name in ("chain", "spans", "trace", "outline", "samples", "cautions"):
        assert getattr(evaluation, name) is getattr(evaluation, name)


def test_evaluating_leaves_the_design_alone_and_gives_the_same_again() -> None:
    design = design_of(arc(4.0, flare=Flare(thickness=0.5)), BEND)
    first, second = (measurement(evaluate(design, load_metals())) for _ in range(2))
    assert first == second


# Cautions: each where it applies, and not where it does not


def flared(thickness: float, spread: float = 0.6, d: float = 1.0, **changes: Any) -> Evaluation:
    return evaluated(Span(length_mm=20.0, flare=Flare(thickness=thickness)), spread=spread, d=d, **changes)


@pytest.mark.parametrize(
    ("code", "where", "where_not"),
    [
        # w/t above 15 is beyond rolled strip (general encyclopedia, 'flattening'), above 6 an estimate.
        ("flat_beyond_limit", flared(0.1, spread=1.0), flared(0.3, spread=1.0)),
        ("flat_very_wide", flared(0.3, spread=1.0), flared(0.5, spread=1.0)),
        # Trusted t/d 0.3 to 0.9.
        ("hammered_beyond_model", flared(0.25, spread=0.5), flared(0.31, spread=0.5)),
        ("hammered_slightly", flared(0.95), flared(0.85)),
        # Edges under 0.4 mm cut [C].
        ("sharp_edge", flared(0.5, d=0.7), flared(0.5, d=1.0)),
        # Brass: 50 to 60 % between anneals [C]; at S 0.6 t/d 0.4 is 47.2 % of cold work, 0.3 more.
        ("anneal_between", flared(0.3, metal="brass-c26000"), flared(0.4, metal="brass-c26000")),
        ("spread_assumed", flared(0.5), evaluated(BEND)),
        ("eye_protection", flared(0.5), evaluated(BEND)),
        # A flare cut by its span's mark and not carried on by the next span.
        (
            "flare_step",
            evaluated(Span(length_mm=9.0, flare=Flare(thickness=0.5, end=0.5)), BEND),
            evaluated(Span(length_mm=9.0, flare=Flare(thickness=0.5)), BEND),
        ),
        # A tube radius under two wires lengthens the wire.
        ("neutral_axis_shift", evaluated(arc(2.0), d=1.0), evaluated(arc(4.0), d=1.0)),
        ("no_tube_so_tight", evaluated(arc(0.4), d=1.0), evaluated(arc(2.0), d=1.0)),
        # Half the wire reaches past the centre of its bend.
        ("inner_edge_folds", evaluated(arc(0.45), d=1.0), evaluated(arc(0.6), d=1.0)),
        ("hot_bead", evaluated(BEND, start=BeadEnd(diameter_mm=2.0)), evaluated(BEND)),
        (
            "zinc_fume",
            evaluated(BEND, metal="brass-c26000", start=BeadEnd(diameter_mm=2.0)),
            evaluated(BEND, metal="sterling-925", start=BeadEnd(diameter_mm=2.0)),
        ),
        ("post_heat", evaluated(BEND, finish=PostEnd()), evaluated(BEND)),
        (
            "post_thick",
            evaluated(BEND, d=1.5, finish=PostEnd(diameter_mm=1.2)),
            evaluated(BEND, d=1.5, finish=PostEnd(diameter_mm=0.8)),
        ),
        # Limited by law on skin (EU REACH Annex XVII entry 27).
        ("nickel", evaluated(BEND, metal="nickel-silver-c75200"), evaluated(BEND, metal="copper-c11000")),
        ("quality_mark", evaluated(BEND, metal="sterling-925"), evaluated(BEND, metal="brass-c26000")),
    ],
)
def test_a_caution_is_shown_where_it_applies_and_only_there(
    code: str, where: Evaluation, where_not: Evaluation
) -> None:
    assert code in codes(where)
    assert code not in codes(where_not)


@pytest.mark.parametrize("face", ["flat", "edge"])
def test_wire_bent_tighter_than_half_of_it_folds_whichever_way_it_is_hammered(face: str) -> None:
    # Round at its marks, where the scroll is tightest: radius 30/rad(800) = 2.15 mm, half the wire is 3 mm.
    scroll = Span(length_mm=30.0, turn_deg=400.0, skew_deg=400.0, flare=Flare(thickness=0.9, face=face))  # type: ignore[arg-type]
    assert "inner_edge_folds" in codes(evaluated(scroll, d=6.0))


def test_cautions_name_their_spans_and_the_weightiest_stands_first() -> None:
    thin = Flare(thickness=0.1)
    evaluation = evaluated(
        BEND, replace(BEND, flare=thin), BEND, replace(BEND, flare=thin), spread=1.0, d=1.0
    )
    first = evaluation.cautions[0]
    assert (first.code, first.weight, first.spans) == ("flat_beyond_limit", "stop", (1, 3))
    assert "2" in first.message and "4" in first.message  # spans as a maker counts them
    weights = [("stop", "warn", "note").index(caution.weight) for caution in evaluation.cautions]
    assert weights == sorted(weights)
    for caution in evaluation.cautions:
        assert caution.message.endswith(".") and "\n" not in caution.message
        assert "nan" not in caution.message and "inf " not in caution.message


def test_the_hanging_bead_against_weight_and_surface_tension() -> None:
    # [M] largest hanging bead about 0.866 (6 gamma d/(rho g))^(1/3), gamma of silver 0.92 N/m.
    def falls(bead_mm: float) -> bool:
        piece = evaluated(BEND, metal="sterling-925", d=1.0, start=BeadEnd(diameter_mm=bead_mm))
        return "bead_may_fall" in codes(piece)

    largest = 0.866 * (6 * 0.92 * 1.0e-3 / (10_360 * 9.80665)) ** (1 / 3) * 1e3
    assert not falls(0.98 * largest) and falls(1.02 * largest)


# An edit and its numbers, by an independent route


def test_a_wire_changed_moves_every_number_as_the_formulas_say() -> None:
    base = design_of(Span(length_mm=20.0, turn_deg=200.0, flare=Flare(thickness=0.5)), d=1.0)
    one, other = (evaluate(change_wire(base, diameter_mm=d), load_metals()) for d in (1.0, 1.5))
    # The form stays, so stock length and bend do; sections scale with the wire, weight with its square.
    assert other.stock_length_mm == pytest.approx(one.stock_length_mm, rel=1e-12)
    assert other.spans.as_bent_radius_mm == pytest.approx(one.spans.as_bent_radius_mm, rel=1e-12)
    assert other.widest_mm == pytest.approx(1.5 * one.widest_mm, rel=1e-12)
    assert other.weight_g == pytest.approx(2.25 * one.weight_g, rel=1e-12)


def test_the_thickness_for_a_wanted_stock_length_by_bracketing() -> None:
    # [D] 9.13622559 mm of stock in 10 mm at S 0.6 belongs to thickness 0.5.
    base = design_of(Span(length_mm=10.0, flare=Flare(thickness=0.5)), d=1.0)

    def too_long(thickness: float) -> float:
        changed = change_span(base, At(0, 0), flare=Flare(thickness=thickness))
        return evaluate(changed, load_metals()).stock_length_mm - 9.13622559

    assert brentq(too_long, 0.2, 0.9, xtol=1e-10) == pytest.approx(0.5, abs=1e-7)
