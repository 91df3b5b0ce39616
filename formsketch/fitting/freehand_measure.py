"""How far a stroke and a chain of spans are from one another, both ways, in tolerances."""

from __future__ import annotations

import numpy as np

from formsketch.fitting.freehand_chain import Links, place
from formsketch.fitting.freehand_stroke import Stroke, outermost
from formsketch.geometry.chain import FloatArray, IntArray
from formsketch.geometry.spans import ComplexArray
from formsketch.values import Result

# Straight pieces between samples of the chain leave it by no more than this, and are no longer than that.
_CHORD_ERROR, _LONGEST_CHORD = 0.004, 1.5
_MOST_CHORDS_PER_SPAN = 4000
# The nearest piece is looked for among this many on either side of where it should be.
_LOOKED_AT = 6
_MANY_POINTS = 1200


class Measure(Result, frozen=True):
    """A stroke to be measured against: samples `points` at places `at` along it, and the line through it."""

    points: ComplexArray
    at: FloatArray
    line: ComplexArray
    line_at: FloatArray

    def deviation(self, links: Links, stroke_at: FloatArray, chain_at: FloatArray) -> float:
        """Greatest distance from the stroke's points to the chain and from the chain to the stroke's line.

        `chain_at` are places along the chain that answer to the increasing places `stroke_at` of the stroke;
        points are compared with what is near the answering place, so that a crossing hides nothing.
        """
        chain_at = np.maximum.accumulate(chain_at)
        samples, samples_at = _sampled(links)
        there = _to_line(self.points, np.interp(self.at, stroke_at, chain_at), samples, samples_at)
        answer = np.interp(samples_at, chain_at, stroke_at)
        back = _to_line(samples, answer, self.line, self.line_at)
        return float(max(there.max(), back.max()))


def measure_of(stroke: Stroke, exact: bool = False) -> Measure:
    """All that was drawn; unless exact, of very many samples only those furthest to either side."""
    points, at = stroke.drawn
    if not exact and len(points) > _MANY_POINTS:
        points, at = outermost(stroke, _MANY_POINTS // 2)
    return Measure(points, at, *stroke.line)


def _sampled(links: Links) -> tuple[ComplexArray, FloatArray]:
    turning = np.abs(links.turn) + np.abs(links.skew)
    needed = np.maximum(np.sqrt(turning * links.length / (8 * _CHORD_ERROR)), links.length / _LONGEST_CHORD)
    chords = np.clip(np.ceil(needed), 1, _MOST_CHORDS_PER_SPAN).astype(np.int64)
    first = np.concatenate(([0], np.cumsum(chords)))
    span = np.repeat(np.arange(links.count), chords)
    u = (np.arange(first[-1]) - first[span]) / chords[span]
    span, u = np.append(span, links.count - 1), np.append(u, 1.0)
    return place(links, span, u).z, links.marks_at[span] + u * links.length[span]


def _to_line(points: ComplexArray, at: FloatArray, line: ComplexArray, line_at: FloatArray) -> FloatArray:
    """Distance of each point to the nearest piece of a line near the place where it should be."""
    pieces: IntArray = np.arange(-_LOOKED_AT, _LOOKED_AT + 1)[:, None] + np.searchsorted(line_at, at) - 1
    pieces = np.clip(pieces, 0, len(line) - 2)
    begin, way = line[:-1], np.diff(line)
    square = np.maximum(way.real**2 + way.imag**2, 1e-30)
    gap = points - begin[pieces]
    way = way[pieces]
    along = np.clip((gap.real * way.real + gap.imag * way.imag) / square[pieces], 0.0, 1.0)
    return np.asarray(np.abs(gap - along * way).min(axis=0))
