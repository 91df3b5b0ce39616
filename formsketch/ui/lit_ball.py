"""A ball of the metal in the studio's light: the colours that surfaces look up by the way they face."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from formsketch.ui.lit_colour import EIGHT, OPAQUE, SIXTEEN, PixelArray, Rgb

Float32Array = NDArray[np.float32]

# No step shows at sixteen times true size, and it is made in a quarter of the time of one twice as large.
BALL_PX = 256


@lru_cache(maxsize=64)
def lit_ball(metal_rgb: Rgb, paper_rgb: Rgb) -> PixelArray:
    """A ball of the metal in the studio's light: BALL_PX rows upward of BALL_PX packed opaque colours.

    What a metal shows is its colour times what it mirrors: here a broad lamp at the upper left, a sky
    brighter above, the eye's own side, and below the horizon the paper. A flat face shows a little more
    than the metal's own colour. The look is tuned by eye.
    """
    place = (np.arange(BALL_PX, dtype=np.float32) + 0.5) / (BALL_PX / 2) - 1
    x, y = np.meshgrid(place, place)
    past = np.maximum(np.hypot(x, y), 1.0)
    x, y = x / past, y / past
    z = np.sqrt(np.maximum(1 - x * x - y * y, 0.0))
    # What is mirrored: the eye's way thrown back.
    right, up, ahead = 2 * z * x, 2 * z * y, 2 * z * z - 1
    to_key = -0.495 * right + 0.614 * up + 0.614 * ahead
    below = _rise(-7 * (ahead + 0.25))
    sky = _rise(-1.35 * right + 1.86 * up + 1.05 * ahead) * (1 - 0.6 * below)
    lamp = _rise(9 * (to_key - 0.72))
    diffuse = np.maximum(-0.495 * x + 0.614 * y + 0.614 * z, 0.0)
    front = np.exp(6 * (ahead - 1))
    bounce = below * (0.55 + 0.45 * _rise(2.4 * right - 3.2 * up))

    # Channels first: numpy takes three times as long over rows of three.
    metal, paper = _linear(metal_rgb), _linear(paper_rgb)
    light = 0.10 + 0.42 * sky + lamp + 0.22 * diffuse + 0.16 * front
    light = light + 0.45 * bounce * (0.08 + 0.92 * paper)
    light *= 1.06 / light[:, BALL_PX // 2, BALL_PX // 2].mean()
    # Grazing light is mirrored nearly white; where it is dark the metal mirrors itself and deepens.
    tint = metal + (1 - metal) * (0.25 * (1 - z) ** 5)
    colour = light * tint ** (1 + 0.25 * np.clip(1 - light, 0, 1))
    colour += 0.25 * np.exp(60 * (to_key - 1)) * (1 + metal)
    bright = 0.62
    colour = np.where(
        colour > bright, bright + (1 - bright) * np.tanh((colour - bright) / (1 - bright)), colour
    )
    red, green, blue = np.round(255 * colour ** np.float32(1 / 2.2)).astype(np.uint32)
    packed = np.asarray((OPAQUE | red << SIXTEEN | green << EIGHT | blue).ravel())
    packed.flags.writeable = False
    return packed


def _rise(values: NDArray[np.floating]) -> Float32Array:
    return np.asarray(1 / (1 + np.exp(-values)), np.float32)


def _linear(rgb: Rgb) -> Float32Array:
    """How much light there is of red, green and blue; shape (3, 1, 1)."""
    return np.asarray((np.array(rgb) / 255) ** 2.2, np.float32)[:, None, None]
