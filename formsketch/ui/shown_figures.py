"""The figures that forms can be compared by in the window: those of the form, and what it costs."""

from __future__ import annotations

from formsketch.bench.rates import Prices, load_prices, rates_file
from formsketch.comparison.differences import FIGURES, Figure, price_figure
from formsketch.errors import FormSketchError


class RatesInHand:
    """The maker's rates, read again when their file has changed; none while it cannot be read."""

    def __init__(self) -> None:
        self._read: tuple[float, Prices] | None = None

    def __call__(self) -> Prices:
        file = rates_file()
        changed = file.stat().st_mtime if file.is_file() else 0.0
        if self._read is None or self._read[0] != changed:
            try:
                self._read = changed, load_prices(file)
            except FormSketchError:
                # The price page says what is wrong with it.
                self._read = changed, Prices()
        return self._read[1]


def figures_with_price() -> tuple[Figure, ...]:
    """All figures of a form, and at last what it costs to make."""
    return (*FIGURES, price_figure(RatesInHand()))
