"""From round to flat in passes: sizes, cold work, anneals and tempers, against published values and limits.

[P] published, [M] published, quoted from memory, [D] derived and checked numerically by an independent route,
[C] common practice, no source.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from formsketch.bench.metals import load_metals, temper_at
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.hammer_path import (
    ageing_text,
    annealing_text,
    anneals_text,
    hammer_path,
    hammering_of,
    thickness_until_mm,
    yield_text,
)
from tests.support.strategies import calm

METALS = load_metals()
BRASS = METALS["brass-c26000"]


def strip_reduction(thickness: float, width: float, spread: float) -> float:
    """r = 1 - (h/h0)^sqrt(1 - S + S^2) of a 1 mm wire, from the measured section."""
    height = (thickness * (width - thickness) + math.pi * thickness**2 / 4) / width
    return float(1 - (height / (math.pi / 4)) ** math.sqrt(1 - spread + spread**2))


@pytest.mark.parametrize(
    ("ratio", "percent"), [(0.8, 12.4128), (0.6, 28.0477), (0.5, 37.1504), (0.4, 47.1569)]
)
def test_cold_work_of_the_finished_flat(ratio: float, percent: float) -> None:
    # [D] equivalent strip reduction at S 0.6, four decimals.
    last = hammer_path(1.3, 1.3 * ratio, 0.6, BRASS).last
    assert last is not None
    assert last.in_all_percent == pytest.approx(percent, abs=5.1e-5)
    assert last.cold_work_percent == pytest.approx(percent, abs=5.1e-5)  # under 50 %: no anneal between


@pytest.mark.parametrize(("ratio", "width"), [(0.8, 1.12495241), (0.6, 1.34440438), (0.5, 1.52160923)])
def test_width_of_the_finished_flat(ratio: float, width: float) -> None:
    # [D] t/d, w/d at S 0.8.
    last = hammer_path(2.0, 2.0 * ratio, 0.8, BRASS).last
    assert last is not None
    assert (last.thickness_mm, last.width_mm) == pytest.approx((2.0 * ratio, 2.0 * width), rel=1e-8)


def test_a_pass_is_one_gauge_number() -> None:
    # [P] ASTM B258: neighbouring numbers differ by the 39th root of 92. From 16 to 20 gauge, four passes.
    ratio = 92 ** (-1 / 39)
    path = hammer_path(1.290846, 1.290846 * ratio**4, 0.8, BRASS)
    assert [s.thickness_mm for s in path.steps] == pytest.approx([1.290846 * ratio**i for i in (1, 2, 3, 4)])


@pytest.mark.parametrize(
    ("percent", "name", "yield_mpa"),
    # [P] C26000 strip, mill data to ASTM B36 practice: reduction, temper, yield.
    [
        (10.9, "quarter hard", 230),
        (20.7, "half hard", 350),
        (29.4, "three-quarter hard", 425),
        (37.1, "hard", 495),
        (50.0, "extra hard", 570),
        (60.5, "spring", 595),
    ],
)
def test_brass_hammered_as_much_is_of_that_temper(percent: float, name: str, yield_mpa: float) -> None:
    spread = 0.6
    power = math.sqrt(1 - spread + spread**2)

    def miss(t: float) -> float:
        # h/h0 = (1 - r)^(1/p), w = (h0/h)^S, and the section's own mean height.
        w = (1 - percent / 100) ** (-spread / power)
        return (t * (w - t) + math.pi * t * t / 4) / w - math.pi / 4 * (1 - percent / 100) ** (1 / power)

    thickness = brentq(miss, 0.05, 1.0, xtol=1e-14)
    path = hammer_path(1.0, thickness, spread, METALS["red-brass-c22000"])
    last = path.steps[-1]
    assert last.in_all_percent == pytest.approx(percent, abs=1e-6)
    temper = temper_at(BRASS, last.in_all_percent)
    assert (temper.name, temper.yield_mpa) == (name, pytest.approx(yield_mpa, abs=1e-3))


def test_brass_between_two_tempers_stays_between_their_published_bands() -> None:
    # [P] C26000: hard 490-560 MPa tensile. Hammered to half at S 0.6, cold work 37.15 % [D].
    last = hammer_path(1.0, 0.5, 0.6, BRASS).last
    assert last is not None
    assert last.temper.name == "hard"
    assert 490 <= (last.temper.strength_mpa or 0) <= 560


@given(st.sampled_from(sorted(METALS)), st.floats(0.2, 3.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@calm(200)
def test_no_heat_exceeds_the_limit_and_every_anneal_is_needed(
    key: str, diameter: float, spread: float, depth: float
) -> None:
    metal = METALS[key]
    least = thickness_until_mm("in_all", diameter, spread, metal)
    path = hammer_path(diameter, least + (diameter - least) * depth, spread, metal)
    limit, highest = metal.cold_work_limit_low_percent, metal.cold_work_limit_high_percent
    assert limit is not None and highest is not None and path.anneals is not None
    later = metal.later_work_limit_low_percent or limit
    heat = 0
    for step in path.steps:
        assert step.cold_work_percent <= (later if heat else limit) * (1 + 1e-6)
        heat += step.anneal_after
        # Strain adds up: work since soft and what went before make the work in all, for d = 1 in closed form.
        t, w = step.thickness_mm / diameter, step.width_mm / diameter
        assert step.in_all_percent == pytest.approx(100 * strip_reduction(t, w, spread), abs=1e-6)
    assert sum(step.anneal_after for step in path.steps) == path.anneals
    for one, following in pairwise(path.steps):
        assert following.thickness_mm < one.thickness_mm
        assert following.thickness_mm > 0.85 * one.thickness_mm  # a B&S number is 10.95 %, and a quarter
    if path.last is not None:
        # With one anneal fewer the heats together reach less than the work in all.
        work = -math.log1p(-path.last.in_all_percent / 100)
        reach = [-math.log1p(-most / 100) for most in (limit, *(later,) * (path.anneals - 1))]
        assert path.anneals == 0 or work > sum(reach) * (1 - 1e-6)
    assert path.fewest_anneals is not None
    assert path.fewest_anneals <= path.anneals


@pytest.mark.parametrize("spread", [0.0, 0.3, 0.6, 1.0])
@pytest.mark.parametrize(
    ("key", "limit"), [("brass-c26000", 50), ("sterling-925", 50), ("gold-18k-rose", 30)]
)
def test_thinnest_before_annealing(key: str, limit: float, spread: float) -> None:
    # [C] brass and sterling 50-60 %, [P] 18k rose 30-40 % first. Independent: bracketing the spread law
    # ln w = S ln(h0/h) and r = 1 - (h/h0)^sqrt(1 - S + S^2) together.
    def work(t: float) -> float:
        widest = t + math.pi * (1 - t * t) / (4 * t)

        def excess(w: float) -> float:
            height = (t * (w - t) + math.pi * t * t / 4) / w
            return math.log(w) - spread * math.log(math.pi / 4 / height)

        w = 1.0 if spread == 0 else brentq(excess, 1 - 1e-9, widest * (1 + 1e-9), xtol=1e-15)
        return strip_reduction(t, w, spread)

    found = brentq(lambda t: work(t) - limit / 100, 0.08, 0.999, xtol=1e-13)
    # Never thinner than 15 times as wide as thick.
    least = thickness_until_mm("in_all", 1.0, spread, METALS[key])
    expected = 1.3 * max(found, least)
    assert thickness_until_mm("before_annealing", 1.3, spread, METALS[key]) == pytest.approx(
        expected, rel=1e-9
    )
    path = hammer_path(1.3, expected * 1.000001, spread, METALS[key])
    assert path.anneals == 0


def test_until_a_thickness_a_width_or_the_thinnest() -> None:
    # [D] S 0.6: 0.5 thick is 1.37663150 wide. [P] flattened wire ends at 15 times as wide as thick.
    assert thickness_until_mm("thickness", 1.0, 0.6, BRASS, 0.5) == 0.5
    assert thickness_until_mm("width", 1.0, 0.6, BRASS, 1.37663150) == pytest.approx(0.5, rel=1e-7)
    thinnest = thickness_until_mm("in_all", 1.0, 0.6, BRASS)
    last = hammer_path(1.0, thinnest, 0.6, BRASS).last
    assert last is not None
    assert last.width_mm / last.thickness_mm == pytest.approx(15.0, rel=1e-9)
    assert "6 times" in hammer_path(1.0, thinnest, 0.6, BRASS).trust


@pytest.mark.parametrize(
    ("until", "size", "said"),
    [
        ("thickness", None, "thickness above 0"),
        ("thickness", math.nan, "above 0"),
        ("thickness", 1.2, "at most"),
        ("width", 0.9, "at least the wire's diameter"),
        ("width", math.inf, "above 0"),
        ("width", -1.0, "above 0"),
    ],
)
def test_what_cannot_be_is_said(until: str, size: float | None, said: str) -> None:
    with pytest.raises(FormSketchError, match=said):
        thickness_until_mm(until, 1.0, 0.6, BRASS, size)  # type: ignore[arg-type]


def test_limits_of_the_path() -> None:
    # Nothing hammered has no passes; S 0 keeps the width, S 1 the area [D closed forms]; too thin is refused.
    assert hammer_path(1.0, 1.0, 0.6, BRASS).steps == ()
    assert hammer_path(1.0, 2.0, 0.6, BRASS).last is None
    assert {round(s.width_mm, 12) for s in hammer_path(1.0, 0.4, 0.0, BRASS).steps} == {1.0}
    for step in hammer_path(1.0, 0.4, 1.0, BRASS).steps:
        t, w = step.thickness_mm, step.width_mm
        assert t * (w - t) + math.pi * t * t / 4 == pytest.approx(math.pi / 4, rel=1e-12)
    with pytest.raises(FormSketchError, match="15 times as wide as thick"):
        hammer_path(1.0, 0.05, 0.6, BRASS)
    with pytest.raises(FormSketchError):
        hammer_path(1.0, math.nan, 0.6, BRASS)
    # [D] trusted for t/d 0.3 to 0.9.
    trusted = [bool(hammer_path(1.0, t, 0.6, BRASS).trust) for t in (0.95, 0.85, 0.5, 0.31, 0.29)]
    assert trusted == [True, False, False, False, True]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("gold-585-yellow", ("250 °C", "15 min", "200 HV")),  # [P]
        ("gold-18k-rose", ("250 °C", "30 min", "265 HV")),  # [P]
        ("sterling-925", ("300 °C", "1 h", "750 °C", "110-120 HV")),  # [P]
        ("brass-c26000", ("does not age-harden",)),
        ("red-brass-c22000", ("does not age-harden",)),
        ("copper-c11000", ("does not age-harden",)),
        ("nickel-silver-c75200", ("does not age-harden",)),
        ("fine-silver", ("does not age-harden",)),
        ("gold-22k", ("does not age-harden",)),
        ("gold-18k-yellow", ("not known",)),
    ],
)
def test_ageing(key: str, words: tuple[str, ...]) -> None:
    said = ageing_text(METALS[key])
    assert all(word in said for word in words), said


@pytest.mark.parametrize(
    ("key", "low", "high"),
    # [P] but red brass [M]: annealing, C.
    [
        ("brass-c26000", "425", "750"),
        ("red-brass-c22000", "425", "790"),
        ("copper-c11000", "375", "650"),
        ("nickel-silver-c75200", "600", "815"),
        ("fine-silver", "300", "500"),
        ("gold-585-yellow", "600", "650"),
        ("gold-22k", "600", "650"),
    ],
)
def test_annealing(key: str, low: str, high: str) -> None:
    assert f"{low} to {high} °C" in annealing_text(METALS[key])
    # [P] 14k yellow: 677 C, 10 min, quench.
    assert "677 °C, 10 min, then quench" in annealing_text(METALS["gold-14k-yellow-us"])


def test_anneals_in_words() -> None:
    # [P] 18k rose 30-40 % first, then 60-70 %: 65 % in all is one anneal, 1 - 0.7 x 0.4 = 72 % within reach.
    rose = METALS["gold-18k-rose"]

    def work(t: float) -> float:
        last = hammer_path(1.0, t, 0.6, rose).last
        return 0.0 if last is None else last.in_all_percent

    path = hammer_path(1.0, brentq(lambda t: work(t) - 65.0, 0.18, 0.9, xtol=1e-10), 0.6, rose)
    assert (path.anneals, path.fewest_anneals) == (1, 1)
    assert anneals_text(path) == "anneal once on the way"
    path = hammer_path(1.0, brentq(lambda t: work(t) - 35.0, 0.18, 0.9, xtol=1e-10), 0.6, rose)
    assert anneals_text(path) == "anneal once on the way; none may do where the metal allows its most"
    assert anneals_text(hammer_path(1.0, 0.7, 0.6, BRASS)) == "no anneal on the way"
    assert yield_text(temper_at(METALS["gold-22k"], 40.0)) == "yield not known"
    assert yield_text(temper_at(BRASS, 37.1)) == "yield 495 MPa"  # [P]


def test_spans_hammered_alike_stand_together_and_the_unhammered_are_left_out() -> None:
    deep, light = Flare(thickness=0.4), Flare(thickness=0.7, face="edge")
    spans = (Span(length_mm=9.0, flare=deep), Span(length_mm=9.0), Span(length_mm=4.0, flare=light))
    design = Design(
        title="alike",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        hammer=Hammer(spread=0.6),
        form=Form(runs=(Run(spans=spans, times=2),)),
    )
    found = hammering_of(evaluate(design, METALS))
    assert [one.spans for one in found] == [(0, 3), (2, 5)]
    assert [one.path.steps[-1].thickness_mm for one in found] == pytest.approx([0.4, 0.7])


def test_a_flat_beyond_reach_is_said_not_refused() -> None:
    spans = (Span(length_mm=9.0, flare=Flare(thickness=0.1)),)
    design = Design(
        title="thin", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=Form(runs=(Run(spans=spans),))
    )
    (one,) = hammering_of(evaluate(design, METALS))
    assert one.path.steps == ()
    assert anneals_text(one.path) == "beyond what hammering flat reaches"


def test_the_rolling_law_on_the_way() -> None:
    # [M hi] Kazeminezhad & Karimi Taheri, Materials & Design 26 (2005) 99-103: w = 1.02 d (d/t)^0.45; at
    # S 0.60 each pass of t/d 0.3 to 0.8 within 4 % [D].
    steps = [s for s in hammer_path(1.0, 0.3, 0.6, METALS["copper-c11000"]).steps if s.thickness_mm <= 0.8]
    law = np.array([1.02 * s.thickness_mm**-0.45 for s in steps])
    assert np.array([s.width_mm for s in steps]) == pytest.approx(law, rel=0.04)


@pytest.mark.parametrize(
    ("key", "low", "high"),
    # Most cold work between anneals: [P] 585 yellow about 70 %, 18k rose 30-40 % first, 22k 80 %; [C] brass
    # and sterling 50-60 %, copper and fine silver 80 %, nickel silver 50 %.
    [
        ("gold-585-yellow", 70, 70),
        ("gold-18k-rose", 30, 40),
        ("gold-22k", 80, 80),
        ("brass-c26000", 50, 60),
        ("sterling-925", 50, 60),
        ("copper-c11000", 80, 80),
        ("fine-silver", 80, 80),
        ("nickel-silver-c75200", 50, 50),
    ],
)
def test_most_cold_work(key: str, low: float, high: float) -> None:
    metal = METALS[key]
    assert (metal.cold_work_limit_low_percent, metal.cold_work_limit_high_percent) == (low, high)


def test_only_rose_gold_takes_more_after_its_first_anneal() -> None:
    # [P] 18k rose 30-40 % first, then 60-70 %.
    later = {k: (m.later_work_limit_low_percent, m.later_work_limit_high_percent) for k, m in METALS.items()}
    assert later.pop("gold-18k-rose") == (60, 70)
    assert set(later.values()) == {(None, None)}
