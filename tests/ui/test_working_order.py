"""The maker's own way of working, changed in the window: order, words, own steps, steps left out."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QPushButton

from formsketch.bench.working_order import WorkStep, load_order, order_file, save_order, usual_order
from formsketch.ui.window import Window
from formsketch.ui.working_order_dialog import WorkingOrderDialog
from tests.support.asked import Asked, trigger

pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")


def click(button: QPushButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


@pytest.fixture
def window(
    open_window: Callable[..., Window], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Iterator[Window]:
    monkeypatch.setattr("formsketch.bench.working_order.user_tables_folder", lambda: tmp_path)
    yield open_window()


def keep(dialog: WorkingOrderDialog) -> QPushButton:
    return dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)


def test_steps_are_moved_added_worded_and_left_out(window: Window, asked: Asked) -> None:
    def change(dialog: WorkingOrderDialog) -> None:
        assert not dialog.earlier.isEnabled() and not dialog.remove.isEnabled()
        assert dialog.title.isReadOnly()
        QTest.keyClicks(dialog.words, "Only if it is hard.")
        click(dialog.later)
        assert dialog.list.currentRow() == 1
        # The last step of all, then one of the maker's own under it.
        dialog.list.setCurrentRow(dialog.list.count() - 1)
        click(dialog.add)
        assert dialog.title.hasFocus() and dialog.title.selectedText() == dialog.title.text()
        QTest.keyClicks(dialog.title, "Tumble 2 h")
        QTest.keyClick(dialog.title, Qt.Key.Key_Return)
        assert dialog.isVisible()
        QTest.keyClicks(dialog.words, "Steel shot.")
        assert dialog.list.currentItem().text() == "Tumble 2 h: Steel shot."
        dialog.list.setFocus()
        dialog.list.setCurrentRow(5)
        QTest.keyClick(dialog.list, Qt.Key.Key_Space)
        click(keep(dialog))

    asked.drive(WorkingOrderDialog, change)
    trigger(window, "change_working_order")
    first, second, *others = usual_order()
    kept = load_order()
    assert kept[:2] == (second, WorkStep(do=first.do, words="Only if it is hard."))
    assert kept[-1] == WorkStep(title="Tumble 2 h", words="Steel shot.")
    assert kept[5].left_out and [step.do for step in kept[2:-1]] == [step.do for step in others]


def test_a_step_that_is_dragged_keeps_what_it_says(window: Window, asked: Asked) -> None:
    save_order((*usual_order(), WorkStep(title="Tumble", words="2 h")))

    def drag(dialog: WorkingOrderDialog) -> None:
        rows = dialog.list.count()
        # What a drag within the list comes down to in the end.
        assert dialog.list.model().moveRow(QModelIndex(), rows - 1, QModelIndex(), 0)
        QApplication.processEvents()
        assert dialog.order[0] == WorkStep(title="Tumble", words="2 h")
        dialog.list.setCurrentRow(0)
        assert dialog.title.text() == "Tumble" and dialog.remove.isEnabled()
        click(dialog.remove)
        assert dialog.order == usual_order()
        dialog.list.setCurrentRow(3)
        click(dialog.later)
        click(dialog.usual)
        assert dialog.order == usual_order()
        click(keep(dialog))

    asked.drive(WorkingOrderDialog, drag)
    trigger(window, "change_working_order")
    assert load_order() == usual_order()


def test_a_step_without_a_title_and_words_without_end_cannot_be_kept(window: Window, asked: Asked) -> None:
    def change(dialog: WorkingOrderDialog) -> None:
        click(dialog.add)
        QTest.keyClick(dialog.title, Qt.Key.Key_Delete)
        assert "title" in dialog.fault.text() and not keep(dialog).isEnabled()
        QTest.keyClicks(dialog.title, "x")
        assert keep(dialog).isEnabled() and not dialog.fault.isVisible()
        dialog.words.setPlainText("x" * 1001)
        assert "at most" in dialog.fault.text() and not keep(dialog).isEnabled()
        dialog.reject()

    asked.drive(WorkingOrderDialog, change)
    trigger(window, "change_working_order")
    assert not order_file().exists()


def test_a_bad_file_is_explained_and_left_as_it_is(window: Window, asked: Asked) -> None:
    order_file().write_text("{")
    trigger(window, "change_working_order")
    assert str(order_file()) in asked.explained[-1] and order_file().read_text() == "{"
