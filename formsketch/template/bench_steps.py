"""How one piece is made, step by step, with the numbers at each: what the bench card says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from formsketch.bench.gauges import gauge_text
from formsketch.bench.working_order import OPERATIONS, usual_order
from formsketch.design.model import BeadEnd, EyeEnd, HookEnd, PostEnd, TaperedEnd
from formsketch.evaluation.bands import marks_band_mm
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.hammer_path import ageing_text, annealing_text, anneals_text, hammering_of
from formsketch.template.bench_words import marks_in_words, place_text, spans_in_words
from formsketch.template.gauge_part import GO_WITHIN_MM, spans_text
from formsketch.template.wire_strip import mark_places_mm
from formsketch.units import band_text, length_text, weight_text

# Common practice, no source: what a careful hand holds with rule, pen and pliers.
CUT_WITHIN_MM, PEN_WITHIN_MM, TURN_WITHIN_DEG = 0.3, 0.3, 3.0


@dataclass(frozen=True)
class Step:
    """One operation: its key, what to do, each line a thing to tick, the tolerance, and a caution or ''."""

    key: str
    title: str
    lines: tuple[str, ...]
    within: str = ""
    caution: str = ""


def bench_steps(evaluation: Evaluation, order: Sequence[str] | None = None) -> list[Step]:
    """The steps this piece needs, in the maker's order; operations it does not need are left out."""
    steps = {step.key: step for make in _STEPS for step in make(evaluation)}
    return [steps[key] for key in order or usual_order() if key in steps]


def tubes_to_fetch(evaluation: Evaluation) -> list[str]:
    """Every tube the bends ask for, with the spans bent round it."""
    wanted: dict[str, list[int]] = {}
    for number, words in enumerate(spans_in_words(evaluation), start=1):
        if words.tube_exact:
            name = f"Ø {words.tube}" if words.tube else f"Ø {words.tube_exact} mm, {words.no_tube}"
            wanted.setdefault(name, []).append(number)
    return [f"{name}: {spans_text(spans)}" for name, spans in wanted.items()]


def _step(key: str, lines: Sequence[str], within: str = "", caution: str = "") -> Step:
    return Step(key, OPERATIONS[key], tuple(lines), within, caution)


def _stock(e: Evaluation) -> Iterator[Step]:
    band = e.cut_length_band
    around = band_text(band.low, band.high, band.value)
    cut = length_text(e.cut_length_mm) + (f" ({around})" if around else "")
    yield _step("straighten", [f"Draw {e.metal.name} straight and soft; rub it clean for the pen."])
    yield _step(
        "cut",
        [f"Cut {cut} of {gauge_text(e.diameter_mm)} wire: {weight_text(e.weight_g)}."],
        f"± {CUT_WITHIN_MM:g} mm",
        "Eye protection when clipping; hold the piece that flies.",
    )


def _mark(e: Evaluation) -> Iterator[Step]:
    places = [place_text(at) for at in mark_places_mm(e)]
    low, high = marks_band_mm(e)
    spread = float(np.max(high - low)) / 2
    within = f"pen ± {PEN_WITHIN_MM:g} mm"
    if spread > PEN_WITHIN_MM / 2:
        within += f"; the last ones rest on the spread, ± {spread:.1f} mm"
    text = ", ".join(f"{number}: {place}" for number, place in enumerate(places, start=1))
    yield _step("mark", [f"From the start of the cut wire, mm: {text}."], within)


def _bend(e: Evaluation) -> Iterator[Step]:
    lines: dict[str, list[int]] = {}
    for number, words in enumerate(spans_in_words(e), start=1):
        if words.tube_exact or words.no_tube:
            turn = " ".join([*words.turn, words.change]).strip()
            tube = f"round Ø {words.tube} ({words.tube_exact})" if words.tube else words.no_tube
            lines.setdefault(f"{turn} {tube}", []).append(number)
    corners = [
        f"At mark {number}: {' '.join(words)}"
        for number, words in enumerate(marks_in_words(e), start=1)
        if words and words[0].startswith("bend")
    ]
    said = [f"{_capital(spans_text(spans))}: {text}." for text, spans in lines.items()]
    if said or corners:
        yield _step("bend", [*said, *corners], f"± {TURN_WITHIN_DEG:g}° each bend")


def _hammer(e: Evaluation) -> Iterator[Step]:
    lines = []
    for alike in hammering_of(e):
        last = alike.path.last
        if last is None:
            continue
        spans = spans_text([span + 1 for span in alike.spans])
        lines.append(
            f"{_capital(spans)}: to {length_text(last.thickness_mm)} thick, "
            f"{length_text(last.width_mm)} wide; "
            f"cold work {last.in_all_percent:.0f} %, {anneals_text(alike.path)}."
        )
    if not lines:
        return
    if any("anneal" in line and "no anneal" not in line for line in lines):
        lines.append(annealing_text(e.metal))
    on_edge = [i + 1 for i, words in enumerate(spans_in_words(e)) if words.on_edge]
    if on_edge:
        lines.append(f"{_capital(spans_text(on_edge))}: on edge.")
    caution = "Eye protection; never strike hardened steel on hardened steel."
    if e.metal.zinc:
        caution += " Ventilate when annealing, and do not overheat: zinc fume."
    yield _step("hammer", lines, f"thickness ± {GO_WITHIN_MM:g} mm", caution)


def _open(e: Evaluation) -> Iterator[Step]:
    over = [number for number, words in enumerate(marks_in_words(e), start=1) if "over" in words]
    if over:
        marks = spans_text(over).replace("spans", "marks").replace("span", "mark")
        wide, high = e.envelope_mm
        yield _step(
            "open",
            [
                f"Half a twist in the wire at {marks}, every one the same way.",
                f"Open all loops alike until the form measures {length_text(wide)} × {length_text(high)}.",
            ],
        )


def _ends(e: Evaluation) -> Iterator[Step]:
    form = e.design.form
    named = [("Start", form.start, e.ends[0]), ("Finish", form.finish, e.ends[1])]
    kinds: tuple[tuple[str, tuple[type, ...], str], ...] = (
        ("post", (PostEnd,), "Let the post cool before it is touched; hammering or heat near it softens it."),
        ("taper", (TaperedEnd,), ""),
        ("ends", (HookEnd, EyeEnd), ""),
    )
    for key, types, caution in kinds:
        lines = [f"{where}: {piece.text}." for where, end, piece in named if isinstance(end, types)]
        if lines:
            yield _step(key, lines, "", caution)
    beads = [
        f"{where}: {piece.text}."
        for where, end, piece in named
        if isinstance(end, BeadEnd) or (isinstance(end, HookEnd) and end.bead_diameter_mm > 0)
    ]
    if beads:
        caution = (
            "Hot metal looks cold and beads drop: clear the bench below. "
            "Pickle: acid into water, never the other way; gloves; no steel."
        )
        yield _step("bead", beads, "bead ± 0.1 mm", caution)


def _after(e: Evaluation) -> Iterator[Step]:
    wide, high = e.envelope_mm
    yield _step("true", [f"Flat on the table, {length_text(wide)} × {length_text(high)}; openings even."])
    yield _step(
        "quality-mark",
        ["Only where the law of the place asks for it or allows it, with a registered maker's mark."],
    )
    edge = " No edge may cut: round those under 0.4 mm." if e.thinnest_mm < 0.4 else ""
    yield _step("finish", [f"File, polish, weigh: about {weight_text(e.weight_g)} before filing.{edge}"])
    if e.metal.age_hardening:
        yield _step("harden", [ageing_text(e.metal)], "", "Ask whoever refined the metal; local rules first.")


_STEPS: tuple[Callable[[Evaluation], Iterator[Step]], ...] = (
    _stock,
    _mark,
    _bend,
    _hammer,
    _open,
    _ends,
    _after,
)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
