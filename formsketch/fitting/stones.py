"""Places for heads or tubes along the wire, evenly by length or by angle, and what a round stone weighs."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi
from typing import Literal

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from formsketch.design.model import Stone, StoneKind
from formsketch.errors import InputError
from formsketch.values import Result, Value

FloatArray = NDArray[np.float64]
Spacing = Literal["length", "angle"]

# Carat of a round brilliant of diamond, of density 3.52, is 0.0061 x diameter^2 x depth in mm; that of any
# round faceted stone 0.0018 x diameter^2 x depth x density. Both are the trade's formulas, published wherever
# stones are weighed in their settings; good to some per cent, a bulging stone or thick girdle adds 2 to 6 %.
BRILLIANT_CT_PER_MM3, FACETED_CT_PER_MM3 = 0.0061, 0.0018
DIAMOND_DENSITY_G_PER_CM3 = 3.52
# A round cabochon as half an ellipsoid, pi/6 of its box; the trade says 0.0026 to 0.0027 (derived).
CARAT_G = 0.2
CABOCHON_CT_PER_MM3 = pi / 6 / 1000 / CARAT_G
# Depth over diameter where none is said; common practice, no source.
USUAL_DEPTH: dict[str, float] = {"brilliant": 0.6, "faceted": 0.65, "cabochon": 0.45}
CUT_FORMULAS: dict[str, str] = {
    "brilliant": "0.0061 × diameter² × depth, and by density beside diamond's 3.52",
    "faceted": "0.0018 × diameter² × depth × density",
    "cabochon": "half an ellipsoid, 0.0026 × diameter² × depth × density",
}
# Densities in g/cm3 as gemmological tables give them, the middle where they give a range; opal, garnet,
# zircon and tourmaline differ by 5 % and more from stone to stone.
STONE_KINDS: dict[StoneKind, tuple[str, float]] = {
    "diamond": ("diamond", 3.52),
    "sapphire": ("sapphire", 4.00),
    "ruby": ("ruby", 4.00),
    "emerald": ("emerald", 2.72),
    "aquamarine": ("aquamarine", 2.72),
    "topaz": ("topaz", 3.53),
    "garnet": ("garnet", 3.84),
    "spinel": ("spinel", 3.60),
    "peridot": ("peridot", 3.34),
    "tourmaline": ("tourmaline", 3.06),
    "quartz": ("quartz", 2.66),
    "zircon": ("zircon", 4.69),
    "opal": ("opal", 2.15),
    "turquoise": ("turquoise", 2.76),
    "cubic-zirconia": ("cubic zirconia", 5.80),
}
# Metal left beside a seat on each side; common practice, no source.
METAL_LEFT_MM = 0.3
MOST_STONES = 500
SOLDER_SENTENCE = (
    "Soldering a head or tube anneals: in small work the torch heats all of the wire, and all of it is taken "
    "to be soft again, whatever was hammered."
)


class WirePlaces(Result, frozen=True):
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


class Seat(Value, frozen=True):
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
    return seats_at(wire, places, np.full(count, seat_mm), metal_left_mm)


def seats_at(
    wire: WirePlaces, finished_mm: FloatArray, seat_mm: FloatArray, metal_left_mm: float = METAL_LEFT_MM
) -> tuple[Seat, ...]:
    """Seats of these outside diameters at places along the finished wire, both of shape (seats,)."""
    width, mark = wire.at(finished_mm, wire.plan_width_mm), wire.at(finished_mm, wire.stock_mm)
    left = (width - seat_mm) / 2
    return tuple(
        Seat(float(s), float(m), complex(z), float(w), float(x), bool(x >= metal_left_mm - 1e-9))
        for s, m, z, w, x in zip(finished_mm, mark, wire.z_at(finished_mm), width, left, strict=True)
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
    """Carat of a round brilliant, 0.0061 d^2 h for diamond; other stones by their density."""
    per_mm3 = BRILLIANT_CT_PER_MM3 * density_g_per_cm3 / DIAMOND_DENSITY_G_PER_CM3
    return _carat(per_mm3, "brilliant", diameter_mm, depth_mm)


def round_stone_ct(cut: str, diameter_mm: float, depth_mm: float | None, density_g_per_cm3: float) -> float:
    """Carat of a round stone of this cut by the formula of `CUT_FORMULAS`, good to some per cent.

    None for the depth is the usual share of the diameter. Raises InputError for sizes not above 0.
    """
    if cut == "brilliant":
        return brilliant_ct(diameter_mm, depth_mm, density_g_per_cm3)
    per_mm3 = FACETED_CT_PER_MM3 if cut == "faceted" else CABOCHON_CT_PER_MM3
    return _carat(per_mm3 * density_g_per_cm3, cut, diameter_mm, depth_mm)


def stone_ct(stone: Stone) -> float:
    """Carat of a stone of a design."""
    density = stone.density_g_per_cm3 or STONE_KINDS[stone.kind][1]
    return round_stone_ct(stone.cut, stone.size_mm, stone.depth_mm, density)


def _carat(per_mm3: float, cut: str, diameter_mm: float, depth_mm: float | None) -> float:
    depth = USUAL_DEPTH[cut] * diameter_mm if depth_mm is None else depth_mm
    if not (diameter_mm > 0 and depth > 0 and per_mm3 > 0):
        raise InputError("stone: expected diameter, depth and density above 0")
    return per_mm3 * diameter_mm**2 * depth


def stones_set(seats: Sequence[Seat], length_mm: float, model: Stone) -> tuple[Stone, ...]:
    """Stones like this one on these seats of a wire as long as this, in the order of the wire."""
    shares = sorted(min(seat.finished_mm / length_mm, 1.0) for seat in seats)
    return tuple(replace(model, at_share=round(share, 9)) for share in shares)
