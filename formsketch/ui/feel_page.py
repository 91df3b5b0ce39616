"""The page of how a piece feels: what opens it, where it takes a set, and how it compares; always live."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from formsketch.bench.lengths import parse_angle_deg, parse_length_mm
from formsketch.comparison.feel_beside import Beside, beside_variants
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.feel import Feel, feel_of
from formsketch.evaluation.feel_question import Kind, Question, along_mm_of
from formsketch.evaluation.feel_words import ASKED, rests_on
from formsketch.evaluation.yielding import Softened
from formsketch.ui.background import LatestOnly
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.feel_numbers import MOVED, FeelNumbers, set_label
from formsketch.ui.fields import CalmComboBox, NumberGroup, QuantityField
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import angle_text, length_text
from formsketch.values import Result

_KINDS: tuple[tuple[Kind, str], ...] = (
    ("open", "Opened, in its plane"),
    ("wrist", "Bent over the wrist"),
    ("lift", "One end lifted"),
    ("ring", "Joined, pressed across"),
)
_SOFT_LENGTH_MM = 5.0
_BETWEEN_PX = 28


class _Answer(Result, frozen=True):
    """A feel with all that is shown of it worked out, or why there is none."""

    feel: Feel | None
    beside: tuple[Beside, ...] = ()
    reason: str = ""


class FeelPage(BenchPage):
    """Follows the design; `show_place` rings the first place to bend on the form, None takes it away."""

    def __init__(
        self,
        parent: QWidget,
        session: Session,
        selection: Selection,
        show_place: Callable[[float | None], None],
    ) -> None:
        super().__init__(parent, session, selection, "Feel")
        self._show_place = show_place
        self._moves: dict[Kind, float] = {"open": 5.0, "wrist": 10.0, "lift": 5.0, "ring": 0.5}
        self._from_mm: float | None = None
        self._to_mm: float | None = None
        self._soft_at_mm: float | None = None
        self._soft_length_mm = _SOFT_LENGTH_MM
        self._work = LatestOnly(self)
        self._work.done.connect(self._show_answer)
        self._left = QVBoxLayout()
        both = QHBoxLayout()
        both.setSpacing(_BETWEEN_PX)
        both.addLayout(self._left, 2)
        self.column.addLayout(both)
        self._add_question()
        self._add_softening()
        self.numbers, self.notes = FeelNumbers(), words("note")
        self._left.addWidget(self.notes)
        self._left.addStretch(1)
        both.addWidget(self.numbers, 3)
        selection.pointed.connect(self._follow_pointer)
        session.opened.connect(self._forget_places)
        self.resize(900, 520)

    # --- layout

    def _add_question(self) -> None:
        group = NumberGroup("What is asked")
        self.kind_choice = CalmComboBox()
        for kind, text in _KINDS:
            self.kind_choice.addItem(text, kind)
        group.add_field("The piece is", self.kind_choice, wide=True)
        self.asked = words("aside")
        group.add_wide(self.asked)
        self.move_field = QuantityField(self._read_move, self._use_move)
        self._move_row = group.add_field("Opened by", self.move_field)
        self.from_field = QuantityField(self._read_place, lambda mm: self._use_place("_from_mm", mm))
        self.to_field = QuantityField(self._read_place, lambda mm: self._use_place("_to_mm", mm))
        tip = "Along the finished wire from the start mark; empty the field for the outermost mark."
        self._from_row = group.add_field("Between", self.from_field, tip)
        self._to_row = group.add_field("and", self.to_field, tip)
        for field in (self.move_field, self.from_field, self.to_field):
            field.refused.connect(self.explain)
        self.kind_choice.activated.connect(lambda _: self.refresh())
        self._left.addWidget(group)

    def _add_softening(self) -> None:
        group = NumberGroup("Softened by a join or an anneal")
        self.softened = QCheckBox("A &place is soft")
        self.by_pointer = QCheckBox("where I p&oint")
        self.by_pointer.setToolTip("Point at the form or the straight wire: the place follows.")
        both = QWidget()
        row = QHBoxLayout(both)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.softened)
        row.addWidget(self.by_pointer)
        row.addStretch(1)
        group.add_wide(both)
        self.soft_at = QuantityField(parse_length_mm, self._use_soft_place)
        self.soft_length = QuantityField(parse_length_mm, self._use_soft_length)
        self._soft_at_row = group.add_field("Its middle", self.soft_at, "Along from the start mark.")
        self._soft_length_row = group.add_field("Its length", self.soft_length)
        for field in (self.soft_at, self.soft_length):
            field.refused.connect(self.explain)
        self.softened.toggled.connect(lambda _: self.refresh())
        self.by_pointer.toggled.connect(lambda on: self.softened.setChecked(True) if on else None)
        self._left.addWidget(group)

    # --- what is asked

    @property
    def kind(self) -> Kind:
        kind: Kind = self.kind_choice.currentData()
        return kind

    def question(self) -> Question:
        """What the fields ask."""
        soft: tuple[Softened, ...] = ()
        if self.softened.isChecked() and self._soft_at_mm is not None:
            soft = (Softened(self._soft_at_mm, self._soft_length_mm),)
        return Question(self.kind, self._from_mm, self._to_mm, soft)

    def show_design(self) -> None:
        """Ask for the numbers of the design as it now is; they come when they are worked out."""
        evaluation = self.session.evaluation
        if self.softened.isChecked() and self._soft_at_mm is None:
            self._soft_at_mm = self._middle_of_selected(evaluation)
        self._show_fields(evaluation)
        question = self.question()
        self._work.ask(lambda: _answer(evaluation, question))
        if not self.notes.text():
            self.notes.setText("Working it out ...")

    def _show_fields(self, evaluation: Evaluation) -> None:
        kind, length = self.kind, evaluation.finished_length_mm
        self.asked.setText(f"{ASKED[kind].capitalize()}.")
        text = angle_text if kind == "wrist" else length_text
        set_label(self._move_row, MOVED[kind])
        self.move_field.show_value(text(self._moves[kind]))
        last = length / 2 if kind == "ring" else length
        for row, place, usual in ((self._from_row, self._from_mm, 0.0), (self._to_row, self._to_mm, last)):
            row.show(length_text(usual if place is None else place), "" if place is None else "typed")
        on = self.softened.isChecked()
        for soft_row in (self._soft_at_row, self._soft_length_row):
            soft_row.set_visible(on)
        if self._soft_at_mm is not None:
            self._soft_at_row.show(length_text(self._soft_at_mm), "from the start mark")
        self._soft_length_row.show(length_text(self._soft_length_mm))

    def _middle_of_selected(self, evaluation: Evaluation) -> float:
        span, lengths = self.chosen_span(), evaluation.spans.finished_length_mm
        if span is None:
            return float(lengths.sum()) / 2
        return float(lengths[:span].sum() + lengths[span] / 2)

    def _read_move(self, text: str) -> float:
        move = parse_angle_deg(text) if self.kind == "wrist" else parse_length_mm(text)
        if move <= 0:
            raise InputError("A movement above 0 was expected.")
        return move

    def _use_move(self, move: float) -> None:
        self._moves[self.kind] = move
        self.refresh()

    def _read_place(self, text: str) -> float:
        # nan stands for an empty field: the outermost mark.
        return parse_length_mm(text) if text.strip() else float("nan")

    def _use_place(self, name: str, place_mm: float) -> None:
        length = self.session.evaluation.finished_length_mm
        if place_mm > length:
            raise InputError(f"The finished wire is {length_text(length)} long from mark to mark.")
        setattr(self, name, None if place_mm != place_mm else place_mm)
        self.refresh()

    def _use_soft_place(self, place_mm: float) -> None:
        self._soft_at_mm = place_mm
        self.by_pointer.setChecked(False)
        self.refresh()

    def _use_soft_length(self, length_mm: float) -> None:
        if length_mm <= 0:
            raise InputError("A length above 0 was expected.")
        self._soft_length_mm = length_mm
        self.refresh()

    def _follow_pointer(self) -> None:
        sample = self.selection.sample
        if sample is not None and self.by_pointer.isChecked() and self.isVisible():
            self._soft_at_mm = along_mm_of(self.session.evaluation, sample)
            self._follow()

    def _forget_places(self) -> None:
        self._from_mm = self._to_mm = self._soft_at_mm = None

    # --- what is answered

    def _show_answer(self, answer: object) -> None:
        if not self.isVisible():
            return
        if isinstance(answer, _Answer) and answer.feel is not None:
            feel = answer.feel
            self.numbers.show_feel(feel, self._moves[feel.question.kind], answer.beside)
            self._show_place(None if feel.first_set is None else feel.first_set.place.sample)
            self.notes.setText(" ".join(rests_on(feel)))
        else:
            self.numbers.show_nothing(answer.reason if isinstance(answer, _Answer) else str(answer))
            self._show_place(None)
            self.notes.setText("")

    def hideEvent(self, event: QHideEvent) -> None:
        self._work.wait()
        self._show_place(None)
        super().hideEvent(event)


def _answer(evaluation: Evaluation, question: Question) -> _Answer:
    """All that the page shows, off the window's thread."""
    try:
        feel = feel_of(evaluation, question)
        # Worked out here and kept: the page only reads them.
        _ = (feel.load_per_move, feel.first_set, feel.hinge, feel.first_set_annealed, feel.set_to_round)
        return _Answer(feel, beside_variants(feel))
    except FormSketchError as fault:
        return _Answer(None, reason=str(fault))
