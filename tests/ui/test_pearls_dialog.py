"""Pearls, stones and room for a mark: pages that stay open, worked with real keys and clicks."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import change_wire
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.fitting.pearls import Binding, Pearl, binding_wire_mm
from formsketch.fitting.stones import brilliant_ct
from formsketch.ui.help_bench import PEARLS_STONES, SECTIONS
from formsketch.ui.pearls_dialog import PearlsPage
from formsketch.ui.quality_mark_dialog import QualityMarkPage
from formsketch.ui.stones_dialog import StonesPage
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import trigger

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key = Qt.Key
Open = Callable[..., Window]


def form_of(*spans: Span, notes: str = "") -> Design:
    return Design(
        title="Form",
        notes=notes,
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        hammer=Hammer(spread=0.6),
        form=Form(runs=(Run(spans=spans),)),
    )


def three_rings() -> Design:
    """Three round loops of 10 mm inside in a row, 14 mm apart."""
    loop, on = Span(length_mm=math.pi * 11.0, turn_deg=360.0), Span(length_mm=14.0)
    return form_of(loop, on, loop, on, loop, notes="Mine.")


def opened(window: Window, command: str, kind: type[Any]) -> Any:
    trigger(window, command)
    page = next(p for p in window.findChildren(kind) if p.isVisible())
    assert not page.isModal()
    return page


def type_into(field: Any, text: str) -> None:
    field.setFocus(Qt.FocusReason.MouseFocusReason)
    field.selectAll()
    events.keys(field, text)
    events.key(field, Key.Key_Return)


def click(widget: Any, at: QPoint) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)


def closed(page: PearlsPage) -> list[tuple[str, ...]]:
    rows = [page.table.row_texts(row) for row in range(page.table.rowCount())]
    return [row for row in rows if row[5].startswith("closed")]


def test_pearls_for_three_rings(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_rings())
    page = opened(window, "pearls_in_bays", PearlsPage)
    # 10 mm inside, 0.05 mm clear all round: a ball of 9.90, two of half that (derived).
    qtbot.waitUntil(lambda: len(closed(page)) == 3, timeout=5000)
    for row in closed(page):
        assert float(row[1].removesuffix(" mm")) == pytest.approx(9.9, abs=0.015)
        assert float(row[2].removesuffix(" mm")) == pytest.approx(4.95, abs=0.015)
    page.stock.setFocus()
    events.keys(page.stock, "2 x 8, 3 x 9.5")
    chosen = [row[4] for row in closed(page)]
    assert chosen[1] == "9.50 mm"
    # The ends are alike and no larger than the middle.
    assert chosen[0] == chosen[2]
    assert sum(placed.kind == "pearl" for placed in page.picture.placed) == sum(map(bool, page.pearls))
    grams = math.pi / 6 * 2.7 / 1000 * sum(p.diameter_mm**3 for bay in page.pearls for p in bay)
    assert f"pearls about {grams:.2f} g" in page.found.text()


def test_a_bay_left_out_and_clearance_typed(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_rings())
    page = opened(window, "pearls_in_bays", PearlsPage)
    qtbot.waitUntil(lambda: len(closed(page)) == 3, timeout=5000)
    page.stock.setFocus()
    events.keys(page.stock, "9 x 5")
    row = next(r for r in range(page.table.rowCount()) if page.table.row_texts(r)[5].startswith("closed"))
    assert page.table.row_texts(row)[4] == "5.00 mm"
    page.table.setFocus()
    page.table.setCurrentCell(row, 0)
    events.key(page.table, Key.Key_Space)
    assert page.table.row_texts(row)[4] == "none"
    assert page.pearls[row] == ()
    type_into(page.clearance.value, "0.5 mm")
    qtbot.waitUntil(lambda: closed(page)[0][1] in ("8.99 mm", "9.00 mm", "9.01 mm"), timeout=5000)


def test_a_mistake_in_the_stock_is_told(open_window: Open, qtbot: Any) -> None:
    page = opened(open_window(three_rings()), "pearls_in_bays", PearlsPage)
    qtbot.waitUntil(lambda: page.table.rowCount() > 0, timeout=5000)
    page.stock.setFocus()
    events.keys(page.stock, "3 pears")
    assert page.fault_text() == 'stock, entry 1: expected round, button or rice, got "pears"'
    page.stock.selectAll()
    events.keys(page.stock, "3")
    assert page.fault_text() == ""


def test_notes_are_one_step(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_rings())
    page, session, before = (
        opened(window, "pearls_in_bays", PearlsPage),
        window.session,
        window.session.design,
    )
    qtbot.waitUntil(lambda: len(closed(page)) == 3, timeout=5000)
    click(page.write, QPoint(8, 8))
    assert session.design.notes.startswith("Mine.\n\nPearls in the bays:\n1: ball ")
    assert (session.step_count, session.undo_name) == (1, "Pearls in the bays into the notes")
    after = design_bytes(session.design)
    session.undo()
    assert session.design is before
    session.redo()
    assert design_bytes(session.design) == after


def test_the_bays_follow_the_wire(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_rings())
    page = opened(window, "pearls_in_bays", PearlsPage)
    qtbot.waitUntil(lambda: len(closed(page)) == 3, timeout=5000)
    window.session.change("Wire", change_wire(window.session.design, diameter_mm=1.5))
    # The middle line stays, so the inside is 0.5 mm narrower.
    qtbot.waitUntil(lambda: closed(page)[0][1] in ("9.39 mm", "9.40 mm", "9.41 mm"), timeout=5000)


def test_stones_by_length_and_by_angle(open_window: Open) -> None:
    straight, half = Span(length_mm=20.0), Span(length_mm=20.0, turn_deg=180.0)
    window = open_window(form_of(straight, half))
    page = opened(window, "stones_along", StonesPage)
    type_into(page.rows["count"].value, "4")
    type_into(page.rows["seat"].value, "0.5 mm")
    type_into(page.rows["left"].value, "0.25 mm")
    # Middles of quarters of 40 mm of unhammered wire, whose marks are where they are along the form.
    assert [page.table.row_texts(r)[1] for r in range(4)] == ["5.00 mm", "15.00 mm", "25.00 mm", "35.00 mm"]
    assert page.table.row_texts(0)[2:5] == ("5.00 mm", "1.00 mm", "0.25 mm")
    assert "4 of 4 places" in page.found.text()
    page.spacing.setFocus()
    events.key(page.spacing, Key.Key_Down)
    # All the turning is in the second half: quarters of it.
    assert [page.table.row_texts(r)[1] for r in range(4)] == ["22.50 mm", "27.50 mm", "32.50 mm", "37.50 mm"]
    type_into(page.rows["end"].value, "20 mm")
    assert page.fault_text() == "by angle: expected a stretch that turns, this one is straight"
    assert page.table.rowCount() == 0


def test_room_for_a_mark_or_none(open_window: Open) -> None:
    window = open_window(form_of(Span(length_mm=30.0, flare=Flare(thickness=0.5, hold=0.6))))
    page = opened(window, "room_for_mark", QualityMarkPage)
    type_into(page.wide.value, "0.8 mm")
    # t/d 0.5 at spread 0.6 is 1.37663150 wide (derived), its flat that less 0.5: 0.08 to spare.
    assert page.table.row_texts(0)[1] == "15.00 mm"
    assert page.table.row_texts(0)[3] == "0.077 mm"
    type_into(page.wide.value, "0.9 mm")
    assert page.found.text().startswith("There is no flat of 0.9 × 2.5 mm")
    assert not page.write.isEnabled()


def test_pages_are_put_away_with_the_window(open_window: Open) -> None:
    window = open_window(three_rings())
    page = opened(window, "pearls_in_bays", PearlsPage)
    window.close()
    QApplication.processEvents()
    assert not page.isVisible()


def test_the_help_gives_what_the_program_says() -> None:
    assert PEARLS_STONES in SECTIONS
    assert f"{Pearl(6.0, 6.0).weight_g:.3f} g" in PEARLS_STONES
    assert f"{binding_wire_mm(6.0, 1.0, Binding()):.2f} mm" in PEARLS_STONES
    assert f"{brilliant_ct(6.5, 3.9):.2f} ct" in PEARLS_STONES or brilliant_ct(6.5, 3.9) == pytest.approx(
        1.005
    )
