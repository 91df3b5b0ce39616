"""A sheet as a PNG picture on white paper, drawn from its SVG, with its true size written in the file."""

from __future__ import annotations

import struct
import zlib

from formsketch.errors import DrawingError
from formsketch.template.drawing import PAPER, Sheet, font_file
from formsketch.template.svg import svg_text

DOTS_PER_MM = 8.0
LARGEST_PICTURE_DOTS = 100_000_000  # 400 MB of memory while it is drawn
_AFTER_HEADER = 33  # the signature and the IHDR chunk, which always comes first (PNG 1.2, section 4.1.1)


def png_bytes(sheet: Sheet, dots_per_mm: float = DOTS_PER_MM) -> bytes:
    """The whole file, each side the sheet's size times `dots_per_mm`, rounded to a whole dot.

    Only the bundled font is used. Raises `DrawingError` when a side would have less than a dot, or the
    picture more than a hundred million.
    """
    import resvg_py  # late: start-up does without it

    width, height = sheet.width_mm * dots_per_mm, sheet.height_mm * dots_per_mm
    if not (min(width, height) >= 1.0 and width * height <= LARGEST_PICTURE_DOTS):
        raise DrawingError(
            f"a picture: expected at least one dot a side and at most {LARGEST_PICTURE_DOTS:,} in all,"
            f" got {width:g} by {height:g}"
        )
    drawn = resvg_py.svg_to_bytes(
        svg_string=svg_text(sheet),
        background=PAPER,
        skip_system_fonts=True,
        font_files=[str(font_file(bold)) for bold in (False, True)],
        font_family="Noto Sans",
        sans_serif_family="Noto Sans",
        dpi=dots_per_mm * 25.4,
    )
    return _with_true_size(bytes(drawn), dots_per_mm)


def _with_true_size(picture: bytes, dots_per_mm: float) -> bytes:
    """The picture with a pHYs chunk: dots per metre both ways (PNG 1.2, section 4.2.4.2)."""
    per_metre = round(dots_per_mm * 1000.0)
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    return picture[:_AFTER_HEADER] + chunk + picture[_AFTER_HEADER:]
