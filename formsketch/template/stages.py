"""The form at the stages of its making: as bent round its tubes, as hammered, as finished.

Each stage is a design of its own, so that it is drawn and measured like any other. As bent the wire is round
and each span as long as its stock; bends lie on their sides as in the finished form. As hammered nothing is
turned over yet, so that loops still lie as they came from the tube.
"""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from formsketch.design.model import Design, Run, Span
from formsketch.evaluation.evaluate import Evaluation


def as_bent(evaluation: Evaluation) -> Design:
    """The design before hammering: round wire, stock lengths."""
    bent = iter(_as_bent_spans(evaluation))
    return _remade(evaluation.design, lambda span: next(bent), lambda run: run)


def as_hammered(evaluation: Evaluation) -> Design:
    """The design hammered, nothing turned over."""
    return _remade(
        evaluation.design,
        lambda span: msgspec.structs.replace(span, turned_over=False),
        lambda run: msgspec.structs.replace(run, turned_over=False),
    )


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
    return msgspec.structs.replace(design, form=form, variants=(), picture=None)


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
