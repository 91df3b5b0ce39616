"""What fits on and in an evaluated form: its bays, places along its wire, and how both are told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely import affinity

from formsketch.fitting.stones import WirePlaces
from formsketch.geometry.pockets import LEAST_DIAMETER_MM, Bay, bays_of
from formsketch.geometry.trace import Trace, level_angle_rad
from formsketch.units import length_text

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

# How far the edges that balls are fitted between may leave the wire's.
_CHORD_ERROR_MM = 0.001
# Below this, hammering leaves no face to speak of, as a share of the wire's diameter.
_HAMMERED_SHARE = 1e-6


def bays_in(
    evaluation: Evaluation, clearance_mm: float = 0.0, least_diameter_mm: float = LEAST_DIAMETER_MM
) -> tuple[Bay, ...]:
    """The bays of the form laid level, start mark at 0, from left to right; diameters to 0.005 mm."""
    fine = evaluation.sampled(_CHORD_ERROR_MM)
    # Laid as the evaluation is: how level a round form lies depends a little on its samples.
    angles = (level_angle_rad(e.own_trace, e.chain) for e in (evaluation, fine))
    turn = next(angles) - next(angles)
    metal = affinity.rotate(fine.outline.silhouette, turn, origin=(0, 0), use_radians=True)
    return bays_of(metal, clearance_mm, least_diameter_mm)


def wire_places(evaluation: Evaluation, laid: Trace | None = None) -> WirePlaces:
    """The spans as they lie, ends not included; stock places from the start end of the cut wire.

    Laid level where it is not said how. The flat face is width less thickness where the wire is hammered
    flat, none on edge or unhammered.
    """
    trace, chain, sections = laid or evaluation.trace, evaluation.chain, evaluation.samples
    own = slice(int(trace.first[chain.spans.start]), int(trace.first[chain.spans.stop]))
    part = trace.part[own]
    length = chain.length_mm[chain.spans]
    before = np.concatenate(([0.0], np.cumsum(length)[:-1]))
    number = part - chain.spans.start
    hammered = chain.flare[part] >= 0
    on_edge = evaluation.flares.on_edge[chain.flare[part]]
    face = sections.width_mm[own] - sections.thickness_mm[own]
    flat = np.where(hammered & ~on_edge, np.maximum(face, 0.0), 0.0)
    flat[flat < _HAMMERED_SHARE * evaluation.diameter_mm] = 0.0
    return WirePlaces(
        finished_mm=before[number] + trace.u[own] * length[number],
        stock_mm=evaluation.stock_at_samples_mm[own],
        z_mm=trace.z_mm[own],
        heading_rad=np.unwrap(np.angle(trace.direction[own])),
        plan_width_mm=sections.plan_width_mm[own],
        flat_mm=flat,
    )


def hold_words(bay: Bay) -> str:
    """How a bay holds its ball, in words."""
    sides = "all round" if bay.sides == 1 else f"on {bay.sides} sides"
    if bay.hold == "half open":
        return "half open: touches half round"
    return f"closed, touches {sides}" if bay.hold == "closed" else f"held, touches {sides}"


def place_text(at_mm: complex) -> str:
    """A place in plan: "12.3, −4.5 mm"."""
    x, y = (f"{round(v, 1) + 0.0:.1f}".replace("-", "−") for v in (at_mm.real, at_mm.imag))
    return f"{x}, {y} mm"


def bay_rows(bays: Sequence[Bay]) -> list[list[str]]:
    """Number, largest ball, pair, how held and place of each bay."""
    return [
        [
            str(number),
            length_text(bay.diameter_mm),
            length_text(bay.pair_diameter_mm) if bay.pair_diameter_mm else "-",
            hold_words(bay),
            place_text(bay.centre_mm),
        ]
        for number, bay in enumerate(bays, start=1)
    ]


def bays_text(title: str, bays: Sequence[Bay], clearance_mm: float) -> str:
    """A table of the bays for a terminal."""
    if not bays:
        return f"{title or 'Untitled'}\n\nNo bay holds a ball of {length_text(LEAST_DIAMETER_MM)} or more."
    heads = ["bay", "largest ball", "two side by side", "how", "middle at x, y"]
    rows = [heads, *bay_rows(bays)]
    wide = [max(len(row[i]) for row in rows) for i in range(len(heads))]
    lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows]
    clear = f"Diameters in plan, {length_text(clearance_mm)} clear of the metal; x and y from the start mark."
    return "\n".join([title or "Untitled", "", *lines, "", clear])


def bays_data(title: str, bays: Sequence[Bay], clearance_mm: float) -> dict[str, Any]:
    """The bays as data: mm, degrees, y up, the start mark at 0 and the form laid level."""

    def place(at_mm: complex) -> list[float]:
        return [round(at_mm.real, 4), round(at_mm.imag, 4)]

    return {
        "title": title,
        "clearance_mm": clearance_mm,
        "bays": [
            {
                "centre_mm": place(bay.centre_mm),
                "diameter_mm": round(bay.diameter_mm, 4),
                "hold": bay.hold,
                "sides": bay.sides,
                "open_deg": round(math.degrees(bay.open_rad), 2),
                "pair_diameter_mm": round(bay.pair_diameter_mm, 4) or None,
                "pair_mm": [place(at) for at in bay.pair_mm] if bay.pair_diameter_mm else [],
            }
            for bay in bays
        ],
    }
