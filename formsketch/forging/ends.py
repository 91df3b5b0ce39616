"""What is done to an end of the wire: its pieces beyond the mark, and the stock it uses.

Everything is made from the wire itself: what is bent, drawn, hammered or melted keeps its volume, so stock
length x wire area is the metal in the end. What is filed or drilled away is wire cut all the same.
"""

from __future__ import annotations

from formsketch.design.model import (
    BeadEnd,
    Design,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    Flare,
    HookEnd,
    PostEnd,
    RoundedEnd,
    SHookEnd,
    TaperedEnd,
)
from formsketch.forging import end_bends, end_tips
from formsketch.forging.end_piece import EndMark, EndPiece, EndWork, WireAtMark
from formsketch.forging.flare import thickness_ratio

__all__ = ["EndMark", "EndPiece", "EndWork", "WireAtMark", "end_piece", "ends_of"]


def end_piece(end: End, wire: WireAtMark | float) -> EndPiece:
    """Work out an end in this wire; a number is the diameter in mm of wire that is round at the mark."""
    if not isinstance(wire, WireAtMark):
        wire = WireAtMark(wire)
    match end:
        case TaperedEnd():
            return end_bends.tapered(end, wire)
        case BeadEnd():
            return end_tips.bead(end, wire)
        case HookEnd():
            return end_bends.hook(end, wire)
        case SHookEnd():
            return end_bends.s_hook(end, wire)
        case EyeEnd():
            return end_bends.eye(end, wire)
        case PostEnd():
            return end_tips.post(end, wire)
        case EarWireEnd():
            return end_bends.ear_wire(end, wire)
        case DrilledEnd():
            return end_tips.drilled(end, wire)
        case RoundedEnd():
            return end_tips.rounded(wire)
    return end_tips.plain()


def ends_of(design: Design) -> tuple[EndPiece, EndPiece]:
    """Both ends of a design worked out, start and finish."""
    first, last = wires_at_ends(design)
    return end_piece(design.form.start, first), end_piece(design.form.finish, last)


def wires_at_ends(design: Design) -> tuple[WireAtMark, WireAtMark]:
    """The wire at the start mark and at the finish mark."""
    first, last = design.form.runs[0].spans[0].flare, design.form.runs[-1].spans[-1].flare
    d, spread = design.wire.diameter_mm, design.hammer.spread
    return (
        WireAtMark(d, _thickness_at(first, 0.0 if first is None else first.begin), spread),
        WireAtMark(d, _thickness_at(last, 1.0 if last is None else last.end), spread),
    )


def _thickness_at(flare: Flare | None, place: float) -> float:
    """Thickness as a fraction of the wire's diameter at a place of a flare; on edge it counts as round."""
    if flare is None or flare.face == "edge":
        return 1.0
    return float(thickness_ratio(place, flare.thickness, flare.centre, flare.hold))
