"""The page True in the window, driven by real events: what is found, where it is ringed, the tolerance."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from math import radians, sin

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import SpanAddress, replace_spans
from formsketch.design.model import Design, Form, Run, Span, Wire, Worn
from formsketch.evaluation.evaluate import evaluate
from formsketch.ui.help_bench import TRUE
from formsketch.ui.true_page import TruePage
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

LOOP = Span(length_mm=4.0 * radians(230.0), turn_deg=230.0)
BANGLE = Worn(kind="bangle", standard="inside", size=200.0)


def waves(off_deg: float = 0.0, worn: Worn | None = BANGLE) -> Design:
    """Nine free loops turned over one from the next, the fifth turned further."""
    loops = [LOOP, *[replace(LOOP, turned_over=True)] * 8]
    loops[4] = replace(loops[4], turn_deg=230.0 + off_deg)
    wire = Wire(metal="brass-c26000", diameter_mm=1.2)
    return Design(title="Waves", wire=wire, form=Form(runs=(Run(spans=tuple(loops)),)), worn=worn)


def settle(page: TruePage, done: Callable[[], bool]) -> None:
    until = time.monotonic() + 20.0
    while not done():
        assert time.monotonic() < until, page.verdict.text()
        QApplication.processEvents()
        time.sleep(0.002)


@pytest.fixture
def opened(open_window: Callable[..., Window]) -> Iterator[Callable[[Design], tuple[Window, TruePage]]]:
    pages = []

    def open_it(design: Design) -> tuple[Window, TruePage]:
        window = open_window(design)
        trigger(window, "check_truth")
        (page,) = (one for one in window.findChildren(TruePage) if one.isVisible())
        pages.append(page)
        settle(page, lambda: bool(page.found))
        return window, page

    yield open_it
    for page in pages:
        page.close()


def click_row(page: TruePage, row: int) -> None:
    item = page.table.item(row, 0)
    assert item is not None
    page.table.scrollToItem(item)
    events.click(page.table.viewport(), QPointF(page.table.visualItemRect(item).center()))
    QApplication.processEvents()


def test_what_is_off_is_first_and_ringed_on_the_form(opened: Callable[..., tuple[Window, TruePage]]) -> None:
    window, page = opened(waves(6.0))
    assert "not true within 0.20 mm" in page.verdict.text()
    assert page.table.row_texts(0)[0] == "spans 4 and 6"
    assert "too narrow" in page.table.row_texts(0)[4]
    canvas, trace = window.canvas, window.session.evaluation.trace
    places = (canvas.place_shown, canvas.other_place_shown)
    assert None not in places
    # On the two loops beside the mouth that is off: the fourth and the sixth.
    assert [int(trace.part[int(place)]) for place in places if place is not None] == [3, 5]
    clear = next(i for i, one in enumerate(page.found) if one.texts[4] == "even")
    click_row(page, clear)
    assert (canvas.place_shown, canvas.other_place_shown) == page.found[clear].places
    events.key(page.table, Qt.Key.Key_Up)
    QApplication.processEvents()
    assert canvas.place_shown == page.found[clear - 1].places[0]
    page.close()
    assert (canvas.place_shown, canvas.other_place_shown) == (None, None)


def test_the_tolerance_decides(opened: Callable[..., tuple[Window, TruePage]]) -> None:
    _, page = opened(waves(6.0))
    page.tolerance.setFocus()
    page.tolerance.selectAll()
    events.keys(page.tolerance, "4 mm")
    events.key(page.tolerance, Qt.Key.Key_Return)
    settle(page, lambda: page.verdict.text() == "True within 4.00 mm.")
    page.tolerance.selectAll()
    events.keys(page.tolerance, "90")
    events.key(page.tolerance, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert "from 0.01 to 20 mm was expected" in page.fault_text()
    assert page.verdict.text() == "True within 4.00 mm."


def test_it_follows_the_design(opened: Callable[..., tuple[Window, TruePage]]) -> None:
    window, page = opened(waves())
    assert page.verdict.text() == "True within 0.20 mm."
    design = window.session.design
    loop = design.form.runs[0].spans[4]
    turned = replace_spans(design, {SpanAddress(0, 4): replace(loop, turn_deg=240.0)})
    window.session.change("Turn a loop", turned)
    settle(page, lambda: "not true" in page.verdict.text())
    window.session.undo()
    settle(page, lambda: page.verdict.text() == "True within 0.20 mm.")


def test_rolled_only_where_the_design_says_so(opened: Callable[..., tuple[Window, TruePage]]) -> None:
    _, page = opened(waves(worn=None))
    assert "Fit to a size" in page.rows.text()
    assert all(one.texts[2] == "" for one in page.found)


def test_figures_are_those_of_the_form(opened: Callable[..., tuple[Window, TruePage]]) -> None:
    # [D] two pitches less two radii and the wire: the pitch 2 x 4 x sin 115 degrees.
    _, page = opened(waves())
    assert "7 openings: mean 5.30 mm" in page.rows.text()
    assert evaluate(waves()).smallest_gap_mm == pytest.approx(5.30, abs=0.005)
    # The worked example of the help is this row.
    pitch_mm = 2 * 4.0 * sin(radians(115.0))
    assert f"= {pitch_mm:.2f} mm" in TRUE
    assert f"<b>{2 * pitch_mm - 8.0 - 1.2:.2f} mm</b>" in TRUE
