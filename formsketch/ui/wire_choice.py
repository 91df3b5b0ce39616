"""Choosing the wire: metal, gauge by B&S number, SWG or mm, and the hammer's spread."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QComboBox

from formsketch.bench.gauges import STOCK_SYSTEMS, gauge_text, stock_diameters
from formsketch.bench.hammers import load_hammers
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import user_metals_file
from formsketch.design.edits import change_spread, change_wire
from formsketch.errors import FormSketchError
from formsketch.ui.fields import CalmComboBox, NumberGroup
from formsketch.ui.session import Session


class WireChoice(NumberGroup):
    """Metal, gauge and hammer of the session's design; `refused` explains what could not be used."""

    refused = Signal(str)

    def __init__(self, session: Session) -> None:
        super().__init__("Wire")
        self._session = session
        self.metal = CalmComboBox()
        self.gauge = CalmComboBox()
        self.hammer = CalmComboBox()
        for box in (self.metal, self.gauge, self.hammer):
            box.setMinimumContentsLength(14)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.gauge.setEditable(True)
        self.gauge.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.gauge.setModel(_gauge_model())
        # The completer would turn a typed 1.2 into 1.29.
        self.gauge.setCompleter(None)  # type: ignore[arg-type]
        for hammer in load_hammers().values():
            self.hammer.addItem(hammer.name, hammer.spread)
            tip = f"Spread {hammer.spread:.2f} ({hammer.spread_low:.2f} to {hammer.spread_high:.2f})"
            self.hammer.setItemData(self.hammer.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)
        self.add_field("Metal", self.metal, wide=True)
        self.add_field(
            "Gauge", self.gauge, "A B&S number, SWG, mm or inches: type '18 ga', '18 SWG' or '1.2 mm'.", True
        )
        self.add_field("Hammer", self.hammer, "How much of the squeeze goes sideways; starting values.", True)
        self.metal.activated.connect(self._use_metal)
        self.gauge.activated.connect(self._use_chosen_gauge)
        line = self.gauge.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._use_typed_gauge)
        self.hammer.activated.connect(self._use_hammer)
        session.changed.connect(self.refresh)
        session.file_changed.connect(self._fill_metals)
        self._fill_metals()
        self.refresh()

    def _fill_metals(self) -> None:
        self.metal.clear()
        for own in self._session.design.metals:
            self.metal.addItem(f"{own.name} (this design's own)", own.key)
        for key, metal in load_metals(user_metals_file()).items():
            if self.metal.findData(key) < 0:
                self.metal.addItem(metal.name, key)
        self.refresh()

    def refresh(self) -> None:
        """Show the design's wire."""
        design = self._session.design
        self.metal.setCurrentIndex(self.metal.findData(design.wire.metal))
        line = self.gauge.lineEdit()
        if line is not None and not (line.hasFocus() and line.isModified()):
            self.gauge.setEditText(gauge_text(design.wire.diameter_mm))
            line.setCursorPosition(0)
            line.setModified(False)
        index = self.hammer.findData(design.hammer.spread)
        own = self.hammer.findText("spread ", Qt.MatchFlag.MatchStartsWith)
        if index < 0 or index == own:
            if own >= 0:
                self.hammer.removeItem(own)
            self.hammer.addItem(f"spread {design.hammer.spread:.2f}", design.hammer.spread)
            index = self.hammer.count() - 1
        self.hammer.setCurrentIndex(index)

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
        spread = float(self.hammer.itemData(index))
        if spread != self._session.design.hammer.spread:
            self._try("Hammer", lambda: change_spread(self._session.design, spread))

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
