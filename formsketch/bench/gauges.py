"""Wire gauges: American (AWG, the same as Brown & Sharpe), British Standard (SWG) and metric sizes."""

import math
from functools import cache
from typing import Annotated

import msgspec
from msgspec import Meta

from formsketch.bench.tables import Known, shipped_table
from formsketch.errors import InputError
from formsketch.units import inch_from_mm, length_text, mm_from_inch

# ASTM B258: No. 36 is 0.005 in and No. 0000 is 0.46 in, 39 equal ratios apart, so 92 in all.
_AWG_36_INCH = 0.005
_AWG_RATIO = 92.0
_AWG_STEPS = 39.0
_AWG_LOWEST, _AWG_HIGHEST = -5.0, 60.0  # 6/0 is the thickest met in tables, 56 the thinnest in B258
_NAMED_LOWEST, _NAMED_HIGHEST = -3, 50  # the numbers a diameter is named by

_GAUGE_TOLERANCE = 0.005  # share of the diameter within which a wire is called by its gauge number
_STOCK_RANGE_MM = (0.3, 5.0)  # wire bought for jewellery; common practice, no source

# Common practice, no source: round wire as suppliers of jewellery metals list it.
# fmt: off
METRIC_WIRE_DIAMETERS_MM = (
    0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.3, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0,
)
# fmt: on
STOCK_SYSTEMS = ("B&S", "SWG", "metric")


class _SwgRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    gauge: str
    diameter_inch: Annotated[float, Meta(gt=0, le=1)]
    known: Known
    source: str


def awg_diameter_mm(number: float) -> float:
    """Diameter in mm of an AWG (B&S) number: 0.005 in x 92^((36 - n)/39) (ASTM B258).

    0 is 0, 00 is -1, 000 is -2, 0000 is -3; numbers between the whole ones are allowed, from -5 to 60.
    Raises InputError outside that range.
    """
    if not _AWG_LOWEST <= number <= _AWG_HIGHEST:
        raise InputError(
            f"An AWG number from {_AWG_LOWEST:g} to {_AWG_HIGHEST:g} was expected, not {number:g}."
        )
    return mm_from_inch(_AWG_36_INCH * _AWG_RATIO ** ((36.0 - number) / _AWG_STEPS))


def awg_number(diameter_mm: float) -> float:
    """AWG (B&S) number of a diameter in mm, a fraction between gauges; the inverse of `awg_diameter_mm`."""
    if not 0 < diameter_mm < math.inf:
        raise InputError(f"A wire diameter above 0 mm was expected, not {diameter_mm:g}.")
    return 36.0 - _AWG_STEPS * math.log(inch_from_mm(diameter_mm) / _AWG_36_INCH) / math.log(_AWG_RATIO)


def swg_diameter_mm(number: int) -> float:
    """Diameter in mm of a British Standard gauge number (BS 3737:1964); 7/0 is -6, 2/0 is -1.

    Raises InputError for a number that is not in the table, which runs from 7/0 to 50.
    """
    try:
        return _swg_table()[number]
    except KeyError:
        raise InputError(f"There is no {gauge_label(number)} SWG; the gauge runs from 7/0 to 50.") from None


def gauge_number(text: str) -> int:
    """The number behind a written gauge: "16" is 16, "00" and "2/0" are -1. Raises InputError."""
    digits, slash, zero = text.strip().partition("/")
    if digits.isascii() and digits.isdigit() and len(digits) <= 7:
        if slash and zero == "0" and 1 <= int(digits) <= 7:
            return 1 - int(digits)
        if not slash:
            return int(digits) if int(digits) else 1 - len(digits)
    raise InputError(f'"{text}": a whole gauge number was expected, such as 16, 00 or 2/0.')


def gauge_label(number: int) -> str:
    """A gauge number as the trade writes it: 16 is "16", -1 is "2/0"."""
    return str(number) if number >= 0 else f"{1 - number}/0"


def gauge_text(diameter_mm: float) -> str:
    """A wire for people: "16 gauge (1.29 mm)" within 0.5 % of a B&S number.

    Otherwise "1.50 mm (between 14 and 15 gauge)", or the diameter alone beyond 4/0 and 50 gauge.
    """
    exact = awg_number(diameter_mm)
    nearest = round(exact)
    if not _NAMED_LOWEST <= nearest <= _NAMED_HIGHEST:
        return length_text(diameter_mm)
    if abs(diameter_mm / awg_diameter_mm(nearest) - 1.0) <= _GAUGE_TOLERANCE:
        return f"{gauge_label(nearest)} gauge ({length_text(diameter_mm)})"
    thicker = math.floor(exact)
    if thicker < _NAMED_LOWEST or thicker + 1 > _NAMED_HIGHEST:
        return length_text(diameter_mm)
    return f"{length_text(diameter_mm)} (between {gauge_label(thicker)} and {gauge_label(thicker + 1)} gauge)"


def stock_diameters(system: str) -> list[tuple[str, float]]:
    """Wire one can buy, thin to thick, as (label, diameter in mm), from 0.3 to 5 mm.

    `system` is "B&S", "SWG" or "metric"; anything else raises InputError.
    """
    if system == "B&S":
        sizes = [(f"{number} gauge", awg_diameter_mm(number)) for number in range(_NAMED_HIGHEST + 1)]
    elif system == "SWG":
        sizes = [(f"{gauge_label(number)} SWG", diameter) for number, diameter in _swg_table().items()]
    elif system == "metric":
        sizes = [(f"{diameter:g} mm", diameter) for diameter in METRIC_WIRE_DIAMETERS_MM]
    else:
        raise InputError(
            f'"{system}": one of {", ".join(STOCK_SYSTEMS)} was expected as the system of gauges.'
        )
    thinnest, thickest = _STOCK_RANGE_MM
    return sorted((size for size in sizes if thinnest <= size[1] <= thickest), key=lambda size: size[1])


@cache
def _swg_table() -> dict[int, float]:
    rows = shipped_table("swg.json", "swg", _SwgRow, "gauge").rows
    return {gauge_number(gauge): mm_from_inch(row.diameter_inch) for gauge, row in rows.items()}
