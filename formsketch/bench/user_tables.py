"""A person's own bench tables: where they lie, and keeping a row in one of them.

The files have the shape of the shipped ones; a row replaces the shipped row with the same key. They are
looked for when the program reads them, and made only when something is kept in them.
"""

import json
import os
from functools import lru_cache
from pathlib import Path

import msgspec

from formsketch.bench.tables import read_table
from formsketch.errors import FormSketchError
from formsketch.files import write_atomically

METALS_FILE = "metals.json"
TUBES_FILE = "tubes.json"
HAMMERS_FILE = "hammers.json"


def user_tables_folder() -> Path:
    """The folder for a person's own tables on this system. It need not exist."""
    return _folder(*map(os.environ.get, ("HOME", "XDG_DATA_HOME", "LOCALAPPDATA")))


# Asked at every evaluation, and worth a tenth of it: found once for the places the system names.
@lru_cache(maxsize=4)
def _folder(*named_by_system: str | None) -> Path:
    # Imported here: finding the folder is the only thing that needs it, and commands start faster without.
    from platformdirs import user_data_path

    return user_data_path("FormSketch", appauthor=False)


def user_metals_file(folder: Path | None = None) -> Path | None:
    """The person's own table of metals, None when there is none."""
    return _present(folder, METALS_FILE)


def user_tubes_file(folder: Path | None = None) -> Path | None:
    """The person's own table of tubes, None when there is none."""
    return _present(folder, TUBES_FILE)


def user_hammers_file(folder: Path | None = None) -> Path | None:
    """The person's own table of hammers, None when there is none."""
    return _present(folder, HAMMERS_FILE)


def keep_row(file_name: str, kind: str, row: msgspec.Struct, folder: Path | None = None) -> Path:
    """Write `row` into the person's own table `file_name` of `kind`, and return the file's path.

    It takes the place of a row with the same `key`, or stands at the end; every other row is kept. The file
    is made where there is none, and its folder too. Raises TableError when what stands there is no sound
    table (it is left as it was), FormSketchError when it cannot be written.
    """
    path = (user_tables_folder() if folder is None else folder) / file_name
    rows = dict(read_table(path, kind, type(row), "key").rows) if path.exists() else {}
    rows[str(row.key)] = row  # type: ignore[attr-defined]
    return _written(path, kind, rows)


def forget_row(
    file_name: str, kind: str, row_type: type[msgspec.Struct], key: str, folder: Path | None = None
) -> Path:
    """Take the row of this key out of the person's own table, and return the file's path.

    Nothing is written where there is no such row. Raises as `keep_row` does.
    """
    path = (user_tables_folder() if folder is None else folder) / file_name
    rows = dict(read_table(path, kind, row_type, "key").rows) if path.exists() else {}
    return path if rows.pop(key, None) is None else _written(path, kind, rows)


def _written(path: Path, kind: str, rows: dict[str, msgspec.Struct]) -> Path:
    document = {
        "format": f"formsketch-{kind}",
        "version": 1,
        kind: [msgspec.to_builtins(each) for each in rows.values()],
    }
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise FormSketchError(f"{path}: not written, its folder cannot be made.") from fault
    write_atomically(path, text.encode("utf-8"))
    return path


def set_aside(path: Path) -> None:
    """Do as if there were no such table until the file changes, so that a slip in it stops nothing else."""
    _set_aside[path] = _stamp(path)


# What was set aside, and what the file was then.
_set_aside: dict[Path, tuple[int, int]] = {}


def _present(folder: Path | None, name: str) -> Path | None:
    path = (user_tables_folder() if folder is None else folder) / name
    if not path.is_file() or (path in _set_aside and _set_aside[path] == _stamp(path)):
        return None
    return path


def _stamp(path: Path) -> tuple[int, int]:
    stat = path.stat()
    return stat.st_mtime_ns, stat.st_size
