"""The spread of the maker's own hammer: from hammered samples, or from a whole piece that was made.

A sample is a round wire hammered flat; its spread is S = ln(w/d)/ln(h0/h) with h = area/w. Several samples
give a mean and, by Student's t, a band that holds the true mean 95 times in 100; what the calipers can be
off by is added to it. Thickness and width are read anew of every sample, so that their share grows less with
more samples; the share of the wire does not, for it is the same wire.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from formsketch.bench.reading import reading_half_band, student_t_975
from formsketch.errors import FormSketchError, InputError
from formsketch.forging.section import CORNER_LOSS
from formsketch.forging.spread import (
    TRUSTED_THICKNESS_RATIO,
    area_ratio,
    check_sample,
    spread_from_sample,
)
from formsketch.values import Value

FloatArray = NDArray[np.float64]

CALIPERS_READ_TO_MM = 0.02  # common practice, no source: what plain calipers are trusted to
_MOST_SAMPLES = 200

# A band this wide, of the 0 to 1 there is, tells no more than the listed hammers do; judgement.
VAGUE_BAND = 0.30


class Sample(Value, frozen=True):
    """A round wire of `diameter_mm` hammered to `thickness_mm`, found `width_mm` wide."""

    diameter_mm: float
    thickness_mm: float
    width_mm: float


class SampleSpread(Value, frozen=True):
    """What one sample says: spread, half its 95 % band from the calipers alone, and its lengthening A0/A.

    `slopes_per_mm` is how the spread changes with wire diameter, thickness and width.
    """

    spread: float
    half_band: float
    elongation: float
    slopes_per_mm: tuple[float, float, float]


class Calibration(Value, frozen=True):
    """A measured spread with its band 0 <= low <= spread <= high <= 1, in words how it was found.

    `scatter` is the standard deviation between samples, None for a single one and for a whole piece;
    `remarks` are sentences on how far to trust it.
    """

    spread: float
    low: float
    high: float
    scatter: float | None
    readings: tuple[SampleSpread, ...]
    how: str
    remarks: tuple[str, ...] = ()

    @property
    def elongation(self) -> float | None:
        """Mean lengthening of the samples, None for a whole piece."""
        if not self.readings:
            return None
        return sum(reading.elongation for reading in self.readings) / len(self.readings)


def read_sample(sample: Sample, reads_to_mm: float = CALIPERS_READ_TO_MM) -> SampleSpread:
    """Spread, band and lengthening of one sample, measured with calipers that read to +-`reads_to_mm`.

    Raises SampleError, in one sentence, for a sample that cannot be right.
    """
    if not 0 <= reads_to_mm < math.inf:
        raise InputError(f"What the calipers read to was expected to be 0 mm or more, not {reads_to_mm:g}.")
    d, t, w = sample.diameter_mm, sample.thickness_mm, sample.width_mm
    check_sample(d, t, w)
    spread = float(spread_from_sample(d, t, w))
    slopes = _spread_slopes(d, t, w, spread)
    half = reading_half_band(slopes, reads_to_mm)
    return SampleSpread(spread, half, 1.0 / float(area_ratio(w, t, d)), slopes)


def calibrate(samples: Sequence[Sample], reads_to_mm: float = CALIPERS_READ_TO_MM) -> Calibration:
    """The spread of the hammer that made these samples: their mean, its 95 % band, and their scatter.

    Raises SampleError naming the sample that cannot be right, InputError where there is none.
    """
    if not 1 <= len(samples) <= _MOST_SAMPLES:
        raise InputError(f"From 1 to {_MOST_SAMPLES} hammered samples were expected, not {len(samples)}.")
    readings = []
    for number, sample in enumerate(samples, start=1):
        try:
            readings.append(read_sample(sample, reads_to_mm))
        except FormSketchError as fault:
            if len(samples) == 1:
                raise
            raise type(fault)(f"Sample {number}: {plain_fault(fault)}") from fault
    spreads = np.array([reading.spread for reading in readings])
    mean = float(spreads.mean())
    half, scatter = _mean_reading_half_band(samples, readings, reads_to_mm), None
    if len(readings) > 1:
        scatter = float(spreads.std(ddof=1))
        of_mean = student_t_975(len(readings) - 1) * scatter / math.sqrt(len(readings))
        half = math.hypot(half, of_mean)
    low, high = max(0.0, mean - half), min(1.0, mean + half)
    return Calibration(
        mean,
        low,
        high,
        scatter,
        tuple(readings),
        _how(len(readings), reads_to_mm),
        _remarks(samples, low, high),
    )


def plain_fault(fault: FormSketchError) -> str:
    """What is wrong with a sample, to stand after its number."""
    return str(fault).removeprefix("hammered sample: ")


def _mean_reading_half_band(
    samples: Sequence[Sample], readings: Sequence[SampleSpread], reads_to_mm: float
) -> float:
    """Half the 95 % band that the calipers leave to the mean: every wire read once, the rest each time."""
    count = len(readings)
    by_wire: dict[float, float] = {}
    slopes = []
    for sample, reading in zip(samples, readings, strict=True):
        of_wire, *others = (slope / count for slope in reading.slopes_per_mm)
        by_wire[sample.diameter_mm] = by_wire.get(sample.diameter_mm, 0.0) + of_wire
        slopes += others
    return reading_half_band([*by_wire.values(), *slopes], reads_to_mm)


def _spread_slopes(d: float, t: float, w: float, spread: float) -> tuple[float, float, float]:
    """Change of S = L/Q per mm of d, t and w; L = ln(w/d), Q = ln(pi d/4) + ln w - ln A."""
    area = w * t - CORNER_LOSS * t * t
    squeeze = math.log(math.pi / 4 * d * w / area)
    by_d = (-1 / d - spread / d) / squeeze
    by_t = spread * (w - 2 * CORNER_LOSS * t) / area / squeeze
    by_w = (1 / w - spread * (1 / w - t / area)) / squeeze
    return by_d, by_t, by_w


def _how(count: int, reads_to_mm: float) -> str:
    calipers = f"calipers that read to ± {reads_to_mm:g} mm"
    if count == 1:
        return f"one sample; the band is that of {calipers}"
    return f"mean of {count} samples; 95 % band by Student's t and {calipers}"


def _remarks(samples: Sequence[Sample], low: float, high: float) -> tuple[str, ...]:
    said = []
    least, most = TRUSTED_THICKNESS_RATIO
    ratios = [sample.thickness_mm / sample.diameter_mm for sample in samples]
    if min(ratios) < least or max(ratios) > most:
        said.append(f"Best hammer samples to between {least:g} and {most:g} of the wire's thickness.")
    if high - low > VAGUE_BAND:
        said.append("The band is wide: hammer further, or more samples, to know the spread better.")
    elif len(samples) == 1:
        said.append("One sample does not tell how evenly you hammer; two or three more do.")
    return tuple(said)
