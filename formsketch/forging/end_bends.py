"""Ends that are bent: hooks plain and twisted, S-hooks, eyes, ear wires, and tapers that may curl."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, pi, radians, sin

import numpy as np

from formsketch.design.model import EarWireEnd, EyeEnd, HookEnd, SHookEnd, TaperedEnd
from formsketch.forging.end_piece import (
    EndMark,
    EndPiece,
    EndWork,
    WireAtMark,
    arc_mm,
    bead_centre_mm,
    melted_mm,
    side_of,
    stock_of,
    tapered_part,
    there,
    wire_part,
)
from formsketch.geometry.chain import EndPart


def tapered(end: TaperedEnd, wire: WireAtMark) -> EndPiece:
    """A frustum of a cone, bent or straight."""
    part = tapered_part(end.length_mm, radians(end.turn_deg), end.tip_diameter_mm, wire.diameter_mm)
    stock = stock_of((part,))
    text = f"taper {end.length_mm:.1f} mm to {end.tip_diameter_mm:.2f} mm, drawn from {stock:.1f} mm of wire"
    work = [EndWork("taper", text)]
    if end.turn_deg:
        work.append(EndWork("ends", f"bend the taper {_turned(end.turn_deg)}"))
    return EndPiece("taper", (part,), stock, text, tuple(work))


def hook(end: HookEnd, wire: WireAtMark) -> EndPiece:
    """A straight and an arc, maybe a bead, maybe twisted out of the plane."""
    d, turn, twist = wire.diameter_mm, radians(end.turn_deg), radians(end.twist_deg)
    straight = wire_part(end.straight_mm, 0.0, d, d)
    parts = there([straight, *_twisted_arc(turn, end.inside_diameter_mm, d, twist)])
    bent_mm = stock_of(parts)
    stock, beyond = bent_mm, 0.0
    marks = _marks((end.straight_mm, ("hook",)))
    word = "twisted hook" if end.twist_deg else "hook"
    text = f"hook {end.inside_diameter_mm:.1f} mm inside, turned {abs(end.turn_deg):.0f}°"
    work = [EndWork("ends", f"{text} {_side(end.turn_deg)}")]
    if end.bead_diameter_mm > 0:
        stock += melted_mm(end.bead_diameter_mm, d)
        # The bead hangs from a tip that the twist foreshortens in plan.
        beyond = bead_centre_mm(end.bead_diameter_mm, d) * hypot(cos(turn), cos(twist) * sin(turn))
        text += f", bead {end.bead_diameter_mm:.2f} mm"
        marks += (EndMark(bent_mm, ("melt",)),)
        work.insert(0, EndWork("bead", f"bead {end.bead_diameter_mm:.2f} mm on the tip of the hook"))
    if end.twist_deg:
        said = f"twisted {_twist_text(end.twist_deg)} to meet its fellow"
        text += f", {said}"
        work.append(EndWork("ends", f"the hook, {said}"))
    text += f", {stock:.1f} mm of wire"
    return EndPiece(
        word,
        parts,
        stock,
        text,
        tuple(work),
        marks,
        end.bead_diameter_mm,
        beyond,
        catches="hook",
        catch_wire_mm=d,
        opening_mm=end.inside_diameter_mm,
        passes_mm=max(d, end.bead_diameter_mm),
    )


def s_hook(end: SHookEnd, wire: WireAtMark) -> EndPiece:
    """A straight, the hook's arc, and a curl to the other side at its tip."""
    d, turn = wire.diameter_mm, radians(end.turn_deg)
    curl = -side_of(turn) * radians(end.curl_turn_deg)
    arc = wire_part(arc_mm(turn, end.inside_diameter_mm, d), turn, d, d)
    curled = wire_part(arc_mm(curl, end.curl_diameter_mm, d), curl, d, d)
    parts = there([wire_part(end.straight_mm, 0.0, d, d), arc, curled])
    stock = stock_of(parts)
    curl_text = f"{end.curl_diameter_mm:.1f} mm inside, turned {end.curl_turn_deg:.0f}°"
    hook_text = f"{end.inside_diameter_mm:.1f} mm inside, turned {abs(end.turn_deg):.0f}°"
    return EndPiece(
        "S-hook",
        parts,
        stock,
        f"S-hook {hook_text}, and at its tip a curl to the other side {curl_text}, {stock:.1f} mm of wire",
        (
            EndWork("ends", f"first the curl at the tip, {curl_text}, closed on itself"),
            EndWork("ends", f"then the hook to the other side, {hook_text} {_side(end.turn_deg)}"),
        ),
        _marks((end.straight_mm, ("hook",)), (end.straight_mm + arc.length_mm, ("curl",))),
        catches="hook",
        catch_wire_mm=d,
        opening_mm=end.inside_diameter_mm,
        # The closed curl has to go through the eye, flat.
        passes_mm=max(d, end.curl_diameter_mm + 2 * d),
    )


def eye(end: EyeEnd, wire: WireAtMark) -> EndPiece:
    """Bent square, then rolled back until the tip meets the side of the wire it left."""
    d = wire.diameter_mm
    radius_mm = (end.inside_diameter_mm + d) / 2
    side = 1.0 if end.side == "left" else -1.0
    turn = 2 * pi - d / (2 * radius_mm)
    part = EndPart(turn * radius_mm, -side * turn, side * np.pi / 2, d, d, turn * radius_mm)
    text = f"rolled eye {end.inside_diameter_mm:.1f} mm inside, {part.length_mm:.1f} mm of wire"
    work = (
        EndWork("ends", f"bend square to the {end.side} at the mark, and roll back an eye "
                f"{end.inside_diameter_mm:.1f} mm inside on the wire's own line"),
    )  # fmt: skip
    return EndPiece(
        "eye",
        (part,),
        part.length_mm,
        text,
        work,
        catches="eye",
        catch_wire_mm=d,
        opening_mm=end.inside_diameter_mm,
    )


def ear_wire(end: EarWireEnd, wire: WireAtMark) -> EndPiece:
    """Drawn down along its straight, then an arc over the lobe, a leg behind it, and a kick at the tip."""
    d, drawn, turn = wire.diameter_mm, end.diameter_mm, radians(end.turn_deg)
    kick = -side_of(turn) * radians(end.kick_deg)
    straight = tapered_part(end.straight_mm, 0.0, drawn, d)
    arc = wire_part(arc_mm(turn, end.inside_diameter_mm, drawn), turn, drawn, d)
    leg = wire_part(end.leg_mm, 0.0, drawn, d)
    tip = wire_part(end.kick_mm, kick, drawn, d)
    parts = there([straight, arc, leg, tip])
    stock = stock_of(parts)
    from_arc = straight.stock_mm or 0.0
    from_leg = from_arc + (arc.stock_mm or 0.0)
    from_kick = from_leg + (leg.stock_mm or 0.0)
    shape = (
        f"{end.inside_diameter_mm:.1f} mm inside, turned {abs(end.turn_deg):.0f}°, leg {end.leg_mm:.1f} mm"
    )
    kicked = (
        f", the last {end.kick_mm:.1f} mm kicked out {end.kick_deg:.0f}°" if tip in parts and kick else ""
    )
    text = f"ear wire {drawn:.2f} mm, {shape}{kicked}, {stock:.1f} mm of wire"
    work = []
    if drawn < d:
        work.append(
            EndWork(
                "taper",
                f"draw the ear wire down round to {drawn:.2f} mm, evenly along its first "
                f"{end.straight_mm:.1f} mm, from {stock:.1f} mm of wire",
            )
        )
    work.append(EndWork("ends", f"ear wire {shape}{kicked}; round and polish its tip"))
    marks = [(from_arc, ("arc",)), (from_leg, ("leg",))]
    if kicked:
        marks.append((from_kick, ("kick",)))
    return EndPiece("ear wire", parts, stock, text, tuple(work), _marks(*marks), ear_diameter_mm=drawn)


def _twisted_arc(turn_rad: float, inside_mm: float, wire_mm: float, twist_rad: float) -> list[EndPart]:
    """The arc of a hook; twisted it is parted where it lies square to its axis: there it is seen to turn.

    Twisted by half a turn it is the same arc on the other side.
    """
    seen, bounds = cos(twist_rad), [0.0, abs(turn_rad)]
    if seen != 1.0:
        bounds[1:1] = [square for square in (pi / 2, 3 * pi / 2) if square < abs(turn_rad)]
    turns = [side_of(turn_rad) * (after - before) for before, after in pairwise(bounds)]
    return [wire_part(arc_mm(turn, inside_mm, wire_mm), turn, wire_mm, wire_mm, seen) for turn in turns]


def _marks(*wanted: tuple[float, tuple[str, ...]]) -> tuple[EndMark, ...]:
    """Marks inside an end; none on the form's own mark."""
    return tuple(EndMark(at, words) for at, words in wanted if at > 0)


def _side(turn_deg: float) -> str:
    return "to the left" if turn_deg >= 0 else "to the right"


def _turned(turn_deg: float) -> str:
    return f"{abs(turn_deg):.0f}° {_side(turn_deg)}"


def _twist_text(twist_deg: float) -> str:
    """How far and which way round, said so that turning the form over changes nothing."""
    way = "clockwise" if twist_deg > 0 else "anticlockwise"
    return f"{abs(twist_deg):.0f}° {way} (looking outward along the wire)"
