"""Commands that read and write files: nothing is lost without the maker saying so."""

from __future__ import annotations

from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QMenu

from formsketch.design.file_format import SUFFIX, load_design
from formsketch.errors import FormSketchError
from formsketch.ui import dialogs
from formsketch.ui.later import Later
from formsketch.ui.session import Session

if TYPE_CHECKING:
    from formsketch.ui.window import Window

StarterDialog = Later("formsketch.ui.starter_dialog", "StarterDialog")

_MOST_RECENT = 8
_DESIGNS = f"Design files (*{SUFFIX})"
_STILL_OPEN = "Nothing is lost: the design stays open, and File > Save as writes it elsewhere."


class FileCommands:
    """New, open, save, recent, for one window."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._settings = window.settings

    @property
    def _session(self) -> Session:
        return self._window.session

    def new_design(self) -> None:
        dialog = StarterDialog(self._window, self._session.design.wire)
        if dialog.exec() and dialog.design is not None and self.may_leave_design():
            self._session.replace(dialog.design)

    def open_design(self) -> None:
        if not self.may_leave_design():
            return
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open a design", self.folder(), f"{_DESIGNS};;All files (*)"
        )
        if name:
            self.open_file(Path(name))

    def open_file(self, file: Path) -> None:
        """Open a design file; says why when it cannot be, and keeps what is open."""
        try:
            self._session.open(file)
        except FormSketchError as fault:
            self._window.refuse(str(fault))
            return
        self.remember(file)
        self._window.tell(f"Opened {file}.")

    def open_demo(self, file: Path) -> None:
        """Show a demo design as a new one, so that saving asks where to."""
        if self.may_leave_design():
            loaded = load_design(file)
            self._session.replace(loaded.design, None, loaded)

    def save_design(self) -> bool:
        if self._session.file is None:
            return self.save_design_as()
        return self._save(self._session.file)

    def save_design_as(self) -> bool:
        start = self._session.file or Path(self.folder()) / (self.file_name + SUFFIX)
        chosen, _ = QFileDialog.getSaveFileName(self._window, "Save the design", str(start), _DESIGNS)
        file = self.with_suffix(chosen, (SUFFIX,), SUFFIX)
        return file is not None and self._save(file)

    def _save(self, file: Path) -> bool:
        """Write the design, after asking where the file holds what another program put there."""
        if file == self._session.file and self._session.changed_elsewhere():
            beside = _free_beside(file)
            answer = dialogs.ask_changed_elsewhere(self._window, file.name, beside.name)
            if answer not in ("beside", "replace"):
                return False
            file = beside if answer == "beside" else file
        # Also where saving fails it is only a copy.
        brought = self._window.pictures.bring_along(file)
        try:
            self._session.save(file)
        except FormSketchError as fault:
            self._window.refuse(f"{fault}. {_STILL_OPEN}")
            return False
        self.remember(file)
        self._window.tell(f"Saved {file}.{brought}")
        return True

    def may_leave_design(self) -> bool:
        """Whether the open design may go: saved, unchanged, or given up by the maker."""
        if not self._session.unsaved:
            return True
        answer = dialogs.ask_to_save(self._window, self._session.title)
        if answer == "save":
            return self.save_design()
        return answer == "discard"

    def with_suffix(self, chosen: str, known: tuple[str, ...], suffix: str) -> Path | None:
        """The file chosen; where a suffix has to be added the maker is asked before one is replaced."""
        if not chosen:
            return None
        if chosen.lower().endswith(known):
            return Path(chosen)
        file = Path(chosen + suffix)
        return None if file.exists() and not dialogs.ask_to_replace(self._window, file.name) else file

    @property
    def file_name(self) -> str:
        """The title as a name that any file can have."""
        return (
            "".join(c if c.isalnum() else "-" for c in self._session.title.lower()).strip("-") or "untitled"
        )

    def folder(self) -> str:
        file = self._session.file
        return str(file.parent if file is not None else Path.home())

    # --- recent files

    def recent_files(self) -> list[str]:
        found = self._settings.value("recent_files", [], type=list)
        return [str(name) for name in found] if isinstance(found, list) else []

    def remember(self, file: Path) -> None:
        """Put a file first among the recent ones."""
        name = str(file.resolve())
        names = [name, *(other for other in self.recent_files() if other != name)]
        self._settings.setValue("recent_files", names[:_MOST_RECENT])
        self._settings.setValue("last_file", name)

    def fill_recent(self, menu: QMenu) -> None:
        menu.clear()
        for name in self.recent_files():
            action = menu.addAction(Path(name).name.removesuffix(SUFFIX))
            action.setStatusTip(name)
            action.triggered.connect(lambda _=False, name=name: self._open_recent(Path(name)))
        if menu.isEmpty():
            menu.addAction("None yet").setEnabled(False)

    def _open_recent(self, file: Path) -> None:
        if self.may_leave_design():
            self.open_file(file)


def _free_beside(file: Path) -> Path:
    """The next name in the file's folder that no file has: piece-2 beside piece."""
    stem = file.name.removesuffix(SUFFIX)
    numbered = (file.with_name(f"{stem}-{number}{SUFFIX}") for number in count(2))
    return next(name for name in numbered if not name.exists())
