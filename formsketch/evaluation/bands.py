"""How far the marks on the straight wire may lie from where they are, by the plausible range of spread."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]


def marks_band_mm(evaluation: Evaluation) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest place of each span's beginning, from the start of the cut wire; shape (spans,).

    Every hammered span before a mark adds to what is not known of it, so the band grows along the wire.
    """
    chain, spans = evaluation.chain, evaluation.spans
    part = chain.spans
    places = [spans.stock_from_mm]
    for forged in evaluation.flares_at_band:
        stock = chain.length_mm[part] * forged.stock_fraction[chain.flare[part]]
        places.append(evaluation.ends[0].stock_mm + np.concatenate(([0.0], np.cumsum(stock)[:-1])))
    return np.min(places, axis=0), np.max(places, axis=0)


def widths_band_mm(evaluation: Evaluation) -> tuple[FloatArray, FloatArray]:
    """Least and greatest hammered width of each span by plausible spread; shape (spans,)."""
    chain = evaluation.chain
    flare = chain.flare[chain.spans]
    widths = [evaluation.spans.widest_mm, *(forged.widest_mm[flare] for forged in evaluation.flares_at_band)]
    return np.min(widths, axis=0), np.max(widths, axis=0)


def hammer_words(evaluation: Evaluation) -> str:
    """What width, cut length and marks rest on, in two words."""
    return "starting value" if evaluation.design.hammer.low is None else "your hammer"


def band_rests_on(evaluation: Evaluation) -> str:
    """What the band beside a width, a cut length or a mark is, in one sentence."""
    low, high, basis = evaluation.spread_band
    return (
        f"The band is that of the spread, {low:.2f} to {high:.2f}: {hammer_words(evaluation)}, {basis}. "
        "Bench, Own hammer measures yours."
    )
