"""What lies over where the wire crosses itself, and the stretches that are drawn again for it.

The wire is drawn from its start to its finish, so that the part further along lies over. At a swapped
crossing a stretch of the other part is drawn once more over the rest, just long enough to cover it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.geometry.clearance import Crossing
from formsketch.geometry.outline import Outline
from formsketch.geometry.trace import Trace
from formsketch.values import Result, Value

# A stretch goes no further from its crossing than this many mean widths of the two parts: parts that meet
# at less than about five degrees run side by side, and no stretch parts them.
MOST_REACH_TO_WIDTH = 12.0
# Places looked at to either side of a crossing; a stretch is too long by at most one of these steps.
_STEPS = 120


class Stretch(Value, frozen=True):
    """A stretch of the wire between two places (a sample's number and the share of the way to the next)."""

    begin: float
    end: float


def with_swapped(found: Sequence[Crossing], numbers: Collection[int]) -> tuple[Crossing, ...]:
    """The crossings in their order, those of these numbers (from 0) lying the other way round."""
    return tuple(
        replace(crossing, under_place=crossing.over_place, over_place=crossing.under_place)
        if number in numbers
        else crossing
        for number, crossing in enumerate(found)
    )


def stretches_on_top(
    outline: Outline, crossings: Sequence[Crossing], beyond_mm: float = 0.0
) -> tuple[Stretch, ...]:
    """The stretch to draw again for each crossing where the part less far along lies over.

    Each goes on until the two parts lie clear of each other by `beyond_mm`, but not past the middle of the
    way to the next crossing: there another part may lie over this one.
    """
    swapped = [crossing for crossing in crossings if crossing.over_place < crossing.under_place]
    if not swapped:
        return ()
    wire = _Run.along(outline)
    passes = np.sort(wire.at_mm(np.array([c.places for c in crossings]).ravel()))
    return tuple(_stretch(wire, passes, crossing, beyond_mm) for crossing in swapped)


class _Run(Result, frozen=True):
    """The centreline and half its plan width by the way along its chords, mm; arrays of shape (samples,)."""

    way_mm: NDArray[np.float64]
    trace: Trace
    half_mm: NDArray[np.float64]

    @classmethod
    def along(cls, outline: Outline) -> _Run:
        way = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(outline.trace.z_mm)))))
        return cls(way, outline.trace, outline.plan_width_mm / 2)

    def at_mm(self, places: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.asarray(np.interp(places, np.arange(len(self.way_mm)), self.way_mm))

    def place(self, way_mm: float) -> float:
        return float(np.interp(way_mm, self.way_mm, np.arange(len(self.way_mm))))

    def seen(self, way_mm: NDArray[np.float64]) -> tuple[NDArray[np.complex128], NDArray[np.float64]]:
        """Centreline and half width at these ways along the wire."""
        z = np.interp(way_mm, self.way_mm, self.trace.z_mm)
        return np.asarray(z), np.asarray(np.interp(way_mm, self.way_mm, self.half_mm))

    def room(self, passes_mm: NDArray[np.float64], at_mm: float, reach_mm: float) -> tuple[float, float]:
        """How far back and on from a pass at `at_mm` is its own: to the middle of the way to the next."""
        number = int(np.argmin(np.abs(passes_mm - at_mm)))
        before = (passes_mm[number - 1] + at_mm) / 2 if number > 0 else 0.0
        after = (passes_mm[number + 1] + at_mm) / 2 if number + 1 < len(passes_mm) else self.way_mm[-1]
        return min(at_mm - before, reach_mm), min(after - at_mm, reach_mm)


def _stretch(wire: _Run, passes_mm: NDArray[np.float64], crossing: Crossing, beyond_mm: float) -> Stretch:
    over, under = (float(wire.at_mm(place)) for place in (crossing.over_place, crossing.under_place))
    _, halves = wire.seen(np.array([over, under]))
    reach = MOST_REACH_TO_WIDTH * (float(halves.sum()) + beyond_mm)
    back, on = wire.room(passes_mm, under, reach)
    below, below_half = wire.seen(np.linspace(under - back, under + on, 2 * _STEPS + 1))
    ends = []
    for side, room in zip((-1.0, 1.0), wire.room(passes_mm, over, reach), strict=True):
        ways = over + side * np.linspace(0.0, room, _STEPS + 1)
        above, half = wire.seen(ways)
        gap = np.abs(above[:, None] - below) - half[:, None] - below_half
        clear = np.flatnonzero(gap.min(axis=1) > beyond_mm)
        ends.append(wire.place(float(ways[clear[0] if len(clear) else -1])))
    return Stretch(*ends)
