"""The cut list in the window: pieces added and counted, the drawer typed, the list copied, saved, printed."""

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit, QPushButton

from formsketch.comparison.batch_cut import batch_text
from formsketch.design.file_format import load_design
from formsketch.design.model import Variant
from formsketch.evaluation.evaluate import evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.drawing import Sheet, Text, walk
from formsketch.ui import bench_commands
from formsketch.ui.cut_list_dialog import CutListDialog
from formsketch.ui.window import Window
from formsketch.units import length_text
from tests.support.asked import Asked, trigger

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

FILES = demo_design_files()
EDDY = load_design(next(file for file in FILES if "eddy" in file.name)).design
PLAIN = replace(EDDY, variants=())


def settled(dialog: CutListDialog) -> CutListDialog:
    while dialog._work.is_busy:
        QTest.qWait(5)
    QApplication.processEvents()
    return dialog


def click(button: QPushButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def type_into(field: QLineEdit, text: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def opened(window: Window, asked: Asked, act: Callable[[CutListDialog], None]) -> None:
    asked.drive(CutListDialog, lambda dialog: act(settled(dialog)))
    trigger(window, "show_cut_list")


def test_the_open_design_is_cut_from_the_drawer_typed_and_both_are_kept(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(PLAIN)
    cut_mm = evaluate(PLAIN).cut_length_mm

    def choose(dialog: CutListDialog) -> None:
        assert [e.design for e in dialog.pieces.designs] == [PLAIN] and dialog.pieces.counts == [1]
        dialog.pieces.count_of(0).setValue(3)
        type_into(dialog.drawer, "1000, 500 x 3")
        type_into(dialog.hold, "5 mm")
        settled(dialog)
        # Three of 364 mm and 2 x 5 mm to hold: two from 1000 mm, one from 500 mm [arithmetic].
        (one,) = dialog.cuts
        assert sorted(length.length_mm for length in one.cut.lengths) == [500.0, 1000.0]
        rows = [dialog.table.row_texts(row) for row in range(dialog.table.rowCount())]
        assert rows[0][0].startswith("Brass") and rows[-1][0].startswith("In all 1500.0 mm taken")
        assert f"2 × Eddy bracelet {length_text(cut_mm + 10.0)}" in rows[1][3]
        click(dialog.copy)
        assert QApplication.clipboard().text() == batch_text(dialog.cuts)

    opened(window, asked, choose)

    def again(dialog: CutListDialog) -> None:
        assert dialog.drawer.text() == "1000, 500 x 3"

    opened(window, asked, again)
    assert window.session.design is PLAIN


def test_designs_and_variants_are_added_and_removed(
    open_window: Callable[..., Window], asked: Asked, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    sized = replace(PLAIN, variants=(Variant(title="small", scale=0.9), Variant(title="large", scale=1.1)))
    broken = tmp_path / "broken.formsketch.json"
    broken.write_text("{}")
    chosen = [str(file) for file in FILES if "tern" in file.name or "sandbar" in file.name]
    monkeypatch.setattr(
        QFileDialog, "getOpenFileNames", staticmethod(lambda *_: ([*chosen, str(broken)], ""))
    )

    def choose(dialog: CutListDialog) -> None:
        click(dialog.add_variants)
        click(dialog.add_files)
        assert "broken.formsketch.json" in dialog.fault.text()
        settled(dialog)
        names = [dialog.pieces.item(row, 0).text() for row in range(dialog.pieces.rowCount())]
        assert names[1:3] == ["Eddy bracelet: small", "Eddy bracelet: large"]
        assert len(dialog.pieces.designs) == 3 + len(chosen)
        assert any("Eddy bracelet: small" in row for row in batch_text(dialog.cuts).splitlines())
        dialog.pieces.setCurrentCell(0, 0)
        for _ in range(len(names)):
            click(dialog.remove)
        settled(dialog)
        assert dialog.cuts == [] and not dialog.save.isEnabled() and not dialog.remove.isEnabled()
        assert "Add a design" in dialog.fault.text()

    opened(open_window(sized), asked, choose)


@pytest.mark.parametrize(
    ("drawer", "says"),
    [("fish", "fish"), ("100", "longest length"), ("500 x many", "500 x 3"), ("", "length")],
)
def test_a_drawer_that_does_not_do_is_explained_and_nothing_can_be_saved(
    open_window: Callable[..., Window], asked: Asked, drawer: str, says: str
) -> None:
    def choose(dialog: CutListDialog) -> None:
        type_into(dialog.drawer, drawer or " ")
        settled(dialog)
        assert says in dialog.fault.text() and dialog.fault.isVisible()
        assert dialog.cuts == [] and not dialog.print_button.isEnabled()
        type_into(dialog.drawer, "800")
        settled(dialog)
        assert dialog.cuts and not dialog.fault.isVisible()

    opened(open_window(PLAIN), asked, choose)


def test_the_list_is_saved_and_printed(
    open_window: Callable[..., Window], asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed: list[list[Sheet]] = []
    monkeypatch.setattr(bench_commands, "print_sheets", lambda parent, sheets: bool(printed.append(sheets)))

    def choose(dialog: CutListDialog) -> None:
        for name, kind in (("a.csv", ""), ("b.pdf", ""), ("c", "TXT (*.txt)")):
            asked.file = (str(tmp_path / name), kind)
            click(dialog.save)
        asked.file = (str(tmp_path / "missing" / "a.csv"), "")
        click(dialog.save)
        assert "not written" in dialog.fault.text()
        click(dialog.print_button)

    opened(open_window(PLAIN), asked, choose)
    assert sorted(file.name for file in tmp_path.iterdir() if file.is_file()) == ["a.csv", "b.pdf", "c.txt"]
    words = [item.text for item in walk(printed[0][0].groups) if isinstance(item, Text)]
    assert any("Eddy bracelet" in word for word in words)


def test_settings_that_are_odd_are_passed_over(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window(PLAIN)
    window.settings.setValue("wire_order/kerf_mm", "fish")
    window.settings.setValue("cut_list/drawer", "")
    opened(window, asked, lambda dialog: None)
