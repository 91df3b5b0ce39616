"""Edits of what is set on the wire. Each returns a sound design or raises `EditRefused`."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from formsketch.design.edits import checked
from formsketch.design.model import Binding, Design, QualityMark, SetPearl, Stone


def set_pearls(design: Design, pearls: Iterable[SetPearl], binding: Binding | None = None) -> Design:
    """The design with just these pearls, bound like this, or as it says where that is None."""
    return checked(replace(design, pearls=tuple(pearls), binding=binding or design.binding))


def take_out_pearls(design: Design) -> Design:
    """The design without pearls; how they were bound is forgotten with them."""
    return checked(replace(design, pearls=(), binding=Binding()))


def set_stones(design: Design, stones: Iterable[Stone]) -> Design:
    """The design with just these stones, in the order of the wire."""
    return checked(replace(design, stones=tuple(sorted(stones, key=lambda stone: stone.at_share))))


def add_stones(design: Design, stones: Iterable[Stone]) -> Design:
    """The design with these stones beside those it has."""
    return set_stones(design, (*design.stones, *stones))


def place_quality_mark(design: Design, mark: QualityMark | None) -> Design:
    """The design with a place kept for this mark, or for none."""
    return checked(replace(design, quality_mark=mark))
