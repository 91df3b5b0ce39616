"""Bends in order as CSV (RFC 4180): for a bending machine, a jig or a spreadsheet."""

from __future__ import annotations

import csv
import io
import math

import numpy as np

from formsketch.bench.tubes import load_tubes, nearest_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.evaluation.evaluate import Evaluation

COLUMNS = (
    "bend",
    "kind",
    "from_mm",
    "to_mm",
    "turn_deg",
    "roll_deg",
    "as_bent_radius_mm",
    "tube_diameter_mm",
    "nearest_tube",
)


def bending_csv(evaluation: Evaluation) -> str:
    """One row a bend, in order from the start of the cut wire; straight spans are only passed over.

    Places are on the straight wire, its start end at 0. `turn_deg` is how far to bend before hammering, left
    positive, on the wire as it lies before it is turned over; `roll_deg` is how far the wire is rolled about
    its own axis before this bend: 180 where it is turned over. Feeding, rolling and bending in this order
    makes the form as bent.
    A sharp bend at a mark has the kind `corner` and no radius.
    """
    spans, chain = evaluation.spans, evaluation.chain
    tubes = load_tubes(user_tubes_file())
    side = chain.side[chain.spans]
    rolled = np.diff(side, prepend=side[0]) != 0
    turns_deg, corners_deg = side * side[0] * (spans.as_bent_turn_deg, spans.corner_deg)
    skewed = np.abs(spans.as_bent_skew_deg) > 0
    stored = io.StringIO()
    writer = csv.writer(stored)
    writer.writerow(COLUMNS)
    number, roll = 0, 0
    for at in range(len(spans.turn_deg)):
        roll += 180 if rolled[at] else 0
        begin = float(spans.stock_from_mm[at])
        if abs(corners_deg[at]) > 1e-9:
            number += 1
            corner = f"{corners_deg[at]:.3f}"
            writer.writerow(
                [number, "corner", f"{begin:.3f}", f"{begin:.3f}", corner, roll % 360, "", "", ""]
            )
            roll = 0
        radius, tube = float(spans.as_bent_radius_mm[at]), float(spans.tube_diameter_mm[at])
        if not math.isfinite(radius):
            continue
        number += 1
        nearest = nearest_tubes(tube, tubes, 1)[0].label if math.isfinite(tube) and tubes else ""
        writer.writerow(
            [
                number,
                "spiral" if skewed[at] else "arc",
                f"{begin:.3f}",
                f"{begin + float(spans.stock_length_mm[at]):.3f}",
                f"{turns_deg[at]:.3f}",
                roll % 360,
                f"{radius:.4f}",
                f"{tube:.4f}" if math.isfinite(tube) else "",
                nearest,
            ]
        )
        roll = 0
    return stored.getvalue()
