"""The program's settings file, looked at before anything in it is believed.

PySide6 keeps a Python object in a settings file as a pickle behind `@Variant(`, and reading such a value runs
it. No setting of this program is one, so a file that holds any was not written by it and is set aside.
"""

from __future__ import annotations

import contextlib
import os
import re
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QSettings

_MOST_BYTES = 1_000_000
_SET_ASIDE = ".set-aside"
# As Qt reads them: any number of digits, of which the last 16 bits count.
_ESCAPE = re.compile(rb"\\x([0-9a-fA-F]+)|\\([0-7]+)")


def own_settings() -> tuple[QSettings, str]:
    """The settings, and what to say of them: "" unless the file there was set aside."""
    file = settings_file()
    said = ""
    if not _is_sound(file):
        aside = file.with_name(file.name + _SET_ASIDE)
        with contextlib.suppress(OSError):
            os.replace(file, aside)
        if file.exists():  # it cannot be moved: nothing in it is read
            settings = QSettings(str(aside.with_name("unused.ini")), QSettings.Format.IniFormat)
            return settings, f"The settings in {file} cannot be used; the usual ones are."
        said = f"The settings could not be used and were put aside as {aside}; the usual ones are used."
    settings = QSettings()
    # Its own file only: none of other programs or for all users of the machine.
    settings.setFallbacksEnabled(False)
    settings.sync()
    return settings, said


def settings_file() -> Path:
    """Where the settings are kept, found without reading them."""
    organisation, name = QCoreApplication.organizationName(), QCoreApplication.applicationName()
    neighbour = QSettings(
        QSettings.defaultFormat(), QSettings.Scope.UserScope, organisation, f"{name}-unused"
    )
    return Path(neighbour.fileName()).with_name(f"{name}.ini")


def _is_sound(file: Path) -> bool:
    """Whether it is a file of settings that holds no Python object, or there is none."""
    try:
        with open(file, "rb") as stream:
            data = stream.read(_MOST_BYTES + 1)
    except OSError:
        return True  # nothing is read there by Qt either
    if len(data) > _MOST_BYTES:
        return False
    return b"@variant(" not in _ESCAPE.sub(_unescaped, data).lower()


def _unescaped(escape: re.Match[bytes]) -> bytes:
    hexadecimal, octal = escape.groups()
    number = int(hexadecimal[-4:], 16) if hexadecimal else int(octal[-6:], 8) & 0xFFFF
    return chr(number).encode("utf-8", "surrogatepass")
