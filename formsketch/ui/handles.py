"""The places a form can be pulled by, computed anew from the evaluation whenever they are needed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from PySide6.QtCore import QPointF

from formsketch.design.model import Flare
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire

# Where along a span its skew is pulled; how far direction handles stand off their marks.
_SKEW_AT, _DIRECTION_OFF = 0.22, 2.2


@dataclass(frozen=True)
class Handle:
    """A place to pull: `number` is that of the mark or span, `u` the place along the span."""

    kind: Literal["belly", "flare", "mark", "skew", "direction"]
    number: int
    at_mm: complex
    hint: str
    u: float = 0.0
    side: int = 0


def handles_of(session: Session, wire: PlacedWire, span: int | None, clear_mm: float) -> list[Handle]:
    """All marks, and the handles of the selected span: belly, flare, skew, and direction at its marks.

    Flare handles stand outside the wire's edges, no nearer than `clear_mm` to its middle, so that they
    can be told from the belly on thin wire; direction handles stand off their marks by about twice that.
    """
    in_hand = session.wire
    chain, trace = session.evaluation.chain, wire.trace
    marks = np.append(trace.first[chain.spans], trace.first[chain.spans.stop] - 1)
    places = trace.z_mm[marks]
    found = [
        Handle("mark", i, complex(z), f"Mark {i + 1}: drag to move it; the wire beside it is solved anew.")
        for i, z in enumerate(places)
    ]
    if span is None:
        return found
    part = in_hand.part(span)
    begin, end = trace.first[part], trace.first[part + 1] - 1
    middle = (begin + end) // 2
    number = int(chain.flare[part])
    u = _deepest(chain.flares[number]) if number >= 0 else 0.5
    thin = begin + int(np.argmin(np.abs(trace.u[begin : end + 1] - u)))
    belly = Handle(
        "belly",
        span,
        complex(trace.z_mm[middle]),
        f"Belly of span {span + 1}: drag to open or close it.",
        0.5,
    )
    half = 0.5 * float(session.evaluation.samples.plan_width_mm[thin])
    across = 1j * complex(trace.direction[thin]) * max(half, clear_mm)
    at = complex(trace.z_mm[thin])
    hint = f"Flare of span {span + 1}: drag outward to hammer it wider, along the wire to move it."
    edges = [Handle("flare", span, at + side * across, hint, u, side) for side in (1, -1)]
    return [belly, *edges, *found, *_scroll_handles(session, wire, span, clear_mm)]


def _deepest(flare: Flare) -> float:
    """Where along its span a flare is deepest; between marks set into it a span shows only a part."""
    return min(1.0, max(0.0, (flare.centre - flare.begin) / (flare.end - flare.begin)))


def _scroll_handles(session: Session, wire: PlacedWire, span: int, clear_mm: float) -> list[Handle]:
    """Skew handles a quarter from either end, where there is room for them, and directions at both marks."""
    trace, part = wire.trace, session.wire.part(span)
    begin, end = int(trace.first[part]), int(trace.first[part + 1]) - 1
    chain = session.evaluation.chain
    found = []
    if chain.length_mm[part] > 8 * clear_mm and chain.sharpest_per_mm[part] > 0:
        for u in (_SKEW_AT, 1 - _SKEW_AT):
            at = begin + int(np.argmin(np.abs(trace.u[begin : end + 1] - u)))
            hint = f"Skew of span {span + 1}: drag to make it tighten towards one end."
            found.append(Handle("skew", span, complex(trace.z_mm[at]), hint, u))
    for mark, sample, sign in ((span, begin, -1.0), (span + 1, end, 1.0)):
        at_mm = complex(trace.z_mm[sample]) + sign * _DIRECTION_OFF * clear_mm * complex(
            trace.direction[sample]
        )
        hint = f"Direction at mark {mark + 1}: drag to turn it; the marks stay."
        found.append(Handle("direction", mark, at_mm, hint, side=int(sign)))
    return found


def nearest_handle(handles: list[Handle], at: QPointF, view: View, within_px: float) -> Handle | None:
    """The handle nearest to a pixel, if any is near enough; earlier ones win ties."""
    if not handles:
        return None
    places = np.array([handle.at_mm for handle in handles])
    away = np.abs(places - view.to_mm(at)) * view.px_per_mm
    best = int(np.argmin(away))
    return handles[best] if away[best] <= within_px else None
