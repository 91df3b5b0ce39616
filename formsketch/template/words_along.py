"""Words set along a line, each as near to its own place as the others let it, in one tier or in two."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from formsketch.template.lettering import Block
from formsketch.values import Result, Value

# Between words of one tier, and between words and the line that goes past them to the tier beyond.
BETWEEN_WORDS_MM = 2.0
_BESIDE_LINE_MM = 1.2

FloatArray = NDArray[np.float64]


class Words(Value, frozen=True):
    """A block of words, what it is about by name, and its place on the straight wire in mm from the start.

    Words about a length of wire have its middle as their place, and half of it as `half_mm`.
    """

    name: str
    at_mm: float
    block: Block
    half_mm: float = 0.0


class Side(Result, frozen=True):
    """Words along one side of the wire, in order; with two `tiers` every second one stands in the farther.

    `x_mm` are their middles and `place_x_mm` the places they are about, shapes (words,), from the left edge
    of the row. `fits` says whether they keep within the row.
    """

    words: tuple[Words, ...]
    place_x_mm: FloatArray
    x_mm: FloatArray
    tiers: int
    fits: bool

    @property
    def most_shift_mm(self) -> float:
        """How far any words stand to the side of their place."""
        return float(np.max(np.abs(self.x_mm - self.place_x_mm), initial=0.0))

    def tier(self, number: int) -> int:
        """The tier of the words with this number, 0 next to the wire."""
        return number % self.tiers

    def tier_height_mm(self, tier: int) -> float:
        """Height of the tallest words in a tier, 0 for none."""
        return max((words.block.height_mm for words in self.words[tier :: self.tiers]), default=0.0)


def set_along(words: Sequence[Words], place_x_mm: FloatArray, row_width_mm: float, tiers: int) -> Side:
    """Set words about places in a row: nearest to them by least squares, in order, clear of each other.

    `place_x_mm`: shape (words,), ascending, from the left edge of the row.
    """
    if not words:
        return Side((), place_x_mm, place_x_mm, tiers, True)
    widths = np.array([w.block.width_mm for w in words])
    offset = np.concatenate(([0.0], np.cumsum(_least_steps_mm(widths, tiers))))
    # With the least steps taken away only the order is asked for, and the limits are the same for all.
    level = isotonic(place_x_mm - offset)
    least = float(np.max(widths / 2 - offset))
    most = float(np.min(row_width_mm - widths / 2 - offset))
    x = np.clip(level, least, max(least, most)) + offset
    return Side(tuple(words), place_x_mm, x, tiers, least <= most)


def spread_out(places: FloatArray, widths: FloatArray) -> FloatArray:
    """Middles of things this wide, nearest to ascending places by least squares and clear of each other."""
    if not len(places):
        return places
    offset = np.concatenate(([0.0], np.cumsum((widths[1:] + widths[:-1]) / 2)))
    return np.asarray(isotonic(places - offset) + offset)


def isotonic(values: FloatArray) -> FloatArray:
    """The ascending values nearest to these by least squares; pooling of neighbours, shape kept."""
    pooled: list[tuple[float, int]] = []
    for value in values.tolist():
        mean, count = value, 1
        while pooled and pooled[-1][0] > mean:
            before, n = pooled.pop()
            mean, count = (before * n + mean * count) / (n + count), n + count
        pooled.append((mean, count))
    return np.repeat([mean for mean, _ in pooled], [count for _, count in pooled])


def _least_steps_mm(widths: FloatArray, tiers: int) -> FloatArray:
    """From the middle of each word to that of the next, at the least; shape (words - 1,)."""
    if tiers == 1:
        return np.asarray((widths[1:] + widths[:-1]) / 2 + BETWEEN_WORDS_MM)
    # The line to the farther tier passes beside the words of the nearer one, which come first.
    near = np.where(np.arange(len(widths) - 1) % 2 == 0, widths[:-1], widths[1:])
    steps = near / 2 + _BESIDE_LINE_MM
    # Two steps lead to the next words of the same tier; each takes half of what that needs.
    same = ((widths[2:] + widths[:-2]) / 2 + BETWEEN_WORDS_MM) / 2
    steps[:-1] = np.maximum(steps[:-1], same)
    steps[1:] = np.maximum(steps[1:], same)
    return np.asarray(steps)
