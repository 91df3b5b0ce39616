"""What a reading of calipers or a balance is worth: from how closely it reads to a band.

A tool that reads to +-e is off by anything up to e, each as likely: its standard uncertainty is e/sqrt 3
(JCGM 100:2008, 'GUM', 4.3.7). Uncertainties add by their squares (5.1.2); a band is meant to hold 95 times
in 100.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from formsketch.errors import InputError

NORMAL_95 = 1.959963984540054  # 0.975 quantile of the normal distribution

# 0.975 quantiles of Student's t for 1 to 30 degrees of freedom (NIST/SEMATECH e-Handbook of Statistical
# Methods, 1.3.6.7.2).
# fmt: off
_STUDENT_975 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)
# fmt: on


def student_t_975(freedom: int) -> float:
    """The 0.975 quantile of Student's t for 1 or more degrees of freedom, to 0.001.

    A table up to 30, beyond it the first terms of Abramowitz & Stegun 26.7.5.
    """
    if freedom < 1:
        raise InputError("Two values at least were expected, to tell how much they scatter.")
    if freedom <= len(_STUDENT_975):
        return _STUDENT_975[freedom - 1]
    z = NORMAL_95
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    return z + first / freedom + second / freedom**2


def reading_half_band(slopes: Iterable[float], reads_to: float) -> float:
    """Half the 95 % band of a value computed from readings that are each good to +-`reads_to`.

    `slopes` are the changes of the value per unit of each reading.
    """
    return NORMAL_95 * reads_to / math.sqrt(3) * math.sqrt(math.fsum(slope * slope for slope in slopes))
