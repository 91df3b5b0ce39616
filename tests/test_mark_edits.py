"""Marks put into the wire and taken out: nothing moves that need not, and a flare survives.

Every expected value is worked out here from the definition of a span and of a flare: curvature x length =
turn + skew (2u - 1); depth sin^2 before and after the hold. Integrals are those of scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.integrate import quad

from formsketch.bench.metals import load_metals
from formsketch.design.edits import SpanAddress, change_run, change_span, span_at, with_flare
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.mark_edits import insert_mark, remove_mark
from formsketch.design.model import Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.design.soundness import LEAST_FLARE_PART, Unsound, sound
from formsketch.design.transforms import written_out
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.fitting.pulling import WireInHand, pull_flare
from formsketch.forging.flare import flare_ease, thickness_ratio
from formsketch.forging.forged import forge_flares, forge_samples
from formsketch.forging.section import round_area_mm2, stadium_area_mm2
from formsketch.forging.spread import hammered_width_mm
from formsketch.geometry.trace import CHORD_ERROR_MM, trace_chain
from tests.support.strategies import calm, designs

METALS = load_metals()
HERE = SpanAddress(0, 0)
NODES, WEIGHTS = np.polynomial.legendre.leggauss(40)


def in_wire(*spans: Span, times: int = 1, turned_over: bool = False, ends_scale: float = 1.0) -> Design:
    """A design of one run in 1.2 mm brass."""
    run = Run(spans=spans, times=times, turned_over=turned_over, ends_scale=ends_scale)
    return Design(
        title="t", wire=Wire(metal="brass-c26000", diameter_mm=1.2), form=Form(runs=(run,)), notes=""
    )


def evaluated(design: Design) -> Evaluation:
    return evaluate(design, METALS)


def walked(design: Design, at_mm: NDArray[np.float64] | None = None) -> NDArray[np.complex128]:
    """Places along a form, the first span leaving 0 along +x: at its marks, or so far along the wire.

    Worked out span by span from the design as written, by 40-point Gauss-Legendre over steps of at most
    4 rad; nothing of the program's geometry is used.
    """
    spans = [span for run in design.form.runs for span in written_out(run)]
    far = np.concatenate(([0.0], np.cumsum([s.length_mm for s in spans])))
    wanted = far if at_mm is None else np.asarray(at_mm)
    places = np.zeros(len(wanted), dtype=complex)
    place, heading, side = 0j, 0.0, 1.0
    for k, span in enumerate(spans):
        side = -side if span.turned_over else side
        turn, skew, corner = (side * np.deg2rad(a) for a in (span.turn_deg, span.skew_deg, span.corner_deg))
        heading += corner if k else 0.0
        last = k == len(spans) - 1
        inside = np.flatnonzero((wanted >= far[k]) & ((wanted < far[k + 1]) | last))
        stops = np.minimum((wanted[inside] - far[k]) / span.length_mm, 1.0)
        pieces = max(1, int(np.ceil((abs(turn) + abs(skew)) / 4)))

        def moved(
            u: float, length=span.length_mm, turn=turn, skew=skew, heading=heading, n=pieces
        ) -> complex:
            begin, step = np.arange(n)[:, None] * u / n, u / n
            v = begin + step * (NODES + 1) / 2
            return length * step / 2 * np.sum(WEIGHTS * np.exp(1j * (heading + v * (turn + skew * (v - 1)))))

        places[inside] = place + np.array([moved(u) for u in stops])
        place += moved(1.0)
        heading += turn
    return places


def thickness_along(evaluation: Evaluation, at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Thickness over wire diameter so far along the wire, straight from the definition of a flare."""
    chain, span = evaluation.chain, evaluation.chain.spans
    far = np.concatenate(([0.0], np.cumsum(chain.length_mm[span])))
    found = []
    for place in at_mm:
        k = min(int(np.searchsorted(far, place, side="right")) - 1, len(far) - 2)
        number = chain.flare[span][k]
        if number < 0:
            found.append(1.0)
            continue
        f = chain.flares[number]
        v = f.begin + (f.end - f.begin) * (place - far[k]) / (far[k + 1] - far[k])
        a, b = f.centre - f.hold / 2, f.centre + f.hold / 2
        ramp = v / a if v < a else (1 - v) / (1 - b) if v > b else 1.0
        found.append(1 - (1 - f.thickness) * np.sin(np.pi / 2 * ramp) ** 2)
    return np.array(found)


def roomy(span: Span) -> bool:
    """Whether a hundredth of the span still shows enough of its flare."""
    return span.flare is None or (span.flare.end - span.flare.begin) / 100 > LEAST_FLARE_PART


# The part of a flare


@pytest.mark.parametrize(("begin", "end"), [(0.0, 0.3), (0.2, 0.25), (0.1, 0.9), (0.45, 0.5), (0.9, 1.0)])
@pytest.mark.parametrize("face", ["flat", "edge"])
def test_means_over_a_part_are_integrals(begin: float, end: float, face: str) -> None:
    flare = Flare(thickness=0.4, centre=0.42, hold=0.2, face=face, begin=begin, end=end)  # type: ignore[arg-type]
    d, spread = 1.3, 0.7
    forged = forge_flares([flare], d, spread)

    def section(v: float) -> tuple[float, float]:
        thickness = d * float(thickness_ratio(v, 0.4, 0.42, 0.2))
        return thickness, float(hammered_width_mm(thickness, d, spread))

    def mean(what) -> float:  # type: ignore[no-untyped-def]
        bends = [p for p in (0.32, 0.52) if begin < p < end]
        return quad(lambda v: what(*section(v)), begin, end, points=bends or None, epsabs=1e-14)[0] / (
            end - begin
        )

    stock = mean(lambda t, w: float(stadium_area_mm2(w, t) / round_area_mm2(d)))
    plan = mean(lambda t, w: t if face == "edge" else w)
    assert forged.stock_fraction[0] == pytest.approx(stock, rel=1e-11)
    assert forged.mean_plan_width_mm[0] == pytest.approx(plan, rel=1e-11)
    deepest = min((section(v) for v in np.linspace(begin, end, 2001)), key=lambda s: s[0])
    assert (forged.thinnest_mm[0], forged.widest_mm[0]) == pytest.approx(deepest, rel=1e-6)
    assert forged.thickness_from_mm[0] == pytest.approx(section(begin)[0], rel=1e-14)
    assert forged.thickness_to_mm[0] == pytest.approx(section(end)[0], rel=1e-14)


def test_the_whole_of_a_flare_is_its_parts_beside_other_parts() -> None:
    # One whole flare among parts is worked out as when it is alone.
    whole = Flare(thickness=0.5, centre=0.3, hold=0.1)
    alone, beside = forge_flares([whole], 1.0, 0.8), forge_flares([replace(whole, end=0.4), whole], 1.0, 0.8)
    for name in ("thinnest_mm", "stock_fraction", "mean_plan_width_mm", "shorter_ease", "thickness_to_mm"):
        assert getattr(alone, name)[0] == getattr(beside, name)[1]


@pytest.mark.parametrize(
    "part", [(0.0, 0.1), (0.0, 0.2), (0.0, 0.4), (0.31, 0.5), (0.5, 0.51), (0.4, 1.0), (0.8, 1.0)]
)
def test_a_part_is_sampled_as_finely_as_the_whole(part: tuple[float, float]) -> None:
    # The straight lines between samples leave the true edge by no more than the error allowed; in thick
    # wire on a straight span that alone sets how many there are.
    whole = Flare(thickness=0.25, centre=0.5, hold=0.06)
    thick = Wire(metal="brass-c26000", diameter_mm=8.0)
    design = replace(in_wire(Span(length_mm=90.0, flare=whole)), wire=thick)
    begin, end = part
    evaluation = evaluated(change_span(design, HERE, flare=replace(whole, begin=begin, end=end)))
    trace, half = evaluation.own_trace, evaluation.samples.plan_width_mm / 2
    u = np.linspace(0, 1, 5001)
    d, spread = evaluation.diameter_mm, evaluation.design.hammer.spread
    true = hammered_width_mm(d * thickness_ratio(begin + (end - begin) * u, 0.25, 0.5, 0.06), d, spread) / 2
    assert abs(np.interp(u, trace.u, half) - true).max() <= CHORD_ERROR_MM
    # Nor more finely: counts are even and at least 2.
    assert len(trace.u) - 1 <= (end - begin) * (len(evaluated(design).own_trace.u) - 1) + 2


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"begin": 0.4, "end": 0.4 + LEAST_FLARE_PART / 2}, "the part of the flare shown"),
        ({"begin": 0.6, "end": 0.3}, "the part of the flare shown"),
        ({"begin": -0.1}, "at least 0"),
        ({"end": 1.1}, "at most 1"),
        ({"begin": 0.2, "centre": 0.01}, "centre - hold/2"),
    ],
)
def test_a_part_of_a_flare_has_bounds(changes: dict[str, float], expected: str) -> None:
    design = in_wire(Span(length_mm=10.0, flare=replace(Flare(thickness=0.5), **changes)))
    with pytest.raises(Unsound, match=expected):
        sound(design)


def test_a_part_of_a_flare_is_kept_in_the_file_and_a_whole_one_says_nothing_of_it() -> None:
    cut = insert_mark(in_wire(Span(length_mm=20.0, flare=Flare(thickness=0.5))), HERE, 0.25)
    assert read_design(design_bytes(cut), "x").design == cut
    assert design_bytes(cut).count(b'"begin"') == design_bytes(cut).count(b'"end"') == 1
    assert b'"begin"' not in design_bytes(in_wire(Span(length_mm=20.0, flare=Flare(thickness=0.5))))


def test_a_part_is_hammered_to_the_width_pulled_for() -> None:
    design = insert_mark(in_wire(Span(length_mm=40.0, flare=Flare(thickness=0.6))), HERE, 0.3)
    evaluation = evaluated(design)
    wire = WireInHand(design, evaluation.chain, evaluation.own_trace)
    pulled = evaluated(pull_flare(wire, 0, 1.5).design)
    assert pulled.spans.widest_mm[0] == pytest.approx(1.5, rel=1e-9)
    assert pulled.spans.widest_mm[1] == evaluation.spans.widest_mm[1]


# Putting a mark in


@calm(60)
@given(designs(), st.data())
def test_a_mark_put_in_changes_nothing_else(design: Design, data: st.DataObject) -> None:
    design = replace(design, variants=())
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    index = data.draw(st.integers(0, len(design.form.runs[run].spans) - 1))
    address = SpanAddress(run, index)
    u = data.draw(st.floats(0.02, 0.98))
    assume(roomy(span_at(design, address)))
    after = insert_mark(design, address, u)
    assert len(after.form.runs[run].spans) == len(design.form.runs[run].spans) + 1
    old, new = evaluated(design), evaluated(after)
    # The means over one easing are good to 1e-12 down to a tenth of the wire.
    for name in (
        "finished_length_mm",
        "stock_length_mm",
        "cut_length_mm",
        "weight_g",
        "thinnest_mm",
        "widest_mm",
    ):
        assert getattr(new, name) == pytest.approx(getattr(old, name), rel=1e-12)
    length = old.finished_length_mm
    at_mm = length * np.linspace(0, 1, 60)
    assert abs(walked(after, at_mm) - walked(design, at_mm)).max() < 1e-12 * length * len(old.spans.turn_deg)
    # Just beside a mark rounding may fall on either span: the flare is continuous there and so is this.
    np.testing.assert_allclose(thickness_along(new, at_mm), thickness_along(old, at_mm), atol=1e-11)
    for name in ("turn_deg", "corner_deg"):
        total, before = np.sum(getattr(new.spans, name)), np.sum(getattr(old.spans, name))
        assert total == pytest.approx(before, abs=1e-9)


def test_every_sample_stays() -> None:
    flare = Flare(thickness=0.35, centre=0.4, hold=0.2)
    design = in_wire(Span(length_mm=30.0, turn_deg=200.0, skew_deg=70.0, flare=flare))
    old, new = evaluated(design), evaluated(insert_mark(design, HERE, 0.375))
    # 64 intervals of the whole are 24 of the first part and 40 of the second; the mark is there twice.
    whole = trace_chain(old.chain, np.array([64]))
    parts = trace_chain(new.chain, np.array([24, 40]))
    kept = np.delete(np.arange(66), 25)
    scale = 1e-12 * 30.0
    assert abs(parts.z_mm[kept] - whole.z_mm).max() < scale
    assert abs(whole.z_mm - walked(design, 30 * whole.u)).max() < scale
    assert abs(parts.direction[kept] - whole.direction).max() < 1e-12
    d, spread = old.diameter_mm, old.design.hammer.spread
    before, after = forge_samples(old.chain, whole, d, spread), forge_samples(new.chain, parts, d, spread)
    for name in ("thickness_mm", "width_mm", "plan_width_mm", "height_mm"):
        np.testing.assert_allclose(getattr(after, name)[kept], getattr(before, name), rtol=1e-12)
        assert getattr(after, name)[25] == pytest.approx(getattr(after, name)[24], rel=1e-12)


def test_the_numbers_of_the_two_parts() -> None:
    # Curvature x length = 100 + 40 (2u - 1): over the first quarter 25 + 40 (1/16 - 1/4) = 17.5.
    corner = Span(length_mm=20.0, turn_deg=100.0, skew_deg=40.0, corner_deg=30.0, turned_over=True)
    first, second = insert_mark(in_wire(corner), HERE, 0.25).form.runs[0].spans
    assert (first.length_mm, first.turn_deg, first.skew_deg) == pytest.approx((5.0, 17.5, 2.5))
    assert (second.length_mm, second.turn_deg, second.skew_deg) == pytest.approx((15.0, 82.5, 22.5))
    assert (first.corner_deg, first.turned_over) == (30.0, True)
    assert (second.corner_deg, second.turned_over) == (0.0, False)


def test_every_repeat_gets_the_mark() -> None:
    design = in_wire(Span(length_mm=20.0, turn_deg=240.0), times=5, turned_over=True, ends_scale=0.7)
    after = insert_mark(design, HERE, 0.4)
    assert len(evaluated(after).spans.turn_deg) == 10
    assert abs(walked(after)[::2] - walked(design)).max() < 1e-12


@pytest.mark.parametrize("u", [0.0, 1.0, -0.1, 1.5, float("nan")])
def test_a_mark_is_put_between_marks_only(u: float) -> None:
    with pytest.raises(EditRefused, match="between the two marks"):
        insert_mark(in_wire(Span(length_mm=20.0)), HERE, u)


def test_no_part_is_too_short() -> None:
    with pytest.raises(EditRefused, match=r"at least 0\.01"):
        insert_mark(in_wire(Span(length_mm=1.0)), HERE, 0.001)
    with pytest.raises(EditRefused, match="part of the flare"):
        insert_mark(in_wire(Span(length_mm=1000.0, flare=Flare(thickness=0.5))), HERE, 0.0005)


# Taking a mark out


@calm(60)
@given(designs(), st.data())
def test_taking_out_undoes_putting_in(design: Design, data: st.DataObject) -> None:
    design = replace(design, variants=())
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    index = data.draw(st.integers(0, len(design.form.runs[run].spans) - 1))
    u, v = data.draw(st.floats(0.1, 0.9)), data.draw(st.floats(0.1, 0.9))
    assume(roomy(span_at(design, SpanAddress(run, index))))
    twice = insert_mark(insert_mark(design, SpanAddress(run, index), u), SpanAddress(run, index), v)
    once = remove_mark(twice, SpanAddress(run, index + 2))
    back = span_at(remove_mark(once, SpanAddress(run, index + 1)), SpanAddress(run, index))
    was = span_at(design, SpanAddress(run, index))
    scale = abs(was.turn_deg) + abs(was.skew_deg)
    assert back.length_mm == pytest.approx(was.length_mm, rel=1e-14)
    assert back.turn_deg == pytest.approx(was.turn_deg, abs=1e-13 * (1 + scale))
    assert back.skew_deg == pytest.approx(was.skew_deg, abs=1e-12 * (1 + scale))
    assert (back.corner_deg, back.turned_over, back.flare) == (was.corner_deg, was.turned_over, was.flare)


def test_an_arc_taken_together_again_is_an_arc() -> None:
    design = in_wire(Span(length_mm=23.0, turn_deg=217.0))
    for u in np.linspace(0.03, 0.97, 48):
        back = remove_mark(insert_mark(design, HERE, float(u)), SpanAddress(0, 1))
        assert span_at(back, HERE).skew_deg == 0.0


@given(*(st.floats(-300, 300) for _ in range(5)), st.floats(1, 30), st.floats(1, 30))
def test_the_joined_span_is_the_least_squares_line(
    turn: float, skew: float, other: float, other_skew: float, corner: float, before: float, after: float
) -> None:
    # Of all lines with the same integral, the one nearest to the curvature of the two has its first moment
    # about the middle; a sharp bend is an impulse there. Curvature x length over the joined length.
    corner = corner / 2
    first = Span(length_mm=before, turn_deg=turn, skew_deg=skew)
    second = Span(length_mm=after, turn_deg=other, skew_deg=other_skew, corner_deg=corner)
    joined = span_at(remove_mark(in_wire(first, second), SpanAddress(0, 1)), HERE)
    length = before + after
    at = before / length

    def curvature(v: float) -> float:
        if v < at:
            return (turn + skew * (2 * v / at - 1)) / at
        return (other + other_skew * (2 * (v - at) / (1 - at) - 1)) / (1 - at)

    moment = quad(lambda v: curvature(v) * (2 * v - 1), 0, at)[0]
    moment += quad(lambda v: curvature(v) * (2 * v - 1), at, 1)[0] + corner * (2 * at - 1)
    assert joined.length_mm == pytest.approx(length)
    assert joined.turn_deg == pytest.approx(turn + corner + other, abs=1e-9)
    # The first moment of turn + skew (2v - 1) about the middle is skew/3.
    assert joined.skew_deg / 3 == pytest.approx(moment, abs=1e-7)


def test_the_far_end_hardly_moves() -> None:
    # To first order in how the two differ the end stays: halving the difference quarters its way.
    moves = []
    for difference in (8.0, 4.0, 2.0):
        spans = (
            Span(length_mm=12.0, turn_deg=difference),
            Span(length_mm=20.0, turn_deg=-difference, skew_deg=difference, corner_deg=difference / 2),
            Span(length_mm=10.0),
        )
        design = in_wire(*spans)
        moves.append(abs(walked(remove_mark(design, SpanAddress(0, 1)))[-1] - walked(design)[-1]))
    assert moves[0] / moves[1] == pytest.approx(4, rel=0.1) and moves[1] / moves[2] == pytest.approx(
        4, rel=0.1
    )


@pytest.mark.parametrize(
    ("first", "second", "joined"),
    [
        (None, None, None),
        (Flare(thickness=0.5), None, Flare(thickness=0.5)),
        (None, Flare(thickness=0.5, centre=0.3), Flare(thickness=0.5, centre=0.3)),
        (Flare(thickness=0.7), Flare(thickness=0.4, face="edge"), Flare(thickness=0.4, face="edge")),
        (Flare(thickness=0.4, hold=0.2), Flare(thickness=0.7), Flare(thickness=0.4, hold=0.2)),
        # The deeper one keeps its way into the span before it and eases out after.
        (
            Flare(thickness=0.4, begin=0.2, end=0.6),
            Flare(thickness=0.7),
            Flare(thickness=0.4, begin=0.2),
        ),
        (
            Flare(thickness=0.7),
            Flare(thickness=0.4, begin=0.2, end=0.6),
            Flare(thickness=0.4, end=0.6),
        ),
        # Parts of one flare.
        (
            Flare(thickness=0.4, begin=0.2, end=0.6),
            Flare(thickness=0.4, begin=0.6, end=0.9),
            Flare(thickness=0.4, begin=0.2, end=0.9),
        ),
    ],
)
def test_the_deeper_flare_stays(first: Flare | None, second: Flare | None, joined: Flare | None) -> None:
    design = in_wire(Span(length_mm=10.0, flare=first), Span(length_mm=10.0, flare=second))
    assert span_at(remove_mark(design, SpanAddress(0, 1)), HERE).flare == joined


def test_marks_that_cannot_be_taken_out() -> None:
    design = in_wire(Span(length_mm=10.0), Span(length_mm=10.0, turned_over=True), times=3)
    with pytest.raises(EditRefused, match=r"^This mark cannot be removed: the wire is turned over there\.$"):
        remove_mark(design, SpanAddress(0, 1))
    with pytest.raises(EditRefused, match="here a run or a repeat begins"):
        remove_mark(design, HERE)


# A step at a mark


def steps(design: Design) -> list[tuple[str, str, tuple[int, ...]]]:
    return [(c.weight, c.message, c.spans) for c in evaluated(design).cautions if c.code == "flare_step"]


def test_no_step_where_a_flare_is_carried_on() -> None:
    design = in_wire(Span(length_mm=40.0, turn_deg=200.0, flare=Flare(thickness=0.4)), times=3)
    for u in (0.5, 0.2, 0.7):
        design = insert_mark(design, HERE, u)
    assert steps(design) == []


def test_a_step_is_cautioned_of_above_one_percent_of_the_wire() -> None:
    # At the middle of the whole flare its thickness is 0.4: 0.409 is 0.9 % off, 0.411 is 1.1 %.
    design = insert_mark(in_wire(Span(length_mm=40.0, flare=Flare(thickness=0.4))), HERE, 0.5)
    assert steps(with_flare(design, HERE, thickness=0.409)) == []
    ((weight, message, spans),) = steps(with_flare(design, HERE, thickness=0.411))
    assert weight == "warn" and spans == (0, 1)
    assert message.startswith("Mark 2: ") and "1 %" in message


def test_flat_and_on_edge_are_a_step_and_so_is_an_open_flare_beside_a_round_end() -> None:
    design = insert_mark(in_wire(Span(length_mm=40.0, flare=Flare(thickness=0.4))), HERE, 0.5)
    assert len(steps(with_flare(design, HERE, face="edge"))) == 1
    # Taking the first half away leaves a hammered cut end, which is no step, but before a hook it is one.
    half = change_run(design, 0, spans=design.form.runs[0].spans[1:])
    assert steps(half) == []
    hooked = replace(half, form=replace(half.form, start=HookEnd(inside_diameter_mm=4.0)))
    assert [found[2] for found in steps(hooked)] == [(0,)]


def test_repeats_that_end_in_a_hammered_place_step_to_the_next_run() -> None:
    design = insert_mark(in_wire(Span(length_mm=40.0, flare=Flare(thickness=0.4))), HERE, 0.5)
    halves = design.form.runs[0].spans
    rows = (Run(spans=halves[1:], times=6), Run(spans=(Span(length_mm=5.0),)))
    ((_, message, spans),) = steps(replace(design, form=Form(runs=rows)))
    # Each repeat begins hammered and ends round: five steps between six repeats.
    assert message.startswith("5 marks (2 to 6)") and spans == (0, 1, 2, 3, 4, 5)


def test_the_helper_walks_a_circle_and_a_right_angle() -> None:
    # A quarter round of radius 10, then a corner of a right angle and 5 straight on.
    spans = (Span(length_mm=5 * np.pi, turn_deg=90.0), Span(length_mm=5.0, corner_deg=90.0))
    assert walked(in_wire(*spans)) == pytest.approx(np.array([0, 10 + 10j, 5 + 10j]), abs=1e-13)
    assert flare_ease(0.25, 0.5, 0.0) == pytest.approx(0.5)


def test_changing_one_part_leaves_the_other() -> None:
    design = insert_mark(in_wire(Span(length_mm=40.0, flare=Flare(thickness=0.4))), HERE, 0.5)
    other = SpanAddress(0, 1)
    assert span_at(change_span(design, HERE, flare=None), other) == span_at(design, other)
