"""The best small step when every distance changes linearly: a linear programme of a few unknowns."""

from __future__ import annotations

import numpy as np

from formsketch.geometry.chain import FloatArray

_MOST_PIVOTS, _SLACK = 120, 1e-10


def best_step(rows: FloatArray, limits: FloatArray, reach: float) -> FloatArray | None:
    """The x that makes its last entry largest with rows @ x <= limits and |x| <= reach for all others.

    `rows` is of shape (limits, unknowns), the last column not negative. The last entry is bounded above by
    the largest limit plus what the others can add. Dual simplex from the box, at most 120 pivots; None when
    they do not suffice or the rows are degenerate.
    """
    unknowns = rows.shape[1]
    eye = np.eye(unknowns)
    top = float(np.max(np.abs(limits))) + 2 * unknowns * reach
    box = np.concatenate((eye, -eye[:-1]))
    box_limits = np.full(len(box), reach)
    box_limits[unknowns - 1] = top
    all_rows, all_limits = np.concatenate((box, rows)), np.concatenate((box_limits, limits))
    held, shares = list(range(unknowns)), eye[-1].copy()
    for _ in range(_MOST_PIVOTS):
        corner = all_rows[held]
        try:
            x = np.linalg.solve(corner, all_limits[held])
            over = all_rows @ x - all_limits
            entering = int(np.argmax(over))
            if over[entering] <= _SLACK:
                return np.asarray(x)
            mix = np.linalg.solve(corner.T, all_rows[entering])
        except np.linalg.LinAlgError:
            return None
        falling = mix > _SLACK
        if not falling.any():
            return None
        ratios = np.where(falling, shares / np.where(falling, mix, 1.0), np.inf)
        least = float(ratios.min())
        # Of equal ones the steepest, which keeps the corner well shaped.
        leaving = int(np.argmax(np.where(ratios <= least + _SLACK, mix, -np.inf)))
        shares = np.maximum(shares - least * mix, 0.0)
        shares[leaving] = least
        held[leaving] = entering
    return None
