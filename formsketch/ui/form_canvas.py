"""The form on the table, lit, at any scale; pulled by its marks, bellies and flares."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QTabletEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from formsketch.bench.tubes import Tube
from formsketch.errors import FormSketchError
from formsketch.ui.form_mouse import FormMouse
from formsketch.ui.form_painting import FormPainting
from formsketch.ui.handles import Handle, handles_of
from formsketch.ui.over_under import swap_over_under
from formsketch.ui.rulers import INCHES, MILLIMETRES, RULER_PX
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.spoken import Spoken, selection_in_words
from formsketch.ui.table_turns import turn_back, turn_by
from formsketch.ui.tools import Tool
from formsketch.ui.trace_picture import TracePicture
from formsketch.ui.view import MOST_FITTED_PX_PER_MM, View, centred, fitted
from formsketch.ui.wire_picture import PlacedWire, placed_wire

# How far handles stand clear of the wire; how near to it is on it.
_CLEAR_PX, _ON_WIRE_PX = 14.0, 4.0


class FormCanvas(QWidget):
    """Shows the session's form and lets it be pulled. `told` carries sentences for the status line."""

    told = Signal(str)
    view_changed = Signal()

    def __init__(self, session: Session, selection: Selection, tubes: Sequence[Tube] = ()) -> None:
        super().__init__()
        self.session, self.selection, self.tubes = session, selection, tubes
        self._view = View(6.0, 0.0, 0.0)
        self._wants_fit = True
        self._seen_size = QSize()
        self._true_px_per_mm: float | None = None
        self._true_is_matched = False
        self._wire: PlacedWire | None = None
        self.picture = TracePicture(session)
        self.picture.told.connect(self.told)
        self.picture.arrived.connect(self.update)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(320, 200)
        self.spoken = Spoken(self)
        self.scale = MILLIMETRES
        self.place_shown: float | None = None
        self.other_place_shown: float | None = None
        self.mouse, self._painting = FormMouse(self), FormPainting(self)
        session.changed.connect(self._design_changed)
        session.turned.connect(self._design_changed)
        selection.changed.connect(self.update)
        selection.changed.connect(self._speak)
        selection.pointed.connect(self.update)

    # --- the view

    @property
    def view(self) -> View:
        return self._view

    def show_view(self, view: View) -> None:
        """Look at the table through another view."""
        self._view, self._wants_fit = view, False
        self.view_changed.emit()
        self.update()

    def fit(self) -> None:
        """Show the whole form with room around it."""
        self._view = fitted(self.wire.bounds_mm, self._table_area())
        self._wants_fit = False
        self.view_changed.emit()
        self.update()

    def fit_when_shown(self) -> None:
        """Fit at the next chance: now, or when the canvas gets its size."""
        self._wants_fit = True
        self.update()

    def set_true_scale(self, px_per_mm: float, matched: bool) -> None:
        """How many logical pixels a true millimetre takes on this screen, and whether it was measured."""
        self._true_px_per_mm, self._true_is_matched = px_per_mm, matched
        self.update()

    def show_true_size(self) -> None:
        """Show the form as large as it will be."""
        if self._true_px_per_mm is not None:
            self.show_view(centred(self.wire.bounds_mm, self._table_area(), self._true_px_per_mm))

    @property
    def in_inches(self) -> bool:
        """Whether rulers, grid and lengths measured on the form are in inches."""
        return self.scale is INCHES

    def show_inches(self, inches: bool) -> None:
        """Rulers, grid and scale note in inches, or in millimetres."""
        self.scale = INCHES if inches else MILLIMETRES
        self.update()

    @property
    def pointer_mm(self) -> complex | None:
        """Where on the table the pointer was last seen; None before it was."""
        pointer = self.mouse.pointer
        return None if pointer is None else self._view.to_mm(pointer)

    @property
    def true_scale(self) -> tuple[float | None, bool]:
        """Logical pixels of a true millimetre on this screen, None before it is known; whether measured."""
        return self._true_px_per_mm, self._true_is_matched

    @property
    def middle(self) -> QPointF:
        """The middle of what is seen of the table, in pixels."""
        return self._table_area().center()

    def zoom(self, factor: float) -> None:
        self.show_view(self._view.zoomed(factor, self.middle))

    def zoom_to_selected(self) -> None:
        """Show the selected spans as large as they fit."""
        parts = [self.session.wire.part(span) for span in self.selection.spans]
        if parts:
            self.show_view(fitted(self.wire.bounds_of_mm(parts), self._table_area(), MOST_FITTED_PX_PER_MM))

    def turn(self, angle_deg: float) -> None:
        """Show the form turned by an angle about the middle, left positive; the design stays."""
        self.told.emit(turn_by(self.session, angle_deg, self._view.to_mm(self.middle)))

    def turn_back(self) -> None:
        """Show the form as it was laid."""
        self.told.emit(turn_back(self.session, self._view.to_mm(self.middle)))

    def _table_area(self) -> QRectF:
        return QRectF(self.rect()).adjusted(RULER_PX, RULER_PX, 0, 0)

    def show_place(self, sample: float | None, other: float | None = None) -> None:
        """Ring a place on the wire that a page speaks of, or two, samples with fractions; None for none."""
        if (sample, other) != (self.place_shown, self.other_place_shown):
            self.place_shown, self.other_place_shown = sample, other
            self.update()

    @property
    def wire(self) -> PlacedWire:
        """The wire as it lies on the table now."""
        if self._wire is None:
            self._wire = placed_wire(self.session.evaluation, self.session.pose)
        return self._wire

    def _design_changed(self) -> None:
        self._wire = None
        if self.mouse.gesture is None:
            self.mouse.forget_pressed()
            self._speak()
        self.update()

    def _speak(self) -> None:
        """Say which span has the focus, with its numbers, and how many are selected."""
        self.spoken.say(selection_in_words(self.session.evaluation, self.selection))

    # --- what lies where

    def handles(self) -> list[Handle]:
        """The places the form can be pulled by, as it is seen now."""
        return handles_of(self.session, self.wire, self.selection.span, _CLEAR_PX / self._view.px_per_mm)

    def sample_under(self, at: QPointF) -> float | None:
        """The place along the wire under a pixel, if the wire is there."""
        return self.wire.sample_near(self._view.to_mm(at), _ON_WIRE_PX / self._view.px_per_mm)

    def span_of(self, sample: float) -> int | None:
        """The span a place along the wire belongs to; None on an end."""
        spans = self.session.evaluation.chain.spans
        part = int(self.session.evaluation.own_trace.part[int(sample)])
        return part - spans.start if spans.start <= part < spans.stop else None

    def swap_over_under(self, table_mm: complex) -> None:
        """Swap over and under at the crossing nearest to a place; what cannot be is said."""
        try:
            self.told.emit(swap_over_under(self.session, table_mm))
        except FormSketchError as fault:
            self.told.emit(str(fault))

    # --- tools and pulls

    @property
    def tool(self) -> Tool | None:
        """The tool in hand, if any."""
        return self.mouse.tool

    def take_tool(self, tool: Tool | None) -> None:
        """Take a tool in hand, or none: the last one is put down."""
        self.mouse.take_tool(tool)

    @property
    def is_pulling(self) -> bool:
        """Whether a gesture is under way; menus wait for its end."""
        return self.mouse.is_pulling

    # --- events

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._wants_fit:
            self.fit()
        painter = QPainter(self)
        self._painting.paint(painter)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.mouse.press(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self.mouse.move(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.mouse.release(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.mouse.double_click(event)

    def tabletEvent(self, event: QTabletEvent) -> None:
        self.mouse.tablet(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.mouse.wheel(event)

    def leaveEvent(self, event: QEvent) -> None:
        self.mouse.leave()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self.mouse.key(event):
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        # What lay in the middle stays in the middle. The old size an event carries is not to be trusted
        # after the canvas was hidden.
        if self._seen_size.isValid() and not self._wants_fit:
            by = event.size() - self._seen_size
            self._view = self._view.moved(QPointF(by.width() / 2, by.height() / 2))
        self._seen_size = event.size()
        super().resizeEvent(event)
