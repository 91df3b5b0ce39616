"""Marks on the finished form: ticks across the wire, and their numbers set where nothing else lies."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.geometry.outline import Outline
from formsketch.template.drawing import Circle, Item, Path, Point, Stroke, Text, text_box
from formsketch.template.plan import Placing
from formsketch.template.words_along import spread_out
from formsketch.values import Result, Value

NUMBER_HEIGHT_MM = 3.0
TICK_BEYOND_EDGE_MM = 1.0
CLEARANCE_MM = 0.3
# Numbers beside each other would read as one number without this.
_BESIDE_MM = 1.6
# A number this near to its tick needs no line to it.
_NEAR_MM = 1.6
# How far off a number may stand; up to the first limit it is tried with its line clear of the metal.
_FARTHEST_FIRST_MM = 9.5
# What makes a line hard to follow, in mm of line over metal: another mark's tick, and length.
_TICK_COST_MM, _LENGTH_COST = 2.0, 0.3
# With more than this left over, rows beyond the form are as clear as lines all over it.
_MOST_ACROSS = 200
_AWAY_MM = (0.5, 1.2, 2.2, 3.5, 5.0, 7.0, 9.5, 13.0, 18.0, 25.0, 35.0)
_TURNS_DEG = (0, 180, 30, -30, 150, -150, 60, -60, 120, -120, 90, -90)
_BEYOND_AWAY_MM, _BEYOND_APART_MM = 8.0, 1.8
_DECIMALS = 9
_STUB = 0.05  # a line to a label touches its own tick; what follows this part of it must not

FloatArray = NDArray[np.float64]


class Label(Value, frozen=True):
    """A number beside its mark: the middle of its lettering and, when it stands off, a line from the tick.

    Places are those of the form, x + iy in mm with y up.
    """

    text: str
    at_mm: complex
    leader: tuple[complex, complex] | None


def mark_ticks(evaluation: Evaluation) -> NDArray[np.complex128]:
    """Both ends of the tick at each mark, first to last; shape (marks, 2)."""
    trace, chain = evaluation.trace, evaluation.chain
    begins = trace.first[chain.spans.start : chain.spans.stop]
    sample = np.append(begins, trace.first[chain.spans.stop] - 1)
    direction = trace.direction[sample].copy()
    # At a sharp bend the tick halves the angle between before and after.
    inner = np.arange(1, len(sample) - 1)
    both = direction[inner] + trace.direction[sample[inner] - 1]
    even = np.abs(both) > 1e-6
    direction[inner[even]] = both[even] / np.abs(both[even])
    half = evaluation.outline.plan_width_mm[sample] / 2 + TICK_BEYOND_EDGE_MM
    across = 1j * direction * half
    return np.column_stack((trace.z_mm[sample] + across, trace.z_mm[sample] - across))


def mark_labels(
    evaluation: Evaluation, circles: Sequence[Item] = (), lines: NDArray[np.complex128] | None = None
) -> list[Label]:
    """The number of every mark, set so that none lies on another, on the metal, on a tick or on a circle.

    `circles` are those drawn with the form, placed at 0, 0, `lines` other lines drawn there, x + iy, shape
    (lines, 2); only lines to numbers may run across them.
    """
    ticks = mark_ticks(evaluation)
    texts = [str(i + 1) for i in range(len(ticks))]
    texts[0], texts[-1] = f"{texts[0]} start", f"{texts[-1]} finish"
    return labels_at(evaluation.outline, ticks, texts, circles, lines)


def labels_at(
    outline: Outline,
    ticks: NDArray[np.complex128],
    texts: Sequence[str],
    circles: Sequence[Item] = (),
    lines: NDArray[np.complex128] | None = None,
) -> list[Label]:
    """Texts beside ticks of a form, shape (ticks, 2), none on another, on the metal, on a tick or a circle.

    `lines`, shape (lines, 2), are kept clear of, too.
    """
    return _Setter(outline, ticks, texts, circles, lines).labels()


def label_items(
    evaluation: Evaluation, labels: list[Label], placing: Placing
) -> tuple[list[Item], list[Item]]:
    """The ticks, and the numbers with the lines to them, at true size on the sheet."""
    ticks: list[Item] = [
        Path(placing.points(tick), Stroke.CONTINUOUS_NARROW) for tick in mark_ticks(evaluation)
    ]
    return ticks, number_items(labels, placing)


def number_items(labels: Sequence[Label], placing: Placing) -> list[Item]:
    """Labels with the lines to them."""
    numbers: list[Item] = []
    for label in labels:
        numbers.append(_text(label.text, placing.point(label.at_mm)))
        if label.leader is not None:
            numbers.append(Path(placing.points(np.array(label.leader)), Stroke.CONTINUOUS_EXTRA_NARROW))
    return numbers


class _Places(Result, frozen=True):
    """Places tried for labels: middles and boxes of the lettering, boxes with clearance, ends of lines.

    `taken` says where metal or a tick lies already.
    """

    middle: NDArray[np.complex128]
    box: FloatArray
    grown: FloatArray
    leader_ends: NDArray[np.complex128]
    taken: NDArray[np.bool_]


class _Setter:
    """Sets the numbers of one form, those that find room near their tick first."""

    def __init__(
        self,
        outline: Outline,
        ticks: NDArray[np.complex128],
        texts: Sequence[str],
        circles: Sequence[Item] = (),
        lines: NDArray[np.complex128] | None = None,
    ) -> None:
        # Rounded, so that the last digits, which differ from run to run, decide nothing.
        self.outline, self.ticks, self.texts = outline, np.round(ticks, _DECIMALS), list(texts)
        metal = shapely.transform(outline.shapes, lambda places: np.round(places, _DECIMALS))
        count = len(ticks)
        rings = _rings(circles)
        self.rings = shapely.STRtree(rings if lines is None else np.concatenate((rings, _lines(lines))))
        self.boxes = np.array([_box_about_middle(text) for text in self.texts])
        # What lies there from the beginning, metal and ticks, and what has been set so far.
        self.there = shapely.STRtree(np.concatenate((metal, _lines(self.ticks))))
        self.set: list[Label | None] = [None] * count
        self.set_boxes = np.empty((count, 4))
        self.set_count = 0
        self.leaders: list[Any] = []

    def labels(self) -> list[Label]:
        for away_mm in _AWAY_MM:
            for turn_deg in _TURNS_DEG:
                if away_mm <= _FARTHEST_FIRST_MM:
                    self._set_near(away_mm, turn_deg)
        if len(self._open()) <= _MOST_ACROSS:
            for mark in self._open().tolist():
                self._set_across(mark)
        self._set_beyond()
        return [label for label in self.set if label is not None]

    def _open(self) -> NDArray[np.int64]:
        return np.array([i for i, label in enumerate(self.set) if label is None], dtype=np.int64)

    def _places(
        self, marks: NDArray[np.int64], away_mm: FloatArray | float, turn_deg: FloatArray | float
    ) -> _Places:
        """Where labels of marks would stand at a distance from their tick, in a direction from its own."""
        across = self.ticks[marks, 0] - self.ticks[marks, 1]
        half = np.abs(across) / 2
        turn = np.exp(1j * np.deg2rad(turn_deg))
        towards = across / (2 * half) * turn
        size = self.boxes[marks, 2:] - self.boxes[marks, :2]
        support = (np.abs(towards.real) * size[:, 0] + np.abs(towards.imag) * size[:, 1]) / 2
        # From the tick's end when going along it, from the wire's middle when going across it.
        centre = self.ticks[marks].mean(axis=1)
        middle = centre + towards * (half * np.abs(turn.real) + away_mm + support)
        box = self.boxes[marks] + np.column_stack((middle.real, middle.imag, middle.real, middle.imag))
        begin = centre + np.where(turn.real >= 0, 1, -1) * across / 2
        edge = middle - towards * (support - CLEARANCE_MM)
        grown = box + np.array([-1, -1, 1, 1]) * CLEARANCE_MM
        taken = np.zeros(len(marks), dtype=bool)
        boxes = shapely.box(*grown.T)
        for lying in (self.there, self.rings):
            taken[lying.query(boxes, predicate="intersects")[0]] = True
        return _Places(middle, box, grown, np.column_stack((begin, edge)), taken)

    def _set_near(self, away_mm: float, turn_deg: float) -> None:
        """Set those that find room at one place, the line to them, if any, clear of metal and ticks."""
        marks = self._open()
        if not len(marks):
            return
        places = self._places(marks, away_mm, turn_deg)
        taken, leaders = places.taken, None
        if away_mm > _NEAR_MM:
            begin, edge = places.leader_ends.T
            leaders = _lines(places.leader_ends)
            beyond_tick = _lines(np.column_stack((begin + _STUB * (edge - begin), edge)))
            taken[self.there.query(beyond_tick, predicate="intersects")[0]] = True
        for j in np.flatnonzero(~taken).tolist():
            leader = None if leaders is None else leaders[j]
            if self._clear_of_labels(places.grown[j], leader):
                self._keep(int(marks[j]), places, j, leader)

    def _set_across(self, mark: int) -> None:
        """Set one with a line that runs over metal: where it does so least, and is short."""
        away = np.repeat(_AWAY_MM, len(_TURNS_DEG))
        turn = np.tile(np.array(_TURNS_DEG, dtype=float), len(_AWAY_MM))
        places = self._places(np.full(len(away), mark), away, turn)
        leaders = _lines(places.leader_ends)
        line, met = self.there.query(leaders, predicate="intersects")
        shapes = self.there.geometries[met]
        over = shapely.length(shapely.intersection(leaders[line], shapes))
        over[met >= len(self.outline.shapes)] = _TICK_COST_MM
        cost = _LENGTH_COST * shapely.length(leaders)
        np.add.at(cost, line, over)
        for j in np.argsort(cost, kind="stable").tolist():
            if not places.taken[j] and self._clear_of_labels(places.grown[j], leaders[j]):
                self._keep(mark, places, j, leaders[j])
                return

    def _clear_of_labels(self, grown: FloatArray, leader: Any) -> bool:
        """Whether a box, and a line to it, keep clear of the labels and lines set so far."""
        others = self.set_boxes[: self.set_count]
        more = _BESIDE_MM - CLEARANCE_MM
        apart_x = (others[:, 0] >= grown[2] + more) | (others[:, 2] <= grown[0] - more)
        apart_y = (others[:, 1] >= grown[3]) | (others[:, 3] <= grown[1])
        if not (apart_x | apart_y).all():
            return False
        if self.leaders and shapely.intersects(shapely.box(*grown), self.leaders).any():
            return False
        if leader is None:
            return True
        crossed = self.leaders and shapely.intersects(leader, self.leaders).any()
        return not crossed and not shapely.intersects(leader, shapely.box(*others.T)).any()

    def _keep(self, mark: int, places: _Places, number: int, leader: Any) -> None:
        begin, edge = places.leader_ends[number].tolist()
        ends = None if leader is None else (begin, edge)
        self.set[mark] = Label(self.texts[mark], complex(places.middle[number]), ends)
        self.set_boxes[self.set_count] = places.box[number]
        self.set_count += 1
        if leader is not None:
            self.leaders.append(leader)

    def _set_beyond(self) -> None:
        """What found no room stands in a row over everything and one under it, in the order of the ticks."""
        placed = self.set_boxes[: self.set_count]
        low, high = (round(y, _DECIMALS) for y in self.outline.bounds_mm[1::2])
        for box in (*placed.tolist(), *shapely.bounds(self.rings.geometries).tolist()):
            low, high = min(low, box[1]), max(high, box[3])
        left_over = sorted(self._open().tolist(), key=lambda i: float(self.ticks[i].mean().real))
        for marks, up in ((left_over[::2], 1.0), (left_over[1::2], -1.0)):
            ends = [max(self.ticks[i].tolist(), key=lambda z: up * z.imag) for i in marks]
            places = np.array([z.real for z in ends])
            widths = self.boxes[marks, 2] - self.boxes[marks, 0] + _BEYOND_APART_MM if marks else places
            for i, end, x in zip(marks, ends, spread_out(places, widths).tolist(), strict=True):
                edge = complex(x, (high if up > 0 else low) + up * _BEYOND_AWAY_MM)
                box_edge = float(self.boxes[i, 1] if up > 0 else self.boxes[i, 3])
                self.set[i] = Label(self.texts[i], edge + 1j * (up * CLEARANCE_MM - box_edge), (end, edge))


def _lines(ends: NDArray[np.complex128]) -> NDArray[Any]:
    """Straight lines between the two places of each row."""
    return np.asarray(shapely.linestrings(np.stack((ends.real, ends.imag), axis=2)))


def _rings(circles: Sequence[Item]) -> NDArray[Any]:
    """Circles of the sheet as lines of the form, y up."""
    round_ones = [one for one in circles if isinstance(one, Circle)]
    centres = np.array([one.centre for one in round_ones]).reshape(-1, 2) * (1.0, -1.0)
    discs = shapely.buffer(shapely.points(centres), [one.radius_mm for one in round_ones], quad_segs=32)
    return np.asarray(shapely.boundary(discs))


def _text(text: str, place: Point) -> Text:
    return Text(place, text, NUMBER_HEIGHT_MM, "middle", "middle")


def _box_about_middle(text: str) -> tuple[float, float, float, float]:
    """The box of a label about the middle of its lettering, y up."""
    x0, y0, x1, y1 = text_box(_text(text, (0.0, 0.0)))
    return x0, -y1, x1, -y0
