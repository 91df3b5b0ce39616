"""A form written out: against the rules of a design file applied one span after another, by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from formsketch.design.model import Design, Flare, Form, Run, Span
from formsketch.geometry.chain import Chain, EndPart, chain_of
from tests.support.strategies import calm, designs

LOOP = Span(length_mm=20.0, turn_deg=240.0, skew_deg=10.0, flare=Flare(thickness=0.5))
LINK = Span(length_mm=5.0, turn_deg=-60.0, corner_deg=30.0)


def chain(*runs: Run) -> Chain:
    return chain_of(Form(runs=runs), 1.0)


def by_hand(form: Form) -> list[tuple[float, float, float, float, float, Flare | None]]:
    """Length, turn, skew, corner (radians, as laid), side and flare of every span, in the wire's order.

    `turned_over` acts at the mark where its span begins: that span and all after it change side, its own
    corner included. Each repeat but the first of a turned-over run begins with one more turn over.
    """
    rows = []
    side = 1.0
    for run in form.runs:
        for repeat in range(run.times):
            x = 0.0 if run.times == 1 else 2 * repeat / (run.times - 1) - 1
            scale = 1.0 if run.times == 1 else 1 - (1 - run.ends_scale) * x * x
            for place, span in enumerate(run.spans):
                if span.turned_over:
                    side = -side
                if run.turned_over and repeat > 0 and place == 0:
                    side = -side
                angles = (side * np.deg2rad(a) for a in (span.turn_deg, span.skew_deg, span.corner_deg))
                rows.append((span.length_mm * scale, *angles, side, span.flare))
    return rows


@calm(80)
@given(designs())
def test_any_form_is_written_out_as_by_hand(design: Design) -> None:
    made, rows = chain_of(design.form, 1.0), by_hand(design.form)
    assert made.part_count == len(rows)
    columns = list(zip(*rows, strict=True))
    for name, expected in zip(
        ("length_mm", "turn_rad", "skew_rad", "corner_rad", "side"), columns, strict=False
    ):
        assert np.allclose(getattr(made, name), expected, rtol=1e-12, atol=1e-12), name
    flares = [None if number < 0 else made.flares[number] for number in made.flare]
    assert flares == list(columns[5])


@calm(40)
@given(designs())
def test_each_part_knows_where_it_is_written(design: Design) -> None:
    made = chain_of(design.form, 1.0)
    written = [
        (r, i, k)
        for r, run in enumerate(design.form.runs)
        for k in range(run.times)
        for i in range(len(run.spans))
    ]
    assert list(zip(made.run, made.index, made.repeat, strict=True)) == written
    for part, (run, index, _) in enumerate(written):
        span = design.form.runs[run].spans[index]
        assert made.length_mm[part] == pytest.approx(span.length_mm * made.repeat_scale[part], rel=1e-12)


def test_headings_add_up_turns_and_corners() -> None:
    made = chain(Run(spans=(LOOP, LINK, LINK)))
    # 0; 240 then a corner of 30; minus 60 then another corner of 30.
    assert np.rad2deg(made.heading_rad) == pytest.approx([0.0, 270.0, 240.0], abs=1e-9)


def test_the_first_span_begins_along_x_whatever_its_corner() -> None:
    made = chain(Run(spans=(LINK, LOOP)))
    assert np.rad2deg(made.heading_rad) == pytest.approx([0.0, -60.0], abs=1e-9)


def test_turning_over_changes_side_from_its_mark_on_and_through_the_runs_after() -> None:
    over = Span(length_mm=5.0, turn_deg=-60.0, corner_deg=30.0, turned_over=True)
    made = chain(Run(spans=(LOOP, over)), Run(spans=(LOOP,), times=3, turned_over=True), Run(spans=(LOOP,)))
    assert list(made.side) == [1, -1, -1, 1, -1, -1]
    assert np.rad2deg(made.turn_rad) == pytest.approx([240, 60, -240, 240, -240, -240], abs=1e-9)
    assert np.rad2deg(made.corner_rad) == pytest.approx([0, -30, 0, 0, 0, 0], abs=1e-9)


def test_equal_flares_are_kept_once() -> None:
    made = chain(Run(spans=(LOOP, LINK), times=50))
    assert made.flares == (Flare(thickness=0.5),)
    assert list(made.flare[:4]) == [0, -1, 0, -1]


def test_sharpest_curvature_of_a_span() -> None:
    # Curvature x length = turn + skew (2u - 1), greatest in size |turn| + |skew| at one of the marks.
    made = chain(Run(spans=(LOOP, LINK, Span(length_mm=3.0))))
    expected = [np.deg2rad(250.0) / 20, np.deg2rad(60.0) / 5, 0.0]
    assert made.sharpest_per_mm == pytest.approx(expected, rel=1e-12)


# Ends, seen looking outward from their marks


ARC = EndPart(6.0, np.deg2rad(200.0), 0.0, 1.0, 1.0)
STRAIGHT = EndPart(2.0, 0.0, 0.0, 1.0, 1.0)
TAPER = EndPart(8.0, 0.0, np.deg2rad(90.0), 1.0, 0.5)


def test_the_parts_of_an_end_stand_in_the_order_of_the_wire() -> None:
    made = chain_of(Form(runs=(Run(spans=(LOOP,)),)), 1.0, (STRAIGHT, ARC), (STRAIGHT, ARC))
    assert list(made.length_mm) == [6.0, 2.0, 20.0, 2.0, 6.0]
    assert made.spans == slice(2, 3)
    assert list(made.run) == [-1, -1, 0, -1, -1]
    assert list(made.flare) == [-1, -1, 0, -1, -1]
    # Left looking outward is left of the wire's way at its finish, right of it at its start.
    assert np.rad2deg(made.turn_rad) == pytest.approx([-200.0, 0.0, 240.0, 0.0, 200.0], abs=1e-9)
    # The first span still begins along +x, so that the hook's arc begins 200 degrees before.
    assert np.rad2deg(made.heading_rad) == pytest.approx([200.0, 0.0, 0.0, 240.0, 240.0], abs=1e-9)


def test_diameters_of_a_taper_run_outward() -> None:
    made = chain_of(Form(runs=(Run(spans=(LINK,)),)), 1.0, (TAPER,), (TAPER,))
    assert list(made.diameter_from_mm) == [0.5, 1.0, 1.0]
    assert list(made.diameter_to_mm) == [1.0, 1.0, 0.5]


def test_a_corner_between_an_end_and_the_form_is_the_same_seen_from_both_sides() -> None:
    plain = Span(length_mm=5.0)
    made = chain_of(Form(runs=(Run(spans=(plain,)),)), 1.0, (TAPER,), (TAPER,))
    # At the finish outward is +x, left of it +y. At the start outward is -x, left of it -y, and from there
    # the wire comes along +y.
    assert np.rad2deg(made.heading_rad) == pytest.approx([90.0, 0.0, 90.0], abs=1e-9)


def test_ends_of_a_turned_over_wire_change_side_with_it() -> None:
    over = Span(length_mm=5.0, turned_over=True)
    made = chain_of(Form(runs=(Run(spans=(over,)),)), 1.0, (ARC,), (ARC,))
    assert np.rad2deg(made.turn_rad) == pytest.approx([200.0, 0.0, -200.0], abs=1e-9)
