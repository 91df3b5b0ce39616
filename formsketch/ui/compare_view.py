"""Forms side by side at one common scale, their figures underneath with how each differs from the first."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from formsketch.comparison.differences import DifferenceRow, difference_rows
from formsketch.comparison.variants import Candidate, candidates_of
from formsketch.errors import FormSketchError
from formsketch.ui.picture import level_wire, paint_lit
from formsketch.ui.rulers import paint_grid
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette, current_palette
from formsketch.ui.view import View, centred
from formsketch.ui.wire_picture import PlacedWire

_HEAD_PX, _ROW_PX, _FOOT_PX = 74.0, 26.0, 18.0
# In narrower columns than this the rows are named in the first column only, which has no differences.
_NAMED_COLUMN_PX = 330.0
_FILLS = 0.82
_CLOSEST_PX_PER_MM = 14.0


class CompareView(QWidget):
    """The session's design and its variants; follows every change."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._shown: tuple[object, list[tuple[Candidate, PlacedWire | None]]] | None = None
        self.setAccessibleName("Side by side")
        session.changed.connect(self.update)

    def columns(self) -> list[tuple[Candidate, PlacedWire | None]]:
        """Candidates with their wires laid level; None where the form cannot be made."""
        design = self._session.design
        if self._shown is None or self._shown[0] is not design:
            self._shown = (design, [(candidate, _wire_of(candidate)) for candidate in candidates_of(design)])
        return self._shown[1]

    def paintEvent(self, event: QPaintEvent) -> None:
        columns = self.columns()
        colours = current_palette()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(colours.paper))
        rows = difference_rows([candidate for candidate, _ in columns])
        table_px = _ROW_PX * len(rows) + 2 * _FOOT_PX
        wide = self.width() / len(columns)
        pictures = QRectF(0, _HEAD_PX, self.width(), max(80.0, self.height() - _HEAD_PX - table_px))
        scale = self._common_scale([wire for _, wire in columns if wire is not None], wide, pictures.height())
        paint_grid(painter, View(scale, wide / 2, pictures.center().y()), self.rect(), colours)
        painter.fillRect(QRectF(0, pictures.bottom(), self.width(), table_px + 1), QColor(colours.panel))
        for number, (candidate, wire) in enumerate(columns):
            area = QRectF(number * wide, pictures.top(), wide, pictures.height())
            self._paint_heading(painter, candidate, area, colours)
            if wire is not None:
                paint_lit(
                    painter,
                    wire,
                    centred(wire.bounds_mm, area, scale),
                    area,
                    colours,
                    self.devicePixelRatioF(),
                )
            else:
                self._paint_reason(painter, candidate, area, colours)
            if number:
                painter.setPen(QPen(QColor(colours.line), 1))
                painter.drawLine(QPointF(area.left(), 0), QPointF(area.left(), self.height()))
        self._paint_rows(painter, rows, wide, pictures.bottom() + _FOOT_PX, colours)

    @staticmethod
    def _common_scale(wires: list[PlacedWire], wide: float, high: float) -> float:
        scale = _CLOSEST_PX_PER_MM
        for wire in wires:
            x0, y0, x1, y1 = wire.bounds_mm
            scale = min(scale, _FILLS * wide / max(x1 - x0, 1e-3), _FILLS * high / max(y1 - y0, 1e-3))
        return scale

    @staticmethod
    def _paint_heading(painter: QPainter, candidate: Candidate, area: QRectF, colours: Palette) -> None:
        title = QFont(painter.font())
        title.setPointSizeF(12.0)
        title.setBold(True)
        painter.save()
        painter.setFont(title)
        painter.setPen(QColor(colours.ink))
        painter.drawText(
            QRectF(area.left() + 8, 10, area.width() - 16, 24), Qt.AlignmentFlag.AlignCenter, candidate.title
        )
        title.setPointSizeF(9.0)
        title.setBold(False)
        painter.setFont(title)
        painter.setPen(QColor(colours.ink_soft))
        painter.drawText(
            QRectF(area.left() + 8, 36, area.width() - 16, _HEAD_PX - 38),
            int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap),
            candidate.subtitle,
        )
        painter.restore()

    @staticmethod
    def _paint_reason(painter: QPainter, candidate: Candidate, area: QRectF, colours: Palette) -> None:
        painter.setPen(QColor(colours.caution))
        painter.drawText(
            area.adjusted(16, 16, -16, -16),
            int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap),
            candidate.reason or "",
        )

    @staticmethod
    def _paint_rows(
        painter: QPainter, rows: list[DifferenceRow], wide: float, top: float, colours: Palette
    ) -> None:
        """Label, value and difference in three aligned columns under each form."""
        narrow = wide < _NAMED_COLUMN_PX
        bold = QFont(painter.font())
        bold.setBold(True)
        plain = QFont(painter.font())
        small = QFont(painter.font())
        small.setPointSizeF(8.5)
        middle = min(wide * 0.62, wide / 2 + 60)
        for line, row in enumerate(rows):
            y = top + line * _ROW_PX
            for number, (value, difference) in enumerate(zip(row.values, row.differences, strict=True)):
                left = number * wide
                painter.setFont(plain)
                painter.setPen(QColor(colours.ink_soft))
                if number == 0 or not narrow:
                    painter.drawText(
                        QRectF(left + max(14.0, middle - 210), y, 130, _ROW_PX),
                        Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
                        row.label,
                    )
                painter.setFont(bold)
                painter.setPen(QColor(colours.ink))
                painter.drawText(
                    QRectF(left, y, wide - 14 if narrow and number == 0 else middle, _ROW_PX),
                    Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
                    value,
                )
                painter.setFont(small)
                painter.setPen(QColor(colours.accent))
                painter.drawText(
                    QRectF(left + middle + 10, y, wide - middle - 10, _ROW_PX),
                    Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
                    difference,
                )


def _wire_of(candidate: Candidate) -> PlacedWire | None:
    if candidate.reason:
        return None
    try:
        return level_wire(candidate.evaluation)
    except FormSketchError:
        return None
