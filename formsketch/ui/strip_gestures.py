"""Pulling on the straight wire: a mark slides along it, a hammer zone is pulled thinner."""

from __future__ import annotations

from PySide6.QtCore import Qt

from formsketch.fitting.pulling import Pulled, hammer_to, slide_mark
from formsketch.ui.gestures import Pull
from formsketch.ui.session import Session
from formsketch.units import length_text


def mark_step_name(mark: int) -> str:
    """The name of the step that slides a mark, by the mouse or by a typed distance."""
    return f"Slide mark {mark + 1}"


class MarkSlide(Pull):
    """Wire passes from one span to the next. Places are mm along the wire, as when it was grabbed."""

    cursor = Qt.CursorShape.SplitHCursor

    def __init__(self, session: Session, mark: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._mark, self._grabbed_mm = mark, grabbed_mm
        self.name = mark_step_name(mark)
        self._wire = wire = session.wire
        self._by_mm = 0.0
        self._before_mm = wire.stock_length_mm(mark - 1) if mark > 0 else 0.0
        self._after_mm = wire.stock_length_mm(mark) if mark < wire.span_count else 0.0

    def pulled(self, table_mm: complex) -> Pulled:
        self._by_mm = by_mm = (table_mm - self._grabbed_mm).real
        return slide_mark(self._wire, self._mark, self._before_mm + by_mm, self._after_mm - by_mm)

    def said(self) -> str:
        return f"Mark {self._mark + 1} slid {length_text(self._by_mm, signed=True)} along the straight wire."


class ZonePull(Pull):
    """Hammers a span thinner or less thin; the wire is drawn `thicker` times thicker than long."""

    cursor = Qt.CursorShape.SplitVCursor

    def __init__(self, session: Session, span: int, grabbed_mm: complex, thicker: float) -> None:
        super().__init__(session)
        self._span, self._grabbed_mm, self._thicker = span, grabbed_mm, thicker
        self.name = f"Hammer span {span + 1}"
        self._inward = -1.0 if grabbed_mm.imag > 0 else 1.0
        # Always from the wire as it was: a flare pulled away and back is the flare it was.
        self._wire = session.wire
        self._thickness_mm = float(session.evaluation.spans.thinnest_mm[span])

    def pulled(self, table_mm: complex) -> Pulled:
        # Both faces move, so the thickness changes by twice what one edge does.
        thinner_mm = 2 * self._inward * (table_mm - self._grabbed_mm).imag / self._thicker
        thickness_mm = min(self._session.design.wire.diameter_mm, self._thickness_mm - thinner_mm)
        return hammer_to(self._wire, self._span, thickness_mm)

    def said(self) -> str:
        now_mm = float(self._session.evaluation.spans.thinnest_mm[self._span])
        return f"Span {self._span + 1} hammered to {length_text(now_mm)} at the thinnest."
