"""Reading a bench table strictly, so that a slip in a row is named and never becomes a wrong number.

A table file is UTF-8 JSON: {"format": "formsketch-metals", "version": 1, "metals": [row, row, ...]}.
A row says how well it is known ("known": P published, M from memory, D derived, C common practice)
and where it comes from ("source").
"""

import json
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Generic, Literal, TypeVar

import msgspec

from formsketch.errors import DesignFileError, TableError
from formsketch.files import read_whole
from formsketch.shipped import resource
from formsketch.values import Value

Known = Literal["P", "M", "P/M", "D", "C"]

LARGEST_TABLE_BYTES = 5_000_000
_VERSION = 1
_NOT_SAID = object()
RowT = TypeVar("RowT", bound=msgspec.Struct)


class _Refused(Exception):
    """A fault in the JSON itself; the text says what was expected."""


class Table(Value, Generic[RowT], frozen=True):
    """The rows of one file, by key; `only_these` asks that the shipped rows be left out."""

    rows: dict[str, RowT]
    only_these: bool


def read_table(
    path: Path, kind: str, row_type: type[RowT], key: str, replaceable: bool = False
) -> Table[RowT]:
    """The checked rows of the table file `path`, by the text of their field `key`.

    `kind` is the name of the list in the file ("metals"). `replaceable` allows "only_these": true.
    Read once and kept until the file changes. Raises TableError naming file, row and expectation.
    """
    try:
        stat = path.stat()
    except OSError as error:
        raise TableError(f"{path}: the table cannot be read ({error.strerror}).") from error
    return _read(path, (stat.st_mtime_ns, stat.st_size), kind, row_type, key, replaceable)


@cache
def shipped_table(file_name: str, kind: str, row_type: type[RowT], key: str) -> Table[RowT]:
    """The rows of a table that ships with the program and does not change while it runs; read once."""
    return read_table(resource("tables", file_name), kind, row_type, key)


@lru_cache(maxsize=16)
def _read(
    path: Path, stamp: tuple[int, int], kind: str, row_type: type[RowT], key: str, replaceable: bool
) -> Table[RowT]:
    document = table_document(path)
    _check_header(path, document, kind, replaceable)
    rows: dict[str, RowT] = {}
    for number, raw in enumerate(document[kind], start=1):
        where = f"{path}: {kind} row {number}{_named(raw, key)}"
        row = _row(where, raw, row_type)
        name = str(getattr(row, key))
        if name in rows:
            raise TableError(f"{where}: {key} stands in an earlier row too; each may stand once.")
        rows[name] = row
    return Table(rows, document.get("only_these", False))


def table_document(path: Path) -> dict[str, Any]:
    """The object in a file of the maker's, no key twice and no number that is none. Raises TableError."""
    if path.exists() and not path.is_file():
        raise TableError(f"{path}: the table cannot be read (it is no file).")
    try:
        document = json.loads(
            read_whole(path, LARGEST_TABLE_BYTES, "a table").decode("utf-8"),
            object_pairs_hook=_without_duplicates,
            parse_constant=_refuse_constant,
        )
    except json.JSONDecodeError as error:
        raise TableError(
            f"{path}: line {error.lineno}, column {error.colno}: sound JSON was expected."
        ) from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise TableError(f"{path}: a table as UTF-8 JSON was expected.") from error
    except DesignFileError as error:
        raise TableError(str(error)) from error
    except _Refused as error:
        raise TableError(f"{path}: {error}") from error
    except ValueError as error:  # a whole number with thousands of digits
        raise TableError(f"{path}: numbers of ordinary length were expected.") from error
    try:
        json.dumps(document, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError as error:  # JSON can spell half a surrogate pair, and no text can hold it
        raise TableError(f"{path}: whole characters were expected, got half of one.") from error
    if not isinstance(document, dict):
        raise TableError(f"{path}: an object with format, version and rows was expected.")
    return document


def _without_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise _Refused(f'"{name}" stands twice in one object; it may stand once.')
        found[name] = value
    return found


def _refuse_constant(name: str) -> None:
    raise _Refused(f"{name} stands where a finite number was expected.")


def _check_header(path: Path, document: dict[str, Any], kind: str, replaceable: bool) -> None:
    expected_format = f"formsketch-{kind}"
    if document.get("format") != expected_format:
        raise TableError(f'{path}: "format": "{expected_format}" was expected.')
    version = document.get("version", _NOT_SAID)
    if version != _VERSION or isinstance(version, bool):
        raise TableError(f'{path}: "version": {_VERSION} was expected.')
    if not isinstance(document.get(kind), list):
        raise TableError(f'{path}: a list of rows under "{kind}" was expected.')
    allowed = {"format", "version", kind} | ({"only_these"} if replaceable else set())
    unknown = sorted(document.keys() - allowed)
    if unknown:
        raise TableError(
            f'{path}: "{unknown[0]}" is not known here; expected were {", ".join(sorted(allowed))}.'
        )
    if not isinstance(document.get("only_these", False), bool):
        raise TableError(f'{path}: "only_these": true or false was expected.')


def _named(raw: object, key: str) -> str:
    name = raw.get(key) if isinstance(raw, dict) else None
    return f" ({name})" if isinstance(name, str) and name else ""


def _row(where: str, raw: object, row_type: type[RowT]) -> RowT:
    try:
        return msgspec.convert(raw, row_type, strict=True)
    except msgspec.ValidationError as error:
        message, _, place = str(error).partition(" - at `$")
        field = place.rstrip("`").lstrip(".")
        raise TableError(f"{where}{f', {field}' if field else ''}: {message}.") from error
