"""A gold or silver piece sampled in brass: the wire for it, and what the sample will not tell."""

from __future__ import annotations

from PySide6.QtWidgets import QDialogButtonBox, QLabel, QVBoxLayout, QWidget

from formsketch.bench.gauges import STOCK_SYSTEMS, gauge_text, stock_diameters
from formsketch.comparison.brass_sample import SIZE_RANGE, BrassSample, brass_sample
from formsketch.design.edits import with_variants
from formsketch.design.model import Variant
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.fields import CalmComboBox, NumberGroup
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.units import percent_text


class BrassSampleDialog(LiveDialog):
    """Choose the wire to sample in; `variant` is the sample as a variant once the dialog is accepted.

    Raises `InputError` at once for a piece that is not of silver or gold.
    """

    def __init__(self, parent: QWidget | None, piece: Evaluation) -> None:
        brass_sample(piece)
        super().__init__(parent)
        self.setWindowTitle("Brass sample")
        self._piece = piece
        self._sample: BrassSample | None = None
        self.variant: Variant | None = None
        self.system, self.wire = CalmComboBox(), CalmComboBox()
        self.system.addItems(STOCK_SYSTEMS)
        self._fill_wires()
        group = NumberGroup(f"{piece.design.title or 'Untitled'} in {piece.metal.name}, sampled in brass")
        group.add_field("Bought in", self.system, "The gauges the wire is sold in.", wide=True)
        group.add_field(
            "Wire of the sample", self.wire, "Another wire enlarges form and wire together.", wide=True
        )
        self.answer = QLabel()
        self.answer.setWordWrap(True)
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        self.rows = PlainTable("What differs", ("", "Piece", "Sample", "At the bench"), choosing=False)
        buttons = accept_buttons(self, "Add as a variant")
        self.add = buttons.button(QDialogButtonBox.StandardButton.Ok)
        column = QVBoxLayout(self)
        for part in (group, self.answer, self._fault, self.rows, buttons):
            column.addWidget(part)
        self.resize(860, 480)
        self.system.activated.connect(self._change_system)
        self.wire.activated.connect(self.show_sample)
        self.show_sample()

    def _fill_wires(self) -> None:
        """The piece's own wire first, then what is sold that leaves a size a bench can work at."""
        own_mm = self._piece.diameter_mm
        low, high = SIZE_RANGE
        self.wire.clear()
        self.wire.addItem(f"the same, {gauge_text(own_mm)}: same size", None)
        for label, diameter_mm in stock_diameters(self.system.currentText()):
            scale = diameter_mm / own_mm
            if low <= scale <= high and abs(scale - 1) > 1e-6:
                size = percent_text(100 * scale)
                self.wire.addItem(f"{label} ({diameter_mm:.2f} mm): {size} of the size", diameter_mm)

    def _change_system(self) -> None:
        self._fill_wires()
        self.show_sample()

    def show_sample(self) -> None:
        """Show the sample in the wire chosen."""
        try:
            self._sample = brass_sample(self._piece, self.wire.currentData())
        except FormSketchError as fault:
            self._sample = None
            self._explain(str(fault))
        else:
            self._explain("")
        found = self._sample
        self.answer.setText("" if found is None else found.wire_text)
        rows = () if found is None else found.rows
        self.rows.show_rows([(row.label, row.piece, row.sample, row.meaning) for row in rows])
        self.add.setEnabled(found is not None)

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def accept(self) -> None:
        """Keep the sample as a variant, or say why it cannot be kept and stay."""
        if self._sample is None:
            return
        design = self._piece.design
        try:
            with_variants(design, (*design.variants, self._sample.variant))
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        self.variant = self._sample.variant
        super().accept()
