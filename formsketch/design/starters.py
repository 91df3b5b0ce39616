"""Starter forms: a whole design from a few numbers, to be pulled into shape afterwards.

Each starter lists its numbers with unit, bounds and a sensible value, so that the window and the tests
ask for them the same way. Sizes are of the finished form: inside diameters are those of the wire as drawn.
"""

from __future__ import annotations

from collections.abc import Callable
from math import asin, cos, degrees, pi, radians, sin, sqrt
from typing import Literal

from formsketch.design.edits import checked
from formsketch.design.model import BeadEnd, Design, End, Flare, Form, PlainEnd, Run, Span, Wire
from formsketch.errors import EditRefused
from formsketch.values import Value

Unit = Literal["mm", "deg", "times", "ratio"]


class StarterNumber(Value, frozen=True):
    """One number a starter asks for: `unit` is 'mm', 'deg', 'times' or 'ratio'."""

    name: str
    label: str
    unit: Unit
    value: float
    low: float
    high: float


class Starter(Value, frozen=True):
    """A form that can be begun from a few numbers; `shape` makes it in wire of a given diameter."""

    key: str
    title: str
    explanation: str
    numbers: tuple[StarterNumber, ...]
    shape: Callable[[dict[str, float], float], Form]


def make_starter(
    key: str, wire: Wire, title: str | None = None, numbers: dict[str, float] | None = None
) -> Design:
    """The starter's design in this wire; numbers not given take the starter's own values.

    Raises `EditRefused` for an unknown starter or number, or a number out of its range.
    """
    starter = STARTERS.get(key)
    if starter is None:
        raise EditRefused(f"There is no starter form {key!r}; there are {', '.join(STARTERS)}.")
    given = dict(numbers or {})
    values = {}
    for number in starter.numbers:
        value = float(given.pop(number.name, number.value))
        if not number.low <= value <= number.high:
            raise EditRefused(
                f"{number.label} of {starter.title.lower()}: expected {number.low:g} to {number.high:g}, "
                f"got {value:g}."
            )
        if number.unit == "times" and value != int(value):
            raise EditRefused(
                f"{number.label} of {starter.title.lower()}: expected a whole number, got {value:g}."
            )
        values[number.name] = value
    if given:
        raise EditRefused(f"{starter.title} has no number called {', '.join(given)}.")
    return checked(
        Design(title=title or starter.title, wire=wire, form=starter.shape(values, wire.diameter_mm))
    )


def _arc_mm(inside_mm: float, wire_mm: float, turn_deg: float) -> float:
    """Centreline length of an arc of this inside diameter."""
    return radians(abs(turn_deg)) * (inside_mm + wire_mm) / 2


def _flare(thickness: float, hold: float = 0.0, face: Literal["flat", "edge"] = "flat") -> Flare | None:
    return None if thickness >= 1 else Flare(thickness=thickness, hold=hold, face=face)


def _bead(ratio: float, wire_mm: float) -> End:
    return BeadEnd(diameter_mm=ratio * wire_mm) if ratio > 1 else PlainEnd()


def _row_of_loops(n: dict[str, float], wire_mm: float) -> Form:
    turn = n["turn_deg"]
    loop = Span(length_mm=_arc_mm(n["inside_mm"], wire_mm, turn), turn_deg=turn, flare=_flare(n["thickness"]))
    link = Span(length_mm=n["link_mm"], turn_deg=360 - turn)
    half = Span(length_mm=n["link_mm"] / 2, turn_deg=(360 - turn) / 2)
    times = int(n["times"])
    runs = [Run(spans=(half, loop))]
    if times > 1:
        runs.append(Run(spans=(link, loop), times=times - 1))
    return Form(runs=(*runs, Run(spans=(half,))))


def _row_of_s_forms(n: dict[str, float], wire_mm: float) -> Form:
    turn, times = n["turn_deg"], int(n["times"])
    length = _arc_mm(n["inside_mm"], wire_mm, turn)
    flare = _flare(n["thickness"])
    # Every loop is turned over from the one before it, the half loops at the ends included.
    loop = Span(length_mm=length, turn_deg=turn, turned_over=True, flare=flare)
    ends_size = n["ends_scale"] if times > 1 else 1.0
    first = Span(length_mm=length * ends_size / 2, turn_deg=turn / 2)
    last = Span(length_mm=length * ends_size / 2, turn_deg=turn / 2, turned_over=True)
    return Form(
        runs=(
            Run(spans=(first,)),
            Run(spans=(loop,), times=times, ends_scale=n["ends_scale"]),
            Run(spans=(last,)),
        )
    )


def _hoop(n: dict[str, float], wire_mm: float) -> Form:
    around = pi * (n["inside_mm"] + wire_mm)
    if n["opening_mm"] >= around / 2:
        raise EditRefused(f"Opening of a hoop: expected less than half its round, {around / 2:.1f} mm.")
    # The opening is measured along the round.
    turn = 360 * (1 - n["opening_mm"] / around)
    span = Span(
        length_mm=around - n["opening_mm"], turn_deg=turn, flare=_flare(n["thickness"], hold=n["hold"])
    )
    return Form(runs=(Run(spans=(span,)),))


def _s_ring(n: dict[str, float], wire_mm: float) -> Form:
    turn = n["turn_deg"]
    loop = Span(length_mm=_arc_mm(n["inside_mm"], wire_mm, turn), turn_deg=turn, flare=_flare(n["thickness"]))
    body = Span(length_mm=n["body_mm"], skew_deg=0.0, flare=_flare(min(1.0, n["thickness"] + 0.2), hold=0.3))
    other = Span(length_mm=loop.length_mm, turn_deg=-turn, flare=loop.flare)
    ends = _bead(n["bead_ratio"], wire_mm)
    return Form(runs=(Run(spans=(loop, body, other)),), start=ends, finish=ends)


def _open_cuff(n: dict[str, float], wire_mm: float) -> Form:
    # An oval of two radii, flat across the wrist and tighter at the sides, open underneath: the wide arcs
    # turn 70 degrees each, the sides 110, and the two radii follow from width and depth.
    wide, side = radians(70.0), radians(110.0)
    half_width, half_depth = (n["width_mm"] + wire_mm) / 2, (n["depth_mm"] + wire_mm) / 2
    # half width = r_side + (R - r) sin(35 deg); half depth = R - (R - r) cos(35 deg)
    a, b = sin(wide / 2), 1 - cos(wide / 2)
    difference = (half_width - half_depth) / (a - b)
    wide_mm, side_mm = half_depth + difference * (1 - b), half_width - difference * a
    half_opening = n["opening_mm"] / 2
    if difference < 0 or side_mm <= wire_mm or half_opening > wide_mm * sin(0.45 * wide):
        raise EditRefused(
            "Open cuff: expected a width no less than the depth and an opening that leaves the sides "
            "standing."
        )
    top = Span(length_mm=wide * wide_mm, turn_deg=degrees(wide), flare=_flare(n["thickness"], hold=0.3))
    flank = Span(length_mm=side * side_mm, turn_deg=degrees(side), flare=_flare((1 + n["thickness"]) / 2))
    under_rad = wide / 2 - asin(half_opening / wide_mm)
    under = Span(length_mm=under_rad * wide_mm, turn_deg=degrees(under_rad))
    ends = _bead(n["bead_ratio"], wire_mm)
    return Form(runs=(Run(spans=(under, flank, top, flank, under)),), start=ends, finish=ends)


def _scroll(n: dict[str, float], wire_mm: float) -> Form:
    turn = n["turn_deg"]
    # Skew as large as turn leaves the middle straight and tightens towards the ends.
    curl = Span(length_mm=n["curl_mm"], turn_deg=turn, skew_deg=-turn, flare=_flare(n["thickness"]))
    other = Span(length_mm=n["curl_mm"], turn_deg=-turn, skew_deg=-turn, flare=curl.flare)
    ends = _bead(n["bead_ratio"], wire_mm)
    return Form(runs=(Run(spans=(curl, other)),), start=ends, finish=ends)


def _spiral(n: dict[str, float], wire_mm: float) -> Form:
    # Half circles, each wider by half the pitch: the spacing is even, and each has its own tube.
    pitch = wire_mm * n["thickness"] ** -0.5 + n["gap_mm"]
    radii = [(n["inside_mm"] + wire_mm) / 2 + i * pitch / 2 for i in range(int(n["half_turns"]))]
    spans = tuple(
        Span(length_mm=pi * radius, turn_deg=180.0, flare=_flare(n["thickness"]) if i else None)
        for i, radius in enumerate(radii)
    )
    return Form(runs=(Run(spans=spans),))


def _figure_eight(n: dict[str, float], wire_mm: float) -> Form:
    radius = (n["inside_mm"] + wire_mm) / 2
    half_way = n["between_mm"] / 2
    if half_way <= radius * 1.01:
        raise EditRefused(
            f"Figure-eight: expected the loop centres at least {2.02 * radius:.1f} mm apart, "
            f"got {2 * half_way:g} mm."
        )
    straight = sqrt(half_way * half_way - radius * radius)
    turn = 180 + 2 * degrees(asin(radius / half_way))
    flare = _flare(n["thickness"])
    # It begins and ends half-way round a loop, where it can be joined in peace, away from the crossing.
    half = Span(length_mm=radians(turn) * radius / 2, turn_deg=turn / 2)
    other = Span(length_mm=radians(turn) * radius, turn_deg=-turn, flare=flare)
    arm = Span(length_mm=2 * straight)
    return Form(runs=(Run(spans=(half, arm, other, arm, half)),))


def _zigzag(n: dict[str, float], wire_mm: float) -> Form:
    turn, times = n["turn_deg"], int(n["times"])
    leg = Span(length_mm=n["leg_mm"], turned_over=True, flare=_flare(n["thickness"], hold=0.4))
    corner = Span(length_mm=_arc_mm(n["inside_mm"], wire_mm, turn), turn_deg=turn)
    # Half legs at the ends begin and end the zigzag on its middle line.
    end_leg = Span(length_mm=n["leg_mm"] / 2)
    last_leg = Span(length_mm=n["leg_mm"] / 2, turned_over=True)
    first = Run(spans=(end_leg, corner))
    return Form(runs=(first, Run(spans=(leg, corner), times=times - 1), Run(spans=(last_leg,))))


def _number(name: str, label: str, unit: Unit, *values: float) -> StarterNumber:
    return StarterNumber(name, label, unit, *values)


_THICKNESS = _number("thickness", "Hammered to, of the wire", "ratio", 0.5, 0.2, 1.0)
_BEADS = _number("bead_ratio", "Beads, times the wire (0 for none)", "ratio", 2.0, 0.0, 3.0)

STARTERS: dict[str, Starter] = {
    starter.key: starter
    for starter in (
        Starter(
            "row-of-loops",
            "Row of loops",
            "Loops side by side on one wire, all to one side, before any is turned over.",
            (
                _number("inside_mm", "Loop inside", "mm", 8.0, 0.5, 200.0),
                _number("times", "Loops", "times", 7, 1, 300),
                _number("turn_deg", "Each loop turns", "deg", 300.0, 200.0, 355.0),
                _number("link_mm", "Wire between loops", "mm", 14.0, 0.5, 500.0),
                _THICKNESS,
            ),
            _row_of_loops,
        ),
        Starter(
            "row-of-s-forms",
            "Row of S-forms",
            "Loops turned over one by one and opened: each turns to the other side of the one before.",
            (
                _number("inside_mm", "Loop inside", "mm", 9.0, 0.5, 200.0),
                _number("times", "Loops", "times", 9, 1, 300),
                _number("turn_deg", "Each loop turns (less is more open)", "deg", 236.0, 90.0, 300.0),
                _number("ends_scale", "Size at the ends, of the middle", "ratio", 0.8, 0.2, 1.5),
                _THICKNESS,
            ),
            _row_of_s_forms,
        ),
        Starter(
            "hoop",
            "Hoop",
            "One round of wire with an opening, flared away from its ends.",
            (
                _number("inside_mm", "Inside", "mm", 28.0, 1.0, 500.0),
                _number("opening_mm", "Opening along the round", "mm", 4.0, 0.0, 200.0),
                _THICKNESS,
                _number("hold", "Part of the round held at that thickness", "ratio", 0.3, 0.0, 0.9),
            ),
            _hoop,
        ),
        Starter(
            "s-ring",
            "S ring",
            "Two loops that turn opposite ways on a straight body, to be rolled on a mandrel for a finger.",
            (
                _number("inside_mm", "Loop inside", "mm", 5.0, 0.5, 100.0),
                _number("turn_deg", "Each loop turns", "deg", 250.0, 90.0, 340.0),
                _number("body_mm", "Body between the loops", "mm", 44.0, 1.0, 300.0),
                _THICKNESS,
                _BEADS,
            ),
            _s_ring,
        ),
        Starter(
            "open-cuff",
            "Open cuff",
            "An oval for the wrist, flat above and open beneath.",
            (
                _number("width_mm", "Inside width", "mm", 60.0, 5.0, 200.0),
                _number("depth_mm", "Inside depth", "mm", 46.0, 5.0, 200.0),
                _number("opening_mm", "Opening", "mm", 28.0, 1.0, 150.0),
                _THICKNESS,
                _BEADS,
            ),
            _open_cuff,
        ),
        Starter(
            "scroll",
            "Scroll",
            "A double scroll: straight in the middle, tightening towards both ends, one to each side.",
            (
                _number("curl_mm", "Wire in each curl", "mm", 45.0, 2.0, 1000.0),
                _number("turn_deg", "Each curl turns", "deg", 330.0, 45.0, 720.0),
                _THICKNESS,
                _BEADS,
            ),
            _scroll,
        ),
        Starter(
            "spiral",
            "Spiral",
            "Half rounds, each wider than the one inside it.",
            (
                _number("inside_mm", "Innermost inside", "mm", 3.0, 0.5, 100.0),
                _number("half_turns", "Half turns", "times", 6, 2, 40),
                _number("gap_mm", "Gap between rounds", "mm", 1.5, 0.0, 30.0),
                _number("thickness", "Hammered to, of the wire", "ratio", 0.6, 0.2, 1.0),
            ),
            _spiral,
        ),
        Starter(
            "figure-eight",
            "Figure-eight",
            "Two loops joined by wires that cross in the middle; closed on itself.",
            (
                _number("inside_mm", "Loop inside", "mm", 12.0, 0.5, 200.0),
                _number("between_mm", "Between the loops' centres", "mm", 20.0, 1.0, 600.0),
                _THICKNESS,
            ),
            _figure_eight,
        ),
        Starter(
            "zigzag",
            "Zigzag with soft corners",
            "Straight legs between corners bent round a tube, to one side and the other.",
            (
                _number("leg_mm", "Leg between corners", "mm", 14.0, 0.5, 300.0),
                _number("inside_mm", "Corner inside", "mm", 3.0, 0.3, 100.0),
                _number("turn_deg", "Each corner turns", "deg", 100.0, 20.0, 170.0),
                _number("times", "Corners", "times", 8, 2, 300),
                _number("thickness", "Hammered to, of the wire", "ratio", 0.6, 0.2, 1.0),
            ),
            _zigzag,
        ),
    )
}
