"""From round to flat at the bench: how thin, in which passes, where to anneal, and what the metal is then.

Cold work is counted as an equivalent reduction of strip, r = 1 - (h/h0)^sqrt(1 - S + S^2), and adds up as
ln 1/(1 - r); an anneal sets it back to nothing. The path begins with annealed wire. One pass takes the
thickness down by one B&S number, which a gauge plate reads; every heat uses the same share of its limit.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike

from formsketch.bench.metals import Metal, Temper, temper_at
from formsketch.bench.tempers import strip_reduction_percent
from formsketch.errors import InputError
from formsketch.forging.section import CORNER_LOSS, FloatArray
from formsketch.forging.spread import (
    REFUSE_WIDTH_TO_THICKNESS,
    TRUSTED_THICKNESS_RATIO,
    WARN_WIDTH_TO_THICKNESS,
    equivalent_strip_reduction,
    hammered_width_mm,
    least_thickness_ratio,
    thickness_for_width_mm,
)
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

Until = Literal["thickness", "width", "before_annealing", "in_all"]

# One pass: one B&S number off the thickness (ASTM B258), 10.95 %.
PASS_RATIO = 1 - strip_reduction_percent(1) / 100
# A pass that would take off less than this share of a full one is joined with its neighbour. Judgement.
_LEAST_SHARE_OF_A_PASS = 0.25
# Cold work may exceed the metal's limit by this much of it: rounding.
_LIMIT_TOLERANCE = 1e-9
# No wire that a design may hold takes more passes or heats than this.
_MOST_PASSES, _MOST_HEATS = 400, 400

# Common practice, no source.
BY_TORCH = "By torch: dull red in dim light, no longer than it takes to get there; local practice decides."
# A patch that solder flowed on was above any annealing temperature of the table. Derived from the table.
SOLDERED_JOIN = (
    "A soldered join anneals the wire beside it as far as it glowed: count that patch as soft again, and "
    "hammer or age-harden after soldering, not before."
)
# Not hardened by ageing: from memory of published data for each.
NEVER_AGE_HARDENS = frozenset(
    (
        "brass-c26000",
        "red-brass-c22000",
        "copper-c11000",
        "nickel-silver-c75200",
        "fine-silver",
        "gold-22k",
    )
)


class HammerStep(Value, frozen=True):
    """The wire after one pass; `cold_work_percent` since it was last soft, `in_all_percent` from the wire on.

    `anneal_after` says that it is annealed before it is hammered further.
    """

    thickness_mm: float
    width_mm: float
    cold_work_percent: float
    in_all_percent: float
    temper: Temper
    anneal_after: bool


class HammerPath(Value, frozen=True):
    """From the round wire to the thickness wanted.

    `anneals` keeps within the low end of the metal's limit of cold work, `fewest_anneals` within its high
    end; None where the table has no limit. `steps` is empty for a wire that is not hammered.
    """

    diameter_mm: float
    steps: tuple[HammerStep, ...]
    anneals: int | None
    fewest_anneals: int | None
    trust: str

    @property
    def last(self) -> HammerStep | None:
        """The finished flat, None when nothing is hammered."""
        return self.steps[-1] if self.steps else None


class SpanHammering(Value, frozen=True):
    """Spans (numbers from 0) hammered to the same thickness, and the path there."""

    spans: tuple[int, ...]
    path: HammerPath


def hammering_of(evaluation: Evaluation) -> tuple[SpanHammering, ...]:
    """The path of every hammered span, at its thinnest place; spans hammered alike stand together."""
    d = evaluation.diameter_mm
    alike: dict[float, list[int]] = {}
    for span, thickness_mm in enumerate(evaluation.spans.thinnest_mm.tolist()):
        if thickness_mm < d:
            # Sizes equal to a millionth of a millimetre are one to any bench.
            alike.setdefault(round(thickness_mm, 6), []).append(span)
    spread, metal = evaluation.design.hammer.spread, evaluation.metal
    least_mm = d * least_thickness_ratio(spread)
    return tuple(
        SpanHammering(
            tuple(spans),
            hammer_path(d, thickness, spread, metal) if thickness >= least_mm else _out_of_reach(d),
        )
        for thickness, spans in alike.items()
    )


def _out_of_reach(diameter_mm: float) -> HammerPath:
    """In place of a path to a flat that hammering does not reach."""
    return HammerPath(diameter_mm, (), None, None, "beyond what hammering flat reaches")


def thickness_until_mm(
    until: Until, diameter_mm: float, spread: float, metal: Metal, size_mm: float | None = None
) -> float:
    """The thickness to hammer to: `size_mm` itself, that which is `size_mm` wide, or the thinnest there is.

    `before_annealing` is the thinnest by the low end of the metal's limit of cold work, `in_all` the
    thinnest that hammering flat reaches, however often annealed. Raises FormSketchError when there is none.
    """
    if until == "in_all":
        return diameter_mm * least_thickness_ratio(spread)
    if until == "before_annealing":
        return _thinnest_before_annealing_mm(diameter_mm, spread, metal)
    if size_mm is None or not 0 < size_mm < math.inf:
        raise InputError(f"A {until} above 0 mm was expected to hammer to.")
    if until == "thickness":
        if size_mm > diameter_mm:
            raise InputError(f"A thickness of at most the wire's own {diameter_mm:.2f} mm was expected.")
        return size_mm
    return float(thickness_for_width_mm(size_mm, diameter_mm, spread))


def hammer_path(diameter_mm: float, thickness_mm: float, spread: float, metal: Metal) -> HammerPath:
    """Passes and anneals from annealed round wire to `thickness_mm` (above 0; the wire's or more is none).

    spread: 0 to 1. Raises InputError where hammering flat does not reach so thin.
    """
    least_mm = diameter_mm * least_thickness_ratio(spread)
    if not thickness_mm >= least_mm * (1 - _LIMIT_TOLERANCE):
        raise InputError(
            f"Hammering flat ends at {REFUSE_WIDTH_TO_THICKNESS:.0f} times as wide as thick: expected at "
            f"least {least_mm:.3g} mm from {diameter_mm:.2f} mm wire, not {thickness_mm:g} mm."
        )
    low, high = metal.cold_work_limit_low_percent, metal.cold_work_limit_high_percent
    if thickness_mm >= diameter_mm:
        return HammerPath(diameter_mm, (), None if low is None else 0, None if high is None else 0, "")
    in_all = float(_work(thickness_mm, diameter_mm, spread))
    heats = _heats(in_all, low, metal.later_work_limit_low_percent)
    ends = [_thickness_at_work_mm(work, diameter_mm, spread) for work in heats[:-1]]
    places = _passes_mm(diameter_mm, [*ends, thickness_mm])
    thickness = np.array([place for place, _ in places])
    width, work = hammered_width_mm(thickness, diameter_mm, spread), _work(thickness, diameter_mm, spread)
    steps, soft_at = [], 0.0
    for i, (thin, ends_heat) in enumerate(places):
        since = 100 * -math.expm1(soft_at - float(work[i]))
        steps.append(
            HammerStep(
                thin,
                float(width[i]),
                since,
                100 * -math.expm1(-float(work[i])),
                temper_at(metal, max(since, 0.0)),
                ends_heat and i + 1 < len(places),
            )
        )
        if ends_heat:
            soft_at = float(work[i])
    anneals = None if low is None else len(heats) - 1
    fewest = None if high is None else len(_heats(in_all, high, metal.later_work_limit_high_percent)) - 1
    return HammerPath(diameter_mm, tuple(steps), anneals, fewest, _trust(steps[-1], diameter_mm))


def ageing_text(metal: Metal) -> str:
    """What age hardening does for the metal, by the table; says so where it does nothing or is not known."""
    if metal.age_hardening:
        return f"Age-hardens: {metal.age_hardening} (known: {metal.mark})."
    if metal.key in NEVER_AGE_HARDENS:
        return f"{metal.name} does not age-harden: only cold work hardens it."
    return f"Whether {metal.name} age-hardens is not known here; ask who refined it."


def annealing_text(metal: Metal) -> str:
    """Temperature, time and quench of an anneal by the table, with its mark; says when it is not known."""
    words = annealing_words(metal)
    return words if metal.anneal_low_c is None else f"{words[:-1]} (known: {metal.mark}; {metal.source})."


def annealing_words(metal: Metal) -> str:
    """Temperature, time and quench of an anneal, without where they come from."""
    low, high = metal.anneal_low_c, metal.anneal_high_c
    if low is None or high is None:
        return f"The annealing temperature of {metal.name} is not known here; ask who refined it."
    degrees = f"{low:.0f} °C" if low == high else f"{low:.0f} to {high:.0f} °C"
    note = f", {metal.anneal_note}" if metal.anneal_note else ""
    return f"Anneal at {degrees}{note}."


def anneals_text(path: HammerPath) -> str:
    """How often to anneal on the way, with the fewest where the metal's limit is a range."""
    if not path.steps:
        return path.trust
    if path.anneals is None:
        return "when to anneal is not known for this metal"
    if path.anneals == 0:
        return "no anneal on the way"
    often = "anneal once on the way" if path.anneals == 1 else f"anneal {path.anneals} times on the way"
    fewest = path.fewest_anneals
    if fewest is None or fewest == path.anneals:
        return often
    times = {0: "none", 1: "one"}.get(fewest, str(fewest))
    return f"{often}; {times} may do where the metal allows its most"


def yield_text(temper: Temper) -> str:
    """Yield strength after the cold work, or that it is not known."""
    if temper.yield_mpa is None:
        return "yield not known"
    return f"yield {temper.yield_mpa:.0f} MPa{' or a little more' if temper.beyond_table else ''}"


def _work(thickness_mm: ArrayLike, diameter_mm: float, spread: float) -> FloatArray:
    """Cold work that adds up, ln 1/(1 - r)."""
    width = hammered_width_mm(thickness_mm, diameter_mm, spread)
    return np.asarray(-np.log1p(-equivalent_strip_reduction(width, thickness_mm, diameter_mm, spread)))


def _heats(work: float, first_percent: float | None, later_percent: float | None) -> list[float]:
    """Work in all at the end of each heat, as few heats as their limits allow; one without a limit.

    Every heat uses the same share of its own limit: that of the first, or of those after an anneal.
    """
    if first_percent is None or first_percent <= 0:
        return [work]
    first = _work_of(first_percent)
    later = first if later_percent is None or later_percent <= 0 else _work_of(later_percent)
    more = min(max(0, math.ceil((work - first) / later - _LIMIT_TOLERANCE)), _MOST_HEATS)
    share = work / (first + more * later)
    return [*(share * (first + i * later) for i in range(more)), work]


def _work_of(percent: float) -> float:
    return -math.log1p(-percent / 100)


def _thickness_at_work_mm(work: float, diameter_mm: float, spread: float) -> float:
    """Thickness at a cold work ln 1/(1 - r): h = h0 exp(-work/sqrt(1 - S + S^2)), then h w = t w - c t^2."""
    squeeze = work / math.sqrt(1 - spread + spread * spread)
    width = diameter_mm * math.exp(spread * squeeze)
    height = math.pi / 4 * diameter_mm * math.exp(-squeeze)
    return min(2 * height / (1 + math.sqrt(1 - 4 * CORNER_LOSS * height / width)), diameter_mm)


def _thinnest_before_annealing_mm(diameter_mm: float, spread: float, metal: Metal) -> float:
    limit = metal.cold_work_limit_low_percent
    if limit is None:
        raise InputError(f"How far {metal.name} can be worked before annealing is not known here.")
    thinnest = _thickness_at_work_mm(_work_of(limit), diameter_mm, spread)
    return max(thinnest, diameter_mm * least_thickness_ratio(spread))


def _passes_mm(diameter_mm: float, heat_ends_mm: list[float]) -> list[tuple[float, bool]]:
    """Thickness after each pass and whether a heat ends there; at most a B&S number is taken off at once."""
    places: list[tuple[float, bool]] = []
    begin = diameter_mm
    for end in heat_ends_mm:
        numbers = math.log(end / begin) / math.log(PASS_RATIO)
        whole = min(math.ceil(numbers - _LEAST_SHARE_OF_A_PASS), _MOST_PASSES)
        places += [(begin * PASS_RATIO**i, False) for i in range(1, whole)]
        places.append((end, True))
        begin = end
    return places


def _trust(step: HammerStep, diameter_mm: float) -> str:
    """How far the width can be trusted, in a few words; '' within what the formula was tested for."""
    least, most = TRUSTED_THICKNESS_RATIO
    if step.width_mm > WARN_WIDTH_TO_THICKNESS * step.thickness_mm:
        return f"over {WARN_WIDTH_TO_THICKNESS:.0f} times as wide as thick: an estimate beyond its tests"
    if not least <= step.thickness_mm / diameter_mm <= most:
        return f"outside {least:.1f} to {most:.1f} of the wire: less to be trusted"
    return ""
