"""What a bench card says, section by section: the same for print and for the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from formsketch.bench.working_order import WorkStep
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.bench_ending import FILED_PERCENT, becomes_text, size_band_texts, weight_after_text
from formsketch.template.bench_steps import Step, bench_steps, cautions_before, tubes_to_fetch
from formsketch.template.bench_work import Table
from formsketch.template.lettering import printable, title_text
from formsketch.template.template import refuse_stopped
from formsketch.template.title_block import cut_text
from formsketch.units import band_text, length_text, pennyweight_from_g, ratio_text, weight_text
from formsketch.values import Value

# Ruled to be written on.
_BLANK = "_" * 9
_AS_MADE = (
    f"Cut {_BLANK} mm, weight before {_BLANK} g, weight after {_BLANK} g,",
    f"widest {_BLANK} mm, finished {_BLANK} × {_BLANK} mm, on {_BLANK}{_BLANK}",
)
_TUBES_ABREAST = 6


class Section(Value, frozen=True):
    """A heading over lines and a table, each line and row to tick unless it is only to be read.

    `aside` stands at the right of the heading; cautions stand last, marked as such.
    """

    name: str
    heading: str
    lines: tuple[str, ...] = ()
    table: Table | None = None
    aside: str = ""
    cautions: tuple[str, ...] = ()
    ticked: bool = False


class CardText(Value, frozen=True):
    """Everything on the card but the picture, which stands under the facts."""

    title: str
    cut: str
    facts: Section
    sections: tuple[Section, ...]


def card_text(evaluation: Evaluation, order: Sequence[WorkStep] | None = None) -> CardText:
    """The card in the maker's own way of working.

    Raises `FormSketchError` when the form cannot be made as it is.
    """
    refuse_stopped(evaluation)
    return CardText(
        title_text(evaluation.design.title),
        cut_text(evaluation),
        Section("facts", "", table=Table((), tuple(_facts(evaluation)))),
        tuple(_sections(evaluation, bench_steps(evaluation, order))),
    )


def _facts(e: Evaluation) -> Iterator[tuple[str, str]]:
    yield "Weight before", f"{weight_text(e.weight_g)} ({pennyweight_from_g(e.weight_g):.2f} dwt), as cut"
    low, high = FILED_PERCENT
    yield "Weight after", f"{weight_after_text(e)}; filing and polish take about {low:g} to {high:g} %"
    if e.set_on.is_weighed:
        yield (
            "With what is set",
            f"about {weight_text(e.set_on.weight_g)} before filing, pearls and stones in",
        )
    wide, deep = e.envelope_mm
    band_wide, band_deep = size_band_texts(e)
    size = f"{length_text(wide)} {band_wide} × {length_text(deep)} {band_deep}"
    yield "Finished", " ".join(size.split())
    if e.design.worn is not None:
        yield "Becomes", becomes_text(e.design.worn)
    if e.thinnest_mm < e.diameter_mm:
        band = band_text(e.widest_band.low, e.widest_band.high, e.widest_mm)
        yield (
            "Hammered",
            f"thinnest {length_text(e.thinnest_mm)}, widest {length_text(e.widest_mm)} {band}".strip(),
        )
        least, most, basis = e.spread_band
        yield "Rests on", f"spread {ratio_text(e.design.hammer.spread)} ({least:.2f} to {most:.2f}): {basis}"


def _sections(e: Evaluation, steps: Sequence[Step]) -> Iterator[Section]:
    before = cautions_before(e, steps)
    if before:
        yield Section("cautions", "Before you begin", cautions=tuple(before))
    tubes = tubes_to_fetch(e)
    if tubes:
        table = Table((), tuple((tube,) for tube in tubes), _TUBES_ABREAST)
        yield Section("tubes", "Tubes to fetch", table=table, ticked=True)
    for number, step in enumerate(steps, start=1):
        yield Section(
            f"step-{step.key}" if step.key else f"step-own-{number}",
            f"{number}. {printable(step.title)}",
            (*step.lines, *(printable(line) for line in step.words)),
            step.table,
            step.within,
            step.cautions,
            ticked=True,
        )
    notes = tuple(line for line in printable_lines(e.design.notes) if line.strip())
    if notes:
        yield Section("notes", "Notes", notes)
    yield Section("as-made", "As it was made", _AS_MADE)


def printable_lines(text: str) -> list[str]:
    """The lines of a text, without signs that nothing can carry."""
    return [printable(line) for line in text.splitlines()]
