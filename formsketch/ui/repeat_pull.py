"""Pulling at the end of a row: more or fewer repeats, or with Shift its grading."""

from __future__ import annotations

from PySide6.QtCore import QPointF

from formsketch.fitting.pulling import Pulled
from formsketch.fitting.repeating import row_of
from formsketch.ui.gestures import NO_KEYS, SHIFT, Keys, Pull
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.units import length_text

REPEATS, GRADING = "Repeats", "Grading"


class RepeatPull(Pull):
    """Pulls the end of a row along it: repeats come or go. Shift grades the row instead."""

    modes = SHIFT

    def __init__(self, session: Session, selection: Selection, span: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self.name = REPEATS
        self._selection, self._span, self._chosen = selection, span, selection.spans
        self._row = row_of(session.wire, span)
        self._times = self._row.times
        # Held where it was grabbed, so that nothing jumps; what begins the row never moves.
        self._pose = session.pose
        self._off_mm = complex(self._row.end_mm[self._times - 1]) - self._pose.to_own(grabbed_mm)
        self._cut_mm = session.evaluation.cut_length_mm

    def pulled(self, table_mm: complex) -> Pulled:
        row, target_mm = self._row, self._pose.to_own(table_mm) + self._off_mm
        if self.keys & SHIFT:
            self.name = GRADING
            pulled, times = row.with_ends_scale(row.ends_scale_at(target_mm)), row.times
        else:
            self.name = REPEATS
            times = row.times_at(target_mm, self._times)
            pulled = row.with_times(times)
        # What is selected leaves a repeat before that goes.
        self._choose(min(times, self._times))
        self._times = times
        return pulled

    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        said = super().move(at, view, keys)
        self._choose(self._times)
        return said

    def said(self) -> str:
        session, row = self._session, self._row
        run, cut_mm = session.design.form.runs[row.run], session.evaluation.cut_length_mm
        cut = f"cut length {length_text(cut_mm)} ({length_text(cut_mm - self._cut_mm, signed=True)})"
        if self.keys & SHIFT:
            before, now = grading_text(row.ends_scale), grading_text(run.ends_scale)
            return f"Ends {before} -> {now} of the middle, {cut}."
        return f"{row.times} -> {run.times} repeats, {cut}.   Shift: grade them."

    def cancel(self) -> None:
        super().cancel()
        if self._selection.spans != self._chosen:
            self._selection.select(None)
            # The one that leads is added last.
            for span in (*(other for other in self._chosen if other != self._span), self._span):
                self._selection.toggle(span)

    def _choose(self, times: int) -> None:
        """Keep the selected span selected, or its like in the last repeat while its own is gone."""
        span = self._row.span_within(self._span, times)
        if self._selection.span != span:
            self._selection.select(span)


def grading_text(ends_scale: float) -> str:
    """A grading as a person says it: "80 %"."""
    return f"{100 * ends_scale:.0f} %"
