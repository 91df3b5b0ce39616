"""A form compared as a session of its own: pulled like any form, each change taken back to the design.

The gestures, the canvas and the straight wire know sessions only, so a variant can be pulled with all of
them. What is pulled on one is given to all that share the form, or kept to the one pulled.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, Signal

from formsketch.comparison.variants import AS_DRAWN
from formsketch.design.model import Design, Variant
from formsketch.design.variant_edits import change_numbers, made_from, pulled
from formsketch.evaluation.evaluate import evaluate
from formsketch.fitting.pulling import WireInHand
from formsketch.geometry.trace import level_angle_rad
from formsketch.ui.pose import Pose, pose_keeping
from formsketch.ui.session import Session


class Comparing(QObject):
    """What the forms compared have in common: the design, and whether a change is given to all.

    `followed` says that the forms shown have followed the design.
    """

    followed = Signal()

    def __init__(self, base: Session) -> None:
        super().__init__()
        self.base = base
        self.pulls_to_all, self.numbers_to_all = True, False
        # The mark held still while something is pulled, and how far the direction there was turned.
        self.held: tuple[int, float] | None = None
        self.putting_back = False
        self._sessions: list[VariantSession] = []
        base.changed.connect(self._follow)

    def add(self, number: int | None) -> VariantSession:
        """A session of the base (None) or of a variant; asleep until it is shown."""
        session = VariantSession(self, number)
        self._sessions.append(session)
        return session

    def awake(self) -> list[VariantSession]:
        """The sessions that are shown."""
        return [session for session in self._sessions if session.is_awake]

    def _follow(self) -> None:
        awake = self.awake()
        for session in awake:
            session.follow()
        if awake:
            self.followed.emit()


class VariantSession(Session):
    """The base or one variant of the design compared; its number may change while it is asleep."""

    def __init__(self, comparing: Comparing, number: int | None) -> None:
        super().__init__(made_from(comparing.base.design, None))
        self._comparing, self.number = comparing, number
        self.is_awake = False
        self._resting = self._pose

    @property
    def exists(self) -> bool:
        """Whether the design has a variant of this number."""
        return self.number is None or self.number < len(self._comparing.base.design.variants)

    @property
    def variant(self) -> Variant | None:
        """The variant itself; None for the base."""
        return None if self.number is None else self._comparing.base.design.variants[self.number]

    @property
    def variant_title(self) -> str:
        return AS_DRAWN if self.variant is None else self.variant.title

    def wake(self, number: int | None) -> None:
        """Show the base or a variant, level, and follow it from now on."""
        if self.is_awake and self.number == number:
            return
        self.number, self.is_awake = number, True
        self._evaluation = evaluate(made_from(self._comparing.base.design, number))
        self._rest_level()
        self.changed.emit()

    def sleep(self) -> None:
        self.is_awake = False

    def follow(self) -> None:
        """Show what the design makes of this one now."""
        if not self.exists:
            return
        comparing = self._comparing
        design = made_from(comparing.base.design, self.number)
        if design != self.design:
            evaluation = evaluate(design)
            if comparing.held is not None:
                mark, turned_rad = comparing.held
                after = WireInHand(design, evaluation.chain, evaluation.own_trace)
                mark = min(mark, after.span_count, self.wire.span_count)
                self._pose = pose_keeping(self.wire, self._pose, after, mark, turned_rad)
            self._evaluation = evaluation
            if comparing.held is None and not comparing.putting_back:
                self._rest_level()
        if comparing.putting_back:
            self._pose = self._resting
        self.changed.emit()

    def _rest_level(self) -> None:
        self._pose = self._resting = Pose(
            0j, level_angle_rad(self._evaluation.own_trace, self._evaluation.chain)
        )

    def lay_level(self) -> None:
        self._rest_level()
        self.changed.emit()

    # --- changing: all of it goes to the design

    @property
    def step_count(self) -> int:
        return self._comparing.base.step_count

    @property
    def last_step_design(self) -> Design:
        return made_from(self._comparing.base.last_step_design, self.number)

    def preview(self, design: Design, kept_mark: int | None = None, turned_rad: float = 0.0) -> None:
        comparing, base = self._comparing, self._comparing.base
        last = base.last_step_design
        made = pulled(last, self.number, design.form, comparing.pulls_to_all)
        comparing.held = None if kept_mark is None else (kept_mark, turned_rad)
        try:
            if made.form == base.design.form:
                base.preview(made)
            else:
                base.preview(made, kept_mark, turned_rad)
        finally:
            comparing.held = None

    def commit(self, name: str, goes_on: bool = False) -> None:
        comparing, base = self._comparing, self._comparing.base
        comparing.putting_back = base.design == base.last_step_design
        try:
            base.commit(self._named(name), goes_on)
        finally:
            comparing.putting_back = False
        for session in comparing.awake():
            session.rest()

    def cancel(self) -> None:
        self._comparing.putting_back = True
        try:
            self._comparing.base.cancel()
        finally:
            self._comparing.putting_back = False

    def change_numbers(self, name: str, **changes: Any) -> None:
        """Change diameter, metal, scale or flare depth here, or everywhere. Raises `FormSketchError`."""
        comparing, base = self._comparing, self._comparing.base
        design = change_numbers(base.design, self.number, comparing.numbers_to_all, **changes)
        where = "everywhere" if comparing.numbers_to_all else self._named("").strip()
        base.change(f"{name} {where}".strip(), design)

    def _named(self, name: str) -> str:
        alone = not self._comparing.pulls_to_all or self._has_own_form
        return f"{name} of {self.variant_title}" if alone or not name else name

    @property
    def _has_own_form(self) -> bool:
        variants = self._comparing.base.design.variants
        return self.number is not None and self.exists and variants[self.number].form is not None

    def rest(self) -> None:
        """Where it lies now is where a pull that is thought better of puts it back to."""
        self._resting = self._pose
