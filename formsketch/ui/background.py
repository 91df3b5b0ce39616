"""Work off the window's thread: one job running, the latest one waiting, stale results dropped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal


class _Job(QRunnable):
    def __init__(self, number: int, work: Callable[[], Any], report: Callable[[int, Any], None]) -> None:
        super().__init__()
        self._number, self._work, self._report = number, work, report

    def run(self) -> None:
        try:
            result = self._work()
        except Exception as fault:  # told to the window, never lost in a thread
            result = fault
        self._report(self._number, result)


class LatestOnly(QObject):
    """Runs the latest thing asked for. `done` carries its result, or the exception it ended with."""

    done = Signal(object)
    _reported = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._number = 0
        self._waiting: Callable[[], Any] | None = None
        self._running = False
        self._reported.connect(self._finished)

    def ask(self, work: Callable[[], Any]) -> None:
        """Do this next; whatever was waiting is forgotten."""
        self._number += 1
        if self._running:
            self._waiting = work
            return
        self._running = True
        self._pool.start(_Job(self._number, work, self._reported.emit))

    @property
    def is_busy(self) -> bool:
        """Whether something runs or waits."""
        return self._running

    def forget(self) -> None:
        """Drop what waits and the result of what runs."""
        self._number += 1
        self._waiting = None

    def wait(self, milliseconds: int = 5_000) -> None:
        """Let what runs come to its end, before the window goes away."""
        self.forget()
        self._pool.waitForDone(milliseconds)

    def _finished(self, number: int, result: Any) -> None:
        self._running = False
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self._running = True
            self._pool.start(_Job(self._number, waiting, self._reported.emit))
        elif number == self._number:
            self.done.emit(result)
