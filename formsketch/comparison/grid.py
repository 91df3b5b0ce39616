"""A design in many ways at once, one thing varied down and another across: gauge and size to begin with."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec.structs import replace

from formsketch.bench.gauges import gauge_text
from formsketch.comparison.axes import (
    DIAMETER_RANGE_MM as DIAMETER_RANGE_MM,
)
from formsketch.comparison.axes import (
    GAUGE,
    SCALE_RANGE,
    SIZE,
    Axis,
    AxisValue,
    parse_diameter_mm,
    parts_of,
)
from formsketch.comparison.collisions import new_meetings
from formsketch.comparison.variants import Candidate, candidate, refused
from formsketch.design.edits import checked
from formsketch.design.model import Design
from formsketch.errors import EditRefused, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.worn import reached_mm, reached_text, size_label, stepped, wanted_mm

MOST_CELLS = 400
# Cautions that a maker may overrule in one form, but that rule a cell of a grid out.
_RULED_OUT_BY = ("no_tube_so_tight", "inner_edge_folds")


def parse_diameters(text: str) -> list[float]:
    """Wire diameters in mm from a list such as '1.0, 18 ga, 1/16 in'; nothing for an empty text.

    Raises `InputError` for what is no length, or out of 0.05 to 20 mm.
    """
    return [parse_diameter_mm(part) for part in parts_of(text)]


def parse_scales(text: str) -> list[float]:
    """Sizes relative to the design as drawn, from a list such as '0.9, 1, 1.15'; nothing for an empty text.

    Raises `InputError` for what is no number, or out of 0.05 to 20.
    """
    low, high = SCALE_RANGE
    scales = []
    for part in parts_of(text):
        try:
            scale = float(part)
        except ValueError:
            scale = math.nan
        if not low <= scale <= high:
            raise InputError(
                f'Scales, "{part}": expected a number from {low:g} to {high:g}, such as 0.9 or 1.15.'
            )
        scales.append(scale)
    return scales


def grid_candidates(
    design: Design, diameters_mm: Sequence[float], scales: Sequence[float]
) -> tuple[list[Candidate], int]:
    """A candidate for each wire (down) and size (across), row by row, and the number of columns.

    Without diameters the design's own is taken, without scales its own size. A cell that cannot be made
    carries its reason. Raises `InputError` for more than `MOST_CELLS` cells.
    """
    diameters_mm, scales = diameters_mm or [design.wire.diameter_mm], scales or [1.0]
    check_cell_count(len(diameters_mm), len(scales))
    cells = []
    for diameter_mm in diameters_mm:
        for scale in scales:
            size = "size as drawn" if scale == 1.0 else f"size × {scale:g}"
            # The title names the wire shortly, the subtitle says all of it.
            title = f"{GAUGE.label(design, diameter_mm)}, {size}"
            cells.append(grid_cell(design, ((GAUGE, diameter_mm), (SIZE, scale)), title))
    return cells, len(scales)


def check_cell_count(rows: int, columns: int) -> None:
    """Raises `InputError` for more than `MOST_CELLS` cells."""
    if rows * columns > MOST_CELLS:
        raise InputError(f"A grid: expected at most {MOST_CELLS} forms, got {rows * columns}.")


def grid_cell(design: Design, ways: Sequence[tuple[Axis, AxisValue]], title: str = "") -> Candidate:
    """The design with a value of each axis; one that no sound design stands for carries the reason."""
    made = replace(design, variants=(), picture=None)
    for axis, value in ways:
        made = axis.applied(made, value)
    title = title or ", ".join(axis.label(design, value) for axis, value in ways)
    try:
        return candidate(title, checked(made))
    except EditRefused as fault:
        return refused(title, gauge_text(made.wire.diameter_mm), fault)


def why_not(cell: Candidate, collisions_of: Evaluation | None = None) -> str:
    """Why a cell cannot be made, in one sentence; empty when it can.

    Beside what stops a form by itself: bends tighter than any tube allows in that wire, inner edges that
    fold, a size more than one usual step off what is wanted where a size is set, and, against a form in which
    they do not (`collisions_of`), loops that run into each other.
    """
    if cell.reason or cell.measured is None:
        return cell.reason
    for code in _RULED_OUT_BY:
        for caution in cell.measured.cautions:
            if caution.code == code:
                return caution.message
    if misfit := _misfit(cell.measured):
        return misfit
    if collisions_of is not None and (count := new_meetings(cell.measured, collisions_of)):
        places = "one place" if count == 1 else f"{count} places"
        return f"The wire runs into itself at {places} where the design's does not."
    return ""


def _misfit(evaluation: Evaluation) -> str:
    """Why it does not fit the wrist, finger or length it is for: over one usual step off."""
    worn = evaluation.design.worn
    if worn is None:
        return ""
    reached = reached_mm(evaluation, worn)
    large, small = stepped(worn, 1), stepped(worn, -1)
    if reached > wanted_mm(large):
        return f"Too large for {size_label(worn)}: {reached_text(worn, reached)}."
    if small.size > 0 and reached < wanted_mm(small):
        return f"Too small for {size_label(worn)}: {reached_text(worn, reached)}."
    return ""
