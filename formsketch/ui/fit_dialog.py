"""A piece made to close at its size: what it is to be, what it reaches now, and the ways to get there."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace
from PySide6.QtWidgets import QDialogButtonBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.ring_sizes import RING_SYSTEMS, nearest_ring_size
from formsketch.design.edits import checked
from formsketch.design.model import Design, Worn
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.fit_command import signed_length_mm
from formsketch.evaluation.fit_report import HEADINGS, row_texts, size_text, size_words
from formsketch.evaluation.fit_size import Fit, OneOfSizes, all_fits, size_run, with_size_run
from formsketch.evaluation.rolled import Oval, rolled
from formsketch.evaluation.worn import (
    EASES,
    STANDARD_WORDS,
    STANDARDS,
    Standard,
    checked_worn,
    first_worn,
    is_length,
    read_size,
    size_label,
    suggested,
    wanted_mm,
)
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.fields import CalmComboBox, NumberGroup, QuantityField
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.rolled_view import RolledView
from formsketch.units import length_text, ratio_text

_FIELDS_PX = 400
_ROLLED = ("rolled on a mandrel", "worn as it is laid")


class FitDialog(LiveDialog):
    """`design` is the design fitted, or given its run of sizes, and `step` its name, once accepted."""

    def __init__(self, parent: QWidget | None, evaluation: Evaluation) -> None:
        super().__init__(parent)
        self.setWindowTitle("Fit to a size")
        self._evaluation = evaluation
        self._worn = _first_for(evaluation)
        # The size last meant, so that going through the standards with the arrows does not round it away.
        self._meant = self._worn
        self._fits: list[Fit] = []
        self._sizes: list[OneOfSizes] = []
        self.design: Design | None = None
        self.step = ""
        self._make_fields()
        self.wanted, self.now, self.five_sizes, self._fault = QLabel(), QLabel(), QLabel(), QLabel()
        for label in (self.wanted, self.now, self.five_sizes, self._fault):
            label.setWordWrap(True)
        self._fault.setObjectName("caution")
        self.drawing = RolledView()
        self.ways = PlainTable("Ways to the size", HEADINGS)
        header = self.ways.horizontalHeader()
        header.setSectionResizeMode(1, header.ResizeMode.Stretch)
        header.setSectionResizeMode(len(HEADINGS) - 1, header.ResizeMode.ResizeToContents)
        self.ways.currentCellChanged.connect(self._choose_row)
        self._lay_out()
        self._fill_standards()
        self.solve()

    # --- fields

    def _make_fields(self) -> None:
        self.kind, self.standard, self.made = CalmComboBox(), CalmComboBox(), CalmComboBox()
        for kind in STANDARDS:
            self.kind.addItem("drop earring" if kind == "drop" else kind, kind)
        for words, is_rolled in zip(_ROLLED, (True, False), strict=True):
            self.made.addItem(words, is_rolled)
        self.size_field = QuantityField(self._read_size, lambda size: self._use(size=size))
        self.ease = QuantityField(parse_length_mm, lambda ease_mm: self._use(ease_mm=ease_mm))
        self.aspect = QuantityField(_ratio, lambda aspect: self._use(aspect=aspect))
        self.gap = QuantityField(signed_length_mm, lambda gap_mm: self._use(gap_mm=gap_mm))
        group = NumberGroup("What it becomes")
        group.add_field("Piece", self.kind, wide=True)
        group.add_field("Size given as", self.standard, wide=True)
        group.add_field("Size", self.size_field, "Such as 7, N½, 165 mm or 6 1/2 in.", wide=True)
        eases = ", ".join(f"{name} {low:g} to {high:g} mm" for name, (low, high) in EASES.items())
        self._ease_row = group.add_field("Ease", self.ease, f"Added to the wrist: {eases} (common practice).")
        self._made_row = group.add_field("Made", self.made, wide=True)
        self._aspect_row = group.add_field(
            "Oval, depth / width", self.aspect, "1 is round; wrists are about 0.75 to 0.85 (common practice)."
        )
        self._gap_row = group.add_field(
            "Gap between the ends", self.gap, "Less than 0 is an overlap, the ends side by side."
        )
        group.setMaximumWidth(_FIELDS_PX)
        self._group = group
        self.kind.activated.connect(self._use_kind)
        self.standard.activated.connect(self._use_standard)
        self.made.activated.connect(lambda _: self._use(rolled=self.made.currentData()))
        for field in (self.size_field, self.ease, self.aspect, self.gap):
            field.refused.connect(self._explain)

    def _lay_out(self) -> None:
        buttons = accept_buttons(self, "Fit it so")
        self.fit_so = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.five = buttons.addButton("Add &five sizes as variants", QDialogButtonBox.ButtonRole.ActionRole)
        self.five.setAutoDefault(False)
        self.five.clicked.connect(self._add_five)
        top, column, side = QHBoxLayout(), QVBoxLayout(self), QVBoxLayout()
        side.addWidget(self._group)
        side.addStretch(1)
        top.addLayout(side)
        right = QVBoxLayout()
        right.addWidget(self.drawing)
        right.addWidget(self.wanted)
        right.addWidget(self.now)
        right.addStretch(1)
        top.addLayout(right, 1)
        column.addLayout(top)
        column.addWidget(self._fault)
        column.addWidget(self.ways, 1)
        column.addWidget(self.five_sizes)
        column.addWidget(buttons)
        self.resize(1120, 640)

    def _read_size(self, text: str) -> float:
        standard: Standard = self.standard.currentData()
        return read_size(standard, text)

    def _use(self, **changes: Any) -> None:
        """Take what was typed or chosen, or refuse it and keep what stood."""
        worn = replace(self._worn, **changes)
        wanted_mm(worn)
        checked(replace(self._evaluation.design, worn=worn))
        self._worn = worn
        if "size" in changes:
            self._meant = worn
        self.solve()

    def _use_kind(self) -> None:
        kind = self.kind.currentData()
        if kind != self._worn.kind:
            kept = self._worn
            self._worn = replace(first_worn(kind, kept.rolled), aspect=kept.aspect)
            self._meant = self._worn
        self._fill_standards()
        self.solve()

    def _use_standard(self) -> None:
        """The same size said another way, as nearly as that standard can."""
        standard: Standard = self.standard.currentData()
        try:
            self._worn = replace(self._worn, standard=standard, size=_said_as(self._meant, standard))
        except FormSketchError as fault:
            self._fill_standards()
            self._explain(str(fault))
            return
        self.solve()

    def _fill_standards(self) -> None:
        self.kind.setCurrentIndex(self.kind.findData(self._worn.kind))
        self.standard.clear()
        for standard in STANDARDS[self._worn.kind]:
            self.standard.addItem(STANDARD_WORDS[standard], standard)
        self.standard.setCurrentIndex(max(0, self.standard.findData(self._worn.standard)))

    # --- solving

    def solve(self) -> None:
        """Show what the size comes to, what the piece reaches, and every way there."""
        worn = self._worn
        self._show_fields()
        self._fits = []
        try:
            wanted, now = size_words(self._evaluation, checked_worn(worn))
            self._fits = all_fits(self._evaluation.design, worn)
        except FormSketchError as fault:
            wanted, now = "", ""
            self._explain(str(fault))
        else:
            self._explain("")
        self.wanted.setText(f"<b>Wanted</b> {wanted}")
        self.now.setText(f"<b>Now</b> {now}")
        self.ways.show_rows([row_texts(fit, worn, self._evaluation) for fit in self._fits])
        best = next((i for i, fit in enumerate(self._fits) if fit.evaluation is not None), 0)
        self.ways.setCurrentCell(best, 0)
        self._show_five()
        self._choose_row()

    def _show_five(self) -> None:
        """Five sizes about the one wanted, with the wire to cut for each, or why they cannot be had."""
        try:
            self._sizes = size_run(self._evaluation.design, self._worn)
            told = "; ".join(size_text(one) for one in self._sizes)
        except FormSketchError as fault:
            self._sizes, told = [], f"cannot be had. {fault}"
        self.five.setEnabled(bool(self._sizes))
        self.five_sizes.setText(f"<b>Five sizes</b> {told}")

    def _show_fields(self) -> None:
        worn = self._worn
        mm = worn.standard not in RING_SYSTEMS
        label = f"{worn.size:.6g} mm" if mm else size_label(worn).removeprefix(RING_SYSTEMS[worn.standard])
        self.size_field.show_value(label.strip())
        self.ease.show_value(length_text(worn.ease_mm))
        self.aspect.show_value(ratio_text(worn.aspect))
        self.gap.show_value(length_text(worn.gap_mm))
        self.made.setCurrentIndex(self.made.findData(worn.rolled))
        around = not is_length(worn)
        names = [name for name, (low, high) in EASES.items() if low <= worn.ease_mm <= high]
        self._ease_row.show(length_text(worn.ease_mm), names[0] if names else "")
        self._ease_row.set_visible(worn.kind in ("bracelet", "bangle", "cuff"))
        self._made_row.set_visible(around)
        for row in (self._aspect_row, self._gap_row):
            row.set_visible(around and worn.rolled)

    @property
    def chosen(self) -> Fit | None:
        """The way chosen in the table; None while there is none."""
        row = self.ways.currentRow()
        return self._fits[row] if 0 <= row < len(self._fits) else None

    def _choose_row(self, *_: int) -> None:
        fit = self.chosen
        self.fit_so.setEnabled(fit is not None and fit.evaluation is not None)
        made = self._evaluation if fit is None or fit.evaluation is None else fit.evaluation
        self._draw(made)

    def _draw(self, made: Evaluation) -> None:
        """The piece fitted the way chosen, or as it is where that cannot be."""
        worn = self._worn
        self.drawing.setVisible(worn.rolled and not is_length(worn))
        try:
            piece = rolled(made, worn.aspect, worn.gap_mm)
            words = "as it is" if made is self._evaluation else "fitted"
            self.drawing.show_piece(made, piece, Oval(wanted_mm(worn), worn.aspect), words)
        except FormSketchError:
            self.drawing.show_nothing()

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    # --- ending

    def accept(self) -> None:
        """Keep the way chosen."""
        fit = self.chosen
        if fit is not None and fit.design is not None:
            self._end(fit.design, f"Fit to {size_label(self._worn)}")

    def _add_five(self) -> None:
        """The five sizes as variants, or say why not and stay."""
        try:
            design = with_size_run(replace(self._evaluation.design, worn=self._worn), self._sizes)
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        self._end(design, f"Five sizes about {size_label(self._worn)}")

    def _end(self, design: Design, step: str) -> None:
        self.design, self.step = design, step
        super().accept()


def _first_for(evaluation: Evaluation) -> Worn:
    """What the design says it becomes, as far as there is such a size."""
    worn = suggested(evaluation)
    try:
        wanted_mm(worn)
    except FormSketchError:
        return first_worn(worn.kind, worn.rolled)
    return worn


def _said_as(worn: Worn, standard: Standard) -> float:
    """The same inside in another standard, as nearly as it has it. Raises `InputError` where it has none."""
    if standard == worn.standard:
        return worn.size
    inside_mm = wanted_mm(worn) - worn.ease_mm
    if standard in RING_SYSTEMS:
        return nearest_ring_size(standard, inside_mm)
    per_unit_mm = wanted_mm(replace(worn, standard=standard, size=1.0, ease_mm=0.0))
    return round(inside_mm / per_unit_mm, 2)


def _ratio(text: str) -> float:
    """A ratio as typed: "0.8" or "80 %". Raises `InputError`."""
    try:
        typed = text.strip()
        ratio = float(typed.removesuffix("%")) / (100 if typed.endswith("%") else 1)
    except ValueError:
        ratio = 0.0
    if not 0.3 <= ratio <= 1.0:
        raise InputError(f'"{text}": depth over width from 0.3 to 1 was expected, 1 for round.')
    return ratio
