"""Sheets to look at before they are saved or printed: one at a time, whole, with buttons to turn over."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from formsketch.errors import FormSketchError
from formsketch.template.drawing import Sheet
from formsketch.ui.live_dialog import LiveDialog
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


class SheetsDialog(LiveDialog):
    """Sheets seen, and then saved or printed; subclasses lay it out and say what is set and remembered."""

    def __init__(self, parent: QWidget | None, title: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.sheets: list[Sheet] = []
        self.pages, self.fault = SheetPages(), QLabel()
        self.fault.setObjectName("caution")
        self.fault.setWordWrap(True)
        self.save_button, self.print_button = QPushButton(), QPushButton()

    def set_sheets(self) -> list[Sheet]:
        """The sheets for what is chosen; raises `FormSketchError` to say why there are none."""
        raise NotImplementedError

    def remember(self) -> None:
        """Keep what is chosen for the next time."""
        raise NotImplementedError

    def refresh(self) -> None:
        """Set the sheets anew for what is chosen, or say why it cannot be."""
        try:
            self.sheets = self.set_sheets()
        except FormSketchError as fault:
            self.sheets = []
            self.explain(str(fault))
        else:
            self.explain("")
        self.pages.show_sheets(self.sheets)
        for button in (self.save_button, self.print_button):
            button.setEnabled(bool(self.sheets))

    def explain(self, sentence: str) -> None:
        """Say what is wrong, '' for nothing."""
        self.fault.setText(sentence)
        self.fault.setVisible(bool(sentence))

    def finish(self, act: Callable[[], bool]) -> None:
        """Save or print; done, it is remembered and the dialog ends, else it stays."""
        try:
            done = act()
        except FormSketchError as fault:
            self.explain(str(fault))
            return
        if done:
            self.remember()
            self.accept()
