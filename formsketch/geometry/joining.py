"""The one span that joins two poses, and arcs through a pose and a point.

G1 Hermite interpolation by a curve of linear curvature: Bertolazzi & Frego, 'G1 fitting with clothoids',
Math. Meth. Appl. Sci. 38 (2015) 881-897. Angles in radians, lengths in mm.
"""

from __future__ import annotations

import numpy as np

from formsketch.errors import EditRefused
from formsketch.geometry.spans import GAUSS_NODES, GAUSS_WEIGHTS, FloatArray, intervals_for_turning
from formsketch.values import Value

SHORTEST_JOIN_MM = 0.05
_MOST_STEPS = 40
_MOST_SKEW_STEP_RAD = 2.0
_MOST_SKEW_RAD = 100.0
_ACROSS_TOLERANCE = 1e-14
_ACCEPTED_ACROSS = 1e-11
# A span whose chord is less than this part of its length is a coil, not a join.
_LEAST_ADVANCE = 1e-3


class SpanShape(Value, frozen=True):
    """Length in mm, turn and skew in radians of a span."""

    length_mm: float
    turn_rad: float
    skew_rad: float


def join_poses(
    chord_mm: complex, heading_from_rad: float, heading_to_rad: float, like: SpanShape | None = None
) -> SpanShape:
    """The span from the origin to `chord_mm` with these directions at its ends.

    Directions that differ by whole turns are the same pose: `like`, the span as it was, says which
    way round is meant; without it the span that turns least from the chord is taken. Raises
    `EditRefused` when the marks are closer than `SHORTEST_JOIN_MM` or no such span is found.
    """
    distance = abs(chord_mm)
    if not np.isfinite(distance) or distance < SHORTEST_JOIN_MM:
        raise EditRefused(
            f"Two marks cannot be closer than {SHORTEST_JOIN_MM:g} mm with one span between them."
        )
    towards = float(np.angle(chord_mm))
    phi_from = _wrapped(heading_from_rad - towards)
    phi_to = _wrapped(heading_to_rad - towards)
    turn = phi_to - phi_from
    # Nearly straight first, as the literature has it; the other two reach spans that go round further.
    guesses = [3 * (2 * phi + turn) for phi in (phi_from, phi_from - 2 * np.pi, phi_from + 2 * np.pi)]
    if like is not None:
        turn += 2 * np.pi * round((like.turn_rad - turn) / (2 * np.pi))
        guesses = [like.skew_rad, *(3 * (2 * phi_from + turn + 2 * np.pi * n) for n in (0, -1, 1, -2, 2))]
    for guess in guesses:
        skew = _solve_skew(phi_from, turn, guess)
        if skew is not None:
            along, _ = _along_and_across(phi_from, turn, skew)
            return SpanShape(distance / along, turn, skew)
    raise EditRefused("No single span joins these two marks in these directions.")


def arc_to(chord_mm: complex, like: SpanShape | None = None) -> SpanShape:
    """The arc of a circle that leaves the origin along +x and ends at `chord_mm`.

    `like` says how often it goes round. Raises `EditRefused` when the point is nearer than
    `SHORTEST_JOIN_MM` or straight behind.
    """
    distance = abs(chord_mm)
    if not np.isfinite(distance) or distance < SHORTEST_JOIN_MM:
        raise EditRefused(
            f"Two marks cannot be closer than {SHORTEST_JOIN_MM:g} mm with one span between them."
        )
    turn = 2 * float(np.angle(chord_mm))
    if like is not None:
        turn += 2 * np.pi * round((like.turn_rad - turn) / (2 * np.pi))
    if abs(turn) < 1e-12:
        return SpanShape(distance, 0.0, 0.0)
    reach = 2 * np.sin(turn / 2) / turn
    if abs(reach) < 1e-6:
        raise EditRefused("An arc cannot end straight behind where it begins.")
    return SpanShape(distance / abs(float(reach)), turn, 0.0)


def _wrapped(angle: float) -> float:
    return float((angle + np.pi) % (2 * np.pi) - np.pi)


def _solve_skew(phi: float, turn: float, guess: float) -> float | None:
    """Newton on the way across the chord; None when it does not settle on a span that goes forward."""
    skew = guess
    for _ in range(_MOST_STEPS):
        _, across, slope = _along_across_slope(phi, turn, skew)
        if slope == 0.0:
            return None
        step = max(-_MOST_SKEW_STEP_RAD, min(_MOST_SKEW_STEP_RAD, across / slope))
        skew -= step
        if abs(step) < _ACROSS_TOLERANCE * max(1.0, abs(skew)) or across == 0.0:
            break
    along, across = _along_and_across(phi, turn, skew)
    if abs(across) > _ACCEPTED_ACROSS or along < _LEAST_ADVANCE or abs(skew) > _MOST_SKEW_RAD:
        return None
    return float(skew)


def _nodes(turn: float, skew: float) -> tuple[FloatArray, FloatArray]:
    pieces = int(intervals_for_turning(turn, skew))
    u = ((np.arange(pieces)[:, None] + GAUSS_NODES) / pieces).ravel()
    return u, np.tile(GAUSS_WEIGHTS / pieces, pieces)


def _along_and_across(phi: float, turn: float, skew: float) -> tuple[float, float]:
    u, weights = _nodes(turn, skew)
    angle = phi + u * (turn + skew * (u - 1))
    return float(weights @ np.cos(angle)), float(weights @ np.sin(angle))


def _along_across_slope(phi: float, turn: float, skew: float) -> tuple[float, float, float]:
    u, weights = _nodes(turn, skew)
    angle = phi + u * (turn + skew * (u - 1))
    cos = np.cos(angle)
    along, across = float(weights @ cos), float(weights @ np.sin(angle))
    return along, across, float(weights @ (cos * u * (u - 1)))
