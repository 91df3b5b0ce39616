"""The two kinds of frozen value the program is made of.

They are msgspec structs, for those are made several times faster than frozen dataclasses, and so are their
classes: the hundreds of them were a third of what starting took.
"""

from __future__ import annotations

import msgspec


class Value(msgspec.Struct, frozen=True):
    """Frozen; equal to another of its class when all fields are."""


class Result(msgspec.Struct, frozen=True, eq=False, dict=True):
    """Frozen, holding arrays or keeping what it works out (`cached_property`); equal to itself alone."""
