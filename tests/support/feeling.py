"""Forms to load and what is known of them, for the tests of how a piece feels."""

from __future__ import annotations

import numpy as np

from formsketch.design.model import Design, End, Flare, Form, Hammer, OwnMetal, PlainEnd, Run, Span, Wire
from formsketch.evaluation.bar import Bar
from formsketch.evaluation.bar_loads import UnitLoad, compliance, flexibility, moments_of
from formsketch.evaluation.evaluate import Evaluation, evaluate

DIAMETER_MM, E_MPA, YIELD_MPA = 1.02, 100_000.0, 300.0
I_ROUND_MM4 = np.pi / 64 * DIAMETER_MM**4
SPREAD = 0.6


def piece(
    *spans: Span,
    diameter_mm: float = DIAMETER_MM,
    e_gpa: float | None = E_MPA / 1000,
    yield_mpa: float | None = YIELD_MPA,
    metal: str = "own",
    times: int = 1,
    turned_over: bool = False,
    spread: float = SPREAD,
    finish: End | None = None,
) -> Evaluation:
    """A form of these spans, in a metal of its own of known stiffness and yield unless one is named."""
    own = OwnMetal(key="own", name="own", density_g_per_cm3=8.0, yield_mpa=yield_mpa, e_gpa=e_gpa)
    run = Run(spans=spans, times=times, turned_over=turned_over)
    design = Design(
        title="piece",
        wire=Wire(metal=metal, diameter_mm=diameter_mm),
        metals=(own,),
        hammer=Hammer(spread=spread),
        form=Form(runs=(run,), finish=finish or PlainEnd()),
    )
    return evaluate(design)


def arc(radius_mm: float, angle_deg: float, flare: Flare | None = None) -> Span:
    return Span(length_mm=float(radius_mm * np.deg2rad(abs(angle_deg))), turn_deg=angle_deg, flare=flare)


def even(thickness: float, face: str = "flat") -> Flare:
    """A flare of which the span shows a part of the hold: one section from mark to mark."""
    return Flare(thickness=thickness, hold=0.8, begin=0.2, end=0.8, face=face)  # type: ignore[arg-type]


def cantilever(evaluation: Evaluation, force: complex = 0j, lift: float = 0.0) -> float:
    """Move times E of the tip of the wire under a unit force on it, held at the start mark."""
    bar = Bar(evaluation)
    to_mm = bar.reach_mm[1]
    tip = complex(bar.at_along((to_mm,)).z_mm[0])
    load = UnitLoad(0.0, to_mm, tip, force=force, lift=lift)
    moments = moments_of(load, bar.nodes)
    return compliance(bar, load, moments, moments, flexibility(bar.nodes))
