"""A picture painted once and shown again until what it depends on changes."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPixmap


class KeptPicture:
    """Keeps one picture with the key it was painted for: all that its looks depend on."""

    def __init__(self) -> None:
        self._key: Hashable = None
        self._picture = QPixmap()

    def painted(
        self, key: Hashable, size: QSize, ground: QColor, painter: QPainter, paint: Callable[[QPainter], None]
    ) -> QPixmap:
        """The picture for a key, painted anew on an opaque ground where it is not the one kept.

        It covers a widget's `size` in logical pixels, as fine and in the same letters as what `painter`
        paints. Where these are not whole device pixels the ground shows in part of the last ones.
        """
        ratio = painter.device().devicePixelRatioF()
        whole = (key, size.width(), size.height(), ground.rgba(), ratio, painter.font().key())
        if whole != self._key:
            picture = QPixmap(math.ceil(size.width() * ratio), math.ceil(size.height() * ratio))
            picture.setDevicePixelRatio(ratio)
            picture.fill(ground)
            inside = QPainter(picture)
            inside.setFont(painter.font())
            inside.setRenderHints(painter.renderHints())
            paint(inside)
            inside.end()
            self._key, self._picture = whole, picture
        return self._picture
