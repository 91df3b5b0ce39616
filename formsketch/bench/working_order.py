"""The maker's own way of working: the steps in order, words of their own, steps added and left out.

It holds for every design and is kept beside the maker's own tables; without it the usual order is taken.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta

from formsketch.bench.tables import table_document
from formsketch.bench.user_tables import user_tables_folder
from formsketch.errors import FormSketchError, TableError
from formsketch.files import write_atomically

FILE_NAME = "working-order.json"
MOST_STEPS, LONGEST_TITLE, LONGEST_WORDS = 100, 80, 1_000
_FORMAT, _VERSION = "formsketch-working-order", 2

# Common practice, no source: every operation on one wire from the drawer to the finished piece.
OPERATIONS: dict[str, str] = {
    "straighten": "Anneal and straighten",
    "cut": "Cut",
    "mark": "Mark",
    "post": "Draw down the ear post",
    "taper": "Taper the ends",
    "bend": "Bend",
    "hammer": "Hammer",
    "open": "Turn over and open",
    "bead": "Melt the beads",
    "ends": "Make the ends",
    "seats": "Join the seats",
    "true": "True",
    "drill": "Drill",
    "quality-mark": "Mark of quality",
    "finish": "Finish",
    "harden": "Harden",
    "set": "Set and bind",
}


class WorkStep(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, kw_only=True):
    """One step of the maker's way of working.

    `do` is the key of an operation, or '' for a step of the maker's own, which has a `title` instead. `words`
    are the maker's own and are printed under it. A step that is `left_out` stands on no card.
    """

    do: Annotated[str, Meta(max_length=40)] = ""
    title: Annotated[str, Meta(max_length=LONGEST_TITLE)] = ""
    words: Annotated[str, Meta(max_length=LONGEST_WORDS)] = ""
    left_out: bool = False

    @property
    def heading(self) -> str:
        """What the card calls it."""
        return OPERATIONS[self.do] if self.do else self.title


def usual_order() -> tuple[WorkStep, ...]:
    """All operations in their usual order."""
    return tuple(WorkStep(do=key) for key in OPERATIONS)


def checked_order(steps: Sequence[WorkStep], place: str = "working order") -> tuple[WorkStep, ...]:
    """The steps, an operation that is missing put where it usually comes.

    Raises `FormSketchError` for one that is not known or stands twice, for an own step without a title, and
    for more than 100 steps.
    """
    if len(steps) > MOST_STEPS:
        raise FormSketchError(f"{place}: expected at most {MOST_STEPS} steps, got {len(steps)}")
    done = [step.do for step in steps if step.do]
    for number, step in enumerate(steps, start=1):
        if step.do and step.do not in OPERATIONS:
            known = ", ".join(OPERATIONS)
            raise FormSketchError(f"{place}: step {number}: expected one of {known}, got {step.do!r}")
        if done.count(step.do) > 1:
            raise FormSketchError(f"{place}: step {number}: expected {step.do!r} once, got it twice or more")
        if step.do and step.title:
            raise FormSketchError(
                f"{place}: step {number}: expected no title beside the operation {step.do!r}"
            )
        if not step.do and not step.title.strip():
            raise FormSketchError(f"{place}: step {number}: expected a title, for a step of your own")
        if len(step.title) > LONGEST_TITLE or len(step.words) > LONGEST_WORDS:
            raise FormSketchError(
                f"{place}: step {number}: expected a title of at most {LONGEST_TITLE} letters "
                f"and words of at most {LONGEST_WORDS}"
            )
        if any(unicodedata.category(sign) == "Cs" for sign in step.title + step.words):
            raise FormSketchError(f"{place}: step {number}: expected letters, got half of one (a surrogate)")
    return _completed(steps)


def _completed(steps: Sequence[WorkStep]) -> tuple[WorkStep, ...]:
    """The steps, every operation that is not among them put after the one it usually follows."""
    found = list(steps)
    before = ""
    for key in OPERATIONS:
        at = [step.do for step in found]
        if key not in at:
            found.insert(at.index(before) + 1 if before else 0, WorkStep(do=key))
        before = key
    return tuple(found)


def order_file(folder: Path | None = None) -> Path:
    """Where the maker's way of working lies; the file need not exist."""
    return (user_tables_folder() if folder is None else folder) / FILE_NAME


def load_order(path: Path | None = None) -> tuple[WorkStep, ...]:
    """The maker's own way of working, the usual one where none is kept.

    Raises `FormSketchError` naming file and place for a file that cannot be used.
    """
    path = order_file() if path is None else path
    if not path.exists():
        return usual_order()
    document = table_document(path)
    steps = _steps_of(document)
    if steps is None:
        raise FormSketchError(
            f'{path}: expected {{"format": "{_FORMAT}", "version": {_VERSION}, "steps": [...]}}'
        )
    try:
        read = msgspec.convert(steps, tuple[WorkStep, ...], strict=True)
    except msgspec.ValidationError as fault:
        raise TableError(f"{path}: {str(fault).replace('`$', 'steps').replace('`', '')}") from None
    return checked_order(read, str(path))


def _steps_of(document: dict[str, Any]) -> list[Any] | None:
    """The steps as they stand in a file, None where there are none; the first version had operations only."""
    version = document.get("version")
    if document.get("format") != _FORMAT or isinstance(version, bool):
        return None
    if version == 1 and set(document) == {"format", "version", "operations"}:
        keys = document["operations"]
        return [{"do": key} for key in keys] if isinstance(keys, list) else None
    if version == _VERSION and set(document) == {"format", "version", "steps"}:
        steps = document["steps"]
        return steps if isinstance(steps, list) else None
    return None


def save_order(steps: Sequence[WorkStep], path: Path | None = None) -> Path:
    """Keep the maker's own way of working. Raises `FormSketchError` when it is none or cannot be written."""
    path = order_file() if path is None else path
    kept = [msgspec.to_builtins(step) for step in checked_order(steps)]
    document = {"format": _FORMAT, "version": _VERSION, "steps": kept}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise FormSketchError(f"{path}: not written, its folder cannot be made.") from fault
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False)
    write_atomically(path, (text + "\n").encode("utf-8"))
    return path
