"""How the panes of forms compared are laid: in the columns that show the forms largest."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QGridLayout

from formsketch.ui.compare_canvas import reach_mm
from formsketch.ui.compare_pane import ComparePane
from formsketch.ui.rulers import RULER_PX
from formsketch.ui.wire_picture import PlacedWire

MOST_SHOWN = 6
# From this width on figures stand in two columns and choices in one row; the heights of both ways.
ROOMY_PX = 440
_ROOMY_DETAILS_PX, _NARROW_DETAILS_PX, _LEAST_CANVAS_PX = 168.0, 310.0, 90.0


class PaneGrid(QGridLayout):
    """Panes row by row; in one row under forms laid over each other."""

    def __init__(self) -> None:
        super().__init__()
        self.setSpacing(1)
        # How many panes are laid in how many columns, and whether with room across.
        self._laid = (0, 0, False)

    def lay(self, panes: Sequence[ComparePane], room: QSize, by_start: bool, one_row: bool) -> bool:
        """Lay these panes in a room; says whether they were laid otherwise before."""
        wires = [pane.canvas.wire for pane in panes]
        columns = len(panes) if one_row else best_columns(wires, by_start, room)
        laid = (len(panes), columns, room.width() // columns >= ROOMY_PX)
        if laid == self._laid:
            return False
        self._laid = laid
        for i, pane in enumerate(panes):
            pane.lay_details(laid[2])
            self.addWidget(pane, i // columns, i % columns)
        for i in range(MOST_SHOWN):
            self.setColumnStretch(i, 1 if i < columns else 0)
            self.setRowStretch(i, 1 if i < -(-len(panes) // columns) else 0)
        return True


def best_columns(wires: Sequence[PlacedWire], by_start: bool, room: QSize) -> int:
    """In how many columns forms are largest at one scale: long ones under, tall ones beside each other."""
    left, right, up, down = reach_mm(wires, by_start)

    def scale(columns: int) -> float:
        wide = room.width() / columns
        details = _ROOMY_DETAILS_PX if wide >= ROOMY_PX else _NARROW_DETAILS_PX
        high = room.height() / -(-len(wires) // columns) - details
        if high < _LEAST_CANVAS_PX and columns < len(wires):
            return 0.0
        return min((wide - RULER_PX) / (left + right), (high - RULER_PX) / (up + down))

    # Of equal ones that with more beside each other.
    return max(range(1, len(wires) + 1), key=lambda columns: (round(scale(columns), 2), columns))
