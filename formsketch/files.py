"""Reading a file whole and writing one whole or not at all, with reasons a person understands."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from formsketch.errors import DesignFileError, FormSketchError, shown

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

_UNFINISHED = ".formsketch-{}.part"
_YOUNG_S = 600
_NETWORK = "the network folder does not answer"
REASONS = {
    errno.EACCES: "there is no permission",
    errno.EPERM: "there is no permission",
    errno.EROFS: "the disk can only be read",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the space allowed on this disk is used up",
    errno.EISDIR: "it is a folder",
    errno.ENOTDIR: "part of the path is a file, not a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "it is a link that leads back to itself",
    errno.EFBIG: "it is larger than the disk allows",
    errno.EBUSY: "another program holds it",
    errno.EIO: "the disk cannot be read or written",
    errno.ENODEV: "the disk is not there",
    errno.ENXIO: "the disk is not there",
    errno.EMFILE: "too many files are open",
    errno.ENFILE: "too many files are open",
    errno.ESTALE: _NETWORK,
    errno.ETIMEDOUT: _NETWORK,
    errno.ENOTCONN: _NETWORK,
    errno.ENETDOWN: _NETWORK,
    errno.ENETUNREACH: _NETWORK,
    errno.EHOSTDOWN: _NETWORK,
    errno.EHOSTUNREACH: _NETWORK,
}
# What Windows says of a file that another program has open (ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION).
_HELD_ON_WINDOWS = {32, 33}
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
    file marked read-only is respected. What a program killed in the middle of this left unfinished in the
    folder is taken away. Raises `FormSketchError`: one sentence with path and reason.
    """
    write_all_atomically([(path, data)])


def write_all_atomically(files: Iterable[tuple[Path | str, bytes]]) -> None:
    """Write several files as `write_atomically` does one; none takes its name before all are ready."""
    with contextlib.ExitStack() as ready:
        for path, data in files:
            ready.enter_context(_ready(path, data))


@contextlib.contextmanager
def _ready(path: Path | str, data: bytes) -> Iterator[None]:
    """Data written beside `path`, taking its name at the end of the block; taken away after a fault."""
    try:
        with _renamed(Path(os.path.realpath(path)), data):
            yield
    except FileNotFoundError as fault:
        raise FormSketchError(f"{shown(str(path))}: not written, the folder does not exist") from fault
    except OSError as fault:
        raise FormSketchError(f"{shown(str(path))}: not written, {_reason(fault)}") from fault
    except ValueError as fault:
        raise FormSketchError(f"{shown(str(path))}: not written, {_BAD_NAME}") from fault


def clear_unfinished(folder: Path) -> None:
    """Take away what programs that were killed while they wrote into a folder left there unfinished.

    What a running one is writing stays: it holds a lock on it that ends with its process.
    """
    with contextlib.suppress(OSError):
        for left in folder.glob(_UNFINISHED.format("*")):
            with contextlib.suppress(OSError):
                _remove_unless_held(left)


@contextlib.contextmanager
def _renamed(target: Path, data: bytes) -> Iterator[None]:
    old_mode = _mode_of_old_file(target)
    temporary, descriptor = _new_unfinished(target.parent)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
            if old_mode is not None and old_mode != stat.S_IMODE(temporary.stat().st_mode):
                os.chmod(temporary, old_mode)
            if fcntl is not None:  # the lock is held until it has its name
                yield
                os.replace(temporary, target)
        if fcntl is None:  # Windows renames no open file
            yield
            os.replace(temporary, target)
    except BaseException:  # also when interrupted: no half-written file stays behind
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    clear_unfinished(target.parent)


def _new_unfinished(folder: Path) -> tuple[Path, int]:
    """A new file to write in, locked where the system can, and its descriptor."""
    # os.open rather than tempfile: a new file then gets the permissions the user's umask gives.
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    while True:
        temporary = folder / _UNFINISHED.format(os.urandom(8).hex())
        descriptor = os.open(temporary, flags, 0o666)
        if fcntl is None:
            return temporary, descriptor
        with contextlib.suppress(OSError):  # a file system without locks: nobody clears it then
            fcntl.flock(descriptor, fcntl.LOCK_EX)
        if os.fstat(descriptor).st_nlink:
            return temporary, descriptor
        os.close(descriptor)  # cleared away before it was locked


def _remove_unless_held(left: Path) -> None:
    """Remove an unfinished file that no running program writes. Raises `OSError` where it stays."""
    if fcntl is None:  # Windows removes no open file; a young one may be just about to get its name
        if time.time() - left.stat().st_mtime > _YOUNG_S:
            left.unlink()
        return
    descriptor = os.open(left, os.O_RDWR | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        # Not by its name alone: it may have been finished meanwhile.
        if os.path.samestat(os.fstat(descriptor), os.lstat(left)):
            left.unlink()
    finally:
        os.close(descriptor)


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
    if getattr(fault, "winerror", None) in _HELD_ON_WINDOWS:
        return REASONS[errno.EBUSY]
    if fault.errno in REASONS:
        return REASONS[fault.errno]
    told = fault.strerror or type(fault).__name__
    return told[:1].lower() + told[1:]
