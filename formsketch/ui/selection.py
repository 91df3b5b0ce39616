"""What is selected and what is pointed at, shared by the form, the straight wire and the numbers."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QObject, Qt, Signal

_Keys = Qt.KeyboardModifier
_ADDS, _STRETCHES = _Keys.ControlModifier, _Keys.ShiftModifier


class Selection(QObject):
    """Which spans are selected, and the place pointed at.

    `span` is the lead: the span whose handles are shown and from which a stretch is counted, None when
    nothing is selected. `spans` are all selected spans in the order of the wire, the lead among them.
    `sample` is the place pointed at: a sample's number and, after the point, the share of the way to the
    next; None for none.
    """

    changed = Signal()
    pointed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._span: int | None = None
        self._spans: frozenset[int] = frozenset()
        # Where the last stretch reached to, seen from the lead.
        self._reach: int | None = None
        self._sample: float | None = None

    @property
    def span(self) -> int | None:
        return self._span

    @property
    def spans(self) -> tuple[int, ...]:
        return tuple(sorted(self._spans))

    @property
    def sample(self) -> float | None:
        return self._sample

    @property
    def has_many(self) -> bool:
        return len(self._spans) > 1

    def telling(self, sentence: str) -> str:
        """A sentence for the status line, after how many spans are selected where there are several."""
        return f"{len(self._spans)} spans selected.   {sentence}".rstrip() if self.has_many else sentence

    # --- selecting

    def select(self, span: int | None) -> None:
        """This span alone, or none."""
        self._set(span, () if span is None else (span,), span)

    def choose(self, span: int, keys: Qt.KeyboardModifier = _Keys.NoModifier) -> None:
        """As a click with these keys: alone, Shift the stretch from the lead, Control one more or less."""
        if keys & _STRETCHES:
            self.stretch_to(span)
        elif keys & _ADDS:
            self.toggle(span)
        else:
            self.select(span)

    def toggle(self, span: int) -> None:
        """Add a span, which then leads, or take it away; the nearest of the rest leads after a lead."""
        if span not in self._spans:
            self._set(span, (*self._spans, span), span)
            return
        rest = self._spans - {span}
        lead = self._span
        if lead == span:
            lead = min(rest, key=lambda other: (abs(other - span), other)) if rest else None
        self._set(lead, rest, lead)

    def stretch_to(self, span: int) -> None:
        """The whole stretch of wire from the lead to a span, both included; the lead stays."""
        lead = span if self._span is None else self._span
        self._set(lead, range(min(lead, span), max(lead, span) + 1), span)

    def stretch_by(self, step: int, span_count: int) -> None:
        """The stretch from the lead one span further along the wire, or back; begun at an end for none."""
        if self._reach is None:
            self.select(0 if step > 0 else span_count - 1)
        else:
            self.stretch_to(min(max(self._reach + step, 0), span_count - 1))

    def select_all(self, span_count: int) -> None:
        """Every span; the lead stays where there is one."""
        self._set(self._span or 0, range(span_count), span_count - 1)

    def point_at(self, sample: float | None) -> None:
        if sample != self._sample:
            self._sample = sample
            self.pointed.emit()

    def keep_within(self, span_count: int) -> None:
        """Forget the spans that an edit took away, and the place pointed at."""
        self._sample = None
        kept = frozenset(span for span in self._spans if span < span_count)
        lead = self._span if self._span in kept else min(kept, default=None)
        self._set(lead, kept, lead if self._reach not in kept else self._reach)

    def _set(self, lead: int | None, spans: Iterable[int], reach: int | None) -> None:
        self._reach = reach
        whole = frozenset(spans)
        if (lead, whole) != (self._span, self._spans):
            self._span, self._spans = lead, whole
            self.changed.emit()
