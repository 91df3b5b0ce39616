"""What is open and how it came to be: the design, its evaluation, its place on the table, and the steps.

A session holds values, never widgets. A gesture previews designs and ends in one step or in none.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from msgspec.structs import replace
from PySide6.QtCore import QObject, Signal

from formsketch.bench.carried_metals import carrying_own_metals
from formsketch.design.file_format import LARGEST_FILE_BYTES, DesignFile, load_design, save_design
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.files import read_whole
from formsketch.fitting.pulling import Pulled, WireInHand
from formsketch.geometry.trace import level_angle_rad
from formsketch.ui.crossing_memory import CrossingMemory
from formsketch.ui.picture_place import evaluation_of, holding_picture
from formsketch.ui.pose import UNTURNED, Pose, pose_keeping
from formsketch.values import Value

# Steps kept one by one. What was done before them becomes one step, so that undo reaches the opening always.
MOST_STEPS = 1_000


class Step(Value, frozen=True):
    """One step that can be gone back to: what was done, the design after it and where it lies unturned.

    `number` counts the steps since the opening, 0 for the opening itself.
    """

    name: str
    design: Design
    pose: Pose
    number: int = 0


class Session(QObject):
    """The open design. `changed` follows every change of the design shown, previews included.

    `opened` says that another design was put in its place, `file_changed` that its file is another one or
    holds something else, `turned` that all is shown turned otherwise on the table, `steps_joined` that from
    now on the oldest steps are made into one.
    """

    changed = Signal()
    turned = Signal()
    steps_changed = Signal()
    opened = Signal()
    file_changed = Signal()
    steps_joined = Signal()

    def __init__(self, design: Design, file: Path | None = None, loaded: DesignFile | None = None) -> None:
        super().__init__()
        self._evaluation = evaluate(design)
        self._begin(design, file, loaded)

    def _begin(
        self, design: Design, file: Path | None, loaded: DesignFile | None, file_digest: str = ""
    ) -> None:
        self.file = file
        self._loaded = loaded
        self._file_digest = file_digest if loaded is None else _digest(loaded.data)
        self._pose = _level_pose(self._evaluation)
        self._turn = UNTURNED
        self._crossings = CrossingMemory()
        self._steps = [Step("Open" if file else "New", design, self._pose)]
        self._at = 0
        self._saved_design = design if loaded is not None else None
        self._previewing = False

    # --- what is shown

    @property
    def previewing(self) -> bool:
        """Whether what is shown is a preview that is no step yet."""
        return self._previewing

    @property
    def design(self) -> Design:
        return self._evaluation.design

    @property
    def evaluation(self) -> Evaluation:
        return self._evaluation

    @property
    def pose(self) -> Pose:
        """Where the wire's own frame lies on the table, as it is shown."""
        return self._pose.shown(self._turn)

    @property
    def turn(self) -> Pose:
        """How all that lies on the table is shown turned; no part of the design nor of its steps."""
        return self._turn

    def show_turned(self, turn: Pose) -> None:
        """Show the table turned so, whatever step is shown; `UNTURNED` puts it back."""
        if turn != self._turn:
            self._turn = turn
            self.turned.emit()

    @property
    def wire(self) -> WireInHand:
        e = self._evaluation
        return WireInHand(e.design, e.chain, e.own_trace)

    @property
    def unsaved(self) -> bool:
        """Whether the design differs from what its file holds."""
        return self._step.design != self._saved_design

    @property
    def title(self) -> str:
        return self._step.design.title or "Untitled"

    # --- opening and saving

    def open(self, file: Path) -> None:
        """Show another file's design. Raises `FormSketchError` and keeps what is open."""
        loaded = load_design(file)
        self.replace(loaded.design, file, loaded)

    def replace(
        self,
        design: Design,
        file: Path | None = None,
        loaded: DesignFile | None = None,
        file_digest: str = "",
    ) -> None:
        """Show another design, with no steps behind it.

        `file_digest` is that of what its file held, for a design that differs from it.
        """
        self._evaluation = evaluate(design)
        self._begin(design, file, loaded, file_digest)
        self._tell()
        self.opened.emit()
        self.file_changed.emit()

    def save(self, file: Path) -> None:
        """Write the design to a file and call it saved. Raises `FormSketchError`; nothing is lost."""
        known = self._loaded if file == self.file else None
        self._loaded = save_design(file, self._step.design, known)
        self.file = file
        self._file_digest = _digest(self._loaded.data)
        self._saved_design = self._step.design
        self.file_changed.emit()

    @property
    def file_digest(self) -> str:
        """What tells the bytes last read or written in the session's file from any others; "" if unknown."""
        return self._file_digest

    def changed_elsewhere(self) -> bool:
        """Whether the session's file holds something else than was last read or written here."""
        if self.file is None:
            return False
        try:
            data = read_whole(self.file, LARGEST_FILE_BYTES, "a design file")
        except FormSketchError:
            # Gone, there is nothing to write over; otherwise it is not what it was.
            return self.file.exists()
        return _digest(data) != self._file_digest

    # --- changing

    def preview(self, design: Design, kept_mark: int | None = None, turned_rad: float = 0.0) -> None:
        """Show a design without making a step of it, holding a mark of what is shown still.

        The direction at that mark is held too, or turned by an angle.
        """
        evaluation = evaluation_of(carrying_own_metals(design), self._evaluation)
        evaluation = self._crossings.kept(evaluation, self._evaluation, self._step.design)
        pose = self._pose
        if kept_mark is not None:
            after = WireInHand(evaluation.design, evaluation.chain, evaluation.own_trace)
            pose = pose_keeping(self.wire, pose, after, kept_mark, turned_rad)
        self._show(evaluation, pose)
        self._previewing = True
        self.changed.emit()

    def commit(self, name: str, goes_on: bool = False) -> None:
        """Make one step of what is previewed; none when nothing differs.

        One that `goes_on` with the last step, and is named like it, takes its place.
        """
        self._previewing = False
        if self.design == self._step.design:
            self.cancel()
            return
        if goes_on and self._at > 0 and self._step.name == name:
            self._at -= 1
        self._crossings.settle()
        self._push(Step(name, self.design, self._pose, self._step.number + 1))

    def cancel(self) -> None:
        """Put back exactly what stood before the preview."""
        self._previewing = False
        self._go_to(self._at)

    def change_pulled(self, name: str, pulled: Pulled) -> None:
        """Make one step of a pull. Raises `FormSketchError` when it cannot be evaluated."""
        self.preview(pulled.design, pulled.kept_mark, pulled.turned_rad)
        self.commit(name)

    def change(self, name: str, design: Design, kept_mark: int | None = None, goes_on: bool = False) -> None:
        """Make one step of a change, or go on with the last. Raises `FormSketchError` when it cannot be."""
        self.preview(design, kept_mark)
        self.commit(name, goes_on)

    def place(self, name: str, design: Design, pose: Pose) -> None:
        """Make one step of a change and lay the form where it is wanted."""
        self._crossings.forget()
        self._show(evaluate(carrying_own_metals(design)), pose.laid(self._turn))
        self.commit(name)

    def change_level(self, name: str, design: Design) -> None:
        """Make one step of a change and lay the form level anew."""
        evaluation = evaluate(carrying_own_metals(design))
        self._crossings.forget()
        self._show(evaluation, _level_pose(evaluation))
        self.commit(name)

    def lay_level(self) -> None:
        """Lay the form level again, nothing turned; a matter of the table, not a step."""
        self._turn = UNTURNED
        self._pose = _level_pose(self._evaluation)
        self._steps[self._at] = replace(self._step, pose=self._pose)
        self.changed.emit()

    # --- steps

    @property
    def undo_name(self) -> str:
        return self._step.name if self._at > 0 else ""

    @property
    def redo_name(self) -> str:
        return self._steps[self._at + 1].name if self._at + 1 < len(self._steps) else ""

    @property
    def step_names(self) -> list[str]:
        """Names of all steps since the design was opened, undone ones included; the first is the opening."""
        return [step.name for step in self._steps]

    @property
    def step_place(self) -> int:
        """Which of these the design is after."""
        return self._at

    def go_to_step(self, place: int) -> None:
        """Show the design as it was after the step of this place among them, 0 for as it was opened."""
        if 0 <= place < len(self._steps) and not self._previewing:
            self._go_to(place)

    @property
    def last_step_design(self) -> Design:
        """The design after the last step, whatever a pull is showing."""
        return self._step.design

    @property
    def step_count(self) -> int:
        """Steps taken since the design was opened, undone ones not counted."""
        return self._step.number

    def undo(self) -> None:
        if self._at > 0 and not self._previewing:
            self._go_to(self._at - 1)

    def redo(self) -> None:
        if self._at + 1 < len(self._steps) and not self._previewing:
            self._go_to(self._at + 1)

    # --- inside

    @property
    def _step(self) -> Step:
        return self._steps[self._at]

    def _push(self, step: Step) -> None:
        self._steps[self._at + 1 :] = [step]
        self._at += 1
        joining = self._at > MOST_STEPS
        if joining:
            self._join_oldest()
        self._tell()
        if joining and self._steps[1].number == 2:
            self.steps_joined.emit()

    def _join_oldest(self) -> None:
        """Make one step of the two after the opening; undo goes back over it as over any other."""
        _, last = self._steps[1:3]
        self._steps[1:3] = [replace(last, name=f"{last.number:,} earlier steps")]
        self._at -= 1

    def _go_to(self, at: int) -> None:
        if at == self._at:
            self._crossings.back()
        else:
            self._crossings.forget()
        self._at = at
        step = self._step
        if self.design is not step.design:
            self._evaluation = evaluation_of(step.design, self._evaluation)
        self._pose = step.pose
        self._tell()

    def _tell(self) -> None:
        self.changed.emit()
        self.steps_changed.emit()

    def _show(self, evaluation: Evaluation, pose: Pose) -> None:
        """Show a form lying so, the picture where it lay. Raises `FormSketchError`, changing nothing."""
        stood = (self._step.design.picture, self._step.pose)
        self._evaluation = holding_picture(evaluation, pose, stood, self._pose)
        self._pose = pose


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _level_pose(evaluation: Evaluation) -> Pose:
    return Pose(0j, level_angle_rad(evaluation.own_trace, evaluation.chain))
