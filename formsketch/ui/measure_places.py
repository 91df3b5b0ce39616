"""Places to measure from and to: what a pointer means when it comes near the wire, and the gap between parts.

All places lie on the table, x + iy, mm.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any, Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.geometry.outline import Disc, hulls_between
from formsketch.ui.wire_picture import PlacedWire
from formsketch.values import Result, Value

# How near, in pixels, the pointer must come: marks and middles of beads go before edges.
_MARK_PX, _EDGE_PX, _CENTRELINE_PX = 6.0, 8.0, 5.0
# The gap is looked for this far along the wire to either side, as a share of what is measured; it is one
# when looking less far finds the same, to what the outline is good for.
_REACH, _LESS_FAR, _SAME_GAP_MM = 0.5, 0.8, 0.005
# Parts face each other when the way along the wire is this much longer than the way across, middle to middle:
# the legs of a U do, half a turn apart (pi/2), its bend does not.
_ALONG_TO_ACROSS = 1.57
_PIECES, _QUARTER_SEGMENTS = 40, 64
# What lies over a place covers it by at least so much; so many places near the pointer are looked at.
_COVERS_MM, _MOST_LOOKED_AT = 1e-3, 60

Complexes = NDArray[np.complex128]


class Place(Value, frozen=True):
    """A place measured from or to, and what it is of: `place` is where along the wire, `disc` which bead."""

    at_mm: complex
    kind: Literal["free", "edge", "centreline", "mark", "bead"] = "free"
    what: str = ""
    place: float | None = None
    disc: int | None = None


class Gap(Value, frozen=True):
    """The narrowest opening between two parts of the wire, and where it is."""

    width_mm: float
    from_mm: complex
    to_mm: complex


class _Held(NamedTuple):
    """A place the pointer is held by, if any, and how far it is."""

    place: Place | None
    away_mm: float


class _Body(NamedTuple):
    """Pieces of the wire, each with where its middle is along it and half its width; mm."""

    pieces: NDArray[Any]
    way_mm: NDArray[np.float64]
    half_mm: NDArray[np.float64]


class Measurable(Result, frozen=True):
    """A wire on the table with everything that can be measured on it."""

    wire: PlacedWire

    # --- what the pointer means

    def near(self, at_mm: complex, px_per_mm: float) -> Place:
        """The mark, bead, edge or centreline at a place, or the place itself."""
        found = self._mark_near(at_mm, _MARK_PX / px_per_mm) or self._bead_near(at_mm, _MARK_PX / px_per_mm)
        if found is not None:
            return found
        edge = self._edge_near(at_mm, _EDGE_PX / px_per_mm)
        line = self._centreline_near(at_mm, _CENTRELINE_PX / px_per_mm)
        return min((edge, line), key=lambda held: held.away_mm).place or Place(at_mm)

    def _mark_near(self, at_mm: complex, reach_mm: float) -> Place | None:
        away = np.abs(self._z[self._marks] - at_mm)
        number = int(np.argmin(away))
        if away[number] > reach_mm:
            return None
        sample = int(self._marks[number])
        return Place(complex(self._z[sample]), "mark", f"mark {number + 1}", float(sample))

    def _bead_near(self, at_mm: complex, reach_mm: float) -> Place | None:
        for number, (disc, name) in enumerate(self._beads):
            if abs(disc.centre_mm - at_mm) <= reach_mm:
                return Place(disc.centre_mm, "bead", f"the middle of {name}", disc=number)
        return None

    def _edge_near(self, at_mm: complex, reach_mm: float) -> _Held:
        """The nearest edge within reach that can be seen, of the wire or of a bead."""
        start, way, begin, end = self._edges
        share = _share(at_mm, start, way)
        at, place, away_mm = self._seen_nearest(
            at_mm, start + share * way, begin + share * (end - begin), reach_mm
        )
        held = _Held(None, np.inf)
        if place is not None:
            held = _Held(Place(at, "edge", f"the edge of {self._part_name(place)}", place), away_mm)
        for number, (disc, name) in enumerate(self._beads):
            from_middle = at_mm - disc.centre_mm
            off = abs(abs(from_middle) - disc.radius_mm)
            if off <= reach_mm and off < held.away_mm and from_middle != 0:
                rim = disc.centre_mm + disc.radius_mm * from_middle / abs(from_middle)
                held = _Held(Place(rim, "edge", f"the edge of {name}", disc=number), off)
        return held

    def _centreline_near(self, at_mm: complex, reach_mm: float) -> _Held:
        """The nearest centreline within reach of a part that can be seen."""
        start, way = self._z[:-1], np.diff(self._z)
        share = _share(at_mm, start, way)
        places = np.arange(len(share)) + share
        at, place, away_mm = self._seen_nearest(at_mm, start + share * way, places, reach_mm)
        if place is None:
            return _Held(None, np.inf)
        name = f"the centreline of {self._part_name(place)}"
        return _Held(Place(at, "centreline", name, place), away_mm)

    # --- what can be seen

    def _seen_nearest(
        self, at_mm: complex, feet_mm: Complexes, places: NDArray[np.float64], reach_mm: float
    ) -> tuple[complex, float | None, float]:
        """The nearest of these feet within reach over which nothing else lies: itself, its place, how far."""
        away = np.abs(feet_mm - at_mm)
        within = np.flatnonzero(away <= reach_mm)
        for nearest in within[np.argsort(away[within], kind="stable")][:_MOST_LOOKED_AT]:
            at, place = complex(feet_mm[nearest]), float(places[nearest])
            if not self._is_hidden(at, place):
                return at, place, float(away[nearest])
        return at_mm, None, np.inf

    def _is_hidden(self, at_mm: complex, place: float) -> bool:
        """Whether a bead or another part of the wire lies over this place of the wire there."""
        if any(abs(at_mm - disc.centre_mm) < disc.radius_mm - _COVERS_MM for disc, _ in self._beads):
            return True
        start, way, half = self._z[:-1], np.diff(self._z), self._half_mm
        share = _share(at_mm, start, way)
        half = half[:-1] + share * np.diff(half)
        hits = np.flatnonzero(np.abs(start + share * way - at_mm) < half - _COVERS_MM)
        samples = np.arange(len(self._ways))
        along = np.abs(
            np.interp(hits + share[hits], samples, self._ways) - np.interp(place, samples, self._ways)
        )
        own_half = np.interp(place, samples, self._half_mm)
        hits = hits[along > _ALONG_TO_ACROSS * (half[hits] + own_half)]
        layer, own_layer = self._layer(hits + share[hits]), self._layer(np.array([place]))[0]
        # In one layer the part further along lies over.
        return bool(((layer > own_layer) | ((layer == own_layer) & (hits > place))).any())

    def _layer(self, places: NDArray[np.float64]) -> NDArray[np.int64]:
        """When each place is drawn last: 0 with the whole wire, after that with stretches drawn again."""
        layer = np.zeros(len(places), dtype=np.int64)
        for number, stretch in enumerate(self.wire.on_top, start=1):
            layer[(places >= stretch.begin) & (places <= stretch.end)] = number
        return layer

    # --- the gap

    def gap(self, first: Place, second: Place) -> Gap | None:
        """The clear gap between the parts of the wire that two places lie on, nearest edge to edge there.

        None unless both lie on edges, and where the parts run together or the wire between them is short.
        """
        if first.kind != "edge" or second.kind != "edge":
            return None
        if first.disc is not None and first.disc == second.disc:
            return None
        apart = abs(second.at_mm - first.at_mm)
        reach = max(_REACH * apart, self.wire.evaluation.diameter_mm)
        near = self._gap_within(first, second, _LESS_FAR * reach)
        far = self._gap_within(first, second, reach)
        if near is None or far is None or far.width_mm < near.width_mm - _SAME_GAP_MM:
            return None
        return far

    def _gap_within(self, first: Place, second: Place, reach_mm: float) -> Gap | None:
        ways = self._way_mm(first), self._way_mm(second)
        between = sum(ways) / 2
        one, other = (
            self._body(place, max(0.0, way - reach_mm), way + reach_mm, between, way < between)
            for place, way in zip((first, second), ways, strict=True)
        )
        across = shapely.distance(one.pieces[:, None], other.pieces)
        along = np.abs(one.way_mm[:, None] - other.way_mm)
        facing = along > _ALONG_TO_ACROSS * (across + one.half_mm[:, None] + other.half_mm)
        if not facing.any() or (across[facing] <= 0).any():
            return None
        i, j = np.unravel_index(np.argmin(np.where(facing, across, np.inf)), across.shape)
        ends = shapely.get_coordinates(shapely.shortest_line(one.pieces[i], other.pieces[j]))
        return Gap(float(across[i, j]), complex(*ends[0]), complex(*ends[1]))

    def _body(self, place: Place, low: float, high: float, between: float, before: bool) -> _Body:
        """A bead, or the wire from one way along it to another, no further than halfway to the other part."""
        if place.disc is not None:
            disc, _ = self._beads[place.disc]
            middle = shapely.points(disc.centre_mm.real, disc.centre_mm.imag)
            round_one = shapely.buffer(middle, disc.radius_mm, quad_segs=_QUARTER_SEGMENTS)
            return _Body(np.array([round_one]), np.array([self._way_mm(place)]), np.array([disc.radius_mm]))
        low, high = (low, min(high, between)) if before else (max(low, between), high)
        ways = np.linspace(low, min(high, float(self._ways[-1])), _PIECES + 1)
        z = np.interp(ways, self._ways, self._z)
        left, right = (np.asarray(np.interp(ways, self._ways, edge)) for edge in self._left_right)
        middles = (ways[1:] + ways[:-1]) / 2
        half = np.abs(left - z)
        return _Body(hulls_between(left, right), middles, (half[1:] + half[:-1]) / 2)

    def _way_mm(self, place: Place) -> float:
        """How far along the centreline a place is; a bead is where its end of the wire is."""
        if place.disc is not None:
            middle = self._beads[place.disc][0].centre_mm
            return float(self._ways[-1]) if abs(self._z[-1] - middle) < abs(self._z[0] - middle) else 0.0
        assert place.place is not None
        return float(np.interp(place.place, np.arange(len(self._ways)), self._ways))

    # --- the wire

    @cached_property
    def _z(self) -> Complexes:
        return self.wire.trace.z_mm

    @cached_property
    def _ways(self) -> NDArray[np.float64]:
        return np.concatenate(([0.0], np.cumsum(np.abs(np.diff(self._z)))))

    @cached_property
    def _marks(self) -> NDArray[np.int64]:
        chain, first = self.wire.evaluation.chain, self.wire.trace.first
        return np.append(first[chain.spans], first[chain.spans.stop] - 1)

    @cached_property
    def _half_mm(self) -> NDArray[np.float64]:
        """Half the plan width at each sample."""
        return 0.5 * self.wire.evaluation.samples.plan_width_mm

    @cached_property
    def _left_right(self) -> tuple[Complexes, Complexes]:
        across = 1j * self._half_mm * self.wire.trace.direction
        return self._z + across, self._z - across

    @cached_property
    def _edges(self) -> tuple[Complexes, Complexes, NDArray[np.float64], NDArray[np.float64]]:
        """Straight pieces of all edges, and of the faces of cut ends: from, way, and their places."""
        left, right = self._left_right
        # From the last sample of a part to the first of the next is no edge.
        k = np.flatnonzero(np.diff(self.wire.trace.part) == 0)
        last = len(self._z) - 1
        start, finish = self.wire.evaluation.ends
        both = [(0, start), (last, finish)]
        tips = [tip for tip, end in both if end.bead_diameter_mm == end.tip_width_mm == 0]
        begins = np.concatenate((left[k], right[k], left[tips]))
        ends = np.concatenate((left[k + 1], right[k + 1], right[tips]))
        return begins, ends - begins, np.concatenate((k, k, tips)), np.concatenate((k + 1, k + 1, tips))

    @cached_property
    def _beads(self) -> list[tuple[Disc, str]]:
        """Beads and posts in plan with their names; they stand first among the discs of an outline."""
        discs = iter(self.wire.discs)
        return [
            (next(discs), f"the {kind} at the {which}")
            for which, end in zip(("start", "finish"), self.wire.evaluation.ends, strict=True)
            for kind, size in (("bead", end.bead_diameter_mm), ("post", end.post_diameter_mm))
            if size > 0
        ]

    def _part_name(self, place: float) -> str:
        spans = self.wire.evaluation.chain.spans
        part = int(self.wire.trace.part[int(place)])
        if part < spans.start:
            return "the start"
        return f"span {part - spans.start + 1}" if part < spans.stop else "the finish"


def _share(at_mm: complex, start: Complexes, way: Complexes) -> NDArray[np.float64]:
    """How far along each straight piece the place nearest to a point is, 0 to 1."""
    share = ((at_mm - start) * way.conj()).real / np.maximum(np.abs(way) ** 2, 1e-18)
    return np.clip(share, 0.0, 1.0)
