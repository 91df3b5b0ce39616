"""What the pages on pearls, stones and marks share: fields left, picture and table right, and the notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSplitter, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.design.edits import change_texts
from formsketch.design.model import Design
from formsketch.errors import FormSketchError, InputError
from formsketch.ui.background import LatestOnly
from formsketch.ui.balls_picture import BallsPicture
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.fields import QuantityField
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session


class FitPage(BenchPage):
    """A bench page with `asked` for fields, a picture, a table, a sentence, and its buttons under them."""

    def __init__(
        self, parent: QWidget, session: Session, selection: Selection, title: str, headings: Sequence[str]
    ) -> None:
        super().__init__(parent, session, selection, title)
        self._step = f"{title} into the notes"
        self.picture, self.table = BallsPicture(), PlainTable(title, headings)
        self.found, self.note = words("value"), words("note")
        self.write = QPushButton("&Write into the notes")
        self.write.setAutoDefault(False)
        self.write.clicked.connect(self._write_notes)
        self.work = LatestOnly(self)
        self.asked = QVBoxLayout()
        left, right = QWidget(), QSplitter(Qt.Orientation.Vertical)
        left.setLayout(self.asked)
        left.setFixedWidth(330)
        right.addWidget(self.picture)
        right.addWidget(self.table)
        right.setSizes([330, 260])
        beside = QHBoxLayout()
        beside.addWidget(left)
        beside.addWidget(right, 1)
        self.column.addLayout(beside, 1)
        for part in (self.found, self.note):
            self.column.addWidget(part)
        self.buttons = QHBoxLayout()
        self.buttons.addStretch(1)
        self.buttons.addWidget(self.write)
        self.column.addLayout(self.buttons)
        self.table.currentCellChanged.connect(lambda row, *_: self.picture.point_out(row))
        self.resize(1040, 680)

    def hideEvent(self, event: QHideEvent) -> None:
        self.work.wait()
        super().hideEvent(event)

    def add_button(self, text: str, step: str, make: Callable[[Design], Design]) -> QPushButton:
        """A button that makes one step of this name, from left to right; what cannot be is told."""
        button = QPushButton(text)
        button.setAutoDefault(False)

        def act() -> None:
            try:
                self.session.change(step, make(self.session.design))
            except FormSketchError as fault:
                self.explain(str(fault))
            else:
                self.refresh()

        button.clicked.connect(act)
        self.buttons.insertWidget(self.buttons.count() - 2, button)
        return button

    def notes_text(self) -> str:
        """What is written into the notes."""
        raise NotImplementedError

    def _write_notes(self) -> None:
        design = self.session.design
        try:
            notes = "\n\n".join(part for part in (design.notes.rstrip(), self.notes_text()) if part)
            self.session.change(self._step, change_texts(design, notes=notes))
        except FormSketchError as fault:
            self.explain(str(fault))

    def field(self, read: Callable[[str], float], use: Callable[[float], None]) -> QuantityField:
        """A field whose number is used at once, and what it shows follows."""

        def take(value: float) -> None:
            use(value)
            self.refresh()

        made = QuantityField(read, take)
        made.refused.connect(self.explain)
        return made


def size_mm(least: float, most: float) -> Callable[[str], float]:
    """Reads a length from least to most."""

    def read(text: str) -> float:
        value = parse_length_mm(text)
        if not least <= value <= most:
            raise InputError(f'"{text}": expected {least:g} to {most:g} mm.')
        return value

    return read


def count_of(least: int, most: int) -> Callable[[str], float]:
    """Reads a whole number from least to most."""

    def read(text: str) -> float:
        plain = text.strip()
        if not (plain.isdecimal() and len(plain) < 7 and least <= int(plain) <= most):
            raise InputError(f'"{text}": expected a whole number from {least} to {most}.')
        return float(int(plain))

    return read
