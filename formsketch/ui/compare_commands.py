"""Commands of the menu Compare: what stands beside the design, and how."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from formsketch.ui.window import Window


class CompareCommands:
    """Variants and grids, from the menu."""

    def __init__(self, window: Window) -> None:
        self._window = window
