"""Whole-design transforms, unchecked: scaling, mirroring, deepening, variants, writing out repeats.

`edits` offers them checked; `soundness` uses them to see that every variant of a file can be made.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from formsketch.design.model import (
    BeadEnd,
    Design,
    End,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PlainEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Variant,
)


def mirrored(design: Design) -> Design:
    """The design's mirror image: every turn changes side, every number stays."""

    def flip(span: Span) -> Span:
        # 0.0 - x, so that a straight span does not become -0.0
        return replace(
            span,
            turn_deg=0.0 - span.turn_deg,
            skew_deg=0.0 - span.skew_deg,
            corner_deg=0.0 - span.corner_deg,
            flare=other_side(span.flare),
        )

    def flip_end(end: End) -> End:
        if isinstance(end, HookEnd | TaperedEnd):
            return replace(end, turn_deg=0.0 - end.turn_deg)
        if isinstance(end, EyeEnd):
            return replace(end, side="right" if end.side == "left" else "left")
        return end

    form = _map_spans(design.form, flip)
    return replace(design, form=replace(form, start=flip_end(form.start), finish=flip_end(form.finish)))


def other_side(flare: Flare | None) -> Flare | None:
    """The flare with its heavier blows on the other edge; itself where the blows are even."""
    return flare if flare is None or not flare.bias else replace(flare, bias=-flare.bias)


def scaled_form(design: Design, scale: float, posts: bool = False) -> Design:
    """Every length of the form times `scale`, the wire as it is; ear posts keep their size unless `posts`."""
    form = _map_spans(design.form, lambda span: replace(span, length_mm=span.length_mm * scale))
    ends = {name: _scaled_end(getattr(form, name), scale, posts) for name in ("start", "finish")}
    return replace(design, form=replace(form, **ends))


def deepened(design: Design, depth: float) -> Design:
    """Every flare hammered `depth` times as deep; 0 leaves the wire round."""

    def deepen(span: Span) -> Span:
        if span.flare is None:
            return span
        return replace(span, flare=replace(span.flare, thickness=1 - (1 - span.flare.thickness) * depth))

    return replace(design, form=_map_spans(design.form, deepen))


def applied(design: Design, variant: Variant) -> Design:
    """The design this variant stands for, without variants of its own and without the picture to trace."""
    wire = replace(
        design.wire,
        diameter_mm=design.wire.diameter_mm if variant.diameter_mm is None else variant.diameter_mm,
        metal=design.wire.metal if variant.metal is None else variant.metal,
    )
    form = design.form if variant.form is None else variant.form
    made = replace(design, wire=wire, form=form, variants=(), picture=None)
    if variant.scale != 1.0:
        made = scaled_form(made, variant.scale)
    if variant.flare_depth != 1.0:
        made = deepened(made, variant.flare_depth)
    return made


def written_out(run: Run) -> tuple[Span, ...]:
    """The run's spans one by one, repeats, grading and turning over included."""
    spans = []
    for repeat, scale in enumerate(repeat_scales(run.times, run.ends_scale)):
        turn_over = run.turned_over and repeat > 0
        for index, span in enumerate(run.spans):
            over = span.turned_over != (turn_over and index == 0)
            spans.append(replace(span, length_mm=span.length_mm * scale, turned_over=over))
    return tuple(spans)


def repeat_scales(times: int, ends_scale: float) -> list[float]:
    """Size of each repeat relative to the middle one: a parabola from `ends_scale` to 1 and back."""
    if times == 1:
        return [1.0]
    places = [2 * i / (times - 1) - 1 for i in range(times)]
    return [1 - (1 - ends_scale) * x * x for x in places]


def _map_spans(form: Form, change: Callable[[Span], Span]) -> Form:
    runs = tuple(replace(run, spans=tuple(change(span) for span in run.spans)) for run in form.runs)
    return replace(form, runs=runs)


def _scaled_end(end: End, scale: float, posts: bool) -> End:
    if isinstance(end, PlainEnd) or (isinstance(end, PostEnd) and not posts):
        return end
    if isinstance(end, PostEnd):
        return replace(end, length_mm=end.length_mm * scale, diameter_mm=end.diameter_mm * scale)
    if isinstance(end, BeadEnd):
        return replace(end, diameter_mm=end.diameter_mm * scale)
    if isinstance(end, TaperedEnd):
        return replace(end, length_mm=end.length_mm * scale, tip_diameter_mm=end.tip_diameter_mm * scale)
    if isinstance(end, EyeEnd):
        return replace(end, inside_diameter_mm=end.inside_diameter_mm * scale)
    return replace(
        end,
        inside_diameter_mm=end.inside_diameter_mm * scale,
        straight_mm=end.straight_mm * scale,
        bead_diameter_mm=end.bead_diameter_mm * scale,
    )
