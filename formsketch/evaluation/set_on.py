"""What is set on the wire of an evaluated form: pearls, stones and the quality mark, in place and weighed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from formsketch.design.model import Design, SetPearl, Stone
from formsketch.fitting.hanging import hangs_at_mm
from formsketch.fitting.pearls import binding_wire_mm, pearl_weight_g
from formsketch.fitting.quality_mark import MarkRoom, room_at
from formsketch.fitting.stones import CARAT_G, Seat, WirePlaces, seats_at, stone_ct
from formsketch.geometry.chain import FloatArray
from formsketch.geometry.edges_near import ComplexArray
from formsketch.geometry.outline import Disc
from formsketch.geometry.trace import Trace
from formsketch.values import Result, Value

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# A pearl is said to overlap the metal from here on; places are good to less.
OVERLAP_MM = 0.02


class PlacedPearl(Result, frozen=True):
    """A set pearl, its number from 0, where it lies in plan: middle and unit way of its hole, x + iy."""

    on: SetOn
    number: int
    at_mm: complex
    hole: complex

    @property
    def pearl(self) -> SetPearl:
        return self.on.design.pearls[self.number]

    @property
    def clear_mm(self) -> float:
        """From its ball, however it lies, to the nearest metal, negative where they overlap."""
        return float(self.on.pearls_clear_mm[self.number])


class Tie(Value, frozen=True):
    """One binding wire: its pearls by number from 0, and the two places where it is tied to the frame.

    Places on the straight wire are from the start end of the cut wire, those along the form from the start
    mark. `path_mm` is its way in plan, from tie to tie through the holes, x + iy. `wire_mm` is the binding
    wire to cut.
    """

    pearls: tuple[int, ...]
    marks_mm: tuple[float, float]
    along_mm: tuple[float, float]
    path_mm: tuple[complex, ...]
    wire_mm: float


class PlacedStone(Value, frozen=True):
    """A set stone, its seat, the way the wire runs there (rad in plan), and its weight in carat."""

    stone: Stone
    seat: Seat
    heading_rad: float
    carat: float


class SetOn:
    """All that is set on one form, as it is laid; each number is worked out when it is first asked for."""

    def __init__(self, evaluation: Evaluation, laid: Trace | None = None) -> None:
        self._evaluation, self._laid = evaluation, laid or evaluation.trace

    @property
    def design(self) -> Design:
        return self._evaluation.design

    @cached_property
    def wire(self) -> WirePlaces:
        """The wire that it is set on."""
        # Imported here: what is set on nothing needs none, and commands start faster without.
        from formsketch.evaluation.bays import wire_places

        return wire_places(self._evaluation, self._laid)

    # --- pearls

    @cached_property
    def pearls(self) -> tuple[PlacedPearl, ...]:
        """The pearls in their order."""
        pearls = self.design.pearls
        if not pearls:
            return ()
        at, hole = hangs_at_mm(self.wire, pearls)
        return tuple(
            PlacedPearl(self, number, complex(z), complex(way))
            for number, (z, way) in enumerate(zip(at, hole, strict=True))
        )

    @cached_property
    def pearls_clear_mm(self) -> FloatArray:
        """How far each pearl's ball is clear of the metal, negative where they overlap; shape (pearls,)."""
        rooms = np.array([max(p.pearl.diameter_mm, p.pearl.length_mm) for p in self.pearls])
        return self.clear_mm(np.array([p.at_mm for p in self.pearls])) - rooms / 2

    def clear_mm(self, at_mm: ComplexArray) -> FloatArray:
        """From places in plan to the nearest metal, negative inside it; to about 0.01 mm."""
        e, laid = self._evaluation, self._laid
        half = np.asarray(e.samples.plan_width_mm) / 2
        return _clear_mm(at_mm, laid, half, e.discs_on(laid))

    @cached_property
    def ties(self) -> tuple[Tie, ...]:
        """The binding wires, one for all pearls that hang between the same two places."""
        together: dict[tuple[float, float], list[int]] = {}
        for number, pearl in enumerate(self.design.pearls):
            together.setdefault((pearl.from_share, pearl.to_share), []).append(number)
        return tuple(self._tie(shares, numbers) for shares, numbers in together.items())

    def _tie(self, shares: tuple[float, float], numbers: list[int]) -> Tie:
        e = self._evaluation
        along = np.array(shares) * float(self.wire.finished_mm[-1])
        first, last = (complex(z) for z in self.wire.z_at(along))
        half = self.wire.at(along, self.wire.plan_width_mm) / 2
        marks = self.wire.at(along, self.wire.stock_mm)
        path = [first]
        for placed in sorted((self.pearls[n] for n in numbers), key=lambda placed: placed.pearl.along):
            reach = placed.hole * placed.pearl.length_mm / 2
            path += [placed.at_mm - reach, placed.at_mm + reach]
        path.append(last)
        holes = sum(self.pearls[n].pearl.length_mm for n in numbers)
        # From the edge of the frame to its other edge; no less than the holes where pearls stand out.
        through = max(holes, float(np.sum(np.abs(np.diff(path))) - half.sum()))
        return Tie(
            tuple(numbers),
            (float(marks[0]), float(marks[1])),
            (float(along[0]), float(along[1])),
            tuple(path),
            binding_wire_mm(through, e.diameter_mm, self.design.binding),
        )

    @cached_property
    def binding_mm(self) -> float:
        """All binding wire."""
        return sum(tie.wire_mm for tie in self.ties)

    @cached_property
    def pearls_g(self) -> float:
        """Pearls at 2.7 g/cm3, holes not taken off (common practice)."""
        return sum(pearl_weight_g(pearl) for pearl in self.design.pearls)

    # --- stones

    @cached_property
    def stones(self) -> tuple[PlacedStone, ...]:
        """The stones in their order along the wire."""
        stones = sorted(self.design.stones, key=lambda stone: stone.at_share)
        if not stones:
            return ()
        along = np.array([stone.at_share for stone in stones]) * float(self.wire.finished_mm[-1])
        seats = seats_at(self.wire, along, np.array([stone.seat_mm for stone in stones]))
        headings = self.wire.at(along, self.wire.heading_rad)
        return tuple(
            PlacedStone(stone, seat, float(heading), stone_ct(stone))
            for stone, seat, heading in zip(stones, seats, headings, strict=True)
        )

    @property
    def seats_taken_mm(self) -> tuple[tuple[float, float], ...]:
        """From where to where along the form each seat stands."""
        return tuple(
            (s.seat.finished_mm - s.stone.seat_mm / 2, s.seat.finished_mm + s.stone.seat_mm / 2)
            for s in self.stones
        )

    @cached_property
    def stones_ct(self) -> float:
        """All stones, carat."""
        return sum(stone_ct(stone) for stone in self.design.stones)

    @property
    def stones_g(self) -> float:
        return CARAT_G * self.stones_ct

    # --- the mark, and all together

    @cached_property
    def mark(self) -> MarkRoom | None:
        """Where the quality mark goes and what is to spare across it, None where no place is kept for one."""
        mark = self.design.quality_mark
        return None if mark is None else room_at(self.wire, mark.at_share, mark.wide_mm, mark.long_mm)

    @cached_property
    def mark_corners_mm(self) -> tuple[complex, ...]:
        """The corners of the mark in plan, none where there is none."""
        room, mark = self.mark, self.design.quality_mark
        if room is None or mark is None:
            return ()
        return room.corners_mm(mark.wide_mm, mark.long_mm)

    @property
    def mark_stock_mm(self) -> tuple[float, float]:
        """From where to where the mark reaches on the straight wire; twice 0 where there is none."""
        room, mark = self.mark, self.design.quality_mark
        if room is None or mark is None:
            return 0.0, 0.0
        along = room.finished_mm + np.array([-0.5, 0.5]) * mark.long_mm
        first, last = self.wire.at(along, self.wire.stock_mm)
        return float(first), float(last)

    @property
    def is_weighed(self) -> bool:
        """Whether anything set weighs something beside the metal."""
        return bool(self.design.pearls or self.design.stones)

    @property
    def weight_g(self) -> float:
        """The piece with its pearls and stones; heads, tubes and binding wire are not counted."""
        return self._evaluation.weight_g + self.pearls_g + self.stones_g


def _clear_mm(at_mm: ComplexArray, trace: Trace, half_mm: FloatArray, discs: Sequence[Disc]) -> FloatArray:
    """Distance of places from a wire's edges, end faces and discs; inside minus as deep as they lie."""
    line, across = trace.z_mm, 1j * trace.direction * half_mm
    faces = np.array([[z + a, z - a] for z, a in ((line[0], across[0]), (line[-1], across[-1]))])
    edges = [line + across, line - across, *faces]
    begin = np.concatenate([edge[:-1] for edge in edges])
    step = np.concatenate([np.diff(edge) for edge in edges])
    inner = np.diff(line)
    found = np.empty(len(at_mm))
    for number, at in enumerate(at_mm.tolist()):
        share = np.clip(_share(at, begin, step), 0.0, 1.0)
        nearest = float(np.min(np.abs(begin + share * step - at)))
        share = _share(at, line[:-1], inner)
        depth = np.abs(line[:-1] + share * inner - at) - (half_mm[:-1] + share * np.diff(half_mm))
        inside = depth[(share >= 0) & (share <= 1) & (depth < 0)]
        if len(inside):
            nearest = float(np.min(inside))
        for disc in discs:
            nearest = min(nearest, abs(disc.centre_mm - at) - disc.radius_mm)
        found[number] = nearest
    return found


def _share(at_mm: complex, begin_mm: ComplexArray, step_mm: ComplexArray) -> FloatArray:
    """How far along each step, as a share of it, a place lies."""
    return np.asarray(((at_mm - begin_mm) * step_mm.conj()).real / np.maximum(np.abs(step_mm) ** 2, 1e-18))
