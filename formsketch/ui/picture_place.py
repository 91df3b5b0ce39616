"""Where the picture to trace lies: in the wire's own frame in the design, in millimetres on the table.

The picture lies still on the table while the form is pulled about over it. Since the design says its place
from the start mark, its numbers are written anew whenever that mark or the first span's direction moves.
"""

from __future__ import annotations

import copy
import math

import numpy as np
from msgspec.structs import replace

from formsketch.design.model import Design, Picture
from formsketch.design.picture_edits import kept, with_picture
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.ui.pose import Pose
from formsketch.values import Value


class PicturePlace(Value, frozen=True):
    """The picture on the table: its middle (x + iy, mm, y up), its angle, its size in mm."""

    middle_mm: complex
    angle_rad: float
    width_mm: float
    height_mm: float

    def holds(self, table_mm: complex) -> bool:
        """Whether a place on the table is covered by the picture."""
        at = self.to_picture(table_mm)
        return abs(at.real) <= self.width_mm / 2 and abs(at.imag) <= self.height_mm / 2

    def to_picture(self, table_mm: complex) -> complex:
        """A place on the table seen from the picture's middle, x along its width."""
        return (table_mm - self.middle_mm) * complex(np.exp(-1j * self.angle_rad))

    def to_table(self, picture_mm: complex) -> complex:
        return self.middle_mm + picture_mm * complex(np.exp(1j * self.angle_rad))

    @property
    def corners_mm(self) -> tuple[complex, complex, complex, complex]:
        """Top left, top right, bottom right, bottom left."""
        x, y = self.width_mm / 2, self.height_mm / 2
        a, b, c, d = (
            self.to_table(at) for at in (complex(-x, y), complex(x, y), complex(x, -y), complex(-x, -y))
        )
        return a, b, c, d


def place_of(picture: Picture, pose: Pose, height_to_width: float) -> PicturePlace:
    """Where the design's picture lies on the table under a wire lying so."""
    return PicturePlace(
        pose.to_table(complex(picture.x_mm, picture.y_mm)),
        pose.angle_rad + math.radians(picture.angle_deg),
        picture.width_mm,
        picture.width_mm * height_to_width,
    )


def laid(picture: Picture, pose: Pose, place: PicturePlace) -> Picture:
    """The picture as the design says it when it lies so on the table; not checked."""
    own = pose.to_own(place.middle_mm)
    angle = math.degrees(math.remainder(place.angle_rad - pose.angle_rad, 2 * math.pi))
    return replace(
        picture,
        width_mm=kept(place.width_mm),
        x_mm=kept(own.real),
        y_mm=kept(own.imag),
        angle_deg=kept(angle),
    )


def held(picture: Picture, before: Pose, after: Pose) -> Picture:
    """The picture written for a wire that lies elsewhere, itself where it lay; not checked."""
    # Its height does not matter here.
    return picture if before == after else laid(picture, after, place_of(picture, before, 1.0))


def scaled_about(place: PicturePlace, fixed_mm: complex, factor: float) -> PicturePlace:
    """The picture larger or smaller, one place on the table staying under the same spot of it."""
    return PicturePlace(
        fixed_mm + factor * (place.middle_mm - fixed_mm),
        place.angle_rad,
        factor * place.width_mm,
        factor * place.height_mm,
    )


def holding_picture(
    evaluation: Evaluation, pose: Pose, stood: tuple[Picture | None, Pose], shown_pose: Pose
) -> Evaluation:
    """The evaluation of a change about to be shown, its picture still where it lies on the table.

    `stood` is the picture as of the last step and the pose it was written for, `shown_pose` that of what is
    shown until now. A change that moves the picture itself is left as it is. Raises `EditRefused`.
    """
    picture, (before, before_pose) = evaluation.design.picture, stood
    if picture is None or before is None:
        return evaluation
    if picture not in (before, held(before, before_pose, shown_pose)):
        return evaluation
    lies = held(before, before_pose, pose)
    return evaluation if lies == picture else _lent(evaluation, with_picture(evaluation.design, lies))


def evaluation_of(design: Design, shown: Evaluation) -> Evaluation:
    """The design evaluated; what is shown lends its numbers where only the picture is another."""
    if replace(design, picture=shown.design.picture) == shown.design:
        return _lent(shown, design)
    return evaluate(design)


def _lent(evaluation: Evaluation, design: Design) -> Evaluation:
    """The same numbers for a design over another picture: no number depends on it."""
    made = copy.copy(evaluation)
    made.design = design
    return made
