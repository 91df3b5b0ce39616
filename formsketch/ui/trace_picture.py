"""The picture under the form, as the canvas knows it: found, loaded, painted.

It follows the session: whatever the design says is under the form is loaded, once for each file. A picture
that cannot be shown is said once and is no fault of the design.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from PySide6.QtCore import QObject, QRectF, QTimer, Signal
from PySide6.QtGui import QColor, QPainter

from formsketch.shipped import demo_design_files
from formsketch.ui.background import LatestOnly
from formsketch.ui.picture_file import LoadedPicture, inside, load_picture
from formsketch.ui.picture_paint import PicturePainter
from formsketch.ui.picture_place import PicturePlace, place_of
from formsketch.ui.session import Session
from formsketch.ui.view import View


def picture_folder(file: Path | None) -> Path:
    """Where the picture of a design in this file is looked for: beside it; a demo's beside the demos."""
    return _demo_folder() if file is None else file.parent


@cache
def _demo_folder() -> Path:
    # A design without a file holds a picture only when it began as a demo.
    demos = demo_design_files()
    return demos[0].parent if demos else Path.cwd()


class TracePicture(QObject):
    """Loads and paints the session's picture. `told` carries what is wrong with it.

    What takes longer to load than a moment is loaded beside the window's work; `arrived` says it is there.
    """

    told = Signal(str)
    arrived = Signal()

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._key: tuple[Path, str] | None = None
        self._loaded: LoadedPicture | None = None
        self._painter: PicturePainter | None = None
        self._trouble = ""
        self._work = LatestOnly(self)
        self._work.done.connect(self._arrive)
        self._tell_later = QTimer(self)
        self._tell_later.setSingleShot(True)
        self._tell_later.setInterval(0)
        self._tell_later.timeout.connect(self._tell)
        session.changed.connect(self._follow)
        session.file_changed.connect(self._follow)
        self._follow()

    @property
    def place(self) -> PicturePlace | None:
        """Where the picture lies on the table; None when none is shown."""
        picture = self._session.design.picture
        if picture is None or self._loaded is None:
            return None
        return place_of(picture, self._session.pose, self._loaded.height_to_width)

    def paint(self, painter: QPainter, view: View, area: QRectF, ratio: float, paper: QColor) -> None:
        """Paint it over an area of the canvas; `ratio` is the screen's pixels to one of the canvas's."""
        picture, place = self._session.design.picture, self.place
        if picture is not None and place is not None and self._painter is not None:
            self._painter.paint(painter, view, place, picture.opacity, area, ratio, paper)

    def reload(self) -> None:
        """Read the picture's file again."""
        self._key = None
        self._follow()

    def _follow(self) -> None:
        picture = self._session.design.picture
        key = None if picture is None else (picture_folder(self._session.file), picture.file)
        if key != self._key:
            self._key, self._loaded, self._painter, self._trouble = key, None, None, ""
            self._work.forget()
            if key is not None:
                folder, file = key
                self._take(self._work.ask_briefly(lambda: load_picture(inside(folder, file))))

    def _arrive(self, came: object) -> None:
        self._take(came)
        self.arrived.emit()

    def _take(self, came: object) -> None:
        if isinstance(came, LoadedPicture):
            self._loaded = came
            self._painter = PicturePainter(came.image)
        elif came is not None:
            # After whatever is said of opening the design, which would hide it.
            self._trouble = str(came)
            self._tell_later.start()

    def _tell(self) -> None:
        if self._trouble:
            self.told.emit(self._trouble)
