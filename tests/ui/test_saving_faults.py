"""Saving where it cannot be, over what others wrote, and with two windows on one file: nothing is lost.

Keys are real ones; questions are answered in the window they open in.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import QApplication, QFileDialog

from formsketch import files
from formsketch.design.edits import mirrored
from formsketch.design.file_format import design_bytes, load_design, save_design
from formsketch.design.model import Design, Wire
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError
from formsketch.files import write_atomically
from formsketch.ui import help_faults
from formsketch.ui.file_in_use import FileInUse
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import said
from tests.support.boxes import Boxes

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
CONTROL = Qt.KeyboardModifier.ControlModifier


def cuff() -> Design:
    return make_starter("open-cuff", BRASS)


def hoop() -> Design:
    return make_starter("hoop", BRASS)


@pytest.fixture
def opened(
    show: Callable[[Window], Window], tmp_path: Path
) -> Iterator[Callable[[str], tuple[Window, Path]]]:
    """A window on a file of a cuff, as it is opened; what is unsaved at the end is given up."""
    windows: list[Window] = []

    def open_it(name: str = "cuff.formsketch.json") -> tuple[Window, Path]:
        file = tmp_path / "work" / name
        file.parent.mkdir(exist_ok=True)
        loaded = load_design(file) if file.exists() else save_design(file, cuff())
        window = Window(Session(loaded.design, file, loaded), QSettings())
        windows.append(window)
        show(window)
        window.activateWindow()
        QApplication.processEvents()
        return window, file

    yield open_it
    for window in windows:
        window.session._saved_design = window.session.last_step_design


def change(window: Window) -> None:
    """A step to be saved."""
    window.session.change_level("Mirror", mirrored(window.session.design))


def press_save(window: Window, modifiers: Qt.KeyboardModifier = CONTROL) -> None:
    window.activateWindow()
    QApplication.processEvents()
    events.key(window.canvas, Qt.Key.Key_S, modifiers)
    QApplication.processEvents()


# ---- the disk ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.ESTALE, errno.EDQUOT])
def test_a_disk_that_takes_nothing_is_named_and_nothing_is_lost(
    opened: Callable[..., tuple[Window, Path]],
    boxes: Boxes,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    number: int,
) -> None:
    window, file = opened()
    change(window)
    with monkeypatch.context() as patch:

        def refused(descriptor: int) -> None:
            raise OSError(number, os.strerror(number))

        patch.setattr(files.os, "fsync", refused)
        press_save(window)
    (sentence,) = boxes.said
    assert files.REASONS[number] in sentence and str(file) in sentence
    assert "Nothing is lost" in sentence and "Save as" in sentence
    assert load_design(file).design == cuff()
    assert [item.name for item in file.parent.iterdir()] == [file.name]
    assert window.isWindowModified()
    # Elsewhere there is room.
    other = tmp_path / "elsewhere.formsketch.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", staticmethod(lambda *_: (str(other), "")))
    press_save(window, CONTROL | Qt.KeyboardModifier.ShiftModifier)
    assert load_design(other).design == mirrored(cuff())
    assert not window.isWindowModified()


@pytest.mark.skipif(sys.platform != "linux", reason="needs a limit on the size of files")
def test_a_limit_in_the_middle_of_the_bytes_leaves_the_old_file(tmp_path: Path) -> None:
    import resource
    import signal

    file = tmp_path / "cuff.formsketch.json"
    save_design(file, cuff())
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, before[1]))
        with pytest.raises(FormSketchError, match="not written, it is larger than the disk allows"):
            save_design(file, hoop())
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)
    assert load_design(file).design == cuff()
    assert [item.name for item in tmp_path.iterdir()] == [file.name]


def test_a_folder_that_is_gone_is_named_and_the_design_goes_elsewhere(
    opened: Callable[..., tuple[Window, Path]], boxes: Boxes
) -> None:
    window, file = opened()
    change(window)
    file.unlink()
    file.parent.rmdir()
    press_save(window)
    assert "the folder does not exist. Nothing is lost" in boxes.said[0]
    assert window.isWindowModified()
    # The folder is there again, the file is not: there is nothing to ask.
    file.parent.mkdir()
    press_save(window)
    assert len(boxes.said) == 1
    assert load_design(file).design == mirrored(cuff())


@pytest.mark.skipif(sys.platform == "win32", reason="locks of POSIX systems")
def test_what_a_killed_program_left_unfinished_goes_with_the_next_save(tmp_path: Path) -> None:
    left = tmp_path / ".formsketch-00ff.part"
    left.write_bytes(b"half")
    others = (tmp_path / ".formsketch-notes", tmp_path / "formsketch-00ff.part", tmp_path / "x.part")
    for other in others:
        other.write_bytes(b"")
    (tmp_path / ".formsketch-folder.part").mkdir()
    (tmp_path / ".formsketch-link.part").symlink_to(others[0])
    file = tmp_path / "cuff.formsketch.json"
    held = files._new_unfinished(tmp_path)
    write_atomically(file, b"new")
    assert not left.exists()
    assert held[0].exists()  # somebody is writing it
    assert all(other.exists() for other in others)
    os.close(held[1])
    write_atomically(file, b"newer")
    assert not held[0].exists()


# ---- another program -----------------------------------------------------------------------------------


@pytest.mark.parametrize("answer", ["Keep both", "Replace", "Cancel"])
def test_a_file_that_another_program_wrote_is_never_written_over_unasked(
    opened: Callable[..., tuple[Window, Path]], boxes: Boxes, answer: str
) -> None:
    window, file = opened()
    change(window)
    file.write_bytes(design_bytes(hoop()))
    (file.parent / "cuff-2.formsketch.json").write_bytes(b"somebody's")
    boxes.answers.append(answer)
    press_save(window)
    (asked,) = boxes.said
    assert "cuff.formsketch.json was changed by another window or program" in asked
    assert "cuff-3.formsketch.json" in asked
    beside = file.parent / "cuff-3.formsketch.json"
    assert (file.parent / "cuff-2.formsketch.json").read_bytes() == b"somebody's"
    if answer == "Keep both":
        assert load_design(file).design == hoop()
        assert load_design(beside).design == mirrored(cuff())
        assert window.session.file == beside
        assert "cuff-3" in said(window)
    else:
        assert load_design(file).design == (mirrored(cuff()) if answer == "Replace" else hoop())
        assert not beside.exists()
    assert window.isWindowModified() == (answer == "Cancel")
    if answer != "Cancel":
        # It knows its file again.
        change(window)
        press_save(window)
        assert len(boxes.said) == 1


def test_what_is_no_design_any_more_is_asked_about_too(
    opened: Callable[..., tuple[Window, Path]], boxes: Boxes
) -> None:
    window, file = opened()
    change(window)
    file.write_bytes(b"\0" * 21_000_000)  # more than any design file has
    press_save(window)
    assert len(boxes.said) == 1
    assert file.stat().st_size == 21_000_000


def test_the_same_bytes_again_are_no_change(opened: Callable[..., tuple[Window, Path]], boxes: Boxes) -> None:
    window, file = opened()
    data = file.read_bytes()
    file.unlink()
    file.write_bytes(data)
    change(window)
    press_save(window)
    assert boxes.said == []
    assert load_design(file).design == mirrored(cuff())


def test_leaving_with_a_file_changed_elsewhere_leaves_only_what_is_saved(
    opened: Callable[..., tuple[Window, Path]], boxes: Boxes
) -> None:
    window, file = opened()
    change(window)
    file.write_bytes(design_bytes(hoop()))
    # Save first; then neither: the window stays.
    boxes.answers += ["Save", "Cancel"]
    window.close()
    assert window.isVisible()
    assert load_design(file).design == hoop()


# ---- two windows ---------------------------------------------------------------------------------------


def test_the_second_window_is_told_and_neither_writes_over_the_other(
    opened: Callable[..., tuple[Window, Path]], boxes: Boxes, tmp_path: Path
) -> None:
    first, file = opened()
    one = FileInUse(first.session, tmp_path / "open")
    told: list[str] = []
    one.found.connect(told.append)
    one.follow()
    second, _ = opened()
    two = FileInUse(second.session, tmp_path / "open")
    two.found.connect(told.append)
    two.follow()
    assert told == [str(file)]
    change(first)
    press_save(first)
    second.session.change("Title", replace(second.session.design, title="by the second"))
    boxes.answers.append("Keep both")
    press_save(second)
    assert load_design(file).design == mirrored(cuff())
    assert load_design(file.with_name("cuff-2.formsketch.json")).design.title == "by the second"
    # The second has a file of its own now, that nobody else has open.
    assert told == [str(file)]
    one.let_go()
    third = FileInUse(Session(cuff(), file), tmp_path / "open")
    third.found.connect(told.append)
    third.follow()
    assert told == [str(file)]
    for each in (two, third):
        each.let_go()
    assert list((tmp_path / "open").iterdir()) == []


def test_another_spelling_of_the_path_is_the_same_file(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    file = tmp_path / "cuff.formsketch.json"
    save_design(file, cuff())
    one, two = (
        FileInUse(Session(cuff(), each), tmp_path / "open")
        for each in (file, tmp_path / "a" / ".." / file.name)
    )
    told: list[str] = []
    two.found.connect(told.append)
    one.follow()
    two.follow()
    assert len(told) == 1
    one.let_go()
    two.let_go()


def test_a_folder_for_the_signs_that_cannot_be_made_is_no_hindrance(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(b"")
    in_use = FileInUse(Session(cuff(), tmp_path / "cuff.formsketch.json"), tmp_path / "plain" / "open")
    in_use.follow()
    in_use.let_go()


# ---- in the help ---------------------------------------------------------------------------------------


def test_every_reason_has_its_place_in_the_help() -> None:
    page = help_faults.faults_page()
    for reason in files.REASONS.values():
        assert reason in page
    assert "the folder does not exist" in page
