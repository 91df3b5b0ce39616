"""Where the wire lies on the table: the rigid motion from the wire's own frame to the view's millimetres.

A turn of what is seen is such a motion, too, from the table as it was laid to the table as it is shown.
"""

from __future__ import annotations

import math

import numpy as np

from formsketch.fitting.pulling import WireInHand
from formsketch.geometry.trace import Trace
from formsketch.values import Value


class Pose(Value, frozen=True):
    """Place of the start mark (x + iy, mm, y up) and the angle the wire's own x axis lies at."""

    offset_mm: complex
    angle_rad: float

    def to_table(self, own_mm: complex) -> complex:
        return self.offset_mm + own_mm * complex(np.exp(1j * self.angle_rad))

    def to_own(self, table_mm: complex) -> complex:
        return (table_mm - self.offset_mm) * complex(np.exp(-1j * self.angle_rad))

    def placed(self, own: Trace) -> Trace:
        return own.placed(self.offset_mm, self.angle_rad)

    def shown(self, turn: Pose) -> Pose:
        """This pose on a table turned so."""
        if turn == UNTURNED:
            return self
        return Pose(turn.to_table(self.offset_mm), self.angle_rad + turn.angle_rad)

    def laid(self, turn: Pose) -> Pose:
        """The pose that is shown as this one on a table turned so."""
        if turn == UNTURNED:
            return self
        return Pose(turn.to_own(self.offset_mm), self.angle_rad - turn.angle_rad)

    def turned(self, angle_rad: float, about_mm: complex) -> Pose:
        """This motion, and then a turn about a place on the table."""
        offset = about_mm + (self.offset_mm - about_mm) * complex(np.exp(1j * angle_rad))
        return Pose(offset, within_half(self.angle_rad + angle_rad))


UNTURNED = Pose(0j, 0.0)


def pose_keeping(
    before: WireInHand, pose: Pose, after: WireInHand, mark: int, turned_rad: float = 0.0
) -> Pose:
    """The pose of a changed wire that leaves this mark where it lay, its direction turned by an angle."""
    at = pose.to_table(before.mark_mm(mark))
    direction = pose.angle_rad + _direction_rad(before, mark) + turned_rad
    angle = direction - _direction_rad(after, mark)
    return Pose(at - after.mark_mm(mark) * complex(np.exp(1j * angle)), angle)


def within_half(angle_rad: float) -> float:
    """The same direction, as an angle of at most half a turn to either side."""
    return math.remainder(angle_rad, 2 * math.pi)


def _direction_rad(wire: WireInHand, mark: int) -> float:
    last = wire.span_count
    return wire.heading_to_rad(last - 1) if mark >= last else wire.heading_from_rad(mark)
