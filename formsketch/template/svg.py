"""A sheet as SVG 1.1 text at true scale: sizes in mm, one user unit is one millimetre.

The only module that knows svgwrite. What svgwrite lets through (numbers that are not finite, bad names,
control characters) the drawing has refused already.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formsketch.template.drawing import Circle, Group, Item, Path, Sheet, Stroke, Text, set_text

FONT_FAMILY = "Noto Sans, sans-serif"
DESCRIPTION = "Drawn at true scale: one user unit is one millimetre."
DECIMALS = 4  # a tenth of a micrometre


def svg_text(sheet: Sheet) -> str:
    """The whole file, the same for the same sheet byte for byte. To be stored as UTF-8."""
    import svgwrite  # late: start-up does without it

    width, height = _number(sheet.width_mm), _number(sheet.height_mm)
    drawing = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    drawing.set_desc(title=sheet.title or "Untitled", desc=DESCRIPTION)
    for group in sheet.groups:
        drawing.add(_group(drawing, group))
    written = io.StringIO()
    drawing.write(written)
    # One element a line. Text and attributes hold no bare '<' or '>', so only the gaps between tags change.
    return written.getvalue().replace("><", ">\n<") + "\n"


def _group(drawing: Any, group: Group) -> Any:
    element = drawing.g(id=group.name)
    element.set_desc(title=group.name.replace("-", " "))
    if group.clip is not None:
        x0, y0, x1, y1 = group.clip
        window = drawing.defs.add(drawing.clipPath(id=f"{group.name}-window"))
        size = _number(x1 - x0), _number(y1 - y0)
        window.add(drawing.rect(insert=(_number(x0), _number(y0)), size=size))
        element["clip-path"] = f"url(#{group.name}-window)"
    for item in group.items:
        element.add(_group(drawing, item) if isinstance(item, Group) else _element(drawing, item))
    return element


def _element(drawing: Any, item: Item) -> Any:
    if isinstance(item, Text):
        return _text(drawing, item)
    paint = _paint(item.stroke, item.fill, item.colour)
    if isinstance(item, Circle):
        centre = (_number(item.centre[0]), _number(item.centre[1]))
        return drawing.circle(center=centre, r=_number(item.radius_mm), **paint)
    if isinstance(item, Path):
        return drawing.path(d=_path_data([item.points], item.closed), **paint)
    return drawing.path(d=_path_data(item.rings, closed=True), fill_rule=item.fill_rule, **paint)


def _text(drawing: Any, text: Text) -> Any:
    x, y = text.position
    element = drawing.text(
        set_text(text.text),
        insert=(_number(x), _number(y + text.baseline_drop_mm)),
        font_family=FONT_FAMILY,
        font_size=_number(text.font_size_mm),
        text_anchor=text.anchor,
        fill=text.colour,
    )
    if text.bold:
        element["font-weight"] = "bold"
    if text.angle_deg:
        element["transform"] = f"rotate({_number(text.angle_deg)} {_number(x)} {_number(y)})"
    if "  " in text.text or text.text != text.text.strip():
        element["xml:space"] = "preserve"
    return element


def _paint(stroke: Stroke | None, fill: str | None, colour: str) -> dict[str, str]:
    paint = {"fill": fill or "none"}
    if stroke is None:
        return paint
    paint |= {"stroke": colour, "stroke_width": _number(stroke.width_mm), "stroke_linejoin": "round"}
    if stroke.dash_mm:  # ends cut square, so that dashes and gaps have the lengths they should
        return paint | {"stroke_dasharray": ",".join(_number(part) for part in stroke.dash_mm)}
    return paint | {"stroke_linecap": "round"}


def _number(value: float) -> str:
    """A number to `DECIMALS` places without needless zeros; ten digits hold every coordinate allowed."""
    return f"{round(float(value), DECIMALS) + 0.0:.10g}"  # the sum turns -0 into 0


def _path_data(lines: Sequence[NDArray[np.float64]], closed: bool) -> str:
    end = " Z" if closed else ""
    return " ".join(_line_data(points) + end for points in lines)


def _line_data(points: NDArray[np.float64]) -> str:
    rounded = np.round(points, DECIMALS) + 0.0
    # All at once: written one by one, numbers take longer than anything else about a template.
    return ("M " + " L ".join(["%.10g %.10g"] * len(points))) % tuple(rounded.ravel().tolist())
