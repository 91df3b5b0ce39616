"""How far flat things reach in four directions, and which of them may come near each other.

Along x, y and both diagonals: eight sides hold a short bent piece of wire much closer than a box does, and
few pairs are left to be looked at as polygons.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.values import Result

# The diagonals are measured by x + y and x - y, this many times as long.
_LENGTHENED = np.array([1.0, 1.0, np.sqrt(2), np.sqrt(2)])
# So many pairs are looked at at a time, so that a tangle of thousands of pieces needs no more memory.
_PAIRS_AT_A_TIME = 400_000


class Extents(Result, frozen=True):
    """Least and greatest x, y, x + y and x - y of things, mm; both of shape (4, things)."""

    low_mm: FloatArray
    high_mm: FloatArray

    @classmethod
    def of_stretches(
        cls, left_mm: NDArray[np.complex128], right_mm: NDArray[np.complex128], begin: IntArray, end: IntArray
    ) -> Extents:
        """Of stretches of two lines side by side, from sample `begin` to sample `end`, ends included."""
        # One more sample, for what ends at the last one ends before it.
        count = len(left_mm) + 1
        low, high = np.empty((4, len(begin))), np.empty((4, len(begin)))
        bounds = np.stack((begin, end + 1), axis=1).ravel()
        greatest, least = np.zeros(count), np.zeros(count)
        for way, (left, right) in enumerate(zip(_reaches(left_mm), _reaches(right_mm), strict=True)):
            np.maximum(left, right, out=greatest[:-1])
            np.minimum(left, right, out=least[:-1])
            high[way] = np.maximum.reduceat(greatest, bounds)[::2]
            low[way] = np.minimum.reduceat(least, bounds)[::2]
        return cls(low, high)

    @classmethod
    def of_discs(cls, centre_mm: NDArray[np.complex128], radius_mm: FloatArray) -> Extents:
        """Of round things, both of shape (discs,)."""
        middle, reach = np.array(_reaches(centre_mm)), _LENGTHENED[:, None] * radius_mm
        return cls(middle - reach, middle + reach)

    def with_more(self, others: Extents) -> Extents:
        """These and then those."""
        return Extents(
            np.concatenate((self.low_mm, others.low_mm), axis=1),
            np.concatenate((self.high_mm, others.high_mm), axis=1),
        )

    def pairs_within(self, reach_mm: float, most: int | None = None) -> IntArray:
        """All pairs that may be as near as this, lower number first, shape (pairs, 2); no nearer one lacks.

        Once there are more than `most` the rest are left out.
        """
        if not self.low_mm.shape[1]:
            return np.empty((0, 2), dtype=np.int64)
        reach = reach_mm * _LENGTHENED
        # Swept along the longer way, where fewer lie beside each other.
        longer = int(np.argmax(self.high_mm[:2].max(axis=1) - self.low_mm[:2].min(axis=1)))
        order = np.argsort(self.low_mm[longer], kind="stable")
        low, high = self.low_mm[:, order], self.high_mm[:, order] + reach[:, None]
        counts = np.searchsorted(low[longer], high[longer], side="right") - np.arange(len(order)) - 1
        ends = np.cumsum(counts)
        others = [way for way in range(4) if way != longer]
        found: list[IntArray] = []
        for begin in range(0, int(ends[-1]), _PAIRS_AT_A_TIME):
            number = np.arange(begin, min(begin + _PAIRS_AT_A_TIME, int(ends[-1])))
            one = np.searchsorted(ends, number, side="right")
            other = one + 1 + number - (ends - counts)[one]
            for way in others:
                meet = (low[way, other] <= high[way, one]) & (low[way, one] <= high[way, other])
                one, other = one[meet], other[meet]
            found.append(np.stack((order[one], order[other]), axis=1))
            if most is not None and sum(map(len, found)) > most:
                break
        pairs = np.concatenate(found) if found else np.empty((0, 2), dtype=np.int64)
        pairs.sort(axis=1)
        return np.asarray(pairs)

    def least_apart_mm(self, pairs: IntArray) -> FloatArray:
        """The least that the things of each pair can be apart, shape (pairs,)."""
        one, other = pairs.T
        gaps = np.maximum(
            self.low_mm[:, one] - self.high_mm[:, other], self.low_mm[:, other] - self.high_mm[:, one]
        )
        gaps = np.maximum(gaps, 0.0) / _LENGTHENED[:, None]
        return np.maximum(np.hypot(gaps[0], gaps[1]), np.hypot(gaps[2], gaps[3]))


def _reaches(z_mm: NDArray[np.complex128]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    x, y = np.ascontiguousarray(z_mm.real), np.ascontiguousarray(z_mm.imag)
    return x, y, x + y, x - y
