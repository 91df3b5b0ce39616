"""The straight wire as a strip to cut out and wrap or lay as a rule: edge, marks, numbers, distances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_words import place_text
from formsketch.template.drawing import Group, Item, Path, Stroke, Text, text_width_mm
from formsketch.template.lettering import Block, Line
from formsketch.template.wire_strip import mark_places_mm

_STRIP_MM, _TAB_MM, _HEADING_PITCH_MM = 11.0, 8.0, 6.5
_NUMBER_MM, _PLACE_MM, _BETWEEN_MM = 3.0, 2.5, 1.0


@dataclass(frozen=True, eq=False)
class RuleStrip:
    """One length of the rule, `from_mm` to `to_mm` of the straight wire, with a tab to glue to the next."""

    number: int
    count: int
    from_mm: float
    to_mm: float
    marks: tuple[tuple[str, float], ...]

    @property
    def width_mm(self) -> float:
        return self.to_mm - self.from_mm + (_TAB_MM if self.number < self.count else 0.0)

    @property
    def height_mm(self) -> float:
        return _STRIP_MM + (_HEADING_PITCH_MM if self.number == 1 else 0.0)

    def drawn(self, left_mm: float, top_mm: float) -> list[Group]:
        """Group 'rule-1' onwards: the edge to measure with on top, its frame first, then marks."""
        groups = []
        if self.number == 1:
            heading = Block((Line("The wire as a rule: cut out, glue tab under edge", 3.5, True),))
            groups.append(Group("rule-heading", heading.drawn(left_mm, top_mm, "start")))
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
        free_from = -np.inf
        for name, at_mm in self.marks:
            x = left_mm + at_mm - self.from_mm
            items.append(Path(np.array([[x, top_mm], [x, top_mm + 4.0]]), Stroke.CONTINUOUS_NARROW))
            place = place_text(at_mm)
            wide = max(text_width_mm(name, _NUMBER_MM, True), text_width_mm(place, _PLACE_MM))
            # At the ends lettering stays within the strip; where marks crowd, the line alone is drawn.
            middle = min(max(x, left_mm + wide / 2 + 0.5), left_mm + length - wide / 2 - 0.5)
            if middle - wide / 2 < free_from:
                continue
            items.append(Text((middle, top_mm + 7.4), name, _NUMBER_MM, "middle", bold=True))
            items.append(Text((middle, top_mm + 10.4), place, _PLACE_MM, "middle"))
            free_from = middle + wide / 2 + _BETWEEN_MM
        return [*groups, Group(f"rule-{self.number}", items)]


def rule_strips(evaluation: Evaluation, width_mm: float) -> Sequence[RuleStrip]:
    """The rule in strips no wider than this, each mark on the strip in which it lies."""
    length = evaluation.cut_length_mm
    marks = [(str(number), at) for number, at in enumerate(mark_places_mm(evaluation), start=1)]
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
