"""Colours packed as 0xAARRGGBB, premultiplied, so that numpy mixes whole rows of pixels at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

PixelArray = NDArray[np.uint32]
Packed = PixelArray | np.uint32
Rgb = tuple[int, int, int]

CLEAR, OPAQUE, RED_BLUE = np.uint32(0), np.uint32(0xFF000000), np.uint32(0x00FF00FF)
EIGHT, SIXTEEN, TWENTY_FOUR = np.uint32(8), np.uint32(16), np.uint32(24)


def packed(rgb: Rgb) -> np.uint32:
    """An opaque colour of red, green and blue, 0 to 255."""
    return np.uint32(0xFF000000 | rgb[0] << 16 | rgb[1] << 8 | rgb[2])


def opacity(colour: PixelArray) -> PixelArray:
    """How opaque premultiplied colours are, in 256ths."""
    alpha = colour >> TWENTY_FOUR
    return np.asarray(alpha + (alpha >> np.uint32(7)))


def mixed(a: Packed, share_a: PixelArray, b: Packed, share_b: Packed) -> PixelArray:
    """a x share_a + b x share_b of packed colours, two channels at a time; shares in 256ths, at most 256."""
    red_blue = (a & RED_BLUE) * share_a + (b & RED_BLUE) * share_b
    alpha_green = (a >> EIGHT & RED_BLUE) * share_a + (b >> EIGHT & RED_BLUE) * share_b
    return np.asarray((red_blue >> EIGHT & RED_BLUE) | (alpha_green & ~RED_BLUE))
