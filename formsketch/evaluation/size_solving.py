"""The factor, or the count of repeats, that brings a piece to a size; every step a real evaluation.

Outward from the design as it is until the size wanted lies between two neighbours, then inward along
straight lines and by halving.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from formsketch.design.edits import change_run
from formsketch.design.model import MOST_REPEATS, Design, Worn
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.worn import reached_mm
from formsketch.units import length_text, percent_text
from formsketch.values import Result

# A size is reached when it is this near, and counts as reached already.
REACHED_MM = 0.005
# Steps outward: the first so much further by ratio, each next its power; as a rule to so many times.
_STEP, _GROWS, MOST_TIMES = 1.08, 1.4, 4.0
# Steps inward: along the straight line between the two ends, every so many-th to the middle.
_MOST_STEPS, _STEPS_TO_HALVE = 120, 3
# Counts on either side of the one that the size lies at, in case the last repeats lie differently.
_NEAR_COUNTS = 2

# Where in a file a fault is.
_PLACE = re.compile(r" \(\$[^)]*\)")

Change = Callable[[float], Design]
# A factor and how far beyond the size wanted it leads, mm.
_Tried = tuple[float, float]


class Piece(Result, frozen=True):
    """A design and how its size is taken."""

    design: Design
    worn: Worn

    def size_mm(self, evaluation: Evaluation) -> float:
        return reached_mm(evaluation, self.worn)

    def away_mm(self, design: Design, wanted_mm: float) -> tuple[float, Evaluation]:
        """How far the size of a design is beyond the one wanted."""
        evaluation = evaluate(design)
        return self.size_mm(evaluation) - wanted_mm, evaluation


def whole_repeats(design: Design, worn: Worn, run: int, wanted_mm: float) -> list[tuple[int, float]]:
    """Counts about the size wanted and the sizes they give, the nearest first and the fewer of two as near.

    Raises `EditRefused` where no count a form may have reaches so far.
    """
    piece, known = Piece(design, worn), dict[int, float]()

    def away(times: int) -> float:
        if times not in known:
            known[times] = piece.away_mm(change_run(design, run, times=times), wanted_mm)[0]
        return known[times]

    low, high = 1, 1
    while away(high) < 0:
        if high == MOST_REPEATS:
            raise EditRefused(f"Even {MOST_REPEATS:,} repeats do not reach {length_text(wanted_mm)}.")
        low, high = high, min(2 * high, MOST_REPEATS)
        try:
            away(high)
        except EditRefused:
            raise EditRefused(
                f"Reaching {length_text(wanted_mm)} takes more repeats than a form may have."
            ) from None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if away(middle) < 0 else (low, middle)
    near = range(max(1, low - _NEAR_COUNTS), min(MOST_REPEATS, high + _NEAR_COUNTS) + 1)
    return sorted(((n, away(n) + wanted_mm) for n in near), key=lambda one: (abs(one[1] - wanted_mm), one[0]))


def solved(
    change: Change,
    start: float,
    piece: Piece,
    wanted: float,
    what: str,
    limits: tuple[float, float] = (1 / MOST_TIMES, MOST_TIMES),
) -> tuple[float, Evaluation]:
    """The factor nearest to `start`, by ratio, that gives the size wanted, and the design so changed."""
    away, evaluation = piece.away_mm(change(start), wanted)
    if abs(away) < REACHED_MM:
        return start, evaluation
    low, high = _bracket(change, start, away, piece, wanted, what, limits)
    for step in range(_MOST_STEPS):
        middle = _between(low, high, halve=step % _STEPS_TO_HALVE == _STEPS_TO_HALVE - 1)
        away, evaluation = piece.away_mm(change(middle), wanted)
        if abs(away) < REACHED_MM / 50:
            break
        # The end that stays counts half (Illinois), so that it cannot stay for ever.
        if away * low[1] > 0:
            low, high = (middle, away), (high[0], high[1] / 2)
        else:
            low, high = (low[0], low[1] / 2), (middle, away)
    if abs(away) > REACHED_MM:
        raise EditRefused(
            f"The size jumps past {length_text(wanted)} as the {what} changes: the form is laid another way."
        )
    return middle, evaluation


def _between(low: _Tried, high: _Tried, halve: bool) -> float:
    """Where the straight line between two tries meets the size wanted, or half way."""
    if halve:
        return (low[0] + high[0]) / 2
    return (low[0] * high[1] - high[0] * low[1]) / (high[1] - low[1])


def _bracket(
    change: Change,
    start: float,
    away: float,
    piece: Piece,
    wanted: float,
    what: str,
    limits: tuple[float, float],
) -> tuple[_Tried, _Tried]:
    """Two neighbouring factors with the size wanted between them.

    Raises `EditRefused` where there are none, saying what comes nearest.
    """
    nearest, stopped = (away, start), ""
    # Upward and downward: where it is, how far beyond that is, and the next step.
    ways = dict.fromkeys((1, -1), (start, away, _STEP))
    while ways:
        for sign, (at, at_away, step) in list(ways.items()):
            beyond = min(max(at * step**sign, limits[0]), limits[1])
            if beyond == at:
                del ways[sign]
                continue
            try:
                beyond_away, _ = piece.away_mm(change(beyond), wanted)
            except FormSketchError as fault:
                if step > _STEP:
                    # Too far at once: on with small steps, as far as it goes.
                    ways[sign] = (at, at_away, _STEP)
                    continue
                if at == nearest[1]:
                    stopped = _in_words(fault)
                del ways[sign]
                continue
            if at_away * beyond_away <= 0:
                return (at, at_away), (beyond, beyond_away)
            nearest = min(nearest, (beyond_away, beyond), key=lambda one: abs(one[0]))
            ways[sign] = (beyond, beyond_away, step**_GROWS)
    size = nearest[0] + wanted
    told = "even there it is too short to close" if size <= 0 else f"the nearest is {length_text(size)}"
    beyond_it = f"; further, {stopped}" if stopped else ""
    at_most = f"at {percent_text(100 * nearest[1])} of what it is"
    raise EditRefused(f"No {what} gives {length_text(wanted)}: {told}, {at_most}{beyond_it}.")


def _in_words(fault: FormSketchError) -> str:
    """What stopped a change, to end a sentence with."""
    return _PLACE.sub("", str(fault)).removeprefix("Not possible: ").rstrip(".")
