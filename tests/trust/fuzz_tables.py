"""Mutated bench tables: refused with file and row, or used; kept as they were where they are refused."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from formsketch.bench.hammers import TABLE_KIND, load_own_hammers, own_hammer
from formsketch.bench.metals import load_metals
from formsketch.bench.rates import load_prices
from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import HAMMERS_FILE, keep_row
from formsketch.bench.working_order import load_order, save_order, usual_order
from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.price import price_data, price_of
from formsketch.evaluation.report import measurement
from formsketch.shipped import resource
from tests.trust.guard import Findings, Guard
from tests.trust.mutate import mutated

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
CUFF = make_starter("open-cuff", BRASS)
RATES = {
    "format": "formsketch-rates",
    "version": 1,
    "rates": [
        {
            "title": "mine",
            "currency": "EUR",
            "fine": [{"of": "silver", "price": 0.9, "per": "g", "date": "2026-11-03"}],
            "alloys_bought": [{"of": "brass-c26000", "price": 11, "per": "ozt", "date": "2026-10-01"}],
            "alloys": [{"metal": "sterling-925", "of": "silver", "fineness": 0.925}],
            "loss_percent": 5,
            "rate_per_hour": 45,
            "minutes": {"mark": 3, "bend_each": 0.5},
            "findings": [{"name": "ear nut", "price": 0.4, "count": 2}],
            "wholesale_times": 2,
            "retail_times": 2.2,
        }
    ],
}


def _use_metals(file: Path) -> None:
    json.dumps(measurement(evaluate(CUFF, load_metals(file))), allow_nan=False)


def _use_tubes(file: Path) -> None:
    if not all(0 < tube.diameter_mm <= 500 for tube in load_tubes(file)):
        raise AssertionError("a tube of no size")


def _use_hammers(file: Path) -> None:
    load_own_hammers(file)


def _use_rates(file: Path) -> None:
    today = date(2026, 11, 27)
    json.dumps(price_data(price_of(evaluate(CUFF), load_prices(file), today), today), allow_nan=False)


def _use_order(file: Path) -> None:
    save_order(load_order(file), file.with_name("order-again.json"))


def _few(name: str, kind: str, most: int) -> dict[str, Any]:
    """A table as shipped, with its first rows only."""
    document: dict[str, Any] = json.loads(resource("tables", name).read_bytes())
    return {**document, kind: document[kind][:most]}


def _tables(folder: Path) -> list[tuple[str, bytes, Callable[[Path], None]]]:
    keep_row(HAMMERS_FILE, TABLE_KIND, own_hammer("planishing", 0.74, 0.7, 0.8, "Brass", "samples"), folder)
    order = save_order(usual_order(), folder / "order.json")
    return [
        ("metals", json.dumps(_few("metals.json", "metals", 3)).encode(), _use_metals),
        ("tubes", json.dumps(_few("tubes.json", "tubes", 6)).encode(), _use_tubes),
        ("hammers", (folder / HAMMERS_FILE).read_bytes(), _use_hammers),
        ("rates", json.dumps(RATES).encode(), _use_rates),
        ("order", order.read_bytes(), _use_order),
    ]


def fuzz_tables(guard: Guard, count: int, number: int, clock: bool = True) -> Findings:
    """Every kind of a maker's own table in turn."""
    findings, choose = Findings("bench tables", number), random.Random(number)
    tables = _tables(guard.own)
    for at in range(count):
        name, sound, use = tables[at % len(tables)]
        data = mutated(sound, choose)
        # A name of its own: tables are kept in memory until their file changes.
        file = guard.own / f"{name}-{at % 500}.json"
        file.write_bytes(data)
        with guard.case(findings, f"{name}: {data[:3000]!a}", clock):
            use(file)
        if file.read_bytes() != data:
            findings.fault("a table read is another file afterwards", name)
        if name == "hammers":
            _keep_in(file, data, findings, guard, clock)
    return findings


def _keep_in(file: Path, data: bytes, findings: Findings, guard: Guard, clock: bool) -> None:
    """A row kept in a table that cannot be used leaves it as it is."""
    hammer = own_hammer("cross-peen", 0.6, 0.5, 0.7, "Brass", "samples")
    refused = True
    with guard.case(findings, f"row kept in {data[:3000]!a}", clock):
        keep_row(file.name, TABLE_KIND, hammer, file.parent)
        refused = False
    if refused and file.read_bytes() != data:
        findings.fault("a table refused was written over", ascii(data[:3000]))
    if not refused:
        try:
            load_own_hammers(file)
        except FormSketchError as fault:
            findings.fault(f"a table written cannot be read: {fault}"[:150], ascii(data[:3000]))
