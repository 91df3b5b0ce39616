"""Sheets as a PDF at true scale, one page each: lines and lettering, no picture.

The only module that draws with reportlab. Page boxes are exact, the bundled font travels inside, and the
file bears no date, so that the same sheets give the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formsketch.errors import DrawingError
from formsketch.template.drawing import Circle, Group, Item, Path, Sheet, Stroke, Text, font_name, set_text
from formsketch.values import Value

POINTS_PER_MM = 72.0 / 25.4
_FLAT, _ROUND = 0, 1  # line ends in PDF's numbering (ISO 32000-1, table 54)
_EVEN_ODD, _NON_ZERO = 0, 1  # fill rules in reportlab's numbering


def pdf_bytes(sheets: Sequence[Sheet]) -> bytes:
    """The whole file. Viewers are asked to print it unscaled; its title is the first sheet's.

    Raises `DrawingError` when there is no sheet.
    """
    from reportlab import rl_config  # late: start-up does without it
    from reportlab.pdfgen.canvas import Canvas

    if not sheets:
        raise DrawingError("a PDF: expected at least one sheet, got none")
    rl_config.useA85 = 0  # streams as bytes, not as letters: a fifth smaller, and written sooner
    stored = io.BytesIO()
    canvas = Canvas(
        stored,
        invariant=1,
        pageCompression=1,
        pdfVersion=(1, 6),  # the first that can ask for unscaled printing
        lang="en",
        initialFontName=font_name(bold=False),
    )
    _describe(canvas, sheets[0].title)
    for sheet in sheets:
        canvas.setPageSize((sheet.width_mm * POINTS_PER_MM, sheet.height_mm * POINTS_PER_MM))
        canvas.setLineJoin(_ROUND)
        _draw_all(canvas, sheet.groups, sheet.height_mm)
        canvas.showPage()
    canvas.save()
    return stored.getvalue()


def _describe(canvas: Any, title: str) -> None:
    """Title and program; reportlab's own entry would add a made-up date."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFInfo, PDFString

    class Description(PDFInfo):
        def format(self, document: Any) -> Any:
            entries = {"Title": PDFString(self.title), "Creator": PDFString(self.creator)}
            return PDFDictionary(entries).format(document)

    description = Description()
    description.title, description.creator = title or "Untitled", "FormSketch"
    canvas._doc.info = description
    canvas.setViewerPreference("PrintScaling", "None")


def _draw_all(canvas: Any, items: Sequence[Item | Group], sheet_height_mm: float) -> None:
    for item in items:
        if not isinstance(item, Group):
            _draw(canvas, item, sheet_height_mm)
        elif item.clip is None:
            _draw_all(canvas, item.items, sheet_height_mm)
        else:
            (x0, y1), (x1, y0) = _on_page(np.array(item.clip).reshape(2, 2), sheet_height_mm)
            canvas.saveState()
            window = canvas.beginPath()
            window.rect(x0, y0, x1 - x0, y1 - y0)
            canvas.clipPath(window, stroke=0, fill=0)
            _draw_all(canvas, item.items, sheet_height_mm)
            canvas.restoreState()


def _draw(canvas: Any, item: Item, sheet_height_mm: float) -> None:
    if isinstance(item, Text):
        _draw_text(canvas, item, sheet_height_mm)
        return
    rule = _NON_ZERO  # as SVG fills when nothing is said
    if isinstance(item, Circle):
        outline = canvas.beginPath()
        ((x, y),) = _on_page(np.array([item.centre]), sheet_height_mm)
        outline.circle(x, y, item.radius_mm * POINTS_PER_MM)
    elif isinstance(item, Path):
        outline = _Lines([_trace(item.points, item.closed, sheet_height_mm)])
    else:
        outline = _Lines([_trace(ring, True, sheet_height_mm) for ring in item.rings])
        rule = _EVEN_ODD if item.fill_rule == "evenodd" else _NON_ZERO
    _set_line(canvas, item.stroke, item.colour)
    if item.fill:
        canvas.setFillColorRGB(*_colour(item.fill))
    canvas.drawPath(
        outline, stroke=int(item.stroke is not None), fill=int(item.fill is not None), fillMode=rule
    )


class _Lines(Value, frozen=True):
    """A path for reportlab, its numbers written all at once, which takes a fifth of the time."""

    lines: list[str]

    def getCode(self) -> str:
        return "\n".join(self.lines)


def _trace(points: NDArray[np.float64], closed: bool, sheet_height_mm: float) -> str:
    """The operators of one line; a ten-thousandth of a point is 0.04 micrometres."""
    places = (number for place in _on_page(points, sheet_height_mm) for number in place)
    lines = "%.4f %.4f m" + " %.4f %.4f l" * (len(points) - 1) + (" h" if closed else "")
    return lines % tuple(places)


def _set_line(canvas: Any, stroke: Stroke | None, colour: str) -> None:
    if stroke is None:
        return
    canvas.setStrokeColorRGB(*_colour(colour))
    canvas.setLineWidth(stroke.width_mm * POINTS_PER_MM)
    canvas.setLineCap(_FLAT if stroke.dash_mm else _ROUND)  # dashes keep their lengths, as in the SVG
    canvas.setDash([part * POINTS_PER_MM for part in stroke.dash_mm])


def _draw_text(canvas: Any, text: Text, sheet_height_mm: float) -> None:
    ((x, y),) = _on_page(np.array([text.position]), sheet_height_mm)
    letters, drop = set_text(text.text), text.baseline_drop_mm * POINTS_PER_MM
    write = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[text.anchor]
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(-text.angle_deg)  # PDF turns the other way round: its y runs up
    canvas.setFont(font_name(text.bold), text.font_size_mm * POINTS_PER_MM)
    canvas.setFillColorRGB(*_colour(text.colour))
    write(0.0, -drop, letters)
    canvas.restoreState()


def _on_page(points: NDArray[np.float64], sheet_height_mm: float) -> list[list[float]]:
    """Places on the sheet in points from the page's lower left corner, y up."""
    flipped: list[list[float]] = (
        np.column_stack([points[:, 0], sheet_height_mm - points[:, 1]]) * POINTS_PER_MM
    ).tolist()
    return flipped


def _colour(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    return red, green, blue
