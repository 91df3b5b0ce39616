"""The forged wire as a curved bar of varying section: places on it, and quadrature along it.

The wire is cut into pieces along which curve and section are smooth: at its marks, where a flare begins and
ends its hold, and often enough between. On each piece stand six Gauss-Lobatto nodes, its two edges among
them; places are those of the chain itself, sections those of the flares themselves, so that an integral
along the wire is exact to about 1e-10. Everything in mm and in the form's own frame: start mark at 0, first
span along +x.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.forging.forged import ForgedSamples, forge_places
from formsketch.geometry.spans import direction_rad, interval_steps, intervals_for_turning
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ComplexArray = NDArray[np.complex128]

# Gauss-Lobatto nodes and weights on [0, 1], exact to degree 9 (Abramowitz & Stegun, table 25.6). A slight bow
# of one piece needs them: squares of its small arms are good to 4e-8 by five nodes, to 7e-12 by six.
_INNER, _OUTER = np.sqrt((7 - 2 * np.sqrt(7)) / 21), np.sqrt((7 + 2 * np.sqrt(7)) / 21)
LOBATTO_NODES = (1 + np.array([-1.0, -_OUTER, -_INNER, _INNER, _OUTER, 1.0])) / 2
_AT_OUTER, _AT_INNER = 14 - np.sqrt(7), 14 + np.sqrt(7)
LOBATTO_WEIGHTS = np.array([2.0, _AT_OUTER, _AT_INNER, _AT_INNER, _AT_OUTER, 2.0]) / 60
# Pieces of each easing of a flare: means of 1/I come out to 1e-9 or better for every flare a hammer makes.
PIECES_PER_EASING = 5
# Pieces of a taper, where 1/I rises with the fourth power of the wire's diameter.
PIECES_PER_TAPER = 16
# A place this near to where a load or a soft place ends is on it.
ON_PLACE_MM = 1e-9


class Places(Result, frozen=True):
    """Places on the wire, all of shape (places,).

    `along_mm` is the finished wire's length from the start mark, negative on the start end. `plan_mm` is the
    section's breadth in the plane of the form, `height_mm` that square to it.
    """

    part: IntArray
    u: FloatArray
    along_mm: FloatArray
    z_mm: ComplexArray
    direction: ComplexArray
    section: ForgedSamples

    @property
    def width_mm(self) -> FloatArray:
        return self.section.width_mm

    @property
    def thickness_mm(self) -> FloatArray:
        return self.section.thickness_mm

    @property
    def plan_mm(self) -> FloatArray:
        return self.section.plan_width_mm

    @property
    def height_mm(self) -> FloatArray:
        return self.section.height_mm


class Bar:
    """A form's wire cut into pieces, `cuts_mm` along it (from the start mark) being cuts too."""

    def __init__(self, evaluation: Evaluation, cuts_mm: Sequence[float] = ()) -> None:
        self._evaluation = evaluation
        chain = self._chain = evaluation.chain
        self._heading = chain.heading_rad
        ends = np.cumsum(chain.length_mm)
        starts = np.concatenate(([0.0], ends[:-1]))
        self._along = starts - starts[chain.spans.start]
        self.reach_mm = (
            float(self._along[0]),
            float(self._along[-1] + chain.length_mm[-1]),
        )
        keys = np.sort(np.concatenate((self._even_keys(), self._flare_keys(), self._keys_at(cuts_mm))))
        keys = keys[np.diff(keys, prepend=-1.0) > 0]
        keys = np.append(keys[keys < chain.part_count], float(chain.part_count))
        self.part = np.minimum(keys[:-1].astype(np.int64), chain.part_count - 1)
        self.u_from = keys[:-1] - self.part
        self.u_step = np.diff(keys)
        self._keys = keys[:-1]
        self._last_piece = np.searchsorted(self.part, np.arange(chain.part_count), side="right") - 1
        moves = self._steps(self.part, self.u_from, self.u_step)
        z = np.concatenate(([0j], np.cumsum(moves)[:-1]))
        self._z_from = z - z[np.searchsorted(self.part, chain.spans.start)]
        pieces = np.repeat(np.arange(len(self.part)), len(LOBATTO_NODES))
        u = (self.u_from[:, None] + self.u_step[:, None] * LOBATTO_NODES).ravel()
        self.nodes = self._places(pieces, np.minimum(u, 1.0))
        step_mm = self.u_step * chain.length_mm[self.part]
        self.weight_mm = (step_mm[:, None] * LOBATTO_WEIGHTS).ravel()

    # --- places

    def at(self, part: IntArray, u: FloatArray) -> Places:
        """Places by part and fraction of its length, both of shape (places,)."""
        pieces = np.searchsorted(self._keys, part + u, side="right") - 1
        return self._places(np.minimum(pieces, self._last_piece[part]), u)

    def at_along(self, along_mm: Sequence[float]) -> Places:
        """Places by their distance from the start mark along the finished wire, within the wire."""
        keys = self._keys_at(along_mm)
        part = np.minimum(keys.astype(np.int64), self._chain.part_count - 1)
        return self.at(part, keys - part)

    def resectioned(self, places: Places, spread: float) -> Places:
        """The same places with the sections that a hammer of another spread would leave."""
        return replace(places, section=self._section(places.part, places.u, spread))

    def weights_mm(self, from_mm: float, to_mm: float) -> FloatArray:
        """Weights of an integral over the stretch between two places that are cuts; shape of the nodes."""
        middle = self.nodes.along_mm.reshape(len(self.part), -1)[:, len(LOBATTO_NODES) // 2]
        inside = (middle > from_mm) & (middle < to_mm)
        return np.where(np.repeat(inside, len(LOBATTO_NODES)), self.weight_mm, 0.0)

    # --- inside

    def _even_keys(self) -> FloatArray:
        chain = self._chain
        counts = intervals_for_turning(chain.turn_rad, chain.skew_rad)
        tapered = chain.diameter_from_mm != chain.diameter_to_mm
        counts = np.maximum(counts, np.where(tapered, PIECES_PER_TAPER, 1))
        first = np.concatenate(([0], np.cumsum(counts)[:-1]))
        part = np.repeat(np.arange(chain.part_count), counts)
        return np.asarray(part + (np.arange(len(part)) - first[part]) / counts[part])

    def _flare_keys(self) -> FloatArray:
        """Where easings begin, end, and are cut between, in the parts that are hammered."""
        chain = self._chain
        hammered = np.flatnonzero(chain.flare >= 0)
        if not len(hammered):
            return np.empty(0)
        steps = np.arange(PIECES_PER_EASING + 1) / PIECES_PER_EASING
        rows = []
        for flare in chain.flares:
            rise, fall = flare.centre - flare.hold / 2, flare.centre + flare.hold / 2
            whole = np.concatenate((rise * steps, fall + (1 - fall) * steps))
            rows.append((whole - flare.begin) / (flare.end - flare.begin))
        u = np.array(rows)[chain.flare[hammered]]
        keys = hammered[:, None] + u
        return np.asarray(keys[(u > 0) & (u < 1)])

    def _keys_at(self, along_mm: Sequence[float]) -> FloatArray:
        """Part number plus fraction for distances from the start mark, held to the wire's own ends."""
        chain = self._chain
        along = np.clip(np.asarray(along_mm, dtype=float), *self.reach_mm)
        part = np.clip(np.searchsorted(self._along, along, side="right") - 1, 0, chain.part_count - 1)
        return np.asarray(part + np.minimum((along - self._along[part]) / chain.length_mm[part], 1.0))

    def _steps(self, part: IntArray, u_from: FloatArray, u_step: FloatArray) -> ComplexArray:
        chain = self._chain
        return interval_steps(
            u_from,
            u_step,
            chain.length_mm[part],
            self._heading[part],
            chain.turn_rad[part],
            chain.skew_rad[part],
        )

    def _places(self, piece: IntArray, u: FloatArray) -> Places:
        chain, part = self._chain, self.part[piece]
        z = self._z_from[piece] + self._steps(part, self.u_from[piece], u - self.u_from[piece])
        angle = direction_rad(u, self._heading[part], chain.turn_rad[part], chain.skew_rad[part])
        direction = np.exp(1j * angle)
        section = self._section(part, u, self._evaluation.design.hammer.spread)
        along = self._along[part] + u * chain.length_mm[part]
        return Places(part, u, along, z, direction, section)

    def _section(self, part: IntArray, u: FloatArray, spread: float) -> ForgedSamples:
        return forge_places(self._chain, part, u, self._evaluation.diameter_mm, spread)
