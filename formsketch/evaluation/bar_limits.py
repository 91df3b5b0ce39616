"""Where a loaded bar first yields, and where it first yields through its whole section."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from formsketch.evaluation.bar import Bar, FloatArray, Places
from formsketch.evaluation.bar_loads import Moments
from formsketch.forging.section import plastic_moduli_mm3
from formsketch.forging.stiffness import (
    elastic_moduli_mm3,
    plastic_torsion_modulus_mm3,
    torsion_modulus_mm3,
)
from formsketch.values import Result

# The search looks closer at this many pieces of the wire, each time at so many places, so many times over:
# the last step is a thousandth of a piece, and a maximum is flat where it lies, so that its value is within
# 1e-7.
_PIECES, _LOOKS, _TIMES = 3, 17, 3
_STEPS = np.linspace(0.0, 1.0, _LOOKS)
# A bend is thinner than twice its radius; nearer to it the curved bar's stress is bounded at this share.
_TIGHTEST = 0.95


def elastic_stress_mpa(moments: Moments, places: Places) -> FloatArray:
    """Greatest equivalent stress (von Mises) of a section per unit load: bending and twist at their worst.

    Exact for bending alone and twisting alone, and for both over a flat; otherwise no less than the true one.
    """
    flat, deep = elastic_moduli_mm3(places.width_mm, places.thickness_mm)
    bending = _bending(moments, places, flat, deep)
    shear = moments.torque / torsion_modulus_mm3(places.width_mm, places.thickness_mm)
    return np.sqrt(bending**2 + 3 * shear**2)


def plastic_stress_mpa(moments: Moments, places: Places) -> FloatArray:
    """Yield strength at which the section yields right through under a unit load: (M/Mp)^2 + (T/Tp)^2 = 1.

    Exact for bending alone and twisting alone; between them the circle is a close lower bound (Hill & Siebel
    1953).
    """
    flat, deep = plastic_moduli_mm3(places.width_mm, places.thickness_mm)
    bending = _bending(moments, places, flat, deep)
    shear = moments.torque / plastic_torsion_modulus_mm3(places.width_mm, places.thickness_mm)
    return np.sqrt(bending**2 + 3 * shear**2)


def _bending(moments: Moments, places: Places, flat_mm3: FloatArray, deep_mm3: FloatArray) -> FloatArray:
    lies_flat = places.plan_mm >= places.height_mm
    in_plane, out_of_plane = np.where(lies_flat, (deep_mm3, flat_mm3), (flat_mm3, deep_mm3))
    return np.asarray(np.abs(moments.in_plane) / in_plane + np.abs(moments.out_of_plane) / out_of_plane)


def inner_edge_factor(plan_mm: FloatArray, curvature_per_mm: FloatArray) -> FloatArray:
    """How much higher than in a straight bar the stress at the inner edge of a bend is.

    Winkler-Bach for a round section of depth `plan_mm` in the plane of the bend (any strength-of-materials
    text; R/c = 2: 1.62, 3: 1.33); for a flat section it is a bound from above.
    """
    x = np.clip(plan_mm / 2 * np.abs(curvature_per_mm), 1e-4, _TIGHTEST)
    # Neutral axis from the centre of curvature, radius 1: (1 + sqrt(1 - x^2))/2.
    neutral = (1 + np.sqrt(1 - x * x)) / 2
    return np.asarray((neutral - (1 - x)) / (4 * (1 - neutral) * (1 - x)) * x)


class Peak(Result, frozen=True):
    """Where something is greatest along the wire: one place, and how great."""

    place: Places
    value: float


def peak_of(bar: Bar, measure: Callable[[Places], FloatArray]) -> Peak:
    """The greatest of `measure` along the wire, looked for closer and closer in the likeliest pieces.

    nan counts as greatest: what is unknown somewhere is unknown at its greatest.
    """
    best = np.max(measure(bar.nodes).reshape(len(bar.part), -1), axis=1)
    if np.isnan(best).any():
        piece = np.flatnonzero(np.isnan(best))[:1]
        return Peak(bar.at(bar.part[piece], bar.u_from[piece]), float("nan"))
    # Equal peaks, as in a row of like forms, are told by the one nearest to the start.
    rank = np.round(best / (np.max(best) or 1.0), 9)
    likeliest = np.argsort(-rank, kind="stable")[:_PIECES]
    part, rows = np.repeat(bar.part[likeliest], _LOOKS), np.arange(len(likeliest))
    low, high = bar.u_from[likeliest], np.minimum(bar.u_from[likeliest] + bar.u_step[likeliest], 1.0)
    for _ in range(_TIMES):
        u = low[:, None] + (high - low)[:, None] * _STEPS
        found = measure(bar.at(part, u.ravel())).reshape(u.shape)
        at = np.argmax(found, axis=1)
        low, high = u[rows, np.maximum(at - 1, 0)], u[rows, np.minimum(at + 1, _LOOKS - 1)]
    value = float(np.max(found))
    winner = int(np.argmax(np.max(found, axis=1) >= value * (1 - 1e-9)))
    return Peak(bar.at(bar.part[likeliest[winner]][None], u[winner, at[winner]][None]), value)
