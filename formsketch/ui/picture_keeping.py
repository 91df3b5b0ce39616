"""Keeping a design's picture beside it: its name there, and copies that never replace another file."""

from __future__ import annotations

from pathlib import Path, PurePosixPath

from formsketch.design.picture_path import picture_path_fault
from formsketch.errors import FormSketchError, InputError
from formsketch.files import read_whole, write_atomically
from formsketch.ui.picture_file import LARGEST_FILE_BYTES, inside

_MOST_NAMES = 1_000


def name_inside(folder: Path, file: Path) -> str | None:
    """What a design in this folder calls a picture; None for one outside it, or of a name it cannot hold."""
    home, found = folder.resolve(), file.resolve()
    if not found.is_relative_to(home):
        return None
    name = found.relative_to(home).as_posix()
    return None if picture_path_fault(name) or not name.isprintable() else name


def picture_bytes(file: Path) -> bytes:
    """The bytes of a picture's file. Raises `FormSketchError`."""
    return read_whole(file, LARGEST_FILE_BYTES, "a picture")


def copied_to(folder: Path, name: str, data: bytes) -> str:
    """Write a picture into a design's folder and return its name there. Raises `FormSketchError`.

    A file of the same bytes is left and shared; where another file has the name, a number is added.
    """
    wanted = PurePosixPath(name)
    for number in range(1, _MOST_NAMES):
        numbered = wanted.stem if number == 1 else f"{wanted.stem}-{number}"
        free = wanted.with_name(f"{numbered}{wanted.suffix}").as_posix()
        target = inside(folder, free)
        if not target.exists():
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
            except OSError as fault:
                raise FormSketchError(f"{target.parent}: not made, {fault.strerror}") from fault
            write_atomically(target, data)
            return free
        if target.is_file() and target.stat().st_size == len(data) and picture_bytes(target) == data:
            return free
    raise InputError(f"{name}: too many pictures of this name beside the design.")
