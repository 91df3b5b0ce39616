"""Hammers and the rolling mill: what share of the squeeze each sends sideways.

Spread S is 1 when all the metal goes into width and 0 when all goes into length. The listed values are
starting values from geometry, not measured, until the maker hammers a sample.
"""

from typing import Annotated

import msgspec
from msgspec import Meta

from formsketch.bench.tables import Known, read_table
from formsketch.errors import InputError
from formsketch.shipped import resource

_Spread = Annotated[float, Meta(ge=0, le=1)]

_SAME_SPREAD = 1e-6  # how near a spread must be to a listed one to have come from it
_ASSUMED_BAND = 0.10  # common practice, no source: the width of the listed bands, for any other spread


class Hammer(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"mark": "known"}):
    """A way of flattening wire: its spread and the band it may lie in, 0 to 1."""

    key: Annotated[str, Meta(min_length=1)]
    name: Annotated[str, Meta(min_length=1)]
    spread: _Spread
    spread_low: _Spread
    spread_high: _Spread
    mark: Known
    source: str

    def __post_init__(self) -> None:
        """Raises ValueError when the spread lies outside its own band."""
        if not self.spread_low <= self.spread <= self.spread_high:
            raise ValueError("spread was expected between spread_low and spread_high")


def load_hammers() -> dict[str, Hammer]:
    """The hammers by key."""
    return dict(read_table(resource("tables", "hammers.json"), "hammers", Hammer, "key").rows)


def spread_band(spread: float) -> tuple[float, float, str]:
    """The band (low, high) that a spread of 0 to 1 may lie in, and what it rests on, in words.

    That of the listed hammer with this spread, else 0.10 either way, cut to 0..1 and said to be assumed.
    Raises InputError for a spread outside 0..1.
    """
    if not 0 <= spread <= 1:
        raise InputError(f"A spread from 0 to 1 was expected, not {spread:g}.")
    for hammer in load_hammers().values():
        if abs(hammer.spread - spread) <= _SAME_SPREAD:
            return hammer.spread_low, hammer.spread_high, f"starting value for a {hammer.name}, not measured"
    basis = f"assumed: {_ASSUMED_BAND:.2f} either way, as no listed hammer has this spread"
    return max(0.0, spread - _ASSUMED_BAND), min(1.0, spread + _ASSUMED_BAND), basis
