"""Runs split, joined and gathered, the wire read from its other end, and flares made alike; no geometry."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from math import isclose
from typing import NamedTuple

from msgspec.structs import replace

from formsketch.design.crossing_edits import swapped_from_finish
from formsketch.design.edits import SpanAddress, change_run, checked, replace_spans, span_at, with_runs
from formsketch.design.model import (
    MOST_REPEATS,
    Design,
    Flare,
    Run,
    Span,
)
from formsketch.design.picture_edits import seen_from
from formsketch.design.set_places import read_from_finish
from formsketch.design.transforms import other_side, read_back, repeat_scales, written_out
from formsketch.errors import EditRefused

# Spans are repeats of one another when their numbers agree to this, relative; angles also to this in degrees.
SAME_SPAN = 1e-9
# Spans are like one another when turn and length agree to this share.
LIKE_SPAN = 0.01
_LIKE_TURN_DEG = 1e-6
_SAME_SIZE = 1e-14


def set_times(design: Design, run: int, times: int) -> Design:
    """The run repeated this often, 1 to `MOST_REPEATS`."""
    return change_run(design, run, times=times)


def set_ends_scale(design: Design, run: int, ends_scale: float) -> Design:
    """The first and last repeat of the run at this size relative to the middle one, 0.1 to 5."""
    return change_run(design, run, ends_scale=ends_scale)


def split_run(design: Design, run: int, repeat: int) -> Design:
    """A repeated run as two of the same shape, the second beginning with repeat number `repeat` (from 0).

    A part that is graded unlike any run is written out as free spans. Raises `EditRefused` unless there
    are repeats on both sides.
    """
    written = design.form.runs[run]
    if written.times == 1:
        raise EditRefused("This run is not repeated; there is nothing to split.")
    if not 0 < repeat < written.times:
        raise EditRefused(
            f"Expected a repeat from 1 to {written.times - 1} to begin the second part with, got {repeat}."
        )
    return _with_runs(design, run, 1, _split(written, repeat))


def join_runs(design: Design, run: int) -> Design:
    """This run and the next as one run of free spans, same shape. Raises `EditRefused` for the last run."""
    runs = design.form.runs
    if not 0 <= run < len(runs) - 1:
        raise EditRefused("There is no run after this one to join it to.")
    return _with_runs(design, run, 2, (Run(spans=written_out(runs[run]) + written_out(runs[run + 1])),))


def gather_repeats(design: Design, run: int) -> Design:
    """A run of free spans that repeats a motif, as that motif repeated; the shortest motif is taken.

    The repeats agree to `SAME_SPAN`, each may begin turned over from the one before, and their sizes are
    all one or graded as `Run.ends_scale` grades them. Raises `EditRefused` when nothing repeats.
    """
    written = design.form.runs[run]
    if written.times > 1:
        raise EditRefused("This run is repeated already.")
    spans = written.spans
    for length in range(1, len(spans) // 2 + 1):
        if len(spans) % length == 0 and len(spans) <= MOST_REPEATS * length:
            gathered = _gathered([spans[i : i + length] for i in range(0, len(spans), length)])
            if gathered is not None:
                return _with_runs(design, run, 1, (gathered,))
    raise EditRefused("Nothing repeats in this run: no motif of its spans comes again and again to its end.")


def reversed_wire(
    design: Design,
    crossed_at: Sequence[tuple[float, float]] | None = None,
    finish: tuple[complex, float] | None = None,
) -> Design:
    """The same form read from its finish: the ends change places, the shape and every number stay.

    The wire lies as before, so turns change sign, skews do not, and sharp bends and turning over act at
    the marks where they did. Where the last repeat of a run is followed by another bend than the others,
    it becomes a run of its own. A bend at the start mark is left out, since it bends nothing; before an
    end that goes on it does, a finish cannot have it, and `EditRefused` is raised.

    `crossed_at`: the places of each crossing along the wire, in their order, both times it comes by. With
    them what lies over still does; without them the part further along lies over as the wire is now read,
    and a form with swapped crossings is refused. `finish`: where the finish mark lies, x + iy in mm, and the
    direction in rad in which the wire reaches it, both in the wire's own frame. With it a picture under the
    form stays where it lies; without it a form over a picture is refused.
    """
    form = design.form
    if form.swapped_crossings and crossed_at is None:
        raise EditRefused("Expected where the wire crosses itself, to keep over what lies over.")
    picture = design.picture
    if picture is not None:
        if finish is None:
            raise EditRefused("Expected where the finish mark lies, to keep the picture where it is.")
        picture = seen_from(picture, finish[0], finish[1] + math.pi)
    if form.runs[0].spans[0].corner_deg and form.start.goes_on:
        raise EditRefused("The sharp bend between the start end and the first span has no place at a finish.")
    lies_over = sum(_times_over(run) for run in form.runs) % 2 == 1
    made: list[Run] = []
    for run, after in zip(form.runs, (*form.runs[1:], None), strict=True):
        between = _mark_between(run)
        if after is not None:
            end = _mark_before(after.spans[0])
        elif form.finish.goes_on or run.times == 1:
            end = _Mark(0.0, lies_over)
        else:
            # At a plain finish any bend will do: the one that lets the run stay one.
            end = _Mark(_Mark(between.seen_back, lies_over).seen_back, lies_over)
        if run.times > 1 and between.seen_back != end.seen_back:
            head, last = _split(run, run.times - 1)
            made += (_reversed_run(head, _mark_before(last.spans[0])), _reversed_run(last, end))
        else:
            made.append(_reversed_run(run, end))
    turned = replace(
        form,
        runs=tuple(made[::-1]),
        start=form.finish,
        finish=form.start,
        swapped_crossings=swapped_from_finish(form.swapped_crossings, crossed_at or ()),
    )
    return checked(replace(read_from_finish(design), form=turned, picture=picture))


def even_flares(design: Design, addresses: Iterable[SpanAddress], flare: Flare | None) -> Design:
    """All these spans hammered alike, or not at all."""
    return replace_spans(design, {a: replace(span_at(design, a), flare=flare) for a in addresses})


def copy_flare_to_like(design: Design, address: SpanAddress) -> Design:
    """This span's flare on every span whose length and turn, to either side, are within `LIKE_SPAN` of its.

    Blows heavier on its outer edge are heavier on the outer edge of each. Raises `EditRefused` when there
    is no other such span.
    """
    model = span_at(design, address)
    like = [
        SpanAddress(r, i)
        for r, run in enumerate(design.form.runs)
        for i, span in enumerate(run.spans)
        if isclose(span.length_mm, model.length_mm, rel_tol=LIKE_SPAN)
        and isclose(abs(span.turn_deg), abs(model.turn_deg), rel_tol=LIKE_SPAN, abs_tol=_LIKE_TURN_DEG)
    ]
    if like == [address]:
        raise EditRefused(f"No other span has this length and turn to within {100 * LIKE_SPAN:.0f} %.")
    return replace_spans(
        design, {a: replace(span_at(design, a), flare=flare_for(span_at(design, a), model)) for a in like}
    )


def flare_for(span: Span, model: Span) -> Flare | None:
    """The flare of `model` for another span: blows heavier on its outer edge are heavier on the outer one."""
    return other_side(model.flare) if span.turn_deg * model.turn_deg < 0 else model.flare


def _with_runs(design: Design, run: int, count: int, runs: tuple[Run, ...]) -> Design:
    """The design with `count` runs from `run` on replaced by these."""
    written = design.form.runs
    made = (*written[:run], *runs, *written[run + count :])
    return with_runs(design, made)


def _split(run: Run, repeat: int) -> tuple[Run, Run]:
    return _part(run, 0, repeat), _part(run, repeat, run.times)


def _part(run: Run, begin: int, end: int) -> Run:
    """Repeats begin to end of a run: a run again where their sizes are one, else free spans."""
    sizes = repeat_scales(run.times, run.ends_scale)[begin:end]
    if any(not isclose(size, sizes[0], rel_tol=_SAME_SIZE) for size in sizes):
        motif = len(run.spans)
        return Run(spans=written_out(run)[begin * motif : end * motif])
    spans = tuple(replace(span, length_mm=span.length_mm * sizes[0]) for span in run.spans)
    over = run.turned_over and begin > 0
    # Inside a run every repeat is turned over from the one before, the first of this part included.
    spans = (replace(spans[0], turned_over=spans[0].turned_over != over), *spans[1:])
    return Run(spans=spans, times=end - begin, turned_over=run.turned_over and begin == 0 and end > 1)


def _gathered(repeats: list[tuple[Span, ...]]) -> Run | None:
    """These repeats as one run, or None when they do not repeat."""
    middle = repeats[len(repeats) // 2]
    length = sum(span.length_mm for span in middle)
    sizes = [sum(span.length_mm for span in repeat) / length for repeat in repeats]
    over = [repeat[0].turned_over for repeat in repeats]
    same = all(
        _same(span, model, size) and (i == 0 or span.turned_over == model.turned_over)
        for repeat, size in zip(repeats, sizes, strict=True)
        for i, (span, model) in enumerate(zip(repeat, middle, strict=True))
    )
    grading = _grading(sizes)
    if not same or grading is None or len(set(over[1:])) > 1:
        return None
    size, ends_scale = grading
    spans = [replace(span, length_mm=span.length_mm * size) for span in middle]
    spans[0] = replace(spans[0], turned_over=over[0])
    return Run(spans=tuple(spans), times=len(repeats), turned_over=over[0] != over[1], ends_scale=ends_scale)


def _same(span: Span, model: Span, size: float) -> bool:
    """Whether a span is this model at another size."""
    angles = (
        (span.turn_deg, model.turn_deg),
        (span.skew_deg, model.skew_deg),
        (span.corner_deg, model.corner_deg),
    )
    return (
        isclose(span.length_mm, model.length_mm * size, rel_tol=SAME_SPAN)
        and all(isclose(a, b, rel_tol=SAME_SPAN, abs_tol=SAME_SPAN) for a, b in angles)
        and _same_flare(span.flare, model.flare)
    )


def _same_flare(one: Flare | None, other: Flare | None) -> bool:
    if one is None or other is None:
        return one is other
    pairs = ((getattr(one, name), getattr(other, name)) for name in ("thickness", "centre", "hold", "bias"))
    window = ((one.begin, other.begin), (one.end, other.end))
    return one.face == other.face and all(isclose(a, b, abs_tol=SAME_SPAN) for a, b in (*pairs, *window))


def _grading(sizes: list[float]) -> tuple[float, float] | None:
    """Size of a run's written motif and its `ends_scale` that give these sizes, the middle one being 1."""
    if all(isclose(size, 1.0, rel_tol=SAME_SPAN) for size in sizes):
        return 1.0, 1.0
    times = len(sizes)
    if times == 2:
        return None
    off_middle = (2 * (times // 2) / (times - 1) - 1) ** 2
    # sizes = size - fall x^2, known at the middlemost repeat and at the ends, where x = 1.
    fall = (1 - sizes[0]) / (1 - off_middle)
    size = 1 + fall * off_middle
    ends_scale = round(sizes[0] / size, 12)
    wanted = repeat_scales(times, ends_scale)
    fits = all(isclose(size * w, s, rel_tol=SAME_SPAN) for w, s in zip(wanted, sizes, strict=True))
    return (size, ends_scale) if fits and 0.1 <= ends_scale <= 5.0 else None


class _Mark(NamedTuple):
    """What acts at a mark: a sharp bend, as written for the span after it, and whether it is turned over."""

    corner_deg: float
    over: bool

    @property
    def seen_back(self) -> float:
        """The bend as written for the span before it, walked backwards."""
        return self.corner_deg if self.over else 0.0 - self.corner_deg


def _mark_before(span: Span) -> _Mark:
    return _Mark(span.corner_deg, span.turned_over)


def _mark_between(run: Run) -> _Mark:
    """The mark between two repeats."""
    first = run.spans[0]
    return _Mark(first.corner_deg, first.turned_over != run.turned_over)


def _times_over(run: Run) -> int:
    """How often the wire is turned over in a run, or as often but for an even number."""
    return run.times * sum(span.turned_over for span in run.spans) + (run.times - 1) * run.turned_over


def _reversed_run(run: Run, end: _Mark) -> Run:
    """The run walked backwards, `end` being the mark after its last span."""
    marks = (*(_mark_before(span) for span in run.spans[1:]), end)
    spans = tuple(_reversed_span(span, mark) for span, mark in zip(run.spans, marks, strict=True))
    over = run.turned_over if run.times == 1 else end.over != _mark_between(run).over
    return replace(run, spans=spans[::-1], turned_over=over)


def _reversed_span(span: Span, end: _Mark) -> Span:
    return replace(
        span,
        turn_deg=0.0 - span.turn_deg,
        corner_deg=end.seen_back,
        turned_over=end.over,
        flare=read_back(span.flare),
    )
