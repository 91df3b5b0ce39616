"""Turning the form on the table to see it from another side: no step, and nothing of the design changes.

Grid and rulers are the table's and stay; form and picture turn together, in every step alike.
"""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF

from formsketch.ui.gestures import NO_KEYS, SHIFT, Gesture, Keys
from formsketch.ui.pose import Pose
from formsketch.ui.session import Session
from formsketch.ui.view import View
from formsketch.units import angle_text

STEP_DEG = 15.0
# Nearer to the middle than this there is no direction to turn by.
_LEAST_ARM_PX = 6.0


def turn_said(session: Session) -> str:
    """How the form is shown turned, for the status line."""
    turned_deg = round(math.degrees(session.turn.angle_rad), 6)
    if turned_deg == 0:
        return "Shown as it was laid."
    return f"Shown turned by {angle_text(turned_deg, signed=True)}; the design stays as it is."


def turn_by(session: Session, angle_deg: float, about_mm: complex) -> str:
    """Turn the form by an angle, left positive, about a place on the table; says how it is shown now."""
    session.show_turned(session.turn.turned(math.radians(angle_deg), about_mm))
    return turn_said(session)


def turn_back(session: Session, about_mm: complex) -> str:
    """Turn the form back to how it was laid, about a place on the table."""
    turn = session.turn
    back = turn.turned(-turn.angle_rad, about_mm)
    session.show_turned(Pose(back.offset_mm, 0.0))
    return turn_said(session)


class TurnTable(Gesture):
    """Turns the form about the middle of what is seen as the pointer goes round it. Shift: in steps."""

    def __init__(self, session: Session, about: QPointF, view: View, at: QPointF) -> None:
        self._session, self._about, self._about_mm = session, about, view.to_mm(about)
        self._turn = session.turn
        self._last_rad, self._round_rad = self._arm_rad(at), 0.0

    def _arm_rad(self, at: QPointF) -> float | None:
        """Direction of the pointer from the middle, left positive; None too near to it."""
        arm = complex(at.x() - self._about.x(), self._about.y() - at.y())
        return float(np.angle(arm)) if abs(arm) >= _LEAST_ARM_PX else None

    def move(self, at: QPointF, view: View, keys: Keys = NO_KEYS) -> str:
        arm_rad = self._arm_rad(at)
        if arm_rad is not None:
            if self._last_rad is not None:
                self._round_rad += math.remainder(arm_rad - self._last_rad, 2 * math.pi)
            self._last_rad = arm_rad
        by_rad = self._round_rad
        if keys & SHIFT:
            step = math.radians(STEP_DEG)
            by_rad = step * round((self._turn.angle_rad + by_rad) / step) - self._turn.angle_rad
        self._session.show_turned(self._turn.turned(by_rad, self._about_mm))
        return f"{turn_said(self._session)}   Shift: steps of {STEP_DEG:g}°. Esc puts it back."

    def finish(self) -> None:
        pass

    def cancel(self) -> None:
        self._session.show_turned(self._turn)
