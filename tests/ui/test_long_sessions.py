"""More steps than are kept one by one: the oldest become one, which is said, and undo reaches the opening."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QObject, QSettings
from PySide6.QtWidgets import QApplication

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.ui import help_faults, session
from formsketch.ui.session import MOST_STEPS, Session
from formsketch.ui.window import Window
from tests.support.asked import said

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

CUFF = make_starter("open-cuff", Wire(metal="brass-c26000", diameter_mm=1.29))


def step(work: Session, number: int) -> None:
    work.change(f"Name {number}", replace(work.design, title=f"state {number}"))


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> int:
    """So few steps are kept one by one that a test can pass them."""
    monkeypatch.setattr(session, "MOST_STEPS", 5)
    return 5


def test_the_oldest_steps_become_one_and_the_opening_stays(few: int) -> None:
    work = Session(CUFF)
    told: list[int] = []
    work.steps_joined.connect(lambda: told.append(work.step_count))
    for number in range(1, 13):
        step(work, number)
    assert told == [6]  # once, when it begins
    assert work.step_names == ["New", "8 earlier steps", "Name 9", "Name 10", "Name 11", "Name 12"]
    assert (work.step_count, work.step_place) == (12, 5)
    seen = []
    while work.undo_name:
        seen.append((work.undo_name, work.design.title))
        work.undo()
    assert seen == [
        ("Name 12", "state 12"),
        ("Name 11", "state 11"),
        ("Name 10", "state 10"),
        ("Name 9", "state 9"),
        ("8 earlier steps", "state 8"),
    ]
    assert work.design is CUFF and work.step_count == 0
    work.redo()
    assert (work.design.title, work.step_count) == ("state 8", 8)
    work.go_to_step(5)
    assert (work.design.title, work.step_count) == ("state 12", 12)


def test_steps_after_going_back_take_the_place_of_those_undone(few: int) -> None:
    work = Session(CUFF)
    for number in range(1, 9):
        step(work, number)
    work.go_to_step(0)
    step(work, 20)
    assert work.step_names == ["New", "Name 20"]
    assert work.step_count == 1
    told: list[None] = []
    work.steps_joined.connect(lambda: told.append(None))
    for number in range(21, 27):
        step(work, number)
    assert told == [None]  # it begins anew
    assert work.step_names[1] == "3 earlier steps"


def test_laying_level_keeps_the_count_of_a_step(few: int) -> None:
    work = Session(CUFF)
    for number in range(1, 9):
        step(work, number)
    work.lay_level()
    assert work.step_count == 8
    step(work, 9)
    assert work.step_count == 9


def test_the_window_says_how_far_undo_reaches(few: int, show: Callable[[Window], Window]) -> None:
    window = show(Window(Session(CUFF), QSettings()))
    for number in range(1, 7):
        step(window.session, number)
    assert f"Undo keeps the last {MOST_STEPS:,} steps one by one" in said(window)
    window.session.go_to_step(1)
    QApplication.processEvents()
    assert "2 earlier steps" in window.actions_by_name["undo"].text()
    assert re.search(rf"last {MOST_STEPS:,} steps", help_faults.UNDO)
    window.session._saved_design = window.session.last_step_design


def test_steps_leave_no_object_of_qt_behind(show: Callable[[Window], Window]) -> None:
    window = show(Window(Session(CUFF), QSettings()))

    def objects() -> int:
        QApplication.processEvents()
        return len(window.findChildren(QObject)) + len(QApplication.allWidgets())

    step(window.session, 0)
    before = objects()
    for number in range(1, 41):
        step(window.session, number)
        window.selection.select(number % window.session.wire.span_count)
        if number % 10 == 0:
            QApplication.processEvents()
    window.selection.select(None)
    window.session.undo()
    assert objects() <= before + 40  # rows that are kept to be shown again
    again = objects()
    for number in range(41, 81):
        step(window.session, number)
        window.selection.select(number % window.session.wire.span_count)
    window.selection.select(None)
    assert objects() <= again
    assert design_bytes(window.session.design) != design_bytes(CUFF)
    window.session._saved_design = window.session.last_step_design
