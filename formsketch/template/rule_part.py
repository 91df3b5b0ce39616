"""The straight wire as a strip to cut out and wrap or lay as a rule: edge, marks, numbers, distances."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec.structs import replace

from formsketch.evaluation.end_marks import end_marks_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_words import place_text
from formsketch.template.drawing import Group, Item, Path, Stroke, Text, text_width_mm
from formsketch.template.lettering import Block, Line
from formsketch.template.wire_strip import mark_places_mm
from formsketch.values import Result

_STRIP_MM, _TAB_MM, _HEADING_PITCH_MM = 11.0, 8.0, 6.5
_NUMBER_MM, _PLACE_MM, _BETWEEN_MM, _TICK_MM, _INSIDE_MM = 3.0, 2.5, 1.0, 3.6, 0.5


class RuleStrip(Result, frozen=True):
    """One length of the rule, `from_mm` to `to_mm` of the straight wire, with a tab to glue to the next."""

    number: int
    count: int
    from_mm: float
    to_mm: float
    marks: tuple[tuple[str, float], ...]

    @property
    def _head(self) -> Block:
        text = "The wire as a rule: cut out" + (", glue tab under edge" if self.count > 1 else "")
        return Block((Line(text, 3.5, True),))

    @property
    def width_mm(self) -> float:
        strip = self.to_mm - self.from_mm + (_TAB_MM if self.number < self.count else 0.0)
        return max(strip, self._head.width_mm) if self.number == 1 else strip

    @property
    def height_mm(self) -> float:
        return _STRIP_MM + (_HEADING_PITCH_MM if self.number == 1 else 0.0)

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'rule-1' onwards: the edge to measure with on top, its frame first, then marks."""
        groups = []
        if self.number == 1:
            groups.append(Group("rule-heading", self._head.drawn(left_mm, top_mm, "start")))
            top_mm += _HEADING_PITCH_MM
        low = top_mm + _STRIP_MM
        length = self.to_mm - self.from_mm
        frame = [[0.0, top_mm], [length, top_mm], [length, low], [0.0, low]]
        right = np.array([left_mm, 0.0])
        items: list[Item] = [Path(np.array(frame) + right, Stroke.CONTINUOUS_NARROW, closed=True)]
        if self.number < self.count:
            tab = [[length, top_mm + 1.5], [length + _TAB_MM, top_mm + 3.0]]
            tab += [[length + _TAB_MM, low - 3.0], [length, low - 1.5]]
            items.append(Path(np.array(tab) + right, Stroke.DASHED_NARROW))
        for _, at_mm in self.marks:
            x = left_mm + at_mm - self.from_mm
            items.append(Path(np.array([[x, top_mm], [x, top_mm + _TICK_MM]]), Stroke.CONTINUOUS_NARROW))
        items += self._lettering(left_mm, top_mm)
        return [*groups, Group(f"rule-{self.number}", items)]

    def _lettering(self, left_mm: float, top_mm: float) -> Iterator[Text]:
        """Under each mark its number and place; where marks crowd, the place or both are left out.

        Numbers come before the words of marks inside the ends.
        """
        names, places = _Line(left_mm, self.to_mm - self.from_mm), _Line(left_mm, self.to_mm - self.from_mm)
        for name, at_mm in sorted(self.marks, key=lambda mark: not mark[0].isdigit()):
            x = left_mm + at_mm - self.from_mm
            named = names.set(Text((x, top_mm + 7.4), name, _NUMBER_MM, "middle", bold=True))
            if named is not None:
                yield named
                place = places.set(Text((x, top_mm + 10.6), place_text(at_mm), _PLACE_MM, "middle"))
                if place is not None:
                    yield place


class _Line:
    """One line of lettering within a strip, none on another."""

    def __init__(self, left_mm: float, length_mm: float) -> None:
        self._left_mm, self._right_mm = left_mm, left_mm + length_mm
        self._taken: list[tuple[float, float]] = []

    def set(self, text: Text) -> Text | None:
        """The text, moved so that it stays within the strip; None where something stands already."""
        half = text_width_mm(text.text, text.height_mm, text.bold) / 2
        x, y = text.position
        x = min(max(x, self._left_mm + half + _INSIDE_MM), self._right_mm - half - _INSIDE_MM)
        begin, end = x - half - _BETWEEN_MM, x + half + _BETWEEN_MM
        if any(begin < b and a < end for a, b in self._taken):
            return None
        self._taken.append((x - half, x + half))
        return replace(text, position=(x, y))


def rule_strips(evaluation: Evaluation, width_mm: float) -> Sequence[RuleStrip]:
    """The rule in strips no wider than this, each mark on the strip in which it lies."""
    length = evaluation.cut_length_mm
    in_start, in_finish = end_marks_mm(evaluation)
    marks = [(str(number), at) for number, at in enumerate(mark_places_mm(evaluation), start=1)]
    marks = [*in_start, *marks, *in_finish]
    count = max(1, int(np.ceil((length - width_mm) / (width_mm - _TAB_MM))) + 1) if length > width_mm else 1
    bounds = np.linspace(0.0, length, count + 1).tolist()
    strips = []
    for i in range(count):
        low, high = bounds[i], bounds[i + 1]
        last = i == count - 1
        within = tuple(
            (n, at) for n, at in marks if low <= at and (at < high or (last and at <= high + 1e-9))
        )
        strips.append(RuleStrip(i + 1, count, low, high, within))
    return strips
