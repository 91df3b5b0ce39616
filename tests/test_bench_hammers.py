"""Hammers and what their spread rests on."""

import math

import pytest

from formsketch.bench.hammers import load_hammers, spread_band
from formsketch.errors import InputError


def test_listed_hammers() -> None:
    # [D] From the geometry of the tools; the mill follows Kazeminezhad & Karimi Taheri 2005.
    bands = {key: (item.spread_low, item.spread, item.spread_high) for key, item in load_hammers().items()}
    assert bands == {
        "planishing-flat": (0.75, 0.80, 0.95),
        "rolling-mill": (0.55, 0.60, 0.65),
        "cross-peen": (0.45, 0.50, 0.60),
    }
    assert {hammer.mark for hammer in load_hammers().values()} == {"D"}


def test_rolling_mill_follows_the_published_width() -> None:
    # [M] Kazeminezhad & Karimi Taheri 2005: w/d = 1.02 (d/t)^0.45. In the spread model, w solves
    # ln(w/d) = S ln(h0/h) with h = A/w, A = t(w - t) + pi t^2/4: within 4 % at S = 0.60 for t/d 0.3 to 0.8.
    spread = load_hammers()["rolling-mill"].spread
    for thickness in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8):
        low, high = 1.0, 4.0
        for _ in range(60):
            width = (low + high) / 2
            mean_height = thickness - thickness**2 * (1 - math.pi / 4) / width
            if math.log(width) < spread * math.log(math.pi / 4 / mean_height):
                low = width
            else:
                high = width
        assert low == pytest.approx(1.02 * thickness**-0.45, rel=0.04)


def test_a_listed_spread_has_its_own_band() -> None:
    assert spread_band(0.8)[:2] == (0.75, 0.95)
    assert "flat planishing face" in spread_band(0.8)[2]
    assert "not measured" in spread_band(0.8)[2]


def test_any_other_spread_has_an_assumed_band_cut_to_what_is_possible() -> None:
    low, high, basis = spread_band(0.71)
    assert (low, high) == (pytest.approx(0.61), pytest.approx(0.81))
    assert basis.startswith("assumed")
    assert spread_band(0.03)[0] == 0.0
    assert spread_band(1.0)[1] == 1.0


@pytest.mark.parametrize("spread", [-0.01, 1.01, math.nan])
def test_an_impossible_spread_is_refused(spread: float) -> None:
    with pytest.raises(InputError, match="spread from 0 to 1"):
        spread_band(spread)
