"""Commands of how the form is looked at: nearer, turned, in inches; and what is held in the hand over it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction

from formsketch.ui.later import Later
from formsketch.ui.screen_match import ScreenMatchDialog, true_px_per_mm
from formsketch.ui.table_turns import STEP_DEG
from formsketch.ui.tools import Tool

if TYPE_CHECKING:
    from formsketch.ui.compare_view import CompareView
    from formsketch.ui.form_canvas import FormCanvas
    from formsketch.ui.measure_tool import MeasureTool
    from formsketch.ui.window import Window

make_freehand_tool = Later("formsketch.ui.freehand_tool", "FreehandTool")
make_measure_tool = Later("formsketch.ui.measure_tool", "MeasureTool")

_ZOOM_STEP = 1.25
_IN_INCHES = "rulers_in_inches"


class ViewCommands:
    """The view, from the menu; pen and dividers are tools of the canvas, one in hand at a time."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._pen: Tool | None = None
        self._dividers: MeasureTool | None = None

    def refresh(self, actions: dict[str, QAction]) -> None:
        """Marks of the commands of the view."""
        actions["draw_freehand"].setChecked(self._in_hand(self._pen))
        actions["measure_distance"].setChecked(self._in_hand(self._dividers))
        actions["rulers_in_inches"].setChecked(self._window.canvas.in_inches)

    def restore(self) -> None:
        """Rulers as they were left the last time."""
        inches = self._window.settings.value(_IN_INCHES, False, type=bool)
        self._window.canvas.show_inches(bool(inches))

    def use_screen(self) -> None:
        """True size is that of the screen the window is on."""
        window = self._window
        px_per_mm, matched = true_px_per_mm(window.screen(), window.settings)
        window.canvas.set_true_scale(px_per_mm, matched)
        if window.has_compared:
            window.compare_view.set_true_scale(px_per_mm, matched)

    # --- nearer, further, turned

    @property
    def _looked_at(self) -> FormCanvas | CompareView:
        window = self._window
        return window.compare_view if window.is_comparing else window.canvas

    def fit_form(self) -> None:
        self._looked_at.fit()

    def show_true_size(self) -> None:
        self._looked_at.show_true_size()

    def zoom_in(self) -> None:
        self._looked_at.zoom(_ZOOM_STEP)

    def zoom_out(self) -> None:
        self._looked_at.zoom(1 / _ZOOM_STEP)

    def zoom_to_selected(self) -> None:
        self._window.canvas.zoom_to_selected()

    def turn_view_left(self) -> None:
        self._window.canvas.turn(STEP_DEG)

    def turn_view_right(self) -> None:
        self._window.canvas.turn(-STEP_DEG)

    def turn_view_back(self) -> None:
        self._window.canvas.turn_back()

    def lay_level(self) -> None:
        self._window.session.lay_level()
        self._window.canvas.fit()

    def match_screen(self) -> None:
        if ScreenMatchDialog(self._window, self._window.settings).exec():
            self.use_screen()

    def rulers_in_inches(self) -> None:
        """Rulers, grid and scale note in inches, or in millimetres again; kept for the next time."""
        window, canvas = self._window, self._window.canvas
        canvas.show_inches(not canvas.in_inches)
        if window.has_compared:
            window.compare_view.show_inches(canvas.in_inches)
        window.settings.setValue(_IN_INCHES, canvas.in_inches)
        if canvas.tool is not None and canvas.tool is self._dividers:
            self._dividers.say()

    # --- tools in hand

    def measure_distance(self) -> None:
        """Take the dividers in hand, or put them down."""
        if self._in_hand(self._dividers):
            self._take(None)
            return
        self._window.show_comparing(False)
        canvas = self._window.canvas
        tool: MeasureTool = make_measure_tool(
            self._window.session, lambda: canvas.wire, lambda: canvas.in_inches
        )
        tool.told.connect(canvas.spoken.say)
        self._dividers = tool
        self._take(tool)

    def draw_freehand(self) -> None:
        """Take the pen in hand, or put it down."""
        window = self._window
        drawing = self._in_hand(self._pen)
        self._pen = (
            None if drawing else make_freehand_tool(window.session, window.settings, window.canvas.tubes)
        )
        self._take(self._pen)

    def _in_hand(self, tool: Tool | None) -> bool:
        return tool is not None and self._window.canvas.tool is tool

    def _take(self, tool: Tool | None) -> None:
        if tool is not None:
            tool.ended.connect(self._window.refresh_commands)
            self._window.canvas.setFocus(Qt.FocusReason.OtherFocusReason)
        self._window.canvas.take_tool(tool)
