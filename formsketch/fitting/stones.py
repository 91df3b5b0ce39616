"""Places for heads or tubes along the wire, evenly by length or by angle, and what a round stone weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from formsketch.errors import InputError

FloatArray = NDArray[np.float64]
Spacing = Literal["length", "angle"]

# Weight of a round brilliant, ct for mm: diameter^2 x depth x 0.0061 (trade formula for diamond of density
# 3.52, from memory; some per cent, a thick girdle adds up to 6 %). Other stones by their density.
BRILLIANT_CT_PER_MM3 = 0.0061
DIAMOND_DENSITY_G_PER_CM3 = 3.52
# Depth over diameter where none is said; common practice, no source.
USUAL_DEPTH = 0.6
# Metal left beside a seat on each side; common practice, no source.
METAL_LEFT_MM = 0.3
MOST_STONES = 500
SOLDER_SENTENCE = (
    "Soldering a head or tube anneals the wire around it: that patch is soft, whatever was hammered there."
)


@dataclass(frozen=True, eq=False)
class WirePlaces:
    """The finished wire at its samples: place along it and on the straight wire, mm, plan position x + iy,
    heading in radians without jumps of a whole turn, plan width and width of the flat face; (samples,)."""

    finished_mm: FloatArray
    stock_mm: FloatArray
    z_mm: NDArray[np.complex128]
    heading_rad: FloatArray
    plan_width_mm: FloatArray
    flat_mm: FloatArray

    def at(self, finished_mm: FloatArray, values: FloatArray) -> FloatArray:
        """Values of the samples at places along the finished wire."""
        return np.asarray(np.interp(finished_mm, self.finished_mm, values))

    def z_at(self, finished_mm: FloatArray) -> NDArray[np.complex128]:
        return np.asarray(self.at(finished_mm, self.z_mm.real) + 1j * self.at(finished_mm, self.z_mm.imag))


@dataclass(frozen=True)
class Seat:
    """A place for a stone: along the finished wire, the mark on the straight wire, where it lies in plan, the
    plan width there and the metal left on each side of the seat; negative where the seat is wider."""

    finished_mm: float
    mark_mm: float
    at_mm: complex
    plan_width_mm: float
    left_mm: float
    fits: bool


def seats_along(
    wire: WirePlaces,
    count: int,
    seat_mm: float,
    spacing: Spacing = "length",
    metal_left_mm: float = METAL_LEFT_MM,
    from_share: float = 0.0,
    to_share: float = 1.0,
) -> tuple[Seat, ...]:
    """Seats in the middles of equal parts of a stretch, equal in length or in how far the wire turns.

    The stretch is given as shares of the finished length. A seat fits where the plan width holds it and
    `metal_left_mm` on both sides. Raises InputError for counts and sizes that cannot be, and for a stretch
    that does not turn when asked by angle.
    """
    if not 1 <= count <= MOST_STONES:
        raise InputError(f"stones: expected 1 to {MOST_STONES}, got {count}")
    if not (np.isfinite(seat_mm) and seat_mm > 0 and np.isfinite(metal_left_mm) and metal_left_mm >= 0):
        raise InputError("seat: expected a diameter above 0 mm and metal left of 0 mm or more")
    if not 0 <= from_share < to_share <= 1:
        raise InputError("stretch: expected shares of the length from 0 to 1, the first less than the second")
    begin, end = (float(wire.finished_mm[-1] * share) for share in (from_share, to_share))
    shares = (np.arange(count) + 0.5) / count
    if spacing == "length":
        places = begin + shares * (end - begin)
    else:
        turned = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(wire.heading_rad)))))
        first, last = (float(np.interp(place, wire.finished_mm, turned)) for place in (begin, end))
        if last - first < 1e-6:
            raise InputError("by angle: expected a stretch that turns, this one is straight")
        # Where the wire runs straight the angle stands still; the nudge keeps the table rising.
        rising = turned + 1e-12 * wire.finished_mm
        places = np.interp(first + shares * (last - first), rising, wire.finished_mm)
    width, mark = wire.at(places, wire.plan_width_mm), wire.at(places, wire.stock_mm)
    left = (width - seat_mm) / 2
    return tuple(
        Seat(float(s), float(m), complex(z), float(w), float(x), bool(x >= metal_left_mm - 1e-9))
        for s, m, z, w, x in zip(places, mark, wire.z_at(places), width, left, strict=True)
    )


def nearest_seats_mm(seats: tuple[Seat, ...]) -> float | None:
    """The least distance in plan between the middles of two seats; None for a single one."""
    if len(seats) < 2:
        return None
    at = np.array([seat.at_mm for seat in seats])
    away = np.abs(at[:, None] - at)
    return float(away[~np.eye(len(at), dtype=bool)].min())


def brilliant_ct(
    diameter_mm: float,
    depth_mm: float | None = None,
    density_g_per_cm3: float = DIAMOND_DENSITY_G_PER_CM3,
) -> float:
    """Weight in carat of a round brilliant, 0.0061 d^2 h for diamond; other stones by their density."""
    depth = USUAL_DEPTH * diameter_mm if depth_mm is None else depth_mm
    if not (diameter_mm > 0 and depth > 0 and density_g_per_cm3 > 0):
        raise InputError("stone: expected diameter, depth and density above 0")
    return BRILLIANT_CT_PER_MM3 * diameter_mm**2 * depth * density_g_per_cm3 / DIAMOND_DENSITY_G_PER_CM3
