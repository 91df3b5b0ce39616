"""The inside of a rolled piece: a round or an oval mandrel, by its circumference and its shape."""

from __future__ import annotations

from functools import cached_property, lru_cache
from math import pi

import numpy as np
from numpy.typing import NDArray

from formsketch.errors import InputError
from formsketch.values import Result, Value

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

# Steps round an oval; its perimeter by equal steps of the parameter is then exact to rounding down to an
# aspect of 0.3.
ROUND_POINTS = 2_048


class RoundTable(Result, frozen=True):
    """An ellipse one wide, by equal steps from the opening once round; arrays of shape (ROUND_POINTS + 1,).

    `parameter` is the ellipse's own angle, `share` how much of the circumference lies behind, `turned_rad`
    how far the direction has turned since the opening. `perimeter` is that of half width 1.
    """

    parameter: FloatArray
    share: FloatArray
    turned_rad: FloatArray
    perimeter: float


@lru_cache(maxsize=64)
def round_table(aspect: float) -> RoundTable:
    """The table of ovals of this aspect, depth over width."""
    # The opening stands at the back, at +i: seen from the front the band runs from left to right.
    angle = np.linspace(pi / 2, 2.5 * pi, ROUND_POINTS + 1)
    speed = np.hypot(np.sin(angle), aspect * np.cos(angle))
    mean = float(np.mean(speed[:-1]))
    # Running arc length by Fourier sums: exact where trapezes would be 1e-7 off.
    series = np.fft.rfft(speed[:-1])
    order = np.arange(len(series))
    series[0], order[0] = 0.0, 1
    wave = np.fft.irfft(series / (1j * order), ROUND_POINTS)
    length = mean * (angle - pi / 2) + np.append(wave, wave[0]) - wave[0]
    turned = np.unwrap(np.angle(-np.sin(angle) + 1j * aspect * np.cos(angle)))
    return RoundTable(angle, length / (2 * pi * mean), turned - turned[0], 2 * pi * mean)


class Oval(Value, frozen=True, dict=True):
    """The inside of a rolled piece: an ellipse of this circumference, `aspect` its depth over its width.

    Raises `InputError` where nothing would be left inside.
    """

    circumference_mm: float
    aspect: float = 1.0

    def __post_init__(self) -> None:
        if not self.circumference_mm > 0:
            raise InputError(
                f"The form is too short to close: {self.circumference_mm:.1f} mm would be left inside."
            )

    @cached_property
    def half_width_mm(self) -> float:
        """Half the greater inside width."""
        return self.circumference_mm / round_table(self.aspect).perimeter

    @property
    def width_mm(self) -> float:
        return 2 * self.half_width_mm

    @property
    def depth_mm(self) -> float:
        return self.aspect * self.width_mm

    @property
    def tightest_radius_mm(self) -> float:
        """Inside radius where the oval turns most sharply: b^2/a."""
        return self.aspect**2 * self.half_width_mm

    def offset(self, out_mm: float, points: int = ROUND_POINTS) -> ComplexArray:
        """A line this far outside the inside, from the opening once round; shape (points + 1,)."""
        return self._outside(np.linspace(pi / 2, 2.5 * pi, points + 1), out_mm)

    def at(self, share: FloatArray, out_mm: FloatArray | float = 0.0) -> ComplexArray:
        """Places by their share of the circumference from the opening, moved outward; any shape."""
        table = round_table(self.aspect)
        return self._outside(np.interp(share % 1.0, table.share, table.parameter), out_mm)

    def _outside(self, angle: FloatArray, out_mm: FloatArray | float) -> ComplexArray:
        a, b = self.half_width_mm, self.aspect * self.half_width_mm
        at = a * np.cos(angle) + 1j * b * np.sin(angle)
        normal = b * np.cos(angle) + 1j * a * np.sin(angle)
        return np.asarray(at + out_mm * normal / np.abs(normal))
