"""Pulling with the mouse, as objects: begun on a press, moved, finished in one step, or cancelled whole.

A gesture tells the session what to show and returns the sentence for the status line. A pull that cannot
be leaves the last form that could be and says why.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QPointF, Qt

from formsketch.design.edits import span_at
from formsketch.design.soundness import LEAST_EASE
from formsketch.errors import FormSketchError
from formsketch.fitting.pulling import Pulled, pull_belly, pull_flare, pull_mark, slide_flare
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.units import angle_text, length_text

# A press that moves less than this is a click.
DRAG_THRESHOLD_PX = 4.0


class Gesture(ABC):
    """One press, its moves and its end. `cursor` is shown while it lasts."""

    cursor = Qt.CursorShape.ClosedHandCursor

    @abstractmethod
    def move(self, at: QPointF, view: View) -> str:
        """Follow the pointer; returns the sentence for the status line."""

    @abstractmethod
    def finish(self) -> None:
        """End as one step, or none when nothing changed."""

    @abstractmethod
    def cancel(self) -> None:
        """Put everything back exactly."""


class Pan(Gesture):
    """Slides the table under the view."""

    def __init__(self, view: View, at: QPointF, show: Callable[[View], None]) -> None:
        self._view, self._at, self._show = view, at, show

    def move(self, at: QPointF, view: View) -> str:
        self._show(self._view.moved(at - self._at))
        return "Moving the table."

    def finish(self) -> None:
        pass

    def cancel(self) -> None:
        self._show(self._view)


class Pull(Gesture):
    """A pull on the form: previews designs while it moves."""

    name = "Pull"

    def __init__(self, session: Session) -> None:
        self._session = session

    @abstractmethod
    def pulled(self, table_mm: complex) -> Pulled:
        """The design after pulling to a place on the table."""

    @abstractmethod
    def said(self) -> str:
        """What to say of the design now shown."""

    def move(self, at: QPointF, view: View) -> str:
        try:
            pulled = self.pulled(view.to_mm(at))
            self._session.preview(pulled.design, pulled.kept_mark)
        except FormSketchError as fault:
            return str(fault)
        return f"{self.said()}   Esc puts it back."

    def finish(self) -> None:
        self._session.commit(self.name)

    def cancel(self) -> None:
        self._session.cancel()


class MarkPull(Pull):
    """Moves a mark; its neighbouring spans are solved anew."""

    def __init__(self, session: Session, mark: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._mark = mark
        self.name = f"Move mark {mark + 1}"
        # Held where it was grabbed, so that nothing jumps.
        self._off_mm = session.pose.to_table(session.wire.mark_mm(mark)) - grabbed_mm
        self._length_mm = session.evaluation.finished_length_mm

    def pulled(self, table_mm: complex) -> Pulled:
        session = self._session
        return pull_mark(session.wire, self._mark, session.pose.to_own(table_mm + self._off_mm))

    def said(self) -> str:
        now_mm = self._session.evaluation.finished_length_mm
        return f"Mark {self._mark + 1}: wire {_change(now_mm, self._length_mm)}."


class BellyPull(Pull):
    """Opens or closes a span at constant length."""

    def __init__(self, session: Session, span: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._span = span
        self.name = f"Open or close span {span + 1}"
        wire = session.wire
        # Every span has an odd number of samples.
        own = np.flatnonzero(wire.trace.part == wire.part(span))
        middle = complex(wire.trace.z_mm[own[len(own) // 2]])
        self._off_mm = session.pose.to_table(middle) - grabbed_mm
        self._turn_deg = float(session.evaluation.spans.turn_deg[span])

    def pulled(self, table_mm: complex) -> Pulled:
        session = self._session
        return pull_belly(session.wire, self._span, session.pose.to_own(table_mm + self._off_mm))

    def said(self) -> str:
        now = float(self._session.evaluation.spans.turn_deg[self._span])
        return f"Span {self._span + 1} turns {angle_text(self._turn_deg)} -> {angle_text(now)}, same length."


class FlarePull(Pull):
    """Pulls a flare wider or narrower at its edge, or along the span: whichever the pointer does first."""

    def __init__(self, session: Session, span: int, u: float, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._span, self._u = span, u
        self.name = f"Hammer span {span + 1}"
        self._grabbed_mm = grabbed_mm
        # Always from the wire as it was: a flare pulled away and back is the flare it was.
        self._wire = wire = session.wire
        own = np.flatnonzero(wire.trace.part == wire.part(span))
        nearest = own[np.argmin(np.abs(wire.trace.u[own] - u))]
        placed = session.pose.placed(wire.trace)
        self._at_mm, self._along = complex(placed.z_mm[nearest]), complex(placed.direction[nearest])
        self._width_mm = float(session.evaluation.samples.plan_width_mm[nearest])
        self._length_mm = float(wire.chain.length_mm[wire.part(span)])
        flare_number = int(wire.chain.flare[wire.part(span)])
        self._flare = wire.chain.flares[flare_number] if flare_number >= 0 else None
        self._outward = 1.0 if self._across(grabbed_mm) >= 0 else -1.0
        self._slides: bool | None = None

    def _across(self, table_mm: complex) -> float:
        return ((table_mm - self._at_mm) * self._along.conjugate()).imag

    def pulled(self, table_mm: complex) -> Pulled:
        moved = (table_mm - self._grabbed_mm) * self._along.conjugate()
        if self._slides is None:
            self._slides = self._flare is not None and abs(moved.real) > 1.5 * abs(moved.imag)
        if self._slides and self._flare is not None:
            return self._slid(moved.real)
        width = self._width_mm + 2 * self._outward * moved.imag
        return pull_flare(self._wire, self._span, width)

    def said(self) -> str:
        wire = self._session.wire
        flare = span_at(wire.design, wire.address(self._span)).flare
        if self._slides and flare is not None:
            return f"Thinnest at {100 * flare.centre:.0f} % of the span."
        spans = self._session.evaluation.spans
        thin, wide = float(spans.thinnest_mm[self._span]), float(spans.widest_mm[self._span])
        return f"Span {self._span + 1} hammered to {length_text(thin)}, {length_text(wide)} wide."

    def _slid(self, along_mm: float) -> Pulled:
        assert self._flare is not None
        room = self._flare.hold / 2 + LEAST_EASE
        centre = min(1 - room, max(room, self._flare.centre + along_mm / self._length_mm))
        return slide_flare(self._wire, self._span, centre)


def _change(now_mm: float, before_mm: float) -> str:
    return f"{length_text(now_mm)} ({length_text(now_mm - before_mm, signed=True)})"
