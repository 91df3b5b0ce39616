"""What to mind about the ends of the wire: hot beads, ears, holes, catches that do not fit or are weak."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from formsketch.evaluation.caution import (
    GOLD_FROM_G_PER_CM3,
    PRECIOUS_FROM_G_PER_CM3,
    SHARP_EDGE_MM,
    Caution,
)
from formsketch.forging.beads import (
    PRACTICAL_BEAD_RATIO,
    STANDARD_GRAVITY_M_PER_S2,
    SURFACE_TENSION_N_PER_M,
    THICK_WIRE_FOR_BEADS_MM,
    largest_hanging_bead_mm,
)
from formsketch.forging.ends import EndPiece
from formsketch.units import length_text

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# Common practice, no source: what goes through an ear, 0.8 mm being usual.
THINNEST_EAR_WIRE_MM, THICKEST_EAR_WIRE_MM = 0.7, 1.0
# Common practice, no source: metal left beside a hole and between hole and tip, in hole diameters.
METAL_BESIDE_HOLE, METAL_BEFORE_TIP = 0.5, 1.0
# A catch that opens under less of a pull than half a kilo does not hold long. Judgement.
WEAK_CATCH_N = 5.0
_ROUNDING_MM = 1e-6


def about_ends(evaluation: Evaluation) -> Iterator[Caution]:
    """Every caution about the two ends."""
    yield from _about_beads(evaluation)
    yield from _about_ears(evaluation)
    yield from _about_tips(evaluation)
    drilled = [number for number, end in enumerate(evaluation.ends) if end.hole_diameter_mm > 0]
    for number in drilled:
        yield from _about_hole(evaluation, number, ("start", "finish")[number])
    if drilled:
        yield Caution(
            "drilling",
            "Drilling: eye protection, hair and sleeves tied back, the piece clamped and never held in the "
            "fingers; punch the place first.",
        )
    yield from _about_catch(evaluation)


def _about_beads(evaluation: Evaluation) -> Iterator[Caution]:
    d, density = evaluation.diameter_mm, evaluation.metal.density_g_per_cm3
    beads = [end.bead_diameter_mm for end in evaluation.ends if end.bead_diameter_mm > 0]
    if not beads:
        return
    hangs = float(largest_hanging_bead_mm(d, _melt_tension_n_per_m(evaluation), density))
    if max(beads) > hangs:
        yield Caution(
            "bead_may_fall",
            f"A bead over about {hangs:.1f} mm falls off {d:.2f} mm wire while it melts (weight against "
            "surface tension, an estimate).",
            "warn",
        )
    elif d > THICK_WIRE_FOR_BEADS_MM and max(beads) >= PRACTICAL_BEAD_RATIO[1] * d - _ROUNDING_MM:
        yield Caution(
            "bead_large",
            f"On wire over about {THICK_WIRE_FOR_BEADS_MM:.1f} mm a bead of {PRACTICAL_BEAD_RATIO[1]:.1f} "
            f"times the wire, {PRACTICAL_BEAD_RATIO[1] * d:.1f} mm, starts to fall off (common practice).",
            "warn",
        )
    yield Caution("hot_bead", "Hot metal looks cold and beads drop: keep hands and lap clear of the torch.")
    if evaluation.metal.zinc:
        yield Caution(
            "zinc_fume",
            f"{evaluation.metal.name} holds zinc: do not overheat it, ventilate well (fume).",
            "warn",
        )


def _melt_tension_n_per_m(evaluation: Evaluation) -> float:
    """Surface tension of the melt, that of the metal the alloy is mostly made of."""
    density = evaluation.metal.density_g_per_cm3
    if density >= GOLD_FROM_G_PER_CM3:
        return SURFACE_TENSION_N_PER_M["gold"]
    return SURFACE_TENSION_N_PER_M["silver" if density >= PRECIOUS_FROM_G_PER_CM3 else "copper"]


def _about_ears(evaluation: Evaluation) -> Iterator[Caution]:
    posts = [end.post_diameter_mm for end in evaluation.ends if end.post_diameter_mm > 0]
    wires = [end.ear_diameter_mm for end in evaluation.ends if end.ear_diameter_mm > end.post_diameter_mm]
    if posts:
        yield Caution(
            "post_heat",
            "Heat near a post after hammering, to solder or to anneal, softens it and the flats beside it: "
            "heat first, hammer last. Round and smooth its tip; harden it by drawing, not by bending to and "
            "fro.",
        )
        if max(posts) > THICKEST_EAR_WIRE_MM:
            yield Caution(
                "post_thick",
                f"A post over {THICKEST_EAR_WIRE_MM:.1f} mm is thick for most ears; 0.8 mm is common "
                "practice.",
                "warn",
            )
    if wires:
        yield Caution(
            "ear_wire",
            "Round and polish the tip of an ear wire, a burr cuts; heat after it was drawn softens it: "
            "planish its arc lightly to make it spring.",
        )
        if max(wires) > THICKEST_EAR_WIRE_MM:
            yield Caution(
                "ear_wire_thick",
                f"An ear wire over {THICKEST_EAR_WIRE_MM:.1f} mm is thick for most ears; 0.8 mm is common "
                "practice.",
                "warn",
            )
    if 0 < min([*posts, *wires], default=0.0) < THINNEST_EAR_WIRE_MM:
        yield Caution(
            "ear_thin",
            f"What goes through an ear and is under {THINNEST_EAR_WIRE_MM:.1f} mm bends in wear and can cut "
            "the lobe; 0.8 mm is common practice.",
            "warn",
        )
    if (posts or wires) and evaluation.metal.nickel:
        yield Caution(
            "nickel_ear",
            f"{evaluation.metal.name} holds nickel and goes through an ear: nickel in pierced ears is "
            "limited by law (in the EU REACH Annex XVII entry 27); make what goes through the ear of another "
            "metal.",
            "warn",
        )


def _about_tips(evaluation: Evaluation) -> Iterator[Caution]:
    chain = evaluation.chain
    tips = (float(chain.diameter_from_mm[0]), float(chain.diameter_to_mm[-1]))
    if min(tips) < min(SHARP_EDGE_MM, evaluation.diameter_mm):
        yield Caution("sharp_tip", f"A tip under {SHARP_EDGE_MM:g} mm pricks and catches: round it over.")
    flat = [end.tip_height_mm for end in evaluation.ends if 0 < end.tip_height_mm < end.tip_width_mm]
    if flat and min(flat) < SHARP_EDGE_MM:
        yield Caution(
            "sharp_end",
            f"A flat end under {SHARP_EDGE_MM:g} mm thick cuts and catches: round its edges over.",
        )


def hole_metal_mm(evaluation: Evaluation, number: int) -> tuple[float, float]:
    """Metal left beside the hole of an end (0 start, 1 finish), and between it and the tip, mm.

    The first is below 0 for a hole wider than the wire there.
    """
    end, trace = evaluation.ends[number], evaluation.own_trace
    part = 0 if number == 0 else evaluation.chain.part_count - 1
    length_mm = float(evaluation.chain.length_mm[part])
    own = slice(int(trace.first[part]), int(trace.first[part + 1]))
    width_mm = evaluation.samples.plan_width_mm[own]
    # How far from the mark the hole's middle lies, in the direction outward.
    share = float(np.clip(1 + end.hole_beyond_mm / length_mm, 0.0, 1.0))
    outward = trace.u[own] if number else 1 - trace.u[own][::-1]
    across_mm = float(np.interp(share, outward, width_mm if number else width_mm[::-1]))
    to_tip_mm = end.tip_width_mm / 2 - end.hole_beyond_mm - end.hole_diameter_mm / 2
    return (across_mm - end.hole_diameter_mm) / 2, to_tip_mm


def _about_hole(evaluation: Evaluation, number: int, name: str) -> Iterator[Caution]:
    hole_mm = evaluation.ends[number].hole_diameter_mm
    beside_mm, to_tip_mm = hole_metal_mm(evaluation, number)
    if beside_mm <= 0:
        yield Caution(
            "hole_too_wide",
            f"The hole at the {name}, {length_text(hole_mm)}, is no smaller than the wire where it is "
            f"drilled, {length_text(hole_mm + 2 * beside_mm)} wide: hammer the end wider or drill smaller.",
            "stop",
        )
    elif (
        beside_mm < METAL_BESIDE_HOLE * hole_mm - _ROUNDING_MM
        or to_tip_mm < METAL_BEFORE_TIP * hole_mm - _ROUNDING_MM
    ):
        yield Caution(
            "hole_little_metal",
            f"The hole at the {name}, {length_text(hole_mm)}, leaves {length_text(beside_mm)} of metal on "
            f"each side and {length_text(to_tip_mm)} at the tip; half a hole beside it and a whole one at "
            "the tip are common practice.",
            "warn",
        )


def _about_catch(evaluation: Evaluation) -> Iterator[Caution]:
    """A hook and an eye, or two hooks: do they go together, and do they hold?"""
    start, finish = evaluation.ends
    hooks = [end for end in (start, finish) if end.catches == "hook"]
    if not hooks or not (start.catches and finish.catches):
        return
    if no_fit := _no_fit_text(start, finish) or _no_fit_text(finish, start):
        yield Caution("catch_does_not_fit", no_fit, "warn")
    pulls = [pull_n for hook in hooks if (pull_n := hook_yields_at_n(evaluation, hook)) is not None]
    if pulls and min(pulls) < WEAK_CATCH_N:
        yield Caution(
            "hook_weak",
            f"The hook begins to open at a pull of about {min(pulls):.1f} N "
            f"({1000 * min(pulls) / STANDARD_GRAVITY_M_PER_S2:.0f} g) while it is soft: planish it hard, "
            "bend it tighter, or take thicker wire.",
        )


def _no_fit_text(one: EndPiece, other: EndPiece) -> str:
    """Why one end does not go into the other, '' where it does."""
    if one.catches == "eye":
        return ""
    if other.catches == "eye" and other.opening_mm <= one.passes_mm:
        return (
            f"The {one.word}, {length_text(one.passes_mm)} at its widest, does not go through the "
            f"{other.word}, {length_text(other.opening_mm)} inside."
        )
    if one.opening_mm <= other.catch_wire_mm:
        return (
            f"The {one.word}, {length_text(one.opening_mm)} inside, does not take the "
            f"{length_text(other.catch_wire_mm)} of metal of the {other.word}."
        )
    return ""


def hook_yields_at_n(evaluation: Evaluation, hook: EndPiece) -> float | None:
    """The pull along the wire at which a soft hook first yields, N; None where the yield is not known.

    Pulled in the middle of its arc the moment is greatest where the arc begins, P R with the centreline's
    radius; a round wire first yields at pi d^3 Sy/32 [any strength-of-materials text]. Straight-beam theory
    reads some 10 to 20 per cent high on a bend as tight as a hook's.
    """
    soft_yield = evaluation.metal.soft_yield_mid_mpa
    if soft_yield is None:
        return None
    d = hook.catch_wire_mm
    return pi * d**3 * soft_yield / 32 / ((hook.opening_mm + d) / 2)
