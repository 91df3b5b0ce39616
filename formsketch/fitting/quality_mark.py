"""Room for a quality mark: where the hammered face is flat, wide, long and straight enough for a punch."""

from __future__ import annotations

import cmath
from collections.abc import Sequence

import numpy as np

from formsketch.errors import InputError
from formsketch.fitting.stones import FloatArray, WirePlaces
from formsketch.values import Value

# Sizes of a small punch, width across and length along the wire; common practice, no source.
USUAL_MARK_MM = (1.0, 2.5)
LAW_SENTENCE = "What must be marked, and by whom, is left to the law of the place where the piece is sold."
_STEPS_IN_MARK, _MOST_STEPS = 40, 100_000


class MarkRoom(Value, frozen=True):
    """Where a mark fits best: its middle along the finished wire, on the straight wire and in plan (x + iy),
    the heading there, and the room to spare across it, mm."""

    finished_mm: float
    mark_mm: float
    at_mm: complex
    heading_rad: float
    spare_mm: float

    def corners_mm(self, wide_mm: float, long_mm: float) -> tuple[complex, ...]:
        """The corners of a mark of this size in plan."""
        along = cmath.exp(1j * self.heading_rad)
        return tuple(
            self.at_mm + along * complex(x * long_mm / 2, y * wide_mm / 2)
            for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        )


def room_for_mark(
    wire: WirePlaces, width_mm: float, length_mm: float, taken_mm: Sequence[tuple[float, float]] = ()
) -> MarkRoom | None:
    """The place with the most room for a mark so wide across and so long along the wire; None for none.

    Stretches along the finished wire that are `taken_mm`, from and to, such as by stones, are kept clear.

    The flat face must hold the mark and how far the wire bows aside under it: an arc of the mark's length
    that turns by an angle bows by length x angle / 8 (from 1 - cos, good to 2 % at 60 degrees). Raises
    InputError for sizes that cannot be.
    """
    for what, size in (("width", width_mm), ("length", length_mm)):
        if not (np.isfinite(size) and size > 0):
            raise InputError(f"quality mark: expected a {what} above 0 mm, got {size:g} mm")
    total = float(wire.finished_mm[-1])
    if length_mm > total:
        return None
    step = max(length_mm / _STEPS_IN_MARK, total / _MOST_STEPS)
    # Whole steps in the mark, rounded up so that the stretch looked at is never shorter than it.
    window = int(np.ceil(length_mm / step - 1e-9)) + 1
    places = np.linspace(0.0, total, int(np.ceil(total / step)) + 1)
    if window > len(places):
        return None
    spare = _spare_mm(wire, places, window, length_mm) - width_mm
    begin, end = places[: len(spare)], places[window - 1 :]
    for first_mm, last_mm in taken_mm:
        spare[(begin < last_mm) & (end > first_mm)] = -np.inf
    best = float(spare.max())
    if best < 0:
        return None
    # Of the places with as much room the middle one.
    equal = np.flatnonzero(spare >= best - 1e-9)
    first = int(equal[len(equal) // 2])
    return _place(wire, float(places[first] + places[first + window - 1]) / 2, best)


def room_at(wire: WirePlaces, at_share: float, width_mm: float, length_mm: float) -> MarkRoom:
    """The room to spare for a mark with its middle at a share of the finished length; negative for none.

    Where the mark would reach over an end of the wire, what is missing of its length counts as missing.
    """
    total = float(wire.finished_mm[-1])
    middle = at_share * total
    over = max(0.0, length_mm / 2 - middle, middle + length_mm / 2 - total)
    begin, end = max(0.0, middle - length_mm / 2), min(total, middle + length_mm / 2)
    places = np.linspace(begin, end, _STEPS_IN_MARK + 1)
    spare = float(_spare_mm(wire, places, len(places), end - begin)[0]) - width_mm
    return _place(wire, middle, min(spare, -over) if over > 1e-9 else spare)


def _spare_mm(wire: WirePlaces, places_mm: FloatArray, window: int, length_mm: float) -> FloatArray:
    """Flat face less the bow under a mark for each stretch of so many places."""
    looked = np.lib.stride_tricks.sliding_window_view
    flat = looked(wire.at(places_mm, wire.flat_mm), window).min(axis=1)
    heading = looked(wire.at(places_mm, wire.heading_rad), window)
    return np.asarray(flat - length_mm * (heading.max(axis=1) - heading.min(axis=1)) / 8)


def _place(wire: WirePlaces, middle_mm: float, spare_mm: float) -> MarkRoom:
    at = np.array([middle_mm])
    return MarkRoom(
        middle_mm,
        float(wire.at(at, wire.stock_mm)[0]),
        complex(wire.z_at(at)[0]),
        float(wire.at(at, wire.heading_rad)[0]),
        spare_mm,
    )
