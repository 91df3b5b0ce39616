"""A batch cut from the lengths in the drawer with the least wire taken: the cutting-stock problem.

A first list fills one length after another as full as it goes (a knapsack on tenths of a millimetre); a
bounded search then looks for one that takes less. For a dozen pieces the search is exhaustive. The same
pieces and lengths, in whatever order, give the same list.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

import numpy as np

from formsketch.errors import InputError
from formsketch.values import Value

MOST_PIECES, MOST_LENGTHS = 2_000, 200
_STEP_MM, _SLACK_MM = 0.1, 1e-9
# Enough for every way to part a dozen pieces, and a fraction of a second.
_MOST_NODES = 60_000
_SEARCHED_PIECES = 24
_MOST_SUMS = 20_000


class Piece(Value, frozen=True):
    """A piece to cut: its name and length, mm."""

    name: str
    length_mm: float


class DrawerLength(Value, frozen=True):
    """Lengths in the drawer, mm, and how many; None for as many as one likes to buy."""

    length_mm: float
    count: int | None = None


class CutLength(Value, frozen=True):
    """One length of wire: what is cut from it, longest first, and what is left after the last cut, mm."""

    length_mm: float
    pieces: tuple[Piece, ...]
    left_mm: float


class CutList(Value, frozen=True):
    """Which piece comes from which length."""

    lengths: tuple[CutLength, ...]

    @property
    def taken_mm(self) -> float:
        """Wire taken from the drawer."""
        return sum(length.length_mm for length in self.lengths)

    @property
    def left_mm(self) -> float:
        """What goes back into the drawer."""
        return sum(length.left_mm for length in self.lengths)


def cut_list(pieces: Sequence[Piece], drawer: Sequence[DrawerLength], kerf_mm: float) -> CutList:
    """The list that takes the least wire from the drawer, and of those found one with few lengths.

    Each cut loses `kerf_mm` (0 to 5). Raises `InputError` for a piece longer than every length, for a drawer
    that does not hold enough, and for lengths that are none.
    """
    _check(pieces, drawer, kerf_mm)
    longest_first = sorted(pieces, key=lambda piece: (-piece.length_mm, piece.name))
    longest_lengths = sorted(drawer, key=lambda one: (-one.length_mm, one.count is None, one.count or 0))
    found = _filled(longest_first, longest_lengths, kerf_mm)
    if found is None or len(pieces) <= _SEARCHED_PIECES:
        found = _Search(longest_first, longest_lengths, kerf_mm, found).best
    if found is None:
        raise InputError(_too_little(pieces, drawer, kerf_mm))
    lengths = [
        CutLength(length, tuple(held), max(0.0, length - sum(p.length_mm + kerf_mm for p in held)))
        for length, held in found
    ]
    return CutList(tuple(sorted(lengths, key=lambda one: (-one.length_mm, one.left_mm))))


_Bars = list[tuple[float, list[Piece]]]


def _too_little(pieces: Sequence[Piece], drawer: Sequence[DrawerLength], kerf_mm: float) -> str:
    """Why there is no list: too little wire, or wire in lengths that no way was found to use."""
    need = sum(piece.length_mm + kerf_mm for piece in pieces)
    have = sum((length.length_mm + kerf_mm) * (length.count or 0) for length in drawer)
    wanted = f"expected enough for {len(pieces)} pieces, {need:.1f} mm with their cuts"
    if all(length.count is not None for length in drawer) and have < need:
        return f"the lengths in the drawer: {wanted}"
    return f"the lengths in the drawer: {wanted}; no way was found to cut them all from these"


def _check(pieces: Sequence[Piece], drawer: Sequence[DrawerLength], kerf_mm: float) -> None:
    if not 0 <= kerf_mm <= 5:
        raise InputError(f"kerf: expected 0 to 5 mm, got {kerf_mm:g}")
    if not 1 <= len(pieces) <= MOST_PIECES:
        raise InputError(f"pieces to cut: expected 1 to {MOST_PIECES}, got {len(pieces)}")
    if not 1 <= len(drawer) <= MOST_LENGTHS:
        raise InputError(
            f"lengths in the drawer: expected 1 to {MOST_LENGTHS} different ones, got {len(drawer)}"
        )
    for piece in pieces:
        if not 0 < piece.length_mm < 1e6:
            raise InputError(f"{piece.name}: expected a length more than nought, got {piece.length_mm:g} mm")
    for length in drawer:
        if not 0 < length.length_mm < 1e7 or (length.count is not None and length.count < 1):
            raise InputError(f"a length in the drawer: expected mm and how many, got {length.length_mm:g} mm")
    longest = max(length.length_mm for length in drawer)
    for piece in pieces:
        if piece.length_mm > longest + _SLACK_MM:
            raise InputError(
                f"{piece.name} needs {piece.length_mm:.1f} mm; "
                f"the longest length in the drawer is {longest:.1f} mm"
            )


def _filled(pieces: list[Piece], drawer: Sequence[DrawerLength], kerf_mm: float) -> _Bars | None:
    """Length after length filled as full as it goes, each time from the one that wastes least."""
    left, bars = list(pieces), []
    counts = [length.count for length in drawer]
    while left:
        best: tuple[float, int, list[int]] | None = None
        for number, length in enumerate(drawer):
            if counts[number] == 0:
                continue
            chosen = _fullest(left, length.length_mm + kerf_mm, kerf_mm)
            used = sum(left[i].length_mm + kerf_mm for i in chosen)
            waste = (length.length_mm + kerf_mm - used) / length.length_mm
            if chosen and (best is None or waste < best[0] - 1e-12):
                best = waste, number, chosen
        if best is None:
            return None
        _, number, chosen = best
        bars.append((drawer[number].length_mm, [left[i] for i in chosen]))
        left = [piece for i, piece in enumerate(left) if i not in set(chosen)]
        if (count := counts[number]) is not None:
            counts[number] = count - 1
    return bars


def _fullest(pieces: list[Piece], room_mm: float, kerf_mm: float) -> list[int]:
    """Pieces that fill the room best, to a tenth of a millimetre a piece; the longest one that fits is in."""
    first = next((i for i, p in enumerate(pieces) if p.length_mm + kerf_mm <= room_mm + _SLACK_MM), None)
    if first is None:
        return []
    room = int((room_mm - pieces[first].length_mm - kerf_mm + _SLACK_MM) / _STEP_MM)
    sizes = [int(np.ceil((piece.length_mm + kerf_mm) / _STEP_MM - 1e-6)) for piece in pieces]
    others = [i for i, size in enumerate(sizes) if i != first and size <= room]
    # Bit s of a number says that some of the pieces so far add up to s; one number a piece.
    reached, within = [1], (1 << (room + 1)) - 1
    for i in others:
        reached.append((reached[-1] | (reached[-1] << sizes[i])) & within)
    chosen, at = [first], reached[-1].bit_length() - 1
    for before, i in zip(reversed(reached[:-1]), reversed(others), strict=True):
        if not before >> at & 1:
            chosen.append(i)
            at -= sizes[i]
    return sorted(chosen)


class _Search:
    """Depth-first over where each piece goes, longest first, within a number of nodes."""

    def __init__(
        self, pieces: list[Piece], drawer: Sequence[DrawerLength], kerf_mm: float, found: _Bars | None
    ) -> None:
        self._pieces, self._kerf_mm = pieces, kerf_mm
        self._drawer = sorted(drawer, key=lambda length: length.length_mm)
        self._counts = [length.count for length in self._drawer]
        self._bars: _Bars = []
        self._room: list[float] = []
        self.best = found
        self._least = np.inf if found is None else sum(length for length, _ in found)
        sizes = np.array([piece.length_mm + kerf_mm for piece in pieces])
        self._still = np.append(np.cumsum(sizes[::-1])[::-1], 0.0)
        self._nodes = _MOST_NODES
        self._sums = _sums_mm([length.length_mm for length in self._drawer], self._least)
        self._place(0, 0.0, 0)

    def _least_total(self, at: int, taken_mm: float) -> float:
        """No less is taken in the end: a sum of lengths that holds what does not fit into what is open."""
        short = self._still[at] - sum(self._room)
        if short <= _SLACK_MM:
            return taken_mm
        # Each new length brings a kerf of room with it, most beside its length in the smallest.
        smallest = self._drawer[0].length_mm
        least = taken_mm + float(short) * smallest / (smallest + self._kerf_mm)
        number = bisect_left(self._sums, least - _SLACK_MM)
        return self._sums[number] if number < len(self._sums) else least

    def _place(self, at: int, taken_mm: float, first: int) -> None:
        """Place the pieces from `at` on, this one into a length that was opened as `first` or later."""
        self._nodes -= 1
        if self._nodes <= 0 or self._least_total(at, taken_mm) >= self._least - _SLACK_MM:
            return
        if at == len(self._pieces):
            self._least = taken_mm
            self.best = [(length, list(held)) for length, held in self._bars]
            return
        piece = self._pieces[at]
        size = piece.length_mm + self._kerf_mm
        # Of equal pieces the later one never goes before the earlier one: only their names would change.
        same = at + 1 < len(self._pieces) and self._pieces[at + 1].length_mm == piece.length_mm
        tried: set[float] = set()
        for number in range(first, len(self._room)):
            room = self._room[number]
            if size <= room + _SLACK_MM and round(room, 6) not in tried:
                tried.add(round(room, 6))
                self._bars[number][1].append(piece)
                self._room[number] -= size
                self._place(at + 1, taken_mm, number if same else 0)
                self._room[number] += size
                self._bars[number][1].pop()
        for number, length in enumerate(self._drawer):
            count = self._counts[number]
            if count == 0 or piece.length_mm > length.length_mm + _SLACK_MM:
                continue
            self._counts[number] = None if count is None else count - 1
            self._bars.append((length.length_mm, [piece]))
            self._room.append(length.length_mm + self._kerf_mm - size)
            self._place(at + 1, taken_mm + length.length_mm, len(self._room) - 1 if same else 0)
            self._room.pop()
            self._bars.pop()
            self._counts[number] = count


def _sums_mm(lengths_mm: Sequence[float], most_mm: float) -> list[float]:
    """Every sum of lengths up to the least known, rising; none where there are too many to be of use."""
    if not np.isfinite(most_mm):
        return []
    sums = {0.0}
    for length in lengths_mm:
        times = int(most_mm / length) + 1
        if len(sums) * (times + 1) > _MOST_SUMS:
            return []
        sums = {
            total + n * length
            for total in sums
            for n in range(times + 1)
            if total + n * length <= most_mm + 1
        }
    return sorted(sums)
