"""What is timed, how, and against what. Times are of this machine and are never a pass or a fail.

They are times of the processor, which others that share the machine lengthen less than those of a clock.
"""

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
from formsketch.forging import forged
from formsketch.geometry import trace
from tests.benchmarks.plain import PlainNumbers, plain_numbers

METALS = load_metals()
GRID_DIAMETERS_MM = (0.8, 0.9, 1.0, 1.15, 1.3)
GRID_SCALES = (0.8, 0.9, 1.0, 1.1, 1.25)
LARGE_GRID = tuple(0.8 + 0.06 * i for i in range(10))
# Long forms whose cost is compared: shallow and short spans, for a form is at most 20 m long.
SHALLOW_DEG, SHORT_MM = 40.0, 5.0


@dataclass(frozen=True)
class Row:
    """One line of the table: times of the program's way, and one time of the plain way (nan: not run).

    `spread_ms` is the range of the middle half of the repeats. `worst_difference` is the largest relative
    difference between the two ways, over lengths, weight and envelope; `area_difference` over the areas,
    which the plain way takes from polygons (None where no outline was asked for).
    """

    what: str
    best_ms: float
    median_ms: float
    spread_ms: float
    target_ms: float | None
    plain_ms: float
    worst_difference: float
    area_difference: float | None

    @property
    def times_as_fast(self) -> float:
        return self.plain_ms / self.best_ms


def looped_spans(count: int, least_turn_deg: float = 215.0, length_mm: float = 16.0) -> Design:
    """Free loops, each of its own size and flare, to one side and the other: nothing is repeated."""
    spans = tuple(
        Span(
            length_mm=length_mm * (1 + 0.375 * (i % 7) / 7),
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


def all_numbers_of(design: Design) -> Evaluation:
    """All that the panel beside the form shows: crossings and the smallest gap as well."""
    evaluation = numbers_and_outline_of(design)
    _ = evaluation.smallest_gap_mm, evaluation.crossings
    return evaluation


def forgetting(work: Callable[[Design], Evaluation]) -> Callable[[Design], Evaluation]:
    """The same work with nothing remembered of other designs."""

    def from_nothing(design: Design) -> Evaluation:
        trace._LAID_OUT.forget()
        forged._SECTIONS.forget()
        forged._forged.cache_clear()
        return work(design)

    return from_nothing


def grid_of(
    design: Design,
    diameters_mm: tuple[float, ...] = GRID_DIAMETERS_MM,
    scales: tuple[float, ...] = GRID_SCALES,
) -> list[Design]:
    """Gauges by sizes of one design, five by five unless said otherwise."""
    return [
        applied(design, Variant(title="", diameter_mm=d, scale=scale))
        for d in diameters_mm
        for scale in scales
    ]


def slightly_changed(design: Design, step: int) -> Design:
    """The design after one more small pull on its first span, so that nothing can be remembered."""
    span = design.form.runs[0].spans[0]
    return change_span(design, SpanAddress(0, 0), turn_deg=span.turn_deg + 0.001 * (step + 1))


def timed_ms(work: Callable[[Design], object], designs: list[Design]) -> tuple[float, float, float]:
    """Best, median and middle-half range of the times of one piece of work, once for each design."""
    work(designs[0])
    times = []
    collecting = gc.isenabled()
    gc.disable()
    try:
        for design in designs:
            begin = time.process_time()
            work(design)
            times.append(1e3 * (time.process_time() - begin))
    finally:
        if collecting:
            gc.enable()
    low, middle, high = np.percentile(times, (25, 50, 75))
    return min(times), float(middle), float(high - low)


def plain_of(design: Design, evaluation: Evaluation, outline: bool) -> tuple[PlainNumbers, float]:
    """The plain way's numbers, sampled where the program samples, and its time in ms."""
    trace, chain = evaluation.own_trace, evaluation.chain
    samples = [trace.u[trace.first[i] : trace.first[i + 1]] for i in range(chain.part_count)]
    level = float(np.angle(evaluation.trace.direction[0]))
    laid = _as_laid(design)
    begin = time.process_time()
    plain = plain_numbers(laid, evaluation.metal.density_g_per_cm3, samples, level, outline)
    return plain, 1e3 * (time.process_time() - begin)


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


def row_of(
    what: str,
    design: Design,
    work: Callable[[Design], Evaluation],
    repeats: int,
    target_ms: float | None = None,
    plainly: bool = True,
) -> Row:
    """Time one design, pulled a little further each time, and compare what comes out with the plain way."""
    times = timed_ms(work, [slightly_changed(design, i) for i in range(repeats)])
    if not plainly:
        return Row(what, *times, target_ms, float("nan"), float("nan"), None)
    evaluation = work(design)
    outline = "silhouette_area_mm2" in evaluation.outline.__dict__
    plain, plain_ms = plain_of(design, evaluation, outline)
    return Row(what, *times, target_ms, plain_ms, *differences(evaluation, plain))


def grid_row(design: Design, repeats: int, target_ms: float | None = None) -> Row:
    """Time a grid of 25 variants both ways."""

    def work(changed: Design) -> list[Evaluation]:
        return [numbers_and_outline_of(variant) for variant in grid_of(changed)]

    times = timed_ms(work, [slightly_changed(design, i) for i in range(repeats)])
    plain_ms, found = 0.0, []
    for variant, evaluation in zip(grid_of(design), work(design), strict=True):
        plain, took = plain_of(variant, evaluation, True)
        plain_ms += took
        found.append(differences(evaluation, plain))
    areas = [area for _, area in found if area is not None]
    worst = max(worst for worst, _ in found)
    spans = len(design.form.runs[0].spans)
    return Row(f"grid of 5 x 5, {spans} spans", *times, target_ms, plain_ms, worst, max(areas))


def large_grid_row(design: Design, side: int, repeats: int, target_ms: float | None = None) -> Row:
    """Time a grid of so many variants to a side; the plain way would take minutes."""

    def work(changed: Design) -> Evaluation:
        return [
            numbers_and_outline_of(variant)
            for variant in grid_of(changed, LARGE_GRID[:side], LARGE_GRID[:side])
        ][-1]

    what = f"grid of {side} x {side}, {len(design.form.runs[0].spans)} spans"
    return row_of(what, design, work, repeats, target_ms, plainly=False)


def edit_row(design: Design, repeats: int) -> Row:
    """An edit and its numbers together: what one step of a drag costs before anything is drawn."""
    steps = iter(range(10**6))
    times = timed_ms(lambda d: numbers_of(slightly_changed(d, next(steps))), [design] * repeats)
    return Row(f"the edit itself and numbers, {design.title}", *times, None, np.nan, np.nan, None)


def all_rows(spans: int, grid_spans: int, sizes: tuple[int, ...], repeats: int) -> Iterator[Row]:
    """Every row of the table, one by one as it is measured; the last are those of the sizes."""
    # As the window does at its start: glibc then keeps freed memory for the next form.
    np.empty(24_000_000, np.uint8)
    free, repeated, crossing = looped_spans(spans), repeated_loops(spans), crossing_row(spans)
    # More open, for a form may turn no more than 200,000 degrees in all.
    long, one, few = (
        looped_spans(1_000 if spans >= 60 else 3 * spans, 150.0),
        looped_spans(1, 150.0),
        repeats // 4,
    )
    yield row_of(f"numbers, {free.title}", free, numbers_of, repeats, 2.0)
    yield row_of(f"numbers, {repeated.title}", repeated, numbers_of, repeats, 2.0)
    yield edit_row(free, repeats)
    yield row_of(f"numbers and outline, {free.title}", free, numbers_and_outline_of, repeats, 5.0)
    yield row_of(f"numbers and outline, {repeated.title}", repeated, numbers_and_outline_of, repeats, 5.0)
    yield row_of("  the same from nothing", repeated, forgetting(numbers_and_outline_of), repeats)
    yield row_of(f"with gap and crossings, {free.title}", free, all_numbers_of, repeats)
    yield row_of(f"with gap and crossings, {spans} crossing loops", crossing, all_numbers_of, repeats)
    yield row_of("numbers and outline, 1 loop", one, numbers_and_outline_of, repeats)
    yield row_of(f"one edited of {long.title}", long, numbers_and_outline_of, max(2, few), 40.0, spans >= 60)
    yield row_of(
        "  the same from nothing", long, forgetting(numbers_and_outline_of), max(2, few), 40.0, False
    )
    yield grid_row(looped_spans(grid_spans), max(2, few), 50.0)
    yield large_grid_row(free, 10 if spans >= 60 else 2, max(2, few // 3), 1_000.0)
    for size in sizes:
        many = looped_spans(size, SHALLOW_DEG, SHORT_MM)
        work = forgetting(numbers_and_outline_of)
        yield row_of(f"from nothing, {size:,} shallow spans", many, work, max(2, few), plainly=size <= 100)


def growth(rows: list[Row], sizes: tuple[int, ...]) -> float:
    """The power of the number of spans with which the cost of the last rows grows, by least squares."""
    times = [row.best_ms for row in rows[-len(sizes) :]]
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
