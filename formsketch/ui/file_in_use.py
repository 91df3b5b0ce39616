"""Telling the second of two windows that the first has the same file open.

The sign is a lock in the program's own folder, so it works where the design's folder can only be read and
leaves nothing beside the design. On another computer it is not seen; saving looks at the file itself.
"""

from __future__ import annotations

import contextlib
import hashlib
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, Signal

from formsketch.ui.recovery import clear_locks, lock_on
from formsketch.ui.session import Session


class FileInUse(QObject):
    """Holds the sign for the session's file. `found` names a file that another window holds already."""

    found = Signal(str)

    def __init__(self, session: Session, folder: Path) -> None:
        super().__init__()
        self._session, self._folder = session, folder
        self._file: Path | None = None
        self._lock: QLockFile | None = None
        clear_locks(folder)
        session.file_changed.connect(self.follow)

    def follow(self) -> None:
        """Take the sign of the file that is open now, and let go of the one before."""
        file = self._session.file
        if file is not None and file == self._file:
            return
        self.let_go()
        self._file = file
        if file is None:
            return
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            lock = lock_on(self._folder / f"{_name_of(file)}.lock")
            if lock.tryLock(0):
                self._lock = lock
            elif lock.error() is QLockFile.LockError.LockFailedError:
                self.found.emit(str(file))

    def let_go(self) -> None:
        """Nothing is open any more."""
        self._file = None
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


def _name_of(file: Path) -> str:
    """The same for every way to write the path of one file."""
    return hashlib.sha256(str(file.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:32]
