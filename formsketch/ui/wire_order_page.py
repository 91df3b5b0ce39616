"""Wire to order: pieces, wire to hold, cuts and coil, kept as settings of the maker."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QWidget

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.surface import surface_mm2
from formsketch.evaluation.wire_account import HOLD_MM, KERF_MM, WireOrder, wire_account
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.fields import NumberGroup, QuantityField
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text, weight_text

_KEYS = {"hold_mm": HOLD_MM, "kerf_mm": KERF_MM, "pieces": 1.0, "coil_mm": 0.0}


class WireOrderPage(BenchPage):
    """What to buy for so many pieces, and what comes back."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection, settings: QSettings) -> None:
        super().__init__(parent, session, selection, "Wire to order")
        self._settings = settings
        self.order = kept_order(settings)
        asked, found = NumberGroup("Asked for"), NumberGroup("Wire")
        self._hold = asked.add_field("To hold at each end", self._field(parse_length_mm, "hold_mm"))
        self._kerf = asked.add_field("Lost per cut", self._field(parse_length_mm, "kerf_mm"))
        self._pieces = asked.add_field("Pieces", self._field(_count, "pieces"))
        self._coil = asked.add_field(
            "Coil or stock length", self._field(parse_length_mm, "coil_mm"), "0 for as long as it has to be."
        )
        self._piece = found.add_value("Each piece", "Cut length and what is held at both ends.")
        self._from_coil = found.add_value("Pieces from a coil")
        self._buy = found.add_value("To order")
        self._grams = found.add_value("Weight to order")
        self._troy = found.add_value("")
        self._trims = found.add_value("Trims", "What was held, cut off afterwards.")
        self._left = found.add_value("Left over")
        self._scrap = found.add_value(
            "Comes back", "Trims and what is left over; dust of cuts is not counted."
        )
        self._surface = found.add_value(
            "Surface of a piece",
            "Ends included, nothing taken off where parts touch: for plating and polish.",
        )
        self.note = words("note")
        for part in (asked, found, self.note):
            self.column.addWidget(part)
        self.column.addStretch(1)
        self.resize(460, 480)

    def _field(self, read: Callable[[str], float], name: str) -> QuantityField:
        def use(value: float) -> None:
            number = int(value) if name == "pieces" else value if value or name != "coil_mm" else None
            order = _changed(self.order, name, number)
            wire_account(self.session.evaluation, order)
            self.order = order
            self._settings.setValue(f"wire_order/{name}", float(number or 0))
            self.refresh()

        field = QuantityField(read, use)
        field.refused.connect(self.explain)
        return field

    def show_design(self) -> None:
        """The order for the design as it is."""
        e, order = self.session.evaluation, self.order
        usual = "common practice"
        self._hold.show(length_text(order.hold_mm), usual if order.hold_is_usual else "your own")
        self._kerf.show(length_text(order.kerf_mm), usual if order.kerf_is_usual else "your own")
        self._pieces.show(str(order.pieces))
        self._coil.show(length_text(order.coil_mm or 0.0), "" if order.coil_mm else "as needed")
        self._surface.show(f"{surface_mm2(e) / 100:.2f} cm²")
        self.note.setText(
            f"{gauge_text(e.diameter_mm)} wire, {e.metal.name}. Weights of gold and silver alloys are good "
            "to about 2 % until weighed; a coil is as heavy as its true diameter makes it."
        )
        try:
            account = wire_account(e, order)
        except FormSketchError:
            rows = (self._piece, self._from_coil, self._buy, self._grams, self._troy)
            for row in (*rows, self._trims, self._left, self._scrap):
                row.show("")
            raise
        self._piece.show(length_text(account.piece_mm))
        per_coil = "" if account.per_coil is None else str(account.per_coil)
        left = account.left_per_coil_mm
        self._from_coil.show(per_coil or "no coil said", "" if left is None else f"{length_text(left)} left")
        self._buy.show(length_text(account.order_mm), _coils(account.coils))
        self._grams.show(weight_text(account.order_g))
        self._troy.show(f"{account.order_dwt:.2f} dwt", f"{account.order_ozt:.3f} ozt")
        self._trims.show(length_text(account.trims_mm), weight_text(account.trims_mm * account.g_per_mm))
        self._left.show(length_text(account.left_mm), weight_text(account.left_mm * account.g_per_mm))
        self._scrap.show(weight_text(account.scrap_g))


def _coils(coils: int | None) -> str:
    if coils is None:
        return ""
    return "1 coil" if coils == 1 else f"{coils} coils"


def _changed(order: WireOrder, name: str, value: float | None) -> WireOrder:
    """The order with one thing other; raises InputError when it cannot be."""
    given = {key: getattr(order, key) for key in _KEYS} | {name: value}
    return WireOrder(**given)


def _count(text: str) -> float:
    if not text.strip().isdecimal() or len(text.strip()) > 6:
        raise InputError(f'"{text}": a whole number of pieces was expected, such as 12.')
    return float(text)


def kept_order(settings: QSettings) -> WireOrder:
    """The order as it was last kept; what is usual where nothing sound was."""
    try:
        kept = {
            name: float(str(settings.value(f"wire_order/{name}", usual))) for name, usual in _KEYS.items()
        }
        return WireOrder(kept["hold_mm"], kept["kerf_mm"], int(kept["pieces"]), kept["coil_mm"] or None)
    except (FormSketchError, TypeError, ValueError, OverflowError):
        return WireOrder()
