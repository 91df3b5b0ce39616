"""The numbers of how a piece feels: loads and movements, the plain round wire, the variants."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from formsketch.comparison.feel_beside import Beside
from formsketch.evaluation.feel import Feel
from formsketch.evaluation.feel_question import Kind
from formsketch.evaluation.feel_words import (
    is_large,
    limit_text,
    load_text,
    move_text,
    place_text,
    range_text,
    times_text,
)
from formsketch.ui.bench_page import words
from formsketch.ui.fields import NumberGroup, ValueRow
from formsketch.ui.plain_table import PlainTable
from formsketch.units import length_text

MOVED: dict[Kind, str] = {
    "open": "Opened by",
    "wrist": "Bent by",
    "lift": "Lifted by",
    "ring": "Pressed in by",
}
_TABLE_PX = 130
_LARGE = (
    "This is a large movement for the form: what is bent so far has another shape, and the load is a guide."
)


class FeelNumbers(QWidget):
    """Shows a feel, or why there is none."""

    def __init__(self) -> None:
        super().__init__()
        group = NumberGroup("In the hand")
        self.one = group.add_value("Opened by 1 mm", "A newton is about the weight of a small apple.")
        self.typed = group.add_value("Opened by")
        self.first_set = group.add_value("Takes a set from", "From there on it does not quite come back.")
        self.set_move = group.add_value("then opened by")
        self.annealed = group.add_value("Annealed all over, from", "If nothing were left hard by hammering.")
        self.hinge = group.add_value("Bends there for good from", "A section gives way right through.")
        self._rows = (self.one, self.typed, self.first_set, self.set_move, self.annealed, self.hinge)
        self.place, self.to_round, self.caution = words(), words(), words("caution")
        group.add_wide(self.place)
        group.add_wide(self.to_round)
        self.beside = PlainTable(
            "Beside the variants", ("Beside", "As stiff as it", "Its load to a set"), choosing=False
        )
        self.beside.setFixedHeight(_TABLE_PX)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        for widget in (group, self.beside, self.caution):
            column.addWidget(widget)
        column.addStretch(1)
        self.show_nothing("")

    def show_feel(self, feel: Feel, move: float, beside: tuple[Beside, ...]) -> None:
        """The numbers, those for this move among them, and the variants they are compared with."""
        moved, first = MOVED[feel.question.kind], feel.first_set
        one, typed = feel.load_for(1.0), feel.load_for(move)
        set_label(self.one, f"{moved} {move_text(feel, 1.0).replace('1.00', '1')}")
        self.one.show(load_text(feel, one.value), range_text(feel, one))
        past = first is not None and move > first.move.value
        set_label(self.typed, f"{moved} {move_text(feel, move)}")
        self.typed.show(load_text(feel, typed.value), "past the set" if past else range_text(feel, typed))
        for row, limit in (
            (self.first_set, first),
            (self.annealed, feel.first_set_annealed),
            (self.hinge, feel.hinge),
        ):
            row.show(limit_text(feel, limit), "" if limit is None else range_text(feel, limit.load))
        set_label(self.set_move, f"then {moved.lower()}")
        if first is None:
            self.set_move.show("unknown")
            self.place.setText("")
        else:
            span = range_text(feel, first.move, of_load=False)
            self.set_move.show(move_text(feel, first.move.value), span)
            self.place.setText(f"First to bend: {place_text(first)}, ringed on the form.")
        self.to_round.setText(_round_words(feel))
        self._show_beside([_beside_row(one) for one in beside])
        self._say(_LARGE if is_large(feel, move) else "")

    def show_nothing(self, reason: str) -> None:
        """Dashes, and why."""
        for row in self._rows:
            row.show("-" if reason else "")
        self.place.setText("")
        self.to_round.setText("")
        self._show_beside([])
        self._say(reason)

    def _show_beside(self, rows: list[list[str]]) -> None:
        self.beside.show_rows(rows)
        self.beside.setVisible(bool(rows))

    def _say(self, sentence: str) -> None:
        self.caution.setText(sentence)
        self.caution.setVisible(bool(sentence))


def set_label(row: ValueRow, text: str) -> None:
    """Another label for a row."""
    if isinstance(row.name, QLabel):
        row.name.setText(text)
    row.value.setAccessibleName(text)


def _round_words(feel: Feel) -> str:
    """What hammering gained."""
    wire = (
        f"a plain round wire of the same weight on the same line, {length_text(feel.round_diameter_mm)} thick"
    )
    gained = f"{times_text(feel.stiffness_to_round)} as stiff as {wire}"
    if feel.set_to_round is None or feel.first_set is None:
        return f"{gained}."
    least = "at least " if feel.first_set.at_least else ""
    return f"{gained}; {least}{times_text(feel.set_to_round)} its load to a set, were that wire annealed."


def _beside_row(one: Beside) -> list[str]:
    """How many times as stiff as a variant, and how many times its load to a set."""
    if one.reason:
        return [one.title, "-", one.reason]
    first_set = "unknown" if one.first_set is None else times_text(one.first_set)
    return [one.title, "unknown" if one.stiffness is None else times_text(one.stiffness), first_set]
