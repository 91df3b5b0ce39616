"""Openings in rows along the wire: how wide, how even, and which of them is off."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.true_sides import row_of_loops
from formsketch.geometry.openings import Opening
from formsketch.values import Result

FloatArray = NDArray[np.float64]

# Nearer than this a hammer or a polishing stick finds no way between: parts have come together.
TOGETHER_MM = 0.05
# So many openings make a row that one of them can be off; from so many on the row may swell and shrink.
_LEAST_ROW, _LEAST_SWELLING = 3, 5
_ROW_STEPS, _ROW_NEAR_MM = 30, 1e-4
# Less rise than this from sample to sample is level.
_LEVEL_MM = 1e-6


class Gap(Result, frozen=True):
    """An opening flat on the table and, where the piece is rolled, once rolled; None where it is not.

    `off_mm` is how much wider it is than an even row would have it; None where it stands in no row.
    """

    opening: Opening
    rolled_mm: float | None
    off_mm: float | None = None

    @property
    def touches_flat(self) -> bool:
        return self.opening.gap_mm == 0.0

    @property
    def comes_together(self) -> bool:
        """Clear on the table, and no longer so when rolled."""
        return self.rolled_mm is not None and self.rolled_mm < TOGETHER_MM <= self.opening.gap_mm


class Row(Result, frozen=True):
    """Openings of one kind along the wire: numbers of their gaps, mean, least, greatest, standard deviation.

    `tips` says that they are not openings but the ways from tip to tip of a zigzag. `off` is the number of
    the gap that departs most from an even row, None in a row too short to say.
    """

    gaps: tuple[int, ...]
    tips: bool
    mean_mm: float
    least_mm: float
    greatest_mm: float
    deviation_mm: float
    off: int | None


def in_rows(evaluation: Evaluation, gaps: list[Gap]) -> tuple[tuple[Gap, ...], tuple[Row, ...]]:
    """The gaps with how far each is off its row, and the rows, the longest first."""
    chain = evaluation.chain
    kinds: dict[tuple[int, ...], list[int]] = {}
    for number, gap in enumerate(gaps):
        parts = (gap.opening.part, gap.opening.other_part)
        own = all(chain.spans.start <= part < chain.spans.stop for part in parts)
        if own and not gap.touches_flat and parts[0] != parts[1]:
            kinds.setdefault(_kind(evaluation, *parts), []).append(number)
    rows = []
    tips: list[list[int]] = []
    if not row_of_loops(evaluation):
        for side in _tips(evaluation):
            tips.append(list(range(len(gaps), len(gaps) + len(side))))
            gaps += [Gap(one, None) for one in side]
    for numbers in [*kinds.values(), *tips]:
        sizes = np.array([gaps[n].opening.gap_mm for n in numbers])
        off_mm = off_even_mm(sizes) if numbers in tips or _is_a_row(evaluation, gaps, numbers) else None
        if off_mm is not None:
            for n, off in zip(numbers, off_mm.tolist(), strict=True):
                gaps[n] = Gap(gaps[n].opening, gaps[n].rolled_mm, off)
        rows.append(
            Row(
                tuple(numbers),
                numbers in tips,
                float(np.mean(sizes)),
                float(np.min(sizes)),
                float(np.max(sizes)),
                float(np.std(sizes)),
                None if off_mm is None else numbers[int(np.argmax(np.abs(off_mm)))],
            )
        )
    return tuple(gaps), tuple(sorted(rows, key=lambda row: -len(row.gaps)))


def _is_a_row(evaluation: Evaluation, gaps: list[Gap], numbers: list[int]) -> bool:
    """Whether openings were meant to be alike: between repeats, or loops by turns to one side and other."""
    chain, runs = evaluation.chain, evaluation.design.form.runs
    parts = np.array([(gaps[n].opening.part, gaps[n].opening.other_part) for n in numbers])
    if all(runs[run].times > 1 for run in np.unique(chain.run[parts])):
        return True
    turn = chain.turn_rad
    between = turn[np.minimum(parts[:, 0] + 1, chain.part_count - 1)]
    by_turns = (turn[parts[:, 0]] * between < 0) & (turn[parts[:, 1]] * between < 0)
    return bool(np.all((parts[:, 1] - parts[:, 0] == 2) & by_turns))


def _tips(evaluation: Evaluation) -> list[list[Opening]]:
    """The ways from each tip to the next on the same side, edge to edge: the upper ones, then the lower."""
    trace, spans = evaluation.trace, evaluation.chain.spans
    begin, end = int(trace.first[spans.start]), int(trace.first[spans.stop])
    z, width = trace.z_mm[begin:end], evaluation.samples.plan_width_mm[begin:end]
    step = np.diff(z.imag)
    rising = np.where(np.abs(step) > _LEVEL_MM, np.sign(step), 0.0)
    steps = np.flatnonzero(rising != 0)
    turns = steps[1:][rising[steps[1:]] != rising[steps[:-1]]]
    repeated = np.array([run.times > 1 for run in evaluation.design.form.runs])
    if repeated.any():
        turns = turns[repeated[evaluation.chain.run[trace.part[begin + turns]]]]
    sides = []
    for falls in (-1, 1):
        at = [int(i) for i in turns if rising[i] == falls]
        # A tip stands out from the one before it on the other side by more than the wire.
        pairs = [(i, j) for i, j in pairwise(at) if float(np.ptp(z.imag[i : j + 1])) > width[i]]
        if len(pairs) >= _LEAST_ROW:
            sides.append([_from_tip_to_tip(evaluation, begin + i, begin + j) for i, j in pairs])
    return sides


def _from_tip_to_tip(evaluation: Evaluation, sample: int, other: int) -> Opening:
    trace, widths = evaluation.trace, evaluation.samples.plan_width_mm
    places = [_top_of(trace.z_mm, at) for at in (sample, other)]
    first, last = (_between_samples(trace.z_mm, place) for place in places)
    half = [float(widths[at]) / 2 for at in (sample, other)]
    along = (last - first) / abs(last - first)
    parts = [int(trace.part[at]) for at in (sample, other)]
    gap_mm = abs(last - first) - sum(half)
    at_mm, other_at_mm = first + along * half[0], last - along * half[1]
    return Opening(gap_mm, at_mm, other_at_mm, places[0], places[1], parts[0], parts[1])


def _top_of(z_mm: NDArray[np.complex128], sample: int) -> float:
    """The place of the tip about the sample that reaches furthest: the vertex of a parabola through three."""
    if not 0 < sample < len(z_mm) - 1:
        return float(sample)
    y = z_mm.imag[sample - 1 : sample + 2] - z_mm.imag[sample]
    back, on = np.abs(np.diff(z_mm[sample - 1 : sample + 2]))
    if min(back, on) <= 0:
        return float(sample)
    slope = (y[2] * back / on - y[0] * on / back) / (back + on)
    bend = (y[2] / on + y[0] / back) / (back + on)
    beyond = 0.0 if bend == 0 else float(np.clip(-slope / (2 * bend), -back, on))
    return sample + (beyond / on if beyond >= 0 else beyond / back)


def _between_samples(z_mm: NDArray[np.complex128], place: float) -> complex:
    samples = np.arange(len(z_mm))
    return complex(np.interp(place, samples, z_mm.real), np.interp(place, samples, z_mm.imag))


def _kind(evaluation: Evaluation, part: int, other: int) -> tuple[int, ...]:
    """Openings of one kind lie between spans as far from each other, at the same places of a motif."""
    chain = evaluation.chain
    run = int(chain.run[part])
    motif = len(evaluation.design.form.runs[run].spans)
    times = evaluation.design.form.runs[run].times
    return (other - part, int(chain.index[part])) if times > 1 and motif > 1 else (other - part,)


def off_even_mm(sizes_mm: Sequence[float] | FloatArray) -> FloatArray | None:
    """How far each of a row is from an even row, which may swell and shrink by a parabola; None if too short.

    The parabola is the one from which the least is left over in sum, so that one that is off does not draw
    it to itself.
    """
    sizes = np.asarray(sizes_mm, dtype=float)
    if len(sizes) < _LEAST_ROW:
        return None
    if len(sizes) < _LEAST_SWELLING:
        return np.asarray(sizes - np.median(sizes))
    at = np.linspace(-1.0, 1.0, len(sizes))
    powers = np.stack((np.ones_like(at), at, at**2), axis=1)
    weight = np.ones_like(at)
    for _ in range(_ROW_STEPS):
        root = np.sqrt(weight)
        fitted = powers @ np.linalg.lstsq(powers * root[:, None], sizes * root, rcond=None)[0]
        weight = 1 / np.maximum(np.abs(sizes - fitted), _ROW_NEAR_MM)
    return np.asarray(sizes - fitted)
