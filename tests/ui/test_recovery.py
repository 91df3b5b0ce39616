"""Unsaved designs outlive a program that ends badly: kept, offered again, and never over the maker's file."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QSettings

from formsketch.design.edits import mirrored
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.ui import dialogs, main
from formsketch.ui import recovery as recovery_module
from formsketch.ui.main import offer_left_behind, opening_session
from formsketch.ui.recovery import LeftBehind, Recovery, discard, left_behind
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from tests.support.asked import Asked, trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
ROOT = Path(__file__).parents[2]
MOST_WAIT_S = 60

# What a maker does in a program that then is killed: opens a file, mirrors the form, waits a moment.
PROGRAM = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from formsketch.design.edits import mirrored
from formsketch.design.file_format import load_design
from formsketch.ui.application import create_application
from formsketch.ui.recovery import Recovery
from formsketch.ui.session import Session

app = create_application(["formsketch"])
file, folder = Path(sys.argv[1]), Path(sys.argv[2])
loaded = load_design(file)
session = Session(loaded.design, file, loaded)
recovery = Recovery(session, folder)
session.change_level("Mirror", mirrored(session.design))

def look():
    if any(folder.glob("*.recovery.json")):
        print("kept", flush=True)

timer = QTimer()
timer.timeout.connect(look)
timer.start(50)
app.exec()
"""


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


def hoop() -> Design:
    return make_starter("hoop", BRASS)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "recovery"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The maker's file, as it was saved."""
    file = tmp_path / "cuff.formsketch.json"
    file.write_bytes(design_bytes(cuff()))
    return file


@contextmanager
def running(file: Path, folder: Path) -> Iterator[subprocess.Popen[str]]:
    """Another program that holds an unsaved design, once it has kept it; killed at the end."""
    command = [sys.executable, "-c", PROGRAM, str(file), str(folder)]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    program = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
    try:
        assert program.stdout is not None
        assert program.stdout.readline() == "kept\n"
        yield program
    finally:
        program.kill()
        program.wait(MOST_WAIT_S)
        if program.stdout is not None:
            program.stdout.close()


@pytest.fixture
def crash(folder: Path) -> Callable[..., None]:
    """Leave a session's design behind as a killed program does: kept, its lock let go."""
    held: list[Recovery] = []

    def crashed(session: Session) -> None:
        recovery = Recovery(session, folder)
        held.append(recovery)
        assert recovery.keep()
        assert recovery._lock is not None
        recovery._lock.unlock()

    return crashed


@pytest.fixture
def answers(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is answered to each offer in turn, 'later' when none are left; `OFFERED` has what was asked."""
    OFFERED.clear()
    given: list[str] = []

    def ask(parent: object, title: str, file: str) -> str:
        OFFERED.append((title, file))
        return given.pop(0) if given else "later"

    monkeypatch.setattr(dialogs, "ask_recovery", ask)
    return given


OFFERED: list[tuple[str, str]] = []


def start(folder: Path) -> tuple[Session, Recovery]:
    """The program starts: on a demo, with what was left behind offered."""
    session, _ = opening_session(QSettings(), None, None)
    recovery = Recovery(session, folder)
    offer_left_behind(recovery, session)
    return session, recovery


# ---- after a kill --------------------------------------------------------------------------------------


def test_a_killed_program_leaves_its_design_to_be_opened(
    folder: Path, file: Path, answers: list[str]
) -> None:
    with running(file, folder):
        # It runs: its design is its own.
        assert left_behind(folder) == []
    (left,) = left_behind(folder)
    assert (left.file, left.design) == (file, mirrored(cuff()))
    answers.append("open")
    session, recovery = start(folder)
    assert [(title, name) for title, name in OFFERED] == [("Open cuff", str(file))]
    assert (session.file, session.design) == (file, mirrored(cuff()))
    assert session.unsaved
    assert (session.step_count, session.undo_name) == (0, "")
    assert file.read_bytes() == design_bytes(cuff())
    # It is kept on, by this program now, and so offered to no other.
    assert len(list(folder.glob("*.recovery.json"))) == 1
    assert left_behind(folder) == []
    session.save(file)
    assert load_design(file).design == mirrored(cuff())
    assert list(folder.iterdir()) == []
    recovery.forget()


def test_it_is_opened_in_the_window_as_unsaved_over_its_own_file(
    folder: Path,
    file: Path,
    answers: list[str],
    crash: Callable[..., None],
    open_window: Callable[..., Window],
) -> None:
    loaded = load_design(file)
    gone = Session(loaded.design, file, loaded)
    gone.change_level("Mirror", mirrored(gone.design))
    crash(gone)
    answers.append("open")
    window = open_window(start(folder)[0])
    assert window.isWindowModified()
    assert window.windowTitle().startswith("Open cuff")
    assert file.read_bytes() == design_bytes(cuff())
    trigger(window, "save_design")  # over its own file, without asking where
    assert load_design(file).design == mirrored(cuff())
    assert not window.isWindowModified()


def test_a_design_that_never_had_a_file_is_offered_without_one(
    folder: Path, answers: list[str], crash: Callable[..., None]
) -> None:
    crash(Session(replace(hoop(), title="")))
    answers.append("open")
    session, recovery = start(folder)
    assert OFFERED == [("An untitled design", "")]
    assert (session.file, session.design, session.unsaved) == (None, replace(hoop(), title=""), True)
    recovery.forget()


def test_given_up_it_is_gone_and_asked_later_it_is_offered_again(
    folder: Path, answers: list[str], crash: Callable[..., None]
) -> None:
    crash(Session(cuff()))
    session, _ = start(folder)
    assert session.title != "Open cuff"
    start(folder)
    assert OFFERED == [("Open cuff", "")] * 2
    answers.append("discard")
    session, _ = start(folder)
    assert not session.unsaved
    assert list(folder.iterdir()) == []
    start(folder)
    assert len(OFFERED) == 3


def test_of_several_one_is_opened_and_the_others_wait(
    folder: Path, answers: list[str], crash: Callable[..., None]
) -> None:
    for age, title in ((300, "oldest"), (200, "middle"), (100, "newest")):
        crash(Session(replace(cuff(), title=title)))
        for kept in folder.glob("*.recovery.json"):
            if title in kept.read_text(encoding="utf-8"):
                os.utime(kept, (1_700_000_000 - age, 1_700_000_000 - age))
    answers += ["later", "open"]
    session, recovery = start(folder)
    assert [title for title, _ in OFFERED] == ["newest", "middle"]
    assert session.title == "middle"
    OFFERED.clear()
    start(folder)
    assert [title for title, _ in OFFERED] == ["newest", "oldest"]
    recovery.forget()


def test_two_running_windows_do_not_offer_each_others(folder: Path) -> None:
    first, second = Session(cuff()), Session(hoop())
    keepers = [Recovery(first, folder), Recovery(second, folder)]
    for keeper in keepers:
        assert keeper.keep()
    assert len(list(folder.glob("*.recovery.json"))) == 2
    assert left_behind(folder) == []
    keepers[0].forget()
    assert len(list(folder.glob("*.recovery.json"))) == 1
    assert left_behind(folder) == []
    keepers[1].forget()


def test_a_file_changed_after_the_bad_end_is_not_written_over_unasked(
    folder: Path,
    file: Path,
    answers: list[str],
    crash: Callable[..., None],
    open_window: Callable[..., Window],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    loaded = load_design(file)
    gone = Session(loaded.design, file, loaded)
    gone.change_level("Mirror", mirrored(gone.design))
    crash(gone)
    file.write_bytes(design_bytes(hoop()))
    answers.append("open")
    window = open_window(start(folder)[0])
    asked: list[tuple[str, str]] = []

    def keep_both(parent: object, name: str, beside: str) -> str:
        asked.append((name, beside))
        return "beside"

    monkeypatch.setattr(dialogs, "ask_changed_elsewhere", keep_both)
    trigger(window, "save_design")
    assert asked == [("cuff.formsketch.json", "cuff-2.formsketch.json")]
    assert load_design(file).design == hoop()
    assert load_design(file.with_name("cuff-2.formsketch.json")).design == mirrored(cuff())


def test_what_a_killed_program_left_unfinished_is_taken_away_at_the_next_start(
    folder: Path, crash: Callable[..., None]
) -> None:
    crash(Session(cuff()))
    (kept,) = folder.glob("*.recovery.json")
    running_one = Recovery(Session(hoop()), folder)
    assert running_one.keep()
    held = {item.name for item in folder.iterdir()} - {kept.name, kept.with_suffix(".lock").name}
    (folder / ".formsketch-0123.part").write_bytes(b"half")
    nameless, young = folder / "nameless.lock", folder / "young.lock"
    for lock in (nameless, young):
        lock.write_bytes(b"")
    os.utime(nameless, (1_700_000_000, 1_700_000_000))
    assert [left.kept for left in left_behind(folder)] == [kept]
    # What runs keeps its own, and a lock just made may be about to get its name.
    assert {item.name for item in folder.iterdir()} == {kept.name, young.name} | held
    running_one.forget()


# ---- when it is kept -----------------------------------------------------------------------------------


def test_a_change_is_kept_a_moment_later_and_forgotten_when_it_is_taken_back(
    folder: Path, file: Path, qtbot: object
) -> None:
    loaded = load_design(file)
    session = Session(loaded.design, file, loaded)
    recovery = Recovery(session, folder)
    assert recovery._timer.interval() == 2000
    recovery._timer.setInterval(20)

    def kept() -> list[Path]:
        return list(folder.glob("*.recovery.json"))

    session.preview(mirrored(cuff()))  # a pull under way is not kept
    qtbot.wait(60)  # type: ignore[attr-defined]
    assert kept() == []
    session.commit("Mirror")
    qtbot.waitUntil(lambda: len(kept()) == 1, timeout=2000)  # type: ignore[attr-defined]
    body = json.loads(kept()[0].read_bytes())
    assert body["file"] == str(file)
    assert body["design"]["title"] == "Open cuff"
    session.undo()
    qtbot.waitUntil(lambda: kept() == [], timeout=2000)  # type: ignore[attr-defined]
    session.redo()
    qtbot.waitUntil(lambda: len(kept()) == 1, timeout=2000)  # type: ignore[attr-defined]
    # The latest replaces the one before.
    session.change_level("Hoop", hoop())
    qtbot.waitUntil(lambda: "Hoop" in kept()[0].read_text(encoding="utf-8"), timeout=2000)  # type: ignore[attr-defined]
    assert len(kept()) == 1
    recovery.forget()


def test_somebody_who_never_pauses_is_kept_too(folder: Path, qtbot: object) -> None:
    session = Session(cuff())
    recovery = Recovery(session, folder)
    recovery._timer.setInterval(60)
    # A change more often than it is kept, for much longer than that.
    for number in range(40):
        session.change("Title", replace(session.design, title=f"state {number}"))
        qtbot.wait(10)  # type: ignore[attr-defined]
        if any(folder.glob("*.recovery.json")):
            break
    assert number < 39
    # Nothing is written while something is pulled.
    (kept,) = folder.glob("*.recovery.json")
    kept.unlink()
    session.change("Title", replace(session.design, title="the last"))
    session.preview(mirrored(session.design))
    qtbot.wait(200)  # type: ignore[attr-defined]
    assert not kept.exists()
    session.cancel()
    qtbot.waitUntil(kept.exists, timeout=5000)  # type: ignore[attr-defined]
    assert "the last" in kept.read_text(encoding="utf-8")
    recovery.forget()


def test_saving_and_closing_leave_nothing_behind(
    folder: Path, tmp_path: Path, asked: Asked, open_window: Callable[..., Window]
) -> None:
    for answer in ("save", "discard"):
        window = open_window(cuff())
        recovery = Recovery(window.session, folder)
        window.closed.connect(recovery.forget)
        assert recovery.keep()
        assert len(list(folder.iterdir())) == 2  # the design and its lock
        asked.file = (str(tmp_path / "saved.formsketch.json"), "")
        if answer == "save":
            trigger(window, "save_design")
            assert list(folder.iterdir()) == []
            trigger(window, "mirror_form")
            assert recovery.keep()
        asked.save_answer = "cancel"
        window.close()
        assert len(list(folder.iterdir())) == 2  # still open: still kept
        asked.save_answer = "discard"
        window.close()
        assert list(folder.iterdir()) == []
        assert not recovery._timer.isActive()


def test_opening_another_design_forgets_the_one_given_up(folder: Path, file: Path) -> None:
    session = Session(hoop())
    recovery = Recovery(session, folder)
    assert recovery.keep()
    session.open(file)
    assert list(folder.iterdir()) == []
    session.replace(hoop())
    assert len(list(folder.glob("*.recovery.json"))) == 1
    recovery.forget()


# ---- what goes wrong -----------------------------------------------------------------------------------


def bad_files(good: bytes) -> dict[str, bytes]:
    body = json.loads(good)
    return {
        "empty": b"",
        "half": good[: len(good) // 2],
        "binary": b"\xff\xfe\x00\x01" * 40,
        "list": b"[1, 2]",
        "number": b"7",
        "other": json.dumps({**body, "format": "something-else"}).encode(),
        "nofile": json.dumps({k: v for k, v in body.items() if k != "file"}).encode(),
        "oddfile": json.dumps({**body, "file": 12}).encode(),
        "nodesign": json.dumps({**body, "design": None}).encode(),
        "unsound": json.dumps({**body, "design": {**body["design"], "form": {"runs": []}}}).encode(),
        "later": json.dumps({**body, "design": {**body["design"], "version": 999}}).encode(),
        "deep": b"[" * 200_000,
    }


def test_unreadable_recovery_files_are_passed_over(
    folder: Path, answers: list[str], crash: Callable[..., None]
) -> None:
    crash(Session(cuff()))
    (good,) = folder.glob("*.recovery.json")
    for name, data in bad_files(good.read_bytes()).items():
        (folder / f"{name}.recovery.json").write_bytes(data)
    (folder / "folder.recovery.json").mkdir()
    (folder / "note.txt").write_text("not ours")
    if sys.platform != "win32":
        (folder / "broken.recovery.json").symlink_to(folder / "nowhere")
    assert [left.kept for left in left_behind(folder)] == [good]
    _, recovery = start(folder)
    assert [title for title, _ in OFFERED] == ["Open cuff"]
    # Nothing is thrown away that was not looked at.
    assert (folder / "note.txt").exists()
    assert (folder / "half.recovery.json").exists()
    recovery.forget()


def test_without_a_folder_nothing_is_left(folder: Path, tmp_path: Path) -> None:
    assert left_behind(folder) == []
    (tmp_path / "a file").write_text("no folder")
    assert left_behind(tmp_path / "a file" / "recovery") == []
    discard(LeftBehind(tmp_path / "gone.recovery.json", None, cuff()))


def test_a_full_disk_does_not_get_in_the_way(
    folder: Path,
    asked: Asked,
    open_window: Callable[..., Window],
    monkeypatch: pytest.MonkeyPatch,
    qtbot: object,
) -> None:
    window = open_window(cuff())
    recovery = Recovery(window.session, folder)
    told: list[str] = []
    recovery.told.connect(told.append)
    recovery._timer.setInterval(10)
    with monkeypatch.context() as patch:

        def full(descriptor: int) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        patch.setattr(os, "fsync", full)
        trigger(window, "mirror_form")
        qtbot.wait(50)  # type: ignore[attr-defined]
        assert not recovery.keep()
        # It is said once, below, where it is in nobody's way.
        assert len(told) == 1 and "save it" in told[0] and "the disk is full" in told[0]
        assert not list(folder.glob("*.recovery.json"))
        assert not list(folder.glob("*.part"))
    assert not asked.explained
    assert window.session.undo_name == "Mirror"
    # Room again: the next change is kept.
    trigger(window, "mirror_form")
    qtbot.waitUntil(lambda: len(list(folder.glob("*.recovery.json"))) == 1, timeout=2000)  # type: ignore[attr-defined]
    recovery.forget()


def test_what_cannot_be_kept_on_is_not_thrown_away(
    folder: Path, answers: list[str], crash: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    crash(Session(cuff()))
    answers.append("open")

    def full(path: Path, data: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(recovery_module, "write_atomically", full)
        session, recovery = start(folder)
    assert session.design == cuff()
    assert [left.design for left in left_behind(folder)] == [cuff()]
    recovery.forget()


def test_a_design_that_cannot_be_shown_any_more_is_explained_and_kept(
    folder: Path, asked: Asked, answers: list[str], crash: Callable[..., None]
) -> None:
    crash(Session(cuff()))
    # Its metal was in the maker's own table, and is no more.
    (kept,) = folder.glob("*.recovery.json")
    kept.write_bytes(kept.read_bytes().replace(b"brass-c26000", b"brass-of-old"))
    answers.append("open")
    session, recovery = start(folder)
    (sentence,) = asked.explained
    assert "brass-of-old" in sentence
    assert not session.unsaved  # the demo it began on
    assert len(left_behind(folder)) == 1
    recovery.forget()


def test_the_folder_is_the_programs_own(qapp: object) -> None:
    folder = main.recovery_folder()
    assert folder.name == "recovery"
    assert "FormSketch" in folder.parts
