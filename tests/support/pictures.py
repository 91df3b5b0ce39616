"""The pictures of README and help, grabbed from the real window: `python -m tests.support.pictures`.

No screen is needed, nothing of one's own settings is read or written, and nothing is asked.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

if sys.platform.startswith("linux"):
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import with_variants
from formsketch.design.file_format import DesignFile, design_bytes, load_design
from formsketch.design.model import Design, Variant, Wire
from formsketch.design.starters import make_starter
from formsketch.shipped import demo_design_files, resource
from formsketch.ui.application import create_application
from formsketch.ui.background import LatestOnly
from formsketch.ui.recipe import PICTURE_WIDTH_PX, STEPS, picture_name
from formsketch.ui.session import Session
from formsketch.ui.window import Window
from tests.support import events
from tests.support.recipe import Newcomer

SIZE_PX = (1366, 768)
SHOWN, COMPARED = "eddy-bracelet", "spring-tide-link"
MOST_WAIT_MS = 10_000
# Long enough for every cell of the grid to be made.
GRID_MS = 1_500
# B&S numbers two apart: 92^(2/39), ASTM B258.
TWO_GAUGES = 92 ** (2 / 39)


def demo(name: str) -> DesignFile:
    """A demo design, or a row of S-forms where there is none of this name."""
    for file in demo_design_files():
        if file.name.startswith(name):
            return load_design(file)
    return as_saved(make_starter("row-of-s-forms", Wire(metal="brass-c26000", diameter_mm=1.290846)))


def as_saved(design: Design) -> DesignFile:
    """A design with nothing left to save, so that closing asks nothing."""
    return DesignFile(design, design_bytes(design))


def compared() -> DesignFile:
    """A form beside itself in heavier and in lighter wire."""
    design = demo(COMPARED).design
    diameter_mm = design.wire.diameter_mm
    heavy = Variant(title="heavy", diameter_mm=diameter_mm * TWO_GAUGES)
    light = Variant(title="light", diameter_mm=diameter_mm / TWO_GAUGES)
    return as_saved(with_variants(design, (heavy, light)))


def settled(app: QApplication, window: Window) -> None:
    """Let the window paint itself, and wait for the numbers that come after."""
    loop = QEventLoop()
    background = window.panel.findChild(LatestOnly)
    assert background is not None
    background.done.connect(loop.quit)
    QTimer.singleShot(MOST_WAIT_MS, loop.quit)
    loop.exec()
    app.processEvents()


def take_pictures(folder: Path) -> list[Path]:
    """Write all pictures into a folder, which need not exist, and say which."""
    app = create_application(["formsketch"])
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []

    def keep(window: Window, name: str) -> None:
        app.processEvents()
        picture = window.grab()
        file = folder / name
        if (picture.width(), picture.height()) != SIZE_PX or not picture.save(str(file)):
            raise RuntimeError(f"{file}: expected a picture of {SIZE_PX[0]} x {SIZE_PX[1]} pixels")
        written.append(file)

    with tempfile.TemporaryDirectory() as scratch:
        settings = QSettings(str(Path(scratch) / "settings.ini"), QSettings.Format.IniFormat)
        shown, beside = demo(SHOWN), compared()
        window = Window(Session(shown.design, None, shown), settings)
        window.resize(*SIZE_PX)
        window.show()
        settled(app, window)
        point_at_a_span(window)
        for appearance, name in (("light", "window.png"), ("dark", "window-dark.png")):
            window.use_appearance(appearance)
            keep(window, name)
        window.session.replace(beside.design, None, beside)
        window.compare_forms()
        keep(window, "compare-dark.png")
        window.use_appearance("light")
        keep(window, "compare.png")
        window.comparing.show_grid()
        waited = QEventLoop()
        QTimer.singleShot(GRID_MS, waited.quit)
        waited.exec()
        keep(window, "grid.png")
        window.close()
        written += take_recipe_pictures(app, folder, settings)
        settings.sync()
    return written


def take_recipe_pictures(app: QApplication, folder: Path, settings: QSettings) -> list[Path]:
    """The form after each step of the recipe, and at last the straight wire with it."""
    written = []
    shown = demo(SHOWN)
    window = Window(Session(shown.design, None, shown), settings)
    window.files.may_leave_design = lambda: True  # type: ignore[method-assign]
    window.show()
    window.resize(window.width() + PICTURE_WIDTH_PX - window.canvas.width(), window.minimumHeight())
    app.processEvents()
    newcomer = Newcomer(window)
    for number, step in enumerate(STEPS, start=1):
        newcomer.do(step.name)
        window.canvas.fit()
        app.processEvents()
        file = folder / picture_name(number)
        part = window.pages if number == len(STEPS) else window.canvas
        if not part.grab().save(str(file)):
            raise RuntimeError(f"{file}: not written")
        written.append(file)
    window.close()
    return written


def point_at_a_span(window: Window) -> None:
    """Select a span near the middle and point at a place on it."""
    span = window.session.wire.span_count // 2
    window.selection.select(span)
    line = window.canvas.wire.centreline_mm(window.session.wire.part(span))
    events.move(window.canvas, window.canvas.view.to_px(complex(line[len(line) * 3 // 8])))


if __name__ == "__main__":
    for picture in take_pictures(resource("pictures")):
        print(picture)
