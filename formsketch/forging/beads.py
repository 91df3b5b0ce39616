"""Beads melted on the end of a wire: the wire they use, how far the end moves back, how large they hang.

A bead is taken as a ball of diameter D on a round wire of diameter d, and melting as keeping the volume.
All arguments broadcast. A bead no thicker than its wire is refused with a FormSketchError.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from formsketch.errors import FormSketchError
from formsketch.forging.section import FloatArray, positive

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # 3rd General Conference on Weights and Measures, 1901

# Drop weight (Tate's law with the Harkins-Brown correction, which lies near 0.65 for such drops): a hanging
# drop breaks off at 0.866^3 = 0.65 of the weight the surface of the whole rim could carry. From memory.
HANGING_DIAMETER_FACTOR = 0.866

# Surface tension of the melt near its melting point, N/m. From memory, good to some per cent; oxide and
# alloying lower it.
SURFACE_TENSION_N_PER_M = {"silver": 0.92, "gold": 1.14, "copper": 1.32}

# Bead over wire diameter, and the wire from which on the larger one starts to fall off. Common practice.
PRACTICAL_BEAD_RATIO = (2.0, 2.5)
THICK_WIRE_FOR_BEADS_MM = 1.2


def bead_wire_length_mm(bead_diameter_mm: ArrayLike, wire_diameter_mm: ArrayLike) -> FloatArray:
    """Wire that melts into a whole ball by itself: 2 D^3/(3 d^2), equal volumes."""
    bead, wire = _diameters(bead_diameter_mm, wire_diameter_mm)
    return 2 * bead**3 / (3 * wire**2)


def bead_centre_offset_mm(bead_diameter_mm: ArrayLike, wire_diameter_mm: ArrayLike) -> FloatArray:
    """From the end of the sound wire, where its rim meets the ball, to the ball's centre."""
    bead, wire = _diameters(bead_diameter_mm, wire_diameter_mm)
    return np.sqrt((bead - wire) * (bead + wire)) / 2


def joined_bead_wire_length_mm(bead_diameter_mm: ArrayLike, wire_diameter_mm: ArrayLike) -> FloatArray:
    """Wire that melts into a bead joined to its wire: the ball less the cap inside the wire's end."""
    bead, wire = _diameters(bead_diameter_mm, wire_diameter_mm)
    cap_height = bead / 2 - bead_centre_offset_mm(bead, wire)
    cap_volume = np.pi * cap_height**2 * (1.5 * bead - cap_height) / 3
    return bead_wire_length_mm(bead, wire) - cap_volume / (np.pi / 4 * wire**2)


def joined_bead_set_back_mm(bead_diameter_mm: ArrayLike, wire_diameter_mm: ArrayLike) -> FloatArray:
    """How far the tip of the piece moves back while the bead forms: the wire melted less what the bead spans.

    Negative for a bead hardly thicker than its wire: a square end melted round reaches up to d/6 further out.
    """
    bead, wire = _diameters(bead_diameter_mm, wire_diameter_mm)
    standing_out = bead_centre_offset_mm(bead, wire) + bead / 2
    return joined_bead_wire_length_mm(bead, wire) - standing_out


def largest_hanging_bead_mm(
    wire_diameter_mm: ArrayLike, surface_tension_n_per_m: ArrayLike, density_g_per_cm3: ArrayLike
) -> FloatArray:
    """Diameter of the largest bead that hangs from an upright wire without dropping, approximately.

    0.866 (6 gamma d/(rho g))^(1/3), with the density of the melt if known; that of the solid is some 10 %
    higher and reads the bead about 3 % small. The result can be thinner than the wire on thick wire: no bead
    hangs there.
    """
    wire = positive("wire diameter", wire_diameter_mm)
    tension = positive("surface tension", surface_tension_n_per_m)
    density = positive("density", density_g_per_cm3)
    # N/m over g/cm3 x m/s2 is 1e-3 m2, which is 1e3 mm2.
    capillary_mm2 = 1e3 * tension / (density * STANDARD_GRAVITY_M_PER_S2)
    return HANGING_DIAMETER_FACTOR * np.cbrt(6 * capillary_mm2 * wire)


def _diameters(bead_mm: ArrayLike, wire_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    bead, wire = positive("bead diameter", bead_mm), positive("wire diameter", wire_mm)
    if not (bead > wire).all():
        worst = np.argmax((wire - bead).ravel())
        small, thick = (np.broadcast_to(x, np.broadcast(bead, wire).shape).flat[worst] for x in (bead, wire))
        raise FormSketchError(f"bead: expected a diameter above the wire's {thick:g} mm, got {small:g} mm")
    return bead, wire
