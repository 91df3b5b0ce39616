"""Which part of the wire lies over where it crosses itself; no geometry: crossings are known by numbers."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from msgspec.structs import replace

from formsketch.design.edits import checked
from formsketch.design.model import Design


def swap_crossing(design: Design, number: int) -> Design:
    """The design with this crossing (from 0, in the order of the wire) lying the other way round."""
    return with_swapped_crossings(design, {*design.form.swapped_crossings} ^ {number})


def with_swapped_crossings(design: Design, numbers: Collection[int]) -> Design:
    """The design with just these crossings (from 0, in the order of the wire) lying the other way round."""
    return checked(replace(design, form=replace(design.form, swapped_crossings=tuple(sorted(numbers)))))


def swapped_from_finish(swapped: Collection[int], places: Sequence[tuple[float, float]]) -> tuple[int, ...]:
    """The numbers to swap in the wire read from its finish, so that what lies over still does.

    `places` are those of each crossing along the wire in its order, both times the wire comes by it. Read
    from the other end a crossing is met first where it was met last, and what was further along is less far:
    those that were swapped no longer are, and the others become so. Numbers beyond the crossings stay.
    """
    order = sorted(range(len(places)), key=lambda number: places[number][::-1], reverse=True)
    made = [new for new, old in enumerate(order) if old not in swapped]
    return (*made, *sorted(number for number in swapped if number >= len(places)))
