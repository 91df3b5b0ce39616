"""What is done at each mark and between marks, in the few words that fit on a strip of wire.

Sides are those of the finished form as it lies, going from start to finish, unless said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from formsketch.bench.tubes import Tube, load_tubes, nearest_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.evaluation.bend_marks import grip_marks_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.units import angle_text, length_text
from formsketch.values import Value

# Common practice, no source: a tube serves when it is this near to the one wanted.
_USABLE_WITHIN, _USABLE_WITHIN_MM = 0.05, 0.4
# A turn that is shown as 0 degrees is none.
_LEAST_TURN_DEG = 0.05


class SpanWords(Value, frozen=True):
    """How one span is made. Texts are empty where there is nothing to say.

    `turn` is how far to bend before hammering and to which side, `change` how a bend of uneven curvature
    runs, `tube` the nearest tube that serves, `tube_exact` the diameter worked out, `no_tube` what to do when
    none serves; `thin` and `wide` are sizes once hammered. `edges` and `comes_to` are for uneven blows: the
    thicknesses they leave, and how far the span turns after them. `grip` is the place of the mark in the
    middle of the bend, where the design is bent by those.
    """

    turn: tuple[str, ...]
    change: str
    tube: str
    tube_exact: str
    no_tube: str
    thin: str
    wide: str
    on_edge: bool
    edges: tuple[str, ...] = ()
    comes_to: tuple[str, ...] = ()
    grip: str = ""

    def lines(self) -> list[str]:
        """All of it, line under line."""
        lines = [*self.turn]
        if self.change:
            lines.append(self.change)
        if self.grip:
            lines.append(self.grip)
        if self.tube:
            lines += [f"Ø {self.tube}", f"({self.tube_exact})"]
        elif self.tube_exact:
            lines.append(f"Ø {self.tube_exact}")
        if self.no_tube:
            lines.append(self.no_tube)
        if self.thin:
            lines += [f"{self.thin} thick", f"{self.wide} wide"]
        if self.on_edge:
            lines.append("on edge")
        return [*lines, *self.edges, *self.comes_to]


def place_text(stock_mm: float) -> str:
    """A place on the straight wire, to the tenth of a millimetre that a pen mark allows; without unit."""
    return f"{stock_mm:.1f}"


def sides_before_turning_over(evaluation: Evaluation) -> list[int]:
    """1 for each span that bends to the side it has in the finished form, -1 for the other.

    A row of loops is bent and hammered before the wire is turned over at its marks.
    """
    side = evaluation.chain.side[evaluation.chain.spans]
    return [int(each) for each in side * side[0]]


def spans_in_words(
    evaluation: Evaluation, tubes: Sequence[Tube] | None = None, before_turning_over: bool = False
) -> list[SpanWords]:
    """Every span in words, repeats written out; `tubes` are those on the bench, else the known ones.

    Sides are those of the finished form, or of the wire as it is bent, before it is turned over.
    """
    spans, chain = evaluation.spans, evaluation.chain
    sides = sides_before_turning_over(evaluation) if before_turning_over else [1] * len(spans.turn_deg)
    on_bench = load_tubes(user_tubes_file()) if tubes is None else tubes
    on_edge = evaluation.flares.on_edge[chain.flare[chain.spans]]
    known_tubes: dict[float, tuple[str, str, str]] = {}
    by_grip = evaluation.design.bend_marks == "grip"
    gripped = dict(enumerate(grip_marks_mm(evaluation))) if by_grip else {}
    words = []
    for i, turn_deg in enumerate(spans.as_bent_turn_deg.tolist()):
        tube_mm = float(spans.tube_diameter_mm[i])
        if tube_mm not in known_tubes:
            known_tubes[tube_mm] = _tube_words(tube_mm, on_bench)
        tube, exact, no_tube = known_tubes[tube_mm]
        if not exact and math.isfinite(float(spans.as_bent_radius_mm[i])):
            no_tube = "too tight"
        turn, change = _turn_words(sides[i] * turn_deg, sides[i] * float(spans.as_bent_skew_deg[i]))
        thinnest = float(spans.thinnest_mm[i])
        hammered = thinnest < evaluation.diameter_mm
        words.append(
            SpanWords(
                turn,
                change,
                tube,
                exact,
                no_tube,
                _bare(thinnest) if hammered else "",
                _bare(float(spans.widest_mm[i])) if hammered else "",
                hammered and bool(on_edge[i]),
                *_uneven_words(evaluation, i, sides[i]),
                _grip_words(gripped.get(i)),
            )
        )
    return words


def marks_in_words(evaluation: Evaluation, before_turning_over: bool = False) -> list[list[str]]:
    """What is done at each mark, first to last: sharp bends and turning over; mostly nothing."""
    chain = evaluation.chain
    side = chain.side[chain.spans]
    over = np.diff(side, prepend=side[0]) != 0
    corners_deg = evaluation.spans.corner_deg
    if before_turning_over:
        corners_deg = corners_deg * sides_before_turning_over(evaluation)
    words: list[list[str]] = []
    for corner_deg, turned in zip(corners_deg.tolist(), over.tolist(), strict=True):
        at_mark = []
        if abs(corner_deg) >= _LEAST_TURN_DEG:
            at_mark += [f"bend {angle_text(abs(corner_deg))}", _side(corner_deg)]
        if turned:
            at_mark += ["turn", "over"]
        words.append(at_mark)
    return [*words, []]


def _turn_words(turn_deg: float, skew_deg: float) -> tuple[tuple[str, ...], str]:
    """How far a span turns and how its curvature runs, which is (turn + skew (2u - 1)) / length."""
    if max(abs(turn_deg), abs(skew_deg)) < _LEAST_TURN_DEG:
        return ("straight",), ""
    if abs(skew_deg) < _LEAST_TURN_DEG:
        return (_turn(turn_deg),), ""
    if abs(skew_deg) <= abs(turn_deg):
        return (_turn(turn_deg),), "tightens to" if turn_deg * skew_deg > 0 else "opens from"
    # Straight for a moment where turn + skew (2u - 1) = 0; to one side before it and to the other after.
    u = (1 - turn_deg / skew_deg) / 2
    before = u * (turn_deg + skew_deg * (u - 1))
    return (f"{_turn(before)},", f"then {_turn(turn_deg - before)}"), "tightest"


def _uneven_words(evaluation: Evaluation, span: int, side: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The edges that uneven blows leave, and how far the span turns after them; nothing for even ones."""
    spans = evaluation.spans
    outer, inner = float(spans.outer_edge_mm[span]), float(spans.inner_edge_mm[span])
    if outer == inner:
        return (), ()
    turn_deg = side * float(spans.turn_deg[span])
    straight = abs(turn_deg) < _LEAST_TURN_DEG
    names = ("outer", "inner")
    if straight:
        is_right = bool(evaluation.as_bent.outer_is_right[span]) == (side > 0)
        names = ("right", "left") if is_right else ("left", "right")
    edges = tuple(f"{name} edge {_bare(edge)}" for name, edge in zip(names, (outer, inner), strict=True))
    return edges, ("comes", "straight") if straight else ("comes to", _turn(turn_deg))


def _grip_words(grip_mm: float | None) -> str:
    return "" if grip_mm is None else f"grip at {place_text(grip_mm)}"


def _turn(turn_deg: float) -> str:
    return f"{angle_text(abs(turn_deg))} {_side(turn_deg)}"


def _side(turn_deg: float) -> str:
    return "left" if turn_deg > 0 else "right"


def _tube_words(tube_mm: float, tubes: Sequence[Tube]) -> tuple[str, str, str]:
    """The nearest tube that serves, the exact diameter, and what to do when no tube serves."""
    if not math.isfinite(tube_mm):
        return "", "", ""
    exact = _bare(tube_mm)
    nearest = nearest_tubes(tube_mm, tubes, 1)
    if nearest and abs(nearest[0].diameter_mm - tube_mm) <= max(_USABLE_WITHIN_MM, _USABLE_WITHIN * tube_mm):
        return nearest[0].label, exact, ""
    larger = not nearest or tube_mm > nearest[0].diameter_mm
    return "", exact, "mandrel" if larger else "pliers"


def _bare(length_mm: float) -> str:
    return length_text(length_mm).removesuffix(" mm")
