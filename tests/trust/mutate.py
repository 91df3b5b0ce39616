"""Sound files made unsound: by bytes, as disks and editors do, and by the tree, as other programs do."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

# What tends to be mistaken: ends of number ranges, names of the format, words of JSON, letters that steer.
NUMBERS = (
    0,
    -1,
    1,
    2,
    1e-300,
    1e300,
    -1e300,
    2**31,
    2**63,
    10**30,
    0.1,
    360,
    7_200,
    20_000,
    1e-9,
    True,
    None,
)
TEXTS = (
    "",
    " ",
    "x" * 500,
    "../up.png",
    "/etc/passwd",
    "a\u0000b",
    "\u202e",
    "brass-c26000",
    "plain",
    "edge",
    "NaN",
)
TOKENS = (
    b"NaN", b"Infinity", b"-", b"1e999", b"9" * 400, b"null", b"true", b"[", b"]", b"{", b"}", b",", b":",
    b'"', b"\\u0000", b"\\ud800", b"\xff", b"\x00", b"\xef\xbb\xbf", b"//", b"1.5", b"-0", b"[[[[[[[[", b"\r",
)  # fmt: skip
MOST_BYTES = 60_000


def mutated_bytes(data: bytes, choose: random.Random) -> bytes:
    """One to four slips in the bytes."""
    out = bytearray(data)
    for _ in range(choose.choice((1, 1, 1, 2, 3, 4))):
        at = choose.randrange(len(out) + 1)
        kind = choose.randrange(8)
        if kind == 0 and out:
            out[at % len(out)] ^= 1 << choose.randrange(8)
        elif kind == 1 and out:
            out[at % len(out)] = choose.randrange(256)
        elif kind == 2:
            out[at:at] = choose.choice(TOKENS)
        elif kind == 3:
            del out[at : at + choose.choice((1, 1, 2, 8, 64))]
        elif kind == 4:
            del out[at:]
        elif kind == 5:  # a piece again, elsewhere
            piece = out[at : at + choose.choice((4, 32, 256))]
            to = choose.randrange(len(out) + 1)
            out[to:to] = piece
        elif kind == 6:
            out[at : at + choose.choice((1, 4, 8))] = choose.choice(TOKENS)
        else:
            out[at:at] = bytes(choose.randrange(256) for _ in range(choose.randint(1, 6)))
    return bytes(out[:MOST_BYTES])


def mutated_tree(tree: Any, choose: random.Random) -> Any:
    """One to three slips in what the file says: values, keys, kinds, lists."""
    out = copy.deepcopy(tree)
    for _ in range(choose.choice((1, 1, 2, 3))):
        places = list(_places(out))
        if not places:
            return out
        holder, step = choose.choice(places)
        kind = choose.randrange(9)
        value = holder[step]
        if kind == 0:
            holder[step] = choose.choice(NUMBERS)
        elif kind == 1:
            holder[step] = choose.choice(TEXTS)
        elif kind == 2:
            del holder[step]
        elif kind == 3 and isinstance(value, int | float):
            holder[step] = value * choose.choice((-1, 0.5, 2, 10, 1_000, 1e6, 1e-6))
        elif kind == 4:
            other, there = choose.choice(places)
            holder[step] = copy.deepcopy(other[there])
        elif kind == 5 and isinstance(value, list) and value:
            holder[step] = value * choose.choice((0, 2, 3))
        elif kind == 6 and isinstance(holder, dict):
            holder[choose.choice((f"{step} ", str(step).upper(), "colour", "kind"))] = value
        elif kind == 7:
            holder[step] = {"kind": choose.choice(("bead", "hook", "eye", "clasp")), "a": value}
        else:
            holder[step] = [value]
    return out


def mutated(data: bytes, choose: random.Random) -> bytes:
    """A slip of either kind, in a file of JSON."""
    if choose.random() < 0.5:
        return mutated_bytes(data, choose)
    tree = mutated_tree(json.loads(data), choose)
    try:
        return json.dumps(tree, indent=choose.choice((None, 1)), ensure_ascii=choose.random() < 0.5).encode()
    except UnicodeEncodeError:
        return json.dumps(tree).encode()


def _places(tree: Any) -> list[tuple[Any, Any]]:
    found = []
    items = (
        list(tree.items())
        if isinstance(tree, dict)
        else list(enumerate(tree))
        if isinstance(tree, list)
        else []
    )
    for step, value in items:
        found.append((tree, step))
        found += _places(value)
    return found
