"""The bar over forms side by side: how they lie, and whether a change goes to all of them."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QHBoxLayout, QLabel, QToolButton, QWidget

from formsketch.ui.fields import CalmComboBox
from formsketch.ui.variant_session import Comparing

ALIGNMENTS = ("By their middles", "By their starts")
PULLS = ("all that share the form", "only the one pulled")
NUMBERS = ("only that form", "all of them")


class CompareBar(QWidget):
    """`changed` says that the forms are to lie otherwise, `paged` that others are asked for."""

    changed = Signal()
    paged = Signal(int)

    def __init__(self, comparing: Comparing) -> None:
        super().__init__()
        self._comparing = comparing
        self.alignment = self._choice("How the forms lie", ALIGNMENTS)
        self.alignment.currentIndexChanged.connect(lambda _: self.changed.emit())
        self.over_box = QCheckBox("Lay over each other")
        self.over_box.toggled.connect(lambda _: self.changed.emit())
        self.pulls = self._choice("Pulling changes", PULLS)
        self.pulls.currentIndexChanged.connect(self._take)
        self.numbers = self._choice("Wire, metal, size and hammering change", NUMBERS)
        self.numbers.currentIndexChanged.connect(self._take)
        self._earlier, self._later, self._which = QToolButton(), QToolButton(), QLabel()
        for button, text, by in ((self._earlier, "<", -1), (self._later, ">", 1)):
            button.setText(text)
            button.setToolTip("Other variants of the design.")
            button.clicked.connect(lambda _=False, by=by: self.paged.emit(by))
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 6, 14, 2)
        row.setSpacing(8)
        row.addWidget(self.alignment)
        row.addWidget(self.over_box)
        row.addSpacing(14)
        for label, box in (("Pulling changes", self.pulls), ("Numbers change", self.numbers)):
            row.addWidget(QLabel(label))
            row.addWidget(box)
            row.addSpacing(8)
        row.addStretch(1)
        for widget in (self._which, self._earlier, self._later):
            row.addWidget(widget)

    @staticmethod
    def _choice(name: str, texts: tuple[str, ...]) -> QComboBox:
        box = CalmComboBox()
        box.addItems(list(texts))
        box.setAccessibleName(name)
        box.setToolTip(f"{name}.")
        return box

    @property
    def by_start(self) -> bool:
        return self.alignment.currentIndex() == 1

    @property
    def lay_over(self) -> bool:
        return self.over_box.isChecked()

    def show_pages(self, first: int, variants: int, most: int) -> None:
        """Which variants are shown, when there are more than fit."""
        many = variants > most
        for widget in (self._which, self._earlier, self._later):
            widget.setVisible(many)
        self._which.setText(f"variants {first + 1} to {min(variants, first + most)} of {variants}")
        self._earlier.setEnabled(first > 0)
        self._later.setEnabled(first + most < variants)

    def _take(self) -> None:
        self._comparing.pulls_to_all = self.pulls.currentIndex() == 0
        self._comparing.numbers_to_all = self.numbers.currentIndex() == 1
