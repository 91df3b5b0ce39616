"""The rolled piece as it is seen from the front, the side, the back and above, true to scale.

The wire is cut into short pieces at stations. A station's section, standing square on the mandrel, is convex,
and so is what a piece from one station to the next covers as seen from anywhere: the hull of its corners.
Heights out of the mandrel are those of each place, hammered faces included; where a part crosses over another
it is lifted by that one's height.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import shapely
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.design.model import Worn
from formsketch.evaluation.rolled import Rolled, caught_mm, rolled
from formsketch.evaluation.stations import Stations, along_mm, stations_of
from formsketch.evaluation.worn import is_length
from formsketch.geometry.united import united, without
from formsketch.units import length_text
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
Side = Literal["top", "front", "side", "back", "flat"]
ROUND_SIDES: tuple[Side, ...] = ("top", "front", "side", "back")

# Stations are so far apart along the wire, in its diameters, further where there would be more than so many:
# to 0.05 mm for the screen, to 0.01 mm for a sheet.
SCREEN_STEP_WIDTHS, SHEET_STEP_WIDTHS, _MOST_STATIONS = 0.6, 0.2, 3_000
# Corners of a section: the rounds of a stadium by so many, none of them on an axis.
_CORNERS = 12
_DISC_RINGS = 5
# A part lies over another for its width and comes down over so many widths more.
_COMES_DOWN_WIDTHS = 2.0


class View(Result, frozen=True):
    """What is seen from one side: x to the right and y up, mm, the middle of the piece at 0.

    The pieces, shapely polygons that overlap, cover what lies on the viewer's half and what lies on the other
    half. The side view is from the right, its front to the left; `flat` is the form before it is rolled.
    `words` say what is seen.
    """

    side: Side
    near_pieces: NDArray[Any]
    beyond_pieces: NDArray[Any]
    words: str

    @cached_property
    def near(self) -> Any:
        """All that lies on the viewer's half, united; some 20 ms for a bracelet."""
        return united(self.near_pieces)

    @cached_property
    def beyond(self) -> Any:
        """What is seen of the other half past the near one, united."""
        return without(united(self.beyond_pieces), self.near)

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Least x and y, greatest x and y of all of it."""
        bounds = shapely.total_bounds(np.concatenate((self.near_pieces, self.beyond_pieces)))
        return tuple(bounds.tolist())


class PieceViews(Result, frozen=True):
    """Every view of a piece as it is worn, in the order they are laid side by side, the flat form last.

    `rolled` is None for a piece worn as it is laid, of which there is the flat view alone.
    """

    rolled: Rolled | None
    views: tuple[View, ...]

    @property
    def inside_words(self) -> str:
        """The inside it reaches: "54.65 by 43.72 mm", "17.32 mm across"; '' where none is rolled."""
        return "" if self.rolled is None else inside_words(self.rolled)


class InSpace(Result, frozen=True):
    """The rolled piece in space: corners of its stations, and of the beads and sharp bends beside them.

    `seen_from_above_mm` is x + iy with the front at the bottom, `up_mm` along the mandrel; both of shape
    (stations, corners). `pieces` are the stations at which one begins. `balls` are corners of round things.
    """

    seen_from_above_mm: ComplexArray
    up_mm: FloatArray
    pieces: NDArray[np.int64]
    balls: tuple[tuple[ComplexArray, FloatArray], ...]

    def seen(self, side: Side) -> tuple[NDArray[Any], NDArray[Any]]:
        """The pieces on the viewer's half and on the other, shapely polygons."""
        hulls, nearness = self._hulls(side)
        near = nearness > 0 if side != "top" else np.ones(len(hulls), dtype=bool)
        return hulls[near], hulls[~near]

    def _hulls(self, side: Side) -> tuple[NDArray[Any], FloatArray]:
        """The hull of every piece as seen from a side, and how far towards the viewer its middle lies."""
        groups = [
            (
                np.concatenate(
                    (self.seen_from_above_mm[self.pieces], self.seen_from_above_mm[self.pieces + 1]), 1
                ),
                np.concatenate((self.up_mm[self.pieces], self.up_mm[self.pieces + 1]), 1),
            ),
            *((above[None, :], up[None, :]) for above, up in self.balls),
        ]
        hulls, nearness = [], []
        for above, up in groups:
            x, y = _projected(side, above, up)
            points = np.stack((x, y), axis=2).reshape(-1, 2)
            of = np.repeat(np.arange(len(x)), x.shape[1])
            hulls.append(np.asarray(shapely.convex_hull(shapely.multipoints(points, indices=of))))
            nearness.append(np.mean(_towards(side, above), axis=1))
        return np.concatenate(hulls), np.concatenate(nearness)

    @cached_property
    def size_mm(self) -> tuple[float, float, float]:
        """Outside width, depth and height of the rolled piece."""
        above = np.concatenate((self.seen_from_above_mm.ravel(), *(ball for ball, _ in self.balls)))
        up = np.concatenate((self.up_mm.ravel(), *(ball for _, ball in self.balls)))
        return float(np.ptp(above.real)), float(np.ptp(above.imag)), float(np.ptp(up))


def _towards(side: Side, above: ComplexArray) -> FloatArray:
    """How far towards the viewer places lie."""
    if side == "side":
        return np.asarray(above.real)
    return np.asarray(above.imag if side == "back" else -above.imag)


def _projected(side: Side, above: ComplexArray, up: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places as seen from a side, to the right and up."""
    if side == "top":
        return np.asarray(above.real), np.asarray(above.imag)
    across = {"front": above.real, "back": -above.real, "side": above.imag}[side]
    return np.asarray(across), up


def piece_views(evaluation: Evaluation, worn: Worn, step_widths: float = SCREEN_STEP_WIDTHS) -> PieceViews:
    """The piece as it is worn, seen from every side. Raises `InputError` when it is too short to close."""
    x0, y0, x1, y1 = evaluation.outline.bounds_mm
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    flat = View(
        "flat",
        shapely.transform(evaluation.outline.shapes, lambda points: points - middle),
        np.empty(0, dtype=object),
        f"flat, {length_text(x1 - x0)} by {length_text(y1 - y0)}",
    )
    if is_length(worn) or not worn.rolled:
        laid = replace(flat, words=flat.words.replace("flat", "as it is laid", 1))
        return PieceViews(None, (laid,))
    piece = rolled(evaluation, worn.aspect, worn.gap_mm)
    space = in_space(evaluation, piece, step_widths)
    words = {
        "top": f"from above, inside {inside_words(piece)}",
        "front": f"front, {length_text(space.size_mm[2])} high",
        "side": "side, from the right",
        "back": f"back, {closing_words(evaluation, worn.gap_mm)}",
    }
    return PieceViews(piece, (*(View(side, *space.seen(side), words[side]) for side in ROUND_SIDES), flat))


def inside_words(piece: Rolled) -> str:
    """The inside of a rolled piece: "54.65 by 43.72 mm", or "17.32 mm across"."""
    inside = piece.inside
    if inside.aspect == 1.0:
        return f"{length_text(inside.width_mm)} across"
    return f"{inside.width_mm:.2f} by {length_text(inside.depth_mm)}"


def closing_words(evaluation: Evaluation, gap_mm: float) -> str:
    """How the ends come together: caught, open, lapped or meeting."""
    if caught_mm(evaluation) > 0:
        start, finish = evaluation.ends
        other = "eye" if "eye" in (start.catches, finish.catches) else "hook"
        return f"hook in {other}" if gap_mm <= 0 else f"hook and {other} {length_text(gap_mm)} apart"
    if gap_mm == 0:
        return "ends meet"
    return f"open {length_text(gap_mm)}" if gap_mm > 0 else f"ends lap {length_text(-gap_mm)}"


def in_space(evaluation: Evaluation, piece: Rolled, step_widths: float = SCREEN_STEP_WIDTHS) -> InSpace:
    """The form rolled up, in space."""
    length_mm = float(along_mm(evaluation)[-1])
    at = stations_of(
        evaluation, max(step_widths * evaluation.diameter_mm, length_mm / _MOST_STATIONS), thinned=True
    )
    lift = _lifts_mm(evaluation, at)
    beside, out = _corners(at.width_mm, at.height_mm)
    plan = at.z_mm[:, None] + 1j * at.direction[:, None] * beside
    above, up = _on_mandrel(evaluation, piece, plan, out + lift[:, None])
    # Both sides of a mark are stations: nothing lies between.
    pieces = np.flatnonzero(np.diff(at.along_mm) > 0)
    return InSpace(above, up, pieces, _balls(evaluation, piece))


def _corners(width_mm: FloatArray, height_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Corners of stadium sections standing on the mandrel: to the left and out of it; (stations, corners)."""
    angle = (np.arange(_CORNERS) + 0.5) * 2 * np.pi / _CORNERS
    round_mm = np.minimum(width_mm, height_mm) / 2
    flat, upright = width_mm / 2 - round_mm, height_mm / 2 - round_mm
    beside = round_mm[:, None] * np.cos(angle) + flat[:, None] * np.sign(np.cos(angle))
    # The outermost corners of so few lie a little inside the round: they are put on it.
    beside /= np.cos(np.pi / _CORNERS)
    beside = np.clip(beside, -width_mm[:, None] / 2, width_mm[:, None] / 2)
    out = (round_mm[:, None] * np.sin(angle) + upright[:, None] * np.sign(np.sin(angle))) / np.cos(
        np.pi / _CORNERS
    )
    half = height_mm[:, None] / 2
    return beside, half + np.clip(out, -half, half)


def _lifts_mm(evaluation: Evaluation, at: Stations) -> FloatArray:
    """How far each station is lifted off the mandrel by what it crosses over; shape (stations,)."""
    samples, along = evaluation.samples, along_mm(evaluation)
    lift = np.zeros(len(at.along_mm))
    for crossing in evaluation.crossings:
        under, over = crossing.under_sample, crossing.over_sample
        half = float(samples.plan_width_mm[under] + samples.plan_width_mm[over]) / 2
        beyond = np.abs(at.along_mm - along[over]) - half
        share = np.clip(1 - beyond / (_COMES_DOWN_WIDTHS * evaluation.diameter_mm), 0.0, 1.0)
        lift = np.maximum(lift, samples.height_mm[under] * (1 - np.cos(np.pi * share)) / 2)
    return lift


def _on_mandrel(
    evaluation: Evaluation, piece: Rolled, plan_mm: ComplexArray, out_mm: FloatArray
) -> tuple[ComplexArray, FloatArray]:
    """Places of the flat form, so far out from the mandrel, seen from above and up along it."""
    x0, y0, _, y1 = evaluation.outline.bounds_mm
    return piece.at(plan_mm.real - x0, out_mm), np.asarray(plan_mm.imag - (y0 + y1) / 2)


def _balls(evaluation: Evaluation, piece: Rolled) -> tuple[tuple[ComplexArray, FloatArray], ...]:
    """Corners of beads, which rest on the mandrel, and of sharp bends, as high as the wire there."""
    round_it = np.exp(2j * np.pi * np.arange(4 * _CORNERS) / (4 * _CORNERS))
    rise = np.sin(np.linspace(-np.pi / 2, np.pi / 2, _DISC_RINGS))
    balls = []
    for disc in evaluation.outline.discs:
        half = disc.radius_mm
        if disc.bend:
            nearest = int(np.argmin(np.abs(evaluation.trace.z_mm - disc.centre_mm)))
            half = float(evaluation.samples.height_mm[nearest]) / 2
        rings = disc.radius_mm * np.sqrt(1 - rise**2)
        plan = disc.centre_mm + (rings[:, None] * round_it).ravel()
        out = np.repeat(half * (1 + rise), len(round_it))
        balls.append(_on_mandrel(evaluation, piece, plan, out))
    return tuple(balls)
