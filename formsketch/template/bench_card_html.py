"""The bench card as one HTML page that needs nothing else, its picture at true scale (HTML 5, CSS in mm)."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_steps import bench_steps, tubes_to_fetch
from formsketch.template.drawing import Group, Sheet, bounds
from formsketch.template.lettering import printable, title_text
from formsketch.template.plan import Placing, form_items
from formsketch.template.plan_labels import label_items, mark_labels
from formsketch.template.svg import svg_text
from formsketch.template.template import refuse_stopped
from formsketch.template.title_block import caution_texts, cut_text, facts_of

_ROOM_MM = 3.0
_STYLE = """
body { font: 11pt/1.4 "Noto Sans", sans-serif; margin: 12mm; max-width: 186mm; }
html { color: #000; background: #fff; }
h1 { font-size: 18pt; margin: 0 0 1mm; } h2 { font-size: 13pt; margin: 5mm 0 1mm; break-after: avoid; }
.within { float: right; font-weight: normal; font-size: 10pt; }
ul { list-style: none; margin: 0; padding: 0; } li { margin: 0 0 1mm 7mm; text-indent: -7mm; }
input { width: 4mm; height: 4mm; margin: 0 3mm 0 0; vertical-align: -0.5mm; }
.caution { border-left: 1mm solid #000; padding-left: 3mm; margin: 1mm 0; }
dl { display: grid; grid-template-columns: 25mm auto; margin: 2mm 0; } dd { margin: 0; }
svg { display: block; margin: 3mm 0; } .bar { width: 100mm; border-top: 0.5mm solid #000; margin: 6mm 0 1mm; }
"""


def card_html(evaluation: Evaluation, order: Sequence[str] | None = None) -> str:
    """The whole page, to be stored as UTF-8; the same evaluation gives the same page.

    Raises `FormSketchError` when the form cannot be made as it is.
    """
    refuse_stopped(evaluation)
    title = escape(title_text(evaluation.design.title))
    facts = "".join(f"<dt>{escape(a)}</dt><dd>{escape(b)}</dd>" for a, b in facts_of(evaluation))
    body = [
        f"<h1>{title}</h1>",
        f"<p><b>{escape(cut_text(evaluation))}</b></p>",
        f"<dl>{facts}</dl>",
        _picture(evaluation),
        '<div class="bar"></div>',
        "<p>Print at 100 %: this bar is 100 mm long; if it is not, the picture is not true.</p>",
    ]
    tubes = tubes_to_fetch(evaluation)
    if tubes:
        body += ["<h2>Tubes to fetch</h2>", _list(tubes)]
    for number, step in enumerate(bench_steps(evaluation, order), start=1):
        within = f'<span class="within">{escape(step.within)}</span>' if step.within else ""
        body += [f"<h2>{number}. {escape(step.title)} {within}</h2>", _list(step.lines)]
        if step.caution:
            body.append(f'<p class="caution">{escape(step.caution)}</p>')
    cautions = caution_texts(evaluation)
    if cautions:
        body.append("<h2>Cautions</h2>")
        body += [f'<p class="caution">{escape(text)}</p>' for text in cautions]
    notes = printable(evaluation.design.notes).strip()
    if notes:
        body += ["<h2>Notes</h2>", f"<p>{escape(notes)}</p>"]
    inside = "\n".join(body)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{title}: bench card</title>\n"
        f"<style>{_STYLE}</style>\n</head>\n<body>\n{inside}\n</body>\n</html>\n"
    )


def _list(lines: Sequence[str]) -> str:
    """Lines with a box to tick each."""
    ticked = [f'<li><input type="checkbox">{escape(printable(line))}</li>' for line in lines]
    return f"<ul>{''.join(ticked)}</ul>"


def _picture(evaluation: Evaluation) -> str:
    """The finished form with its marks as inline SVG in mm."""
    labels = mark_labels(evaluation)
    ticks, numbers = label_items(evaluation, labels, Placing(0.0, 0.0))
    left, low, right, high = evaluation.outline.bounds_mm
    x0, y0, x1, y1 = bounds([*ticks, *numbers])
    x0, y0, x1, y1 = min(x0, left), min(y0, -high), max(x1, right), max(y1, -low)
    placing = Placing(_ROOM_MM - x0, _ROOM_MM - y0)
    ticks, numbers = label_items(evaluation, labels, placing)
    groups = [Group("form-outline", form_items(evaluation, placing)), Group("form-marks", [*ticks, *numbers])]
    sheet = Sheet(x1 - x0 + 2 * _ROOM_MM, y1 - y0 + 2 * _ROOM_MM, "The finished form", groups)
    text = svg_text(sheet)
    return text[text.index("<svg") :]
