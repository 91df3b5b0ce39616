"""Plain geometry for cutters and plotters: edges, centreline, marks and tubes as lines, in true mm.

SVG holds strokes only, one group a layer; DXF one layer each, its unit the millimetre. Besides the finished
form there are the form as bent and as hammered, the straight wire, the gauges and the check bars, each under
the one before it.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.drawing import Circle, Group, Item, Path, Sheet, Stroke, bounds
from formsketch.template.form_part import FormPart
from formsketch.template.gauge_part import gauge_lines, gauge_rows
from formsketch.template.lettering import title_text
from formsketch.template.moved import Move
from formsketch.template.plan import Placing
from formsketch.template.plan_labels import mark_ticks
from formsketch.template.sheet_style import BARS, stood_up
from formsketch.template.stages import (
    evaluated_as_bent,
    evaluated_as_hammered,
    hammered_apart,
    piles_up,
)
from formsketch.template.title_block import check_bar
from formsketch.template.wire_strip import mark_places_mm
from formsketch.values import Value

# Of the finished form; what is taken when nothing is said.
LAYERS = ("outline", "centreline", "marks", "tubes")
BENT_LAYERS = tuple(f"bent-{name}" for name in LAYERS)
HAMMERED_LAYERS = tuple(f"hammered-{name}" for name in LAYERS[:3])
WIRE_LAYERS = ("wire-outline", "wire-marks")
ALL_LAYERS = (*LAYERS, *BENT_LAYERS, *HAMMERED_LAYERS, *WIRE_LAYERS, "gauges", "bars")
_ROOM_MM, _BETWEEN_MM = 2.0, 6.0
_MARK_BEYOND_MM, _GAUGE_MM, _GAUGE_APART_MM = 2.0, 30.0, 4.0
_LEAST_SHEET_MM = 5.0
_LINE = Stroke.CONTINUOUS_NARROW
_DECIMALS, _SAME_PLACE_MM = 6, 1e-6  # the last digits of a float differ from run to run
_UNIT_MM = 4  # $INSUNITS, DXF reference: 4 is millimetres

Layers = dict[str, list[Item]]


class PlainLayers(Value, frozen=True):
    """Lines of the chosen layers, y down from the upper left corner of a sheet just large enough."""

    width_mm: float
    height_mm: float
    layers: Layers
    title: str

    def sheet(self) -> Sheet:
        """One sheet, one group a layer."""
        groups = [Group(name, items) for name, items in self.layers.items()]
        return Sheet(self.width_mm, self.height_mm, self.title, groups)


def plain_layers(evaluation: Evaluation, layers: Sequence[str] = LAYERS) -> PlainLayers:
    """The chosen layers as plain lines. Raises `FormSketchError` for an unknown layer."""
    unknown = [name for name in layers if name not in ALL_LAYERS]
    if unknown or not layers:
        got = repr(unknown[0]) if unknown else "none"
        raise FormSketchError(f"layers: expected some of {', '.join(ALL_LAYERS)}, got {got}")
    drawn: Layers = {}
    wide, low = 0.0, _ROOM_MM
    for names, make in _MAKERS:
        chosen = {name: items for name, items in _wanted(names, make, evaluation, layers) if items}
        if not chosen:
            continue
        x0, y0, x1, y1 = bounds(item for items in chosen.values() for item in items)
        move = Move(_ROOM_MM - x0, low - y0)
        drawn |= {name: [move.item(item) for item in items] for name, items in chosen.items()}
        wide, low = max(wide, x1 - x0), low + y1 - y0 + _BETWEEN_MM
    return PlainLayers(
        max(wide + 2 * _ROOM_MM, _LEAST_SHEET_MM),
        max(low - _BETWEEN_MM + _ROOM_MM, _LEAST_SHEET_MM),
        drawn,
        title_text(evaluation.design.title),
    )


def _wanted(
    names: Sequence[str],
    make: Callable[[Evaluation, Sequence[str]], Layers],
    evaluation: Evaluation,
    layers: Sequence[str],
) -> Iterator[tuple[str, list[Item]]]:
    wanted = [name for name in names if name in layers]
    if wanted:
        yield from make(evaluation, wanted).items()


def _finished(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    return _form(evaluation, evaluation, names)


def _bent(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    return _form(evaluated_as_bent(evaluation), evaluation, names)


def _hammered(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    """In one piece, or where its loops would lie on each other in lengths beside each other."""
    whole = evaluated_as_hammered(evaluation)
    if not piles_up(evaluation, whole):
        return _form(whole, evaluation, names)
    made: Layers = {name: [] for name in names}
    x = 0.0
    for length in hammered_apart(evaluation):
        layers = _form(evaluate(length.design), evaluation, names)
        left, _, right, _ = bounds(item for items in layers.values() for item in items)
        for name, items in layers.items():
            made[name] += [Move(x - left).item(item) for item in items]
        x += right - left + _BETWEEN_MM
    return made


def _form(stage: Evaluation, finished: Evaluation, names: Sequence[str]) -> Layers:
    placing = Placing(0.0, 0.0)
    tubes = tuple(finished.spans.tube_diameter_mm.tolist())
    made: dict[str, Callable[[], list[Item]]] = {
        "outline": lambda: _silhouette(stage, placing),
        "centreline": lambda: [Path(placing.points(stage.trace.z_mm), _LINE)],
        "marks": lambda: [Path(placing.points(tick), _LINE) for tick in mark_ticks(stage)],
        "tubes": lambda: FormPart("form", "", stage, tubes).tubes(placing),
    }
    return {name: made[name.rpartition("-")[2]]() for name in names}


def _silhouette(evaluation: Evaluation, placing: Placing) -> list[Item]:
    """The edge of all the wire covers, gaps in it included, and the holes drilled through its ends.

    What touches but for rounding is one.
    """
    rings = [
        _from_its_least(shapely.get_coordinates(ring)[:-1])
        for polygon in shapely.get_parts(shapely.set_precision(evaluation.outline.silhouette, _SAME_PLACE_MM))
        for ring in shapely.get_rings(polygon)
    ]
    rings.sort(key=lambda ring: tuple(ring[0].tolist()))
    holes = evaluation.holes_on(evaluation.trace)
    return [
        *(Path(placing.points(ring[:, 0] + 1j * ring[:, 1]), _LINE, closed=True) for ring in rings),
        *(Circle(placing.point(hole.centre_mm), hole.radius_mm * placing.scale, _LINE) for hole in holes),
    ]


def _from_its_least(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """A ring that begins at its leftmost place, wherever uniting made it begin; rounded, see `_DECIMALS`."""
    ring = np.round(ring, _DECIMALS) + 0.0
    return np.roll(ring, -int(np.lexsort((ring[:, 1], ring[:, 0]))[0]), axis=0)


def _wire(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    """The straight wire from its cut start at 0, and its marks."""
    half = evaluation.diameter_mm / 2
    long, reach = evaluation.cut_length_mm, half + _MARK_BEYOND_MM
    edge = np.array([[0.0, -half], [long, -half], [long, half], [0.0, half]])
    marks: list[Item] = [
        Path(np.array([[at, -reach], [at, reach]]), _LINE) for at in mark_places_mm(evaluation)
    ]
    made: Layers = {"wire-outline": [Path(edge, _LINE, closed=True)], "wire-marks": marks}
    return {name: made[name] for name in names}


def _gauges(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    """Two lines for every width to reach, widest first."""
    items: list[Item] = []
    y = 0.0
    for row in gauge_rows(evaluation):
        items += gauge_lines(row, 0.0, y + row.width_mm / 2, _GAUGE_MM)
        y += row.width_mm + _GAUGE_APART_MM
    return {"gauges": items}


def _bars(evaluation: Evaluation, names: Sequence[str]) -> Layers:
    """100 mm and 4 in across, and up: what a cutter makes of them says whether it is true."""
    items: list[Item] = []
    for number, (length, _, _) in enumerate(BARS, start=1):
        bar = check_bar(0.0, 0.0, length)
        items += [Move(0.0, number * _GAUGE_APART_MM).item(one) for one in bar]
        items += [Move(-number * _GAUGE_APART_MM, 0.0).item(stood_up(one)) for one in bar]
    return {"bars": items}


_MAKERS: tuple[tuple[Sequence[str], Callable[[Evaluation, Sequence[str]], Layers]], ...] = (
    (LAYERS, _finished),
    (BENT_LAYERS, _bent),
    (HAMMERED_LAYERS, _hammered),
    (WIRE_LAYERS, _wire),
    (("gauges",), _gauges),
    (("bars",), _bars),
)


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
                ((x, y),) = _turned_up(np.array([item.centre]), plain.height_mm)
                radius = round(item.radius_mm, _DECIMALS)
                space.add_circle((x, y), radius, dxfattribs={"layer": layer})
            elif isinstance(item, Path):
                points = _turned_up(item.points, plain.height_mm)
                space.add_lwpolyline(points, format="xy", close=item.closed, dxfattribs={"layer": layer})
    # ezdxf would name the classes in use in the order of a set, which differs from run to run.
    for kind in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(kind)
    stored = io.StringIO()
    document.write(stored)
    return stored.getvalue()


def _turned_up(points: NDArray[np.float64], height_mm: float) -> list[list[float]]:
    """Places with y up."""
    turned = np.column_stack((points[:, 0], height_mm - points[:, 1]))
    rounded: list[list[float]] = (np.round(turned, _DECIMALS) + 0.0).tolist()
    return rounded
