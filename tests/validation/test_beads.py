"""Beads on the end of a wire, against volumes by quadrature and drop weights.

[M] published, quoted from memory, [D] derived and checked numerically by an independent route.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from formsketch.forging.beads import (
    SURFACE_TENSION_N_PER_M,
    bead_centre_offset_mm,
    bead_wire_length_mm,
    joined_bead_set_back_mm,
    joined_bead_wire_length_mm,
    largest_hanging_bead_mm,
)


def test_bead_of_twice_the_wire() -> None:
    # [D] d 1, D 2.
    assert bead_wire_length_mm(2.0, 1.0) == pytest.approx(5.33333333, rel=1e-8)
    assert joined_bead_wire_length_mm(2.0, 1.0) == pytest.approx(5.26474288, rel=1e-8)
    assert joined_bead_set_back_mm(2.0, 1.0) == pytest.approx(3.39871747, rel=1e-8)


@pytest.mark.parametrize(("bead", "wire"), [(2.0, 1.0), (2.6, 1.290846), (1.3, 1.2), (9.0, 0.8)])
def test_volume_is_kept(bead: float, wire: float) -> None:
    # Independent: the discs of the ball from its far pole to the plane where the wire's rim meets it.
    offset = np.sqrt(bead**2 - wire**2) / 2
    assert bead_centre_offset_mm(bead, wire) == pytest.approx(offset, rel=1e-12)
    volume = quad(lambda x: np.pi * (bead**2 / 4 - x * x), -bead / 2, offset, epsabs=1e-13)[0]
    assert joined_bead_wire_length_mm(bead, wire) == pytest.approx(volume / (np.pi / 4 * wire**2), rel=1e-10)


def test_a_bead_as_thick_as_the_wire_rounds_its_end() -> None:
    # Limit [D]: a half ball on a wire of its own diameter uses d/3 of wire and stands out d/2.
    assert joined_bead_wire_length_mm(1 + 1e-12, 1.0) == pytest.approx(1 / 3, abs=1e-5)
    assert joined_bead_set_back_mm(1 + 1e-12, 1.0) == pytest.approx(-1 / 6, abs=1e-5)


def test_a_large_bead_hardly_notices_its_wire() -> None:
    # Limit [D]: the cap inside the wire becomes shallow, d^2/(4 D) high, half its height times its base.
    cap = bead_wire_length_mm(50.0, 1.0) - joined_bead_wire_length_mm(50.0, 1.0)
    assert cap == pytest.approx(1 / (8 * 50.0), rel=2e-4)


def test_hanging_bead_is_a_drop_weight() -> None:
    # [M hi] Tate's law with Harkins-Brown correction, in SI: the drop weighs 0.65 (0.866^3) of pi d gamma.
    gamma, density, wire = 0.92, 9.3, 1.0
    bead = float(largest_hanging_bead_mm(wire, gamma, density))
    weight_n = np.pi / 6 * (bead * 1e-3) ** 3 * density * 1e3 * 9.80665
    assert weight_n / (np.pi * wire * 1e-3 * gamma) == pytest.approx(0.866**3, rel=1e-10)


def test_a_bead_of_two_and_a_half_wires_falls_from_thick_gold() -> None:
    # [M hi] on wire over about 1.2 mm a bead of 2.5 d begins to fall; heaviest metal, gold 19.32 g/cm3.
    gold = SURFACE_TENSION_N_PER_M["gold"]
    assert largest_hanging_bead_mm(1.1, gold, 19.32) > 2.5 * 1.1
    assert largest_hanging_bead_mm(1.4, gold, 19.32) < 2.5 * 1.4
