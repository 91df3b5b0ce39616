"""The design file: UTF-8 JSON, read strictly, written whole or not at all.

Loading refuses unknown keys, wrong types, numbers out of range, NaN and infinities, duplicate keys and
nonsense nesting, naming the place. Saving an unchanged design gives back the bytes it was loaded from.
"""

from __future__ import annotations

import json
from functools import cache
from inspect import cleandoc
from pathlib import Path
from typing import Any

import msgspec

from formsketch.design.migrations import CURRENT_VERSION, FORMAT, migrate
from formsketch.design.model import Design
from formsketch.design.soundness import Unsound, design_from_builtins, sound
from formsketch.errors import DesignFileError
from formsketch.files import read_whole, write_atomically
from formsketch.values import Value

SUFFIX = ".formsketch.json"
LARGEST_FILE_BYTES = 20_000_000


class DesignFile(Value, frozen=True):
    """A design together with the bytes that say it, so that unchanged means unchanged."""

    design: Design
    data: bytes


class _Refused(Exception):
    """A fault in the JSON itself; the text says what was expected."""


def load_design(path: Path | str) -> DesignFile:
    """Read a design file. Raises `DesignFileError` naming file, place and expectation."""
    data = read_whole(Path(path), LARGEST_FILE_BYTES, "a design file")
    return read_design(data, str(path))


def read_design(data: bytes, name: str) -> DesignFile:
    """The design said by these bytes; `name` is used in messages. Raises `DesignFileError`."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise DesignFileError(name, "", f"expected UTF-8 text, byte {fault.start} is not") from None
    try:
        tree = json.loads(text, object_pairs_hook=_no_duplicates, parse_constant=_no_constants)
    except json.JSONDecodeError as fault:
        where = f"line {fault.lineno}, column {fault.colno}"
        raise DesignFileError(
            name, where, f"expected JSON ({fault.msg[:1].lower()}{fault.msg[1:]})"
        ) from None
    except _Refused as fault:
        raise DesignFileError(name, "", str(fault)) from None
    except RecursionError:
        raise DesignFileError(name, "", "expected a design, got lists nested too deeply") from None
    except ValueError:  # an integer with thousands of digits
        raise DesignFileError(name, "", "expected numbers of ordinary length") from None
    try:
        return DesignFile(design_from_builtins(migrate(tree)), data)
    except Unsound as fault:
        raise DesignFileError(name, fault.place, fault.expected) from None
    except UnicodeEncodeError:  # half a surrogate pair, which JSON can spell and text cannot hold
        raise DesignFileError(name, "$", "expected whole characters, got half of one") from None


def design_bytes(design: Design) -> bytes:
    """The canonical bytes of a sound design: two-space indents, whole numbers without a point."""
    body = {"format": FORMAT, "version": CURRENT_VERSION, **_plain(sound(design))}
    text = json.dumps(body, ensure_ascii=False, indent=2, allow_nan=False)
    return (text + "\n").encode("utf-8")


def save_design(path: Path | str, design: Design, loaded: DesignFile | None = None) -> DesignFile:
    """Write the design atomically and return what now stands in the file.

    `loaded` is what was last read or written there: when the design has not changed, its bytes are kept
    as they were, spacing and all. Raises `FormSketchError`; the old file stays whole on any failure.
    """
    data = loaded.data if loaded is not None and loaded.design == design else design_bytes(design)
    write_atomically(Path(path), data)
    return DesignFile(design, data)


def json_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a current design file, kept in resources for other programs."""
    schema = msgspec.json.schema(Design)
    for part in schema["$defs"].values():
        if "description" in part:
            # Python 3.13 takes the margin off docstrings, earlier ones leave it.
            part["description"] = cleandoc(part["description"])
    body = schema["$defs"]["Design"]
    body["properties"] = {
        "format": {"const": FORMAT},
        "version": {"const": CURRENT_VERSION},
        **body["properties"],
    }
    body["required"] = ["format", "version", *body["required"]]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "FormSketch design", **schema}


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _Refused(f"expected each key once in an object, got {key[:80]!r} twice")
        found[key] = value
    return found


def _no_constants(text: str) -> Any:
    raise _Refused(f"expected ordinary numbers, got {text}")


@cache
def _fields(kind: type[msgspec.Struct]) -> tuple[msgspec.structs.FieldInfo, ...]:
    return msgspec.structs.fields(kind)


def _plain(value: Any) -> Any:
    """Structs as dicts without what has its default, so that equal designs are equal bytes."""
    if isinstance(value, msgspec.Struct):
        tag = {"kind": value.__struct_config__.tag} if value.__struct_config__.tag else {}
        fields = ((f.encode_name, getattr(value, f.name), f.default) for f in _fields(type(value)))
        return tag | {name: _plain(item) for name, item, default in fields if item != default}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value
