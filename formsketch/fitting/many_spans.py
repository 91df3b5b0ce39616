"""One number for several spans at once: all of them take it, or the whole is refused.

`spans` are numbers of spans along the wire, the leading one first. Spans that are repeats of one written
span are written once: the first of them named takes the number, the others follow, each graded and turned
over as it lies. What cannot be raises `EditRefused` in one sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Literal

from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, replace_spans, span_at
from formsketch.design.model import Design, Span
from formsketch.errors import EditRefused
from formsketch.fitting.hammering import flare_of_thickness, flare_of_width
from formsketch.fitting.pulling import WireInHand


def with_length(wire: WireInHand, spans: Sequence[int], length_mm: float) -> Design:
    """Each span this long as finished, turns kept."""
    return with_lengths(wire, dict.fromkeys(spans, length_mm))


def with_lengths(wire: WireInHand, lengths_mm: Mapping[int, float]) -> Design:
    """Each span as long, finished, as is written beside its number; turns kept."""

    def changed(span: int, written: Span) -> Span:
        scale = float(wire.chain.repeat_scale[wire.part(span)])
        return replace(written, length_mm=float(lengths_mm[span]) / scale)

    return _with_each(wire, tuple(lengths_mm), changed)


def with_turn(wire: WireInHand, spans: Sequence[int], turn_deg: float) -> Design:
    """Each span turning this far as the leading one lies: those that lie turned over turn the other way."""
    # Nothing turns -0.
    turn_deg = turn_deg * _side(wire, spans[0]) + 0.0
    return _with_each(wire, spans, lambda _, written: replace(written, turn_deg=turn_deg))


def with_skew(wire: WireInHand, spans: Sequence[int], skew_deg: float) -> Design:
    """Each span skewed this far as the leading one lies, as with turns."""
    skew_deg = skew_deg * _side(wire, spans[0]) + 0.0
    return _with_each(wire, spans, lambda _, written: replace(written, skew_deg=skew_deg))


def with_thickness(wire: WireInHand, spans: Sequence[int], thickness_mm: float) -> Design:
    """Each span hammered to this thickness at its thinnest, each flare in its place."""

    def changed(_: int, written: Span) -> Span:
        return replace(written, flare=flare_of_thickness(wire.design, written.flare, thickness_mm))

    return _with_each(wire, spans, changed)


def with_plan_width(wire: WireInHand, spans: Sequence[int], plan_width_mm: float) -> Design:
    """Each span hammered until it is this wide in plan at its thinnest place."""

    def changed(_: int, written: Span) -> Span:
        return replace(written, flare=flare_of_width(wire.design, written.flare, plan_width_mm))

    return _with_each(wire, spans, changed)


def with_face(wire: WireInHand, spans: Sequence[int], face: Literal["flat", "edge"]) -> Design:
    """Each hammered one of the spans hammered on this face."""

    def changed(_: int, written: Span) -> Span:
        return replace(written, flare=None if written.flare is None else replace(written.flare, face=face))

    return _with_each(wire, spans, changed)


def without_flares(wire: WireInHand, spans: Sequence[int]) -> Design:
    """Each span left unhammered."""
    return _with_each(wire, spans, lambda _, written: replace(written, flare=None))


def _side(wire: WireInHand, span: int) -> float:
    return float(wire.chain.side[wire.part(span)])


def _with_each(wire: WireInHand, spans: Sequence[int], change: Callable[[int, Span], Span]) -> Design:
    changes: dict[SpanAddress, Span] = {}
    for span in spans:
        address = wire.address(span)
        if address in changes:
            continue
        try:
            changes[address] = change(span, span_at(wire.design, address))
        except EditRefused as fault:
            raise refused_for(span, len(spans), str(fault)) from None
    return replace_spans(wire.design, changes)


def refused_for(span: int, count: int, sentence: str) -> EditRefused:
    """The refusal of a change of `count` spans, because this one cannot take it."""
    if count == 1:
        return EditRefused(sentence)
    because = sentence[0].lower() + sentence[1:]
    return EditRefused(f"Span {span + 1} cannot take it, so nothing was changed: {because}")
