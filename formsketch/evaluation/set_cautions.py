"""What the maker should know of pearls, stones and the quality mark as they are set on the form."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from formsketch.design.model import SetPearl
from formsketch.design.set_places import is_set
from formsketch.evaluation.set_on import OVERLAP_MM
from formsketch.fitting.quality_mark import LAW_SENTENCE
from formsketch.fitting.stones import SOLDER_SENTENCE
from formsketch.units import length_text

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

Said = tuple[str, str, bool]


def said_of_set(evaluation: Evaluation) -> Iterator[Said]:
    """Code, sentence, and whether it weighs more than a note; nothing where nothing is set."""
    if is_set(evaluation.design):
        yield from _of_pearls(evaluation)
        yield from _of_stones(evaluation)
        yield from _of_mark(evaluation)


def _of_pearls(e: Evaluation) -> Iterator[Said]:
    pearls = e.set_on.pearls
    if not pearls:
        return
    over = [number for number, placed in enumerate(pearls, start=1) if placed.clear_mm < -OVERLAP_MM]
    if over:
        most = max(-pearls[number - 1].clear_mm for number in over)
        yield (
            "pearl_does_not_fit",
            f"{_listed('Pearl', over)}: no longer fits the bay; the metal is up to {length_text(most)} in "
            "the way.",
            True,
        )
    if met := _meeting(np.array([p.at_mm for p in pearls]), np.array([_across_mm(p.pearl) for p in pearls])):
        yield "pearls_meet", f"{_listed('Pearl', met)}: lie in each other's way.", True
    yield (
        "pearls_last",
        "Set pearls last: no heat, no pickle and no ultrasonic bath once they are bound.",
        False,
    )


def _across_mm(pearl: SetPearl) -> float:
    # In line pearls touch by their length, side by side by their diameter; the lesser never overstates.
    return min(pearl.diameter_mm, pearl.length_mm)


def _of_stones(e: Evaluation) -> Iterator[Said]:
    stones = e.set_on.stones
    narrow = [number for number, placed in enumerate(stones, start=1) if not placed.seat.fits]
    if narrow:
        yield (
            "stone_seat_narrow",
            f"{_listed('Stone', narrow)}: the wire is too narrow under the seat for metal on both sides; "
            "hammer it wider there or take a smaller head or tube.",
            True,
        )
    at = np.array([placed.seat.at_mm for placed in stones])
    if met := _meeting(at, np.array([placed.stone.seat_mm for placed in stones])):
        yield "stones_meet", f"{_listed('Stone', met)}: seats overlap.", True
    if any(placed.stone.soldered for placed in stones):
        aged = ", or age it in a kiln" if e.metal.age_hardening else ""
        yield (
            "solder_softens",
            f"{SOLDER_SENTENCE} Harden after soldering: planish lightly, burnish or tumble{aged}.",
            False,
        )


def _of_mark(e: Evaluation) -> Iterator[Said]:
    room, mark = e.set_on.mark, e.design.quality_mark
    if room is None or mark is None:
        return
    size = f"{mark.wide_mm:g} × {mark.long_mm:g} mm"
    if room.spare_mm < 0:
        yield (
            "quality_mark_no_room",
            f"The flat where the quality mark was placed no longer holds {size}; place it anew.",
            True,
        )
    half = mark.long_mm / 2
    if any(
        first < room.finished_mm + half and last > room.finished_mm - half
        for first, last in e.set_on.seats_taken_mm
    ):
        yield "quality_mark_under_stone", "The quality mark lies under a stone's seat; place it anew.", True
    yield "quality_mark_law", LAW_SENTENCE, False


def _meeting(at_mm: np.ndarray, across_mm: np.ndarray) -> list[int]:
    """Numbers from 1 of rounds of these diameters that overlap another one."""
    if len(at_mm) < 2:
        return []
    # Sorted by x only neighbours within the largest diameter can meet.
    order = np.argsort(at_mm.real)
    reach = float(np.max(across_mm))
    met: set[int] = set()
    for step in range(1, len(order)):
        first, second = order[:-step], order[step:]
        near = at_mm.real[second] - at_mm.real[first] < reach
        if not near.any():
            break
        away = np.abs(at_mm[second] - at_mm[first])
        touch = near & (away < (across_mm[first] + across_mm[second]) / 2 - OVERLAP_MM)
        met.update((first[touch] + 1).tolist(), (second[touch] + 1).tolist())
    return sorted(met)


def _listed(what: str, numbers: Sequence[int]) -> str:
    """The things as the maker counts them: "Pearl 3", "Pearls 1 to 4, 7"."""
    ranges: list[list[int]] = []
    for number in numbers:
        if ranges and number == ranges[-1][1] + 1:
            ranges[-1][1] = number
        else:
            ranges.append([number, number])
    words = [f"{a}" if a == b else f"{a} to {b}" for a, b in ranges]
    return f"{what}{'s' if len(numbers) > 1 else ''} {', '.join(words)}"
