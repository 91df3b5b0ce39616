"""A flat form rolled on its mandrel: the size it closes to, how long it must be, and where it comes to lie.

The underside of what lies on the mandrel follows its surface. The middle of the wire's height h runs h/2
outside, and over any convex shape the directions turn once round: its length is the inner circumference
+ pi h [derived: integral of (1 + curvature h/2) along the inside]. Where h changes along the band its mean
over the turning is taken, that of a round inside as long: a stretch turns by its length over (r + h/2).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf, pi
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.design.model import EyeEnd, HookEnd
from formsketch.errors import InputError

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]

# Places along the wire and cells along the band at which heights are looked up.
_PLACES, _CELLS = 20_000, 2_000
# The mean height and the inside it leaves, one from the other; each time nearer by height over radius.
_MEANS = 6
# Points round an oval; its perimeter by equal steps is then exact to rounding down to an aspect of 0.3.
_ROUND_POINTS = 2_048


def height_on_mandrel_mm(evaluation: Evaluation, inside_mm: float = inf) -> float:
    """Mean height of the wire, out of the plane of the form, where it lies on a mandrel so far round, mm.

    Where several parts of the wire lie across one place of the band the highest one bears on the mandrel.
    Crossings count once: the part over bends over the part under it.
    """
    return _mean_height_mm(_highest_mm(evaluation), inside_mm)


def _mean_height_mm(highest_mm: FloatArray, inside_mm: float) -> float:
    if not 0 < inside_mm < inf:
        return float(np.mean(highest_mm))
    return float(np.average(highest_mm, weights=1 / (inside_mm / (2 * pi) + highest_mm / 2)))


def _highest_mm(evaluation: Evaluation) -> FloatArray:
    """The greatest height of the wire at equal steps along the band."""
    trace, heights = evaluation.trace, evaluation.samples.height_mm
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(trace.z_mm)))))
    places = np.linspace(0.0, along[-1], _PLACES)
    x = np.interp(places, along, trace.z_mm.real)
    h = np.interp(places, along, heights)
    reach = float(np.ptp(x))
    if reach <= 0:
        return np.array([np.max(h)])
    cell = np.minimum((x - x.min()) / reach * _CELLS, _CELLS - 1).astype(np.int64)
    highest = np.zeros(_CELLS)
    np.maximum.at(highest, cell, h)
    return highest[highest > 0]


def caught_mm(evaluation: Evaluation) -> float:
    """How far hook and eye lie over each other once caught, mm: a wire each; 0 without them."""
    form = evaluation.design.form
    kinds = {type(form.start), type(form.finish)}
    return 2 * evaluation.diameter_mm if kinds == {HookEnd, EyeEnd} else 0.0


def inside_of_rolled_mm(evaluation: Evaluation, gap_mm: float = 0.0) -> float:
    """Inner circumference of the form rolled up with this gap between its ends (negative: overlap), mm."""
    round_mm, highest_mm = _band_mm(evaluation) + gap_mm, _highest_mm(evaluation)
    inside_mm = inf
    for _ in range(_MEANS):
        inside_mm = round_mm - pi * _mean_height_mm(highest_mm, inside_mm)
    return inside_mm


def length_needed_mm(evaluation: Evaluation, inside_mm: float, gap_mm: float = 0.0) -> float:
    """How long the flat form must be, end to end and laid level, to close to an inner circumference, mm."""
    height_mm = height_on_mandrel_mm(evaluation, inside_mm)
    return inside_mm + pi * height_mm - gap_mm + caught_mm(evaluation)


def _band_mm(evaluation: Evaluation) -> float:
    return evaluation.envelope_mm[0] - caught_mm(evaluation)


def inside_as_laid_mm(evaluation: Evaluation) -> float:
    """Inside round of a form bent round in its own plane, from mark to mark, its opening closed, mm.

    The inner edge is the centreline less half the width times the turn; the opening is closed by an arc
    that turns what is left of a full round. A hoop's is exactly pi times its inside diameter.
    """
    trace, chain = evaluation.own_trace, evaluation.chain
    begin, end = trace.first[chain.spans.start], trace.first[chain.spans.stop]
    turn = float(np.sum(chain.turn_rad[chain.spans]) + np.sum(chain.corner_rad[chain.spans][1:]))
    side = 1.0 if turn >= 0 else -1.0
    along, z = trace.direction[begin:end], trace.z_mm[begin:end]
    width = evaluation.samples.plan_width_mm[begin:end]
    turned = np.angle(along[1:] / along[:-1])
    lost = float(np.sum(turned * side * (width[1:] + width[:-1]) / 4))
    inner = z + 0.5j * side * width * along
    return evaluation.finished_length_mm - lost + _closing_mm(abs(inner[-1] - inner[0]), 2 * pi - side * turn)


def _closing_mm(chord_mm: float, turn_rad: float) -> float:
    """Length of the arc over a chord that turns so far; the chord itself where no arc does."""
    half = turn_rad / 2
    return chord_mm * half / float(np.sin(half)) if 1e-9 < half < pi / 2 else chord_mm


@dataclass(frozen=True)
class Oval:
    """The inside of a rolled piece: an ellipse of this circumference, `aspect` its depth over its width."""

    circumference_mm: float
    aspect: float = 1.0

    def __post_init__(self) -> None:
        if not self.circumference_mm > 0:
            raise InputError(
                f"The form is too short to close: {self.circumference_mm:.1f} mm would be left inside."
            )

    @cached_property
    def half_width_mm(self) -> float:
        """Half the greater inside width."""
        angle = np.arange(_ROUND_POINTS) * 2 * pi / _ROUND_POINTS
        speed = np.hypot(np.sin(angle), self.aspect * np.cos(angle))
        return self.circumference_mm / float(2 * pi * np.mean(speed))

    @property
    def width_mm(self) -> float:
        return 2 * self.half_width_mm

    @property
    def depth_mm(self) -> float:
        return self.aspect * self.width_mm

    @property
    def tightest_radius_mm(self) -> float:
        """Inside radius where the oval turns most sharply: b^2/a."""
        return self.aspect**2 * self.half_width_mm

    def offset(self, out_mm: float, points: int = _ROUND_POINTS) -> NDArray[np.complex128]:
        """A line this far outside the inside, from the opening once round; shape (points + 1,)."""
        # The opening stands at the back, at +i: seen from the front the band runs from left to right.
        angle = np.linspace(pi / 2, 2.5 * pi, points + 1)
        a, b = self.half_width_mm, self.aspect * self.half_width_mm
        at = a * np.cos(angle) + 1j * b * np.sin(angle)
        normal = b * np.cos(angle) + 1j * a * np.sin(angle)
        return np.asarray(at + out_mm * normal / np.abs(normal))


@dataclass(frozen=True, eq=False)
class Rolled:
    """A form rolled to its oval, for drawing: where each place along it lies seen from above."""

    inside: Oval
    height_mm: float
    band_mm: float
    gap_mm: float

    @cached_property
    def _middle(self) -> tuple[FloatArray, NDArray[np.complex128]]:
        line = self.inside.offset(self.height_mm / 2)
        return np.concatenate(([0.0], np.cumsum(np.abs(np.diff(line))))), line

    def at(self, along_mm: FloatArray, out_mm: float = 0.0) -> NDArray[np.complex128]:
        """Places along the band (0 at its start) seen from above, `out_mm` outside its middle line."""
        lengths, _ = self._middle
        line = self.inside.offset(self.height_mm / 2 + out_mm)
        place = (along_mm + self.gap_mm / 2) % lengths[-1]
        return np.asarray(np.interp(place, lengths, line.real) + 1j * np.interp(place, lengths, line.imag))


def rolled(evaluation: Evaluation, aspect: float = 1.0, gap_mm: float = 0.0) -> Rolled:
    """The form rolled up. Raises `InputError` when it is too short to close."""
    oval = Oval(inside_of_rolled_mm(evaluation, gap_mm), aspect)
    height_mm = height_on_mandrel_mm(evaluation, oval.circumference_mm)
    return Rolled(oval, height_mm, _band_mm(evaluation), gap_mm)
