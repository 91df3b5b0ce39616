"""A stroke of many spans followed a few at a time, so that the work grows with its length and no faster.

Each section begins in the pose in which the one before ended, and is fitted some way beyond what is kept of
it, so that it ends well. Lengths are in tolerances.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from msgspec.structs import replace

from formsketch.fitting.freehand_chain import Links
from formsketch.fitting.freehand_intervals import SPIRAL
from formsketch.fitting.freehand_marks import Interval
from formsketch.fitting.freehand_refine import refined, unrefined
from formsketch.fitting.freehand_search import MOST_STRAIN, Search, links_of
from formsketch.fitting.freehand_target import PLACE_NUMBERS, POSE_NUMBERS, Refined
from formsketch.geometry.chain import FloatArray
from formsketch.values import Result

# So many spans are fitted at once, and so many of these are only looked at.
_SPANS, _LOOKED_AHEAD = 9, 2
_MOST_HALVINGS = 4
# Between the points that are looked at a chain may be a little further away.
_WITHIN = (0.88, 0.75)
# What is left of an interval, if it is a smaller share than this, goes to the next.
_LEAST_LEFT = 0.3


class _Section(Result, frozen=True):
    """A chain for part of a stroke: its intervals, its spans, and places along both that answer."""

    intervals: list[Interval]
    links: Links
    stroke_at: FloatArray
    chain_at: FloatArray


def followed(search: Search) -> Refined | None:
    """A chain that keeps within the tolerance, section by section; None where none is found."""
    plain, flexible = ([i for p in search.pieces for i in p.likely(kind)] for kind in (True, False))
    for within in _WITHIN:
        found = _followed(replace(search, target=replace(search.target, within=within)), plain, flexible)
        if found is not None and found.keeps:
            return found
    return None


def _followed(search: Search, plain: list[Interval], flexible: list[Interval]) -> Refined | None:
    kept: list[_Section] = []
    begun, end = 0, len(search.stroke.path) - 1
    while begun < end:
        before = kept[-1].links if kept else None
        section = _section(search, _from(search, plain, begun), before, 0)
        section = section or _section(search, _from(search, flexible, begun), before, _MOST_HALVINGS)
        if section is None:
            return None
        begun = section.intervals[-1].last
        if begun < end:
            section, begun = _shortened(search, section)
        kept.append(section)
    links, stroke_at, chain_at = _joined(kept)
    return search.measured(unrefined(links, search.target, np.interp(search.at, stroke_at, chain_at)))


def _from(search: Search, intervals: Sequence[Interval], begun: int) -> list[Interval]:
    """The next intervals from a path index on."""
    ahead = [interval for interval in intervals if interval.last > begun]
    if len(ahead) > 1 and ahead[1].first not in search.stroke.sharp:
        left, whole = ahead[0].last - begun, ahead[0].last - ahead[0].first
        ahead = ahead[left < _LEAST_LEFT * whole :]
    return [ahead[0]._replace(first=begun), *ahead[1:_SPANS]]


def _section(
    search: Search, intervals: list[Interval], before: Links | None, halvings: int
) -> _Section | None:
    """A chain for some intervals that begins where another ends, halving those it misses."""
    for _ in range(halvings + 1):
        links, strain = links_of(search, intervals)
        numbers = 0
        if before is not None:
            links, numbers = _set_on(links, before, intervals[0].first in search.stroke.sharp)
        if strain > MOST_STRAIN and not halvings:
            return None
        begin, end = (search.stroke.step * index for index in (intervals[0].first, intervals[-1].last))
        inside = (search.at > begin) & (search.at < end)
        ends = links.start, search.stroke.smooth[intervals[-1].last]
        points = np.concatenate((ends[:1], search.target.points[inside], ends[1:]))
        at = np.concatenate(([begin], search.at[inside], [end]))
        found = refined(links, replace(search.target, points=points, fixed=numbers), at - begin)
        if found.worst <= search.target.within:
            return _Section(intervals, found.links, at, np.maximum.accumulate(found.at))
        if search.target.effort.left < 0:
            return None
        missed = at[np.abs(found.across) > search.target.within] / search.stroke.step
        intervals = _halved(intervals, missed)
    return None


def _set_on(links: Links, before: Links, sharp: bool) -> tuple[Links, int]:
    """The chain moved to where another ends, and turned as it ends there unless the stroke bends sharply."""
    end = before.points_at_marks[-1]
    if sharp:
        return replace(links, start=complex(end)), PLACE_NUMBERS
    turn = links.turn.copy()
    heading = before.heading_to + float(np.angle(np.exp(1j * (links.heading - before.heading_to))))
    turn[0] += (heading - before.heading_to) * (links.turns[0])
    return replace(links, start=complex(end), heading=before.heading_to, turn=turn), POSE_NUMBERS


def _halved(intervals: Sequence[Interval], missed: FloatArray) -> list[Interval]:
    """Spirals for the intervals, two for those with places that are missed."""
    marks = [intervals[0].first]
    for first, last, _ in intervals:
        if last - first > 1 and ((first < missed) & (missed < last)).any():
            marks.append((first + last) // 2)
        marks.append(last)
    return [Interval(a, b, SPIRAL) for a, b in pairwise(marks)]


def _shortened(search: Search, section: _Section) -> tuple[_Section, int]:
    """The section without what was only looked at, and the path index where it ends."""
    links, count = section.links, max(1, section.links.count - _LOOKED_AHEAD)
    if section.intervals[count].first in search.stroke.sharp:
        begun = section.intervals[count].first
    else:
        place = float(np.interp(links.marks_at[count], section.chain_at, section.stroke_at))
        begun = max(round(place / search.stroke.step), section.intervals[0].first + 1)
    inside = section.chain_at <= links.marks_at[count]
    return (
        _Section(
            section.intervals[:count],
            links.part(0, count),
            section.stroke_at[inside],
            section.chain_at[inside],
        ),
        begun,
    )


def _joined(sections: Sequence[_Section]) -> tuple[Links, FloatArray, FloatArray]:
    """One chain of the sections, and places along the stroke and along the chain that answer each other."""
    links, chain_at = sections[0].links, [sections[0].chain_at]
    for section in sections[1:]:
        chain_at.append(section.chain_at + links.marks_at[-1])
        links = links.followed_by(section.links)
    return links, np.concatenate([section.stroke_at for section in sections]), np.concatenate(chain_at)
