"""Drawing on the canvas with real mouse and tablet events."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPointF, QSettings, Qt
from PySide6.QtGui import QInputDevice, QPointingDevice, QTabletEvent
from PySide6.QtWidgets import QApplication

from formsketch.bench.tubes import starter_tubes
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.freehand_tool import FreehandTool
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.view import View
from tests.support import events

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")

PX_PER_MM = 8.0


def line_design() -> Design:
    wire = Wire(metal="brass-c26000", diameter_mm=1.0)
    return Design(title="", wire=wire, form=Form(runs=(Run(spans=(Span(length_mm=30.0),)),)))


class Desk:
    """A canvas with the pen in hand, at a known scale."""

    def __init__(self, show: Callable[..., object], tubes: bool = False) -> None:
        self.session = Session(line_design())
        self.canvas = FormCanvas(self.session, Selection())
        self.canvas.resize(900, 600)
        self.told: list[str] = []
        self.canvas.told.connect(self.told.append)
        show(self.canvas)
        self.canvas.show_view(View(PX_PER_MM, 120.0, 320.0))
        self.tool = FreehandTool(self.session, QSettings(), starter_tubes() if tubes else ())
        self.canvas.take_tool(self.tool)

    def draw(self, places_mm: np.ndarray) -> None:
        """One stroke of the mouse through these places of the table, x + iy."""
        points = [self.canvas.view.to_px(complex(z)) for z in places_mm]
        events.press(self.canvas, points[0])
        for point in points[1:]:
            events.move(self.canvas, point, Qt.MouseButton.LeftButton)
        events.release(self.canvas, points[-1])
        QApplication.processEvents()

    @property
    def spans(self) -> tuple[Span, ...]:
        return tuple(span for run in self.session.design.form.runs for span in run.spans)


@pytest.fixture
def desk(show: Callable[..., object]) -> Iterator[Desk]:
    yield Desk(show)


def circle(radius_mm: float, turn_rad: float, middle: complex = 30 + 0j, count: int = 200) -> np.ndarray:
    return middle + radius_mm * np.exp(1j * np.linspace(0.0, turn_rad, count))


def test_a_circle_becomes_one_span(desk: Desk) -> None:
    before = design_bytes(desk.session.design)
    desk.draw(circle(15.0, 2 * np.pi))
    (span,) = desk.spans
    # Closed form: a whole turn of circumference 2 pi r.
    assert span.turn_deg == pytest.approx(360.0, abs=0.5)
    assert span.length_mm == pytest.approx(2 * np.pi * 15.0, rel=0.005)
    assert desk.session.undo_name == "Draw a form"
    desk.session.undo()
    assert design_bytes(desk.session.design) == before


def test_the_form_lies_where_it_was_drawn(desk: Desk) -> None:
    stroke = circle(15.0, np.pi)
    desk.draw(stroke)
    assert len(desk.spans) == 1
    away = np.abs(desk.canvas.wire.trace.z_mm[:, None] - stroke[None, :]).min(axis=1)
    assert away.max() < desk.tool.tolerance_mm


def test_an_s_becomes_two_spans(desk: Desk) -> None:
    first = 20 + 10 * np.exp(1j * np.linspace(np.pi, 0.0, 120))
    second = 40 + 10 * np.exp(1j * np.linspace(np.pi, 2 * np.pi, 120))
    desk.draw(np.concatenate((first, second[1:])))
    assert [round(span.turn_deg / 10) for span in desk.spans] == [-18, 18]


def test_a_stroke_from_the_finish_mark_carries_the_wire_on(desk: Desk) -> None:
    desk.draw(30 + 10j + 10 * np.exp(1j * np.linspace(-np.pi / 2, np.pi / 2, 150)))
    line, arc = desk.spans
    assert line.length_mm == 30.0
    assert arc.turn_deg == pytest.approx(180.0, abs=4.0)
    assert arc.corner_deg == 0.0  # it sets out the way the wire ends
    assert desk.session.undo_name == "Draw on"


def test_a_stroke_that_sets_out_another_way_begins_at_a_bend(desk: Desk) -> None:
    desk.draw(30 + 1j * np.linspace(0.0, 25.0, 100))
    _, up = desk.spans
    assert up.turn_deg == 0.0
    assert up.corner_deg == pytest.approx(90.0, abs=1.0)


def test_a_stroke_is_dropped_by_escape(desk: Desk) -> None:
    before = desk.session.design
    events.press(desk.canvas, QPointF(300, 200))
    events.move(desk.canvas, QPointF(400, 260), Qt.MouseButton.LeftButton)
    events.key(desk.canvas, Qt.Key.Key_Escape)
    events.release(desk.canvas, QPointF(400, 260))
    assert desk.session.design is before and not desk.session.undo_name
    assert desk.canvas.tool is desk.tool
    events.key(desk.canvas, Qt.Key.Key_Escape)
    assert desk.canvas.tool is None


def test_another_tolerance_fits_the_last_stroke_anew(desk: Desk) -> None:
    x = np.linspace(0.0, 60.0, 300)
    desk.tool.tolerance_mm = 0.1
    desk.draw(x + 8j * np.sin(x / 7))
    fine = len(desk.spans)
    for _ in range(6):
        events.wheel(desk.canvas, QPointF(400, 300), 1.0, Qt.KeyboardModifier.ControlModifier)
    assert desk.tool.tolerance_mm > 0.5
    assert len(desk.spans) < fine
    assert desk.session.step_count == 1


def test_a_stroke_of_no_length_changes_nothing_and_says_so(desk: Desk) -> None:
    before = desk.session.design
    events.click(desk.canvas, QPointF(500, 200))
    assert desk.session.design is before
    assert desk.told[-1].startswith(("A stroke", "The stroke"))


def test_tubes_on_the_bench_are_preferred(show: Callable[..., object]) -> None:
    desk = Desk(show, tubes=True)
    desk.draw(circle(10.1, np.pi))
    tube = float(desk.session.evaluation.spans.tube_diameter_mm[0])
    assert min(abs(tube - own.diameter_mm) for own in starter_tubes()) < 0.01


def test_a_tablet_draws(desk: Desk) -> None:
    pen = QPointingDevice(
        "pen", 7, QInputDevice.DeviceType.Stylus, QPointingDevice.PointerType.Pen,
        QInputDevice.Capability.Position, 1, 1,
    )  # fmt: skip
    kinds = [QEvent.Type.TabletPress, *[QEvent.Type.TabletMove] * 120, QEvent.Type.TabletRelease]
    stroke = circle(12.0, np.pi, count=len(kinds))
    for kind, place in zip(kinds, stroke, strict=True):
        at = desk.canvas.view.to_px(complex(place))
        up = kind == QEvent.Type.TabletRelease
        button = Qt.MouseButton.NoButton if kind == QEvent.Type.TabletMove else Qt.MouseButton.LeftButton
        event = QTabletEvent(
            kind, pen, at, desk.canvas.mapToGlobal(at), 0.0 if up else 0.6, 0.0, 0.0, 0.0, 0.0, 0.0,
            Qt.KeyboardModifier.NoModifier, button,
            Qt.MouseButton.NoButton if up else Qt.MouseButton.LeftButton,
        )  # fmt: skip
        QApplication.sendEvent(desk.canvas, event)
    (span,) = desk.spans
    assert span.length_mm == pytest.approx(np.pi * 12.0, rel=0.01)
