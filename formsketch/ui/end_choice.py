"""Choosing one end of the wire: its kind, its numbers, a picture of it, and what it takes of the wire."""

from __future__ import annotations

from typing import Any, NamedTuple

import msgspec
from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QGroupBox,
    QLabel,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from formsketch.design.model import (
    BeadEnd,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    HookEnd,
    PlainEnd,
    PostEnd,
    RoundedEnd,
    SHookEnd,
    TaperedEnd,
)
from formsketch.evaluation.evaluate import Evaluation
from formsketch.forging.end_defaults import default_end
from formsketch.ui.end_picture import EndPicture
from formsketch.values import Value

PAIR = "hook and eye, a pair"
_SAID_LINES = 4


class Number(NamedTuple):
    """A number of an end: its field, label, unit, step, and how many times it is shown."""

    field: str
    label: str
    unit: str = " mm"
    step: float = 0.5
    times: float = 1.0


class EndKind(Value, frozen=True):
    """A kind of end to choose: its word, its numbers, and which ends are of it."""

    word: str
    kind: type[Any]
    numbers: tuple[Number, ...] = ()
    twisted: bool = False

    def has(self, end: End) -> bool:
        """Whether an end is of this kind."""
        return isinstance(end, self.kind) and self.twisted == bool(getattr(end, "twist_deg", 0.0))


_HOOK = (
    Number("inside_diameter_mm", "Inside"),
    Number("turn_deg", "Turns (left +)", "°", 5.0),
    Number("straight_mm", "Straight before it"),
)
_BEAD_ON_HOOK = Number("bead_diameter_mm", "Bead (0 for none)", step=0.1)

KINDS: tuple[EndKind, ...] = (
    EndKind("plain", PlainEnd),
    EndKind("rounded", RoundedEnd),
    EndKind(
        "tapered",
        TaperedEnd,
        (
            Number("length_mm", "Length"),
            Number("tip_diameter_mm", "Tip", step=0.05),
            Number("turn_deg", "Turns (left +)", "°", 5.0),
        ),
    ),
    EndKind("bead", BeadEnd, (Number("diameter_mm", "Diameter", step=0.1),)),
    EndKind("hook", HookEnd, (*_HOOK, _BEAD_ON_HOOK)),
    EndKind(
        "twisted hook",
        HookEnd,
        (*_HOOK, _BEAD_ON_HOOK, Number("twist_deg", "Twisted (clockwise +)", "°", 15.0)),
        twisted=True,
    ),
    EndKind(
        "S-hook",
        SHookEnd,
        (
            *_HOOK,
            Number("curl_diameter_mm", "Curl, inside", step=0.1),
            Number("curl_turn_deg", "Curl turns", "°", 5.0),
        ),
    ),
    EndKind("eye", EyeEnd, (Number("inside_diameter_mm", "Inside", step=0.1),)),
    EndKind(
        "drilled",
        DrilledEnd,
        (
            Number("hole_diameter_mm", "Hole", step=0.1),
            Number("from_end_mm", "Hole's edge to the tip", step=0.1),
            Number("length_mm", "Length to the rounding"),
            Number("thickness", "Flat, of the wire (100 round)", " %", 5.0, 100.0),
        ),
    ),
    EndKind(
        "ear wire",
        EarWireEnd,
        (
            Number("diameter_mm", "Drawn down to", step=0.05),
            Number("straight_mm", "Straight before the arc"),
            Number("inside_diameter_mm", "Arc, inside"),
            Number("turn_deg", "Arc turns (left +)", "°", 5.0),
            Number("leg_mm", "Straight leg"),
            Number("kick_mm", "Kick at the tip"),
            Number("kick_deg", "Kicked out", "°", 5.0),
        ),
    ),
    EndKind(
        "ear post",
        PostEnd,
        (Number("length_mm", "Length"), Number("diameter_mm", "Diameter", step=0.05)),
    ),
)


class EndChoice(QGroupBox):
    """One end: its kind and its numbers. `changed` follows every change, `pair_wanted` choosing the pair."""

    changed = Signal()
    pair_wanted = Signal()

    def __init__(self, name: str, number: int, end: End, wire_mm: float) -> None:
        super().__init__(name)
        self.kind = QComboBox()
        self.kind.setAccessibleName(f"{name}: kind of end")
        self.kind.setMaxVisibleItems(len(KINDS) + 1)
        self.picture = EndPicture(number)
        self._pages = QStackedWidget()
        self._fields: list[dict[str, QDoubleSpinBox]] = []
        self._base: list[Any] = []
        self._side = QComboBox()
        self._side.addItems(["left", "right"])
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setObjectName("soft")
        for choice in KINDS:
            base = end if choice.has(end) else default_end(choice.kind, wire_mm, choice.twisted)
            self.kind.addItem(choice.word)
            self._base.append(base)
            self._pages.addWidget(self._page(name, choice, base))
        self.kind.insertSeparator(len(KINDS))
        self.kind.addItem(PAIR)
        self.kind.setCurrentIndex(next(i for i, choice in enumerate(KINDS) if choice.has(end)))
        self._chosen = self.kind.currentIndex()
        column = QVBoxLayout(self)
        column.addWidget(self.kind)
        column.addWidget(self.picture)
        column.addWidget(self._pages)
        column.addStretch(1)
        self._said.setMinimumHeight(_SAID_LINES * self._said.fontMetrics().lineSpacing())
        column.addWidget(self._said)
        self._pages.setCurrentIndex(self._chosen)
        self.kind.currentIndexChanged.connect(self._kind_chosen)
        self._side.currentIndexChanged.connect(self.changed)

    def _page(self, name: str, choice: EndKind, base: Any) -> QWidget:
        page = QWidget()
        form = QFormLayout(page)
        form.setContentsMargins(0, 6, 0, 6)
        fields = {}
        for number in choice.numbers:
            field = _field(number, base)
            field.setAccessibleName(f"{name}, {choice.word}: {number.label}")
            field.valueChanged.connect(self.changed)
            form.addRow(number.label, field)
            fields[number.field] = field
        if choice.kind is EyeEnd:
            self._side.setCurrentText(base.side)
            self._side.setAccessibleName(f"{name}, eye: rolled to the")
            form.addRow("Rolled to the", self._side)
        self._fields.append(fields)
        return page

    def _kind_chosen(self, number: int) -> None:
        if number >= len(KINDS):
            self.kind.setCurrentIndex(self._chosen)
            self.pair_wanted.emit()
            return
        self._chosen = number
        self._pages.setCurrentIndex(number)
        self.changed.emit()

    def end(self) -> Any:
        """The end as chosen; its bounds are checked when the design is made."""
        base = self._base[self._chosen]
        changes: dict[str, Any] = {}
        for number in KINDS[self._chosen].numbers:
            field, was = self._fields[self._chosen][number.field], getattr(base, number.field)
            # A field rounds what it shows: only what was changed by hand is taken from it.
            if abs(field.value() - number.times * was) > 0.51 * 10 ** -field.decimals():
                changes[number.field] = field.value() / number.times
        if isinstance(base, EyeEnd):
            changes["side"] = self._side.currentText()
        return msgspec.structs.replace(base, **changes)

    def choose(self, end: End) -> None:
        """Take this end, as if it had been chosen and typed."""
        number = next(i for i, choice in enumerate(KINDS) if choice.has(end))
        self._base[number] = end
        for shown in KINDS[number].numbers:
            self._fields[number][shown.field].setValue(shown.times * getattr(end, shown.field))
        if isinstance(end, EyeEnd):
            self._side.setCurrentText(end.side)
        self.kind.setCurrentIndex(number)

    def tell(self, evaluation: Evaluation | None, text: str) -> None:
        """Show what it comes to: the picture, and what is said of it."""
        self.picture.show_end(evaluation)
        self._said.setText(text)


def _field(number: Number, base: Any) -> QDoubleSpinBox:
    field = QDoubleSpinBox()
    # The design's own bounds decide; the field only keeps typing within reason.
    field.setRange(-720.0 if number.unit == "°" else 0.0, 1000.0)
    field.setDecimals(2 if number.step < 0.5 else 1)
    field.setSingleStep(number.step)
    field.setSuffix(number.unit)
    field.setValue(number.times * getattr(base, number.field))
    return field
