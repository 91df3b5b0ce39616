"""The sides of a form against each other: its two halves, and the upper loops of a row against the lower."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.values import Value

FloatArray = NDArray[np.float64]

_HALF_POINTS = 2_001
_LEAST_LOOP_DEG = 90.0
# From so many loops on a row may swell and shrink.
_LEAST_SWELLING = 6


class Halves(Value, frozen=True):
    """The half from the start against the half from the finish, laid over each other as well as they go.

    `mirrored`, else turned half round. The greatest distance between a place and its fellow as far from the
    other end, and the greatest difference of width, each with the samples of the two places.
    """

    mirrored: bool
    difference_mm: float
    places: tuple[int, int]
    width_difference_mm: float
    width_places: tuple[int, int]


class UpperLower(Value, frozen=True):
    """How much higher the upper loops of a row reach above its middle line than the lower ones below it."""

    difference_mm: float
    upper: int
    lower: int
    sample: int


def halves(evaluation: Evaluation) -> Halves | None:
    """The half from the start against that from the finish, without the ends; None for a wire of no length.

    Both ways of being alike are tried, mirrored and turned half round, each laid over as well as it goes.
    """
    trace, spans = evaluation.trace, evaluation.chain.spans
    begin, end = int(trace.first[spans.start]), int(trace.first[spans.stop])
    z = trace.z_mm[begin:end]
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
    if along[-1] <= 0:
        return None
    even = np.linspace(0.0, along[-1], _HALF_POINTS)
    there = np.interp(even, along, z.real) + 1j * np.interp(even, along, z.imag)
    there = there - np.mean(there)
    back = there[::-1]
    width = np.interp(even, along, evaluation.samples.plan_width_mm[begin:end])
    mirrored = np.exp(1j * np.angle(np.sum(there * back))) * np.conj(back)
    turned = np.exp(1j * np.angle(np.sum(there * np.conj(back)))) * back
    apart = [np.abs(there - other) for other in (mirrored, turned)]
    is_mirrored = float(np.max(apart[0])) <= float(np.max(apart[1])) + 1e-6
    differs, thicker = apart[0 if is_mirrored else 1], np.abs(width - width[::-1])

    def places(values: FloatArray) -> tuple[int, int]:
        at = int(np.argmax(values))
        pair = even[[at, _HALF_POINTS - 1 - at]]
        nearest = [begin + int(np.argmin(np.abs(along - mm))) for mm in pair]
        return min(nearest), max(nearest)

    return Halves(
        is_mirrored, float(np.max(differs)), places(differs), float(np.max(thicker)), places(thicker)
    )


def upper_lower(evaluation: Evaluation) -> UpperLower | None:
    """Upper against lower loops of the row; None where they do not lie by turns above and below, two of each.

    A row may swell and shrink along its length; that is taken out.
    """
    trace = evaluation.trace
    loops = row_of_loops(evaluation)
    if len(loops) < 4:
        return None
    marks = np.concatenate([trace.z_mm[[trace.first[part], trace.first[part + 1] - 1]] for part in loops])
    # The line through the marks between the loops: they lie on it, however the row swells.
    slope, middle = np.polyfit(marks.real, marks.imag, 1)
    reaches, sides, samples = [], [], []
    for part in loops:
        own = slice(int(trace.first[part]), int(trace.first[part + 1]))
        y = trace.z_mm[own].imag - slope * trace.z_mm[own].real - middle
        side = 1.0 if abs(float(np.max(y))) >= abs(float(np.min(y))) else -1.0
        reach = side * y + evaluation.samples.plan_width_mm[own] / 2
        reaches.append(float(np.max(reach)))
        sides.append(side)
        samples.append(own.start + int(np.argmax(reach)))
    upper, lower = sides.count(1.0), sides.count(-1.0)
    turns = evaluation.chain.turn_rad[loops]
    alternate = bool(np.all(turns[1:] * turns[:-1] < 0)) and all(a != b for a, b in pairwise(sides))
    if min(upper, lower) < 2 or not alternate:
        return None
    at = np.linspace(-1.0, 1.0, len(reaches))
    swelling = [at, at**2] if len(reaches) >= _LEAST_SWELLING else []
    columns = np.stack((np.ones_like(at), np.array(sides) / 2, *swelling), axis=1)
    fitted = np.linalg.lstsq(columns, np.array(reaches), rcond=None)[0]
    difference = float(fitted[1])
    larger = 1.0 if difference >= 0 else -1.0
    furthest = max((n for n, side in enumerate(sides) if side == larger), key=lambda n: reaches[n])
    return UpperLower(difference, upper, lower, samples[furthest])


def row_of_loops(evaluation: Evaluation) -> list[int]:
    """Parts that are loops of the longest repeated run, or of all the form where nothing repeats."""
    chain, runs = evaluation.chain, evaluation.design.form.runs
    parts = np.arange(chain.spans.start, chain.spans.stop)
    repeated = [number for number, run in enumerate(runs) if run.times > 1]
    if repeated:
        longest = max(repeated, key=lambda n: runs[n].times * sum(s.length_mm for s in runs[n].spans))
        parts = parts[chain.run[parts] == longest]
    return [int(p) for p in parts if abs(np.rad2deg(chain.turn_rad[p])) >= _LEAST_LOOP_DEG]
