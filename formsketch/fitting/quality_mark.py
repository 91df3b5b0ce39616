"""Room for a quality mark: where the hammered face is flat, wide, long and straight enough for a punch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formsketch.errors import InputError
from formsketch.fitting.stones import WirePlaces

# Sizes of a small punch, width across and length along the wire; common practice, no source.
USUAL_MARK_MM = (1.0, 2.5)
LAW_SENTENCE = "What must be marked, and by whom, is left to the law of the place where the piece is sold."
_STEPS_IN_MARK, _MOST_STEPS = 40, 100_000


@dataclass(frozen=True)
class MarkRoom:
    """Where a mark fits best: its middle along the finished wire, on the straight wire and in plan (x + iy),
    the heading there, and the room to spare across it, mm."""

    finished_mm: float
    mark_mm: float
    at_mm: complex
    heading_rad: float
    spare_mm: float


def room_for_mark(wire: WirePlaces, width_mm: float, length_mm: float) -> MarkRoom | None:
    """The place with the most room for a mark so wide across and so long along the wire; None for none.

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
    looked = np.lib.stride_tricks.sliding_window_view
    flat = looked(wire.at(places, wire.flat_mm), window).min(axis=1)
    heading = looked(wire.at(places, wire.heading_rad), window)
    bow = length_mm * (heading.max(axis=1) - heading.min(axis=1)) / 8
    spare = flat - bow - width_mm
    best = float(spare.max())
    if best < 0:
        return None
    # Of the places with as much room the middle one.
    equal = np.flatnonzero(spare >= best - 1e-9)
    first = int(equal[len(equal) // 2])
    middle = np.array([(places[first] + places[first + window - 1]) / 2])
    return MarkRoom(
        float(middle[0]),
        float(wire.at(middle, wire.stock_mm)[0]),
        complex(wire.z_at(middle)[0]),
        float(wire.at(middle, wire.heading_rad)[0]),
        best,
    )
