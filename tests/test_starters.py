"""Starter forms: whatever numbers they are given they make a sound design of those sizes, or refuse.

Expected sizes are the numbers asked for, with circles and tangents worked out by hand. Unhammered wire is
used where a size is measured, so that edges lie half the wire from the centreline.
"""

from __future__ import annotations

import json
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.bench.metals import load_metals
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.model import Wire
from formsketch.design.starters import STARTERS, Starter, make_starter
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.report import measurement
from tests.support.strategies import calm

D = 1.2
CHORD_MM = 0.007  # two edges, each within 0.003 mm of the true one


def made(key: str, **numbers: float) -> Evaluation:
    design = make_starter(key, Wire(metal="brass-c26000", diameter_mm=D), numbers=numbers)
    return evaluate(design, load_metals())


def end_marks(evaluation: Evaluation) -> tuple[complex, complex]:
    z = evaluation.trace.z_mm
    return complex(z[0]), complex(z[-1])


# All of them


def test_there_are_starters_for_every_kind_of_piece() -> None:
    assert len(STARTERS) >= 8
    for key, starter in STARTERS.items():
        assert key == starter.key and starter.title and starter.explanation.endswith(".")
        names = [number.name for number in starter.numbers]
        assert len(set(names)) == len(names)
        for number in starter.numbers:
            assert number.low <= number.value <= number.high and number.label


@pytest.mark.parametrize("key", STARTERS)
def test_a_starter_can_be_begun_evaluated_and_saved(key: str) -> None:
    evaluation = made(key)
    assert evaluation.design.title == STARTERS[key].title
    json.dumps(measurement(evaluation), allow_nan=False)
    assert not [caution for caution in evaluation.cautions if caution.weight == "stop"]
    data = design_bytes(evaluation.design)
    assert read_design(data, key).design == evaluation.design


@pytest.mark.parametrize("key", STARTERS)
def test_each_number_of_a_starter_does_something(key: str) -> None:
    base = made(key).design.form
    for number in STARTERS[key].numbers:
        towards = number.low if number.value > number.low else number.high
        other = number.value + 0.1 * (towards - number.value)
        if number.unit == "times":
            other = number.value + 1
        assert made(key, **{number.name: other}).design.form != base, number.name


@calm(150)
@given(st.sampled_from(list(STARTERS.values())), st.floats(0.3, 4.0), st.data())
def test_any_numbers_within_bounds_make_a_sound_form_or_are_refused(
    starter: Starter, wire_mm: float, data: st.DataObject
) -> None:
    numbers = {}
    for number in starter.numbers:
        bounds = (number.low, number.high)
        if number.unit == "times":
            value: float = data.draw(st.sampled_from((number.low, number.value, 40)), label=number.name)
        else:
            value = data.draw(st.one_of(st.sampled_from(bounds), st.floats(*bounds)), label=number.name)
        numbers[number.name] = min(value, number.high)
    try:
        design = make_starter(starter.key, Wire(metal="copper-c11000", diameter_mm=wire_mm), numbers=numbers)
    except EditRefused as refused:
        assert str(refused).endswith(".") and "\n" not in str(refused)
        return
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        json.dumps(measurement(evaluate(design, load_metals())), allow_nan=False)


def test_nonsense_is_refused_in_one_sentence() -> None:
    wire = Wire(metal="brass-c26000", diameter_mm=D)
    for key, numbers in (
        ("teapot", {}),
        ("hoop", {"colour": 1.0}),
        ("hoop", {"inside_mm": 0.0}),
        ("hoop", {"inside_mm": 1e9}),
        ("hoop", {"inside_mm": float("nan")}),
        ("hoop", {"inside_mm": 5.0, "opening_mm": 100.0}),
        ("figure-eight", {"inside_mm": 20.0, "between_mm": 5.0}),
        ("open-cuff", {"width_mm": 30.0, "depth_mm": 60.0}),
        ("open-cuff", {"opening_mm": 150.0}),
        ("row-of-loops", {"times": 2.5}),  # a number of loops is whole; nothing is rounded in silence
    ):
        with pytest.raises(EditRefused) as refused:
            make_starter(key, wire, numbers=numbers)
        assert str(refused.value).endswith(".") and "\n" not in str(refused.value)


def test_a_title_may_be_given() -> None:
    wire = Wire(metal="brass-c26000", diameter_mm=D)
    assert make_starter("hoop", wire, title="Mine").title == "Mine"


# Each one's sizes


def test_row_of_loops() -> None:
    row = made("row-of-loops", inside_mm=8.0, times=5, turn_deg=300.0, link_mm=14.0, thickness=1.0)
    loops = np.flatnonzero(np.isclose(row.spans.turn_deg, 300.0))
    assert len(loops) == 5
    # Inside 8 mm: centreline radius (8 + d)/2.
    assert row.spans.finished_radius_mm[loops] == pytest.approx(np.full(5, (8.0 + D) / 2), rel=1e-12)
    # Loop and link turn once round together: all loops the same way up, along one straight line.
    assert row.spans.turn_deg.sum() == pytest.approx(5 * 360.0, rel=1e-12)
    marks = row.own_trace.z_mm[row.own_trace.first[:-1][loops]]
    steps = np.diff(marks)
    assert np.abs(steps - steps[0]).max() < 1e-9
    assert row.proportion.loop_inside_mm == pytest.approx(8.0, rel=1e-12)


def test_row_of_s_forms_is_the_row_turned_over_by_turns() -> None:
    row = made("row-of-s-forms", inside_mm=9.0, times=7, turn_deg=236.0, ends_scale=0.8, thickness=1.0)
    turns = row.spans.turn_deg
    assert len(turns) == 9  # a half loop at both ends
    assert (np.sign(turns[1:]) == -np.sign(turns[:-1])).all()
    lengths = row.spans.finished_length_mm
    assert lengths[1:-1] == pytest.approx(lengths[1:-1][::-1], rel=1e-12)
    assert lengths[1] / lengths[4] == pytest.approx(0.8, rel=1e-12)
    assert lengths[4] == pytest.approx(np.deg2rad(236.0) * (9.0 + D) / 2, rel=1e-12)


@pytest.mark.parametrize("opening", [0.0, 4.0, 20.0])
def test_hoop(opening: float) -> None:
    hoop = made("hoop", inside_mm=28.0, opening_mm=opening, thickness=1.0)
    radius = (28.0 + D) / 2
    assert hoop.finished_length_mm == pytest.approx(2 * np.pi * radius - opening, rel=1e-12)
    start, finish = end_marks(hoop)
    chord = 2 * radius * np.sin(opening / radius / 2)  # the opening is measured along the round
    assert abs(finish - start) == pytest.approx(chord, abs=1e-9)
    assert max(hoop.envelope_mm) == pytest.approx(28.0 + 2 * D, abs=CHORD_MM)


def test_s_ring() -> None:
    ring = made("s-ring", inside_mm=5.0, turn_deg=270.0, body_mm=22.0, thickness=1.0, bead_ratio=0.0)
    turns, lengths = ring.spans.turn_deg, ring.spans.finished_length_mm
    assert turns == pytest.approx([270.0, 0.0, -270.0], rel=1e-12)
    assert lengths == pytest.approx(
        [1.5 * np.pi * (5.0 + D) / 2, 22.0, 1.5 * np.pi * (5.0 + D) / 2], rel=1e-12
    )
    beaded = made("s-ring", bead_ratio=2.0)
    assert [end.bead_diameter_mm for end in beaded.ends] == pytest.approx([2 * D, 2 * D], rel=1e-12)


def test_open_cuff() -> None:
    cuff = made("open-cuff", width_mm=60.0, depth_mm=46.0, opening_mm=28.0, thickness=1.0, bead_ratio=0.0)
    start, finish = end_marks(cuff)
    # The opening is the chord between the marks at the middle of the wire.
    assert abs(finish - start) == pytest.approx(28.0, abs=1e-9)
    assert cuff.envelope_mm[0] == pytest.approx(60.0 + 2 * D, abs=CHORD_MM)
    # Both ends lie alike: the cuff is its own mirror image.
    assert cuff.spans.finished_length_mm == pytest.approx(cuff.spans.finished_length_mm[::-1], rel=1e-12)
    # Were it closed underneath it would be 46 mm deep inside: the bottom arc of the same radius as the top
    # falls short of that by its sagitta over the opening.
    radius = cuff.spans.finished_radius_mm[2]
    sagitta = radius - np.sqrt(radius**2 - 14.0**2)
    lowest_inner = 46.0 + D - sagitta  # top of the centreline to the end marks
    z = cuff.trace.z_mm
    assert float(np.ptp(z.imag)) == pytest.approx(lowest_inner, abs=0.01)


def test_scroll() -> None:
    scroll = made("scroll", curl_mm=45.0, turn_deg=330.0, thickness=1.0, bead_ratio=0.0)
    assert scroll.spans.turn_deg == pytest.approx([330.0, -330.0], rel=1e-12)
    assert scroll.finished_length_mm == pytest.approx(90.0, rel=1e-12)
    # Straight in the middle: the curvature passes through nothing at the mark between the curls, and the
    # figure is its own image turned half round.
    z = scroll.own_trace.z_mm
    assert np.abs((z + z[::-1]) - (z[0] + z[-1])).max() < 1e-9


@pytest.mark.parametrize("gap", [0.4, 1.5])
def test_spiral(gap: float) -> None:
    spiral = made("spiral", inside_mm=5.0, half_turns=8, gap_mm=gap, thickness=1.0)
    radii = spiral.spans.finished_radius_mm
    assert radii[0] == pytest.approx((5.0 + D) / 2, rel=1e-12)
    # Every second half round is about the same centre, one pitch further out.
    assert radii[2:] - radii[:-2] == pytest.approx(np.full(6, D + gap), rel=1e-12)
    assert spiral.smallest_gap_mm == pytest.approx(gap, abs=CHORD_MM)


def test_figure_eight() -> None:
    eight = made("figure-eight", inside_mm=12.0, between_mm=20.0, thickness=1.0)
    start, finish = end_marks(eight)
    assert abs(finish - start) < 1e-9  # closed on itself
    turned = np.exp(1j * np.deg2rad(eight.spans.turn_deg.sum()))
    assert abs(turned - 1) < 1e-9
    # The loops' centres are 20 mm apart: between the far edges lie 20 mm, a radius, half a wire on each side.
    width = 20.0 + 12.0 + 2 * D
    z = eight.trace.z_mm
    across = [np.ptp((z * np.exp(-1j * angle)).real) for angle in np.linspace(0, np.pi, 3_600)]
    assert max(across) + D == pytest.approx(width, abs=0.01)
    # One wire passes over the other, once.
    assert len(eight.crossings) == 1


@pytest.mark.parametrize("times", [2, 3, 8])
def test_zigzag(times: int) -> None:
    zigzag = made("zigzag", leg_mm=14.0, inside_mm=3.0, turn_deg=100.0, times=times, thickness=1.0)
    turns = zigzag.spans.turn_deg
    corners = turns[1::2]
    assert len(corners) == times and len(turns) == 2 * times + 1
    assert np.abs(corners) == pytest.approx(np.full(times, 100.0), rel=1e-12)
    assert (np.sign(corners[1:]) == -np.sign(corners[:-1])).all()
    assert turns[0::2] == pytest.approx(np.zeros(times + 1), abs=1e-12)
    assert zigzag.spans.finished_radius_mm[1::2] == pytest.approx(np.full(times, (3.0 + D) / 2), rel=1e-12)
