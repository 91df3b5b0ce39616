"""The form at the stages of its making: as bent round its tubes, as hammered, as finished.

Each stage is a design of its own, so that it is drawn and measured like any other. As bent the wire is round
and each span as long as its stock; bends lie on their sides as in the finished form. As hammered nothing is
turned over yet, so that loops still lie as they came from the tube; where they would then lie on each other,
the lengths between turnings over are given by themselves.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import lru_cache

import msgspec

from formsketch.design.edits import loosened
from formsketch.design.model import Design, DrilledEnd, End, HookEnd, PlainEnd, RoundedEnd, Run, Span
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.values import Value

_KEPT = 4
_ALIKE_DECIMALS = 6  # repeats graded alike differ by rounding alone


def as_bent(evaluation: Evaluation) -> Design:
    """The design before hammering: round wire, stock lengths."""
    bent = iter(_as_bent_spans(evaluation))
    design = _remade(evaluation.design, lambda span: next(bent), lambda run: run)
    start, finish = (
        _as_bent_end(end, piece.stock_mm)
        for end, piece in zip((design.form.start, design.form.finish), evaluation.ends, strict=True)
    )
    return msgspec.structs.replace(
        design, form=msgspec.structs.replace(design.form, start=start, finish=finish)
    )


def _as_bent_end(end: End, stock_mm: float) -> End:
    """An end before it is twisted, hammered flat, filed or drilled."""
    if isinstance(end, HookEnd):
        return msgspec.structs.replace(end, twist_deg=0.0)
    if isinstance(end, DrilledEnd | RoundedEnd):
        # Straight wire and nothing more: a hook that does not turn.
        return HookEnd(inside_diameter_mm=1.0, turn_deg=0.0, straight_mm=stock_mm)
    return end


@lru_cache(maxsize=_KEPT)
def evaluated_as_bent(evaluation: Evaluation) -> Evaluation:
    """The stage before hammering, evaluated; kept while sheets of one form are set again and again."""
    return evaluate(as_bent(evaluation))


@lru_cache(maxsize=_KEPT)
def evaluated_as_hammered(evaluation: Evaluation) -> Evaluation:
    """The stage before turning over, evaluated and kept."""
    return evaluate(as_hammered(evaluation))


def as_hammered(evaluation: Evaluation) -> Design:
    """The design hammered, nothing turned over."""
    return _remade(
        evaluation.design,
        lambda span: msgspec.structs.replace(span, turned_over=False),
        lambda run: msgspec.structs.replace(run, turned_over=False),
    )


class Apart(Value, frozen=True):
    """A length of wire from one turning over to the next as a design, and the marks of all that are alike."""

    design: Design
    marks: tuple[tuple[int, int], ...]

    @property
    def texts(self) -> list[str]:
        """`marks 3 to 4`, `17 to 18`; where one follows on another `marks 3 to 4, and on to 6`."""
        runs: list[tuple[int, int, int]] = []
        for first, last in self.marks:
            if runs and runs[-1][2] == first:
                runs[-1] = (*runs[-1][:2], last)
            else:
                runs.append((first, last, last))
        texts = [f"{a} to {b}" + (f", and on to {c}" if c > b else "") for a, b, c in runs]
        return [f"marks {texts[0]}", *texts[1:]]


def piles_up(finished: Evaluation, hammered: Evaluation) -> bool:
    """Whether loops lie on each other as hammered that do not once they are turned over."""
    return len(hammered.crossings) > len(finished.crossings)


def hammered_apart(evaluation: Evaluation) -> list[Apart]:
    """The design hammered, in lengths between turnings over, each as it came from the tube."""
    design = as_hammered(evaluation)
    spans = _written_out(evaluation.design)
    cuts = [0, *(at for at, span in enumerate(spans) if at and span.turned_over), len(spans)]
    alike: dict[tuple[object, ...], tuple[Design, list[tuple[int, int]]]] = {}
    for begin, end in itertools.pairwise(cuts):
        # A sharp bend at the mark before belongs to neither length.
        first = {"turned_over": False} if begin == 0 else {"turned_over": False, "corner_deg": 0.0}
        own = (msgspec.structs.replace(spans[begin], **first), *spans[begin + 1 : end])
        form = msgspec.structs.replace(
            design.form,
            runs=(Run(spans=own),),
            start=design.form.start if begin == 0 else PlainEnd(),
            finish=design.form.finish if end == len(spans) else PlainEnd(),
        )
        rounded = tuple(
            msgspec.structs.replace(span, length_mm=round(span.length_mm, _ALIKE_DECIMALS)) for span in own
        )
        key = (rounded, form.start, form.finish)
        _, marks = alike.setdefault(key, (msgspec.structs.replace(design, form=form), []))
        marks.append((begin + 1, end + 1))
    return [Apart(made, tuple(marks)) for made, marks in alike.values()]


def _written_out(design: Design) -> list[Span]:
    """All spans one by one, repeats written out, each saying whether the wire is turned over before it."""
    for run in reversed(range(len(design.form.runs))):
        design = loosened(design, run)
    return [span for run in design.form.runs for span in run.spans]


def is_turned_over(design: Design) -> bool:
    """Whether the wire is turned over anywhere, so that hammered and finished differ."""
    return any(
        (run.turned_over and run.times > 1) or any(span.turned_over for span in run.spans)
        for run in design.form.runs
    )


def _remade(design: Design, change_span: Callable[[Span], Span], change_run: Callable[[Run], Run]) -> Design:
    runs = tuple(
        msgspec.structs.replace(change_run(run), spans=tuple(change_span(span) for span in run.spans))
        for run in design.form.runs
    )
    form = msgspec.structs.replace(design.form, runs=runs, swapped_crossings=())
    # Pearls and stones come to the finished form, and their places are counted along it.
    bare = {"pearls": (), "stones": (), "quality_mark": None}
    return msgspec.structs.replace(design, form=form, variants=(), picture=None, **bare)


def _as_bent_spans(evaluation: Evaluation) -> list[Span]:
    """Each span of each motif as it is bent, in the order they are written."""
    spans, chain, written, number = evaluation.spans, evaluation.chain, [], 0
    side = chain.side[chain.spans]
    for run in evaluation.design.form.runs:
        for at, span in enumerate(run.spans, start=number):
            own_size = span.length_mm / float(spans.finished_length_mm[at])
            written.append(
                msgspec.structs.replace(
                    span,
                    length_mm=float(spans.stock_length_mm[at]) * own_size,
                    turn_deg=float(spans.as_bent_turn_deg[at] * side[at]),
                    skew_deg=float(spans.as_bent_skew_deg[at] * side[at]),
                    flare=None,
                )
            )
        number += len(run.spans) * run.times
    return written
