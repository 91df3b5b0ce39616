"""Hammering a round wire flat: how wide it comes out and how much longer it gets.

The section is a stadium of width w and thickness t with mean height h = area/w; a round wire of diameter d
has h0 = pi d/4. The *spread* S is the share of the squeeze that goes sideways, the rest goes into length:

    ln(w/d) = S ln(h0/h),    elongation = A0/A = (h0/h)^(1 - S).

This is the form used for flat-tool forging (Tomlinson & Stringer, J. Iron Steel Inst. 193 (1959) 157-162;
Dieter, Mechanical Metallurgy, 3rd ed.) written for a round wire. It is trusted for t/d in
TRUSTED_THICKNESS_RATIO and best calibrated with one hammered sample (`spread_from_sample`).
All arguments broadcast; lengths in mm. Numbers that cannot be raise FormSketchError.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from formsketch.errors import FormSketchError
from formsketch.forging.section import CORNER_LOSS, FloatArray, fraction, positive, stadium_area_mm2

TRUSTED_THICKNESS_RATIO = (0.3, 0.9)  # t/d; judgement from the comparison with rolled wire

# Below this reduction real edges are shallower than half-round and the area is up to this share larger.
SHALLOW_EDGE_REDUCTION, SHALLOW_EDGE_EXTRA_AREA = 0.45, 0.026

# Width over thickness. Rolled strip ends at about 15 (general encyclopedia, 'flattening'); 6 is judgement.
WARN_WIDTH_TO_THICKNESS = 6.0
REFUSE_WIDTH_TO_THICKNESS = 15.0

BITE_RATIO_RANGE = (0.25, 3.33)  # bite length over width, Tomlinson & Stringer 1959

# The starting value is within 1 % of ln(w/d); each step of Halley's method leaves a fiftieth of that error's
# cube, so the second reaches rounding for every t/d in 0.02..1 and spread in 0..1.
HALLEY_STEPS = 2

# A sample's width may miss the limits S = 0 and S = 1 by this share: far less than calipers can read.
SAMPLE_TOLERANCE = 1e-6


class SampleError(FormSketchError):
    """A hammered sample whose measurements cannot be right; says which and what was expected."""


def hammered_width_mm(thickness_mm: ArrayLike, diameter_mm: ArrayLike, spread: ArrayLike) -> FloatArray:
    """Width of a wire of `diameter_mm` hammered to `thickness_mm`; unhammered (t >= d) it stays d.

    thickness_mm, diameter_mm: above 0. spread: 0..1. With spread 0 the width stays d, with spread 1 the
    section keeps its area.
    """
    thickness, diameter = positive("thickness", thickness_mm), positive("wire diameter", diameter_mm)
    share = fraction("spread", spread)
    ratio = np.minimum(thickness / diameter, 1.0)
    widest = _area_keeping_width_ratio(ratio)
    # Unknown x = ln(w/d): x = S (ln(h0/t) - ln(1 - g)), where g = CORNER_LOSS t/w is what the corners lack.
    rectangular = share * np.log(np.pi / 4 / ratio)
    corner = CORNER_LOSS * ratio
    x = share * np.log(widest)  # exact for S = 0 and S = 1
    for _ in range(HALLEY_STEPS):
        missing = corner * np.exp(-x)
        filled = 1.0 - missing
        bend = share * missing / filled
        slope = 1.0 + bend
        miss = x - rectangular + share * np.log(filled)
        # The second derivative is -bend/filled.
        x = x - miss * slope / (slope * slope + miss * bend / (2.0 * filled))
    # Only rounding can lie outside these limits; on them the answer is exact.
    return diameter * np.minimum(np.maximum(np.exp(x), 1.0), widest)


def thickness_for_width_mm(width_mm: ArrayLike, diameter_mm: ArrayLike, spread: ArrayLike) -> FloatArray:
    """Thickness to hammer to for a wanted width: the inverse of `hammered_width_mm`, in closed form.

    width_mm: at least the diameter. Raises FormSketchError for a narrower one, and where no hammering
    reaches it: a wire that does not spread (S = 0) never gets wider.
    """
    width, diameter = positive("width", width_mm), positive("wire diameter", diameter_mm)
    share = fraction("spread", spread)
    widening = np.log(width / diameter)
    if not (widening >= 0).all():
        raise FormSketchError("width to hammer to: expected at least the wire's diameter")
    if ((share == 0) & (widening > 0)).any():
        raise FormSketchError("width to hammer to: with a spread of 0 the wire never gets wider")
    squeeze = widening / np.where(share > 0, share, 1.0)
    height = np.pi / 4 * diameter * np.exp(-squeeze)
    # Area h w = t w - CORNER_LOSS t^2, solved for t in the form that loses no digits.
    thickness = 2 * height / (1 + np.sqrt(1 - 4 * CORNER_LOSS * height / width))
    if not (thickness > 0).all():
        raise FormSketchError("width to hammer to: expected a width this wire can reach at this spread")
    return np.minimum(thickness, diameter)


def area_ratio(width_mm: ArrayLike, thickness_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Hammered over unhammered area A/A0: stock length per finished length. 1 where t >= d and w = d."""
    diameter = positive("wire diameter", diameter_mm)
    thickness = np.minimum(np.asarray(thickness_mm, dtype=np.float64), diameter)
    return stadium_area_mm2(width_mm, thickness) / stadium_area_mm2(diameter, diameter)


def elongation(width_mm: ArrayLike, thickness_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Finished length per stock length, A0/A, by conservation of volume.

    Even elongation keeps a bend's angle and multiplies its radius.
    """
    return 1.0 / area_ratio(width_mm, thickness_mm, diameter_mm)


def equivalent_strain(
    width_mm: ArrayLike, thickness_mm: ArrayLike, diameter_mm: ArrayLike, spread: ArrayLike
) -> FloatArray:
    """Von Mises strain of the hammering, (2/sqrt 3) sqrt(1 - S + S^2) ln(h0/h)."""
    return 2 / np.sqrt(3) * _strain_path(spread) * _squeeze(width_mm, thickness_mm, diameter_mm)


def equivalent_strip_reduction(
    width_mm: ArrayLike, thickness_mm: ArrayLike, diameter_mm: ArrayLike, spread: ArrayLike
) -> FloatArray:
    """Reduction, 0..1, of rolled strip hardened as much: r = 1 - (h/h0)^sqrt(1 - S + S^2).

    Strip rolls without spreading, so its strain is (2/sqrt 3) ln 1/(1 - r). For entering temper tables.
    """
    return -np.expm1(-_strain_path(spread) * _squeeze(width_mm, thickness_mm, diameter_mm))


def spread_from_sample(diameter_mm: ArrayLike, thickness_mm: ArrayLike, width_mm: ArrayLike) -> FloatArray:
    """Spread S = ln(w/d)/ln(h0/h) of a hammered sample, measured with calipers; raises SampleError."""
    check_sample(diameter_mm, thickness_mm, width_mm)
    widening = np.log(np.divide(width_mm, diameter_mm))
    # The limits are inclusive: what SAMPLE_TOLERANCE lets through beyond them is rounding.
    return np.clip(widening / _squeeze(width_mm, thickness_mm, diameter_mm), 0.0, 1.0)


def check_sample(diameter_mm: ArrayLike, thickness_mm: ArrayLike, width_mm: ArrayLike) -> None:
    """Raise SampleError, in one sentence, for the first sample whose measurements cannot be right."""
    diameter, thickness = positive("sample diameter", diameter_mm), positive("sample thickness", thickness_mm)
    width = positive("sample width", width_mm)
    for sizes in np.broadcast(diameter, thickness, width):
        fault = _sample_fault(*(float(size) for size in sizes))
        if fault:
            raise SampleError(f"hammered sample: {fault}")


def _sample_fault(diameter: float, thickness: float, width: float) -> str:
    if thickness >= diameter:
        return (
            f"expected it thinner than the {diameter:g} mm wire it was made from, got {thickness:g} mm; "
            "nothing has been hammered"
        )
    widest = diameter * float(_area_keeping_width_ratio(np.asarray(thickness / diameter)))
    if width > widest * (1 + SAMPLE_TOLERANCE):
        return (
            f"{width:g} mm is wider than the metal allows (spread above 1, the wire would have got shorter); "
            f"a {diameter:g} mm wire hammered to {thickness:g} mm can be {widest:.4g} mm wide at most"
        )
    if width < diameter * (1 - SAMPLE_TOLERANCE):
        return (
            f"{width:g} mm is narrower than the {diameter:g} mm wire it was made from (spread below 0), so "
            f"metal is missing; expected a width from {diameter:g} to {widest:.4g} mm"
        )
    return ""


def thickness_ratio_at(width_to_thickness: ArrayLike, spread: ArrayLike) -> FloatArray:
    """Thickness over diameter t/d at which the hammered section is `width_to_thickness` (>= 1) times as wide.

    With w/t = q fixed, ln(q t/d) = S ln(h0/h) is linear in ln(t/d).
    """
    aspect, share = positive("width over thickness", width_to_thickness), fraction("spread", spread)
    if not (aspect >= 1).all():
        raise FormSketchError("width over thickness: expected at least 1")
    rectangular = np.log(np.pi / 4) - np.log1p(-CORNER_LOSS / aspect)
    return np.exp((share * rectangular - np.log(aspect)) / (1 + share))


def least_thickness_ratio(spread: float) -> float:
    """Thickness over diameter at which the section is REFUSE_WIDTH_TO_THICKNESS wide: hammer no thinner."""
    return float(thickness_ratio_at(REFUSE_WIDTH_TO_THICKNESS, spread))


def bite_spread(bite_ratio: ArrayLike) -> FloatArray:
    """Spread from bite length over width: 0.14 + 0.36 r - 0.054 r^2, for r in BITE_RATIO_RANGE.

    Tomlinson & Stringer 1959, hot steel bars forged 5-20 % per bite; for other metals a trend.
    """
    bite = np.asarray(bite_ratio, dtype=np.float64)
    low, high = BITE_RATIO_RANGE
    if not ((bite >= low) & (bite <= high)).all():
        raise FormSketchError(f"bite length over width: expected {low:g} to {high:g}")
    return 0.14 + 0.36 * bite - 0.054 * bite**2


def footprint_mm(face_radius_mm: ArrayLike, bite_mm: ArrayLike) -> FloatArray:
    """Length of the mark of a domed hammer face of radius rho biting delta deep: about 2 sqrt(2 rho delta).

    A shallow chord: exact for small bites, 15 % long when the bite is half the radius.
    """
    return 2 * np.sqrt(2 * positive("face radius", face_radius_mm) * positive("bite", bite_mm))


def rolled_width_mm(thickness_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """Width of a round wire rolled flat, 1.02 d (d/t)^0.45, for t < d.

    Kazeminezhad & Karimi Taheri, Materials & Design 26 (2005) 99-103. A measured law of its own, for
    comparison: its exponent is not a spread.
    """
    thickness, diameter = positive("thickness", thickness_mm), positive("wire diameter", diameter_mm)
    if not (thickness < diameter).all():
        raise FormSketchError("thickness of rolled wire: expected less than the wire's diameter")
    return 1.02 * diameter * (diameter / thickness) ** 0.45


def _area_keeping_width_ratio(ratio: FloatArray) -> FloatArray:
    """w/d where the section keeps its area at t/d = ratio: t + pi (d^2 - t^2)/(4 t)."""
    return ratio + np.pi / 4 * (1.0 - ratio * ratio) / ratio


def _squeeze(width_mm: ArrayLike, thickness_mm: ArrayLike, diameter_mm: ArrayLike) -> FloatArray:
    """ln(h0/h) >= 0, by h/h0 = (A/A0)(d/w)."""
    return np.log(np.divide(width_mm, diameter_mm) / area_ratio(width_mm, thickness_mm, diameter_mm))


def _strain_path(spread: ArrayLike) -> FloatArray:
    """sqrt(1 - S + S^2): how much less strain a squeeze costs when the metal can go both ways."""
    share = fraction("spread", spread)
    return np.sqrt(1 - share + share * share)
