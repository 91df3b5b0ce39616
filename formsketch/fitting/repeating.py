"""A run as a row of repeats: where it ends for any count and grading, and the counts and gradings for an end.

Each repeat is laid by the same motion as the one before, seen from its other side where the row turns over,
so that the row's end is a sum of one step for each repeat. A repeat's size is 1 - (1 - ends_scale) x^2,
x from -1 to 1 along the row: the end is linear in `ends_scale`.
"""

from __future__ import annotations

from contextlib import suppress
from functools import cached_property

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.design.model import MOST_REPEATS, Design, Form
from formsketch.design.run_edits import gather_repeats, set_ends_scale, set_times
from formsketch.design.transforms import repeat_scales
from formsketch.errors import EditRefused
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.geometry.chain import Chain, chain_of
from formsketch.geometry.spans import span_points
from formsketch.values import Result

# A row that turns over comes near its line at every second repeat only.
_LOOK_AHEAD = 2
# Gradings are kept to this many places.
_GRADING_PLACES = 2


class RepeatRow(Result, frozen=True):
    """A run of a design as a row, in the wire's own frame.

    `design` has the row as a repeated run, gathered where it was free spans that repeat. `begin` is the
    number of the row's first span and so of its first mark, `motif` how many spans a repeat has. `step_mm`
    is how far each repeat reaches at its written size, shape (`MOST_REPEATS`,).
    """

    design: Design
    run: int
    begin: int
    motif: int
    begin_mm: complex
    step_mm: NDArray[np.complex128]

    @property
    def times(self) -> int:
        return self.design.form.runs[self.run].times

    @property
    def ends_scale(self) -> float:
        return self.design.form.runs[self.run].ends_scale

    @cached_property
    def end_mm(self) -> NDArray[np.complex128]:
        """Where the row ends with 1, 2, ... repeats; shape (`MOST_REPEATS`,)."""
        if self.ends_scale == 1.0:
            return np.asarray(self.begin_mm + np.cumsum(self.step_mm))
        sizes = (repeat_scales(times, self.ends_scale) for times in range(1, MOST_REPEATS + 1))
        return self.begin_mm + np.array([np.dot(size, self.step_mm[: len(size)]) for size in sizes])

    def times_at(self, target_mm: complex, now: int) -> int:
        """The count that brings the row's end nearest to a target, going on from the count as it is now."""
        away = np.abs(self.end_mm - target_mm)
        for _ in range(MOST_REPEATS):
            near = range(max(1, now - _LOOK_AHEAD), min(MOST_REPEATS, now + _LOOK_AHEAD) + 1)
            best = min(near, key=lambda n: (away[n - 1], abs(n - now)))
            if best == now:
                break
            now = best
        return now

    def ends_scale_at(self, target_mm: complex) -> float:
        """The grading that brings the row's end nearest to a target, to a hundredth.

        Raises `EditRefused` for a single repeat, which has no ends, and for a row that ends where it begins.
        """
        if self.times == 1:
            raise EditRefused("One repeat alone cannot be graded; drag without Shift for more.")
        fall = 1 - np.array(repeat_scales(self.times, 0.0))
        steps = self.step_mm[: self.times]
        way = complex(np.dot(fall, steps))
        if abs(way) < 1e-6 * float(np.sum(np.abs(steps))):
            raise EditRefused("This row closes on itself: its end does not say how it is graded.")
        middle = self.begin_mm + complex(np.dot(1 - fall, steps))
        return round(((target_mm - middle) / way).real, _GRADING_PLACES)

    def with_times(self, times: int) -> Pulled:
        """The row of so many repeats; its beginning stays, what follows it comes along."""
        return Pulled(set_times(self.design, self.run, times), self.begin)

    def with_ends_scale(self, ends_scale: float) -> Pulled:
        """The row graded so; its beginning stays, what follows it comes along."""
        return Pulled(set_ends_scale(self.design, self.run, ends_scale), self.begin)

    def span_within(self, span: int, times: int) -> int:
        """The span, or its like in the last repeat where the row has fewer than it takes."""
        repeat, index = divmod(span - self.begin, self.motif)
        return self.begin + min(repeat, times - 1) * self.motif + index


def row_of(wire: WireInHand, span: int) -> RepeatRow:
    """The row that a span is part of: its run, gathered into repeats where it can be."""
    number = wire.address(span).run
    design = wire.design
    if design.form.runs[number].times == 1:
        # Where nothing repeats in it the whole run is what is repeated.
        with suppress(EditRefused):
            design = gather_repeats(design, number)
    motif = len(design.form.runs[number].spans)
    first = int(np.flatnonzero(wire.chain.run == number)[0])
    begin = first - wire.chain.spans.start
    twice = replace(design.form.runs[number], times=2, ends_scale=1.0)
    two = chain_of(Form(runs=(twice,)), design.wire.diameter_mm)
    steps = _steps(two, motif)
    if wire.chain.side[first] * two.side[0] < 0:
        steps = np.conj(steps)
    along = np.exp(1j * wire.heading_from_rad(begin))
    return RepeatRow(design, number, begin, motif, wire.mark_mm(begin), along * steps)


def _steps(two: Chain, motif: int) -> NDArray[np.complex128]:
    """How far each repeat reaches, the first beginning along +x, from the chain of two."""
    heading = two.heading_rad
    moves = np.array(
        [
            np.exp(1j * angle) * span_points(length, turn, skew, 1.0)[0]
            for angle, length, turn, skew in zip(
                heading, two.length_mm, two.turn_rad, two.skew_rad, strict=True
            )
        ]
    )
    ends_rad = heading + two.turn_rad
    first_rad, side = float(ends_rad[motif - 1]), float(two.side[motif - 1])
    # The motion of a repeat from the end of the one before it, where that lies unturned.
    step = complex(np.sum(moves[motif:])) * np.exp(-1j * first_rad)
    turn, over = side * (float(ends_rad[-1]) - first_rad), side * float(two.side[-1])
    sides = side * over ** np.arange(MOST_REPEATS - 1)
    before_rad = first_rad + np.concatenate(([0.0], np.cumsum(sides * turn)[:-1]))
    step = step if side > 0 else step.conjugate()
    later = np.exp(1j * before_rad) * np.where(sides > 0, step, step.conjugate())
    return np.concatenate(([np.sum(moves[:motif])], later))
