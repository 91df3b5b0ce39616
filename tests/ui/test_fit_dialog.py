"""Fit to a size, driven by real events: what it becomes, the ways there, one step to undo, five variants.

Sources: BS 6820, N is 53.75 mm round [P]; the common US chart, 7 is 17.32 mm across [P]; ease on the wrist is
common practice.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from math import pi
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget

from formsketch.bench.ring_sizes import ring_circumference_mm
from formsketch.design.edits import applied
from formsketch.design.model import BeadEnd, Design, Form, Run, Span, Wire, Worn
from formsketch.design.starters import make_starter
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.worn import reached_mm
from formsketch.ui.fit_dialog import FitDialog
from formsketch.ui.help_bench import FIT
from formsketch.ui.theme import use_appearance
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, trigger
from tests.support.pixels import colours

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Key = Qt.Key
BRASS = Wire(metal="brass-c26000", diameter_mm=1.3)
Show = Callable[[QWidget], QWidget]


def row(**more: Any) -> Design:
    """Loops turned over one from the next, 10 of them."""
    loop = Span(length_mm=20.0, turn_deg=230.0, turned_over=True)
    return Design(title="Row", wire=BRASS, form=Form(runs=(Run(spans=(loop,), times=10),)), **more)


def band(**more: Any) -> Design:
    """A plain band, quickly fitted: nothing in it repeats."""
    return Design(title="Band", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=190.0),)),)), **more)


def settle(widget: QWidget) -> None:
    """Let what the dialog works out beside the window come to its end."""
    dialog, until = widget.window(), time.monotonic() + 20.0
    QApplication.processEvents()
    while isinstance(dialog, FitDialog) and dialog.isVisible() and dialog.busy:
        assert time.monotonic() < until
        QApplication.processEvents()
        time.sleep(0.01)


def shown(show: Show, design: Design) -> FitDialog:
    dialog = FitDialog(None, evaluate(design))
    show(dialog)
    dialog.activateWindow()
    settle(dialog)
    return dialog


def enter(field: QLineEdit, text: str) -> None:
    field.setFocus()
    field.selectAll()
    events.keys(field, text)
    events.key(field, Key.Key_Return)
    settle(field)


def choose(box: QComboBox, text: str) -> None:
    row_at = next(i for i in range(box.count()) if text in box.itemText(i))
    box.setFocus()
    while box.currentIndex() != row_at:
        events.key(box, Key.Key_Down if box.currentIndex() < row_at else Key.Key_Up)
    settle(box)


def click(widget: QWidget) -> None:
    events.click(widget, QPointF(widget.rect().center()))
    QApplication.processEvents()


def choose_way(dialog: FitDialog, way: str) -> None:
    settle(dialog)
    rows = [dialog.ways.row_texts(i)[0] for i in range(dialog.ways.rowCount())]
    item = dialog.ways.item(rows.index(way), 0)
    assert item is not None
    dialog.ways.scrollToItem(item)
    events.click(dialog.ways.viewport(), QPointF(dialog.ways.visualItemRect(item).center()))
    settle(dialog)


def test_one_way_is_one_step_to_undo(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(row())
    before = window.session.design

    def act(dialog: FitDialog) -> None:
        choose(dialog.fields.kind, "ring")
        choose(dialog.fields.standard, "UK")
        enter(dialog.fields.size_field, "N")
        assert "53.75 mm round" in dialog.wanted.text()
        choose_way(dialog, "more or fewer repeats")
        click(dialog.fit_so)

    asked.drive(FitDialog, act)
    trigger(window, "fit_to_size")
    design = window.session.design
    assert design.worn == Worn(kind="ring", standard="uk", size=14.0)
    assert design.worn is not None
    assert reached_mm(evaluate(design), design.worn) == pytest.approx(53.75, abs=0.01)
    assert design.form.runs[0].times != 10
    assert window.session.undo_name == "Fit to UK N"
    window.session.undo()
    assert window.session.design == before


def test_five_sizes_become_variants_in_one_step(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(row(worn=Worn(kind="ring", standard="us", size=7.0)))

    def act(dialog: FitDialog) -> None:
        settle(dialog)
        rows = [dialog.sizes.row_texts(row) for row in range(dialog.sizes.rowCount())]
        assert [row[0] for row in rows] == [f"US {n}" for n in (5, 6, 7, 8, 9)]
        # Sizes apart by the same step are cut apart by the same step, the ends and the wire being the same.
        cuts = [float(row[2].removesuffix(" mm")) for row in rows]
        assert cuts == sorted(cuts)
        assert cuts[2] - cuts[0] == pytest.approx(cuts[4] - cuts[2], abs=0.3)
        click(dialog.five)

    asked.drive(FitDialog, act)
    trigger(window, "fit_to_size")
    design = window.session.design
    assert [variant.title for variant in design.variants] == [f"US {n}" for n in (5, 6, 7, 8, 9)]
    assert window.session.step_count == 1
    assert design.worn is not None
    for n, variant in enumerate(design.variants, start=5):
        size = reached_mm(evaluate(applied(design, variant)), design.worn)
        assert size == pytest.approx(ring_circumference_mm("us", n), abs=0.01)


def test_only_what_it_becomes_is_said(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(row())
    form = window.session.design.form

    def act(dialog: FitDialog) -> None:
        choose(dialog.fields.kind, "bangle")
        click(dialog.only_say)

    asked.drive(FitDialog, act)
    trigger(window, "fit_to_size")
    design = window.session.design
    assert design.worn == Worn(kind="bangle", standard="inside", size=200.0)
    assert design.form == form
    assert window.session.undo_name == "Becomes a bangle, 200 mm round"


def test_thought_better_of_it(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(row())

    def act(dialog: FitDialog) -> None:
        events.key(dialog, Key.Key_Escape)

    asked.drive(FitDialog, act)
    trigger(window, "fit_to_size")
    assert window.session.step_count == 0


def test_the_same_size_said_another_way(show: Show) -> None:
    dialog = shown(show, band(worn=Worn(kind="ring", standard="us", size=7.0)))
    choose(dialog.fields.standard, "inside diameter")
    # [P] US 7 is 17.32 mm across.
    assert dialog.fields.size_field.text() == "17.32 mm"
    choose(dialog.fields.standard, "ISO")
    assert dialog.fields.size_field.text() == "54"
    choose(dialog.fields.standard, "Japanese")
    assert dialog.fields.size_field.text() == "14"


def test_ease_is_named_and_only_where_it_is_meant(show: Show) -> None:
    dialog = shown(show, band())
    choose(dialog.fields.kind, "bracelet")
    assert dialog.fields.ease.isVisible()
    for typed, name in (("8", "snug"), ("20", "comfortable"), ("28", "loose"), ("40", "")):
        enter(dialog.fields.ease, typed)
        assert dialog.fields.ease_row.aside.text() == name
        assert f"{170 + float(typed):.1f} mm round" in dialog.wanted.text()
    choose(dialog.fields.kind, "ring")
    assert not dialog.fields.ease.isVisible()


def test_an_oval_has_the_same_blank_and_another_drawing(show: Show) -> None:
    dialog = shown(show, band(worn=Worn(kind="bangle", standard="inside", size=200.0)))
    wanted, drawn = dialog.wanted.text(), dialog.drawing.grab().toImage()
    enter(dialog.fields.aspect, "80 %")
    blank = "flat it must be"
    assert wanted[wanted.index(blank) :] == dialog.wanted.text()[dialog.wanted.text().index(blank) :]
    assert dialog.drawing.grab().toImage() != drawn
    said = dialog.drawing.accessibleDescription()
    # [D] depth over width 0.8, each the round's 63.66 mm more or less.
    width, depth = (float(part) for part in said.split("wanted ")[1].removesuffix(" mm.").split(" mm by "))
    assert f"inside {width:.2f} by {depth:.2f} mm" in said
    assert depth / width == pytest.approx(0.8, abs=1e-3)
    assert depth < 200 / pi < width


def test_a_gap_leaves_out_its_own_length(show: Show) -> None:
    dialog = shown(show, band(worn=Worn(kind="cuff", standard="wrist", size=165.0)))
    before = float(dialog.now.text().split("</b> ")[1].split(" mm")[0])
    enter(dialog.fields.gap, "25")
    assert float(dialog.now.text().split("</b> ")[1].split(" mm")[0]) == pytest.approx(before + 25, abs=0.11)
    enter(dialog.fields.gap, "-5 mm")
    assert float(dialog.now.text().split("</b> ")[1].split(" mm")[0]) == pytest.approx(before - 5, abs=0.11)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("size_field", "nine", "a size in US"),
        ("size_field", "40", "from 0 to 20"),
        ("aspect", "2", "from 0.3 to 1"),
        ("gap", "900", "at most 500"),
    ],
)
def test_what_cannot_be_is_told_and_changes_nothing(show: Show, name: str, text: str, told: str) -> None:
    dialog = shown(show, band(worn=Worn(kind="ring", standard="us", size=7.0)))
    wanted = dialog.wanted.text()
    enter(getattr(dialog.fields, name), text)
    assert told in dialog._fault.text()
    assert dialog._fault.isVisible()
    assert dialog.wanted.text() == wanted


def test_a_way_that_cannot_be_says_why_and_cannot_be_chosen(show: Show) -> None:
    dialog = shown(show, make_starter("s-ring", BRASS))
    choose_way(dialog, "size of the loops")
    assert "Nothing repeats in this form." in dialog.ways.row_texts(dialog.ways.currentRow())
    assert not dialog.fit_so.isEnabled()
    choose_way(dialog, "scale of the form")
    assert dialog.fit_so.isEnabled()


def test_a_hoop_is_worn_as_it_is_laid(show: Show) -> None:
    dialog = shown(show, make_starter("hoop", BRASS))
    assert dialog.fields.kind.currentText() == "hoop"
    assert dialog.fields.made.currentText() == "worn as it is laid"
    # Laid it is only seen flat; rolled from all sides.
    assert "front" not in dialog.drawing.accessibleDescription()
    choose(dialog.fields.made, "rolled")
    for side in ("from above", "front", "side", "back", "flat"):
        assert side in dialog.drawing.accessibleDescription()


def test_a_length_is_not_rolled(show: Show) -> None:
    dialog = shown(show, band())
    choose(dialog.fields.kind, "necklace")
    assert "450.0 mm long" in dialog.wanted.text()
    assert not dialog.fields.made.isVisible()
    assert "front" not in dialog.drawing.accessibleDescription()
    assert "as it is laid, 450.0 mm by" in dialog.drawing.accessibleDescription()


@pytest.mark.parametrize("appearance", ["light", "dark"])
def test_the_drawing_is_seen_in_both_appearances(show: Show, appearance: str, qapp: QApplication) -> None:
    use_appearance(qapp, appearance)
    dialog = shown(show, band(worn=Worn(kind="bracelet", standard="wrist", size=165.0, ease_mm=15.0)))
    assert len(np.unique(colours(dialog.drawing.grab().toImage())[::2, ::2])) > 3
    use_appearance(qapp, "system")


def test_the_blank_of_the_help() -> None:
    # [P trade] pi (inside diameter + thickness), 1.5 mm round wire, US 7.
    blank_mm = ring_circumference_mm("us", 7) + pi * 1.5
    assert f"= {blank_mm:.2f} mm" in FIT
    assert f"{ring_circumference_mm('us', 7):.2f} mm round" in FIT


def test_a_size_that_a_file_cannot_mean_is_begun_anew(show: Show) -> None:
    dialog = shown(show, band(worn=Worn(kind="ring", standard="us", size=90.0)))
    assert dialog.fields.size_field.text() == "7"
    assert not dialog._fault.isVisible()


def test_every_way_says_what_it_does_to_weight_wire_and_look(show: Show) -> None:
    dialog = shown(show, row(worn=Worn(kind="bracelet", standard="wrist", size=165.0, ease_mm=15.0)))
    rows = [dialog.ways.row_texts(i) for i in range(dialog.ways.rowCount())]
    assert len(rows) == 5
    for way, changes, reached, weight, wire, look, high in rows:
        assert way
        assert changes
        if reached:
            assert reached.startswith("180.0 mm round")
            assert weight.split()[1] == "g"
            assert "mm" in wire
            assert look
            assert high.endswith("mm")
    choose_way(dialog, "scale of the form")
    assert "weight to 2 %" in dialog.trust.text()


def test_what_a_way_makes_worse_is_cautioned_beside_it(show: Show) -> None:
    # Rows of brass beads: overheated brass gives off fume; the caution stands under the numbers.
    form = Form(
        runs=(Run(spans=(Span(length_mm=20.0, turn_deg=230.0, turned_over=True),), times=10),),
        start=BeadEnd(diameter_mm=2.5),
    )
    dialog = shown(
        show, Design(title="", wire=BRASS, form=form, worn=Worn(kind="ring", standard="us", size=7))
    )
    assert dialog.cautions.isVisible()
    assert "fume" in dialog.cautions.text()


def test_the_latest_size_asked_for_is_the_one_shown(show: Show) -> None:
    dialog = shown(show, band(worn=Worn(kind="ring", standard="iso", size=50.0)))
    # Typed faster than it is worked out: nothing waits, and nothing stale is shown.
    for size in ("52", "56", "60"):
        dialog.fields.size_field.setFocus()
        dialog.fields.size_field.selectAll()
        events.keys(dialog.fields.size_field, size)
        events.key(dialog.fields.size_field, Key.Key_Return)
        assert not dialog.fit_so.isEnabled()
    settle(dialog)
    assert "60.00 mm round" in dialog.wanted.text()
    assert dialog.sizes.row_texts(2)[0] == "ISO 60"
    assert dialog.fit_so.isEnabled()


def test_put_away_while_it_works(show: Show) -> None:
    dialog = FitDialog(None, evaluate(band(worn=Worn(kind="ring", standard="iso", size=50.0))))
    show(dialog)
    events.key(dialog, Key.Key_Escape)
    QApplication.processEvents()
    assert not dialog.isVisible()
    assert dialog.design is None
