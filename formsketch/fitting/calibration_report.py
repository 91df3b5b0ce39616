"""A calibration from what was typed, and as text for a person or an object for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from formsketch.bench.lengths import parse_length_mm
from formsketch.design.model import Design
from formsketch.errors import InputError
from formsketch.fitting.calibration import CALIPERS_READ_TO_MM, Calibration, Sample, calibrate
from formsketch.fitting.piece_calibration import PIECE_READS_TO_MM, calibrate_piece


def sample_typed(text: str) -> Sample:
    """A sample written as wire, thickness and width, such as "1,0.5,1.5" or "18 ga,0.6 mm,1.4 mm"."""
    parts = text.split(",")
    if len(parts) != 3:
        raise InputError(
            f'"{text}": wire, thickness and width with commas between were expected, such as 1,0.5,1.5.'
        )
    return Sample(*(parse_length_mm(part) for part in parts))


def calibration_typed(
    samples: Sequence[str], piece: Design | None, used: str | None, finished: str | None, reads_to: str | None
) -> Calibration:
    """The calibration from samples as typed, or from a piece and its two lengths; raises InputError."""
    if piece is None:
        if used is not None or finished is not None:
            raise InputError("The wire used and the finished length go with a piece; a design was expected.")
        if not samples:
            raise InputError("A hammered sample was expected, as wire, thickness and width: 1,0.5,1.5.")
        return calibrate([sample_typed(text) for text in samples], _reading(reads_to, CALIPERS_READ_TO_MM))
    if samples:
        raise InputError("Samples or a whole piece were expected, not both at once.")
    if used is None or finished is None:
        raise InputError("With a piece, the wire used and its finished length were expected.")
    lengths = parse_length_mm(used), parse_length_mm(finished)
    return calibrate_piece(piece, *lengths, _reading(reads_to, PIECE_READS_TO_MM))


def calibration_data(found: Calibration) -> dict[str, Any]:
    """The calibration under fixed keys, ready for JSON."""
    return {
        "spread": found.spread,
        "low": found.low,
        "high": found.high,
        "scatter": found.scatter,
        "elongation": found.elongation,
        "basis": found.how,
        "remarks": list(found.remarks),
        "samples": [
            {"spread": r.spread, "half_band": r.half_band, "elongation": r.elongation} for r in found.readings
        ],
    }


def calibration_text(found: Calibration) -> str:
    """The same as lines for a terminal."""
    lines = []
    if len(found.readings) > 1:
        lines += [
            f"sample {number:<3} spread {r.spread:.3f} ± {r.half_band:.3f}   {r.elongation:.3f} times as long"
            for number, r in enumerate(found.readings, start=1)
        ]
        lines.append("")
    lines.append(f"Spread   {found.spread:.3f}   {found.low:.3f} to {found.high:.3f}")
    if found.scatter is not None:
        lines.append(f"Scatter  {found.scatter:.3f}   standard deviation between samples")
    if found.elongation is not None:
        lines.append(f"Longer   {found.elongation:.3f} times")
    lines.append(f"Found by {found.how}.")
    return "\n".join([*lines, *found.remarks])


def _reading(typed: str | None, usual_mm: float) -> float:
    return usual_mm if typed is None else parse_length_mm(typed)
