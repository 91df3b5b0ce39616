"""The section of a round wire hammered flat: a stadium, two flat faces and two half-round edges.

Width and thickness broadcast; numbers in give numpy numbers out. A round wire is the stadium whose width and
thickness are both its diameter. A width below the thickness is refused: turn the section instead.
All formulas are exact for the stadium (elementary integrals).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formsketch.errors import FormSketchError

FloatArray = NDArray[np.float64]

# A stadium loses this share of t^2 against the rectangle around it: its four missing corners.
CORNER_LOSS = 1 - np.pi / 4

# Rounding of a section that is meant to be round may leave its width this share below its thickness.
ROUND_TOLERANCE = 1e-9


def positive(what: str, value: ArrayLike) -> FloatArray:
    """`value` as floats; raises FormSketchError naming `what` unless every one is above 0."""
    values = np.asarray(value, dtype=np.float64)
    above = values > 0
    if not above.all():
        raise FormSketchError(f"{what}: expected a number above 0, got {values[~above].flat[0]:g}")
    return values


def fraction(what: str, value: ArrayLike) -> FloatArray:
    """`value` as floats; raises FormSketchError naming `what` unless every one lies in 0..1."""
    values = np.asarray(value, dtype=np.float64)
    inside = (values >= 0) & (values <= 1)
    if not inside.all():
        raise FormSketchError(f"{what}: expected a number from 0 to 1, got {values[~inside].flat[0]:g}")
    return values


def _stadium(width_mm: ArrayLike, thickness_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """The thickness t > 0 and the length of the flat faces a = w - t >= 0."""
    thickness = positive("thickness of the section", thickness_mm)
    width = positive("width of the section", width_mm)
    if not (width >= thickness * (1 - ROUND_TOLERANCE)).all():
        raise FormSketchError("width of the section: expected at least its thickness")
    return thickness, np.maximum(width - thickness, 0.0)


def round_area_mm2(diameter_mm: ArrayLike) -> FloatArray:
    """Area of a round wire, pi d^2/4."""
    diameter = positive("diameter", diameter_mm)
    return np.pi / 4 * (diameter * diameter)


def stadium_area_mm2(width_mm: ArrayLike, thickness_mm: ArrayLike) -> FloatArray:
    """Area, t (w - t) + pi t^2/4, for w >= t > 0."""
    thickness, flat = _stadium(width_mm, thickness_mm)
    return thickness * flat + np.pi / 4 * (thickness * thickness)


def stadium_perimeter_mm(width_mm: ArrayLike, thickness_mm: ArrayLike) -> FloatArray:
    """Girth, 2 (w - t) + pi t, for w >= t > 0."""
    thickness, flat = _stadium(width_mm, thickness_mm)
    return 2 * flat + np.pi * thickness


def second_moments_mm4(width_mm: ArrayLike, thickness_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Second moments of area (weak, strong), for w >= t > 0.

    Weak: bent over the flat, as a band over the wrist. Strong: bent in the plane of the flat.
    """
    t, a = _stadium(width_mm, thickness_mm)
    t2, a2 = t * t, a * a
    ends = np.pi / 64 * t2 * t2
    weak = a * t * t2 / 12 + ends
    strong = t * a * a2 / 12 + np.pi / 16 * t2 * a2 + a * t * t2 / 6 + ends
    return weak, strong


def plastic_moduli_mm3(width_mm: ArrayLike, thickness_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Plastic section moduli (weak, strong), for w >= t > 0: full plastic moment over yield strength."""
    t, a = _stadium(width_mm, thickness_mm)
    t2 = t * t
    ends = t * t2 / 6
    weak = a * t2 / 4 + ends
    strong = t * a * a / 4 + np.pi / 8 * a * t2 + ends
    return weak, strong
