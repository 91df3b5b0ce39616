"""What the maker should know beside the numbers: where a model stops, where a hand can be hurt.

Each caution has a code that stays, a sentence, and a weight: `stop` (the form cannot be made like this),
`warn` (it may go wrong, or a number is outside what its formula was tested for), `note`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from formsketch.design.set_places import is_set
from formsketch.evaluation.caution import PRECIOUS_FROM_G_PER_CM3, SHARP_EDGE_MM, Caution
from formsketch.evaluation.end_cautions import about_ends
from formsketch.forging.spread import (
    REFUSE_WIDTH_TO_THICKNESS,
    TRUSTED_THICKNESS_RATIO,
    WARN_WIDTH_TO_THICKNESS,
)
from formsketch.forging.uneven import TRUSTED_LEAN
from formsketch.geometry.outline import MOST_NEAR, MOST_TURN_PER_PIECE_RAD

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# The centreline keeps its length in bending down to a tube of this many wire diameters in radius.
NEUTRAL_TUBE_RADIUS_TO_WIRE = 2.0
# A jump in thickness at a mark that the hand feels and the eye sees, in wire diameters. Judgement.
FLARE_STEP_TO_WIRE = 0.01
# A jump in how far the section leans, as a share of its thickness. Judgement.
LEAN_STEP = 0.01
# Fewer pieces of wire have no more pairs than are counted; of more the outline must say.
LEAST_TANGLE = np.sqrt(2 * MOST_NEAR)


def cautions_of(evaluation: Evaluation) -> tuple[Caution, ...]:
    """Every caution that applies, the weightiest first."""
    found = [
        *_about_hammering(evaluation),
        *_about_flare_steps(evaluation),
        *_about_uneven_blows(evaluation),
        *_about_bending(evaluation),
        *_about_crossings(evaluation),
        *about_ends(evaluation),
        *_about_metal(evaluation),
        *_about_set(evaluation),
    ]
    order = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(found, key=lambda caution: order[caution.weight]))


def _about_set(evaluation: Evaluation) -> Iterator[Caution]:
    """What is told of pearls, stones and the mark."""
    if not is_set(evaluation.design):
        return
    # Imported here: most forms hold none, and commands start faster without.
    from formsketch.evaluation.set_cautions import said_of_set

    for code, message, warns in said_of_set(evaluation):
        yield Caution(code, message, "warn" if warns else "note")


def _numbers(mask: np.ndarray) -> tuple[int, ...]:
    return tuple(mask.nonzero()[0].tolist())


def _which(spans: tuple[int, ...], what: str = "Span") -> str:
    """The spans, or marks, as the maker counts them, from 1."""
    if len(spans) == 1:
        return f"{what} {spans[0] + 1}"
    if len(spans) > 4:
        return f"{len(spans)} {what.lower()}s ({spans[0] + 1} to {spans[-1] + 1})"
    return f"{what}s " + ", ".join(str(i + 1) for i in spans)


def _about_hammering(evaluation: Evaluation) -> Iterator[Caution]:
    spans, d = evaluation.spans, evaluation.diameter_mm
    ratio = spans.thinnest_mm / d
    flatness = spans.widest_mm / spans.thinnest_mm
    hammered = ratio < 1
    if not hammered.any():
        return
    if refused := _numbers(flatness > REFUSE_WIDTH_TO_THICKNESS):
        yield Caution(
            "flat_beyond_limit",
            f"{_which(refused)}: more than {REFUSE_WIDTH_TO_THICKNESS:.0f} times as wide as thick is beyond "
            "what hammering flat reaches.",
            "stop",
            refused,
        )
    if wide := _numbers((flatness > WARN_WIDTH_TO_THICKNESS) & (flatness <= REFUSE_WIDTH_TO_THICKNESS)):
        yield Caution(
            "flat_very_wide",
            f"{_which(wide)}: over {WARN_WIDTH_TO_THICKNESS:.0f} times as wide as thick; the width is an "
            "estimate beyond the tests of its formula.",
            "warn",
            wide,
        )
    least, most = TRUSTED_THICKNESS_RATIO
    if deep := _numbers(ratio < least):
        yield Caution(
            "hammered_beyond_model",
            f"{_which(deep)}: hammered below {least:.1f} of the wire, outside the range the width formula is "
            "trusted in.",
            "warn",
            deep,
        )
    if slight := _numbers(hammered & (ratio > most)):
        yield Caution(
            "hammered_slightly",
            f"{_which(slight)}: hammered less than a tenth; the width formula is trusted from {most:.1f} "
            "of the wire down.",
            "note",
            slight,
        )
    limit = evaluation.metal.cold_work_limit_low_percent
    if limit is not None and (hard := _numbers(100 * spans.strip_reduction > limit)):
        most_worked = 100 * float(np.max(spans.strip_reduction))
        yield Caution(
            "anneal_between",
            f"{_which(hard)}: cold work up to {most_worked:.0f} %; {evaluation.metal.name} is annealed by "
            f"about {limit:.0f} %, so anneal at least once on the way.",
            "warn",
            hard,
        )
    thinnest = np.minimum(spans.outer_edge_mm, spans.inner_edge_mm)
    if sharp := _numbers(hammered & (thinnest < SHARP_EDGE_MM)):
        yield Caution(
            "sharp_edge",
            f"{_which(sharp)}: edges under {SHARP_EDGE_MM:.1f} mm cut and catch; round them over.",
            "warn",
            sharp,
        )
    yield _about_spread(evaluation)
    yield Caution(
        "eye_protection",
        "Wear eye protection when hammering and clipping; never strike hardened steel on hardened steel.",
    )


def _about_spread(evaluation: Evaluation) -> Caution:
    """What width, cut length and marks rest on: the maker's samples, or a starting value."""
    low, high, basis = evaluation.spread_band
    hammer = evaluation.design.hammer
    band = f"{low:.2f} to {high:.2f}; {basis}"
    rest = f"Width, cut length and marks rest on a spread of {hammer.spread:.2f} ({band})"
    if hammer.low is not None:
        return Caution("spread_measured", f"{rest}.")
    return Caution("spread_assumed", f"{rest}; hammer a sample to know your own.")


def _about_flare_steps(evaluation: Evaluation) -> Iterator[Caution]:
    """Marks inside a flare that the neighbouring span does not carry on."""
    chain, flares, d = evaluation.chain, evaluation.flares, evaluation.diameter_mm
    if min(flares.thickness_from_mm.min(), flares.thickness_to_mm.min()) >= d:
        return
    # Hammered flat and on edge are depths to two sides: between them the wire would have to be round.
    side = np.where(flares.on_edge, -1.0, 1.0)
    reached = (side * (d - flares.thickness_to_mm))[chain.flare]
    left = (side * (d - flares.thickness_from_mm))[chain.flare]
    steps = np.flatnonzero(np.abs(reached[:-1] - left[1:]) > FLARE_STEP_TO_WIRE * d)
    if not len(steps):
        return
    marks = steps + 1 - chain.spans.start
    count = chain.spans.stop - chain.spans.start
    beside = sorted({int(span) for mark in marks for span in (mark - 1, mark) if 0 <= span < count})
    yield Caution(
        "flare_step",
        f"{_which(tuple(marks.tolist()), 'Mark')}: the hammered thickness jumps there by more than "
        f"{100 * FLARE_STEP_TO_WIRE:.0f} % of the wire; hammer both sides alike or remove the mark.",
        "warn",
        tuple(beside),
    )


def _about_uneven_blows(evaluation: Evaluation) -> Iterator[Caution]:
    """Turns that blows heavier on one edge add, and marks where the leaning section jumps."""
    uneven, chain = evaluation.uneven, evaluation.chain
    if uneven is None:
        return
    flare = chain.flare[chain.spans]
    lean = np.abs(uneven.lean[flare])
    if steep := _numbers(lean > TRUSTED_LEAN):
        yield Caution(
            "uneven_beyond_model",
            f"{_which(steep)}: one edge is over {100 * TRUSTED_LEAN:.0f} % thinner than the middle; the turn "
            "gained by such uneven blows is a guess.",
            "warn",
            steep,
        )
    if spans := _numbers(lean > 0):
        low, high, _ = evaluation.spread_band
        yield Caution(
            "uneven_blows",
            f"{_which(spans)}: the turn gained by uneven blows is worked out from the spread "
            f"({low:.2f} to {high:.2f}), not measured; hammer one on a sample, look, and bend accordingly.",
            "note",
            spans,
        )
    side = chain.side[chain.spans]
    reached, left = side * uneven.lean_to[flare], side * uneven.lean_from[flare]
    steps = np.flatnonzero(np.abs(reached[:-1] - left[1:]) > LEAN_STEP)
    if len(steps):
        yield Caution(
            "uneven_step",
            f"{_which(tuple((steps + 1).tolist()), 'Mark')}: the blows are heavier on one edge on one side "
            "only; hammer both sides alike or remove the mark.",
            "warn",
            tuple(sorted({int(s) for mark in steps for s in (mark, mark + 1)})),
        )


def _about_bending(evaluation: Evaluation) -> Iterator[Caution]:
    spans, d = evaluation.spans, evaluation.diameter_mm
    bent = np.isfinite(spans.as_bent_radius_mm)
    if tight := _numbers(bent & ~np.isfinite(spans.tube_diameter_mm)):
        yield Caution(
            "no_tube_so_tight",
            f"{_which(tight)}: bent tighter than any tube allows in {d:.2f} mm wire; the inside would "
            "close up.",
            "warn",
            tight,
        )
    close = np.isfinite(spans.tube_diameter_mm) & (
        spans.tube_diameter_mm < 2 * NEUTRAL_TUBE_RADIUS_TO_WIRE * d
    )
    if near := _numbers(close):
        yield Caution(
            "neutral_axis_shift",
            f"{_which(near)}: tube radius under two wire diameters; the wire stretches in bending and the "
            "length may come out a little long.",
            "note",
            near,
        )
    # On edge a span is widest at its marks, where the wire is still round.
    edge = evaluation.flares.on_edge[evaluation.chain.flare[evaluation.chain.spans]]
    half_width = np.where(edge, d, spans.widest_mm) / 2
    with np.errstate(invalid="ignore"):
        folding = bent & (half_width > spans.finished_radius_mm)
    if folding.any() and (folded := _numbers(folding)):
        yield Caution(
            "inner_edge_folds",
            f"{_which(folded)}: wider than its bend allows; the inner edge will buckle or close.",
            "warn",
            folded,
        )
    if evaluation.metal.soft_yield_mid_mpa is None and bent.any():
        yield Caution(
            "springback_unknown",
            f"The yield of {evaluation.metal.name} is not known; tubes are given without spring-back.",
            "warn",
        )


def _about_crossings(evaluation: Evaluation) -> Iterator[Caution]:
    """A tangle, and crossings swapped by numbers that the wire no longer reaches."""
    chain = evaluation.chain
    turning = float(np.sum(np.abs(chain.turn_rad) + np.abs(chain.skew_rad)))
    if chain.part_count + turning / MOST_TURN_PER_PIECE_RAD > LEAST_TANGLE and evaluation.outline.tangled:
        yield Caution(
            "tangled",
            "The wire lies on itself in so many places that its crossings and gaps are not looked for.",
            "warn",
        )
    swapped = evaluation.design.form.swapped_crossings
    if not swapped:
        return
    there_are = len(evaluation.crossings)
    times = f"crosses itself only {there_are} times" if there_are > 1 else "crosses itself only once"
    times = times if there_are else "does not cross itself"
    if gone := tuple(number for number in swapped if number >= there_are):
        yield Caution(
            "crossing_gone",
            f"{_which(gone, 'Crossing')}: over and under are swapped, but the wire {times}.",
        )


def _about_metal(evaluation: Evaluation) -> Iterator[Caution]:
    metal = evaluation.metal
    if metal.nickel:
        yield Caution(
            "nickel",
            f"{metal.name} holds nickel, which is limited by law on skin and in pierced ears (in the EU "
            "REACH Annex XVII entry 27); follow the rules of the place.",
            "warn",
        )
    if metal.indicative:
        yield Caution(
            "metal_indicative", f"Strength and density of {metal.name} are indicative; weigh a sample."
        )
    if metal.density_g_per_cm3 > PRECIOUS_FROM_G_PER_CM3:
        yield Caution(
            "quality_mark",
            "A quality mark needs the registered maker's mark and is governed by local law; weights of gold "
            "and silver alloys are good to about 2 % until weighed.",
        )
