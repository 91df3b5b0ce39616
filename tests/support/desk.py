"""A desk to pull on: a form's canvas, its straight wire and its numbers, and what must hold of every pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from formsketch.bench.tubes import Tube, load_tubes
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design
from formsketch.design.transforms import repeat_scales
from formsketch.evaluation.evaluate import evaluate
from formsketch.ui.fields import NumberGroup
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.handles import Handle, handles_of
from formsketch.ui.numbers_panel import NumbersPanel
from formsketch.ui.pose import Pose
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.wire_strip_view import WireStripView
from formsketch.units import angle_text, length_text, weight_text


class Desk(QWidget):
    """Form, straight wire and numbers of one session, as in the window, with what the form's canvas told.

    Pulls snap to `tubes`; none are on the bench unless they are named.
    """

    def __init__(self, design: Design, tubes: tuple[Tube, ...] = ()) -> None:
        super().__init__()
        self.session, self.selection = Session(design), Selection()
        self.canvas = FormCanvas(self.session, self.selection, tubes)
        self.strip = WireStripView(self.session, self.selection)
        self.panel = NumbersPanel(self.session, self.selection, load_tubes())
        # The numbers follow a pull as ever, only sooner: no eye needs to rest on them.
        self.panel._follow.setInterval(0)
        self.told: list[str] = []
        self.canvas.told.connect(self.told.append)
        across, upright = QHBoxLayout(self), QVBoxLayout()
        upright.addWidget(self.canvas, 1)
        upright.addWidget(self.strip)
        across.addLayout(upright, 1)
        across.addWidget(self.panel)
        self.resize(1200, 760)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.panel.settle()
        super().closeEvent(event)

    @property
    def design(self) -> Design:
        return self.session.design

    def marks_mm(self) -> NDArray[np.complex128]:
        """Where the pen marks are drawn on the table."""
        left, right = self.canvas.wire.mark_edges_mm
        return (left + right) / 2

    def px(self, table_mm: complex) -> QPointF:
        return self.canvas.view.to_px(table_mm)

    def mark_px(self, mark: int) -> QPointF:
        return self.px(complex(self.marks_mm()[mark]))

    def middle_mm(self, span: int) -> complex:
        """The middle of a span: its sample at half its length."""
        line = self.line_mm(span)
        return complex(line[len(line) // 2])

    def line_mm(self, span: int) -> NDArray[np.complex128]:
        return self.canvas.wire.centreline_mm(self.session.wire.part(span))

    def way(self, span: int) -> complex:
        """The direction in which a span begins, on the table."""
        trace = self.canvas.wire.trace
        return complex(trace.direction[trace.first[self.session.wire.part(span)]])

    def handles(self) -> list[Handle]:
        """All marks and the handles of the selected span, as they are shown."""
        clear_mm = 14.0 / self.canvas.view.px_per_mm
        return handles_of(self.session, self.canvas.wire, self.selection.span, clear_mm)

    def handle(self, kind: str, side: int = 0) -> Handle:
        """A handle of the selected span."""
        return next(h for h in self.handles() if h.kind == kind and h.side == side)

    def rows(self) -> dict[str, str]:
        """All the panel shows, by label; the piece's where the span has one of the same name."""
        while self.panel.is_behind:
            QApplication.processEvents()
        found: dict[str, str] = {}
        for group in self.panel.findChildren(NumberGroup):
            grid = group.layout()
            for row in range(grid.rowCount()):
                name, value = (
                    None if item is None else item.widget()
                    for item in (grid.itemAtPosition(row, 0), grid.itemAtPosition(row, 1))
                )
                if isinstance(name, QLabel) and hasattr(value, "text"):
                    found.setdefault(name.text(), value.text())
        return found

    def shown(self, label: str) -> str:
        """The value the panel shows beside a label."""
        return self.rows()[label]


@dataclass(frozen=True)
class State:
    """All that Esc and undo must give back."""

    design: Design
    data: bytes
    pose: Pose
    marks_mm: list[complex]
    undo_name: str
    redo_name: str
    step_count: int


def state_of(desk: Desk) -> State:
    session = desk.session
    return State(
        desk.design, design_bytes(desk.design), session.pose, desk.marks_mm().tolist(),
        session.undo_name, session.redo_name, session.step_count,
    )  # fmt: skip


def assert_back(desk: Desk, before: State) -> None:
    assert desk.design is before.design
    assert state_of(desk) == before


def assert_one_step(desk: Desk, before: State, name: str) -> None:
    """Exactly one step of this name; undo gives back what stood before, redo what stands now."""
    session = desk.session
    after = state_of(desk)
    assert (session.undo_name, session.redo_name) == (name, "")
    assert session.step_count == before.step_count + 1
    assert after.data != before.data
    session.undo()
    assert desk.design is before.design
    assert (design_bytes(desk.design), session.pose, session.redo_name) == (before.data, before.pose, name)
    assert desk.marks_mm().tolist() == before.marks_mm
    assert session.step_count == before.step_count
    assert_numbers_follow(desk)
    session.redo()
    assert_back(desk, after)
    assert_numbers_follow(desk)


def assert_numbers_follow(desk: Desk) -> None:
    """The panel shows the numbers of the design as it is now."""
    design = desk.design
    spans = [
        (span.length_mm * scale, span.turn_deg)
        for run in design.form.runs
        for scale in repeat_scales(run.times, run.ends_scale)
        for span in run.spans
    ]
    anew, shown = evaluate(design), desk.rows()
    assert shown["Finished length"] == length_text(sum(length for length, _ in spans))
    assert shown["Cut length"] == length_text(anew.cut_length_mm)
    assert shown["Weight"] == weight_text(anew.weight_g)
    assert shown["Widest flare"] == length_text(anew.widest_mm)
    assert shown["Thinnest"] == length_text(anew.thinnest_mm)
    wide, high = anew.envelope_mm
    assert shown["Height × length"] == f"{high:.1f} × {wide:.1f} mm"
    span = desk.selection.span
    if span is not None:
        length, turn = spans[span]
        assert shown["Length, finished"] == length_text(length)
        assert shown["Turn"] in (angle_text(turn), angle_text(-turn))


def away_px(desk: Desk, place_mm: complex, at: QPointF) -> float:
    offset = desk.px(place_mm) - at
    return float(np.hypot(offset.x(), offset.y()))
