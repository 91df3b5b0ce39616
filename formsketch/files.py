"""Reading a file whole and writing one whole or not at all, with reasons a person understands."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from pathlib import Path

from formsketch.errors import DesignFileError, FormSketchError

_REASONS = {
    errno.EACCES: "there is no permission",
    errno.EPERM: "there is no permission",
    errno.EROFS: "the disk can only be read",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the space allowed on this disk is used up",
    errno.EISDIR: "it is a folder",
    errno.ENOTDIR: "part of the path is a file, not a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "it is a link that leads back to itself",
}
_BAD_NAME = "the name holds a character that no file name can have"


def read_whole(path: Path | str, largest_bytes: int, what: str) -> bytes:
    """The bytes of a file of at most `largest_bytes`; `what` (such as 'a design file') is for messages.

    Raises `DesignFileError` with the reason in plain words.
    """
    try:
        with open(path, "rb") as stream:
            data = stream.read(largest_bytes + 1)
    except FileNotFoundError:
        raise DesignFileError(str(path), "", f"expected {what}, but there is no such file") from None
    except OSError as fault:
        raise DesignFileError(str(path), "", f"expected {what}, but {_reason(fault)}") from fault
    except ValueError:
        raise DesignFileError(str(path), "", f"expected {what}, but {_BAD_NAME}") from None
    if len(data) > largest_bytes:
        limit = f"{largest_bytes:,} bytes"
        raise DesignFileError(str(path), "", f"expected {what} of at most {limit}, this file is larger")
    return data


def write_atomically(path: Path | str, data: bytes) -> None:
    """Write `data` to `path` so that either all of it stands there or the old file, untouched.

    The bytes go to a temporary file in the same folder, are forced to the disk, and then take the name
    in one step. An existing file keeps its permissions, a link keeps pointing where it did, and a
    file marked read-only is respected. Raises `FormSketchError`: one sentence with path and reason.
    """
    try:
        _replace(Path(os.path.realpath(path)), data)
    except FileNotFoundError as fault:
        raise FormSketchError(f"{path}: not written, the folder does not exist") from fault
    except OSError as fault:
        raise FormSketchError(f"{path}: not written, {_reason(fault)}") from fault
    except ValueError as fault:
        raise FormSketchError(f"{path}: not written, {_BAD_NAME}".replace("\0", "?")) from fault


def _replace(target: Path, data: bytes) -> None:
    old_mode = _mode_of_old_file(target)
    temporary = target.with_name(f".formsketch-{secrets.token_hex(8)}.part")
    # os.open rather than tempfile: a new file then gets the permissions the user's umask gives.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    descriptor = os.open(temporary, flags, 0o666)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if old_mode is not None and old_mode != stat.S_IMODE(temporary.stat().st_mode):
            os.chmod(temporary, old_mode)
        os.replace(temporary, target)
    except BaseException:  # also when interrupted: no half-written file stays behind
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _mode_of_old_file(target: Path) -> int | None:
    """Permission bits of the file to be replaced, None when there is none; refuses what is no file."""
    try:
        old = os.stat(target)
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(old.st_mode):
        raise IsADirectoryError(errno.EISDIR, "is a folder", str(target))
    if not stat.S_ISREG(old.st_mode):
        raise OSError(errno.EINVAL, "It is a device, not a file", str(target))
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "marked read-only", str(target))
    return stat.S_IMODE(old.st_mode)


def _reason(fault: OSError) -> str:
    """Why, in plain words; what has no words here is told as the system tells it."""
    if fault.errno in _REASONS:
        return _REASONS[fault.errno]
    told = fault.strerror or type(fault).__name__
    return told[:1].lower() + told[1:]
