"""The same look, weight or price in another metal, size or wire: solved as it is typed, kept as a variant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from msgspec.structs import replace
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QDialogButtonBox, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from formsketch.bench.gauges import STOCK_SYSTEMS, gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import user_metals_file
from formsketch.comparison.same_as import (
    EXACT,
    SIZE_RANGE,
    STIFFNESS,
    WIRE_RANGE_MM,
    Offer,
    Quantity,
    SameAs,
    Unknown,
    solve_same_as,
    wire_words,
)
from formsketch.design.edits import with_variants
from formsketch.design.model import Design, Variant
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.cautions import PRECIOUS_FROM_G_PER_CM3
from formsketch.ui.background import LatestOnly
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.fields import CalmComboBox, NumberGroup, QuantityField, ValueRow
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.units import length_text, percent_text

_FIELDS_PX = 460
_UNKNOWNS: tuple[tuple[str, Unknown], ...] = (("the wire", "wire"), ("the size of the form", "size"))


class SameAsDialog(LiveDialog):
    """Keep one quantity of the design while metal, size or wire change.

    `variant` is the way chosen, sound for the design, once the dialog is accepted.
    """

    def __init__(self, parent: QWidget | None, design: Design, quantities: Sequence[Quantity]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Same weight, look or price")
        self._design, self._quantities = design, tuple(quantities)
        self._given = Variant(title="")
        self._solved: SameAs | None = None
        self.work = LatestOnly(self)
        self.work.done.connect(self._have)
        self.variant: Variant | None = None
        self._make_fields()
        self.answer = QLabel()
        self.answer.setWordWrap(True)
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        headings = ("Wire", "Size", *(q.name.capitalize() for q in self._quantities))
        self.offers = PlainTable("Ways to make it", headings)
        self.offers.currentCellChanged.connect(self._name_it)
        self._lay_out()
        self.solve()

    # --- fields

    def _make_fields(self) -> None:
        self.keep = CalmComboBox()
        self.keep.addItems([quantity.name for quantity in self._quantities])
        self.unknown = CalmComboBox()
        for words, unknown in _UNKNOWNS:
            self.unknown.addItem(words, unknown)
        self.metal = CalmComboBox()
        self.metal.addItem("as drawn", None)
        for own in self._design.metals:
            self.metal.addItem(own.name, own.key)
        for key, metal in load_metals(user_metals_file()).items():
            if self.metal.findData(key) < 0:
                self.metal.addItem(metal.name, key)
        self.form_size = QuantityField(_percent, self._use_size)
        self.gauge = QuantityField(parse_length_mm, self._use_gauge)
        self.system = CalmComboBox()
        self.system.addItems(STOCK_SYSTEMS)
        group = NumberGroup("Keep and change")
        group.add_field("Keep the", self.keep, "What stays as it is in the form as drawn.", wide=True)
        group.add_field("Solve for", self.unknown, wide=True)
        group.add_field("Metal", self.metal, wide=True)
        self._size_row = group.add_field(
            "Size of the form", self.form_size, "Such as 120 %; the wire is apart."
        )
        self._gauge_row = group.add_field("Wire", self.gauge, "Such as 18 ga or 1.2 mm.")
        self._system_row = group.add_field("Bought in", self.system, "The gauges the wire is sold in.", True)
        group.setMaximumWidth(_FIELDS_PX)
        self._group = group
        for box in (self.keep, self.unknown, self.metal, self.system):
            box.activated.connect(self.solve)
        for field in (self.form_size, self.gauge):
            field.refused.connect(self._explain)

    def _lay_out(self) -> None:
        self.name = QLineEdit()
        self.name.setMaxLength(200)
        named = QHBoxLayout()
        label = QLabel("&Name of the variant")
        label.setBuddy(self.name)
        named.addWidget(label)
        named.addWidget(self.name, 1)
        buttons = accept_buttons(self, "Add as a variant")
        self.add = buttons.button(QDialogButtonBox.StandardButton.Ok)
        column = QVBoxLayout(self)
        for part in (self._group, self.answer, self._fault, self.offers):
            column.addWidget(part)
        column.addLayout(named)
        column.addWidget(buttons)
        self.resize(980, 520)

    def _use_size(self, percent: float) -> None:
        low, high = SIZE_RANGE
        if not low <= percent / 100 <= high:
            raise InputError(f"A size from {100 * low:g} to {100 * high:g} % was expected.")
        self._given = replace(self._given, scale=percent / 100)
        self.solve()

    def _use_gauge(self, diameter_mm: float) -> None:
        low, high = WIRE_RANGE_MM
        if not low <= diameter_mm <= high:
            raise InputError(f"A wire from {low:g} to {high:g} mm was expected, not {diameter_mm:g} mm.")
        self._given = replace(self._given, diameter_mm=diameter_mm)
        self.solve()

    # --- solving

    @property
    def _quantity(self) -> Quantity:
        return self._quantities[self.keep.currentIndex()]

    def solve(self) -> None:
        """Solve with what the fields say, off the window's thread, and show what comes of it."""
        unknown: Unknown = self.unknown.currentData()
        given = replace(self._given, metal=self.metal.currentData())
        self._show_fields(unknown)
        self._solved = None
        self._name_it()
        self._explain("")
        self.answer.setText("Solving ...")
        asked = partial(solve_same_as, self._design, given, unknown, self._quantity, self._quantities)
        self.work.ask(partial(_answer, asked, self.system.currentText(), self._row))

    def _have(self, answer: object) -> None:
        """Show the ways found, or why there is none."""
        solved, rows = answer if isinstance(answer, tuple) else (None, [])
        self._solved = solved
        self.answer.setText("" if solved is None else self._words(solved, self.unknown.currentData()))
        self._explain(str(answer) if isinstance(answer, FormSketchError) else "")
        self.offers.show_rows(rows)
        self._name_it()
        if isinstance(answer, Exception) and not isinstance(answer, FormSketchError):
            raise answer

    def _show_fields(self, unknown: Unknown) -> None:
        self.form_size.show_value(percent_text(100 * self._given.scale))
        self.gauge.show_value(length_text(self._given.diameter_mm or self._design.wire.diameter_mm))
        rows: tuple[tuple[ValueRow, bool], ...] = (
            (self._size_row, unknown == "wire"),
            (self._gauge_row, unknown == "size"),
            (self._system_row, unknown == "wire"),
        )
        for row, visible in rows:
            row.set_visible(visible)

    def _words(self, solved: SameAs, unknown: Unknown) -> str:
        exact = solved.exact.variant
        if unknown == "wire":
            found = f"Wire of {exact.diameter_mm:.3f} mm keeps the {self._quantity.name}."
        else:
            found = f"{100 * exact.scale:.1f} % of the size keeps the {self._quantity.name}."
        several = "" if solved.only else " Others may keep it too; this is the nearest."
        bought = " The wires to be had next to it are shown with it." if len(solved.offers) > 1 else ""
        form = solved.exact.candidate.measured
        precious = form is not None and form.metal.density_g_per_cm3 > PRECIOUS_FROM_G_PER_CM3
        trust = " Its weight is good to about 2 % until it is weighed." if precious else ""
        if self._quantity.name == STIFFNESS.name:
            trust = f"{trust} Stiffness is a model's, of the form pulled open at its ends."
        return f"{found}{several}{bought}{trust}"

    def _row(self, offer: Offer) -> tuple[str, ...]:
        form = offer.candidate.measured
        values = []
        for quantity in self._quantities:
            text = "not known"
            try:
                value = None if form is None else quantity.of(form)
            except FormSketchError:
                value = None
            if value is not None:
                text = quantity.text(value)
                if (percent := offer.differences.get(quantity.name)) is not None:
                    text = f"{text}  {_difference(percent)}"
            values.append(text)
        size = percent_text(100 * offer.variant.scale)
        wire = wire_words(offer, self._design)
        if offer.label == EXACT and offer.variant.diameter_mm is not None:
            wire = f"{EXACT}: {offer.variant.diameter_mm:.3f} mm"
        return (f"{wire}, cannot be made" if offer.reason else wire, size, *values)

    @property
    def chosen(self) -> Offer | None:
        """The way chosen in the table; None while there is none."""
        row = self.offers.currentRow()
        offers = () if self._solved is None else self._solved.offers
        return offers[row] if 0 <= row < len(offers) else None

    def _name_it(self, *_: int) -> None:
        offer = self.chosen
        self.add.setEnabled(offer is not None and not offer.reason)
        if offer is not None:
            self._explain(offer.reason)
        if offer is not None and not self.name.isModified():
            wire = gauge_text(offer.variant.diameter_mm or self._design.wire.diameter_mm).split(" (")[0]
            self.name.setText(f"same {self._quantity.name}, {wire}")

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def accept(self) -> None:
        """Keep the way chosen, or say why it cannot be kept and stay."""
        offer = self.chosen
        if offer is None:
            return
        variant = replace(offer.variant, title=self.name.text().strip() or "variant")
        try:
            with_variants(self._design, (*self._design.variants, variant))
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        self.variant = variant
        super().accept()

    def hideEvent(self, event: QHideEvent) -> None:
        self.work.wait()
        super().hideEvent(event)


def _answer(
    solve: Callable[[str], SameAs], system: str, row: Callable[[Offer], tuple[str, ...]]
) -> tuple[SameAs, list[tuple[str, ...]]]:
    """The ways found and their rows in the table."""
    solved = solve(system)
    return solved, [row(offer) for offer in solved.offers]


def _difference(percent: float) -> str:
    text = percent_text(percent, signed=True)
    return text if text.strip("+−0. %") else "same"


def _percent(text: str) -> float:
    """A percentage as typed, with or without its sign. Raises `InputError`."""
    try:
        return float(text.strip().removesuffix("%"))
    except ValueError:
        raise InputError(f'"{text}": a percentage such as 120 % was expected.') from None
