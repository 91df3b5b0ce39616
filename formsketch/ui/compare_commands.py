"""Commands of the menu Compare: what stands beside the design, and how."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction

from formsketch.bench.rates import load_prices, rates_file
from formsketch.design.edits import with_variants
from formsketch.design.model import Variant
from formsketch.design.variant_edits import pinned, shares_form, swapped
from formsketch.errors import FormSketchError
from formsketch.ui import dialogs
from formsketch.ui.later import Later, candidates_of

if TYPE_CHECKING:
    from formsketch.ui.compare_view import CompareView
    from formsketch.ui.window import Window

quantities = Later("formsketch.comparison.same_as", "quantities")
BrassSampleDialog = Later("formsketch.ui.brass_sample_dialog", "BrassSampleDialog")
PiecesPage = Later("formsketch.ui.pieces_page", "PiecesPage")
SameAsDialog = Later("formsketch.ui.same_as_dialog", "SameAsDialog")
VariantDialog = Later("formsketch.ui.variant_dialog", "VariantDialog")


class CompareCommands:
    """Variants and grids, from the menu."""

    def __init__(self, window: Window) -> None:
        self._window = window

    def refresh(self, actions: dict[str, QAction]) -> None:
        """Readiness and marks of the commands of comparing."""
        window = self._window
        beside = window.is_comparing and not window.compare_view.shows_grid
        for name in ("remove_variant", "swap_variant"):
            actions[name].setEnabled(bool(window.session.design.variants))
        actions["compare_forms"].setChecked(beside)
        actions["show_grid"].setChecked(window.is_comparing and not beside)
        actions["lay_over"].setChecked(beside and window.compare_view.bar.lay_over)

    # --- side by side and the grid

    def tend(self, view: CompareView) -> None:
        """Leave the page, say what it refuses and pin as it asks."""
        view.left.connect(self._leave)
        view.refused.connect(self._window.refuse)
        view.asked.connect(self._asked)

    def show_grid(self) -> None:
        """Show the grid, or the form again."""
        window = self._window
        if window.is_comparing and window.compare_view.shows_grid:
            self._leave()
            return
        window.compare_view.show_grid(True)
        window.show_comparing(True)
        window.tell(
            "Pull on the design and every form of the grid follows; click one to have it, Esc leaves."
        )

    def lay_over(self) -> None:
        """Lay the forms over each other, or beside each other again."""
        window = self._window
        box = window.compare_view.bar.over_box
        beside = window.is_comparing and not window.compare_view.shows_grid
        if not beside:
            window.compare_view.show_grid(False)
            window.show_comparing(True)
        box.setChecked(not (beside and box.isChecked()))
        window.compare_view.take_focus()

    def _leave(self) -> None:
        self._window.show_comparing(False)
        self._window.refresh_commands()

    # --- variants

    def pin_state(self) -> None:
        """Keep the design as it is now as a variant that stays so."""
        session = self._window.session
        design = session.design
        titles = {variant.title for variant in design.variants}
        title = next(name for n in count(1) if (name := f"pin {n}") not in titles)
        session.change(f"Pin as {title}", pinned(design, title))
        self._window.tell(f"Pinned as {title}; it stays as it is while the design is pulled on.")

    def add_variant(self) -> None:
        """Name a difference from the design."""
        dialog = VariantDialog(self._window, self._window.session.design)
        if dialog.exec():
            self._add(dialog.variant)

    def remove_variant(self) -> None:
        """Take one of the variants out of the design."""
        number = self._ask("Remove a variant")
        if number is not None:
            self._remove(number)

    def swap_variant(self) -> None:
        """A variant becomes the design, and the design a variant."""
        number = self._ask("Swap with a variant")
        if number is not None:
            self._swap(number)

    def _asked(self, name: str, number: int | None) -> None:
        """What the menu under a form asks."""
        try:
            if number is None:
                self.pin_state()
            else:
                {"swap": self._swap, "remove": self._remove, "share": self._share}[name](number)
        except FormSketchError as fault:
            self._window.refuse(str(fault))

    def _remove(self, number: int) -> None:
        session = self._window.session
        variants = session.design.variants
        kept = tuple(v for i, v in enumerate(variants) if i != number)
        session.change(f"Remove {variants[number].title}", with_variants(session.design, kept))

    def _swap(self, number: int) -> None:
        session = self._window.session
        title = session.design.variants[number].title
        session.change(f"Swap with {title}", swapped(session.design, number))

    def _share(self, number: int) -> None:
        session = self._window.session
        title = session.design.variants[number].title
        session.change(f"{title} follows the form", shares_form(session.design, number))

    def _ask(self, question: str) -> int | None:
        """Which of the variants."""
        variants = self._window.session.design.variants
        return dialogs.ask_choice(self._window, question, [v.title or "untitled" for v in variants])

    # --- what else can be asked

    def keep_same(self) -> None:
        """Solve for the wire or size that keeps a quantity, and keep it as a variant in one step."""
        design = self._window.session.design
        dialog = SameAsDialog(self._window, design, quantities(load_prices(rates_file())))
        if dialog.exec():
            self._add(dialog.variant)

    def sample_in_brass(self) -> None:
        """The piece in brass, kept as a variant in one step."""
        dialog = BrassSampleDialog(self._window, self._window.session.evaluation)
        if dialog.exec():
            self._add(dialog.variant)

    def show_own_pieces(self) -> None:
        """The form in hand on the scale of the maker's finished pieces."""
        session = self._window.session
        PiecesPage(self._window, candidates_of(session.design), self._window.settings, session.file).exec()

    def _add(self, variant: Variant | None) -> None:
        if variant is not None:
            session = self._window.session
            design = session.design
            session.change(f"Variant {variant.title}", with_variants(design, (*design.variants, variant)))
