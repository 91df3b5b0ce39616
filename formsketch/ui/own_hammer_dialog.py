"""The maker's own hammer: samples typed in, the spread they show with its band, and what it does here."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.hammers import TABLE_KIND, own_hammer
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.user_tables import HAMMERS_FILE, keep_row
from formsketch.design.edits import change_hammer
from formsketch.design.model import Hammer
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Band, Evaluation, evaluate
from formsketch.fitting.calibration import (
    CALIPERS_READ_TO_MM,
    Calibration,
    Sample,
    calibrate,
    plain_fault,
)
from formsketch.fitting.piece_calibration import PIECE_READS_TO_MM, calibrate_piece
from formsketch.ui.own_page import OwnPage
from formsketch.units import band_text, length_text

_MOST_ROWS = 10
_FIRST_ROWS = 3
_SIZES = ("Wire", "Thickness", "Width")
_NAME_LIMIT = 80


class OwnHammerDialog(OwnPage):
    """Find a spread; `hammer` is set when accepted, for the design it was opened on."""

    def __init__(self, parent: QWidget | None, evaluation: Evaluation) -> None:
        super().__init__(parent, "Own hammer", "such as planishing hammer, flat face")
        self._evaluation = evaluation
        self.hammer: Hammer | None = None
        self._found: Calibration | None = None
        self.rows: list[tuple[QLineEdit, ...]] = []
        self._said: list[tuple[QLabel, QLabel]] = []
        self.add_sample = QPushButton("&Add a sample")
        self.add_sample.setAutoDefault(False)
        self.add_sample.clicked.connect(self._add_row)
        self.reads_to = self.field("Calipers read to ±", f"{CALIPERS_READ_TO_MM:g} mm")
        self.used = self.field("Wire used", length_text(evaluation.cut_length_mm))
        self.finished_length = self.field("Finished length", "")
        self.finished_length.setPlaceholderText(f"as drawn: {length_text(evaluation.finished_length_mm)}")
        self.piece_reads_to = self.field("Both read to ±", f"{PIECE_READS_TO_MM:g} mm")
        self.tabs = QTabWidget()
        self.tabs.addTab(self._samples_tab(), "Samples")
        self.tabs.addTab(self._piece_tab(), "A whole piece")
        self.tabs.currentChanged.connect(self.tell)
        self.name.setMaxLength(_NAME_LIMIT)
        self.name.setText(evaluation.design.hammer.name)
        self.lay_out(
            "Hammer short pieces flat with your own hammer on your own block, to about half the wire's "
            "thickness, and measure them with calipers.",
            self.tabs,
        )
        self.setMinimumWidth(560)
        self.tell()

    def _samples_tab(self) -> QWidget:
        page = QWidget()
        self._grid = QGridLayout()
        for place, heading in enumerate((*_SIZES, "Spread", "Longer")):
            label = QLabel(heading)
            label.setObjectName("soft")
            self._grid.addWidget(label, 0, place)
        self._grid.setColumnStretch(4, 1)
        for _ in range(_FIRST_ROWS):
            self._add_row()
        reading = QFormLayout()
        under = QHBoxLayout()
        under.addWidget(self.add_sample)
        under.addStretch(1)
        reading.addRow(under)
        reading.addRow("Calipers read to ±", self.reads_to)
        column = QVBoxLayout(page)
        column.addLayout(self._grid)
        column.addLayout(reading)
        column.addStretch(1)
        return page

    def _piece_tab(self) -> QWidget:
        return self.asked_tab(
            "A piece made from this design: the straight wire it was cut from, both ends included, and how "
            "long the finished wire is along its middle, ends not counted.",
            ("Wire used", self.used),
            ("Finished length", self.finished_length),
            ("Both read to ±", self.piece_reads_to),
        )

    def _add_row(self) -> None:
        """One more sample, in the wire of the last."""
        wire = self.rows[-1][0].text() if self.rows else length_text(self._evaluation.diameter_mm)
        number = len(self.rows) + 1
        typed = zip(_SIZES, (wire, "", ""), strict=True)
        fields = tuple(self.field(f"{size} of sample {number}", text) for size, text in typed)
        said = QLabel(), QLabel()
        said[0].setMinimumWidth(90)
        for column, widget in enumerate((*fields, *said)):
            self._grid.addWidget(widget, number, column)
        self.rows.append(fields)
        self._said.append(said)
        self.add_sample.setEnabled(number < _MOST_ROWS)
        if number > _FIRST_ROWS:
            fields[1].setFocus()

    # --- reading and telling

    def _typed_samples(self) -> list[tuple[int, Sample]]:
        """The samples typed so far with the numbers of their rows; rows without sizes are left out."""
        samples = []
        for number, (wire, thickness, width) in enumerate(self.rows):
            if not thickness.text().strip() and not width.text().strip():
                continue
            if not thickness.text().strip() or not width.text().strip():
                raise InputError(f"Sample {number + 1}: both thickness and width are expected.")
            try:
                sizes = [parse_length_mm(field.text()) for field in (wire, thickness, width)]
            except FormSketchError as fault:
                raise InputError(f"Sample {number + 1}: {fault}") from fault
            samples.append((number, Sample(*sizes)))
        return samples

    def _calibrated(self) -> Calibration | None:
        """What the fields of the tab in front show; None while nothing is typed."""
        for labels in self._said:
            for label in labels:
                label.setText("")
        if self.tabs.currentIndex() == 1:
            if not self.finished_length.text().strip():
                return None
            return calibrate_piece(
                self._evaluation.design,
                parse_length_mm(self.used.text()),
                parse_length_mm(self.finished_length.text()),
                parse_length_mm(self.piece_reads_to.text()),
            )
        samples = self._typed_samples()
        if not samples:
            return None
        reads_to = parse_length_mm(self.reads_to.text())
        for number, sample in samples:
            try:
                reading = calibrate([sample], reads_to).readings[0]
            except FormSketchError as fault:
                raise InputError(f"Sample {number + 1}: {plain_fault(fault)}") from fault
            spread, longer = self._said[number]
            spread.setText(f"{reading.spread:.2f} ± {reading.half_band:.2f}")
            longer.setText(f"{reading.elongation:.3f} times")
        return calibrate([sample for _, sample in samples], reads_to)

    def tell(self) -> None:
        """Show what is typed: the spread and its band, what it rests on and what it makes of the design."""
        self._found = None
        try:
            self._found = found = self._calibrated()
        except FormSketchError as fault:
            self.show_result("", "", str(fault))
            return
        if found is None:
            self.show_result("", "Type what you measured.", "")
            return
        scatter = f", scatter {found.scatter:.3f}" if found.scatter is not None else ""
        longer = f", {found.elongation:.3f} times as long" if found.elongation is not None else ""
        lines = [
            f"{found.how[:1].upper()}{found.how[1:]}{scatter}{longer}.",
            *found.remarks,
            self._here(found),
        ]
        self.show_result(
            f"Spread {found.spread:.2f} ({found.low:.2f} to {found.high:.2f})", " ".join(lines), ""
        )

    def _here(self, found: Calibration) -> str:
        """Width and cut length of the design under this hammer."""
        e = evaluate(change_hammer(self._evaluation.design, self._as_hammer(found)))
        cut = f"This design: cut length {length_text(e.cut_length_mm)} {_band(e.cut_length_band)}".rstrip()
        if e.thinnest_mm >= e.diameter_mm:
            return f"{cut}."
        return f"{cut}, widest {length_text(e.widest_mm)} {_band(e.widest_band)}".rstrip() + "."

    def _as_hammer(self, found: Calibration) -> Hammer:
        return Hammer(spread=found.spread, name=self.name.text().strip(), low=found.low, high=found.high)

    # --- using and keeping

    def _read(self) -> Calibration:
        self.tell()
        if self._found is None:
            raise InputError(self.fault_text() or "A hammered sample was expected.")
        return self._found

    def use(self) -> None:
        """Take the hammer for the design; raises `FormSketchError` when there is none."""
        hammer = self._as_hammer(self._read())
        change_hammer(self._evaluation.design, hammer)
        self.hammer = hammer

    def keep(self) -> str:
        """Keep the hammer by its name for other designs; the sentence that says so."""
        found = self._read()
        row = own_hammer(
            self.name.text(), found.spread, found.low, found.high, self._evaluation.metal.name, found.how
        )
        keep_row(HAMMERS_FILE, TABLE_KIND, row)
        return f"{row.name} is kept; it is offered among the hammers from now on."


def _band(band: Band) -> str:
    return band_text(band.low, band.high, band.value)
