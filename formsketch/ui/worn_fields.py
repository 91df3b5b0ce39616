"""What a piece becomes and the size it is to have, as fields: kind, standard, size, ease, oval and gap."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace
from PySide6.QtCore import Signal

from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.ring_sizes import RING_SYSTEMS, nearest_ring_size
from formsketch.design.edits import checked
from formsketch.design.model import Design, Worn
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.fit_command import signed_length_mm
from formsketch.evaluation.worn import (
    EASES,
    STANDARD_WORDS,
    STANDARDS,
    Standard,
    first_worn,
    is_length,
    read_size,
    size_label,
    wanted_mm,
)
from formsketch.ui.fields import CalmComboBox, NumberGroup, QuantityField
from formsketch.units import length_text, ratio_text

_MADE = ("rolled on a mandrel", "worn as it is laid")


class WornFields(NumberGroup):
    """`worn` is what is said; `used` tells that it changed, `refused` why something typed was not taken."""

    used = Signal()
    refused = Signal(str)

    def __init__(self, design: Design, worn: Worn) -> None:
        super().__init__("What it becomes")
        self._design = design
        self.worn = worn
        # The size last meant, so that going through the standards with the arrows does not round it away.
        self._meant = worn
        self.kind, self.standard, self.made = CalmComboBox(), CalmComboBox(), CalmComboBox()
        for kind in STANDARDS:
            self.kind.addItem("drop earring" if kind == "drop" else kind, kind)
        for text, is_rolled in zip(_MADE, (True, False), strict=True):
            self.made.addItem(text, is_rolled)
        self.size_field = QuantityField(self._read_size, lambda size: self._use(size=size))
        self.ease = QuantityField(parse_length_mm, lambda ease_mm: self._use(ease_mm=ease_mm))
        self.aspect = QuantityField(_ratio, lambda aspect: self._use(aspect=aspect))
        self.gap = QuantityField(signed_length_mm, lambda gap_mm: self._use(gap_mm=gap_mm))
        self._add_rows()
        self.kind.activated.connect(self._use_kind)
        self.standard.activated.connect(self._use_standard)
        self.made.activated.connect(lambda _: self._use(rolled=self.made.currentData()))
        for field in (self.size_field, self.ease, self.aspect, self.gap):
            field.refused.connect(self.refused)
        self._fill_standards()
        self._show_fields()

    def _add_rows(self) -> None:
        self.add_field("Piece", self.kind, wide=True)
        self.add_field("Size given as", self.standard, wide=True)
        self.add_field("Size", self.size_field, "Such as 7, N½, 165 mm or 6 1/2 in.", wide=True)
        eases = ", ".join(f"{name} {low:g} to {high:g} mm" for name, (low, high) in EASES.items())
        self.ease_row = self.add_field("Ease", self.ease, f"Added to the wrist: {eases} (common practice).")
        self._made_row = self.add_field("Made", self.made, wide=True)
        self._aspect_row = self.add_field(
            "Oval, depth / width", self.aspect, "1 is round; wrists are about 0.75 to 0.85 (common practice)."
        )
        self._gap_row = self.add_field(
            "Gap between the ends", self.gap, "Less than 0 is an overlap, the ends side by side."
        )

    def _read_size(self, text: str) -> float:
        standard: Standard = self.standard.currentData()
        return read_size(standard, text)

    def _use(self, **changes: Any) -> None:
        """Take what was typed or chosen, or refuse it and keep what stood."""
        worn = replace(self.worn, **changes)
        wanted_mm(worn)
        checked(replace(self._design, worn=worn))
        self.worn = worn
        if "size" in changes:
            self._meant = worn
        self._told()

    def _use_kind(self) -> None:
        kind = self.kind.currentData()
        if kind != self.worn.kind:
            kept = self.worn
            self.worn = replace(first_worn(kind, kept.rolled), aspect=kept.aspect)
            self._meant = self.worn
        self._fill_standards()
        self._told()

    def _use_standard(self) -> None:
        """The same size said another way, as nearly as that standard can."""
        standard: Standard = self.standard.currentData()
        try:
            self.worn = replace(self.worn, standard=standard, size=_said_as(self._meant, standard))
        except FormSketchError as fault:
            self._fill_standards()
            self.refused.emit(str(fault))
            return
        self._told()

    def _told(self) -> None:
        self._show_fields()
        self.used.emit()

    def _fill_standards(self) -> None:
        self.kind.setCurrentIndex(self.kind.findData(self.worn.kind))
        self.standard.clear()
        for standard in STANDARDS[self.worn.kind]:
            self.standard.addItem(STANDARD_WORDS[standard], standard)
        self.standard.setCurrentIndex(max(0, self.standard.findData(self.worn.standard)))

    def _show_fields(self) -> None:
        worn = self.worn
        mm = worn.standard not in RING_SYSTEMS
        label = f"{worn.size:.6g} mm" if mm else size_label(worn).removeprefix(RING_SYSTEMS[worn.standard])
        self.size_field.show_value(label.strip())
        self.ease.show_value(length_text(worn.ease_mm))
        self.aspect.show_value(ratio_text(worn.aspect))
        self.gap.show_value(length_text(worn.gap_mm))
        self.made.setCurrentIndex(self.made.findData(worn.rolled))
        around = not is_length(worn)
        names = [name for name, (low, high) in EASES.items() if low <= worn.ease_mm <= high]
        self.ease_row.show(length_text(worn.ease_mm), names[0] if names else "")
        self.ease_row.set_visible(worn.kind in ("bracelet", "bangle", "cuff"))
        self._made_row.set_visible(around)
        for row in (self._aspect_row, self._gap_row):
            row.set_visible(around and worn.rolled)


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
