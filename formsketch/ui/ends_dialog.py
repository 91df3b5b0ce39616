"""What is done to each end of the wire."""

from __future__ import annotations

from typing import Any

import msgspec
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from formsketch.design.edits import change_end
from formsketch.design.model import (
    BeadEnd,
    Design,
    End,
    EyeEnd,
    HookEnd,
    PlainEnd,
    PostEnd,
    TaperedEnd,
)
from formsketch.errors import FormSketchError
from formsketch.forging.ends import end_piece
from formsketch.ui.dialogs import accept_buttons

# Kind, its word, and its numbers: field, label, suffix, step. Starting sizes are common practice.
_KINDS: tuple[tuple[type, str, tuple[tuple[str, str, str, float], ...]], ...] = (
    (PlainEnd, "plain", ()),
    (
        TaperedEnd,
        "tapered",
        (
            ("length_mm", "Length", " mm", 0.5),
            ("tip_diameter_mm", "Tip", " mm", 0.05),
            ("turn_deg", "Turns", "°", 5.0),
        ),
    ),
    (BeadEnd, "bead", (("diameter_mm", "Diameter", " mm", 0.1),)),
    (
        HookEnd,
        "hook",
        (
            ("inside_diameter_mm", "Inside", " mm", 0.5),
            ("turn_deg", "Turns (left +)", "°", 5.0),
            ("straight_mm", "Straight before it", " mm", 0.5),
            ("bead_diameter_mm", "Bead (0 for none)", " mm", 0.1),
        ),
    ),
    (EyeEnd, "eye", (("inside_diameter_mm", "Inside", " mm", 0.5),)),
    (PostEnd, "ear post", (("length_mm", "Length", " mm", 0.5), ("diameter_mm", "Diameter", " mm", 0.05))),
)


def _starting_end(kind: type, wire_mm: float) -> Any:
    if kind is TaperedEnd:
        return TaperedEnd(length_mm=8.0, tip_diameter_mm=round(0.5 * wire_mm, 2))
    if kind is BeadEnd:
        return BeadEnd(diameter_mm=round(2 * wire_mm, 2))
    if kind is HookEnd:
        return HookEnd(inside_diameter_mm=4.0)
    if kind is EyeEnd:
        return EyeEnd(inside_diameter_mm=2.5)
    if kind is PostEnd:
        return PostEnd(diameter_mm=min(0.8, wire_mm))
    return PlainEnd()


class _EndChoice(QGroupBox):
    """One end: its kind and its numbers, and what it takes of the wire."""

    def __init__(self, name: str, end: End, wire_mm: float) -> None:
        super().__init__(name)
        self._wire_mm = wire_mm
        self.kind = QComboBox()
        self.kind.setAccessibleName(f"{name}: kind of end")
        self._pages = QStackedWidget()
        self._fields: list[dict[str, QDoubleSpinBox]] = []
        self._base: list[Any] = []
        self._side = QComboBox()
        self._side.addItems(["left", "right"])
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setObjectName("soft")
        for number, (kind, word, numbers) in enumerate(_KINDS):
            base = end if isinstance(end, kind) else _starting_end(kind, wire_mm)
            self.kind.addItem(word)
            self._base.append(base)
            self._pages.addWidget(self._page(kind, base, numbers))
            if isinstance(end, kind):
                self.kind.setCurrentIndex(number)
        column = QVBoxLayout(self)
        column.addWidget(self.kind)
        column.addWidget(self._pages)
        column.addWidget(self._said)
        column.addStretch(1)
        self.kind.currentIndexChanged.connect(self._tell)
        self._side.currentIndexChanged.connect(self._tell)
        self._tell()

    def _page(self, kind: type, base: Any, numbers: tuple[tuple[str, str, str, float], ...]) -> QWidget:
        page = QWidget()
        form = QFormLayout(page)
        fields = {}
        for name, label, suffix, step in numbers:
            field = QDoubleSpinBox()
            # The design's own bounds decide; the field only keeps typing within reason.
            field.setRange(-720.0 if suffix == "°" else 0.0, 1000.0)
            field.setDecimals(2 if step < 0.5 else 1)
            field.setSingleStep(step)
            field.setSuffix(suffix)
            field.setValue(getattr(base, name))
            field.valueChanged.connect(self._tell)
            form.addRow(label, field)
            fields[name] = field
        if kind is EyeEnd:
            self._side.setCurrentText(base.side)
            form.addRow("Rolled to the", self._side)
        self._fields.append(fields)
        return page

    def end(self) -> Any:
        """The end as chosen; its bounds are checked when the design is made."""
        number = self.kind.currentIndex()
        base = self._base[number]
        # A field rounds what it shows: only what was changed by hand is taken from it.
        changes: dict[str, Any] = {
            name: field.value()
            for name, field in self._fields[number].items()
            if abs(field.value() - getattr(base, name)) > 0.51 * 10 ** -field.decimals()
        }
        if isinstance(base, EyeEnd):
            changes["side"] = self._side.currentText()
        return msgspec.structs.replace(base, **changes)

    def _tell(self) -> None:
        self._pages.setCurrentIndex(self.kind.currentIndex())
        try:
            self._said.setText(end_piece(self.end(), self._wire_mm).text.capitalize() + ".")
        except FormSketchError as fault:
            self._said.setText(str(fault))


class EndsDialog(QDialog):
    """Choose both ends; `start` and `finish` are sound for the design when accepted."""

    def __init__(self, parent: QWidget | None, design: Design) -> None:
        super().__init__(parent)
        self.setWindowTitle("Ends of the wire")
        self._design = design
        self.start: End = design.form.start
        self.finish: End = design.form.finish
        wire_mm = design.wire.diameter_mm
        self.start_choice = _EndChoice("Start", self.start, wire_mm)
        self.finish_choice = _EndChoice("Finish", self.finish, wire_mm)
        across = QHBoxLayout()
        across.addWidget(self.start_choice)
        across.addWidget(self.finish_choice)
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        column = QVBoxLayout(self)
        column.addLayout(across)
        column.addWidget(self._fault)
        column.addWidget(accept_buttons(self))
        self.resize(620, 330)

    def accept(self) -> None:
        start, finish = self.start_choice.end(), self.finish_choice.end()
        try:
            change_end(change_end(self._design, "start", start), "finish", finish)
        except FormSketchError as fault:
            self._fault.setText(str(fault))
            self._fault.show()
            return
        self.start, self.finish = start, finish
        super().accept()
