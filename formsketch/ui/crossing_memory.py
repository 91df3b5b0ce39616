"""Swaps of over and under kept with their crossings while the form is pulled about.

A design knows its crossings by their numbers along the wire. When one comes or goes, the numbers after it are
those of others: here each is known by where on the wire it lies, and the numbers are written anew.
"""

from __future__ import annotations

import copy

import numpy as np
from numpy.typing import NDArray

from formsketch.design.crossing_edits import with_swapped_crossings
from formsketch.design.model import Design
from formsketch.evaluation.evaluate import Evaluation
from formsketch.geometry.chain import Chain
from formsketch.values import Result

# A crossing is the same while neither of its places goes further than this from one showing to the next,
# in spans.
_SAME_WITHIN = 0.5
# Tells parts of the finish from those of the start.
_FINISH = 1_000
# What an evaluation holds that depends on what lies over.
_OF_CROSSINGS = ("crossings", "cautions", "proportion")


class _Known(Result, frozen=True):
    """Crossings by the two parts of the wire that meet there, arrays of shape (crossings, 2).

    `part` is a part as it is written (see `_written`), `share` how far along it. `number` is that of each
    crossing on the form shown, -1 for one that has gone; `swapped` whether it was swapped.
    """

    chain: Chain
    part: NDArray[np.int64]
    share: NDArray[np.float64]
    number: NDArray[np.int64]
    swapped: NDArray[np.bool_]

    @classmethod
    def of(cls, evaluation: Evaluation) -> _Known:
        part, share = _places(evaluation)
        numbers = np.arange(len(part))
        swapped = np.isin(numbers, evaluation.design.form.swapped_crossings)
        return cls(evaluation.chain, _written(evaluation.chain)[part], share, numbers, swapped)

    def followed(self, evaluation: Evaluation) -> _Known:
        """These crossings as they are on another form, those that have gone where they were last."""
        chain = evaluation.chain
        found, found_share = _places(evaluation)
        shown = np.flatnonzero(self.number >= 0)
        if _motifs(self.chain) != _motifs(chain) and len(shown) == len(found):
            # Marks were set or taken away, or the form was written otherwise: the wire lies as before.
            number = self.number
        else:
            number = _matched(_along(self.part, self.share, chain), found + found_share)
        seen = number >= 0
        new = np.setdiff1d(np.arange(len(found)), number)
        part, share = self.part.copy(), self.share.copy()
        part[seen], share[seen] = _written(chain)[found[number[seen]]], found_share[number[seen]]
        return _Known(
            chain,
            np.concatenate((part, _written(chain)[found[new]])),
            np.concatenate((share, found_share[new])),
            np.concatenate((number, new)),
            np.concatenate((self.swapped, np.zeros(len(new), dtype=bool))),
        )

    @property
    def swapped_numbers(self) -> tuple[int, ...]:
        return tuple(sorted(int(number) for number in self.number[self.swapped & (self.number >= 0)]))


class CrossingMemory:
    """Follows the crossings of what is shown. What is settled with a step is what a pull put back goes to."""

    def __init__(self) -> None:
        self._known: _Known | None = None
        self._settled: _Known | None = None

    def kept(self, evaluation: Evaluation, shown: Evaluation, step: Design) -> Evaluation:
        """The evaluation of a change about to be shown, its swaps at the crossings they were made at.

        `shown` is what is shown until now, `step` the design of the last step. A change of the swaps
        themselves is left as it is.
        """
        numbers = evaluation.design.form.swapped_crossings
        if numbers not in (shown.design.form.swapped_crossings, step.form.swapped_crossings):
            self._known = None
            return evaluation
        if self._known is None:
            if not shown.design.form.swapped_crossings:
                return evaluation
            self._known = _Known.of(shown)
        self._known = self._known.followed(evaluation)
        wanted = self._known.swapped_numbers
        return evaluation if wanted == numbers else _lent(evaluation, wanted)

    def settle(self) -> None:
        """What is shown is a step now."""
        self._settled = self._known

    def back(self) -> None:
        """The last step is shown again."""
        self._known = self._settled

    def forget(self) -> None:
        """Another form is shown, or the same read otherwise."""
        self._known = self._settled = None


def _lent(evaluation: Evaluation, swapped: tuple[int, ...]) -> Evaluation:
    """The same numbers for a form that lies over itself otherwise."""
    made = copy.copy(evaluation)
    for name in _OF_CROSSINGS:
        made.__dict__.pop(name, None)
    made.design = with_swapped_crossings(evaluation.design, swapped)
    return made


def _places(evaluation: Evaluation) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The parts that meet at each crossing and the share of each before it; both of shape (crossings, 2)."""
    at = np.array([crossing.places for crossing in evaluation.crossings]).reshape(-1, 2)
    trace = evaluation.own_trace
    sample = np.minimum(at.astype(np.int64), len(trace.u) - 1)
    part = trace.part[sample]
    # From the last sample of a part to the next part's first there is no way to go.
    following = np.minimum(sample + 1, trace.first[part + 1] - 1)
    share = trace.u[sample] + (at - sample) * (trace.u[following] - trace.u[sample])
    return part, np.asarray(share)


def _written(chain: Chain) -> NDArray[np.int64]:
    """Each part as one number that says run, repeat and place in the motif, or place in an end; (parts,)."""
    written = (chain.run << 40) + (chain.repeat << 20) + chain.index
    parts = np.arange(chain.part_count)
    written[: chain.spans.start] = parts[: chain.spans.start] - chain.spans.start
    written[chain.spans.stop :] = chain.spans.stop - parts[chain.spans.stop :] - _FINISH
    return np.asarray(written)


def _along(part: NDArray[np.int64], share: NDArray[np.float64], chain: Chain) -> NDArray[np.float64]:
    """Places on a chain in parts and shares of a part; infinitely far where it has no such part."""
    written = _written(chain)
    order = np.argsort(written)
    at = order[np.minimum(np.searchsorted(written, part, sorter=order), len(order) - 1)]
    return np.asarray(np.where(written[at] == part, at + share, np.inf))


def _motifs(chain: Chain) -> list[tuple[int, int]]:
    """Each run and the last place in its motif."""
    run, index = chain.run[chain.spans], chain.index[chain.spans]
    ends = np.flatnonzero(np.diff(run, append=-1))
    return list(zip(run[ends].tolist(), index[ends].tolist(), strict=True))


def _matched(places: NDArray[np.float64], found: NDArray[np.float64]) -> NDArray[np.int64]:
    """The number of the found crossing that each known one is, nearest pairs first; -1 for none."""
    number = np.full(len(places), -1)
    if not len(found) or not len(places):
        return number
    away = np.abs(places[:, None] - found).max(axis=2)
    taken = np.zeros(len(found), dtype=bool)
    for pair in np.argsort(away, axis=None, kind="stable"):
        known, new = divmod(int(pair), len(found))
        if away[known, new] > _SAME_WITHIN:
            break
        if number[known] < 0 and not taken[new]:
            number[known], taken[new] = new, True
    return number
