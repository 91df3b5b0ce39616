"""Commands that change the design, each one step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from formsketch.design.edits import (
    SpanAddress,
    change_end,
    change_span,
    change_texts,
    loosened,
    mirrored,
    replace_spans,
    scaled,
    span_at,
    with_variants,
)
from formsketch.design.model import Flare
from formsketch.errors import EditRefused
from formsketch.ui import dialogs
from formsketch.ui.ends_dialog import EndsDialog
from formsketch.ui.session import Session
from formsketch.ui.variant_dialog import VariantDialog

if TYPE_CHECKING:
    from formsketch.ui.window import Window


class DesignCommands:
    """Texts, ends, whole-form edits, flares and variants, for one window."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._selection = window.selection

    @property
    def _session(self) -> Session:
        return self._window.session

    # --- the form

    def change_texts(self) -> None:
        design = self._session.design
        texts = dialogs.ask_texts(self._window, design.title, design.notes)
        if texts is not None:
            self._session.change("Title and notes", change_texts(design, title=texts[0], notes=texts[1]))

    def change_ends(self) -> None:
        dialog = EndsDialog(self._window, self._session.design)
        if dialog.exec():
            design = change_end(self._session.design, "start", dialog.start)
            self._session.change("Ends", change_end(design, "finish", dialog.finish), 0)

    def mirror_form(self) -> None:
        self._session.change("Mirror", mirrored(self._session.design))

    def scale_form(self) -> None:
        percent = dialogs.ask_number(
            self._window, "Scale", "Size of the form in per cent; the wire stays as it is:", 100.0
        )
        if percent is not None:
            self._session.change(f"Scale to {percent:g} %", scaled(self._session.design, percent / 100), 0)

    @property
    def selected_address(self) -> SpanAddress | None:
        """Where the selected span is written."""
        span = self._selection.span
        wire = self._session.wire
        return wire.address(span) if span is not None and span < wire.span_count else None

    @property
    def selected_run_times(self) -> int:
        address = self.selected_address
        return 0 if address is None else self._session.design.form.runs[address.run].times

    @property
    def selected_flare(self) -> Flare | None:
        address = self.selected_address
        return None if address is None else span_at(self._session.design, address).flare

    def _selected(self) -> tuple[SpanAddress, int]:
        address, span = self.selected_address, self._selection.span
        if address is None or span is None:
            raise EditRefused("Select a span first.")
        return address, span

    def loosen_run(self) -> None:
        address, _ = self._selected()
        self._session.change("Loosen repeats", loosened(self._session.design, address.run))

    # --- hammering

    def remove_flare(self) -> None:
        address, span = self._selected()
        design = change_span(self._session.design, address, flare=None)
        self._session.change(f"Leave span {span + 1} unhammered", design, span)

    def flare_on_edge(self) -> None:
        address, span = self._selected()
        flare = self.selected_flare
        if flare is None:
            raise EditRefused("The selected span is not hammered; pull its edge first.")
        turned = replace(flare, face="flat" if flare.face == "edge" else "edge")
        design = change_span(self._session.design, address, flare=turned)
        self._session.change(
            f"Hammer span {span + 1} {'flat' if turned.face == 'flat' else 'on edge'}", design, span
        )

    def flare_like_spans(self) -> None:
        """Give every curved span the selected span's flare."""
        address, span = self._selected()
        flare = self.selected_flare
        design = self._session.design
        changes = {
            SpanAddress(r, i): replace(other, flare=flare)
            for r, run in enumerate(design.form.runs)
            for i, other in enumerate(run.spans)
            if other.turn_deg or other.skew_deg or SpanAddress(r, i) == address
        }
        self._session.change(f"Flares like span {span + 1}", replace_spans(design, changes))

    # --- variants

    def add_variant(self) -> None:
        dialog = VariantDialog(self._window, self._session.design)
        if dialog.exec() and dialog.variant is not None:
            design = self._session.design
            self._session.change(
                f"Variant {dialog.variant.title}", with_variants(design, (*design.variants, dialog.variant))
            )

    def remove_variant(self) -> None:
        variants = self._session.design.variants
        number = dialogs.ask_choice(
            self._window, "Remove a variant", [v.title or "untitled" for v in variants]
        )
        if number is not None:
            kept = tuple(v for i, v in enumerate(variants) if i != number)
            self._session.change(
                f"Remove {variants[number].title}", with_variants(self._session.design, kept)
            )
