"""A piece made to close at its size: by more repeats, other loops, an opened row, another wire or scale.

Every way is solved on real evaluations. A way that cannot get there says why in one sentence.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from math import copysign, isclose
from typing import Literal

from msgspec.structs import replace

from formsketch.bench.gauges import gauge_text
from formsketch.design.edits import SpanAddress, change_run, change_wire, checked, replace_spans, scaled
from formsketch.design.model import Design, Run, Span, Variant, Worn
from formsketch.design.run_edits import gather_repeats
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.size_solving import Piece, solved, whole_repeats
from formsketch.evaluation.worn import checked_worn, size_label, stepped, wanted_mm
from formsketch.units import angle_text, length_text, percent_text
from formsketch.values import Result

Way = Literal["repeats", "size", "opening", "gauge", "scale"]
WAYS: dict[Way, str] = {
    "repeats": "more or fewer repeats",
    "size": "size of the loops",
    "opening": "opening of the row",
    "scale": "scale of the form",
    "gauge": "wire",
}
_LEAST_WIRE_MM, _MOST_WIRE_MM = 0.3, 6.0
_LEAST_TURN_DEG, _MOST_TURN_DEG = 5.0, 355.0
_SAME_TURN_DEG = 1e-6

# Repeats that share out what whole ones leave over are at most this much smaller or larger.
_SHARED_OUT = (2 / 3, 3 / 2)


class Fit(Result, frozen=True):
    """One way to the size wanted. `design` is None where it cannot be, and `reason` says why.

    `words` say what is changed; `whole_mm` is what whole repeats alone reach, before the rest is shared out.
    """

    way: Way
    design: Design | None
    evaluation: Evaluation | None
    size_mm: float
    words: str = ""
    reason: str = ""
    whole_mm: float | None = None


class OneOfSizes(Result, frozen=True):
    """A size of a run of sizes: the variant that has it, what it reaches, and the piece made so."""

    worn: Worn
    variant: Variant
    size_mm: float
    evaluation: Evaluation

    @property
    def cut_length_mm(self) -> float:
        return self.evaluation.cut_length_mm


def fit(design: Design, worn: Worn, way: Way) -> Fit:
    """The design at the size wanted, changed this way. Raises `InputError` for a size that is none."""
    wanted = wanted_mm(checked_worn(worn))
    solve = {
        "repeats": _by_repeats,
        "size": _by_size,
        "opening": _by_opening,
        "gauge": _by_gauge,
        "scale": _by_scale,
    }
    try:
        return solve[way](Piece(replace(design, worn=worn), worn), wanted)
    except EditRefused as fault:
        return Fit(way, None, None, 0.0, reason=str(fault))


def all_fits(design: Design, worn: Worn) -> list[Fit]:
    """Every way to the size wanted, in the order of `WAYS`."""
    return [fit(design, worn, way) for way in WAYS]


def size_run(design: Design, worn: Worn, each_side: int = 2) -> list[OneOfSizes]:
    """Sizes around the one wanted as variants of the design: its repeats and wire, at other scales.

    Raises `EditRefused` or `InputError` where one of them cannot be.
    """
    piece = Piece(replace(design, worn=worn), worn)
    sizes: list[OneOfSizes] = []
    scale, size_mm = 1.0, piece.size_mm(evaluate(piece.design))
    for steps in range(-each_side, each_side + 1):
        one = stepped(worn, steps)
        wanted = wanted_mm(one)
        # From the size before: all but there.
        begin = scale * wanted / size_mm if size_mm > 0 else scale
        scale, made = solved(partial(scaled, piece.design), begin, piece, wanted, "scale")
        size_mm = piece.size_mm(made)
        variant = Variant(title=size_label(one), scale=scale)
        sizes.append(OneOfSizes(one, variant, size_mm, made))
    return sizes


def with_size_run(design: Design, sizes: list[OneOfSizes]) -> Design:
    """The design with these sizes as further variants; one of the same name gives way."""
    titles = {one.variant.title for one in sizes}
    kept = tuple(variant for variant in design.variants if variant.title not in titles)
    return checked(replace(design, variants=(*kept, *(one.variant for one in sizes))))


# --- the ways


def _by_repeats(piece: Piece, wanted: float) -> Fit:
    design, run = repeated_row(piece.design)
    if run is None:
        raise EditRefused("Nothing repeats in this form.")
    before = design.form.runs[run].times
    times, whole, share, made = _shared_out(piece, design, run, wanted)
    rest = "" if isclose(share, 1.0, abs_tol=5e-4) else f", each {_more(share, 'larger', 'smaller')}"
    words = f"{times} repeats as before{rest}" if times == before else f"{times} repeats, not {before}{rest}"
    return Fit("repeats", made.design, made, piece.size_mm(made), words, whole_mm=whole)


def _shared_out(
    piece: Piece, design: Design, run: int, wanted: float
) -> tuple[int, float, float, Evaluation]:
    """The count nearest to the size wanted whose repeats take up the rest without looking like others.

    Count, the size it gives, how much larger its repeats become, and the design.
    """
    refused = EditRefused("")
    for times, whole in whole_repeats(design, piece.worn, run, wanted):
        with_times = change_run(design, run, times=times)
        try:
            share, made = solved(
                partial(_resized, with_times, run), 1.0, piece, wanted, "loop size", _SHARED_OUT
            )
        except EditRefused as fault:
            refused = fault
            continue
        return times, whole, share, made
    raise refused


def _by_size(piece: Piece, wanted: float) -> Fit:
    design, run = repeated_row(piece.design)
    if run is None:
        raise EditRefused("Nothing repeats in this form.")
    share, made = solved(partial(_resized, design, run), 1.0, piece, wanted, "loop size")
    times = design.form.runs[run].times
    return Fit(
        "size",
        made.design,
        made,
        piece.size_mm(made),
        f"the {times} repeats {_more(share, 'larger', 'smaller', 'as they are')}",
    )


def _by_opening(piece: Piece, wanted: float) -> Fit:
    design, run = repeated_row(piece.design)
    if run is None:
        raise EditRefused("No row of loops repeats in this form.")
    turn = max(abs(span.turn_deg) for span in design.form.runs[run].spans)
    if turn < _LEAST_TURN_DEG:
        raise EditRefused("Nothing turns in the repeats of this form, so there is no row to open or close.")
    share, made = solved(
        lambda s: _opened(design, run, turn, turn * s),
        1.0,
        piece,
        wanted,
        "turn of the row",
        (_LEAST_TURN_DEG / turn, _MOST_TURN_DEG / turn),
    )
    before, after = angle_text(turn), angle_text(turn * share)
    words = (
        f"each loop turns {after} as before" if after == before else f"each loop turns {after}, not {before}"
    )
    return Fit("opening", made.design, made, piece.size_mm(made), words)


def _by_gauge(piece: Piece, wanted: float) -> Fit:
    now = piece.design.wire.diameter_mm
    limits = (min(_LEAST_WIRE_MM / now, 1.0), max(_MOST_WIRE_MM / now, 1.0))
    share, made = solved(
        lambda s: change_wire(piece.design, diameter_mm=now * s), 1.0, piece, wanted, "wire", limits
    )
    same = isclose(share, 1.0, abs_tol=5e-4)
    words = "the wire as it is" if same else f"wire {gauge_text(now * share)}, not {length_text(now)}"
    return Fit("gauge", made.design, made, piece.size_mm(made), words)


def _by_scale(piece: Piece, wanted: float) -> Fit:
    share, made = solved(partial(scaled, piece.design), 1.0, piece, wanted, "scale")
    return Fit(
        "scale", made.design, made, piece.size_mm(made), f"the form {_more(share, 'larger', 'smaller')}"
    )


def _more(share: float, larger: str, smaller: str, same: str = "as it is") -> str:
    percent = 100 * (share - 1)
    return (
        same if abs(percent) < 0.05 else f"{percent_text(abs(percent))} {larger if percent > 0 else smaller}"
    )


# --- what is changed


def repeated_row(design: Design) -> tuple[Design, int | None]:
    """The longest repeated run, gathered where it is free spans that repeat; None where nothing does."""
    found: list[tuple[float, int]] = [
        (run.times * sum(span.length_mm for span in run.spans), number)
        for number, run in enumerate(design.form.runs)
        if run.times > 1
    ]
    if found:
        return design, max(found)[1]
    for number, run in enumerate(design.form.runs):
        if len(run.spans) > 1:
            try:
                return gather_repeats(design, number), number
            except EditRefused:
                continue
    return design, None


def _resized(design: Design, run: int, size: float) -> Design:
    spans = design.form.runs[run].spans
    return change_run(design, run, spans=tuple(replace(s, length_mm=s.length_mm * size) for s in spans))


def _opened(design: Design, run: int, turn_deg: float, wanted_deg: float) -> Design:
    """All spans that turn so far turn otherwise, to their own sides; the row's other bends keep it straight.

    What a repeat turns in all is kept by the other turning spans of its motif, in their proportion.
    """

    def is_loop(span: Span) -> bool:
        return isclose(abs(span.turn_deg), turn_deg, abs_tol=_SAME_TURN_DEG)

    def open_loop(span: Span) -> Span:
        return replace(span, turn_deg=copysign(wanted_deg, span.turn_deg)) if is_loop(span) else span

    changes = {
        SpanAddress(r, i): open_loop(span)
        for r, one in enumerate(design.form.runs)
        for i, span in enumerate(one.spans)
        if is_loop(span)
    }
    changes |= {
        SpanAddress(run, i): span for i, span in _straightened(design.form.runs[run], open_loop).items()
    }
    return replace_spans(design, changes)


def _straightened(run: Run, open_loop: Callable[[Span], Span]) -> dict[int, Span]:
    """The bends between the loops of a motif, so turned that the motif turns as far as before."""
    opened = [open_loop(span) for span in run.spans]
    lost = sum(before.turn_deg - after.turn_deg for before, after in zip(run.spans, opened, strict=True))
    links = {i: s for i, s in enumerate(run.spans) if opened[i] is s and abs(s.turn_deg) > _SAME_TURN_DEG}
    over = run.turned_over or any(span.turned_over for span in run.spans)
    between = sum(abs(span.turn_deg) for span in links.values())
    # Where a row turns over, every second loop undoes what the one before it turned.
    if over or not links or abs(lost) < _SAME_TURN_DEG:
        return {}
    return {
        i: replace(span, turn_deg=span.turn_deg + lost * abs(span.turn_deg) / between)
        for i, span in links.items()
    }
