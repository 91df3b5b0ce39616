"""Edits: functions from design to design. Each returns a sound design or raises and changes nothing.

Angles that say a side (turn, skew, corner) are seen before any turning over; scaling leaves them alone.
"""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from formsketch.design import transforms
from formsketch.design.model import Design, End, Flare, Form, Hammer, OwnMetal, Run, Span, Variant
from formsketch.design.soundness import Unsound, sound
from formsketch.errors import EditRefused
from formsketch.values import Value


class SpanAddress(Value, frozen=True):
    """Where a span is written: its run, and its place in the run's motif. Repeats share an address."""

    run: int
    index: int


def checked(design: Design) -> Design:
    """The design when it is sound; raises `EditRefused` in the maker's words otherwise."""
    try:
        return sound(design)
    except Unsound as fault:
        raise EditRefused(f"Not possible: {fault.expected} ({fault.place}).") from None


def with_form(design: Design, form: Form) -> Design:
    """The design with another form, what is set on its wire kept on the spans it was on."""
    return checked(transforms.with_form(design, form))


def with_runs(design: Design, runs: tuple[Run, ...]) -> Design:
    """The design with other runs between the same ends, what is set on its wire kept on its spans."""
    return with_form(design, replace(design.form, runs=runs))


def span_at(design: Design, address: SpanAddress) -> Span:
    """The span written at this address."""
    return design.form.runs[address.run].spans[address.index]


def replace_spans(design: Design, changes: dict[SpanAddress, Span]) -> Design:
    """The design with these spans written anew; every repeat of them follows."""
    runs = list(design.form.runs)
    for number in {address.run for address in changes}:
        spans = list(runs[number].spans)
        for address, span in changes.items():
            if address.run == number:
                spans[address.index] = span
        runs[number] = replace(runs[number], spans=tuple(spans))
    return with_runs(design, tuple(runs))


def change_span(design: Design, address: SpanAddress, **changes: Any) -> Design:
    """The design with some fields of one span changed, such as `turn_deg=200.0`."""
    return replace_spans(design, {address: replace(span_at(design, address), **changes)})


def change_run(design: Design, run: int, **changes: Any) -> Design:
    """The design with some fields of one run changed, such as `times=9`."""
    runs = list(design.form.runs)
    runs[run] = replace(runs[run], **changes)
    return with_runs(design, tuple(runs))


def change_wire(design: Design, **changes: Any) -> Design:
    """The design in another metal or diameter."""
    return checked(replace(design, wire=replace(design.wire, **changes)))


def change_spread(design: Design, spread: float) -> Design:
    """The design under another hammer, one without a name or a band of its own."""
    return change_hammer(design, Hammer(spread=spread))


def change_hammer(design: Design, hammer: Hammer) -> Design:
    """The design under another hammer."""
    return checked(replace(design, hammer=hammer))


def change_bend_marks(design: Design, bend_marks: str) -> Design:
    """The design bent by other marks: `round` from mark to mark, `grip` at the middle of each bend."""
    return checked(replace(design, bend_marks=bend_marks))


def use_own_metal(design: Design, metal: OwnMetal) -> Design:
    """The design in a metal that it carries itself, in the place of one of its own with the same key."""
    others = tuple(own for own in design.metals if own.key != metal.key)
    wire = replace(design.wire, metal=metal.key)
    return checked(replace(design, metals=(*others, metal), wire=wire))


def change_ends(design: Design, **ends: End) -> Design:
    """The design with its `start`, its `finish` or both made another way."""
    return checked(replace(design, form=replace(design.form, **ends)))


def change_texts(design: Design, **changes: str) -> Design:
    """The design with another `title` or other `notes`."""
    return checked(replace(design, **changes))


def with_variants(design: Design, variants: tuple[Variant, ...]) -> Design:
    """The design with these variants."""
    return checked(replace(design, variants=variants))


def mirrored(design: Design) -> Design:
    """The design's mirror image: every turn changes side, every number stays."""
    return checked(transforms.mirrored(design))


def scaled(design: Design, scale: float) -> Design:
    """The form at another size in the same wire; what of its ends does not scale, `scaled_end` says."""
    return checked(transforms.scaled_form(design, scale))


def scaled_with_wire(design: Design, scale: float) -> Design:
    """Form and wire at another size, a true enlargement, all of the ends included."""
    enlarged = transforms.scaled_form(design, scale, with_wire=True)
    return checked(replace(enlarged, wire=replace(design.wire, diameter_mm=design.wire.diameter_mm * scale)))


def with_flare_depth(design: Design, depth: float) -> Design:
    """Every flare hammered `depth` times as deep. Raises `EditRefused` when one would be too thin."""
    return checked(transforms.deepened(design, depth))


def with_flare(design: Design, address: SpanAddress, **changes: Any) -> Design:
    """The design with one span's flare changed, or begun when the span has none."""
    flare = span_at(design, address).flare or Flare(thickness=1.0)
    return change_span(design, address, flare=replace(flare, **changes))


def applied(design: Design, variant: Variant) -> Design:
    """The design this variant stands for, without variants of its own."""
    return checked(transforms.applied(design, variant))


def loosened(design: Design, run: int) -> Design:
    """The run written out as free spans: same shape, each repeat to be edited alone."""
    free = Run(spans=transforms.written_out(design.form.runs[run]))
    runs = (*design.form.runs[:run], free, *design.form.runs[run + 1 :])
    return with_runs(design, runs)
