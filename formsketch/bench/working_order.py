"""The order in which a maker works: the usual one, or the maker's own, kept beside the maker's tables."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from formsketch.bench.user_tables import user_tables_folder
from formsketch.errors import FormSketchError
from formsketch.files import read_whole, write_atomically

FILE_NAME = "working-order.json"
_FORMAT, _VERSION, _LARGEST_BYTES = "formsketch-working-order", 1, 10_000

# Common practice, no source: every operation on one wire from the drawer to the finished piece.
OPERATIONS: dict[str, str] = {
    "straighten": "Straighten",
    "cut": "Cut",
    "mark": "Mark",
    "post": "Draw down the ear post",
    "taper": "Taper the ends",
    "bend": "Bend",
    "hammer": "Hammer",
    "open": "Turn over and open",
    "bead": "Melt the beads",
    "ends": "Bend the ends",
    "true": "True",
    "drill": "Drill",
    "quality-mark": "Mark of quality",
    "finish": "Finish",
    "harden": "Harden",
}


def usual_order() -> tuple[str, ...]:
    """Keys of the operations in their usual order."""
    return tuple(OPERATIONS)


def checked_order(keys: Sequence[str], place: str = "working order") -> tuple[str, ...]:
    """The keys, when each operation stands in them once. Raises `FormSketchError` naming what is wrong."""
    for key in keys:
        if key not in OPERATIONS:
            raise FormSketchError(f"{place}: expected operations ({', '.join(OPERATIONS)}), got {key!r}")
    for key in OPERATIONS:
        count = list(keys).count(key)
        if count != 1:
            raise FormSketchError(f"{place}: expected {key!r} once, got it {count} times")
    return tuple(keys)


def load_order(path: Path | None = None) -> tuple[str, ...]:
    """The maker's own order, the usual one where none is kept. Raises `FormSketchError` for a bad file."""
    path = user_tables_folder() / FILE_NAME if path is None else path
    if not path.exists():
        return usual_order()
    data = read_whole(path, _LARGEST_BYTES, "a working order")
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        raise FormSketchError(f"{path}: expected a working order as JSON") from None
    if (
        not isinstance(document, dict)
        or document.get("format") != _FORMAT
        or document.get("version") != _VERSION
        or not isinstance(document.get("operations"), list)
        or not all(isinstance(key, str) for key in document["operations"])
    ):
        raise FormSketchError(
            f'{path}: expected {{"format": "{_FORMAT}", "version": {_VERSION}, "operations": [...]}}'
        )
    return checked_order(document["operations"], str(path))


def save_order(keys: Sequence[str], path: Path | None = None) -> Path:
    """Keep the maker's own order. Raises `FormSketchError` when it is no order or cannot be written."""
    path = user_tables_folder() / FILE_NAME if path is None else path
    document = {"format": _FORMAT, "version": _VERSION, "operations": list(checked_order(keys))}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise FormSketchError(f"{path}: not written, its folder cannot be made.") from fault
    write_atomically(path, (json.dumps(document, indent=1) + "\n").encode("utf-8"))
    return path
