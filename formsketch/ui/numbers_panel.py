"""The numbers beside the form: the wire, the piece, the selected span, and the cautions, always live."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_angle_deg, parse_length_mm
from formsketch.bench.metals import temper_at
from formsketch.bench.tubes import Tube, nearest_tubes
from formsketch.design.edits import change_run, change_span, span_at
from formsketch.design.model import Design
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.fitting.pulling import hammer_to, pull_flare
from formsketch.ui.background import LatestOnly
from formsketch.ui.fields import CalmSpinBox, NumberGroup, QuantityField, ValueRow
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.wire_choice import WireChoice
from formsketch.units import (
    angle_text,
    band_text,
    length_text,
    pennyweight_from_g,
    percent_text,
    ratio_text,
    weight_text,
)

PANEL_WIDTH_PX = 318
_REST_MS = 120


class NumbersPanel(QScrollArea):
    """All numbers of the session's design; `told` carries sentences for the status line."""

    told = Signal(str)

    def __init__(self, session: Session, selection: Selection, tubes: tuple[Tube, ...]) -> None:
        super().__init__()
        self._session, self._selection, self._tubes = session, selection, tubes
        self.setFixedWidth(PANEL_WIDTH_PX)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("Numbers")
        inside = QWidget()
        inside.setObjectName("panel")
        column = QVBoxLayout(inside)
        column.setContentsMargins(16, 10, 12, 12)
        column.setSpacing(12)
        self.wire = WireChoice(session)
        self.wire.refused.connect(self.told)
        column.addWidget(self.wire)
        self._piece = _PieceNumbers()
        column.addWidget(self._piece)
        self._span = _SpanNumbers(session, selection, self.told.emit, tubes)
        column.addWidget(self._span)
        self._cautions = _Cautions()
        column.addWidget(self._cautions)
        column.addStretch(1)
        self.setWidget(inside)
        # What is slow waits for a moment's rest: beside a pull under way it would make the pull stutter.
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._ask_slow)
        self._slow = LatestOnly(self)
        self._slow.done.connect(self._piece.show_slow)
        session.changed.connect(self.refresh)
        selection.changed.connect(self._span.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the numbers of the design as it now is."""
        evaluation = self._session.evaluation
        self._piece.show_quick(evaluation)
        self._span.refresh()
        self._cautions.show_cautions(evaluation)
        self._slow.forget()
        self._rest.start()

    def _ask_slow(self) -> None:
        evaluation = self._session.evaluation
        self._slow.ask(lambda: _slow_numbers(evaluation))

    def settle(self) -> None:
        """Wait for work in the background, before the window goes away."""
        self._rest.stop()
        self._slow.wait()


def _band(band: Band) -> str:
    return band_text(band.low, band.high, band.value)


def _slow_numbers(evaluation: Evaluation) -> tuple[float, float, float | None, int]:
    """What needs the outline united: kept off the window's thread."""
    return (
        evaluation.proportion.silhouette_to_hull,
        evaluation.silhouette_area_mm2,
        evaluation.smallest_gap_mm,
        len(evaluation.crossings),
    )


class _PieceNumbers(NumberGroup):
    def __init__(self) -> None:
        super().__init__("Piece")
        self._cut = self.add_value(
            "Cut length",
            "Straight wire to cut, both ends included. The band is the range of plausible spread.",
        )
        self._finished = self.add_value("Finished length", "Along the middle of the wire, ends not counted.")
        self._weight = self.add_value("Weight", "Of all the wire cut, before filing and polish.")
        self._size = self.add_value(
            "Height × length", "The outline, laid level along its far ends or its long axis."
        )
        self._widest = self.add_value("Widest flare", "Rests on the spread of the hammer; see the band.")
        self._thinnest = self.add_value("Thinnest")
        self._loop = self.add_value("Loop / wire", "Inside diameter of the middling loop, in wire diameters.")
        self._height = self.add_value("Wire / height", "Wire diameter as a share of the height of the form.")
        self._flare = self.add_value("Flare / wire", "Greatest hammered width, in wire diameters.")
        self._hull = self.add_value("Metal / hull", "Metal in plan over its convex hull.")
        self._gap = self.add_value("Smallest gap", "Between parts that do not touch, edge to edge in plan.")

    def show_quick(self, e: Evaluation) -> None:
        wide, high = e.envelope_mm
        self._cut.show(length_text(e.cut_length_mm), _band(e.cut_length_band))
        self._finished.show(length_text(e.finished_length_mm))
        self._weight.show(weight_text(e.weight_g), f"{pennyweight_from_g(e.weight_g):.2f} dwt")
        self._size.show(f"{high:.1f} × {wide:.1f} mm")
        self._widest.show(length_text(e.widest_mm), _band(e.widest_band))
        self._thinnest.show(length_text(e.thinnest_mm))
        loop = e.proportion.loop_to_wire
        inside = e.proportion.loop_inside_mm
        self._loop.show(
            "none" if loop is None else ratio_text(loop), "" if not inside else length_text(inside)
        )
        self._height.show(percent_text(100 * e.proportion.wire_to_height))
        self._flare.show(ratio_text(e.proportion.flare_to_wire))

    def show_slow(self, result: object) -> None:
        if not isinstance(result, tuple):
            for row in (self._hull, self._gap):
                row.show("unknown")
            return
        share, area, gap, crossed = result
        self._hull.show(percent_text(100 * share), f"{area:.0f} mm²")
        self._gap.show(
            "none near" if gap is None else length_text(gap), f"{crossed} crossings" if crossed else ""
        )


class _SpanNumbers(NumberGroup):
    """The selected span, in fields that can be typed in."""

    def __init__(
        self, session: Session, selection: Selection, tell: Callable[[str], None], tubes: tuple[Tube, ...]
    ) -> None:
        super().__init__("Span")
        self._session, self._selection, self._tubes = session, selection, tubes
        self._rows: list[ValueRow] = []
        self._fields: list[QuantityField] = []

        def field(
            label: str, read: Callable[[str], float], use: Callable[[float], None], tip: str
        ) -> ValueRow:
            made = QuantityField(read, use)
            self._fields.append(made)
            made.refused.connect(self._explain)
            made.refused.connect(tell)
            row = self.add_field(label, made, tip)
            self._rows.append(row)
            return row

        self._length = field("Length, finished", parse_length_mm, self._use_length, "mm, in, simple sums")
        self._turn = field(
            "Turn", parse_angle_deg, self._use_turn, "Degrees; left of the wire's way is positive."
        )
        self._skew = field(
            "Skew",
            parse_angle_deg,
            self._use_skew,
            "How unevenly it turns: 0 is an arc, more tightens towards its end.",
        )
        self._thin = field(
            "Thinnest", parse_length_mm, self._use_thickness, "Hammered to; the wire's own for none."
        )
        self._wide = field(
            "Width there", parse_length_mm, self._use_width, "Hammer until it is this wide in plan."
        )
        self._tube = self.add_value("Tube", "Leaves the bend after spring-back, bent before hammering.")
        self._work = self.add_value(
            "Cold work", "At the thinnest place, as an equivalent reduction of strip."
        )
        self._rows += [self._tube, self._work]
        self._times = CalmSpinBox()
        self._times.setRange(1, 1000)
        self._times.setKeyboardTracking(False)
        self._times.setFixedWidth(96)
        self._times.valueChanged.connect(self._use_times)
        self._rows.append(
            self.add_field("Repeats of its run", self._times, "How often the motif is repeated.")
        )
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        self.add_wide(self._fault)
        self._none = QLabel("Click a span on the form or on the wire to see and change it.")
        self._none.setObjectName("soft")
        self._none.setWordWrap(True)
        self.add_wide(self._none)

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    def refresh(self) -> None:
        span = self._selection.span
        e = self._session.evaluation
        chosen = span is not None and span < len(e.spans.turn_deg)
        for row in self._rows:
            row.set_visible(chosen)
        self._none.setVisible(not chosen)
        self._explain("")
        if not chosen or span is None:
            self.heading.setText("Span")
            return
        self.heading.setText(f"Span {span + 1} of {len(e.spans.turn_deg)}")
        numbers, wire = e.spans, self._session.wire
        written = span_at(e.design, wire.address(span))
        self._length.show(length_text(float(numbers.finished_length_mm[span])))
        self._turn.show(angle_text(float(numbers.turn_deg[span])))
        self._skew.show(angle_text(written.skew_deg * float(wire.chain.side[wire.part(span)])))
        thin = float(numbers.thinnest_mm[span])
        self._thin.show(length_text(thin), f"{thin / e.diameter_mm:.2f} of wire")
        on_edge = written.flare is not None and written.flare.face == "edge"
        in_plan = thin if on_edge else float(numbers.widest_mm[span])
        self._wide.show(length_text(in_plan), "on edge" if on_edge else "")
        tube = float(numbers.tube_diameter_mm[span])
        if math.isfinite(tube):
            self._tube.show(length_text(tube), nearest_tubes(tube, self._tubes, 1)[0].label)
        else:
            straight = not math.isfinite(float(numbers.as_bent_radius_mm[span]))
            self._tube.show("straight" if straight else "none so tight")
        work = 100 * float(numbers.strip_reduction[span])
        self._work.show(percent_text(work), temper_at(e.metal, work).name if work > 0 else "as supplied")
        run = e.design.form.runs[wire.address(span).run]
        self._times.blockSignals(True)
        self._times.setValue(run.times)
        self._times.blockSignals(False)

    # --- using what was typed

    def _change(self, name: str, design: Design) -> None:
        span = self._selection.span
        self._session.change(f"{name} of span {(span or 0) + 1}", design, span)

    def _written(self) -> tuple[int, Design]:
        if self._selection.span is None:
            raise EditRefused("Select a span first.")
        return self._selection.span, self._session.design

    def _use_length(self, length_mm: float) -> None:
        span, design = self._written()
        wire = self._session.wire
        scale = float(wire.chain.repeat_scale[wire.part(span)])
        self._change("Length", change_span(design, wire.address(span), length_mm=length_mm / scale))

    def _use_turn(self, turn_deg: float) -> None:
        span, design = self._written()
        wire = self._session.wire
        side = float(wire.chain.side[wire.part(span)])
        self._change("Turn", change_span(design, wire.address(span), turn_deg=turn_deg * side))

    def _use_skew(self, skew_deg: float) -> None:
        span, design = self._written()
        wire = self._session.wire
        side = float(wire.chain.side[wire.part(span)])
        self._change("Skew", change_span(design, wire.address(span), skew_deg=skew_deg * side))

    def _use_thickness(self, thickness_mm: float) -> None:
        span, _ = self._written()
        self._change("Thickness", hammer_to(self._session.wire, span, thickness_mm).design)

    def _use_width(self, width_mm: float) -> None:
        span, _ = self._written()
        self._change("Width", pull_flare(self._session.wire, span, width_mm).design)

    def _use_times(self, times: int) -> None:
        span, design = self._written()
        run = self._session.wire.address(span).run
        try:
            self._session.change("Number of repeats", change_run(design, run, times=times))
        except FormSketchError as fault:
            self.refresh()
            self._explain(str(fault))


class _Cautions(QWidget):
    """Weighty cautions in boxes, the rest in small type."""

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(6)
        self._labels: list[QLabel] = []

    def show_cautions(self, evaluation: Evaluation) -> None:
        cautions = evaluation.cautions
        while len(self._labels) < len(cautions):
            label = QLabel()
            label.setWordWrap(True)
            self._labels.append(label)
            self._column.addWidget(label)
        for label, caution in zip(self._labels, cautions, strict=False):
            kind = "note" if caution.weight == "note" else "caution"
            if label.objectName() != kind:
                label.setObjectName(kind)
                label.style().unpolish(label)
                label.style().polish(label)
            label.setText(caution.message)
            label.show()
        for label in self._labels[len(cautions) :]:
            label.hide()
