"""The settings file is looked at before it is believed: nothing in it is run, and no slip keeps it shut."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.ui.session import Session
from formsketch.ui.settings import own_settings, settings_file
from formsketch.ui.window import Window

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

RAN: list[str] = []


def ran(word: str) -> str:
    RAN.append(word)
    return word


class Runs:
    """A Python object that says so when it is read."""

    def __reduce__(self) -> tuple[Callable[[str], str], tuple[str]]:
        return ran, ("read",)


def with_an_object() -> bytes:
    """A settings file that holds a Python object, as PySide6 writes it."""
    settings = QSettings()
    settings.setValue("appearance", Runs())
    settings.sync()
    data = Path(settings.fileName()).read_bytes()
    assert b"PyObjectWrapper" in data
    return data


def hidden(data: bytes) -> list[bytes]:
    """The same file with the word that gives it away spelled by Qt's escapes."""
    return [
        data.replace(b"@Variant", spelled)
        for spelled in (b"@Variant", rb"\x40Variant", rb"@\x56\x61riant", rb"\100Variant", rb"\x10040Variant")
    ]


def test_reading_such_a_value_runs_it() -> None:
    # What all this is about. A pickle runs what it names: Python's documentation of `pickle` warns of it.
    RAN.clear()
    pickle.loads(pickle.dumps(Runs()))
    assert RAN == ["read"]


def test_a_file_that_holds_a_python_object_is_put_aside_unread(settings_folder: Path) -> None:
    for data in hidden(with_an_object()):
        file = settings_file()
        file.write_bytes(data)
        RAN.clear()
        settings, said = own_settings()
        assert settings.value("appearance", "system", type=str) == "system"
        assert settings.allKeys() == []
        assert RAN == []
        aside = file.with_name(file.name + ".set-aside")
        assert str(aside) in said
        assert aside.read_bytes() == data
        aside.unlink()
        settings.setValue("appearance", "dark")
        settings.sync()
        again, nothing = own_settings()
        assert (again.value("appearance", "", type=str), nothing) == ("dark", "")
        file.unlink()


def test_it_is_the_file_that_qt_uses(settings_folder: Path) -> None:
    assert settings_file() == Path(QSettings().fileName())
    assert own_settings()[1] == ""  # there is none yet


def test_settings_of_other_programs_are_not_read(settings_folder: Path) -> None:
    for_all = QSettings(QSettings.Format.IniFormat, QSettings.Scope.SystemScope, "FormSketch", "FormSketch")
    for_all.setValue("appearance", "dark")
    for_all.sync()
    assert QSettings().value("appearance", "system", type=str) == "dark"
    assert own_settings()[0].value("appearance", "system", type=str) == "system"


@pytest.mark.parametrize("kept", ["", "sepia", "1", "@Invalid()"])
def test_an_appearance_that_is_none_opens_as_the_desktop(
    show: Callable[[Window], Window], qapp: QApplication, kept: str
) -> None:
    settings = QSettings()
    settings.setValue("appearance", kept)
    session = Session(make_starter("open-cuff", Wire(metal="brass-c26000", diameter_mm=1.29)))
    window = show(Window(session, settings))
    assert window.isVisible()
    assert settings.value("appearance", type=str) == "system"
    session._saved_design = session.last_step_design
