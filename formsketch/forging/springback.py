"""Bending a wire round a tube, and how far it springs back.

Elastic-perfectly plastic bending of a round section. With c = d/2 and the centreline radius R = tube
radius + c, the bend is measured by u = Sy R/(E c): the share of the depth c that stays elastic. At u >= 1
nothing yields and the wire springs fully straight. Derived from the stress over the section; for the
rectangle it is Gardiner's formula (Trans. ASME 79 (1957) 1-9).

Sy is the yield strength of the wire as it is bent (annealed or as drawn), before hammering. The bend angle
is kept in the same share as the curvature. Calculated springback is one number inside a range: after strain
the metal unloads with a modulus lower by MODULUS_DROP, and pulling the wire by hand reduces springback.
All arguments broadcast; mm and MPa. Numbers that cannot be raise FormSketchError.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from formsketch.errors import FormSketchError
from formsketch.forging.section import FloatArray, positive

# Unloading modulus against the tabulated one, after plastic strain. From memory, medium sure.
MODULUS_DROP = (0.05, 0.15)

# The centreline keeps its length (k-factor 0.5) while the tube's radius is at least this many wire diameters;
# tighter, the wire also thins and its middle lengthens. Workshop rule for sheet and wire.
LEAST_TUBE_RADIUS_TO_DIAMETER = 2.0

# Curvature lost per u at small u: 16/(3 pi) = 1.698, also the shape factor of a round section.
LOSS_RATE = 16 / (3 * np.pi)

# The search runs from below and cannot overshoot; it takes 3 to 6 steps, and most where the wire is to end
# all but straight. A last step below the tolerance leaves an error of about its square.
MOST_STEPS = 60
STEP_TOLERANCE = 1e-9
# A wanted curvature below this share of the elastic limit's counts as this share; u is then 1 to 1e-6.
NEARLY_STRAIGHT = 1e-15


def loaded_ratio(
    centreline_radius_mm: ArrayLike, diameter_mm: ArrayLike, yield_mpa: ArrayLike, e_mpa: ArrayLike
) -> FloatArray:
    """u = Sy R/(E c) of a wire held to the centreline radius R: 0 for a fold, 1 where yielding begins."""
    return positive("bend radius", centreline_radius_mm) / _elastic_radius_mm(diameter_mm, yield_mpa, e_mpa)


def moment_ratio(u: ArrayLike) -> FloatArray:
    """Bending moment over Sy c^3 of a round wire held at u > 0.

    From 4/3 (full plastic moment d^3 Sy/6) at u = 0 through pi/4 (first yield, pi d^3 Sy/32) at u = 1, then
    elastic, pi/(4 u).
    """
    load = _not_negative(u)
    inside = np.minimum(load, 1.0)
    # asin(u)/u tends to 1: below 1e-8 the quotient at 1e-8 is the same number.
    small = np.maximum(inside, 1e-8)
    plastic = np.arcsin(small) / (2 * small) + _elastic_root(inside) * (5 - 2 * inside**2) / 6
    return np.where(load > 1, np.pi / 4 / np.maximum(load, 1.0), plastic)[()]


def curvature_kept_round(u: ArrayLike) -> FloatArray:
    """Share of curvature (and angle) a round wire keeps after letting go; 1 at u = 0, 0 from u = 1 on.

    k = 1 - (2/pi)[asin u + u sqrt(1 - u^2)(5 - 2 u^2)/3]. With linear hardening of slope alpha E beyond
    yield multiply by (1 - alpha).
    """
    return _kept(np.minimum(_not_negative(u), 1.0))


def curvature_kept_rectangle(x: ArrayLike) -> FloatArray:
    """The same for a rectangular section of thickness t: 4 X^3 - 3 X + 1 with X = R Sy/(E t), 0 from 1/2 on.

    Gardiner 1957.
    """
    load = np.minimum(_not_negative(x), 0.5)
    return (1 - 2 * load) ** 2 * (1 + load)


def outer_fibre_strain(centreline_radius_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Greatest bending strain d/(2 R), a fraction."""
    return positive("wire diameter", diameter_mm) / (2 * positive("bend radius", centreline_radius_mm))


def free_radius_mm(
    tube_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    yield_mpa: ArrayLike,
    e_mpa: ArrayLike,
    hardening_ratio: ArrayLike = 0.0,
) -> FloatArray:
    """Centreline radius of a wire bent round a tube and let go; inf where it springs fully straight.

    tube_radius_mm: above -d/2, so that the centreline radius is positive (real tubes are above 0, and below
    LEAST_TUBE_RADIUS_TO_DIAMETER the wire's length is no longer kept). hardening_ratio: slope of the
    stress-strain line beyond yield over E, 0 <= alpha < 1.
    """
    held = np.asarray(tube_radius_mm, dtype=np.float64) + np.divide(diameter_mm, 2)
    kept = curvature_kept_round(loaded_ratio(held, diameter_mm, yield_mpa, e_mpa))
    with np.errstate(divide="ignore"):
        return held / (kept * _softening(hardening_ratio))


def tube_radius_mm(
    free_centreline_radius_mm: ArrayLike,
    diameter_mm: ArrayLike,
    yield_mpa: ArrayLike,
    e_mpa: ArrayLike,
    hardening_ratio: ArrayLike = 0.0,
) -> FloatArray:
    """Radius of the tube that leaves the wanted centreline radius: inverse of `free_radius_mm`.

    free_centreline_radius_mm: above 0; inf gives the smallest tube from which the wire springs fully
    straight. A negative result means that the wire cannot be bent that tight round any tube, however thin
    (the wanted centreline radius is less than half the wire, or little more); it is not clamped, and says
    how much too tight. The result is never nan.
    """
    elastic_radius = _elastic_radius_mm(diameter_mm, yield_mpa, e_mpa)
    wanted = elastic_radius / positive("bend radius", free_centreline_radius_mm)
    target = np.maximum(wanted / _softening(hardening_ratio), NEARLY_STRAIGHT)
    return elastic_radius * _load_that_leaves(target) - np.divide(diameter_mm, 2)


def _load_that_leaves(target: FloatArray) -> FloatArray:
    """The u in 0..1 with k(u)/u = target (> 0), by bounded Newton steps on the convex k(u) - target u."""
    u = 1 / (LOSS_RATE + target)
    for _ in range(MOST_STEPS):
        root = _elastic_root(u)
        step = (_kept(u) - target * u) / (LOSS_RATE * root**3 + target)
        u = np.minimum(u + step, 1.0)
        if (np.abs(step) <= STEP_TOLERANCE * u).all():
            break
    return u


def _kept(u: FloatArray) -> FloatArray:
    """k(u) for 0 <= u <= 1, in the form that keeps its digits near u = 1; k' = -LOSS_RATE (1 - u^2)^1.5."""
    lost = u * _elastic_root(u) * (5 - 2 * u * u) / 3
    return np.maximum(2 / np.pi * (np.arccos(u) - lost), 0.0)


def _elastic_root(u: FloatArray) -> FloatArray:
    return np.sqrt((1 - u) * (1 + u))


def _elastic_radius_mm(diameter_mm: ArrayLike, yield_mpa: ArrayLike, e_mpa: ArrayLike) -> FloatArray:
    """Centreline radius at which yielding begins, E c/Sy."""
    stiffness = positive("modulus of elasticity", e_mpa) / positive("yield strength", yield_mpa)
    return stiffness * positive("wire diameter", diameter_mm) / 2


def _softening(hardening_ratio: ArrayLike) -> FloatArray:
    alpha = np.asarray(hardening_ratio, dtype=np.float64)
    if not ((alpha >= 0) & (alpha < 1)).all():
        raise FormSketchError("hardening ratio: expected a number from 0 to below 1")
    return 1 - alpha


def _not_negative(u: ArrayLike) -> FloatArray:
    load = np.asarray(u, dtype=np.float64)
    if not (load >= 0).all():
        raise FormSketchError("bending load: expected a number of at least 0")
    return load
