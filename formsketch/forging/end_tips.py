"""Ends that go straight or stop: beads, ear posts, rounded tips, and ends with a hole through them."""

from __future__ import annotations

from math import asin, pi, sqrt

from msgspec.structs import replace

from formsketch.design.model import BeadEnd, DrilledEnd, Flare, PostEnd
from formsketch.forging.end_piece import EndMark, EndPiece, EndWork, WireAtMark, bead_centre_mm, melted_mm
from formsketch.forging.forged import forge_flares
from formsketch.forging.section import round_area_mm2, stadium_area_mm2
from formsketch.forging.spread import hammered_width_mm
from formsketch.geometry.chain import EndPart

# The flat of a drilled end eases in over the first three sevenths of its length and holds to the tip.
_RISE, _FALL = 0.3, 0.7
_LEAST_FLARE_PART = 1e-3


def plain() -> EndPiece:
    """Nothing beyond the mark."""
    return EndPiece("plain", (), 0.0, "plain, cut square and smoothed")


def bead(end: BeadEnd, wire: WireAtMark) -> EndPiece:
    """A ball less the cap that lies inside the wire's end."""
    d = wire.diameter_mm
    stock = melted_mm(end.diameter_mm, d)
    text = f"bead {end.diameter_mm:.2f} mm, melted from {stock:.1f} mm of wire"
    return EndPiece(
        "bead",
        (),
        stock,
        text,
        (EndWork("bead", text),),
        bead_diameter_mm=end.diameter_mm,
        bead_centre_beyond_mm=bead_centre_mm(end.diameter_mm, d),
    )


def post(end: PostEnd, wire: WireAtMark) -> EndPiece:
    """A cylinder square to the form, drawn from the wire."""
    stock = end.length_mm * (end.diameter_mm / wire.diameter_mm) ** 2
    text = (
        f"ear post {end.length_mm:.1f} mm long, drawn down to {end.diameter_mm:.2f} mm and bent up square, "
        f"{stock:.1f} mm of wire"
    )
    return EndPiece(
        "ear post",
        (),
        stock,
        text,
        (EndWork("post", text),),
        post_diameter_mm=end.diameter_mm,
        post_length_mm=end.length_mm,
        ear_diameter_mm=end.diameter_mm,
    )


def rounded(wire: WireAtMark) -> EndPiece:
    """A half ball, or a half round on flat wire, filed from wire as long as it stands out.

    What is filed away is wire cut all the same, a sixth of a diameter on round wire.
    """
    width_mm, height_mm = _tip_mm(wire, wire.thickness)
    stock = _tip_stock_mm(wire, wire.thickness)
    shape = "half ball" if wire.thickness == 1.0 else f"half round {width_mm:.2f} mm wide"
    text = f"rounded to a {shape} by file or cup, from {stock:.2f} mm of wire"
    return EndPiece(
        "rounded tip",
        (),
        stock,
        text,
        (EndWork("ends", text),),
        tip_width_mm=width_mm,
        tip_height_mm=height_mm,
    )


def drilled(end: DrilledEnd, wire: WireAtMark) -> EndPiece:
    """Wire that goes on straight, hammered flat or not, its tip filed half round, with a hole through it.

    The metal drilled out is wire cut all the same.
    """
    d, thickness = wire.diameter_mm, min(wire.thickness, end.thickness)
    flare = _flat_of(wire, end.thickness)
    part_stock = end.length_mm * _stock_fraction(flare, wire)
    part = EndPart(end.length_mm, 0.0, 0.0, d, d, part_stock, flare)
    width_mm, height_mm = _tip_mm(wire, thickness)
    stock = part_stock + _tip_stock_mm(wire, thickness)
    beyond = width_mm / 2 - end.from_end_mm - end.hole_diameter_mm / 2
    hole = f"a hole of {end.hole_diameter_mm:.2f} mm, its edge {end.from_end_mm:.1f} mm from the tip"
    flat = f"{width_mm:.2f} mm wide and {height_mm:.2f} mm thick"
    text = f"{'flat ' if thickness < 1 else ''}end {flat}, filed round, with {hole}, {stock:.1f} mm of wire"
    work = [
        EndWork("ends", f"file the tip half round, {width_mm:.2f} mm wide"),
        EndWork("drill", f"{hole}, in the middle of the {width_mm:.2f} mm"),
    ]
    if end.thickness < wire.thickness:
        work.insert(0, EndWork("ends", f"hammer the last {stock:.1f} mm of wire flat to {flat}, easing in"))
    at_mm = _stock_to_mm(end, wire, flare, beyond)
    marks = (EndMark(at_mm, ("drill", f"Ø {end.hole_diameter_mm:.1f}")),) if at_mm > 0 else ()
    return EndPiece(
        "drilled end",
        (part,),
        stock,
        text,
        tuple(work),
        marks,
        tip_width_mm=width_mm,
        tip_height_mm=height_mm,
        hole_diameter_mm=end.hole_diameter_mm,
        hole_beyond_mm=beyond,
        catches="eye",
        catch_wire_mm=end.from_end_mm,
        opening_mm=end.hole_diameter_mm,
    )


def _tip_mm(wire: WireAtMark, thickness: float) -> tuple[float, float]:
    """Width and height where a tip begins to be rounded."""
    height_mm = thickness * wire.diameter_mm
    if thickness == 1.0:
        return height_mm, height_mm
    return float(hammered_width_mm(height_mm, wire.diameter_mm, wire.spread)), height_mm


def _tip_stock_mm(wire: WireAtMark, thickness: float) -> float:
    """Wire as long as the rounded tip stands out, half its width, of the section it is filed from."""
    width_mm, height_mm = _tip_mm(wire, thickness)
    share = stadium_area_mm2(width_mm, height_mm) / round_area_mm2(wire.diameter_mm)
    return float(width_mm / 2 * share)


def _flat_of(wire: WireAtMark, thickness: float) -> Flare | None:
    """The part of a flare that takes the wire from its thickness at the mark to that of the flat, and on."""
    flat = min(wire.thickness, thickness)
    if flat == 1.0:
        return None
    depth = (1 - wire.thickness) / (1 - flat)
    begin = _RISE * 2 / pi * asin(min(1.0, sqrt(depth)))
    return Flare(thickness=flat, centre=(_RISE + _FALL) / 2, hold=_FALL - _RISE, begin=begin, end=_FALL)


def _stock_fraction(flare: Flare | None, wire: WireAtMark) -> float:
    if flare is None:
        return 1.0
    return float(forge_flares((flare,), wire.diameter_mm, wire.spread).stock_fraction[0])


def _stock_to_mm(end: DrilledEnd, wire: WireAtMark, flare: Flare | None, beyond_mm: float) -> float:
    """Straight wire from the mark to a place so far beyond the end of the part; below 0 before the mark."""
    share = 1.0 + beyond_mm / end.length_mm
    if flare is None or share <= 0:
        return share * end.length_mm
    place = flare.begin + share * (flare.end - flare.begin)
    if place >= _FALL:
        # In the rounded tip, on wire as flat as where it begins.
        width_mm, _ = _tip_mm(wire, flare.thickness)
        of_tip = _tip_stock_mm(wire, flare.thickness) / (width_mm / 2)
        return end.length_mm * _stock_fraction(flare, wire) + beyond_mm * of_tip
    if place - flare.begin < _LEAST_FLARE_PART:
        return share * end.length_mm
    return share * end.length_mm * _stock_fraction(replace(flare, end=place), wire)
