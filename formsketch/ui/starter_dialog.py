"""A new design from a few numbers, seen while they are chosen."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.gauges import gauge_text
from formsketch.design.model import Design, Wire
from formsketch.design.starters import STARTERS, Starter, make_starter
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import evaluate
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.picture import FormPicture
from formsketch.units import length_text, weight_text

_SUFFIX = {"mm": " mm", "deg": "°", "times": "", "ratio": ""}


class StarterDialog(QDialog):
    """Choose a starter form and its numbers; `design` is what they make, None when they make nothing."""

    def __init__(self, parent: QWidget | None, wire: Wire) -> None:
        super().__init__(parent)
        self.setWindowTitle("New from a starter form")
        self._wire = wire
        self.design: Design | None = None
        self.kinds = QListWidget()
        self.kinds.setFixedWidth(190)
        self.kinds.setAccessibleName("Starter forms")
        for starter in STARTERS.values():
            self.kinds.addItem(starter.title)
        self._picture = FormPicture()
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setObjectName("soft")
        self._numbers = QWidget()
        self.fields: dict[str, QSpinBox | QDoubleSpinBox] = {}
        self._right = QVBoxLayout()
        self._right.addWidget(self._picture, 1)
        self._right.addWidget(self._said)
        self._right.addWidget(self._numbers)
        self._buttons = accept_buttons(self, "Begin")
        self._right.addWidget(self._buttons)
        across = QHBoxLayout(self)
        across.addWidget(self.kinds)
        across.addLayout(self._right, 1)
        self.resize(860, 640)
        self.kinds.currentRowChanged.connect(self._show_starter)
        self.kinds.setCurrentRow(1)

    @property
    def _starter(self) -> Starter:
        return list(STARTERS.values())[max(0, self.kinds.currentRow())]

    def _show_starter(self) -> None:
        old = self._numbers
        self._numbers = QWidget()
        form = QFormLayout(self._numbers)
        form.setContentsMargins(0, 4, 0, 4)
        self.fields = {}
        for number in self._starter.numbers:
            field: QSpinBox | QDoubleSpinBox
            if number.unit == "times":
                field = QSpinBox()
                field.setRange(int(number.low), int(number.high))
                field.setValue(int(number.value))
            else:
                field = QDoubleSpinBox()
                field.setDecimals(2 if number.unit == "ratio" else 1)
                field.setSingleStep({"mm": 0.5, "deg": 5.0, "ratio": 0.05}[number.unit])
                field.setRange(number.low, number.high)
                field.setValue(number.value)
            field.setSuffix(_SUFFIX[number.unit])
            field.valueChanged.connect(self._make)
            form.addRow(number.label, field)
            self.fields[number.name] = field
        self._right.replaceWidget(old, self._numbers)
        old.hide()
        old.deleteLater()
        self._make()

    def _make(self) -> None:
        values = {name: float(field.value()) for name, field in self.fields.items()}
        try:
            self.design = make_starter(self._starter.key, self._wire, numbers=values)
            evaluation = evaluate(self.design)
        except FormSketchError as fault:
            self.design = None
            self._picture.show_form(None)
            self._said.setText(str(fault))
        else:
            self._picture.show_form(evaluation)
            wide, high = evaluation.envelope_mm
            self._said.setText(
                f"{self._starter.explanation} In {gauge_text(self._wire.diameter_mm)} "
                f"{evaluation.metal.name}: {wide:.1f} × {high:.1f} mm, "
                f"cut {length_text(evaluation.cut_length_mm)}, {weight_text(evaluation.weight_g)}."
            )
        self._buttons.buttons()[0].setEnabled(self.design is not None)
