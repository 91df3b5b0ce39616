"""Solve for the wire, or the size, that keeps a quantity while something else changes.

Ends with fixed sizes (beads, hooks, posts) make weight and proportion no pure powers of the wire, so the
quantity is measured anew at every step. The search looks over the whole range first, sees whether the
quantity rises or falls throughout, and then closes in on the crossing nearest to where it began.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

from formsketch.errors import FormSketchError
from formsketch.values import Value

Measured = Callable[[float], float]

# The unknown is solved to this share of itself; three times finer than is promised (1e-6).
RELATIVE_TOLERANCE = 3e-7
# Looked at over the range before closing in, and the most steps of each kind of closing in.
LOOKS = 21
MOST_ROOT_STEPS = 80
MOST_EDGE_STEPS = 30
# A quantity that changes by less than this share over the whole range does not depend on the unknown.
FLAT = 1e-9
# What rounding may let a steadily rising quantity fall.
MONOTONE_NOISE = 1e-10


class NoSolution(FormSketchError):
    """Nothing in the range keeps the quantity; the sentence says why."""


class Sought(Value, frozen=True):
    """What is searched for, in the maker's words.

    `unknown` and `quantity` are names such as "wire" and "weight"; the functions turn numbers into texts.
    """

    unknown: str
    quantity: str
    unknown_text: Callable[[float], str]
    quantity_text: Callable[[float], str]


class Solved(Value, frozen=True):
    """The unknown, the quantity there, and whether no other value in the range could give it.

    `only`: the quantity rises, or falls, throughout the range that can be made.
    """

    unknown: float
    quantity: float
    only: bool


class _Look(Value, frozen=True):
    """The quantity at one place, or why there is none."""

    at: float
    value: float = math.nan
    reason: str = ""

    @property
    def made(self) -> bool:
        return not self.reason


def solve_same(
    measured: Measured, wanted: float, low: float, high: float, begin: float, sought: Sought
) -> Solved:
    """The unknown from `low` to `high` (0 < low < high) at which `measured` gives `wanted` (> 0).

    `measured` may refuse a value with a `FormSketchError` whose text says why in one sentence. Of several
    crossings the one nearest to `begin`, by ratio, is taken. Raises `NoSolution`.
    """
    if not 0 < wanted < math.inf:
        raise NoSolution(f"There is no {sought.quantity} to keep.")
    looks = [_look(measured, at) for at in _places(low, high, begin)]
    made = [look for look in looks if look.made]
    if not made:
        nearest = min(looks, key=lambda look: _steps_apart(look.at, begin))
        raise NoSolution(
            f"No {sought.unknown} {_range_text(low, high, sought)} can be made: {_lower(nearest.reason)}"
        )
    looks = _with_edges(measured, looks)
    made = [look for look in looks if look.made]
    values = [look.value for look in made]
    if max(values) - min(values) <= FLAT * max(values):
        if abs(values[0] / wanted - 1) <= RELATIVE_TOLERANCE and low <= begin <= high:
            return Solved(begin, values[0], only=False)
        raise NoSolution(f"The {sought.quantity} does not change with the {sought.unknown}.")
    brackets = [
        (left, right)
        for left, right in pairwise(looks)
        if left.made and right.made and _between(left.value, wanted, right.value)
    ]
    if not brackets:
        raise NoSolution(_why_none(looks, wanted, sought))
    left, right = min(brackets, key=lambda pair: _bracket_distance(pair, begin))
    root = _close_in(measured, wanted, left, right)
    return Solved(root.at, root.value, only=_steady(values) and len(made) == _longest_made(looks))


def _places(low: float, high: float, begin: float) -> list[float]:
    """Places in equal ratios over the range, the beginning among them."""
    ratio = (high / low) ** (1 / (LOOKS - 1))
    places = {low * ratio**i for i in range(LOOKS - 1)} | {high}
    if low < begin < high:
        places.add(begin)
    return sorted(places)


def _look(measured: Measured, at: float) -> _Look:
    try:
        value = measured(at)
    except FormSketchError as fault:
        return _Look(at, reason=str(fault))
    if not 0 < value < math.inf:
        return _Look(at, reason="There is nothing to measure.")
    return _Look(at, value)


def _with_edges(measured: Measured, looks: list[_Look]) -> list[_Look]:
    """The looks, with the last place that can be made added wherever making ends."""
    found = [looks[0]]
    for left, right in pairwise(looks):
        if left.made != right.made:
            found.extend(_edge(measured, left, right))
        found.append(right)
    return found


def _edge(measured: Measured, left: _Look, right: _Look) -> Iterator[_Look]:
    """The two looks nearest to the edge between what can be made and what cannot."""
    ends = (left, right)
    for _ in range(MOST_EDGE_STEPS):
        if right.at / left.at - 1 <= RELATIVE_TOLERANCE:
            break
        middle = _look(measured, math.sqrt(left.at * right.at))
        left, right = (middle, right) if middle.made == left.made else (left, middle)
    yield from (look for look in (left, right) if look not in ends)


def _close_in(measured: Measured, wanted: float, left: _Look, right: _Look) -> _Look:
    """The crossing between two looks on both sides of it, to `RELATIVE_TOLERANCE` of the unknown.

    False position in logarithms (exact in one step for a power law), kept off the ends by a quarter of the
    tolerance so that the bracket closes from both sides, and halving where a step gains too little.
    """
    x0, x1 = math.log(left.at), math.log(right.at)
    y0, y1 = math.log(left.value / wanted), math.log(right.value / wanted)
    for step in range(MOST_ROOT_STEPS):
        if y0 == 0 or y1 == 0 or x1 - x0 <= RELATIVE_TOLERANCE:
            break
        off = RELATIVE_TOLERANCE / 4
        guess = (x0 * y1 - x1 * y0) / (y1 - y0) if step % 3 < 2 else (x0 + x1) / 2
        x = min(max(guess, x0 + off), x1 - off)
        look = _look(measured, math.exp(x))
        if not look.made:
            raise NoSolution(look.reason)
        y = math.log(look.value / wanted)
        if (y > 0) == (y0 > 0) and y != 0:
            x0, y0, left = x, y, look
        else:
            x1, y1, right = x, y, look
    return left if abs(y0) < abs(y1) else right


def _why_none(looks: list[_Look], wanted: float, sought: Sought) -> str:
    made = [look for look in looks if look.made]
    nearest = min(made, key=lambda look: abs(math.log(look.value / wanted)))
    place = looks.index(nearest)
    beside = [look for look in looks[max(0, place - 1) : place + 2] if not look.made]
    least, most = min(look.value for look in made), max(look.value for look in made)
    text = (
        f"No {sought.unknown} {_range_text(looks[0].at, looks[-1].at, sought)} gives a {sought.quantity} of "
        f"{sought.quantity_text(wanted)}; it runs from {sought.quantity_text(least)} to "
        f"{sought.quantity_text(most)}"
    )
    if not beside:
        return f"{text}."
    side = "below" if beside[0].at < nearest.at else "above"
    reason = _lower(beside[0].reason.rstrip("."))
    return f"{text}, and {side} {sought.unknown_text(nearest.at)} it cannot be made: {reason}."


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _range_text(low: float, high: float, sought: Sought) -> str:
    return f"from {sought.unknown_text(low)} to {sought.unknown_text(high)}"


def _between(first: float, wanted: float, second: float) -> bool:
    return min(first, second) <= wanted <= max(first, second)


def _bracket_distance(pair: tuple[_Look, _Look], begin: float) -> float:
    """How far a bracket lies from the beginning, by ratio; 0 around it."""
    left, right = pair
    if left.at <= begin <= right.at:
        return 0.0
    return min(_steps_apart(left.at, begin), _steps_apart(right.at, begin))


def _steps_apart(first: float, second: float) -> float:
    return abs(math.log(first / second))


def _steady(values: list[float]) -> bool:
    steps = [(b - a) / a for a, b in pairwise(values)]
    return all(s > -MONOTONE_NOISE for s in steps) or all(s < MONOTONE_NOISE for s in steps)


def _longest_made(looks: list[_Look]) -> int:
    """The most looks in a row that can be made."""
    longest = running = 0
    for look in looks:
        running = running + 1 if look.made else 0
        longest = max(longest, running)
    return longest
