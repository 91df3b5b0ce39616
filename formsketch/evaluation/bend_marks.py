"""Where the pen marks of a bend stand, by the way it is bent: round a tube, or gripped at a mark.

Laid round a tube a bend begins where the wire touches it, at the mark where the span begins. Gripped in
round-nosed pliers it is centred on the mark, which then stands where half of the turn is made.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

BendMarks = Literal["round", "grip"]

BEND_MARKS_TEXT: dict[BendMarks, str] = {
    "round": "lay each bend round its tube from mark to mark: it begins and ends at the marks",
    "grip": "grip the wire at the mark in the middle of each bend: the bend is centred on it",
}


def grip_marks_mm(evaluation: Evaluation) -> list[float | None]:
    """Where to grip for each span, mm from the cut start of the straight wire.

    None for a straight span and for one that turns both ways, which has no one middle.
    """
    spans = evaluation.spans
    marks: list[float | None] = []
    for i, radius_mm in enumerate(spans.as_bent_radius_mm.tolist()):
        half = half_turned(float(spans.as_bent_turn_deg[i]), float(spans.as_bent_skew_deg[i]))
        if half is None or not math.isfinite(radius_mm):
            marks.append(None)
        else:
            marks.append(float(spans.stock_from_mm[i] + half * spans.stock_length_mm[i]))
    return marks


def half_turned(turn: float, skew: float) -> float | None:
    """Where half of a span's turn is made, as a fraction of its wire; None where it turns both ways.

    The turn made at u is turn u + skew (u^2 - u); both in one unit of angle.
    """
    if turn == 0 or abs(skew) > abs(turn):
        return None
    # With s = skew/turn: s u^2 + (1 - s) u - 1/2 = 0, in the form that loses no digits.
    ratio = skew / turn
    b = 1 - ratio
    return 1.0 / (b + math.sqrt(b * b + 2 * ratio))


def is_bent(evaluation: Evaluation) -> bool:
    """Whether any span is a bend."""
    return bool(np.isfinite(evaluation.spans.as_bent_radius_mm).any())
