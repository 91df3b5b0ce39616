"""Runs split, joined and gathered, the wire read the other way, flares made alike: the form stays the form.

Places are walked from the design as written, by the helper of the mark edits; numbers that must not change
are compared with those before.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, loosened, span_at
from formsketch.design.model import (
    BeadEnd,
    Design,
    End,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    Picture,
    PlainEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Wire,
)
from formsketch.design.run_edits import (
    copy_flare_to_like,
    even_flares,
    gather_repeats,
    join_runs,
    reversed_wire,
    set_ends_scale,
    set_times,
    split_run,
)
from formsketch.design.starters import STARTERS, make_starter
from formsketch.design.transforms import written_out
from formsketch.errors import EditRefused
from tests.support.strategies import calm, designs
from tests.test_mark_edits import evaluated, thickness_along, walked

LOOP = Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.5, centre=0.4))
LINK = Span(length_mm=6.0, turn_deg=-40.0, skew_deg=25.0, corner_deg=15.0)
WIRE = Wire(metal="sterling-925", diameter_mm=1.1)


def of(*runs: Run, start: End | None = None, finish: End | None = None) -> Design:
    form = Form(runs=runs, start=start or PlainEnd(), finish=finish or PlainEnd())
    return Design(title="t", wire=WIRE, form=form)


def all_spans(design: Design) -> list[Span]:
    """Every span of the form, repeats written out."""
    return [span for run in design.form.runs for span in written_out(run)]


def assert_same_spans(one: Design, other: Design) -> None:
    """The same spans in the same order, numbers to rounding."""
    first, second = all_spans(one), all_spans(other)
    assert len(first) == len(second)
    for a, b in zip(first, second, strict=True):
        assert a.length_mm == pytest.approx(b.length_mm, rel=1e-14)
        assert replace(a, length_mm=1.0) == replace(b, length_mm=1.0)


# Splitting and joining


@pytest.mark.parametrize("turned_over", [False, True])
@pytest.mark.parametrize("first_over", [False, True])
@pytest.mark.parametrize("repeat", [1, 2, 4])
def test_a_split_run_is_two_runs_of_the_same_shape(turned_over: bool, first_over: bool, repeat: int) -> None:
    motif = (replace(LOOP, turned_over=first_over), LINK)
    design = of(Run(spans=motif, times=5, turned_over=turned_over), Run(spans=(LINK,)))
    after = split_run(design, 0, repeat)
    assert [run.times for run in after.form.runs] == [repeat, 5 - repeat, 1]
    assert all(len(run.spans) == 2 for run in after.form.runs[:2])
    assert_same_spans(after, design)


@pytest.mark.parametrize(("times", "repeat", "lengths"), [(6, 2, (4, 8)), (2, 1, (2, 2)), (3, 1, (2, 4))])
def test_a_graded_run_is_split_into_free_spans(times: int, repeat: int, lengths: tuple[int, int]) -> None:
    design = of(Run(spans=(LOOP, LINK), times=times, turned_over=True, ends_scale=0.6))
    after = split_run(design, 0, repeat)
    assert tuple(len(run.spans) for run in after.form.runs) == lengths
    assert {(run.times, run.ends_scale, run.turned_over) for run in after.form.runs} == {(1, 1.0, False)}
    assert_same_spans(after, design)


@pytest.mark.parametrize("repeat", [0, 5, -1, 9])
def test_a_run_is_split_between_repeats_only(repeat: int) -> None:
    with pytest.raises(EditRefused, match="from 1 to 4"):
        split_run(of(Run(spans=(LOOP,), times=5)), 0, repeat)
    with pytest.raises(EditRefused, match="nothing to split"):
        split_run(of(Run(spans=(LOOP,))), 0, 1)


def test_joined_runs_are_free_spans() -> None:
    design = of(
        Run(spans=(LINK,)),
        Run(spans=(LOOP, LINK), times=4, turned_over=True, ends_scale=0.7),
        Run(spans=(replace(LOOP, turned_over=True),), times=2),
    )
    after = join_runs(design, 1)
    assert [(run.times, len(run.spans)) for run in after.form.runs] == [(1, 1), (1, 10)]
    assert_same_spans(after, design)
    assert_same_spans(join_runs(join_runs(design, 0), 0), design)
    for last in (2, -1, 5):
        with pytest.raises(EditRefused, match="no run after"):
            join_runs(design, last)


# Gathering


@calm(80)
@given(designs(), st.data())
def test_gathering_undoes_loosening(design: Design, data: st.DataObject) -> None:
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    written = design.form.runs[run]
    loose = loosened(replace(design, variants=()), run)
    if len(loose.form.runs[run].spans) == 1:
        with pytest.raises(EditRefused, match="Nothing repeats"):
            gather_repeats(loose, run)
        return
    try:
        after = gather_repeats(loose, run)
    except EditRefused:
        # Only a motif that stands once may hold nothing that repeats.
        assert written.times == 1
        return
    made = after.form.runs[run]
    # The shortest motif may repeat within the one that was written.
    assert len(made.spans) <= len(written.spans)
    assert len(made.spans) * made.times == len(written.spans) * written.times
    first, second = all_spans(after), all_spans(loose)
    for a, b in zip(first, second, strict=True):
        assert a.length_mm == pytest.approx(b.length_mm, rel=2e-9)
        assert a.turn_deg == pytest.approx(b.turn_deg, rel=1e-9, abs=1e-9)
        assert (a.turned_over, a.flare is None) == (b.turned_over, b.flare is None)


@pytest.mark.parametrize("times", [2, 3, 4, 7, 8])
@pytest.mark.parametrize("ends_scale", [1.0, 0.8, 1.25])
@pytest.mark.parametrize("turned_over", [False, True])
def test_a_graded_run_is_found_again(times: int, ends_scale: float, turned_over: bool) -> None:
    motif = (LOOP, replace(LINK, turned_over=True), LOOP)
    run = Run(spans=motif, times=times, turned_over=turned_over, ends_scale=ends_scale)
    design = of(Run(spans=(LINK,)), run)
    made = gather_repeats(loosened(design, 1), 1).form.runs[1]
    assert (made.times, made.turned_over) == (times, turned_over)
    # Two repeats are both ends: they are one size, however they were written.
    assert made.ends_scale == (ends_scale if times > 2 else 1.0)
    size = 1.0 if times > 2 else ends_scale
    for a, b in zip(made.spans, motif, strict=True):
        assert a.length_mm == pytest.approx(b.length_mm * size, rel=1e-12)
        assert replace(a, length_mm=1.0) == replace(b, length_mm=1.0)


def test_the_shortest_motif_is_taken() -> None:
    made = gather_repeats(of(Run(spans=(LOOP, LINK) * 6)), 0).form.runs[0]
    assert (made.times, made.spans) == (6, (LOOP, LINK))
    # A run repeats a thousand times at most: then it is a motif of two, or more.
    short = Span(length_mm=2.0)
    assert gather_repeats(of(Run(spans=(short,) * 2000)), 0).form.runs[0] == Run(
        spans=(short, short), times=1000
    )


SLIGHTLY = 1 + 1e-7


@pytest.mark.parametrize(
    "spans",
    [
        (LOOP,),
        (LOOP, LINK),
        (LOOP, LINK, LOOP),
        (LOOP, replace(LOOP, turn_deg=240.0 * SLIGHTLY)),
        (LOOP, replace(LOOP, length_mm=20.0 * SLIGHTLY)),
        (LOOP, replace(LOOP, skew_deg=1e-7)),
        (LOOP, replace(LOOP, corner_deg=1e-7)),
        (LOOP, replace(LOOP, flare=None)),
        (LOOP, replace(LOOP, flare=Flare(thickness=0.5, centre=0.4, face="edge"))),
        (LOOP, replace(LOOP, flare=Flare(thickness=0.5 * SLIGHTLY, centre=0.4))),
        (LOOP, replace(LOOP, flare=Flare(thickness=0.5, centre=0.4, end=0.9))),
        # Turned over now and then is no pattern of a run.
        (LOOP, replace(LOOP, turned_over=True), LOOP, LOOP, replace(LOOP, turned_over=True)),
        (LOOP, LINK, LOOP, replace(LINK, turned_over=True)),
        # Sizes that rise all the way, and sizes that fall on one side only, are no parabola.
        tuple(replace(LOOP, length_mm=float(mm)) for mm in (10, 12, 14)),
        tuple(replace(LOOP, length_mm=float(mm)) for mm in (8, 10, 10, 10, 8)),
        # A parabola, but steeper than a run can be graded.
        tuple(replace(LOOP, length_mm=float(mm)) for mm in (1, 20, 1)),
    ],
)
def test_what_does_not_repeat_is_refused(spans: tuple[Span, ...]) -> None:
    with pytest.raises(EditRefused, match="Nothing repeats in this run"):
        gather_repeats(of(Run(spans=spans)), 0)


def test_a_run_that_is_repeated_already_is_refused() -> None:
    with pytest.raises(EditRefused, match="repeated already"):
        gather_repeats(of(Run(spans=(LOOP, LOOP), times=2)), 0)


def test_times_and_grading_have_bounds() -> None:
    design = of(Run(spans=(LOOP,), times=3))
    assert set_times(design, 0, 7).form.runs[0].times == 7
    assert set_ends_scale(design, 0, 0.7).form.runs[0].ends_scale == 0.7
    edits: list[Callable[[], Design]] = [
        lambda: set_times(design, 0, 0),
        lambda: set_times(design, 0, 1001),
        lambda: set_ends_scale(design, 0, 0.05),
        lambda: set_ends_scale(design, 0, float("nan")),
    ]
    for edit in edits:
        with pytest.raises(EditRefused, match="Not possible"):
            edit()


# The other way


def turned_about(design: Design) -> Design:
    """The design without what a finish cannot have, so that it can be read the other way."""
    if isinstance(design.form.start, PlainEnd | BeadEnd | PostEnd):
        return replace(design, variants=())
    first = design.form.runs[0]
    spans = (replace(first.spans[0], corner_deg=0.0), *first.spans[1:])
    runs = (replace(first, spans=spans), *design.form.runs[1:])
    return replace(design, form=replace(design.form, runs=runs), variants=())


@calm(80)
@given(designs())
def test_the_wire_read_the_other_way_is_the_same_wire(design: Design) -> None:
    design = turned_about(design)
    after = reversed_wire(design)
    old, new = evaluated(design), evaluated(after)
    length = old.finished_length_mm
    # Laid so that the first and last place meet, in the direction that is the same, they are one curve.
    at_mm = length * np.linspace(0, 1, 80)
    there, back = walked(design, at_mm), walked(after, length - at_mm)
    from_last = np.exp(
        1j * (np.pi + old.chain.heading_rad[old.chain.spans][-1] + old.chain.turn_rad[old.chain.spans][-1])
    )
    assert abs(there - there[-1] - from_last * back).max() < 1e-10 * length
    np.testing.assert_allclose(thickness_along(new, length - at_mm), thickness_along(old, at_mm), atol=1e-8)
    for name in ("finished_length_mm", "cut_length_mm", "weight_g", "thinnest_mm", "widest_mm"):
        assert getattr(new, name) == pytest.approx(getattr(old, name), rel=1e-12)
    for name in ("finished_length_mm", "stock_length_mm", "tube_diameter_mm"):
        np.testing.assert_allclose(getattr(new.spans, name), getattr(old.spans, name)[::-1], rtol=1e-10)
    np.testing.assert_allclose(new.spans.turn_deg, -old.spans.turn_deg[::-1], atol=1e-9)
    np.testing.assert_allclose(new.chain.side[new.chain.spans], old.chain.side[old.chain.spans][::-1])
    # The ends too: every part of the chain, hooks, eyes and tapers included, is walked back.
    np.testing.assert_allclose(new.chain.turn_rad, -old.chain.turn_rad[::-1], atol=1e-12)
    np.testing.assert_allclose(new.chain.corner_rad[1:], -old.chain.corner_rad[:0:-1], atol=1e-12)
    assert_same_spans_to_rounding(reversed_wire(after), design)


def assert_same_spans_to_rounding(one: Design, other: Design) -> None:
    for k, (a, b) in enumerate(zip(all_spans(one), all_spans(other), strict=True)):
        assert a.length_mm == pytest.approx(b.length_mm, rel=1e-12)
        assert (a.turn_deg, a.skew_deg, a.turned_over) == (b.turn_deg, b.skew_deg, b.turned_over)
        # A bend at the very start bends nothing and may be lost.
        assert k == 0 or a.corner_deg == b.corner_deg


@pytest.mark.parametrize("key", STARTERS)
def test_starters_the_other_way_have_the_same_numbers(key: str) -> None:
    design = make_starter(key, WIRE)
    old, new = evaluated(design), evaluated(reversed_wire(design))
    assert len(reversed_wire(design).form.runs) == len(design.form.runs)
    assert reversed_wire(reversed_wire(design)) == design
    assert new.envelope_mm == pytest.approx(old.envelope_mm, rel=1e-9)
    assert new.silhouette_area_mm2 == pytest.approx(old.silhouette_area_mm2, rel=1e-6)
    # As sets of points, laid level, the two traces are one up to half a turn; a form that closes on itself
    # is laid as it begins, so it is compared in its own frame above.
    if abs(old.trace.z_mm[-1] - old.trace.z_mm[0]) > 1e-6:
        mine, other = old.trace.z_mm - old.trace.z_mm[0], new.trace.z_mm[-1] - new.trace.z_mm[::-1]
        level = np.exp(1j * (np.angle(mine[-1]) - np.angle(other[-1])))
        assert abs(mine - other * level).max() < 1e-9


@pytest.mark.parametrize(
    "end",
    [
        HookEnd(inside_diameter_mm=5.0, turn_deg=-200.0, bead_diameter_mm=2.0),
        EyeEnd(inside_diameter_mm=4.0, side="right"),
        TaperedEnd(length_mm=12.0, tip_diameter_mm=0.5, turn_deg=270.0),
        BeadEnd(diameter_mm=2.4),
    ],
)
@pytest.mark.parametrize("over", [False, True])
def test_ends_keep_their_place_and_side(end: End, over: bool) -> None:
    spans = (LOOP, replace(LINK, turned_over=over), Span(length_mm=9.0, turn_deg=70.0))
    design = of(Run(spans=spans), start=end, finish=TaperedEnd(length_mm=5.0, tip_diameter_mm=0.8))
    old, new = evaluated(design), evaluated(reversed_wire(design))
    one, other = old.own_trace, new.own_trace
    # The same points, the first span's beginning of the one on the last span's end of the other.
    at = other.first[new.chain.spans.stop] - 1
    turn = one.direction[one.first[old.chain.spans.start]] / -other.direction[at]
    here = one.z_mm[one.first[old.chain.spans.start]]
    moved = here + turn * (other.z_mm - other.z_mm[at])
    assert abs(one.z_mm - moved[::-1]).max() < 1e-9
    discs = {(d.radius_mm, np.round(d.centre_mm, 9)) for d in old.discs_on(one)}
    others = ((d.radius_mm, here + turn * (d.centre_mm - other.z_mm[at])) for d in new.discs_on(other))
    assert {(radius, np.round(centre, 9)) for radius, centre in others} == discs
    np.testing.assert_allclose(old.samples.plan_width_mm, new.samples.plan_width_mm[::-1], rtol=1e-12)


def test_the_last_repeat_goes_its_own_way_where_another_bend_follows() -> None:
    bent = replace(LOOP, corner_deg=40.0)
    design = of(Run(spans=(LINK,)), Run(spans=(bent,), times=4), Run(spans=(LINK,)))
    # The bend before the link is 15 degrees, that between the repeats 40.
    after = reversed_wire(turned_about(design))
    assert [(run.times, len(run.spans)) for run in after.form.runs] == [(1, 1), (1, 1), (3, 1), (1, 1)]
    assert [s.corner_deg for s in all_spans(after)] == [0.0, -15.0, -40.0, -40.0, -40.0, -40.0]
    graded = replace(design.form.runs[1], ends_scale=0.7)
    loose = of(design.form.runs[0], graded, design.form.runs[2])
    assert [len(r.spans) for r in reversed_wire(turned_about(loose)).form.runs] == [1, 1, 3, 1]


def test_a_run_at_a_plain_finish_stays_one() -> None:
    bent = replace(LOOP, corner_deg=40.0, turned_over=True)
    design = of(Run(spans=(bent, LINK), times=4))
    assert len(reversed_wire(design).form.runs) == 1
    hooked = replace(design, form=replace(design.form, finish=HookEnd(inside_diameter_mm=4.0)))
    assert len(reversed_wire(hooked).form.runs) == 2


def test_a_bend_beside_an_end_that_goes_on_cannot_change_places() -> None:
    bent = replace(LOOP, corner_deg=40.0)
    with pytest.raises(EditRefused, match="no place at a finish"):
        reversed_wire(of(Run(spans=(bent,)), start=EyeEnd(inside_diameter_mm=4.0)))
    straightaway = HookEnd(inside_diameter_mm=4.0, turn_deg=0.0, straight_mm=0.0, bead_diameter_mm=2.0)
    for end in (PlainEnd(), BeadEnd(diameter_mm=2.0), straightaway):
        assert reversed_wire(of(Run(spans=(bent,)), start=end)).form.finish == end


def test_a_flare_is_read_the_other_way() -> None:
    flare = Flare(thickness=0.4, centre=0.3, hold=0.1, face="edge", begin=0.125, end=0.75)
    made = span_at(reversed_wire(of(Run(spans=(replace(LOOP, flare=flare),)))), SpanAddress(0, 0)).flare
    assert made == Flare(thickness=0.4, centre=0.7, hold=0.1, face="edge", begin=0.25, end=0.875)
    # Flares that just fit still do, whatever rounding makes of them.
    for tenths in range(1, 9):
        hold = tenths / 10
        tight = Flare(thickness=0.5, centre=0.02 + hold / 2, hold=hold)
        reversed_wire(reversed_wire(of(Run(spans=(replace(LOOP, flare=tight),)))))


# Flares alike


def test_flares_are_made_even() -> None:
    design = of(Run(spans=(LOOP, LINK), times=2), Run(spans=(LINK,)))
    flare = Flare(thickness=0.6)
    where = [SpanAddress(0, 1), SpanAddress(1, 0)]
    after = even_flares(design, where, flare)
    assert [s.flare for run in after.form.runs for s in run.spans] == [LOOP.flare, flare, flare]
    assert even_flares(after, where, None) == design


def test_a_flare_is_copied_to_like_spans() -> None:
    like = (
        Span(length_mm=20.19, turn_deg=-242.0),
        Span(length_mm=19.9, turn_deg=240.0, flare=Flare(thickness=0.9)),
    )
    unlike = (
        Span(length_mm=20.3, turn_deg=240.0),
        Span(length_mm=20.0, turn_deg=236.0),
        Span(length_mm=20.0),
    )
    design = of(Run(spans=(LOOP, *like)), Run(spans=unlike, times=2))
    after = copy_flare_to_like(design, SpanAddress(0, 0))
    assert [s.flare for s in after.form.runs[0].spans] == [LOOP.flare] * 3
    assert after.form.runs[1] == design.form.runs[1]
    with pytest.raises(EditRefused, match="No other span"):
        copy_flare_to_like(design, SpanAddress(1, 2))


# ---- the picture under a wire read the other way -------------------------------------------------------


def test_a_picture_stays_where_it_lies_when_the_wire_is_reversed() -> None:
    picture = Picture(file="a.png", width_mm=30.0, x_mm=5.0, y_mm=3.0, angle_deg=10.0)
    straight = replace(of(Run(spans=(Span(length_mm=20.0),))), picture=picture)
    # Seen from the other end of 20 mm of straight wire, half a turn round [D].
    back = reversed_wire(straight, finish=(20 + 0j, 0.0))
    assert back.picture == replace(picture, x_mm=15.0, y_mm=-3.0, angle_deg=-170.0)
    assert reversed_wire(back, finish=(20 + 0j, 0.0)).picture == picture
    # A quarter round of radius 10 ends at 10 + 10i, upwards: walked back the wire goes down from there.
    quarter = replace(of(Run(spans=(Span(length_mm=5 * np.pi, turn_deg=90.0),))), picture=picture)
    back = reversed_wire(quarter, finish=(10 + 10j, np.pi / 2))
    assert back.picture == replace(picture, x_mm=7.0, y_mm=-5.0, angle_deg=100.0)
    with pytest.raises(EditRefused, match="where the finish mark lies"):
        reversed_wire(quarter)
