"""Plain geometry for cutters and plotters: edges, centreline, marks and tubes as lines, in true mm.

SVG holds strokes only, one group a layer; DXF one layer each, its unit the millimetre.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template.drawing import Circle, Group, Item, Path, Sheet, Stroke
from formsketch.template.form_part import FormPart
from formsketch.template.lettering import title_text
from formsketch.template.plan import Placing
from formsketch.template.plan_labels import mark_ticks

LAYERS = ("outline", "centreline", "marks", "tubes")
_ROOM_MM = 2.0
_UNIT_MM = 4  # $INSUNITS, DXF reference: 4 is millimetres


@dataclass(frozen=True)
class PlainLayers:
    """Lines of the chosen layers, y down from the upper left corner of a sheet just large enough."""

    width_mm: float
    height_mm: float
    layers: dict[str, list[Item]]
    title: str

    def sheet(self) -> Sheet:
        """One sheet, one group a layer."""
        groups = [Group(name, items) for name, items in self.layers.items()]
        return Sheet(self.width_mm, self.height_mm, self.title, groups)


def plain_layers(evaluation: Evaluation, layers: Sequence[str] = LAYERS) -> PlainLayers:
    """The finished form as plain lines. Raises `FormSketchError` for an unknown layer."""
    unknown = [name for name in layers if name not in LAYERS]
    if unknown or not layers:
        got = repr(unknown[0]) if unknown else "none"
        raise FormSketchError(f"layers: expected some of {', '.join(LAYERS)}, got {got}")
    x0, y0, x1, y1 = evaluation.outline.bounds_mm
    ticks = mark_ticks(evaluation)
    x0, x1 = min(x0, float(ticks.real.min())), max(x1, float(ticks.real.max()))
    y0, y1 = min(y0, float(ticks.imag.min())), max(y1, float(ticks.imag.max()))
    placing = Placing(_ROOM_MM - x0, _ROOM_MM + y1)
    drawn = {name: _layer(name, evaluation, placing) for name in LAYERS if name in layers}
    return PlainLayers(
        max(x1 - x0 + 2 * _ROOM_MM, 5.0),
        max(y1 - y0 + 2 * _ROOM_MM, 5.0),
        {name: items for name, items in drawn.items() if items},
        title_text(evaluation.design.title),
    )


def _layer(name: str, evaluation: Evaluation, placing: Placing) -> list[Item]:
    if name == "outline":
        return _silhouette(evaluation, placing)
    if name == "centreline":
        return [Path(placing.points(evaluation.trace.z_mm), Stroke.CONTINUOUS_NARROW)]
    if name == "marks":
        return [Path(placing.points(tick), Stroke.CONTINUOUS_NARROW) for tick in mark_ticks(evaluation)]
    tubes = tuple(evaluation.spans.tube_diameter_mm.tolist())
    part = FormPart("form", "", evaluation, tubes)
    return part.tubes(placing)


def _silhouette(evaluation: Evaluation, placing: Placing) -> list[Item]:
    """The edge of all the wire covers, holes included."""
    rings = [
        shapely.get_coordinates(ring)
        for polygon in shapely.get_parts(evaluation.outline.silhouette)
        for ring in shapely.get_rings(polygon)
    ]
    return [
        Path(placing.points(ring[:-1, 0] + 1j * ring[:-1, 1]), Stroke.CONTINUOUS_NARROW, closed=True)
        for ring in rings
    ]


def dxf_text(plain: PlainLayers) -> str:
    """The layers as a DXF R2010, y up, 1 unit 1 mm. Raises `FormSketchError` when ezdxf is not installed."""
    try:
        import ezdxf
    except ImportError:
        raise FormSketchError(
            "DXF: expected the package ezdxf to be installed (python -m pip install 'formsketch[dxf]')"
        ) from None
    ezdxf.options.write_fixed_meta_data_for_testing = True  # the same drawing gives the same bytes
    document = ezdxf.new("R2010", setup=False)
    document.header["$INSUNITS"] = _UNIT_MM
    document.header["$MEASUREMENT"] = 1
    space = document.modelspace()
    for name, items in plain.layers.items():
        layer = name.upper()
        document.layers.add(layer)
        for item in items:
            if isinstance(item, Circle):
                x, y = item.centre
                space.add_circle((x, plain.height_mm - y), item.radius_mm, dxfattribs={"layer": layer})
            elif isinstance(item, Path):
                points = np.column_stack((item.points[:, 0], plain.height_mm - item.points[:, 1]))
                space.add_lwpolyline(
                    points.tolist(), format="xy", close=item.closed, dxfattribs={"layer": layer}
                )
    stored = io.StringIO()
    document.write(stored)
    return stored.getvalue()
