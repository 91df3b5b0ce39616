"""Marks inside the ends: where a hook or an eye begins on the straight wire."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation


def end_marks_mm(evaluation: Evaluation) -> tuple[list[tuple[str, float]], list[tuple[str, float]]]:
    """Marks inside the start end and inside the finish end, in the wire's order: what for, where in mm."""
    start, finish = evaluation.ends
    last = start.stock_mm + evaluation.stock_length_mm
    return (
        [(mark.words[0], start.stock_mm - mark.beyond_mm) for mark in reversed(start.marks)],
        [(mark.words[0], last + mark.beyond_mm) for mark in finish.marks],
    )
