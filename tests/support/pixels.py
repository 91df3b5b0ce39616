"""The pixels of a picture as numbers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage


def pixels(image: QImage) -> NDArray[np.uint8]:
    """Blue, green, red and alpha of every pixel, shape (height, width, 4)."""
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    return np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4).copy()


def colours(image: QImage) -> NDArray[np.uint32]:
    """0xffRRGGBB of every pixel, shape (height, width)."""
    return pixels(image).view("<u4")[..., 0]


def number_of(colour: str) -> int:
    """What `colours` has for a colour by its name."""
    return QColor(colour).rgb()
