"""Ring sizes back from circumferences, their labels, and refusals."""

import math

import pytest

from formsketch.bench import ring_sizes
from formsketch.errors import InputError


@pytest.mark.parametrize("size", [41.0, 54.4, 76.0])
def test_iso_there_and_back(size: float) -> None:
    assert ring_sizes.iso_size(ring_sizes.iso_inner_circumference_mm(size)) == size


@pytest.mark.parametrize("size", [1.0, 7.25, 20.0])
def test_us_and_japanese_there_and_back(size: float) -> None:
    assert ring_sizes.us_size(ring_sizes.us_inner_circumference_mm(size)) == pytest.approx(size, abs=1e-12)
    assert ring_sizes.jp_size(ring_sizes.jp_inner_circumference_mm(size)) == pytest.approx(size, abs=1e-12)


def test_every_uk_label_there_and_back() -> None:
    letters = [*"ABCDEFGHIJKLMNOPQRSTUVWXYZ", *(f"Z+{extra}" for extra in range(1, 7))]
    for label in (letter + half for letter in letters for half in ("", "½")):
        assert ring_sizes.uk_size(ring_sizes.uk_inner_circumference_mm(label)) == label


@pytest.mark.parametrize("label", ["", "AA", "A+1", "Z+7", "Z+0", "N¼", "7", "N 2"])
def test_what_is_no_uk_size_is_refused(label: str) -> None:
    with pytest.raises(InputError, match="UK ring size was expected"):
        ring_sizes.uk_inner_circumference_mm(label)


def test_labels_in_every_system() -> None:
    # Closed forms: US 7 is pi x 17.3228 = 54.421 mm round, N½ 54.375, Japanese 14 is pi x 17 1/3 = 54.454.
    assert ring_sizes.ring_size_texts(54.4) == {"ISO": "54.4", "US": "7", "UK": "N½", "Japan": "14"}
    # Pi x 17 = 53.407 is Japanese 13; US 6½ is 53.145 and UK M½ is 53.125, both more than 0.2 mm off.
    texts = ring_sizes.ring_size_texts(math.pi * 17)
    assert texts == {"ISO": "53.4", "US": "about 6½", "UK": "about M½", "Japan": "13"}


def test_a_system_that_does_not_reach_is_left_out() -> None:
    assert set(ring_sizes.ring_size_texts(80.0)) == {"ISO", "US", "Japan"}
    assert ring_sizes.ring_size_texts(20.0) == {}
    assert ring_sizes.ring_size_texts(math.pi * 25.4 * 0.458)["US"] == "0"
    assert ring_sizes.ring_size_texts(math.pi * 25.4 * 0.466)["US"] == "¼"


@pytest.mark.parametrize("size", [math.nan, -1.0, 1000.0])
def test_sizes_out_of_range_are_refused(size: float) -> None:
    for circumference in (
        ring_sizes.iso_inner_circumference_mm,
        ring_sizes.us_inner_circumference_mm,
        ring_sizes.jp_inner_circumference_mm,
    ):
        with pytest.raises(InputError, match="was expected"):
            circumference(size)
    for inverse in (ring_sizes.iso_size, ring_sizes.us_size, ring_sizes.jp_size, ring_sizes.uk_size):
        with pytest.raises(InputError, match="mm round is no"):
            inverse(size)


@pytest.mark.parametrize("circumference_mm", [0.0, -3.0, math.nan, math.inf])
def test_no_circumference_no_labels(circumference_mm: float) -> None:
    with pytest.raises(InputError, match="above 0 mm"):
        ring_sizes.ring_size_texts(circumference_mm)
