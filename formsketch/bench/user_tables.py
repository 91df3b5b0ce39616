"""Where a person's own bench tables lie; looked for, never created, when the program reads them.

The files have the shape of the shipped ones; a row replaces the shipped row with the same key.
"""

from pathlib import Path

METALS_FILE = "metals.json"
TUBES_FILE = "tubes.json"


def user_tables_folder() -> Path:
    """The folder for a person's own tables on this system. It need not exist."""
    # Imported here: finding the folder is the only thing that needs it, and commands start faster without.
    from platformdirs import user_data_path

    return user_data_path("FormSketch", appauthor=False)


def user_metals_file(folder: Path | None = None) -> Path | None:
    """The person's own table of metals, None when there is none."""
    return _present(folder, METALS_FILE)


def user_tubes_file(folder: Path | None = None) -> Path | None:
    """The person's own table of tubes, None when there is none."""
    return _present(folder, TUBES_FILE)


def _present(folder: Path | None, name: str) -> Path | None:
    path = (user_tables_folder() if folder is None else folder) / name
    return path if path.is_file() else None
