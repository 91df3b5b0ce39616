"""The maker's own rates: metal prices with their date, minutes of work, findings, multipliers.

They lie beside the maker's own metals and never in a design: one sent to somebody else carries no rates.
No price is ever fetched; each is typed, and has the date it was typed for.
"""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from formsketch.bench.tables import read_table
from formsketch.bench.user_tables import user_tables_folder
from formsketch.errors import FormSketchError, InputError
from formsketch.files import write_atomically
from formsketch.units import GRAMS_PER_PENNYWEIGHT, GRAMS_PER_TROY_OUNCE

RATES_FILE = "rates.json"
GRAMS_PER = {"g": 1.0, "dwt": GRAMS_PER_PENNYWEIGHT, "ozt": GRAMS_PER_TROY_OUNCE}
FineMetal = Literal["gold", "silver"]
# Fine metal in the shipped alloys. Karats are 24ths; sterling, 585 and 917 are names by thousandths.
FINENESS: dict[str, tuple[FineMetal, float]] = {
    "sterling-925": ("silver", 0.925),
    "fine-silver": ("silver", 1.0),
    "gold-14k-yellow-us": ("gold", 14 / 24),
    "gold-585-yellow": ("gold", 0.585),
    "gold-18k-yellow": ("gold", 18 / 24),
    "gold-18k-rose": ("gold", 18 / 24),
    "gold-22k": ("gold", 22 / 24),
}

_Money = Annotated[float, Meta(ge=0, le=1e9)]
_Minutes = Annotated[float, Meta(ge=0, le=10_000)]
_Times = Annotated[float, Meta(ge=1, le=100)]
_Name = Annotated[str, Meta(min_length=1, max_length=80)]


class _Value(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True):
    """Immutable and strict about its keys."""


class MetalPrice(_Value, frozen=True):
    """What a metal costs: an alloy by its key in the table, or fine "gold" or "silver".

    `date` is the day the price was good for, such as 2026-11-03.
    """

    of: _Name
    price: _Money
    per: Literal["g", "dwt", "ozt"]
    date: str

    def __post_init__(self) -> None:
        """Raises ValueError for what is no day."""
        try:
            datetime.date.fromisoformat(self.date)
        except ValueError:
            raise ValueError("a date such as 2026-11-03 was expected") from None

    @property
    def per_g(self) -> float:
        return self.price / GRAMS_PER[self.per]

    @property
    def day(self) -> datetime.date:
        return datetime.date.fromisoformat(self.date)


class Alloy(_Value, frozen=True):
    """How much fine metal an alloy holds, by mass, where it differs from or is not in `FINENESS`."""

    metal: _Name
    of: FineMetal
    fineness: Annotated[float, Meta(gt=0, le=1)]


class Minutes(_Value, frozen=True):
    """Minutes of work: for the piece, or for each curved span, flare or bead as the name says."""

    straighten: _Minutes = 0.0
    mark: _Minutes = 0.0
    bend_each: _Minutes = 0.0
    hammer_each: _Minutes = 0.0
    open: _Minutes = 0.0
    bead_each: _Minutes = 0.0
    true: _Minutes = 0.0
    finish: _Minutes = 0.0


class Finding(_Value, frozen=True):
    """Something bought for the piece, such as an ear nut, and how many of it one piece takes."""

    name: _Name
    price: _Money
    count: Annotated[int, Meta(ge=0, le=1000)] = 1


class Prices(_Value, frozen=True):
    """All rates of one maker. Nothing entered is 0; a metal without a price is said to have none.

    `loss_percent` is the metal lost in the work, of the weight of the wire cut. Wholesale is the cost times
    `wholesale_times`, retail the wholesale price times `retail_times`.
    """

    title: Annotated[str, Meta(max_length=80)] = "my rates"
    currency: Annotated[str, Meta(max_length=12)] = ""
    fine: Annotated[tuple[MetalPrice, ...], Meta(max_length=2)] = ()
    alloys_bought: Annotated[tuple[MetalPrice, ...], Meta(max_length=200)] = ()
    alloys: Annotated[tuple[Alloy, ...], Meta(max_length=200)] = ()
    loss_percent: Annotated[float, Meta(ge=0, le=100)] = 0.0
    rate_per_hour: _Money = 0.0
    minutes: Minutes = Minutes()
    findings: Annotated[tuple[Finding, ...], Meta(max_length=100)] = ()
    wholesale_times: _Times = 1.0
    retail_times: _Times = 1.0

    def __post_init__(self) -> None:
        """Raises ValueError for a metal that is priced twice."""
        for what, names in (
            ("fine metal", [price.of for price in self.fine]),
            ("alloy", [price.of for price in self.alloys_bought]),
            ("fineness", [alloy.metal for alloy in self.alloys]),
        ):
            if len(set(names)) < len(names):
                raise ValueError(f"each {what} was expected once")
        if any(price.of not in ("gold", "silver") for price in self.fine):
            raise ValueError('fine "gold" or "silver" was expected')


def alloy_of(prices: Prices, metal_key: str) -> tuple[FineMetal, float] | None:
    """The fine metal in an alloy and its share, as the maker says or as its name does; None for neither."""
    for alloy in prices.alloys:
        if alloy.metal == metal_key:
            return alloy.of, alloy.fineness
    return FINENESS.get(metal_key)


def bought_as(prices: Prices, metal_key: str) -> MetalPrice | None:
    """The price this metal is reckoned by: its own where there is one, else that of the fine metal in it."""
    own = next((price for price in prices.alloys_bought if price.of == metal_key), None)
    alloy = alloy_of(prices, metal_key)
    if own is not None or alloy is None:
        return own
    return next((price for price in prices.fine if price.of == alloy[0]), None)


def checked_prices(prices: Prices) -> Prices:
    """The prices when they are within bounds. Raises `InputError` saying which is not."""
    try:
        return msgspec.convert(msgspec.to_builtins(prices), Prices, strict=True)
    except (msgspec.ValidationError, ValueError) as fault:
        what, _, place = str(fault).partition(" - at `$")
        field = place.rstrip("`").lstrip(".").replace("_", " ").replace(".", ", ").capitalize()
        for said, words in (("`float`", "a number"), (" >= ", " of at least "), (" <= ", " of at most ")):
            what = what.replace(said, words)
        raise InputError(f"{field or 'Rates'}: {what[:1].lower()}{what[1:]}.".replace("`", "")) from None


def rates_file(folder: Path | None = None) -> Path:
    """Where the maker's rates lie; the file need not exist."""
    return (user_tables_folder() if folder is None else folder) / RATES_FILE


def load_prices(file: Path) -> Prices:
    """The rates in this file, or none at all where there is no file.

    Raises `TableError` naming file and place for a file that cannot be read.
    """
    if not file.exists():
        return Prices()
    rows = list(read_table(file, "rates", Prices, "title").rows.values())
    return rows[0] if rows else Prices()


def save_prices(file: Path, prices: Prices) -> None:
    """Write the rates whole or not at all, making the folder. Raises `FormSketchError`."""
    row = {"title": prices.title, **msgspec.to_builtins(checked_prices(prices))}
    body = {"format": "formsketch-rates", "version": 1, "rates": [row]}
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise FormSketchError(f"{file}: not written, its folder cannot be made.") from fault
    text = json.dumps(body, ensure_ascii=False, indent=2, allow_nan=False)
    write_atomically(file, (text + "\n").encode("utf-8"))
