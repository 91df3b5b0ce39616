"""How deep to hammer: the flare of a wanted thickness or width, for a span that has one or has none.

A flare keeps its place, its hold and its face; None stands for a span that is not hammered. What cannot be
raises `EditRefused`.
"""

from __future__ import annotations

from msgspec.structs import replace

from formsketch.design.model import Design, Flare
from formsketch.errors import EditRefused
from formsketch.forging.flare import deepest_ease
from formsketch.forging.spread import least_thickness_ratio, thickness_for_width_mm

# A typed thickness may come out this much above the wire's own diameter by rounding.
_ROUND_TOLERANCE = 1e-9


def least_ratio(spread: float) -> float:
    """The least thickness that may be asked for, as a fraction of the wire's diameter."""
    return max(0.1, float(least_thickness_ratio(spread)))


def flare_of_thickness(design: Design, flare: Flare | None, thickness_mm: float) -> Flare | None:
    """The flare that is this thick at the thinnest place shown; none at the wire's own diameter."""
    diameter = design.wire.diameter_mm
    ratio = float(thickness_mm) / diameter
    if ratio > 1 + _ROUND_TOLERANCE:
        raise EditRefused(f"Hammering thins the wire: expected at most the wire's own {diameter:.2f} mm.")
    least = least_ratio(design.hammer.spread)
    if ratio < least:
        raise EditRefused(
            f"Below {least * diameter:.2f} mm is beyond what hammering flat reaches in this wire."
        )
    return _of_ratio(flare, ratio)


def flare_of_width(design: Design, flare: Flare | None, plan_width_mm: float) -> Flare | None:
    """The flare that is this wide in plan at its thinnest place; none at the wire's own diameter or less.

    One on edge thins in plan: its plan width is its thickness.
    """
    diameter, spread = design.wire.diameter_mm, design.hammer.spread
    if flare is not None and flare.face == "edge":
        ratio = plan_width_mm / diameter
        if ratio < least_ratio(spread):
            least_mm = least_ratio(spread) * diameter
            raise EditRefused(f"This wire cannot be hammered on edge below {least_mm:.2f} mm.")
    elif plan_width_mm <= diameter:
        ratio = 1.0
    else:
        ratio = _ratio_for_width(plan_width_mm, diameter, spread)
    return _of_ratio(flare, ratio)


def _of_ratio(flare: Flare | None, ratio: float) -> Flare | None:
    """The flare with this thickness over diameter at the thinnest place that its span shows."""
    if ratio >= 1:
        return None
    if flare is None:
        return Flare(thickness=float(ratio))
    if (flare.begin, flare.end) != (0.0, 1.0):
        # The part of the flare that this span shows reaches only a share of its depth.
        ratio = 1 - (1 - ratio) / float(deepest_ease(flare.centre, flare.hold, flare.begin, flare.end))
    return replace(flare, thickness=float(ratio))


def _ratio_for_width(width_mm: float, diameter_mm: float, spread: float) -> float:
    if spread <= 0:
        raise EditRefused(
            "With a spread of 0 the wire only lengthens under the hammer; it cannot be made wider."
        )
    ratio = float(thickness_for_width_mm(width_mm, diameter_mm, spread)) / diameter_mm
    least = least_ratio(spread)
    if ratio < least:
        raise EditRefused(
            f"{diameter_mm:.2f} mm wire cannot be hammered to {width_mm:.2f} mm wide; "
            f"below {least * diameter_mm:.2f} mm it is beyond what hammering flat reaches."
        )
    return ratio
