"""How a piece feels, in words and numbers for a person, and as a plain object for other programs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.evaluation.feel import Feel, Limit, feel_of
from formsketch.evaluation.feel_question import Kind, NoFeel, Question, ends_meet, soldered
from formsketch.units import angle_text, force_text, length_text, moment_text, percent_text

ASKED: dict[Kind, str] = {
    "open": "pulled apart in the plane of the form; flat flares resist on their strong axis, edge flares on "
    "their weak one",
    "ring": "the ends joined, two places pulled apart or pressed together in the plane of the form",
    "wrist": "bent over the wrist, out of the plane of the form; flat flares resist on their weak axis and "
    "wire that runs across is twisted",
    "lift": "held at the first place, the second lifted out of the plane of the form",
}
# Beyond this share of the form's reach, or this bend, movements are no longer small.
SMALL_MOVE_TO_REACH, SMALL_BEND_DEG = 0.1, 15.0
# Less than this is not worth a word.
_NOTED_SHARE = 0.01


def load_text(feel: Feel, load: float) -> str:
    """A load of this question: newtons, or newton millimetres over the wrist."""
    return moment_text(load) if feel.question.kind == "wrist" else force_text(load)


def move_text(feel: Feel, move: float) -> str:
    """A move of this question: millimetres, or degrees over the wrist."""
    return angle_text(move) if feel.question.kind == "wrist" else length_text(move)


def range_text(feel: Feel, band: Band, of_load: bool = True) -> str:
    """From the least to the most; "" when they are one number as shown, "or more" when there is no most."""
    text = load_text if of_load else move_text
    low = text(feel, band.low)
    if math.isinf(band.high):
        return f"{low} or more"
    high = text(feel, band.high)
    return "" if low == high else f"{low.split()[0].removesuffix('°')} to {high}"


def times_text(ratio: float) -> str:
    """So many times, to what such a comparison is good for: "3.2 ×", "0.48 ×", "14 ×"."""
    decimals = 2 if ratio < 1 else 1 if ratio < 10 else 0
    return f"{ratio:.{decimals}f} ×"


def limit_text(feel: Feel, limit: Limit | None) -> str:
    """A load at which something is reached; said to be a bound or unknown where it is."""
    if limit is None:
        return "unknown"
    return f"{'≥ ' if limit.at_least else ''}{load_text(feel, limit.load.value)}"


def place_text(limit: Limit) -> str:
    """Where on the finished wire."""
    whose = "on an end" if limit.place.span is None else f"span {limit.place.span + 1}"
    return f"{whose}, {length_text(limit.place.along_mm)} along from the start mark"


def is_large(feel: Feel, move: float) -> bool:
    """Whether a move is too large for the numbers to be more than a guide."""
    most = SMALL_BEND_DEG if feel.question.kind == "wrist" else SMALL_MOVE_TO_REACH * feel.reach_mm
    return abs(move) > most


def rests_on(feel: Feel) -> Iterator[str]:
    """What the numbers rest on, a sentence each."""
    metal = feel.evaluation.metal
    low, high = metal.e_low_gpa, metal.e_high_gpa
    stiffness = f"{low:g} GPa" if low == high else f"{low:g} to {high:g} GPa"
    least, most, basis = feel.evaluation.spread_band
    hammered = (
        f", and a spread of {least:.2f} to {most:.2f} ({basis})" if feel.evaluation.chain.flares else ""
    )
    yield f"Stiffness rests on {metal.name} at {stiffness}{hammered}."
    first = feel.first_set
    if soldered(feel.evaluation):
        yield (
            "Heads and tubes are soldered on after hammering: all of the wire is reckoned as annealed, and "
            "nothing as hardened afterwards."
        )
    if first is None:
        yield f"How strong {metal.name} is where it would first bend is not known, so no set is given."
    elif first.at_least:
        yield (
            f"How strong {metal.name} is after this hammering is not known: the annealed strength is taken, "
            "and the true set comes later."
        )
    else:
        yield f"The set rests on the strength of {metal.name} after hammering, and annealed where it was not."
    yield "Bending round the tubes hardens the wire a little and leaves stress in it; neither is counted."
    if feel.question.kind in ("open", "ring"):
        yield "The least value counts the higher stress at the inner edge of a tight bend."
    if first is not None and is_large(feel, first.move.value):
        yield "The set comes only after a large movement; by then the form has changed, and it is a guide."
    if feel.left_out_share >= _NOTED_SHARE:
        yield (
            "Stretching and shear of the wire are left out; they would add at most "
            f"{percent_text(100 * feel.left_out_share)}."
        )


def feel_rows(evaluation: Evaluation) -> Iterator[tuple[str, str, str]]:
    """Label, value and aside for a terminal: what opens the form, and what bends it over the wrist."""
    for kind, label, unit in (("open", "Opens 1 mm", 1.0), ("wrist", "Bends 10°", 10.0)):
        try:
            feel = feel_of(evaluation, Question(kind))  # type: ignore[arg-type]
        except NoFeel as fault:
            yield label, "-", str(fault)
            continue
        load = feel.load_for(unit)
        band = range_text(feel, load)
        yield label, load_text(feel, load.value), ", ".join(filter(None, (band, ASKED[feel.question.kind])))
        first = feel.first_set
        if first is not None:
            moved = move_text(feel, first.move.value)
            yield "Takes a set", limit_text(feel, first), f"moved by {moved}, first at {place_text(first)}"
        wire = f"a plain round wire of {length_text(feel.round_diameter_mm)}, as heavy"
        yield "As stiff as", times_text(feel.stiffness_to_round), wire


def feel_data(evaluation: Evaluation) -> dict[str, Any]:
    """Every question with its answer, or `reason` why there is none; for JSON.

    Loads N and moves mm, of `wrist` N mm and degrees; lengths mm from the start mark along the finished wire.
    """
    kinds: list[Kind] = ["open", "wrist", "lift"]
    if ends_meet(evaluation):
        kinds.append("ring")
    return {kind: _answer(evaluation, kind) for kind in kinds}


def _answer(evaluation: Evaluation, kind: Kind) -> dict[str, Any]:
    try:
        feel = feel_of(evaluation, Question(kind))
    except NoFeel as fault:
        return {"asked": ASKED[kind], "reason": str(fault)}
    k = feel.load_per_move
    return {
        "asked": ASKED[kind],
        "reason": None,
        "from_mm": feel.from_mm,
        "to_mm": feel.to_mm,
        "load_unit": feel.load_unit,
        "move_unit": "deg" if kind == "wrist" else feel.move_unit,
        "load_per_move": k.value,
        "load_per_move_range": [k.low, k.high],
        "first_set": _limit(feel.first_set),
        "hinge": _limit(feel.hinge),
        "first_set_annealed": _limit(feel.first_set_annealed),
        "round_diameter_mm": feel.round_diameter_mm,
        "stiffness_to_round": feel.stiffness_to_round,
        "set_to_round": feel.set_to_round,
        "left_out_share": feel.left_out_share,
    }


def _limit(limit: Limit | None) -> dict[str, Any] | None:
    if limit is None:
        return None
    return {
        "load": limit.load.value,
        "load_range": [limit.load.low, _finite(limit.load.high)],
        "move": limit.move.value,
        "move_range": [limit.move.low, _finite(limit.move.high)],
        "at_least": limit.at_least,
        "along_mm": limit.place.along_mm,
        "span": None if limit.place.span is None else limit.place.span + 1,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
