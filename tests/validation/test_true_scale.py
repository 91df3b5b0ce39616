"""Lengths, places and letters read back from the written files with independent libraries, in mm.

Sources: plane geometry (closed forms, named beside each check); ISO 128-2:2020, line widths and dash
lengths in line widths [M hi]; ISO 3098 nominal size = height of capitals [M hi]; PDF unit 1/72 inch
(ISO 32000-1, 8.3.2.3) [P]; inch 25.4 mm exactly [P]. SVG is read by svgelements and drawn by resvg, PDF is
read and drawn by PDFium. svgelements takes a millimetre 5e-7 of itself too small, hence RELATIVE.
"""

import ctypes
import io
import math
from collections.abc import Callable

import numpy as np
import pypdfium2 as pdfium
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from formsketch.template.drawing import Circle, Group, Item, MultiPath, Path, Sheet, Stroke, Text, text_box
from formsketch.template.pdf import pdf_bytes
from formsketch.template.png import png_bytes
from formsketch.template.svg import svg_text

CLOSE_MM = 1e-4
RELATIVE = 1e-6
DOTS_PER_MM = 20.0
ONE_DOT_MM = 1.0 / DOTS_PER_MM


def sheet_of(*items: Item, width_mm: float = 210.0, height_mm: float = 297.0) -> Sheet:
    return Sheet(width_mm, height_mm, "Scale", [Group("content", items)])


def read_svg(sheet: Sheet) -> list:
    """Shapes in mm: at 25.4 pixels an inch svgelements' pixel is a millimetre."""
    read = svgelements.SVG.parse(io.StringIO(svg_text(sheet)), ppi=25.4)
    return [shape for shape in read.elements() if isinstance(shape, svgelements.Shape)]


def svg_points(shape: svgelements.Path) -> NDArray[np.float64]:
    drawn = [segment.end for segment in shape if not isinstance(segment, svgelements.Close)]
    return np.array([[point.x, point.y] for point in drawn])


def pdf_segments(sheet: Sheet) -> NDArray[np.float64]:
    """End points of the first path's segments, in mm from the sheet's top left corner, y down."""
    document = pdfium.PdfDocument(pdf_bytes([sheet]))
    page = document[0]
    path = next(iter(page.get_objects([pdfium.raw.FPDF_PAGEOBJ_PATH])))
    x, y, points = ctypes.c_float(), ctypes.c_float(), []
    for index in range(pdfium.raw.FPDFPath_CountSegments(path)):
        segment = pdfium.raw.FPDFPath_GetPathSegment(path, index)
        assert pdfium.raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append([x.value * 25.4 / 72.0, sheet.height_mm - y.value * 25.4 / 72.0])
    document.close()
    return np.array(points)


def drawn_svg(sheet: Sheet) -> NDArray[np.float64]:
    return np.asarray(Image.open(io.BytesIO(png_bytes(sheet, DOTS_PER_MM))).convert("RGB"), dtype=float)


def drawn_pdf(sheet: Sheet) -> NDArray[np.float64]:
    document = pdfium.PdfDocument(pdf_bytes([sheet]))
    picture = document[0].render(scale=DOTS_PER_MM * 25.4 / 72.0).to_numpy()[:, :, ::-1].astype(float)
    document.close()
    return picture


both_drawn = pytest.mark.parametrize("drawn", [drawn_svg, drawn_pdf])
Drawn = Callable[[Sheet], NDArray[np.float64]]


def ink_box(picture: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Box of the dots more than half black, in mm."""
    rows, columns = np.nonzero(picture @ np.full(3, 1 / 3) < 128.0)
    ends = columns.min(), rows.min(), columns.max() + 1, rows.max() + 1
    return tuple(float(end) * ONE_DOT_MM for end in ends)  # type: ignore[return-value]


def test_svg_sheet_has_its_size_in_millimetres() -> None:
    read = svgelements.SVG.parse(io.StringIO(svg_text(sheet_of(width_mm=215.9, height_mm=279.4))), ppi=25.4)
    assert (read.width, read.height) == pytest.approx((215.9, 279.4), rel=RELATIVE)  # US letter, 8.5 x 11 in


def test_pdf_pages_have_their_sizes() -> None:
    sheets = [sheet_of(), sheet_of(width_mm=215.9, height_mm=279.4), sheet_of(width_mm=85.6, height_mm=53.98)]
    document = pdfium.PdfDocument(pdf_bytes(sheets))
    assert len(document) == 3
    for page, sheet in zip(document, sheets, strict=True):
        sizes_mm = [side * 25.4 / 72.0 for side in page.get_size()]
        assert sizes_mm == pytest.approx([sheet.width_mm, sheet.height_mm], abs=CLOSE_MM)
    assert document[1].get_size() == (612.0, 792.0)  # letter in whole points: 8.5 x 72, 11 x 72
    document.close()


def test_lengths_read_back_from_svg() -> None:
    """The diagonal of a 3-4-5 triangle; the outline of a regular 360-gon, 2 n r sin(pi/n)."""
    turns = np.arange(360) * (2.0 * math.pi / 360.0)
    gon = np.column_stack([100.0 + 25.0 * np.cos(turns), 100.0 + 25.0 * np.sin(turns)])
    diagonal = Path(np.array([[10.0, 10.0], [100.0, 130.0]]), Stroke.CONTINUOUS_WIDE)
    shapes = read_svg(sheet_of(diagonal, Path(gon, Stroke.CONTINUOUS_NARROW, closed=True)))
    assert shapes[0].length() == pytest.approx(150.0, abs=CLOSE_MM)
    # 360 ends rounded to 1e-4 mm: the sum may be off by more than one rounding, hence 1e-3.
    assert shapes[1].length() == pytest.approx(720.0 * 25.0 * math.sin(math.pi / 360.0), abs=1e-3)


def test_circles_and_boxes_read_back_from_svg() -> None:
    ring = np.array([[20.0, 30.0], [120.5, 30.0], [120.5, 90.25]])
    shapes = read_svg(
        sheet_of(Circle((60.0, 70.0), 8.276, Stroke.CONTINUOUS_NARROW), MultiPath([ring], "#c0c0c0"))
    )
    circle, area = shapes
    assert (circle.cx, circle.cy, circle.rx, circle.ry) == pytest.approx(
        (60.0, 70.0, 8.276, 8.276), rel=RELATIVE
    )
    assert circle.bbox() == pytest.approx((51.724, 61.724, 68.276, 78.276), abs=CLOSE_MM)
    assert area.bbox() == pytest.approx((20.0, 30.0, 120.5, 90.25), abs=CLOSE_MM)


def test_line_widths_read_back_from_svg() -> None:
    """ISO 128-2: widths from 0.13, 0.18, 0.25, 0.35, 0.5 ...; wide to narrow 2:1."""
    line = np.array([[10.0, 10.0], [100.0, 10.0]])
    shapes = read_svg(sheet_of(*(Path(line, stroke) for stroke in Stroke)))
    assert [shape.stroke_width for shape in shapes] == pytest.approx(
        [0.5, 0.25, 0.25, 0.25, 0.18], rel=RELATIVE
    )


def test_pdf_path_stands_where_it_should() -> None:
    corners = np.array([[10.0, 10.0], [190.0, 10.0], [190.0, 287.0], [10.0, 287.0]])
    read = pdf_segments(sheet_of(Path(corners, Stroke.CONTINUOUS_WIDE, closed=True)))
    assert read[:4] == pytest.approx(corners, abs=CLOSE_MM)


def test_pdf_circle_keeps_its_radius() -> None:
    """Four Bezier arcs: ends exact, between them at most 2.73e-4 r out (closed form for kappa 0.5523)."""
    read = pdf_segments(sheet_of(Circle((60.0, 70.0), 20.0, Stroke.CONTINUOUS_NARROW)))
    start, controls = read[0], read[1:13].reshape(4, 3, 2)
    u = np.linspace(0.0, 1.0, 101)[:, None]
    for first, second, end in controls:
        arc = (1 - u) ** 3 * start + 3 * u * (1 - u) ** 2 * first + 3 * u**2 * (1 - u) * second + u**3 * end
        assert np.hypot(*(arc - [60.0, 70.0]).T) == pytest.approx(
            np.full(101, 20.0), abs=2.73e-4 * 20.0 + CLOSE_MM
        )
        start = end


places = st.floats(-3_000.0, 3_000.0, allow_subnormal=False)
polylines = st.lists(st.tuples(places, places), min_size=2, max_size=20)


@settings(max_examples=50, deadline=None)
@given(polylines)
def test_any_polyline_reads_back(points: list[tuple[float, float]]) -> None:
    sheet = sheet_of(Path(np.array(points), Stroke.CONTINUOUS_NARROW))
    (shape,) = read_svg(sheet)
    assert svg_points(shape) == pytest.approx(np.array(points), abs=1e-3, rel=RELATIVE)
    assert pdf_segments(sheet) == pytest.approx(np.array(points), abs=1e-3)


@pytest.mark.parametrize(
    ("dots_per_mm", "size"), [(8.0, (1680, 2376)), (11.811, (2480, 3508)), (3.3, (693, 980))]
)
def test_picture_has_the_size_it_should(dots_per_mm: float, size: tuple[int, int]) -> None:
    """A4, side times density to the nearest dot; 300 dpi is 11.811 dots per mm, A4 2480 x 3508."""
    picture = Image.open(io.BytesIO(png_bytes(sheet_of(), dots_per_mm)))
    assert picture.size == size
    assert picture.info["dpi"] == pytest.approx((25.4 * dots_per_mm,) * 2, rel=1e-4)


@both_drawn
def test_drawn_bar_measures_100_mm(drawn: Drawn) -> None:
    """On a sheet whose sides are no whole number of dots the scale must not stretch."""
    bar = np.array([[20.0, 10.0], [120.0, 10.0], [120.0, 15.0], [20.0, 15.0]])
    sheet = sheet_of(Path(bar, None, closed=True, fill="#000000"), width_mm=140.33, height_mm=30.04)
    assert ink_box(drawn(sheet)) == pytest.approx((20.0, 10.0, 120.0, 15.0), abs=1.01 * ONE_DOT_MM)


@both_drawn
@pytest.mark.parametrize(
    ("stroke", "parts_mm"),
    [(Stroke.DASHED_NARROW, [3.0, 0.75] * 5), (Stroke.LONG_DASH_DOT_NARROW, [6.0, 0.75, 0.125, 0.75] * 3)],
)
def test_dashes_have_iso_lengths(drawn: Drawn, stroke: Stroke, parts_mm: list[float]) -> None:
    """In widths of the 0.25 mm line: dash 12, long dash 24, dot 0.5, gap 3."""
    sheet = sheet_of(Path(np.array([[5.0, 5.125], [45.0, 5.125]]), stroke), width_mm=50.0, height_mm=10.0)
    row = drawn(sheet)[round(5.125 * DOTS_PER_MM)].mean(axis=1)
    ink_mm = (255.0 - row) / 255.0 * ONE_DOT_MM
    starts_mm = 5.0 + np.cumsum([0.0, *parts_mm])
    for start_mm, length_mm in zip(starts_mm[::2], parts_mm[::2], strict=False):
        # All the ink from the middle of the gap before to the middle of the gap after.
        ends = round((start_mm - 0.375) * DOTS_PER_MM), round((start_mm + length_mm + 0.375) * DOTS_PER_MM)
        assert ink_mm[slice(*ends)].sum() == pytest.approx(length_mm, abs=0.02)


@both_drawn
@pytest.mark.parametrize(
    ("baseline", "angle_deg", "axis", "from_mm", "to_mm"),
    [
        ("alphabetic", 0.0, 1, 40.0, 50.0),
        ("middle", 0.0, 1, 45.0, 55.0),
        ("alphabetic", -90.0, 0, 40.0, 50.0),  # reads upwards, the letters' tops to the left
        ("alphabetic", 90.0, 0, 50.0, 60.0),
        ("middle", 180.0, 1, 45.0, 55.0),
    ],
)
def test_capitals_have_the_height_asked_for(
    drawn: Drawn, baseline: str, angle_deg: float, axis: int, from_mm: float, to_mm: float
) -> None:
    """ISO 3098: the nominal size is the height of the capitals."""
    text = Text((50.0, 50.0), "H", 10.0, "middle", baseline, angle_deg)  # type: ignore[arg-type]
    box = ink_box(drawn(sheet_of(text, width_mm=100.0, height_mm=100.0)))
    assert (box[axis], box[axis + 2]) == pytest.approx((from_mm, to_mm), abs=1.5 * ONE_DOT_MM)
    across = 1 - axis
    # The H stands in the middle of its advance but for the font's side bearings, 0.098 and 0.099 em.
    assert (box[across] + box[across + 2]) / 2.0 == pytest.approx(50.0, abs=1.5 * ONE_DOT_MM)


@both_drawn
@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("angle_deg", [0.0, 30.0, -90.0, 180.0])
def test_lettering_stays_in_its_box(drawn: Drawn, anchor: str, angle_deg: float) -> None:
    text = Text((40.0, 40.0), "Hg |gauge| 16H", 3.5, anchor, "middle", angle_deg)  # type: ignore[arg-type]
    x0, y0, x1, y1 = text_box(text)
    inked = ink_box(drawn(sheet_of(text, width_mm=80.0, height_mm=80.0)))
    assert inked[0] > x0 - ONE_DOT_MM and inked[1] > y0 - ONE_DOT_MM
    assert inked[2] < x1 + ONE_DOT_MM and inked[3] < y1 + ONE_DOT_MM
    if angle_deg % 90.0 == 0.0:  # and is no larger than it need be: an H begins 0.098 em into its advance
        slack_mm = 0.1 * text.font_size_mm + ONE_DOT_MM
        assert max(np.abs(np.subtract(inked, (x0, y0, x1, y1)))) < slack_mm


@both_drawn
def test_holes_stay_open(drawn: Drawn) -> None:
    """Two squares turning the same way: even-odd leaves the inner one open, non-zero fills it."""
    outer = np.array([[10.0, 10.0], [40.0, 10.0], [40.0, 40.0], [10.0, 40.0]])
    inner = np.array([[20.0, 20.0], [30.0, 20.0], [30.0, 30.0], [20.0, 30.0]])
    aside = np.array([50.0, 0.0])
    sheet = sheet_of(
        MultiPath([outer, inner], "#c08040"),
        MultiPath([outer + aside, inner + aside], "#c08040", fill_rule="nonzero"),
        width_mm=100.0,
        height_mm=50.0,
    )
    picture = drawn(sheet)

    def at(x: float, y: float) -> list[float]:
        return picture[round(y * DOTS_PER_MM), round(x * DOTS_PER_MM)].tolist()

    brass, paper = [192.0, 128.0, 64.0], [255.0, 255.0, 255.0]
    assert [at(15, 15), at(25, 25), at(5, 5)] == [brass, paper, paper]
    assert [at(65, 15), at(75, 25), at(55, 5)] == [brass, brass, paper]
