"""Pearls, stones and room for a mark: pages that stay open, worked with real keys and clicks."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from formsketch.design.edits import change_wire
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import (
    Binding,
    Design,
    EyeEnd,
    Flare,
    Form,
    Hammer,
    Run,
    SetPearl,
    Span,
    Wire,
)
from formsketch.fitting.pearls import Pearl, binding_wire_mm
from formsketch.fitting.stones import brilliant_ct
from formsketch.shipped import demo_design_files
from formsketch.ui.fields import NumberGroup
from formsketch.ui.help_bench import PEARLS_STONES, SECTIONS
from formsketch.ui.pearls_dialog import PearlsPage
from formsketch.ui.quality_mark_dialog import QualityMarkPage
from formsketch.ui.stones_dialog import StonesPage
from formsketch.ui.strip_layout import WIRE_Y_PX
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
    type_into(page.rows["stone"].value, "0.4 mm")
    type_into(page.rows["seat"].value, "0.5 mm")
    type_into(page.rows["left"].value, "0.25 mm")
    # Middles of quarters of 40 mm of unhammered wire, whose marks are where they are along the form.
    assert [page.table.row_texts(r)[1] for r in range(4)] == ["5.00 mm", "15.00 mm", "25.00 mm", "35.00 mm"]
    assert page.table.row_texts(0)[2:6] == ("10.00 mm", "5.00 mm", "1.00 mm", "0.25 mm")
    assert "4 of 4 places" in page.found.text()
    page.spacing.setFocus()
    events.key(page.spacing, Key.Key_Down)
    # All the turning is in the second half: quarters of it.
    assert [page.table.row_texts(r)[1] for r in range(4)] == ["22.50 mm", "27.50 mm", "32.50 mm", "37.50 mm"]
    type_into(page.rows["end"].value, "20 mm")
    assert page.fault_text() == "by angle: expected a stretch that turns, this one is straight"
    assert page.table.rowCount() == 0


def test_the_page_of_stones_begins_with_those_that_are_set(open_window: Open) -> None:
    (hoops,) = [file for file in demo_design_files() if "ebb-hoops" in file.name]
    window = open_window(load_design(hoops).design)
    page, design = opened(window, "stones_along", StonesPage), window.session.design
    press(page.set_them)
    again = window.session.design.stones
    # Half a hundredth of a millimetre along the wire.
    apart = 0.005 / window.session.evaluation.finished_length_mm
    assert [one.at_share for one in again] == pytest.approx([s.at_share for s in design.stones], abs=apart)
    assert [replace(one, at_share=0.0) for one in again] == [
        replace(one, at_share=0.0) for one in design.stones
    ]


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


def press(button: Any) -> None:
    assert button.isEnabled()
    click(button, button.rect().center())


def shown_numbers(window: Window) -> dict[str, str]:
    """What the panel shows of the piece, hidden rows left out."""
    rows: dict[str, str] = {}
    for group in window.panel.findChildren(NumberGroup):
        grid: Any = group.layout()
        for row in range(grid.rowCount()):
            items = [grid.itemAtPosition(row, column) for column in (0, 1)]
            name, value = (None if item is None else item.widget() for item in items)
            if isinstance(name, QLabel) and isinstance(value, QLabel) and value.isVisibleTo(group):
                rows[name.text()] = value.text()
    return rows


def test_pearls_are_set_and_taken_out_with_the_mouse(open_window: Open, qtbot: Any) -> None:
    window = open_window(three_rings())
    page = opened(window, "pearls_in_bays", PearlsPage)
    assert not page.set_them.isEnabled()
    qtbot.waitUntil(lambda: len(closed(page)) == 3, timeout=5000)
    assert not page.set_them.isEnabled() and not page.take_out.isEnabled()
    page.stock.setFocus()
    events.keys(page.stock, "3 x 8")
    for row in range(page.table.rowCount()):
        if not page.table.row_texts(row)[5].startswith("closed"):
            page.table.item(row, 0).setCheckState(Qt.CheckState.Unchecked)
    type_into(page._wraps.value, "3")
    session, before = window.session, window.session.design
    press(page.set_them)
    assert page.fault_text() == ""
    assert (session.step_count, session.undo_name) == (1, "Set pearls")
    assert [pearl.diameter_mm for pearl in session.design.pearls] == [8.0, 8.0, 8.0]
    assert session.design.binding == Binding(wraps=3)
    # In the middle of each ring of 10 mm, 1 mm clear all round (derived), and drawn there.
    assert [p.clear_mm for p in session.evaluation.set_on.pearls] == pytest.approx([1.0] * 3, abs=0.02)
    QApplication.processEvents()
    canvas = window.canvas
    image = canvas.grab().toImage()
    for placed in canvas.wire.set_on.pearls:
        beside = placed.at_mm + 1.5j * placed.hole
        at = canvas.view.to_px(beside) * image.devicePixelRatio()
        colour = image.pixelColor(at.toPoint())
        assert colour.lightness() > 200 and colour.red() >= colour.blue()
    numbers = shown_numbers(window)
    assert numbers["Pearls"] == f"{3 * Pearl(8, 8).weight_g:.2f} g"
    assert numbers["With what is set"] == f"{session.evaluation.set_on.weight_g:.2f} g"
    assert "Stones" not in numbers
    after = design_bytes(session.design)
    session.undo()
    assert session.design is before
    session.redo()
    assert design_bytes(session.design) == after
    press(page.take_out)
    assert (session.undo_name, session.design.pearls) == ("Take out pearls", ())
    assert "Pearls" not in shown_numbers(window)


def test_what_is_set_is_seen_when_the_page_opens(open_window: Open, qtbot: Any) -> None:
    pearl = SetPearl(from_share=0.05, to_share=0.25, diameter_mm=5.0, length_mm=5.0)
    window = open_window(replace(three_rings(), pearls=(pearl,), binding=Binding(passes=2)))
    page = opened(window, "pearls_in_bays", PearlsPage)
    qtbot.waitUntil(lambda: page.take_out.isEnabled(), timeout=5000)
    assert page.picture.with_set and page.binding == Binding(passes=2)
    page.stock.setFocus()
    events.keys(page.stock, "6")
    assert not page.picture.with_set


def test_a_bay_without_wire_to_bind_to_is_told(open_window: Open, qtbot: Any) -> None:
    """The eye at the end is no part of the form's spans: there is nothing beside it."""
    design = form_of(Span(length_mm=30.0))
    design = replace(design, form=replace(design.form, finish=EyeEnd(inside_diameter_mm=4.0)))
    window = open_window(design)
    page = opened(window, "pearls_in_bays", PearlsPage)
    qtbot.waitUntil(lambda: page.table.rowCount() > 0, timeout=5000)
    page.stock.setFocus()
    events.keys(page.stock, "3.5")
    assert "nothing near to bind it to" in page.table.row_texts(0)[5]
    press(page.set_them)
    assert page.fault_text().startswith("Bay 1: expected wire of the form near")
    assert window.session.step_count == 0


def test_stones_are_set_added_and_taken_out_with_the_mouse(open_window: Open) -> None:
    window = open_window(form_of(Span(length_mm=40.0), notes=""))
    page, session = opened(window, "stones_along", StonesPage), window.session
    type_into(page.rows["count"].value, "2")
    type_into(page.rows["stone"].value, "0.5 mm")
    type_into(page.rows["seat"].value, "0.4 mm")
    assert page.fault_text() == "Seat: expected a tube at least as wide as its stone, 0.50 mm."
    assert not page.set_them.isEnabled()
    type_into(page.rows["seat"].value, "0.6 mm")
    press(page.set_them)
    assert (session.step_count, session.undo_name) == (1, "Set stones")
    assert [(s.at_share, s.size_mm, s.seat_mm) for s in session.design.stones] == [
        (0.25, 0.5, 0.6),
        (0.75, 0.5, 0.6),
    ]
    assert "Harden after soldering" in " ".join(c.message for c in session.evaluation.cautions)
    type_into(page.rows["count"].value, "1")
    page.soldered.click()
    page.kind.setFocus()
    events.keys(page.kind, "g")
    press(page.add_them)
    added = session.design.stones[1]
    assert (added.at_share, added.kind, added.soldered) == (0.5, "garnet", False)
    assert shown_numbers(window)["Stones"] == f"{session.evaluation.set_on.stones_ct:.3f} ct"
    # On the strip the seat stands where it is marked.
    strip = window.strip
    image = strip.grab().toImage()
    at = QPointF(strip.x_px(20.0), WIRE_Y_PX) * image.devicePixelRatio()
    assert image.pixelColor(at.toPoint()).blue() > image.pixelColor(at.toPoint()).red()
    press(page.take_out)
    assert (session.undo_name, session.design.stones) == ("Take out stones", ())


def test_a_place_for_the_mark_is_kept_with_the_mouse(open_window: Open) -> None:
    window = open_window(form_of(Span(length_mm=30.0, flare=Flare(thickness=0.5, hold=0.6))))
    page, session = opened(window, "room_for_mark", QualityMarkPage), window.session
    assert not page.place.isEnabled()
    type_into(page.wide.value, "0.8 mm")
    press(page.place)
    mark = session.design.quality_mark
    assert mark is not None
    assert (mark.at_share, mark.wide_mm, mark.long_mm) == (0.5, 0.8, 2.5)
    assert session.undo_name == "Place for a quality mark"
    press(page.take_out)
    assert session.design.quality_mark is None
    session.undo()
    assert session.design.quality_mark == mark


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
