"""The template read back with independent libraries: every length on the sheet, in mm.

Sources: plane and solid geometry in closed form (named beside each check) [D]; PDF unit 1/72 inch (ISO
32000-1, 8.3.2.3) [P]; inch 25.4 mm exactly [P]; A4 and A3, ISO 216 [P]. SVG is read by svgelements, which
takes a millimetre 5e-7 of itself too small; PDF by PDFium. Files hold four decimals, hence CLOSE_MM.
"""

import ctypes
import io
import itertools
import math
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
import svgelements
from numpy.typing import NDArray
from scipy.integrate import quad

from formsketch.design.file_format import load_design
from formsketch.design.model import BeadEnd, Design, Flare, Form, Hammer, HookEnd, Run, Span, Wire
from formsketch.design.starters import STARTERS, make_starter
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.geometry.chain import EndPart
from formsketch.template.pdf import pdf_bytes
from formsketch.template.svg import svg_text
from formsketch.template.template import template_sheets
from tests.support.strategies import EVERY_WAY

CLOSE_MM = 1e-3
ENVELOPE_MM = 0.01
BRASS_16 = Wire(metal="brass-c26000", diameter_mm=1.290846)
DEMOS = sorted((Path(__file__).parents[2] / "demo_designs").glob("*.formsketch.json"))


class ReadSvg:
    """Shapes of a template by the name of their group, in mm."""

    def __init__(self, evaluation: Evaluation) -> None:
        (self.sheet,) = template_sheets(evaluation)
        self.read = svgelements.SVG.parse(io.StringIO(svg_text(self.sheet)), ppi=25.4)
        groups = [group for group in self.read.elements() if isinstance(group, svgelements.Group)]
        self.groups = {group.id: group for group in groups if group.id}

    def shapes(self, name: str) -> list[svgelements.Shape]:
        found = self.groups[name].select(lambda one: isinstance(one, svgelements.Shape))
        return list(found)

    def line(self, name: str) -> tuple[float, float, float, float]:
        """Ends x0, y0, x1, y1 of the first line of a group."""
        first = self.shapes(name)[0]
        begin, end = first.first_point, first[-1].end
        return begin.x, begin.y, end.x, end.y

    def box(self, name: str) -> tuple[float, float, float, float]:
        """Box of a group's shapes, their lines taken without width."""
        boxes = np.array([shape.bbox(with_stroke=False) for shape in self.shapes(name)])
        return (*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist())

    @property
    def row_count(self) -> int:
        return sum(name.startswith("wire-row-") for name in self.groups)

    def places(self) -> dict[str, list[float]]:
        """Place on the straight wire of each upright line, by the name of its group.

        Row 1 begins at the cut; each further row is laid on the one before it at the match mark of both.
        """
        found: dict[str, list[float]] = {}
        origin_x = self.line("cut-start")[0]
        for row in range(1, self.row_count + 1):
            names = [g.id for g in self.groups[f"wire-row-{row}"] if isinstance(g, svgelements.Group)]
            uprights = {
                name: self.line(name)[0] for name in names if name.startswith(("mark-", "match-", "cut-"))
            }
            if row > 1:
                begin = next(name for name in uprights if name.endswith(f"-row-{row}"))
                (match_mm,) = found[begin.removesuffix(f"-row-{row}")]
                origin_x = uprights[begin] - match_mm
            for name, x in uprights.items():
                found.setdefault(name.removesuffix(f"-row-{row}"), []).append(x - origin_x)
        return found


def starter(key: str, **numbers: float) -> Design:
    return make_starter(key, BRASS_16, numbers=numbers)


CASES = {
    **{key: starter(key) for key in STARTERS},
    "sixty loops": starter("row-of-s-forms", times=60),
    "two metres": starter("row-of-loops", times=45, inside_mm=10.0, link_mm=12.0),
    "many corners": starter("zigzag", times=40),
    **{path.name: load_design(path).design for path in (DEMOS if EVERY_WAY else DEMOS[::2])},
}


@pytest.fixture(scope="module", params=CASES, ids=lambda name: name.replace(" ", "-"))
def case(request: pytest.FixtureRequest) -> tuple[Evaluation, ReadSvg]:
    evaluation = evaluate(CASES[request.param])
    return evaluation, ReadSvg(evaluation)


def test_check_bar_is_100_mm(case: tuple[Evaluation, ReadSvg]) -> None:
    _, read = case
    bar, *ticks = read.shapes("check-bar")
    assert bar.length() == pytest.approx(100.0, abs=CLOSE_MM)
    x0, y0, x1, y1 = read.line("check-bar")
    assert y0 == pytest.approx(y1, abs=CLOSE_MM)
    assert [tick.first_point.x for tick in ticks] == pytest.approx([x0, x1], abs=CLOSE_MM)


def test_every_mark_stands_where_the_numbers_say(case: tuple[Evaluation, ReadSvg]) -> None:
    evaluation, read = case
    places = read.places()
    spans = evaluation.spans
    expected = [*spans.stock_from_mm, float(spans.stock_from_mm[-1] + spans.stock_length_mm[-1])]
    read_back = [places.pop(f"mark-{k + 1}") for k in range(len(expected))]
    assert [len(found) for found in read_back] == [1] * len(expected)  # never lost, never twice
    # Each match mark on the way adds the rounding of two lines.
    assert np.ravel(read_back) == pytest.approx(expected, abs=CLOSE_MM * read.row_count)
    assert not any(name.startswith("mark-") for name in places)


def test_wire_is_drawn_at_its_length_and_thickness(case: tuple[Evaluation, ReadSvg]) -> None:
    evaluation, read = case
    rows = read.row_count
    shown, matches = 0.0, []
    for row in range(1, rows + 1):
        x0, y0, x1, y1 = read.box(f"wire-body-{row}")
        assert y1 - y0 == pytest.approx(evaluation.diameter_mm, abs=CLOSE_MM)
        shown += x1 - x0
        if row < rows:
            names = [g.id for g in read.groups[f"wire-row-{row}"] if isinstance(g, svgelements.Group)]
            (letter,) = [n for n in names if n.startswith("match-") and not n.endswith(f"-row-{row}")]
            begins = read.box(f"wire-body-{row + 1}")[0]
            past_match = x1 - read.line(letter)[0]
            before_match = read.line(f"{letter}-row-{row + 1}")[0] - begins
            assert past_match == pytest.approx(before_match, abs=CLOSE_MM)
            matches.append(past_match + before_match)
    assert shown - sum(matches) == pytest.approx(evaluation.cut_length_mm, abs=CLOSE_MM * rows)
    assert read.places()["cut-finish"] == [pytest.approx(evaluation.cut_length_mm, abs=CLOSE_MM * rows)]


def test_form_reaches_as_far_as_its_envelope(case: tuple[Evaluation, ReadSvg]) -> None:
    evaluation, read = case
    x0, y0, x1, y1 = read.box("form-outline")
    assert (x1 - x0, y1 - y0) == pytest.approx(evaluation.envelope_mm, abs=ENVELOPE_MM)


def _seen(u: float, heading: float, turn: float, cosine: float) -> float:
    return math.hypot(math.cos(heading + turn * u), cosine * math.sin(heading + turn * u))


def seen_mm(parts: tuple[EndPart, ...]) -> float:
    """Length of an end's parts from above: twisted, only the twist's cosine is left of what goes across."""
    total = heading = 0.0
    for part in parts:
        total += part.length_mm * quad(_seen, 0, 1, (heading, part.turn_rad, part.foreshortening))[0]
        heading += part.turn_rad
    return total


def test_centreline_is_as_long_as_the_wire_finished(case: tuple[Evaluation, ReadSvg]) -> None:
    """From tip to tip: the spans, and the hooks, eyes and tapers beyond them as they are seen from above."""
    evaluation, read = case
    beyond = sum(seen_mm(end.parts) for end in evaluation.ends)
    expected = evaluation.finished_length_mm + beyond
    (line,) = read.shapes("form-centreline")
    points = np.array([[segment.end.x, segment.end.y] for segment in line])
    drawn = np.hypot(*np.diff(points, axis=0).T).sum()
    # A chord over an arc turning 2a is sin(a)/a of it; chords 0.003 mm off their arc lose under 1e-3.
    assert drawn == pytest.approx(expected, rel=1e-3)
    assert drawn <= expected + CLOSE_MM * len(points)


def test_hammer_zones_lie_between_their_marks(case: tuple[Evaluation, ReadSvg]) -> None:
    """Each zone spans its span, and its waist is the thinnest place."""
    evaluation, read = case
    for k in np.flatnonzero(evaluation.spans.thinnest_mm < evaluation.diameter_mm).tolist():
        names = [name for name in read.groups if name == f"hammer-zone-{k + 1}"]
        names += [name for name in read.groups if name.startswith(f"hammer-zone-{k + 1}-row-")]
        boxes = [read.box(name) for name in names]
        if len(boxes) > 1:
            continue
        ((x0, y0, x1, y1),) = boxes
        assert x1 - x0 == pytest.approx(evaluation.spans.stock_length_mm[k], abs=CLOSE_MM)
        assert y1 - y0 <= evaluation.diameter_mm + CLOSE_MM
        (zone,) = read.shapes(names[0])
        y = np.array([segment.end.y for segment in zone if not isinstance(segment, svgelements.Close)])
        waist = 2 * np.abs(y - (y0 + y1) / 2).min()
        assert waist == pytest.approx(evaluation.spans.thinnest_mm[k], abs=CLOSE_MM)


def test_sheets_are_a4_or_a3_while_that_will_do() -> None:
    """ISO 216: A4 210 x 297 mm, A3 297 x 420 mm. The form decides: 60 loops are half a metre long."""

    def size_of(design: Design) -> tuple[float, float]:
        (sheet,) = template_sheets(evaluate(design))
        return sheet.width_mm, sheet.height_mm

    assert {tuple(sorted(size_of(CASES[name]))) for name in STARTERS} == {(210.0, 297.0)}
    assert size_of(starter("row-of-s-forms", times=22)) in {(297.0, 210.0), (297.0, 420.0)}
    assert size_of(CASES["sixty loops"])[0] > 420.0


# Closed forms: what is on the sheet against geometry alone


def plain(*spans: Span, diameter_mm: float = 1.0, **more: object) -> Evaluation:
    form = Form(runs=(Run(spans=spans),), **more)  # type: ignore[arg-type]
    wire = Wire(metal="brass-c26000", diameter_mm=diameter_mm)
    return evaluate(Design(title="Check", wire=wire, form=form, hammer=Hammer(spread=1.0)))


def test_unhammered_spans_are_marked_at_their_own_lengths() -> None:
    """Nothing is hammered, so the straight wire is the finished one [D]."""
    lengths = [12.5, 40.0, 7.25, 33.0]
    read = ReadSvg(plain(*(Span(length_mm=length, turn_deg=30.0 * i) for i, length in enumerate(lengths))))
    places = read.places()
    for k, place in enumerate(itertools.accumulate(lengths, initial=0.0)):
        assert places[f"mark-{k + 1}"] == [pytest.approx(place, abs=CLOSE_MM)]


def test_all_spread_sideways_lengthens_nothing() -> None:
    """Spread 1: the section keeps its area, so hammered wire keeps its length [D]."""
    flare = Flare(thickness=0.5, hold=0.2)
    read = ReadSvg(
        plain(Span(length_mm=30.0, turn_deg=180.0, flare=flare), Span(length_mm=20.0, flare=flare))
    )
    assert read.places()["cut-finish"] == [pytest.approx(50.0, abs=CLOSE_MM)]


def test_ring_on_the_sheet_has_its_diameter() -> None:
    """A closed circle of mean radius 12 mm in 1.6 mm wire: 25.6 mm over all, 22.4 mm clear inside."""
    read = ReadSvg(plain(Span(length_mm=2 * math.pi * 12.0, turn_deg=360.0), diameter_mm=1.6))
    x0, y0, x1, y1 = read.box("form-outline")
    assert (x1 - x0, y1 - y0) == pytest.approx((25.6, 25.6), abs=ENVELOPE_MM)
    lines = [shape for shape in read.shapes("form-outline") if shape.stroke.value is not None]
    points = np.array([[p.end.x, p.end.y] for line in lines for p in line if p.end is not None])
    radii = np.hypot(*(points - [(x0 + x1) / 2, (y0 + y1) / 2]).T)
    assert (radii.min(), radii.max()) == pytest.approx((11.2, 12.8), abs=ENVELOPE_MM)


def test_straight_wire_with_beads_and_hook_is_cut_long_enough() -> None:
    """Hook: its straight and pi x mean radius for half a turn; a bead by equal volumes, less its cap [D].

    1 mm wire, 2 mm bead, joined: 5.26474288 mm of wire.
    """
    hook = HookEnd(inside_diameter_mm=5.0, turn_deg=180.0, straight_mm=4.0)
    read = ReadSvg(plain(Span(length_mm=50.0), start=BeadEnd(diameter_mm=2.0), finish=hook))
    places = read.places()
    assert places["mark-1"] == [pytest.approx(5.26474288, abs=CLOSE_MM)]
    assert places["mark-2"] == [pytest.approx(55.26474288, abs=CLOSE_MM)]
    assert places["cut-finish"] == [pytest.approx(59.26474288 + math.pi * 3.0, abs=CLOSE_MM)]
    bead = next(shape for shape in read.shapes("form-outline") if isinstance(shape, svgelements.Circle))
    assert bead.rx == pytest.approx(1.0, abs=CLOSE_MM)


# PDF


def pdf_lines(sheet: object) -> NDArray[np.float64]:
    """Straight lines of two points on the page: x0, y0, x1, y1 in mm from the upper left corner."""
    document = pdfium.PdfDocument(pdf_bytes([sheet]))  # type: ignore[list-item]
    page = document[0]
    height = page.get_height() * 25.4 / 72.0
    lines, x, y = [], ctypes.c_float(), ctypes.c_float()
    for path in page.get_objects([pdfium.raw.FPDF_PAGEOBJ_PATH]):
        if pdfium.raw.FPDFPath_CountSegments(path) != 2:
            continue
        ends = []
        for index in range(2):
            segment = pdfium.raw.FPDFPath_GetPathSegment(path, index)
            assert pdfium.raw.FPDFPathSegment_GetPoint(segment, x, y)
            ends += [x.value * 25.4 / 72.0, height - y.value * 25.4 / 72.0]
        lines.append(ends)
    document.close()
    return np.array(lines)


@pytest.mark.parametrize("case", ["row-of-s-forms", "s-ring", "two metres"], indirect=True)
def test_pdf_has_the_same_lines(case: tuple[Evaluation, ReadSvg]) -> None:
    evaluation, read = case
    lines = pdf_lines(read.sheet)
    lengths = np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1])
    assert np.isclose(lengths, 100.0, atol=CLOSE_MM, rtol=0).sum() == 1
    upright = lines[np.isclose(lines[:, 0], lines[:, 2], atol=CLOSE_MM, rtol=0)]
    names = ["cut-start", "cut-finish", *(f"mark-{k + 1}" for k in range(len(evaluation.spans.turn_deg) + 1))]
    for one in names:
        nearest = np.abs(upright - np.array(read.line(one))).max(axis=1).min()
        assert nearest == pytest.approx(0.0, abs=CLOSE_MM), one
