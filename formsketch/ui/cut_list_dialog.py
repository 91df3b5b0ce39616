"""A batch cut from the lengths in the drawer: designs with a count each, and which piece comes from where."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.lengths import parse_length_mm
from formsketch.comparison.batch_cut import (
    WireCut,
    batch_cut,
    batch_text,
    metals_text,
    pieces_text,
    read_drawer,
    totals_text,
)
from formsketch.comparison.variants import Candidate
from formsketch.design.file_format import SUFFIX, load_design
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import evaluate
from formsketch.template.cut_list_sheet import SUFFIXES, cut_list_sheets, write_cut_list
from formsketch.template.drawing import Sheet
from formsketch.ui.background import LatestOnly
from formsketch.ui.cut_pieces_table import CutPiecesTable
from formsketch.ui.fields import NumberGroup, QuantityField
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.wire_order_page import kept_order
from formsketch.units import length_text

_ABOUT = (
    "Pieces of one metal and gauge are cut from one wire. Lengths such as 1000, 500 x 3: without a number as "
    "many as it takes. The drawer is taken to hold the same lengths of every wire."
)
_DRAWER = "1000"
_NO_PIECES = "Add a design to cut."
_MOST_DESIGNS = 100


class CutListDialog(LiveDialog):
    """Pieces and drawer on the left, the list on the right; `cuts` is the list now shown, empty for none."""

    def __init__(
        self,
        parent: QWidget | None,
        forms: Sequence[Candidate],
        settings: QSettings,
        folder: str,
        print_: Callable[[QWidget, list[Sheet]], bool],
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Cut list")
        self._forms = [(one.title, one.measured) for one in forms if one.measured is not None]
        self._settings, self._folder, self._print = settings, folder, print_
        self._drawer_text = str(settings.value("cut_list/drawer", _DRAWER, type=str))
        order = kept_order(settings)
        self._kerf_mm, self._hold_mm = order.kerf_mm, order.hold_mm
        self.cuts: list[WireCut] = []
        self._work = LatestOnly(self)
        self._work.done.connect(self._have)
        self._make_parts()
        self._lay_out()
        # The design as drawn comes first; its variants on asking. Those that cannot be measured are left out.
        if self._forms:
            self.pieces.add(*self._forms[0])
        self.refresh()
        self.resize(1040, 620)

    def _make_parts(self) -> None:
        self.pieces = CutPiecesTable()
        self.pieces.changed.connect(self.refresh)
        self.add_files, self.add_variants = QPushButton("&Add designs..."), QPushButton("Add &variants")
        self.remove = QPushButton("&Remove")
        self.add_files.clicked.connect(self._choose_files)
        self.add_variants.clicked.connect(self._add_variants)
        self.remove.clicked.connect(self.pieces.remove_chosen)
        self.add_variants.setEnabled(len(self._forms) > 1)
        self.add_variants.setToolTip("Each variant of the open design, such as its five sizes.")
        self.drawer = QLineEdit(self._drawer_text)
        self.drawer.editingFinished.connect(self.refresh)
        self.kerf = QuantityField(parse_length_mm, lambda value: self._use("_kerf_mm", value))
        self.hold = QuantityField(parse_length_mm, lambda value: self._use("_hold_mm", value))
        for field in (self.kerf, self.hold):
            field.refused.connect(self._explain)
        self.table = PlainTable("Cut list", ("No.", "From", "Left", "Cut"), choosing=False)
        # What goes over the whole width must not widen the first column.
        self.table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Fixed)
        self.table.setColumnWidth(0, 44)
        self.total, self.fault = QLabel(), QLabel()
        self.fault.setObjectName("caution")
        for label in (self.total, self.fault):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.copy, self.print_button = QPushButton("&Copy"), QPushButton("&Print...")
        self.save = QPushButton("&Save...")
        self.copy.clicked.connect(self._copy)
        self.print_button.clicked.connect(self._print_list)
        self.save.clicked.connect(self._save)

    def _lay_out(self) -> None:
        about = QLabel(_ABOUT)
        about.setWordWrap(True)
        about.setObjectName("soft")
        adding = QHBoxLayout()
        for button in (self.add_files, self.add_variants, self.remove):
            adding.addWidget(button)
        drawer = NumberGroup("Drawer")
        drawer.add_field("Lengths, mm", self.drawer, "Such as 1000, 500 x 3.", wide=True)
        drawer.add_field("Lost per cut", self.kerf, "What the saw or the cutters take.")
        drawer.add_field("To hold at each end", self.hold, "Cut off when the piece is made.")
        left = QVBoxLayout()
        left.addWidget(about)
        left.addWidget(self.pieces, 1)
        left.addLayout(adding)
        left.addWidget(drawer)
        panel = QWidget()
        panel.setFixedWidth(400)
        panel.setLayout(left)
        left.setContentsMargins(0, 0, 0, 0)
        right = QVBoxLayout()
        right.addWidget(self.table, 1)
        right.addWidget(self.total)
        sides = QHBoxLayout()
        sides.addWidget(panel)
        sides.addLayout(right, 1)
        close = QPushButton("Close")
        close.clicked.connect(self.reject)
        below = QHBoxLayout()
        below.addStretch(1)
        for button in (self.copy, self.print_button, self.save, close):
            below.addWidget(button)
        for button in (*self._list_buttons, close, self.add_files, self.add_variants, self.remove):
            button.setAutoDefault(False)
        column = QVBoxLayout(self)
        column.addLayout(sides, 1)
        column.addWidget(self.fault)
        column.addLayout(below)

    @property
    def _list_buttons(self) -> tuple[QPushButton, ...]:
        return self.copy, self.print_button, self.save

    # --- what is asked for

    def _choose_files(self) -> None:
        names, _ = QFileDialog.getOpenFileNames(
            self, "Designs to cut", self._folder, f"Design files (*{SUFFIX});;All files (*)"
        )
        for name in names:
            if len(self.pieces.designs) >= _MOST_DESIGNS:
                self._explain(f"expected at most {_MOST_DESIGNS} designs in one cut list")
                return
            try:
                evaluation = evaluate(load_design(Path(name)).design)
                self.pieces.add(evaluation.design.title or Path(name).name.removesuffix(SUFFIX), evaluation)
            except FormSketchError as fault:
                self._explain(str(fault))
                return

    def _add_variants(self) -> None:
        for form in self._forms[1:]:
            self.pieces.add(*form)

    def _use(self, name: str, value: float) -> None:
        setattr(self, name, value)
        self.refresh()

    # --- the list

    def refresh(self) -> None:
        """Work the list out anew, off the window's thread; what is shown stays until then."""
        self.kerf.show_value(length_text(self._kerf_mm))
        self.hold.show_value(length_text(self._hold_mm))
        self.remove.setEnabled(bool(self.pieces.designs))
        text, kerf_mm, hold_mm = self.drawer.text(), self._kerf_mm, self._hold_mm
        pieces = list(zip(self.pieces.designs, self.pieces.counts, strict=True))
        titles = list(self.pieces.titles)
        if not pieces:
            self._work.forget()
            self._have(FormSketchError(_NO_PIECES))
            return
        self._work.ask(lambda: (text, batch_cut(pieces, read_drawer(text), kerf_mm, hold_mm, titles)))

    def _have(self, result: object) -> None:
        if isinstance(result, FormSketchError):
            self.cuts = []
            self._explain(str(result))
        else:
            assert isinstance(result, tuple)
            drawer, self.cuts = result
            self._settings.setValue("cut_list/drawer", drawer)
            self._explain("")
        self.pieces.resizeRowsToContents()
        self.table.show_rows([row for one in self.cuts for row in _rows(one)])
        self._span_headings()
        self.total.setText(metals_text(self.cuts))
        for button in self._list_buttons:
            button.setEnabled(bool(self.cuts))

    def _span_headings(self) -> None:
        """The wire's name and its total go over the whole width of the table."""
        self.table.clearSpans()
        row = 0
        for one in self.cuts:
            last = row + len(one.cut.lengths) + 1
            for at in (row, last):
                self.table.setSpan(at, 0, 1, self.table.columnCount())
            item = self.table.item(row, 0)
            if item is not None:
                font = item.font()
                font.setBold(True)
                item.setFont(font)
            row = last + 1
        self.table.resizeRowsToContents()

    def _explain(self, sentence: str) -> None:
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))

    # --- taken out of the window

    def _copy(self) -> None:
        QApplication.clipboard().setText(batch_text(self.cuts))

    def _print_list(self) -> None:
        try:
            self._print(self, cut_list_sheets(self.cuts))
        except FormSketchError as fault:
            self._explain(str(fault))

    def _save(self) -> None:
        kinds = ";;".join(f"{suffix[1:].upper()} (*{suffix})" for suffix in SUFFIXES)
        name, kind = QFileDialog.getSaveFileName(
            self, "Cut list", str(Path(self._folder) / f"cut-list{SUFFIXES[0]}"), kinds
        )
        if not name:
            return
        file = Path(name)
        if file.suffix.lower() not in SUFFIXES:
            file = Path(f"{name}.{kind.split(' ')[0].lower() or SUFFIXES[0][1:]}")
        try:
            write_cut_list(self.cuts, file)
        except FormSketchError as fault:
            self._explain(str(fault))
        else:
            self.total.setText(f"{file} written. {metals_text(self.cuts)}".strip())

    def done(self, result: int) -> None:
        self._work.wait()
        super().done(result)


def _rows(one: WireCut) -> list[tuple[str, str, str, str]]:
    """A wire's name, its lengths, and what is taken in all."""
    rows = [(one.wire, "", "", "")]
    rows += [
        (str(number), length_text(length.length_mm), length_text(length.left_mm), pieces_text(length))
        for number, length in enumerate(one.cut.lengths, start=1)
    ]
    return [*rows, (f"In all {totals_text(one)}", "", "", "")]
