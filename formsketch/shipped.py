"""Where the data that ships with the program lies, installed or in a checkout."""

from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


@cache
def _data_folder(name: str) -> Path:
    installed = _PACKAGE / name
    return installed if installed.is_dir() else _PACKAGE.parent / name


def resource(*parts: str) -> Path:
    """Path of a file in `resources/`."""
    return _data_folder("resources").joinpath(*parts)


def demo_design_files() -> list[Path]:
    """The demo designs, sorted by file name."""
    return sorted(_data_folder("demo_designs").glob("*.formsketch.json"))
