"""How stiff and how strong a hammered section is: bending about both axes, and twisting.

The section is the stadium of `section`: flat faces of length a = w - t between two half-round edges. Weak
bends it over its flat, strong in the plane of its flat. Second moments and plastic moduli are exact for the
stadium and stand in `section`; here are what follows from them and what twisting needs.
Width and thickness broadcast, mm; for w >= t > 0, else FormSketchError.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from formsketch.forging.section import FloatArray, _stadium, second_moments_mm4

# Prandtl's stress function of the stadium (Laplace equation with the section's edge as boundary), solved to
# 1e-10 and written down as a long strip, t^3 a/3, an end correction, and what is left of it in a short one:
# J/t^4 = rho/3 + END + e^(-pi rho) (NEAR - FADING e^(-FADING_RATE rho)), rho = a/t. Derived; within 2e-5 of
# J for every rho. A round wire has pi/32 = 0.0981748 exactly.
_END, _NEAR, _FADING_RATE = 0.06995846, 0.030251, 2.6586
_FADING = _END + _NEAR - np.pi / 32
# The greatest shear stress of a twisted stadium lies in the middle of its flat: G x twist x t x factor, with
# the factor 1/2 for a round wire and 1 for a thin strip. Same solution; within 1e-3 of the factor.
_SHEAR_NEAR, _SHEAR_RATE, _SHEAR_POWER = 0.43532, 4.170, 0.7


def elastic_moduli_mm3(width_mm: ArrayLike, thickness_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Elastic section moduli (weak, strong): the moment at first yield over the yield strength, I/c."""
    weak, strong = second_moments_mm4(width_mm, thickness_mm)
    return 2 * weak / np.asarray(thickness_mm, dtype=float), 2 * strong / np.asarray(width_mm, dtype=float)


def torsion_constant_mm4(width_mm: ArrayLike, thickness_mm: ArrayLike) -> FloatArray:
    """St Venant's torsion constant J: torque = G J x twist per length; within 2e-5 of the exact solution."""
    t, a = _stadium(width_mm, thickness_mm)
    rho = a / t
    left = np.exp(-np.pi * rho) * (_NEAR - _FADING * np.exp(-_FADING_RATE * rho))
    return np.asarray(t**4 * (rho / 3 + _END + left))


def torsion_modulus_mm3(width_mm: ArrayLike, thickness_mm: ArrayLike) -> FloatArray:
    """Torque over the greatest shear stress it makes, which lies in the middle of the flat."""
    t, a = _stadium(width_mm, thickness_mm)
    rho = a / t
    amplitude = _SHEAR_NEAR + (0.5 - _SHEAR_NEAR) * np.exp(-_SHEAR_RATE * rho**_SHEAR_POWER)
    factor = 1 - amplitude * np.exp(-np.pi / 2 * rho)
    return np.asarray(torsion_constant_mm4(width_mm, thickness_mm) / (t * factor))


def plastic_torsion_modulus_mm3(width_mm: ArrayLike, thickness_mm: ArrayLike) -> FloatArray:
    """Fully plastic torque over the shear yield strength: a t^2/2 + pi t^3/12.

    Twice the volume of sand heaped on the section at a slope of 1 (Nadai's analogy): a roof over the flat
    and half a cone over each edge. Exact for the stadium.
    """
    t, a = _stadium(width_mm, thickness_mm)
    return np.asarray(a * t * t / 2 + np.pi * t**3 / 12)
