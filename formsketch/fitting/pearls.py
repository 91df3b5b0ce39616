"""Pearls for the bays of a form: read from a stock, matched and graded, with their wire and their weight."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import accumulate
from math import isfinite, pi
from typing import Literal

from formsketch.design.model import Binding, SetPearl
from formsketch.errors import InputError
from formsketch.forging.beads import bead_wire_length_mm
from formsketch.values import Value

Shape = Literal["round", "button", "rice"]
SHAPES: tuple[Shape, ...] = ("round", "button", "rice")
# Pearl is 2.6 to 2.8 g/cm3; common practice, no source.
PEARL_DENSITY_G_PER_CM3 = 2.7
# How far the pearls of a matched pair differ at most; common practice, no source.
MATCH_MM = 0.2
MOST_PEARLS = 10_000
_ROUNDING_MM = 1e-9
_ENTRY = re.compile(
    r"(?:(?P<count>\d+)\s*[x×*]\s*)?(?P<d>\d+(?:\.\d*)?|\.\d+)"
    r"(?:\s*[x×*]\s*(?P<l>\d+(?:\.\d*)?|\.\d+))?\s*(?:mm)?\s*(?P<shape>[a-z]+)?",
    re.IGNORECASE,
)


class Pearl(Value, frozen=True):
    """A pearl: its diameter, its length along the hole, and its shape."""

    diameter_mm: float
    length_mm: float
    shape: Shape = "round"

    @property
    def room_mm(self) -> float:
        """The ball it needs however it lies."""
        return max(self.diameter_mm, self.length_mm)

    @property
    def weight_g(self) -> float:
        """What it weighs."""
        return pearl_weight_g(self)


def pearl_weight_g(pearl: Pearl | SetPearl) -> float:
    """A pearl as an ellipsoid of the density of pearl, the hole not taken off."""
    return pi / 6 * pearl.diameter_mm**2 * pearl.length_mm * PEARL_DENSITY_G_PER_CM3 / 1000


def read_stock(text: str) -> tuple[Pearl, ...]:
    """Every pearl of a list such as "4 x 5.5, 2 x 6 x 4 button, 3 x 4 x 7 rice", one entry after the other.

    An entry is a diameter in mm, or a number of pearls times a diameter, maybe times a length along the
    hole. Entries stand on lines of their own or between commas or semicolons. Raises InputError.
    """
    pearls: list[Pearl] = []
    for number, entry in enumerate((e.strip() for e in re.split(r"[,;\n]", text)), start=1):
        if entry:
            pearls.extend(_entry(entry, number))
        if len(pearls) > MOST_PEARLS:
            raise InputError(f"stock of pearls: expected at most {MOST_PEARLS} pearls")
    return tuple(pearls)


def _entry(entry: str, number: int) -> list[Pearl]:
    found = _ENTRY.fullmatch(entry)
    if found is None:
        raise InputError(
            f'stock, entry {number} "{entry[:40]}": expected such as "4 x 5.5" or "2 x 6 x 4 button"'
        )
    shape = (found["shape"] or "round").lower()
    if shape not in SHAPES:
        raise InputError(f'stock, entry {number}: expected round, button or rice, got "{shape[:20]}"')
    count, diameter = int(found["count"] or 1), float(found["d"])
    length = float(found["l"]) if found["l"] else diameter
    if shape != "round" and not found["l"]:
        raise InputError(
            f'stock, entry {number} "{entry[:40]}": expected number x diameter x length for a {shape}'
        )
    if not 1 <= count <= MOST_PEARLS:
        raise InputError(f"stock, entry {number}: expected 1 to {MOST_PEARLS} pearls, got {found['count']}")
    for what, size in (("diameter", diameter), ("length", length)):
        if not (isfinite(size) and 0.5 <= size <= 50):
            raise InputError(f"stock, entry {number}: expected a {what} of 0.5 to 50 mm, got {size:g} mm")
    kind = next(s for s in SHAPES if s == shape)
    return [Pearl(diameter, length, kind)] * count


def choose_pearls(
    rooms_mm: Sequence[float], stock: Sequence[Pearl], match_mm: float = MATCH_MM, in_each: int = 1
) -> tuple[tuple[Pearl, ...], ...]:
    """Pearls for bays in their order along the form, `in_each` of them, () for a bay left empty.

    Bays as far from both ends get pearls of one shape that differ by no more than `match_mm`; towards the
    ends pearls never get larger. As many bays as can be are filled, with the largest pearls that do it.
    `rooms_mm` are the diameters of ball that fit. One sort, and a table of bays by pearls.
    """
    if not match_mm >= 0:
        raise InputError(f"matched pairs: expected a difference of 0 mm or more, got {match_mm:g} mm")
    if in_each not in (1, 2):
        raise InputError(f"pearls in a bay: expected 1 or 2, got {in_each}")
    steps = _steps_out(rooms_mm, in_each)
    best: list[tuple[Pearl, ...]] = [() for _ in rooms_mm]
    for shape in SHAPES:
        ranked = sorted((p for p in stock if p.shape == shape), key=lambda p: (-p.room_mm, -p.diameter_mm))
        found: list[tuple[Pearl, ...]] = [() for _ in rooms_mm]
        for step, at in _graded(steps, ranked, match_mm):
            for number, bay in enumerate(step.bays):
                first = at + number * in_each
                found[bay] = tuple(ranked[first : first + in_each])
        best = max(best, found, key=_worth)
    return tuple(best)


def _worth(chosen: Sequence[tuple[Pearl, ...]]) -> tuple[int, float]:
    return sum(bool(bay) for bay in chosen), sum(p.room_mm for bay in chosen for p in bay)


class _Step(Value, frozen=True):
    """One step from the middle out: the bay or two bays there, the room they have, the pearls they need."""

    bays: tuple[int, ...]
    room_mm: float
    needed: int


def _steps_out(rooms_mm: Sequence[float], in_each: int) -> list[_Step]:
    steps = []
    for left in reversed(range((len(rooms_mm) + 1) // 2)):
        bays = tuple(sorted({left, len(rooms_mm) - 1 - left}))
        steps.append(_Step(bays, min(rooms_mm[bay] for bay in bays), in_each * len(bays)))
    return steps


def _graded(steps: Sequence[_Step], ranked: Sequence[Pearl], match_mm: float) -> list[tuple[_Step, int]]:
    """The steps filled, each with the first of its pearls; later steps take pearls further down the ranks.

    Worth is counted in bays filled, then in mm of pearl. The row of a step holds the most that it and the
    later ones are worth when the pearls before a place are used or passed by.
    """
    sizes = [pearl.room_mm for pearl in ranked]
    sums = [0.0, *accumulate(sizes)]
    rows = [[(0, 0.0)] * (len(sizes) + 1)]
    for step in reversed(steps):
        later, row = rows[-1], [(0, 0.0)] * (len(sizes) + 1)
        for at in reversed(range(len(sizes))):
            row[at] = max(later[at], row[at + 1])
            if _fit(sizes, at, step, match_mm):
                count, total = later[at + step.needed]
                worth = (count + len(step.bays), total + sums[at + step.needed] - sums[at])
                row[at] = max(row[at], worth)
        rows.append(row)
    filled, at = [], 0
    for number, step in enumerate(steps):
        row, later = rows[len(steps) - number], rows[len(steps) - number - 1]
        while at < len(sizes) and row[at] != later[at] and row[at] == row[at + 1]:
            at += 1
        if at < len(sizes) and row[at] != later[at]:
            filled.append((step, at))
            at += step.needed
    return filled


def _fit(sizes: Sequence[float], at: int, step: _Step, match_mm: float) -> bool:
    last = at + step.needed - 1
    if last >= len(sizes) or sizes[at] > step.room_mm + _ROUNDING_MM:
        return False
    return sizes[at] - sizes[last] <= match_mm + _ROUNDING_MM


def binding_wire_mm(through_mm: float, frame_mm: float, binding: Binding) -> float:
    """Wire that binds pearls with this much hole between two sides of a frame as wide as `frame_mm`.

    Passes go straight through; a wrap is pi (frame + gauge), its middle line round a round frame; beads are
    balls of the same metal. Raises InputError for sizes that cannot be.
    """
    if not (through_mm > 0 and frame_mm > 0 and binding.gauge_mm > 0):
        raise InputError("binding wire: expected sizes above 0 mm")
    if binding.passes < 1 or binding.wraps < 0:
        raise InputError("binding wire: expected 1 pass or more, and 0 wraps or more")
    wrapped = 2 * binding.wraps * pi * (frame_mm + binding.gauge_mm)
    beads = 2 * float(bead_wire_length_mm(binding.bead_mm, binding.gauge_mm)) if binding.bead_mm else 0.0
    return binding.passes * through_mm + wrapped + beads
