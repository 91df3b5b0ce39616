"""Samples of the centreline: where they lie, how far their chords leave the edges, how a form is laid."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from formsketch.bench.metals import load_metals
from formsketch.design.model import Design, End, Flare, Form, HookEnd, PlainEnd, Run, Span, Wire
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.forging.forged import forge_samples
from formsketch.geometry.spans import span_points
from formsketch.geometry.trace import CHORD_ERROR_MM, level_angle_rad, trace_chain
from tests.support.strategies import calm, designs

PLAIN = PlainEnd()


def evaluated(*spans: Span, d: float = 1.0, start: End = PLAIN) -> Evaluation:
    form = Form(runs=(Run(spans=spans),), start=start)
    return evaluate(
        Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=d), form=form), load_metals()
    )


BOW = Span(length_mm=20.0, turn_deg=120.0)
SHARP = Span(length_mm=10.0, turn_deg=-40.0, corner_deg=70.0)


def test_both_marks_of_every_span_are_sampled() -> None:
    trace = evaluated(BOW, SHARP, BOW).own_trace
    first = trace.first
    assert (trace.u[first[:-1]] == 0.0).all() and (trace.u[first[1:] - 1] == 1.0).all()
    # The mark between two spans appears twice, at one place.
    assert np.abs(trace.z_mm[first[1:-1]] - trace.z_mm[first[1:-1] - 1]).max() < 1e-12
    assert len(trace.mark_samples) == 4
    assert list(trace.mark_samples) == [*first[:-1], first[-1] - 1]
    # Direction before and after the sharp bend: 70 degrees to the left.
    turned = trace.direction[first[1]] / trace.direction[first[1] - 1]
    assert np.angle(turned, deg=True) == pytest.approx(70.0, abs=1e-9)


def test_it_begins_at_nothing_along_x() -> None:
    trace = evaluated(BOW, SHARP, start=HookEnd(inside_diameter_mm=5.0)).own_trace
    mark = trace.first[2]  # the hook's straight and arc come before
    assert abs(trace.z_mm[mark]) < 1e-12 and trace.direction[mark] == pytest.approx(1.0)


@calm(60)
@given(designs())
def test_every_part_lies_on_its_own_curve(design: Design) -> None:
    evaluation = evaluate(design, load_metals())
    trace, chain = evaluation.own_trace, evaluation.chain
    # A twisted end is seen foreshortened; tests.validation.test_ends has it.
    for part in np.flatnonzero(chain.foreshortening == 1.0):
        own = slice(trace.first[part], trace.first[part + 1])
        shape = (float(chain.length_mm[part]), float(chain.turn_rad[part]), float(chain.skew_rad[part]))
        begin, turned = trace.z_mm[own][0], np.exp(1j * chain.heading_rad[part])
        # The same quadrature on steps so short that it is exact to rounding.
        u = np.union1d(trace.u[own], np.linspace(0, 1, 201))
        expected = begin + turned * span_points(*shape, u)[np.searchsorted(u, trace.u[own])]
        assert np.abs(trace.z_mm[own] - expected).max() < 1e-9


def greatest_sagitta_mm(evaluation: Evaluation, side: int) -> float:
    """How far an edge bulges from the chords between its samples, measured at their middles."""
    trace, chain = evaluation.own_trace, evaluation.chain
    finer = trace_chain(chain, 2 * (np.diff(trace.first) - 1))
    width = forge_samples(chain, finer, evaluation.diameter_mm, evaluation.design.hammer.spread).plan_width_mm
    edge = finer.z_mm + side * 0.5j * width * finer.direction
    worst = 0.0
    for part in range(chain.part_count):
        own = edge[finer.first[part] : finer.first[part + 1]]
        a, middle, b = own[:-2:2], own[1:-1:2], own[2::2]
        chord = b - a
        length = np.maximum(np.abs(chord), 1e-12)
        away = np.abs(((middle - a) * np.conj(chord)).imag) / length
        worst = max(worst, float(away.max()))
    return worst


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize(
    "spans",
    [
        (Span(length_mm=60.0, turn_deg=360.0),),
        (Span(length_mm=200.0, turn_deg=350.0),),
        (Span(length_mm=10.0, flare=Flare(thickness=0.3)),),
        (Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.4, centre=0.3, hold=0.3)),),
        (Span(length_mm=40.0, turn_deg=300.0, skew_deg=-300.0, flare=Flare(thickness=0.5, face="edge")),),
        (Span(length_mm=30.0, turn_deg=0.0, skew_deg=200.0),),
    ],
)
def test_edges_leave_their_chords_by_no_more_than_promised(spans: tuple[Span, ...], side: int) -> None:
    assert greatest_sagitta_mm(evaluated(*spans), side) <= CHORD_ERROR_MM


def test_no_more_samples_than_are_needed() -> None:
    assert len(evaluated(Span(length_mm=500.0)).own_trace.u) <= 3
    # A circle of radius R sampled every angle a leaves its chord by R a^2/8: half the samples would not do.
    radius = 60 / (2 * np.pi)
    coarsest = 2 * np.pi / np.sqrt(8 * CHORD_ERROR_MM / (radius + 0.5))
    assert len(evaluated(Span(length_mm=60.0, turn_deg=360.0)).own_trace.u) <= 1.5 * coarsest + 3


def test_the_middle_of_a_span_is_a_sample() -> None:
    trace = evaluated(BOW, SHARP, Span(length_mm=10.0, flare=Flare(thickness=0.3))).own_trace
    for part in range(3):
        assert 0.5 in trace.u[trace.part == part]


# Laying


@calm(60)
@given(designs())
def test_laying_only_turns_the_form_start_to_the_left(design: Design) -> None:
    evaluation = evaluate(design, load_metals())
    trace, span = evaluation.trace, evaluation.chain.spans
    # All distances from the start mark stay, which the own frame has at 0.
    own = np.abs(evaluation.own_ribbon.z_mm)
    assert np.abs(trace.z_mm) == pytest.approx(own, rel=1e-9, abs=1e-9)
    line = evaluation.own_trace.placed(0j, level_angle_rad(evaluation.own_trace, evaluation.chain))
    start, finish = line.z_mm[line.first[span.start]], line.z_mm[line.first[span.stop] - 1]
    if abs(finish - start) > 1.1e-3 * evaluation.finished_length_mm:
        assert finish.real >= start.real - 1e-6


@pytest.mark.parametrize(
    "spans",
    [
        (Span(length_mm=30.0),),
        (BOW,),
        (BOW, SHARP, Span(length_mm=30.0, turn_deg=-60.0)),
        (Span(length_mm=20.0, turn_deg=200.0), Span(length_mm=20.0, turn_deg=-200.0)) * 4,
    ],
)
def test_marks_at_the_far_ends_of_a_form_come_to_lie_on_one_horizontal_line(spans: tuple[Span, ...]) -> None:
    z = evaluated(*spans).trace.z_mm
    assert abs(z[-1].imag - z[0].imag) < 1e-9 and z[-1].real > z[0].real


def test_a_long_form_whose_ends_lie_together_is_laid_along() -> None:
    # A hairpin of 30 mm legs, begun upwards: its length lies level, and it is its own mirror image.
    z = evaluated(
        Span(length_mm=30.0), Span(length_mm=2 * np.pi, turn_deg=180.0), Span(length_mm=30.0)
    ).trace.z_mm
    assert np.ptp(z.real) == pytest.approx(32.0, abs=0.05) and np.ptp(z.imag) == pytest.approx(4.0, abs=0.3)


def test_a_form_closed_on_itself_stays_as_it_begins() -> None:
    ring = evaluated(Span(length_mm=60.0, turn_deg=360.0))
    assert np.array_equal(ring.trace.z_mm, ring.own_trace.z_mm)


def test_a_trace_placed_is_turned_about_its_start_and_moved() -> None:
    trace = evaluated(BOW).own_trace
    placed = trace.placed(3 + 4j, np.pi / 2)
    assert placed.z_mm == pytest.approx(3 + 4j + 1j * trace.z_mm, abs=1e-12)
    assert placed.direction == pytest.approx(1j * trace.direction, abs=1e-12)
