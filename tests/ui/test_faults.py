"""Faults of the program itself: written down once, told in one sentence, and the window works on."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEventLoop, QObject, QSettings, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from formsketch import __version__
from formsketch.design.edits import mirrored
from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError
from formsketch.ui import faults as faults_module
from formsketch.ui.background import LatestOnly
from formsketch.ui.faults import MOST_REPORTS_KEPT, FaultReports
from formsketch.ui.main import tend
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import said
from tests.support.boxes import Boxes

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
ROOT = Path(__file__).parents[2]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "recovery"


@pytest.fixture
def faults(qapp: QApplication, folder: Path) -> Iterator[FaultReports]:
    made = FaultReports(folder)
    made.install()
    yield made
    made.remove()


@pytest.fixture
def tended(show: Callable[[Window], Window], faults: FaultReports) -> Iterator[Window]:
    """A window as the program looks after it, on a cuff that was mirrored and not saved."""
    window = Window(Session(make_starter("open-cuff", BRASS)), QSettings())
    window.kept = tend(window, faults)  # type: ignore[attr-defined]
    show(window)
    window.session.change_level("Mirror", mirrored(window.session.design))
    yield window
    window.session._saved_design = window.session.last_step_design


def reports(folder: Path) -> list[Path]:
    return sorted(folder.glob("fault-*.txt"))


def boom() -> None:
    raise ZeroDivisionError(f"of {Path.home()}/secret and the like")


def settle() -> None:
    """Let what was put off come."""
    # A loop of Qt's own, as the program has: other ways to wait hand a fault to whoever waits.
    for _ in range(3):
        loop = QEventLoop()
        QTimer.singleShot(10, loop.quit)
        loop.exec()


def test_a_fault_in_a_slot_is_written_down_and_the_window_works_on(
    tended: Window, folder: Path, boxes: Boxes
) -> None:
    QTimer.singleShot(0, boom)
    settle()
    (report,) = reports(folder)
    (sentence,) = boxes.said
    assert str(report) in sentence and sentence.count(". ") == 0
    assert str(report) in said(tended)
    text = report.read_text(encoding="utf-8")
    assert f"FormSketch {__version__}" in text and sys.version.split()[0] in text
    assert "last steps: New; Mirror" in text
    assert "ZeroDivisionError" in text and "in boom" in text and "test_faults.py" in text
    # Nothing of anybody's folders, nor of the design.
    assert str(Path.home()) not in text and str(ROOT) not in text
    assert "length_mm" not in text
    # What is unsaved was kept at once.
    assert len(list(folder.glob("*.recovery.json"))) == 1
    tended.activateWindow()
    settle()
    events.key(tended.canvas, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert tended.session.step_count == 0


def test_a_fault_in_every_paint_is_one_report_and_one_sentence(
    tended: Window, folder: Path, boxes: Boxes, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(tended.canvas._painting, "paint", lambda *_: boom())
        for _ in range(6):
            tended.canvas.update()
            settle()
    tended.canvas.update()
    settle()
    assert len(reports(folder)) == 1
    assert len(boxes.said) == 1
    assert tended.isVisible()


def test_a_fault_in_mid_pull_puts_back_what_is_pulled(
    tended: Window, folder: Path, boxes: Boxes, monkeypatch: pytest.MonkeyPatch
) -> None:
    canvas, session = tended.canvas, tended.session
    before = session.design
    line = canvas.wire.centreline_mm(session.wire.part(0))
    start = canvas.view.to_px(complex(line[len(line) // 2]))
    events.pull(canvas, start, (start.x() + 30, start.y() + 40), steps=3)
    assert canvas.is_pulling and session.design != before
    with monkeypatch.context() as patch:
        patch.setattr(canvas.mouse.gesture, "move", lambda *_: boom(), raising=False)
        QTimer.singleShot(0, lambda: events.move(canvas, (start.x() + 60, start.y() + 60), events.LEFT))
        settle()
    assert len(boxes.said) == 1
    assert not canvas.is_pulling
    assert session.design is before
    events.release(canvas, (start.x() + 60, start.y() + 60))
    assert session.design is before


def test_many_different_faults_do_not_storm(tended: Window, folder: Path, boxes: Boxes) -> None:
    for number in range(15):
        kind = type(f"Fault{number}", (Exception,), {})

        def fail(kind: type[Exception] = kind) -> None:
            raise kind

        QTimer.singleShot(0, fail)
        settle()
    assert len(boxes.said) == 3
    assert len(reports(folder)) == 10


def test_a_fault_in_a_thread_is_told_on_the_windows(
    faults: FaultReports, folder: Path, qapp: QApplication
) -> None:
    told: list[tuple[str, bool]] = []
    faults.told.connect(
        lambda text: told.append((text, threading.current_thread() is threading.main_thread()))
    )
    thread = threading.Thread(target=boom)
    thread.start()
    thread.join()
    settle()
    assert [on_main for _, on_main in told] == [True]
    assert len(reports(folder)) == 1


def test_a_fault_of_work_in_the_background_is_written_down_and_answered(
    faults: FaultReports, folder: Path
) -> None:
    owner = QObject()
    work = LatestOnly(owner)
    came: list[object] = []
    work.done.connect(came.append)
    work.ask(boom)
    while not came:
        QTest.qWait(5)
    assert isinstance(came[0], FormSketchError) and "Error" not in str(came[0])
    assert len(reports(folder)) == 1
    # What is refused in words is no fault.

    def refuse() -> None:
        raise FormSketchError("too thin")

    assert str(work.ask_briefly(refuse)) == "too thin"
    assert len(reports(folder)) == 1
    work.wait()


def test_reports_do_not_pile_up(qapp: QApplication, folder: Path) -> None:
    folder.mkdir(parents=True)
    for number in range(MOST_REPORTS_KEPT + 5):
        (folder / f"fault-20200101-0000{number:02}-1.txt").write_text("old")
    (folder / "note.txt").write_text("not ours")
    made = FaultReports(folder)
    try:
        boom()
    except ZeroDivisionError as fault:
        made.meet(type(fault), fault, fault.__traceback__)
    assert len(reports(folder)) == MOST_REPORTS_KEPT
    assert "ZeroDivisionError" in reports(folder)[-1].read_text(encoding="utf-8")
    assert (folder / "note.txt").exists()


def test_where_no_report_can_be_written_it_is_still_told(
    qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "plain").write_bytes(b"")
    made = FaultReports(tmp_path / "plain" / "recovery", boom)  # type: ignore[arg-type]
    told: list[str] = []
    made.told.connect(told.append)
    fault = ValueError("x")
    made.meet(ValueError, fault, None)
    settle()
    assert "could not be written" in told[0]


def test_an_interrupt_is_no_fault(qapp: QApplication, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    passed: list[object] = []
    monkeypatch.setattr(sys, "excepthook", lambda *given: passed.append(given[0]))
    made = FaultReports(folder)
    made.meet(KeyboardInterrupt, KeyboardInterrupt(), None)
    assert passed == [KeyboardInterrupt]
    assert reports(folder) == []


# The whole program in a process of its own: a fault in its first moment, then it is closed as ever.
PROGRAM = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from formsketch.ui import main

tend = main.tend

def act():
    raise RuntimeError("unforeseen")

def begin(window, faults):
    kept = tend(window, faults)

    told = []

    def close():
        box = QApplication.activeModalWidget()
        if box is not None:
            told.append(box.text().partition(";")[0])
            print(told[-1], flush=True)
            box.reject()
        elif told:
            window.close()

    window.timer = QTimer()
    window.timer.timeout.connect(close)
    window.timer.start(300)
    QTimer.singleShot(0, act)
    return kept

main.tend = begin
sys.exit(main.run(None))
"""


def test_the_program_goes_on_after_a_fault(tmp_path: Path) -> None:
    home = {
        name: str(tmp_path / name)
        for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "APPDATA", "LOCALAPPDATA")
    }
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        env={**os.environ, **home, "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == faults_module._MET
    assert "Traceback" not in done.stderr
    found = list(tmp_path.rglob("fault-*.txt"))
    assert len(found) == 1 and "unforeseen" in found[0].read_text(encoding="utf-8")
