"""A batch of pieces cut from the lengths in the drawer: same wire first, least waste, totals of metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.fitting.cut_list import CutList, DrawerLength, Piece, cut_list
from formsketch.forging.section import round_area_mm2
from formsketch.units import length_text, pennyweight_from_g, troy_ounce_from_g, weight_text

MOST_EACH = 500
# Wires as thick as this to a thousandth of a millimetre are one wire.
_SAME_MM = 1e-3


@dataclass(frozen=True)
class WireCut:
    """The cut list of one wire: its metal and diameter, and grams a millimetre."""

    metal: str
    diameter_mm: float
    g_per_mm: float
    cut: CutList


def read_drawer(text: str) -> list[DrawerLength]:
    """`1000, 500 x 3`: lengths with units if one likes, each with how many; as many as needed without.

    Raises `FormSketchError` saying which one is not understood.
    """
    lengths = []
    for word in text.split(","):
        length, times, count = word.partition("x")
        number = count.strip()
        if times and not number.isdecimal():
            raise FormSketchError(f"drawer: expected a length such as '500 x 3', got {word.strip()!r}")
        lengths.append(DrawerLength(parse_length_mm(length.strip()), int(number) if times else None))
    return lengths


def batch_cut(
    pieces: Sequence[tuple[Evaluation, int]],
    drawer: Sequence[DrawerLength],
    kerf_mm: float,
    hold_mm: float = 0.0,
) -> list[WireCut]:
    """One cut list a wire, in the order its first piece comes; `hold_mm` is kept to hold at each end.

    The drawer holds as much of every wire. Raises `InputError` for counts that are none, and where a wire
    does not suffice, naming it.
    """
    wires: dict[tuple[str, int], list[tuple[Evaluation, int]]] = {}
    for evaluation, count in pieces:
        if not 1 <= count <= MOST_EACH:
            raise InputError(f"pieces of each: expected 1 to {MOST_EACH}, got {count}")
        key = evaluation.metal.key, round(evaluation.diameter_mm / _SAME_MM)
        wires.setdefault(key, []).append((evaluation, count))
    found = []
    for members in wires.values():
        first = members[0][0]
        wanted = [
            Piece(evaluation.design.title or "untitled", evaluation.cut_length_mm + 2 * hold_mm)
            for evaluation, count in members
            for _ in range(count)
        ]
        try:
            cut = cut_list(wanted, drawer, kerf_mm)
        except InputError as fault:
            raise InputError(f"{_wire_text(first)}: {fault}") from None
        grams = float(round_area_mm2(first.diameter_mm)) * first.metal.density_g_per_cm3 / 1000
        found.append(WireCut(first.metal.name, first.diameter_mm, grams, cut))
    return found


def _wire_text(evaluation: Evaluation) -> str:
    return f"{evaluation.metal.name}, {gauge_text(evaluation.diameter_mm)}"


def batch_text(cuts: Sequence[WireCut]) -> str:
    """The lists for a person: each length with what is cut from it and what is left."""
    lines = []
    for one in cuts:
        taken = one.cut.taken_mm * one.g_per_mm
        lines.append(f"{one.metal}, {gauge_text(one.diameter_mm)}")
        for number, length in enumerate(one.cut.lengths, start=1):
            names = [f"{piece.name} {length_text(piece.length_mm)}" for piece in length.pieces]
            lines.append(
                f"  {number}. from {length_text(length.length_mm)}: {', '.join(names)}; "
                f"left {length_text(length.left_mm)}"
            )
        lines.append(
            f"  in all {length_text(one.cut.taken_mm)}, {weight_text(taken)} "
            f"({pennyweight_from_g(taken):.2f} dwt, {troy_ounce_from_g(taken):.3f} ozt); "
            f"back to the drawer {length_text(one.cut.left_mm)}"
        )
    return "\n".join(lines)


def batch_data(cuts: Sequence[WireCut]) -> list[dict[str, Any]]:
    """The lists for other programs: lengths mm, mass g."""
    return [
        {
            "metal": one.metal,
            "diameter_mm": one.diameter_mm,
            "taken_mm": one.cut.taken_mm,
            "taken_g": one.cut.taken_mm * one.g_per_mm,
            "left_mm": one.cut.left_mm,
            "lengths": [
                {
                    "length_mm": length.length_mm,
                    "left_mm": length.left_mm,
                    "pieces": [{"name": p.name, "length_mm": p.length_mm} for p in length.pieces],
                }
                for length in one.cut.lengths
            ],
        }
        for one in cuts
    ]
