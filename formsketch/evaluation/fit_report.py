"""The ways to a size in words and as data: what each changes, and what that does to weight, wire and look."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from formsketch.design.model import Design, Worn
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.fit_size import WAYS, Fit, OneOfSizes
from formsketch.evaluation.rolled import height_on_mandrel_mm, length_needed_mm
from formsketch.evaluation.worn import (
    is_length,
    reached_mm,
    reached_text,
    size_label,
    wanted_mm,
)
from formsketch.units import band_text, length_text, percent_text, ratio_text, weight_text

HEADINGS = ("Way", "What changes", "Size reached", "Weight", "Wire to cut", "Loop / wire", "Height")
SIZE_HEADINGS = ("Size", "The form", "Wire to cut", "Weight")


def row_texts(fit: Fit, worn: Worn, before: Evaluation) -> tuple[str, ...]:
    """One way under `HEADINGS`; a way that cannot be says why in place of what changes."""
    made = fit.evaluation
    if made is None:
        return (WAYS[fit.way], fit.reason, "", "", "", "", "")
    cut = f"{length_text(made.cut_length_mm)}  {_percent(made.cut_length_mm, before.cut_length_mm)}"
    weight = f"{weight_text(made.weight_g)}  {_percent(made.weight_g, before.weight_g)}"
    reached, high = reached_text(worn, fit.size_mm), length_text(made.envelope_mm[1])
    return (WAYS[fit.way], fit.words, reached, weight, cut, _look(made, before), high)


def _percent(value: float, before: float) -> str:
    percent = 100 * (value / before - 1)
    return "same" if abs(percent) < 0.05 else percent_text(percent, signed=True)


def _look(made: Evaluation, before: Evaluation) -> str:
    ratio, was = made.proportion.loop_to_wire, before.proportion.loop_to_wire
    if ratio is None or was is None:
        return "no loops"
    return (
        ratio_text(ratio)
        if ratio_text(ratio) == ratio_text(was)
        else f"{ratio_text(ratio)}, was {ratio_text(was)}"
    )


def size_words(evaluation: Evaluation, worn: Worn) -> tuple[str, str]:
    """The size wanted and the size reached now, each a sentence without its stop."""
    wanted, now = wanted_mm(worn), reached_mm(evaluation, worn)
    ease = f" with {worn.ease_mm:g} mm of ease" if worn.ease_mm else ""
    says = reached_text(worn, wanted).removesuffix(f", {size_label(worn)}")
    # An inside round or a length says itself.
    wants = (
        says if worn.standard in ("inside", "length") and not ease else f"{size_label(worn)}{ease}: {says}"
    )
    has = reached_text(worn, now)
    if is_length(worn) or not worn.rolled:
        return wants, has
    height = length_text(height_on_mandrel_mm(evaluation, wanted, worn.aspect))
    band = length_text(length_needed_mm(evaluation, wanted, worn.gap_mm, worn.aspect))
    wants += f"; flat it must be {band} long, for {height} of wire lies on the mandrel"
    return wants, f"{has}; flat it is {length_text(evaluation.envelope_mm[0])} long"


def fit_data(design: Design, worn: Worn, fits: Sequence[Fit], sizes: Sequence[OneOfSizes]) -> dict[str, Any]:
    """All of it for JSON; lengths in mm, weights in g. `reason` is null for a way that can be made."""
    before = evaluate(design)
    return {
        "title": design.title,
        "kind": worn.kind,
        "size": size_label(worn),
        "wanted_mm": wanted_mm(worn),
        "reached_mm": reached_mm(before, worn),
        "thickness_on_mandrel_mm": height_on_mandrel_mm(before, wanted_mm(worn), worn.aspect)
        if _on_mandrel(worn)
        else None,
        "length_needed_mm": length_needed_mm(before, wanted_mm(worn), worn.gap_mm, worn.aspect)
        if _on_mandrel(worn)
        else None,
        "ways": [_fit_data(fit) for fit in fits],
        "sizes": [
            {
                "title": one.variant.title,
                "scale": one.variant.scale,
                "reached_mm": one.size_mm,
                "cut_length_mm": one.cut_length_mm,
                "weight_g": one.evaluation.weight_g,
            }
            for one in sizes
        ],
    }


def _on_mandrel(worn: Worn) -> bool:
    return worn.rolled and not is_length(worn)


def _fit_data(fit: Fit) -> dict[str, Any]:
    made = fit.evaluation
    numbers: dict[str, Any] = {"by": fit.way, "changes": fit.words or None, "reason": fit.reason or None}
    if made is not None:
        numbers |= {
            "reached_mm": fit.size_mm,
            "whole_repeats_mm": fit.whole_mm,
            "weight_g": made.weight_g,
            "cut_length_mm": made.cut_length_mm,
            "loop_to_wire": made.proportion.loop_to_wire,
            "height_mm": made.envelope_mm[1],
            "cautions": [
                {"code": caution.code, "message": caution.message}
                for caution in made.cautions
                if caution.weight != "note"
            ],
        }
    return numbers


def fit_text(design: Design, worn: Worn, fits: Sequence[Fit], sizes: Sequence[OneOfSizes]) -> str:
    """All of it to read in a terminal."""
    before = evaluate(design)
    wants, has = size_words(before, worn)
    lines = [design.title or "Untitled", "", f"wanted   {wants}", f"now      {has}", ""]
    for fit in fits:
        way, changes, *rest = row_texts(fit, worn, before)
        numbers = "; ".join(filter(None, rest[:3]))
        look = f"; loop / wire {rest[3]}, {rest[4]} high" if rest[3] else ""
        lines.append(f"{way:<24} {changes}{f' ({numbers}{look})' if numbers else ''}")
    if sizes:
        lines += ["", *(f"{size_text(one)}" for one in sizes)]
    return "\n".join(lines)


def size_text(one: OneOfSizes) -> str:
    """One of a run of sizes: its name, scale, and the wire to cut."""
    title, scale, cut, weight = size_texts(one)
    return f"{title}: {scale} of the form, cut {cut}, {weight}"


def size_texts(one: OneOfSizes) -> tuple[str, str, str, str]:
    """One of a run of sizes under `SIZE_HEADINGS`."""
    made = one.evaluation
    scale = percent_text(100 * one.variant.scale)
    return one.variant.title, scale, length_text(made.cut_length_mm), weight_text(made.weight_g)


def made_words(made: Evaluation) -> tuple[str, str]:
    """How far to trust the numbers of a piece, and what to be careful of in it ('' for nothing)."""
    band = made.cut_length_band
    trust = (
        []
        if band.high - band.low < 0.05
        else [f"wire to cut {band_text(band.low, band.high, band.value)} mm"]
    )
    trust += ["weight to 2 %", "the hand that trues it decides the last 0.2 mm"]
    careful = [caution.message for caution in made.cautions if caution.weight != "note"]
    more = f" And {len(careful) - 2} more beside the form." if len(careful) > 2 else ""
    return f"How far to trust it: {'; '.join(trust)}.", " ".join(careful[:2]) + more
