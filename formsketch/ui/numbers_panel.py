"""The numbers beside the form: the wire, the piece, the selected spans, and the cautions, always live."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QVBoxLayout, QWidget

from formsketch.bench.tubes import Tube
from formsketch.design.set_places import is_set
from formsketch.evaluation.bands import band_rests_on
from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.ui.background import LatestOnly
from formsketch.ui.fields import NumberGroup
from formsketch.ui.later import Later
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.span_numbers import SpanNumbers
from formsketch.ui.wire_choice import WireChoice
from formsketch.units import (
    band_text,
    count_text,
    length_text,
    pennyweight_from_g,
    percent_text,
    ratio_text,
    weight_text,
)

set_rows = Later("formsketch.evaluation.set_report", "set_rows")

PANEL_WIDTH_PX = 318
_REST_MS = 120
_FOLLOW_MS = 66


class NumbersPanel(QScrollArea):
    """All numbers of the session's design; `told` carries sentences for the status line."""

    told = Signal(str)

    def __init__(
        self,
        session: Session,
        selection: Selection,
        tubes: tuple[Tube, ...],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._selection, self._tubes = session, selection, tubes
        self.setFixedWidth(PANEL_WIDTH_PX)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("Numbers")
        inside = QWidget()
        inside.setObjectName("panel")
        # Widgets are made where they belong: put there afterwards, each would be dressed twice.
        self.setWidget(inside)
        column = QVBoxLayout(inside)
        column.setContentsMargins(16, 10, 12, 12)
        column.setSpacing(12)
        self.wire = WireChoice(session, inside)
        self.wire.refused.connect(self.told)
        column.addWidget(self.wire)
        self._piece = _PieceNumbers(inside)
        column.addWidget(self._piece)
        self._span = SpanNumbers(session, selection, self.told.emit, tubes, inside)
        column.addWidget(self._span)
        self._cautions = _Cautions(inside)
        column.addWidget(self._cautions)
        column.addStretch(1)
        # What is slow waits for a moment's rest: beside a pull under way it would make the pull stutter.
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._ask_slow)
        self._slow = LatestOnly(self)
        self._slow.done.connect(self._piece.show_slow)
        # While the form is pulled the numbers follow some 15 times a second: as often as they can be read.
        self._follow = QTimer(self)
        self._follow.setSingleShot(True)
        self._follow.setInterval(_FOLLOW_MS)
        self._follow.timeout.connect(self.refresh)
        session.changed.connect(self._design_changed)
        selection.changed.connect(self._span.refresh)
        self.refresh()

    def _design_changed(self) -> None:
        if not self._session.previewing:
            self._follow.stop()
            self.refresh()
        elif not self._follow.isActive():
            self._follow.start()

    @property
    def is_behind(self) -> bool:
        """Whether numbers of what is shown are still to be shown, some hundredths of a second from now."""
        return self._follow.isActive()

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
        self._follow.stop()
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
    def __init__(self, parent: QWidget) -> None:
        super().__init__("Piece", parent)
        self._cut = self.add_value(
            "Cut length",
            "Straight wire to cut, both ends included.",
        )
        self._finished = self.add_value("Finished length", "Along the middle of the wire, ends not counted.")
        self._weight = self.add_value("Weight", "Of all the wire cut, before filing and polish.")
        self._set = {
            "Pearls": self.add_value("Pearls", "At 2.7 g/cm³, holes not taken off (common practice)."),
            "Stones": self.add_value("Stones", "From their sizes, good to some per cent."),
            "With what is set": self.add_value(
                "With what is set", "Metal, pearls and stones; heads, tubes and binding wire not counted."
            ),
            "Binding wire": self.add_value("Binding wire", "For all pearls, wraps and beads included."),
        }
        self._size = self.add_value(
            "Height × length", "The outline, laid level along its far ends or its long axis."
        )
        self._widest = self.add_value("Widest flare", "The greatest hammered width.")
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
        rows = set_rows(e) if is_set(e.design) else ()
        set_on = {label: value for label, value, _ in rows}
        for label, row in self._set.items():
            row.set_visible(label in set_on)
            row.show(set_on.get(label, ""))
        self._size.show(f"{high:.1f} × {wide:.1f} mm")
        self._widest.show(length_text(e.widest_mm), _band(e.widest_band))
        for row in (self._cut, self._widest):
            row.explain_aside(band_rests_on(e))
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
            "none near" if gap is None else length_text(gap),
            count_text(crossed, "crossing") if crossed else "",
        )


class _Cautions(QWidget):
    """Weighty cautions in boxes, the rest in small type."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(6)
        self._labels: list[QLabel] = []

    def show_cautions(self, evaluation: Evaluation) -> None:
        cautions = evaluation.cautions
        while len(self._labels) < len(cautions):
            label = QLabel(self)
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
