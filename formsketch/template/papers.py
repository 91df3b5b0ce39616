"""Sheets of paper, ISO 216."""

from __future__ import annotations

from dataclasses import dataclass

# Room that printers leave white, and a little more to hold the sheet by.
MARGIN_MM = 10.0


@dataclass(frozen=True)
class Paper:
    """A sheet's size, and its name for people."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def usable_width_mm(self) -> float:
        return self.width_mm - 2 * MARGIN_MM

    @property
    def usable_height_mm(self) -> float:
        return self.height_mm - 2 * MARGIN_MM


A4_UPRIGHT = Paper("A4 upright", 210.0, 297.0)
A4_LYING = Paper("A4 lying", 297.0, 210.0)
A3_UPRIGHT = Paper("A3 upright", 297.0, 420.0)
A3_LYING = Paper("A3 lying", 420.0, 297.0)


def larger_paper(width_mm: float, height_mm: float) -> Paper:
    """A sheet larger than A3, in whole centimetres, that has this much room inside its margins."""
    sides = [10.0 * -(-(room + 2 * MARGIN_MM) // 10.0) for room in (width_mm, height_mm)]
    return Paper(f"{sides[0]:.0f} x {sides[1]:.0f} mm", sides[0], sides[1])
