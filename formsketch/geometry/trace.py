"""The centreline of a whole form as samples, as many as the curve and its edges need and no more."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formsketch.geometry.chain import Chain, FloatArray, IntArray
from formsketch.geometry.remembered import Remembered
from formsketch.geometry.spans import intervals_for_turning, unit_span
from formsketch.values import Result

# The straight line between neighbouring samples leaves the true edge by no more than this.
CHORD_ERROR_MM = 0.003
MOST_INTERVALS_PER_PART = 5_000
# Where half the plan width reaches this share of the radius the ribbon folds over its inner edge.
FOLDING_HALF_WIDTH_TO_RADIUS, MOST_TURN_PER_FOLDED_QUAD_RAD, MOST_FOLDED_QUADS = 0.98, 0.05, 400
# How a form is laid level: marks this far apart are its far ends; a form this much longer than high has a
# long axis; marks nearer than this share of the wire's length make it closed.
FAR_ENDS_TO_EXTENT, LEAST_ELONGATION, CLOSED_TO_LENGTH = 0.75, 1.15, 1e-3
# Wire seen this short is seen from its end.
STANDING = 1e-12
_LAID_OUT = Remembered(most_bytes=16_000_000)


class Trace(Result, frozen=True):
    """Samples along the wire, shape (samples,); part k owns samples first[k] to first[k + 1] - 1.

    Both marks of a part are sampled, so that a mark between two parts appears twice, with the direction
    before and after a sharp bend. `z_mm` is x + iy with y up; the start mark lies at 0 and the first span
    begins along +x unless the trace was placed elsewhere.
    """

    part: IntArray
    u: FloatArray
    z_mm: NDArray[np.complex128]
    direction: NDArray[np.complex128]
    first: IntArray

    def placed(self, offset_mm: complex, angle_rad: float) -> Trace:
        """The same trace turned about the start mark by an angle and then moved."""
        turn = complex(np.cos(angle_rad), np.sin(angle_rad))
        return Trace(self.part, self.u, offset_mm + turn * self.z_mm, turn * self.direction, self.first)

    def beside(self, left_mm: FloatArray) -> Trace:
        """The same samples moved square to the wire, shape (samples,), left positive."""
        return Trace(self.part, self.u, self.z_mm + 1j * left_mm * self.direction, self.direction, self.first)

    @property
    def mark_samples(self) -> IntArray:
        """The sample at each mark from the first part's beginning to the last part's end; (parts + 1,)."""
        return np.append(self.first[:-1], self.first[-1] - 1)


def trace_chain(chain: Chain, intervals: IntArray) -> Trace:
    """Sample each part at this many equal intervals (shape (parts,), at least 1).

    Each part is laid out by itself, once for all that turn alike, and put in its place as it is.
    """
    samples = intervals + 1
    first = np.concatenate(([0], np.cumsum(samples)))
    part = np.repeat(np.arange(len(intervals)), samples)
    u = _equal_steps(first, part, intervals)
    like = np.stack((chain.turn_rad, chain.skew_rad, intervals.astype(float)), axis=1)
    direction, own = np.concatenate(_LAID_OUT.all_of(like, _laid_out), axis=1)
    begins = np.exp(1j * chain.heading_rad)
    scale = chain.length_mm * begins
    ends = np.cumsum(scale * own[first[1:] - 1])
    at = np.concatenate(([0j], ends))
    at -= at[chain.spans.start]
    own *= np.repeat(scale, samples)
    own += np.repeat(at[:-1], samples)
    # A mark is at one place, whichever part it is taken to be of.
    own[first[1:] - 1] = at[1:]
    direction *= np.repeat(begins, samples)
    trace = Trace(part, u, own, direction, first)
    _foreshorten_ends(trace, chain)
    return trace


def _foreshorten_ends(trace: Trace, chain: Chain) -> None:
    """Foreshorten what is twisted out of the plane, about the direction in which the wire goes into it."""
    twisted = np.flatnonzero(chain.foreshortening != 1.0)
    for parts in (twisted[twisted < chain.spans.start], twisted[twisted >= chain.spans.stop]):
        if not len(parts):
            continue
        own = slice(int(trace.first[parts[0]]), int(trace.first[parts[-1] + 1]))
        # The start end is walked inward: its twist begins where it reaches the form.
        pivot = own.start if parts[0] >= chain.spans.stop else own.stop - 1
        at, along = complex(trace.z_mm[pivot]), complex(trace.direction[pivot])
        flat = (trace.z_mm[own] - at) / along
        trace.z_mm[own] = at + along * (flat.real + 1j * chain.foreshortening[parts[0]] * flat.imag)
        way = trace.direction[own] / along
        seen = way.real + 1j * chain.foreshortening[parts[0]] * way.imag
        # Where the wire comes straight up it has no direction in plan; any across it will do.
        seen[np.abs(seen) < STANDING] = 1j
        trace.direction[own] = along * seen / np.abs(seen)


def _equal_steps(first: IntArray, part: IntArray, intervals: IntArray) -> FloatArray:
    step = 1.0 / intervals
    u = (np.arange(first[-1]) - first[part]) * step[part]
    u[first[1:] - 1] = 1.0
    return np.asarray(u)


def _laid_out(like: FloatArray) -> Iterator[NDArray[np.complex128]]:
    """Directions and places, shape (2, intervals + 1), of spans of length 1 that begin at 0 along +x.

    `like` has rows of turn, skew and intervals: all that they depend on.
    """
    turn, skew, intervals = like[:, 0], like[:, 1], like[:, 2].astype(np.int64)
    first = np.concatenate(([0], np.cumsum(intervals + 1)))
    part = np.repeat(np.arange(len(like)), intervals + 1)
    u = _equal_steps(first, part, intervals)
    laid = unit_span(u, (1.0 / intervals)[part], turn[part], skew[part])
    moves = np.concatenate(([0j], laid[1, :-1]))
    # Back to 0 where a span begins, so that no place carries what rounding left of other spans.
    begin, last = first[:-1], first[1:] - 1
    moves[begin] = 0.0
    moves[begin[1:]] = -np.add.reduceat(moves, begin)[:-1]
    laid[1] = np.cumsum(moves)
    laid[1] -= np.repeat(laid[1, begin], intervals + 1)
    return (laid[:, b : e + 1] for b, e in zip(begin, last, strict=True))


def intervals_needed(
    chain: Chain,
    plan_width_mm: FloatArray,
    swell_mm: FloatArray,
    ease: FloatArray,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> IntArray:
    """Intervals each part needs so that neither edge leaves its chords by more than the allowed error.

    `plan_width_mm` is the greatest plan width in each part, `swell_mm` how much the plan width changes
    along it, `ease` the shorter of the two fractions of the length over which it does so (1 for none).
    All of shape (parts,). Counts are even, so that the middle of a part is always a sample.
    """
    turning = chain.sharpest_per_mm * chain.length_mm
    outer = turning * (chain.length_mm + turning * plan_width_mm / 2)
    for_curve = np.sqrt(outer / (8 * chord_error_mm))
    for_swell = np.pi / ease * np.sqrt(swell_mm / (32 * chord_error_mm))
    for_turn = intervals_for_turning(chain.turn_rad, chain.skew_rad)
    # A ribbon that folds is covered by hulls of its little quads, which must be little.
    folding = plan_width_mm / 2 * chain.sharpest_per_mm >= FOLDING_HALF_WIDTH_TO_RADIUS
    folding |= chain.foreshortening != 1.0
    for_fold = np.where(folding, np.minimum(turning / MOST_TURN_PER_FOLDED_QUAD_RAD, MOST_FOLDED_QUADS), 0.0)
    # Both errors fall with the square of the count and add up.
    needed = np.maximum(np.hypot(for_curve, for_swell), np.maximum(for_turn, for_fold))
    even = 2 * np.ceil(needed / 2)
    return np.minimum(even, MOST_INTERVALS_PER_PART).astype(np.int64)


def level_angle_rad(trace: Trace, chain: Chain) -> float:
    """The angle that lays the form level, start to the left.

    Start and finish mark come to lie on one horizontal line where they are the form's far ends; otherwise
    its long axis does, if it has one; otherwise the marks again; and a round form that closes on itself is
    left as it begins.
    """
    begin, end = trace.first[chain.spans.start], trace.first[chain.spans.stop] - 1
    z = trace.z_mm[begin : end + 1]
    across = z[-1] - z[0]
    axis, elongation = _long_axis(z)
    extent = float(np.ptp((z * np.conj(axis)).real))
    if abs(across) >= FAR_ENDS_TO_EXTENT * extent:
        return float(-np.angle(across))
    if elongation >= LEAST_ELONGATION:
        # Either way along the axis would do: the start goes to the left.
        return float(-np.angle(axis if (across * np.conj(axis)).real >= -1e-9 * extent else -axis))
    closed = abs(across) < CLOSED_TO_LENGTH * float(np.sum(chain.length_mm[chain.spans]))
    return 0.0 if closed else float(-np.angle(across))


def _long_axis(z_mm: NDArray[np.complex128]) -> tuple[complex, float]:
    """Direction in which the centreline reaches furthest, and how many times further than square to it."""
    middles, shares = (z_mm[1:] + z_mm[:-1]) / 2, np.abs(z_mm[1:] - z_mm[:-1])
    shares /= np.sum(shares)
    # Sums of products: a matrix product would wake threads that spin for longer than it takes.
    from_centre = middles - np.sum(shares * middles)
    # The second moments as one complex number: its angle is twice that of the axis.
    both = np.sum(shares * (from_centre.real**2 + from_centre.imag**2))
    difference = np.sum(shares * from_centre * from_centre)
    least = max(float(both - abs(difference)), 1e-12 * float(both))
    return complex(np.exp(0.5j * np.angle(difference))), float(np.sqrt((both + abs(difference)) / least))
