"""What is selected and what is pointed at, shared by the form, the straight wire and the numbers."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal


class Selection(QObject):
    """`span` is the selected span's number, `sample` the place pointed at on the wire; None for none.

    A place is a sample's number and, after the point, the share of the way to the next.
    """

    changed = Signal()
    pointed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._span: int | None = None
        self._sample: float | None = None

    @property
    def span(self) -> int | None:
        return self._span

    @property
    def sample(self) -> float | None:
        return self._sample

    def select(self, span: int | None) -> None:
        if span != self._span:
            self._span = span
            self.changed.emit()

    def point_at(self, sample: float | None) -> None:
        if sample != self._sample:
            self._sample = sample
            self.pointed.emit()

    def keep_within(self, span_count: int) -> None:
        """Forget a selection that an edit took away, and the place pointed at."""
        self._sample = None
        if self._span is not None and self._span >= span_count:
            self._span = None
            self.changed.emit()
