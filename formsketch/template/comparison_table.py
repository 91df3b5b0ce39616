"""What a comparison sheet says: titles, figures as text, and the room they take."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from formsketch.comparison.differences import difference_rows
from formsketch.comparison.variants import Candidate
from formsketch.template.drawing import text_width_mm
from formsketch.template.lettering import printable
from formsketch.template.set_items import room_mm
from formsketch.values import Result

FIGURE_MM = 2.5
# From label to value, and from value to difference.
FIGURE_GAPS_MM = (3.0, 2.5)


class ComparisonTable(Result, frozen=True):
    """The candidates with their figures as text, and the widths the texts take."""

    candidates: Sequence[Candidate]

    @cached_property
    def figures(self) -> list[list[tuple[str, str, str]]]:
        """For each candidate its figures: label, value, difference; none where it cannot be measured."""
        rows = difference_rows(self.candidates)
        return [
            [(row.label, row.values[i], row.differences[i]) for row in rows]
            if one.measured is not None
            else []
            for i, one in enumerate(self.candidates)
        ]

    @cached_property
    def widths_mm(self) -> tuple[float, float, float]:
        """Width of labels, values and differences."""
        widths = [0.0, 0.0, 0.0]
        for figures in self.figures:
            for texts in figures:
                for column, text in enumerate(texts):
                    widths[column] = max(widths[column], text_width_mm(text, FIGURE_MM, bold=column == 1))
        return widths[0], widths[1], widths[2]

    @property
    def figures_width_mm(self) -> float:
        """Width of one column of figures."""
        return sum(self.widths_mm) + sum(FIGURE_GAPS_MM)

    @cached_property
    def form_sizes_mm(self) -> list[tuple[float, float]]:
        """Width and height of each form with what is set on it at true size, 0 for none."""
        return [(0.0, 0.0) if c.measured is None else room_mm(c.measured) for c in self.candidates]

    @cached_property
    def titles(self) -> str:
        """The title that all designs share, else a general one."""
        titles = {c.design.title for c in self.candidates if c.design is not None}
        only = printable(titles.pop()).strip() if len(titles) == 1 else ""
        return f"{only}, compared" if only else "Forms compared"

    @cached_property
    def base(self) -> Candidate:
        return next(c for c in self.candidates if c.measured is not None)
