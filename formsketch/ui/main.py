"""Starting the window: which design it opens on."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSettings, QStandardPaths, QTimer

from formsketch.bench.hammers import load_own_hammers
from formsketch.bench.metals import load_own_metals
from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import set_aside, user_hammers_file, user_metals_file, user_tubes_file
from formsketch.design.file_format import DesignFile, load_design
from formsketch.design.model import Wire
from formsketch.errors import FormSketchError, TableError
from formsketch.shipped import demo_design_files
from formsketch.ui import dialogs
from formsketch.ui.application import create_application
from formsketch.ui.faults import FaultReports
from formsketch.ui.file_in_use import FileInUse
from formsketch.ui.later import Later
from formsketch.ui.recovery import LeftBehind, Recovery, discard, left_behind
from formsketch.ui.session import Session
from formsketch.ui.settings import own_settings
from formsketch.ui.window import Window
from formsketch.values import Value

make_starter = Later("formsketch.design.starters", "make_starter")

_FIRST_DEMO = "eddy-bracelet"
_IN_USE = (
    "{} is open in another window too. Both can be worked on: saving asks where the other window has saved "
    "meanwhile."
)


def run(file: Path | None) -> int:
    """Open the window and stay until it closes; returns the exit code.

    Raises `FormSketchError` when the file named cannot be opened. Without one, the design last open is
    shown, or a demo the first time.
    """
    loaded = None if file is None else load_design(file)
    app = create_application(sys.argv)
    faults = FaultReports(recovery_folder())
    faults.install()
    settings, about_settings = own_settings()
    about_tables = set_aside_faulty_tables()
    try:
        session, sentence = opening_session(settings, file, loaded)
        window = Window(session, settings)
    except FormSketchError as fault:
        if sys.stderr is None or not sys.stderr.isatty():
            dialogs.explain(None, f"{fault}")
        raise
    kept = tend(window, faults)
    window.show()
    if file is not None:
        window.files.remember(file)
    if sentence or about_settings:
        window.tell(about_settings or sentence)
    kept.in_use.follow()
    for said in about_tables:
        QTimer.singleShot(0, lambda said=said: window.refuse(said))
    # What is loaded by now stays to the end: the collector would keep the pointer waiting to look through it.
    gc.freeze()
    return app.exec()


def set_aside_faulty_tables() -> list[str]:
    """Leave out the person's own tables that cannot be read until they are mended; a sentence for each."""
    told = []
    readers: tuple[tuple[str, Callable[[], Path | None], Callable[[Path], object]], ...] = (
        ("metals", user_metals_file, load_own_metals),
        ("tubes", user_tubes_file, load_tubes),
        ("hammers", user_hammers_file, load_own_hammers),
    )
    for what, own_file, read in readers:
        file = own_file()
        if file is not None:
            try:
                read(file)
            except TableError as fault:
                set_aside(file)
                told.append(f"{fault}\n\nUntil that is mended only the listed {what} are used.")
    return told


class Tended(Value, frozen=True):
    """What watches over a window's session: against a bad end, and against another window on its file."""

    recovery: Recovery
    in_use: FileInUse


def tend(window: Window, faults: FaultReports) -> Tended:
    """Keep what is unsaved, offer what was left behind, tell of faults and of files open twice."""
    session, folder = window.session, faults.folder
    recovery, in_use = Recovery(session, folder), FileInUse(session, folder.with_name("open"))
    recovery.told.connect(window.tell)
    in_use.found.connect(lambda name: window.refuse(_IN_USE.format(name)))
    faults.last_steps = lambda: session.step_names[: session.step_place + 1]
    faults.told.connect(window.explain_fault)
    faults.told.connect(recovery.keep)
    window.closed.connect(recovery.forget)
    window.closed.connect(in_use.let_go)
    offer_left_behind(recovery, session)
    return Tended(recovery, in_use)


def recovery_folder() -> Path:
    """Where unsaved designs are kept while a window is open, and reports of the program's own faults."""
    local = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)
    return Path(local) / "recovery"


def offer_left_behind(recovery: Recovery, session: Session) -> None:
    """Ask what to do with unsaved designs, newest first; one opened, the others wait for the next start.

    The one opened shows as unsaved, with its own file if it had one, and goes on being kept.
    """
    for left in left_behind(recovery.folder):
        title = left.design.title or "An untitled design"
        answer = dialogs.ask_recovery(None, title, "" if left.file is None else str(left.file))
        if answer == "discard":
            discard(left)
        if answer == "open" and _opened(left, session):
            if recovery.keep():
                discard(left)
            return


def _opened(left: LeftBehind, session: Session) -> bool:
    try:
        session.replace(left.design, left.file, file_digest=left.file_digest)
    except FormSketchError as fault:
        dialogs.explain(None, f"The unsaved design cannot be opened, and is still kept: {fault}")
        return False
    return True


def opening_session(settings: QSettings, file: Path | None, loaded: DesignFile | None) -> tuple[Session, str]:
    """The session to begin with, and what to say about it."""
    if file is not None and loaded is not None:
        return Session(loaded.design, file, loaded), ""
    last = settings.value("last_file", "", type=str)
    if isinstance(last, str) and Path(last).is_absolute():
        try:
            known = load_design(last)
            return Session(known.design, Path(last), known), ""
        except FormSketchError as fault:
            session, _ = _demo_session()
            return session, f"The last design could not be opened: {fault}"
    return _demo_session()


def _demo_session() -> tuple[Session, str]:
    demos = demo_design_files()
    demo = next((f for f in demos if f.name.startswith(_FIRST_DEMO)), demos[0] if demos else None)
    if demo is not None:
        loaded = load_design(demo)
        return Session(loaded.design, None, loaded), "A demo design. File > New begins one of your own."
    return Session(make_starter("row-of-s-forms", Wire(metal="brass-c26000", diameter_mm=1.290846))), ""
