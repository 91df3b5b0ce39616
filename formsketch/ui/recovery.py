"""What was unsaved when the program ended badly: kept beside, offered again, never written over the file.

Each running window keeps at most one recovery file, and a lock that dies with its process; a recovery file
whose lock is free was left behind.
"""

from __future__ import annotations

import contextlib
import json
import uuid
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QTimer

from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.files import read_whole, write_atomically
from formsketch.ui.session import Session

_FORMAT, _SUFFIX = "formsketch-recovery", ".recovery.json"
_KEEP_AFTER_MS = 2_000
_LARGEST_BYTES = 25_000_000


@dataclass(frozen=True)
class LeftBehind:
    """A design that was not saved: where it is kept, its own file if it had one, and the design."""

    kept: Path
    file: Path | None
    design: Design


class Recovery(QObject):
    """Keeps the session's unsaved design in a folder, a moment after each change."""

    def __init__(self, session: Session, folder: Path) -> None:
        super().__init__()
        self._session, self.folder = session, folder
        name = uuid.uuid4().hex
        self._kept = folder / f"{name}{_SUFFIX}"
        self._lock: QLockFile | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_KEEP_AFTER_MS)
        self._timer.timeout.connect(self.keep)
        session.steps_changed.connect(self._timer.start)
        session.file_changed.connect(self.keep)

    def keep(self) -> bool:
        """Write what is unsaved, or take the recovery file away when nothing is; whether all is safe now."""
        if not self._session.unsaved:
            self.forget()
            return True
        file = self._session.file
        body = {
            "format": _FORMAT,
            "file": None if file is None else str(file),
            "design": json.loads(design_bytes(self._session.last_step_design)),
        }
        # Failing to keep a copy must not get in the maker's way; the next change tries again.
        with contextlib.suppress(OSError, FormSketchError):
            self.folder.mkdir(parents=True, exist_ok=True)
            if self._lock is None:
                self._lock = QLockFile(str(_lock_of(self._kept)))
                self._lock.setStaleLockTime(0)
                self._lock.tryLock(0)
            write_atomically(self._kept, json.dumps(body, ensure_ascii=False).encode())
            return True
        return False

    def forget(self) -> None:
        """Nothing is unsaved, or the maker gave it up: leave nothing behind."""
        self._timer.stop()
        with contextlib.suppress(OSError):
            self._kept.unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


def left_behind(folder: Path) -> list[LeftBehind]:
    """Designs that programs no longer running left unsaved, newest first; unreadable ones are passed over."""
    found = []
    for kept in _newest_first(folder):
        lock = QLockFile(str(_lock_of(kept)))
        lock.setStaleLockTime(0)
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
    return LeftBehind(kept, None if file is None else Path(file), design)


def _lock_of(kept: Path) -> Path:
    return kept.with_suffix(".lock")
