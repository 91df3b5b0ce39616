"""The places a form can be pulled by, computed anew from the evaluation whenever they are needed."""

from __future__ import annotations

from typing import Literal

import numpy as np
from PySide6.QtCore import QPointF

from formsketch.design.model import Flare
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire
from formsketch.values import Value

# Where along a span its skew is pulled; how far direction handles stand off their marks.
_SKEW_AT, _DIRECTION_OFF = 0.22, 2.2
# A shorter span, in handles' distances, has no room for them; seen nearer it has.
_LEAST_LENGTH_FOR_SKEW, _LEAST_LENGTH_FOR_ALL = 8.0, 4.0
# How far the handle of a row stands off its end, clear of the direction of its last mark.
_ROW_OFF = 3.8
# Nearer to its beginning than this, in handles' distances, a row has no direction of its own.
_LEAST_ROW = 0.5


class Handle(Value, frozen=True):
    """A place to pull: `number` is that of the mark or span, `u` the place along the span.

    `way` is the direction it is pulled along, of length 1, where it has one.
    """

    kind: Literal["belly", "flare", "mark", "skew", "direction", "repeat"]
    number: int
    at_mm: complex
    hint: str
    u: float = 0.0
    side: int = 0
    way: complex = 0j


def handles_of(session: Session, wire: PlacedWire, span: int | None, clear_mm: float) -> list[Handle]:
    """All marks, and the handles of the selected span: belly, flare, skew, direction at its marks, its row.

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
    # On a span seen small the one inside its bend would lie on its marks.
    small = chain.length_mm[part] < _LEAST_LENGTH_FOR_ALL * clear_mm
    inside = 1 if chain.turn_rad[part] > 0 else -1
    sides = [side for side in (1, -1) if not (small and side == inside)]
    edges = [Handle("flare", span, at + side * across, hint, u, side) for side in sides]
    row = _row_handle(session, wire, span, clear_mm)
    return [belly, *edges, *found, *_scroll_handles(session, wire, span, clear_mm), row]


def _deepest(flare: Flare) -> float:
    """Where along its span a flare is deepest; between marks set into it a span shows only a part."""
    return min(1.0, max(0.0, (flare.centre - flare.begin) / (flare.end - flare.begin)))


def _scroll_handles(session: Session, wire: PlacedWire, span: int, clear_mm: float) -> list[Handle]:
    """Skew handles a quarter from either end and directions at both marks, where there is room for them."""
    trace, part = wire.trace, session.wire.part(span)
    begin, end = int(trace.first[part]), int(trace.first[part + 1]) - 1
    chain = session.evaluation.chain
    found = []
    if chain.length_mm[part] > _LEAST_LENGTH_FOR_SKEW * clear_mm and chain.sharpest_per_mm[part] > 0:
        for u in (_SKEW_AT, 1 - _SKEW_AT):
            at = begin + int(np.argmin(np.abs(trace.u[begin : end + 1] - u)))
            hint = f"Skew of span {span + 1}: drag to make it tighten towards one end."
            found.append(Handle("skew", span, complex(trace.z_mm[at]), hint, u))
    if chain.length_mm[part] < _LEAST_LENGTH_FOR_ALL * clear_mm:
        return found
    for mark, sample, sign in ((span, begin, -1.0), (span + 1, end, 1.0)):
        at_mm = complex(trace.z_mm[sample]) + sign * _DIRECTION_OFF * clear_mm * complex(
            trace.direction[sample]
        )
        hint = f"Direction at mark {mark + 1}: drag to turn it; the marks stay."
        found.append(Handle("direction", mark, at_mm, hint, side=int(sign)))
    return found


def _row_handle(session: Session, wire: PlacedWire, span: int, clear_mm: float) -> Handle:
    """At the end of the last repeat of the span's run, a little further along the row."""
    chain, trace, run = session.evaluation.chain, wire.trace, session.wire.address(span).run
    parts = np.flatnonzero(chain.run == run)
    # Two repeats back, since a row that turns over comes near its line at every second one only.
    back = parts[np.searchsorted(chain.repeat[parts], max(0, chain.repeat[parts[-1]] - 1))]
    end = int(trace.first[parts[-1] + 1]) - 1
    end_mm = complex(trace.z_mm[end])
    along = end_mm - complex(trace.z_mm[trace.first[back]])
    if abs(along) < _LEAST_ROW * clear_mm:
        along = complex(trace.direction[end])
    way = along / abs(along)
    hint = "Repeats: drag along the row for more or fewer, with Shift for larger or smaller ends."
    return Handle("repeat", span, end_mm + _ROW_OFF * clear_mm * way, hint, way=way)


def nearest_handle(handles: list[Handle], at: QPointF, view: View, within_px: float) -> Handle | None:
    """The handle nearest to a pixel, if any is near enough; earlier ones win ties."""
    if not handles:
        return None
    places = np.array([handle.at_mm for handle in handles])
    away = np.abs(places - view.to_mm(at)) * view.px_per_mm
    best = int(np.argmin(away))
    return handles[best] if away[best] <= within_px else None
