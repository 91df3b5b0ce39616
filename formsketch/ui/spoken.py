"""What a screen reader says of the form: the selected span with its numbers, or what is measured."""

from __future__ import annotations

import math

from PySide6.QtGui import QAccessible, QAccessibleValueChangeEvent
from PySide6.QtWidgets import QWidget

from formsketch.evaluation.evaluate import Evaluation
from formsketch.ui.selection import Selection
from formsketch.units import angle_text, length_text

NAME = "The form"
HOW = (
    "The wire form in plan. Right and Left choose a span, with Shift several, Control and A all of them. Alt "
    "and the arrow keys open, close, lengthen and shorten it, brackets hammer it, Escape puts a pull back."
)


def span_in_words(evaluation: Evaluation, span: int) -> str:
    """A span to be read aloud: "Span 4 of 11, turn 236 degrees left, tube 8.2 mm, thinnest 0.58 mm"."""
    spans = evaluation.spans
    turn = float(spans.turn_deg[span])
    degrees = angle_text(abs(turn)).removesuffix("°")
    said = [
        f"Span {span + 1} of {len(spans.turn_deg)}",
        "straight" if degrees == "0" else f"turn {degrees} degrees {'left' if turn > 0 else 'right'}",
    ]
    tube = float(spans.tube_diameter_mm[span])
    if math.isfinite(tube):
        said.append(f"tube {_length(tube)}")
    elif math.isfinite(float(spans.as_bent_radius_mm[span])):
        said.append("no tube so tight")
    thin = float(spans.thinnest_mm[span])
    said.append("not hammered" if thin >= evaluation.diameter_mm else f"thinnest {_length(thin)}")
    return ", ".join(said)


def selection_in_words(evaluation: Evaluation, selection: Selection) -> str:
    """What is selected: "" for nothing, and for several how many, then the leading one."""
    span, count = selection.span, len(evaluation.spans.turn_deg)
    if span is None or span >= count:
        return ""
    lead = span_in_words(evaluation, span)
    many = sum(1 for one in selection.spans if one < count)
    return f"{many} spans selected, first {lead}" if many > 1 else lead


def _length(length_mm: float) -> str:
    """A length without the noughts at its end, which are only read for looking even in a column."""
    number, unit = length_text(length_mm).split(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


class Spoken:
    """Keeps the accessible name and value of a canvas; assistive programs are told when they change."""

    def __init__(self, canvas: QWidget) -> None:
        self._canvas = canvas
        self._value = ""
        canvas.setAccessibleName(NAME)
        canvas.setAccessibleDescription(HOW)

    @property
    def value(self) -> str:
        """What was said last, "" for nothing."""
        return self._value

    def say(self, value: str) -> None:
        """Name what has the focus. Setting the name tells of it (NameChanged); the value is told too."""
        if value == self._value:
            return
        self._value = value
        self._canvas.setAccessibleName(f"{NAME}: {value}" if value else NAME)
        QAccessible.updateAccessibility(QAccessibleValueChangeEvent(self._canvas, value))
