"""From a move of the mouse to the painted window: what one step of a pull takes, beside bare painting.

A belly is pulled in the real window at 1366 x 768, without a screen. A frame is the time from sending the
move until all that it changed is painted; the straight wire follows some 30 times a second, and so is in some
frames and not in others. Bare painting is one polygon, the form's own silhouette at the same place, in a
plain widget of the canvas's size.
"""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPointF, QSettings, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QApplication, QWidget

from formsketch.design.file_format import DesignFile, design_bytes
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.ui.application import create_application
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from tests.support import events

SIZE_PX = (1366, 768)
# The pointer goes round once in a circle this large; on the screen at least so large that it is a pull.
ROUND_MM, LEAST_ROUND_PX = 1.2, 5.0
WARM_UP = 5


@dataclass(frozen=True)
class FrameRow:
    """Times in ms of the frames of one pull, and the median of bare painting in the same run."""

    what: str
    median_ms: float
    p95_ms: float
    worst_ms: float
    target_ms: float | None
    bare_ms: float


class Silhouette(QWidget):
    """One filled polygon, and nothing else."""

    def __init__(self, polygon: QPolygonF) -> None:
        super().__init__()
        self._polygon = polygon
        self.painted = 0

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor("white"))
        painter.setBrush(QColor("goldenrod"))
        painter.drawPolygon(self._polygon)
        self.painted += 1


class Painted(QObject):
    """Counts how often a widget is painted."""

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        self.count = 0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() == QEvent.Type.Paint
        return False


def row_of(spans: int) -> Design:
    """A row of S-forms of so many spans, half ones at the ends included."""
    wire = Wire(metal="brass-c26000", diameter_mm=1.290846)
    return make_starter("row-of-s-forms", wire, numbers={"times": spans - 2})


@contextmanager
def opened(design: Design) -> Iterator[Window]:
    """The real window on a design, with settings of its own; put away at the end."""
    app = QApplication.instance() or create_application(["formsketch"])
    with tempfile.TemporaryDirectory() as scratch:
        settings = QSettings(str(Path(scratch) / "settings.ini"), QSettings.Format.IniFormat)
        window = Window(Session(design, None, DesignFile(design, design_bytes(design))), settings)
        window.resize(*SIZE_PX)
        window.show()
        app.processEvents()
        yield window
        window.close()
        window.deleteLater()
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        settings.sync()


@contextmanager
def pulling(design: Design) -> Iterator[tuple[Window, QPointF]]:
    """A window in which the belly of the middle span has been grabbed, and where."""
    with opened(design) as window:
        canvas, span = window.canvas, window.session.wire.span_count // 2
        window.selection.select(span)
        QApplication.processEvents()
        line = canvas.wire.centreline_mm(window.session.wire.part(span))
        grabbed = canvas.view.to_px(complex(line[len(line) // 2]))
        events.move(canvas, grabbed)
        events.press(canvas, grabbed)
        yield window, grabbed
        events.key(canvas, Qt.Key.Key_Escape)
        events.release(canvas, grabbed)


def timed_ms(act: Callable[[int], None], times: int, painted: Callable[[], int]) -> np.ndarray:
    """Time of each act until the widget it changes has been painted; the first few are not counted."""
    found = []
    collecting = gc.isenabled()
    gc.disable()
    try:
        for number in range(-WARM_UP, times):
            before = painted()
            begin = time.process_time()
            act(number)
            QApplication.processEvents()
            if number >= 0:
                found.append(1e3 * (time.process_time() - begin))
            if painted() == before:
                raise RuntimeError("nothing was painted")
    finally:
        if collecting:
            gc.enable()
    return np.array(found)


def frame_times_ms(design: Design, moves: int) -> tuple[np.ndarray, np.ndarray]:
    """Times of the frames of a pull, and of bare painting of the same outline."""
    with pulling(design) as (window, grabbed):
        canvas = window.canvas
        seen = Painted(canvas)
        round_px = max(ROUND_MM * canvas.view.px_per_mm, LEAST_ROUND_PX)

        def move(number: int) -> None:
            angle = 2 * np.pi * number / moves
            by = round_px * QPointF(np.cos(angle), np.sin(angle))
            events.move(canvas, grabbed + by, Qt.MouseButton.LeftButton)

        frames = timed_ms(move, moves, lambda: seen.count)
        plain = Silhouette(silhouette_px(window))
        plain.resize(canvas.size())
        plain.show()
        QApplication.processEvents()
        bare = timed_ms(lambda _: plain.update(), moves, lambda: plain.painted)
        plain.close()
        plain.deleteLater()
    return frames, bare


def silhouette_px(window: Window) -> QPolygonF:
    """The outer edge of the form where it lies on the canvas."""
    session, view = window.session, window.canvas.view
    outline = session.evaluation.outline
    # The outline is laid level; back to the wire's own frame, and from there to the table.
    level = complex(outline.trace.direction[0]) / complex(session.evaluation.own_trace.direction[0])
    edge = outline.silhouette.exterior.coords
    return QPolygonF([view.to_px(session.pose.to_table(complex(x, y) / level)) for x, y in edge])


def frame_row(spans: int, moves: int, target_ms: float | None = None) -> FrameRow:
    """The frames of a pull in a row of so many spans."""
    frames, bare = frame_times_ms(row_of(spans), moves)
    median, p95 = np.percentile(frames, (50, 95))
    what = f"pulling a belly, {spans} spans"
    return FrameRow(what, float(median), float(p95), float(frames.max()), target_ms, float(np.median(bare)))


def frame_rows(moves: int) -> Iterator[FrameRow]:
    """The rows of the table."""
    yield frame_row(12, moves, 8.0)
    yield frame_row(60, moves, 16.0)
