"""What the piece costs: the maker's rates to type in, and the price line by line as they are typed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from pathlib import Path

from msgspec.structs import replace
from PySide6.QtCore import QDate, Qt
from PySide6.QtWidgets import (
    QDateEdit,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.rates import (
    GRAMS_PER,
    Alloy,
    MetalPrice,
    alloy_of,
    bought_as,
    checked_prices,
    load_prices,
    save_prices,
)
from formsketch.comparison.variants import Candidate
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.price import OPERATIONS
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.fields import CalmComboBox, NumberGroup, QuantityField
from formsketch.ui.findings_table import FindingsTable
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.price_sheet import sheet_html

_EACH = {"": "min", "loops": "min each", "flares": "min each", "beads": "min each", "turns over": "min"}
_TIPS = {
    "bend_each": "For each curved span.",
    "hammer_each": "For each flare; one that runs on across marks counts once.",
    "open": "When some of the wire is turned over.",
    "bead_each": "For each bead.",
}


class PriceDialog(LiveDialog):
    """Rates on the left, the price on the right; accepting writes the rates to `file`.

    Raises `TableError` at once when the file holds no rates that can be read.
    """

    def __init__(self, parent: QWidget | None, candidates: Sequence[Candidate], file: Path) -> None:
        self.prices = load_prices(file)
        super().__init__(parent)
        self.setWindowTitle("Price")
        self._file, self._today = file, date.today()
        self._forms = [(one.title, one.measured) for one in candidates if one.measured is not None]
        self._shown: list[Callable[[], None]] = []
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self.sheet = QLabel()
        self.sheet.setObjectName("sheet")
        self.sheet.setTextFormat(Qt.TextFormat.RichText)
        self.sheet.setWordWrap(True)
        self.sheet.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.sheet.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        across = QHBoxLayout()
        across.addWidget(_scrolled(self._rates()))
        across.addWidget(_scrolled(self.sheet), 1)
        column = QVBoxLayout(self)
        column.addLayout(across, 1)
        column.addWidget(self._fault)
        column.addWidget(accept_buttons(self, "Keep these rates"))
        self.resize(940, 640)
        self._show_metal()

    # --- fields

    def _rates(self) -> QWidget:
        panel = QWidget()
        panel.setObjectName("panel")
        panel.setFixedWidth(350)
        column = QVBoxLayout(panel)
        column.setSpacing(14)
        for group in (self._metal_group(), self._work_group(), self._findings_group(), self._asked_group()):
            column.addWidget(group)
        column.addStretch(1)
        return panel

    def _metal_group(self) -> NumberGroup:
        group = NumberGroup("Metal")
        self.metal, self.per, self.basis = CalmComboBox(), CalmComboBox(), CalmComboBox()
        for form in {form.metal.key: form for _, form in self._forms}.values():
            self.metal.addItem(form.metal.name, form.metal.key)
        self.per.addItems(list(GRAMS_PER))
        for words, key in (("the metal as bought", ""), ("fine gold", "gold"), ("fine silver", "silver")):
            self.basis.addItem(words, key)
        self.day = QDateEdit()
        self.day.setDisplayFormat("yyyy-MM-dd")
        self.day.setCalendarPopup(True)
        self.day.setMaximumDate(QDate.currentDate())
        self.day.setDate(QDate.currentDate())
        group.add_field("For", self.metal, wide=True)
        group.add_field("Priced by", self.basis, "The alloy as it is bought, or the fine metal in it.", True)
        self._add(group, "Price", lambda: self._entry.price, self._use_new_price)
        group.add_field("Per", self.per, "Gram, pennyweight or troy ounce.", wide=True)
        group.add_field("Good for the day", self.day, "The day the price is of.", wide=True)
        self.fineness = self._add(
            group,
            "Fineness, in 1000",
            lambda: 1000 * (self._alloy.fineness if self._alloy else 1.0),
            self._use_fineness,
            "Fine metal in the alloy by mass, such as 585, 750 or 925.",
        )
        self._add(
            group,
            "Lost in the work",
            lambda: self.prices.loss_percent,
            lambda v: self._use(loss_percent=v),
            "Of the weight of the wire cut.",
            "%",
        )
        self.metal.activated.connect(self._show_metal)
        self.per.activated.connect(lambda: self._use_price(self._entry.price))
        self.basis.activated.connect(self._use_basis)
        self.day.dateChanged.connect(lambda: self._use_price(self._entry.price))
        return group

    def _work_group(self) -> NumberGroup:
        group = NumberGroup("Work")
        self._add(
            group, "An hour", lambda: self.prices.rate_per_hour, lambda v: self._use(rate_per_hour=v),
            "What an hour at the bench costs.",
        )  # fmt: skip
        for field, words, counted_by in OPERATIONS:
            self._add(
                group,
                words,
                partial(self._minutes_of, field),
                partial(self._use_minutes, field),
                _TIPS.get(field, "For the piece."),
                _EACH[counted_by],
            )
        return group

    def _findings_group(self) -> NumberGroup:
        group = NumberGroup("Findings")
        self.findings = FindingsTable(self.prices.findings)
        self.findings.changed.connect(lambda: self._use(findings=self.findings.findings))
        self.findings.refused.connect(self._explain)
        group.add_wide(self.findings)
        return group

    def _asked_group(self) -> NumberGroup:
        group = NumberGroup("Asked for it")
        self.currency = QLineEdit(self.prices.currency)
        self.currency.setMaxLength(12)
        self.currency.setPlaceholderText("such as EUR")
        self.currency.textEdited.connect(lambda text: self._use(currency=text.strip()))
        group.add_field("Currency", self.currency, wide=True)
        self._add(
            group, "Wholesale", lambda: self.prices.wholesale_times,
            lambda v: self._use(wholesale_times=v), "Times the cost.", "× cost",
        )  # fmt: skip
        self._add(
            group, "Retail", lambda: self.prices.retail_times,
            lambda v: self._use(retail_times=v), "Times the wholesale price.", "× wholesale",
        )  # fmt: skip
        return group

    def _add(
        self,
        group: NumberGroup,
        label: str,
        value: Callable[[], float],
        use: Callable[[float], None],
        tip: str = "",
        aside: str = "",
    ) -> QuantityField:
        """A number to type: `value` gives what is shown, `use` takes what is typed."""
        field = QuantityField(_number, use)
        field.refused.connect(self._explain)
        row = group.add_field(label, field, tip)
        self._shown.append(lambda: row.show(f"{value():.7g}", aside))
        return field

    # --- the rates in hand

    @property
    def _key(self) -> str:
        return str(self.metal.currentData())

    @property
    def _alloy(self) -> Alloy | None:
        """The fine metal in the alloy shown, when it is known."""
        known = alloy_of(self.prices, self._key)
        return None if known is None else Alloy(metal=self._key, of=known[0], fineness=known[1])

    @property
    def _own(self) -> bool:
        """Whether the metal shown is priced as it is bought, not by its fine metal."""
        return self.basis.currentData() == ""

    @property
    def _entry(self) -> MetalPrice:
        """The price shown for the metal; 0 where none has been entered."""
        prices = self.prices.alloys_bought if self._own else self.prices.fine
        of = self._key if self._own else self.basis.currentData()
        per, day = self.per.currentText(), self.day.date().toString("yyyy-MM-dd")
        new = MetalPrice(of=of, price=0.0, per=per, date=day)  # type: ignore[arg-type]
        return next((price for price in prices if price.of == of), new)

    def _use(self, **changes: object) -> None:
        self.prices = checked_prices(replace(self.prices, **changes))
        self._refresh()

    def _minutes_of(self, field: str) -> float:
        return float(getattr(self.prices.minutes, field))

    def _use_minutes(self, field: str, minutes: float) -> None:
        self._use(minutes=replace(self.prices.minutes, **{field: minutes}))

    def _use_new_price(self, price: float) -> None:
        """A price typed over another is of today, until another day is chosen."""
        if self._entry.price and price != self._entry.price:
            self.day.blockSignals(True)
            self.day.setDate(QDate.currentDate())
            self.day.blockSignals(False)
        self._use_price(price)

    def _use_price(self, price: float) -> None:
        day = self.day.date().toString("yyyy-MM-dd")
        entry = replace(self._entry, price=price, per=self.per.currentText(), date=day)
        field = "alloys_bought" if self._own else "fine"
        others = tuple(other for other in getattr(self.prices, field) if other.of != entry.of)
        self._use(**{field: (*others, entry) if price else others})

    def _use_basis(self) -> None:
        """Price the metal by the fine metal in it from now on, or show where a price of its own goes."""
        self._begin_price()
        if self._own:
            self._refresh()
            return
        fineness = self._alloy.fineness if self._alloy else 1.0
        alloy = Alloy(metal=self._key, of=self.basis.currentData(), fineness=fineness)
        self._use(
            alloys_bought=self._others("alloys_bought", "of"),
            alloys=(*self._others("alloys", "metal"), alloy),
        )

    def _use_fineness(self, parts: float) -> None:
        if not 0 < parts <= 1000:
            raise InputError(f"A fineness above 0 and up to 1000 was expected, not {parts:g}.")
        alloy = Alloy(metal=self._key, of=self.basis.currentData(), fineness=parts / 1000)
        self._use(alloys=(*self._others("alloys", "metal"), alloy))

    def _others(self, field: str, name: str) -> tuple[object, ...]:
        """The entries of a list that are not about the metal shown."""
        return tuple(entry for entry in getattr(self.prices, field) if getattr(entry, name) != self._key)

    # --- what is shown

    def _show_metal(self) -> None:
        """Show how the metal chosen is priced."""
        bought, alloy = bought_as(self.prices, self._key), self._alloy
        own = alloy is None or (bought is not None and bought in self.prices.alloys_bought)
        self.basis.setCurrentIndex(0 if own or alloy is None else self.basis.findData(alloy.of))
        self._begin_price()
        self._refresh()

    def _begin_price(self) -> None:
        """Fine metal is quoted by the troy ounce; the maker can choose otherwise before typing a price."""
        if not self._entry.price:
            self.per.setCurrentText("g" if self._own else "ozt")

    def _refresh(self) -> None:
        self._explain("")
        self.fineness.setEnabled(not self._own)
        entry = self._entry
        self.per.setCurrentText(entry.per)
        self.day.blockSignals(True)
        self.day.setDate(QDate.fromString(entry.date, "yyyy-MM-dd"))
        self.day.blockSignals(False)
        for show in self._shown:
            show()
        self.sheet.setText(sheet_html(self._forms, self.prices, self._today))

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def accept(self) -> None:
        """Write the rates, or say why they cannot be written and stay."""
        try:
            save_prices(self._file, self.prices)
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        super().accept()


def _scrolled(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(widget)
    if widget.objectName() == "panel":
        area.setFixedWidth(widget.width() + 14)
    return area


def _number(text: str) -> float:
    """A plain number as typed. Raises `InputError`."""
    try:
        value = float(text.strip())
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'"{text}": a number was expected, such as 12 or 12.50.')
    return value
