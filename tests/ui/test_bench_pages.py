"""Pages of the bench: from round to flat, bending, wire to order; live, each change one step to undo."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel

from formsketch.design.edits import SpanAddress, change_wire, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.ui.bench_page import BenchPage
from formsketch.ui.bending_page import BendingPage
from formsketch.ui.fields import QuantityField
from formsketch.ui.hammer_page import HammerPage
from formsketch.ui.window import Window
from formsketch.ui.wire_order_page import WireOrderPage
from tests.support import events
from tests.support.asked import trigger

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key = Qt.Key
Open = Callable[..., Window]


def three_spans(**more: Any) -> Design:
    """A straight, a hammered arc, an arc."""
    spans = (
        Span(length_mm=10.0),
        Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.5)),
        Span(length_mm=12.0, turn_deg=-90.0),
    )
    return Design(
        title="Three",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        hammer=Hammer(spread=0.6),
        form=Form(runs=(Run(spans=spans),)),
        **more,
    )


def opened(window: Window, command: str, kind: type[BenchPage]) -> Any:
    trigger(window, command)
    page = next(p for p in window.findChildren(kind) if p.isVisible())
    assert not page.isModal()
    return page


def settled(page: BenchPage, holds: Callable[[], bool], qtbot: Any) -> None:
    """After a moment's rest the page shows the design."""
    qtbot.waitUntil(holds, timeout=3000)


def choose(box: QComboBox, data: str) -> None:
    """With the keys, as a person does."""
    box.setFocus()
    while box.currentIndex() != box.findData(data):
        events.key(box, Key.Key_Down if box.currentIndex() < box.findData(data) else Key.Key_Up)


def type_into(field: Any, text: str) -> None:
    field.setFocus(Qt.FocusReason.MouseFocusReason)
    field.selectAll()
    events.keys(field, text)


def click(button: Any) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, QPoint(8, 8))


# ---- from round to flat ----------------------------------------------------------------------------------


def test_hammer_until_so_wide_is_one_step(open_window: Open) -> None:
    window = open_window(three_spans())
    first, session = window.session.design, window.session
    window.selection.select(1)
    page = opened(window, "from_round_to_flat", HammerPage)
    # The span as it is: half the wire, 1.37663150 wide at S 0.6 [derived].
    assert page.outcome.text().startswith("0.50 mm thick, 1.38 mm wide")
    choose(page.until, "width")
    assert page.wanted.text() == "1.38 mm"
    type_into(page.wanted, "1.25426299")
    # t/d 0.6 is 1.25426299 wide at S 0.6 [derived].
    assert page.outcome.text().startswith("0.60 mm thick, 1.25 mm wide")
    assert session.design is first
    events.key(page.wanted, Key.Key_Return)
    assert page.isVisible()
    click(page.use)
    flare = span_at(session.design, SpanAddress(0, 1)).flare
    assert flare is not None
    assert flare.thickness == pytest.approx(0.6, rel=1e-7)
    assert (session.step_count, session.undo_name) == (1, "Hammer span 2 to 0.60 mm")
    after = design_bytes(session.design)
    session.undo()
    assert session.design is first
    session.redo()
    assert design_bytes(session.design) == after


@pytest.mark.parametrize(
    ("until", "ratio"),
    # Independent of the page: strip reduction 50 % at S 0.6 by h/h0 = 0.5^(1/sqrt 0.76), and w/t = 15.
    [("before_annealing", None), ("in_all", 15.0)],
)
def test_the_thinnest_there_is(open_window: Open, until: str, ratio: float | None) -> None:
    window = open_window(three_spans())
    window.selection.select(2)
    page = opened(window, "from_round_to_flat", HammerPage)
    choose(page.until, until)
    assert not page.wanted.isEnabled()
    click(page.use)
    e = window.session.evaluation
    assert window.session.step_count == 1
    if ratio is None:
        assert 100 * e.spans.strip_reduction[2] == pytest.approx(50.0, abs=1e-9)
        assert "no anneal" in page.outcome.text()
    else:
        assert e.spans.widest_mm[2] / e.spans.thinnest_mm[2] == pytest.approx(ratio, rel=1e-9)
        assert "anneal once" in page.outcome.text()
        assert [page.passes.row_texts(i)[-1] for i in range(page.passes.rowCount())].count("anneal") == 1
        assert page.trust.isVisible()


@pytest.mark.parametrize(
    ("until", "text", "said"),
    [
        ("thickness", "1.4", "at most the wire's own 1.00 mm"),
        ("thickness", "0.01", "15 times as wide as thick"),
        ("thickness", "thin", "thin"),
        ("width", "0.8", "at least the wire's diameter"),
        ("width", "0", "above 0"),
    ],
)
def test_what_cannot_be_hammered_is_explained_and_cannot_be_used(
    open_window: Open, until: str, text: str, said: str
) -> None:
    window = open_window(three_spans())
    first = window.session.design
    window.selection.select(1)
    page = opened(window, "from_round_to_flat", HammerPage)
    choose(page.until, until)
    type_into(page.wanted, text)
    assert said in page.fault_text()
    assert not page.use.isEnabled()
    click(page.use)
    assert window.session.design is first
    type_into(page.wanted, "1" if until == "width" else "0.7")
    assert page.fault_text() == ""
    assert page.use.isEnabled()


def test_the_page_follows_the_selection_the_wire_and_undo(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_spans())
    page = opened(window, "from_round_to_flat", HammerPage)
    assert "Select a span" in page.outcome.text()
    assert not page.use.isEnabled()
    window.selection.select(1)
    settled(page, lambda: page.span.text() == "Span 2, 1.00 mm round", qtbot)
    session = window.session
    session.change("Wire", change_wire(session.design, diameter_mm=2.0, metal="gold-585-yellow"))
    settled(page, lambda: page.outcome.text().startswith("1.00 mm thick"), qtbot)
    assert "250 °C for 15 min" in page.notes.text()
    session.undo()
    settled(page, lambda: page.outcome.text().startswith("0.50 mm thick"), qtbot)
    assert "does not age-harden" in page.notes.text()
    window.selection.select(0)
    settled(page, lambda: "Left round" in page.outcome.text(), qtbot)
    assert page.passes.rowCount() == 0


def test_one_page_of_each_and_all_go_with_the_window(open_window: Open) -> None:
    window = open_window(three_spans())
    pages = [
        opened(window, name, kind)
        for name, kind in (
            ("from_round_to_flat", HammerPage),
            ("bend_spans", BendingPage),
            ("order_wire", WireOrderPage),
        )
    ]
    assert opened(window, "bend_spans", BendingPage) is pages[1]
    events.key(pages[1], Key.Key_Escape)
    assert not pages[1].isVisible()
    assert window.isVisible()
    assert opened(window, "bend_spans", BendingPage) is pages[1]
    window.close()
    assert not any(page.isVisible() for page in pages)


# ---- bending ---------------------------------------------------------------------------------------------


def test_a_bend_is_chosen_in_the_table_and_on_the_form(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_spans())
    page = opened(window, "bend_spans", BendingPage)
    assert [page.bends.row_texts(i)[0] for i in range(page.bends.rowCount())] == ["2", "3"]
    row = page.bends.visualItemRect(page.bends.item(1, 0)).center()
    QTest.mouseClick(page.bends.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, row)
    assert window.selection.span == 2
    settled(page, lambda: page.heading.text() == "Span 3", qtbot)
    assert page.on_tubes.rowCount() == 2
    # The wire's middle turns 90 degrees in 12 mm: radius 7.64; outside d/(2 R) = 6.5 %.
    assert "Radius as bent 7.64 mm" in page.facts.text()
    assert "6.5 %" in page.facts.text()
    window.selection.select(0)
    settled(page, lambda: "Straight" in page.facts.text(), qtbot)
    assert page.bends.currentRow() == -1


def test_the_way_of_bending_is_one_step_and_moves_the_marks(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_spans())
    first, session = window.session.design, window.session
    page = opened(window, "bend_spans", BendingPage)
    assert page.bends.row_texts(0)[1] == "10.00 mm"
    # The flare at half thickness takes 18.2724512 mm of stock for 20 mm [derived]: its middle is at 19.14.
    page.way.setFocus()
    events.key(page.way, Key.Key_Down)
    page.way.activated.emit(page.way.currentIndex())
    settled(page, lambda: page.bends.row_texts(0)[1] == "19.14 mm", qtbot)
    assert session.design.bend_marks == "grip"
    assert (session.step_count, session.undo_name) == (1, "Bend marks")
    session.undo()
    assert session.design is first
    settled(page, lambda: page.bends.row_texts(0)[1] == "10.00 mm", qtbot)
    assert page.way.currentData() == "round"


# ---- wire to order ---------------------------------------------------------------------------------------


def field(page: WireOrderPage, label: str) -> QuantityField:
    return next(f for f in page.findChildren(QuantityField) if f.accessibleName() == label)


def shown(page: WireOrderPage) -> str:
    return " | ".join(label.text() for label in page.findChildren(QLabel))


def straight(length: float) -> Design:
    return Design(
        title="Straight",
        wire=Wire(metal="sterling-925", diameter_mm=1.02),
        form=Form(runs=(Run(spans=(Span(length_mm=length),)),)),
    )


def test_wire_to_order_is_reckoned_and_kept(open_window: Open, qtbot: Any) -> None:
    window = open_window(straight(100.0))
    page = opened(window, "order_wire", WireOrderPage)
    for label, text in (
        ("To hold at each end", "1 cm"),
        ("Pieces", "20"),
        ("Coil or stock length", "100 cm"),
    ):
        type_into(field(page, label), text)
        events.key(field(page, label), Key.Key_Return)
    # Pieces of 120 mm and 0.5 mm a cut: 8 from 1 m with 36 mm left; three coils. 100 mm weigh 0.84654487 g.
    said = shown(page)
    assert "| 8 | 36.00 mm left" in said
    assert "3 coils" in said
    assert "25.40 g" in said
    assert window.session.step_count == 0  # settings of the maker's, no change of the design
    window.session.change("Wire", change_wire(window.session.design, metal="brass-c26000"))
    settled(page, lambda: "20.91 g" in shown(page), qtbot)  # 30 x 0.69701040
    page.close()
    again = WireOrderPage(window, window.session, window.selection, QSettings())
    assert (again.order.pieces, again.order.coil_mm, again.order.hold_mm) == (20, 1000.0, 10.0)
    again.deleteLater()
    QApplication.processEvents()


@pytest.mark.parametrize(
    ("label", "text", "said"),
    [
        ("Coil or stock length", "50", "too short"),
        ("Pieces", "0", "pieces were expected"),
        ("Pieces", "2.5", "whole number"),
        ("Lost per cut", "wide", "wide"),
        ("To hold at each end", "1/2", "unit"),
    ],
)
def test_a_wrong_order_is_explained_and_nothing_kept(
    open_window: Open, label: str, text: str, said: str
) -> None:
    window = open_window(straight(100.0))
    page = opened(window, "order_wire", WireOrderPage)
    before = page.order
    type_into(field(page, label), text)
    events.key(field(page, label), Key.Key_Return)
    assert said in page.fault_text()
    assert page.order is before
    assert QSettings().value("wire_order/pieces") is None
    events.key(field(page, label), Key.Key_Escape)
    assert page.isVisible()
    assert page.fault_text() == ""


def test_a_coil_too_short_for_another_design_is_said(open_window: Open, qtbot: Any) -> None:
    QSettings().setValue("wire_order/coil_mm", 130.0)
    QSettings().setValue("wire_order/pieces", 1.0)
    window = open_window(straight(100.0))
    page = opened(window, "order_wire", WireOrderPage)
    assert page.fault_text() == ""
    window.session.replace(straight(200.0))
    settled(page, lambda: "too short" in page.fault_text(), qtbot)
    window.session.replace(straight(80.0))
    settled(page, lambda: page.fault_text() == "", qtbot)


def test_settings_that_are_not_ours_are_as_usual(open_window: Open) -> None:
    QSettings().setValue("wire_order/coil_mm", 1000.0)
    QSettings().setValue("wire_order/pieces", "many")
    order = opened(open_window(straight(90.0)), "order_wire", WireOrderPage).order
    assert (order.coil_mm, order.pieces) == (None, 1)
