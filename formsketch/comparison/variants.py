"""Designs beside their variants, each with its evaluation or the reason why it cannot be made."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cached_property
from typing import Any

from formsketch.bench.gauges import gauge_text
from formsketch.comparison.differences import base_of, difference_percents
from formsketch.design.edits import applied
from formsketch.design.model import Design, Variant
from formsketch.errors import EditRefused, FormSketchError
from formsketch.evaluation.evaluate import Evaluation, UnknownMetal, evaluate
from formsketch.evaluation.report import measurement
from formsketch.values import Result

AS_DRAWN = "as drawn"

_PLACE = re.compile(r" \((?:at )?\$[^)]*\)")


class Candidate(Result, frozen=True):
    """One of the forms compared. `measured` is None when it cannot even be measured; `refused` says why."""

    title: str
    subtitle: str
    design: Design | None
    measured: Evaluation | None
    refused: str = ""

    @property
    def evaluation(self) -> Evaluation:
        """Its numbers, each computed when first asked for. Raises `FormSketchError` when there are none."""
        if self.measured is None:
            raise FormSketchError(self.refused)
        return self.measured

    @cached_property
    def reason(self) -> str:
        """Why it cannot be made, in one sentence; empty when it can."""
        if self.measured is None:
            return self.refused
        stops = (caution.message for caution in self.measured.cautions if caution.weight == "stop")
        return next(stops, "")


def candidate(title: str, design: Design, also: str = "") -> Candidate:
    """A design under a title, its wire named beneath and `also` what else is special about it."""
    wire = gauge_text(design.wire.diameter_mm)
    try:
        evaluation = evaluate(design)
    except UnknownMetal as fault:
        subtitle = ", ".join(filter(None, (wire, design.wire.metal, also)))
        return Candidate(title, subtitle, design, None, _in_words(fault.expected))
    subtitle = ", ".join(filter(None, (wire, evaluation.metal.name, also)))
    return Candidate(title, subtitle, design, evaluation)


def refused(title: str, subtitle: str, fault: EditRefused) -> Candidate:
    """A form that no sound design stands for."""
    return Candidate(title, subtitle, None, None, _in_words(str(fault)))


def candidates_of(design: Design, among_others: bool = False) -> list[Candidate]:
    """The design and then its variants; `among_others` puts the design's own title before each."""
    own = design.title or AS_DRAWN
    found = [candidate(own if among_others or not design.variants else AS_DRAWN, design)]
    for variant in design.variants:
        title = f"{own}: {variant.title}" if among_others else variant.title
        try:
            found.append(candidate(title, applied(design, variant), _what_differs(variant)))
        except EditRefused as fault:
            found.append(refused(title, _what_differs(variant), fault))
    return found


def comparison_data(candidates: Sequence[Candidate]) -> dict[str, Any]:
    """All numbers of all candidates for JSON, with differences in per cent from the first measured one.

    `designs` lists the objects of `measurement`, each with `title` and `subtitle` of its column, `design`
    (the design's own title), `reason` (null when it can be made) and `difference_percent`. A candidate that
    cannot be measured has only title, subtitle and reason. `base` is the number from 0 of the first measured,
    null for none.
    """
    base = base_of(candidates)
    rows = []
    for one in candidates:
        row: dict[str, Any] = {"title": one.title, "subtitle": one.subtitle, "reason": one.reason or None}
        if one.measured is not None and base is not None:
            numbers = measurement(one.measured)
            row["design"] = numbers.pop("title")
            row |= numbers
            row["difference_percent"] = difference_percents(one.measured, base)
        rows.append(row)
    number = next((i for i, one in enumerate(candidates) if one.measured is not None), None)
    return {"base": number, "designs": rows}


def _in_words(told: str) -> str:
    """What was told about a place in a file, as a sentence about a form."""
    told = _PLACE.sub("", told.removeprefix("Not possible: ")).rstrip(".")
    return f"{told[:1].upper()}{told[1:]}."


def _what_differs(variant: Variant) -> str:
    """What a variant changes beside wire and metal, which have their own place."""
    size = f"size × {variant.scale:g}" if variant.scale != 1.0 else ""
    depth = f"hammered × {variant.flare_depth:g} as deep" if variant.flare_depth != 1.0 else ""
    form = "a form of its own" if variant.form is not None else ""
    return ", ".join(filter(None, (size, depth, form)))
