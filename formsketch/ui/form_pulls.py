"""Pulling on the form: its marks, bellies, flares, scrolls and directions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from formsketch.bench.tubes import Tube
from formsketch.design.edits import change_span, span_at
from formsketch.design.soundness import LEAST_EASE
from formsketch.fitting.pulling import (
    Pulled,
    pull_belly,
    pull_flare,
    pull_mark,
    pull_skew_to,
    slide_flare,
    stretch_flare,
)
from formsketch.fitting.shaping import (
    constrained_target,
    open_row,
    pull_belly_keeping_marks,
    turn_direction,
)
from formsketch.fitting.snapping import snapped, tube_turns
from formsketch.ui.gestures import ALT, CONTROL, SHIFT, Pull
from formsketch.ui.pose import within_half
from formsketch.ui.session import Session
from formsketch.units import angle_text, length_text


class MarkPull(Pull):
    """Moves a mark; its neighbouring spans are solved anew. Shift leads it along the wire or square to it."""

    def __init__(self, session: Session, mark: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._mark = mark
        self.name = f"Move mark {mark + 1}"
        # Held where it was grabbed, so that nothing jumps.
        self._off_mm = session.pose.to_table(session.wire.mark_mm(mark)) - grabbed_mm
        self._length_mm = session.evaluation.finished_length_mm
        self._wire, self._pose = session.wire, session.pose

    def pulled(self, table_mm: complex) -> Pulled:
        session = self._session
        target_mm = table_mm + self._off_mm
        if self.keys & SHIFT:
            target_mm = self._led(target_mm)
        return pull_mark(session.wire, self._mark, session.pose.to_own(target_mm))

    def _led(self, table_mm: complex) -> complex:
        """The place along the wire, or square to it, that is nearest; through the mark as it was grabbed."""
        target = self._pose.to_own(table_mm)
        led = [constrained_target(self._wire, self._mark, target, way) for way in ("along", "square")]
        return self._pose.to_table(min(led, key=lambda place: abs(place - target)))

    def said(self) -> str:
        now_mm = self._session.evaluation.finished_length_mm
        led = "" if self.keys & SHIFT else "   Shift: along or square."
        return f"Mark {self._mark + 1}: wire {_change(now_mm, self._length_mm)}.{led}"


class DirectionPull(Pull):
    """Turns the wire's direction at a mark; the marks stay, the spans beside it are solved anew."""

    def __init__(self, session: Session, mark: int, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._mark = mark
        self.name = f"Turn direction at mark {mark + 1}"
        # Turned as far as the pointer goes round the mark, wherever it was grabbed.
        self._at_mm = session.pose.to_table(session.wire.mark_mm(mark))
        self._grabbed_mm = grabbed_mm - self._at_mm
        self._direction_rad = self._shown_rad = self._now_rad()
        self._turned_deg = 0.0

    def _now_rad(self) -> float:
        """Direction of the wire on the table as it leaves the mark, or as it reaches the last one."""
        wire, mark = self._session.wire, self._mark
        own = wire.heading_from_rad(mark) if mark < wire.span_count else wire.heading_to_rad(mark - 1)
        return self._session.pose.angle_rad + own

    def pulled(self, table_mm: complex) -> Pulled:
        round_rad = np.angle((table_mm - self._at_mm) * self._grabbed_mm.conjugate())
        return turn_direction(
            self._session.wire, self._mark, within_half(self._direction_rad + round_rad - self._now_rad())
        )

    def said(self) -> str:
        before, self._shown_rad = self._shown_rad, self._now_rad()
        self._turned_deg += float(np.rad2deg(within_half(self._shown_rad - before)))
        return f"Direction at mark {self._mark + 1} turned {angle_text(self._turned_deg, signed=True)}."


class BellyPull(Pull):
    """Opens or closes a span. Shift keeps both marks and changes the length, Control opens the whole row.

    At constant length it snaps lightly to the tubes on the bench; Alt lets go of them.
    """

    modes = SHIFT | CONTROL

    def __init__(self, session: Session, span: int, grabbed_mm: complex, tubes: Sequence[Tube] = ()) -> None:
        super().__init__(session)
        self._span = span
        self.name = f"Open or close span {span + 1}"
        self._wire = wire = session.wire
        # Every span has an odd number of samples.
        own = np.flatnonzero(wire.trace.part == wire.part(span))
        middle = complex(wire.trace.z_mm[own[len(own) // 2]])
        self._off_mm = session.pose.to_table(middle) - grabbed_mm
        self._turn_deg = float(session.evaluation.spans.turn_deg[span])
        self._length_mm = float(session.evaluation.spans.finished_length_mm[span])
        fraction = wire.stock_length_mm(span) / self._length_mm
        arc = abs(wire.shape(span).skew_rad) < 1e-9
        self._choices = (
            tube_turns(
                tubes, self._length_mm, fraction, wire.design.wire.diameter_mm, session.evaluation.metal
            )
            if arc
            else []
        )
        self._tube: Tube | None = None

    def pulled(self, table_mm: complex) -> Pulled:
        session = self._session
        self._tube = None
        target = session.pose.to_own(table_mm + self._off_mm)
        if self.keys & SHIFT:
            self.name = f"Open or close span {self._span + 1} between its marks"
            return pull_belly_keeping_marks(session.wire, self._span, target)
        pulled = self._snapped(pull_belly(session.wire, self._span, target))
        if self.keys & CONTROL:
            self.name = "Open or close the row"
            turn = abs(span_at(pulled.design, session.wire.address(self._span)).turn_deg)
            # The row as it was grabbed: it takes up no other span whose turn it comes by.
            return open_row(self._wire, self._span, turn)
        self.name = f"Open or close span {self._span + 1}"
        return pulled

    def _snapped(self, pulled: Pulled) -> Pulled:
        address = self._session.wire.address(self._span)
        turn_deg = span_at(pulled.design, address).turn_deg
        choice = None if self.keys & ALT else snapped(float(np.deg2rad(turn_deg)), self._choices)
        if choice is None:
            return pulled
        self._tube = choice.tube
        turn_deg = float(np.copysign(np.rad2deg(choice.turn_rad), turn_deg))
        return Pulled(change_span(pulled.design, address, turn_deg=turn_deg), pulled.kept_mark)

    def said(self) -> str:
        spans = self._session.evaluation.spans
        now = float(spans.turn_deg[self._span])
        turned = f"Span {self._span + 1} turns {angle_text(self._turn_deg)} -> {angle_text(now)}"
        if self.keys & SHIFT:
            length = float(spans.finished_length_mm[self._span])
            return f"{turned}, marks kept, wire {_change(length, self._length_mm)}."
        on = f", on the {self._tube.label} tube (Alt: free)" if self._tube is not None else ", same length"
        if self.keys & CONTROL:
            return f"The row: {turned[:1].lower()}{turned[1:]}{on}."
        return f"{turned}{on}.   Shift: keep both marks. Ctrl: the whole row."


class SkewPull(Pull):
    """Makes a span tighten towards one end."""

    def __init__(self, session: Session, span: int, u: float, grabbed_mm: complex) -> None:
        super().__init__(session)
        self._span, self._u = span, u
        self.name = f"Skew span {span + 1}"
        wire = session.wire
        own = np.flatnonzero(wire.trace.part == wire.part(span))
        nearest = own[np.argmin(np.abs(wire.trace.u[own] - u))]
        self._u = float(wire.trace.u[nearest])
        self._off_mm = session.pose.to_table(complex(wire.trace.z_mm[nearest])) - grabbed_mm

    def pulled(self, table_mm: complex) -> Pulled:
        session = self._session
        target = session.pose.to_own(table_mm + self._off_mm)
        return pull_skew_to(session.wire, self._span, self._u, target)

    def said(self) -> str:
        shape = self._session.wire.shape(self._span)
        tighter = "its end" if shape.skew_rad * shape.turn_rad >= 0 else "its beginning"
        skew = angle_text(float(np.rad2deg(shape.skew_rad)))
        return f"Span {self._span + 1}: skew {skew}, tighter towards {tighter}."


class FlarePull(Pull):
    """Pulls a flare wider or narrower at its edge, or along the span: whichever the pointer does first.

    Along the span with Shift it stretches the part held at that thickness.
    """

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
            held = f", held over {100 * flare.hold:.0f} %" if flare.hold else ""
            return f"Thinnest at {100 * flare.centre:.0f} % of the span{held}.   Shift: stretch the hold."
        spans = self._session.evaluation.spans
        thin, wide = float(spans.thinnest_mm[self._span]), float(spans.widest_mm[self._span])
        return f"Span {self._span + 1} hammered to {length_text(thin)}, {length_text(wide)} wide."

    def _slid(self, along_mm: float) -> Pulled:
        assert self._flare is not None
        # Of the whole flare, of which a span between marks set into it shows a part.
        share = along_mm / self._length_mm * (self._flare.end - self._flare.begin)
        if self.keys & SHIFT:
            most = 2 * min(self._flare.centre, 1 - self._flare.centre) - 2 * LEAST_EASE
            return stretch_flare(self._wire, self._span, min(most, max(0.0, self._flare.hold + 2 * share)))
        room = self._flare.hold / 2 + LEAST_EASE
        return slide_flare(self._wire, self._span, min(1 - room, max(room, self._flare.centre + share)))


def _change(now_mm: float, before_mm: float) -> str:
    return f"{length_text(now_mm)} ({length_text(now_mm - before_mm, signed=True)})"
