"""Commands of the menu Bench: the maker's own hammer and alloy, hammering, bending, wire, feel and price."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from formsketch.ui.window import Window


class BenchCommands:
    """What the bench asks beside the numbers panel; each opens a page of its own."""

    def __init__(self, window: Window) -> None:
        self._window = window
