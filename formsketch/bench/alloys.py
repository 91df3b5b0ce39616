"""The density of the maker's own alloy: from its composition, or from weighing it in air and in water."""

from __future__ import annotations

from collections.abc import Mapping

from formsketch.bench.reading import reading_half_band
from formsketch.bench.tables import Known
from formsketch.errors import InputError
from formsketch.values import Value

_MASS_SUM_TOLERANCE = 1e-6
_SHARE_SUM_TOLERANCE = 1e-4  # of the whole: shares are typed in parts of a thousand, rounded

# Above this share of zinc the mixture is known to read low (2.4 % for 70/30 brass); judgement.
ZINC_RICH = 0.10
# How far real alloys lie from the mixture: 0.5 % for sterling and 18k yellow, 1.5 % for other listed golds,
# up to 2.4 % below the real one for brasses (70/30, published 8.53).
_MIXTURE_ERROR, _BRASS_LOW_BY = 0.015, 0.025

WATER_RANGE_C = (0.0, 40.0)
# Tanaka, Girard, Davis, Peuto & Bignell, Metrologia 38 (2001) 301-309: the CIPM formula for pure water.
_A1, _A2, _A3, _A4, _A5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
# Air at 20 C, 1013 hPa, half humid (CIPM-2007 gives 1.199 kg/m3); weather moves it by a few per cent.
AIR_DENSITY_G_PER_CM3 = 0.0012
_PLAUSIBLE_G_PER_CM3 = (0.5, 25.0)
# A band of more than this share of the density tells less than the table of metals does; judgement.
_VAGUE_BAND = 0.02


class PureMetal(Value, frozen=True):
    """A metal that alloys are made of: its density in g/cm3 near 20 C, how well known and from where."""

    symbol: str
    name: str
    density_g_per_cm3: float
    mark: Known
    source: str


_CRC = "CRC Handbook of Chemistry and Physics, near room temperature"
_TRADE = "the value alloy makers' worked examples use; CRC Handbook of Chemistry and Physics agrees to 0.4 %"
PURE_METALS = {
    metal.symbol: metal
    for metal in (
        PureMetal("Au", "gold", 19.32, "P", _TRADE),
        PureMetal("Ag", "silver", 10.49, "P", _TRADE),
        PureMetal("Cu", "copper", 8.96, "P", _TRADE),
        PureMetal("Zn", "zinc", 7.14, "P", _TRADE),
        PureMetal("Ni", "nickel", 8.90, "M", _CRC),
        PureMetal("Pd", "palladium", 12.02, "M", _CRC),
        PureMetal("Pt", "platinum", 21.45, "M", _CRC),
        PureMetal("Sn", "tin", 7.29, "M", f"{_CRC}, white tin"),
        PureMetal("Ge", "germanium", 5.323, "M", _CRC),
        PureMetal("Ga", "gallium", 5.91, "M", _CRC),
        PureMetal("In", "indium", 7.31, "M", _CRC),
        PureMetal("Cd", "cadmium", 8.65, "M", _CRC),
        PureMetal("Mn", "manganese", 7.44, "M", f"{_CRC}; 7.2 to 7.5 by its form"),
        PureMetal("Fe", "iron", 7.87, "M", _CRC),
        PureMetal("Co", "cobalt", 8.90, "M", _CRC),
        PureMetal("Ir", "iridium", 22.56, "M", _CRC),
        PureMetal("Ru", "ruthenium", 12.41, "M", f"{_CRC}; 12.1 to 12.45 by the source"),
        PureMetal("Al", "aluminium", 2.70, "M", _CRC),
        PureMetal("Si", "silicon", 2.33, "M", _CRC),
        PureMetal("Ti", "titanium", 4.51, "M", _CRC),
    )
}


class AlloyDensity(Value, frozen=True):
    """A density in g/cm3 with the band it may lie in, how it was found, and what to mind ("" for nothing)."""

    density_g_per_cm3: float
    low: float
    high: float
    how: str
    remark: str = ""


def mixture_density_g_per_cm3(mass_fractions: Mapping[str, float]) -> float:
    """Density of an alloy from the mass fractions (sum 1) of `PURE_METALS`: 1/rho = sum(w/rho).

    It takes volumes to add up. Known error: within 0.5 % for sterling and 18k yellow, within 1.5 % for the
    other listed golds, 2.4 % low for 70/30 brass, so brasses need a published density.
    Raises InputError for another metal, a negative share, or shares that do not add up to 1.
    """
    for element, share in mass_fractions.items():
        _known_metal(element)
        if not 0 <= share <= 1:
            raise InputError(f"The share of {element} was expected from 0 to 1, not {share:g}.")
    total = sum(mass_fractions.values())
    if abs(total - 1.0) > _MASS_SUM_TOLERANCE:
        raise InputError(f"Shares that add up to 1 were expected; these add up to {total:g}.")
    return 1.0 / sum(
        share / PURE_METALS[element].density_g_per_cm3 for element, share in mass_fractions.items()
    )


def mass_fractions(parts: Mapping[str, float]) -> dict[str, float]:
    """Mass fractions from shares typed in parts of 1000 or in per cent, whichever they add up to.

    Raises InputError for an unknown metal, a share below 0, and any other sum, saying what is missing.
    """
    for element, share in parts.items():
        _known_metal(element)
        if not 0 <= share <= 1000:
            raise InputError(f"The share of {element} was expected from 0 to 1000 parts, not {share:g}.")
    total = sum(parts.values())
    for whole in (100.0, 1000.0):
        if abs(total - whole) <= _SHARE_SUM_TOLERANCE * whole:
            return {element: share / total for element, share in parts.items() if share > 0}
    raise InputError(f"Shares that add up to 1000 parts or 100 % were expected; these add up to {total:g}.")


def density_from_parts(parts: Mapping[str, float]) -> AlloyDensity:
    """Density of an alloy of these shares, in parts of 1000 or per cent, with the known error of the rule.

    Raises InputError as `mass_fractions` does.
    """
    fractions = mass_fractions(parts)
    density = mixture_density_g_per_cm3(fractions)
    low, high, remark = density * (1 - _MIXTURE_ERROR), density * (1 + _MIXTURE_ERROR), ""
    if len(fractions) == 1:
        low = high = density
    elif fractions.get("Zn", 0.0) > ZINC_RICH:
        high = density * (1 + _BRASS_LOW_BY)
        remark = "Much zinc reads low here, 2.4 % low for 70/30 brass: prefer a published density."
    shares = ", ".join(f"{element} {1000 * share:.4g}" for element, share in fractions.items())
    return AlloyDensity(density, low, high, f"from its composition in parts of 1000: {shares}", remark)


def water_density_g_per_cm3(celsius: float) -> float:
    """Density of pure water from 0 to 40 C, good to 1e-6 (Tanaka et al. 2001, the CIPM formula).

    Tap water and dissolved air change it by less than 0.1 %. Raises InputError out of range.
    """
    low, high = WATER_RANGE_C
    if not low <= celsius <= high:
        raise InputError(f"A water temperature from {low:g} to {high:g} °C was expected, not {celsius:g}.")
    lighter = (celsius + _A1) ** 2 * (celsius + _A2) / (_A3 * (celsius + _A4))
    return _A5 * (1 - lighter) / 1000


def density_from_weighing(
    in_air_g: float, in_water_g: float, celsius: float, reads_to_g: float = 0.01
) -> AlloyDensity:
    """Density of a piece of solid metal from its weight in air and hanging in water of this temperature.

    Archimedes with the lift of the air: rho = W_air (rho_water - rho_air)/(W_air - W_water) + rho_air. The
    band is that of the balance, which reads to +-`reads_to_g`. Raises InputError for weights that cannot be.
    """
    if not 0 < in_air_g < float("inf"):
        raise InputError(f"A weight in air above 0 g was expected, not {in_air_g:g}.")
    if not 0 <= in_water_g < in_air_g:
        raise InputError(
            f"In water the piece was expected to weigh less than the {in_air_g:g} g it weighs in air, "
            f"and not less than nothing; got {in_water_g:g} g."
        )
    if not 0 <= reads_to_g < float("inf"):
        raise InputError(f"What the balance reads to was expected to be 0 g or more, not {reads_to_g:g}.")
    lift, lost = water_density_g_per_cm3(celsius) - AIR_DENSITY_G_PER_CM3, in_air_g - in_water_g
    density = in_air_g * lift / lost + AIR_DENSITY_G_PER_CM3
    least, most = _PLAUSIBLE_G_PER_CM3
    if not least <= density <= most:
        raise InputError(
            f"These weights make {density:.4g} g/cm³; from {least:g} to {most:g} was expected of a metal."
        )
    slopes = (lift * in_water_g / lost**2, lift * in_air_g / lost**2)
    half = reading_half_band(slopes, reads_to_g)
    if half >= density:
        raise InputError(
            "The weights differ by no more than the balance reads to: weigh a larger piece at once."
        )
    remark = ""
    if half > _VAGUE_BAND * density:
        remark = "The piece is small for this balance: weigh more metal at once to know it better."
    how = f"weighed: {in_air_g:g} g in air, {in_water_g:g} g in water of {celsius:g} °C"
    return AlloyDensity(density, density - half, density + half, how, remark)


def _known_metal(element: str) -> None:
    if element not in PURE_METALS:
        raise InputError(f'"{element}": one of {", ".join(PURE_METALS)} was expected.')
