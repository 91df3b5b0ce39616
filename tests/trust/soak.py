"""Edits by the million in an open window: memory stays flat, no Qt object is left behind, undo goes back.

The window is painted without a screen, so a full run takes hours; what memory does shows in minutes.
"""

from __future__ import annotations

import gc
import random
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from traceback import format_exception

import numpy as np
from PySide6.QtCore import QMessageLogContext, QObject, QSettings, QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Wire
from formsketch.design.starters import STARTERS, make_starter
from formsketch.errors import FormSketchError
from formsketch.ui.application import create_application
from formsketch.ui.session import MOST_STEPS, Session
from formsketch.ui.window import Window
from tests.test_edit_machine import DRAWN, EDITS, WEIGHTS_DRAWN

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
MOST_MB_PER_10_000 = 1.0
# Pieces of memory that Python holds: what is left behind shows here before the allocator's gaps hide it.
MOST_BLOCKS_PER_10_000 = 10_000
# Forms grow when they are loosened and split, and larger ones take longer.
MOST_SPANS = 24
# Painted, and another span selected, once in so many edits.
LOOK_EVERY = 25
FAR_BACK_EVERY = 500
SAMPLES = 100


@dataclass
class Soaked:
    """What a soak found: resident memory and counts of objects over the edits made."""

    edits: int = 0
    refused: int = 0
    made: list[int] = field(default_factory=list)
    rss_mb: list[float] = field(default_factory=list)
    blocks: list[int] = field(default_factory=list)
    objects: list[int] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def mb_per_10_000(self) -> float:
        """The slope of memory over the second half, when all that is kept has been filled."""
        return self._slope(self.rss_mb)

    @property
    def blocks_per_10_000(self) -> float:
        """The same of the pieces of memory that Python holds."""
        return self._slope(self.blocks)

    def _slope(self, values: Sequence[float]) -> float:
        half = len(self.made) // 2
        if len(self.made) - half < 2:
            return 0.0
        return float(np.polyfit(self.made[half:], values[half:], 1)[0]) * 10_000

    def line(self) -> str:
        told = (
            f"{self.edits:,} edits ({self.refused:,} refused): memory {self.rss_mb[0]:.0f} to "
            f"{self.rss_mb[-1]:.0f} MB, in the second half {self.mb_per_10_000:+.2f} MB and "
            f"{self.blocks_per_10_000:+,.0f} of Python's {self.blocks[-1]:,} pieces per 10,000 edits; "
            f"{self.objects[0]} to {self.objects[-1]} Qt objects"
        )
        return "\n  ".join([told, *self.faults])


def rss_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 1e6


def soak(folder: Path, count: int, seed: int) -> Soaked:
    """So many random edits, undone and redone in between, in one window on one design after another."""
    for scope in QSettings.Scope.UserScope, QSettings.Scope.SystemScope:
        QSettings.setPath(QSettings.Format.IniFormat, scope, str(folder))
    _app = create_application(["formsketch"])
    choose, found = random.Random(seed), Soaked()
    before, hook = qInstallMessageHandler(None), sys.excepthook
    qInstallMessageHandler(lambda *message: _heard(found, *message))
    # Faults in slots and in the background end here, not at whoever asked.
    sys.excepthook = lambda kind, fault, trace: found.faults.append("".join(format_exception(fault)))
    try:
        return _soaked(count, choose, found)
    finally:
        sys.excepthook = hook
        qInstallMessageHandler(before)


def _heard(found: Soaked, kind: QtMsgType, context: QMessageLogContext, said: str) -> None:
    """What Qt complains of is a fault too; it says each once."""
    if kind is not QtMsgType.QtDebugMsg and said not in found.faults and "propagateSizeHints" not in said:
        found.faults.append(said)


def _soaked(count: int, choose: random.Random, found: Soaked) -> Soaked:
    keys = sorted(STARTERS)
    window = Window(Session(make_starter(keys[0], BRASS)), QSettings())
    window.show()
    session = window.session
    first = design_bytes(session.design)
    told: Counter[str] = Counter()
    session.steps_joined.connect(lambda: told.update(["joined"]))
    for number in range(count):
        _edit(session, choose, found)
        if number % LOOK_EVERY == 0:
            window.selection.select(choose.randrange(session.wire.span_count))
            QApplication.processEvents()
        if number % max(1, count // SAMPLES) == 0:
            QApplication.processEvents()
            gc.collect()
            found.made.append(number)
            found.rss_mb.append(rss_mb())
            found.blocks.append(sys.getallocatedblocks())
            found.objects.append(len(window.findChildren(QObject)) + len(QApplication.topLevelWidgets()))
        if number % FAR_BACK_EVERY == FAR_BACK_EVERY - 1:
            _go_far_back(session, first, found)
    _go_far_back(session, first, found)
    if found.edits > 3 * MOST_STEPS and not told:
        found.faults.append("undo was bounded and nobody was told")
    if found.mb_per_10_000 > MOST_MB_PER_10_000 and count >= 10 * SAMPLES:
        found.faults.append(f"memory grows by {found.mb_per_10_000:.2f} MB per 10,000 edits")
    if found.blocks_per_10_000 > MOST_BLOCKS_PER_10_000 and count >= 10 * SAMPLES:
        found.faults.append(f"Python holds {found.blocks_per_10_000:,.0f} more pieces per 10,000 edits")
    # Rows of the numbers and cautions come and go with the selection.
    if max(found.objects[len(found.objects) // 2 :]) > max(found.objects[: len(found.objects) // 2]) + 50:
        found.faults.append(f"Qt objects grow: {found.objects[:3]} to {found.objects[-3:]}")
    session._saved_design = session.last_step_design
    window.close()
    return found


def _edit(session: Session, choose: random.Random, found: Soaked) -> None:
    drawn = choose.random()
    if drawn < 0.1:
        for _ in range(choose.randint(1, 6)):
            session.undo()
    elif drawn < 0.15:
        session.redo()
    name = choose.choices(DRAWN, WEIGHTS_DRAWN)[0]
    try:
        design = EDITS[name](session.design, choose)
        if sum(run.times * len(run.spans) for run in design.form.runs) <= MOST_SPANS:
            session.change(name, design)
            found.edits += 1
    except FormSketchError:
        found.refused += 1


def _go_far_back(session: Session, first: bytes, found: Soaked) -> None:
    """All the way to the opening, which undo always reaches, however it counts its steps, and back again."""
    stood, place = session.design, session.step_place
    session.go_to_step(1)
    session.undo()
    if design_bytes(session.design) != first or session.undo_name:
        found.faults.append("undo did not reach the opening")
    session.go_to_step(place)
    if session.design is not stood:
        found.faults.append("redo did not come back")
