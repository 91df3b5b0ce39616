"""The list of steps: back and forth to any of them, each as it was, design and place."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QListWidget, QPushButton

from formsketch.design.edits import SpanAddress, change_span, mirrored, scaled
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.ui import dialogs
from formsketch.ui.pose import Pose
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import Asked, trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

# The question as it is, before a test answers for it.
ASK_STEP = dialogs.ask_step
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
NAMES = ["New", "Mirror", "Scale to 150 %", "Turn of span 2"]

State = tuple[bytes, Pose]


class Walk:
    """A window after three steps, and how the design was after each."""

    def __init__(self, window: Window, asked: Asked) -> None:
        self.window, self._asked = window, asked
        session = window.session
        self.states = [self.state]
        session.change_level("Mirror", mirrored(session.design))
        self.states.append(self.state)
        session.change("Scale to 150 %", scaled(session.design, 1.5), 0)
        self.states.append(self.state)
        turned = change_span(session.design, SpanAddress(0, 1), turn_deg=-60.0)
        session.change("Turn of span 2", turned, 1)
        self.states.append(self.state)

    @property
    def state(self) -> State:
        return design_bytes(self.window.session.design), self.window.session.pose

    def choose(self, act: Callable[[QDialog, QListWidget], None]) -> None:
        """Ask for the list and do this with it."""
        self._asked.drive(QDialog, lambda dialog: act(dialog, dialog.findChildren(QListWidget)[0]))
        trigger(self.window, "list_steps")

    def go_to(self, number: int) -> None:
        def choose(dialog: QDialog, steps: QListWidget) -> None:
            steps.setCurrentRow(number)
            dialog.accept()

        self.choose(choose)


@pytest.fixture
def walk(open_window: Callable[..., Window], asked: Asked, monkeypatch: pytest.MonkeyPatch) -> Walk:
    monkeypatch.setattr(dialogs, "ask_step", ASK_STEP)
    return Walk(open_window(make_starter("open-cuff", BRASS)), asked)


def test_the_list_names_every_step_and_where_the_design_is(walk: Walk) -> None:
    walk.window.session.undo()

    def look(dialog: QDialog, steps: QListWidget) -> None:
        texts = [steps.item(row).text() for row in range(steps.count())]
        assert texts == ["New", "1.  Mirror", "2.  Scale to 150 %", "3.  Turn of span 2"]
        assert steps.currentRow() == 2
        assert {"Go there", "Cancel"} <= {b.text().replace("&", "") for b in dialog.findChildren(QPushButton)}
        steps.setCurrentRow(0)
        dialog.reject()

    walk.choose(look)
    assert walk.state == walk.states[2]  # thought better of


@pytest.mark.parametrize("way", [[0, 3, 1, 2, 0, 2, 3], [2, 1, 0, 1, 3, 3, 0]])
def test_it_goes_back_and_forth_to_any_step(walk: Walk, way: list[int]) -> None:
    session, actions = walk.window.session, walk.window.actions_by_name
    for number in way:
        walk.go_to(number)
        assert walk.state == walk.states[number]
        assert session.step_names == NAMES
        assert session.step_count == number
        assert session.undo_name == (NAMES[number] if number else "")
        assert session.redo_name == (NAMES[number + 1] if number < 3 else "")
        assert actions["undo"].isEnabled() == (number > 0)
        assert actions["redo"].isEnabled() == (number < 3)
        assert not walk.window.grab().isNull()


def test_undo_and_redo_go_on_from_there(walk: Walk) -> None:
    walk.go_to(1)
    trigger(walk.window, "redo")
    assert walk.state == walk.states[2]
    trigger(walk.window, "undo")
    trigger(walk.window, "undo")
    assert walk.state == walk.states[0]


def test_a_change_from_there_takes_the_place_of_what_followed(walk: Walk) -> None:
    walk.go_to(1)
    trigger(walk.window, "mirror_form")
    assert walk.window.session.step_names == ["New", "Mirror", "Mirror"]
    assert walk.window.session.redo_name == ""
    walk.go_to(1)
    assert walk.state == walk.states[1]


def test_enter_on_a_step_goes_there(walk: Walk) -> None:
    def choose(dialog: QDialog, steps: QListWidget) -> None:
        steps.setFocus()
        events.key(steps, Qt.Key.Key_Home)
        events.key(steps, Qt.Key.Key_Down)
        events.key(steps, Qt.Key.Key_Return)

    walk.choose(choose)
    assert walk.state == walk.states[1]


def test_steps_begin_anew_with_another_design(walk: Walk) -> None:
    other: Design = make_starter("hoop", BRASS)
    walk.window.session.replace(other)
    walk.choose(lambda dialog, steps: dialog.accept())
    assert walk.window.session.step_names == ["New"]
    assert walk.window.session.design is other


def test_saved_and_unsaved_follow_the_steps(walk: Walk, tmp_path) -> None:  # type: ignore[no-untyped-def]
    walk.go_to(2)
    walk.window.session.save(tmp_path / "cuff.formsketch.json")
    for number, unsaved in ((2, False), (3, True), (0, True), (2, False)):
        walk.go_to(number)
        assert walk.window.isWindowModified() == unsaved
