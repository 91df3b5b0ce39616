"""What is done to each end of the wire, seen as it is chosen."""

from __future__ import annotations

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from formsketch.design.edits import change_ends
from formsketch.design.model import Design, End, HookEnd, SHookEnd
from formsketch.errors import FormSketchError
from formsketch.evaluation.end_cautions import about_ends
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.forging.end_defaults import default_end, fitting_eye
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.end_choice import EndChoice

_WIDE_PX = 700


class EndsDialog(QDialog):
    """Choose both ends; `start` and `finish` are sound for the design when accepted."""

    def __init__(self, parent: QWidget | None, design: Design) -> None:
        super().__init__(parent)
        self.setWindowTitle("Ends of the wire")
        self._design = design
        self.start: End = design.form.start
        self.finish: End = design.form.finish
        wire_mm = design.wire.diameter_mm
        self.start_choice = EndChoice("Start", 0, self.start, wire_mm)
        self.finish_choice = EndChoice("Finish", 1, self.finish, wire_mm)
        across = QHBoxLayout()
        for choice, other in (
            (self.start_choice, self.finish_choice),
            (self.finish_choice, self.start_choice),
        ):
            across.addWidget(choice, 1)
            choice.changed.connect(self._tell)
            choice.pair_wanted.connect(lambda hook=choice, eye=other: self._pair(hook, eye))
        self._fault, self._mind = QLabel(), QLabel()
        self._fault.setObjectName("caution")
        self._mind.setObjectName("soft")
        column = QVBoxLayout(self)
        column.addLayout(across, 1)
        for label in (self._fault, self._mind):
            label.setWordWrap(True)
            column.addWidget(label)
        column.addWidget(accept_buttons(self))
        self._tell()
        self.resize(_WIDE_PX, self.sizeHint().height())

    def accept(self) -> None:
        start, finish = self.start_choice.end(), self.finish_choice.end()
        try:
            change_ends(self._design, start=start, finish=finish)
        except FormSketchError as fault:
            self._say(str(fault))
            return
        self.start, self.finish = start, finish
        super().accept()

    def _pair(self, hook: EndChoice, eye: EndChoice) -> None:
        """A hook at one end, the one there is if it is one already, and an eye that fits it at the other."""
        wire_mm, end = self._design.wire.diameter_mm, hook.end()
        if not isinstance(end, HookEnd | SHookEnd):
            made = default_end(HookEnd, wire_mm)
            assert isinstance(made, HookEnd)
            end = made
        hook.choose(end)
        eye.choose(fitting_eye(end, wire_mm))

    def _tell(self) -> None:
        """Show both ends as they would come out, or say why they cannot be."""
        evaluation: Evaluation | None = None
        try:
            start, finish = self.start_choice.end(), self.finish_choice.end()
            evaluation = evaluate(change_ends(self._design, start=start, finish=finish))
            cautions = list(about_ends(evaluation))
        except FormSketchError as fault:
            self._say(str(fault))
        else:
            self._say(*(caution.message for caution in cautions if caution.weight != "note"))
            self._mind.setText(" ".join(caution.message for caution in cautions if caution.weight == "note"))
        self._mind.setVisible(evaluation is not None and bool(self._mind.text()))
        for number, choice in enumerate((self.start_choice, self.finish_choice)):
            piece = None if evaluation is None else evaluation.ends[number]
            choice.tell(evaluation, "" if piece is None else f"{piece.text[:1].upper()}{piece.text[1:]}.")

    def _say(self, *sentences: str) -> None:
        self._fault.setText("\n".join(sentences))
        self._fault.setVisible(bool(sentences))
