"""The spread of the maker's own hammer from a whole piece: wire cut for it, and how long it came out."""

from __future__ import annotations

import math
from collections.abc import Callable

from formsketch.bench.reading import reading_half_band
from formsketch.design.model import Design
from formsketch.errors import InputError
from formsketch.fitting.calibration import Calibration
from formsketch.forging.ends import ends_of
from formsketch.forging.forged import forge_flares
from formsketch.geometry.chain import chain_of
from formsketch.units import length_text

PIECE_READS_TO_MM = 0.5  # common practice, no source: a bent wire followed with a thread
# Beyond this band, of the 0 to 1 there is, the piece has told nothing; judgement.
_NOTHING_TOLD = 0.5
_BISECTIONS = 45  # to 1e-13 of the 0 to 1 there is


def calibrate_piece(
    design: Design, used_mm: float, finished_mm: float, reads_to_mm: float = PIECE_READS_TO_MM
) -> Calibration:
    """The spread at which the design's flares make `finished_mm` of finished wire from `used_mm` of it.

    used_mm: straight wire cut, both ends included. finished_mm: along the middle of the finished wire, ends
    not counted. Both are good to +-`reads_to_mm`, which gives the band. The stock is taken to lie in the
    spans as the design has it. Raises InputError, saying why, where no spread from 0 to 1 fits and where
    the piece is hammered too little to tell.
    """
    for what, length_mm in (("the wire used", used_mm), ("the finished length", finished_mm)):
        if not 0 < length_mm < math.inf:
            raise InputError(f"A length above 0 was expected for {what}, not {length_mm:g} mm.")
    if not 0 <= reads_to_mm < math.inf:
        raise InputError(f"What the lengths read to was expected to be 0 mm or more, not {reads_to_mm:g}.")
    fraction_at, ends_mm = _stock_fraction(design)
    if used_mm <= ends_mm:
        raise InputError(
            f"The ends alone take {length_text(ends_mm)}; more wire than that was expected, "
            f"not {length_text(used_mm)}."
        )
    fraction = (used_mm - ends_mm) / finished_mm
    least, most = fraction_at(0.0), fraction_at(1.0)
    half = reading_half_band((1 / finished_mm, fraction / finished_mm), reads_to_mm)
    if most - least <= 2 * half:
        raise InputError(
            "This piece is hammered too little to tell: the lengths would have to be read more closely "
            f"than to ± {reads_to_mm:g} mm."
        )
    if not least <= fraction <= most:
        raise InputError(_no_fit(used_mm, finished_mm, ends_mm, least, most))
    low, spread, high = (
        _solve(fraction_at, min(max(each, least), most))
        for each in (fraction - half, fraction, fraction + half)
    )
    if high - low > _NOTHING_TOLD:
        raise InputError(
            f"This piece is hammered too little to tell: any spread from {low:.2f} to {high:.2f} would do."
        )
    how = (
        f"a whole piece: {length_text(finished_mm)} finished from {length_text(used_mm)} of wire, read to "
        f"± {reads_to_mm:g} mm"
    )
    return Calibration(spread, low, high, None, (), how)


def _stock_fraction(design: Design) -> tuple[Callable[[float], float], float]:
    """Stock length over finished length of all spans, by the spread; and the wire in both ends, mm."""
    d, form = design.wire.diameter_mm, design.form
    start, finish = ends_of(design)
    chain = chain_of(form, d, start.parts, finish.parts)
    length, flare = chain.length_mm[chain.spans], chain.flare[chain.spans]

    def fraction_at(spread: float) -> float:
        return float(length @ forge_flares(chain.flares, d, spread).stock_fraction[flare] / length.sum())

    return fraction_at, start.stock_mm + finish.stock_mm


def _no_fit(used_mm: float, finished_mm: float, ends_mm: float, least: float, most: float) -> str:
    stock_mm = used_mm - ends_mm
    shortest, longest = length_text(stock_mm / most), length_text(stock_mm / least)
    return (
        f"No spread from 0 to 1 fits: {length_text(used_mm)} of wire makes {shortest} (all sideways) to "
        f"{longest} (all lengthwise) of finished length, not {length_text(finished_mm)}."
    )


def _solve(fraction_at: Callable[[float], float], wanted: float) -> float:
    """The spread of this stock fraction, which rises with the spread."""
    low, high = 0.0, 1.0
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        if fraction_at(middle) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2
