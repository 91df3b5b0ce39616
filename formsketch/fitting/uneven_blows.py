"""Hammering a span unevenly: for the finished form as drawn, or with the bends as they are.

As in `pulling`: from wire to design, every repeat follows, and what cannot be raises `EditRefused`.
"""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from formsketch.design.edits import replace_spans, span_at
from formsketch.design.model import Flare
from formsketch.errors import EditRefused
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.forging.uneven import forge_uneven


def hammer_unevenly(wire: WireInHand, span: int, bias: float, keep_bends: bool) -> Pulled:
    """Give a span's flare this bias.

    Without `keep_bends` the finished form stays, and is bent less or more before hammering. With it the
    wire is bent as until now and the finished turn and skew follow: heavier blows on the outer edge tighten
    the bend. Cut length, weight and marks on the straight wire stay either way. In a graded run the bends
    are those of this repeat. Raises `EditRefused` for a span not hammered, or hammered on edge.
    """
    address = wire.address(span)
    written = span_at(wire.design, address)
    flare = written.flare
    if flare is None:
        raise EditRefused("The selected span is not hammered; pull its edge first.")
    if flare.face == "edge":
        raise EditRefused(
            "Uneven blows on edge would turn the wire out of the plane of the form; hammer this span flat "
            "first."
        )
    uneven = replace(flare, bias=float(bias))
    changed = replace(written, flare=uneven)
    if keep_bends:
        turn_before, skew_before = _gained_deg(wire, span, flare)
        turn_after, skew_after = _gained_deg(wire, span, uneven)
        changed = replace(
            changed,
            turn_deg=written.turn_deg + (turn_after - turn_before),
            skew_deg=written.skew_deg + (skew_after - skew_before),
        )
    return Pulled(replace_spans(wire.design, {address: changed}), span)


def _gained_deg(wire: WireInHand, span: int, flare: Flare) -> tuple[float, float]:
    """Turn and skew that a flare's blows add to this span, as a design writes them."""
    gained = forge_uneven([flare], wire.design.wire.diameter_mm, wire.design.hammer.spread)
    if gained is None:
        return 0.0, 0.0
    length_mm = float(wire.chain.length_mm[wire.part(span)])
    turn, skew = np.rad2deg((gained.turn_per_mm[0] * length_mm, gained.skew_per_mm[0] * length_mm))
    return float(turn), float(skew)
