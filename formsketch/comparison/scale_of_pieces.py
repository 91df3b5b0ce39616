"""The maker's own finished pieces as a scale: as stout as this one, lighter than that one."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta

from formsketch.design.file_format import load_design
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.units import percent_text, ratio_text, weight_text
from formsketch.values import Value

MOST_PIECES = 60
# Values nearer than this share are called the same.
ALIKE = 0.005


class Proportioned(Value, frozen=True):
    """A proportion pieces are put in a row by: its name, words for less and more, measure and text."""

    name: str
    label: str
    less: str
    more: str
    of: Callable[[Evaluation], float | None]
    text: Callable[[float], str]


class Piece(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A finished piece: its file, its title and its proportions by name when it was put on the scale."""

    file: Annotated[str, Meta(min_length=1, max_length=4000)]
    title: Annotated[str, Meta(max_length=200)]
    numbers: dict[str, float]


class Place(Value, frozen=True):
    """Where a value falls among the pieces: the next below and above, None beyond the last."""

    below: Piece | None
    above: Piece | None
    nearest: Piece


PROPORTIONS = (
    Proportioned(
        "loop_to_wire", "Loop / wire", "stouter", "finer", lambda e: e.proportion.loop_to_wire, ratio_text
    ),
    Proportioned(
        "wire_to_height",
        "Wire / height",
        "finer",
        "stouter",
        lambda e: e.proportion.wire_to_height,
        lambda share: percent_text(100 * share),
    ),
    Proportioned(
        "flare_to_wire",
        "Flare / wire",
        "rounder",
        "broader",
        lambda e: e.proportion.flare_to_wire,
        ratio_text,
    ),
    Proportioned(
        "silhouette_to_hull",
        "Metal / hull",
        "airier",
        "fuller",
        lambda e: e.proportion.silhouette_to_hull,
        lambda share: percent_text(100 * share),
    ),
    Proportioned(
        "gap_to_wire", "Gap / wire", "closer", "opener", lambda e: e.proportion.gap_to_wire, ratio_text
    ),
    Proportioned(
        "grams_per_cm",
        "Weight / length",
        "lighter",
        "heavier",
        lambda e: e.proportion.grams_per_cm,
        lambda grams: f"{weight_text(grams)}/cm",
    ),
)


def proportions_of(evaluation: Evaluation) -> dict[str, float]:
    """Every proportion the form has, by name."""
    found = ((p.name, p.of(evaluation)) for p in PROPORTIONS)
    return {name: float(value) for name, value in found if value is not None and math.isfinite(value)}


def piece_from(file: Path) -> Piece:
    """The piece a design file holds, measured now. Raises `FormSketchError`."""
    design = load_design(file).design
    title = design.title or file.name
    return Piece(str(file), title, proportions_of(evaluate(design)))


def with_piece(pieces: Iterable[Piece], piece: Piece) -> tuple[Piece, ...]:
    """The pieces with this one last, or in place of an earlier look at its file; the latest are kept."""
    kept = tuple(pieces)
    if any(other.file == piece.file for other in kept):
        return tuple(piece if other.file == piece.file else other for other in kept)
    return (*kept, piece)[-MOST_PIECES:]


def missing(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The pieces whose file is no longer there; their numbers are those of the time."""
    return tuple(piece for piece in pieces if not Path(piece.file).is_file())


def place_on_scale(pieces: Sequence[Piece], name: str, value: float) -> Place | None:
    """Where a value falls among the pieces that have this proportion; None when none has.

    Nearest is meant by ratio, as proportions are.
    """
    ranked = sorted((p for p in pieces if p.numbers.get(name, 0.0) > 0), key=lambda p: p.numbers[name])
    if not ranked or not value > 0:
        return None
    below = [p for p in ranked if p.numbers[name] <= value]
    above = [p for p in ranked if p.numbers[name] > value]
    nearest = min(ranked, key=lambda p: abs(math.log(p.numbers[name] / value)))
    return Place(below[-1] if below else None, above[0] if above else None, nearest)


def place_text(pieces: Sequence[Piece], proportion: Proportioned, value: float) -> str:
    """The same in words: "as stout as Eddy", "between Eddy and Ebb, nearer to Ebb"."""
    place = place_on_scale(pieces, proportion.name, value)
    if place is None:
        return "none of the pieces has this proportion"
    nearest = place.nearest
    if abs(nearest.numbers[proportion.name] / value - 1) <= ALIKE:
        return f"the same as {nearest.title}"
    if place.below is None:
        return f"{proportion.less} than {nearest.title}, the last on that side"
    if place.above is None:
        return f"{proportion.more} than {nearest.title}, the last on that side"
    return f"between {place.below.title} and {place.above.title}, nearer to {nearest.title}"


def pieces_text(pieces: Sequence[Piece]) -> str:
    """The list as it is kept between sittings."""
    return json.dumps(msgspec.to_builtins(list(pieces)), ensure_ascii=False)


def read_pieces(text: str) -> tuple[Piece, ...]:
    """The list as it was kept; what cannot be read in it is left out, for it can be put there again."""
    try:
        rows: Any = json.loads(text) if text else []
    except ValueError:
        return ()
    found = []
    for row in rows if isinstance(rows, list) else ():
        try:
            piece = msgspec.convert(row, Piece, strict=True)
        except msgspec.ValidationError:
            continue
        if all(math.isfinite(value) for value in piece.numbers.values()):
            found.append(piece)
    return tuple(found[-MOST_PIECES:])
