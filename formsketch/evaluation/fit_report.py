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
from formsketch.units import length_text, percent_text, ratio_text, weight_text

HEADINGS = ("Way", "What changes", "Size reached", "Weight", "Wire to cut", "Loop / wire")


def row_texts(fit: Fit, worn: Worn, before: Evaluation) -> tuple[str, ...]:
    """One way under `HEADINGS`; a way that cannot be says why in place of what changes."""
    made = fit.evaluation
    if made is None:
        return (WAYS[fit.way], fit.reason, "", "", "", "")
    cut = f"{length_text(made.cut_length_mm)}  {_percent(made.cut_length_mm, before.cut_length_mm)}"
    weight = f"{weight_text(made.weight_g)}  {_percent(made.weight_g, before.weight_g)}"
    return (WAYS[fit.way], fit.words, reached_text(worn, fit.size_mm), weight, cut, _look(made, before))


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
    wants = f"{size_label(worn)}{ease}: {reached_text(worn, wanted)}".removesuffix(f", {size_label(worn)}")
    has = reached_text(worn, now)
    if is_length(worn) or not worn.rolled:
        return wants, has
    height = length_text(height_on_mandrel_mm(evaluation, wanted))
    band = length_text(length_needed_mm(evaluation, wanted, worn.gap_mm))
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
        "thickness_on_mandrel_mm": height_on_mandrel_mm(before, wanted_mm(worn))
        if _on_mandrel(worn)
        else None,
        "length_needed_mm": length_needed_mm(before, wanted_mm(worn), worn.gap_mm)
        if _on_mandrel(worn)
        else None,
        "ways": [_fit_data(fit) for fit in fits],
        "sizes": [
            {
                "title": one.variant.title,
                "scale": one.variant.scale,
                "reached_mm": one.size_mm,
                "cut_length_mm": one.cut_length_mm,
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
        look = f"; loop / wire {rest[3]}" if rest[3] else ""
        lines.append(f"{way:<24} {changes}{f' ({numbers}{look})' if numbers else ''}")
    if sizes:
        lines += ["", *(f"{size_text(one)}" for one in sizes)]
    return "\n".join(lines)


def size_text(one: OneOfSizes) -> str:
    """One of a run of sizes: its name, scale, and the wire to cut."""
    scale = percent_text(100 * one.variant.scale)
    return f"{one.variant.title}: {scale} of the form, cut {length_text(one.cut_length_mm)}"
