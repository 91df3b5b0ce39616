"""The application as the program starts it, windows that are put away, settings that are nobody's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings
from PySide6.QtWidgets import QApplication, QWidget

from formsketch.bench import user_tables
from formsketch.bench.tubes import Tube
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.ui import background, svg_picture
from formsketch.ui.application import create_application
from formsketch.ui.session import Session
from formsketch.ui.theme import use_appearance
from formsketch.ui.window import Window
from tests.support.asked import Asked
from tests.support.boxes import Boxes
from tests.support.desk import Desk

WidgetT = TypeVar("WidgetT", bound=QWidget)
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


@pytest.fixture(scope="session")
def qapp(qapp_args: list[str], tmp_path_factory: pytest.TempPathFactory) -> QApplication:
    """In place of pytest-qt's plain application, and so what its `qtbot` uses."""
    _keep_settings_in(tmp_path_factory.mktemp("settings"))
    return create_application(qapp_args)


@pytest.fixture(autouse=True)
def settings_folder(qapp: QApplication, tmp_path: Path) -> Path:
    """Each test begins with no settings, and writes none outside its own folder."""
    folder = tmp_path / "settings"
    _keep_settings_in(folder)
    return folder


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is quick on a quiet machine is waited for on a busy one."""
    monkeypatch.setattr(background, "A_MOMENT_MS", 30_000)


@pytest.fixture
def few_pixels(monkeypatch: pytest.MonkeyPatch) -> None:
    """SVG drawings are made into few pixels, which is sooner done."""
    monkeypatch.setattr(svg_picture, "LONGEST_SIDE_PX", 400)


@pytest.fixture
def own_tables(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The person's own tables lie in the test's own folder, which is not there yet."""
    folder = tmp_path / "own" / "tables"
    monkeypatch.setattr(user_tables, "user_tables_folder", lambda: folder)
    return folder


def _keep_settings_in(folder: Path) -> None:
    for form in QSettings.Format.IniFormat, QSettings.Format.NativeFormat:
        for scope in QSettings.Scope.UserScope, QSettings.Scope.SystemScope:
            QSettings.setPath(form, scope, str(folder / scope.name))


@pytest.fixture
def hold(qapp: QApplication) -> Iterator[Callable[[WidgetT], WidgetT]]:
    """Show a window, not painted yet, and hand it back; held until the test ends, then closed and deleted.

    A window that only a reference cycle holds may be collected in the middle of a paint, which crashes.
    """
    held: list[QWidget] = []

    def hold_window(window: WidgetT) -> WidgetT:
        held.append(window)
        window.show()
        return window

    yield hold_window
    for window in reversed(held):
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qapp.processEvents()


@pytest.fixture
def show(hold: Callable[[WidgetT], WidgetT], qapp: QApplication) -> Callable[[WidgetT], WidgetT]:
    """Show a window, painted, and hand it back; it is held until the test ends."""

    def show_window(window: WidgetT) -> WidgetT:
        hold(window)
        qapp.processEvents()
        return window

    return show_window


@pytest.fixture
def lay(hold: Callable[[QWidget], QWidget]) -> Callable[..., Desk]:
    """Lay a design on a desk, whole form in view, maybe with a span selected and tubes on the bench."""

    def lay_out(design: Design, span: int | None = None, tubes: tuple[Tube, ...] = ()) -> Desk:
        desk = Desk(design, tubes)
        hold(desk)
        desk.canvas.fit()
        desk.selection.select(span)
        QApplication.processEvents()
        return desk

    return lay_out


@pytest.fixture
def boxes(qapp: QApplication) -> Iterator[Boxes]:
    """Message boxes as they open, answered by keys."""
    made = Boxes()
    yield made
    made.stop()


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    return Asked(monkeypatch)


@pytest.fixture
def open_window(
    asked: Asked, hold: Callable[[QWidget], QWidget], qapp: QApplication
) -> Iterator[Callable[..., Window]]:
    """Open a window on a design, a cuff where none is given, or on a session."""

    def open_it(what: Design | Session | None = None) -> Window:
        session = what if isinstance(what, Session) else Session(what or make_starter("open-cuff", BRASS))
        window = Window(session, QSettings())
        hold(window)
        window.activateWindow()
        QApplication.processEvents()
        return window

    yield open_it
    use_appearance(qapp, "system")
