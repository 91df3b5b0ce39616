"""Sheets to look at before they are printed: one at a time, whole, with buttons to turn over."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from formsketch.template.drawing import Sheet
from formsketch.ui.paint_sheet import paint_sheet
from formsketch.ui.theme import current_palette

_PREVIEW_SIZE = QSize(470, 560)
_ROOM_PX = 14.0


class SheetPreview(QWidget):
    """One sheet, whole, as it will be printed."""

    def __init__(self) -> None:
        super().__init__()
        self._sheet: Sheet | None = None
        self.setMinimumSize(_PREVIEW_SIZE)
        self.setAccessibleName("Sheet")

    def show_sheet(self, sheet: Sheet | None) -> None:
        self._sheet = sheet
        self.setAccessibleDescription("" if sheet is None else sheet.title)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(current_palette().panel))
        if self._sheet is None:
            return
        room = QRectF(self.rect()).adjusted(_ROOM_PX, _ROOM_PX, -_ROOM_PX, -_ROOM_PX)
        scale = min(room.width() / self._sheet.width_mm, room.height() / self._sheet.height_mm)
        width, height = self._sheet.width_mm * scale, self._sheet.height_mm * scale
        painter.translate(room.center().x() - width / 2, room.center().y() - height / 2)
        painter.fillRect(QRectF(0, 0, width, height), QColor("white"))
        paint_sheet(painter, self._sheet, scale)
        painter.setPen(QColor(current_palette().line))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(0, 0, width, height))


class SheetPages(QWidget):
    """A sheet of several, and which one it is."""

    def __init__(self) -> None:
        super().__init__()
        self._sheets: Sequence[Sheet] = ()
        self._page = 0
        self.preview, self.number = SheetPreview(), QLabel()
        self.before, self.after = QPushButton("Sheet before"), QPushButton("Next sheet")
        self.before.clicked.connect(lambda: self._turn(-1))
        self.after.clicked.connect(lambda: self._turn(1))
        turning = QHBoxLayout()
        turning.addWidget(self.before)
        turning.addWidget(self.number, 1, Qt.AlignmentFlag.AlignCenter)
        turning.addWidget(self.after)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.preview, 1)
        column.addLayout(turning)

    def show_sheets(self, sheets: Sequence[Sheet]) -> None:
        """Show these in place of what is shown, at the same number where there is one."""
        self._sheets = sheets
        self._turn(0)

    def _turn(self, by: int) -> None:
        count = len(self._sheets)
        self._page = min(max(0, self._page + by), max(0, count - 1))
        self.preview.show_sheet(self._sheets[self._page] if count else None)
        self.number.setText(f"{self._page + 1} of {count}" if count else "")
        self.before.setEnabled(self._page > 0)
        self.after.setEnabled(self._page < count - 1)
