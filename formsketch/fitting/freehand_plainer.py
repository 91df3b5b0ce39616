"""A chain made plainer while it keeps within the tolerance, then closed and moved to the tubes on the bench.

Each change is tried on the whole chain, all other numbers following; what leaves the tolerance is not done.
Lengths are in tolerances.
"""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from formsketch.fitting.freehand_chain import BoolArray, Links
from formsketch.fitting.freehand_corners import SHARP_LEAST_RAD, SHARP_MOST_RADIUS
from formsketch.fitting.freehand_refine import polished, refined
from formsketch.fitting.freehand_search import Search
from formsketch.fitting.freehand_target import Refined, Target
from formsketch.geometry.chain import FloatArray, IntArray

# A skew moves the middle of a span by this share of skew x length at the least, a turn by this of turn x
# length (Chebyshev: a cubic's 1/96 and a parabola's 1/16); what moves further than that is no candidate.
_SKEW_MOVES, _TURN_MOVES, _MOST_MOVED = 1 / 96, 1 / 16, 1.3
# A sharp bend that has come out flatter than this may be no bend.
_FLAT_RAD = SHARP_LEAST_RAD / 2
_MOST_SHARPENED = 4
_MOST_TUBE_TRIALS = 8
# Ends nearer than this are one place.
_CLOSED = 1e-6
_PLAINER_WORK = 8.0


def plainest(search: Search, found: Refined) -> Refined:
    """As many arcs for spirals, then lines for arcs, as the tolerance allows; sharp bends judged again."""
    search.target.effort.grant(_PLAINER_WORK)
    found = _sharpened(search, found)
    found = _flattened(search, found)
    found = _eased(search, found, skews=True)
    found = _eased(search, found, skews=False)
    return settled(search, found)


def settled(search: Search, found: Refined, target: Target | None = None) -> Refined:
    """Least squares to the last digit, where that keeps within the tolerance too."""
    if found.squeezed:
        return found
    fine = search.measured(polished(found, target or search.target))
    return fine if fine.keeps else found


def _tried(search: Search, links: Links, found: Refined) -> Refined | None:
    tried = search.refined(links, found.at * (links.marks_at[-1] / found.links.marks_at[-1]))
    return tried if tried.keeps else None


def _eased(search: Search, found: Refined, skews: bool) -> Refined:
    """Skews taken away, or turns of arcs, from the least on: as many as can be, by halving."""
    links = found.links
    moved = links.length * (np.abs(links.skew) * _SKEW_MOVES if skews else np.abs(links.turn) * _TURN_MOVES)
    free = links.skews if skews else links.turns & ~links.skews
    order = np.argsort(np.where(free, moved, np.inf), kind="stable")
    can, cannot = 0, int(np.sum(free & (moved <= _MOST_MOVED))) + 1
    number = cannot - 1
    while can + 1 < cannot and search.target.effort.spare > 0:
        eased = _without(links, order[:number], skews)
        tried = _tried(search, eased, found)
        if tried is None:
            cannot = number
        else:
            can, best = number, tried
        number = (can + cannot) // 2
    return best if can else found


def _without(links: Links, spans: IntArray, skews: bool) -> Links:
    keep: BoolArray = np.ones(links.count, dtype=bool)
    keep[spans] = False
    if skews:
        return replace(links, skews=links.skews & keep, skew=np.where(keep, links.skew, 0.0))
    return replace(links, turns=links.turns & keep, turn=np.where(keep, links.turn, 0.0))


def _flattened(search: Search, found: Refined) -> Refined:
    """Sharp bends that came out flat taken away."""
    links = found.links
    flat = links.bends & (np.abs(links.corner) < _FLAT_RAD)
    if not flat.any():
        return found
    smooth = replace(links, bends=links.bends & ~flat, corner=np.where(flat, 0.0, links.corner))
    return _tried(search, smooth, found) or found


def _sharpened(search: Search, found: Refined) -> Refined:
    """Arcs as tight as a sharp bend made one: a span less."""
    for _ in range(_MOST_SHARPENED):
        links = found.links
        turned = np.maximum(np.abs(links.turn), 1e-9)
        tight = (links.length / turned <= SHARP_MOST_RADIUS) & (turned >= SHARP_LEAST_RAD) & (turned < np.pi)
        tight[[0, -1]] = False
        if not tight.any():
            break
        tried = _tried(search, _bent_at(links, int(np.argmax(tight))), found)
        if tried is None:
            break
        found = tried
    return found


def _bent_at(links: Links, span: int) -> Links:
    """The span taken out, its length given to its neighbours, its turn to a sharp bend between them."""
    length = links.length.copy()
    length[[span - 1, span + 1]] += length[span] / 2
    corner = links.corner.copy()
    corner[span + 1] += links.turn[span] + corner[span]
    bends = links.bends.copy()
    bends[span + 1] = True
    return replace(links, length=length, corner=corner, bends=bends).without(span)


def closed(search: Search, found: Refined) -> tuple[Refined, Target]:
    """The chain with its end on its start, smoothly if it is nearly so, and a target that asks for this.

    Where that leaves the tolerance the chain stays open.
    """
    turned = found.links.heading_to - found.links.heading
    smoothly = abs(turned - 2 * np.pi * round(turned / (2 * np.pi))) < SHARP_LEAST_RAD
    target = replace(search.target, closes=True, smoothly=smoothly)
    tried = search.measured(refined(found.links, target, found.at, drifted=False))
    if not tried.keeps:
        return found, search.target
    tried = settled(search, tried, target)
    ends = tried.links.points_at_marks
    return (tried, target) if abs(ends[-1] - ends[0]) <= _CLOSED else (found, search.target)


def on_tubes(search: Search, found: Refined, radii: FloatArray, target: Target) -> Refined:
    """Arcs moved to the nearest of these centreline radii: all that can be, those that move least first."""
    links = found.links
    arcs = np.flatnonzero(links.turns & ~links.skews)
    if not len(arcs) or not len(radii):
        return found
    curvature = links.turn[arcs] / links.length[arcs]
    nearest = radii[np.argmin(np.abs(radii - 1 / np.abs(curvature[:, None])), axis=1)]
    wanted = np.sign(curvature) / nearest
    order = np.argsort(np.abs(wanted - curvature) * links.length[arcs] ** 2, kind="stable")
    number = len(order)
    for _ in range(_MOST_TUBE_TRIALS):
        chosen, held, turns = order[:number], links.held.copy(), links.turns.copy()
        held[arcs[chosen]], turns[arcs[chosen]] = wanted[chosen], False
        turn = np.where(held != 0, held * links.length, links.turn)
        moved = replace(links, turns=turns, turn=turn, held=held)
        tried = search.measured(refined(moved, target, found.at, drifted=False))
        if tried.keeps:
            return settled(search, tried, target)
        number = number - 1 if len(order) <= _MOST_TUBE_TRIALS else number * 3 // 4
        if not number:
            break
    return found
