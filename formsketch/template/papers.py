"""Sheets of paper: ISO 216, and the sizes of North America (ANSI/ASME Y14.1 and common practice)."""

from __future__ import annotations

from msgspec.structs import replace

from formsketch.errors import FormSketchError
from formsketch.values import Value

# Room that printers leave white, and a little more to hold the sheet by.
MARGIN_MM = 10.0
LEAST_MARGIN_MM, MOST_MARGIN_MM = 3.0, 50.0
_INCH_MM = 25.4


class Paper(Value, frozen=True):
    """A sheet's size, its name for people, and the margin kept white; a roll is as long as it must be."""

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float = MARGIN_MM
    roll: bool = False

    @property
    def usable_width_mm(self) -> float:
        return self.width_mm - 2 * self.margin_mm

    @property
    def usable_height_mm(self) -> float:
        return self.height_mm - 2 * self.margin_mm

    @property
    def stance(self) -> str:
        """How the sheet is held: `long side across`."""
        return "long side across" if self.width_mm > self.height_mm else "short side across"

    def turned(self) -> Paper:
        """The same sheet turned a quarter: lying if it stood, upright if it lay."""
        was, becomes = ("upright", "lying") if "upright" in self.name else ("lying", "upright")
        return replace(
            self,
            name=self.name.replace(was, becomes),
            width_mm=self.height_mm,
            height_mm=self.width_mm,
        )


A4_UPRIGHT = Paper("A4 upright", 210.0, 297.0)
A4_LYING = A4_UPRIGHT.turned()
A3_UPRIGHT = Paper("A3 upright", 297.0, 420.0)
A3_LYING = A3_UPRIGHT.turned()
LETTER_UPRIGHT = Paper("Letter upright", 8.5 * _INCH_MM, 11.0 * _INCH_MM)
LEGAL_UPRIGHT = Paper("Legal upright", 8.5 * _INCH_MM, 14.0 * _INCH_MM)
# 24 inches, the usual narrow roll; as long as a PDF page may be.
ROLL = Paper("roll 610 mm wide", 24.0 * _INCH_MM, 5_000.0, roll=True)

PAPERS: dict[str, Paper] = {
    "a4": A4_UPRIGHT,
    "a3": A3_UPRIGHT,
    "letter": LETTER_UPRIGHT,
    "legal": LEGAL_UPRIGHT,
    "roll": ROLL,
}


def paper_named(key: str, lying: bool = False, margin_mm: float = MARGIN_MM) -> Paper:
    """The paper of this key, upright or lying. Raises `FormSketchError` for an unknown one, a bad margin."""
    paper = PAPERS.get(key.strip().lower())
    if paper is None:
        raise FormSketchError(f"paper: expected one of {', '.join(PAPERS)}, got {key!r}")
    if not LEAST_MARGIN_MM <= margin_mm <= MOST_MARGIN_MM:
        raise FormSketchError(
            f"margin: expected {LEAST_MARGIN_MM:g} to {MOST_MARGIN_MM:g} mm, got {margin_mm:g}"
        )
    paper = replace(paper, margin_mm=margin_mm)
    return paper.turned() if lying and not paper.roll else paper


def larger_paper(width_mm: float, height_mm: float) -> Paper:
    """A sheet larger than A3, in whole centimetres, that has this much room inside its margins."""
    sides = [10.0 * -(-(room + 2 * MARGIN_MM) // 10.0) for room in (width_mm, height_mm)]
    return Paper(f"{sides[0]:.0f} x {sides[1]:.0f} mm", sides[0], sides[1])
