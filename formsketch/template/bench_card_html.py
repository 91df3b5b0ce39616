"""The bench card as one HTML page that needs nothing else, its picture at true scale (HTML 5, CSS in mm)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from formsketch.bench.working_order import WorkStep
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_card_text import Section, card_text
from formsketch.template.bench_section import CAUTION
from formsketch.template.bench_work import Table
from formsketch.template.drawing import Sheet
from formsketch.template.form_part import FormPart
from formsketch.template.svg import svg_text
from formsketch.template.template import FINISHED_HEADING

_ROOM_MM = 3.0
# How many things stand beside each other: the page is lettered in whatever font there is.
_MOST_ABREAST = 4
_MARGIN_MM = 12.0
# What both A4 and Letter have: the shorter way of one, the narrower way of the other.
_SHEET_MM = (210.0, 279.4)
_LARGE = (
    "The picture is larger than a sheet of A4 or Letter; this page is set for one of {:.0f} by {:.0f} mm: "
    "print it as large as that, or take the card as PDF, which lays the picture over several sheets."
)
_STYLE = """
html { color: #000; background: #fff; }
body { font: 12pt/1.4 "Noto Sans", "DejaVu Sans", sans-serif; margin: 8mm auto; max-width: 180mm; }
h1 { font-size: 20pt; margin: 0; } h2 { font-size: 15pt; margin: 5mm 0 1mm; break-after: avoid; }
.within { float: right; font-weight: normal; font-size: 11pt; }
tr, li, p { break-inside: avoid; }
ul { list-style: none; margin: 0; padding: 0; } li { margin: 0 0 1mm 8mm; text-indent: -8mm; }
input { width: 4.5mm; height: 4.5mm; margin: 0 3.5mm 0 0; vertical-align: -0.7mm; }
.caution { border-left: 1.2mm solid #000; padding-left: 3mm; margin: 1mm 0 1mm 3mm; }
table { border-collapse: collapse; margin: 0 0 1mm; } td, th { text-align: left; vertical-align: top; }
td, th { padding: 0.4mm 3.5mm 0.4mm 0; } th { font-weight: normal; font-size: 11pt; }
.abreast td, .ticked td, th { white-space: nowrap; } .ticked td:nth-child(2) { white-space: normal; }
td:first-child b { white-space: nowrap; }
thead tr { border-bottom: 0.2mm solid #000; } td.tick, th.tick { padding-right: 0; }
svg { display: block; margin: 3mm 0; } .bar { width: 100mm; border-top: 0.5mm solid #000; margin: 6mm 0 1mm; }
@media print {
body { font-size: 10.5pt; line-height: 1.25; margin: 0; max-width: 186mm; }
h1 { font-size: 17pt; } h2 { font-size: 12.5pt; margin: 3mm 0 0.5mm; } .within, th { font-size: 10pt; }
p { margin: 1mm 0; } li { margin: 0 0 0.6mm 6.5mm; text-indent: -6.5mm; }
input { width: 3.4mm; height: 3.4mm; margin: 0 3mm 0 0; vertical-align: -0.4mm; }
td, th { padding: 0.1mm 3.5mm 0.1mm 0; } svg { margin: 1mm 0; } .bar { margin: 3mm 0 1mm; }
}
"""


def card_html(evaluation: Evaluation, order: Sequence[WorkStep] | None = None) -> str:
    """The whole page, to be stored as UTF-8; the same evaluation gives the same page.

    Raises `FormSketchError` when the form cannot be made as it is.
    """
    text = card_text(evaluation, order)
    title = escape(text.title)
    picture, *size_mm = _picture(evaluation)
    sheet_mm = [max(own, size + 2 * _MARGIN_MM) for own, size in zip(_SHEET_MM, size_mm, strict=True)]
    large = any(needed > own for needed, own in zip(sheet_mm, _SHEET_MM, strict=True))
    # A browser would make the page smaller to fit its sheet, and the picture with it.
    page = f"size: {sheet_mm[0]:.2f}mm {sheet_mm[1]:.2f}mm; " if large else ""
    body = [
        f"<h1>{title}</h1>",
        f"<p><b>{escape(text.cut)}</b></p>",
        *_section(text.facts),
        picture,
        *([f"<p>{_LARGE.format(*sheet_mm)}</p>"] if large else []),
        '<div class="bar"></div>',
        "<p>Print at 100 %: this bar is 100 mm long; if it is not, the picture is not true.</p>",
    ]
    body += [line for section in text.sections for line in _section(section)]
    inside = "\n".join(body)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{title}: bench card</title>\n"
        f"<style>\n@page {{ {page}margin: {_MARGIN_MM:g}mm; }}{_STYLE}</style>\n</head>\n"
        f"<body>\n{inside}\n</body>\n</html>\n"
    )


def _section(section: Section) -> Iterator[str]:
    yield f'<section id="{section.name}">'
    if section.heading:
        within = f' <span class="within">{escape(section.aside)}</span>' if section.aside else ""
        yield f"<h2>{escape(section.heading)}{within}</h2>"
    if section.lines:
        yield "<ul>" if section.ticked else "<div>"
        for line in section.lines:
            said = escape(line)
            yield f'<li><input type="checkbox">{said}</li>' if section.ticked else f"<p>{said}</p>"
        yield "</ul>" if section.ticked else "</div>"
    if section.table is not None:
        yield from _table(section.table, section.ticked)
    for caution in section.cautions:
        yield f'<p class="caution">{CAUTION}: {escape(caution)}</p>'
    yield "</section>"


def _table(table: Table, ticked: bool) -> Iterator[str]:
    kind = ("abreast" if table.abreast > 1 else "ticked") if ticked else "read"
    yield f'<table class="{kind}">'
    abreast = min(table.abreast, len(table.rows), _MOST_ABREAST)
    if table.headings:
        yield f"<thead><tr>{''.join(_cells(table.headings, 'th', ticked)) * abreast}</tr></thead>"
    yield "<tbody>"
    for at in range(0, len(table.rows), abreast):
        things = table.rows[at : at + abreast]
        yield f"<tr>{''.join(cell for thing in things for cell in _cells(thing, 'td', ticked))}</tr>"
    yield "</tbody></table>"


def _cells(texts: Sequence[str], tag: str, ticked: bool) -> Iterator[str]:
    """One thing: its box, and its texts."""
    if ticked:
        yield '<td class="tick"><input type="checkbox"></td>' if tag == "td" else '<th class="tick"></th>'
    for at, text in enumerate(texts):
        said = escape(text)
        yield f"<td><b>{said}</b></td>" if at == 0 and tag == "td" else f"<{tag}>{said}</{tag}>"


def _picture(evaluation: Evaluation) -> tuple[str, float, float]:
    """The finished form as it stands on the sheets, as inline SVG in mm, and how wide and high it is."""
    part = FormPart("form", FINISHED_HEADING, evaluation)
    wide, high = part.width_mm + 2 * _ROOM_MM, part.height_mm + 2 * _ROOM_MM
    sheet = Sheet(wide, high, FINISHED_HEADING, part.drawn(_ROOM_MM, _ROOM_MM))
    text = svg_text(sheet)
    return text[text.index("<svg") :], wide, high
