"""The only unit conversions and the only number formatting for people.

Inside the program lengths are millimetres, angles degrees, masses grams; these functions are the door
to the other units of the bench. Texts use a true minus sign and never show a negative zero.
"""

import math
from collections.abc import Sequence

from formsketch.errors import InputError

MM_PER_INCH = 25.4  # exact: international yard and pound agreement, 1959
GRAMS_PER_TROY_OUNCE = 31.1034768  # exact: 480 grains of 64.79891 mg
GRAMS_PER_PENNYWEIGHT = GRAMS_PER_TROY_OUNCE / 20  # 1 ozt = 20 dwt

INCH_DENOMINATORS = (2, 4, 8, 16, 32, 64)
_FRACTION_TOLERANCE_MM = 0.02  # how close a length must lie to a fraction of an inch to be called by it
_BAND_NOISE = 1e-9  # rounding allowed between a value and the bounds of its band


def mm_from_inch(length_inch: float) -> float:
    """Millimetres in a length given in inches."""
    return length_inch * MM_PER_INCH


def inch_from_mm(length_mm: float) -> float:
    """Inches in a length given in millimetres."""
    return length_mm / MM_PER_INCH


def pennyweight_from_g(weight_g: float) -> float:
    """Pennyweight (dwt) in a weight given in grams."""
    return weight_g / GRAMS_PER_PENNYWEIGHT


def troy_ounce_from_g(weight_g: float) -> float:
    """Troy ounces (ozt) in a weight given in grams."""
    return weight_g / GRAMS_PER_TROY_OUNCE


def length_text(length_mm: float, signed: bool = False) -> str:
    """A length for people: "20.94 mm"; 3 decimals under 0.1 mm, 2 under 100 mm, 1 from there on."""
    return f"{_number_text(length_mm, ((0.1, 3), (100.0, 2)), 1, signed)} mm"


def weight_text(weight_g: float, signed: bool = False) -> str:
    """A weight for people: "3.97 g"; 3 decimals under 0.1 g, 2 under 100 g, 1 from there on."""
    return f"{_number_text(weight_g, ((0.1, 3), (100.0, 2)), 1, signed)} g"


def force_text(force_n: float) -> str:
    """A force for people: "1.56 N"; 3 decimals under 0.1 N, 2 under 10 N, 1 under 100 N, none from there."""
    return f"{_number_text(force_n, ((0.1, 3), (10.0, 2), (100.0, 1)), 0, False)} N"


def moment_text(moment_nmm: float) -> str:
    """A bending moment for people: "3.20 N·mm"; decimals as of a force."""
    return f"{force_text(moment_nmm)}·mm"


def angle_text(angle_deg: float, signed: bool = False) -> str:
    """An angle for people, to a tenth of a degree: "240°", "12.5°"."""
    return f"{_number_text(angle_deg, (), 1, signed).removesuffix('.0')}°"


def percent_text(percent: float, signed: bool = False) -> str:
    """A share already in percent (12.4 means 12.4 %): one decimal under 10 %, none from there on."""
    return f"{_number_text(percent, ((10.0, 1),), 0, signed)} %"


def ratio_text(ratio: float) -> str:
    """A plain ratio: two decimals under 10, one from there on."""
    return _number_text(ratio, ((10.0, 2),), 1, False)


def band_text(low: float, high: float, value: float) -> str:
    """How far a value may be off, in small type beside it: "± 1.2", or "+2.0 −0.4" when lopsided.

    low <= value <= high, all in the unit of the value; "" when the band is nil as shown.
    Raises InputError when the value lies outside its band.
    """
    _require_finite(low, high, value)
    noise = _BAND_NOISE * max(1.0, abs(value))
    if not low - noise <= value <= high + noise:
        raise InputError(f"The value {value:g} lies outside its own band, {low:g} to {high:g}.")
    over, under = max(high - value, 0.0), max(value - low, 0.0)
    wider = max(over, under)
    decimals = 2 if round(wider, 2) < 1 else 1 if round(wider, 1) < 10 else 0
    above, below = f"{over:.{decimals}f}", f"{under:.{decimals}f}"
    if above == below:
        return "" if float(above) == 0 else f"± {above}"
    return f"+{above} −{below}"


def inch_fraction_text(length_mm: float, denominators: Sequence[int] = INCH_DENOMINATORS) -> str:
    """A length in inches: "7/16 in", "1 1/4 in" within 0.02 mm of such a fraction, else "0.43 in".

    The coarsest fraction that fits is taken. Under a tenth of an inch decimals are given to 0.001 in.
    """
    _require_finite(length_mm)
    for denominator in sorted(denominators):
        parts = round(inch_from_mm(length_mm) * denominator)
        if parts > 0 and abs(mm_from_inch(parts / denominator) - length_mm) <= _FRACTION_TOLERANCE_MM:
            return f"{_mixed_fraction(parts, denominator)} in"
    return f"{_number_text(inch_from_mm(length_mm), ((0.1, 3), (100.0, 2)), 1, False)} in"


def count_text(count: int, noun: str) -> str:
    """A count of things with their noun, in the plural by s where there is not one of them."""
    return f"{count:,} {noun}{'' if count == 1 else 's'}"


def _mixed_fraction(parts: int, denominator: int) -> str:
    common = math.gcd(parts, denominator)
    whole, rest = divmod(parts // common, denominator // common)
    if rest == 0:
        return str(whole)
    fraction = f"{rest}/{denominator // common}"
    return f"{whole} {fraction}" if whole else fraction


def _number_text(value: float, steps: Sequence[tuple[float, int]], decimals: int, signed: bool) -> str:
    """`value` with the decimals of the first step (limit, decimals) that it still lies under once rounded."""
    _require_finite(value)
    size = abs(value) or 1.0  # nothing at all is shown like an everyday size, not like a tiny one
    decimals = next((places for limit, places in steps if round(size, places) < limit), decimals)
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0:
        return text
    return f"−{text}" if value < 0 else f"+{text}" if signed else text


def _require_finite(*values: float) -> None:
    for value in values:
        if not math.isfinite(value):
            raise InputError(f"Only a finite number can be shown, and {value} is not one.")
