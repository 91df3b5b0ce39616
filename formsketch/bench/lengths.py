"""Reading lengths and angles as people type them: "12.5", "7/16 in", "16 ga", "3/32 in + 0.4".

A text is a sum of products of numbers, with at most one unit in each product. A bare number is in mm
(or degrees); a bare fraction is refused, because half the bench would mean inches by it.
"""

import math
import re
from collections.abc import Callable, Mapping

from formsketch.bench.gauges import awg_diameter_mm, gauge_number, swg_diameter_mm
from formsketch.errors import InputError
from formsketch.units import MM_PER_INCH
from formsketch.values import Value

_LONGEST_TEXT = 80  # characters; far more than any length needs, and it bounds the work

_Reading = Callable[[str], float]  # from the number as written to mm or degrees

_TOKEN = re.compile(
    r"""\s*(?:
        (?P<number>[0-9]+\s+[0-9]+/[0-9]+ | [0-9]+/[0-9]+ | [0-9]+\.?[0-9]* | \.[0-9]+)
      | (?P<sign>[-+−*×/]|[xX](?![A-Za-z]))
      | (?P<unit>[A-Za-z][A-Za-z&]*|''|["″”°])
    )""",
    re.VERBOSE,
)
_GLYPH_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_TIMES = frozenset("*×xX")
_MINUS = frozenset("-−")


class _Token(Value, frozen=True):
    kind: str  # number, sign or unit
    text: str


class _Quantity(Value, frozen=True):
    amount: float
    has_unit: bool
    has_fraction: bool


class _Measure(Value, frozen=True):
    """What is being read: its name, an example and its units."""

    name: str
    examples: str
    units: Mapping[str, _Reading]
    unit_names: str
    fraction_help: str


def parse_length_mm(text: str) -> float:
    """The length in mm, 0 or more, that a person typed.

    Understands "12.5", "12.5 mm", "1.2 cm", '1/2 in', '7/16"', "1 1/4 in", "16 ga" or "16 B&S" or "16 AWG",
    "2/0 AWG", "18 SWG", and sums and products such as "3/32 in + 0.4" and "2 x 1/8 in".
    Raises InputError with one sentence that says what was expected.
    """
    length_mm = _read(text, _LENGTH)
    if length_mm < 0:
        raise InputError(f'"{text}": a length of 0 or more was expected.')
    return length_mm


def parse_angle_deg(text: str) -> float:
    """The angle in degrees, of either sign, that a person typed: "240", "-30°", "1/2 turn", "90 deg + 15".

    Raises InputError with one sentence that says what was expected.
    """
    return _read(text, _ANGLE)


def _read(text: str, measure: _Measure) -> float:
    tokens = _tokens(text, measure)
    total, position = 0.0, 0
    negative = tokens[0].text in _MINUS
    if negative or tokens[0].text == "+":
        position = 1
    while True:
        quantity, position = _product(text, tokens, position, measure)
        if quantity.has_fraction and not quantity.has_unit:
            raise InputError(f'"{text}": {measure.fraction_help}')
        total += -quantity.amount if negative else quantity.amount
        if position == len(tokens):
            break
        negative = tokens[position].text in _MINUS
        if not negative and tokens[position].text != "+":
            raise InputError(f'"{text}": + or − was expected before "{tokens[position].text}".')
        position += 1
    if not math.isfinite(total):
        raise InputError(f'"{text}": {measure.name} of ordinary size was expected.')
    return total


def _tokens(text: str, measure: _Measure) -> list[_Token]:
    if not text.strip():
        raise InputError(f"Nothing was typed where {measure.name} was expected, such as {measure.examples}.")
    if len(text) > _LONGEST_TEXT:
        raise InputError(f"{measure.name.capitalize()} in at most {_LONGEST_TEXT} characters was expected.")
    if "," in text:
        raise InputError(f'"{text}": write decimals with a full stop, such as 12.5.')
    for glyph, fraction in _GLYPH_FRACTIONS.items():
        text = text.replace(glyph, f" {fraction}")
    tokens, position = [], 0
    text = text.rstrip()
    while position < len(text):
        match = _TOKEN.match(text, position)
        if match is None or match.lastgroup is None:
            stray = text[position:].lstrip()[0]
            raise InputError(f'"{text}": "{stray}" is not understood; {measure.examples} would be.')
        tokens.append(_Token(match.lastgroup, match[match.lastgroup]))
        position = match.end()
    return tokens


def _product(text: str, tokens: list[_Token], position: int, measure: _Measure) -> tuple[_Quantity, int]:
    product, position = _factor(text, tokens, position, measure)
    while position < len(tokens) and (tokens[position].text in _TIMES or tokens[position].text == "/"):
        divides = tokens[position].text == "/"
        factor, position = _factor(text, tokens, position + 1, measure)
        if factor.has_unit and (divides or product.has_unit):
            raise InputError(f'"{text}": only a plain number can multiply or divide {measure.name}.')
        if divides and factor.amount == 0:
            raise InputError(f'"{text}": nothing can be divided by 0.')
        product = _Quantity(
            product.amount / factor.amount if divides else product.amount * factor.amount,
            product.has_unit or factor.has_unit,
            product.has_fraction or factor.has_fraction,
        )
    return product, position


def _factor(text: str, tokens: list[_Token], position: int, measure: _Measure) -> tuple[_Quantity, int]:
    if position >= len(tokens) or tokens[position].kind != "number":
        place = f'before "{tokens[position].text}"' if position < len(tokens) else "at the end"
        raise InputError(f'"{text}": a number was expected {place}.')
    number = tokens[position].text
    position += 1
    if position == len(tokens) or tokens[position].kind != "unit":
        return _Quantity(_plain_number(number), False, "/" in number), position
    unit = tokens[position].text.lower()
    reading = measure.units.get(unit)
    if reading is None:
        raise InputError(f'"{text}": "{tokens[position].text}" is not a unit here; {measure.unit_names} are.')
    position += 1
    # "18 SWG gauge" says gauge twice, as people do.
    if unit in _GAUGE_UNITS and position < len(tokens) and tokens[position].text.lower() in _GAUGE_WORDS:
        position += 1
    return _Quantity(reading(number), True, "/" in number), position


def _plain_number(number: str) -> float:
    *whole, last = number.split()
    over, slash, under = last.partition("/")
    if not slash:
        return float(over)
    if int(under) == 0:
        raise InputError(f'"{number}": nothing can be divided by 0; 2/0 is a gauge only before AWG or SWG.')
    return sum(map(float, whole)) + int(over) / int(under)


def _times(factor: float) -> _Reading:
    return lambda number: _plain_number(number) * factor


def _awg(number: str) -> float:
    return awg_diameter_mm(gauge_number(number))


def _swg(number: str) -> float:
    return swg_diameter_mm(gauge_number(number))


def _units(*groups: tuple[str, _Reading]) -> dict[str, _Reading]:
    return {name: reading for names, reading in groups for name in names.split()}


_GAUGE_WORDS = frozenset(("ga", "gauge", "gage"))
_GAUGE_UNITS = _GAUGE_WORDS | {"b&s", "awg", "swg"}

_LENGTH = _Measure(
    name="a length",
    examples="12.5 mm, 7/16 in or 16 ga",
    units=_units(
        ("mm millimetre millimetres millimeter millimeters", _times(1.0)),
        ("cm centimetre centimetres centimeter centimeters", _times(10.0)),
        ("in inch inches \" ″ ” ''", _times(MM_PER_INCH)),
        ("ga gauge gage b&s awg", _awg),
        ("swg", _swg),
    ),
    unit_names="mm, cm, in, ga, B&S, AWG and SWG",
    fraction_help="a unit was expected after the fraction, such as 7/16 in.",
)
_ANGLE = _Measure(
    name="an angle",
    examples="240, 90 deg or 1/2 turn",
    units=_units(
        ("deg degree degrees °", _times(1.0)),
        ("turn turns", _times(360.0)),
    ),
    unit_names="deg and turn",
    fraction_help="a unit was expected after the fraction, such as 1/2 turn.",
)
