"""A flat form rolled on its mandrel: the size it closes to, how long it must be, and where it comes to lie.

The underside of what lies on the mandrel follows its surface. The middle of the wire's height h runs h/2
outside: while the inside goes on by du and turns by dphi, the band goes on by du + h/2 dphi [derived]. The
direction turns once round, so the band is as long as the inside and pi times the mean of h over the turning:
on an oval what lies at its sharp ends counts for more. Where h changes along the band it is followed place by
place.
"""

from __future__ import annotations

from functools import cached_property
from math import inf, pi
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.oval import Oval, round_table
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]

# Cells along the band at whose middles heights are looked up.
_CELLS = 2_000
# Band and inside, one from the other: each time nearer by the height's slope times height over radius.
_MOST_TIMES, _NEAR_MM = 40, 1e-9


class Band(Result, frozen=True):
    """The flat form as it goes round: its length and the greatest height at even steps along it, mm.

    `lap_mm` is how far its ends lie over each other once worn: what the catch takes up, less the gap left.
    """

    length_mm: float
    height_mm: FloatArray
    lap_mm: float

    @property
    def round_mm(self) -> float:
        """The length once round, along the middle of the wire's height."""
        return self.length_mm - self.lap_mm

    def height_at(self, share: FloatArray) -> FloatArray:
        """Height by the share of the round from the opening; beside the ends it is theirs."""
        along = self.lap_mm / 2 + share * self.round_mm
        middles = (np.arange(len(self.height_mm)) + 0.5) / len(self.height_mm) * self.length_mm
        return np.asarray(np.interp(along, middles, self.height_mm))


def band_of(evaluation: Evaluation, gap_mm: float = 0.0) -> Band:
    """The form laid level, with this gap between its ends (negative: overlap).

    Where several parts of the wire lie across one place of the band the highest one bears on the mandrel.
    Crossings count once: the part over bends over the part under it.
    """
    return Band(evaluation.envelope_mm[0], _highest_mm(evaluation), caught_mm(evaluation) - gap_mm)


def _highest_mm(evaluation: Evaluation) -> FloatArray:
    """The greatest height of the wire at the middles of equal cells along the band."""
    x, h = evaluation.trace.z_mm.real, evaluation.samples.height_mm
    x0, _, x1, _ = evaluation.outline.bounds_mm
    if not x1 > x0:
        return np.array([float(np.max(h))])
    place = (x - x0) / (x1 - x0) * _CELLS - 0.5
    low, high = np.minimum(place[:-1], place[1:]), np.maximum(place[:-1], place[1:])
    first = np.ceil(low).astype(np.int64)
    count = np.floor(high).astype(np.int64) - first + 1
    step = np.repeat(np.arange(len(count)), count)
    cell = np.arange(len(step)) - np.repeat(np.cumsum(count) - count, count) + first[step]
    share = (cell - place[step]) / np.where(place[1:] == place[:-1], 1.0, place[1:] - place[:-1])[step]
    highest = np.zeros(_CELLS)
    np.maximum.at(highest, cell, h[step] + share * np.diff(h)[step])
    covered = np.flatnonzero(highest > 0)
    if not len(covered):
        return np.array([float(np.max(h))])
    return np.interp(np.arange(_CELLS), covered, highest[covered])


def caught_mm(evaluation: Evaluation) -> float:
    """How far the two ends lie over each other once caught, mm; 0 where they do not catch each other.

    Pulled tight the wire of one bears on the inside of the other: they share both their thicknesses. A hook
    goes into an eye, or into its fellow.
    """
    start, finish = evaluation.ends
    caught = {start.catches, finish.catches} in ({"hook", "eye"}, {"hook"})
    return start.catch_wire_mm + finish.catch_wire_mm if caught else 0.0


def _rolled_up(band: Band, aspect: float, inside_mm: float | None) -> tuple[float, FloatArray]:
    """The inside circumference, and the band's own place (mm from the opening) at each step round it.

    With `inside_mm` the band is stretched, its heights with it, until it closes to that inside.
    """
    table = round_table(aspect)
    steps = np.diff(table.turned_rad) / 4
    along, within = table.share * band.round_mm, inside_mm or band.round_mm
    for _ in range(_MOST_TIMES):
        height = band.height_at(along / along[-1])
        outside = np.concatenate(([0.0], np.cumsum((height[1:] + height[:-1]) * steps)))
        if inside_mm is None:
            within = band.round_mm - float(outside[-1])
        before, along = along, table.share * within + outside
        if float(np.max(np.abs(along - before))) < _NEAR_MM:
            break
    return within, along


def inside_of_rolled_mm(evaluation: Evaluation, gap_mm: float = 0.0, aspect: float = 1.0) -> float:
    """Inner circumference of the form rolled up with this gap between its ends (negative: overlap), mm."""
    band = band_of(evaluation, gap_mm)
    if band.round_mm <= 0:
        return band.round_mm
    return _rolled_up(band, aspect, None)[0]


def length_needed_mm(
    evaluation: Evaluation, inside_mm: float, gap_mm: float = 0.0, aspect: float = 1.0
) -> float:
    """How long the flat form must be, end to end and laid level, to close to an inner circumference, mm."""
    band = band_of(evaluation, gap_mm)
    return inside_mm + pi * _mean_height_mm(band, inside_mm, aspect) + band.lap_mm


def height_on_mandrel_mm(evaluation: Evaluation, inside_mm: float = inf, aspect: float = 1.0) -> float:
    """Mean height of the wire, out of the plane of the form, where it turns on a mandrel so far round, mm."""
    return _mean_height_mm(band_of(evaluation), inside_mm, aspect)


def _mean_height_mm(band: Band, inside_mm: float, aspect: float) -> float:
    if not 0 < inside_mm < inf or band.round_mm <= 0:
        return float(np.mean(band.height_mm))
    return float(_rolled_up(band, aspect, inside_mm)[1][-1] - inside_mm) / pi


def inside_as_laid_mm(evaluation: Evaluation) -> float:
    """Inside round of a form bent round in its own plane, from mark to mark, its opening closed, mm.

    The inner edge is the centreline less half the width times the turn; the opening is closed by an arc
    that turns what is left of a full round. A hoop's is exactly pi times its inside diameter.
    """
    trace, chain = evaluation.own_trace, evaluation.chain
    begin, end = trace.first[chain.spans.start], trace.first[chain.spans.stop]
    turn = float(np.sum(chain.turn_rad[chain.spans]) + np.sum(chain.corner_rad[chain.spans][1:]))
    side = 1.0 if turn >= 0 else -1.0
    along, z = trace.direction[begin:end], trace.z_mm[begin:end]
    width = evaluation.samples.plan_width_mm[begin:end]
    turned = np.angle(along[1:] / along[:-1])
    lost = float(np.sum(turned * side * (width[1:] + width[:-1]) / 4))
    inner = z + 0.5j * side * width * along
    closing_mm = _closing_mm(float(abs(inner[-1] - inner[0])), 2 * pi - side * turn)
    return evaluation.finished_length_mm - lost + closing_mm


def _closing_mm(chord_mm: float, turn_rad: float) -> float:
    """Length of the arc over a chord that turns so far; the chord itself where no arc does."""
    half = turn_rad / 2
    return chord_mm * half / float(np.sin(half)) if 1e-9 < half < pi / 2 else chord_mm


class Rolled(Result, frozen=True):
    """A form rolled to its oval: where each place along it lies seen from above."""

    inside: Oval
    band: Band

    @cached_property
    def _along_mm(self) -> FloatArray:
        return _rolled_up(self.band, self.inside.aspect, self.inside.circumference_mm)[1]

    def share_at(self, along_mm: FloatArray) -> FloatArray:
        """Share of the way round the inside, from the opening, of places along the band; any shape.

        Below 0 and above 1 the ends lap over.
        """
        along, share = self._along_mm, round_table(self.inside.aspect).share
        place = along_mm - self.band.lap_mm / 2
        times = np.floor(place / along[-1])
        return np.asarray(times + np.interp(place - times * along[-1], along, share))

    def at(self, along_mm: FloatArray, out_mm: FloatArray | float = 0.0) -> NDArray[np.complex128]:
        """Places along the band (0 at its start) seen from above, so far out from the mandrel; any shape."""
        return self.inside.at(self.share_at(along_mm), out_mm)


def rolled(evaluation: Evaluation, aspect: float = 1.0, gap_mm: float = 0.0) -> Rolled:
    """The form rolled up. Raises `InputError` when it is too short to close."""
    band = band_of(evaluation, gap_mm)
    return Rolled(Oval(inside_of_rolled_mm(evaluation, gap_mm, aspect), aspect), band)
