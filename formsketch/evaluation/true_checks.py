"""Whether a piece is true: what comes together when it is rolled, even openings, equal sides.

Places are samples of the trace, so that a page can show them on the wire.
"""

from __future__ import annotations

import numpy as np

from formsketch.design.model import Worn
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.even_rows import Gap, Row, in_rows
from formsketch.evaluation.rolled import Rolled, caught_mm, rolled
from formsketch.evaluation.rolled_gaps import rolled_gaps_mm, seam_gap_mm
from formsketch.evaluation.true_sides import Halves, UpperLower, halves, upper_lower
from formsketch.evaluation.worn import is_length
from formsketch.geometry.openings import openings
from formsketch.values import Result, Value

# An opening this wide or less is looked at: as high as the form, so many widths at least.
_LEAST_REACH_WIDTHS = 4.0
LEAST_TOLERANCE_MM, MOST_TOLERANCE_MM, USUAL_TOLERANCE_MM = 0.01, 20.0, 0.2


class Seam(Value, frozen=True):
    """Where start and finish come together: the nearest that parts there come that are not to meet, mm."""

    gap_mm: float
    place: float
    other_place: float


class TrueChecks(Result, frozen=True):
    """All of it. `seam` is None where nothing is rolled; `not_rolled` says why, where that needs saying."""

    evaluation: Evaluation
    gaps: tuple[Gap, ...]
    rows: tuple[Row, ...]
    seam: Seam | None
    halves: Halves | None
    upper_lower: UpperLower | None
    crossings: int
    stacked_mm: float
    not_rolled: str = ""


def checked_tolerance(tolerance_mm: float) -> float:
    """The tolerance itself. Raises `InputError` below 0.01 or above 20 mm."""
    if not LEAST_TOLERANCE_MM <= tolerance_mm <= MOST_TOLERANCE_MM:
        raise InputError(
            f"A tolerance from {LEAST_TOLERANCE_MM:g} to {MOST_TOLERANCE_MM:g} mm was expected, "
            f"not {tolerance_mm:g} mm."
        )
    return tolerance_mm


def true_checks(evaluation: Evaluation, worn: Worn | None = None) -> TrueChecks:
    """Check a piece as it is worn, or as its design says it is."""
    worn = worn or evaluation.design.worn
    width = float(np.max(evaluation.samples.plan_width_mm))
    reach = max(_LEAST_REACH_WIDTHS * width, evaluation.envelope_mm[1])
    found = openings(evaluation.outline, reach)
    piece, why = _rolled(evaluation, worn)
    rolled_mm = [None] * len(found) if piece is None else rolled_gaps_mm(evaluation, piece, found).tolist()
    gaps, rows = in_rows(evaluation, [Gap(o, r) for o, r in zip(found, rolled_mm, strict=True)])
    crossings = evaluation.crossings
    heights = evaluation.samples.height_mm
    stacked = max((float(heights[c.under_sample] + heights[c.over_sample]) for c in crossings), default=0.0)
    return TrueChecks(
        evaluation,
        gaps,
        rows,
        _seam(evaluation, piece, worn),
        halves(evaluation),
        upper_lower(evaluation),
        len(crossings),
        stacked,
        why,
    )


def _rolled(evaluation: Evaluation, worn: Worn | None) -> tuple[Rolled | None, str]:
    if worn is None:
        return None, "The design does not say what it becomes, so nothing is rolled."
    if is_length(worn) or not worn.rolled:
        return None, ""
    try:
        return rolled(evaluation, worn.aspect, worn.gap_mm), ""
    except FormSketchError as fault:
        return None, str(fault)


def _seam(evaluation: Evaluation, piece: Rolled | None, worn: Worn | None) -> Seam | None:
    """None, too, where the ends are meant to lie side by side."""
    if piece is None or worn is None or worn.gap_mm < 0:
        return None
    if caught_mm(evaluation) == 0.0 and worn.gap_mm == 0.0:
        # The ends meet: that is what they are for.
        return None
    return Seam(*seam_gap_mm(evaluation, piece))
