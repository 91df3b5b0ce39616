"""Beads: scaling, monotony and refusals."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formsketch.errors import FormSketchError
from formsketch.forging.beads import (
    bead_centre_offset_mm,
    bead_wire_length_mm,
    joined_bead_set_back_mm,
    joined_bead_wire_length_mm,
    largest_hanging_bead_mm,
)

LENGTHS = [
    bead_wire_length_mm,
    joined_bead_wire_length_mm,
    joined_bead_set_back_mm,
    bead_centre_offset_mm,
]


@pytest.mark.parametrize("formula", LENGTHS)
@given(wire=st.floats(0.3, 4.0), ratio=st.floats(1.01, 5.0), scale=st.floats(0.1, 10.0))
def test_scales(formula: Callable[..., np.float64], wire: float, ratio: float, scale: float) -> None:
    length = formula(wire * ratio, wire)
    assert formula(wire * ratio * scale, wire * scale) == pytest.approx(length * scale, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("formula", LENGTHS)
def test_a_larger_bead_takes_more(formula: Callable[..., np.ndarray]) -> None:
    assert (np.diff(formula(np.linspace(1.01, 4, 100), 1.0)) > 0).all()


@pytest.mark.parametrize("formula", LENGTHS)
def test_broadcasts(formula: Callable[..., np.ndarray]) -> None:
    assert formula(np.array([[2.0], [3.0]]), np.array([0.8, 1.0, 1.2])).shape == (2, 3)
    assert isinstance(formula(2.0, 1.0), np.float64)


@pytest.mark.parametrize("formula", LENGTHS)
def test_refuses_a_bead_no_thicker_than_its_wire(formula: Callable[..., np.ndarray]) -> None:
    with pytest.raises(
        FormSketchError, match=r"bead: expected a diameter above the wire's 1\.5 mm, got 1\.5 mm"
    ):
        formula([2.0, 1.5, 1.8], 1.5)
    with pytest.raises(FormSketchError, match=r"expected a diameter above the wire's 2\.5 mm, got 2 mm"):
        formula(2.0, [1.0, 2.5])
    with pytest.raises(FormSketchError, match="wire diameter: expected"):
        formula(2.0, 0.0)
    with pytest.raises(FormSketchError, match="bead diameter: expected"):
        formula(np.nan, 1.0)


def test_joined_bead_takes_less_than_a_whole_ball() -> None:
    bead = np.linspace(1.01, 4, 50)
    assert (joined_bead_wire_length_mm(bead, 1.0) < bead_wire_length_mm(bead, 1.0)).all()


def test_hanging_bead_grows_with_wire_and_surface_and_shrinks_with_weight() -> None:
    # The cube root of each: eight times the wire or surface tension hangs a bead twice as large.
    bead = largest_hanging_bead_mm(1.0, 1.0, 10.0)
    assert largest_hanging_bead_mm(8.0, 1.0, 10.0) == pytest.approx(2 * bead)
    assert largest_hanging_bead_mm(1.0, 8.0, 10.0) == pytest.approx(2 * bead)
    assert largest_hanging_bead_mm(1.0, 1.0, 80.0) == pytest.approx(bead / 2)
    for wrong in ((0.0, 1.0, 1.0), (1.0, 0.0, 1.0), (1.0, 1.0, 0.0)):
        with pytest.raises(FormSketchError, match="expected a number above 0"):
            largest_hanging_bead_mm(*wrong)
