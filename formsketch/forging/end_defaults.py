"""What each kind of end is taken to be before it is changed, by the wire it is made of, and eyes that fit.

All of it is common practice, no source. Sizes are rounded to what a rule shows.
"""

from __future__ import annotations

from math import ceil

from formsketch.design.model import (
    BeadEnd,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    HookEnd,
    PlainEnd,
    PostEnd,
    RoundedEnd,
    SHookEnd,
    TaperedEnd,
)
from formsketch.forging.ends import end_piece

EAR_WIRE_MM, QUARTER_TURN_DEG = 0.8, 90.0
# A hook is this many wires wide inside, an eye this many, neither less than a hand can bend or catch.
_HOOK_TO_WIRE, _LEAST_HOOK_MM = 3.0, 4.0
_EYE_TO_WIRE, _LEAST_EYE_MM = 1.6, 2.5
_CURL_TO_WIRE, _LEAST_CURL_MM = 1.2, 1.0
# Clearance of an eye round what has to go through it.
_CLEARANCE_TO_WIRE, _LEAST_CLEARANCE_MM = 0.5, 0.4
# A hole for a ring or a pin, in wires; the flat it stands in, as thin as a share of the wire.
_HOLE_TO_WIRE, _FLAT_THICKNESS = 0.6, 0.5

# A bead on a wire, in wires: the lesser of what is usual.
_BEAD_TO_WIRE, _TIP_TO_WIRE, _TAPER_MM = 2.0, 0.5, 8.0


def default_end(kind: type[End], diameter_mm: float, twisted: bool = False) -> End:
    """An end of this kind as it is usually made in wire of this diameter, mm; a hook twisted or not."""
    d = diameter_mm
    if kind is RoundedEnd:
        return RoundedEnd()
    if kind is TaperedEnd:
        return TaperedEnd(length_mm=_TAPER_MM, tip_diameter_mm=round(_TIP_TO_WIRE * d, 2))
    if kind is BeadEnd:
        return BeadEnd(diameter_mm=round(_BEAD_TO_WIRE * d, 2))
    if kind is HookEnd:
        return HookEnd(inside_diameter_mm=_hook_mm(d), twist_deg=QUARTER_TURN_DEG if twisted else 0.0)
    if kind is SHookEnd:
        curl_mm = max(_LEAST_CURL_MM, _up(_CURL_TO_WIRE * d))
        return SHookEnd(inside_diameter_mm=_hook_mm(d), curl_diameter_mm=curl_mm)
    if kind is EyeEnd:
        return EyeEnd(inside_diameter_mm=max(_LEAST_EYE_MM, _up(_EYE_TO_WIRE * d)))
    if kind is PostEnd:
        return PostEnd(diameter_mm=min(EAR_WIRE_MM, d))
    if kind is EarWireEnd:
        return EarWireEnd(diameter_mm=min(EAR_WIRE_MM, d))
    if kind is DrilledEnd:
        hole_mm = max(0.5, round(_HOLE_TO_WIRE * d, 1))
        return DrilledEnd(
            hole_diameter_mm=hole_mm,
            length_mm=max(3.0, _up(3 * d)),
            from_end_mm=max(0.6, hole_mm),
            thickness=_FLAT_THICKNESS,
        )
    return PlainEnd()


def fitting_eye(hook: HookEnd | SHookEnd, diameter_mm: float) -> EyeEnd:
    """An eye in the same wire that lets through all that has to go through it, with clearance.

    It is rolled to the side that the hook turns to.
    """
    passes_mm = end_piece(hook, diameter_mm).passes_mm
    inside_mm = _up(passes_mm + max(_LEAST_CLEARANCE_MM, _CLEARANCE_TO_WIRE * diameter_mm))
    return EyeEnd(inside_diameter_mm=inside_mm, side="left" if hook.turn_deg >= 0 else "right")


def _hook_mm(diameter_mm: float) -> float:
    return max(_LEAST_HOOK_MM, _up(_HOOK_TO_WIRE * diameter_mm))


def _up(length_mm: float) -> float:
    """Up to the next tenth of a millimetre."""
    return ceil(10 * length_mm - 1e-9) / 10
