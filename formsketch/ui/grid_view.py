"""The grid: small pictures of the design at one true scale, one thing varied down and another across."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from formsketch.comparison.differences import Figure
from formsketch.design.model import Design
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.grid_slices import GridCell, GridSlices, Ways
from formsketch.ui.pane_figures import short_label
from formsketch.ui.theme import Palette, current_palette

_HEAD_PX, _SIDE_PX, _LINE_PX, _PAD_PX = 26.0, 84.0, 15.0, 4.0
_FAINT = 0.3
_PAINT_EVERY_MS = 30
_MOVES = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}


class GridView(QWidget):
    """Shows the cells that `slices` makes. `chosen` carries the number of one that was clicked."""

    chosen = Signal(int)
    told = Signal(str)

    def __init__(self, slices: GridSlices) -> None:
        super().__init__()
        self.slices = slices
        self._ways: Ways | None = None
        self._figures: tuple[Figure, ...] = ()
        self._design: Design | None = None
        self._hovered: int | None = None
        self._pressed: int | None = None
        self._cursor = 0
        self.true_px_per_mm = 0.0
        self._dirty: set[int] = set()
        self._paint_soon = QTimer(self)
        self._paint_soon.setSingleShot(True)
        self._paint_soon.setInterval(_PAINT_EVERY_MS)
        self._paint_soon.timeout.connect(self._paint_dirty)
        slices.cell_made.connect(self._cell_made)
        slices.all_made.connect(self._paint_dirty)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(320, 240)
        self.setAccessibleName("The grid")
        self.setAccessibleDescription("Arrow keys go to a cell, Enter makes it the design, Esc leaves.")

    def sizeHint(self) -> QSize:
        return QSize(900, 600)

    def show_ways(self, ways: Ways, figures: Sequence[Figure], design: Design) -> None:
        """Another grid. Raises `InputError` for too many cells."""
        self._give_room(ways, len(figures))
        self.slices.show_ways(ways, figures)
        self._ways, self._figures, self._design = ways, tuple(figures), design
        own = (i for i in range(ways.count) if ways.is_own(design, i))
        self._cursor = next(own, 0)
        self.update()

    def show_design(self, evaluation: Evaluation) -> None:
        """The same grid of another design."""
        self._design = evaluation.design
        self.slices.show_design(evaluation)

    # --- where the cells are

    def cell_rect(self, number: int) -> QRectF:
        """Where a cell lies on the widget."""
        assert self._ways is not None
        return self._rect(self._ways, number)

    def _rect(self, ways: Ways, number: int) -> QRectF:
        rows, columns = len(ways.down_values), len(ways.across_values)
        row, column = divmod(number, columns)
        wide, high = (self.width() - _SIDE_PX) / columns, (self.height() - _HEAD_PX) / rows
        return QRectF(_SIDE_PX + column * wide, _HEAD_PX + row * high, wide, high)

    def _give_room(self, ways: Ways, figures: int) -> None:
        """Tell how large a picture may be: the cell less its figures."""
        cell = self._rect(ways, 0)
        room = QSizeF(cell.width() - 2 * _PAD_PX, cell.height() - figures * _LINE_PX - 2 * _PAD_PX)
        room = QSizeF(max(8.0, room.width()), max(8.0, room.height()))
        self.slices.show_room(room, self.devicePixelRatioF(), current_palette())

    def _at(self, at: QPointF) -> int | None:
        if self._ways is None:
            return None
        return next((i for i in range(self._ways.count) if self._rect(self._ways, i).contains(at)), None)

    def _cell_made(self, number: int) -> None:
        self._dirty.add(number)
        if not self._paint_soon.isActive():
            self._paint_soon.start()

    def _paint_dirty(self) -> None:
        """Paint the cells made since the last time, all at once: a paint costs more than a cell."""
        self._paint_soon.stop()
        dirty, self._dirty = self._dirty, set()
        if self._ways is not None:
            for number in dirty:
                if number < self._ways.count:
                    self.update(self._rect(self._ways, number).toAlignedRect())

    def cell(self, number: int) -> GridCell | None:
        """A cell as it is shown; None before it was made."""
        return self.slices.cells[number] if number < len(self.slices.cells) else None

    # --- painting

    def paintEvent(self, event: QPaintEvent) -> None:
        colours, painter = current_palette(), QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(event.rect(), QColor(colours.paper))
        ways, design = self._ways, self._design
        if ways is None or design is None:
            return
        self._give_room(ways, len(self._figures))
        seen = event.region()
        if event.rect().left() < _SIDE_PX or event.rect().top() < _HEAD_PX:
            self._paint_heads(painter, ways, design, colours)
        for number in range(ways.count):
            rect = self._rect(ways, number)
            if seen.intersects(rect.toAlignedRect()):
                painter.save()
                self._paint_cell(painter, number, rect, ways.is_own(design, number), colours)
                painter.restore()

    def _paint_heads(self, painter: QPainter, ways: Ways, design: Design, colours: Palette) -> None:
        self._paint_scale(painter, colours)
        painter.setFont(_font(painter, 9.0, bold=True))
        painter.setPen(QColor(colours.ink))
        columns = len(ways.across_values)
        middle = int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap)
        for column, value in enumerate(ways.across_values):
            rect = self._rect(ways, column)
            head = QRectF(rect.left(), 0, rect.width(), _HEAD_PX)
            text = ways.across.label(design, value)
            room = int(rect.width()) - 6
            painter.drawText(
                head, middle, painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room)
            )
        for row, value in enumerate(ways.down_values):
            rect = self._rect(ways, row * columns)
            side = QRectF(4, rect.top(), _SIDE_PX - 8, rect.height())
            painter.drawText(side, middle, ways.down.label(design, value))

    def _paint_scale(self, painter: QPainter, colours: Palette) -> None:
        if self.true_px_per_mm and self.slices.px_per_mm:
            share = 100 * self.slices.px_per_mm / self.true_px_per_mm
            painter.setFont(_font(painter, 7.5))
            painter.setPen(QColor(colours.ink_soft))
            room = QRectF(0, 0, _SIDE_PX, _HEAD_PX)
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter, f"{share:.0f} % of true")

    def _paint_cell(self, painter: QPainter, number: int, rect: QRectF, own: bool, colours: Palette) -> None:
        inner = rect.adjusted(1, 1, -1, -1)
        if own:
            painter.fillRect(inner, QColor(colours.accent_wash))
        painter.setPen(QPen(QColor(colours.line), 1))
        # Level lines need no smoothing, and are drawn in a tenth of the time without.
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.drawRect(inner)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        cell = self.cell(number)
        if cell is not None:
            self._paint_made(painter, cell, rect, colours)
        if number == self._hovered or (number == self._cursor and self.hasFocus()):
            pen = QPen(QColor(colours.accent), 1.6)
            if number != self._hovered:
                pen.setDashPattern([4, 3])
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(inner.adjusted(1, 1, -1, -1))

    def _paint_made(self, painter: QPainter, cell: GridCell, rect: QRectF, colours: Palette) -> None:
        painter.setClipRect(rect)
        lines = len(self._figures) * _LINE_PX
        picture = rect.adjusted(_PAD_PX, _PAD_PX, -_PAD_PX, -_PAD_PX - lines)
        if cell.image is not None:
            size = QSizeF(cell.image.size()) / cell.image.devicePixelRatio()
            corner = picture.center() - QPointF(size.width(), size.height()) / 2
            painter.setOpacity(_FAINT if cell.reason else 1.0)
            painter.drawImage(corner, cell.image)
            painter.setOpacity(1.0)
        if cell.reason:
            # Over the faint form, where most forms leave room.
            flags = int(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap)
            painter.setFont(_font(painter, 7.5))
            painter.setPen(QColor(colours.caution))
            painter.drawText(picture, flags, _clipped(painter, cell.reason, picture))
        if cell.candidate.measured is None:
            return
        shown = zip(self._figures, cell.figures, strict=False)
        for line, (figure, (value, difference)) in enumerate(shown):
            y = rect.bottom() - lines + line * _LINE_PX - 2
            room = QRectF(rect.left() + 4, y, rect.width() - 8, _LINE_PX)
            painter.setFont(_font(painter, 8.5, bold=not cell.reason))
            painter.setPen(QColor(colours.ink_soft if cell.reason else colours.ink))
            # A weight says by its unit what it is.
            name = "" if figure.label == "Weight" else f"{short_label(figure.label)} "
            text = f"{name}{value}" + (f"   {difference}" if difference not in ("", "same") else "")
            painter.drawText(
                room,
                Qt.AlignmentFlag.AlignCenter,
                painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, int(room.width())),
            )

    # --- the mouse and the keys

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed = self._at(event.position())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, self._pressed = self._pressed, None
        left = event.button() == Qt.MouseButton.LeftButton
        if left and pressed is not None and pressed == self._at(event.position()):
            self._cursor = pressed
            self.chosen.emit(pressed)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._hover(self._at(event.position()))

    def leaveEvent(self, event: QEvent) -> None:
        self._hover(None)

    def _hover(self, number: int | None) -> None:
        if number == self._hovered:
            return
        self._hovered = number
        cell = None if number is None else self.cell(number)
        if cell is None:
            self.setToolTip("")
            self.told.emit("")
        elif cell.reason:
            self.setToolTip(f"Cannot be made. {cell.reason}")
            self.told.emit(f"{cell.candidate.title}: cannot be made. {cell.reason}")
        else:
            self.setToolTip("")
            self.told.emit(f"{cell.candidate.title}: click to make it the design.")
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        ways = self._ways
        if ways is not None and event.key() in _MOVES:
            down, along = _MOVES[Qt.Key(event.key())]
            columns = len(ways.across_values)
            row, column = divmod(self._cursor, columns)
            row = min(max(row + down, 0), len(ways.down_values) - 1)
            column = min(max(column + along, 0), columns - 1)
            self._cursor = row * columns + column
            self._hovered = None
            self._hover(self._cursor)
        elif ways is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit(self._cursor)
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._ways is not None:
            self._give_room(self._ways, len(self._figures))


def _font(painter: QPainter, points: float, bold: bool = False) -> QFont:
    font = QFont(painter.font())
    font.setPointSizeF(points)
    font.setBold(bold)
    return font


def _clipped(painter: QPainter, text: str, room: QRectF) -> str:
    """As many words as have room; all of them are in the tool tip."""
    words, flags = text.split(), int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap)
    while len(words) > 1 and painter.boundingRect(room, flags, " ".join(words)).height() > room.height():
        words = words[: max(1, len(words) - 2)]
    shown = " ".join(words)
    return shown if shown == text else f"{shown.rstrip('.,;')} …"
