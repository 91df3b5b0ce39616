"""The factor, or the count of repeats, that brings a piece to a size; every step a real evaluation.

Outward from the design as it is until the size wanted lies between two neighbours, then by halving.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from formsketch.design.edits import change_run
from formsketch.design.model import MOST_REPEATS, Design, Worn
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.worn import reached_mm
from formsketch.units import length_text, percent_text

# A size is reached when it is this near, and counts as reached already.
REACHED_MM = 0.005
# Steps outward: each this much further, as a rule to so many times what it is now.
_STEP, MOST_TIMES = 1.08, 4.0
_MOST_HALVINGS = 60
# Counts on either side of the one that the size lies at, in case the last repeats lie differently.
_NEAR_COUNTS = 2

# Where in a file a fault is.
_PLACE = re.compile(r" \(\$[^)]*\)")

Change = Callable[[float], Design]


@dataclass(frozen=True, eq=False)
class Piece:
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
    found = _bracket(change, start, away, piece, wanted, what, limits)
    low, low_away, high = found
    for _ in range(_MOST_HALVINGS):
        middle = (low + high) / 2
        away, evaluation = piece.away_mm(change(middle), wanted)
        if abs(away) < REACHED_MM / 50:
            break
        low, low_away, high = (middle, away, high) if away * low_away > 0 else (low, low_away, middle)
    if abs(away) > REACHED_MM:
        raise EditRefused(
            f"The size jumps past {length_text(wanted)} as the {what} changes: the form is laid another way."
        )
    return middle, evaluation


def _bracket(
    change: Change,
    start: float,
    away: float,
    piece: Piece,
    wanted: float,
    what: str,
    limits: tuple[float, float],
) -> tuple[float, float, float]:
    """Two neighbouring factors with the size wanted between them, the first with its distance.

    Raises `EditRefused` where there are none, saying what comes nearest.
    """
    nearest, stopped = (away, start), ""
    ways = dict.fromkeys((_STEP, 1 / _STEP), (start, away))
    while ways:
        for factor, (at, at_away) in list(ways.items()):
            beyond = min(max(at * factor, limits[0]), limits[1])
            if beyond == at:
                del ways[factor]
                continue
            try:
                beyond_away, _ = piece.away_mm(change(beyond), wanted)
            except FormSketchError as fault:
                if at == nearest[1]:
                    stopped = _in_words(fault)
                del ways[factor]
                continue
            if at_away * beyond_away <= 0:
                return at, at_away, beyond
            nearest = min(nearest, (beyond_away, beyond), key=lambda one: abs(one[0]))
            ways[factor] = (beyond, beyond_away)
    size = nearest[0] + wanted
    told = "even there it is too short to close" if size <= 0 else f"the nearest is {length_text(size)}"
    beyond_it = f"; further, {stopped}" if stopped else ""
    at_most = f"at {percent_text(100 * nearest[1])} of what it is"
    raise EditRefused(f"No {what} gives {length_text(wanted)}: {told}, {at_most}{beyond_it}.")


def _in_words(fault: FormSketchError) -> str:
    """What stopped a change, to end a sentence with."""
    return _PLACE.sub("", str(fault)).removeprefix("Not possible: ").rstrip(".")
