"""The template before it is printed: its parts, the paper, the printer put right, and every sheet seen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QLocale, QMarginsF, QSettings, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.drawing import Sheet
from formsketch.template.papers import MARGIN_MM, PAPERS
from formsketch.template.printed import PART_WORDS, USUAL_PARTS, choice_of, printed_sheets
from formsketch.template.sheet_style import OVERLAP_MM
from formsketch.template.template import template_sheets
from formsketch.ui.fields import CalmComboBox, QuantityField
from formsketch.ui.paint_sheet import paint_sheet
from formsketch.ui.sheet_pages import SheetsDialog
from formsketch.units import length_text

_SMALLEST = "one sheet, just large enough"
_SETTING = "template/"


class TemplateDialog(SheetsDialog):
    """Chooses how the template is set; `save` and `print_` are called with the sheets chosen."""

    def __init__(
        self,
        parent: QWidget | None,
        evaluation: Evaluation,
        settings: QSettings,
        save: Callable[[list[Sheet]], Path | None],
        print_: Callable[[QWidget, list[Sheet]], bool],
    ) -> None:
        super().__init__(parent, "Template for the bench")
        self._evaluation, self._settings, self._save, self._print = evaluation, settings, save, print_
        self.paper = CalmComboBox()
        for key, paper in PAPERS.items():
            self.paper.addItem(paper.name.removesuffix(" upright"), key)
        self.paper.addItem(_SMALLEST, "")
        self.lying = QCheckBox("long side across")
        self.parts = {key: QCheckBox(words[0].upper() + words[1:]) for key, words in PART_WORDS.items()}
        for key, box in self.parts.items():
            box.setChecked(key in USUAL_PARTS)
        self.mirrored = QCheckBox("Mirrored, for transfer")
        self.left_handed = QCheckBox("Wire from right to left")
        self._lengths = {
            "bar_across_mm": 100.0,
            "bar_down_mm": 100.0,
            "margin_mm": MARGIN_MM,
            "overlap_mm": OVERLAP_MM,
        }
        bar = "What the 100 mm bar of your last print measured; the drawing is put right for it."
        self.across = self._length_field("bar_across_mm", "100 mm bar measured across", bar)
        self.down = self._length_field("bar_down_mm", "100 mm bar measured down", bar)
        self.margin = self._length_field("margin_mm", "Margin", "Left white all round; printers need some.")
        self.overlap = self._length_field(
            "overlap_mm", "Overlap", "Of sheets that a large form is tiled over."
        )
        self.preview, self.number = self.pages.preview, self.pages.number
        self.before, self.after = self.pages.before, self.pages.after
        self.save_button.setText("Save...")
        self.print_button.setText("Print...")
        self._lay_out()
        self._restore()
        for box in (self.lying, *self.parts.values(), self.mirrored, self.left_handed):
            box.toggled.connect(self.refresh)
        self.paper.currentIndexChanged.connect(self.refresh)
        self.save_button.clicked.connect(self._save_sheets)
        self.print_button.clicked.connect(self._print_sheets)
        self.refresh()

    def _length_field(self, name: str, label: str, tip: str) -> QuantityField:
        def use(length_mm: float) -> None:
            before, self._lengths[name] = self._lengths[name], length_mm
            try:
                self.set_sheets()
            except FormSketchError:
                self._lengths[name] = before
                raise
            self.refresh()

        field = QuantityField(parse_length_mm, use)
        field.setAccessibleName(label)
        field.setToolTip(tip)
        field.refused.connect(self.explain)
        return field

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.addRow("Paper", self.paper)
        form.addRow("", self.lying)
        for key, box in self.parts.items():
            form.addRow("Parts" if key == next(iter(self.parts)) else "", box)
        form.addRow("Set", self.mirrored)
        form.addRow("", self.left_handed)
        form.addRow("Margin", self.margin)
        form.addRow("Overlap of tiles", self.overlap)
        form.addRow("100 mm bar across was", self.across)
        form.addRow("100 mm bar down was", self.down)
        left = QVBoxLayout()
        left.addLayout(form)
        left.addWidget(self.fault)
        left.addStretch(1)
        sides = QHBoxLayout()
        sides.addLayout(left)
        sides.addWidget(self.pages, 1)
        close = QPushButton("Close")
        close.clicked.connect(self.reject)
        self.save_button.setDefault(True)
        below = QHBoxLayout()
        below.addWidget(QLabel("Print at 100 % and measure the check bars."), 1)
        for button in (close, self.print_button, self.save_button):
            below.addWidget(button)
        column = QVBoxLayout(self)
        column.addLayout(sides, 1)
        column.addLayout(below)

    # --- what is chosen

    def refresh(self) -> None:
        """Set the sheets anew for what is chosen, or say why it cannot be."""
        chosen = bool(self.paper.currentData())
        fields = self.across, self.down, self.margin, self.overlap
        for box in (self.lying, self.mirrored, self.left_handed, *fields, *self.parts.values()):
            box.setEnabled(chosen)
        for field, length_mm in zip(fields, self._lengths.values(), strict=True):
            field.show_value(length_text(length_mm))
        super().refresh()

    def set_sheets(self) -> list[Sheet]:
        """The template by its parts on the paper chosen, or on one sheet that is large enough."""
        paper = self.paper.currentData()
        if not paper:
            return template_sheets(self._evaluation)
        chosen = [key for key, box in self.parts.items() if box.isChecked()]
        choice = choice_of(
            paper=paper,
            lying=self.lying.isChecked(),
            parts=",".join(chosen),
            mirrored=self.mirrored.isChecked(),
            left_handed=self.left_handed.isChecked(),
            **self._lengths,
        )
        assert choice is not None
        return printed_sheets(self._evaluation, choice)

    # --- remembered for the next time

    def _restore(self) -> None:
        read = self._settings.value
        for key in (str(read(_SETTING + "paper", "", type=str)), paper_of_the_place()):
            if key in PAPERS or (not key and self._settings.contains(_SETTING + "paper")):
                self.paper.setCurrentIndex(self.paper.findData(key))
                break
        self.lying.setChecked(bool(read(_SETTING + "lying", False, type=bool)))
        parts = str(read(_SETTING + "parts", ",".join(USUAL_PARTS), type=str)).split(",")
        for key, box in self.parts.items():
            box.setChecked(key in parts)

    def remember(self) -> None:
        """Keep paper and parts for the next time."""
        keep = self._settings.setValue
        keep(_SETTING + "paper", self.paper.currentData())
        keep(_SETTING + "lying", self.lying.isChecked())
        keep(_SETTING + "parts", ",".join(key for key, box in self.parts.items() if box.isChecked()))

    def _save_sheets(self) -> None:
        self.finish(lambda: self._save(self.sheets) is not None)

    def _print_sheets(self) -> None:
        self.finish(lambda: self._print(self, self.sheets))


def paper_of_the_place() -> str:
    """Letter where the desktop counts in the inches of the United States, else A4."""
    system = QLocale.system().measurementSystem()
    return "letter" if system == QLocale.MeasurementSystem.ImperialUSSystem else "a4"


def print_sheets(parent: QWidget, sheets: list[Sheet]) -> bool:
    """Ask for a printer and print the sheets at true size; False when thought better of.

    Raises `FormSketchError` when the printer takes no job.
    """
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    _use_page(printer, sheets[0])
    if QPrintDialog(printer, parent).exec() != QDialog.DialogCode.Accepted:
        return False
    paint_on_printer(printer, sheets)
    return True


def paint_on_printer(printer, sheets: list[Sheet]) -> None:  # type: ignore[no-untyped-def]
    """Paint the sheets on a printer, each on a page of its own size, unscaled."""
    _use_page(printer, sheets[0])
    painter = QPainter()
    if not painter.begin(printer):
        raise FormSketchError("The printer does not take the job; expected one that is ready.")
    for number, sheet in enumerate(sheets):
        if number:
            _use_page(printer, sheet)
            printer.newPage()
        paint_sheet(painter, sheet, printer.resolution() / 25.4)
    painter.end()


def _use_page(printer, sheet: Sheet) -> None:  # type: ignore[no-untyped-def]
    lying = sheet.width_mm > sheet.height_mm
    short, long = sorted((sheet.width_mm, sheet.height_mm))
    size = QPageSize(QSizeF(short, long), QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    way = QPageLayout.Orientation.Landscape if lying else QPageLayout.Orientation.Portrait
    printer.setPageLayout(QPageLayout(size, way, QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter))
    printer.setFullPage(True)
