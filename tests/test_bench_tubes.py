"""Tubes on the bench: the starter set and the nearest to what is wanted."""

import math

import pytest

from formsketch.bench.tubes import Tube, load_tubes, nearest_tubes, starter_tubes
from formsketch.errors import InputError


def test_starter_tubes_are_every_32nd_and_every_half_millimetre() -> None:
    tubes = {tube.label: tube.diameter_mm for tube in starter_tubes()}
    inches = {round(25.4 * parts / 32, 6) for parts in range(2, 33)}
    metric = {parts / 2 for parts in range(2, 51)}
    assert len(tubes) == len(inches) + len(metric) == 80
    assert set(tubes.values()) == inches | metric
    assert tubes["7/16 in"] == 11.1125
    assert tubes["11 mm"] == 11.0
    assert tubes["1 in"] == 25.4


def test_tubes_run_thin_to_thick() -> None:
    diameters = [tube.diameter_mm for tube in load_tubes()]
    assert diameters == sorted(diameters)


def test_the_nearest_come_first() -> None:
    tubes = starter_tubes()
    assert [tube.label for tube in nearest_tubes(11.07, tubes)] == ["7/16 in", "11 mm"]
    assert [tube.label for tube in nearest_tubes(11.01, tubes, count=1)] == ["11 mm"]
    assert nearest_tubes(500.0, tubes, count=1)[0].label == "1 in"


def test_of_two_as_near_the_smaller_comes_first() -> None:
    two = (Tube(6.0, "six"), Tube(5.0, "five"))
    assert [tube.label for tube in nearest_tubes(5.5, two)] == ["five", "six"]
    assert nearest_tubes(5.5, two, count=5) == (two[1], two[0])
    assert nearest_tubes(5.5, ()) == ()


@pytest.mark.parametrize("diameter_mm", [0.0, -1.0, math.nan, math.inf])
def test_no_diameter_no_tube(diameter_mm: float) -> None:
    with pytest.raises(InputError, match="above 0 mm"):
        nearest_tubes(diameter_mm, starter_tubes())
