"""The cells of a grid made in slices between the window's events, so that the pointer never waits.

While the design is being pulled every cell is made anew in turn, always from the newest design; when it rests
the common scale is fitted and the cells are searched for loops that run into each other.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterable, Sequence

from msgspec.structs import replace
from PySide6.QtCore import QObject, QSize, QSizeF, QTimer, Signal
from PySide6.QtGui import QImage, QPainter

from formsketch.comparison.axes import Axis, AxisValue
from formsketch.comparison.differences import Figure, difference_rows
from formsketch.comparison.grid import check_cell_count, grid_cell, why_not
from formsketch.comparison.variants import Candidate
from formsketch.design.model import Design
from formsketch.design.set_places import is_set
from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.lit_wire import ViewTransform, lit_wire_image
from formsketch.ui.picture import level_wire
from formsketch.ui.set_painting import paint_set
from formsketch.ui.theme import Palette, rgb
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire
from formsketch.values import Result, Value

# Longer than this no slice goes on; one cell of a common form takes about 2 ms.
SLICE_MS = 5.0
MOST_POINTS = 24_000
_CLOSEST_PX_PER_MM, _FILLS, _SAME_SCALE = 12.0, 0.9, 0.02
LEAST_PX_PER_MM = 0.05


class Ways(Value, frozen=True):
    """Two axes with their values: rows and columns of a grid."""

    down: Axis
    down_values: tuple[AxisValue, ...]
    across: Axis
    across_values: tuple[AxisValue, ...]

    @property
    def count(self) -> int:
        return len(self.down_values) * len(self.across_values)

    def of_cell(self, number: int) -> tuple[tuple[Axis, AxisValue], ...]:
        """Both values of a cell, counted row by row."""
        row, column = divmod(number, len(self.across_values))
        return (self.down, self.down_values[row]), (self.across, self.across_values[column])

    def is_own(self, design: Design, number: int) -> bool:
        """Whether a cell is the design as it is."""
        return all(axis.is_own(design, value) for axis, value in self.of_cell(number))


class GridCell(Result, frozen=True):
    """A cell as it is shown: figures are (value, difference from the design's own)."""

    candidate: Candidate
    reason: str
    wire: PlacedWire | None
    figures: tuple[tuple[str, str], ...]
    image: QImage | None = None


class GridSlices(QObject):
    """Makes the cells of one grid. `cell_made` names one that is new, `all_made` says that all are made."""

    cell_made = Signal(int)
    all_made = Signal()

    def __init__(self, is_pulling: Callable[[], bool]) -> None:
        super().__init__()
        self._is_pulling = is_pulling
        self._design: Design | None = None
        self._base: Evaluation | None = None
        self._ways: Ways | None = None
        self._figures: Sequence[Figure] = ()
        self._room, self._ratio = QSizeF(), 1.0
        self._palette: Palette | None = None
        self.cells: list[GridCell | None] = []
        self.px_per_mm = 0.0
        self._numbers: deque[int] = deque()
        self._pictures: deque[int] = deque()
        self._collisions: deque[int] = deque()
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._slice)

    @property
    def is_busy(self) -> bool:
        return self._timer.isActive()

    @property
    def is_drawing(self) -> bool:
        """Whether a cell still shows something old."""
        return bool(self._numbers or self._pictures)

    def show_ways(self, ways: Ways, figures: Sequence[Figure]) -> None:
        """Another grid. Raises `InputError` for too many cells."""
        check_cell_count(len(ways.down_values), len(ways.across_values))
        self._ways, self._figures = ways, tuple(figures)
        self.cells = [None] * ways.count
        self.px_per_mm = 0.0
        self._begin(range(ways.count))

    def show_design(self, evaluation: Evaluation) -> None:
        """Make every cell anew from this design, those that have waited longest first."""
        self._base, self._design = evaluation, evaluation.design
        if self._ways is not None:
            waiting = set(self._numbers)
            self._begin([*self._numbers, *(i for i in range(len(self.cells)) if i not in waiting)])

    def show_room(self, room: QSizeF, ratio: float, palette: Palette) -> None:
        """How large a picture may be, in logical pixels, and how it is coloured."""
        if (room, ratio, palette) != (self._room, self._ratio, self._palette):
            self._room, self._ratio, self._palette = room, ratio, palette
            self.px_per_mm = 0.0
            self._pictures = deque(range(len(self.cells)))
            self._wake()

    def stop(self) -> None:
        """Make nothing more until something new is shown."""
        self._timer.stop()

    def _begin(self, order: Iterable[int]) -> None:
        self._numbers = deque(order)
        self._collisions.clear()
        self._wake()

    def _wake(self) -> None:
        if self._design is not None and self._ways is not None and not self._timer.isActive():
            self._timer.start()

    # --- one slice

    def _slice(self) -> None:
        end = time.perf_counter() + 1e-3 * SLICE_MS
        while time.perf_counter() < end:
            if not self._one():
                self._timer.stop()
                return

    def _one(self) -> bool:
        """Do the next thing; False when nothing is left."""
        if self._numbers:
            self._make(self._numbers.popleft())
            if not self._numbers:
                self._fit()
        elif self._pictures:
            number = self._pictures.popleft()
            self._paint(number)
        elif self._collisions and not self._is_pulling():
            self._search(self._collisions.popleft())
        else:
            return False
        if not self.is_drawing and not self._collisions:
            self.all_made.emit()
        return True

    def rest(self) -> None:
        """The design was let go: fit the scale to it and search for collisions."""
        if self.cells and not self._numbers:
            self._fit()
            self._wake()

    def _make(self, number: int) -> None:
        assert self._ways is not None and self._design is not None and self._base is not None
        candidate = grid_cell(self._design, self._ways.of_cell(number))
        wire = None if candidate.measured is None else level_wire(candidate.measured)
        own = Candidate("", "", self._design, self._base)
        rows = difference_rows([own, candidate], self._figures)
        figures = tuple((row.values[1], row.differences[1]) for row in rows)
        self.cells[number] = GridCell(candidate, why_not(candidate), wire, figures)
        if self.px_per_mm > 0:
            self._paint(number)
        if number not in self._collisions:
            self._collisions.append(number)

    def _fit(self) -> None:
        """The largest scale at which every cell fits; held while the design is pulled."""
        if self.px_per_mm > 0 and self._is_pulling():
            return
        widths, heights = [1e-3], [1e-3]
        for cell in self.cells:
            if cell is not None and cell.wire is not None:
                x0, y0, x1, y1 = cell.wire.bounds_mm
                widths.append(x1 - x0)
                heights.append(y1 - y0)
        scale = _FILLS * min(self._room.width() / max(widths), self._room.height() / max(heights))
        scale = min(_CLOSEST_PX_PER_MM, max(LEAST_PX_PER_MM, scale))
        if abs(scale - self.px_per_mm) > _SAME_SCALE * scale:
            self.px_per_mm = scale
            self._pictures = deque(range(len(self.cells)))

    def _paint(self, number: int) -> None:
        cell = self.cells[number]
        if cell is None or self._palette is None:
            return
        if self.px_per_mm <= 0:
            self._fit()
        if cell.wire is not None:
            self.cells[number] = replace(cell, image=self._picture(cell.wire))
        self.cell_made.emit(number)

    def _picture(self, wire: PlacedWire) -> QImage:
        assert self._palette is not None
        x0, y0, x1, y1 = wire.bounds_mm
        scale, edge = self.px_per_mm * self._ratio, 4
        wide, high = (x1 - x0) * scale + edge, (y1 - y0) * scale + edge
        most = (self._room * self._ratio).toSize()
        size = QSize(max(1, min(round(wide), most.width())), max(1, min(round(high), most.height())))
        left, down = size.width() / 2 - scale * (x0 + x1) / 2, size.height() / 2 + scale * (y0 + y1) / 2
        image = lit_wire_image(
            wire.samples,
            ViewTransform(scale, left, down),
            (size.width(), size.height()),
            wire.evaluation.metal.colour,
            paper_rgb=rgb(self._palette.paper),
            rim_rgb=rgb(self._palette.rim),
            max_points=MOST_POINTS,
        )
        if is_set(wire.evaluation.design):
            painter = QPainter(image)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint_set(painter, wire.set_on, View(scale, left, down), self._palette)
            painter.end()
        image.setDevicePixelRatio(self._ratio)
        return image

    def _search(self, number: int) -> None:
        cell = self.cells[number]
        if cell is None or cell.reason:
            return
        reason = why_not(cell.candidate, self._base)
        if reason:
            self.cells[number] = replace(cell, reason=reason)
            self.cell_made.emit(number)
