"""What was unsaved when the program ended badly: kept beside, offered again, never written over the file.

Each running window keeps at most one recovery file, and a lock that dies with its process; a recovery file
whose lock is free was left behind.
"""

from __future__ import annotations

import contextlib
import json
import time
import uuid
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.files import clear_unfinished, read_whole, write_atomically
from formsketch.ui.session import Session
from formsketch.values import Value

_FORMAT, _SUFFIX, _LOCK = "formsketch-recovery", ".recovery.json", ".lock"
_KEEP_AFTER_MS = 2_000
_LARGEST_BYTES = 25_000_000
# A lock without its holder's name this long after it was made: its program was killed while it made it.
_NAMELESS_LOCK_S = 60


class LeftBehind(Value, frozen=True):
    """A design that was not saved: where it is kept, its own file if it had one, and the design.

    `file_digest` tells what its file held.
    """

    kept: Path
    file: Path | None
    design: Design
    file_digest: str = ""


class Recovery(QObject):
    """Keeps the session's unsaved design in a folder, at most a moment after each change.

    `told` says, once, that it cannot be kept.
    """

    told = Signal(str)

    def __init__(self, session: Session, folder: Path) -> None:
        super().__init__()
        self._session, self.folder = session, folder
        name = uuid.uuid4().hex
        self._kept = folder / f"{name}{_SUFFIX}"
        self._lock: QLockFile | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_KEEP_AFTER_MS)
        self._timer.timeout.connect(self._keep_after_pull)
        self._failing = False
        session.steps_changed.connect(self._keep_soon)
        session.file_changed.connect(self.keep)

    def _keep_soon(self) -> None:
        # Counted from the first change: somebody who never pauses is kept too.
        if not self._timer.isActive():
            self._timer.start()

    def _keep_after_pull(self) -> None:
        """Keep it now, or when the pull under way has ended: nothing is written while something is pulled."""
        if self._session.previewing:
            self._timer.start()
        else:
            self.keep()

    def keep(self) -> bool:
        """Write what is unsaved, or take the recovery file away when nothing is; whether all is safe now."""
        if not self._session.unsaved:
            self.forget()
            return True
        self._timer.stop()
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            if self._lock is None:
                self._lock = lock_on(_lock_of(self._kept))
                self._lock.tryLock(0)
            write_atomically(self._kept, self._body())
        except (OSError, FormSketchError) as fault:
            # It must not get in the maker's way; the next change tries again.
            if not self._failing:
                self._failing = True
                self.told.emit(f"What is not saved cannot be kept for a bad end: save it. ({fault})")
            return False
        self._failing = False
        return True

    def _body(self) -> bytes:
        session = self._session
        head = {
            "format": _FORMAT,
            "file": None if session.file is None else str(session.file),
            "file_digest": session.file_digest,
        }
        design = design_bytes(session.last_step_design)
        return json.dumps(head)[:-1].encode() + b', "design": ' + design + b"}"

    def forget(self) -> None:
        """Nothing is unsaved, or the maker gave it up: leave nothing behind."""
        self._timer.stop()
        with contextlib.suppress(OSError):
            self._kept.unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


def left_behind(folder: Path) -> list[LeftBehind]:
    """Designs that programs no longer running left unsaved, newest first; unreadable ones are passed over.

    What else such programs left in the folder, files half written and locks, is taken away.
    """
    clear_unfinished(folder)
    clear_locks(folder)
    found = []
    for kept in _newest_first(folder):
        lock = lock_on(_lock_of(kept))
        if not lock.tryLock(0):
            continue
        lock.unlock()
        with contextlib.suppress(FormSketchError, ValueError, KeyError, TypeError, RecursionError):
            found.append(_read(kept))
    return found


def _newest_first(folder: Path) -> list[Path]:
    """The recovery files in a folder; what is no file, or goes away meanwhile, is passed over."""
    times = {}
    with contextlib.suppress(OSError):
        for kept in folder.glob(f"*{_SUFFIX}"):
            with contextlib.suppress(OSError):
                times[kept] = kept.stat().st_mtime
    return sorted(times, key=lambda kept: -times[kept])


def discard(left: LeftBehind) -> None:
    """Forget a design left behind."""
    with contextlib.suppress(OSError):
        left.kept.unlink(missing_ok=True)


def _read(kept: Path) -> LeftBehind:
    body = json.loads(read_whole(kept, _LARGEST_BYTES, "a recovery file"))
    if body["format"] != _FORMAT:
        raise ValueError(body["format"])
    design = read_design(json.dumps(body["design"]).encode(), str(kept)).design
    file = body["file"]
    return LeftBehind(kept, None if file is None else Path(file), design, str(body.get("file_digest", "")))


def _lock_of(kept: Path) -> Path:
    return kept.with_suffix(_LOCK)


def lock_on(file: Path) -> QLockFile:
    """A lock that its program's end frees, whatever end that is; not taken yet."""
    lock = QLockFile(str(file))
    lock.setStaleLockTime(0)
    return lock


def clear_locks(folder: Path) -> None:
    """Take away the locks in a folder that no running program holds."""
    with contextlib.suppress(OSError):
        for file in folder.glob(f"*{_LOCK}"):
            with contextlib.suppress(OSError):
                state = file.stat()
                if state.st_size == 0 and time.time() - state.st_mtime > _NAMELESS_LOCK_S:
                    file.unlink()
            lock = lock_on(file)
            if lock.tryLock(0):
                lock.unlock()
