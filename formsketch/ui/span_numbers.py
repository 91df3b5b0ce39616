"""The numbers of the selected spans, in fields to type in: one span's, or what several have in common."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from formsketch.bench.lengths import parse_angle_deg, parse_length_mm
from formsketch.bench.metals import temper_at
from formsketch.bench.tubes import Tube, nearest_tubes
from formsketch.design.edits import change_run
from formsketch.design.model import Design
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.bands import band_rests_on, widths_band_mm
from formsketch.evaluation.radii import RadiusKind, lengths_for_radius_mm, radii_mm
from formsketch.fitting.many_spans import (
    with_length,
    with_lengths,
    with_plan_width,
    with_skew,
    with_thickness,
    with_turn,
)
from formsketch.fitting.pulling import WireInHand
from formsketch.ui.fields import CalmComboBox, CalmSpinBox, NumberGroup, QuantityField, ValueRow
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import angle_text, band_text, length_text, percent_text

VARIOUS = "various"
# Values nearer to one another than this share are the same one, reached by different sums.
_SAME = 1e-9
_RADII: tuple[tuple[RadiusKind, str, str], ...] = (
    ("bent", "R as bent", "Of the middle of the wire, bent before hammering."),
    ("finished", "R finished", "Of the middle of the wire, hammered and finished."),
    ("inside", "R inside", "Of the inside as finished, where the span is widest."),
    ("outside", "R outside", "Of the outside as finished, where the span is widest."),
)
_SIDES = (
    "Left of the wire's way is positive; spans turned over against the first selected take the other side."
)


class SpanNumbers(NumberGroup):
    """What is typed goes for all selected spans, as one step, or is refused as a whole."""

    def __init__(
        self,
        session: Session,
        selection: Selection,
        tell: Callable[[str], None],
        tubes: tuple[Tube, ...],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("Span", parent)
        self._session, self._selection, self._tell, self._tubes = session, selection, tell, tubes
        self._rows: list[ValueRow] = []
        self._length = self._field(
            "Length, finished",
            parse_length_mm,
            self._use_length,
            "mm, in, simple sums. Of several repeats of one motif the first selected takes it; the others "
            "follow, graded.",
        )
        self._turn = self._field("Turn", parse_angle_deg, self._use_turn, f"Degrees. {_SIDES}")
        self._skew = self._field(
            "Skew",
            parse_angle_deg,
            self._use_skew,
            f"How unevenly it turns: 0 is an arc, more tightens towards its end. {_SIDES}",
        )
        self._radius = self._field(
            "Radius",
            parse_length_mm,
            self._use_radius,
            "At the tightest place. Typing one keeps the turn and changes the length.",
        )
        self._kind = self._radius_choice(self._radius)
        self._thin = self._field(
            "Thinnest", parse_length_mm, self._use_thickness, "Hammered to; the wire's own for none."
        )
        self._wide = self._field(
            "Width there", parse_length_mm, self._use_width, "Hammer until it is this wide in plan."
        )
        self._mark = self.add_value("Mark at", "Where it begins, from the start of the cut wire.")
        self._tube = self.add_value("Tube", "Leaves the bend after spring-back, bent before hammering.")
        self._work = self.add_value(
            "Cold work", "At the thinnest place, as an equivalent reduction of strip."
        )
        self._times = CalmSpinBox()
        self._times.setRange(1, 1000)
        self._times.setKeyboardTracking(False)
        self._times.setFixedWidth(96)
        self._times.valueChanged.connect(self._use_times)
        self._repeats = self.add_field("Repeats of its run", self._times, "How often the motif is repeated.")
        self._rows += [self._mark, self._tube, self._work, self._repeats]
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        self._fault.hide()
        self.add_wide(self._fault)
        self._none = QLabel(
            "Click a span on the form or on the wire to see and change it; with Shift or Ctrl, several."
        )
        self._none.setObjectName("soft")
        self._none.setWordWrap(True)
        self.add_wide(self._none)

    def _field(
        self, label: str, read: Callable[[str], float], use: Callable[[float], None], tip: str
    ) -> ValueRow:
        field = QuantityField(read, use)
        field.refused.connect(self._explain)
        field.refused.connect(self._tell)
        row = self.add_field(label, field, tip)
        self._rows.append(row)
        return row

    def _radius_choice(self, row: ValueRow) -> CalmComboBox:
        """Which radius is meant: chosen in the place of the row's label."""
        choice = CalmComboBox()
        for number, (kind, text, tip) in enumerate(_RADII):
            choice.addItem(text, kind)
            choice.setItemData(number, tip, Qt.ItemDataRole.ToolTipRole)
        choice.setAccessibleName("Which radius")
        choice.setSizeAdjustPolicy(CalmComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        choice.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.put_for_label(row, choice)
        choice.currentIndexChanged.connect(self.refresh)
        return choice

    def _explain(self, sentence: str) -> None:
        self._fault.setText(sentence)
        self._fault.setVisible(bool(sentence))

    # --- showing

    @property
    def _spans(self) -> tuple[int, ...]:
        """The selected spans that there are, the leading one first."""
        lead, count = self._selection.span, self._session.wire.span_count
        if lead is None or lead >= count:
            return ()
        return (lead, *(span for span in self._selection.spans if span != lead and span < count))

    def refresh(self) -> None:
        """Show the numbers of what is selected."""
        spans = self._spans
        for row in self._rows:
            row.set_visible(bool(spans))
        self._none.setVisible(not spans)
        self._explain("")
        if not spans:
            self.heading.setText("Span")
            return
        count = self._session.wire.span_count
        many = len(spans) > 1
        self.heading.setText(f"{len(spans)} of {count} spans" if many else f"Span {spans[0] + 1} of {count}")
        at = np.array(spans)
        self._show_shape(at)
        self._show_hammering(at)
        self._show_repeats(spans)

    def _show_shape(self, at: NDArray[np.int64]) -> None:
        e = self._session.evaluation
        parts = at + e.chain.spans.start
        # A turn is shown as it lies; spans turned over against the leading one are seen from its side.
        sides = e.chain.side[parts] * e.chain.side[parts[0]]
        _show(self._length, e.spans.finished_length_mm[at], length_text)
        _show(self._turn, e.spans.turn_deg[at] * sides, angle_text)
        skew_rad = e.chain.skew_rad[parts]
        _show(self._skew, np.rad2deg(skew_rad) * sides, angle_text)
        uneven = "tightest" if np.any(np.abs(skew_rad) > _SAME) else ""
        _show(self._radius, radii_mm(e, self._kind.currentData())[at], _radius_text, uneven)
        self._mark.show(*_with_band(e.spans.stock_from_mm[at], *(band[at] for band in e.marks_band_mm)))
        tube = _common(e.spans.tube_diameter_mm[at])
        if tube is None:
            self._tube.show(VARIOUS)
        elif math.isfinite(tube):
            self._tube.show(length_text(tube), nearest_tubes(tube, self._tubes, 1)[0].label)
        else:
            straight = not np.isfinite(e.spans.as_bent_radius_mm[at]).any()
            self._tube.show("straight" if straight else "none so tight")

    def _show_hammering(self, at: NDArray[np.int64]) -> None:
        e = self._session.evaluation
        flare = e.chain.flare[at + e.chain.spans.start]
        on_edge = e.flares.on_edge[flare]
        thin = e.spans.thinnest_mm[at]
        one = _common(thin)
        _show(self._thin, thin, length_text, "" if one is None else f"{one / e.diameter_mm:.2f} of wire")
        _, band = _with_band(e.spans.widest_mm[at], *(band[at] for band in widths_band_mm(e)))
        edge = "on edge" if on_edge.all() else band
        for row in (self._mark, self._wide):
            row.explain_aside(band_rests_on(e))
        _show(self._wide, np.where(on_edge, thin, e.spans.widest_mm[at]), length_text, edge)
        work = _common(100 * e.spans.strip_reduction[at])
        if work is None:
            self._work.show(VARIOUS)
        else:
            self._work.show(percent_text(work), temper_at(e.metal, work).name if work > 0 else "as supplied")

    def _show_repeats(self, spans: tuple[int, ...]) -> None:
        wire = self._session.wire
        runs = {wire.address(span).run for span in spans}
        self._repeats.set_visible(len(runs) == 1)
        self._times.blockSignals(True)
        self._times.setValue(wire.design.form.runs[min(runs)].times)
        self._times.blockSignals(False)

    # --- using what was typed

    def _change(self, what: str, change: Callable[[WireInHand, tuple[int, ...]], Design]) -> None:
        spans = self._spans
        if not spans:
            raise EditRefused("Select a span first.")
        which = f"span {spans[0] + 1}" if len(spans) == 1 else f"{len(spans)} spans"
        self._session.change(f"{what} of {which}", change(self._session.wire, spans), spans[0])

    def _use_length(self, length_mm: float) -> None:
        self._change("Length", lambda wire, spans: with_length(wire, spans, length_mm))

    def _use_turn(self, turn_deg: float) -> None:
        self._change("Turn", lambda wire, spans: with_turn(wire, spans, turn_deg))

    def _use_skew(self, skew_deg: float) -> None:
        self._change("Skew", lambda wire, spans: with_skew(wire, spans, skew_deg))

    def _use_radius(self, radius_mm: float) -> None:
        e, kind = self._session.evaluation, self._kind.currentData()
        self._change(
            "Radius",
            lambda wire, spans: with_lengths(wire, lengths_for_radius_mm(e, spans, kind, radius_mm)),
        )

    def _use_thickness(self, thickness_mm: float) -> None:
        self._change("Thickness", lambda wire, spans: with_thickness(wire, spans, thickness_mm))

    def _use_width(self, width_mm: float) -> None:
        self._change("Width", lambda wire, spans: with_plan_width(wire, spans, width_mm))

    def _use_times(self, times: int) -> None:
        run = self._session.wire.address(self._spans[0]).run
        try:
            self._session.change("Number of repeats", change_run(self._session.design, run, times=times))
        except FormSketchError as fault:
            self.refresh()
            self._explain(str(fault))


def _common(values: NDArray[np.float64]) -> float | None:
    """The one value of all; None where they differ. Not a number is a value of its own."""
    first = float(values[0])
    same = np.isclose(values, first, rtol=_SAME, atol=_SAME, equal_nan=True)
    return first if same.all() else None


def _with_band(values: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]) -> list[str]:
    """The length common to all and its band; no band where they differ."""
    value = _common(values)
    if value is None:
        return [VARIOUS, ""]
    return [length_text(value), band_text(float(low[0]), float(high[0]), float(values[0]))]


def _show(
    row: ValueRow, values: NDArray[np.float64], text_of: Callable[[float], str], aside: str = ""
) -> None:
    """What all have in common, or that they are various: an empty field that says so."""
    value = _common(values)
    if isinstance(row.value, QuantityField):
        row.value.setPlaceholderText(VARIOUS if value is None else "")
    row.show("" if value is None else text_of(value), aside)


def _radius_text(radius_mm: float) -> str:
    if math.isnan(radius_mm):
        return "straight"
    return length_text(radius_mm) if radius_mm > 0 else "none"
