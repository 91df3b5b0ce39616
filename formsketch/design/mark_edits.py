"""Marks put into the wire and taken out of it, without geometry: a span is cut in two, or two made one."""

from __future__ import annotations

from math import isclose

from msgspec.structs import replace

from formsketch.design.edits import SpanAddress, change_run, span_at
from formsketch.design.model import Design, Flare, Span
from formsketch.errors import EditRefused

# Two parts of a flare are parts of one when their numbers agree to this.
SAME_FLARE = 1e-9
# A skew this small beside the turning it was worked out from is rounding.
_SKEW_ROUNDING = 1e-13


def insert_mark(design: Design, address: SpanAddress, u: float) -> Design:
    """Put a mark into a span at the fraction `u` of its length; in a repeated run every repeat gets it.

    Shape, length, hammering and weight stay as they were. Sharp bend and turning over stay with the
    first part; a flare is carried on across the mark. Raises `EditRefused` outside 0 < u < 1 and where a
    part would be too short.
    """
    if not 0 < u < 1:
        raise EditRefused(f"A mark can only be put between the two marks of a span, 0 to 1, not at {u:g}.")
    return _with_spans(design, address, 1, _cut(span_at(design, address), u))


def remove_mark(design: Design, address: SpanAddress) -> Design:
    """Take out the mark where the span at `address` begins: it and the span before it become one.

    Two parts of one span become that span again. Otherwise the wire keeps its length and the angle it
    turns, a sharp bend at the mark included; the skew is chosen so that the rest of the piece moves
    least; of two flares the deeper stays. Raises `EditRefused` where the span is the first of its run or
    is turned over from the one before.
    """
    if address.index == 0:
        raise EditRefused(
            "A mark can only be removed between two spans of one run; here a run or a repeat begins."
        )
    before = SpanAddress(address.run, address.index - 1)
    first, second = span_at(design, before), span_at(design, address)
    if second.turned_over:
        raise EditRefused("This mark cannot be removed: the wire is turned over there.")
    return _with_spans(design, before, 2, (_joined(first, second),))


def _with_spans(design: Design, address: SpanAddress, count: int, spans: tuple[Span, ...]) -> Design:
    """The design with `count` spans from `address` on replaced by these."""
    written = design.form.runs[address.run].spans
    return change_run(
        design,
        address.run,
        spans=(*written[: address.index], *spans, *written[address.index + count :]),
    )


def _cut(span: Span, u: float) -> tuple[Span, Span]:
    """The two parts of a span, its curvature x length being turn + skew (2v - 1)."""
    length, turn = span.length_mm * u, u * (span.turn_deg + span.skew_deg * (u - 1))
    before = after = span.flare
    if span.flare is not None:
        at = span.flare.begin + (span.flare.end - span.flare.begin) * u
        before, after = replace(span.flare, end=at), replace(span.flare, begin=at)
    return (
        replace(span, length_mm=length, turn_deg=turn, skew_deg=span.skew_deg * u * u, flare=before),
        Span(
            length_mm=span.length_mm - length,
            turn_deg=span.turn_deg - turn,
            skew_deg=span.skew_deg * (1 - u) * (1 - u),
            flare=after,
        ),
    )


def _joined(first: Span, second: Span) -> Span:
    """One span for two: the line through their curvature with the same integral and first moment.

    It is the least-squares line, and to first order in the change it leaves the far end where it was.
    """
    length, corner = first.length_mm + second.length_mm, second.corner_deg
    at = first.length_mm / length
    moment = (at - 1) * first.turn_deg + at * second.turn_deg + (2 * at - 1) * corner
    skew = 3 * moment + at * first.skew_deg + (1 - at) * second.skew_deg
    turning = sum(abs(angle) for s in (first, second) for angle in (s.turn_deg, s.skew_deg, s.corner_deg))
    return replace(
        first,
        length_mm=length,
        turn_deg=first.turn_deg + corner + second.turn_deg,
        skew_deg=0.0 if abs(skew) <= _SKEW_ROUNDING * turning else skew,
        flare=_joined_flare(first.flare, second.flare),
    )


def _joined_flare(first: Flare | None, second: Flare | None) -> Flare | None:
    """The flare both are parts of, or the deeper one, let ease out on the other's side."""
    if first is not None and second is not None and _carries_on(first, second):
        return replace(first, end=second.end)
    if second is None or (first is not None and first.thickness <= second.thickness):
        return first and replace(first, end=1.0)
    return replace(second, begin=0.0)


def _carries_on(first: Flare, second: Flare) -> bool:
    pairs = (
        (first.thickness, second.thickness),
        (first.centre, second.centre),
        (first.hold, second.hold),
        (first.bias, second.bias),
        (first.end, second.begin),
    )
    return first.face == second.face and all(isclose(a, b, rel_tol=0, abs_tol=SAME_FLARE) for a, b in pairs)
