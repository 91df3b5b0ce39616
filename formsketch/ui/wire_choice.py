"""Choosing the wire: metal, gauge by B&S number, SWG or mm, and the hammer, listed or the maker's own."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QComboBox, QWidget

from formsketch.bench.gauges import STOCK_SYSTEMS, gauge_text, stock_diameters
from formsketch.bench.hammers import load_hammers, load_own_hammers, spread_band
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import user_hammers_file, user_metals_file
from formsketch.design.edits import change_hammer, change_wire
from formsketch.design.model import Hammer, OwnMetal
from formsketch.errors import FormSketchError
from formsketch.ui.fields import CalmComboBox, NumberGroup
from formsketch.ui.session import Session


class WireChoice(NumberGroup):
    """Metal, gauge and hammer of the session's design; `refused` explains what could not be used."""

    refused = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__("Wire", parent)
        self._session = session
        self.metal, self.gauge, self.hammer = CalmComboBox(self), CalmComboBox(self), CalmComboBox(self)
        for box in (self.metal, self.gauge, self.hammer):
            box.setMinimumContentsLength(14)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.gauge.setEditable(True)
        self.gauge.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.gauge.setModel(_gauge_model())
        # The completer would turn a typed 1.2 into 1.29.
        self.gauge.setCompleter(None)  # type: ignore[arg-type]
        self._hammers: list[Hammer] = []
        self._offered = 0
        self._own_metals: tuple[OwnMetal, ...] = ()
        self.add_field("Metal", self.metal, wide=True)
        self.add_field(
            "Gauge", self.gauge, "A B&S number, SWG, mm or inches: type '18 ga', '18 SWG' or '1.2 mm'.", True
        )
        self.add_field(
            "Hammer",
            self.hammer,
            "How much of the squeeze goes sideways: listed starting values, then your own. "
            "'Bench, Own hammer' measures yours.",
            True,
        )
        self.metal.activated.connect(self._use_metal)
        self.gauge.activated.connect(self._use_chosen_gauge)
        line = self.gauge.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._use_typed_gauge)
        self.hammer.activated.connect(self._use_hammer)
        session.changed.connect(self.refresh)
        session.file_changed.connect(self.refill)
        self.refill()

    def refill(self) -> None:
        """Offer what there is now: listed, kept by name, and the design's own."""
        self._fill_metals()
        self._fill_hammers()
        self.refresh()

    def _fill_hammers(self) -> None:
        self.hammer.clear()
        self._hammers.clear()
        try:
            own = load_own_hammers(user_hammers_file())
        except FormSketchError as fault:
            own = {}
            self.hammer.setToolTip(str(fault))
            self.refused.emit(str(fault))
        for row in load_hammers().values():
            if row.key in own:
                continue
            band = (row.spread_low, row.spread_high)
            self._offer(row.name, Hammer(spread=row.spread), band, "starting value")
        for row in own.values():
            hammer = Hammer(spread=row.spread, name=row.name, low=row.spread_low, high=row.spread_high)
            in_metal = f", in {row.metal}" if row.metal else ""
            band = (row.spread_low, row.spread_high)
            self._offer(row.name, hammer, band, f"your hammer{in_metal}: {row.source}")
        self._offered = len(self._hammers)

    def _offer(self, text: str, hammer: Hammer, band: tuple[float, float], rests_on: str) -> None:
        self._hammers.append(hammer)
        self.hammer.addItem(text, hammer.spread)
        tip = f"Spread {hammer.spread:.2f} ({band[0]:.2f} to {band[1]:.2f}); {rests_on}"
        self.hammer.setItemData(self.hammer.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)

    def _fill_metals(self) -> None:
        self.metal.clear()
        self._own_metals = self._session.design.metals
        for own in self._session.design.metals:
            self.metal.addItem(f"{own.name} (this design's own)", own.key)
        for key, metal in load_metals(user_metals_file()).items():
            if self.metal.findData(key) < 0:
                self.metal.addItem(metal.name, key)

    def refresh(self) -> None:
        """Show the design's wire."""
        design = self._session.design
        if design.metals != self._own_metals:
            self._fill_metals()
        self.metal.setCurrentIndex(self.metal.findData(design.wire.metal))
        line = self.gauge.lineEdit()
        if line is not None and not (line.hasFocus() and line.isModified()):
            self.gauge.setEditText(gauge_text(design.wire.diameter_mm))
            line.setCursorPosition(0)
            line.setModified(False)
        self._show_hammer(design.hammer)

    def _show_hammer(self, hammer: Hammer) -> None:
        """Show the design's hammer; one that is not on offer is offered as long as the design has it."""
        if hammer not in self._hammers or self._hammers.index(hammer) >= self._offered:
            while len(self._hammers) > self._offered:
                self._hammers.pop()
                self.hammer.removeItem(len(self._hammers))
            text = f"{hammer.name} (this design's own)" if hammer.name else f"spread {hammer.spread:.2f}"
            low, high, basis = spread_band(hammer.spread, hammer.low, hammer.high, hammer.name)
            self._offer(text, hammer, (low, high), basis)
        self.hammer.setCurrentIndex(self._hammers.index(hammer))

    def _use_metal(self, index: int) -> None:
        key = self.metal.itemData(index)
        if key and key != self._session.design.wire.metal:
            self._try(
                f"Metal {self.metal.itemText(index)}", lambda: change_wire(self._session.design, metal=key)
            )

    def _use_chosen_gauge(self, index: int) -> None:
        diameter = self.gauge.itemData(index)
        if diameter:
            self._use_diameter(float(diameter))

    def _use_typed_gauge(self) -> None:
        line = self.gauge.lineEdit()
        if line is None or not line.isModified():
            return
        line.setModified(False)
        try:
            self._use_diameter(parse_length_mm(line.text()))
        except FormSketchError as fault:
            self.refused.emit(str(fault))
            self.refresh()

    def _use_diameter(self, diameter_mm: float) -> None:
        if diameter_mm != self._session.design.wire.diameter_mm:
            self._try(
                f"Wire {gauge_text(diameter_mm)}",
                lambda: change_wire(self._session.design, diameter_mm=diameter_mm),
            )
        self.refresh()

    def _use_hammer(self, index: int) -> None:
        hammer = self._hammers[index]
        if hammer != self._session.design.hammer:
            self._try("Hammer", lambda: change_hammer(self._session.design, hammer))

    def _try(self, name: str, edit) -> None:  # type: ignore[no-untyped-def]
        try:
            self._session.change(name, edit())
        except FormSketchError as fault:
            self.refused.emit(str(fault))
            self.refresh()


def _gauge_model() -> QStandardItemModel:
    model = QStandardItemModel()
    for system in STOCK_SYSTEMS:
        heading = QStandardItem(f"{system}")
        heading.setEnabled(False)
        model.appendRow(heading)
        for label, diameter_mm in stock_diameters(system):
            text = label if "mm" in label else f"{label}  ({diameter_mm:.2f} mm)"
            item = QStandardItem(f"   {text}")
            item.setData(diameter_mm, Qt.ItemDataRole.UserRole)
            model.appendRow(item)
    return model
