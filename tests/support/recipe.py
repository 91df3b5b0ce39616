"""A newcomer who follows the recipe of the help with mouse and keys alone, and counts what it takes.

An action is a click, a drag, a key or a typed value.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPoint, QPointF, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QInputDialog,
    QLabel,
    QListWidget,
    QMenu,
    QPushButton,
    QSpinBox,
    QWidget,
)

from formsketch.ui.ends_dialog import EndsDialog
from formsketch.ui.fields import NumberGroup
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.handles import handles_of
from formsketch.ui.recipe import STEPS
from formsketch.ui.starter_dialog import StarterDialog
from formsketch.ui.window import Window
from tests.support import events

CONTROL = Qt.KeyboardModifier.ControlModifier
LOOPS, ENDS_PERCENT, LENGTH_MM = 8, 70, 160.0
# Which loop is pulled, and how far its belly and its edge are.
PULLED, OPENED_MM, HAMMERED_MM = 4, 3.0, 0.45
MOST_LOOKS, LOOK_EVERY_MS = 500, 10


class Newcomer:
    """Does the steps of the recipe in a window, one by one by their names."""

    def __init__(self, window: Window) -> None:
        self.window = window
        self.actions = 0

    def do(self, name: str) -> None:
        """Do the step of this name."""
        step: Callable[[], None] = getattr(self, f"_{name}")
        step()
        QApplication.processEvents()

    def do_all(self) -> None:
        for step in STEPS:
            self.do(step.name)

    # --- the steps

    def _begin(self) -> None:
        def choose(dialog: QDialog) -> None:
            assert isinstance(dialog, StarterDialog)
            self._click_item(dialog.kinds, "Row of S-forms")
            self._type_into(dialog.fields["times"], str(LOOPS))
            self._press_button(dialog, "Begin")

        self._in_dialog(lambda: self._key(self.window.canvas, Qt.Key.Key_N, CONTROL), choose)

    def _open(self) -> None:
        canvas = self.window.canvas
        line = canvas.wire.centreline_mm(self.window.session.wire.part(PULLED))
        # A place on the loop that is away from its marks and its belly.
        self._click(canvas, canvas.view.to_px(complex(line[len(line) // 4])))
        belly = self._handle_px("belly")
        pose, wire = self.window.session.pose, self.window.session.wire
        ends = [canvas.view.to_px(pose.to_table(wire.mark_mm(mark))) for mark in (PULLED, PULLED + 1)]
        self._drag(canvas, belly, _towards(belly, (ends[0] + ends[1]) / 2, -self._px(OPENED_MM)))

    def _hammer(self) -> None:
        outer, inner = self._handle_px("flare", 1), self._handle_px("flare", -1)
        self._drag(self.window.canvas, outer, _towards(outer, inner, -self._px(HAMMERED_MM)))

    def _grade(self) -> None:
        def choose(dialog: QDialog) -> None:
            self._type_into(dialog.findChildren(QDoubleSpinBox)[0], str(ENDS_PERCENT))
            self._press_button(dialog, "Use")

        self._in_dialog(lambda: self._choose_from_menu("Form", "Repeats and grading..."), choose)

    def _catch(self) -> None:
        def choose(dialog: QDialog) -> None:
            assert isinstance(dialog, EndsDialog)
            self._choose(dialog.start_choice.kind, "hook")
            self._choose(dialog.finish_choice.kind, "eye")
            self._press_button(dialog, "Use")

        self._in_dialog(lambda: self._key(self.window.canvas, Qt.Key.Key_E, CONTROL), choose)

    def _size(self) -> None:
        percent = f"{100 * LENGTH_MM / self._length_shown_mm():.1f}"

        def choose(dialog: QDialog) -> None:
            assert isinstance(dialog, QInputDialog)
            self._type(dialog.findChildren(QDoubleSpinBox)[0], percent)
            self._key(dialog, Qt.Key.Key_Return)

        self._in_dialog(lambda: self._choose_from_menu("Form", "Scale..."), choose)

    def _level(self) -> None:
        self._key(self.window.canvas, Qt.Key.Key_L, CONTROL)

    # --- what is looked at

    def _handle_px(self, kind: str, side: int = 0) -> QPointF:
        canvas: FormCanvas = self.window.canvas
        clear_mm = 14.0 / canvas.view.px_per_mm
        handles = handles_of(self.window.session, canvas.wire, self.window.selection.span, clear_mm)
        return canvas.view.to_px(next(h.at_mm for h in handles if h.kind == kind and h.side == side))

    def _px(self, length_mm: float) -> float:
        return length_mm * self.window.canvas.view.px_per_mm

    def _length_shown_mm(self) -> float:
        """The second number beside 'Height × length'."""
        for group in self.window.panel.findChildren(NumberGroup):
            texts = [label.text() for label in group.findChildren(QLabel)]
            if "Height × length" in texts:
                shown = texts[texts.index("Height × length") + 1]
                return float(shown.split("×")[1].removesuffix("mm"))
        raise LookupError("no length is shown")

    # --- actions

    def _key(self, widget: QWidget, key: Qt.Key, modifiers: events.Modifier = events.PLAIN) -> None:
        self.actions += 1
        # As the desktop does once a dialog has closed.
        widget.window().activateWindow()
        QApplication.processEvents()
        events.key(widget, key, modifiers)

    def _click(self, widget: QWidget, at: QPointF) -> None:
        self.actions += 1
        events.move(widget, at)
        events.click(widget, at)
        QApplication.processEvents()

    def _drag(self, widget: QWidget, start: QPointF, end: QPointF) -> None:
        self.actions += 1
        events.drag(widget, start, end)
        QApplication.processEvents()

    def _type(self, field: QWidget, text: str) -> None:
        """Type a value in place of what stands in the field, which has the keys already."""
        self.actions += 1
        events.keys(field, text)

    def _type_into(self, field: QSpinBox | QDoubleSpinBox, text: str) -> None:
        """Double-click the number, so that it is selected, and type another."""
        self.actions += 1
        events.double_click(field.lineEdit(), QPointF(8, field.lineEdit().height() / 2))
        field.selectAll()
        self._type(field, text)

    def _press_button(self, dialog: QDialog, word: str) -> None:
        button = next(b for b in dialog.findChildren(QPushButton) if b.text().replace("&", "") == word)
        self._click(button, QPointF(button.rect().center()))

    def _click_item(self, view: QListWidget, text: str) -> None:
        (item,) = view.findItems(text, Qt.MatchFlag.MatchExactly)
        self._click(view.viewport(), QPointF(view.visualItemRect(item).center()))

    def _choose(self, box: QComboBox, text: str) -> None:
        """Open the choice and click one of it."""
        self._click(box, QPointF(box.rect().center()))
        view = box.view()
        index = box.model().index(box.findText(text), box.modelColumn())
        self._click(view.viewport(), QPointF(view.visualRect(index).center()))
        assert box.currentText() == text

    def _choose_from_menu(self, title: str, text: str) -> None:
        bar = self.window.menuBar()
        top = next(a for a in bar.actions() if a.text().replace("&", "") == title)
        menu = top.menu()
        assert isinstance(menu, QMenu)
        self.actions += 2
        QTest.mouseClick(bar, Qt.MouseButton.LeftButton, pos=bar.actionGeometry(top).center())
        assert menu.isVisible()
        item = next(a for a in menu.actions() if a.text().replace("&", "") == text)
        place: QPoint = menu.actionGeometry(item).center()
        QTest.mouseMove(menu, place)
        QTest.mouseClick(menu, Qt.MouseButton.LeftButton, pos=place)

    def _in_dialog(self, begin: Callable[[], None], act: Callable[[QDialog], None]) -> None:
        """Do what opens a dialog, then what is done in it; it is put away when that goes wrong."""
        faults: list[BaseException] = []
        looks = 0
        timer = QTimer()

        def look() -> None:
            nonlocal looks
            looks += 1
            dialog = QApplication.activeModalWidget()
            if not isinstance(dialog, QDialog):
                if looks >= MOST_LOOKS:
                    timer.stop()
                return
            timer.stop()
            try:
                act(dialog)
                assert not dialog.isVisible(), "the dialog is still open"
            except BaseException as fault:
                faults.append(fault)
                dialog.reject()

        timer.timeout.connect(look)
        timer.start(LOOK_EVERY_MS)
        begin()
        timer.stop()
        if faults:
            raise faults[0]


def _towards(start: QPointF, end: QPointF, by_px: float) -> QPointF:
    way = end - start
    length = (way.x() ** 2 + way.y() ** 2) ** 0.5
    return start + way * (by_px / length)
