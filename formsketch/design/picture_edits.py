"""Edits of the picture to trace. Each returns a sound design or raises `EditRefused`."""

from __future__ import annotations

import cmath
import math
from typing import Any

from msgspec.structs import replace

from formsketch.design.edits import checked
from formsketch.design.model import Design, Picture
from formsketch.errors import EditRefused

_DECIMALS = 6


def with_picture(design: Design, picture: Picture | None) -> Design:
    """The design over another picture, or over none."""
    return checked(replace(design, picture=picture))


def seen_from(picture: Picture, at_mm: complex, direction_rad: float) -> Picture:
    """The picture where it lies, as a wire says it whose frame lies so in the one it was written in.

    Not checked. Places are kept to a millionth of a millimetre or degree: far below a pixel, and the same
    again when a frame comes back to where it was.
    """
    own = (complex(picture.x_mm, picture.y_mm) - at_mm) * cmath.exp(-1j * direction_rad)
    angle_rad = math.remainder(math.radians(picture.angle_deg) - direction_rad, 2 * math.pi)
    return replace(picture, x_mm=kept(own.real), y_mm=kept(own.imag), angle_deg=kept(math.degrees(angle_rad)))


def kept(value: float) -> float:
    """A number of a picture's place as it is kept."""
    # + 0.0, so that nothing is written as -0
    return round(float(value), _DECIMALS) + 0.0


def change_picture(design: Design, **changes: Any) -> Design:
    """The design with some fields of its picture changed, such as `opacity=0.3`."""
    if design.picture is None:
        raise EditRefused("There is no picture under the form.")
    return with_picture(design, replace(design.picture, **changes))
