"""What a piece costs to make, line by line: metal, labour, findings, and what is asked for it.

Sums are kept whole and rounded only where they are shown. A price is an estimate until the piece is weighed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np

from formsketch.bench.rates import MetalPrice, Minutes, Prices, alloy_of, bought_as
from formsketch.errors import InputError
from formsketch.evaluation.cautions import PRECIOUS_FROM_G_PER_CM3
from formsketch.evaluation.evaluate import Evaluation
from formsketch.units import weight_text
from formsketch.values import Value

# Gold and silver prices move by several per cent in a month; judgement.
OLD_AFTER_DAYS = 14
# Weights of gold and silver alloys are good to about this share until weighed.
WEIGHT_TRUST = 0.02
MINUTES_PER_HOUR = 60.0
# Operation, its words, and what it is counted by ('' for once a piece).
OPERATIONS = (
    ("straighten", "Straighten", ""),
    ("mark", "Mark", ""),
    ("bend_each", "Bend", "loops"),
    ("hammer_each", "Hammer", "flares"),
    ("open", "Open", "turns over"),
    ("bead_each", "Melt beads", "beads"),
    ("true", "True", ""),
    ("finish", "Finish", ""),
)


class Work(Value, frozen=True):
    """How often there is something to do: curved spans, hammer blows' places, beads; whether it is opened."""

    loops: int
    flares: int
    beads: int
    opened: bool


class PriceLine(Value, frozen=True):
    """One line of a price: what, how much of it, and the sum; None for a sum that is not known."""

    label: str
    detail: str
    amount: float | None


class PriceSheet(Value, frozen=True):
    """A piece priced: lines, sums, what the sums rest on. `cost` is None while the metal has no price."""

    metal: PriceLine
    labour: tuple[PriceLine, ...]
    findings: tuple[PriceLine, ...]
    currency: str
    minutes: float
    wholesale_times: float
    retail_times: float
    dated: date | None
    notes: tuple[str, ...]

    @property
    def labour_sum(self) -> float:
        return math.fsum(line.amount or 0.0 for line in self.labour)

    @property
    def findings_sum(self) -> float:
        return math.fsum(line.amount or 0.0 for line in self.findings)

    @property
    def cost(self) -> float | None:
        if self.metal.amount is None:
            return None
        return self.metal.amount + self.labour_sum + self.findings_sum

    @property
    def wholesale(self) -> float | None:
        return None if self.cost is None else self.cost * self.wholesale_times

    @property
    def retail(self) -> float | None:
        return None if self.wholesale is None else self.wholesale * self.retail_times


def work_in(evaluation: Evaluation) -> Work:
    """What the design asks of the hands, repeats written out. A flare across marks is hammered once."""
    spans = evaluation.spans
    flares, opened = 0, False
    for run in evaluation.design.form.runs:
        begun = (span.flare for span in run.spans if span.flare is not None and span.flare.thickness < 1)
        flares += run.times * sum(flare.begin == 0.0 for flare in begun)
        opened |= run.turned_over and run.times > 1
        opened |= any(span.turned_over for span in run.spans)
    return Work(
        loops=int(np.count_nonzero(np.isfinite(spans.finished_radius_mm))),
        flares=flares,
        beads=sum(end.bead_diameter_mm > 0 for end in evaluation.ends),
        opened=opened,
    )


def price_of(evaluation: Evaluation, prices: Prices, today: date) -> PriceSheet:
    """The piece priced at these rates, its metal price's age counted to `today`."""
    bought = bought_as(prices, evaluation.metal.key)
    labour = tuple(_labour_lines(work_in(evaluation), prices))
    return PriceSheet(
        metal=_metal_line(evaluation, prices, bought),
        labour=tuple(line for line, _ in labour),
        findings=tuple(
            PriceLine(finding.name, f"{finding.count} × {finding.price:,.2f}", finding.count * finding.price)
            for finding in prices.findings
            if finding.count
        ),
        currency=prices.currency,
        minutes=math.fsum(minutes for _, minutes in labour),
        wholesale_times=prices.wholesale_times,
        retail_times=prices.retail_times,
        dated=None if bought is None else bought.day,
        notes=tuple(_notes(evaluation, prices, bought, today)),
    )


def cost_of(evaluation: Evaluation, prices: Prices) -> float:
    """What the piece costs to make. Raises `InputError` while its metal has no price.

    Cheaper than `price_of`, for a grid or a search: no notes, no dates.
    """
    line = _metal_line(evaluation, prices, bought_as(prices, evaluation.metal.key))
    if line.amount is None:
        raise InputError(f"No price has been entered for {evaluation.metal.name}.")
    labour = math.fsum(line.amount or 0.0 for line, _ in _labour_lines(work_in(evaluation), prices))
    return line.amount + labour + math.fsum(f.count * f.price for f in prices.findings)


def price_data(sheet: PriceSheet, today: date) -> dict[str, Any]:
    """A price for JSON; sums not rounded, null where the metal has no price."""
    return {
        "currency": sheet.currency,
        "lines": [
            {"what": line.label, "detail": line.detail, "amount": line.amount}
            for line in (sheet.metal, *sheet.labour, *sheet.findings)
        ],
        "metal": sheet.metal.amount,
        "labour": sheet.labour_sum,
        "labour_minutes": sheet.minutes,
        "findings": sheet.findings_sum,
        "cost": sheet.cost,
        "wholesale": sheet.wholesale,
        "retail": sheet.retail,
        "metal_price_date": None if sheet.dated is None else sheet.dated.isoformat(),
        "metal_price_age_days": None if sheet.dated is None else (today - sheet.dated).days,
        "notes": list(sheet.notes),
    }


def total_lines(sheet: PriceSheet) -> tuple[PriceLine, ...]:
    """The sums under the lines: the cost, and what is asked for the piece."""
    return (
        PriceLine("Cost", "", sheet.cost),
        PriceLine("Wholesale", f"× {sheet.wholesale_times:g}", sheet.wholesale),
        PriceLine("Retail", f"× {sheet.retail_times:g}", sheet.retail),
    )


def price_text(sheet: PriceSheet) -> str:
    """The lines, the sums and what they rest on, aligned for a terminal."""
    lines = (sheet.metal, *sheet.labour, *sheet.findings)
    rows = [(line, money_text(line.amount, sheet.currency)) for line in (*lines, *total_lines(sheet))]
    wide, broad = max(len(line.label) for line, _ in rows), max(len(amount) for _, amount in rows)
    texts = [f"{line.label:<{wide}}  {amount:>{broad}}  {line.detail}".rstrip() for line, amount in rows]
    return "\n".join([*texts[: len(lines)], "", *texts[len(lines) :], "", *sheet.notes])


def money_text(amount: float | None, currency: str) -> str:
    """A sum for people, to the cent, with the currency as the maker typed it; "not known" for None."""
    if amount is None:
        return "not known"
    return f"{amount:,.2f} {currency}".strip()


def age_text(dated: date, today: date) -> str:
    """How old a price is: "of today", "3 days old"."""
    days = (today - dated).days
    if days < 0:
        return f"dated {-days} day{'s' * (days < -1)} ahead"
    return "of today" if days == 0 else f"{days} day{'s' * (days > 1)} old"


def _metal_line(evaluation: Evaluation, prices: Prices, bought: MetalPrice | None) -> PriceLine:
    weight_g = evaluation.weight_g * (1 + prices.loss_percent / 100)
    loss = f", {prices.loss_percent:g} % loss in it" if prices.loss_percent else ""
    name = f"{evaluation.metal.name}, {weight_text(weight_g)}{loss}"
    if bought is None:
        return PriceLine("Metal", name, None)
    share = _priced_share(prices, evaluation.metal.key, bought)
    fine = "" if share is None else f", {1000 * share:.0f} in 1000 fine"
    priced = f"{bought.price:,.2f} per {bought.per}{f' of fine {bought.of}' if share is not None else ''}"
    return PriceLine("Metal", f"{name}{fine}, at {priced}", weight_g * bought.per_g * (share or 1.0))


def _priced_share(prices: Prices, metal_key: str, bought: MetalPrice) -> float | None:
    """The share of the alloy that the price is for; None where the price is that of the alloy itself."""
    alloy = alloy_of(prices, metal_key)
    return None if bought in prices.alloys_bought or alloy is None else alloy[1]


def _labour_lines(work: Work, prices: Prices) -> Iterator[tuple[PriceLine, float]]:
    """Each operation that takes time, and its minutes."""
    counts = {"": 1, "loops": work.loops, "flares": work.flares, "beads": work.beads}
    counts["turns over"] = int(work.opened)
    for field, words, counted_by in OPERATIONS:
        each: float = getattr(prices.minutes, field)
        minutes = each * counts[counted_by]
        if not minutes:
            continue
        count = counts[counted_by]
        counted = counted_by if count > 1 else counted_by[:-1]
        times = f"{count} {counted} × " if field.endswith("_each") else ""
        amount = minutes / MINUTES_PER_HOUR * prices.rate_per_hour
        yield PriceLine(words, f"{times}{each:g} min", amount), minutes


def _notes(evaluation: Evaluation, prices: Prices, bought: MetalPrice | None, today: date) -> Iterator[str]:
    if bought is None:
        yield f"No price has been entered for {evaluation.metal.name}."
    elif not 0 <= (today - bought.day).days <= OLD_AFTER_DAYS:
        yield f"The metal price is {age_text(bought.day, today)}; look up the price of the day."
    if prices.minutes == Minutes():
        yield "No minutes of work have been entered."
    elif not prices.rate_per_hour:
        yield "No rate for an hour of work has been entered."
    if evaluation.metal.density_g_per_cm3 > PRECIOUS_FROM_G_PER_CM3:
        amount = _metal_line(evaluation, prices, bought).amount
        metal = "" if amount is None else f": ± {money_text(WEIGHT_TRUST * amount, prices.currency)} of metal"
        yield (
            f"Weights of gold and silver alloys are good to about {100 * WEIGHT_TRUST:.0f} % until "
            f"weighed{metal}."
        )
    if evaluation.set_on.is_weighed:
        yield "Pearls and stones are not metal and not in the weight: enter them as findings."
    yield "Prices are estimates until the piece is weighed."
