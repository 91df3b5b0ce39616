"""The start: a reason when no window can open, the font, the settings; and that Qt's bindings are sound."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QPointF, QSettings, Qt, QtMsgType, qInstallMessageHandler, qWarning
from PySide6.QtGui import QFontInfo, QKeySequence, QMouseEvent, QShortcut, QWheelEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

import formsketch.ui
from formsketch.errors import FormSketchError
from formsketch.ui import DEBIAN_PACKAGES, application, import_qt_or_explain
from formsketch.ui.fields import CalmComboBox, NumberGroup
from tests.support import events


def test_without_a_display_it_says_why_and_what_to_install() -> None:
    code = "from formsketch.ui.application import create_application; create_application(['formsketch'])"
    ended = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | {"QT_QPA_PLATFORM": "no-such-platform"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ended.returncode == application.NO_WINDOW_EXIT_CODE
    assert "the window cannot open" in ended.stderr
    assert "no-such-platform" in ended.stderr
    assert DEBIAN_PACKAGES in ended.stderr
    assert "Traceback" not in ended.stderr


def test_when_qt_does_not_load_it_says_why_and_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(name: str) -> None:
        raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")

    import_qt_or_explain()
    monkeypatch.setattr(formsketch.ui, "import_module", fails)
    with pytest.raises(FormSketchError, match=r"libGL\.so\.1.*apt install.*libgl1 ") as refused:
        import_qt_or_explain()
    assert "\n" not in str(refused.value)


def test_the_package_of_the_window_alone_brings_no_qt() -> None:
    code = "import sys, formsketch.ui; assert not any(name.startswith('PySide6') for name in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_messages_of_qt_are_passed_on(qtlog: Any) -> None:
    passed: list[tuple[QtMsgType, str]] = []
    outer = qInstallMessageHandler(lambda kind, context, message: passed.append((kind, message)))
    try:
        application._report_trouble()
        qWarning("a widget is unhappy")
        qInstallMessageHandler(None)
    finally:
        qInstallMessageHandler(outer)
    assert passed == [(QtMsgType.QtWarningMsg, "a widget is unhappy")]


def test_names_and_font(qapp: QApplication) -> None:
    assert (qapp.organizationName(), qapp.applicationName()) == ("FormSketch", "FormSketch")
    assert qapp.font().family() == "Noto Sans"
    assert QFontInfo(qapp.font()).family() == "Noto Sans"  # what is drawn, not only what was asked for
    assert 10 <= qapp.font().pointSizeF() <= 13


def test_a_missing_font_is_an_error_a_person_can_read(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtlog: Any
) -> None:
    monkeypatch.setattr(application, "resource", lambda *parts: tmp_path.joinpath(*parts))
    with qtlog.disabled(), pytest.raises(FormSketchError, match="NotoSans-Regular"):
        application._load_font()


def test_settings_stay_in_the_folder_of_the_test(settings_folder: Path) -> None:
    settings = QSettings()
    assert settings.format() == QSettings.Format.IniFormat
    assert settings.allKeys() == []
    settings.setValue("appearance", "dark")
    settings.sync()
    assert Path(settings.fileName()).is_relative_to(settings_folder)
    assert Path(settings.fileName()).read_text().count("appearance=dark") == 1


def test_settings_of_another_test_are_not_seen() -> None:
    assert QSettings().value("appearance", "none", type=str) == "none"


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12")
def test_calls_that_return_nothing_keep_their_reference_to_none(show: Callable[[QWidget], QWidget]) -> None:
    # PySide6 6.12.0 on Python 3.11 loses one reference for each such call, and the interpreter aborts after
    # some thousands.
    widget = show(QWidget())
    before = sys.getrefcount(None)
    for _ in range(1000):
        widget.update()
    assert sys.getrefcount(None) > before - 500


# ---- the helpers the other window tests stand on -------------------------------------------------------


class Watched(QWidget):
    """Keeps what it is sent."""

    def __init__(self) -> None:
        super().__init__()
        self.resize(200, 100)
        self.setMouseTracking(True)
        self.mouse: list[tuple[QEvent.Type, QPointF, Any, Any, Any]] = []
        self.turned: list[tuple[int, QPointF, Any]] = []

    def _keep(self, event: QMouseEvent) -> None:
        self.mouse.append(
            (event.type(), event.position(), event.button(), event.buttons(), event.modifiers())
        )
        assert event.globalPosition() == self.mapToGlobal(event.position())
        assert event.scenePosition() == QPointF(self.mapTo(self.window(), event.position()))

    mousePressEvent = mouseMoveEvent = mouseReleaseEvent = mouseDoubleClickEvent = _keep

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.turned.append((event.angleDelta().y(), event.position(), event.modifiers()))


@pytest.fixture
def watched(show: Callable[[QWidget], QWidget]) -> Watched:
    holder = QWidget()
    holder.resize(300, 200)
    inner = Watched()
    inner.setParent(holder)
    inner.move(40, 30)
    show(holder)
    return inner


def test_a_drag_is_real_in_every_step(watched: Watched) -> None:
    shift = Qt.KeyboardModifier.ShiftModifier
    right, none = Qt.MouseButton.RightButton, Qt.MouseButton.NoButton
    events.drag(watched, (10.25, 20.5), (30.25, 20.5), steps=4, button=right, modifiers=shift)
    kind = QEvent.Type
    assert [m[0] for m in watched.mouse] == [
        kind.MouseMove, kind.MouseButtonPress, *[kind.MouseMove] * 4, kind.MouseButtonRelease,
    ]  # fmt: skip
    assert [m[1].x() for m in watched.mouse] == [10.25, 10.25, 15.25, 20.25, 25.25, 30.25, 30.25]
    assert [m[2] for m in watched.mouse] == [none, right, none, none, none, none, right]
    assert [m[3] for m in watched.mouse] == [none, right, right, right, right, right, none]
    assert {m[4] for m in watched.mouse} == {shift}


def test_clicks_and_double_clicks(watched: Watched) -> None:
    kind = QEvent.Type
    events.click(watched, QPointF(3.5, 4.5))
    assert [m[0] for m in watched.mouse] == [kind.MouseButtonPress, kind.MouseButtonRelease]
    watched.mouse.clear()
    events.double_click(watched, QPointF(3.5, 4.5))
    assert [m[0] for m in watched.mouse] == [
        kind.MouseButtonPress, kind.MouseButtonRelease, kind.MouseButtonDblClick, kind.MouseButtonRelease,
    ]  # fmt: skip


def test_the_wheel_turns_by_notches(watched: Watched) -> None:
    control = Qt.KeyboardModifier.ControlModifier
    events.wheel(watched, (12.5, 8.0), notches=-2, modifiers=control)
    assert watched.turned == [(-240, QPointF(12.5, 8.0), control)]


def test_keys_reach_shortcuts_and_fields(show: Callable[[QWidget], QWidget], qapp: QApplication) -> None:
    window = QWidget()
    field = QLineEdit(window)
    used: list[str] = []
    shortcut = QShortcut(QKeySequence("Ctrl+K"), window)
    shortcut.activated.connect(lambda: used.append("Ctrl+K"))
    show(window)
    window.activateWindow()
    field.setFocus()
    qapp.processEvents()
    events.keys(field, "1.29")
    events.key(field, Qt.Key.Key_Backspace)
    events.key(field, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
    assert field.text() == "1.2"
    assert used == ["Ctrl+K"]


def test_shown_windows_are_put_away(show: Callable[[QWidget], QWidget], qapp: QApplication) -> None:
    # That of the tests before, too: all that is left is the one of this test.
    window = show(QWidget())
    assert [w for w in qapp.topLevelWidgets() if w.isVisible()] == [window]


@pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")
def test_a_wide_row_opens_no_window_of_its_own(
    show: Callable[[QWidget], QWidget], qapp: QApplication
) -> None:
    group = NumberGroup("Piece")
    row = group.add_field("Kind", CalmComboBox(), wide=True)
    show(group)
    row.set_visible(True)
    row.show("ring", "or cuff")
    assert [w for w in qapp.topLevelWidgets() if w.isVisible()] == [group]
