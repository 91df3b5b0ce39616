"""Hammers and the rolling mill: what share of the squeeze each sends sideways.

Spread S is 1 when all the metal goes into width and 0 when all goes into length. The listed values are
starting values from geometry, not measured, until the maker hammers a sample.
"""

from functools import lru_cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from formsketch.bench.tables import Known, read_table, shipped_table
from formsketch.errors import InputError

_Spread = Annotated[float, Meta(ge=0.0, le=1.0)]

_SAME_SPREAD = 1e-6  # how near a spread must be to a listed one to have come from it
_ASSUMED_BAND = 0.10  # common practice, no source: the width of the listed bands, for any other spread

TABLE_KIND = "hammers"


class Hammer(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"mark": "known"}):
    """A way of flattening wire: its spread and the band it may lie in, 0 to 1.

    `metal` names what it was measured in, "" for the listed starting values.
    """

    key: Annotated[str, Meta(min_length=1, max_length=100)]
    name: Annotated[str, Meta(min_length=1, max_length=80)]
    spread: _Spread
    spread_low: _Spread
    spread_high: _Spread
    mark: Known
    source: Annotated[str, Meta(max_length=400)]
    metal: Annotated[str, Meta(max_length=80)] = ""

    def __post_init__(self) -> None:
        """Raises ValueError when the spread lies outside its own band."""
        if not self.spread_low <= self.spread <= self.spread_high:
            raise ValueError("spread was expected between spread_low and spread_high")


def load_hammers() -> dict[str, Hammer]:
    """The listed hammers by key."""
    return dict(shipped_table("hammers.json", TABLE_KIND, Hammer, "key").rows)


def load_own_hammers(user_file: Path | None) -> dict[str, Hammer]:
    """The hammers of a person's own file by key, none without a file.

    Raises TableError naming file, row and expectation.
    """
    return {} if user_file is None else dict(read_table(user_file, TABLE_KIND, Hammer, "key").rows)


def own_hammer(name: str, spread: float, low: float, high: float, metal: str, how: str) -> Hammer:
    """A measured hammer as a row of a person's own table; names that differ in case only are one hammer.

    `how` says what it was measured by. Raises InputError for a name or numbers that cannot stand in a table.
    """
    plain = name.strip()
    try:
        made = Hammer(
            key=f"own-{plain.casefold()}",
            name=plain,
            spread=spread,
            spread_low=low,
            spread_high=high,
            mark="D",
            source=how,
            metal=metal,
        )
        return msgspec.convert(msgspec.to_builtins(made), Hammer, strict=True)
    except (msgspec.ValidationError, ValueError) as fault:
        raise InputError(
            "A name of 1 to 80 letters was expected for the hammer, and a spread within its band from 0 to 1."
        ) from fault


# Asked at every evaluation.
@lru_cache(maxsize=64)
def spread_band(
    spread: float, low: float | None = None, high: float | None = None, name: str = ""
) -> tuple[float, float, str]:
    """The band (low, high) that a spread of 0 to 1 may lie in, and what it rests on, in words.

    Its own where `low` and `high` are given, measured on a hammer of this `name`; else that of the listed
    hammer with this spread, else 0.10 either way, cut to 0..1 and said to be assumed.
    Raises InputError for a spread outside 0..1.
    """
    if not 0 <= spread <= 1:
        raise InputError(f"A spread from 0 to 1 was expected, not {spread:g}.")
    if low is not None and high is not None:
        return low, high, f"measured on samples of {name}" if name else "measured on samples"
    for hammer in load_hammers().values():
        if abs(hammer.spread - spread) <= _SAME_SPREAD:
            return hammer.spread_low, hammer.spread_high, f"starting value for a {hammer.name}, not measured"
    basis = f"assumed: {_ASSUMED_BAND:.2f} either way, as no listed hammer has this spread"
    return max(0.0, spread - _ASSUMED_BAND), min(1.0, spread + _ASSUMED_BAND), basis
