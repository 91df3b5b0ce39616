"""From a move of the mouse to a grid of 25 all redrawn: the design pulled beside the grid in the real window.

A grid is timed from sending the move until every cell shows the design as it is then, events being taken in
between; `pointer` is the longest that the window kept the pointer waiting meanwhile, between two events. Bare
painting is the silhouettes of the same 25 forms as plain polygons, in the same run.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

from formsketch.design.model import Design
from formsketch.ui.window import Window
from tests.benchmarks.frames import LEAST_ROUND_PX, SIZE_PX, opened, row_of
from tests.support import events

MOST_SLICES, MOST_CELLS = 100_000, 25
TARGET_MS, LARGE_TARGET_MS, POINTER_TARGET_MS = 100.0, 1_000.0, 16.0
# Gauges in mm down and sizes in per cent across, typed for a grid of so many to a side.
LARGE_SIDE, GAUGE_STEP_MM, SIZE_STEP = 10, 0.05, 2


@dataclass(frozen=True)
class GridRow:
    """Median and 95 % of the redraw of the grid, the pointer's longest wait, and bare painting, in ms."""

    what: str
    median_ms: float
    p95_ms: float
    pointer_ms: float
    target_ms: float | None
    bare_ms: float


class Silhouettes(QWidget):
    """Filled polygons, and nothing else."""

    def __init__(self, polygons: list[QPolygonF]) -> None:
        super().__init__()
        self._polygons = polygons

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor("white"))
        painter.setBrush(QColor("goldenrod"))
        for polygon in self._polygons:
            painter.drawPolygon(polygon)


def grid_row(spans: int, moves: int, target_ms: float | None = TARGET_MS) -> GridRow:
    """Pull the belly of the middle span in a grid of a row of so many spans."""
    with _gridded(row_of(spans)) as window:
        times, waits = zip(*_redraws(window, moves), strict=True)
        bare = _bare_ms(window, moves)
    median, p95 = np.percentile(times, (50, 95))
    what = f"grid of 5 x 5, {spans} spans, pulled"
    return GridRow(what, float(median), float(p95), max(waits), target_ms, bare)


def large_grid_row(spans: int, repeats: int, side: int = LARGE_SIDE) -> GridRow:
    """Values typed for a grid of `side` times `side` of a row of so many spans, until all of it is drawn."""
    times, waits = [], []
    with _gridded(row_of(spans)) as window:
        window.resize(2 * SIZE_PX[0], 2 * SIZE_PX[1])
        grid = window.compare_view.grid
        _type(grid.values[1], ", ".join(f"{80 + SIZE_STEP * i}" for i in range(side)))
        _all_drawn(window)
        for number in range(repeats):
            gauges = ", ".join(f"{1 + GAUGE_STEP_MM * i + 0.01 * number:.2f} mm" for i in range(side))
            begin = time.process_time()
            _type(grid.values[0], gauges)
            typed_ms = 1e3 * (time.process_time() - begin)
            waits.append(max(typed_ms, _all_drawn(window)))
            times.append(1e3 * (time.process_time() - begin))
            if len(grid.slices.cells) != side * side:
                raise RuntimeError(f"expected a grid of {side} x {side}")
    median, p95 = np.percentile(times, (50, 95))
    what = f"grid of {side} x {side}, {spans} spans, typed"
    return GridRow(what, float(median), float(p95), max(waits), LARGE_TARGET_MS, float("nan"))


def _type(line: QLineEdit, text: str) -> None:
    line.setText(text)
    line.setModified(True)
    line.returnPressed.emit()


@contextmanager
def _gridded(design: Design) -> Iterator[Window]:
    """A window that shows the grid of a design, all of it drawn."""
    with opened(design) as window:
        window.comparing.show_grid()
        _all_drawn(window)
        # As the program does once it has started; here much else is loaded that would be looked through.
        gc.collect()
        gc.freeze()
        yield window


def _all_drawn(window: Window) -> float:
    """Take events until every cell is drawn; the longest that one round of them took, in ms."""
    longest, slices = 0.0, window.compare_view.grid.slices
    for _ in range(MOST_SLICES):
        begin = time.process_time()
        QApplication.processEvents()
        longest = max(longest, 1e3 * (time.process_time() - begin))
        if not slices.is_drawing:
            QApplication.processEvents()
            return longest
    raise RuntimeError("the grid was never drawn")


def _redraws(window: Window, moves: int) -> Iterator[tuple[float, float]]:
    """Time of each redraw, and the pointer's longest wait in it."""
    canvas, span = window.compare_view.grid.canvas, window.session.wire.span_count // 2
    line = canvas.wire.centreline_mm(canvas.session.wire.part(span))
    grabbed = canvas.view.to_px(complex(line[len(line) // 2]))
    events.move(canvas, grabbed)
    events.press(canvas, grabbed)
    for number in range(moves):
        angle = 2 * np.pi * number / moves
        begin = time.process_time()
        events.move(
            canvas,
            grabbed + QPointF(np.cos(angle), np.sin(angle)) * LEAST_ROUND_PX,
            Qt.MouseButton.LeftButton,
        )
        moved_ms = 1e3 * (time.process_time() - begin)
        waited_ms = _all_drawn(window)
        yield 1e3 * (time.process_time() - begin), max(moved_ms, waited_ms)
    events.key(canvas, Qt.Key.Key_Escape)
    events.release(canvas, grabbed)
    _all_drawn(window)


def _bare_ms(window: Window, moves: int) -> float:
    grid = window.compare_view.grid
    polygons = []
    for number in range(MOST_CELLS):
        cell = grid.view.cell(number)
        if cell is not None and cell.candidate.measured is not None:
            edge = cell.candidate.measured.outline.silhouette.exterior.coords
            at, scale = QRectF(grid.view.cell_rect(number)).center(), grid.slices.px_per_mm
            polygons.append(QPolygonF([at + QPointF(x, -y) * scale for x, y in edge]))
    plain = Silhouettes(polygons)
    plain.resize(grid.view.size())
    plain.show()
    QApplication.processEvents()
    found = []
    for _ in range(moves):
        begin = time.process_time()
        plain.repaint()
        found.append(1e3 * (time.process_time() - begin))
    plain.close()
    plain.deleteLater()
    return float(np.median(found))
