"""A design in several wires and sizes at once: gauge down, size across."""

from __future__ import annotations

import math
from collections.abc import Sequence

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.comparison.variants import Candidate, candidate, refused
from formsketch.design.edits import applied
from formsketch.design.model import Design, Variant
from formsketch.errors import EditRefused, InputError

DIAMETER_RANGE_MM = (0.05, 20.0)
SCALE_RANGE = (0.05, 20.0)
MOST_CELLS = 400


def parse_diameters(text: str) -> list[float]:
    """Wire diameters in mm from a list such as '1.0, 18 ga, 1/16 in'; nothing for an empty text.

    Raises `InputError` for what is no length, or out of 0.05 to 20 mm.
    """
    diameters = [parse_length_mm(part) for part in _parts(text)]
    low, high = DIAMETER_RANGE_MM
    for part, diameter_mm in zip(_parts(text), diameters, strict=True):
        if not low <= diameter_mm <= high:
            raise InputError(
                f'Wire diameters, "{part}": expected {low:g} to {high:g} mm, got {diameter_mm:g} mm.'
            )
    return diameters


def parse_scales(text: str) -> list[float]:
    """Sizes relative to the design as drawn, from a list such as '0.9, 1, 1.15'; nothing for an empty text.

    Raises `InputError` for what is no number, or out of 0.05 to 20.
    """
    low, high = SCALE_RANGE
    scales = []
    for part in _parts(text):
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
    if len(diameters_mm) * len(scales) > MOST_CELLS:
        raise InputError(
            f"A grid: expected at most {MOST_CELLS} forms, got {len(diameters_mm) * len(scales)}."
        )
    return [_cell(design, d, scale) for d in diameters_mm for scale in scales], len(scales)


def _cell(design: Design, diameter_mm: float, scale: float) -> Candidate:
    size = "size as drawn" if scale == 1.0 else f"size × {scale:g}"
    wire = gauge_text(diameter_mm)
    # The title names the wire shortly, the subtitle says all of it.
    title = f"{wire.split(' (')[0]}, {size}"
    try:
        return candidate(title, applied(design, Variant(title=title, diameter_mm=diameter_mm, scale=scale)))
    except EditRefused as fault:
        return refused(title, wire, fault)


def _parts(text: str) -> list[str]:
    """The parts between commas; an empty one is refused unless there is nothing at all."""
    if not text.strip():
        return []
    parts = [part.strip() for part in text.split(",")]
    if not all(parts):
        raise InputError(f'"{text}": expected something between each two commas.')
    return parts
