"""What starting costs: each a process of its own, beside one that only imports what it cannot do without.

Times of the processor, of the process and all it starts, best of several; modules compiled beforehand, as
an installed program has them.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from formsketch.design.file_format import design_bytes
from tests.benchmarks.rows import repeated_loops

_BARE = "import numpy, shapely, msgspec"
_BARE_WINDOW = """
import numpy, shapely
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication([])
window = QMainWindow()
window.resize(1366, 768)
window.show()
app.processEvents()
"""
_WINDOW = """
from formsketch.ui import main
from PySide6.QtCore import QSettings
app = main.create_application(["formsketch"])
settings = QSettings("settings.ini", QSettings.Format.IniFormat)
session, _ = main.opening_session(settings, None, None)
window = main.Window(session, settings)
window.resize(1366, 768)
window.show()
app.processEvents()
"""
_END = "\nimport os; os._exit(0)"


@dataclass(frozen=True)
class StartRow:
    """Median time of starting something in ms, the range of the middle half, and the time of the bare one."""

    what: str
    median_ms: float
    spread_ms: float
    bare_ms: float
    target_ratio: float


def start_rows(repeats: int, windows: bool = True) -> list[StartRow]:
    """The window, if asked for, and the command that measures, beside the least that each needs."""
    with tempfile.TemporaryDirectory() as folder:
        design = Path(folder) / "loops.formsketch.json"
        design.write_bytes(design_bytes(repeated_loops(12)))
        ways = (
            ("the window on a demo, painted", ["-c", _WINDOW + _END], _BARE_WINDOW + _END),
            ("formsketch measure, 12 loops", ["-m", "formsketch", "measure", str(design)], _BARE),
        )
        return [
            _row(what, arguments, bare, repeats, folder)
            for what, arguments, bare in ways[0 if windows else 1 :]
        ]


def _row(what: str, arguments: list[str], bare: str, repeats: int, folder: str) -> StartRow:
    times, bare_times = [], []
    # By turns, so that what else the machine does meets both alike; the first time compiles.
    for number in range(repeats + 1):
        took, bare_took = _cpu_ms(arguments, folder), _cpu_ms(["-c", bare], folder)
        if number:
            times.append(took)
            bare_times.append(bare_took)
    low, middle, high = np.percentile(times, (25, 50, 75))
    return StartRow(what, float(middle), float(high - low), float(np.median(bare_times)), 1.5)


def _cpu_ms(arguments: list[str], folder: str) -> float:
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": os.path.join(folder, "compiled")}
    environment["QT_QPA_PLATFORM"] = "offscreen"
    environment["PYTHONPATH"] = str(Path(__file__).parents[2])
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = _children_ms()
    subprocess.run(
        [sys.executable, *arguments],
        check=True,
        cwd=folder,
        env=environment,
        stdout=subprocess.DEVNULL,
        timeout=120,
    )
    return _children_ms() - before


def _children_ms() -> float:
    """Processor time of the processes that have ended; of a clock where the system does not tell."""
    if sys.platform == "win32":
        return 1e3 * time.perf_counter()
    import resource

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1e3 * (used.ru_utime + used.ru_stime)
