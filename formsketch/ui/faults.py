"""Faults of the program itself: each is written down beside what is kept for a bad end, and work goes on.

Qt hands an exception in a slot, an event or a paint to `sys.excepthook` and goes on; without a hook of our
own it would only be printed where nobody looks.
"""

from __future__ import annotations

import contextlib
import platform
import sys
import threading
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

import PySide6
from PySide6.QtCore import QObject, Qt, Signal, qVersion
from PySide6.QtGui import QGuiApplication, QPainter

from formsketch import __version__
from formsketch.errors import FormSketchError
from formsketch.files import write_atomically

_PACKAGE = Path(__file__).resolve().parents[1]
_MET = "FormSketch met a fault of its own and goes on"
_REPORT = "fault-{}.txt"
MOST_REPORTS_KEPT = 20
# In one run: whoever meets more has long been told.
_MOST_REPORTS = 10
_LAST_STEPS = 10


class FaultReports(QObject):
    """Writes a report of each new fault into a folder.

    `told` gives the sentence to show, on the window's thread. The same fault again is only counted: one in a
    paint comes back with every paint.
    """

    told = Signal(str)
    _written = Signal(str)

    def __init__(self, folder: Path, last_steps: Callable[[], list[str]] = list) -> None:
        super().__init__()
        self.folder, self.last_steps = folder, last_steps
        self._met: dict[tuple[str, str, int], int] = {}
        # Never from within the fault: a question in the middle of a paint would paint again.
        self._written.connect(self.told, Qt.ConnectionType.QueuedConnection)
        self._before = (sys.excepthook, threading.excepthook)

    def install(self) -> None:
        """Take over what the interpreter does with exceptions nobody caught."""
        sys.excepthook = self.meet
        threading.excepthook = lambda hooked: self.meet(
            hooked.exc_type, hooked.exc_value, hooked.exc_traceback
        )

    def remove(self) -> None:
        """Put back what stood there before."""
        sys.excepthook, threading.excepthook = self._before

    def meet(
        self, kind: type[BaseException], fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Write a fault down and say so. Never raises, and is safe on any thread."""
        if fault is None or not issubclass(kind, Exception):
            self._before[0](kind, fault or kind(), trace)  # interrupted by a person
            return
        _end_painters(trace)
        place = _place(kind, trace)
        self._met[place] = self._met.get(place, 0) + 1
        if self._met[place] > 1 or len(self._met) > _MOST_REPORTS:
            return
        sentence = self._report(fault)
        with contextlib.suppress(OSError, ValueError, AttributeError):  # a window program may have no stderr
            print(f"formsketch: {sentence}", file=sys.stderr, flush=True)
        with contextlib.suppress(RuntimeError):  # this object may be gone while the program ends
            self._written.emit(sentence)

    def _report(self, fault: BaseException) -> str:
        name = _REPORT.format(time.strftime("%Y%m%d-%H%M%S") + f"-{len(self._met)}")
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_atomically(self.folder / name, self._text(fault).encode("utf-8", "replace"))
            self._forget_oldest()
        except (OSError, FormSketchError) as unwritten:
            return f"{_MET}; its report could not be written ({unwritten})."
        return f"{_MET}; a report of it is in {self.folder / name}."

    def _text(self, fault: BaseException) -> str:
        try:
            steps = self.last_steps()[-_LAST_STEPS:]
        except Exception:  # the session itself may be what is at fault
            steps = []
        lines = [
            f"FormSketch {__version__}: a fault of the program",
            f"{time.strftime('%Y-%m-%d %H:%M:%S')}",
            f"Python {platform.python_version()}, PySide6 {PySide6.__version__}, Qt {qVersion()}",
            f"{platform.platform()}, window system {QGuiApplication.platformName() or 'none'}",
            f"last steps: {'; '.join(steps) or 'none'}",
            "",
            *trace_without_folders(fault),
        ]
        return "\n".join(lines) + "\n"

    def _forget_oldest(self) -> None:
        reports = sorted(self.folder.glob(_REPORT.format("*")))
        for old in reports[:-MOST_REPORTS_KEPT]:
            with contextlib.suppress(OSError):
                old.unlink()


def trace_without_folders(fault: BaseException) -> list[str]:
    """The traceback's lines, its files named from the program on, so that no folder of a person is told."""
    told = traceback.TracebackException.from_exception(fault)
    seen: set[int] = set()
    waiting = [told]
    while waiting:
        part = waiting.pop()
        if id(part) in seen:
            continue
        seen.add(id(part))
        for frame in part.stack:
            _ = frame.line  # read while the file's own name stands there
            frame.filename = _short(frame.filename)
        waiting += [other for other in (part.__cause__, part.__context__) if other is not None]
    home = str(Path.home())
    return [line.rstrip("\n").replace(home, "~") for line in told.format()]


def _short(filename: str) -> str:
    file = Path(filename)
    if file.is_relative_to(_PACKAGE):
        return file.relative_to(_PACKAGE.parent).as_posix()
    return "/".join(file.parts[-2:]) if len(file.parts) > 2 else filename


def _end_painters(trace: TracebackType | None) -> None:
    """Put down the brushes of a paint that broke off, which the fault's frames keep alive.

    Left as they are the next paint fails too, and a widget that goes away while it is painted crashes.
    """
    for frame, _ in traceback.walk_tb(trace):
        for value in list(frame.f_locals.values()):
            with contextlib.suppress(RuntimeError):  # gone already
                if isinstance(value, QPainter) and value.isActive():
                    value.end()


def _place(kind: type[BaseException], trace: TracebackType | None) -> tuple[str, str, int]:
    """What tells a fault from another: its kind and the innermost line."""
    frames = list(traceback.walk_tb(trace))
    if not frames:
        return (kind.__name__, "", 0)
    frame, line = frames[-1]
    return (kind.__name__, frame.f_code.co_filename, line)
