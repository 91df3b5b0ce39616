"""A newcomer makes the bracelet of the help, with mouse and keys alone, in under 25 actions."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QSettings, QUrl
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QTextBrowser, QWidget

from formsketch.design.model import EyeEnd, HookEnd
from formsketch.ui.main import opening_session
from formsketch.ui.recipe import PICTURE_WIDTH_PX, STEPS, TITLE, recipe_page
from formsketch.ui.window import Window
from tests.support.asked import Asked, trigger
from tests.support.recipe import ENDS_PERCENT, LENGTH_MM, LOOPS, Newcomer

# The offscreen platform says so of windows, dialogs and menus.
pytestmark = pytest.mark.qt_log_ignore(r"This plugin does not support ")

FEWER_THAN = 25


@pytest.fixture
def newcomer(show: Callable[[QWidget], QWidget]) -> Newcomer:
    """A window as it opens the first time."""
    session, _ = opening_session(QSettings(), None, None)
    window = Window(session, QSettings())
    # Closing asks about what is not saved; nobody is there.
    window.files.may_leave_design = lambda: True  # type: ignore[method-assign]
    show(window)
    window.activateWindow()
    return Newcomer(window)


def test_a_bracelet_in_under_25_actions(newcomer: Newcomer) -> None:
    newcomer.do_all()
    assert newcomer.actions < FEWER_THAN
    session = newcomer.window.session
    (loops,) = [run for run in session.design.form.runs if run.times > 1]
    first, last = session.wire.chain.run == 0, session.wire.chain.run == 2
    assert loops.times == LOOPS
    # Each loop turns to the other side of the one before, less than when they were begun.
    turns = session.evaluation.spans.turn_deg[1:-1]
    assert len(turns) == LOOPS
    assert (np.sign(turns) == np.sign(turns[0]) * np.array([1, -1] * (LOOPS // 2))).all()
    assert np.abs(turns) == pytest.approx(np.full(LOOPS, abs(turns[0])), abs=1e-9)
    assert 150 < abs(turns[0]) < 230
    # Hammered, and more than they were begun with: a flare wider than the wire on every loop.
    widest = session.evaluation.spans.widest_mm[1:-1]
    assert (widest > 1.4 * session.design.wire.diameter_mm).all()
    assert loops.spans[0].flare is not None
    assert loops.spans[0].flare.thickness < 0.5
    # Graded: the largest in the middle, the ends at 70 %.
    lengths = session.evaluation.spans.finished_length_mm[1:-1]
    assert (np.diff(lengths[: LOOPS // 2]) > 0).all()
    assert lengths[::-1] == pytest.approx(lengths, rel=1e-9)
    assert loops.ends_scale == ENDS_PERCENT / 100
    # It closes, at the length it was to have.
    assert isinstance(session.design.form.start, HookEnd)
    assert isinstance(session.design.form.finish, EyeEnd)
    assert session.evaluation.envelope_mm[0] == pytest.approx(LENGTH_MM, abs=2.0)
    assert first.any() and last.any()
    # It lies level and whole in view.
    canvas = newcomer.window.canvas
    x0, y0, x1, y1 = canvas.wire.bounds_mm
    assert x1 - x0 == pytest.approx(session.evaluation.envelope_mm[0], abs=0.01)
    for corner in (complex(x0, y0), complex(x1, y1)):
        assert canvas.rect().contains(canvas.view.to_px(corner).toPoint())
    assert not any(caution.weight == "stop" for caution in session.evaluation.cautions)


def test_each_pull_and_each_choice_is_one_step(newcomer: Newcomer) -> None:
    newcomer.do_all()
    session = newcomer.window.session
    names = session.step_names
    assert names[:-1] == ["New", "Open or close span 5", "Hammer span 5", "Repeats and grading", "Ends"]
    assert names[-1].startswith("Scale to ")
    while session.step_count:
        session.undo()
    assert session.design.form.runs[1].times == LOOPS


def test_the_help_shows_the_steps_that_the_newcomer_does(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    for step in STEPS:
        assert callable(getattr(Newcomer, f"_{step.name}"))
    trigger(open_window(), "show_recipe")
    assert asked.pages == [(TITLE, recipe_page())]
    page = QTextBrowser()
    page.setHtml(recipe_page())
    text = page.toPlainText()
    places = []
    for step in STEPS:
        words = re.sub("<[^>]*>", "", step.text)
        assert words in text
        places.append(text.index(words))
    assert places == sorted(places)


def test_every_step_has_its_picture() -> None:
    items = recipe_page().split("<li>")[1:]
    assert len(items) == len(STEPS)
    for number, item in enumerate(items, start=1):
        (source,) = re.findall("src='([^']*)'", item)
        file = Path(QUrl(source).toLocalFile())
        assert file.name == f"recipe-{number}.png"
        picture = QImage(str(file))
        assert picture.width() == PICTURE_WIDTH_PX
        assert file.stat().st_size < 100_000
