"""What a program under mutated files may not do: raise, take its time, take memory, reach elsewhere."""

from __future__ import annotations

import faulthandler
import resource
import signal
import socket
import sys
import traceback
import unicodedata
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from formsketch.errors import FormSketchError
from formsketch.shipped import resource as shipped
from formsketch.ui.svg_picture import _DRAW

MOST_SECONDS = 1.0
MOST_BYTES = 500_000_000
# A process this large is stopped by the system, whatever it is about to do.
_HARD_BYTES = 1_500_000_000
_LONGEST_SENTENCE = 2_000
# Processor seconds after which a case is given up, and seconds after which the whole run is.
_HANG_S, _STOPPED_AFTER_S = 20, 300
_NEVER = ("os.system", "os.exec", "os.spawn", "socket.connect", "socket.getaddrinfo")
# How `subprocess` starts a program, by version of Python and by system.
_STARTS = ("subprocess.Popen", "os.posix_spawn")
# The one program that may be started: Python, drawing an SVG.
_DRAWING = [sys.executable, "-P", "-c", _DRAW]
_REMOVES = ("os.remove", "os.rename", "os.rmdir", "os.truncate", "os.chmod", "os.link", "os.symlink")


@dataclass
class Findings:
    """What was tried, and all that went wrong with it."""

    what: str
    seed: int
    tried: int = 0
    sound: int = 0
    slowest_s: float = 0.0
    slowest: str = ""
    faults: Counter[str] = field(default_factory=Counter)
    examples: dict[str, str] = field(default_factory=dict)

    def fault(self, said: str, example: str) -> None:
        self.faults[said] += 1
        self.examples.setdefault(said, example)

    def line(self) -> str:
        peak = peak_kb()
        return (
            f"{self.what}: {self.tried:,} tried (seed {self.seed}), {self.sound:,} of them sound, "
            f"{sum(self.faults.values()):,} faults, slowest {1000 * self.slowest_s:.0f} ms, "
            f"peak {peak // 1024} MB"
        )


class Guard:
    """Watches one process. Paths are opened only below `allowed`, and written only below `own`."""

    def __init__(self, own: Path) -> None:
        self.own = own.resolve()
        root = shipped().parent.resolve()
        self._allowed = [
            self.own,
            root,
            *(Path(p).resolve() for p in {sys.prefix, sys.base_prefix, *sys.path} if p),
        ]
        self._watching = False
        self._allowed_s = MOST_SECONDS
        self._reached: list[str] = []
        faulthandler.enable()
        resource.setrlimit(resource.RLIMIT_AS, (_HARD_BYTES, _HARD_BYTES))
        signal.signal(signal.SIGVTALRM, _hang)
        sys.addaudithook(self._audit)

    @contextmanager
    def case(self, findings: Findings, name: str, clock: bool = True) -> Iterator[None]:
        """One mutated thing: refused in words or used; anything else is a fault."""
        findings.tried += 1
        self._reached.clear()
        self._allowed_s = MOST_SECONDS
        faulthandler.dump_traceback_later(_STOPPED_AFTER_S, exit=True)
        signal.setitimer(signal.ITIMER_VIRTUAL, _HANG_S)
        self._watching, began = True, _used_s()
        try:
            yield
            findings.sound += 1
        except FormSketchError as refusal:
            check_sentence(str(refusal), findings, name)
        except Exception as fault:
            where = traceback.extract_tb(fault.__traceback__)[-1]
            findings.fault(
                f"{type(fault).__name__} at {Path(where.filename).name}:{where.lineno}: {fault}"[:200], name
            )
        finally:
            self._watching = False
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            took = _used_s() - began
            faulthandler.cancel_dump_traceback_later()
        if took > findings.slowest_s:
            findings.slowest_s, findings.slowest = took, name
        if clock and took > self._allowed_s:
            told = f": {name}" if len(name) < 60 else ""
            findings.fault(
                f"took longer than allowed{told}", f"{took:.1f} s of {self._allowed_s:.1f}: {name}"
            )
        for reached in self._reached:
            findings.fault(f"reached elsewhere: {reached}"[:200], name)

    def allow(self, seconds: float) -> None:
        """Let the case under way take longer, for work that is known to be large."""
        self._allowed_s = seconds

    def _audit(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self._watching:
            return
        if event == "open" and isinstance(arguments[0], str):
            writes = bool(arguments[1]) and any(letter in arguments[1] for letter in "wax+")
            self._look(event, arguments[0], writes)
        elif event in _REMOVES and isinstance(arguments[0], str):
            self._look(event, arguments[0], True)
        elif event.startswith(_NEVER) or (event in _STARTS and list(arguments[1])[:4] != _DRAWING):
            self._reached.append(f"{event} {arguments!r}"[:150])

    def _look(self, event: str, name: str, writes: bool) -> None:
        path = Path(name)
        if str(path).startswith(("/dev/null", "/proc/self")):
            return
        self._watching = False  # resolving looks at the disk itself
        inside = [self.own] if writes else self._allowed
        if not any(path.resolve().is_relative_to(folder) for folder in inside):
            self._reached.append(f"{event} {name}")
        self._watching = True


def _hang(*_: object) -> None:
    raise TimeoutError(f"no end after {_HANG_S} s")


def _used_s() -> float:
    """Processor time of this process and of those it waited for: another program's load is no fault."""
    usage = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in usage)


def check_sentence(sentence: str, findings: Findings, name: str) -> None:
    """A refusal is one printable sentence."""
    if len(sentence) > _LONGEST_SENTENCE or any(unicodedata.category(c)[0] == "C" for c in sentence):
        findings.fault("a refusal that is no one printable line", f"{name}: {sentence[:200]!a}")
    if "Error" in sentence or "Traceback" in sentence:
        findings.fault("a refusal that speaks of the program", f"{name}: {sentence[:200]!a}")


def peak_kb() -> int:
    """The most memory this program has had, in kB.

    On Linux getrusage counts that of the parent before it became another program, so it is not asked there.
    """
    if sys.platform != "linux":
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1])
    raise AssertionError("no VmHWM in /proc/self/status")


def peak_faults(findings: Findings) -> None:
    """Note a peak of memory above what is allowed."""
    peak = peak_kb() * 1024
    if peak > MOST_BYTES:
        findings.fault(f"memory of {peak // 1_000_000} MB", findings.what)


@contextmanager
def listener() -> Iterator[tuple[int, list[str]]]:
    """A port of this machine that nothing has a reason to call; who did is in the list at the end."""
    called: list[str] = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        yield server.getsockname()[1], called
        try:
            while True:
                caller, address = server.accept()
                caller.close()
                called.append(str(address))
        except BlockingIOError:
            pass
