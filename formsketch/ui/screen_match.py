"""Matching the screen once, so that true size is true: a card or a rule held against it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSettings, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QScreen
from PySide6.QtWidgets import QDialog, QLabel, QSlider, QVBoxLayout, QWidget

from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.theme import current_palette

# ISO/IEC 7810 ID-1, the size of bank cards.
CARD_WIDTH_MM, CARD_HEIGHT_MM = 85.60, 53.98
BAR_MM = 100.0
_LEAST_PX_PER_MM, _MOST_PX_PER_MM, _STEPS_PER_PX = 2.0, 12.0, 400


def true_px_per_mm(screen: QScreen, settings: QSettings) -> tuple[float, bool]:
    """Logical pixels per true millimetre, and whether the maker measured them on this screen."""
    matched = settings.value(_key(screen), 0.0, type=float)
    if isinstance(matched, float) and _LEAST_PX_PER_MM <= matched <= _MOST_PX_PER_MM:
        return matched, True
    reported = screen.physicalDotsPerInch() / 25.4
    plausible = _LEAST_PX_PER_MM <= reported <= _MOST_PX_PER_MM
    return (reported if plausible else screen.logicalDotsPerInch() / 25.4), False


def _key(screen: QScreen) -> str:
    name = "".join(
        c if c.isalnum() else "-" for c in f"{screen.manufacturer()} {screen.model()} {screen.name()}"
    )
    return f"screens/{name}/px_per_mm"


class _Card(QWidget):
    def __init__(self, px_per_mm: float) -> None:
        super().__init__()
        self.px_per_mm = px_per_mm
        self.setMinimumSize(760, 440)

    def paintEvent(self, event: QPaintEvent) -> None:
        colours = current_palette()
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(colours.paper))
        painter.setPen(QPen(QColor(colours.ink), 1.0))
        scale = self.px_per_mm
        card = QRectF(20, 20, CARD_WIDTH_MM * scale, CARD_HEIGHT_MM * scale)
        painter.drawRoundedRect(card, 3.18 * scale, 3.18 * scale)
        painter.drawText(card, Qt.AlignmentFlag.AlignCenter, "a bank card, 85.6 x 54.0 mm")
        y = card.bottom() + 34
        painter.drawLine(20, int(y), int(20 + BAR_MM * scale), int(y))
        for mm in range(0, 101, 10):
            x = int(20 + mm * scale)
            painter.drawLine(x, int(y) - (10 if mm % 50 == 0 else 5), x, int(y))
        painter.drawText(20, int(y) + 18, "100 mm")


class ScreenMatchDialog(QDialog):
    """Stretch the card until a real one covers it."""

    def __init__(self, parent: QWidget, settings: QSettings) -> None:
        super().__init__(parent)
        self.setWindowTitle("Match this screen")
        self._settings, self._screen = settings, parent.screen()
        px_per_mm, _ = true_px_per_mm(self._screen, settings)
        self._card = _Card(px_per_mm)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(int(_LEAST_PX_PER_MM * _STEPS_PER_PX), int(_MOST_PX_PER_MM * _STEPS_PER_PX))
        self.slider.setValue(round(px_per_mm * _STEPS_PER_PX))
        self.slider.setAccessibleName("Size of the card")
        self.slider.valueChanged.connect(self._stretch)
        column = QVBoxLayout(self)
        column.addWidget(
            QLabel("Hold a bank card or a rule against the screen and move the slider until it matches.")
        )
        column.addWidget(self._card, 1)
        column.addWidget(self.slider)
        column.addWidget(accept_buttons(self, "It matches"))

    def _stretch(self, value: int) -> None:
        self._card.px_per_mm = value / _STEPS_PER_PX
        self._card.update()

    def accept(self) -> None:
        self._settings.setValue(_key(self._screen), self._card.px_per_mm)
        super().accept()
