"""The bench card before it is printed: its paper, and every sheet seen at the true page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from formsketch.bench.working_order import WorkStep, load_order
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_card import card_sheets
from formsketch.template.drawing import Sheet
from formsketch.template.papers import PAPERS, paper_named
from formsketch.ui.fields import CalmComboBox
from formsketch.ui.sheet_pages import SheetsDialog
from formsketch.ui.template_dialog import paper_of_the_place

_SETTING = "card/paper"


class CardDialog(SheetsDialog):
    """Shows the card; `save` is called with the paper, `print_` with the sheets, `change_order` as asked."""

    def __init__(
        self,
        parent: QWidget | None,
        evaluation: Evaluation,
        settings: QSettings,
        save: Callable[[str], Path | None],
        print_: Callable[[QWidget, list[Sheet]], bool],
        change_order: Callable[[], None],
    ) -> None:
        super().__init__(parent, "Bench card")
        self._evaluation, self._settings = evaluation, settings
        self._save, self._print, self._change_order = save, print_, change_order
        self._order: tuple[WorkStep, ...] = load_order()
        self.paper = CalmComboBox()
        for key, paper in PAPERS.items():
            if not paper.roll:
                self.paper.addItem(paper.name.removesuffix(" upright"), key)
        kept = str(settings.value(_SETTING, "", type=str))
        for key in (kept, paper_of_the_place()):
            if self.paper.findData(key) >= 0:
                self.paper.setCurrentIndex(self.paper.findData(key))
                break
        self.order_button = QPushButton("Order of &work...")
        self.print_button.setText("&Print...")
        self.save_button.setText("&Save...")
        self._lay_out()
        self.paper.currentIndexChanged.connect(self.refresh)
        self.order_button.clicked.connect(self._new_order)
        self.print_button.clicked.connect(lambda: self.finish(lambda: self._print(self, self.sheets)))
        self.save_button.clicked.connect(
            lambda: self.finish(lambda: self._save(str(self.paper.currentData())) is not None)
        )
        self.refresh()

    def _lay_out(self) -> None:
        paper = QLabel("Pape&r")
        paper.setBuddy(self.paper)
        self.paper.setAccessibleName("Paper")
        above = QHBoxLayout()
        above.addWidget(paper)
        above.addWidget(self.paper)
        above.addStretch(1)
        above.addWidget(self.order_button)
        close = QPushButton("Close")
        close.clicked.connect(self.reject)
        below = QHBoxLayout()
        below.addWidget(QLabel("Print at 100 % and measure the check bars."), 1)
        for button in (close, self.print_button, self.save_button):
            below.addWidget(button)
        self.save_button.setDefault(True)
        column = QVBoxLayout(self)
        column.addLayout(above)
        column.addWidget(self.pages, 1)
        column.addWidget(self.fault)
        column.addLayout(below)

    def set_sheets(self) -> list[Sheet]:
        """The card for the paper chosen."""
        return card_sheets(self._evaluation, self._order, paper_named(self.paper.currentData()))

    def _new_order(self) -> None:
        try:
            self._change_order()
            self._order = load_order()
        except FormSketchError as fault:
            self.explain(str(fault))
        else:
            self.refresh()

    def remember(self) -> None:
        """Keep the paper for the next time."""
        self._settings.setValue(_SETTING, self.paper.currentData())
