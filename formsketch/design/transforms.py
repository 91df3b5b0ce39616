"""Whole-design transforms, unchecked: scaling, mirroring, deepening, variants, writing out repeats.

`edits` offers them checked; `soundness` uses them to see that every variant of a file can be made.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from formsketch.design import set_places
from formsketch.design.model import (
    Design,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PostEnd,
    Run,
    SHookEnd,
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
        if isinstance(end, HookEnd):
            return replace(end, turn_deg=0.0 - end.turn_deg, twist_deg=0.0 - end.twist_deg)
        if isinstance(end, TaperedEnd | SHookEnd | EarWireEnd):
            return replace(end, turn_deg=0.0 - end.turn_deg)
        if isinstance(end, EyeEnd):
            return replace(end, side="right" if end.side == "left" else "left")
        return end

    form = _map_spans(design.form, flip)
    form = replace(form, start=flip_end(form.start), finish=flip_end(form.finish))
    return replace(design, form=form, pearls=set_places.mirrored_pearls(design.pearls))


def other_side(flare: Flare | None) -> Flare | None:
    """The flare with its heavier blows on the other edge; itself where the blows are even."""
    return flare if flare is None or not flare.bias else replace(flare, bias=-flare.bias)


def read_back(flare: Flare | None) -> Flare | None:
    """The flare as it is seen from the other end of its span."""
    if flare is None:
        return None
    return replace(
        flare,
        centre=1 - flare.centre,
        begin=1 - flare.end,
        end=1 - flare.begin,
        bias=0.0 - flare.bias,
    )


def scaled_form(design: Design, scale: float, with_wire: bool = False) -> Design:
    """Every length of the form times `scale`, the wire as it is, and what is the wire's: see `scaled_end`.

    `with_wire` scales all of the ends, for a true enlargement of form and wire.
    """
    form = _map_spans(design.form, lambda span: replace(span, length_mm=span.length_mm * scale))
    ends = {name: scaled_end(getattr(form, name), scale, with_wire) for name in ("start", "finish")}
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
    made = replace(design, wire=wire, variants=(), picture=None)
    if variant.form is not None:
        made = with_form(made, variant.form)
    if variant.scale != 1.0:
        made = scaled_form(made, variant.scale)
    if variant.flare_depth != 1.0:
        made = deepened(made, variant.flare_depth)
    return made


def with_form(design: Design, form: Form) -> Design:
    """The design with another form; what is set on the wire stays on the spans it was on.

    Every edit of a form's runs goes through this. See `set_places.ShareMap` for which span is which.
    """
    made = replace(design, form=form)
    if form.runs == design.form.runs or not set_places.is_set(design):
        return made
    spans = [[span for run in runs for span in written_out(run)] for runs in (design.form.runs, form.runs)]
    return set_places.moved(made, set_places.ShareMap(*spans))


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


def scaled_end(end: End, scale: float, with_wire: bool = False) -> End:
    """An end of a form `scale` times the size in the same wire, or `with_wire` as many times as thick.

    A bead, a hook, an eye, a curl and the length of a taper are drawn with the form and scale with it. A
    taper's tip is a diameter of wire and keeps it. What is made to a fitting does not scale at all: post and
    ear wire, since the ear stays, and a drilled end, whose hole is for a ring, a rivet or a pin.
    """
    lengths = scaled_lengths(end) if not with_wire else _lengths(end)
    return replace(end, **{name: getattr(end, name) * scale for name in lengths}) if lengths else end


def scaled_lengths(end: End) -> tuple[str, ...]:
    """Names of the lengths of an end that scale with the form; the wire's and the fittings' do not."""
    if isinstance(end, PostEnd | EarWireEnd | DrilledEnd):
        return ()
    return tuple(name for name in _lengths(end) if name != "tip_diameter_mm")


def _lengths(end: End) -> tuple[str, ...]:
    return tuple(name for name in end.__struct_fields__ if name.endswith("_mm"))
