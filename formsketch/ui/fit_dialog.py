"""A piece made to close at its size: what it is to be, what it reaches now, and the ways to get there."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec.structs import replace
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QDialogButtonBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from formsketch.design.model import Design, Worn
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.fit_report import (
    HEADINGS,
    SIZE_HEADINGS,
    made_words,
    row_texts,
    size_texts,
    size_words,
)
from formsketch.evaluation.fit_size import Fit, OneOfSizes, all_fits, size_run, with_size_run
from formsketch.evaluation.oval import Oval
from formsketch.evaluation.rolled_views import PieceViews, piece_views
from formsketch.evaluation.worn import checked_worn, first_worn, size_label, suggested, wanted_mm
from formsketch.ui.background import LatestOnly
from formsketch.ui.bench_page import words
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.rolled_view import RolledView
from formsketch.ui.worn_fields import WornFields
from formsketch.values import Result

_FIELDS_PX = 350


class _Answer(Result, frozen=True):
    """A size with all that is shown of it worked out; `fault` and `no_sizes` say why something is missing."""

    wanted: str
    now: str
    rows: Sequence[tuple[str, ...]]
    fits: Sequence[Fit]
    sizes: Sequence[OneOfSizes]
    fault: str = ""
    no_sizes: str = ""


def _answer(evaluation: Evaluation, worn: Worn) -> _Answer:
    try:
        wanted, now = size_words(evaluation, checked_worn(worn))
        fits = all_fits(evaluation.design, worn)
    except FormSketchError as fault:
        return _Answer("", "", (), (), (), str(fault), str(fault))
    rows = [row_texts(fit, worn, evaluation) for fit in fits]
    try:
        return _Answer(wanted, now, rows, fits, size_run(evaluation.design, worn))
    except FormSketchError as fault:
        return _Answer(wanted, now, rows, fits, (), no_sizes=str(fault))


def _united(evaluation: Evaluation, worn: Worn) -> PieceViews:
    """The piece from all sides, its outlines worked out here and kept: the drawing only reads them."""
    piece = piece_views(evaluation, worn)
    for view in piece.views:
        _ = (view.near, view.beyond)
    return piece


class FitDialog(LiveDialog):
    """`design` is the design fitted, or given its run of sizes, and `step` its name, once accepted.

    The ways are worked out beside the window, the latest size asked for last; `busy` until they are shown.
    """

    def __init__(self, parent: QWidget | None, evaluation: Evaluation) -> None:
        super().__init__(parent)
        self.setWindowTitle("Fit to a size")
        self._evaluation = evaluation
        self._fits: Sequence[Fit] = ()
        self._sizes: Sequence[OneOfSizes] = ()
        self.design: Design | None = None
        self.step = ""
        self._solves, self._draws, self._drawn_words = False, False, ""
        self._solving, self._drawing = LatestOnly(self), LatestOnly(self)
        self._solving.done.connect(self._show_answer)
        self._drawing.done.connect(self._show_drawing)
        self.fields = WornFields(evaluation.design, _first_for(evaluation))
        self.fields.used.connect(self.solve)
        self.fields.refused.connect(self._explain)
        self.wanted, self.now, self._fault = QLabel(), QLabel(), QLabel()
        for label in (self.wanted, self.now, self._fault):
            label.setWordWrap(True)
        self._fault.setObjectName("caution")
        self.trust, self.cautions = words("note"), words("caution")
        self.drawing = RolledView()
        self.ways = PlainTable("Ways to the size", HEADINGS)
        header = self.ways.horizontalHeader()
        header.setSectionResizeMode(1, header.ResizeMode.Stretch)
        header.setSectionResizeMode(len(HEADINGS) - 1, header.ResizeMode.ResizeToContents)
        self.ways.currentCellChanged.connect(self._choose_row)
        self.sizes = PlainTable("Five sizes", SIZE_HEADINGS, choosing=False)
        self.no_sizes = words("note")
        for table in (self.ways, self.sizes):
            table.keep_rows_low()
        self._lay_out()
        for waiting in (self._fault, self.cautions, self.no_sizes):
            waiting.hide()
        self.solve()

    @property
    def busy(self) -> bool:
        """Whether something asked for is still being worked out."""
        return self._solves or self._draws

    def hideEvent(self, event: QHideEvent) -> None:
        self._solving.wait()
        self._drawing.wait()
        super().hideEvent(event)

    def _lay_out(self) -> None:
        buttons = accept_buttons(self, "Fit it so")
        self.fit_so = buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.five = buttons.addButton("Add &five sizes as variants", QDialogButtonBox.ButtonRole.ActionRole)
        self.five.setAutoDefault(False)
        self.five.clicked.connect(self._add_five)
        self.only_say = buttons.addButton("&Say so, change nothing", QDialogButtonBox.ButtonRole.ActionRole)
        self.only_say.setToolTip("The design keeps its form and says what it becomes and at what size.")
        self.only_say.setAutoDefault(False)
        self.only_say.clicked.connect(self._say_so)
        top, column, side = QHBoxLayout(), QVBoxLayout(self), QVBoxLayout()
        heading = QLabel("Five sizes about it")
        heading.setObjectName("heading")
        for part in (self.fields, heading, self.sizes, self.no_sizes):
            part.setFixedWidth(_FIELDS_PX)
            side.addWidget(part)
        side.addStretch(1)
        top.addLayout(side)
        right = QVBoxLayout()
        right.addWidget(self.drawing, 1)
        right.addWidget(self.wanted)
        right.addWidget(self.now)
        top.addLayout(right, 1)
        column.addLayout(top, 3)
        column.addWidget(self._fault)
        column.addWidget(self.ways, 2)
        column.addWidget(self.trust)
        column.addWidget(self.cautions)
        column.addWidget(buttons)
        self.resize(1140, 690)

    # --- solving

    def solve(self) -> None:
        """Work out what the size comes to, what the piece reaches, and every way there."""
        self._solves = True
        self.trust.setText("Working it out...")
        for button in (self.fit_so, self.five):
            button.setEnabled(False)
        self._solving.ask(partial(_answer, self._evaluation, self.fields.worn))

    def _show_answer(self, answer: object) -> None:
        self._solves = False
        if isinstance(answer, Exception):
            raise answer
        assert isinstance(answer, _Answer)
        self._fits, self._sizes = answer.fits, answer.sizes
        self._explain(answer.fault)
        self.wanted.setText(f"<b>Wanted</b> {answer.wanted}")
        self.now.setText(f"<b>Now</b> {answer.now}")
        self.ways.show_rows(answer.rows)
        best = next((i for i, fit in enumerate(self._fits) if fit.evaluation is not None), 0)
        self.ways.setCurrentCell(best, 0)
        self.sizes.show_rows([size_texts(one) for one in self._sizes])
        rows_px = sum(self.sizes.rowHeight(row) for row in range(self.sizes.rowCount()))
        self.sizes.setFixedHeight(rows_px + self.sizes.horizontalHeader().sizeHint().height() + 4)
        self.sizes.setVisible(bool(self._sizes))
        self.no_sizes.setText(f"Cannot be had. {answer.no_sizes}" if answer.no_sizes else "")
        self.no_sizes.setVisible(bool(answer.no_sizes))
        self.five.setEnabled(bool(self._sizes))
        self._choose_row()

    @property
    def chosen(self) -> Fit | None:
        """The way chosen in the table; None while there is none."""
        row = self.ways.currentRow()
        return self._fits[row] if 0 <= row < len(self._fits) else None

    def _choose_row(self, *_: int) -> None:
        fit = self.chosen
        self.fit_so.setEnabled(fit is not None and fit.evaluation is not None)
        made = self._evaluation if fit is None or fit.evaluation is None else fit.evaluation
        told = made_words(made)
        self.trust.setText(told[0])
        self.cautions.setText(told[1])
        self.cautions.setVisible(bool(told[1]))
        # The piece fitted the way chosen, or as it is where that cannot be.
        self._drawn_words = "as it is" if made is self._evaluation else "fitted"
        self._draws = True
        self._drawing.ask(partial(_united, made, self.fields.worn))

    def _show_drawing(self, piece: object) -> None:
        self._draws = False
        if isinstance(piece, PieceViews):
            wanted = (
                None if piece.rolled is None else Oval(wanted_mm(self.fields.worn), self.fields.worn.aspect)
            )
            self.drawing.show_piece(piece, wanted, self._drawn_words)
        elif isinstance(piece, FormSketchError):
            self.drawing.show_nothing()
        elif isinstance(piece, Exception):
            raise piece

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    # --- ending

    def accept(self) -> None:
        """Keep the way chosen."""
        fit = self.chosen
        if fit is not None and fit.design is not None:
            self._end(fit.design, f"Fit to {size_label(self.fields.worn)}")

    def _say_so(self) -> None:
        """The form as it is, with what it becomes."""
        worn = self.fields.worn
        self._end(replace(self._evaluation.design, worn=worn), f"Becomes a {worn.kind}, {size_label(worn)}")

    def _add_five(self) -> None:
        """The five sizes as variants, or say why not and stay."""
        try:
            design = with_size_run(replace(self._evaluation.design, worn=self.fields.worn), list(self._sizes))
        except FormSketchError as fault:
            self._explain(str(fault))
            return
        self._end(design, f"Five sizes about {size_label(self.fields.worn)}")

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
