"""The neutral drawing: what screen, print and file all draw, so that they cannot disagree.

Everything is in true millimetres. The origin is the top left corner of the sheet, x runs to the right
and y DOWN. Angles turn from +x towards +y, which is clockwise as seen. Values are frozen and checked when
they are made: `DrawingError` for a number that is not finite, a name that is no identifier, a control
character, lettering too small to read.
"""

from __future__ import annotations

import math
import pathlib
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from functools import cache, lru_cache
from typing import Literal

import numpy as np
from msgspec.structs import force_setattr
from numpy.typing import NDArray

from formsketch.errors import DrawingError
from formsketch.shipped import resource
from formsketch.values import Result, Value

BLACK = "#000000"
PAPER = "#ffffff"

LARGEST_COORDINATE_MM = 100_000.0
SMALLEST_TEXT_MM = 2.5  # ISO 3098 nominal sizes run 1.8, 2.5, 3.5 ...; 2.5 is read without a glass
LARGEST_TEXT_MM = 1_000.0
LARGEST_ANGLE_DEG = 36_000.0
SMALLEST_SHEET_MM = 5.0
LARGEST_SHEET_MM = 5_080.0  # 14,400 units of 1/72 inch, the most a PDF page may have (ISO 32000-1, annex C)

# The bundled font's own proportions, as fractions of its em: height of capitals, and how far unaccented
# letters, figures and marks reach above and below the baseline.
CAPITAL_HEIGHT_EM = 0.714
ASCENT_EM = 0.77
DESCENT_EM = 0.245

# The bundled font lacks these signs; each is set as the nearest one it has.
_STAND_INS = str.maketrans({"\N{MINUS SIGN}": "\N{EN DASH}", "\N{DIAMETER SIGN}": "Ø"})

_NAME = re.compile(r"[a-z][a-z0-9-]*")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # x0, y0, x1, y1 in mm


class Stroke(Enum):
    """Kinds of line after ISO 128-2: `width_mm`, and `dash_mm` as drawn and left out in turn.

    Widths are from the standard's series, wide to narrow 2:1. Dashes are 12 line widths long, long dashes
    24, dots half a width, gaps 3. `dash_mm` is empty for a continuous line.
    """

    CONTINUOUS_WIDE = ("continuous-wide", 0.5, ())  # outline
    CONTINUOUS_NARROW = ("continuous-narrow", 0.25, ())  # bend line, dimension
    LONG_DASH_DOT_NARROW = ("long-dash-dot-narrow", 0.25, (24.0, 3.0, 0.5, 3.0))  # centreline
    DASHED_NARROW = ("dashed-narrow", 0.25, (12.0, 3.0))  # hidden
    CONTINUOUS_EXTRA_NARROW = ("continuous-extra-narrow", 0.18, ())  # ruling

    width_mm: float
    dash_mm: tuple[float, ...]

    def __init__(self, kind: str, width_mm: float, dash_in_widths: tuple[float, ...]) -> None:
        self.width_mm = width_mm
        self.dash_mm = tuple(part * width_mm for part in dash_in_widths)


class Path(Result, frozen=True):
    """Straight lines through `points` (n, 2), n >= 2. An open path is filled as if it were closed."""

    points: NDArray[np.float64]
    stroke: Stroke | None
    closed: bool = False
    fill: str | None = None
    colour: str = BLACK

    def __post_init__(self) -> None:
        force_setattr(self, "points", _points(self.points, "a path", 2))
        _check_paint("a path", self.stroke, self.fill, self.colour)


class MultiPath(Result, frozen=True):
    """Closed rings, each (n, 2) with n >= 3, filled as one area: by `evenodd` inner rings are holes."""

    rings: Sequence[NDArray[np.float64]]
    fill: str | None
    stroke: Stroke | None = None
    colour: str = BLACK
    fill_rule: Literal["evenodd", "nonzero"] = "evenodd"

    def __post_init__(self) -> None:
        rings = tuple(_points(ring, "a ring", 3) for ring in self.rings)
        if not rings:
            raise DrawingError("a filled area: expected at least one ring, got none")
        if self.fill_rule not in ("evenodd", "nonzero"):
            raise DrawingError(
                f"a filled area: expected the fill rule evenodd or nonzero, got {self.fill_rule!r}"
            )
        force_setattr(self, "rings", rings)
        _check_paint("a filled area", self.stroke, self.fill, self.colour)


class Circle(Value, frozen=True):
    """A circle; `radius_mm` above zero is the radius of the line's middle."""

    centre: Point
    radius_mm: float
    stroke: Stroke | None
    fill: str | None = None
    colour: str = BLACK

    def __post_init__(self) -> None:
        force_setattr(self, "centre", _point(self.centre, "a circle's centre"))
        radius_mm = _number(self.radius_mm, "a circle's radius", 0.0, LARGEST_COORDINATE_MM)
        if radius_mm == 0.0:
            raise DrawingError("a circle's radius: expected more than 0 mm")
        force_setattr(self, "radius_mm", radius_mm)
        _check_paint("a circle", self.stroke, self.fill, self.colour)


class Text(Value, frozen=True):
    """One line of lettering in the bundled font.

    `height_mm` is the height of the capitals, the nominal size of ISO 3098, at least 2.5; `font_size_mm`
    is the em that gives it. With the baseline `alphabetic` the letters stand on `position`, with `middle`
    half the capitals' height lies on either side of it. `angle_deg` turns about `position`, clockwise as
    seen: -90 reads upwards, from the right-hand side of the sheet.
    """

    position: Point
    text: str
    height_mm: float = SMALLEST_TEXT_MM
    anchor: Literal["start", "middle", "end"] = "start"
    baseline: Literal["alphabetic", "middle"] = "alphabetic"
    angle_deg: float = 0.0
    bold: bool = False
    colour: str = BLACK

    def __post_init__(self) -> None:
        _check_line(self.text, "a text")
        if not self.text.strip():
            raise DrawingError("a text: expected at least one letter, got none")
        where = f"the text {self.text[:40]!r}"
        height_mm = _number(self.height_mm, f"{where}, height", SMALLEST_TEXT_MM, LARGEST_TEXT_MM)
        angle_deg = _number(self.angle_deg, f"{where}, angle", -LARGEST_ANGLE_DEG, LARGEST_ANGLE_DEG)
        if self.anchor not in ("start", "middle", "end"):
            raise DrawingError(f"{where}: expected the anchor start, middle or end, got {self.anchor!r}")
        if self.baseline not in ("alphabetic", "middle"):
            raise DrawingError(f"{where}: expected the baseline alphabetic or middle, got {self.baseline!r}")
        force_setattr(self, "position", _point(self.position, f"{where}, position"))
        force_setattr(self, "height_mm", height_mm)
        force_setattr(self, "angle_deg", angle_deg)
        _check_colour(self.colour, where)

    @property
    def font_size_mm(self) -> float:
        """The em, which drawing programs call the font size."""
        return self.height_mm / CAPITAL_HEIGHT_EM

    @property
    def baseline_drop_mm(self) -> float:
        """How far the letters' baseline lies below `position`, before turning."""
        return self.height_mm / 2.0 if self.baseline == "middle" else 0.0


Item = Path | MultiPath | Circle | Text


class Group(Value, frozen=True):
    """Items, or further groups, under a name that is a valid XML id: `[a-z][a-z0-9-]*`.

    With `clip`, a box of the sheet, only what lies inside it is painted.
    """

    name: str
    items: Sequence[Item | Group]
    clip: Box | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not _NAME.fullmatch(self.name):
            raise DrawingError(
                f"a group: expected a name of a-z, 0-9 and hyphens, a letter first, got {self.name!r}"
            )
        force_setattr(self, "items", tuple(self.items))
        if self.clip is not None:
            corners = _points(np.array(self.clip).reshape(-1, 2), f"the group {self.name}, clip", 2)
            force_setattr(self, "clip", tuple(corners.ravel().tolist()))
        for item in self.items:
            if not isinstance(item, Path | MultiPath | Circle | Text | Group):
                raise DrawingError(
                    f"the group {self.name}: expected drawing items, got {type(item).__name__}"
                )


class Sheet(Value, frozen=True):
    """A page of the given size, 5 to 5080 mm each way, its groups drawn in order, each name used once."""

    width_mm: float
    height_mm: float
    title: str
    groups: Sequence[Group]

    def __post_init__(self) -> None:
        _check_line(self.title, "the sheet's title")
        for side in ("width_mm", "height_mm"):
            what = f"the sheet's {side.removesuffix('_mm')}"
            value = _number(getattr(self, side), what, SMALLEST_SHEET_MM, LARGEST_SHEET_MM)
            force_setattr(self, side, value)
        force_setattr(self, "groups", tuple(self.groups))
        used: set[str] = set()
        for name in _group_names(self.groups):
            if name in used:
                raise DrawingError(f"the sheet: expected each group's name once, got {name!r} twice")
            used.add(name)


def walk(items: Iterable[Item | Group]) -> Iterator[Item]:
    """Every item in drawing order, those inside groups in their place."""
    for item in items:
        if isinstance(item, Group):
            yield from walk(item.items)
        else:
            yield item


def font_file(bold: bool) -> pathlib.Path:
    """The bundled font's file."""
    return resource("fonts", "NotoSans-Bold.ttf" if bold else "NotoSans-Regular.ttf")


@cache
def font_name(bold: bool) -> str:
    """The name by which reportlab knows the bundled font, once it has read it."""
    from reportlab.pdfbase import pdfmetrics, ttfonts  # late: start-up does without it

    name = "NotoSans-Bold" if bold else "NotoSans-Regular"
    pdfmetrics.registerFont(ttfonts.TTFont(name, str(font_file(bold))))
    return name


def set_text(text: str) -> str:
    """The text as it is set: signs the bundled font lacks stand as their nearest neighbour."""
    return text.translate(_STAND_INS)


def text_width_mm(text: str, height_mm: float, bold: bool = False) -> float:
    """Width of a line of lettering, the sum of its letters' advances; kerning may make it a little less."""
    return _text_width_em(text, bold) * height_mm / CAPITAL_HEIGHT_EM


@lru_cache(maxsize=20_000)
def _text_width_em(text: str, bold: bool) -> float:
    """The same as a fraction of the em: lettering is measured many times before it is set."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(set_text(text), font_name(bold), 1.0))


def text_box(text: Text) -> Box:
    """Upright box round a text, turned ones included; accents on capitals may rise above it."""
    width_mm = text_width_mm(text.text, text.height_mm, text.bold)
    left = {"start": 0.0, "middle": -width_mm / 2.0, "end": -width_mm}[text.anchor]
    top = text.baseline_drop_mm - ASCENT_EM * text.font_size_mm
    bottom = text.baseline_drop_mm + DESCENT_EM * text.font_size_mm
    x = np.array([left, left + width_mm, left + width_mm, left])
    y = np.array([top, top, bottom, bottom])
    cos, sin = math.cos(math.radians(text.angle_deg)), math.sin(math.radians(text.angle_deg))
    return _box_of(np.column_stack([x * cos - y * sin, x * sin + y * cos]) + np.array(text.position))


def bounds(items: Iterable[Item | Group]) -> Box:
    """Upright box round items, lines taken without their width. Raises `DrawingError` when there are none."""
    boxes = [_box(item) for item in walk(items)]
    if not boxes:
        raise DrawingError("the bounds of a drawing: expected at least one item, got none")
    corners = np.array(boxes).reshape(-1, 2)
    return _box_of(corners)


def _box(item: Item) -> Box:
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius_mm
        return x - r, y - r, x + r, y + r
    return _box_of(item.points if isinstance(item, Path) else np.concatenate(item.rings))


def _box_of(points: NDArray[np.float64]) -> Box:
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return x0, y0, x1, y1


def _group_names(items: Iterable[Item | Group]) -> Iterator[str]:
    for item in items:
        if isinstance(item, Group):
            yield item.name
            yield from _group_names(item.items)


def _number(value: float, what: str, least: float, most: float) -> float:
    """The value as a float, when it is a finite number within the bounds."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if not least <= number <= most:
        raise DrawingError(f"{what}: expected a number from {least:g} to {most:g}, got {value!r}")
    return number


def _point(value: Point, what: str) -> Point:
    try:
        x, y = value
    except (TypeError, ValueError):
        raise DrawingError(f"{what}: expected a place x, y in mm, got {value!r}") from None
    most = LARGEST_COORDINATE_MM
    return _number(x, f"{what}, x", -most, most), _number(y, f"{what}, y", -most, most)


def _points(value: NDArray[np.float64], what: str, fewest: int) -> NDArray[np.float64]:
    """A read-only copy of an (n, 2) array of finite coordinates."""
    try:
        points = np.array(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise DrawingError(f"{what}: expected rows of x, y in mm") from None
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < fewest:
        raise DrawingError(f"{what}: expected at least {fewest} rows of x, y in mm, got shape {points.shape}")
    bad = np.flatnonzero(~(np.abs(points) <= LARGEST_COORDINATE_MM).all(axis=1))
    if bad.size:
        x, y = points[bad[0]].tolist()
        most = LARGEST_COORDINATE_MM
        raise DrawingError(
            f"{what}, point {bad[0] + 1}: expected numbers from {-most:g} to {most:g}, got {x}, {y}"
        )
    points.setflags(write=False)
    return points


def _check_paint(what: str, stroke: Stroke | None, fill: str | None, colour: str) -> None:
    if stroke is None and fill is None:
        raise DrawingError(f"{what}: expected a line or a fill, got neither")
    if stroke is not None and not isinstance(stroke, Stroke):
        raise DrawingError(f"{what}: expected a kind of line, got {stroke!r}")
    if fill is not None:
        _check_colour(fill, f"{what}, fill")
    _check_colour(colour, what)


def _check_colour(colour: str, what: str) -> None:
    if not isinstance(colour, str) or not _COLOUR.fullmatch(colour):
        raise DrawingError(f"{what}: expected a colour such as #1a2b3c, got {colour!r}")


def _check_line(text: str, what: str) -> None:
    """One line of text that XML and PDF can both carry."""
    if not isinstance(text, str):
        raise DrawingError(f"{what}: expected text, got {type(text).__name__}")
    for place, sign in enumerate(text, start=1):
        if unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp") or sign in "\ufffe\uffff":
            raise DrawingError(
                f"{what}, character {place}: expected letters and signs on one line, got U+{ord(sign):04X}"
            )
