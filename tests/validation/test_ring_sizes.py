"""Ring sizes against the standards and charts as printed.

[P] ISO 8653: the size is the inner circumference in mm; ring sticks run from 41 to 76.
[P] Common US chart: inner diameter in inches and mm, circumference in mm; real rings differ by 0.1 mm.
[P] BS 6820:1987: steps of 1.25 mm of circumference, C 40.0 mm.
[P] Japanese trade scale: 1 is 13 mm, each size a third of a millimetre of diameter more.
"""

import math

import pytest

from formsketch.bench import ring_sizes


@pytest.mark.parametrize(
    ("size", "diameter_mm", "digit"),
    [
        (52, 16.552, 5e-4),
        (57, 18.144, 5e-4),
        (50, 15.9, 0.05),
        (54, 17.2, 0.05),
        (60, 19.1, 0.05),
        (67, 21.3, 0.05),
    ],
)
def test_iso_8653(size: float, diameter_mm: float, digit: float) -> None:
    assert ring_sizes.iso_inner_circumference_mm(size) == size
    assert ring_sizes.iso_inner_diameter_mm(size) == pytest.approx(diameter_mm, abs=digit)


@pytest.mark.parametrize(
    ("size", "inch", "diameter_mm", "circumference_mm"),
    [
        (0, 0.458, 11.63, 36.5),
        (0.5, 0.474, 12.04, 37.8),
        (1, 0.490, 12.45, 39.1),
        (2, 0.522, 13.26, 41.7),
        (3, 0.554, 14.07, 44.2),
        (4, 0.586, 14.88, 46.8),
        (7, 0.682, 17.3228, 54.4),
    ],
)
def test_us_chart(size: float, inch: float, diameter_mm: float, circumference_mm: float) -> None:
    assert ring_sizes.us_inner_diameter_mm(size) / 25.4 == pytest.approx(inch, abs=1e-12)
    assert ring_sizes.us_inner_diameter_mm(size) == pytest.approx(diameter_mm, abs=0.006)
    assert ring_sizes.us_inner_circumference_mm(size) == pytest.approx(circumference_mm, abs=0.06)


@pytest.mark.parametrize(
    ("size", "diameter_mm"),
    [(4, 14.86), (5, 15.70), (6, 16.51), (7, 17.35), (8, 18.19), (9, 18.99), (10, 19.84)],
)  # [P] a supplier's table for ring blanks
def test_us_sizes_of_another_chart_lie_within_a_tenth(size: float, diameter_mm: float) -> None:
    assert ring_sizes.us_inner_diameter_mm(size) == pytest.approx(diameter_mm, abs=0.1)


@pytest.mark.parametrize(
    ("label", "circumference_mm"),
    [("A", 37.5), ("C", 40.0), ("N", 53.75), ("N½", 54.375), ("n 1/2", 54.375), ("Z", 68.75), ("Z+1", 70.0)],
)
def test_bs_6820(label: str, circumference_mm: float) -> None:
    assert ring_sizes.uk_inner_circumference_mm(label) == pytest.approx(circumference_mm, abs=1e-12)
    assert ring_sizes.uk_inner_diameter_mm(label) == pytest.approx(circumference_mm / math.pi, rel=1e-14)


@pytest.mark.parametrize(("size", "diameter_mm"), [(1, 13.0), (4, 14.0), (13, 17.0), (25, 21.0)])
def test_japanese_scale(size: float, diameter_mm: float) -> None:
    assert ring_sizes.jp_inner_diameter_mm(size) == pytest.approx(diameter_mm, rel=1e-14)
    assert ring_sizes.jp_inner_circumference_mm(size) == pytest.approx(math.pi * diameter_mm, rel=1e-14)


def test_us_7_is_uk_n_and_a_half() -> None:
    # [P] US 0.682 in and UK N½ 54.375 mm differ by less than 0.05 mm round.
    assert ring_sizes.uk_size(ring_sizes.us_inner_circumference_mm(7)) == "N½"
