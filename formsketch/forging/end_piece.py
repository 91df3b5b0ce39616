"""An end of the wire worked out: what every kind of end is reduced to, and the solids it is made of."""

from __future__ import annotations

from typing import Literal

import numpy as np

from formsketch.forging.beads import bead_centre_offset_mm, joined_bead_wire_length_mm
from formsketch.geometry.chain import EndPart
from formsketch.values import Value

# A piece of wire shorter than this is no piece at all.
LEAST_PART_MM = 1e-6


class WireAtMark(Value, frozen=True):
    """The wire an end is made of, as it is at the mark: round, or hammered to `thickness` of its diameter.

    `spread` is the hammer's, for what is hammered flat of the end itself.
    """

    diameter_mm: float
    thickness: float = 1.0
    spread: float = 0.8


class EndMark(Value, frozen=True):
    """A pen mark inside an end: straight wire from the form's own mark outward, mm, and what it is for."""

    beyond_mm: float
    words: tuple[str, ...]


class EndWork(Value, frozen=True):
    """One thing to do for an end: the key of its operation in the order of work, and what to do."""

    operation: str
    text: str


class EndPiece(Value, frozen=True):
    """An end worked out for a wire: parts looking outward, stock used in mm, and round things at its tip.

    `word` names it, `text` says all of it for the bench, `work` what to do in which operation. `marks` are
    pen marks between the form's own mark and the cut end, in their order outward.

    `bead_diameter_mm` is 0 for no bead, its centre `bead_centre_beyond_mm` beyond the tip of the last part;
    `post_diameter_mm` and `post_length_mm` are 0 for no post. `tip_width_mm` is the width in plan of a tip
    rounded to a half ball or half round, `tip_height_mm` its height, 0 for one cut square. The middle of a
    hole of `hole_diameter_mm` (0 for none) lies `hole_beyond_mm` beyond the tip of the last part.
    `ear_diameter_mm` is that of what goes through an ear, 0 for nothing.

    `catches` says what it is to the other end: a hook goes into an eye, and lies in it with wire of
    `catch_wire_mm`. `opening_mm` is the inside of hook, eye or hole, `passes_mm` the widest that has to go
    through an eye before a hook hangs in it.
    """

    word: str
    parts: tuple[EndPart, ...]
    stock_mm: float
    text: str
    work: tuple[EndWork, ...] = ()
    marks: tuple[EndMark, ...] = ()
    bead_diameter_mm: float = 0.0
    bead_centre_beyond_mm: float = 0.0
    post_diameter_mm: float = 0.0
    post_length_mm: float = 0.0
    tip_width_mm: float = 0.0
    tip_height_mm: float = 0.0
    hole_diameter_mm: float = 0.0
    hole_beyond_mm: float = 0.0
    ear_diameter_mm: float = 0.0
    catches: Literal["", "hook", "eye"] = ""
    catch_wire_mm: float = 0.0
    opening_mm: float = 0.0
    passes_mm: float = 0.0


def wire_part(
    length_mm: float, turn_rad: float, drawn_mm: float, wire_mm: float, foreshortening: float = 1.0
) -> EndPart:
    """Round wire of one diameter, straight or an arc, drawn from wire of another: its volume stays."""
    stock_mm = length_mm * (drawn_mm / wire_mm) ** 2
    return EndPart(length_mm, turn_rad, 0.0, drawn_mm, drawn_mm, stock_mm, None, foreshortening)


def tapered_part(length_mm: float, turn_rad: float, tip_mm: float, wire_mm: float) -> EndPart:
    """Wire drawn down evenly to a tip: a frustum, L (1 + r + r^2)/3 of wire, r being tip over wire."""
    ratio = tip_mm / wire_mm
    stock_mm = length_mm * (1 + ratio + ratio * ratio) / 3
    return EndPart(length_mm, turn_rad, 0.0, wire_mm, tip_mm, stock_mm)


def arc_mm(turn_rad: float, inside_diameter_mm: float, wire_mm: float) -> float:
    """Centreline of an arc round this inside diameter."""
    return abs(turn_rad) * (inside_diameter_mm + wire_mm) / 2


def there(parts: list[EndPart]) -> tuple[EndPart, ...]:
    """The parts that are any wire at all."""
    return tuple(part for part in parts if part.length_mm > LEAST_PART_MM)


def stock_of(parts: tuple[EndPart, ...]) -> float:
    """Straight wire in parts of an end, mm."""
    return sum(part.stock_mm or 0.0 for part in parts)


def melted_mm(bead_mm: float, wire_mm: float) -> float:
    """Wire that melts into a bead joined to its wire, mm."""
    return float(joined_bead_wire_length_mm(bead_mm, wire_mm))


def bead_centre_mm(bead_mm: float, wire_mm: float) -> float:
    """From the end of the sound wire to the bead's middle, mm."""
    return float(bead_centre_offset_mm(bead_mm, wire_mm))


def side_of(turn: float) -> float:
    """1 for a turn to the left and for none, -1 for one to the right."""
    return float(np.where(turn < 0, -1.0, 1.0))
