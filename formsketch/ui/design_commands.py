"""Commands that change the design, each one step."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from msgspec.structs import replace

from formsketch.design.edits import (
    SpanAddress,
    change_ends,
    change_run,
    change_span,
    change_texts,
    loosened,
    mirrored,
    replace_spans,
    scaled,
    span_at,
)
from formsketch.design.mark_edits import insert_mark, remove_mark
from formsketch.design.model import Flare
from formsketch.design.run_edits import (
    copy_flare_to_like,
    flare_for,
    gather_repeats,
    join_runs,
    reversed_wire,
    split_run,
)
from formsketch.errors import EditRefused
from formsketch.fitting.many_spans import with_face, without_flares
from formsketch.fitting.pulling import WireInHand
from formsketch.fitting.shaping import even_row, open_row
from formsketch.ui import dialogs
from formsketch.ui.later import Later
from formsketch.ui.over_under import swap_over_under
from formsketch.ui.pose import Pose
from formsketch.ui.session import Session

if TYPE_CHECKING:
    from formsketch.ui.window import Window

EndsDialog = Later("formsketch.ui.ends_dialog", "EndsDialog")
UnevenBlowsDialog = Later("formsketch.ui.uneven_blows_dialog", "UnevenBlowsDialog")


class DesignCommands:
    """Texts, ends, whole-form edits, and flares, for one window."""

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
            design = change_ends(self._session.design, start=dialog.start, finish=dialog.finish)
            self._session.change("Ends", design, 0)

    def mirror_form(self) -> None:
        self._session.change_level("Mirror", mirrored(self._session.design))

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

    def select_all_spans(self) -> None:
        self._selection.select_all(self._session.wire.span_count)
        self._window.tell(self._selection.telling(""))

    def loosen_run(self) -> None:
        address, _ = self._selected()
        self._session.change("Loosen repeats", loosened(self._session.design, address.run))

    # --- marks and repeats

    def insert_mark(self) -> None:
        address, span = self._selected()
        sample, wire = self._selection.sample, self._session.wire
        u = 0.5
        if sample is not None and int(wire.trace.part[int(sample)]) == wire.part(span):
            begin = int(sample)
            following = min(begin + 1, len(wire.trace.u) - 1)
            u = float(np.interp(sample, (begin, following), wire.trace.u[[begin, following]]))
        design = insert_mark(self._session.design, address, u)
        self._session.change(f"Insert a mark in span {span + 1}", design, self._first_place(span))
        # Every repeat before the selected one has got a mark, too.
        self._selection.select(span + self._repeat(wire, span))

    def remove_mark(self) -> None:
        address, span = self._selected()
        wire, design = self._session.wire, remove_mark(self._session.design, address)
        self._session.change(f"Remove mark {span + 1}", design, self._first_place(span - 1))
        self._selection.select(span - 1 - self._repeat(wire, span))

    def turn_over(self) -> None:
        """Turn the wire over where the selected span begins; a repeated run of one span turns each repeat."""
        address, span = self._selected()
        design, kept = self._session.design, span
        run = design.form.runs[address.run]
        if address.index == 0 and run.times > 1:
            design = change_run(design, address.run, turned_over=not run.turned_over)
        else:
            design = change_span(design, address, turned_over=not span_at(design, address).turned_over)
            # A sharp bend at the mark goes to the other side, too; the wire that reaches it stays.
            kept = max(0, span - 1)
        self._session.change(f"Turn over at mark {span + 1}", design, kept)

    @staticmethod
    def _repeat(wire: WireInHand, span: int) -> int:
        """Which repeat of its run a span is in, from 0."""
        return int(wire.chain.repeat[wire.part(span)])

    def _first_place(self, span: int) -> int:
        """The same span in the first repeat of its run: no marks before it come or go with it."""
        wire = self._session.wire
        motif = self._session.design.form.runs[wire.address(span).run].spans
        return span - len(motif) * self._repeat(wire, span)

    def open_row(self) -> None:
        _, span = self._selected()
        turn = abs(float(self._session.evaluation.spans.turn_deg[span]))
        wanted = dialogs.ask_number(
            self._window, "Open the row", "Each span of the row turns, in degrees (less is more open):", turn
        )
        if wanted is not None:
            self._session.change_pulled(
                f"Open the row to {wanted:g}°", open_row(self._session.wire, span, wanted)
            )

    def even_row(self) -> None:
        _, span = self._selected()
        self._session.change_pulled("Even up the row", even_row(self._session.wire, span))

    def repeat_run(self) -> None:
        address, span = self._selected()
        run = self._session.design.form.runs[address.run]
        chosen = dialogs.ask_repeats(self._window, run.times, run.ends_scale)
        if chosen is not None:
            design = change_run(self._session.design, address.run, times=chosen[0], ends_scale=chosen[1])
            self._session.change("Repeats and grading", design, min(span, 0))

    def split_run(self) -> None:
        address, span = self._selected()
        repeat = self._repeat(self._session.wire, span)
        self._session.change("Split the repeats", split_run(self._session.design, address.run, repeat), 0)

    def join_runs(self) -> None:
        address, _ = self._selected()
        self._session.change("Join runs", join_runs(self._session.design, address.run), 0)

    def gather_repeats(self) -> None:
        address, _ = self._selected()
        self._session.change("Gather repeats", gather_repeats(self._session.design, address.run), 0)

    def swap_over_under(self) -> None:
        """At the crossing nearest to the pointer, or to the selected span before it was on the form."""
        canvas, session = self._window.canvas, self._session
        at_mm = canvas.pointer_mm
        if at_mm is None:
            line = canvas.wire.centreline_mm(session.wire.part(self._selection.span or 0))
            at_mm = complex(line[len(line) // 2])
        self._window.tell(swap_over_under(session, at_mm))

    def reverse_wire(self) -> None:
        """Read the wire from its other end; the form stays where it lies."""
        session = self._session
        before, pose = session.wire, session.pose
        finish = before.mark_mm(before.span_count), before.heading_to_rad(before.span_count - 1)
        at, direction = pose.to_table(finish[0]), pose.angle_rad + finish[1] + math.pi
        span = self._selection.span
        crossed_at = [crossing.places for crossing in session.evaluation.crossings]
        design = reversed_wire(session.design, crossed_at, finish)
        session.place("Reverse the wire", design, Pose(at, direction))
        if span is not None:
            self._selection.select(before.span_count - 1 - span)

    # --- hammering

    def copy_flare(self) -> None:
        address, span = self._selected()
        self._session.change(
            f"Like spans as span {span + 1}", copy_flare_to_like(self._session.design, address), span
        )

    @property
    def _which(self) -> str:
        """The selected spans, as a step is named by them."""
        spans = self._selection.spans
        return f"span {spans[0] + 1}" if len(spans) == 1 else f"{len(spans)} spans"

    def remove_flare(self) -> None:
        _, span = self._selected()
        design = without_flares(self._session.wire, self._selection.spans)
        self._session.change(f"Leave {self._which} unhammered", design, span)

    def flare_on_edge(self) -> None:
        _, span = self._selected()
        flare = self.selected_flare
        if flare is None:
            raise EditRefused("The selected span is not hammered; pull its edge first.")
        face: Literal["flat", "edge"] = "flat" if flare.face == "edge" else "edge"
        design = with_face(self._session.wire, self._selection.spans, face)
        self._session.change(f"Hammer {self._which} {'flat' if face == 'flat' else 'on edge'}", design, span)

    def flare_like_spans(self) -> None:
        """Give every curved span the selected span's flare."""
        address, span = self._selected()
        design = self._session.design
        model = span_at(design, address)
        changes = {
            SpanAddress(r, i): replace(other, flare=flare_for(other, model))
            for r, run in enumerate(design.form.runs)
            for i, other in enumerate(run.spans)
            if other.turn_deg or other.skew_deg or SpanAddress(r, i) == address
        }
        self._session.change(f"Flares like span {span + 1}", replace_spans(design, changes))

    def uneven_blows(self) -> None:
        """Hammer the selected span heavier on one edge."""
        _, span = self._selected()
        dialog = UnevenBlowsDialog(self._window, self._session, span)
        if dialog.exec():
            self._session.commit(f"Uneven blows on span {span + 1}")
        else:
            self._session.cancel()
