"""Which lines go to a cutter or plotter: layers of each stage of the form, the straight wire, the gauges."""

from __future__ import annotations

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from formsketch.template.plain import ALL_LAYERS, BENT_LAYERS, HAMMERED_LAYERS, LAYERS, WIRE_LAYERS
from formsketch.ui.dialogs import accept_buttons

_SETTING = "plain_lines/layers"
_USUAL = ("outline", "centreline", "marks")
_COLUMNS = (
    ("The finished form", LAYERS),
    ("As hammered", HAMMERED_LAYERS),
    ("As bent", BENT_LAYERS),
    ("The straight wire", WIRE_LAYERS),
    ("To measure by", tuple(name for name in ALL_LAYERS if name in ("gauges", "bars"))),
)
_NOTE = (
    "Strokes only, in true millimetres: each layer a group of that name in SVG, a layer in DXF. What is cut "
    "along a line loses the width of the cut; measure the check bars of what comes out."
)


class PlainLinesDialog(QDialog):
    """Tick the layers; `layers` are those ticked, in the order they are written."""

    def __init__(self, parent: QWidget | None, settings: QSettings) -> None:
        super().__init__(parent)
        self.setWindowTitle("Plain lines for a cutter or plotter")
        self._settings = settings
        kept = str(settings.value(_SETTING, ",".join(_USUAL), type=str)).split(",")
        known = [name for name in kept if name in ALL_LAYERS] or list(_USUAL)
        self.boxes: dict[str, QCheckBox] = {}
        grid = QGridLayout()
        grid.setHorizontalSpacing(28)
        for column, (heading, names) in enumerate(_COLUMNS):
            label = QLabel(heading)
            label.setObjectName("heading")
            grid.addWidget(label, 0, column)
            for row, name in enumerate(names, start=1):
                words = name.split("-")[-1] if name not in LAYERS else name
                box = self.boxes[name] = QCheckBox(words)
                box.setAccessibleName(f"{heading}, {words}")
                box.setChecked(name in known)
                box.toggled.connect(self._follow)
                grid.addWidget(box, row, column)
        note = QLabel(_NOTE)
        note.setObjectName("soft")
        note.setWordWrap(True)
        buttons = accept_buttons(self, "Save...")
        self.save = buttons.button(QDialogButtonBox.StandardButton.Ok)
        column_of_all = QVBoxLayout(self)
        column_of_all.addLayout(grid)
        for part in (note, buttons):
            column_of_all.addWidget(part)
        self._follow()

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers ticked."""
        return tuple(name for name in ALL_LAYERS if self.boxes[name].isChecked())

    def _follow(self) -> None:
        self.save.setEnabled(bool(self.layers))

    def accept(self) -> None:
        """Keep the choice for the next time."""
        self._settings.setValue(_SETTING, ",".join(self.layers))
        super().accept()
