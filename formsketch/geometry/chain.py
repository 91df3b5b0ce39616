"""A form written out: its runs expanded, its turned-over parts turned, as arrays over the wire's parts.

A *part* is a span, or a piece of an end (the arc of a hook, a taper). Parts stand in the order of the
wire, those of the start end first, seen from start to finish.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from formsketch.design.model import Flare, Form
from formsketch.design.transforms import read_back, repeat_scales
from formsketch.values import Result, Value

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
# Less turning than this over a whole span is a straight wire to any bench.
STRAIGHT_TURN_RAD = 1e-9


class EndPart(Value, frozen=True):
    """A piece of an end, seen looking outward from the mark: it begins at the mark or the part before.

    Lengths in mm, angles in radians, left positive; the wire is round, its diameter linear along the part,
    unless it is hammered to a `flare`. `stock_mm` is the straight wire it is made from. `foreshortening` is
    for wire twisted out of the plane about the direction in which the twist begins: in plan it reaches that
    much of its way to the side (the cosine of the twist; 1 for none).
    """

    length_mm: float
    turn_rad: float
    corner_rad: float
    diameter_from_mm: float
    diameter_to_mm: float
    stock_mm: float | None = None
    flare: Flare | None = None
    foreshortening: float = 1.0


class Chain(Result, frozen=True):
    """The parts of a form as arrays of shape (parts,), with where each was written.

    `turn_rad`, `skew_rad` and `corner_rad` are as laid, turning over applied. `run`, `index` and `repeat`
    say where a span is written; they are -1 for parts of an end. `flare` indexes `flares`, -1 for none.
    Spans are the parts `spans.start` to `spans.stop`. `side` is -1 where the wire lies turned over.
    `foreshortening` is not 1 where an end is twisted out of the plane: turns and lengths are those of the
    wire, in plan it reaches only that much of its way to the side.
    """

    length_mm: FloatArray
    turn_rad: FloatArray
    skew_rad: FloatArray
    corner_rad: FloatArray
    side: FloatArray
    run: IntArray
    index: IntArray
    repeat: IntArray
    repeat_scale: FloatArray
    flare: IntArray
    flares: tuple[Flare, ...]
    diameter_from_mm: FloatArray
    diameter_to_mm: FloatArray
    foreshortening: FloatArray
    spans: slice

    @property
    def part_count(self) -> int:
        return len(self.length_mm)

    @property
    def heading_rad(self) -> FloatArray:
        """Direction at the beginning of each part, the first span beginning along +x; shape (parts,)."""
        before = np.concatenate(([0.0], np.cumsum(self.turn_rad)[:-1]))
        heading = before + np.cumsum(self.corner_rad)
        return np.asarray(heading - heading[self.spans.start])

    @property
    def sharpest_per_mm(self) -> FloatArray:
        """Largest curvature in each part, unsigned; shape (parts,)."""
        return np.asarray((np.abs(self.turn_rad) + np.abs(self.skew_rad)) / self.length_mm)


def chain_of(
    form: Form, diameter_mm: float, start: Sequence[EndPart] = (), finish: Sequence[EndPart] = ()
) -> Chain:
    """Write out a form in round wire of this diameter, with the parts of its two ends."""
    flares: dict[Flare, int] = {}
    blocks: list[FloatArray] = []
    side = 1.0
    for number, run in enumerate(form.runs):
        motif = np.array(
            [
                (
                    s.length_mm,
                    s.turn_deg,
                    s.skew_deg,
                    s.corner_deg,
                    s.turned_over,
                    _flare_number(s.flare, flares),
                )
                for s in run.spans
            ],
            dtype=float,
        )
        block, side = _written_out(motif, number, run.times, run.turned_over, run.ends_scale, side)
        blocks.append(block)
    spans = np.concatenate(blocks)
    spans[:, 1:4] *= spans[:, 4:5]
    spans[:, 1:4] = np.deg2rad(spans[:, 1:4])

    before = _end_rows(start, outward=False, side=float(spans[0, 4]), flares=flares)
    after = _end_rows(finish, outward=True, side=float(spans[-1, 4]), flares=flares)
    rows = np.concatenate((before[0], spans, after[0]))
    if len(start):
        # The sharp bend between the start end and the first span, and the first span's own.
        rows[len(start), 3] += -start[0].corner_rad * spans[0, 4]
    # Diameter where each part begins and where it ends, and its foreshortening.
    looks = np.full((len(rows), 3), (diameter_mm, diameter_mm, 1.0))
    looks[: len(start)] = before[1]
    looks[len(rows) - len(finish) :] = after[1]
    places = rows[:, 5:9].astype(np.int64)
    length, turn, skew, corner, sides = (np.ascontiguousarray(rows[:, i]) for i in range(5))
    return Chain(
        length_mm=length,
        turn_rad=turn,
        skew_rad=skew,
        corner_rad=corner,
        side=sides,
        run=places[:, 0],
        index=places[:, 1],
        repeat=places[:, 2],
        flare=places[:, 3],
        repeat_scale=np.ascontiguousarray(rows[:, 9]),
        flares=tuple(flares),
        diameter_from_mm=looks[:, 0],
        diameter_to_mm=looks[:, 1],
        foreshortening=looks[:, 2],
        spans=slice(len(start), len(start) + len(spans)),
    )


def _flare_number(flare: Flare | None, flares: dict[Flare, int]) -> int:
    return -1 if flare is None else flares.setdefault(flare, len(flares))


def _written_out(
    motif: FloatArray, run: int, times: int, run_turns_over: bool, ends_scale: float, side: float
) -> tuple[FloatArray, float]:
    """Rows of one run: length, turn, skew, corner, side, run, index, repeat, flare, repeat scale."""
    scales = np.array(repeat_scales(times, ends_scale))[:, None]
    turns = np.empty((times, len(motif)))
    turns[:] = np.where(motif[:, 4] != 0, -1.0, 1.0)
    if run_turns_over:
        turns[1:, 0] *= -1.0
    sides = side * np.cumprod(turns)
    rows = np.empty((times, len(motif), 10))
    rows[:, :, 0] = motif[:, 0] * scales
    rows[:, :, 1:4] = motif[:, 1:4]
    rows[:, :, 4] = sides.reshape(turns.shape)
    rows[:, :, 5] = run
    rows[:, :, 6] = np.arange(len(motif))
    rows[:, :, 7] = np.arange(times)[:, None]
    rows[:, :, 8] = motif[:, 5]
    rows[:, :, 9] = scales
    return rows.reshape(-1, 10), float(sides[-1])


def _end_rows(
    parts: Sequence[EndPart], outward: bool, side: float, flares: dict[Flare, int]
) -> tuple[FloatArray, FloatArray]:
    """Rows and looks of an end's parts in the wire's order; walked inward, sides change."""
    rows = np.zeros((len(parts), 10))
    looks = np.zeros((len(parts), 3))
    rows[:, 4] = side
    rows[:, 5:9] = -1
    rows[:, 9] = 1.0
    for place, part in enumerate(parts):
        at = place if outward else len(parts) - 1 - place
        sign = side if outward else -side
        flare = part.flare if outward else read_back(part.flare)
        rows[at, 0] = part.length_mm
        rows[at, 8] = _flare_number(flare, flares)
        rows[at, 1] = sign * part.turn_rad
        if outward:
            rows[at, 3] = sign * part.corner_rad
        elif at + 1 < len(parts):
            rows[at + 1, 3] = sign * part.corner_rad
        along = (part.diameter_from_mm, part.diameter_to_mm)
        looks[at] = (*(along if outward else along[::-1]), part.foreshortening)
    return rows, looks
