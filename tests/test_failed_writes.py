"""Writes that fail, for every kind of file a command writes: the old file whole, one sentence, ends with 2.

Faults are raised where the system raises them: full disk on fsync (and, where this process may mount one, on
a disk of 64 kB that is full indeed), no permission on open, a file held by another program on rename, with
the number Windows gives for it (ERROR_SHARING_VIOLATION, 32 [P]).
"""

import errno
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace

from formsketch import files
from formsketch.cli import main
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Variant, Wire
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError
from formsketch.files import write_all_atomically

BRASS = Wire(metal="brass-c26000", diameter_mm=1.290846)
DESIGN = replace(
    make_starter("s-ring", BRASS, title="Eddy ring"), variants=(Variant(title="light", diameter_mm=1.02),)
)
OLD = b"what stood here before"

# Every command that writes, with every kind of file it writes.
WRITTEN = [
    ("template", "out.svg"),
    ("template", "out.pdf"),
    ("template", "out.dxf"),
    ("template", "out.csv"),
    ("template --paper a4", "out.pdf"),
    ("template --plain outline", "out.svg"),
    ("card", "out.pdf"),
    ("card", "out.html"),
    ("compare", "out.svg"),
    ("compare", "out.pdf"),
    ("compare", "out.png"),
    ("fit --inside 160", "out.formsketch.json"),
]


def _raise(fault: OSError) -> Callable[..., None]:
    def fail(*_args: object, **_named: object) -> None:
        raise fault

    return fail


def _held() -> OSError:
    fault = PermissionError(errno.EACCES, "The process cannot access the file")
    fault.winerror = 32  # type: ignore[attr-defined]
    return fault


FAULTS = {
    "disk full": ("fsync", OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), "the disk is full"),
    "no permission": ("open", OSError(errno.EACCES, os.strerror(errno.EACCES)), "there is no permission"),
    "held by another program": ("replace", _held(), "another program holds it"),
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "ring.formsketch.json").write_bytes(design_bytes(DESIGN))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(monkeypatch: pytest.MonkeyPatch, command: str, output: str) -> int | str | None:
    """The command in this process, and what it ends with."""
    name, *options = command.split()
    arguments = ["formsketch", name, "ring.formsketch.json", *options, "-o", output]
    monkeypatch.setattr(sys, "argv", arguments)
    with pytest.raises(SystemExit) as ended:
        main()
    return ended.value.code


def state(folder: Path) -> dict[str, bytes | None]:
    return {one.name: one.read_bytes() if one.is_file() else None for one in folder.iterdir()}


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize(("command", "output"), WRITTEN)
def test_a_fault_leaves_the_old_file_and_says_so(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    command: str,
    output: str,
    fault: str,
) -> None:
    (folder / output).write_bytes(OLD)
    before = state(folder)
    step, raised, reason = FAULTS[fault]
    with monkeypatch.context() as patched:
        patched.setattr(files.os, step, _raise(raised))
        code = run(patched, command, output)
    told = capsys.readouterr()
    assert code == 2
    assert told.err == f"formsketch: {output}: not written, {reason}\n"
    assert "written" not in told.out
    assert state(folder) == before


@pytest.mark.parametrize(("command", "output"), WRITTEN)
def test_a_folder_of_that_name_is_left_alone(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    command: str,
    output: str,
) -> None:
    (folder / output).mkdir()
    (folder / output / "kept.txt").write_bytes(OLD)
    before = state(folder)
    code = run(monkeypatch, command, output)
    told = capsys.readouterr()
    inside = {one.name for one in (folder / output).iterdir()}
    if code == 0:  # some commands write into a folder, under the design's name
        assert inside - {"kept.txt"} and all(name.startswith(("ring", "kept")) for name in inside)
        assert not told.err
    else:
        assert code == 2 and inside == {"kept.txt"}
        assert told.err.startswith("formsketch: ") and told.err.count("\n") == 1
    assert (folder / output / "kept.txt").read_bytes() == OLD and state(folder) == before


def test_of_several_sheets_all_are_written_or_none(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The disk is full when the second sheet comes."""
    for number in (1, 2):
        (folder / f"out-{number}.svg").write_bytes(OLD)
    before, synced, fsync = state(folder), [], os.fsync

    def full_on_the_second(descriptor: int) -> None:
        synced.append(descriptor)
        if len(synced) > 1:
            raise OSError(errno.ENOSPC, "full")
        fsync(descriptor)

    with monkeypatch.context() as patched:
        patched.setattr(files.os, "fsync", full_on_the_second)
        assert run(patched, "template --paper a4 --lying", "out.svg") == 2
    assert capsys.readouterr().err == "formsketch: out-2.svg: not written, the disk is full\n"
    assert len(synced) == 2 and state(folder) == before
    assert run(monkeypatch, "template --paper a4 --lying", "out.svg") == 0
    assert all((folder / f"out-{number}.svg").read_bytes().startswith(b"<?xml") for number in (1, 2))


def test_a_rename_that_fails_names_its_file_and_leaves_no_other_unfinished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = os.replace

    def held(source: Path, target: Path) -> None:
        if Path(target).name == "b":
            raise _held()
        rename(source, target)

    (tmp_path / "a").write_bytes(OLD)
    (tmp_path / "b").write_bytes(OLD)
    with monkeypatch.context() as patched:
        patched.setattr(files.os, "replace", held)
        with pytest.raises(FormSketchError, match=r"b: not written, another program holds it$"):
            write_all_atomically([(tmp_path / "a", b"new"), (tmp_path / "b", b"new")])
    assert state(tmp_path) == {"a": OLD, "b": OLD}


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, where this process may mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    options = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(place)]
    if not sys.platform.startswith("linux") or os.geteuid() != 0:
        pytest.skip("only root mounts a disk, on Linux")
    if subprocess.run(options, capture_output=True).returncode:
        pytest.skip("this machine lets no disk be mounted")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_is_full_indeed(
    small_disk: Path, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    output = small_disk / "out.svg"
    output.write_bytes(OLD)
    (small_disk / "filler").write_bytes(b"." * 48 * 1024)
    before = state(small_disk)
    assert run(monkeypatch, "template", str(output)) == 2
    assert capsys.readouterr().err == f"formsketch: {output}: not written, the disk is full\n"
    assert state(small_disk) == before


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="permission bits bind no administrator")
def test_a_folder_that_may_not_be_written_to(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "kept").mkdir()
    (folder / "kept").chmod(0o500)
    assert run(monkeypatch, "template", "kept/out.svg") == 2
    assert capsys.readouterr().err == "formsketch: kept/out.svg: not written, there is no permission\n"
    (folder / "kept").chmod(0o700)
    assert state(folder / "kept") == {}
