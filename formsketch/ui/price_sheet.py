"""A price as a page to read: lines and sums of the design, what they rest on, its variants beneath."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

from formsketch.bench.rates import Prices
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.price import (
    PriceLine,
    PriceSheet,
    age_text,
    money_text,
    price_of,
    total_lines,
)


def sheet_html(forms: Sequence[tuple[str, Evaluation]], prices: Prices, today: date) -> str:
    """The first form priced line by line, and every form's sums where there are several."""
    title, first = forms[0]
    sheet = price_of(first, prices, today)
    html = [f"<h3>{escape(first.design.title or title)}</h3>", _lines_html(sheet)]
    if sheet.dated is not None:
        html.append(f"<p>Metal price of {sheet.dated}, {age_text(sheet.dated, today)}.</p>")
    html += [f"<p>{escape(note)}</p>" for note in sheet.notes]
    if len(forms) > 1:
        html.append(_variants_html(prices, today, forms))
    return "".join(html)


def _lines_html(sheet: PriceSheet) -> str:
    def row(line: PriceLine, strong: bool = False) -> str:
        money = escape(money_text(line.amount, sheet.currency))
        label = f"<b>{escape(line.label)}</b>" if strong else escape(line.label)
        return (
            f"<tr><td>{label}&nbsp;&nbsp;</td><td>{escape(line.detail)}</td>"
            f"<td align=right>&nbsp;&nbsp;{f'<b>{money}</b>' if strong else money}</td></tr>"
        )

    lines = [row(line) for line in (sheet.metal, *sheet.labour, *sheet.findings)]
    lines += [row(line, strong=True) for line in total_lines(sheet)]
    return f'<table width="100%" cellpadding="3">{"".join(lines)}</table>'


def _variants_html(prices: Prices, today: date, forms: Sequence[tuple[str, Evaluation]]) -> str:
    """Each variant's price beside the design's."""
    rows = [
        "<tr><td></td><td align=right>Cost</td><td align=right>Wholesale</td><td align=right>Retail</td></tr>"
    ]
    for title, form in forms:
        sheet = price_of(form, prices, today)
        sums = (money_text(line.amount, prices.currency) for line in total_lines(sheet))
        cells = "".join(f"<td align=right>&nbsp;&nbsp;{escape(text)}</td>" for text in sums)
        rows.append(f"<tr><td>{escape(title)}</td>{cells}</tr>")
    return f'<h3>Beside its variants</h3><table width="100%" cellpadding="3">{"".join(rows)}</table>'
