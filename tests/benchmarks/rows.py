"""What is timed, how, and against what. Times are of this machine and are never a pass or a fail."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from formsketch.bench.metals import load_metals
from formsketch.design.edits import SpanAddress, change_span
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Variant, Wire
from formsketch.design.starters import make_starter
from formsketch.design.transforms import applied, written_out
from formsketch.evaluation.evaluate import Evaluation, evaluate
from tests.benchmarks.plain import PlainNumbers, plain_numbers

METALS = load_metals()
GRID_DIAMETERS_MM = (0.8, 0.9, 1.0, 1.15, 1.3)
GRID_SCALES = (0.8, 0.9, 1.0, 1.1, 1.25)


@dataclass(frozen=True)
class Row:
    """One line of the table: median and spread of the program's way, one time of the plain way.

    `spread_ms` is the range of the middle half of the repeats. `worst_difference` is the largest relative
    difference between the two ways, over lengths, weight and envelope; `area_difference` over the areas,
    which the plain way takes from polygons (None where no outline was asked for).
    """

    what: str
    median_ms: float
    spread_ms: float
    target_ms: float | None
    plain_ms: float
    worst_difference: float
    area_difference: float | None

    @property
    def times_as_fast(self) -> float:
        return self.plain_ms / self.median_ms


def looped_spans(count: int, least_turn_deg: float = 215.0) -> Design:
    """Free loops, each of its own size and flare, to one side and the other: nothing is repeated."""
    spans = tuple(
        Span(
            length_mm=16.0 + 6.0 * (i % 7) / 7,
            turn_deg=(least_turn_deg + 3.0 * (i % 11)) * (-1) ** i,
            skew_deg=10.0 * (i % 3),
            flare=Flare(thickness=0.45 + 0.4 * i / count, centre=0.5 + 0.01 * (i % 5), hold=0.1 * (i % 2)),
        )
        for i in range(count)
    )
    return _design(Form(runs=(Run(spans=spans),)), f"{count} loops")


def repeated_loops(count: int) -> Design:
    """One loop repeated, turned over by turns, as a maker would write it."""
    loop = Span(length_mm=20.94, turn_deg=240.0, flare=Flare(thickness=0.45))
    return _design(Form(runs=(Run(spans=(loop,), times=count, turned_over=True),)), f"one loop {count} times")


def crossing_row(loops: int) -> Design:
    """A row of loops that each cross their own wire, and touch their neighbours."""
    wire = Wire(metal="brass-c26000", diameter_mm=1.0)
    return make_starter("row-of-loops", wire, numbers={"times": loops, "inside_mm": 8.0})


def _design(form: Form, title: str) -> Design:
    wire = Wire(metal="brass-c26000", diameter_mm=1.0)
    return Design(title=title, wire=wire, hammer=Hammer(spread=0.8), form=form)


def numbers_of(design: Design) -> Evaluation:
    """All that the numbers beside a drawing need."""
    evaluation = evaluate(design, METALS)
    for name in ("cut_length_mm", "weight_g", "spans", "envelope_mm", "cautions"):
        getattr(evaluation, name)
    return evaluation


def numbers_and_outline_of(design: Design) -> Evaluation:
    """The same with the silhouette and its hull."""
    evaluation = numbers_of(design)
    _ = evaluation.silhouette_area_mm2, evaluation.outline.hull_area_mm2
    return evaluation


def grid_of(design: Design) -> list[Design]:
    """Five gauges by five sizes of one design."""
    return [
        applied(design, Variant(title="", diameter_mm=d, scale=scale))
        for d in GRID_DIAMETERS_MM
        for scale in GRID_SCALES
    ]


def slightly_changed(design: Design, step: int) -> Design:
    """The design after one more small pull on its first span, so that nothing can be remembered."""
    span = design.form.runs[0].spans[0]
    return change_span(design, SpanAddress(0, 0), turn_deg=span.turn_deg + 0.001 * (step + 1))


def timed_ms(work: Callable[[Design], object], designs: list[Design]) -> tuple[float, float]:
    """Median and middle-half range of the times of one piece of work, once for each design."""
    work(designs[0])
    times = []
    collecting = gc.isenabled()
    gc.disable()
    try:
        for design in designs:
            begin = time.perf_counter()
            work(design)
            times.append(1e3 * (time.perf_counter() - begin))
    finally:
        if collecting:
            gc.enable()
    low, middle, high = np.percentile(times, (25, 50, 75))
    return float(middle), float(high - low)


def plain_of(design: Design, evaluation: Evaluation, outline: bool) -> tuple[PlainNumbers, float]:
    """The plain way's numbers, sampled where the program samples, and its time in ms."""
    trace, chain = evaluation.own_trace, evaluation.chain
    samples = [trace.u[trace.first[i] : trace.first[i + 1]] for i in range(chain.part_count)]
    level = float(np.angle(evaluation.trace.direction[0]))
    laid = _as_laid(design)
    begin = time.perf_counter()
    plain = plain_numbers(laid, evaluation.metal.density_g_per_cm3, samples, level, outline)
    return plain, 1e3 * (time.perf_counter() - begin)


def _as_laid(design: Design) -> Design:
    """Repeats written out and turned-over spans turned: what the plain way can read."""
    side, spans = 1.0, []
    for run in design.form.runs:
        for span in written_out(run):
            side = -side if span.turned_over else side
            spans.append(replace(span, turn_deg=side * span.turn_deg, skew_deg=side * span.skew_deg))
    return replace(design, form=Form(runs=(Run(spans=tuple(spans)),)))


def differences(evaluation: Evaluation, plain: PlainNumbers) -> tuple[float, float | None]:
    """Largest relative difference in lengths, weight and envelope, and in the areas."""
    pairs = [
        (evaluation.cut_length_mm, plain.cut_length_mm),
        (evaluation.weight_g, plain.weight_g),
        *zip(evaluation.envelope_mm, plain.envelope_mm, strict=True),
    ]
    worst = max(abs(one / other - 1) for one, other in pairs)
    if plain.silhouette_area_mm2 is None or plain.hull_area_mm2 is None:
        return worst, None
    areas = (
        abs(evaluation.silhouette_area_mm2 / plain.silhouette_area_mm2 - 1),
        abs(evaluation.outline.hull_area_mm2 / plain.hull_area_mm2 - 1),
    )
    return worst, max(areas)


def row_of(what: str, design: Design, outline: bool, repeats: int, target_ms: float | None = None) -> Row:
    """Time one design both ways and compare what comes out."""
    work = numbers_and_outline_of if outline else numbers_of
    median, spread = timed_ms(work, [slightly_changed(design, i) for i in range(repeats)])
    evaluation = work(design)
    plain, plain_ms = plain_of(design, evaluation, outline)
    return Row(what, median, spread, target_ms, plain_ms, *differences(evaluation, plain))


def grid_row(design: Design, repeats: int, target_ms: float | None = None) -> Row:
    """Time a grid of 25 variants both ways."""

    def work(changed: Design) -> list[Evaluation]:
        return [numbers_and_outline_of(variant) for variant in grid_of(changed)]

    median, spread = timed_ms(work, [slightly_changed(design, i) for i in range(repeats)])
    plain_ms, found = 0.0, []
    for variant, evaluation in zip(grid_of(design), work(design), strict=True):
        plain, took = plain_of(variant, evaluation, True)
        plain_ms += took
        found.append(differences(evaluation, plain))
    areas = [area for _, area in found if area is not None]
    worst = max(worst for worst, _ in found)
    spans = len(design.form.runs[0].spans)
    return Row(f"5 x 5 variants of {spans} spans", median, spread, target_ms, plain_ms, worst, max(areas))


def edit_row(design: Design, repeats: int) -> Row:
    """An edit and its numbers together: what one step of a drag costs before anything is drawn."""
    row = row_of("edit", design, False, 1)
    steps = iter(range(10**6))
    median, spread = timed_ms(lambda d: numbers_of(slightly_changed(d, next(steps))), [design] * repeats)
    return replace_row(row, f"the edit itself and numbers, {design.title}", median, spread)


def replace_row(row: Row, what: str, median: float, spread: float) -> Row:
    return Row(what, median, spread, None, row.plain_ms, row.worst_difference, row.area_difference)


def all_rows(spans: int, grid_spans: int, sizes: tuple[int, ...], repeats: int) -> Iterator[Row]:
    """Every row of the table, one by one as it is measured."""
    free, repeated, crossing = looped_spans(spans), repeated_loops(spans), crossing_row(spans)
    yield row_of(f"numbers, {free.title}", free, False, repeats, 3.0)
    yield row_of(f"numbers, {repeated.title}", repeated, False, repeats, 3.0)
    yield edit_row(free, repeats)
    yield row_of(f"numbers and outline, {free.title}", free, True, repeats, 8.0)
    yield row_of(f"numbers and outline, {repeated.title}", repeated, True, repeats, 8.0)
    yield row_of(f"numbers and outline, {spans} crossing loops", crossing, True, repeats)
    yield grid_row(looped_spans(grid_spans), max(2, repeats // 4), 80.0)
    for size in sizes:
        # More open, for a form may turn no more than 200,000 degrees in all.
        opened = looped_spans(size, 150.0)
        yield row_of(f"numbers and outline, {size:,} spans", opened, True, max(2, repeats // 4))


def growth(rows: list[Row], sizes: tuple[int, ...]) -> list[float]:
    """Exponents of the cost's growth from each size to the next over the last rows: 1 is linear."""
    times = [row.median_ms for row in rows[-len(sizes) :]]
    return [float(x) for x in np.diff(np.log(times)) / np.diff(np.log(sizes))]
