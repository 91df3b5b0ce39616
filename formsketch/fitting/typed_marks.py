"""A mark of the straight wire put where its distance was typed.

It slides as it does when it is dragged: wire passes from one neighbouring span to the other, and every
repeat of them follows. Distances are mm of straight wire before hammering. What cannot be raises
`EditRefused`.
"""

from __future__ import annotations

import numpy as np

from formsketch.errors import EditRefused
from formsketch.fitting.pulling import Pulled, WireInHand, slide_mark

# A mark that comes along by less than this share of what it is slid does not answer to sliding.
_LEAST_ANSWER = 1e-6


def slide_mark_to(wire: WireInHand, mark: int, from_first_mm: float) -> Pulled:
    """Slide a mark until it lies this far from the first mark, `mark` from 1 to the number of spans.

    Where its spans are repeated the repeats before it carry it along too, which is reckoned with.
    """
    _not_the_first(mark)
    now_mm, along = _place_and_answer(wire, mark)
    if abs(along) < _LEAST_ANSWER:
        raise EditRefused(
            f"Mark {mark + 1} stands between whole repeats, where sliding leaves it; "
            "type the distance of one inside the repeat, or loosen the repeats."
        )
    return _slid(wire, mark, (from_first_mm - now_mm) / along)


def slide_mark_from_previous(wire: WireInHand, mark: int, from_previous_mm: float) -> Pulled:
    """Slide a mark until it lies this far from the one before it, `mark` from 1 to the number of spans."""
    _not_the_first(mark)
    return _slid(wire, mark, from_previous_mm - wire.stock_length_mm(mark - 1))


def _not_the_first(mark: int) -> None:
    if mark == 0:
        raise EditRefused("The first mark lies where the start end of the wire leaves it.")


def _slid(wire: WireInHand, mark: int, by_mm: float) -> Pulled:
    after_mm = wire.stock_length_mm(mark) if mark < wire.span_count else 0.0
    return slide_mark(wire, mark, wire.stock_length_mm(mark - 1) + by_mm, after_mm - by_mm)


def _place_and_answer(wire: WireInHand, mark: int) -> tuple[float, float]:
    """Where a mark lies from the first one, and how far it comes along for each mm it is slid."""
    stock = np.array([wire.stock_length_mm(span) for span in range(mark)])
    before, along = wire.address(mark - 1), 0.0
    written = _written(wire, mark)
    shares = {before: 1 / wire.stock_length_mm(mark - 1)}
    if mark < wire.span_count and wire.address(mark) != before:
        shares[wire.address(mark)] = -1 / wire.stock_length_mm(mark)
    for address, share in shares.items():
        same = (written[0] == address.run) & (written[1] == address.index)
        along += share * float(np.sum(stock[same]))
    return float(np.sum(stock)), along


def _written(wire: WireInHand, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Run and place in its motif of each of the first spans."""
    parts = slice(wire.part(0), wire.part(count))
    return wire.chain.run[parts], wire.chain.index[parts]
