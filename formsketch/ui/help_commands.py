"""The pages of the help menu; their texts are loaded when they are asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from formsketch.ui import dialogs

if TYPE_CHECKING:
    from formsketch.ui.window import Window


class HelpCommands:
    """How it all works, in pages to read."""

    def __init__(self, window: Window) -> None:
        self._window = window

    def show_help(self) -> None:
        from formsketch.ui.help_texts import HOW_IT_WORKS

        self._show("How it works", HOW_IT_WORKS)

    def show_recipe(self) -> None:
        from formsketch.ui import recipe

        self._show(recipe.TITLE, recipe.recipe_page())

    def show_bench_numbers(self) -> None:
        from formsketch.ui import help_bench

        self._show(help_bench.TITLE, help_bench.bench_page())

    def show_keys(self) -> None:
        from formsketch.ui.help_texts import keys_text

        self._show("Keys", keys_text())

    def show_cautions(self) -> None:
        from formsketch.ui.help_texts import BENCH_CAUTIONS

        self._show("At the bench: cautions", BENCH_CAUTIONS)

    def show_troubles(self) -> None:
        from formsketch.ui import help_faults

        self._show(help_faults.TITLE, help_faults.faults_page())

    def show_about(self) -> None:
        from formsketch.ui.help_texts import about_text

        self._show("About FormSketch", about_text())

    def _show(self, title: str, text: str) -> None:
        dialogs.show_text(self._window, title, text)
