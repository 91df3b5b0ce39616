"""What is set on a form as numbers: for JSON, and as rows for a terminal or a panel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from formsketch.fitting.pearls import PEARL_DENSITY_G_PER_CM3
from formsketch.fitting.stones import CUT_FORMULAS, STONE_KINDS
from formsketch.units import length_text, weight_text

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation
    from formsketch.evaluation.set_on import PlacedStone


def carat_text(carat: float) -> str:
    """Carats for people: three decimals under 0.1 ct, else two."""
    return f"{carat:.3f} ct" if carat < 0.1 else f"{carat:.2f} ct"


def set_data(evaluation: Evaluation) -> dict[str, Any]:
    """Pearls, stones and mark for JSON: mm, g, ct; places along the straight wire from its cut start, along
    the form from the start mark, and in plan from there with the form laid level."""
    on, design = evaluation.set_on, evaluation.design
    mark = on.mark
    tie_of = {number: tie for tie in on.ties for number in tie.pearls}
    return {
        "weight_with_set_g": on.weight_g,
        "pearls_g": on.pearls_g,
        "stones_ct": on.stones_ct,
        "stones_g": on.stones_g,
        "binding_wire_mm": on.binding_mm,
        "binding_wires_mm": [tie.wire_mm for tie in on.ties],
        "pearls": [
            {
                "diameter_mm": placed.pearl.diameter_mm,
                "length_mm": placed.pearl.length_mm,
                "shape": placed.pearl.shape,
                "at_mm": _point(placed.at_mm),
                "clear_mm": placed.clear_mm,
                "tied_at_mm": list(tie_of[number].marks_mm),
                "tied_along_mm": list(tie_of[number].along_mm),
            }
            for number, placed in enumerate(on.pearls)
        ],
        "stones": [
            {
                "kind": placed.stone.kind,
                "cut": placed.stone.cut,
                "size_mm": placed.stone.size_mm,
                "carat": placed.carat,
                "seat_mm": placed.stone.seat_mm,
                "setting": placed.stone.setting,
                "soldered": placed.stone.soldered,
                "at_mm": _point(placed.seat.at_mm),
                "mark_mm": placed.seat.mark_mm,
                "along_mm": placed.seat.finished_mm,
                "metal_left_mm": placed.seat.left_mm,
                "fits": placed.seat.fits,
            }
            for placed in on.stones
        ],
        "quality_mark": None
        if mark is None or design.quality_mark is None
        else {
            "wide_mm": design.quality_mark.wide_mm,
            "long_mm": design.quality_mark.long_mm,
            "at_mm": _point(mark.at_mm),
            "mark_mm": mark.mark_mm,
            "along_mm": mark.finished_mm,
            "spare_mm": mark.spare_mm,
        },
    }


def set_rows(evaluation: Evaluation) -> Iterator[tuple[str, str, str]]:
    """Label, value and what it rests on; nothing where nothing is set."""
    on, design = evaluation.set_on, evaluation.design
    if design.pearls:
        count = len(design.pearls)
        yield (
            "Pearls",
            weight_text(on.pearls_g),
            f"{count} at {PEARL_DENSITY_G_PER_CM3:g} g/cm3, holes not taken off (common practice)",
        )
        yield (
            "Binding wire",
            length_text(on.binding_mm),
            f"{len(on.ties)} of {length_text(design.binding.gauge_mm)}",
        )
    if design.stones:
        yield "Stones", carat_text(on.stones_ct), f"{weight_text(on.stones_g)}, {_formulas(on.stones)}"
    if on.is_weighed:
        yield (
            "With what is set",
            weight_text(on.weight_g),
            "metal, pearls and stones; heads, tubes and binding wire not counted",
        )
    mark = on.mark
    if mark is not None and design.quality_mark is not None:
        size = f"{design.quality_mark.wide_mm:g} × {design.quality_mark.long_mm:g} mm"
        yield "Quality mark", length_text(mark.mark_mm), f"{size}, its middle from the start of the cut wire"


def stone_words(placed: PlacedStone) -> str:
    """A stone in a few words: "1.50 mm diamond"."""
    return f"{length_text(placed.stone.size_mm)} {STONE_KINDS[placed.stone.kind][0]}"


def _formulas(stones: tuple[PlacedStone, ...]) -> str:
    cuts = dict.fromkeys(placed.stone.cut for placed in stones)
    return "; ".join(f"{cut}: {CUT_FORMULAS[cut]}" for cut in cuts) + ", good to some per cent"


def _point(at_mm: complex) -> list[float]:
    return [at_mm.real, at_mm.imag]
