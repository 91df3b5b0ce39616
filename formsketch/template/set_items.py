"""Pearls, stones and the quality mark in true millimetres: what is drawn of them, and their names."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formsketch.design.set_places import is_set
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.set_report import stone_words
from formsketch.template.bench_words import place_text
from formsketch.template.drawing import Circle, Item, Path, Stroke, bounds
from formsketch.template.plan import Placing, placed_in
from formsketch.units import length_text
from formsketch.values import Value

MARK_LETTERS = "QM"
_ELLIPSE_POINTS = 72
# How far a tie reaches beyond the wire, and the widest half of a seat that a row of the wire has room for.
_TIE_BEYOND_MM, _WIDEST_SEAT_MM = 1.5, 4.0


class SetRow(Value, frozen=True):
    """One thing that is set: its letter and number, what it is, its places on the cut wire from its start and
    along the finished form from the start mark, mm, what else is to be known, and how far the next is."""

    label: str
    what: str
    cut_mm: tuple[float, ...]
    along_mm: tuple[float, ...]
    more: str
    to_next_mm: float | None = None

    @property
    def cut_text(self) -> str:
        """Its places on the cut wire: "23.4", "23.4, 31.2"."""
        return ", ".join(map(place_text, self.cut_mm))

    @property
    def along_text(self) -> str:
        """Its places along the finished form."""
        return ", ".join(map(place_text, self.along_mm))


def set_rows_of(evaluation: Evaluation) -> list[SetRow]:
    """Everything that is set, stones in the order of the wire, then pearls, then the mark."""
    return list(_rows(evaluation)) if is_set(evaluation.design) else []


def _rows(e: Evaluation) -> Iterator[SetRow]:
    on = e.set_on
    steps = np.diff([placed.seat.finished_mm for placed in on.stones]).tolist()
    for number, (placed, step) in enumerate(zip(on.stones, [*steps, None], strict=False), start=1):
        stone, seat = placed.stone, placed.seat
        left = f"{length_text(seat.left_mm)} left each side"
        yield SetRow(
            f"S{number}",
            f"{stone.setting} Ø {length_text(stone.seat_mm)}, {stone_words(placed)}",
            (seat.mark_mm,),
            (seat.finished_mm,),
            left if seat.fits else f"{left}, too narrow",
            step,
        )
    tie_of = {number: tie for tie in on.ties for number in tie.pearls}
    for number, pearl in enumerate(e.design.pearls):
        tie = tie_of[number]
        size = length_text(pearl.diameter_mm)
        if pearl.length_mm != pearl.diameter_mm:
            size = f"{size.removesuffix(' mm')} × {length_text(pearl.length_mm)}"
        shared = len(tie.pearls) > 1
        yield SetRow(
            f"P{number + 1}",
            f"{pearl.shape} pearl {size}",
            tie.marks_mm,
            tie.along_mm,
            f"binding wire {length_text(tie.wire_mm)}{' for both' if shared else ''}",
        )
    if on.mark is not None and e.design.quality_mark is not None:
        mark = e.design.quality_mark
        yield SetRow(
            MARK_LETTERS,
            f"quality mark {mark.wide_mm:g} × {mark.long_mm:g} mm",
            (on.mark.mark_mm,),
            (on.mark.finished_mm,),
            f"{length_text(on.mark.spare_mm)} to spare across",
        )


def room_mm(evaluation: Evaluation) -> tuple[float, float]:
    """Width and height about the middle of the form that hold the form and all that is set on it, mm."""
    width, height = evaluation.envelope_mm
    things = plan_items(evaluation, placed_in(evaluation, 0.0, 0.0, width, height))
    if not things:
        return width, height
    x0, y0, x1, y1 = bounds(things)
    beyond_x, beyond_y = max(0.0, -x0, x1 - width), max(0.0, -y0, y1 - height)
    return width + 2 * beyond_x, height + 2 * beyond_y


def pearl_circles(evaluation: Evaluation, placing: Placing) -> list[Circle]:
    """The round each pearl and seat takes, however it lies: what no lettering may stand on."""
    on = evaluation.set_on
    rounds = [(p.at_mm, max(p.pearl.diameter_mm, p.pearl.length_mm)) for p in on.pearls]
    rounds += [(s.seat.at_mm, s.stone.seat_mm) for s in on.stones]
    scale = placing.scale / 2
    return [Circle(placing.point(at), scale * size, Stroke.CONTINUOUS_NARROW) for at, size in rounds]


def hole_lines(evaluation: Evaluation) -> NDArray[np.complex128]:
    """The ways of binding wires in plan, piece by piece, x + iy, shape (pieces, 2)."""
    pieces = [pair for tie in evaluation.set_on.ties for pair in pairwise(tie.path_mm)]
    return np.array(pieces, dtype=np.complex128).reshape(-1, 2)


def plan_items(evaluation: Evaluation, placing: Placing) -> list[Item]:
    """Everything that is set as it lies on the finished form: pearls with their holes dashed and on to where
    they are tied, seats with the girdles of their stones, the mark's outline. Nothing where nothing is set.
    """
    if not is_set(evaluation.design):
        return []
    on = evaluation.set_on
    items: list[Item] = []
    for tie in on.ties:
        items.append(Path(placing.points(np.array(tie.path_mm)), Stroke.DASHED_NARROW))
    for p in on.pearls:
        along, across = p.pearl.length_mm / 2, p.pearl.diameter_mm / 2
        if along == across:
            items.append(Circle(placing.point(p.at_mm), placing.scale * along, Stroke.CONTINUOUS_NARROW))
            continue
        angle = np.arange(_ELLIPSE_POINTS) * 2 * np.pi / _ELLIPSE_POINTS
        line = p.at_mm + p.hole * (along * np.cos(angle) + 1j * across * np.sin(angle))
        items.append(Path(placing.points(line), Stroke.CONTINUOUS_NARROW, closed=True))
    for s in on.stones:
        at, scale = placing.point(s.seat.at_mm), placing.scale / 2
        items.append(Circle(at, scale * s.stone.seat_mm, Stroke.CONTINUOUS_NARROW))
        if s.stone.size_mm < s.stone.seat_mm:
            items.append(Circle(at, scale * s.stone.size_mm, Stroke.CONTINUOUS_EXTRA_NARROW))
    if on.mark is not None:
        corners = placing.points(np.array(on.mark_corners_mm))
        items.append(Path(corners, Stroke.CONTINUOUS_NARROW, closed=True))
    return items


def wire_items(
    evaluation: Evaluation, from_mm: float, to_mm: float, left_mm: float, y_mm: float
) -> list[Item]:
    """What is set, on a stretch of the straight wire drawn from `left_mm` on with its middle at `y_mm`.

    A seat is a circle, or a line across where it is too wide for the row; where a pearl is tied a dashed
    line, the mark a rectangle.
    """
    if not is_set(evaluation.design):
        return []
    on, half = evaluation.set_on, evaluation.diameter_mm / 2
    items: list[Item] = []

    def shown(place_mm: float) -> bool:
        return from_mm - 1e-9 <= place_mm <= to_mm + 1e-9

    for s in on.stones:
        if shown(s.seat.mark_mm):
            x, radius = left_mm + s.seat.mark_mm - from_mm, s.stone.seat_mm / 2
            if radius <= _WIDEST_SEAT_MM:
                items.append(Circle((x, y_mm), radius, Stroke.CONTINUOUS_NARROW))
            else:
                ends = np.array([[x, y_mm - _WIDEST_SEAT_MM], [x, y_mm + _WIDEST_SEAT_MM]])
                items.append(Path(ends, Stroke.CONTINUOUS_NARROW))
    reach = half + _TIE_BEYOND_MM
    for tie in on.ties:
        for place in filter(shown, tie.marks_mm):
            x = left_mm + place - from_mm
            ends = np.array([[x, y_mm - reach], [x, y_mm + reach]])
            items.append(Path(ends, Stroke.DASHED_NARROW))
    if on.mark is not None and shown(on.mark.mark_mm):
        first, last = (left_mm + float(np.clip(at, from_mm, to_mm)) - from_mm for at in on.mark_stock_mm)
        corners = [
            [first, y_mm - half / 2],
            [last, y_mm - half / 2],
            [last, y_mm + half / 2],
            [first, y_mm + half / 2],
        ]
        items.append(Path(np.array(corners), Stroke.CONTINUOUS_NARROW, closed=True))
    return items
