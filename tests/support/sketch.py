"""`python -m tests.support.sketch` draws the sketch under the tern pendant anew: pencil on paper, by hand.

The sketch is a little off the finished form, as a sketch is; its place under the form is in the demo design.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage, QPainter, QPen, QPolygonF

from formsketch.design.file_format import load_design
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.shipped import demo_design_files

NAME = "tern-sketch.png"
WIDE_MM, HIGH_MM, PX_PER_MM = 60.0, 40.0, 12.0
PAPER, PENCIL = QColor(250, 248, 243), QColor(70, 70, 74)
LEVELS = 24
# How far a hand wanders, and over what length of line.
WANDER_MM, WANDER_LENGTH_MM = 0.28, 9.0


def tern() -> Evaluation:
    file = next(file for file in demo_design_files() if file.name.startswith("tern-pendant"))
    return evaluate(load_design(file).design)


def by_hand(line: NDArray[np.complex128], rng: np.random.Generator) -> NDArray[np.complex128]:
    """A line as a hand draws it: smoothly beside where it should be."""
    along = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(line)))))
    knots = np.arange(0.0, along[-1] + 2 * WANDER_LENGTH_MM, WANDER_LENGTH_MM)
    off = [np.interp(along, knots, rng.normal(0.0, WANDER_MM, len(knots))) for _ in range(2)]
    smooth = np.ones(15) / 15
    return line + sum(
        unit * np.convolve(np.pad(part, 7, mode="edge"), smooth, mode="valid")
        for unit, part in zip((1.0, 1j), off, strict=True)
    )


def sketch() -> QImage:
    """The tern's two edges and its centreline in pencil, with the lines it was set out by."""
    e = tern()
    rng = np.random.default_rng(7)
    trace = e.trace
    middle = complex(np.mean([trace.z_mm.real.min(), trace.z_mm.real.max()])) + 1j * float(
        np.mean([trace.z_mm.imag.min(), trace.z_mm.imag.max()])
    )
    image = QImage(round(WIDE_MM * PX_PER_MM), round(HIGH_MM * PX_PER_MM), QImage.Format.Format_RGB32)
    image.fill(PAPER)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    def draw(line: NDArray[np.complex128], width_px: float, strength: int) -> None:
        colour = QColor(PENCIL)
        colour.setAlpha(strength)
        painter.setPen(QPen(colour, width_px, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        at = (line - middle) * PX_PER_MM
        points = [QPointF(z.real + image.width() / 2, image.height() / 2 - z.imag) for z in at]
        painter.drawPolyline(QPolygonF(points))

    wide, high = WIDE_MM / 2 - 4, HIGH_MM / 2 - 4
    for a, b in ((-wide, wide), (-1j * high, 1j * high)):
        draw(by_hand(middle + np.linspace(a, b, 80), rng), 1.2, 90)
    half = 0.5 * e.samples.plan_width_mm
    for side in (1j, -1j):
        for _ in range(3):
            draw(by_hand(trace.z_mm + side * half * trace.direction, rng), 1.8, 150)
    draw(by_hand(trace.z_mm, rng), 1.2, 80)
    painter.end()
    return image


def plain_png(image: QImage, file: Path) -> None:
    """Few levels of grey: small."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    pixels = np.frombuffer(grey.bits(), np.uint8)
    step = 255.0 / (LEVELS - 1)
    pixels[:] = np.round(np.round(pixels / step) * step).astype(np.uint8)
    if not grey.save(str(file)):
        raise RuntimeError(f"{file}: not written")


if __name__ == "__main__":
    app = QGuiApplication([])
    plain_png(sketch(), demo_design_files()[0].parent / NAME)
