"""Templates set on several sheets, read back with independent libraries: every length within 0.01 mm.

Sources: A4, ISO 216; Letter 8.5 x 11 in; inch 25.4 mm exactly; PDF unit 1/72 inch (ISO 32000-1, 8.3.2.3)
[P]; $INSUNITS 4 is millimetres (DXF reference) [P]. SVG is read by svgelements, PDF by PDFium, DXF by ezdxf.
"""

import csv
import ctypes
import io
import itertools
import math
from pathlib import Path

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
import svgelements
from numpy.typing import NDArray
from pypdfium2 import raw

from formsketch.design.file_format import load_design
from formsketch.design.transforms import scaled_form
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.bending_data import bending_csv
from formsketch.template.papers import paper_named
from formsketch.template.pdf import pdf_bytes
from formsketch.template.plain import dxf_text, plain_layers
from formsketch.template.printed import Choice, printed_sheets
from formsketch.template.svg import svg_text

CLOSE_MM, ENVELOPE_MM, TILED_MM = 1e-3, 0.01, 0.02
POINT_MM = 25.4 / 72
DEMOS = demo_design_files()


def demo(file: Path) -> Evaluation:
    return evaluate(load_design(file).design)


def svg_groups(text: str) -> dict[str, svgelements.Group]:
    read = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    return {one.id: one for one in read.elements() if isinstance(one, svgelements.Group) and one.id}


def svg_box(group: svgelements.Group) -> NDArray[np.float64]:
    shapes = group.select(lambda one: isinstance(one, svgelements.Shape))
    boxes = np.array([shape.bbox(with_stroke=False) for shape in shapes])
    return np.concatenate((boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_forms_gauges_and_bars_read_back_from_svg(file: Path, paper: str) -> None:
    evaluation = demo(file)
    choice = Choice(("bent", "finished", "gauges", "wire"), paper_named(paper))
    found: dict[str, svgelements.Group] = {}
    for sheet in printed_sheets(evaluation, choice):
        groups = svg_groups(svg_text(sheet))
        for name, length in (("metric", 100.0), ("inch", 101.6)):
            along, up = svg_box(groups[f"bar-across-{name}"]), svg_box(groups[f"bar-down-{name}"])
            assert along[2] - along[0] == pytest.approx(length, abs=CLOSE_MM)
            assert up[3] - up[1] == pytest.approx(length, abs=CLOSE_MM)
        for name, group in groups.items():
            found.setdefault(name, group)
    box = svg_box(found["form-outline"])
    assert box[2:] - box[:2] == pytest.approx(evaluation.envelope_mm, abs=ENVELOPE_MM)
    for number in range(1, 99):
        if f"gauge-{number}" not in found:
            break
        slot = svg_box(found[f"gauge-{number}"])
        widths = [f"{w:.6f}" for w in evaluation.spans.widest_mm]
        assert any(abs(slot[3] - slot[1] - float(w)) < 0.01 for w in widths)
    tubes = evaluation.spans.tube_diameter_mm
    drawn = [
        2 * float(one.rx)
        for one in found.get("bent-tubes", svgelements.Group()).select(
            lambda one: isinstance(one, svgelements.Circle)
        )
    ]
    assert np.sort(drawn) == pytest.approx(np.sort(tubes[np.isfinite(tubes)]), abs=0.01)


def page_points(data: bytes) -> list[list[NDArray[np.float64]]]:
    """Every path of every page as points in mm from the page's lower left corner."""
    pages = []
    for page in pdfium.PdfDocument(data):
        paths = []
        for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            points = []
            for at in range(raw.FPDFPath_CountSegments(one.raw)):
                segment = raw.FPDFPath_GetPathSegment(one.raw, at)
                x, y = ctypes.c_float(), ctypes.c_float()
                raw.FPDFPathSegment_GetPoint(segment, x, y)
                points.append((x.value * POINT_MM, y.value * POINT_MM))
            paths.append(np.array(points))
        pages.append(paths)
    return pages


def test_tiles_put_together_from_the_pdf_reproduce_the_form() -> None:
    design = load_design(next(file for file in DEMOS if "spring-tide" in file.name)).design
    evaluation = evaluate(scaled_form(design, 6.0))
    choice = Choice(("finished",), paper_named("a4"))
    sheets = printed_sheets(evaluation, choice)
    tiled = [at for at, sheet in enumerate(sheets) if any(g.name == "tile" for g in sheet.groups)]
    pages = page_points(pdf_bytes(sheets))
    longest = len(evaluation.trace.z_mm)
    # The centreline is the one path with a point for every sample; tiles are laid by the known step.
    lines = [next(path for path in pages[at] if len(path) == longest) for at in tiled]
    body = choice.paper.usable_width_mm - 10.0
    for number, line in enumerate(lines):
        moved = line[:, 0] + number * (body - choice.overlap_mm)
        assert moved == pytest.approx(lines[0][:, 0], abs=TILED_MM)
        assert line[:, 1] == pytest.approx(lines[0][:, 1], abs=TILED_MM)
    wire = evaluation.trace.z_mm
    assert np.ptp(lines[0][:, 0]) == pytest.approx(np.ptp(wire.real), abs=TILED_MM)
    # What one tile's window leaves out the next one shows: windows overlap and cover the whole form.
    windows = [next(g for g in sheets[at].groups if g.name == "tile").clip for at in tiled]
    shown = [
        (number * (body - choice.overlap_mm), number * (body - choice.overlap_mm) + w[2] - w[0])
        for number, w in enumerate(windows)
        if w is not None
    ]
    assert all(b[0] < a[1] for a, b in itertools.pairwise(shown))
    assert shown[-1][1] >= evaluation.envelope_mm[0]


def test_a_printed_pixel_of_a_tile_is_where_its_window_says() -> None:
    design = load_design(next(file for file in DEMOS if "spring-tide" in file.name)).design
    evaluation = evaluate(scaled_form(design, 6.0))
    sheets = printed_sheets(evaluation, Choice(("finished",), paper_named("a4")))
    at = next(n for n, sheet in enumerate(sheets) if any(g.name == "tile" for g in sheet.groups))
    clip = next(g for g in sheets[at].groups if g.name == "tile").clip
    assert clip is not None
    per_mm = 4.0
    page = pdfium.PdfDocument(pdf_bytes(sheets))[at]
    dark = np.asarray(page.render(scale=per_mm * POINT_MM, grayscale=True).to_numpy()).squeeze() < 128
    band = dark[int((clip[1] + 12) * per_mm) : int((clip[3] - 12) * per_mm)]
    beyond = int((clip[2] + 0.6) * per_mm)
    assert band[:, : int(clip[2] * per_mm)].any() and not band[:, beyond:].any()


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_plain_geometry_reads_back_from_dxf_in_millimetres(file: Path) -> None:
    evaluation = demo(file)
    text = dxf_text(plain_layers(evaluation))
    document = ezdxf.read(io.StringIO(text))
    assert document.header["$INSUNITS"] == 4
    space = document.modelspace()
    rings = [np.array(line.get_points("xy")) for line in space.query('LWPOLYLINE[layer=="OUTLINE"]')]
    points = np.concatenate(rings)
    assert np.ptp(points, axis=0) == pytest.approx(evaluation.envelope_mm, abs=ENVELOPE_MM)
    area = shapely.Polygon(rings[0])
    for ring in rings[1:]:
        area = area.symmetric_difference(shapely.Polygon(ring))
    assert area.area == pytest.approx(evaluation.silhouette_area_mm2, rel=2e-3)
    (line,) = space.query('LWPOLYLINE[layer=="CENTRELINE"]')
    along = np.array(line.get_points("xy"))
    total = float(np.sum(np.hypot(*np.diff(along, axis=0).T)))
    chain = evaluation.chain
    # Chords are a little shorter than the curve: at most (turn per chord)^2 / 24 of it [D].
    assert total == pytest.approx(float(np.sum(chain.length_mm)), rel=3e-3)
    marks = list(space.query('LWPOLYLINE[layer=="MARKS"]'))
    assert len(marks) == len(evaluation.spans.turn_deg) + 1
    tubes = evaluation.spans.tube_diameter_mm
    drawn = [2 * circle.dxf.radius for circle in space.query("CIRCLE")]
    assert np.sort(drawn) == pytest.approx(np.sort(tubes[np.isfinite(tubes)]), abs=1e-6)
    assert dxf_text(plain_layers(evaluation)) == text


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_bending_data_reads_back_with_the_csv_module(file: Path) -> None:
    evaluation = demo(file)
    rows = list(csv.DictReader(io.StringIO(bending_csv(evaluation))))
    bends = [row for row in rows if row["kind"] != "corner"]
    spans = evaluation.spans
    curved = np.flatnonzero(np.isfinite(spans.as_bent_radius_mm))
    assert [float(row["from_mm"]) for row in bends] == pytest.approx(
        spans.stock_from_mm[curved].tolist(), abs=6e-4
    )
    assert [float(row["as_bent_radius_mm"]) for row in bends] == pytest.approx(
        spans.as_bent_radius_mm[curved].tolist(), abs=6e-5
    )
    # A radius, an angle and a length of an arc agree: length = radius x turn.
    for row in bends:
        if row["kind"] == "arc":
            length = float(row["to_mm"]) - float(row["from_mm"])
            turned = math.radians(abs(float(row["turn_deg"])))
            assert length == pytest.approx(float(row["as_bent_radius_mm"]) * turned, rel=2e-3)
    side = evaluation.chain.side[evaluation.chain.spans]
    assert sum(row["roll_deg"] == "180" for row in rows) <= int(np.count_nonzero(np.diff(side)))
