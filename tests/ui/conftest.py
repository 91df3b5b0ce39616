"""The application as the program starts it, windows that are put away, settings that are nobody's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QSettings
from PySide6.QtWidgets import QApplication, QWidget

from formsketch.ui.application import create_application

WidgetT = TypeVar("WidgetT", bound=QWidget)


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


def _keep_settings_in(folder: Path) -> None:
    for form in QSettings.Format.IniFormat, QSettings.Format.NativeFormat:
        for scope in QSettings.Scope.UserScope, QSettings.Scope.SystemScope:
            QSettings.setPath(form, scope, str(folder / scope.name))


@pytest.fixture
def show(qapp: QApplication) -> Iterator[Callable[[WidgetT], WidgetT]]:
    """Show a window and hand it back; it is held until the test ends, then closed and deleted.

    A window that only a reference cycle holds may be collected in the middle of a paint, which crashes.
    """
    shown: list[QWidget] = []

    def show_window(window: WidgetT) -> WidgetT:
        shown.append(window)
        window.show()
        qapp.processEvents()
        return window

    yield show_window
    for window in reversed(shown):
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qapp.processEvents()
