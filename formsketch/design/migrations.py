"""From every version of the design file that was ever released to the current one.

A migration is a function from the plain tree of one version to that of the next; add it to `_STEPS`
under the version it starts from.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from formsketch.design.soundness import Unsound

FORMAT = "formsketch-design"
CURRENT_VERSION = 1

_STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}


def migrate(tree: Any) -> dict[str, Any]:
    """The body of a current design file (without `format` and `version`). Raises `Unsound`."""
    if not isinstance(tree, dict):
        raise Unsound("$", "expected an object with the keys of a design file")
    body = dict(tree)
    if body.pop("format", None) != FORMAT:
        raise Unsound("$.format", f'expected "{FORMAT}"')
    version = body.pop("version", None)
    if type(version) is not int or version < 1:
        raise Unsound("$.version", f"expected a whole number from 1 to {CURRENT_VERSION}")
    if version > CURRENT_VERSION:
        raise Unsound(
            "$.version",
            f"expected at most {CURRENT_VERSION}; this file was written by a later program ({version})",
        )
    for step in range(version, CURRENT_VERSION):
        body = _STEPS[step](body)
    return body
