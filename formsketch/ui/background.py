"""Work off the window's thread: one job running, the latest one waiting, stale results dropped."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QRunnable, QThreadPool, Signal

from formsketch.errors import FormSketchError

# Somebody who clicked takes this for at once.
A_MOMENT_MS = 300


class _Job(QRunnable):
    def __init__(self, number: int, work: Callable[[], Any], report: Callable[[int, Any], None]) -> None:
        super().__init__()
        self._number, self._work, self._report = number, work, report

    def run(self) -> None:
        try:
            result = self._work()
        except FormSketchError as fault:
            result = fault
        except Exception as fault:  # written down as any fault is, never lost in a thread
            sys.excepthook(type(fault), fault, fault.__traceback__)
            result = FormSketchError("This could not be worked out.")
        self._report(self._number, result)


class LatestOnly(QObject):
    """Runs the latest thing asked for. `done` carries its result, or the `FormSketchError` it ended with."""

    done = Signal(object)
    _reported = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._number = 0
        self._waiting: Callable[[], Any] | None = None
        self._running = False
        # Where a moment is waited for a result: what came of it.
        self._awaited: list[Any] | None = None
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

    def ask_briefly(self, work: Callable[[], Any]) -> Any:
        """Do this next and wait a moment for it; its result, or None where it comes by `done` later."""
        self._awaited = []
        self.ask(work)
        # Once for what may be running, once for this.
        for _ in range(2):
            if self._running and self._pool.waitForDone(A_MOMENT_MS):
                QCoreApplication.sendPostedEvents(self, QEvent.Type.MetaCall)
        came, self._awaited = self._awaited, None
        return came[0] if came else None

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
            if self._awaited is None:
                self.done.emit(result)
            else:
                self._awaited.append(result)
