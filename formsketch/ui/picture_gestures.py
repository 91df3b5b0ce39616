"""Moving and turning the picture under the form with the mouse; the form stays where it is."""

from __future__ import annotations

from abc import abstractmethod

import numpy as np
from msgspec.structs import replace
from PySide6.QtCore import QPointF

from formsketch.design.picture_edits import with_picture
from formsketch.errors import FormSketchError
from formsketch.ui.gestures import NO_KEYS, Gesture, Keys
from formsketch.ui.picture_place import PicturePlace, laid
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.units import angle_text, length_text

# Nearer to the picture's middle than this there is no direction to turn it by.
_LEAST_ARM_MM = 1e-6


class PictureGesture(Gesture):
    """A pull on the picture itself, always from where it lay when it was grabbed."""

    name = "Adjust picture"

    def __init__(self, session: Session, place: PicturePlace, grabbed_mm: complex) -> None:
        self._session, self._place, self._grabbed_mm = session, place, grabbed_mm

    @abstractmethod
    def pulled(self, table_mm: complex) -> tuple[PicturePlace, str]:
        """Where the picture lies when pulled to a place on the table, and what to say of it."""

    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        place, said = self.pulled(view.to_mm(at))
        design = self._session.design
        if design.picture is None:
            return ""
        try:
            picture = laid(design.picture, self._session.pose, place)
            self._session.preview(with_picture(design, picture))
        except FormSketchError as fault:
            return str(fault)
        return f"{said}   Esc puts it back."

    def finish(self) -> None:
        self._session.commit(self.name)

    def cancel(self) -> None:
        self._session.cancel()


class MovePicture(PictureGesture):
    """Slides the picture over the table."""

    name = "Move picture"

    def pulled(self, table_mm: complex) -> tuple[PicturePlace, str]:
        moved = table_mm - self._grabbed_mm
        place = replace(self._place, middle_mm=self._place.middle_mm + moved)
        return place, f"The picture moves {length_text(abs(moved))}."


class TurnPicture(PictureGesture):
    """Turns the picture about its middle."""

    name = "Turn picture"

    def pulled(self, table_mm: complex) -> tuple[PicturePlace, str]:
        arms = self._grabbed_mm - self._place.middle_mm, table_mm - self._place.middle_mm
        turned = 0.0
        if min(abs(arm) for arm in arms) > _LEAST_ARM_MM:
            turned = float(np.angle(arms[1] * arms[0].conjugate()))
        place = replace(self._place, angle_rad=self._place.angle_rad + turned)
        return place, f"The picture turns {angle_text(float(np.rad2deg(turned)), signed=True)}."
