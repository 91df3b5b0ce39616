"""What the maker has kept by name: hammers and alloys, to look through and to take away again."""

from __future__ import annotations

import msgspec
from PySide6.QtWidgets import QDialogButtonBox, QLabel, QPushButton, QVBoxLayout, QWidget

from formsketch.bench import hammers, metals
from formsketch.bench.user_tables import (
    HAMMERS_FILE,
    METALS_FILE,
    forget_row,
    user_hammers_file,
    user_metals_file,
)
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.ui.live_dialog import LiveDialog
from formsketch.ui.plain_table import PlainTable
from formsketch.values import Value

_HEADINGS = ("Kept", "Name", "Numbers", "Where from")
_NOTE = (
    "A design carries the hammer it was made with. An alloy it names is looked up here: a design that uses "
    "one that was taken away does not open until it is kept again."
)


class _Kept(Value, frozen=True):
    """One row of an own table, and which file and kind of table it stands in."""

    file_name: str
    table_kind: str
    row_type: type[msgspec.Struct]
    key: str
    texts: tuple[str, str, str, str]


class KeptPage(LiveDialog):
    """The own hammers and alloys; a row chosen can be taken away, but not what the open design uses."""

    def __init__(self, parent: QWidget | None, design: Design) -> None:
        super().__init__(parent)
        self.setWindowTitle("Kept hammers and alloys")
        self._design = design
        self._kept: list[_Kept] = []
        self.table = PlainTable("Kept hammers and alloys", _HEADINGS)
        self.take_away = QPushButton("&Take away")
        self.take_away.setAutoDefault(False)
        self.take_away.clicked.connect(self._take_away)
        self.told, note = QLabel(), QLabel(_NOTE)
        self.told.setObjectName("caution")
        note.setObjectName("soft")
        for label in (self.told, note):
            label.setWordWrap(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.addButton(self.take_away, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        for part in (self.table, self.told, note, buttons):
            column.addWidget(part)
        self.resize(760, 400)
        self._fill()

    def _fill(self) -> None:
        self._kept, faults = [], []
        for read in (_hammers, _alloys):
            try:
                self._kept += read()
            except FormSketchError as fault:
                faults.append(str(fault))
        self.table.show_rows([kept.texts for kept in self._kept])
        self.take_away.setEnabled(bool(self._kept))
        self._tell(" ".join(faults) or ("" if self._kept else "Nothing has been kept by name yet."))

    def _take_away(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self._kept):
            return
        kept = self._kept[row]
        if kept.row_type is metals.Metal and _uses(self._design, kept.key):
            self._tell(f"{kept.texts[1]} is used by the open design; choose another metal for it first.")
            return
        try:
            forget_row(kept.file_name, kept.table_kind, kept.row_type, kept.key)
        except FormSketchError as fault:
            self._tell(str(fault))
            return
        self._fill()

    def _tell(self, sentence: str) -> None:
        self.told.setText(sentence)
        self.told.setVisible(bool(sentence))


def _uses(design: Design, key: str) -> bool:
    carried = {own.key for own in design.metals}
    return key not in carried and key in {design.wire.metal, *(variant.metal for variant in design.variants)}


def _hammers() -> list[_Kept]:
    return [
        _Kept(
            HAMMERS_FILE,
            hammers.TABLE_KIND,
            hammers.Hammer,
            row.key,
            (
                "hammer",
                row.name,
                f"spread {row.spread:.2f} ({row.spread_low:.2f} to {row.spread_high:.2f})",
                row.source,
            ),
        )
        for row in hammers.load_own_hammers(user_hammers_file()).values()
    ]


def _alloys() -> list[_Kept]:
    return [
        _Kept(
            METALS_FILE,
            metals.TABLE_KIND,
            metals.Metal,
            row.key,
            ("alloy", row.name, f"{row.density_g_per_cm3:.2f} g/cm³", row.source),
        )
        for row in metals.load_own_metals(user_metals_file()).values()
    ]
