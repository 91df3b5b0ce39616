"""The figures forms are compared by, and how each differs from the first form's."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from formsketch.bench.rates import Prices
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.price import cost_of, money_text
from formsketch.units import length_text, percent_text, ratio_text, weight_text
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.comparison.variants import Candidate

SAME = "same"
NONE = "none"


class Figure(Value, frozen=True):
    """A figure of a form: its label, its values by name, and the text that shows them together.

    `without` is shown where a form has no such figure.
    """

    label: str
    names: tuple[str, ...]
    values: Callable[[Evaluation], tuple[float | None, ...]]
    text: Callable[..., str]
    without: str = NONE


class DifferenceRow(Value, frozen=True):
    """One figure of all candidates, in their order: texts with unit, and texts of the differences.

    Both are empty where a candidate cannot be measured; the base itself has no difference.
    """

    label: str
    values: tuple[str, ...]
    differences: tuple[str, ...]


def _share_text(share: float) -> str:
    return percent_text(100 * share)


FIGURES = (
    Figure("Weight", ("weight_g",), lambda e: (e.weight_g,), weight_text),
    Figure("Cut length", ("cut_length_mm",), lambda e: (e.cut_length_mm,), length_text),
    Figure(
        "Height × length",
        ("height_mm", "length_mm"),
        lambda e: (e.envelope_mm[1], e.envelope_mm[0]),
        lambda height, length: f"{height:.1f} × {length:.1f} mm",
    ),
    Figure("Widest flare", ("widest_mm",), lambda e: (e.widest_mm,), length_text),
    Figure("Thinnest", ("thinnest_mm",), lambda e: (e.thinnest_mm,), length_text),
    Figure("Loop / wire", ("loop_to_wire",), lambda e: (e.proportion.loop_to_wire,), ratio_text),
    Figure("Wire / height", ("wire_to_height",), lambda e: (e.proportion.wire_to_height,), _share_text),
    Figure("Flare / wire", ("flare_to_wire",), lambda e: (e.proportion.flare_to_wire,), ratio_text),
    Figure(
        "Metal / hull", ("silhouette_to_hull",), lambda e: (e.proportion.silhouette_to_hull,), _share_text
    ),
)


def price_figure(rates: Callable[[], Prices]) -> Figure:
    """What a form costs to make at the maker's rates, asked for each time; none without a metal price."""

    def cost(evaluation: Evaluation) -> tuple[float | None]:
        try:
            return (cost_of(evaluation, rates()),)
        except FormSketchError:
            return (None,)

    def text(amount: float) -> str:
        return money_text(amount, rates().currency)

    return Figure("Cost to make", ("cost",), cost, text, "not priced")


def base_of(candidates: Sequence[Candidate]) -> Evaluation | None:
    """The evaluation all others are held against: the first there is."""
    return next((one.measured for one in candidates if one.measured is not None), None)


def difference_rows(
    candidates: Sequence[Candidate], figures: Sequence[Figure] = FIGURES
) -> list[DifferenceRow]:
    """Every figure of every candidate, with its difference from the first that can be measured."""
    base = base_of(candidates)
    rows = []
    for figure in figures:
        measured = [None if one.measured is None else figure.values(one.measured) for one in candidates]
        held_against = None if base is None else figure.values(base)
        rows.append(
            DifferenceRow(
                figure.label,
                tuple("" if values is None else _value_text(figure, values) for values in measured),
                tuple(
                    ""
                    if values is None or held_against is None or one.measured is base
                    else _difference_text(values, held_against)
                    for one, values in zip(candidates, measured, strict=True)
                ),
            )
        )
    return rows


def difference_percents(evaluation: Evaluation, base: Evaluation) -> dict[str, float | None]:
    """Difference of each figure from the base's in per cent of it, by name; None where there is no figure."""
    return {
        name: _percent(value, before)
        for figure in FIGURES
        for name, value, before in zip(
            figure.names, figure.values(evaluation), figure.values(base), strict=True
        )
    }


def _percent(value: float | None, base: float | None) -> float | None:
    return None if value is None or not base else 100 * (value / base - 1)


def _value_text(figure: Figure, values: tuple[float | None, ...]) -> str:
    return figure.without if None in values else figure.text(*values)


def _difference_text(values: tuple[float | None, ...], base: tuple[float | None, ...]) -> str:
    percents = [_percent(value, before) for value, before in zip(values, base, strict=True)]
    texts = [percent_text(percent, signed=True) for percent in percents if percent is not None]
    # Told apart by what is shown: nothing to be seen is no difference.
    texts = [text if text.strip("+−0. %") else SAME for text in texts]
    if len(set(texts)) > 1:
        return ", ".join(texts)
    return texts[0] if texts else ""
