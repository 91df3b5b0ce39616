"""Tempers: how hard cold work has made a metal, counted in B&S gauge numbers reduced.

Rolling strip down by n gauge numbers takes off 1 - 92^(-n/39) of its thickness; drawing wire down by
n numbers takes off 1 - 92^(-2n/39) of its area. Source: the gauge itself (ASTM B258) and the temper
names of ASTM B601; derived, and equal to the reductions published for brass strip.
"""

import math

from formsketch.errors import InputError

_LOG_RATIO_PER_NUMBER = math.log(92.0) / 39.0

# Name and B&S numbers reduced, from soft to hardest.
TEMPERS = (
    ("soft", 0),
    ("quarter hard", 1),
    ("half hard", 2),
    ("three-quarter hard", 3),
    ("hard", 4),
    ("extra hard", 6),
    ("spring", 8),
    ("extra spring", 10),
)


def strip_reduction_percent(numbers: float) -> float:
    """Thickness taken off a strip rolled down by `numbers` (0 or more) B&S numbers, in percent."""
    return -100.0 * math.expm1(-_LOG_RATIO_PER_NUMBER * numbers)


def wire_reduction_percent(numbers: float) -> float:
    """Area taken off a wire drawn down by `numbers` (0 or more) B&S numbers, in percent."""
    return -100.0 * math.expm1(-2.0 * _LOG_RATIO_PER_NUMBER * numbers)


def temper_name(reduction_percent: float) -> str:
    """The trade's name for the temper nearest in gauge numbers to a strip reduction of 0 to under 100 %."""
    if not 0 <= reduction_percent < 100:
        raise InputError(f"A reduction from 0 to under 100 % was expected, not {reduction_percent:g}.")
    numbers = -math.log1p(-reduction_percent / 100.0) / _LOG_RATIO_PER_NUMBER
    return min(TEMPERS, key=lambda temper: abs(temper[1] - numbers))[0]
