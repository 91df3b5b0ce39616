"""Swapping over and under where the wire crosses itself, by the crossing nearest to a place on the table."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formsketch.design.crossing_edits import swap_crossing
from formsketch.errors import EditRefused
from formsketch.geometry.trace import level_angle_rad
from formsketch.ui.session import Session


def crossings_mm(session: Session) -> NDArray[np.complex128]:
    """Where the crossings lie on the table, in their order."""
    evaluation = session.evaluation
    own = np.exp(-1j * level_angle_rad(evaluation.own_trace, evaluation.chain))
    return np.array(
        [session.pose.to_table(crossing.at_mm * own) for crossing in evaluation.crossings], dtype=complex
    )


def crossing_at(session: Session, table_mm: complex, slack_mm: float) -> int | None:
    """The crossing nearest to a place that lies on it, or misses it by no more than the slack."""
    places = crossings_mm(session)
    if not len(places):
        return None
    number = int(np.argmin(np.abs(places - table_mm)))
    crossing = session.evaluation.crossings[number]
    widths = session.evaluation.samples.plan_width_mm[[crossing.over_sample, crossing.under_sample]]
    reach_mm = max(float(widths.max()) / 2, slack_mm)
    return number if abs(places[number] - table_mm) <= reach_mm else None


def swap_over_under(session: Session, table_mm: complex) -> str:
    """Swap over and under at the crossing nearest to a place, in one step; says what lies over now.

    Raises `EditRefused` where the wire does not cross itself.
    """
    places = crossings_mm(session)
    if not len(places):
        raise EditRefused("The wire does not cross itself: there is nothing to swap.")
    number = int(np.argmin(np.abs(places - table_mm)))
    session.change(f"Swap over and under at crossing {number + 1}", swap_crossing(session.design, number), 0)
    crossing = session.evaluation.crossings[number]
    over, under = (_part_name(session, sample) for sample in (crossing.over_sample, crossing.under_sample))
    return f"Crossing {number + 1}: {over} lies over {'itself' if over == under else under}."


def _part_name(session: Session, sample: int) -> str:
    spans = session.evaluation.chain.spans
    part = int(session.evaluation.own_trace.part[sample])
    if part < spans.start:
        return "the start"
    return f"span {part - spans.start + 1}" if part < spans.stop else "the finish"
