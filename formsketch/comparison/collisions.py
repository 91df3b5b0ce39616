"""Does the wire of one form run into itself where that of another does not?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation

# Pieces of the wire that meet are two places on it when the way along is this much longer than across.
_ALONG_TO_ACROSS = 1.5
# Two meetings are the same one when they lie this near along the wire, as a share of its length.
_SAME_SHARE = 0.04


def new_meetings(evaluation: Evaluation, before: Evaluation) -> int:
    """How many places along the wire touch or cross another place that did not in the form `before`.

    Edge to edge in plan. Ends are left out: an eye is meant to close.
    """
    now, then = _meetings(evaluation), _meetings(before)
    if not len(now):
        return 0
    if len(then):
        near = np.abs(now[:, None, :] - then[None, :, :]) <= _SAME_SHARE
        now = now[~np.any(np.all(near, axis=2), axis=1)]
    count = 0
    while len(now):
        count += 1
        now = now[np.any(np.abs(now - now[0]) > _SAME_SHARE, axis=1)]
    return count


def _meetings(evaluation: Evaluation) -> NDArray[np.float64]:
    """Where the spans' wire meets itself: two places as shares of the wire's length, shape (meetings, 2)."""
    outline, spans = evaluation.outline, evaluation.chain.spans
    begin, end, part = outline.piece_bounds
    pairs = outline.touching
    pairs = pairs[(pairs < len(begin)).all(axis=1) & (pairs[:, 1] > pairs[:, 0] + 1)]
    pairs = pairs[((part[pairs] >= spans.start) & (part[pairs] < spans.stop)).all(axis=1)]
    run = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(outline.trace.z_mm)))))
    half = outline.plan_width_mm / 2
    first, second = pairs[:, 0], pairs[:, 1]
    across = half[end[first]] + half[begin[second]]
    middles = (run[begin] + run[end]) / 2
    facing = middles[second] - middles[first] > _ALONG_TO_ACROSS * across
    return np.asarray(middles[pairs[facing]] / run[-1])
