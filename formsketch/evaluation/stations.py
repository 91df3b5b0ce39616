"""The wire of an evaluated form cut at stations, close enough that it may be bent again: rolled on a mandrel.

Samples lie close where the wire bends; a straight span has only its marks, and would be rolled as a chord.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ComplexArray = NDArray[np.complex128]


class Stations(Result, frozen=True):
    """Places along the wire, arrays of shape (stations,), laid level as the trace is.

    `sample` is the sample at or before each, `along_mm` the finished length from the wire's own beginning.
    Both sides of a mark are stations.
    """

    sample: IntArray
    along_mm: FloatArray
    z_mm: ComplexArray
    direction: ComplexArray
    width_mm: FloatArray
    height_mm: FloatArray


def along_mm(evaluation: Evaluation) -> FloatArray:
    """Finished length from the wire's beginning to every sample, ends included."""
    return np.concatenate(([0.0], np.cumsum(np.abs(np.diff(evaluation.trace.z_mm)))))


def stations_of(evaluation: Evaluation, step_mm: float, thinned: bool = False) -> Stations:
    """All samples, and more between those further apart than the step.

    Thinned, those nearer than the step are left out, but for the marks.
    """
    trace, samples = evaluation.trace, evaluation.samples
    along = along_mm(evaluation)
    count = np.maximum(np.ceil(np.diff(along) / step_mm), 1).astype(np.int64)
    before = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(before)) - np.repeat(np.cumsum(count) - count, count)) / count[before]
    before, share = np.append(before, len(along) - 1), np.append(share, 0.0)
    after = np.minimum(before + 1, len(along) - 1)
    place = along[before] + share * (along[after] - along[before])
    if thinned:
        is_mark = np.zeros(len(along), dtype=bool)
        is_mark[trace.first[:-1]] = is_mark[trace.first[1:] - 1] = True
        kept = np.append(True, np.diff(np.floor(place / step_mm)) > 0) | ((share == 0) & is_mark[before])
        before, after, share, place = before[kept], after[kept], share[kept], place[kept]

    def between(values: FloatArray) -> FloatArray:
        return np.asarray(values[before] + share * (values[after] - values[before]))

    direction = trace.direction[before] + share * (trace.direction[after] - trace.direction[before])
    return Stations(
        before,
        place,
        np.asarray(trace.z_mm[before] + share * (trace.z_mm[after] - trace.z_mm[before])),
        np.asarray(direction / np.abs(direction)),
        between(samples.plan_width_mm),
        between(samples.height_mm),
    )
