"""What a design becomes when it is worn: the size wanted, and the size it reaches as it is."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Literal

import numpy as np
from msgspec.structs import replace

from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.ring_sizes import (
    RING_SYSTEMS,
    nearest_ring_size,
    read_ring_size,
    ring_circumference_mm,
    ring_size_label,
    ring_size_texts,
)
from formsketch.design.model import Worn
from formsketch.errors import InputError
from formsketch.evaluation.rolled import caught_mm, inside_as_laid_mm, inside_of_rolled_mm
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
# What a form that never said what it becomes is taken for: round in its plane and no larger than this across
# for a hoop; flat and no longer than a ring's blank, and so much longer than high, for a ring; flat, caught
# or without ends to hang by, for a bracelet up to what goes round a neck.
_MOST_HOOP_MM = 40.0
_RING_BLANK_MM, _RING_HEIGHT_SHARE = (38.0, 82.0), 0.3
_LEAST_CAUGHT_MM, _LEAST_NECKLACE_MM = 120.0, 260.0
_EAR_HOOK_INSIDE_MM, _EAR_HOOK_WIRE_MM = 5.0, 1.05
_WRISTS_MM = (100.0, 260.0)
# Names of necklace lengths, common practice, no standard: from, mm.
NECKLACE_NAMES = (
    (300.0, "collar"),
    (350.0, "choker"),
    (430.0, "princess"),
    (500.0, "matinee"),
    (700.0, "opera"),
    (950.0, "rope"),
)
_MOST_ROUND_RAD = 1.2 * 2 * pi


def first_worn(kind: Kind, rolled: bool = True) -> Worn:
    """A size to begin with for a kind of piece."""
    size, ease_mm = _FIRST[kind]
    gap_mm = _CUFF_GAP_MM if kind == "cuff" else 0.0
    standard = STANDARDS[kind][0]
    return Worn(kind=kind, standard=standard, size=size, ease_mm=ease_mm, gap_mm=gap_mm, rolled=rolled)


def suggested(evaluation: Evaluation) -> Worn:
    """What the design says it becomes, or a guess from its ends and shape, at the size it has as it is."""
    if evaluation.design.worn is not None:
        return evaluation.design.worn
    kind, is_rolled = _taken_for(evaluation)
    return _as_it_is(evaluation, first_worn(kind, is_rolled))


def _taken_for(evaluation: Evaluation) -> tuple[Kind, bool]:
    """The kind of piece a form looks like, and whether it is rolled."""
    ends = evaluation.ends
    length_mm, height_mm = evaluation.envelope_mm
    if is_round(evaluation):
        return ("hoop" if max(length_mm, height_mm) < _MOST_HOOP_MM else "cuff"), False
    if any(end.ear_diameter_mm > 0 or end.post_diameter_mm > 0 for end in ends):
        return "drop", True
    catches = [end.catches for end in ends if end.catches]
    if not catches:
        low, high = _RING_BLANK_MM
        if low <= length_mm <= high and height_mm <= _RING_HEIGHT_SHARE * length_mm:
            return "ring", True
        return ("bracelet" if length_mm > high else "pendant"), True
    if caught_mm(evaluation) > 0 and length_mm >= _LEAST_CAUGHT_MM:
        return ("necklace" if length_mm >= _LEAST_NECKLACE_MM else "bracelet"), True
    hooks = [end for end in ends if end.catches == "hook"]
    for_ear = [
        e for e in hooks if e.opening_mm >= _EAR_HOOK_INSIDE_MM and e.catch_wire_mm <= _EAR_HOOK_WIRE_MM
    ]
    return ("drop" if for_ear and len(catches) == 1 else "pendant"), True


def _as_it_is(evaluation: Evaluation, worn: Worn) -> Worn:
    """The size nearest to the one it has; the first size of its kind where it has none."""
    size_mm = reached_mm(evaluation, worn)
    if size_mm <= 0:
        return worn
    if worn.standard in RING_SYSTEMS:
        try:
            return replace(worn, size=nearest_ring_size(worn.standard, size_mm))
        except InputError:
            return worn
    if worn.standard == "wrist":
        wrist_mm = 5.0 * round((size_mm - worn.ease_mm) / 5.0)
        return replace(worn, size=wrist_mm) if _WRISTS_MM[0] <= wrist_mm <= _WRISTS_MM[1] else worn
    if worn.standard == "diameter":
        return replace(worn, size=max(round(2 * size_mm / pi) / 2, 0.5))
    return replace(worn, size=round(size_mm, 1))


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
    """Inside round, or length, that the design has as it is, mm; 0 or less where it is too short to close.

    A length is that of the form laid level, its catch included.
    """
    if is_length(worn):
        return evaluation.envelope_mm[0]
    if worn.rolled:
        return inside_of_rolled_mm(evaluation, worn.gap_mm, worn.aspect)
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
        names = (
            [name for least_mm, name in NECKLACE_NAMES if least_mm <= size_mm]
            if worn.kind == "necklace"
            else []
        )
        return f"{length_text(size_mm)} long" + (f", {names[-1]} length" if names else "")
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
