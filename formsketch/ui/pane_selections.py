"""One selection for all forms compared: the same span is selected in each that has it."""

from __future__ import annotations

from formsketch.ui.compare_canvas import CompareCanvas
from formsketch.ui.selection import Selection


class PaneSelections:
    """Keeps the selection of every pane with the window's own."""

    def __init__(self, window: Selection) -> None:
        self._window = window
        self._canvases: list[CompareCanvas] = []
        self._passing_on = False
        window.changed.connect(self.take)

    def add(self, canvas: CompareCanvas) -> None:
        """A canvas whose selection goes with the others'."""
        self._canvases.append(canvas)
        canvas.selection.changed.connect(lambda: self._pass_on(canvas))
        canvas.session.changed.connect(lambda: canvas.selection.keep_within(canvas.session.wire.span_count))

    def take(self) -> None:
        """Select everywhere what is selected in the window."""
        if self._passing_on:
            return
        self._passing_on = True
        try:
            for canvas in self._canvases:
                _select(canvas, self._window.span)
        finally:
            self._passing_on = False

    def _pass_on(self, canvas: CompareCanvas) -> None:
        if self._passing_on or not canvas.isVisible():
            return
        self._window.select(canvas.selection.span)


def _select(canvas: CompareCanvas, span: int | None) -> None:
    inside = span is not None and span < canvas.session.wire.span_count
    canvas.selection.select(span if inside else None)
