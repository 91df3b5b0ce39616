"""Metals of a person's own table that go with a design, so that it opens on machines without that table."""

from __future__ import annotations

from msgspec.structs import replace

from formsketch.bench.metals import ASSUMED_E_GPA, Metal, load_metals, load_own_metals
from formsketch.bench.user_tables import user_metals_file
from formsketch.design.model import Design, OwnMetal


def carried_metal(row: Metal) -> OwnMetal:
    """What a design carries of a metal of the table: middles of its ranges, neither hardening nor heat."""
    assumed = (row.e_low_gpa, row.e_high_gpa) == ASSUMED_E_GPA
    return OwnMetal(
        key=row.key,
        name=row.name,
        density_g_per_cm3=row.density_g_per_cm3,
        yield_mpa=row.soft_yield_mid_mpa,
        e_gpa=None if assumed else row.e_mid_gpa,
        nickel=row.nickel,
        zinc=row.zinc,
    )


def is_fuller(row: Metal, own: OwnMetal) -> bool:
    """Whether a row of the table is the metal that a design carries: what else it says then holds too."""
    same = (row.name, row.density_g_per_cm3, row.nickel, row.zinc) == (
        own.name,
        own.density_g_per_cm3,
        own.nickel,
        own.zinc,
    )
    return (
        same
        and _within(own.yield_mpa, row.soft_yield_low_mpa, row.soft_yield_high_mpa)
        and (
            (row.e_low_gpa, row.e_high_gpa) == ASSUMED_E_GPA
            if own.e_gpa is None
            else _within(own.e_gpa, row.e_low_gpa, row.e_high_gpa)
        )
    )


def _within(value: float | None, low: float | None, high: float | None) -> bool:
    if value is None or low is None or high is None:
        return value is None and low is None
    return low <= value <= high


def carrying_own_metals(design: Design) -> Design:
    """The design with each metal it names that only the person's own table holds; it opens anywhere then."""
    named = {design.wire.metal, *(variant.metal for variant in design.variants if variant.metal)}
    missing = named - {own.key for own in design.metals} - load_metals().keys()
    if not missing:
        return design
    table = load_own_metals(user_metals_file())
    added = tuple(carried_metal(table[key]) for key in sorted(missing & table.keys()))
    return replace(design, metals=(*design.metals, *added)) if added else design
