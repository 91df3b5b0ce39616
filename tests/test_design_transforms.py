"""Mirroring, scaling, deepening, variants, and repeats written out: expected values worked out by hand."""

from __future__ import annotations

import pytest

from formsketch.design.model import (
    BeadEnd,
    Design,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Variant,
    Wire,
)
from formsketch.design.transforms import (
    applied,
    deepened,
    mirrored,
    repeat_scales,
    scaled_form,
    written_out,
)

SPAN = Span(length_mm=10.0, turn_deg=120.0, skew_deg=-30.0, corner_deg=15.0, flare=Flare(thickness=0.4))


def design(start: object = BeadEnd(diameter_mm=2.0), finish: object = PostEnd()) -> Design:
    form = Form(runs=(Run(spans=(SPAN,), times=3),), start=start, finish=finish)  # type: ignore[arg-type]
    return Design(title="x", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=form)


def test_a_mirror_turns_every_angle_to_the_other_side() -> None:
    (span,) = mirrored(design()).form.runs[0].spans
    assert (span.turn_deg, span.skew_deg, span.corner_deg) == (-120.0, 30.0, -15.0)
    assert (span.length_mm, span.flare) == (10.0, SPAN.flare)
    ends = mirrored(
        design(HookEnd(inside_diameter_mm=5.0, turn_deg=190.0), EyeEnd(inside_diameter_mm=4.0))
    ).form
    assert ends.start == HookEnd(inside_diameter_mm=5.0, turn_deg=-190.0)
    assert ends.finish == EyeEnd(inside_diameter_mm=4.0, side="right")


def test_a_straight_span_mirrored_has_no_negative_zero() -> None:
    straight = Design(
        title="x", wire=Wire(metal="x", diameter_mm=1.0), form=Form(runs=(Run(spans=(Span(length_mm=1.0),)),))
    )
    (span,) = mirrored(straight).form.runs[0].spans
    assert [str(value) for value in (span.turn_deg, span.skew_deg, span.corner_deg)] == ["0.0"] * 3


def test_scaling_the_form_leaves_angles_flares_and_the_wire() -> None:
    scaled = scaled_form(design(TaperedEnd(length_mm=8.0, tip_diameter_mm=0.6, turn_deg=90.0)), 1.5)
    (span,) = scaled.form.runs[0].spans
    assert span == Span(length_mm=15.0, turn_deg=120.0, skew_deg=-30.0, corner_deg=15.0, flare=SPAN.flare)
    assert scaled.wire.diameter_mm == 1.0
    start = scaled.form.start
    assert isinstance(start, TaperedEnd)
    assert (start.length_mm, start.turn_deg) == (12.0, 90.0)


def test_an_ear_post_keeps_its_size_unless_asked() -> None:
    # The ear does not scale.
    assert scaled_form(design(), 2.0).form.finish == PostEnd(length_mm=10.0, diameter_mm=0.8)
    assert scaled_form(design(), 2.0, with_wire=True).form.finish == PostEnd(length_mm=20.0, diameter_mm=1.6)


@pytest.mark.parametrize(("depth", "thickness"), [(0.0, 1.0), (0.5, 0.7), (1.0, 0.4), (1.5, 0.1)])
def test_depth_counts_from_the_unhammered_wire(depth: float, thickness: float) -> None:
    # 1 - (1 - 0.4) depth
    (span,) = deepened(design(), depth).form.runs[0].spans
    assert span.flare is not None and span.flare.thickness == pytest.approx(thickness, rel=1e-12)


def test_a_variant_is_its_differences_and_nothing_else() -> None:
    base = design()
    assert applied(base, Variant(title="same")) == base
    made = applied(
        base, Variant(title="v", diameter_mm=1.2, metal="sterling-925", scale=0.5, flare_depth=0.5)
    )
    assert made.wire == Wire(metal="sterling-925", diameter_mm=1.2)
    (span,) = made.form.runs[0].spans
    assert span.length_mm == 5.0
    assert span.flare is not None and span.flare.thickness == pytest.approx(0.7)
    assert made.form.start == BeadEnd(diameter_mm=1.0)
    assert (made.title, made.variants) == (base.title, ())


@pytest.mark.parametrize(
    ("times", "ends_scale", "scales"),
    [
        (1, 0.5, [1.0]),  # one repeat is the middle one
        (2, 0.5, [0.5, 0.5]),  # two are both ends
        (3, 0.5, [0.5, 1.0, 0.5]),
        (5, 0.6, [0.6, 0.9, 1.0, 0.9, 0.6]),  # 1 - 0.4 x^2 at x = -1, -1/2, 0, 1/2, 1
        (4, 1.9, [1.9, 1.1, 1.1, 1.9]),  # 1 + 0.9/9 at x = 1/3
        (4, 1.0, [1.0, 1.0, 1.0, 1.0]),
    ],
)
def test_grading_is_a_parabola_from_the_ends_to_the_middle(
    times: int, ends_scale: float, scales: list[float]
) -> None:
    assert repeat_scales(times, ends_scale) == pytest.approx(scales, rel=1e-12)


def test_repeats_written_out() -> None:
    a, b = Span(length_mm=10.0, turn_deg=90.0), Span(length_mm=4.0, turned_over=True)
    free = written_out(Run(spans=(a, b), times=3, turned_over=True, ends_scale=0.5))
    assert [span.length_mm for span in free] == [5.0, 2.0, 10.0, 4.0, 5.0, 2.0]
    # Each repeat but the first begins turned over; the second span of each is turned over by itself.
    assert [span.turned_over for span in free] == [False, True, True, True, True, True]


def test_turned_over_twice_at_one_mark_is_not_turned_over() -> None:
    a = Span(length_mm=10.0, turned_over=True)
    free = written_out(Run(spans=(a,), times=3, turned_over=True))
    assert [span.turned_over for span in free] == [True, False, False]
