"""A batch cut from the lengths in the drawer with the least wire taken: the cutting-stock problem.

A first list fills one length after another as full as it goes (a knapsack on tenths of a millimetre); a
bounded search then looks for one that takes less. For a dozen pieces the search is exhaustive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formsketch.errors import InputError

MOST_PIECES, MOST_LENGTHS = 2_000, 200
_STEP_MM, _SLACK_MM = 0.1, 1e-9
_MOST_NODES = 200_000
_SEARCHED_PIECES = 24


@dataclass(frozen=True)
class Piece:
    """A piece to cut: its name and length, mm."""

    name: str
    length_mm: float


@dataclass(frozen=True)
class DrawerLength:
    """Lengths in the drawer, mm, and how many; None for as many as one likes to buy."""

    length_mm: float
    count: int | None = None


@dataclass(frozen=True)
class CutLength:
    """One length of wire: what is cut from it, longest first, and what is left after the last cut, mm."""

    length_mm: float
    pieces: tuple[Piece, ...]
    left_mm: float


@dataclass(frozen=True)
class CutList:
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
    found = _filled(longest_first, drawer, kerf_mm)
    if len(pieces) <= _SEARCHED_PIECES:
        found = _Search(longest_first, drawer, kerf_mm, found).best
    if found is None:
        raise InputError(
            f"the lengths in the drawer: expected enough for {len(pieces)} pieces, "
            f"{sum(p.length_mm + kerf_mm for p in pieces):.1f} mm with their cuts"
        )
    lengths = [
        CutLength(length, tuple(held), max(0.0, length - sum(p.length_mm + kerf_mm for p in held)))
        for length, held in found
    ]
    return CutList(tuple(sorted(lengths, key=lambda one: (-one.length_mm, one.left_mm))))


_Bars = list[tuple[float, list[Piece]]]


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
    # reached[s]: the piece that first brought the sum to s; -1 for none yet.
    reached = np.full(room + 1, -1)
    reached[0] = len(pieces)
    for i in range(len(pieces)):
        if i == first or not 0 < sizes[i] <= room:
            continue
        new = (reached[: room + 1 - sizes[i]] >= 0) & (reached[sizes[i] :] < 0)
        reached[sizes[i] :][new] = i
    chosen, at = [first], int(np.flatnonzero(reached >= 0)[-1])
    while at > 0:
        piece = int(reached[at])
        chosen.append(piece)
        at -= sizes[piece]
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
        self._place(0, 0.0)

    def _place(self, at: int, taken_mm: float) -> None:
        self._nodes -= 1
        if self._nodes <= 0 or taken_mm >= self._least - _SLACK_MM:
            return
        if at == len(self._pieces):
            self._least = taken_mm
            self.best = [(length, list(held)) for length, held in self._bars]
            return
        # Wire still to be taken for what does not fit into what is open; each new length brings a kerf.
        short = self._still[at] - sum(self._room)
        smallest = self._drawer[0].length_mm
        if short > _SLACK_MM and taken_mm + short * smallest / (smallest + self._kerf_mm) >= self._least:
            return
        piece = self._pieces[at]
        size = piece.length_mm + self._kerf_mm
        tried: set[float] = set()
        for number, room in enumerate(self._room):
            if size <= room + _SLACK_MM and round(room, 6) not in tried:
                tried.add(round(room, 6))
                self._bars[number][1].append(piece)
                self._room[number] -= size
                self._place(at + 1, taken_mm)
                self._room[number] += size
                self._bars[number][1].pop()
        for number, length in enumerate(self._drawer):
            count = self._counts[number]
            if count == 0 or piece.length_mm > length.length_mm + _SLACK_MM:
                continue
            self._counts[number] = None if count is None else count - 1
            self._bars.append((length.length_mm, [piece]))
            self._room.append(length.length_mm + self._kerf_mm - size)
            self._place(at + 1, taken_mm + length.length_mm)
            self._room.pop()
            self._bars.pop()
            self._counts[number] = count
