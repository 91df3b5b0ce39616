"""Steps on the wire from the drawer to the hammered form: straighten, cut, mark, bend, hammer, open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from formsketch.bench.gauges import gauge_text
from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.bench.working_order import OPERATIONS
from formsketch.evaluation.bands import marks_band_mm, widths_band_mm
from formsketch.evaluation.bend_marks import BEND_MARKS_TEXT, grip_marks_mm
from formsketch.evaluation.bending import SpanBend, bending_of
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.hammer_path import BY_TORCH, HammerPath, annealing_words, hammering_of
from formsketch.template.bench_words import SpanWords, marks_in_words, place_text, spans_in_words
from formsketch.template.gauge_part import GO_WITHIN_MM, spans_text
from formsketch.template.wire_strip import mark_places_mm
from formsketch.units import angle_text, band_text, length_text, weight_text
from formsketch.values import Value

# Common practice, no source: what a careful hand holds with rule, pen and pliers.
CUT_WITHIN_MM, PEN_WITHIN_MM, TURN_WITHIN_DEG = 0.3, 0.3, 3.0
_CLIPPING = "Eye protection when clipping; hold the piece that flies."
# How many marks stand beside each other on the card.
_MARKS_ABREAST = 6
# Half-way between its marks to this share of the wire between them.
_HALF_WAY_WITHIN = 0.005


class Table(Value, frozen=True):
    """Things in rows under headings, all of as many texts; without headings where none are needed.

    Each is ticked for itself and looked for by its first text. As many as `abreast` may stand beside each
    other where there is room.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    abreast: int = 1


class Step(Value, frozen=True):
    """One step: the key of its operation ('' for one of the maker's own) and its title.

    `lines` and the rows of `table` are things to tick. `within` is the tolerance. `words` are the maker's
    own. `heat` says that a torch is used.
    """

    key: str
    title: str
    lines: tuple[str, ...] = ()
    table: Table | None = None
    within: str = ""
    cautions: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    heat: bool = False


def operation(
    key: str,
    lines: Sequence[str],
    within: str = "",
    *,
    table: Table | None = None,
    cautions: Sequence[str] = (),
    heat: bool = False,
) -> Step:
    """A step of this key under its usual title."""
    return Step(key, OPERATIONS[key], tuple(lines), table, within, tuple(cautions), (), heat)


def stock_steps(e: Evaluation) -> Iterator[Step]:
    """Straighten and cut."""
    lines = [
        f"{e.metal.name}: soft before it is bent. {annealing_words(e.metal)} {BY_TORCH}",
        "Draw it straight, rub it clean for the pen.",
    ]
    yield operation("straighten", lines, heat=True)
    band = band_text(e.cut_length_band.low, e.cut_length_band.high, e.cut_length_mm)
    lines = [
        f"Cut {length_text(e.cut_length_mm)} of {gauge_text(e.diameter_mm)} wire, ends square; "
        f"it weighs {weight_text(e.weight_g)}."
    ]
    if band:
        safe = length_text(e.cut_length_band.high)
        lines.append(f"As far as the spread is known it is good to {band} mm: for a first piece cut {safe}.")
    yield operation("cut", lines, f"± {CUT_WITHIN_MM:g} mm", cautions=[_CLIPPING])


def mark_step(e: Evaluation) -> Iterator[Step]:
    """Every pen mark from the start of the cut wire."""
    low, high = marks_band_mm(e)
    spread = float(np.max(high - low)) / 2
    within = f"pen ± {PEN_WITHIN_MM:g} mm"
    if spread > PEN_WITHIN_MM / 2:
        within += f"; the last rest on the spread, ± {spread:.1f} mm"
    marks = [(place, str(number)) for number, place in enumerate(mark_places_mm(e), start=1)]
    if e.design.bend_marks == "grip":
        grips = enumerate(grip_marks_mm(e), start=1)
        marks += [(place, f"g{span}") for span, place in grips if place is not None]
    start, finish = e.ends
    last_mm = e.cut_length_mm - finish.stock_mm
    marks += [(start.stock_mm - mark.beyond_mm, " ".join(mark.words)) for mark in start.marks]
    marks += [(last_mm + mark.beyond_mm, " ".join(mark.words)) for mark in finish.marks]
    rows = tuple((name, place_text(place)) for place, name in sorted(marks, key=lambda mark: mark[0]))
    table = Table(("Mark", "at"), rows, _MARKS_ABREAST)
    grip = "; g1 is where the bend of span 1 is gripped, and so on" if e.design.bend_marks == "grip" else ""
    lines = [f"All from the start of the cut wire, in mm{grip}."]
    yield operation("mark", lines, within, table=table)


def bend_step(e: Evaluation) -> Iterator[Step]:
    """Every bend: how far, to which side before anything is turned over, round what, and how far past it."""
    bends = bending_of(e, load_tubes(user_tubes_file()))
    rows: dict[tuple[str, ...], dict[str, list[int]]] = {}
    for number, words in enumerate(spans_in_words(e, before_turning_over=True), start=1):
        if words.tube_exact or words.no_tube:
            turn, side = _turn_and_side(words)
            row = (turn, _tube_text(words), _held_text(bends[number - 1], words.tube))
            rows.setdefault(row, {}).setdefault(side, []).append(number)
    # A sharp bend at the first mark is that of the end beyond it, which says so itself.
    corners = [
        f"At mark {number}: {' '.join(words[:2])}."
        for number, words in enumerate(marks_in_words(e, before_turning_over=True), start=1)
        if words and words[0].startswith("bend") and not (number == 1 and e.ends[0].parts)
    ]
    if not rows and not corners:
        return
    how = f"{_capital(BEND_MARKS_TEXT[e.design.bend_marks])}." if rows else ""
    over = any("over" in words for words in marks_in_words(e))
    sides = "Sides are those before the wire is turned over." if over else ""
    lines = [line for line in (f"{how} {sides}".strip(),) if line]
    table = Table(("Spans", "Turn", "Round", "Bend to, let go"), tuple(_bend_rows(rows)))
    within = f"± {TURN_WITHIN_DEG:g}° each bend"
    yield operation("bend", [*lines, *corners], within, table=table if rows else None)


def hammer_step(e: Evaluation) -> Iterator[Step]:
    """Every flare: how thin and wide, where, and when to anneal on the way."""
    paths = {span: alike.path for alike in hammering_of(e) for span in alike.spans if alike.path.steps}
    if not paths:
        return
    low, high = widths_band_mm(e)
    words = spans_in_words(e, before_turning_over=True)
    uneven = any(one.edges for one in words)
    rows: dict[tuple[str, ...], list[int]] = {}
    for span in sorted(paths):
        last = paths[span].steps[-1]
        band = band_text(float(low[span]), float(high[span]), float(e.spans.widest_mm[span]))
        row = (
            f"{_thinnest_at(e, span)}{', on edge' if words[span].on_edge else ''}",
            length_text(last.thickness_mm),
            f"{length_text(last.width_mm)} {band}".strip(),
            f"{last.in_all_percent:.0f} %",
            _anneals_at(paths[span]),
            *((_uneven_text(words[span]),) if uneven else ()),
        )
        rows.setdefault(row, []).append(span + 1)
    headings = ["Spans", "Thinnest", "Thick", "Wide", "Cold work", "Anneal", *(["Uneven"] if uneven else [])]
    table = Table(tuple(headings), tuple((numbers_text(spans), *row) for row, spans in rows.items()))
    anneals = any(step.anneal_after for path in paths.values() for step in path.steps)
    lines = [
        "From full thickness at each mark evenly down and up again; thinnest so far of the way between them."
    ]
    if anneals:
        lines.append(annealing_words(e.metal))
    yield operation("hammer", lines, f"thickness ± {GO_WITHIN_MM:g} mm", table=table, heat=anneals)


def open_step(e: Evaluation) -> Iterator[Step]:
    """Where the wire is turned over, and how far the row is opened."""
    over = [number for number, words in enumerate(marks_in_words(e), start=1) if "over" in words]
    if over:
        wide, high = e.envelope_mm
        marks = f"{'mark' if len(over) == 1 else 'marks'} {numbers_text(over)}"
        lines = [
            f"Half a twist in the wire at {marks}, every one the same way.",
            f"Open all loops alike until the form is {length_text(wide)} × {length_text(high)}.",
        ]
        yield operation("open", lines)


def _bend_rows(rows: dict[tuple[str, ...], dict[str, list[int]]]) -> Iterator[tuple[str, ...]]:
    """Like bends in one row, whichever side they go to."""
    for (turn, *others), sides in rows.items():
        if len(sides) == 1:
            ((side, spans),) = sides.items()
            yield numbers_text(spans), f"{turn} {side}".strip(), *others
        else:
            spans_by_side = (f"{numbers_text(spans)} {side}" for side, spans in sides.items())
            yield "; ".join(spans_by_side), turn, *others


def _turn_and_side(words: SpanWords) -> tuple[str, str]:
    """How far a span turns and to which side; one that turns both ways says so in its turn."""
    if len(words.turn) > 1:
        return " ".join(words.turn), ""
    turn, _, side = words.turn[0].rpartition(" ")
    return (turn, side) if turn else (side, "")


def _tube_text(words: SpanWords) -> str:
    """What a span is bent round, and how its curve runs where it is uneven."""
    tube = words.no_tube
    if words.tube:
        tube = f"Ø {words.tube} ({words.tube_exact})"
    elif words.tube_exact:
        tube = f"{words.no_tube}, Ø {words.tube_exact}"
    return f"{words.change} {tube}".strip()


def _held_text(bend: SpanBend, tube_label: str) -> str:
    """How far to bend before letting go: round the tube named where it is one of those tried."""
    held = bend.held_deg
    for tried in bend.on_tubes:
        if tried.tube.label == tube_label and tried.held_deg is not None:
            held = tried.held_deg
    return "by the plan" if held is None else angle_text(round(abs(held)))


def _thinnest_at(e: Evaluation, span: int) -> str:
    """Where along its wire a span is thinnest, as a share of the way from mark to mark."""
    flare = e.chain.flares[int(e.chain.flare[e.chain.spans][span])]
    own = e.trace.part == e.chain.spans.start + span
    begin, length = float(e.spans.stock_from_mm[span]), float(e.spans.stock_length_mm[span])
    stock = (e.stock_at_samples_mm[own] - begin) / length
    ends = np.array([flare.centre - flare.hold / 2, flare.centre + flare.hold / 2])
    u = np.clip((ends - flare.begin) / (flare.end - flare.begin), 0.0, 1.0)
    first, last = np.interp(u, e.trace.u[own], stock).tolist()
    if last - first > 2 * _HALF_WAY_WITHIN:
        return f"{first:.2f} to {last:.2f}"
    if abs(first + last - 1.0) <= 2 * _HALF_WAY_WITHIN:
        return "half-way"
    return f"{(first + last) / 2:.2f}"


def _uneven_text(words: SpanWords) -> str:
    """What uneven blows leave of a span: its two edges, and the turn it comes to."""
    return f"{', '.join(words.edges)}, {' '.join(words.comes_to)}" if words.edges else ""


def _anneals_at(path: HammerPath) -> str:
    """The thicknesses at which the wire is annealed on its way to the flat."""
    if path.anneals is None:
        return "not known when"
    at = [length_text(step.thickness_mm).removesuffix(" mm") for step in path.steps if step.anneal_after]
    return f"at {', '.join(at)} mm" if at else "no"


def numbers_text(spans: Sequence[int]) -> str:
    """`3`, `1 to 4, 7`."""
    return spans_text(spans).removeprefix("spans ").removeprefix("span ")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
