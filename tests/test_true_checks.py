"""Openings, rows, sides and what comes together when rolled, against closed forms; the command.

All lengths are derived: arcs of circles, chords and plane trigonometry, worked out beside each check.
"""

from __future__ import annotations

import json
from math import cos, pi, radians, sin
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given
from msgspec.structs import replace

from formsketch.cli import commands
from formsketch.design.file_format import load_design, save_design
from formsketch.design.model import Design, EyeEnd, Flare, Form, HookEnd, Run, Span, Wire, Worn
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.even_rows import off_even_mm
from formsketch.evaluation.rolled import inside_of_rolled_mm
from formsketch.evaluation.rolled_gaps import segments_apart_mm
from formsketch.evaluation.true_checks import true_checks
from formsketch.evaluation.true_report import findings, true_data, true_text, verdict
from formsketch.geometry.openings import openings
from formsketch.shipped import demo_design_files
from tests.support.strategies import calm, designs

D_MM = 1.2
WIRE = Wire(metal="brass-c26000", diameter_mm=D_MM)
RADIUS_MM, TURN_DEG = 4.0, 230.0
LOOP = Span(length_mm=RADIUS_MM * radians(TURN_DEG), turn_deg=TURN_DEG)
# [D] from mark to mark along the row; between loops on the same side twice that from middle to middle.
PITCH_MM = 2 * RADIUS_MM * sin(radians(TURN_DEG) / 2)
OPENING_MM = 2 * PITCH_MM - 2 * RADIUS_MM - D_MM
BANGLE = Worn(kind="bangle", standard="inside", size=200.0)


def waves(*loops: Span, times: int = 1, worn: Worn | None = None) -> Design:
    """Loops turned over one from the next: a repeated one, or each as it is given."""
    if times > 1:
        run = Run(spans=loops, times=times, turned_over=True)
    else:
        run = Run(spans=(loops[0], *(replace(loop, turned_over=True) for loop in loops[1:])))
    return Design(title="Waves", wire=WIRE, form=Form(runs=(run,)), worn=worn)


def straight(*spans: Span, worn: Worn | None = None) -> Design:
    return Design(title="", wire=WIRE, form=Form(runs=(Run(spans=spans),)), worn=worn)


# --- openings


def test_the_openings_of_a_row_by_closed_form() -> None:
    checks = true_checks(evaluate(waves(LOOP, times=9)))
    row = checks.rows[0]
    assert len(row.gaps) == 7
    # Beside them each end of the row stands open to the second loop from it.
    assert len(checks.gaps) == 9
    for gap in (checks.gaps[n] for n in row.gaps):
        assert gap.opening.gap_mm == pytest.approx(OPENING_MM, abs=0.01)
        assert gap.off_mm == pytest.approx(0.0, abs=0.005)
        assert gap.opening.other_part - gap.opening.part == 2
    assert row.mean_mm == pytest.approx(OPENING_MM, abs=0.01)
    assert row.deviation_mm < 0.005
    assert (row.least_mm, row.greatest_mm) == pytest.approx((OPENING_MM, OPENING_MM), abs=0.01)


@pytest.mark.parametrize("open_deg", [20.0, 40.0])
def test_a_nearly_closed_loop_has_one_opening(open_deg: float) -> None:
    # [D] two ends of an arc, cut square: their inner corners are nearest, a chord of the inner edge.
    design = straight(Span(length_mm=10.0 * radians(360 - open_deg), turn_deg=360 - open_deg))
    e = evaluate(design)
    (one,) = openings(e.outline, 20.0)
    assert one.gap_mm == pytest.approx(2 * (10.0 - D_MM / 2) * sin(radians(open_deg) / 2), abs=0.01)


def test_legs_side_by_side_are_one_opening_all_along() -> None:
    # [D] a hairpin round 6 mm with straight legs: 6 mm less nothing, middle to middle 6 + d.
    bend = Span(length_mm=pi * (6.0 + D_MM) / 2, turn_deg=180.0)
    e = evaluate(straight(Span(length_mm=25.0), bend, Span(length_mm=25.0)))
    found = openings(e.outline, 30.0)
    assert found
    assert all(one.gap_mm == pytest.approx(6.0, abs=0.01) for one in found)


def test_a_zigzag_is_measured_from_tip_to_tip() -> None:
    # [D] legs of 12 mm at 60 degrees to the line, sharp bends: 12 mm from tip to tip, d less edge to edge.
    leg = Span(length_mm=12.0, corner_deg=-120.0)
    design = Design(title="", wire=WIRE, form=Form(runs=(Run(spans=(leg,), times=10, turned_over=True),)))
    checks = true_checks(evaluate(design))
    assert {row.tips for row in checks.rows if len(row.gaps) > 2} == {True}
    sizes = [checks.gaps[n].opening.gap_mm for row in checks.rows if row.tips for n in row.gaps]
    assert sizes == pytest.approx([12.0 - D_MM] * len(sizes), abs=0.01)


def test_one_opening_that_is_off_is_found() -> None:
    # The fifth loop is closed by 6 degrees: the opening across its mouth, of the loops beside it, narrows.
    loops = [LOOP] * 9
    loops[4] = replace(LOOP, turn_deg=TURN_DEG + 6.0)
    checks = true_checks(evaluate(waves(*loops)))
    row = checks.rows[0]
    assert row.off is not None
    off = checks.gaps[row.off]
    start = checks.evaluation.chain.spans.start
    assert (off.opening.part - start, off.opening.other_part - start) == (3, 5)
    assert off.off_mm is not None
    assert off.off_mm < -0.3
    told = findings(checks, 0.2)
    assert told[0].faulty
    assert told[0].texts[0] == "spans 4 and 6"
    assert not any(one.faulty for one in findings(checks, 5.0))


@pytest.mark.parametrize("ends_scale", [0.6, 1.5])
def test_a_graded_row_is_even(ends_scale: float) -> None:
    run = Run(spans=(LOOP,), times=11, turned_over=True, ends_scale=ends_scale)
    checks = true_checks(evaluate(Design(title="", wire=WIRE, form=Form(runs=(run,)))))
    assert len(checks.rows[0].gaps) == 9
    assert all(abs(checks.gaps[n].off_mm or 0.0) < 0.06 for n in checks.rows[0].gaps)


def test_what_is_even() -> None:
    # [D] a parabola is even whatever it is, and one that is off does not draw it; too few say nothing.
    at = np.arange(9.0)
    even = 3.0 + 0.5 * at - 0.06 * at**2
    assert off_even_mm(even) == pytest.approx(np.zeros(9), abs=1e-6)
    even[3] += 0.4
    assert off_even_mm(even) == pytest.approx(0.4 * (at == 3), abs=1e-3)
    assert off_even_mm([2.0, 2.0, 2.3]) == pytest.approx([0.0, 0.0, 0.3])
    assert off_even_mm([2.0, 2.3]) is None


# --- rolled


def high_legs(gap_mm: float) -> Design:
    """Two legs across a band, all of it hammered on edge to one section, so far apart on the table."""
    # The held part of a flare alone: as thin at the marks as between them.
    edge = Flare(thickness=0.35, hold=0.9, begin=0.2, end=0.8, face="edge")
    w = 0.35 * D_MM
    bend = Span(length_mm=pi * (w + gap_mm) / 2, turn_deg=-180.0, flare=edge)
    leg, side = Span(length_mm=14.0, flare=edge), Span(length_mm=24.0, flare=edge)
    up = Span(length_mm=3.0, turn_deg=90.0, flare=edge)
    return straight(side, up, leg, bend, leg, up, side, worn=Worn(kind="ring", standard="iso", size=50.0))


def test_bars_that_stand_high_lean_together() -> None:
    """[D] A section h high and w wide has a core upright from w/2 to h - w/2 over the mandrel, its edge w/2.

    Round a mandrel of radius r, middles x apart turn by x / (r + h/2); the lower ends of the cores are then
    2 (r + w/2) sin of half of that apart, and edge to edge w less.
    """
    e = evaluate(high_legs(0.9))
    checks = true_checks(e)
    start = e.chain.spans.start
    (gap, *_) = (g for g in checks.gaps if (g.opening.part - start, g.opening.other_part - start) == (2, 4))
    w, h = 0.35 * D_MM, float(e.spans.widest_mm[2])
    r = inside_of_rolled_mm(e) / (2 * pi)
    assert gap.opening.gap_mm == pytest.approx(0.9, abs=0.005)
    leaning = 2 * (r + w / 2) * sin((0.9 + w) / (r + h / 2) / 2) - w
    assert gap.rolled_mm == pytest.approx(leaning, abs=0.01)
    assert leaning < 0.85


def test_what_comes_together_is_told() -> None:
    # Legs 0.1 mm apart on the table: leaning leaves less than 0.05 mm, by the closed form above.
    checks = true_checks(evaluate(high_legs(0.1)))
    assert any(gap.comes_together for gap in checks.gaps)
    told = findings(checks, 0.2)[0]
    assert told.faulty
    assert told.texts[4] == "comes together when rolled"
    assert not any(gap.comes_together for gap in true_checks(evaluate(high_legs(0.3))).gaps)


def test_a_row_of_round_wire_on_a_large_mandrel_keeps_its_openings() -> None:
    # [D] limit: the larger the mandrel, the nearer to flat.
    checks = true_checks(evaluate(waves(LOOP, times=60, worn=replace(BANGLE, size=400.0))))
    assert all(gap.rolled_mm == pytest.approx(gap.opening.gap_mm, abs=0.02) for gap in checks.gaps)


def test_the_catch_is_left_out_and_what_lies_beside_it_is_not() -> None:
    half = Span(length_mm=LOOP.length_mm / 2, turn_deg=TURN_DEG / 2)
    row = Run(spans=(replace(LOOP, turned_over=True),), times=18)
    runs = (Run(spans=(half,)), row, Run(spans=(replace(half, turned_over=True),)))
    ends = {"start": HookEnd(inside_diameter_mm=4.0), "finish": EyeEnd(inside_diameter_mm=3.0)}
    worn = replace(BANGLE, kind="bracelet")
    design = Design(title="", wire=WIRE, form=Form(runs=runs, **ends), worn=worn)  # type: ignore[arg-type]
    checks = true_checks(evaluate(design))
    assert checks.seam is not None
    # The eye stands well clear of the first loop: the hook is longer than the eye is wide.
    assert checks.seam.gap_mm > 0.2
    assert any(one.texts[0] == "where it closes" for one in findings(checks, 0.1))


@pytest.mark.parametrize("gap_mm", [1.0, 4.0])
def test_a_gap_left_open_is_the_seam(gap_mm: float) -> None:
    # [D] tips of the core half the wire inside the tips: the chord of gap + d along the middle, d less.
    inside = 54.0
    worn = Worn(kind="ring", standard="iso", size=inside, gap_mm=gap_mm)
    checks = true_checks(evaluate(straight(Span(length_mm=inside + pi * D_MM - gap_mm), worn=worn)))
    assert checks.seam is not None
    middle = inside / (2 * pi) + D_MM / 2
    chord = 2 * middle * sin((gap_mm + D_MM) / middle / 2) - D_MM
    assert checks.seam.gap_mm == pytest.approx(chord, abs=0.02)
    closed = replace(worn, gap_mm=0.0)
    assert true_checks(evaluate(straight(Span(length_mm=60.0), worn=closed))).seam is None


def test_segments_in_space() -> None:
    # [D] crossed at a height; end to end; an end beside a middle; parallel.
    a = np.array([[0.0, 0, 0], [0, 0, 0], [0, 0, 0], [0, 0, 0]])
    b = np.array([[2.0, 0, 0], [1, 0, 0], [2, 0, 0], [2, 0, 0]])
    c = np.array([[1.0, -1, 3], [4, 4, 0], [1, 5, 0], [1, 2, 0]])
    d = np.array([[1.0, 1, 3], [4, 9, 0], [1, 9, 0], [5, 2, 0]])
    assert segments_apart_mm(a, b, c, d) == pytest.approx([3.0, 5.0, 5.0, 2.0])


@pytest.mark.parametrize("worn", [None, Worn(kind="pendant", standard="length", size=40.0)])
def test_what_is_not_rolled_is_not(worn: Worn | None) -> None:
    checks = true_checks(evaluate(waves(LOOP, times=5, worn=worn)))
    assert all(gap.rolled_mm is None for gap in checks.gaps)
    assert checks.seam is None
    assert bool(checks.not_rolled) == (worn is None)


# --- sides


@pytest.mark.parametrize(("times", "mirrored"), [(7, True), (8, False)])
def test_halves_of_a_row_are_equal(times: int, mirrored: bool) -> None:
    halves = true_checks(evaluate(waves(LOOP, times=times))).halves
    assert halves is not None
    assert halves.mirrored == mirrored
    assert halves.difference_mm < 0.01
    assert halves.width_difference_mm < 1e-6


def test_the_difference_of_halves_by_closed_form() -> None:
    # [D] legs of 20 and 21 mm from a sharp bend of 90 degrees: as far from both ends the one has turned 1 mm
    # before the other; laid over each other by least squares nothing exceeds 1 mm.
    design = straight(Span(length_mm=20.0), Span(length_mm=21.0, corner_deg=90.0))
    halves = true_checks(evaluate(design)).halves
    assert halves is not None
    assert 0.3 < halves.difference_mm < 1.0
    equal = true_checks(evaluate(straight(Span(length_mm=20.0), Span(length_mm=20.0, corner_deg=90.0))))
    assert equal.halves is not None
    assert equal.halves.difference_mm < 1e-6


def test_one_flare_deeper_is_a_difference_of_width() -> None:
    one, other = Flare(thickness=0.6), Flare(thickness=0.5)
    loops = [replace(LOOP, flare=one), LOOP, LOOP, LOOP, replace(LOOP, flare=other)]
    e = evaluate(waves(*loops))
    halves = true_checks(e).halves
    assert halves is not None
    wider, less = float(e.spans.widest_mm[4]), float(e.spans.widest_mm[0])
    assert halves.width_difference_mm == pytest.approx(wider - less, abs=1e-3)


def test_upper_and_lower_loops_by_closed_form() -> None:
    # [D] a loop reaches R (1 - cos(T/2)) beyond the line through its marks, and half the wire.
    up = LOOP
    down = replace(LOOP, length_mm=1.1 * LOOP.length_mm)
    checks = true_checks(evaluate(waves(*[up, down] * 4, up)))
    found = checks.upper_lower
    assert found is not None
    assert (found.upper, found.lower) in ((5, 4), (4, 5))
    reach = RADIUS_MM * (1 - cos(radians(TURN_DEG) / 2))
    assert abs(found.difference_mm) == pytest.approx(0.1 * reach, abs=0.01)
    even = true_checks(evaluate(waves(LOOP, times=9))).upper_lower
    assert even is not None
    assert even.difference_mm == pytest.approx(0.0, abs=1e-6)


def test_a_row_to_one_side_has_no_lower_loops() -> None:
    link = Span(length_mm=8.0, turn_deg=360 - TURN_DEG)
    design = Design(title="", wire=WIRE, form=Form(runs=(Run(spans=(LOOP, link), times=5),)))
    assert true_checks(evaluate(design)).upper_lower is None


def test_what_lies_over_what_stands_off_the_table() -> None:
    # [D] round wire over round wire is 2 d thick.
    link = Span(length_mm=9.0, turn_deg=40.0)
    loop = replace(LOOP, turn_deg=320.0)
    design = Design(title="", wire=WIRE, form=Form(runs=(Run(spans=(loop, link), times=4),)))
    checks = true_checks(evaluate(design))
    assert checks.crossings >= 3
    assert checks.stacked_mm == pytest.approx(2 * D_MM)
    crossed = [one for one in findings(checks, 0.2) if one.texts[4] == "the wire crosses"]
    assert crossed
    assert not any(one.faulty for one in crossed)


# --- any form


@pytest.mark.parametrize("name", ["eddy-bracelet", "spring-tide-link"])
def test_openings_are_the_distances_of_the_two_spans(name: str) -> None:
    # By shapely, from the pieces of the outline that belong to each span.
    (path,) = [path for path in demo_design_files() if path.name.startswith(name)]
    e = evaluate(load_design(path).design)
    _, _, part = e.outline.piece_bounds
    checks = true_checks(e)
    for gap in (checks.gaps[n] for n in checks.rows[0].gaps):
        one, other = (
            shapely.union_all(e.outline.pieces[part == p]) for p in (gap.opening.part, gap.opening.other_part)
        )
        assert gap.opening.gap_mm == pytest.approx(float(shapely.distance(one, other)), abs=0.005)


@calm(12)
@given(designs(wild=True))
def test_any_form_can_be_checked(design: Design) -> None:
    checks = true_checks(evaluate(design))
    told = true_text(checks, 0.2)
    assert verdict(checks, 0.2) in told
    json.dumps(true_data(checks, 0.2), allow_nan=False)


# --- the demo designs, the words, the command


@pytest.mark.parametrize("path", demo_design_files(), ids=lambda path: path.name.split(".")[0])
def test_every_demo_design_can_be_checked(path: Path) -> None:
    checks = true_checks(evaluate(load_design(path).design))
    for one in findings(checks, 0.2):
        assert all(0 <= place <= len(checks.evaluation.trace.z_mm) - 1 for place in one.places)
    assert true_text(checks, 0.2).count("\n") >= len(checks.gaps)
    # No opening is narrower than the narrowest that the numbers panel names.
    gaps = [gap.opening.gap_mm for gap in checks.gaps if not gap.touches_flat]
    least = checks.evaluation.smallest_gap_mm
    assert not gaps or least is None or min(gaps) >= least - 0.01


@pytest.mark.parametrize(
    "name",
    [
        "curlew-s-ring",
        "eddy-bracelet",
        "oyster-bed-bangle",
        "sandbar-zigzag",
        "saltmarsh-cuff",
        "swash-necklace",
    ],
)
def test_pieces_made_of_one_motif_are_true(name: str) -> None:
    (path,) = [path for path in demo_design_files() if path.name.startswith(name)]
    assert verdict(true_checks(evaluate(load_design(path).design)), 0.2) == "True within 0.20 mm."


@pytest.fixture
def file(tmp_path: Path) -> Path:
    loops = [LOOP] * 9
    loops[4] = replace(LOOP, turn_deg=TURN_DEG + 6.0)
    path = tmp_path / "waves.formsketch.json"
    save_design(path, waves(*loops, worn=BANGLE))
    return path


def run(*arguments: str) -> str:
    return str(CliRunner().invoke(commands, ["true", *arguments], catch_exceptions=False).output)


def test_the_command_says_what_is_off(file: Path) -> None:
    told = run(str(file))
    assert "not true within 0.20 mm" in told
    assert "spans 4 and 6" in told
    data = json.loads(run(str(file), "--json", "--tolerance-mm", "5"))
    assert data["is_true"]
    assert len(data["rows"][0]["openings"]) == 7
    assert data["openings"][data["rows"][0]["most_off"]]["spans"] == [4, 6]
    assert data["halves"]["difference_mm"] == pytest.approx(
        true_checks(evaluate(load_design(file).design)).halves.difference_mm  # type: ignore[union-attr]
    )


@pytest.mark.parametrize("tolerance", ["0", "-1", "nan", "50"])
def test_a_tolerance_that_is_none_is_told(file: Path, tolerance: str) -> None:
    with pytest.raises(FormSketchError, match=r"A tolerance from 0\.01 to 20 mm was expected"):
        run(str(file), "--tolerance-mm", tolerance)
