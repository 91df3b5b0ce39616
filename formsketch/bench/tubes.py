"""Tubes and rods to bend round: the sizes on the bench and the one nearest to what is wanted."""

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from formsketch.bench.tables import Known, read_table, shipped_table
from formsketch.errors import InputError
from formsketch.values import Value


class Tube(Value, frozen=True):
    """A tube or rod: outside diameter in mm, and what it is called on the bench ("7/16 in", "11 mm")."""

    diameter_mm: float
    label: str


class _TubeRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    label: Annotated[str, Meta(min_length=1, max_length=40)]
    diameter_mm: Annotated[float, Meta(gt=0, le=500)]
    known: Known = "C"
    source: str = "entered by hand"


def starter_tubes() -> tuple[Tube, ...]:
    """The shipped sizes, thin to thick: 1/16 to 1 in by 1/32 in and 1 to 25 mm by half a millimetre."""
    return load_tubes()


def load_tubes(user_file: Path | None = None) -> tuple[Tube, ...]:
    """Tubes thin to thick: the shipped ones and those of a person's own file, which replace same labels.

    A file with "only_these": true stands alone, as a bench with these tubes and no others.
    Raises TableError naming file, row and expectation.
    """
    rows = dict(shipped_table("tubes.json", "tubes", _TubeRow, "label").rows)
    if user_file is not None:
        own = read_table(user_file, "tubes", _TubeRow, "label", replaceable=True)
        rows = dict(own.rows) if own.only_these else rows | own.rows
    tubes = (Tube(row.diameter_mm, row.label) for row in rows.values())
    return tuple(sorted(tubes, key=lambda tube: tube.diameter_mm))


def nearest_tubes(diameter_mm: float, tubes: Iterable[Tube], count: int = 2) -> tuple[Tube, ...]:
    """The `count` tubes nearest to a wanted diameter in mm, nearest first; of two as near, the smaller.

    Fewer come back where there are fewer. Raises InputError for a diameter that is not above 0.
    """
    if not 0 < diameter_mm < math.inf:
        raise InputError(f"A tube diameter above 0 mm was expected, not {diameter_mm:g}.")
    ranked = sorted(tubes, key=lambda tube: (abs(tube.diameter_mm - diameter_mm), tube.diameter_mm))
    return tuple(ranked[:count])
