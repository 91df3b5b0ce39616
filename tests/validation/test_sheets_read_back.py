"""Every number on every demo's sheets, read back from SVG, PDF and DXF with independent libraries.

Expected are the numbers of the evaluation, and lengths fixed by definition: 100 mm, 4 in of 25.4 mm [P]; A4,
ISO 216, 210 x 297 mm [P]; Letter, ANSI/ASME Y14.1, 8.5 x 11 in [P]. SVG 1.1 is checked element by element
against the tables of W3C's recommendation (second edition, 2011) that svgwrite carries [P]. Files hold four
decimals.
"""

import itertools
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from lxml import etree
from numpy.typing import NDArray
from svgwrite.validator2 import get_validator

from formsketch.design.transforms import scaled_form
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.template.drawing import Sheet, Text, walk
from formsketch.template.papers import paper_named
from formsketch.template.pdf import pdf_bytes
from formsketch.template.plain import ALL_LAYERS, dxf_text, plain_layers
from formsketch.template.printed import PART_WORDS, Choice, printed_sheets
from formsketch.template.stages import as_bent, as_hammered, hammered_apart
from formsketch.template.svg import svg_text
from tests.support.read_back import (
    DEMOS,
    SVG,
    Points,
    ReadPage,
    Shape,
    box_of,
    by_group,
    demo,
    dxf_shapes,
    farthest_mm,
    pdf_pages,
    pdf_windows,
    size_of,
    svg_shapes,
    svg_shapes_by_xml,
)
from tests.support.strategies import EVERY_WAY

CLOSE_MM, TILED_MM = 0.01, 0.02
BARS_MM = {"metric": 100.0, "inch": 4 * 25.4}
PAPERS_MM = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}
TRUING_MM, ASPECT = 165.0, 0.8
CROSS_MM = 6.0  # length of each line of a cross

Groups = dict[str, list[Shape]]

# Each demo is read on one paper, in turn, every third tiled on the other, every second as plain lines; if
# asked, all in every way.
on_one_paper, tiled_on_the_other = (
    pytest.mark.parametrize(
        ("name", "paper"),
        [
            (name, paper)
            for number, name in enumerate(DEMOS)
            for place, paper in enumerate(PAPERS_MM)
            if EVERY_WAY or ((number + place) % 2 == which and number % every == 0)
        ],
    )
    for which, every in ((0, 1), (1, 3))
)


def close(expected: object, within_mm: float = CLOSE_MM) -> object:
    return pytest.approx(expected, abs=within_mm)


# What the evaluation says, read from groups or layers


def mark_places(e: Evaluation) -> list[float]:
    return [*e.spans.stock_from_mm.tolist(), float(e.spans.stock_from_mm[-1] + e.spans.stock_length_mm[-1])]


def check_bars(across: Groups, down: Groups) -> None:
    for name, length in BARS_MM.items():
        bar, *ticks = across[name]
        assert bar.length_mm == close(length) and np.ptp(bar.points[:, 1]) == close(0.0)
        assert [tick.points[:, 0].mean() for tick in ticks] == close(sorted(bar.points[:, 0].tolist()))
        bar, *ticks = down[name]
        assert bar.length_mm == close(length) and np.ptp(bar.points[:, 0]) == close(0.0)
        assert sorted(tick.points[:, 1].mean() for tick in ticks) == close(sorted(bar.points[:, 1].tolist()))


def check_gauges(e: Evaluation, slots_mm: list[float]) -> None:
    """Each hammered span has its slot, and each slot its span."""
    wide = e.spans.widest_mm[e.spans.thinnest_mm < e.diameter_mm]
    apart = np.abs(np.array(slots_mm)[:, None] - wide[None, :])
    assert (apart.min(axis=0) < CLOSE_MM).all() and (apart.min(axis=1) < CLOSE_MM).all()


def check_ticks(stage: Evaluation, ticks: list[Shape]) -> None:
    """The middle of each tick lies on the wire at its mark, seen from the first."""
    trace, chain = stage.trace, stage.chain
    at = [*trace.first[chain.spans.start : chain.spans.stop], trace.first[chain.spans.stop] - 1]
    z = trace.z_mm[at]
    middles = np.array([tick.points.mean(axis=0) for tick in ticks])
    assert middles[:, 0] - middles[0, 0] == close(z.real - z.real[0])
    assert middles[:, 1] - middles[0, 1] == close(z.imag[0] - z.imag)


def check_tubes(e: Evaluation, bent: Evaluation, circles: list[Shape], line: Shape) -> None:
    """Each tube has its diameter and touches the inside of its own bend."""
    tubes = e.spans.tube_diameter_mm
    wanted = np.flatnonzero(np.isfinite(tubes))
    assert [2 * (one.radius_mm or 0.0) for one in circles] == close(tubes[wanted].tolist())
    trace, first = bent.trace, bent.chain.spans.start
    for span, circle in zip(wanted.tolist(), circles, strict=True):
        own = line.points[trace.first[first + span] : trace.first[first + span + 1]]
        nearest = np.hypot(*(own - circle.points[0]).T).min()
        assert nearest == close((tubes[span] + e.diameter_mm) / 2)


def check_wire(e: Evaluation, found: Groups) -> None:
    """Marks of all rows as distances from the cut start of the wire; rows are laid match on match."""
    places: dict[str, float] = {}
    origin = found["cut-start"][0].points[0, 0]
    for row in itertools.takewhile(lambda row: f"wire-row-{row}" in found, itertools.count(1)):
        shapes = by_group(found[f"wire-row-{row}"])
        uprights = {name: own[0] for name, own in shapes.items() if name.startswith(("mark-", "match-"))}
        at = {name: line.points[0, 0] for name, line in uprights.items()}
        if row > 1:
            begin = next(name for name in at if name.endswith(f"-row-{row}"))
            origin = at.pop(begin) - places[begin.removesuffix(f"-row-{row}")]
        if "cut-finish" in shapes:
            assert shapes["cut-finish"][0].points[0, 0] - origin == close(e.cut_length_mm)
        assert size_of(shapes[f"wire-body-{row}"])[1] == close(e.diameter_mm)
        assert not places.keys() & at.keys()
        places |= {name: x - origin for name, x in at.items()}
    marks = {name: place for name, place in places.items() if name.startswith("mark-")}
    assert list(marks.values()) == close(mark_places(e))
    assert list(marks) == [f"mark-{number}" for number in range(1, len(marks) + 1)]


def check_rule(e: Evaluation, found: Groups) -> None:
    length, ticks = 0.0, []
    for number in itertools.takewhile(lambda n: f"rule-{n}" in found, itertools.count(1)):
        frame, *others = found[f"rule-{number}"]
        left = frame.points[:, 0].min()
        ticks += [length + one.points[0, 0] - left for one in others if len(one.points) == 2]
        length += float(np.ptp(frame.points[:, 0]))
    assert length == close(e.cut_length_mm)
    # Marks inside the ends have ticks too.
    apart = np.abs(np.array(ticks)[:, None] - mark_places(e))
    assert (apart.min(axis=0) < CLOSE_MM).all()
    assert len(ticks) == len(mark_places(e)) + sum(len(end.marks) for end in e.ends)


def check_printed(e: Evaluation, found: Groups) -> None:
    check_wire(e, found)
    check_rule(e, found)
    bent = evaluate(as_bent(e))
    for name, stage in (("form", e), ("bent", bent)):
        assert size_of(found[f"{name}-outline"]) == close(stage.envelope_mm)
        check_ticks(stage, found[f"{name}-marks"])
        (line,) = found[f"{name}-centreline"]
        assert size_of([line]) == close((np.ptp(stage.trace.z_mm.real), np.ptp(stage.trace.z_mm.imag)))
    check_tubes(e, bent, found.get("bent-tubes", []), found["bent-centreline"][0])
    check_gauges(e, [size_of(found[f"gauge-{n}"])[1] for n in range(1, 99) if f"gauge-{n}" in found])
    if "hammered-outline-1" in found:
        for number, length in enumerate(hammered_apart(e), start=1):
            size = evaluate(length.design).envelope_mm
            assert size_of(found[f"hammered-outline-{number}"]) == close(size)
    elif "hammered-outline" in found:
        assert size_of(found["hammered-outline"]) == close(evaluate(as_hammered(e)).envelope_mm)
    (oval,) = found["truing"]
    wide, high = size_of([oval])
    assert high / wide == pytest.approx(ASPECT, abs=1e-4)
    assert shapely.LinearRing(oval.points).length == close(TRUING_MM, 0.02)


def check_twins(sheets: list[Sheet], svg: list[list[Shape]], pages: list[ReadPage]) -> None:
    """Line for line the PDF is where the SVG is, on pages of exactly the sheet's size."""
    for sheet, shapes, page in zip(sheets, svg, pages, strict=True):
        assert (page.width_mm, page.height_mm) == pytest.approx((sheet.width_mm, sheet.height_mm), abs=1e-4)
        apart = [farthest_mm(one, other) for one, other in zip(shapes, page.shapes, strict=True)]
        assert max(apart) < CLOSE_MM / 2


@on_one_paper
def test_every_number_reads_back_from_svg_and_pdf(name: str, paper: str) -> None:
    e = demo(name)
    choice = Choice(tuple(PART_WORDS), paper_named(paper), truing_mm=TRUING_MM, truing_aspect=ASPECT)
    sheets = printed_sheets(e, choice)
    svg = [svg_shapes_by_xml(svg_text(sheet)) for sheet in sheets]
    check_twins(sheets, svg, pdf_pages(pdf_bytes(sheets)))
    found: Groups = {}
    for sheet, shapes in zip(sheets, svg, strict=True):
        assert {sheet.width_mm, sheet.height_mm} == set(PAPERS_MM[paper])
        groups = by_group(shapes)
        check_bars(*({key: groups[f"bar-{way}-{key}"] for key in BARS_MM} for way in ("across", "down")))
        for key, own in groups.items():
            found.setdefault(key, own)
    check_printed(e, found)


@pytest.mark.parametrize("name", DEMOS if EVERY_WAY else ["wrack-brooch-pin"])
def test_svgelements_and_an_xml_reader_find_the_same(name: str) -> None:
    """The XML reader alone is quick enough for all demos."""
    for sheet in printed_sheets(demo(name), Choice(tuple(PART_WORDS))):
        text = svg_text(sheet)
        found = zip(svg_shapes(text), svg_shapes_by_xml(text), strict=True)
        assert max(farthest_mm(one, other) for one, other in found) < CLOSE_MM / 10


def area_in(ring: Shape) -> shapely.Geometry:
    """What a closed line goes round; holes drilled through an end are circles."""
    if ring.radius_mm is None:
        return shapely.Polygon(ring.points)
    return shapely.Point(ring.points.mean(axis=0)).buffer(ring.radius_mm, quad_segs=64)


@pytest.mark.parametrize("name", DEMOS if EVERY_WAY else list(DEMOS)[::2])
def test_every_number_reads_back_from_dxf(name: str) -> None:
    e = demo(name)
    found = dxf_shapes(dxf_text(plain_layers(e, ALL_LAYERS)))
    bent, hammered = evaluate(as_bent(e)), evaluate(as_hammered(e))
    for layer, stage in (("", e), ("BENT-", bent)):
        assert size_of(found[f"{layer}OUTLINE"]) == close(stage.envelope_mm)
        check_ticks(stage, found[f"{layer}MARKS"])
        rings = [area_in(ring) for ring in found[f"{layer}OUTLINE"]]
        area = rings[0]
        for ring in rings[1:]:
            area = area.symmetric_difference(ring)
        assert area.area == pytest.approx(stage.silhouette_area_mm2, rel=2e-3)
    if len(hammered.crossings) <= len(e.crossings):
        assert size_of(found["HAMMERED-OUTLINE"]) == close(hammered.envelope_mm)
    # However it is laid, the wire is as long hammered as it is finished; lengths alike are drawn once.
    lines = found["HAMMERED-CENTRELINE"]
    times = [len(length.marks) for length in hammered_apart(e)] if len(lines) > 1 else [1]
    total = sum(n * line.length_mm for n, line in zip(times, lines, strict=True))
    assert total == pytest.approx(found["CENTRELINE"][0].length_mm, rel=1e-3)
    check_tubes(e, bent, found.get("BENT-TUBES", []), found["BENT-CENTRELINE"][0])
    tubes = e.spans.tube_diameter_mm
    circles = [2 * (one.radius_mm or 0.0) for one in found.get("TUBES", [])]
    assert circles == close(tubes[np.isfinite(tubes)].tolist())
    wire = box_of(found["WIRE-OUTLINE"])
    assert wire[2:] - wire[:2] == close((e.cut_length_mm, e.diameter_mm))
    assert [mark.points[0, 0] - wire[0] for mark in found["WIRE-MARKS"]] == close(mark_places(e))
    slots = found.get("GAUGES", [])
    check_gauges(e, [size_of(slots[at : at + 2])[1] for at in range(0, len(slots), 2)])
    bars = found["BARS"]
    names = [("metric", "across"), ("metric", "down"), ("inch", "across"), ("inch", "down")]
    ways: dict[str, Groups] = {"across": {}, "down": {}}
    for number, (key, way) in enumerate(names):
        ways[way][key] = bars[3 * number : 3 * number + 3]
    check_bars(ways["across"], ways["down"])


# Tiles


def crosses(page: ReadPage) -> Points:
    """Middles of the crosses on a page: two lines of that length through one place."""
    lines = [one.points for one in page.shapes if one.radius_mm is None and len(one.points) == 2]
    ends = np.array([line for line in lines if abs(np.hypot(*(line[1] - line[0])) - CROSS_MM) < CLOSE_MM])
    middles = ends.mean(axis=1)
    lying = np.abs(ends[:, 0, 1] - ends[:, 1, 1]) < CLOSE_MM
    found = [p for p in middles[lying] if (np.hypot(*(middles[~lying] - p).T) < CLOSE_MM).any()]
    return np.array(found)


def laid_together(pages: dict[tuple[int, int], ReadPage]) -> dict[tuple[int, int], Points]:
    """Where each tile goes, by column and row, when its crosses are laid on those of its neighbours."""
    at = {(0, 0): np.zeros(2)}
    for column, row in sorted(pages):
        if (column, row) == (0, 0):
            continue
        axis, beside = (0, (column - 1, row)) if column else (1, (column, row - 1))
        mine, other = crosses(pages[column, row]), crosses(pages[beside])
        mine = mine[np.abs(mine[:, axis] - mine[:, axis].min()) < CLOSE_MM]
        other = other[np.abs(other[:, axis] - other[:, axis].max()) < CLOSE_MM]
        mine, other = (np.array(sorted(places.tolist())) for places in (mine, other))
        steps = other - mine
        assert np.ptp(steps, axis=0) == close((0.0, 0.0))  # every cross of the edge lies on its fellow
        at[column, row] = at[beside] + steps[0]
    return at


@tiled_on_the_other
def test_tiles_laid_cross_on_cross_are_the_form(name: str, paper: str) -> None:
    small = demo(name)
    big = evaluate(scaled_form(small.design, 400.0 / max(small.envelope_mm)))
    sheets = printed_sheets(big, Choice(("finished",), paper_named(paper)))
    data = pdf_bytes(sheets)
    pages, svg = pdf_pages(data), [svg_shapes_by_xml(svg_text(sheet)) for sheet in sheets]
    check_twins(sheets, svg, pages)
    tiled = [at for at, shapes in enumerate(svg) if any("tile" in shape.groups for shape in shapes)]
    columns = columns_of(sheets[tiled[0]])
    grid = {(n % columns, n // columns): pages[at] for n, at in enumerate(tiled)}
    assert len(grid) >= 2
    at = laid_together(grid)
    wire, lines, edges = big.trace.z_mm, [], []
    covered = np.zeros(len(wire), dtype=bool)
    for place, number in zip(grid, tiled, strict=True):
        windows = pdf_windows(data, number)
        for drawn, shape, window in zip(svg[number], pages[number].shapes, windows, strict=True):
            points, shown = shown_points(shape, window)
            if "form-outline" in drawn.groups:
                edges.append(points[shown] + at[place])
            elif "form-centreline" in drawn.groups:
                lines.append(points + at[place])
                covered |= shown
    assert covered.all()
    for line in lines:
        assert np.hypot(*(line - lines[0]).T).max() < TILED_MM
    wanted = np.column_stack((wire.real - wire.real[0], wire.imag[0] - wire.imag))
    assert np.hypot(*(lines[0] - lines[0][0] - wanted).T).max() < TILED_MM
    assert np.ptp(np.concatenate(edges), axis=0) == close(big.envelope_mm, TILED_MM)


def shown_points(shape: Shape, window: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Points of a shape, four about a circle, and which of them its window leaves to be seen."""
    points = shape.points
    if shape.radius_mm is not None:
        about = np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
        points = points + shape.radius_mm * about
    return points, ((points >= window[:2]) & (points <= window[2:])).all(axis=1)


def columns_of(sheet: Sheet) -> int:
    """How many tiles stand beside each other, as the first says in its heading."""
    words = " ".join(one.text for one in walk(sheet.groups) if isinstance(one, Text))
    told = re.search(r"tile 1 of (\d+) across", words)
    return int(told[1]) if told else 1


# The files


def test_svg_is_valid_svg_1_1_in_millimetres_with_named_groups() -> None:
    validator = get_validator("full")
    texts = [svg_text(sheet) for sheet in printed_sheets(demo("wrack-brooch-pin"), Choice(tuple(PART_WORDS)))]
    texts.append(svg_text(plain_layers(demo("tern-pendant"), ALL_LAYERS).sheet()))
    for text in texts:
        root = etree.fromstring(text.encode())
        assert root.get("version") == "1.1" and root.get("width").endswith("mm")
        assert root.get("viewBox") == f"0 0 {root.get('width')[:-2]} {root.get('height')[:-2]}"
        names = [group.get("id") for group in root.iter(f"{SVG}g")]
        assert all(names) and len(set(names)) == len(names)
        for element in root.iter():
            tag = element.tag.removeprefix(SVG)
            attributes = {
                key.replace("{http://www.w3.org/XML/1998/namespace}", "xml:"): value
                for key, value in element.attrib.items()
            }
            validator.check_all_svg_attribute_values(tag, attributes)
            for child in element:
                assert validator.is_valid_children(tag, child.tag.removeprefix(SVG)), (tag, child.tag)


# Loads no reader, so that it starts sooner.
DIGESTS = """
import hashlib, sys
from formsketch.design.file_format import load_design
from formsketch.evaluation.evaluate import evaluate
from formsketch.template.pdf import pdf_bytes
from formsketch.template.plain import ALL_LAYERS, dxf_text, plain_layers
from formsketch.template.png import png_bytes
from formsketch.template.printed import PART_WORDS, Choice, printed_sheets
from formsketch.template.svg import svg_text
from formsketch.template.template import template_sheets
for file in sys.argv[1:]:
    e = evaluate(load_design(file).design)
    one, sheets = template_sheets(e), printed_sheets(e, Choice(tuple(PART_WORDS)))
    texts = *map(svg_text, (*one, *sheets)), dxf_text(plain_layers(e, ALL_LAYERS))
    drawn = pdf_bytes(one), pdf_bytes(sheets), png_bytes(one[0], 2.0)
    for data in (*(text.encode() for text in texts), *drawn):
        print(hashlib.sha256(data).hexdigest())
print(sorted(name for name in sys.modules if name.startswith(("PySide6", "formsketch.ui"))))
"""


def test_files_are_the_same_byte_for_byte_in_another_process_and_load_no_window() -> None:
    """Sets come in another order with each of these seeds, as with ezdxf they showed."""
    files = list(DEMOS.values()) if EVERY_WAY else [DEMOS["wrack-brooch-pin"]]
    running = [
        subprocess.Popen(
            [sys.executable, "-c", DIGESTS, *map(str, files)],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": f"UTC{seed}", "HOME": "/nowhere"},
            cwd=Path(__file__).parents[2],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for seed in ("1", "4")
    ]
    told = [one.communicate() for one in running]
    assert [one.returncode for one in running] == [0, 0], told
    assert told[0][0] == told[1][0] and len(told[0][0].split()) > 6 * len(files)
    assert told[0][0].splitlines()[-1] == "[]"
