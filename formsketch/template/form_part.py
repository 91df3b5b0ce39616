"""One stage of the form on the sheet: edge, centreline, marks with their numbers, and the tubes under it."""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np

from formsketch.evaluation.evaluate import STRAIGHT_TURN_RAD, Evaluation
from formsketch.template.drawing import Circle, Group, Item, Stroke, bounds
from formsketch.template.lettering import Block, Line
from formsketch.template.plan import Placing, centreline, form_items
from formsketch.template.plan_labels import Label, label_items, mark_labels
from formsketch.template.set_items import hole_lines, pearl_circles, plan_items
from formsketch.values import Result

HEADING_HEIGHT_MM = 3.5
HEADING_PITCH_MM = 8.0


class FormPart(Result, frozen=True):
    """A form at true size under a heading, ready to be drawn anywhere.

    `name` begins the names of its groups: `form` for the finished one. `tubes_mm`: diameters of the tubes
    to draw under its spans, nan for none; empty for no tubes at all.
    """

    name: str
    heading: str
    evaluation: Evaluation
    tubes_mm: tuple[float, ...] = ()

    @cached_property
    def _labels(self) -> list[Label]:
        return _labels_of(self.evaluation, tuple(np.nan_to_num(np.array(self.tubes_mm)).tolist()))

    @cached_property
    def _about_nought(self) -> tuple[float, float, float, float]:
        left, low, right, high = self.evaluation.outline.bounds_mm
        ticks, numbers = label_items(self.evaluation, self._labels, Placing(0.0, 0.0))
        tubes = self.tubes(Placing(0.0, 0.0))
        things = plan_items(self.evaluation, Placing(0.0, 0.0))
        x0, y0, x1, y1 = bounds([*ticks, *numbers, *tubes, *things])
        return min(x0, left), min(y0, -high), max(x1, right), max(y1, -low)

    @cached_property
    def _head(self) -> Block:
        wide, high = self.evaluation.envelope_mm
        return Block(
            (Line(f"{self.heading}, true size: {wide:.1f} × {high:.1f} mm", HEADING_HEIGHT_MM, True),)
        )

    @cached_property
    def width_mm(self) -> float:
        """Room it takes, at least that of its heading."""
        x0, _, x1, _ = self._about_nought
        return max(x1 - x0, self._head.width_mm)

    @cached_property
    def height_mm(self) -> float:
        """Room it takes, heading included."""
        _, y0, _, y1 = self._about_nought
        return HEADING_PITCH_MM + y1 - y0

    def drawn(self, left_mm: float, top_mm: float, width_mm: float | None = None) -> list[Group]:
        """Heading at the left and the form in the middle of this width, else at the left too."""
        x0, y0, x1, _ = self._about_nought
        spare = 0.0 if width_mm is None else max(0.0, width_mm - (x1 - x0)) / 2
        placing = Placing(left_mm + spare - x0, top_mm + HEADING_PITCH_MM - y0)
        ticks, numbers = label_items(self.evaluation, self._labels, placing)
        line: Item = centreline(self.evaluation, placing)
        groups = [
            Group(f"{self.name}-heading", self._head.drawn(left_mm, top_mm, "start")),
            Group(f"{self.name}-outline", form_items(self.evaluation, placing)),
            Group(f"{self.name}-centreline", [line]),
            Group(f"{self.name}-marks", ticks),
            Group(f"{self.name}-mark-numbers", numbers),
        ]
        more = (("tubes", self.tubes(placing)), ("set", plan_items(self.evaluation, placing)))
        return [*groups, *(Group(f"{self.name}-{what}", items) for what, items in more if items)]

    def tubes(self, placing: Placing) -> list[Item]:
        """A circle for the tube under each bend, within the bend at its tightest place."""
        items: list[Item] = []
        trace, chain = self.evaluation.trace, self.evaluation.chain
        for span, tube_mm in enumerate(self.tubes_mm):
            if not np.isfinite(tube_mm) or tube_mm <= 0:
                continue
            part = chain.spans.start + span
            samples = slice(int(trace.first[part]), int(trace.first[part + 1]))
            turn, skew = float(chain.turn_rad[part]), float(chain.skew_rad[part])
            u = trace.u[samples]
            curvature = (turn + skew * (2 * u - 1)) / float(chain.length_mm[part])
            at = int(np.argmax(np.abs(curvature)))
            if abs(curvature[at]) * float(chain.length_mm[part]) <= STRAIGHT_TURN_RAD:
                continue
            # An arc is bent round all of its tube; elsewhere the tube touches at the tightest place.
            at = len(u) // 2 if skew == 0 else at
            inward = 1j * np.sign(curvature[at]) * trace.direction[samples][at]
            away = tube_mm / 2 + self.evaluation.diameter_mm / 2
            centre = complex(trace.z_mm[samples][at] + inward * away)
            items.append(Circle(placing.point(centre), tube_mm / 2, Stroke.CONTINUOUS_NARROW))
        return items


@lru_cache(maxsize=8)
def _labels_of(evaluation: Evaluation, tubes_mm: tuple[float, ...]) -> list[Label]:
    """Numbers of marks, kept: setting them takes most of the time that a sheet takes."""
    tubes = FormPart("", "", evaluation, tubes_mm).tubes(Placing(0.0, 0.0))
    circles = [*tubes, *pearl_circles(evaluation, Placing(0.0, 0.0))]
    return mark_labels(evaluation, circles, hole_lines(evaluation))
