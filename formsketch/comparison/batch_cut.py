"""A batch of pieces cut from the lengths in the drawer: same wire first, least waste, totals of metal."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.fitting.cut_list import CutLength, CutList, DrawerLength, Piece, cut_list
from formsketch.forging.section import round_area_mm2
from formsketch.units import length_text, pennyweight_from_g, troy_ounce_from_g, weight_text
from formsketch.values import Value

MOST_EACH = 500
# Wires as thick as this to a thousandth of a millimetre are one wire.
_SAME_MM = 1e-3


CSV_COLUMNS = (
    "metal", "diameter_mm", "length", "length_mm", "piece", "from_mm", "to_mm", "left_mm", "length_g",
)  # fmt: skip


class WireCut(Value, frozen=True):
    """The cut list of one wire: its metal and diameter, and grams a millimetre."""

    metal: str
    diameter_mm: float
    g_per_mm: float
    kerf_mm: float
    cut: CutList

    @property
    def wire(self) -> str:
        return f"{self.metal}, {gauge_text(self.diameter_mm)}"

    @property
    def taken_g(self) -> float:
        return self.cut.taken_mm * self.g_per_mm

    @property
    def used_g(self) -> float:
        """What is in the pieces, with what is held of them."""
        return sum(piece.length_mm for one in self.cut.lengths for piece in one.pieces) * self.g_per_mm


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


def read_counts(text: str, designs: int) -> list[int]:
    """How many of each design: one number for all of them, or as many numbers as there are designs.

    Raises `FormSketchError` for what is neither.
    """
    words = [word.strip() for word in text.split(",")]
    if not all(word.isdecimal() and len(word) < 6 for word in words) or len(words) not in (1, designs):
        raise FormSketchError(f"each: expected one number of pieces, or {designs} as '3, 1', got {text!r}")
    counts = [int(word) for word in words]
    return counts * designs if len(counts) == 1 else counts


def batch_cut(
    pieces: Sequence[tuple[Evaluation, int]],
    drawer: Sequence[DrawerLength],
    kerf_mm: float,
    hold_mm: float = 0.0,
    titles: Sequence[str] | None = None,
) -> list[WireCut]:
    """One cut list a wire, in the order its first piece comes; `hold_mm` is kept to hold at each end.

    Pieces are called by `titles`, or by those of their designs. The drawer holds as much of every wire.
    Raises `InputError` for counts that are none, and where a wire does not suffice, naming it.
    """
    wires: dict[tuple[str, int], list[tuple[Evaluation, Piece]]] = {}
    names = _names([e.design.title for e, _ in pieces] if titles is None else titles)
    for (evaluation, count), name in zip(pieces, names, strict=True):
        if not 1 <= count <= MOST_EACH:
            raise InputError(f"pieces of each: expected 1 to {MOST_EACH}, got {count}")
        key = evaluation.metal.key, round(evaluation.diameter_mm / _SAME_MM)
        piece = Piece(name, evaluation.cut_length_mm + 2 * hold_mm)
        wires.setdefault(key, []).extend([(evaluation, piece)] * count)
    found = []
    for members in wires.values():
        first = members[0][0]
        try:
            cut = cut_list([piece for _, piece in members], drawer, kerf_mm)
        except InputError as fault:
            raise InputError(f"{first.metal.name}, {gauge_text(first.diameter_mm)}: {fault}") from None
        grams = float(round_area_mm2(first.diameter_mm)) * first.metal.density_g_per_cm3 / 1000
        found.append(WireCut(first.metal.name, first.diameter_mm, grams, kerf_mm, cut))
    return found


def _names(titles: Sequence[str]) -> list[str]:
    """A name for each design; those of one title are told apart by a number."""
    titles = [" ".join(title.split()) or "Untitled" for title in titles]
    counts, used = Counter(titles), Counter[str]()
    names = []
    for title in titles:
        used[title] += 1
        names.append(title if counts[title] == 1 else f"{title} ({used[title]})")
    return names


def pieces_text(length: CutLength) -> str:
    """What is cut from one length, longest first: `2 × Eddy bracelet 364.3 mm, Ebb hoops 99.00 mm`."""
    counts = Counter(length.pieces)
    return ", ".join(
        f"{f'{count} × ' if count > 1 else ''}{piece.name} {length_text(piece.length_mm)}"
        for piece, count in counts.items()
    )


def totals_text(one: WireCut) -> str:
    """Wire and metal of one cut list in all."""
    taken = one.taken_g
    return (
        f"{length_text(one.cut.taken_mm)} taken, {weight_text(taken)} "
        f"({pennyweight_from_g(taken):.2f} dwt, {troy_ounce_from_g(taken):.3f} ozt), of it "
        f"{weight_text(one.used_g)} in the pieces; back to the drawer {length_text(one.cut.left_mm)}"
    )


def batch_text(cuts: Sequence[WireCut]) -> str:
    """The lists for a person: each length with what is cut from it and what is left, then metal in all."""
    lines = []
    for one in cuts:
        lines.append(one.wire)
        for number, length in enumerate(one.cut.lengths, start=1):
            lines.append(
                f"  {number}. from {length_text(length.length_mm)}: {pieces_text(length)}; "
                f"left {length_text(length.left_mm)}"
            )
        lines.append(f"  in all {totals_text(one)}")
    if metals := metals_text(cuts):
        lines.append(metals)
    return "\n".join(lines)


def metals_text(cuts: Sequence[WireCut]) -> str:
    """Grams of each metal over all its wires; '' where every metal is in one wire only."""
    grams: dict[str, float] = {}
    for one in cuts:
        grams[one.metal] = grams.get(one.metal, 0.0) + one.taken_g
    if len(grams) == len(cuts):
        return ""
    return "Metal in all: " + ", ".join(f"{metal} {weight_text(g)}" for metal, g in grams.items())


def batch_csv(cuts: Sequence[WireCut]) -> str:
    """The lists as CSV (RFC 4180), a row a piece: from where to where on its length, mm from its start.

    What is left stands in the row of the last piece of a length, and the weight of the whole length with it.
    """
    stored = io.StringIO()
    writer = csv.writer(stored)
    writer.writerow(CSV_COLUMNS)
    for one in cuts:
        for number, length in enumerate(one.cut.lengths, start=1):
            for at, (piece, begin, end) in enumerate(places_of(length, one.kerf_mm), start=1):
                last = at == len(length.pieces)
                rest = (
                    (f"{length.left_mm:.2f}", f"{length.length_mm * one.g_per_mm:.3f}") if last else ("", "")
                )
                writer.writerow([
                    _cell(one.metal), f"{one.diameter_mm:.4f}", number, f"{length.length_mm:.2f}",
                    _cell(piece.name), f"{begin:.2f}", f"{end:.2f}", *rest,
                ])  # fmt: skip
    return stored.getvalue()


def places_of(length: CutLength, kerf_mm: float) -> Iterator[tuple[Piece, float, float]]:
    """Each piece of a length, and from where to where it reaches, mm from the length's start."""
    begin = 0.0
    for piece in length.pieces:
        yield piece, begin, begin + piece.length_mm
        begin += piece.length_mm + kerf_mm


def _cell(text: str) -> str:
    """A text that no spreadsheet takes for a sum to work out."""
    return f" {text}" if text[:1] in "=+-@" else text


def batch_data(cuts: Sequence[WireCut]) -> list[dict[str, Any]]:
    """The lists for other programs: lengths mm, mass g."""
    return [
        {
            "metal": one.metal,
            "diameter_mm": one.diameter_mm,
            "taken_mm": one.cut.taken_mm,
            "taken_g": one.taken_g,
            "used_g": one.used_g,
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
