"""The whole wire of a piece: what to order, how many pieces a coil gives, what comes back as scrap.

A piece takes its cut length and some wire to hold at each end, which is trimmed off afterwards. Each cut
from the coil loses its kerf; where no more than the kerf is left over, that cut is not needed.
"""

from __future__ import annotations

import math

from msgspec.structs import asdict

from formsketch.errors import InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.forging.section import round_area_mm2
from formsketch.units import length_text, pennyweight_from_g, troy_ounce_from_g
from formsketch.values import Value

# Common practice, no source: wire to hold at each end while bending and hammering, and what one cut with a
# jeweller's saw or flush cutters and its squaring takes.
HOLD_MM, KERF_MM = 10.0, 0.5
# Longest coil and greatest number of pieces that are meant.
_MOST_MM, _MOST_PIECES = 1e6, 100_000
# A piece may be short by this much of it and still be had from a coil: rounding.
_TOLERANCE = 1e-9


class WireOrder(Value, frozen=True):
    """What the maker says: wire to hold per end, loss per cut, pieces wanted, and the coil or stock length.

    Without a coil (None) the wire is ordered as long as it has to be. `hold_is_usual` and `kerf_is_usual`
    tell common practice from the maker's own. Raises InputError for numbers that cannot be.
    """

    hold_mm: float = HOLD_MM
    kerf_mm: float = KERF_MM
    pieces: int = 1
    coil_mm: float | None = None

    def __post_init__(self) -> None:
        words = ("wire to hold at each end", "loss per cut", "", "coil")
        for (name, value), what in zip(asdict(self).items(), words, strict=True):
            if name == "pieces":
                if not 1 <= value <= _MOST_PIECES:
                    raise InputError(f"From 1 to {_MOST_PIECES} pieces were expected, not {value:g}.")
            elif value is not None and not 0 <= value <= _MOST_MM:
                raise InputError(
                    f"A length of the {what} from 0 to {_MOST_MM:.0f} mm was expected, not {value:g}."
                )

    @property
    def hold_is_usual(self) -> bool:
        return self.hold_mm == HOLD_MM

    @property
    def kerf_is_usual(self) -> bool:
        return self.kerf_mm == KERF_MM


class WireAccount(Value, frozen=True):
    """Lengths in mm and weights in g of an order.

    `per_coil`, `coils` and `left_per_coil_mm` are None without a coil; `left_mm` is all that is left over
    of the coils. What is ordered is in the pieces, in the trims, left over, or lost to cuts.
    """

    order: WireOrder
    piece_mm: float
    order_mm: float
    per_coil: int | None
    coils: int | None
    left_per_coil_mm: float | None
    left_mm: float
    trims_mm: float
    lost_mm: float
    g_per_mm: float

    @property
    def order_g(self) -> float:
        return self.order_mm * self.g_per_mm

    @property
    def order_dwt(self) -> float:
        return pennyweight_from_g(self.order_g)

    @property
    def order_ozt(self) -> float:
        return troy_ounce_from_g(self.order_g)

    @property
    def scrap_mm(self) -> float:
        """Wire that comes back: trims and leftovers; dust of cuts is not counted."""
        return self.trims_mm + self.left_mm

    @property
    def scrap_g(self) -> float:
        return self.scrap_mm * self.g_per_mm


def wire_account(evaluation: Evaluation, order: WireOrder | None = None) -> WireAccount:
    """The wire for `order.pieces` pieces of an evaluated design.

    Raises InputError when the coil is shorter than one piece with its ends to hold.
    """
    asked = order or WireOrder()
    piece_mm = evaluation.cut_length_mm + 2 * asked.hold_mm
    area_mm2 = float(round_area_mm2(evaluation.diameter_mm))
    g_per_mm = area_mm2 * evaluation.metal.density_g_per_cm3 / 1000
    trims_mm = 2 * asked.hold_mm * asked.pieces
    if asked.coil_mm is None:
        # The last piece is what remains, with no cut behind it.
        lost_mm = asked.kerf_mm * (asked.pieces - 1)
        order_mm = asked.pieces * piece_mm + lost_mm
        return WireAccount(asked, piece_mm, order_mm, None, None, None, 0.0, trims_mm, lost_mm, g_per_mm)
    coil_mm = asked.coil_mm
    per_coil = pieces_from(coil_mm, piece_mm, asked.kerf_mm)
    if per_coil == 0:
        raise InputError(
            f"A coil of {length_text(coil_mm)} is too short: one piece with its ends to hold takes "
            f"{length_text(piece_mm)}."
        )
    full, rest = divmod(asked.pieces, per_coil)
    left_full = left_after(coil_mm, per_coil, piece_mm, asked.kerf_mm)
    left_mm = full * left_full
    if rest:
        left_mm += left_after(coil_mm, rest, piece_mm, asked.kerf_mm)
    coils = full + bool(rest)
    order_mm = coils * coil_mm
    lost_mm = max(order_mm - asked.pieces * piece_mm - left_mm, 0.0)
    return WireAccount(
        asked, piece_mm, order_mm, per_coil, coils, left_full, left_mm, trims_mm, lost_mm, g_per_mm
    )


def pieces_from(coil_mm: float, piece_mm: float, kerf_mm: float) -> int:
    """How many pieces a coil gives: n pieces and the n - 1 cuts between them fit into it."""
    return math.floor((coil_mm + kerf_mm) / (piece_mm + kerf_mm) + _TOLERANCE)


def left_after(coil_mm: float, pieces: int, piece_mm: float, kerf_mm: float) -> float:
    """What is left of a coil after so many pieces, each with its cut; nothing where less than a cut is."""
    return max(coil_mm - pieces * (piece_mm + kerf_mm), 0.0)
