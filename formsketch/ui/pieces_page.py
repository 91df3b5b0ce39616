"""The maker's own finished pieces as scales, with the form in hand and its variants as marks on them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import (
    QDialogButtonBox,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from formsketch.comparison.scale_of_pieces import (
    Piece,
    missing,
    piece_from,
    pieces_text,
    proportions_of,
    read_pieces,
    with_piece,
)
from formsketch.comparison.variants import Candidate
from formsketch.design.file_format import SUFFIX
from formsketch.errors import FormSketchError
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.scales_view import ScalesView

_KEPT = "pieces"


class PiecesPage(LiveDialog):
    """Scales of finished pieces. The list of pieces is kept in the settings as soon as it changes.

    `file` is where the design in hand is saved, None where it is not.
    """

    def __init__(
        self,
        parent: QWidget | None,
        candidates: Sequence[Candidate],
        settings: QSettings,
        file: Path | None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("My own pieces")
        self._settings, self._file = settings, file
        self.pieces = read_pieces(str(settings.value(_KEPT, "", type=str)))
        forms = [(one.title, proportions_of(one.measured)) for one in candidates if one.measured is not None]
        self.scales = ScalesView(forms, "" if file is None else str(file.resolve()))
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidget(self.scales)
        self.list = QListWidget()
        self.list.setAccessibleName("Pieces on the scales")
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        column = QVBoxLayout(self)
        across = QHBoxLayout()
        across.addLayout(self._side())
        across.addWidget(area, 1)
        column.addLayout(across, 1)
        column.addWidget(self._fault)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column.addWidget(buttons)
        self.resize(1040, 660)
        self._show()

    def _side(self) -> QVBoxLayout:
        heading = QLabel("Finished pieces")
        heading.setObjectName("heading")
        note = QLabel("With their numbers when they were put here.")
        note.setObjectName("note")
        note.setWordWrap(True)
        self.put = QPushButton("&Put this design here")
        self.put.setEnabled(self._file is not None)
        self.put.setToolTip("" if self._file else "Save the design first; its file is what is kept.")
        self.add, self.again, self.remove = (
            QPushButton("Add &files..."),
            QPushButton("&Measure again"),
            QPushButton("&Take away"),
        )
        side = QVBoxLayout()
        for part in (heading, note, self.list, self.put, self.add, self.again, self.remove):
            part.setFixedWidth(250)
            side.addWidget(part)
        self.put.clicked.connect(lambda: self._put_files([] if self._file is None else [self._file]))
        self.add.clicked.connect(self._choose_files)
        self.again.clicked.connect(self._measure_again)
        self.remove.clicked.connect(self._take_away)
        return side

    def _choose_files(self) -> None:
        start = str(self._file.parent if self._file is not None else Path.home())
        names, _ = QFileDialog.getOpenFileNames(self, "Finished pieces", start, f"Design files (*{SUFFIX})")
        self._put_files([Path(name) for name in names])

    def _put_files(self, files: Sequence[Path]) -> None:
        """Measure these and put them on the scales; what cannot be read is said and left out."""
        faults = []
        for file in files:
            try:
                self.pieces = with_piece(self.pieces, piece_from(file.resolve()))
            except FormSketchError as fault:
                faults.append(str(fault))
        self._keep()
        self._explain("\n".join(faults))

    def _measure_again(self) -> None:
        gone = missing(self.pieces)
        self._put_files([Path(piece.file) for piece in self.pieces if piece not in gone])

    def _take_away(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.pieces):
            self.pieces = tuple(piece for i, piece in enumerate(self.pieces) if i != row)
            self._keep()
            self._explain("")

    def _keep(self) -> None:
        self._settings.setValue(_KEPT, pieces_text(self.pieces))
        self._show()

    def _show(self) -> None:
        gone, row = missing(self.pieces), self.list.currentRow()
        self.list.clear()
        for piece in self.pieces:
            self.list.addItem(_item(piece, piece in gone))
        self.list.setCurrentRow(min(max(row, 0), len(self.pieces) - 1))
        for button in (self.again, self.remove):
            button.setEnabled(bool(self.pieces))
        self.scales.show_pieces(self.pieces)

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))


def _item(piece: Piece, gone: bool) -> QListWidgetItem:
    item = QListWidgetItem(f"{piece.title} (its file is gone)" if gone else piece.title)
    item.setToolTip(piece.file)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, item.text())
    return item
