"""What a design becomes when it is worn: the size wanted, and the size it reaches as it is."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Literal

import numpy as np
from msgspec.structs import replace

from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.ring_sizes import (
    RING_SYSTEMS,
    read_ring_size,
    ring_circumference_mm,
    ring_size_label,
    ring_size_texts,
)
from formsketch.design.model import Worn
from formsketch.errors import InputError
from formsketch.evaluation.rolled import inside_as_laid_mm, inside_of_rolled_mm
from formsketch.units import length_text

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

Kind = Literal["ring", "bracelet", "bangle", "cuff", "hoop", "drop", "necklace", "pendant"]
Standard = Literal["iso", "us", "uk", "japan", "wrist", "inside", "diameter", "length"]

# Each kind with the standards its size can be said in, the usual one first.
STANDARDS: dict[Kind, tuple[Standard, ...]] = {
    "ring": ("us", "uk", "iso", "japan", "inside", "diameter"),
    "bracelet": ("wrist", "inside", "diameter"),
    "bangle": ("inside", "diameter", "wrist"),
    "cuff": ("wrist", "inside", "diameter"),
    "hoop": ("diameter", "inside"),
    "drop": ("length",),
    "necklace": ("length",),
    "pendant": ("length",),
}
STANDARD_WORDS: dict[Standard, str] = {
    "iso": "ISO ring size",
    "us": "US ring size",
    "uk": "UK ring size",
    "japan": "Japanese ring size",
    "wrist": "wrist, measured",
    "inside": "inside round",
    "diameter": "inside diameter",
    "length": "length",
}
# Ease on the wrist in mm: common practice among bracelet makers, no standard.
EASES: dict[str, tuple[float, float]] = {
    "snug": (6.0, 12.0),
    "comfortable": (12.0, 25.0),
    "loose": (25.0, 30.0),
}
# A first size for each kind, in its usual standard; wrist and necklace as most are sold.
_FIRST: dict[Kind, tuple[float, float]] = {
    "ring": (7.0, 0.0),
    "bracelet": (165.0, 15.0),
    "bangle": (200.0, 0.0),
    "cuff": (165.0, 6.0),
    "hoop": (25.0, 0.0),
    "drop": (40.0, 0.0),
    "necklace": (450.0, 0.0),
    "pendant": (40.0, 0.0),
}
_CUFF_GAP_MM = 25.0  # to slip the wrist through; common practice
_LONG_MM = 120.0  # a flat form from here on is taken for a bracelet until the maker says otherwise
_MOST_ROUND_RAD = 1.2 * 2 * pi


def first_worn(kind: Kind, rolled: bool = True) -> Worn:
    """A size to begin with for a kind of piece."""
    size, ease_mm = _FIRST[kind]
    gap_mm = _CUFF_GAP_MM if kind == "cuff" else 0.0
    standard = STANDARDS[kind][0]
    return Worn(kind=kind, standard=standard, size=size, ease_mm=ease_mm, gap_mm=gap_mm, rolled=rolled)


def suggested(evaluation: Evaluation) -> Worn:
    """What the design says it becomes, or a guess from its length and from whether it is round already."""
    if evaluation.design.worn is not None:
        return evaluation.design.worn
    if is_round(evaluation):
        return first_worn("hoop" if max(evaluation.envelope_mm) < _LONG_MM / 3 else "cuff", rolled=False)
    return first_worn("bracelet" if evaluation.envelope_mm[0] > _LONG_MM else "ring")


def is_round(evaluation: Evaluation) -> bool:
    """Whether the form goes round once in its own plane, turning one way all along."""
    turns = evaluation.chain.turn_rad[evaluation.chain.spans]
    one_way = bool(np.all(turns >= -1e-9) or np.all(turns <= 1e-9))
    return one_way and 1.2 * pi <= abs(float(np.sum(turns))) <= _MOST_ROUND_RAD


def checked_worn(worn: Worn) -> Worn:
    """The size itself when its kind can be said so. Raises `InputError` in one sentence."""
    if worn.standard not in STANDARDS[worn.kind]:
        words = " or ".join(STANDARD_WORDS[standard] for standard in STANDARDS[worn.kind])
        raise InputError(f"The size of a {worn.kind} is given as {words}, not as {worn.standard}.")
    if worn.standard not in RING_SYSTEMS and not worn.size > 0:
        raise InputError(f"A {STANDARD_WORDS[worn.standard]} above 0 mm was expected.")
    return worn


def is_length(worn: Worn) -> bool:
    """Whether the size is a length along the piece, not an inside round."""
    return worn.standard == "length"


def wanted_mm(worn: Worn) -> float:
    """Inside round wanted, ease included, or the length wanted, mm. Raises `InputError` out of range."""
    checked_worn(worn)
    if worn.standard in RING_SYSTEMS:
        return ring_circumference_mm(worn.standard, worn.size) + worn.ease_mm
    return (pi if worn.standard == "diameter" else 1.0) * worn.size + worn.ease_mm


def reached_mm(evaluation: Evaluation, worn: Worn) -> float:
    """Inside round, or length, that the design has as it is, mm; not above 0 where it is too short to close.

    A length is that of the form laid level, its catch included.
    """
    if is_length(worn):
        return evaluation.envelope_mm[0]
    if worn.rolled:
        return inside_of_rolled_mm(evaluation, worn.gap_mm)
    return inside_as_laid_mm(evaluation)


def read_size(standard: Standard, text: str) -> float:
    """A size as typed: a ring size, or a length in any unit. Raises `InputError`."""
    if standard in RING_SYSTEMS:
        return read_ring_size(standard, text)
    return parse_length_mm(text)


def size_label(worn: Worn) -> str:
    """The size in its own words: "US 7", "wrist 165 mm", "25 mm across"."""
    if worn.standard in RING_SYSTEMS:
        return ring_size_label(worn.standard, worn.size)
    number = f"{worn.size:.5g} mm"
    words = {"wrist": f"wrist {number}", "inside": f"{number} round", "diameter": f"{number} across"}
    return words.get(worn.standard, number)


def reached_text(worn: Worn, size_mm: float) -> str:
    """A size in mm, and for a ring or a hoop what that is called."""
    if size_mm <= 0:
        return "too short to close"
    if is_length(worn):
        return f"{length_text(size_mm)} long"
    text = f"{length_text(size_mm)} round"
    if worn.aspect == 1.0 or not worn.rolled:
        text += f", {length_text(size_mm / pi)} across"
    name = RING_SYSTEMS.get(worn.standard)
    called = ring_size_texts(size_mm).get(name) if name is not None and worn.kind == "ring" else None
    return text if called is None else f"{text}, {name} {called}"


def stepped(worn: Worn, steps: int) -> Worn:
    """The size so many usual steps larger: a US size, two ISO, UK or Japanese ones, 10 mm of wrist.

    Hoops go by 5 mm, lengths by 10 %; the steps are common practice.
    """
    by = {"us": 1.0, "iso": 2.0, "uk": 2.0, "japan": 2.0, "wrist": 10.0, "inside": 10.0, "diameter": 5.0}
    step = by.get(worn.standard, 0.1 * worn.size)
    if worn.kind == "ring" and worn.standard in ("inside", "diameter"):
        step = 2.5 if worn.standard == "inside" else 0.8
    return replace(worn, size=worn.size + steps * step)
