"""What is done to an end of the wire: its pieces beyond the mark, and the stock it uses.

Everything is made from the wire itself and keeps its volume, so stock length x wire area is the metal in
the end.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.design.model import BeadEnd, End, EyeEnd, HookEnd, PlainEnd, PostEnd, TaperedEnd
from formsketch.forging.beads import bead_centre_offset_mm, joined_bead_wire_length_mm
from formsketch.geometry.chain import EndPart

# A piece of wire shorter than this is no piece at all.
LEAST_PART_MM = 1e-6


@dataclass(frozen=True)
class EndPiece:
    """An end worked out for a wire: parts looking outward, stock used in mm, and round things at its tip.

    `bead_diameter_mm` is 0 for no bead, its centre `bead_centre_beyond_mm` beyond the tip of the last part;
    `post_diameter_mm` and `post_length_mm` are 0 for no post. `text` says it for the bench.
    """

    parts: tuple[EndPart, ...]
    stock_mm: float
    text: str
    bead_diameter_mm: float = 0.0
    bead_centre_beyond_mm: float = 0.0
    post_diameter_mm: float = 0.0
    post_length_mm: float = 0.0


def end_piece(end: End, diameter_mm: float) -> EndPiece:
    """Work out an end in round wire of this diameter (mm)."""
    if isinstance(end, PlainEnd):
        return EndPiece((), 0.0, "plain, cut square and smoothed")
    if isinstance(end, TaperedEnd):
        return _tapered(end, diameter_mm)
    if isinstance(end, BeadEnd):
        stock = float(joined_bead_wire_length_mm(end.diameter_mm, diameter_mm))
        text = f"bead {end.diameter_mm:.2f} mm, melted from {stock:.1f} mm of wire"
        return EndPiece((), stock, text, end.diameter_mm, _bead_centre_mm(end.diameter_mm, diameter_mm))
    if isinstance(end, HookEnd):
        return _hook(end, diameter_mm)
    if isinstance(end, EyeEnd):
        return _eye(end, diameter_mm)
    return _post(end, diameter_mm)


def _bead_centre_mm(bead_diameter_mm: float, diameter_mm: float) -> float:
    return float(bead_centre_offset_mm(bead_diameter_mm, diameter_mm))


def _tapered(end: TaperedEnd, diameter_mm: float) -> EndPiece:
    part = EndPart(end.length_mm, np.deg2rad(end.turn_deg), 0.0, diameter_mm, end.tip_diameter_mm)
    tip = end.tip_diameter_mm / diameter_mm
    stock = end.length_mm * (1 + tip + tip * tip) / 3
    text = f"taper {end.length_mm:.1f} mm to {end.tip_diameter_mm:.2f} mm, drawn from {stock:.1f} mm of wire"
    return EndPiece((part,), stock, text)


def _hook(end: HookEnd, diameter_mm: float) -> EndPiece:
    turn = np.deg2rad(end.turn_deg)
    arc_mm = abs(turn) * (end.inside_diameter_mm + diameter_mm) / 2
    parts = []
    if end.straight_mm > LEAST_PART_MM:
        parts.append(EndPart(end.straight_mm, 0.0, 0.0, diameter_mm, diameter_mm))
    if arc_mm > LEAST_PART_MM:
        parts.append(EndPart(arc_mm, turn, 0.0, diameter_mm, diameter_mm))
    stock, bead_centre_mm = end.straight_mm + arc_mm, 0.0
    text = f"hook {end.inside_diameter_mm:.1f} mm inside, turned {abs(end.turn_deg):.0f}°"
    if end.bead_diameter_mm > 0:
        stock += float(joined_bead_wire_length_mm(end.bead_diameter_mm, diameter_mm))
        bead_centre_mm = _bead_centre_mm(end.bead_diameter_mm, diameter_mm)
        text += f", bead {end.bead_diameter_mm:.2f} mm"
    text += f", {stock:.1f} mm of wire"
    return EndPiece(tuple(parts), stock, text, end.bead_diameter_mm, bead_centre_mm)


def _eye(end: EyeEnd, diameter_mm: float) -> EndPiece:
    radius_mm = (end.inside_diameter_mm + diameter_mm) / 2
    side = 1.0 if end.side == "left" else -1.0
    # Bent square, then rolled back until the tip meets the side of the wire it left.
    turn = 2 * np.pi - diameter_mm / (2 * radius_mm)
    part = EndPart(turn * radius_mm, -side * turn, side * np.pi / 2, diameter_mm, diameter_mm)
    text = f"rolled eye {end.inside_diameter_mm:.1f} mm inside, {part.length_mm:.1f} mm of wire"
    return EndPiece((part,), part.length_mm, text)


def _post(end: PostEnd, diameter_mm: float) -> EndPiece:
    stock = end.length_mm * (end.diameter_mm / diameter_mm) ** 2
    text = (
        f"ear post {end.length_mm:.1f} mm long, drawn down to {end.diameter_mm:.2f} mm and bent up square, "
        f"{stock:.1f} mm of wire"
    )
    return EndPiece((), stock, text, 0.0, 0.0, end.diameter_mm, end.length_mm)
