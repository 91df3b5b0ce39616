"""The page of how a piece feels: numbers against closed forms, typing, the pointer, the ringed place."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import scaled
from formsketch.design.model import Design, Form, Run, Span, Variant
from formsketch.ui.feel_page import FeelPage
from formsketch.ui.help_bench import bench_page
from formsketch.ui.theme import current_palette
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import trigger
from tests.support.feeling import arc, even, piece

# The platform without a screen has no window whose size could be hinted at, nor one to bring to the front.
pytestmark = pytest.mark.qt_log_ignore(r"This plugin does not support ")

R = 10.0
PATIENCE_S = 10.0

Open = Callable[[Design], tuple[Window, FeelPage]]


def hoop() -> Design:
    """The slit hoop of R 10, d 1.02, E 100 GPa, Sy 300 MPa."""
    return piece(arc(R, 360)).design


def wait_for(ready: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_S
    while not ready():
        assert time.monotonic() < until, "nothing came"
        QApplication.processEvents()
        time.sleep(0.005)


def shown(page: FeelPage) -> str:
    return page.numbers.one.value.text()  # type: ignore[attr-defined]


@pytest.fixture
def open_page(open_window: Callable[..., Window]) -> Open:
    def open_it(design: Design) -> tuple[Window, FeelPage]:
        window = open_window(design)
        trigger(window, "show_feel")
        page = next(p for p in window.findChildren(FeelPage) if p.isVisible())
        wait_for(lambda: bool(shown(page)))
        return window, page

    return open_it


def type_in(field, text: str) -> None:
    field.setFocus()
    field.selectAll()
    events.keys(field, text)
    events.key(field, Qt.Key.Key_Return)


def test_the_slit_hoop(open_page: Open) -> None:
    # [D] 1 N opens it 1.7737832180 mm, so 1 mm takes 0.5638 N; a set from 1.5627577766 N, opened 2.77 mm.
    _, page = open_page(hoop())
    assert not page.isModal()
    assert shown(page) == "0.56 N"
    assert page.numbers.first_set.value.text() == "1.56 N"
    assert page.numbers.set_move.value.text() == "2.77 mm"
    # 5 mm, as first asked: 2.82 N, past the set.
    assert (page.numbers.typed.value.text(), page.numbers.typed.aside.text()) == ("2.82 N", "past the set")
    assert "1.0 × as stiff as a plain round wire" in page.numbers.to_round.text()
    assert "31.42 mm along from the start mark" in page.numbers.place.text()
    assert not page.numbers.beside.isVisible()


def test_it_follows_the_design_and_what_is_typed(open_page: Open) -> None:
    window, page = open_page(hoop())
    type_in(page.move_field, "2 mm")
    wait_for(lambda: page.numbers.typed.value.text() == "1.13 N")
    # Twice the size in the same wire: eight times as easy to open.
    window.session.change("Scale", scaled(window.session.design, 2.0))
    wait_for(lambda: shown(page) == "0.070 N")
    window.session.undo()
    wait_for(lambda: shown(page) == "0.56 N")


def test_the_other_ways_of_bending_it(open_page: Open) -> None:
    window, page = open_page(hoop())
    page.kind_choice.setFocus()
    events.key(page.kind_choice, Qt.Key.Key_End)
    page.kind_choice.activated.emit(page.kind_choice.currentIndex())
    assert page.kind == "ring"
    # [M] Roark: a joined ring across, 0.1487783910 R^3/EI, against the slit one's 3 pi R^3/EI.
    wait_for(lambda: shown(page) == "35.7 N")
    events.key(page.kind_choice, Qt.Key.Key_Home)
    events.key(page.kind_choice, Qt.Key.Key_Down)
    page.kind_choice.activated.emit(page.kind_choice.currentIndex())
    assert page.kind == "wrist"
    wait_for(lambda: "these two meet" in page.numbers.caution.text())
    assert page.numbers.caution.isVisible()
    assert (shown(page), page.numbers.place.text(), window.canvas.place_shown) == ("-", "", None)


def test_a_straight_bar_bends_over_the_wrist_by_degrees(open_page: Open) -> None:
    # [P] M = EI theta/L: 100000 x pi/64 x 1.02^4 x 1 degree / 40 mm = 2.318 N mm; no strength is known.
    _, page = open_page(piece(Span(length_mm=40.0), yield_mpa=None).design)
    assert "runs straight" in page.numbers.caution.text()
    page.kind_choice.setCurrentIndex(page.kind_choice.findData("wrist"))
    page.kind_choice.activated.emit(page.kind_choice.currentIndex())
    wait_for(lambda: shown(page) == "2.32 N·mm")
    assert page.numbers.first_set.value.text() == "unknown"
    type_in(page.move_field, "30 deg")
    wait_for(lambda: page.numbers.typed.value.text() == "69.6 N·mm")
    # Thirty degrees are no small movement.
    assert "guide" in page.numbers.caution.text()


def test_a_soft_place_typed_and_pointed_at(open_page: Open) -> None:
    # [D] the set goes by the arm from the line of the pull at the soft place, R (1 - cos(s/R)), where
    # hammered metal is strong enough elsewhere.
    window, page = open_page(piece(arc(R, 360, even(0.5)), metal="brass-c26000").design)
    hard = page.numbers.first_set.value.text()
    page.softened.setFocus()
    events.key(page.softened, Qt.Key.Key_Space)
    wait_for(lambda: page.numbers.first_set.value.text() != hard)
    # Without a span chosen it begins in the middle, where the hoop bends first.
    assert page.soft_at.text() == "31.42 mm"
    middle = page.numbers.first_set.value.text()
    assert middle == page.numbers.annealed.value.text()
    type_in(page.soft_at, "60 mm")
    wait_for(lambda: page.numbers.first_set.value.text() == hard)
    assert page.soft_at.text() == "60.00 mm"
    events.key(page.by_pointer, Qt.Key.Key_Space)
    canvas = window.canvas
    at_mm = complex(canvas.wire.trace.z_mm[len(canvas.wire.trace.z_mm) // 2])
    events.move(canvas, canvas.view.to_px(at_mm))
    wait_for(lambda: page.numbers.first_set.value.text() == middle)
    assert page.soft_at.text() == "31.42 mm"
    # The place stays when the pointer leaves the wire.
    events.move(canvas, QPointF(30, 30))
    QApplication.processEvents()
    assert page.soft_at.text() == "31.42 mm"


def test_wrong_numbers_change_nothing(open_page: Open) -> None:
    _, page = open_page(hoop())
    for field, text, told in (
        (page.move_field, "much", "a number was expected"),
        (page.move_field, "0", "above 0"),
        (page.to_field, "99 mm", "62.83 mm long"),
    ):
        type_in(field, text)
        assert told in page.fault_text(), text
        events.key(field, Qt.Key.Key_Escape)
    assert page.question().to_mm is None
    assert shown(page) == "0.56 N"
    # Half of the hoop alone: pi/2 in place of 3 pi, so six times as stiff.
    type_in(page.to_field, f"{np.pi * R:.4f} mm")
    wait_for(lambda: shown(page) == "3.38 N")
    type_in(page.to_field, " ")
    wait_for(lambda: shown(page) == "0.56 N")


def test_the_place_is_ringed_on_the_form(open_page: Open) -> None:
    window, page = open_page(hoop())
    canvas = window.canvas
    wait_for(lambda: canvas.place_shown is not None)
    place = canvas.place_shown
    assert place is not None
    at = canvas.view.to_px(complex(canvas.wire.trace.z_mm[round(place)]))

    def ringed() -> bool:
        picture, colour = canvas.grab().toImage(), current_palette().caution
        near = range(-30, 31)
        ratio = picture.devicePixelRatio()
        pixels = {
            picture.pixelColor(int((at.x() + dx) * ratio), int((at.y() + dy) * ratio)).name()
            for dx in near
            for dy in near
        }
        return colour in pixels

    assert ringed()
    page.close()
    assert canvas.place_shown is None
    assert not ringed()
    # It comes again with the page.
    trigger(window, "show_feel")
    wait_for(lambda: canvas.place_shown is not None)


def test_beside_the_variants(open_page: Open) -> None:
    design = replace(
        piece(arc(R, 300)).design,
        variants=(Variant(title="thin", diameter_mm=0.51), Variant(title="large", scale=2.0)),
    )
    _, page = open_page(design)
    assert page.numbers.beside.isVisible()
    rows = [
        [page.numbers.beside.item(row, column).text() for column in range(3)]  # type: ignore[union-attr]
        for row in range(page.numbers.beside.rowCount())
    ]
    # d^4 and d^3; R^3 and R.
    assert rows == [["thin", "16 ×", "8.0 ×"], ["large", "8.0 ×", "2.0 ×"]]


def test_no_form_breaks_it(open_page: Open) -> None:
    window, page = open_page(hoop())
    spiral = Form(runs=(Run(spans=(Span(length_mm=60.0, turn_deg=720, skew_deg=300),)),))
    window.session.replace(replace(hoop(), form=spiral))
    for kind in ("open", "wrist", "lift", "ring"):
        page.kind_choice.setCurrentIndex(page.kind_choice.findData(kind))
        page.notes.setText("waiting")
        page.refresh()
        wait_for(lambda: page.notes.text() != "waiting")
        assert bool(page.numbers.caution.text()) or shown(page) != "-"


def test_the_help_says_what_a_newton_is() -> None:
    html = bench_page()
    assert "102 g" in html and "Bench, Feel" in html
