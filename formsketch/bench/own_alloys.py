"""The maker's own alloy as a metal: one that a design carries, and a row of a person's own table."""

from __future__ import annotations

import re
import zlib

import msgspec

from formsketch.bench.alloys import AlloyDensity
from formsketch.bench.metals import Metal, metal_from_own
from formsketch.design.model import OwnMetal
from formsketch.errors import InputError

_LONGEST_KEY = 60


def alloy_key(name: str) -> str:
    """The key of an own alloy of this name; the same name always has the same key."""
    plain = name.strip().casefold()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    if not plain.isascii() or not slug or len(slug) > _LONGEST_KEY - len("own-"):
        slug = f"{zlib.crc32(plain.encode('utf-8')):08x}"
    return f"own-{slug}"


def own_alloy(
    name: str,
    density_g_per_cm3: float,
    yield_mpa: float | None = None,
    e_gpa: float | None = None,
    *,
    nickel: bool = False,
    zinc: bool = False,
) -> OwnMetal:
    """An alloy that a design can carry; strength and stiffness None where they are not known.

    Raises InputError, in one sentence, for a name or a number out of bounds.
    """
    made = OwnMetal(
        key=alloy_key(name),
        name=name.strip(),
        density_g_per_cm3=density_g_per_cm3,
        yield_mpa=yield_mpa,
        e_gpa=e_gpa,
        nickel=nickel,
        zinc=zinc,
    )
    try:
        return msgspec.convert(msgspec.to_builtins(made), OwnMetal, strict=True)
    except msgspec.ValidationError as fault:
        if not made.name or len(made.name) > 80:
            raise InputError("A name of 1 to 80 letters was expected for the alloy.") from fault
        raise InputError(
            "A density from 0.5 to 25 g/cm³, a yield strength from 1 to 3000 MPa and a stiffness from 1 to "
            "500 GPa were expected."
        ) from fault


def table_row(own: OwnMetal, density: AlloyDensity, like: Metal | None = None) -> Metal:
    """The alloy as a row of a person's own table; strength, hardening and heat are those of `like` if given.

    What is taken over from another metal is marked as no more than a guide.
    """
    source = f"own alloy, density {density.how}"
    if like is None:
        return msgspec.structs.replace(metal_from_own(own), mark="D", source=source[:400])
    return msgspec.structs.replace(
        like,
        key=own.key,
        name=own.name,
        density_g_per_cm3=own.density_g_per_cm3,
        nickel=own.nickel,
        zinc=own.zinc,
        mark="C",
        source=f"{source}; strength and heat taken as those of {like.name}"[:400],
        indicative=True,
    )
