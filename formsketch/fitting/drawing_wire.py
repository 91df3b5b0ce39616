"""A fitted stroke as a form: in place of the form there was, or carried on from its finish."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from formsketch.design.edits import with_form, with_runs
from formsketch.design.model import Design, Form, Run
from formsketch.fitting.freehand import StrokeFit
from formsketch.fitting.pulling import WireInHand

# A stroke that sets out nearly the way the wire ends carries on smoothly.
SMOOTH_DEG = 12.0


def form_from_stroke(design: Design, fit: StrokeFit) -> Design:
    """The design with the stroke for its form; wire, hammer, ends and texts stay, variants too."""
    form = Form(runs=(Run(spans=fit.spans),), start=design.form.start, finish=design.form.finish)
    return with_form(design, form)


def carried_on(wire: WireInHand, fit: StrokeFit) -> Design:
    """The design with the stroke's spans after its last, the stroke's heading given in the wire's own frame.

    They carry on smoothly, or from a sharp bend where the stroke sets out another way.
    """
    last = wire.span_count - 1
    bend_deg = float(np.rad2deg(np.angle(np.exp(1j * (fit.heading_rad - wire.heading_to_rad(last))))))
    # Spans are written as they lie when the wire is not turned over; where it is, turning it back does that.
    lies_over = float(wire.chain.side[wire.part(last)]) < 0
    first = replace(
        fit.spans[0], corner_deg=0.0 if abs(bend_deg) < SMOOTH_DEG else bend_deg, turned_over=lies_over
    )
    runs = (*wire.design.form.runs, Run(spans=(first, *fit.spans[1:])))
    return with_runs(wire.design, runs)
