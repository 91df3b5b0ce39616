"""The two largest equal balls side by side in a bay."""

from __future__ import annotations

import numpy as np

from formsketch.geometry.chain import FloatArray
from formsketch.geometry.edges_near import ComplexArray, Edges, distance_rows
from formsketch.geometry.linear_steps import best_step
from formsketch.values import Value

# A ball that gains less than this in a step has found its place.
REFINED_MM = 2e-5
_MOST_REFINEMENTS, _MOST_STARTS, _TRIES = 30, 160, 3
_COMPASS = np.exp(np.pi / 8 * 1j * np.arange(16))

Pair = tuple[complex, complex]


class Mouth(Value, frozen=True):
    """The line across the opening of a half open bay: all z with Re(z conj(outward)) = `at_mm`."""

    outward: complex
    at_mm: float

    def inside_mm(self, places_mm: ComplexArray) -> FloatArray:
        """How far places lie inside the bay's mouth, negative outside."""
        return np.asarray(self.at_mm - (places_mm * self.outward.conjugate()).real)


class Room(Value, frozen=True):
    """A bay: its largest ball without clearance, the clearance, whether metal closes round it, its mouth.

    Where metal does not close round it the centres of a pair stay inside the largest ball, or they would be
    in no bay at all; in a channel round an island they may be anywhere.
    """

    centre_mm: complex
    radius_mm: float
    clearance_mm: float
    closed: bool
    mouth: Mouth | None

    @property
    def most_mm(self) -> float:
        return self.radius_mm - self.clearance_mm

    def contains(self, places_mm: ComplexArray) -> bool:
        return self.closed or bool(np.max(np.abs(places_mm - self.centre_mm)) <= 1.02 * self.radius_mm)

    def free_mm(self, edges: Edges, places_mm: ComplexArray) -> FloatArray:
        """Radius of the largest ball about each place, 0 or less where none fits."""
        free = np.where(edges.in_metal(places_mm), -1.0, 1.0) * edges.distance_mm(places_mm)
        free = np.minimum(free - self.clearance_mm, self.most_mm)
        return free if self.mouth is None else np.minimum(free, self.mouth.inside_mm(places_mm))


def largest_pair(edges: Edges, room: Room, starts_mm: ComplexArray) -> tuple[float, Pair]:
    """Radius and centres of the two largest equal balls side by side in a bay; starts are places in it."""
    turned = room.centre_mm + 0.5 * room.radius_mm * _COMPASS
    if room.mouth is not None:
        turned = turned - 0.45 * room.radius_mm * room.mouth.outward
    few = starts_mm[:: max(1, len(starts_mm) // _MOST_STARTS)]
    places = np.concatenate(([room.centre_mm], few, turned))
    if not room.closed:
        places = places[np.abs(places - room.centre_mm) <= room.radius_mm]
    free = room.free_mm(edges, places)
    fits = np.minimum(np.minimum(free[:, None], free[None, :]), np.abs(places[:, None] - places) / 2)
    best: tuple[float, Pair] = (0.0, (room.centre_mm, room.centre_mm))
    for _ in range(_TRIES):
        first, second = np.unravel_index(int(np.argmax(fits)), fits.shape)
        pair = (complex(places[first]), complex(places[second]))
        if fits[first, second] <= 0:
            break
        best = max(best, _grown(edges, room, pair), key=lambda one: one[0])
        # The next time from somewhere else.
        near, beside = (np.abs(places - centre) < 0.3 * room.radius_mm for centre in pair)
        fits[np.ix_(near, beside)] = fits[np.ix_(beside, near)] = -np.inf
    return best


def _fitting_mm(edges: Edges, room: Room, pair: Pair) -> float:
    places = np.array(pair)
    return min(float(np.min(room.free_mm(edges, places))), abs(pair[1] - pair[0]) / 2)


def _grown(edges: Edges, room: Room, pair: Pair) -> tuple[float, Pair]:
    """Two balls moved until neither can grow; each step as that of one ball, with their distance as well."""
    fitting = _fitting_mm(edges, room, pair)
    for _ in range(_MOST_REFINEMENTS):
        away = edges.distance_mm(np.array(pair))
        # No step leaves the free round about a centre, so that none passes through metal.
        reach = 0.5 * float(np.min(away))
        rows, limits = _limits(edges, room, pair, away + 3 * reach)
        step = best_step(rows, limits, reach)
        if step is None:
            break
        moved = (pair[0] + complex(step[0], step[1]), pair[1] + complex(step[2], step[3]))
        grown = _fitting_mm(edges, room, moved)
        if grown <= fitting or not room.contains(np.array(moved)):
            break
        gained, pair, fitting = grown - fitting, moved, grown
        if gained < REFINED_MM:
            break
    return max(fitting, 0.0), pair


def _limits(edges: Edges, room: Room, pair: Pair, reach_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What holds the two balls: rows for (x, y of one, x, y of the other, radius) and their limits."""
    apart = pair[1] - pair[0]
    way = apart / abs(apart)
    rows = [np.array([[0, 0, 0, 0, 1.0], [way.real, way.imag, -way.real, -way.imag, 2.0]])]
    limits = [np.array([room.most_mm, abs(apart)])]
    for ball, centre in enumerate(pair):
        own = slice(2 * ball, 2 * ball + 2)
        toward, distance = distance_rows(edges, centre, float(reach_mm[ball]))
        block = np.zeros((len(distance), 5))
        block[:, own], block[:, 4] = toward, 1.0
        rows.append(block)
        limits.append(distance - room.clearance_mm)
        if room.mouth is not None:
            rows.append(np.zeros((1, 5)))
            rows[-1][0, own] = room.mouth.outward.real, room.mouth.outward.imag
            rows[-1][0, 4] = 1.0
            limits.append(room.mouth.inside_mm(np.array([centre])))
        if not room.closed:
            rows.append(np.zeros((len(_COMPASS), 5)))
            rows[-1][:, own] = np.stack((_COMPASS.real, _COMPASS.imag), axis=1)
            out = ((centre - room.centre_mm) * _COMPASS.conj()).real
            limits.append(np.maximum(room.radius_mm - out, 0.0))
    return np.concatenate(rows), np.concatenate(limits)
