"""Reading the picture to trace: PNG, JPEG or SVG, from the design's own folder, refused in words.

Size in bytes and pixels is looked at before anything is decoded, so that a small file cannot unfold into more
memory than there is. A picture of more pixels than a screen can use is kept smaller.
"""

from __future__ import annotations

import math
import os
import stat
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QImage, QImageIOHandler, QImageReader, QPainter

from formsketch.errors import InputError, shown
from formsketch.files import read_whole
from formsketch.values import Result

LARGEST_FILE_BYTES = 40_000_000
MOST_PIXELS = 60_000_000
# Kept in memory and painted: more is not seen at any zoom that is of use for tracing.
MOST_KEPT_PIXELS = 12_000_000
MOST_SIDES_RATIO = 100.0
_MAGIC = ((b"\x89PNG\r\n\x1a\n", "png"), (b"\xff\xd8\xff", "jpeg"))
_USUAL_BITS = 32


class LoadedPicture(Result, frozen=True):
    """A picture ready to be painted, upright. `width_mm` is its true width where the file knows it."""

    image: QImage
    height_to_width: float
    width_mm: float | None = None


def inside(folder: Path, file: str) -> Path:
    """Where a design in this folder keeps the picture it calls `file`. Raises `InputError` for elsewhere.

    Links are followed first: none may lead out of the folder.
    """
    try:
        home, found = folder.resolve(), (folder / file).resolve()
        # A link that leads back to itself: Python 3.11 and 3.12 raise, later ones leave it in the path.
        nowhere = any(map(os.path.islink, (found, *found.parents)))
    except (OSError, RuntimeError, ValueError):  # a name no system has
        nowhere = True
    if nowhere:
        raise InputError(f"{shown(file)}: this picture's path leads nowhere.")
    if not found.is_relative_to(home):
        raise InputError(f"{shown(file)}: not shown, this picture lies outside the design's folder.")
    return found


def load_picture(file: Path) -> LoadedPicture:
    """The picture in a file. Raises `FormSketchError`: one sentence, the file's name and what is wrong."""
    name = shown(file.name)
    try:
        regular = stat.S_ISREG(file.stat().st_mode)
    except (OSError, ValueError):
        raise InputError(f"{name}: this picture is not there.") from None
    if not regular:
        raise InputError(f"{name}: a picture was expected, but this is no file.")
    data = read_whole(file, LARGEST_FILE_BYTES, "a picture")
    kind = next((kind for magic, kind in _MAGIC if data.startswith(magic)), "")
    if kind:
        return _read_pixels(data, kind, name)
    # Imported here, for it brings much along and most pictures are photographs.
    from formsketch.ui.svg_picture import drawn_svg

    drawn = drawn_svg(data, name)
    pixels = _read_pixels(drawn.png, "png", name)
    return LoadedPicture(pixels.image, drawn.height_to_width, drawn.width_mm)


def _read_pixels(data: bytes, kind: str, name: str) -> LoadedPicture:
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer, QByteArray(kind.encode()))
    # Cameras write which way is up beside the pixels.
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isEmpty():
        raise InputError(f"{name}: a {kind.upper()} picture was expected, but the file is damaged.")
    _check_size(size, reader.imageFormat(), name)
    shrink = math.sqrt(MOST_KEPT_PIXELS / (size.width() * size.height()))
    if shrink < 1.0:
        reader.setScaledSize(
            QSize(max(1, round(shrink * size.width())), max(1, round(shrink * size.height())))
        )
    image = reader.read()
    if image.isNull():
        raise InputError(f"{name}: a {kind.upper()} picture was expected, but the file is damaged.")
    on_its_side = bool(
        reader.transformation().value & QImageIOHandler.Transformation.TransformationRotate90.value
    )
    ratio = size.width() / size.height() if on_its_side else size.height() / size.width()
    return LoadedPicture(_on_paper(image), ratio)


def _on_paper(image: QImage) -> QImage:
    """The picture on white paper: a drawing on nothing would be lost on a dark table."""
    paper = QImage(image.size(), QImage.Format.Format_RGB32)
    paper.fill(Qt.GlobalColor.white)
    painter = QPainter(paper)
    painter.drawImage(0, 0, image)
    painter.end()
    return paper


def _check_size(size: QSize, pixel_format: QImage.Format, name: str) -> None:
    pixels = size.width() * size.height()
    known = pixel_format != QImage.Format.Format_Invalid
    bits = QImage.toPixelFormat(pixel_format).bitsPerPixel() if known else _USUAL_BITS
    # Deep pixels are made into usual ones as well before they are shrunk.
    most = MOST_PIXELS if bits <= _USUAL_BITS else MOST_PIXELS * _USUAL_BITS // (bits + _USUAL_BITS)
    if pixels > most:
        raise InputError(
            f"{name}: a picture of at most {most / 1e6:.0f} million pixels was expected, this one has "
            f"{pixels / 1e6:,.0f} million."
        )
    sides = max(size.width(), size.height()) / min(size.width(), size.height())
    if sides > MOST_SIDES_RATIO:
        raise InputError(
            f"{name}: a picture at most {MOST_SIDES_RATIO:.0f} times as long as wide was expected."
        )
