"""Drawing with mouse or tablet: a stroke becomes the fewest spans within a tolerance that is seen and set."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace
from PySide6.QtCore import QPointF, QSettings, Qt
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPen, QPolygonF, QWheelEvent

from formsketch.bench.tubes import Tube
from formsketch.errors import FormSketchError
from formsketch.fitting.drawing_wire import carried_on, form_from_stroke
from formsketch.fitting.freehand import StrokeFit, fit_stroke
from formsketch.forging.springback import free_radius_mm
from formsketch.ui.gestures import Keys
from formsketch.ui.pose import Pose
from formsketch.ui.session import Session
from formsketch.ui.theme import Palette
from formsketch.ui.tools import Tool
from formsketch.ui.view import View
from formsketch.units import length_text

TOLERANCES_MM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)
_USUAL_MM = 0.4
_SETTING = "freehand/tolerance_mm"
# A stroke begun this near the finish mark carries the wire on.
_NEAR_PX = 14.0


class FreehandTool(Tool):
    """Draw a stroke; it becomes wire when the pen is lifted. The wheel with Control sets the tolerance."""

    hint = (
        "Draw with pen or mouse: from the finish mark to carry the wire on, elsewhere for a new form. "
        "Ctrl and wheel: tolerance. Esc ends it."
    )

    def __init__(self, session: Session, settings: QSettings, tubes: Sequence[Tube]) -> None:
        super().__init__()
        self._session, self._settings = session, settings
        self._tubes_mm = [tube.diameter_mm for tube in tubes]
        stored = settings.value(_SETTING, _USUAL_MM, type=float)
        self.tolerance_mm = min(TOLERANCES_MM, key=lambda t: abs(t - float(str(stored))))
        self._stroke: list[complex] | None = None
        self._pointer = QPointF()
        # The last stroke drawn, to be fitted anew at another tolerance, and whether it carried the wire on.
        self._drawn: tuple[list[complex], bool] | None = None
        session.turned.connect(self._let_go)

    # --- the pen

    def press(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._stroke = [view.to_mm(at)]
        self._drawn = None
        return True

    def move(self, at: QPointF, view: View, keys: Keys) -> bool:
        self._pointer = at
        if self._stroke is not None:
            self._stroke.append(view.to_mm(at))
        self.changed.emit()
        return True

    def release(self, at: QPointF, view: View, keys: Keys) -> bool:
        if self._stroke is None:
            return True
        stroke, self._stroke = [*self._stroke, view.to_mm(at)], None
        session = self._session
        wire = session.wire
        finish = session.pose.to_table(wire.mark_mm(wire.span_count))
        carries_on = abs(stroke[0] - finish) * view.px_per_mm <= _NEAR_PX
        if carries_on:
            stroke[0] = finish
        self._make(stroke, carries_on)
        self.changed.emit()
        return True

    def _make(self, stroke: list[complex], carries_on: bool) -> None:
        try:
            fit = self._fitted(stroke)
            self._lay(fit, carries_on)
        except FormSketchError as fault:
            self.told.emit(str(fault))
            return
        self._drawn = (stroke, carries_on)
        spans = "one span" if len(fit.spans) == 1 else f"{len(fit.spans)} spans"
        self.told.emit(
            f"The stroke became {spans}, nowhere further off than {length_text(fit.deviation_mm)} "
            f"(tolerance {length_text(self.tolerance_mm)}).   Ctrl and wheel: another tolerance."
        )

    def _fitted(self, stroke: list[complex]) -> StrokeFit:
        return fit_stroke(np.array(stroke), self.tolerance_mm, self._tubes_as_they_leave(), self._wire_mm)

    @property
    def _wire_mm(self) -> float:
        return self._session.design.wire.diameter_mm

    def _tubes_as_they_leave(self) -> list[float]:
        """The tubes on the bench by the inside diameter they leave after spring-back."""
        metal = self._session.evaluation.metal
        if metal.soft_yield_mid_mpa is None:
            return self._tubes_mm
        radii = free_radius_mm(
            np.array(self._tubes_mm) / 2, self._wire_mm, metal.soft_yield_mid_mpa, 1000.0 * metal.e_mid_gpa
        )
        return [float(2 * r - self._wire_mm) for r in radii if np.isfinite(r)]

    def _lay(self, fit: StrokeFit, carries_on: bool) -> None:
        session = self._session
        if carries_on:
            own = replace(fit, heading_rad=fit.heading_rad - session.pose.angle_rad)
            session.change("Draw on", carried_on(session.wire, own), 0)
        else:
            design = form_from_stroke(session.design, fit)
            session.place("Draw a form", design, Pose(fit.start_mm, fit.heading_rad))

    # --- the tolerance

    def wheel(self, event: QWheelEvent) -> bool:
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            return False
        self.step_tolerance(1 if event.angleDelta().y() > 0 else -1)
        return True

    def key(self, event: QKeyEvent) -> bool:
        if event.key() == Qt.Key.Key_Escape and self._stroke is not None:
            self._stroke = None
            self.told.emit("The stroke is dropped.")
            self.changed.emit()
            return True
        if event.key() in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
            self.step_tolerance(1 if event.key() == Qt.Key.Key_BracketRight else -1)
            return True
        return False

    def step_tolerance(self, step: int) -> None:
        """Allow more or less, and fit the last stroke anew while nothing was done since."""
        at = TOLERANCES_MM.index(self.tolerance_mm) + step
        if not 0 <= at < len(TOLERANCES_MM):
            return
        self.tolerance_mm = TOLERANCES_MM[at]
        self._settings.setValue(_SETTING, self.tolerance_mm)
        self.told.emit(f"Tolerance {length_text(self.tolerance_mm)}.")
        if self._drawn is not None and self._session.undo_name in ("Draw on", "Draw a form"):
            stroke, carries_on = self._drawn
            self._session.undo()
            self._make(stroke, carries_on)
        self.changed.emit()

    def put_down(self) -> None:
        self._stroke = None
        self._session.turned.disconnect(self._let_go)

    def _let_go(self) -> None:
        """The form is seen turned: the stroke no longer lies where it was drawn."""
        self._stroke = self._drawn = None
        self.changed.emit()

    # --- what is seen

    def paint(self, painter: QPainter, view: View, colours: Palette) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(colours.accent), 1.0))
        around = self.tolerance_mm * view.px_per_mm
        painter.drawEllipse(self._pointer, around, around)
        if self._stroke:
            painter.setPen(QPen(QColor(colours.accent), 1.6))
            painter.drawPolyline(QPolygonF([view.to_px(z) for z in self._stroke]))
        elif self._drawn is not None:
            pen = QPen(QColor(colours.accent), 1.0)
            pen.setDashPattern([2, 4])
            painter.setPen(pen)
            painter.drawPolyline(QPolygonF([view.to_px(z) for z in self._drawn[0]]))
