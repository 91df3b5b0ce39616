"""The start of the application: how Qt reports trouble, the font, the names, the theme."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QMessageLogContext, QSettings, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QFont, QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QApplication

from formsketch.errors import FormSketchError
from formsketch.shipped import resource
from formsketch.ui import INSTALL_HINT
from formsketch.ui.theme import follow_desktop

NAME = "FormSketch"
# Points are 1/72 inch of a 96 dpi screen, but whole pixels on macOS.
FONT_POINTS = 13.0 if sys.platform == "darwin" else 10.0
NO_WINDOW_EXIT_CODE = 3
_KEPT_BYTES = 48_000_000


def create_application(argv: Sequence[str]) -> QApplication:
    """The application, ready for its window; called once, before any other Qt object is made.

    Where Qt cannot open a window at all it ends the process itself, without a Python exception: then the
    reason and what to install are written to stderr and the process ends with code 3.
    """
    _report_trouble()
    _keep_freed_memory()
    QGuiApplication.setHighDpiScaleFactorRoundingPolicy(Qt.HighDpiScaleFactorRoundingPolicy.PassThrough)
    # The same readable settings file on every system.
    QSettings.setDefaultFormat(QSettings.Format.IniFormat)
    app = QApplication(list(argv))
    app.setOrganizationName(NAME)
    app.setApplicationName(NAME)
    app.setApplicationDisplayName(NAME)
    app.setFont(_load_font())
    follow_desktop(app)
    return app


def _keep_freed_memory() -> None:
    """Have freed memory kept for the next frame, where the C library is glibc; elsewhere it changes nothing.

    Painting the wire takes and frees some megabytes each time. glibc would give them back to the system and
    fetch them anew, page by page, which takes as long as the painting; it keeps as much as twice the largest
    piece that was ever mapped and freed (malloc, M_MMAP_THRESHOLD and M_TRIM_THRESHOLD).
    """
    np.empty(_KEPT_BYTES // 2, np.uint8)


def _report_trouble() -> None:
    """Explain a fatal message of Qt and end; pass every other on as before."""

    def handle(kind: QtMsgType, context: QMessageLogContext, message: str) -> None:
        if kind is QtMsgType.QtFatalMsg:
            print(f"formsketch: the window cannot open: {message.strip()}", file=sys.stderr)
            print(INSTALL_HINT, file=sys.stderr, flush=True)
            os._exit(NO_WINDOW_EXIT_CODE)
        if before is not None:
            before(kind, context, message)
        else:
            print(message, file=sys.stderr)

    before = qInstallMessageHandler(handle)


def _load_font() -> QFont:
    """The font that ships with the program, so that text looks alike and is never boxes."""
    families: list[str] = []
    for name in ("NotoSans-Regular.ttf", "NotoSans-Bold.ttf"):
        number = QFontDatabase.addApplicationFont(str(resource("fonts", name)))
        if number < 0:
            raise FormSketchError(f"fonts/{name}: expected a font that ships with the program")
        families += QFontDatabase.applicationFontFamilies(number)
    font = QFont(families[0])
    font.setPointSizeF(FONT_POINTS)
    return font
