"""Mutated settings: the window opens all the same, with what is usual in place of what cannot be used."""

from __future__ import annotations

import gc
import random
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

from PySide6.QtCore import QCoreApplication, QEvent, QSettings
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog

from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.ui import dialogs
from formsketch.ui.application import create_application
from formsketch.ui.freehand_tool import FreehandTool
from formsketch.ui.main import opening_session
from formsketch.ui.screen_match import true_px_per_mm
from formsketch.ui.session import Session
from formsketch.ui.settings import own_settings
from formsketch.ui.window import Window
from tests.trust.guard import Findings, Guard
from tests.trust.mutate import mutated_bytes

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
# One window for so many files: opening it takes most of the time.
WINDOW_EVERY = 20
# Commands whose pages read settings of their own.
COMMANDS = ("draw_freehand", "order_wire", "show_own_pieces", "lay_out_template", "rulers_in_inches")
VALUES = (
    "nan", "inf", "-1", "1e999", "true", "system", "@Invalid()", "@ByteArray(x)", "@Size(1 2)",
    "@Rect(0 0 0 0)", "@Point(1 1)", "a, b, c", '"', "@String(x)", "@DateTime(\\0\\0\\0\\x10)", "", "../..",
    "@Variant(\\0\\0\\0\\x7f\\0\\0\\0\\x18PySide::PyObjectWrapper\\0)", "\\x40Variant(\\0)", "passwd",
    "999999999999999999", "%1 %n",
)  # fmt: skip


def sound_settings(folder: Path) -> bytes:
    """The settings as the program writes them, after some use."""
    window = Window(Session(make_starter("open-cuff", BRASS)), QSettings())
    window.show()
    settings = window.settings
    window.files.remember(folder / "a b.formsketch.json")
    window.files.remember(folder / "cuff.formsketch.json")
    for name in ("hold_mm", "kerf_mm", "coil_mm"):
        settings.setValue(f"wire_order/{name}", 2.5)
    settings.setValue("wire_order/pieces", 3.0)
    settings.setValue("pieces", "a bracelet\t1.2\t40\t0.2\n")
    settings.setValue("freehand/tolerance_mm", 0.5)
    for name, value in (("paper", "a4"), ("lying", True), ("parts", "wire,finished")):
        settings.setValue(f"template/{name}", value)
    screen = QApplication.primaryScreen()
    name = f"{screen.manufacturer()} {screen.model()} {screen.name()}"
    settings.setValue(f"screens/{''.join(c if c.isalnum() else '-' for c in name)}/px_per_mm", 3.9)
    window.actions_by_name["rulers_in_inches"].trigger()
    _put_away(window)
    settings.sync()
    return Path(settings.fileName()).read_bytes()


def _put_away(window: Window) -> None:
    window.session._saved_design = window.session.last_step_design
    window.close()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def slipped(data: bytes, choose: random.Random) -> bytes:
    """Slips in the bytes, or values that are others."""
    if choose.random() < 0.4:
        return mutated_bytes(data, choose)
    lines = data.decode("utf-8").splitlines()
    for _ in range(choose.randint(1, 3)):
        at = choose.randrange(len(lines))
        key = lines[at].partition("=")[0]
        lines[at] = f"{key}={choose.choice(VALUES)}"
    return "\n".join(lines).encode()


def fuzz_settings(guard: Guard, count: int, number: int, clock: bool = True) -> Findings:
    """Each file is read by all that read settings; some with the whole window."""
    findings, choose = Findings("settings", number), random.Random(number)
    for form in QSettings.Format.IniFormat, QSettings.Format.NativeFormat:
        for scope in QSettings.Scope.UserScope, QSettings.Scope.SystemScope:
            QSettings.setPath(form, scope, str(guard.own))
    _app = create_application(["formsketch"])
    _answer_nothing()
    import_module("reportlab.rl_config")  # it reads settings of its own from the home folder
    # Windows are collected only where they are put away: in the middle of making another it crashes Qt.
    gc.disable()
    # What Qt meets in a slot or an event comes here.
    met: list[BaseException] = []
    sys.excepthook = lambda kind, fault, trace: met.append(fault)
    sound = sound_settings(guard.own)
    file = Path(QSettings().fileName())
    for at in range(count):
        data = slipped(sound, choose)
        file.write_bytes(data)
        with guard.case(findings, ascii(data), clock=clock and at % WINDOW_EVERY != 0):
            _use(at % WINDOW_EVERY == 0)
        for fault in met:
            findings.fault(f"in a slot or an event: {fault!r}"[:200], ascii(data))
        met.clear()
        gc.collect()
        for left in file.parent.glob("*.set-aside"):
            left.unlink()
    return findings


def _use(whole: bool) -> None:
    settings, _ = own_settings()
    session, _ = opening_session(settings, None, None)
    px_per_mm, _ = true_px_per_mm(QApplication.primaryScreen(), settings)
    assert 1.0 < px_per_mm < 100.0
    assert 0 < FreehandTool(session, settings, ()).tolerance_mm < 100
    if not whole:
        return
    window = Window(session, settings)
    window.show()
    for name in COMMANDS:
        if name in window.actions_by_name:
            window.actions_by_name[name].trigger()
    QApplication.processEvents()
    assert all(isinstance(name, str) for name in window.files.recent_files())
    _put_away(window)


def _answer_nothing() -> None:
    """Every question is left, every page is shown and put away."""

    def shown(dialog: QDialog) -> int:
        dialog.show()
        QApplication.processEvents()
        dialog.hide()
        return 0

    def nothing(*_: Any) -> None:
        return None

    QDialog.exec = shown  # type: ignore[assignment,method-assign]
    for name in vars(dialogs):
        if name.startswith(("ask_", "explain", "show_")):
            setattr(dialogs, name, nothing)
    for name in ("getOpenFileName", "getSaveFileName"):
        setattr(QFileDialog, name, staticmethod(lambda *_: ("", "")))
