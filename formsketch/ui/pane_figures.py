"""What stands under a form compared: its figures in columns, and the line type it is laid over with."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from formsketch.comparison.differences import DifferenceRow
from formsketch.ui.compare_canvas import outline_pen
from formsketch.ui.theme import current_palette

_ROW_PX, SIDE_PX, _WIDEST_ROW_PX = 20, 12, 320.0
_SHORT = {"Cut length": "Cut", "Height × length": "Size", "Cost to make": "Cost"}


def short_label(label: str) -> str:
    """A figure's name where there is little room."""
    return _SHORT.get(label, label)


class PaneFigures(QWidget):
    """Label, value and difference of each figure, in aligned columns."""

    def __init__(self, row_count: int) -> None:
        super().__init__()
        self._rows: list[tuple[str, str, str]] = []
        self._row_count, self._columns = row_count, 1
        self.lay_out(1)

    def lay_out(self, columns: int) -> None:
        """The rows in so many columns beside each other."""
        self._columns = columns
        self.setFixedHeight(_ROW_PX * self._rows_down + 8)
        self.update()

    @property
    def _rows_down(self) -> int:
        return -(-self._row_count // self._columns)

    @property
    def texts(self) -> list[tuple[str, str, str]]:
        """What is shown, row by row."""
        return self._rows

    def show_rows(self, rows: Sequence[DifferenceRow], number: int) -> None:
        """Show one candidate's column of a table."""
        found = [(short_label(r.label), r.values[number], r.differences[number]) for r in rows]
        if found != self._rows:
            self._rows = found
            self.setAccessibleName("; ".join(" ".join(filter(None, row)) for row in found))
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        plain, bold, small = (QFont(painter.font()) for _ in range(3))
        plain.setPointSizeF(9.0)
        bold.setPointSizeF(9.0)
        bold.setBold(True)
        small.setPointSizeF(8.0)
        wide = min(self.width() / self._columns, _WIDEST_ROW_PX)
        middle = wide * 0.6
        upright = Qt.AlignmentFlag.AlignVCenter
        for number, (label, value, difference) in enumerate(self._rows):
            column, line = divmod(number, self._rows_down)
            x, y = column * wide, 4.0 + _ROW_PX * line
            for font, colour, left, right, along, text in (
                (plain, colours.ink_soft, SIDE_PX, middle, Qt.AlignmentFlag.AlignLeft, label),
                (bold, colours.ink, 0, middle, Qt.AlignmentFlag.AlignRight, value),
                (small, colours.accent, middle + 7, wide, Qt.AlignmentFlag.AlignLeft, difference),
            ):
                painter.setFont(font)
                painter.setPen(QColor(colour))
                painter.drawText(QRectF(x + left, y, right - left, _ROW_PX), along | upright, text)


class LineSample(QWidget):
    """The line type of a form where forms are laid over each other."""

    def __init__(self) -> None:
        super().__init__()
        self._number = 0
        self.setFixedHeight(10)

    def show_number(self, number: int) -> None:
        self._number = number
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(60, 10)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(outline_pen(self._number, current_palette()))
        painter.drawLine(QPointF(SIDE_PX, 5), QPointF(min(110.0, self.width() - SIDE_PX), 5))
