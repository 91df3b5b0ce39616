"""Measuring on the form: from one place to another, and the clear gap between two parts of the wire."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen

from formsketch.ui.gestures import ALT, DRAG_THRESHOLD_PX, SHIFT, Keys
from formsketch.ui.measure_places import Gap, Measurable, Place
from formsketch.ui.rulers import RULER_PX
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette
from formsketch.ui.tools import Tool
from formsketch.ui.view import View
from formsketch.ui.wire_picture import PlacedWire
from formsketch.units import inch_fraction_text, length_text

NUDGE_MM, LONG_NUDGE_MM = 0.1, 1.0
_WAYS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1, Qt.Key.Key_Up: 1j, Qt.Key.Key_Down: -1j}
_TICK_PX, _RING_PX = 7.0, 4.0
# A gap this near to what is measured is what is measured.
_SAME_MM = 0.005


class MeasureTool(Tool):
    """Press at one place and let go at the other, or click one after the other; changes nothing.

    Places snap lightly to marks, beads, edges and the centreline while Alt is up. Arrow keys move the
    second place. `in_inches` says whether inches stand beside the millimetres.
    """

    hint = (
        "Drag from one place to another, or click both; edges, marks and beads hold lightly (Alt: free).   "
        "Esc ends measuring."
    )

    def __init__(
        self, session: Session, wire: Callable[[], PlacedWire], in_inches: Callable[[], bool]
    ) -> None:
        super().__init__()
        self._session, self._wire, self._in_inches = session, wire, in_inches
        self._measurable: Measurable | None = None
        self._pointed: Place | None = None
        self._pressed: QPointF | None = None
        # Whether the second place still follows the pointer.
        self._follows = False
        self.first: Place | None = None
        self.second: Place | None = None
        self._gap: Gap | None = None
        session.changed.connect(self._begin_anew)
        session.turned.connect(self._begin_anew)

    # --- what is measured

    @property
    def distance_mm(self) -> float | None:
        """From the first place to the second, None before there are two."""
        if self.first is None or self.second is None:
            return None
        return abs(self.second.at_mm - self.first.at_mm)

    @property
    def gap(self) -> Gap | None:
        """The clear gap between the two parts whose edges are measured, if there is one."""
        return self._gap

    def _measure(self, second: Place) -> None:
        assert self.first is not None
        self.second = second
        self._gap = self._wire_to_measure().gap(self.first, second)
        self.say()

    def _wire_to_measure(self) -> Measurable:
        wire = self._wire()
        if self._measurable is None or self._measurable.wire is not wire:
            self._measurable = Measurable(wire)
        return self._measurable

    def _begin_anew(self) -> None:
        """The form is another one: what was measured on the last is gone."""
        self.first = self.second = self._gap = self._pointed = self._pressed = None
        self._follows = False
        self.changed.emit()

    def say(self) -> None:
        """Say what is measured, if anything is."""
        distance = self.distance_mm
        if self.first is None or self.second is None or distance is None:
            return
        said = self._text(distance)
        said += f" from {self.first.what}" if self.first.what else ""
        said += f" to {self.second.what}" if self.second.what else ""
        if self._gap is not None:
            said += f"; clear gap between the two parts {self._text(self._gap.width_mm)}"
        self.told.emit(
            f"{said}.   Arrow keys move the end by {NUDGE_MM:g} mm, Shift by {LONG_NUDGE_MM:g} mm."
        )

    def _text(self, length_mm: float) -> str:
        inches = f" ({inch_fraction_text(length_mm)})" if self._in_inches() else ""
        return length_text(length_mm) + inches

    # --- the mouse

    def press(self, at: QPointF, view: View, keys: Keys) -> bool:
        place = self._place(at, view, keys)
        self._pressed = at
        if self._follows:
            self._measure(place)
        else:
            self.first, self.second, self._gap = place, None, None
        self.changed.emit()
        return True

    def move(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._pointed = place = self._place(at, view, keys)
        if self._pressed is not None and not self._follows:
            moved = at - self._pressed
            self._follows = abs(moved.x()) + abs(moved.y()) >= DRAG_THRESHOLD_PX
        if self._follows:
            self._measure(place)
        self.changed.emit()
        return True

    def release(self, at: QPointF, view: View, keys: Keys) -> bool:
        if self._pressed is None:
            return False
        self._pressed = None
        if self.second is None:
            # A click: the second place follows the pointer until the next one.
            self._follows = True
            self.told.emit("Click the second place.")
        else:
            self._measure(self._place(at, view, keys))
            self._follows = False
        self.changed.emit()
        return True

    def _place(self, at: QPointF, view: View, keys: Keys) -> Place:
        table_mm = view.to_mm(at)
        return Place(table_mm) if keys & ALT else self._wire_to_measure().near(table_mm, view.px_per_mm)

    # --- the keyboard

    def key(self, event: QKeyEvent) -> bool:
        way = _WAYS.get(Qt.Key(event.key()))
        if way is None or self._pressed is not None:
            return False
        if self.first is None:
            self.first = self._pointed or self._start()
        end = self.second or self.first
        self._follows = False
        by_mm = LONG_NUDGE_MM if event.modifiers() & SHIFT else NUDGE_MM
        self._measure(Place(end.at_mm + by_mm * way))
        self.changed.emit()
        return True

    def _start(self) -> Place:
        wire = self._wire()
        sample = int(wire.trace.first[wire.evaluation.chain.spans.start])
        return Place(complex(wire.trace.z_mm[sample]), "mark", "mark 1", float(sample))

    def put_down(self) -> None:
        self._session.changed.disconnect(self._begin_anew)
        self._session.turned.disconnect(self._begin_anew)
        self.first = self.second = self._gap = self._pointed = None

    # --- painting

    def paint(self, painter: QPainter, view: View, colours: Palette) -> None:
        painter.save()
        distance, gap = self.distance_mm, self._gap
        if distance is not None and self.first is not None and self.second is not None:
            first, second = view.to_px(self.first.at_mm), view.to_px(self.second.at_mm)
            _paint_dimension(painter, first, second, QColor(colours.accent))
            if gap is None or gap.width_mm > distance - _SAME_MM:
                text = self._text(distance) + ("" if gap is None else ", clear gap")
                _paint_label(painter, (first + second) / 2, _across(first, second), text, colours)
            else:
                # The length beyond its line's end, the gap on the other side: neither covers a line.
                begin, end = view.to_px(gap.from_mm), view.to_px(gap.to_mm)
                _paint_dimension(painter, begin, end, QColor(colours.ink))
                middle, across = (begin + end) / 2, _across(begin, end)
                if QPointF.dotProduct(across, second - middle) > 0:
                    across = -across
                _paint_label(painter, middle, across, f"gap {self._text(gap.width_mm)}", colours)
                _paint_label(painter, second, _unit(second - first), self._text(distance), colours)
        for place in (self.first, self._pointed if self.second is None else self.second):
            if place is not None:
                self._paint_place(painter, view.to_px(place.at_mm), place, colours)
        painter.restore()

    @staticmethod
    def _paint_place(painter: QPainter, at: QPointF, place: Place, colours: Palette) -> None:
        """A ring where a place holds to the wire, a small cross where it is free."""
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        if place.kind == "free":
            painter.drawLine(at - QPointF(_RING_PX, 0), at + QPointF(_RING_PX, 0))
            painter.drawLine(at - QPointF(0, _RING_PX), at + QPointF(0, _RING_PX))
        else:
            painter.setBrush(QColor(colours.handle_fill))
            painter.drawEllipse(at, _RING_PX, _RING_PX)


def _unit(way: QPointF) -> QPointF:
    """The step of one pixel in a direction, upward for none."""
    size = (way.x() ** 2 + way.y() ** 2) ** 0.5
    return way / size if size > 1e-6 else QPointF(0, -1)


def _across(begin: QPointF, end: QPointF) -> QPointF:
    """A step of one pixel square to a line, upward or to the right."""
    way = _unit(end - begin) if begin != end else QPointF(1, 0)
    step = QPointF(way.y(), -way.x())
    return step if step.y() < 0 or (step.y() == 0 and step.x() > 0) else -step


def _paint_dimension(painter: QPainter, begin: QPointF, end: QPointF, colour: QColor) -> None:
    """A line with a short tick across each end."""
    painter.setPen(QPen(colour, 1.4))
    painter.drawLine(begin, end)
    tick = _across(begin, end) * _TICK_PX
    for at in (begin, end):
        painter.drawLine(at - tick, at + tick)


def _paint_label(painter: QPainter, beside: QPointF, way: QPointF, text: str, colours: Palette) -> None:
    """A length off to one side of a place, on paper so that it is read over the wire."""
    size = painter.fontMetrics().size(0, text)
    box = QRectF(0, 0, size.width() + 10, size.height() + 4)
    # As far off as the label needs so that no line runs through it.
    off = _TICK_PX + 1 + abs(way.x()) * box.width() / 2 + abs(way.y()) * box.height() / 2
    box.moveCenter(beside + way * off)
    seen = QRectF(painter.window()).adjusted(RULER_PX + 2, RULER_PX + 2, -2, -2)
    box.moveRight(min(box.right(), seen.right()))
    box.moveBottom(min(box.bottom(), seen.bottom()))
    box.moveTopLeft(QPointF(max(box.left(), seen.left()), max(box.top(), seen.top())))
    paper = QColor(colours.paper)
    paper.setAlphaF(0.9)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(paper)
    painter.drawRoundedRect(box, 3, 3)
    painter.setPen(QColor(colours.ink))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
