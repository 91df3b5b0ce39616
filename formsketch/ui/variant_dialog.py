"""A new variant: what differs from the design as drawn, and nothing else."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import user_metals_file
from formsketch.design.edits import applied
from formsketch.design.model import Design, Variant
from formsketch.errors import FormSketchError
from formsketch.ui.dialogs import accept_buttons


class VariantDialog(QDialog):
    """Name a difference; `variant` is set and sound when accepted."""

    def __init__(self, parent: QWidget | None, design: Design) -> None:
        super().__init__(parent)
        self.setWindowTitle("Add a variant")
        self._design = design
        self.variant: Variant | None = None
        self.name = QLineEdit()
        self.name.setPlaceholderText("such as light")
        self.gauge = QLineEdit()
        self.gauge.setPlaceholderText(f"as drawn: {gauge_text(design.wire.diameter_mm)}")
        self.metal = QComboBox()
        self.metal.addItem("as drawn", None)
        for own in design.metals:
            self.metal.addItem(own.name, own.key)
        for key, metal in load_metals(user_metals_file()).items():
            self.metal.addItem(metal.name, key)
        self.form_size = _percent(5.0, 2000.0)
        self.hammer_depth = _percent(0.0, 500.0)
        form = QFormLayout()
        form.addRow("Name", self.name)
        form.addRow("Gauge", self.gauge)
        form.addRow("Metal", self.metal)
        form.addRow("Size of the form", self.form_size)
        form.addRow("Depth of hammering", self.hammer_depth)
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(self._fault)
        column.addWidget(accept_buttons(self, "Add"))
        self.resize(420, 240)

    def accept(self) -> None:
        try:
            typed = self.gauge.text().strip()
            variant = Variant(
                title=self.name.text().strip() or "variant",
                diameter_mm=parse_length_mm(typed) if typed else None,
                metal=self.metal.currentData(),
                scale=self.form_size.value() / 100,
                flare_depth=self.hammer_depth.value() / 100,
            )
            applied(self._design, variant)
        except FormSketchError as fault:
            self._fault.setText(str(fault))
            self._fault.show()
            return
        self.variant = variant
        super().accept()


def _percent(low: float, high: float) -> QDoubleSpinBox:
    field = QDoubleSpinBox()
    field.setRange(low, high)
    field.setDecimals(1)
    field.setSingleStep(5.0)
    field.setSuffix(" %")
    field.setValue(100.0)
    return field
