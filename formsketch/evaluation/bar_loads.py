"""Unit loads on the wire as a bar, and how far it gives: delta = integral of M m ds/(E I).

Small movements of a thin elastic bar (Castigliano; any strength-of-materials text): bending in the plane of
the form, bending out of it and twisting. Stretching and shear of the wire are left out; `left_out_share`
bounds what they would add. Everything is given per unit of load and for E = 1 MPa: divide by the real E.
"""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.evaluation.bar import ON_PLACE_MM, Bar, FloatArray, Places
from formsketch.forging.section import second_moments_mm4, stadium_area_mm2
from formsketch.forging.stiffness import torsion_constant_mm4
from formsketch.values import Result, Value

# Poisson's ratio: copper alloys 0.34-0.36, silver 0.37, gold 0.42 (handbook values, from memory, medium
# sure). Only twisting asks for it; over that range twisting stiffness differs by 4 %.
POISSON = 0.36
# Shear deflects a rectangle by 6/5 and a round by 10/9 of the mean shear strain (Timoshenko).
SHEAR_COEFFICIENT = 1.2
E_OVER_G = 2 * (1 + POISSON)


class UnitLoad(Value, frozen=True):
    """A unit load on the wire, held at `from_mm` and acting at `at_mm`, the place `to_mm` along it.

    Distances along the finished wire from the start mark, from_mm < to_mm. `force` is a unit force in the
    plane of the form, `lift` one square to it, `axis` the axis, in the plane, of a unit moment that bends
    the form out of its plane; one of the three is not 0. Forces N, moments N mm.
    """

    from_mm: float
    to_mm: float
    at_mm: complex
    force: complex = 0j
    lift: float = 0.0
    axis: complex = 0j


class Moments(Result, frozen=True):
    """Moments at places, N mm per unit load: in the form's plane, out of it, and twisting the wire."""

    in_plane: FloatArray
    out_of_plane: FloatArray
    torque: FloatArray

    def mixed(self, other: Moments, by: Moments) -> FloatArray:
        """Sum of the products with another's, each times the flexibility `by`."""
        return np.asarray(
            self.in_plane * other.in_plane * by.in_plane
            + self.out_of_plane * other.out_of_plane * by.out_of_plane
            + self.torque * other.torque * by.torque
        )


def moments_of(load: UnitLoad, places: Places) -> Moments:
    """Moments of a statically determinate load at places; none outside the stretch it acts on."""
    acts = _between(places, load.from_mm, load.to_mm)
    arm = np.where(acts, load.at_mm - places.z_mm, 0j)
    # A force square to the plane turns about an axis in the plane, square to its arm.
    axis = -1j * arm * load.lift + np.where(acts, load.axis, 0j)
    about = axis * np.conj(places.direction)
    return Moments((np.conj(arm) * load.force).imag, about.imag, about.real)


def flexibility(places: Places) -> Moments:
    """E/(E I) in the plane and out of it, and E/(G J), per mm4, of the sections at places."""
    weak, strong = second_moments_mm4(places.width_mm, places.thickness_mm)
    lies_flat = places.plan_mm >= places.height_mm
    twist = torsion_constant_mm4(places.width_mm, places.thickness_mm)
    return Moments(
        1 / np.where(lies_flat, strong, weak), 1 / np.where(lies_flat, weak, strong), E_OVER_G / twist
    )


def round_flexibility(diameter_mm: float, count: int) -> Moments:
    """The same of a plain round wire at so many places."""
    bending = np.full(count, 64 / (np.pi * diameter_mm**4))
    return Moments(bending, bending, E_OVER_G / 2 * bending)


class ClosedForm(Result, frozen=True):
    """The unknown moment and force at the cut of a closed form under a load in its plane: 1, x, y terms.

    The form closes between the start mark and the mark `length_mm` along the wire.
    """

    unknowns: NDArray[np.float64]
    length_mm: float

    def moments_of(self, load: UnitLoad, places: Places) -> Moments:
        """Moments at places, with what the closing holds back taken off."""
        open_moments = moments_of(load, places)
        held = np.where(_between(places, 0.0, self.length_mm), self.unknowns @ _closing_moments(places), 0.0)
        return Moments(open_moments.in_plane - held, open_moments.out_of_plane, open_moments.torque)


def closed_form(bar: Bar, load: UnitLoad, flexible: Moments, length_mm: float) -> ClosedForm:
    """Solve the three redundants of a closed form: at the cut nothing turns and nothing opens.

    Any moment that a cut could carry is a + b x + c y along the wire; the true moments are what of the open
    form's is orthogonal to those three, weighed by the flexibility (unit-load method, force method).
    """
    basis = _closing_moments(bar.nodes)
    weighed = basis * (flexible.in_plane * bar.weights_mm(0.0, length_mm))
    found = np.linalg.solve(weighed @ basis.T, weighed @ moments_of(load, bar.nodes).in_plane)
    return ClosedForm(np.asarray(found, dtype=float), length_mm)


def _between(places: Places, from_mm: float, to_mm: float) -> NDArray[np.bool_]:
    along = places.along_mm
    return np.asarray((along >= from_mm - ON_PLACE_MM) & (along <= to_mm + ON_PLACE_MM))


def _closing_moments(places: Places) -> FloatArray:
    return np.stack((np.ones(len(places.part)), places.z_mm.real, places.z_mm.imag))


def compliance(bar: Bar, load: UnitLoad, moments: Moments, other: Moments, flexible: Moments) -> float:
    """Integral of M m/(E I) over the stretch a load acts on, times E: a move per unit load."""
    return float(bar.weights_mm(load.from_mm, load.to_mm) @ moments.mixed(other, flexible))


def easiest_direction(bar: Bar, load: UnitLoad, flexible: Moments) -> complex:
    """The direction in the plane in which the two places of a load, which meet, come apart most easily."""
    along_x, along_y = (moments_of(replace(load, force=way), bar.nodes) for way in (1 + 0j, 1j))
    pairs = ((along_x, along_x), (along_x, along_y), (along_y, along_y))
    xx, xy, yy = (compliance(bar, load, one, other, flexible) for one, other in pairs)
    # The larger axis of a symmetric 2 x 2 matrix lies at half the angle of (xx - yy, 2 xy).
    return complex(np.exp(0.5j * np.arctan2(2 * xy, xx - yy)))


def left_out_share(bar: Bar, load: UnitLoad, given_per_load: float, held: complex | None = None) -> float:
    """Bound on what stretching and shear of the wire add, as a share of what bending gives (E = 1 MPa).

    The whole force in the wire counted as shear; `held` is the force a closed form carries at its cut, all
    round (counted on its ends, too).
    """
    places, stretch = bar.nodes, bar.weights_mm(load.from_mm, load.to_mm)
    per_area = 1 / stadium_area_mm2(places.width_mm, places.thickness_mm)
    acting = load.force + load.lift
    if held is None:
        squares = abs(acting) ** 2 * float(stretch @ per_area)
    else:
        inside, everywhere = float(stretch @ per_area), float(bar.weight_mm @ per_area)
        squares = abs(acting - held) ** 2 * inside + abs(held) ** 2 * (everywhere - inside)
    return SHEAR_COEFFICIENT * E_OVER_G * squares / given_per_load
