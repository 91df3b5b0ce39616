"""Written sheets read back by other programs' eyes: svgelements, lxml, PDFium and ezdxf, all in mm, y down.

Sources: PDF unit 1/72 inch (ISO 32000-1, 8.3.2.3) [P]; inch 25.4 mm exactly [P]. At 25.4 pixels an inch
svgelements' pixel is a millimetre, which it takes 5e-7 of itself too small.
"""

import ctypes
import io
from dataclasses import dataclass
from functools import cache

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import svgelements
from lxml import etree
from numpy.typing import NDArray
from pypdfium2 import raw

from formsketch.design.file_format import load_design
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.shipped import demo_design_files

POINT_MM = 25.4 / 72
SVG = "{http://www.w3.org/2000/svg}"
DEMOS = {file.name.removesuffix(".formsketch.json"): file for file in demo_design_files()}

Points = NDArray[np.float64]


@cache
def demo(name: str) -> Evaluation:
    """A demo design, evaluated once in each process."""
    return evaluate(load_design(DEMOS[name]).design)


@dataclass(frozen=True, eq=False)
class Shape:
    """What a reader found: all its points and, for a circle, its radius; `groups` are those it stands in."""

    points: Points
    radius_mm: float | None = None
    groups: tuple[str, ...] = ()

    @property
    def box(self) -> Points:
        """x0, y0, x1, y1."""
        reach = self.radius_mm or 0.0
        return np.concatenate((self.points.min(axis=0) - reach, self.points.max(axis=0) + reach))

    @property
    def length_mm(self) -> float:
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())


def box_of(shapes: list[Shape]) -> Points:
    """Box round shapes, their lines taken without width."""
    boxes = np.array([shape.box for shape in shapes])
    return np.concatenate((boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)))


def size_of(shapes: list[Shape]) -> Points:
    """Width and height."""
    box = box_of(shapes)
    return np.asarray(box[2:] - box[:2])


# SVG


def svg_shapes(text: str) -> list[Shape]:
    """Every line and circle, as svgelements has them, in drawing order."""
    read = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    shapes: list[Shape] = []

    def look(group: list[object], within: tuple[str, ...]) -> None:
        for one in group:
            if isinstance(one, svgelements.Group):
                look(one, (*within, one.id) if one.id else within)
            elif isinstance(one, svgelements.Circle):
                shapes.append(Shape(np.array([[one.cx, one.cy]], dtype=float), float(one.rx), within))
            elif isinstance(one, svgelements.Path):
                ends = [segment.end for segment in one if not isinstance(segment, svgelements.Close)]
                shapes.append(Shape(np.array([[end.x, end.y] for end in ends]), None, within))

    look(read, ())
    return shapes


def svg_shapes_by_xml(text: str) -> list[Shape]:
    """The same by an XML reader alone: paths of straight lines, numbers as they stand."""
    shapes: list[Shape] = []

    def look(element: etree._Element, within: tuple[str, ...]) -> None:
        for one in element:
            if one.tag == f"{SVG}g":
                look(one, (*within, one.get("id")))
            elif one.tag == f"{SVG}circle":
                centre = np.array([[float(one.get("cx")), float(one.get("cy"))]])
                shapes.append(Shape(centre, float(one.get("r")), within))
            elif one.tag == f"{SVG}path":
                numbers = one.get("d").replace("M", " ").replace("L", " ").replace("Z", " ").split()
                shapes.append(Shape(np.array(numbers, dtype=float).reshape(-1, 2), None, within))

    look(etree.fromstring(text.encode()), ())
    return shapes


def by_group(shapes: list[Shape]) -> dict[str, list[Shape]]:
    """Shapes under the name of every group they stand in, however deep."""
    found: dict[str, list[Shape]] = {}
    for shape in shapes:
        for name in shape.groups:
            found.setdefault(name, []).append(shape)
    return found


# PDF


@dataclass(frozen=True, eq=False)
class ReadPage:
    """One page: its size in mm, and its lines in drawing order."""

    width_mm: float
    height_mm: float
    shapes: list[Shape]


def pdf_pages(data: bytes) -> list[ReadPage]:
    """Every page as PDFium has it."""
    document = pdfium.PdfDocument(data)
    pages = []
    for page in document:
        width, height = (side * POINT_MM for side in page.get_size())
        found = page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])
        pages.append(ReadPage(width, height, [_pdf_shape(one.raw, height) for one in found]))
    document.close()
    return pages


def _pdf_shape(path: object, height_mm: float) -> Shape:
    places: list[tuple[float, float]] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    start, curved = (0.0, 0.0), False
    for at in range(raw.FPDFPath_CountSegments(path)):
        segment = raw.FPDFPath_GetPathSegment(path, at)
        kind = raw.FPDFPathSegment_GetType(segment)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        place = x.value, y.value
        if kind == raw.FPDF_SEGMENT_MOVETO:
            start = place
        elif place == start and raw.FPDFPathSegment_GetClose(segment):
            continue  # PDFium draws the closing line too
        places.append(place)
        curved = curved or kind == raw.FPDF_SEGMENT_BEZIERTO
    points = np.array(places) * (POINT_MM, -POINT_MM) + (0.0, height_mm)
    if not curved:
        return Shape(points)
    # Four arcs; their ends and handles all lie on the square about the circle.
    low, high = points.min(axis=0), points.max(axis=0)
    return Shape((low + high)[None] / 2, float((high - low).mean() / 2))


def farthest_mm(shape: Shape, other: Shape) -> float:
    """How far apart two readings of one shape are at most; infinite when they are not alike."""
    if (shape.radius_mm is None) != (other.radius_mm is None) or len(shape.points) != len(other.points):
        return np.inf
    reach = abs((shape.radius_mm or 0.0) - (other.radius_mm or 0.0))
    return float(np.hypot(*(shape.points - other.points).T).max()) + reach


# DXF


def dxf_shapes(text: str) -> dict[str, list[Shape]]:
    """Lines and circles by layer; the drawing's unit has to be the millimetre. y up is turned down."""
    document = ezdxf.read(io.StringIO(text))
    assert document.header["$INSUNITS"] == 4  # DXF reference: 4 is millimetres [P]
    found: dict[str, list[Shape]] = {}
    for one in document.modelspace():
        if one.dxftype() == "CIRCLE":
            shape = Shape(np.array([[one.dxf.center.x, -one.dxf.center.y]]), float(one.dxf.radius))
        else:
            shape = Shape(np.array(one.get_points("xy")) * (1.0, -1.0))
        found.setdefault(one.dxf.layer, []).append(shape)
    return found


def pdf_windows(data: bytes, page_number: int) -> list[Points]:
    """The window each line of a page is clipped to, x0, y0, x1, y1, in drawing order; the page for none."""
    document = pdfium.PdfDocument(data)
    page = document[page_number]
    width, height = (side * POINT_MM for side in page.get_size())
    windows = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        clip = raw.FPDFPageObj_GetClipPath(one.raw)
        window = np.array([0.0, 0.0, width, height])
        for path in range(max(0, raw.FPDFClipPath_CountPaths(clip))):
            corners = []
            for at in range(raw.FPDFClipPath_CountPathSegments(clip, path)):
                raw.FPDFPathSegment_GetPoint(raw.FPDFClipPath_GetPathSegment(clip, path, at), x, y)
                corners.append((x.value * POINT_MM, height - y.value * POINT_MM))
            window = np.concatenate((np.min(corners, axis=0), np.max(corners, axis=0)))
        windows.append(window)
    document.close()
    return windows
