"""The finished form in plan: its true edge, with what lies over covering what lies under.

The wire is drawn in stretches along its length. A stretch ends where the wire would meet itself, so that
each one is a plain area, painted over what came before and left open where the wire goes on. Where over and
under are swapped, a stretch of the part under is painted once more over all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.geometry.outline import Outline, hulls_between
from formsketch.geometry.over_under import Stretch
from formsketch.template.drawing import BLACK, PAPER, Circle, Item, MultiPath, Path, Point, Stroke
from formsketch.values import Value

# Points this near each other are one, and a point of a united edge is on an end face when it lies so near.
_SAME_PLACE_MM, _ON_FACE_MM = 1e-8, 1e-7

# Wide lines leave half of a wire this thick uncovered.
THIN_WIRE_MM = 1.0

Face = tuple[complex, complex]


class Paint(Value, frozen=True):
    """How a form is painted: what fills the wire, and the line along its edge."""

    fill: str
    colour: str
    stroke: Stroke


class Placing(Value, frozen=True):
    """Where a form goes: its point 0 at `x_mm`, `y_mm` of the sheet, y turned to run down, times `scale`."""

    x_mm: float
    y_mm: float
    scale: float = 1.0

    def point(self, z_mm: complex) -> Point:
        """One place of the form on the sheet."""
        return self.x_mm + self.scale * z_mm.real, self.y_mm - self.scale * z_mm.imag

    def points(self, z_mm: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Places of the form, shape (n,), on the sheet, shape (n, 2)."""
        return np.column_stack((self.x_mm + self.scale * z_mm.real, self.y_mm - self.scale * z_mm.imag))


def placed_in(
    evaluation: Evaluation, left_mm: float, top_mm: float, width_mm: float, height_mm: float, scale: float = 1
) -> Placing:
    """The placing that sets a form in the middle of a rectangle of the sheet."""
    x0, y0, x1, y1 = evaluation.outline.bounds_mm
    return Placing(
        left_mm + width_mm / 2 - scale * (x0 + x1) / 2,
        top_mm + height_mm / 2 + scale * (y0 + y1) / 2,
        scale,
    )


def form_items(
    evaluation: Evaluation, placing: Placing, fill: str = PAPER, colour: str = BLACK
) -> list[Item]:
    """The form's edge in continuous wide lines, filled, in the order of the wire; beads are circles.

    Wire that wide lines would all but cover has narrow ones. The width of the lines apart, the form reaches
    exactly as far as the outline of the evaluation.
    """
    outline = evaluation.outline
    thin = evaluation.diameter_mm * placing.scale < THIN_WIRE_MM
    paint = Paint(fill, colour, Stroke.CONTINUOUS_NARROW if thin else Stroke.CONTINUOUS_WIDE)
    at_start, at_finish = _tip_circles(evaluation, placing, paint)
    starts = stretch_starts(outline)
    items: list[Item] = []
    for i, begin in enumerate(starts):
        end = starts[i + 1] if i + 1 < len(starts) else len(outline.pieces)
        items += _stretch_items(outline, begin, end, placing, paint)
        if i == 0:
            items += at_start
    items += at_finish
    for stretch in evaluation.stretches_on_top(paint.stroke.width_mm / 2 / placing.scale):
        items += _again_items(outline, stretch, placing, paint)
    return [*items, *_holes(evaluation, placing, paint)]


def _holes(evaluation: Evaluation, placing: Placing, paint: Paint) -> Iterator[Item]:
    """The holes drilled through the ends, open to the paper."""
    for hole in evaluation.holes_on(evaluation.trace):
        radius_mm = hole.radius_mm * placing.scale
        yield Circle(placing.point(hole.centre_mm), radius_mm, paint.stroke, PAPER, paint.colour)


def centreline(evaluation: Evaluation, placing: Placing) -> Path:
    """The middle of the wire from tip to tip, a long-dash dot line."""
    return Path(placing.points(evaluation.trace.z_mm), Stroke.LONG_DASH_DOT_NARROW)


def stretch_starts(outline: Outline) -> list[int]:
    """The pieces at which a new stretch begins: within each no piece meets another but its neighbours."""
    begin, _, _ = outline.piece_bounds
    pairs = outline.touching
    pairs = pairs[(pairs < len(begin)).all(axis=1)]
    pairs = pairs[pairs[:, 1] > pairs[:, 0] + 1]
    met = np.full(len(begin), -1)
    np.maximum.at(met, pairs[:, 1], pairs[:, 0])
    smooth = _smooth_starts(outline)
    starts = [0]
    for piece in np.flatnonzero(met >= 0).tolist():
        if met[piece] >= starts[-1]:
            # Anywhere after the piece it meets will do, but best not beside a sharp bend.
            between = np.flatnonzero(smooth[met[piece] + 1 : piece + 1])
            starts.append(int(met[piece] + 1 + between[-1]) if len(between) else piece)
    return starts


def _smooth_starts(outline: Outline) -> NDArray[np.bool_]:
    """Which pieces begin without a sharp bend and away from folds; shape (pieces,)."""
    _, _, part = outline.piece_bounds
    first_of_part = np.diff(part, prepend=-1) != 0
    bent = first_of_part & (np.abs(outline.chain.corner_rad[part]) > 0)
    folded = outline.folds[part]
    return ~(bent | folded | np.concatenate(([False], folded[:-1])))


def _stretch_items(outline: Outline, begin: int, end: int, placing: Placing, paint: Paint) -> Iterator[Item]:
    """One stretch of the wire, pieces `begin` to `end` - 1: its area, then its edges."""
    yield from _area_items(*_stretch_area(outline, begin, end), placing, paint)


def _again_items(outline: Outline, stretch: Stretch, placing: Placing, paint: Paint) -> Iterator[Item]:
    """A stretch of the wire painted again, over what was painted over it."""
    first, last = int(np.ceil(stretch.begin)), int(np.floor(stretch.end))
    places = np.unique(np.concatenate(([stretch.begin], np.arange(first, last + 1), [stretch.end])))
    left, right = _edges_at(outline.left_mm, places), _edges_at(outline.right_mm, places)
    parts = np.unique(outline.trace.part[first : last + 1])[1:]
    tips = _rounded_tips(outline, places[0] == 0, places[-1] == len(outline.left_mm) - 1)
    area = _united([*hulls_between(left, right), *_discs_of_bends(outline, parts), *tips])
    faces = [
        (complex(left[at]), complex(right[at]))
        for at, tip in ((0, 0), (-1, len(outline.left_mm) - 1))
        if places[at] != tip
    ]
    yield from _area_items(area, faces, placing, paint)


def _edges_at(edge_mm: NDArray[np.complex128], places: NDArray[np.float64]) -> NDArray[np.complex128]:
    """An edge at places between samples."""
    return np.asarray(np.interp(places, np.arange(len(edge_mm)), edge_mm))


def _area_items(area: Any, faces: list[Face], placing: Placing, paint: Paint) -> Iterator[Item]:
    """An area, then the edges around it that do not lie on faces."""
    rings = sorted((_from_its_least(ring) for ring in _rings(area)), key=lambda ring: tuple(ring[0].tolist()))
    on_sheet = [placing.points(ring[:, 0] + 1j * ring[:, 1])[:-1] for ring in rings]
    yield MultiPath(on_sheet, paint.fill)
    for ring in rings:
        z = ring[:-1, 0] + 1j * ring[:-1, 1]
        for run, closed in _open_at_faces(z, faces):
            yield Path(placing.points(run), paint.stroke, closed, colour=paint.colour)


def _stretch_area(outline: Outline, begin: int, end: int) -> tuple[Any, list[Face]]:
    """The area of a stretch and the faces across the wire where it goes on beyond it."""
    first, last, part = outline.piece_bounds
    shapes = [*_discs_of_bends(outline, part[begin:end])]
    shapes += _rounded_tips(outline, begin == 0, end == len(part))
    faces = [_face(outline, int(first[begin]))] if begin > 0 else []
    # One interval further, so that no seam shows where the next stretch is painted on.
    until = int(first[end]) + 1 if end < len(part) else int(last[-1])
    if end < len(part):
        faces.append(_face(outline, until))
    if _smooth_starts(outline)[begin : end + 1].all() and not outline.tangled:
        # No piece meets another but end to end: the edges themselves go round the stretch.
        ribbon = _ribbon(outline, int(first[begin]), until)
        if shapely.is_valid(ribbon):  # where the bend is tighter than the wire is wide, its inner edge folds
            return _united([*shapes, ribbon]), faces
    shapes += [*outline.pieces[begin:end]]
    if end < len(part):
        sample = int(first[end])
        (l0, r0), (l1, r1) = _face(outline, sample), _face(outline, sample + 1)
        quad = shapely.multipoints([(z.real, z.imag) for z in (l0, l1, r1, r0)])
        shapes.append(shapely.convex_hull(quad))
    return _united(shapes), faces


def _ribbon(outline: Outline, begin: int, end: int) -> Any:
    """The ribbon from one sample to another as one polygon; of the two samples at a mark the first counts."""
    kept = begin + np.flatnonzero(np.diff(outline.trace.part[begin : end + 1], prepend=-1) == 0)
    kept = np.append(begin, kept)
    ring = np.concatenate((outline.left_mm[kept], outline.right_mm[kept][::-1]))
    return shapely.polygons(np.stack((ring.real, ring.imag), axis=1))


def _united(shapes: Sequence[Any]) -> Any:
    """The union of shapes; edges alike but for rounding are made one, or a slit would be left there."""
    return shapely.union_all(shapes, grid_size=_SAME_PLACE_MM)


def _discs_of_bends(outline: Outline, parts: NDArray[np.int64]) -> NDArray[Any]:
    """The round outsides of the sharp bends at which these parts begin."""
    at = {complex(outline.trace.z_mm[outline.trace.first[p]]) for p in np.unique(parts) if p > 0}
    chosen = [i for i, disc in enumerate(outline.discs) if disc.bend and disc.centre_mm in at]
    return np.asarray(outline.shapes[len(outline.pieces) :][chosen])


def _rounded_tips(outline: Outline, at_start: bool, at_finish: bool) -> list[Any]:
    """The round tips of the wire's first and last piece, as far as these are asked for."""
    z = outline.trace.z_mm
    at = [complex(z[tip]) for tip, asked in ((0, at_start), (-1, at_finish)) if asked]
    own = outline.shapes[len(outline.pieces) :]
    return [own[i] for i, disc in enumerate(outline.discs) if disc.tip and disc.centre_mm in at]


def _face(outline: Outline, sample: int) -> Face:
    return complex(outline.left_mm[sample]), complex(outline.right_mm[sample])


def _rings(area: Any) -> list[Any]:
    return [ring for part in shapely.get_parts(area) for ring in shapely.get_rings(part)]


def _from_its_least(ring: Any) -> NDArray[np.float64]:
    """The places of a ring, leftmost first and last; where uniting makes it begin differs by rounding."""
    places = shapely.get_coordinates(ring)[:-1]
    places = np.roll(places, -int(np.lexsort((places[:, 1], places[:, 0]))[0]), axis=0)
    return np.concatenate((places, places[:1]))


def _open_at_faces(
    z: NDArray[np.complex128], faces: list[Face]
) -> Iterator[tuple[NDArray[np.complex128], bool]]:
    """The runs of a ring, each with whether it is closed, that are left when what lies on the faces goes."""
    following = np.roll(z, -1)
    gone = np.zeros(len(z), dtype=bool)
    for face in faces:
        gone |= _on_face(z, face) & _on_face(following, face)
    if not gone.any():
        yield z, True
        return
    start = int(np.flatnonzero(gone)[0]) + 1
    z, gone = np.roll(z, -start), np.roll(gone, -start)
    run_begin = 0
    for cut in np.flatnonzero(gone).tolist():
        if cut > run_begin:
            yield z[run_begin : cut + 1], False
        run_begin = cut + 1


def _on_face(z: NDArray[np.complex128], face: Face) -> NDArray[np.bool_]:
    left, right = face
    along = (z - left) / (right - left)
    width = abs(right - left)
    slack = _ON_FACE_MM / width
    inside = (along.real > -slack) & (along.real < 1 + slack)
    return np.asarray(inside & (np.abs(along.imag) * width < _ON_FACE_MM))


def _tip_circles(evaluation: Evaluation, placing: Placing, paint: Paint) -> tuple[list[Item], list[Item]]:
    """Beads and ear posts at the start and at the finish, which the outline names first of its discs."""
    discs = iter(evaluation.outline.discs)
    circles: list[list[Item]] = [[], []]
    for end, items in zip(evaluation.ends, circles, strict=True):
        for _ in range((end.bead_diameter_mm > 0) + (end.post_diameter_mm > 0)):
            disc = next(discs)
            radius_mm = disc.radius_mm * placing.scale
            items.append(
                Circle(placing.point(disc.centre_mm), radius_mm, paint.stroke, paint.fill, paint.colour)
            )
    return circles[0], circles[1]
