"""Pages of the menus Compare and Bench: same as, brass sample, price, own pieces; driven by real events.

Sources: sterling 10.36 and C26000 8.53 g/cm3 [P], so the same weight takes 1.29 sqrt(8.53/10.36) mm [D]; AWG
numbers: ASTM B258 [P]; sums by hand.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QDate, QPointF, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QFileDialog, QLineEdit, QWidget

from formsketch.bench.rates import Finding, MetalPrice, Prices, load_prices, save_prices
from formsketch.comparison.same_as import quantities
from formsketch.comparison.variants import candidates_of
from formsketch.design.edits import with_variants
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Form, Run, Span, Variant, Wire
from formsketch.design.starters import make_starter
from formsketch.errors import TableError
from formsketch.evaluation.evaluate import evaluate
from formsketch.ui import bench_commands, compare_commands
from formsketch.ui.brass_sample_dialog import BrassSampleDialog
from formsketch.ui.pieces_page import PiecesPage
from formsketch.ui.price_dialog import PriceDialog
from formsketch.ui.same_as_dialog import SameAsDialog
from formsketch.ui.theme import use_appearance
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
STERLING = Wire(metal="sterling-925", diameter_mm=1.02)
STRAIGHT = Design(title="Wire", wire=STERLING, form=Form(runs=(Run(spans=(Span(length_mm=100.0),)),)))
Show = Callable[[QWidget], QWidget]


@pytest.fixture(autouse=True)
def rates_beside(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    file = tmp_path / "own" / "rates.json"
    for module in (bench_commands, compare_commands):
        monkeypatch.setattr(module, "rates_file", lambda: file)
    return file


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


def enter(field: QLineEdit, text: str) -> None:
    """Type over what stands in a field and press Enter."""
    field.setFocus()
    field.selectAll()
    events.keys(field, text)
    events.key(field, Qt.Key.Key_Return)
    QApplication.processEvents()


def choose(box: QComboBox, text: str) -> None:
    """Choose as with the arrow keys."""
    row = next(i for i in range(box.count()) if text in box.itemText(i))
    box.setFocus()
    while box.currentIndex() != row:
        events.key(box, Qt.Key.Key_Down if box.currentIndex() < row else Qt.Key.Key_Up)
    QApplication.processEvents()


def solved(dialog: SameAsDialog) -> None:
    """Wait until what was asked last is shown; it is solved off the window's thread."""
    for _ in range(2_000):
        if not dialog.work.is_busy:
            return
        QTest.qWait(10)
    raise AssertionError("nothing came of it")


def click(widget: QWidget) -> None:
    events.click(widget, QPointF(widget.rect().center()))
    QApplication.processEvents()


def field_of(dialog: QWidget, name: str) -> QLineEdit:
    (field,) = [f for f in dialog.findChildren(QLineEdit) if f.accessibleName() == name]
    return field


# The same look, weight or price


def test_the_same_weight_in_silver_becomes_a_variant_in_one_step(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(cuff())
    before = window.session.design

    def act(dialog: SameAsDialog) -> None:
        choose(dialog.keep, "weight")
        choose(dialog.metal, "Sterling")
        solved(dialog)
        # sqrt(8.53 / 10.36); the ends and all weigh alike in both.
        exact = dialog.offers.row_texts(1)
        assert exact[0].startswith("exact: ")
        assert float(exact[0].split()[1]) == pytest.approx(1.29 * math.sqrt(8.53 / 10.36), rel=0.02)
        assert "same" in exact[4]
        assert dialog.offers.row_texts(0)[0].startswith("17 gauge (1.15 mm)")
        assert dialog.offers.row_texts(2)[0].startswith("16 gauge (1.29 mm)")
        dialog.offers.setFocus()
        events.key(dialog.offers, Qt.Key.Key_Down)
        events.key(dialog.offers, Qt.Key.Key_Down)
        assert dialog.chosen is not None and dialog.chosen.label == "16 gauge"
        enter(dialog.name, "silver, a little heavier")
        assert dialog.isVisible()  # Enter takes the name, the button ends it
        click(dialog.add)

    asked.drive(SameAsDialog, act)
    trigger(window, "keep_same")
    session = window.session
    (variant,) = session.design.variants
    assert (variant.title, variant.metal) == ("silver, a little heavier", "sterling-925")
    assert variant.diameter_mm == pytest.approx(1.290846, rel=1e-6)
    assert (session.step_count, session.undo_name) == (1, "Variant silver, a little heavier")
    trigger(window, "undo")
    assert session.design is before
    assert not asked.explained


def test_another_size_is_typed_and_a_wrong_one_explained(show: Show) -> None:
    dialog = show(SameAsDialog(None, cuff(), quantities(Prices())))
    assert isinstance(dialog, SameAsDialog)
    enter(dialog.form_size, "150 %")
    solved(dialog)
    # The look, loop / wire, is kept by a wire enlarged alike.
    assert float(dialog.offers.row_texts(1)[0].split()[1]) == pytest.approx(1.935, abs=0.002)
    assert dialog.answer.text().startswith("Wire of 1.93")
    enter(dialog.form_size, "9000")
    assert "A size from 5 to 2000 % was expected." in dialog._fault.text()
    events.key(dialog.form_size, Qt.Key.Key_Escape)
    assert dialog.isVisible()
    choose(dialog.unknown, "size")
    assert dialog.gauge.isVisible() and not dialog.form_size.isVisible() and not dialog.system.isVisible()
    enter(dialog.gauge, "18 ga")
    solved(dialog)
    assert dialog.answer.text().startswith("79.4 % of the size keeps")  # 1.023687 / 1.29
    assert dialog.offers.rowCount() == 1


def test_what_has_no_solution_is_explained_and_cannot_be_added(show: Show) -> None:
    dialog = show(SameAsDialog(None, cuff(), quantities(Prices())))
    assert isinstance(dialog, SameAsDialog)
    choose(dialog.keep, "price")
    solved(dialog)
    assert dialog._fault.isVisible()
    assert dialog._fault.text() == "No price has been entered for Brass C26000 (70/30)."
    assert dialog.offers.rowCount() == 0
    assert not dialog.add.isEnabled()
    choose(dialog.keep, "weight")
    solved(dialog)
    assert not dialog._fault.isVisible()
    assert dialog.add.isEnabled()


# The brass sample


def test_a_brass_sample_of_a_gold_piece_becomes_a_variant(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(make_starter("s-ring", Wire(metal="gold-14k-yellow-us", diameter_mm=1.2)))

    def act(dialog: BrassSampleDialog) -> None:
        labels = [dialog.rows.row_texts(i)[0] for i in range(dialog.rows.rowCount())]
        assert labels[:2] == ["Weight", "Stiffness"] and {"Spread", "Melting"} <= set(labels)
        assert "1.20 mm" in dialog.answer.text()
        choose(dialog.system, "metric")
        choose(dialog.wire, "2.3 mm")
        assert "2.30 mm" in dialog.answer.text()
        assert "192 %" in dialog.wire.currentText()  # 2.3 / 1.2
        click(dialog.add)

    asked.drive(BrassSampleDialog, act)
    trigger(window, "sample_in_brass")
    (variant,) = window.session.design.variants
    assert (variant.metal, variant.diameter_mm) == ("brass-c26000", 2.3)
    assert variant.scale == pytest.approx(2.3 / 1.2)
    assert window.session.step_count == 1


def test_a_brass_piece_has_no_brass_sample(open_window: Callable[..., Window], asked: Asked) -> None:
    trigger(open_window(cuff()), "sample_in_brass")
    assert asked.explained == ["A piece of silver or gold was expected; this one is Brass C26000 (70/30)."]


# The price


def test_rates_are_typed_priced_and_kept(
    open_window: Callable[..., Window], asked: Asked, rates_beside: Path
) -> None:
    window = open_window(with_variants(STRAIGHT, (Variant(title="long", scale=2.0),)))

    def act(dialog: PriceDialog) -> None:
        assert "No price has been entered for Sterling silver 925." in dialog.sheet.text()
        assert dialog.basis.currentText() == "fine silver"
        assert field_of(dialog, "Fineness, in 1000").text() == "925"
        enter(field_of(dialog, "Price"), "31.1034768")
        enter(dialog.currency, "EUR")
        enter(field_of(dialog, "An hour"), "60")
        enter(field_of(dialog, "Finish"), "20")
        enter(field_of(dialog, "Retail"), "2")
        # 0.84654487 g at 0.925, and 20 minutes; its variant twice as long.
        assert "20.78 EUR" in dialog.sheet.text() and "41.57 EUR" in dialog.sheet.text()
        assert "21.57 EUR" in dialog.sheet.text()
        enter(field_of(dialog, "Retail"), "0.5")
        assert dialog._fault.text() == "Retail times: expected a number of at least 1.0."
        assert dialog.prices.retail_times == 2.0
        enter(field_of(dialog, "An hour"), "much")
        assert '"much": a number was expected' in dialog._fault.text()
        accept(dialog)

    asked.drive(PriceDialog, act)
    trigger(window, "show_price")
    kept = load_prices(rates_beside)
    assert (kept.currency, kept.rate_per_hour, kept.retail_times) == ("EUR", 60.0, 2.0)
    assert (kept.fine[0].of, kept.fine[0].price, kept.fine[0].per) == ("silver", 31.1034768, "ozt")
    # The design is as it was, and carries no rates.
    assert window.session.step_count == 0
    assert b"EUR" not in design_bytes(window.session.design)


def accept(dialog: QWidget) -> None:
    from PySide6.QtWidgets import QDialogButtonBox

    (buttons,) = dialog.findChildren(QDialogButtonBox)
    click(buttons.button(QDialogButtonBox.StandardButton.Ok))


def test_a_metal_can_be_priced_as_it_is_bought(show: Show, rates_beside: Path) -> None:
    save_prices(rates_beside, Prices(fine=(MetalPrice(of="silver", price=1.0, per="g", date="2026-11-20"),)))
    dialog = show(PriceDialog(None, candidates_of(STRAIGHT), rates_beside))
    assert isinstance(dialog, PriceDialog)
    assert "of fine silver" in dialog.sheet.text()
    choose(dialog.basis, "as bought")
    assert not field_of(dialog, "Fineness, in 1000").isEnabled()
    choose(dialog.per, "dwt")
    enter(field_of(dialog, "Price"), "10")
    assert "at 10.00 per dwt<" in dialog.sheet.text()
    choose(dialog.per, "g")
    assert "at 10.00 per g<" in dialog.sheet.text()
    assert "8.47" in dialog.sheet.text()
    choose(dialog.basis, "fine silver")
    assert dialog.day.date().toString("yyyy-MM-dd") == "2026-11-20"
    enter(field_of(dialog, "Price"), "1.1")
    assert dialog.day.date() == QDate.currentDate()  # typed anew, it is of today
    enter(field_of(dialog, "Fineness, in 1000"), "930")
    assert "930 in 1000 fine" in dialog.sheet.text()
    assert [alloy.fineness for alloy in dialog.prices.alloys] == [0.93]


def test_findings_are_typed_into_their_table(show: Show, rates_beside: Path) -> None:
    dialog = show(PriceDialog(None, candidates_of(STRAIGHT), rates_beside))
    assert isinstance(dialog, PriceDialog)
    table = dialog.findings

    def fill(row: int, column: int, text: str) -> None:
        item = table.item(row, column)
        assert item is not None
        item.setText(text)

    fill(0, 0, "Ear nut")
    fill(0, 1, "0.75")
    fill(0, 2, "2")
    assert dialog.prices.findings == (Finding(name="Ear nut", price=0.75, count=2),)
    assert "1.50" in dialog.sheet.text()
    fill(0, 1, "dear")
    assert '"dear": a price of 0 or more was expected' in dialog._fault.text()
    assert dialog.prices.findings[0].price == 0.75
    fill(0, 0, "")
    assert dialog.prices.findings == ()
    assert table.rowCount() == 1


def test_bad_rates_are_explained_and_left_as_they_are(
    open_window: Callable[..., Window], asked: Asked, rates_beside: Path
) -> None:
    rates_beside.parent.mkdir()
    rates_beside.write_text("{")
    trigger(open_window(cuff()), "show_price")
    assert len(asked.explained) == 1 and "sound JSON was expected" in asked.explained[0]
    assert rates_beside.read_text() == "{"
    with pytest.raises(TableError):
        PriceDialog(None, candidates_of(STRAIGHT), rates_beside)


# The maker's own pieces


def write(file: Path, design: Design) -> Path:
    file.write_bytes(design_bytes(design))
    return file


def test_pieces_are_put_on_the_scales_missed_and_taken_away(
    show: Show, asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = write(tmp_path / "own.formsketch.json", cuff())
    thin = replace(cuff(), title="Thin cuff", wire=replace(BRASS, diameter_mm=1.0))
    other = write(tmp_path / "thin.formsketch.json", thin)
    settings = QSettings()
    page = show(PiecesPage(None, candidates_of(cuff()), settings, own))
    assert isinstance(page, PiecesPage)
    click(page.put)
    assert [piece.title for piece in page.pieces] == ["Open cuff"]
    names = ([str(other), str(tmp_path / "none.formsketch.json")], "")
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", staticmethod(lambda *_: names))
    click(page.add)
    assert [piece.title for piece in page.pieces] == ["Open cuff", "Thin cuff"]
    assert "there is no such file" in page._fault.text()
    # Not compared with itself: only the other one counts.
    assert any("stouter than Thin cuff" in said for said in page.scales.sentences())
    assert not page.grab().isNull()
    other.unlink()
    again = show(PiecesPage(None, candidates_of(cuff()), settings, own))
    assert isinstance(again, PiecesPage)
    assert [again.list.item(i).text() for i in range(2)] == ["Open cuff", "Thin cuff (its file is gone)"]
    click(again.again)
    assert len(again.pieces) == 2  # its numbers are still those of the time
    again.list.setFocus()
    events.key(again.list, Qt.Key.Key_Down)
    click(again.remove)
    assert [row["title"] for row in json.loads(str(settings.value("pieces")))] == ["Open cuff"]


def test_a_design_without_a_file_cannot_be_put_there(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    seen = []

    def act(page: PiecesPage) -> None:
        seen.append((page.put.isEnabled(), page.put.toolTip()))

    asked.drive(PiecesPage, act)
    trigger(open_window(cuff()), "show_own_pieces")
    assert seen == [(False, "Save the design first; its file is what is kept.")]


@pytest.mark.parametrize("appearance", ["light", "dark"])
def test_every_page_is_drawn_light_and_dark(
    qapp: QApplication, show: Show, rates_beside: Path, appearance: str
) -> None:
    gold = make_starter("s-ring", Wire(metal="gold-14k-yellow-us", diameter_mm=1.2))
    use_appearance(qapp, appearance)
    pages = (
        SameAsDialog(None, gold, quantities(Prices())),
        BrassSampleDialog(None, evaluate(gold)),
        PriceDialog(None, candidates_of(gold), rates_beside),
        PiecesPage(None, candidates_of(gold), QSettings(), None),
    )
    for page in pages:
        show(page)
        assert page.width() <= 1366 and page.height() <= 768
        image = page.grab().toImage()
        assert (image.pixelColor(3, 3).lightness() > 128) == (appearance == "light")
    use_appearance(qapp, "system")
