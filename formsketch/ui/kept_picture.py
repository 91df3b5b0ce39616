"""A picture painted once and shown again until what it depends on changes."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from PySide6.QtCore import QSize
from PySide6.QtGui import QPainter, QPixmap


class KeptPicture:
    """Keeps one picture with the key it was painted for: all that its looks depend on."""

    def __init__(self) -> None:
        self._key: Hashable = None
        self._picture = QPixmap()

    def painted(
        self, key: Hashable, size: QSize, painter: QPainter, paint: Callable[[QPainter], None]
    ) -> QPixmap:
        """The picture for a key, painted anew where it is not the one kept.

        It is of a widget's `size` in logical pixels, as fine and in the same letters as what `painter`
        paints; opaque where all of it that is shown is painted opaquely.
        """
        ratio = painter.device().devicePixelRatioF()
        whole = (key, size.width(), size.height(), ratio, painter.font().key())
        if whole != self._key:
            picture = QPixmap(size * ratio)
            picture.setDevicePixelRatio(ratio)
            inside = QPainter(picture)
            inside.setFont(painter.font())
            inside.setRenderHints(painter.renderHints())
            paint(inside)
            inside.end()
            self._key, self._picture = whole, picture
        return self._picture
