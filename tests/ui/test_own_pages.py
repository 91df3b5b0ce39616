"""The pages for the maker's own hammer and alloy, from typing to the design, to the file and back."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLineEdit, QWidget

from formsketch.bench.hammers import TABLE_KIND, load_own_hammers, own_hammer
from formsketch.bench.hammers import Hammer as Row
from formsketch.bench.metals import TABLE_KIND as METALS
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import HAMMERS_FILE, METALS_FILE, keep_row
from formsketch.design.edits import change_wire
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Hammer
from formsketch.design.starters import make_starter
from formsketch.ui import help_bench
from formsketch.ui.kept_page import KeptPage
from formsketch.ui.own_alloy_dialog import OwnAlloyDialog
from formsketch.ui.own_hammer_dialog import OwnHammerDialog
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from formsketch.ui.wire_choice import WireChoice
from tests.support import events
from tests.support.asked import Asked, trigger
from tests.ui.conftest import BRASS

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

Open = Callable[..., Window]


@pytest.fixture(autouse=True)
def tables(own_tables: Path) -> Path:
    return own_tables


def type_in(field: QLineEdit, text: str) -> None:
    """Select what stands there and type over it."""
    field.setFocus()
    field.selectAll()
    events.keys(field, text)


def press(dialog: QWidget, words: str) -> None:
    """Click the button with these words."""
    button = next(b for b in dialog.findChildren(QAbstractButton) if b.text().replace("&", "") == words)
    events.click(button, QPointF(button.rect().center()))


def sample(dialog: OwnHammerDialog, row: int, *sizes: str) -> None:
    for field, text in zip(dialog.rows[row], sizes, strict=True):
        type_in(field, text)


def test_a_sample_is_told_while_it_is_typed(open_window: Open, asked: Asked) -> None:
    window = open_window()

    def act(dialog: OwnHammerDialog) -> None:
        assert dialog.words_text() == "Type what you measured."
        type_in(dialog.rows[0][0], "1 mm")
        type_in(dialog.rows[0][1], "0.5 mm")
        assert "both thickness and width" in dialog.fault_text()
        type_in(dialog.rows[0][2], "1.5")
        # [D] (1, 0.5, 1.5) -> 0.7711333156 and 1.1278792005.
        assert dialog.result_label.text().startswith("Spread 0.77 (0.67 to 0.87)")
        assert "1.128 times as long" in dialog.words_text()
        assert "This design: cut length" in dialog.words_text()
        assert dialog.fault_text() == ""
        for width, said in (
            ("1.7", "wider than the metal allows"),
            ("0.9", "narrower than"),
            ("x", "number"),
        ):
            type_in(dialog.rows[0][2], width)
            assert said in dialog.fault_text() and dialog.fault_text().startswith("Sample 1: ")
            assert dialog.result_label.text() == ""
        type_in(dialog.rows[0][1], "1")
        type_in(dialog.rows[0][2], "1.1")
        assert "nothing has been hammered" in dialog.fault_text()

    asked.drive(OwnHammerDialog, act)
    before = design_bytes(window.session.design)
    trigger(window, "own_hammer")
    assert design_bytes(window.session.design) == before


def test_a_hammer_is_used_as_one_step_and_travels_with_the_file(
    open_window: Open, asked: Asked, tmp_path: Path
) -> None:
    window = open_window()
    session = window.session
    first = session.design

    def act(dialog: OwnHammerDialog) -> None:
        sample(dialog, 0, "1 mm", "0.5", "1.5")
        type_in(dialog.name, "planishing")
        press(dialog, "Use for this design")

    asked.drive(OwnHammerDialog, act)
    trigger(window, "own_hammer")
    hammer = session.design.hammer
    assert hammer.name == "planishing" and hammer.spread == pytest.approx(0.7711333156, abs=5e-11)
    assert session.step_count == 1 and session.undo_name == "Own hammer"
    assert window.panel.wire.hammer.currentText() == "planishing (this design's own)"
    # The band beside the numbers is that of the samples, and says so.
    assert session.evaluation.spread_band[:2] == (hammer.low, hammer.high)
    asides = {label.toolTip() for label in window.panel.findChildren(QWidget) if "spread" in label.toolTip()}
    assert any("your hammer, measured on samples of planishing" in tip for tip in asides)
    session.save(tmp_path / "own.formsketch.json")
    assert load_design(tmp_path / "own.formsketch.json").design.hammer == hammer
    trigger(window, "undo")
    assert session.design is first
    assert window.panel.wire.hammer.itemData(window.panel.wire.hammer.currentIndex()) == 0.8
    trigger(window, "redo")
    assert session.design.hammer == hammer


def test_a_hammer_kept_by_name_is_offered_in_every_design(
    open_window: Open, asked: Asked, tables: Path
) -> None:
    window = open_window()

    def act(dialog: OwnHammerDialog) -> None:
        press(dialog, "Keep by name")
        assert "sample was expected" in dialog.fault_text()
        for row, width in enumerate(("1.5", "1.48", "1.52")):
            sample(dialog, row, "1 mm", "0.5", width)
        press(dialog, "Keep by name")
        assert "name of 1 to 80 letters" in dialog.fault_text()
        type_in(dialog.name, "cross-peen, small")
        press(dialog, "Keep by name")
        assert "is kept" in dialog.words_text() and dialog.fault_text() == ""

    asked.drive(OwnHammerDialog, act)
    trigger(window, "own_hammer")
    (row,) = load_own_hammers(tables / "hammers.json").values()
    assert (row.name, row.metal) == ("cross-peen, small", window.session.evaluation.metal.name)
    assert "mean of 3 samples" in row.source
    assert window.session.step_count == 0
    box = window.panel.wire.hammer
    at = box.findText("cross-peen, small")
    assert at == 3  # after the three starting values
    assert "your hammer" in box.itemData(at, Qt.ItemDataRole.ToolTipRole)
    box.setFocus()
    box.setCurrentIndex(at - 1)
    events.key(box, Qt.Key.Key_Down)
    expected = Hammer(spread=row.spread, name=row.name, low=row.spread_low, high=row.spread_high)
    assert window.session.design.hammer == expected
    events.key(box, Qt.Key.Key_Up)
    assert window.session.design.hammer.name == "" and window.session.design.hammer.low is None


def test_more_samples_and_a_whole_piece(open_window: Open, asked: Asked) -> None:
    window = open_window(make_starter("row-of-s-forms", BRASS))
    e = window.session.evaluation

    def act(dialog: OwnHammerDialog) -> None:
        for number in range(4, 11):
            press(dialog, "Add a sample")
            assert len(dialog.rows) == number
        assert not dialog.add_sample.isEnabled()
        assert dialog.rows[-1][0].text() == dialog.rows[0][0].text()
        dialog.tabs.setCurrentIndex(1)
        # As designed at spread 0.80 the finished length comes from the design's own cut length.
        type_in(dialog.used, f"{e.cut_length_mm:.6f}")
        type_in(dialog.finished_length, f"{e.finished_length_mm:.6f}")
        assert dialog.result_label.text().startswith("Spread 0.80")
        type_in(dialog.finished_length, "2000 mm")
        assert "No spread from 0 to 1 fits" in dialog.fault_text()
        type_in(dialog.finished_length, f"{e.finished_length_mm:.6f}")
        press(dialog, "Use for this design")

    asked.drive(OwnHammerDialog, act)
    trigger(window, "own_hammer")
    assert window.session.design.hammer.spread == pytest.approx(0.8, abs=1e-6)
    assert window.session.design.hammer.low is not None


def test_return_in_a_field_uses_nothing(open_window: Open, asked: Asked) -> None:
    window = open_window()

    def act(dialog: OwnHammerDialog) -> None:
        sample(dialog, 0, "1 mm", "0.5", "1.5")
        events.key(dialog.rows[0][2], Qt.Key.Key_Return)
        assert dialog.isVisible()

    asked.drive(OwnHammerDialog, act)
    trigger(window, "own_hammer")
    assert window.session.step_count == 0


def test_a_bad_table_of_hammers_is_explained_and_left_as_it_is(
    open_window: Open, asked: Asked, tables: Path
) -> None:
    tables.mkdir(parents=True)
    file = tables / "hammers.json"
    file.write_text("{not json", encoding="utf-8")
    window = open_window()
    assert window.panel.wire.hammer.count() == 3
    assert "sound JSON was expected" in window.panel.wire.hammer.toolTip()

    def act(dialog: OwnHammerDialog) -> None:
        sample(dialog, 0, "1 mm", "0.5", "1.5")
        type_in(dialog.name, "mine")
        press(dialog, "Keep by name")
        assert "sound JSON was expected" in dialog.fault_text()

    asked.drive(OwnHammerDialog, act)
    trigger(window, "own_hammer")
    assert file.read_text(encoding="utf-8") == "{not json"


# --- alloy


def test_an_alloy_by_composition_is_used_and_kept(open_window: Open, asked: Asked, tables: Path) -> None:
    window = open_window()
    session = window.session
    first, brass_g = session.design, session.evaluation.weight_g

    def act(dialog: OwnAlloyDialog) -> None:
        press(dialog, "Use for this design")
        assert "What the alloy is made of" in dialog.fault_text()
        for (_, parts), text in zip(dialog.rows, ("750", "125", "120"), strict=False):
            type_in(parts, text)
        assert "add up to 995" in dialog.fault_text()
        type_in(dialog.rows[2][1], "125")
        # [D] Au 750, Ag 125, Cu 125: 15.459086.
        assert dialog.result_label.text().startswith("Density 15.46 g/cm³")
        assert "This design then weighs" in dialog.words_text()
        press(dialog, "Use for this design")
        assert "name of 1 to 80" in dialog.fault_text()
        type_in(dialog.name, "our yellow")
        press(dialog, "Keep by name")
        assert "is kept" in dialog.words_text()
        press(dialog, "Use for this design")

    asked.drive(OwnAlloyDialog, act)
    trigger(window, "own_alloy")
    (own,) = session.design.metals
    assert own.density_g_per_cm3 == pytest.approx(15.459086, abs=5e-7)
    assert (own.yield_mpa, own.nickel, own.zinc) == (None, False, False)
    assert session.design.wire.metal == own.key
    # [P] C26000 is 8.53: the same wire weighs as the densities do.
    assert session.evaluation.weight_g / brass_g == pytest.approx(15.459086 / 8.53, rel=1e-6)
    assert session.undo_name == "Metal our yellow" and session.step_count == 1
    assert window.panel.wire.metal.currentText() == "our yellow (this design's own)"
    row = load_metals(tables / "metals.json")[own.key]
    assert row.density_g_per_cm3 == own.density_g_per_cm3 and "composition" in row.source
    trigger(window, "undo")
    assert session.design is first
    # Kept, it is still offered.
    assert window.panel.wire.metal.findText("our yellow") >= 0


def test_strength_is_taken_from_a_metal_of_the_table_or_typed(open_window: Open, asked: Asked) -> None:
    window = open_window()

    def act(dialog: OwnAlloyDialog) -> None:
        type_in(dialog.rows[0][1], "0")
        type_in(dialog.rows[1][1], "92.5")
        type_in(dialog.rows[2][1], "7.5")
        type_in(dialog.name, "sterling of ours")
        dialog.strength.setCurrentIndex(dialog.strength.findText("as Sterling", Qt.MatchFlag.MatchStartsWith))
        assert "a guide, not measured" in dialog.words_text()
        press(dialog, "Use for this design")

    asked.drive(OwnAlloyDialog, act)
    trigger(window, "own_alloy")
    (own,) = window.session.design.metals
    assert own.yield_mpa == load_metals()["sterling-925"].soft_yield_mid_mpa

    def act_typed(dialog: OwnAlloyDialog) -> None:
        dialog.tabs.setCurrentIndex(2)
        type_in(dialog.published, "8.53")
        type_in(dialog.name, "sterling of ours")
        dialog.strength.setCurrentIndex(1)
        type_in(dialog.yield_mpa, "130")
        type_in(dialog.e_gpa, "-5")
        assert "stiffness from 1 to 500" in dialog.fault_text()
        type_in(dialog.e_gpa, "110")
        press(dialog, "Use for this design")

    asked.drive(OwnAlloyDialog, act_typed)
    trigger(window, "own_alloy")
    (own,) = window.session.design.metals  # the same name is the same alloy
    assert (own.density_g_per_cm3, own.yield_mpa, own.e_gpa) == (8.53, 130.0, 110.0)


def test_an_alloy_is_weighed(open_window: Open, asked: Asked) -> None:
    window = open_window()

    def act(dialog: OwnAlloyDialog) -> None:
        dialog.tabs.setCurrentIndex(1)
        # [P] Sterling 10.36, water of 20 C 0.9982067, air 0.0012: 103.6 g are 10 cm3.
        type_in(dialog.in_air, f"{103.6 - 0.012:.4f}")
        type_in(dialog.in_water, f"{103.6 - 9.982067:.4f}")
        assert dialog.result_label.text().startswith("Density 10.36 g/cm³ (")
        type_in(dialog.water_c, "60")
        assert "from 0 to 40" in dialog.fault_text()
        type_in(dialog.water_c, "warm")
        assert "a number such as 12.5" in dialog.fault_text()

    asked.drive(OwnAlloyDialog, act)
    trigger(window, "own_alloy")
    assert window.session.step_count == 0


def test_nickel_and_zinc_of_the_composition_are_cautioned_of(open_window: Open, asked: Asked) -> None:
    window = open_window()

    def act(dialog: OwnAlloyDialog) -> None:
        press(dialog, "Add a metal")
        which: QComboBox = dialog.rows[-1][0]
        assert which.currentData() == "Ni"
        type_in(dialog.rows[2][1], "62")
        type_in(dialog.rows[3][1], "20")
        type_in(dialog.rows[4][1], "18")
        assert dialog.nickel.isChecked() and dialog.zinc.isChecked()
        assert "prefer a published density" in dialog.words_text()
        type_in(dialog.name, "nickel silver")
        press(dialog, "Use for this design")

    asked.drive(OwnAlloyDialog, act)
    trigger(window, "own_alloy")
    assert "nickel" in {caution.code for caution in window.session.evaluation.cautions}


def test_a_design_of_own_hammer_and_alloy_opens_where_nothing_is_kept(qapp: object, tmp_path: Path) -> None:
    # As somebody else opens it: no tables of their own.
    text = {
        "format": "formsketch-design",
        "version": 1,
        "title": "sent",
        "wire": {"metal": "own-our-yellow", "diameter_mm": 1.0},
        "hammer": {"spread": 0.7, "name": "hers", "low": 0.65, "high": 0.74},
        "metals": [{"key": "own-our-yellow", "name": "our yellow", "density_g_per_cm3": 15.46}],
        "form": {"runs": [{"spans": [{"length_mm": 20.0, "turn_deg": 90.0}]}]},
    }
    file = tmp_path / "sent.formsketch.json"
    file.write_text(json.dumps(text), encoding="utf-8")
    loaded = load_design(file)
    choice = WireChoice(Session(loaded.design, file, loaded))
    assert choice.hammer.currentText() == "hers (this design's own)"
    assert choice.metal.currentText() == "our yellow (this design's own)"
    choice.deleteLater()


def test_help_carries_the_worked_example(open_window: Open, asked: Asked) -> None:
    trigger(open_window(), "show_bench_numbers")
    title, page = asked.pages[-1]
    assert title == help_bench.TITLE
    # The figures of the example, from the definition: A = t (w - t) + pi t^2/4, S = ln(w/d)/ln(h0 w/A).
    area = 0.5 * (1.5 - 0.5) + math.pi * 0.5**2 / 4
    spread = math.log(1.5) / math.log(math.pi / 4 * 1.5 / area)
    for figure in (f"{area:.3f} mm²", f"{math.pi / 4 / area:.3f}", f"{area / 1.5:.3f} mm", f"{spread:.2f}"):
        assert figure in page


def test_an_own_row_goes_before_the_listed_one_of_its_key(open_window: Open, tables: Path) -> None:
    row = Row(
        key="rolling-mill",
        name="my mill",
        spread=0.63,
        spread_low=0.61,
        spread_high=0.64,
        mark="D",
        source="20 samples",
    )
    keep_row(HAMMERS_FILE, TABLE_KIND, row)
    box = open_window().panel.wire.hammer
    names = [box.itemText(i) for i in range(box.count())]
    assert names == ["flat planishing face", "cross-peen laid across the wire", "my mill"]


def test_what_was_kept_is_listed_and_taken_away(open_window: Open, asked: Asked, tables: Path) -> None:
    window = open_window()
    for name in ("raw hide", "steel, round face"):
        keep_row(HAMMERS_FILE, TABLE_KIND, own_hammer(name, 0.7, 0.6, 0.8, "Sterling 925", "2 samples"))
    brass = load_metals()["brass-c26000"]
    keep_row(METALS_FILE, METALS, replace(brass, key="own-ours", name="Our brass"))

    def act(page: KeptPage) -> None:
        assert [page.table.row_texts(row)[1] for row in range(3)] == [
            "raw hide",
            "steel, round face",
            "Our brass",
        ]
        assert page.table.row_texts(0)[2] == "spread 0.70 (0.60 to 0.80)"
        press(page, "Take away")
        assert page.table.rowCount() == 2
        page.table.setFocus()
        events.key(page.table, Qt.Key.Key_Down)
        press(page, "Take away")
        assert "used by the open design" in page.told.text() and page.table.rowCount() == 2
        events.key(page, Qt.Key.Key_Escape)

    design = window.session.design
    # Opened so from a file; an edit would have the design carry the metal.
    window.session.replace(change_wire(design, metal="own-ours"))
    asked.drive(KeptPage, act)
    trigger(window, "show_kept")
    assert list(load_own_hammers(tables / HAMMERS_FILE)) == ["own-steel, round face"]
    assert "own-ours" in load_metals(tables / METALS_FILE)
