"""What several commands share: reading a design, names of files, progress, JSON on the terminal."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import click

from formsketch.errors import FormSketchError

BAD_INPUT = 2
FILE = click.Path(path_type=Path)
_Item = TypeVar("_Item")


def loaded(file: Path) -> Any:
    """The design in this file."""
    from formsketch.design.file_format import load_design

    return load_design(file).design


def evaluated(file: Path) -> Any:
    """The evaluation of the design in this file."""
    from formsketch.errors import DesignFileError
    from formsketch.evaluation.evaluate import UnknownMetal, evaluate

    try:
        return evaluate(loaded(file))
    except UnknownMetal as fault:
        raise DesignFileError(str(file), fault.place, fault.expected) from None


def require_suffix(output: Path, *suffixes: str) -> None:
    """Raise FormSketchError unless the name ends in one of these."""
    if output.suffix.lower() not in suffixes:
        wanted = " or ".join(suffixes)
        raise FormSketchError(f"{output}: expected a file name that ends in {wanted}")


def with_progress(items: Iterable[_Item], label: str) -> Iterator[_Item]:
    """The items one by one, with a progress bar on a terminal and nothing when piped."""
    listed = list(items)
    if len(listed) < 3 or not sys.stderr.isatty():
        yield from listed
        return
    with click.progressbar(listed, label=label, file=sys.stderr) as bar:
        yield from bar


def echo_json(data: Any) -> None:
    """Print it as one JSON object or list; a number that is none is a fault of ours and raises ValueError."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
