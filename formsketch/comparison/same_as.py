"""The same look, weight or price in another metal, size or wire: solved, and then the wire one can buy.

The answer is a variant of the design, so it can be kept as one.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Literal

from msgspec import field
from msgspec.structs import replace

from formsketch.bench.gauges import gauge_text, stock_diameters
from formsketch.bench.rates import Prices
from formsketch.comparison.collisions import new_meetings
from formsketch.comparison.variants import Candidate, candidate, refused
from formsketch.design.edits import applied
from formsketch.design.model import Design, Variant
from formsketch.errors import EditRefused, FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.feel import feel_of
from formsketch.evaluation.price import cost_of, money_text
from formsketch.fitting.same_as import NoSolution, Solved, Sought, solve_same
from formsketch.units import length_text, percent_text, ratio_text, weight_text
from formsketch.values import Result, Value

Unknown = Literal["wire", "size"]

# Round wire for jewellery as suppliers sell it, and the sizes a variant may have.
WIRE_RANGE_MM = (0.3, 5.0)
SIZE_RANGE = (0.05, 20.0)
# The label of the solution itself, beside those of the wires to be had.
EXACT = "exact"


class Quantity(Value, frozen=True):
    """Something of a form that can be kept: its name, how it is measured and how it is said.

    `of` may give None where the form has nothing to measure, or raise `FormSketchError` saying why.
    """

    name: str
    of: Callable[[Evaluation], float | None]
    text: Callable[[float], str]


class Offer(Result, frozen=True):
    """One way to make it: a variant, its form with numbers, and each quantity's difference in per cent.

    A quantity that cannot be measured in either form has no entry. `reason` says why it cannot be made.
    """

    label: str
    variant: Variant
    candidate: Candidate
    reason: str
    differences: dict[str, float] = field(default_factory=dict)


class SameAs(Result, frozen=True):
    """The solution, and the wires to be had below and above it (none when the size was solved for).

    `only`: no other value in the range keeps the quantity.
    """

    exact: Offer
    below: Offer | None
    above: Offer | None
    only: bool

    @property
    def offers(self) -> tuple[Offer, ...]:
        return tuple(offer for offer in (self.below, self.exact, self.above) if offer is not None)


WEIGHT = Quantity("weight", lambda e: e.weight_g, weight_text)
LOOP_TO_WIRE = Quantity("look, loop / wire", lambda e: e.proportion.loop_to_wire, ratio_text)
WIRE_TO_HEIGHT = Quantity(
    "look, wire / height", lambda e: e.proportion.wire_to_height, lambda share: percent_text(100 * share)
)


STIFFNESS = Quantity("stiffness", lambda e: feel_of(e).load_per_move.value, lambda k: f"{k:.3g} N/mm")


def price_quantity(prices: Prices) -> Quantity:
    """The cost of making, at these rates."""
    return Quantity("price", lambda e: cost_of(e, prices), lambda cost: money_text(cost, prices.currency))


def quantities(prices: Prices) -> tuple[Quantity, ...]:
    """All that can be kept."""
    return (LOOP_TO_WIRE, WIRE_TO_HEIGHT, WEIGHT, STIFFNESS, price_quantity(prices))


def solve_same_as(
    design: Design,
    given: Variant,
    unknown: Unknown,
    quantity: Quantity,
    shown: tuple[Quantity, ...] = (),
    system: str = "B&S",
) -> SameAs:
    """The wire diameter, or the size, with which `given` keeps a quantity of the design as drawn.

    What `given` says of the unknown is where the search begins. `shown` are the quantities whose
    differences are told; `system` is the gauge system the wire is bought in. Raises `NoSolution`.
    """
    base = evaluate(replace(design, variants=(), picture=None))
    wanted = quantity.of(base)
    if wanted is None:
        raise NoSolution(f"The form as drawn has no {quantity.name}.")
    low, high = WIRE_RANGE_MM if unknown == "wire" else SIZE_RANGE
    begin = (given.diameter_mm or design.wire.diameter_mm) if unknown == "wire" else given.scale
    measured = partial(_measured, design, given, unknown, quantity, base)
    solved = solve_same(measured, wanted, low, high, begin, sought(unknown, quantity))
    offer = partial(_offer, design, base=base, shown=shown)
    exact = offer(_with(given, unknown, solved.unknown), label=EXACT)
    if exact.reason:
        raise NoSolution(f"At {sought(unknown, quantity).unknown_text(solved.unknown)}: {exact.reason}")
    below, above = (None, None) if unknown == "size" else _in_stock(given, solved, system, offer)
    return SameAs(exact, below, above, solved.only)


def sought(unknown: Unknown, quantity: Quantity) -> Sought:
    """The search in words."""
    text = length_text if unknown == "wire" else _size_text
    return Sought(unknown, quantity.name.removeprefix("look, "), text, quantity.text)


def _size_text(scale: float) -> str:
    return percent_text(100 * scale)


def _with(given: Variant, unknown: Unknown, value: float) -> Variant:
    return replace(given, diameter_mm=value) if unknown == "wire" else replace(given, scale=value)


def _form(design: Design, variant: Variant) -> Candidate:
    try:
        return candidate(variant.title, applied(design, variant))
    except EditRefused as fault:
        return refused(variant.title, "", fault)


def _measured(
    design: Design, given: Variant, unknown: Unknown, quantity: Quantity, base: Evaluation, value: float
) -> float:
    """The quantity with this wire or size. Raises `InputError` where it cannot be made."""
    form = _form(design, _with(given, unknown, value))
    if form.measured is None or form.reason:
        raise InputError(form.reason)
    if form.measured.proportion.loop_to_wire is None and base.proportion.loop_to_wire is not None:
        raise InputError("The loops close up.")
    found = quantity.of(form.measured)
    if found is None:
        raise InputError(f"There is no {quantity.name}.")
    return found


def _offer(
    design: Design, variant: Variant, label: str, base: Evaluation, shown: tuple[Quantity, ...]
) -> Offer:
    form = _form(design, variant)
    if form.measured is None:
        return Offer(label, variant, form, form.reason)
    reason = form.reason
    if not reason and form.measured.proportion.loop_to_wire is None and base.proportion.loop_to_wire:
        reason = "The loops close up."
    if not reason and (meetings := new_meetings(form.measured, base)):
        places = "in one place" if meetings == 1 else f"in {meetings} places"
        reason = f"The wire runs into itself {places} where the form as drawn is clear."
    differences = {}
    for quantity in shown:
        before, after = _value(quantity, base), _value(quantity, form.measured)
        if before and after is not None:
            differences[quantity.name] = 100 * (after / before - 1)
    return Offer(label, variant, form, reason, differences)


def _value(quantity: Quantity, evaluation: Evaluation) -> float | None:
    try:
        return quantity.of(evaluation)
    except FormSketchError:
        return None


def _in_stock(
    given: Variant, solved: Solved, system: str, offer: Callable[..., Offer]
) -> tuple[Offer | None, Offer | None]:
    """The wires to be had next below and above; an exact match stands alone as the one below."""
    stock = stock_diameters(system)
    exact = [size for size in stock if abs(size[1] / solved.unknown - 1) <= 1e-6]
    below = exact or [size for size in stock if size[1] < solved.unknown]
    above = [] if exact else [size for size in stock if size[1] > solved.unknown]

    def made(label: str, diameter_mm: float) -> Offer:
        return offer(replace(given, diameter_mm=diameter_mm), label=label)

    return (made(*below[-1]) if below else None, made(*above[0]) if above else None)


def wire_words(offer: Offer, design: Design) -> str:
    """The wire of an offer for people."""
    return gauge_text(offer.variant.diameter_mm or design.wire.diameter_mm)
