"""Commands for the picture under the form: put there, set to scale, adjusted, locked, faded, taken away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFileDialog

from formsketch.design.model import Picture
from formsketch.design.picture_edits import change_picture, with_picture
from formsketch.design.picture_path import PICTURE_SUFFIXES, portable_name
from formsketch.errors import EditRefused, FormSketchError, InputError, shown
from formsketch.ui import dialogs
from formsketch.ui.background import LatestOnly
from formsketch.ui.length_dialog import LengthDialog
from formsketch.ui.picture_file import LoadedPicture, inside, load_picture
from formsketch.ui.picture_keeping import copied_to, name_inside, picture_bytes
from formsketch.ui.picture_place import PicturePlace, laid, scaled_about
from formsketch.ui.picture_tools import FADE_STEP, AdjustPictureTool, TwoPointsTool, fade
from formsketch.ui.session import Session
from formsketch.ui.tools import Tool
from formsketch.ui.trace_picture import picture_folder
from formsketch.units import length_text

if TYPE_CHECKING:
    from formsketch.ui.window import Window

# A new picture reaches this far beyond the form.
_BEYOND_FORM = 1.25
_KINDS = f"Pictures ({' '.join(f'*{suffix} *{suffix.upper()}' for suffix in PICTURE_SUFFIXES)})"


class PictureCommands:
    """The picture under the form, for one window."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._picture = window.canvas.picture
        self._picture.arrived.connect(window.refresh_commands)
        self._work = LatestOnly(window)
        self._work.done.connect(self._lay_late)
        self._putting = Path()
        window.session.opened.connect(self._work.forget)

    @property
    def _session(self) -> Session:
        return self._window.session

    # --- putting there, taking away

    def put_picture_under(self) -> None:
        """Choose a picture and lay it under the form; it has to lie beside the saved design."""
        window, session = self._window, self._session
        if session.file is None and not (dialogs.ask_to_save_first(window) and window.files.save_design()):
            return
        folder = picture_folder(session.file)
        name, _ = QFileDialog.getOpenFileName(window, "Put a picture under the form", str(folder), _KINDS)
        if name:
            self.put(Path(name))

    def put(self, file: Path) -> None:
        """Lay this picture under the form, at once or when it is drawn.

        Raises `FormSketchError` when it cannot be shown or copied; what comes later is explained instead.
        """
        if not file.name.lower().endswith(PICTURE_SUFFIXES):
            raise InputError(
                f"{shown(file.name)}: a picture named {', '.join(PICTURE_SUFFIXES)} was expected."
            )
        self._putting = file
        came = self._work.ask_briefly(lambda: load_picture(file))
        if came is None:
            self._window.tell(f"{shown(file.name)} is being drawn; it is laid under the form in a moment.")
        else:
            self._lay(came)

    def _lay_late(self, came: object) -> None:
        try:
            self._lay(came)
        except FormSketchError as fault:
            self._window.refuse(str(fault))

    def _lay(self, came: object) -> None:
        if isinstance(came, FormSketchError):
            raise came
        assert isinstance(came, LoadedPicture)
        session, file, folder = self._session, self._putting, picture_folder(self._session.file)
        name, said = name_inside(folder, file), ""
        if name is None:
            if not dialogs.ask_to_copy_picture(self._window, shown(file.name), str(folder)):
                return
            name = copied_to(folder, portable_name(file.name), picture_bytes(file))
            said = f" {name} was copied beside the design."
        picture = laid(Picture(file=name, width_mm=1.0), session.pose, self._place_for(came))
        session.change("Put a picture under", with_picture(session.design, picture))
        self._picture.reload()
        self._window.tell(
            f"{name} lies under the form, {length_text(picture.width_mm)} wide.{said} "
            "Picture > Set its scale makes it true."
        )

    def _place_for(self, loaded: LoadedPicture) -> PicturePlace:
        """Upright in the form's middle: at its true size where it has one, else a little beyond the form."""
        x0, y0, x1, y1 = self._window.canvas.wire.bounds_mm
        wide = _BEYOND_FORM * max(x1 - x0, (y1 - y0) / loaded.height_to_width)
        if loaded.width_mm is not None and loaded.width_mm > 0:
            wide = loaded.width_mm
        return PicturePlace(complex(x0 + x1, y0 + y1) / 2, 0.0, wide, wide * loaded.height_to_width)

    def take_picture_away(self) -> None:
        self._session.change("Take picture away", with_picture(self._session.design, None))

    def bring_along(self, file: Path) -> str:
        """Copy the picture to where the design is about to be saved; returns what to say of it.

        Where another file has its name there, the copy gets a new one and the design says so.
        """
        session = self._session
        picture, before, after = session.design.picture, picture_folder(session.file), file.parent
        if picture is None or before.resolve() == after.resolve():
            return ""
        try:
            source = inside(before, picture.file)
            if not source.is_file():
                return ""
            name = copied_to(after, picture.file, picture_bytes(source))
        except FormSketchError as fault:
            return f" Its picture was not copied: {fault}"
        if name != picture.file:
            session.change("Rename the picture", with_picture(session.design, replace(picture, file=name)))
        return f" Its picture {name} was copied beside it."

    # --- how it is seen

    def lock_picture(self) -> None:
        """Keep the picture from being moved, or let it be moved again."""
        picture = self._session.design.picture
        locked = picture is not None and not picture.locked
        design = change_picture(self._session.design, locked=locked)
        self._session.change("Lock picture" if locked else "Unlock picture", design)

    def fade_picture_more(self) -> None:
        self._fade(-FADE_STEP)

    def fade_picture_less(self) -> None:
        self._fade(FADE_STEP)

    def _fade(self, by: float) -> None:
        picture = self._session.design.picture
        if picture is not None:
            self._window.tell(fade(self._session, picture.opacity + by))

    # --- where it lies

    def adjust_picture(self) -> None:
        """Let the mouse move, turn and fade the picture, or give it back to the form."""
        adjusting = isinstance(self._window.canvas.tool, AdjustPictureTool)
        self._take(None if adjusting else AdjustPictureTool(self._session, self._picture))

    def set_picture_scale(self) -> None:
        """Let two points of the picture be chosen, then ask how far they are apart."""
        tool = TwoPointsTool(self._picture)
        tool.chosen.connect(self._set_scale)
        self._take(tool)

    def _set_scale(self, first_mm: complex, second_mm: complex) -> None:
        window, session = self._window, self._session
        self._take(None)
        picture, place = session.design.picture, self._picture.place
        if picture is None or place is None:
            return
        now_mm = abs(second_mm - first_mm)
        question = f"The two points are {length_text(now_mm)} apart now. Their true distance:"
        dialog = LengthDialog(window, "Set the picture's scale", question)
        if not dialog.exec():
            window.tell("The picture keeps its size.")
            return
        scaled = laid(picture, session.pose, scaled_about(place, first_mm, dialog.length_mm / now_mm))
        try:
            session.change("Set picture's scale", with_picture(session.design, scaled))
        except EditRefused as fault:
            window.refuse(str(fault))
            return
        window.tell(
            f"The two points are {length_text(dialog.length_mm)} apart; the picture is "
            f"{length_text(scaled.width_mm)} wide."
        )

    def _take(self, tool: Tool | None) -> None:
        window = self._window
        if tool is not None:
            tool.ended.connect(window.refresh_commands)
            window.canvas.setFocus(Qt.FocusReason.OtherFocusReason)
        window.canvas.take_tool(tool)

    @property
    def _may_move(self) -> bool:
        picture = self._session.design.picture
        return picture is not None and not picture.locked and self._picture.place is not None

    def refresh(self, actions: dict[str, QAction]) -> None:
        """Readiness and ticks of these commands follow the design; a tool with nothing to do is put down."""
        picture, tool = self._session.design.picture, self._window.canvas.tool
        if isinstance(tool, AdjustPictureTool | TwoPointsTool) and not self._may_move:
            tool = None
            self._take(None)
        for name in ("lock_picture", "fade_picture_more", "fade_picture_less", "take_picture_away"):
            actions[name].setEnabled(picture is not None)
        for name in ("adjust_picture", "set_picture_scale"):
            actions[name].setEnabled(self._may_move)
        actions["lock_picture"].setChecked(picture is not None and picture.locked)
        actions["adjust_picture"].setChecked(isinstance(tool, AdjustPictureTool))
