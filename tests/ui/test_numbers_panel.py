"""The numbers beside the form: typed values with their units, the wire chosen, each one step to undo."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QApplication, QComboBox, QHBoxLayout, QLabel, QLineEdit, QSpinBox, QWidget

from formsketch.bench.tubes import load_tubes
from formsketch.design.edits import SpanAddress, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, OwnMetal, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.forging.spread import hammered_width_mm
from formsketch.ui.fields import NumberGroup, QuantityField
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.numbers_panel import NumbersPanel
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import band_text, length_text
from tests.support import events

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
Key = Qt.Key


class Seen(QWidget):
    """The panel beside a canvas that can take the focus, and what the panel told."""

    def __init__(self, design: Design, span: int | None) -> None:
        super().__init__()
        self.session, self.selection = Session(design), Selection()
        self.canvas = FormCanvas(self.session, self.selection)
        self.panel = NumbersPanel(self.session, self.selection, load_tubes())
        self.told: list[str] = []
        self.panel.told.connect(self.told.append)
        # As the window does.
        session, selection = self.session, self.selection
        session.changed.connect(lambda: selection.keep_within(session.wire.span_count))
        across = QHBoxLayout(self)
        across.addWidget(self.canvas, 1)
        across.addWidget(self.panel)
        self.resize(900, 900)
        self.selection.select(span)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.panel.settle()
        super().closeEvent(event)

    @property
    def design(self) -> Design:
        return self.session.design

    def span(self, index: int = 0, run: int = 0) -> Span:
        return span_at(self.design, SpanAddress(run, index))

    def field(self, label: str) -> QuantityField:
        return next(f for f in self.panel.findChildren(QuantityField) if f.accessibleName() == label)

    def box(self, label: str) -> QComboBox:
        return next(b for b in self.panel.findChildren(QComboBox) if b.accessibleName() == label)

    def aside(self, label: str) -> str:
        """The small type at the end of a field's row."""
        field = self.field(label)
        grid = next(g for g in self.panel.findChildren(NumberGroup) if g.isAncestorOf(field)).layout()
        row = grid.getItemPosition(grid.indexOf(field))[0]
        return str(grid.itemAtPosition(row, 2).widget().text())

    def explained(self) -> str:
        """The caution shown in the span's group, '' when none is."""
        shown = [
            label.text()
            for group in self.panel.findChildren(NumberGroup)
            for label in group.findChildren(QLabel)
            if label.objectName() == "caution" and label.isVisible()
        ]
        return " ".join(shown)

    def type_into(self, field: QLineEdit, text: str) -> None:
        """As a person does: click into the field, take all, type."""
        field.setFocus(Qt.FocusReason.MouseFocusReason)
        field.selectAll()
        events.keys(field, text)

    def enter(self, label: str, text: str) -> QuantityField:
        field = self.field(label)
        self.type_into(field, text)
        events.key(field, Key.Key_Return)
        return field


Show = Callable[[QWidget], QWidget]


@pytest.fixture
def see(show: Show) -> Callable[..., Seen]:
    def see_it(design: Design, span: int | None = 0) -> Seen:
        seen = Seen(design, span)
        show(seen)
        seen.activateWindow()
        seen.canvas.setFocus()
        QApplication.processEvents()
        return seen

    return see_it


def two_spans(flare: Flare | None = None) -> Design:
    spans = (
        Span(length_mm=30.0, turn_deg=60.0, flare=flare),
        Span(length_mm=20.0, turned_over=True, turn_deg=45.0),
    )
    return Design(title="Two", wire=BRASS, form=Form(runs=(Run(spans=spans),)))


def assert_one_step(seen: Seen, first: Design, name: str) -> None:
    """One step of this name, and undo gives back the very first design."""
    session = seen.session
    assert (session.step_count, session.undo_name) == (1, name)
    after = design_bytes(seen.design)
    session.undo()
    assert seen.design is first
    session.redo()
    assert design_bytes(seen.design) == after


# ---- the selected span ---------------------------------------------------------------------------------

# An inch is 25.4 mm (international yard and pound agreement, 1959); a turn is 360 degrees.
LENGTHS = [
    ("12.5", 12.5),
    ("12.5 mm", 12.5),
    ("1/2 in", 12.7),
    ('1 1/4"', 31.75),
    ("2 cm", 20.0),
    ("3/32 in + 0.4", 3 / 32 * 25.4 + 0.4),
    ("2 x 11", 22.0),
]
ANGLES = [("200", 200.0), ("200 deg", 200.0), ("-90°", -90.0), ("1/2 turn", 180.0), ("90 + 15", 105.0)]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
def test_a_length_is_typed_with_its_unit(see: Callable[..., Seen], text: str, mm: float) -> None:
    seen = see(two_spans())
    first = seen.design
    field = seen.enter("Length, finished", text)
    assert seen.span().length_mm == pytest.approx(mm, rel=1e-12)
    assert field.text() == length_text(mm)
    assert seen.explained() == ""
    assert_one_step(seen, first, "Length of span 1")


@pytest.mark.parametrize(("text", "degrees"), ANGLES)
def test_a_turn_is_typed_with_its_unit(see: Callable[..., Seen], text: str, degrees: float) -> None:
    seen = see(two_spans())
    first = seen.design
    seen.enter("Turn", text)
    assert seen.span().turn_deg == pytest.approx(degrees, rel=1e-12)
    assert_one_step(seen, first, "Turn of span 1")


def test_turn_and_skew_of_a_span_turned_over_are_as_it_lies(see: Callable[..., Seen]) -> None:
    seen = see(two_spans(), 1)
    assert seen.field("Turn").text() == "−45°"
    seen.enter("Turn", "-80")
    assert seen.span(1).turn_deg == pytest.approx(80.0)
    seen.enter("Skew", "-30")
    assert seen.span(1).skew_deg == pytest.approx(30.0)
    assert (seen.field("Turn").text(), seen.field("Skew").text()) == ("−80°", "−30°")
    # Curvature x length at the span's end is turn + skew, as the wire lies: 110 degrees to the right.
    trace, part = seen.session.wire.trace, seen.session.wire.part(1)
    own = np.flatnonzero(trace.part == part)
    directions = np.unwrap(np.angle(trace.direction[own]))
    slope = np.gradient(directions, trace.u[own], edge_order=2)
    assert np.degrees(slope[[0, -1]]) == pytest.approx([-50.0, -110.0], abs=1e-6)


def test_a_length_in_a_graded_repeat_is_that_of_the_place(see: Callable[..., Seen]) -> None:
    seen = see(make_starter("row-of-s-forms", BRASS), 1)  # at an end of the run: 0.8 of the middle
    seen.enter("Length, finished", "20")
    assert seen.session.evaluation.spans.finished_length_mm[1] == pytest.approx(20.0)
    assert seen.span(0, run=1).length_mm == pytest.approx(20.0 / 0.8)
    assert seen.field("Length, finished").text() == "20.00 mm"


@pytest.mark.parametrize(
    ("label", "text", "said"),
    [
        ("Length, finished", "abc", "abc"),
        ("Length, finished", "12 deg", "deg"),
        ("Length, finished", "1/2", "unit"),
        ("Length, finished", "", "Nothing was typed"),
        ("Length, finished", "0", "0.01"),
        ("Length, finished", "99 ga + ", "number"),
        ("Turn", "1/3", "1/2 turn"),
        ("Turn", "99999", "7200"),
        ("Turn", "12 mm", "mm"),
        ("Thinnest", "1.5", "at most"),
        ("Width there", "40", "cannot be hammered"),
    ],
)
def test_wrong_input_is_explained_in_place_and_changes_nothing(
    see: Callable[..., Seen], label: str, text: str, said: str
) -> None:
    seen = see(two_spans())
    first = seen.design
    field = seen.field(label)
    shown = field.text()
    if text:
        seen.enter(label, text)
    else:
        field.setFocus()
        field.selectAll()
        events.key(field, Key.Key_Delete)
        events.key(field, Key.Key_Return)
    assert said in seen.explained()
    assert seen.told[-1] == seen.explained()
    assert field.text() == text  # to be put right by whoever typed it
    assert field.property("refused")
    assert seen.design is first
    assert seen.session.step_count == 0
    events.key(field, Key.Key_Escape)
    assert field.text() == shown
    assert not field.property("refused")
    assert seen.explained() == ""
    assert seen.design is first


def test_escape_takes_back_what_is_typed(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    first, field = seen.design, seen.field("Turn")
    seen.type_into(field, "123")
    assert field.text() == "123"
    events.key(field, Key.Key_Escape)
    assert field.text() == "60°"
    seen.canvas.setFocus()
    assert seen.design is first
    assert seen.session.step_count == 0


def test_what_was_refused_is_put_right_by_typing_the_old_value(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    first = seen.design
    field = seen.enter("Turn", "wide")
    assert field.property("refused")
    seen.type_into(field, "60°")
    events.key(field, Key.Key_Return)
    assert not field.property("refused")
    assert seen.explained() == ""
    assert seen.design is first


def test_a_refused_field_follows_the_selection_again(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    field = seen.enter("Turn", "wide")
    seen.canvas.setFocus()
    events.key(seen.canvas, Key.Key_Right)
    assert seen.selection.span == 1
    assert field.text() == "−45°"
    assert not field.property("refused")
    assert seen.explained() == ""


def test_leaving_a_field_uses_what_was_typed(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    first = seen.design
    seen.type_into(seen.field("Turn"), "75")
    seen.canvas.setFocus()
    assert seen.span().turn_deg == 75.0
    assert_one_step(seen, first, "Turn of span 1")


def test_going_through_a_field_without_typing_makes_no_step(see: Callable[..., Seen]) -> None:
    seen = see(make_starter("row-of-s-forms", BRASS), 3)
    first = seen.design
    for field in seen.panel.findChildren(QuantityField):
        field.setFocus()
        events.key(field, Key.Key_Return)
    seen.canvas.setFocus()
    assert seen.design is first
    assert seen.session.step_count == 0


def test_the_thinnest_place_is_typed_and_the_wires_own_takes_the_flare_away(see: Callable[..., Seen]) -> None:
    held = Flare(thickness=0.7, centre=0.4, hold=0.1)
    seen = see(two_spans(held))
    first = seen.design
    seen.enter("Thinnest", "0.645 mm")
    flare = seen.span().flare
    assert flare is not None
    assert flare.thickness == pytest.approx(0.5)
    assert (flare.centre, flare.hold) == (0.4, 0.1)
    assert seen.aside("Thinnest") == "0.50 of wire"
    assert_one_step(seen, first, "Thickness of span 1")
    seen.enter("Thinnest", "1.29")
    assert seen.span().flare is None


@pytest.mark.parametrize("face", ["flat", "edge"])
def test_the_width_in_plan_is_typed_flat_or_on_edge(see: Callable[..., Seen], face: str) -> None:
    seen = see(two_spans(Flare(thickness=0.7, centre=0.4, hold=0.1, face=face)))  # type: ignore[arg-type]
    first = seen.design
    wanted = 1.9 if face == "flat" else 1.1
    seen.enter("Width there", f"{wanted} mm")
    assert seen.field("Width there").text() == f"{wanted:.2f} mm"
    if face == "edge":
        assert seen.aside("Width there") == "on edge"
    else:
        # The widths at the ends of the listed hammer's band, spread 0.75 to 0.95.
        thin = float(seen.session.evaluation.spans.thinnest_mm[seen.selection.span or 0])
        low, high = (float(hammered_width_mm(thin, 1.29, spread)) for spread in (0.75, 0.95))
        assert seen.aside("Width there") == band_text(low, high, wanted)
    e = seen.session.evaluation
    own = e.own_trace.part == seen.session.wire.part(0)
    plan = e.samples.plan_width_mm[own]
    assert (plan.max() if face == "flat" else plan.min()) == pytest.approx(wanted, abs=1e-6)
    flare = seen.span().flare
    assert flare is not None
    assert (flare.centre, flare.hold, flare.face) == (0.4, 0.1, face)
    assert_one_step(seen, first, "Width of span 1")


def test_repeats_are_counted_and_a_count_that_cannot_be_is_explained(see: Callable[..., Seen]) -> None:
    seen = see(make_starter("row-of-s-forms", BRASS), 2)
    first = seen.design
    times = next(s for s in seen.panel.findChildren(QSpinBox) if s.accessibleName() == "Repeats of its run")
    assert times.value() == 9
    times.setFocus()
    times.selectAll()
    events.keys(times, "12")
    events.key(times, Key.Key_Return)
    assert seen.design.form.runs[1].times == 12
    assert seen.session.wire.span_count == 14
    assert_one_step(seen, first, "Number of repeats")
    # 1000 loops of some 21 mm are more than the 20 m a form may have.
    before = seen.design
    times.setFocus()
    times.selectAll()
    events.keys(times, "1000")
    events.key(times, Key.Key_Return)
    assert "20 m" in seen.explained()
    assert seen.design is before
    assert times.value() == 12


def test_without_a_selected_span_there_is_nothing_to_type_in(see: Callable[..., Seen]) -> None:
    seen = see(two_spans(), None)
    assert not [f for f in seen.panel.findChildren(QuantityField) if f.isVisible()]
    seen.selection.select(1)
    assert len([f for f in seen.panel.findChildren(QuantityField) if f.isVisible()]) == 6
    # A selection that an edit took away, too.
    seen.session.change(
        "One", Design(title="One", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=9.0),)),)))
    )
    assert not [f for f in seen.panel.findChildren(QuantityField) if f.isVisible()]


# ---- the wire ------------------------------------------------------------------------------------------

# B&S: ASTM B258, 0.0050 in x 92^((36 - n)/39); 18 is 0.0403 in. SWG: BS 3737, 18 is 0.048 in.
GAUGES = [
    ("18 ga", 0.005 * 92 ** (18 / 39) * 25.4),
    ("18", 18.0),
    ("18 SWG", 0.048 * 25.4),
    ("1.2 mm", 1.2),
    ("1.2", 1.2),
    ("1/16 in", 25.4 / 16),
]


@pytest.mark.parametrize(("text", "mm"), GAUGES)
def test_a_gauge_is_typed(see: Callable[..., Seen], text: str, mm: float) -> None:
    seen = see(two_spans())
    first = seen.design
    line = seen.box("Gauge").lineEdit()
    assert line is not None
    assert line.text() == "16 gauge (1.29 mm)"
    seen.type_into(line, text)
    events.key(line, Key.Key_Return)
    assert seen.design.wire.diameter_mm == pytest.approx(mm, rel=1e-9)
    assert f"{mm:.2f} mm" in line.text()
    seen.canvas.setFocus()
    assert_one_step(seen, first, seen.session.undo_name)
    assert seen.session.undo_name.startswith("Wire ")


@pytest.mark.parametrize("text", ["thick", "18 stone", "-1", "0", "500 mm", "60 SWG", "SWG", "1/2"])
def test_a_gauge_that_is_none_is_explained_and_changes_nothing(see: Callable[..., Seen], text: str) -> None:
    seen = see(two_spans())
    first = seen.design
    line = seen.box("Gauge").lineEdit()
    assert line is not None
    seen.type_into(line, text)
    events.key(line, Key.Key_Return)
    assert seen.told
    assert len(seen.told[-1]) > 15
    assert seen.design is first
    assert seen.session.step_count == 0
    assert line.text() == "16 gauge (1.29 mm)"


def test_a_gauge_is_chosen_from_the_list(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    first, box = seen.design, seen.box("Gauge")
    row = next(i for i in range(box.count()) if box.itemText(i).strip().startswith("14 gauge"))
    box.setFocus()
    box.setCurrentIndex(row)
    box.activated.emit(row)
    # ASTM B258: 14 is 0.0641 in.
    assert seen.design.wire.diameter_mm == pytest.approx(0.0641 * 25.4, rel=1e-3)
    assert_one_step(seen, first, "Wire 14 gauge (1.63 mm)")
    # A heading of the list is no gauge.
    heading = next(i for i in range(box.count()) if box.itemText(i) == "SWG")
    assert not box.model().flags(box.model().index(heading, 0)) & Qt.ItemFlag.ItemIsEnabled
    box.activated.emit(heading)
    assert seen.session.step_count == 1


def choose(box: QComboBox, text: str) -> None:
    """With the keys, as a person does: down to the row that begins so."""
    box.setFocus()
    target = next(i for i in range(box.count()) if box.itemText(i).startswith(text))
    while box.currentIndex() != target:
        events.key(box, Key.Key_Down if box.currentIndex() < target else Key.Key_Up)


def test_a_metal_is_chosen(see: Callable[..., Seen]) -> None:
    seen = see(two_spans())
    first, box = seen.design, seen.box("Metal")
    now = box.currentIndex()
    weight = seen.session.evaluation.weight_g
    events.key(box, Key.Key_Down)
    key = seen.design.wire.metal
    assert key == box.itemData(now + 1) != first.wire.metal
    assert seen.session.evaluation.weight_g != weight
    assert_one_step(seen, first, f"Metal {box.itemText(now + 1)}")
    seen.session.undo()
    assert box.currentIndex() == now


def test_a_metal_of_the_designs_own_is_offered_first(see: Callable[..., Seen]) -> None:
    own = OwnMetal(key="shop-bronze", name="shop bronze", density_g_per_cm3=8.8)
    design = Design(
        title="Own", wire=Wire(metal="shop-bronze", diameter_mm=1.0), metals=(own,), form=two_spans().form
    )
    box = see(design).box("Metal")
    assert box.currentText() == "shop bronze (this design's own)"
    assert box.currentIndex() == 0


def test_a_hammer_is_chosen(see: Callable[..., Seen]) -> None:
    seen = see(two_spans(Flare(thickness=0.5)))
    first, box = seen.design, seen.box("Hammer")
    assert box.itemData(box.currentIndex()) == 0.8
    target = next(i for i in range(box.count()) if box.itemData(i) != 0.8)
    choose(box, box.itemText(target))
    assert seen.design.hammer.spread == box.itemData(target)
    assert seen.session.undo_name == "Hammer"
    while seen.session.step_count:
        seen.session.undo()
    assert seen.design is first
    assert box.itemData(box.currentIndex()) == 0.8


def test_a_spread_of_ones_own_is_shown_as_it_is(see: Callable[..., Seen]) -> None:
    design = two_spans()
    seen = see(Design(title="Own", wire=BRASS, hammer=type(design.hammer)(spread=0.37), form=design.form))
    assert seen.box("Hammer").currentText() == "spread 0.37"


def test_numbers_that_take_long_come_after(see: Callable[..., Seen], qtbot: object) -> None:
    seen = see(make_starter("row-of-s-forms", BRASS))
    labels = [label for label in seen.panel.findChildren(QLabel) if label.objectName() == "value"]
    share = 100 * seen.session.evaluation.proportion.silhouette_to_hull
    qtbot.waitUntil(lambda: f"{share:.0f} %" in {label.text() for label in labels}, timeout=5000)  # type: ignore[attr-defined]
