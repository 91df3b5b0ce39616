"""Forms held against each other: figures and differences in closed form, the grid, and the sheet.

Sources: for unhammered wire of one length weight goes with d^2 and nothing else changes; a form scaled by k
has k times the length and weight, and its loops' mean diameter k times [D]. AWG: ASTM B258 [P], 16 gauge
1.290846 mm, 18 gauge 1.023687 mm. ISO 5455 reductions 1:2, 1:5, 1:10 [P]. ISO 216 A4 and A3 [P].
"""

import json
import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.comparison.axes import AXES, written_list
from formsketch.comparison.differences import FIGURES, DifferenceRow, difference_rows
from formsketch.comparison.grid import (
    MOST_CELLS,
    grid_candidates,
    grid_cell,
    parse_diameters,
    parse_scales,
    why_not,
)
from formsketch.comparison.variants import Candidate, candidates_of, comparison_data
from formsketch.design.model import BeadEnd, Design, Flare, Form, Run, Span, Variant, Wire, Worn
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError, InputError
from formsketch.template.comparison_sheet import FAINT_LINE, METAL_TONE, comparison_sheet
from formsketch.template.drawing import Group, MultiPath, Path, Sheet, Text, bounds
from formsketch.template.svg import svg_text
from tests.support.strategies import calm, designs
from tests.test_template import assert_legible, named, words_of

D_MM = 1.0
ARC = Span(length_mm=math.pi * 6.0, turn_deg=180.0)
ROUND = Design(
    title="Round",
    wire=Wire(metal="sterling-925", diameter_mm=D_MM),
    form=Form(runs=(Run(spans=(ARC,)),)),
)
FLAT = replace(ROUND, form=Form(runs=(Run(spans=(replace(ARC, flare=Flare(thickness=0.5)),)),)))
TOO_FLAT = replace(ROUND, form=Form(runs=(Run(spans=(replace(ARC, flare=Flare(thickness=0.1)),)),)))
BEADED = replace(ROUND, form=replace(ROUND.form, start=BeadEnd(diameter_mm=2.0)))


def with_variants(design: Design, *variants: Variant) -> Design:
    return replace(design, variants=variants)


def row_of(rows: list[DifferenceRow], label: str) -> DifferenceRow:
    (row,) = [row for row in rows if row.label == label]
    return row


# Candidates


def test_the_design_comes_first_and_then_its_variants() -> None:
    design = with_variants(
        ROUND,
        Variant(title="light", diameter_mm=0.8),
        Variant(title="large", scale=1.5, metal="copper-c11000"),
        Variant(title="round", flare_depth=0.0),
    )
    drawn, light, large, round_ = candidates_of(design)
    assert [c.title for c in (drawn, light, large, round_)] == ["as drawn", "light", "large", "round"]
    assert drawn.subtitle == "1.00 mm (between 18 and 19 gauge), Sterling silver 925"
    assert light.subtitle.startswith("0.80 mm")
    assert large.subtitle == "1.00 mm (between 18 and 19 gauge), Copper C11000, size × 1.5"
    assert round_.subtitle.endswith("hammered × 0 as deep")
    assert not any(c.reason for c in (drawn, light, large, round_))
    assert drawn.evaluation.design is design


def test_titles_tell_designs_apart() -> None:
    assert [c.title for c in candidates_of(ROUND)] == ["Round"]
    assert [c.title for c in candidates_of(replace(ROUND, title=""))] == ["as drawn"]
    design = with_variants(ROUND, Variant(title="light", diameter_mm=0.8))
    assert [c.title for c in candidates_of(design, among_others=True)] == ["Round", "Round: light"]


def test_what_cannot_be_made_has_a_reason() -> None:
    design = with_variants(
        BEADED,
        Variant(title="thick", diameter_mm=2.5),
        Variant(title="odd", metal="moonsilver"),
    )
    _, thick, odd = candidates_of(design)
    assert thick.reason == "Expected a bead thicker than the 2.5 mm wire."
    assert "moonsilver" in odd.reason and "$" not in odd.reason
    for one in (thick, odd):
        with pytest.raises(FormSketchError, match=re.escape(one.reason)):
            _ = one.evaluation
    (flat,) = candidates_of(TOO_FLAT)
    assert "times as wide as thick" in flat.reason
    assert flat.evaluation.thinnest_mm == pytest.approx(0.1)  # shown and measured all the same


# Differences


def test_weight_goes_with_the_square_of_the_wire() -> None:
    rows = difference_rows(candidates_of(with_variants(ROUND, Variant(title="thick", diameter_mm=1.2))))
    assert row_of(rows, "Weight").differences == ("", "+44 %")  # 1.2^2
    assert row_of(rows, "Cut length").differences == ("", "same")
    assert row_of(rows, "Cut length").values == ("18.85 mm", "18.85 mm")  # 6 pi
    assert row_of(rows, "Thinnest").values == ("1.00 mm", "1.20 mm")
    # Inside of the loop: 12 - 1 over 1, and 12 - 1.2 over 1.2.
    assert row_of(rows, "Loop / wire").values == ("11.0", "9.00")
    assert row_of(rows, "Loop / wire").differences == ("", "−18 %")
    # Half a round: 6 and half a wire high, 12 and a wire long.
    assert row_of(rows, "Height × length").values == ("6.5 × 13.0 mm", "6.6 × 13.2 mm")
    assert row_of(rows, "Height × length").differences == ("", "+1.5 %")
    assert row_of(rows, "Wire / height").values[0] == "15 %"  # 1 / 6.5
    # Half an annulus over its hull, the half disc: 1 - (5.5 / 6.5)^2.
    assert row_of(rows, "Metal / hull").values[0] == f"{100 * (1 - (5.5 / 6.5) ** 2):.0f} %"
    assert row_of(rows, "Flare / wire").values == ("1.00", "1.00")


def test_a_form_of_twice_the_size_has_twice_the_weight() -> None:
    candidates = candidates_of(with_variants(FLAT, Variant(title="large", scale=2.0)))
    rows = difference_rows(candidates)
    assert row_of(rows, "Weight").differences[1] == "+100 %"
    assert row_of(rows, "Cut length").differences[1] == "+100 %"
    assert row_of(rows, "Thinnest").differences[1] == row_of(rows, "Widest flare").differences[1] == "same"
    percents = comparison_data(candidates)["designs"][1]["difference_percent"]
    assert percents["weight_g"] == pytest.approx(100.0)
    assert percents["thinnest_mm"] == 0.0
    assert percents["loop_to_wire"] == pytest.approx(100 * (23.0 / 11.0 - 1))  # 24 - 1 over 12 - 1


def test_height_and_length_are_told_apart() -> None:
    """A straight wire twice as long, and not higher."""
    straight = replace(ROUND, form=Form(runs=(Run(spans=(Span(length_mm=40.0),)),)))
    rows = difference_rows(candidates_of(with_variants(straight, Variant(title="long", scale=2.0))))
    assert row_of(rows, "Height × length").differences[1] == "same, +100 %"
    assert row_of(rows, "Loop / wire").values == ("none", "none")
    assert row_of(rows, "Loop / wire").differences == ("", "")


def test_differences_are_from_the_first_that_can_be_measured() -> None:
    candidates, _ = grid_candidates(BEADED, [3.0, 1.0, 1.2], [1.0])
    rows = difference_rows(candidates)
    assert row_of(rows, "Weight").values[0] == row_of(rows, "Weight").differences[0] == ""
    assert row_of(rows, "Weight").differences[1] == ""
    assert row_of(rows, "Thinnest").differences[2] == "+20 %"
    data = comparison_data(candidates)
    assert data["base"] == 1
    assert data["designs"][0] == {
        "title": "3.00 mm, size as drawn",
        "subtitle": "3.00 mm (between 8 and 9 gauge)",
        "reason": "Expected a bead thicker than the 3 mm wire.",
    }


def test_data_for_other_programs() -> None:
    design = with_variants(FLAT, Variant(title="thick", diameter_mm=2.0))
    data = json.loads(json.dumps(comparison_data(candidates_of(design)), allow_nan=False))
    first, second = data["designs"]
    assert (first["title"], first["design"], second["title"]) == ("as drawn", "Round", "thick")
    assert first["reason"] is None and data["base"] == 0
    assert {"weight_g", "cut_length_mm", "spans", "cautions", "envelope_mm"} <= first.keys()
    assert set(first["difference_percent"].values()) == {0.0}
    assert set(second["difference_percent"]) == {name for figure in FIGURES for name in figure.names}
    assert second["weight_g"] / first["weight_g"] == pytest.approx(4.0)  # flares scale with the wire


# The grid


def test_diameters_are_read_as_people_write_them() -> None:
    assert parse_diameters(" 1.0, 18 ga,16 AWG , 1/16 in") == pytest.approx([1.0, 1.023687, 1.290846, 1.5875])
    assert parse_diameters("") == parse_diameters("  ") == parse_scales("") == []
    assert parse_scales("0.9, 1,1.15") == [0.9, 1.0, 1.15]


@pytest.mark.parametrize("text", ["0", "25", "1.0,,1.2", ",", "thin", "0.01", "1.0;1.2", "-1"])
def test_diameters_that_make_no_sense_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_diameters(text)


@pytest.mark.parametrize("text", ["0", "21", "1,,2", "nan", "inf", "-1", "1e400", "large", "0.01"])
def test_scales_that_make_no_sense_are_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"expected"):
        parse_scales(text)


def test_grid_goes_by_wire_down_and_size_across() -> None:
    candidates, columns = grid_candidates(ROUND, [1.023687, 1.290846], [0.5, 1.0, 2.0])
    assert columns == 3
    titles = [candidate.title for candidate in candidates]
    assert titles[:4] == [
        "18 gauge, size × 0.5",
        "18 gauge, size as drawn",
        "18 gauge, size × 2",
        "16 gauge, size × 0.5",
    ]
    lengths = np.array([c.evaluation.cut_length_mm for c in candidates]).reshape(2, 3)
    assert lengths == pytest.approx(6 * math.pi * np.array([[0.5, 1.0, 2.0]] * 2))
    only, columns = grid_candidates(ROUND, [], [])
    assert columns == 1 and only[0].evaluation.diameter_mm == D_MM


def test_a_grid_has_its_limit() -> None:
    with pytest.raises(InputError, match=f"at most {MOST_CELLS} forms"):
        grid_candidates(ROUND, [1.0] * (MOST_CELLS + 1), [1.0])


# Axes


def test_every_axis_begins_with_the_designs_own_value() -> None:
    design = make_starter("row-of-s-forms", Wire(metal="brass-c26000", diameter_mm=1.290846))
    for axis in AXES:
        values = axis.default(design)
        assert sum(axis.is_own(design, value) for value in values) == 1, axis.name
        own = next(value for value in values if axis.is_own(design, value))
        made = grid_cell(design, ((axis, own),)).evaluation.design
        assert made.form == design.form
        assert made.wire.metal == design.wire.metal
        assert made.wire.diameter_mm == pytest.approx(design.wire.diameter_mm, rel=1e-4)
        # What it writes it can read again.
        again = axis.parse(design, written_list(axis, design, values))
        assert all(axis.label(design, a) == axis.label(design, b) for a, b in zip(again, values, strict=True))
        assert axis.parse(design, "  ") == values


def test_gauges_go_round_the_designs_own() -> None:
    """ASTM B258 [P]: 14 to 18 gauge; 1.0 mm lies between 18 (1.024) and 19 (0.912)."""
    gauge, wire = AXES[0], ROUND.wire
    at_16 = replace(ROUND, wire=replace(wire, diameter_mm=1.290846))
    assert gauge.default(at_16) == pytest.approx([1.628, 1.450, 1.291, 1.150, 1.024], abs=1e-3)
    assert gauge.default(ROUND) == pytest.approx([1.150, 1.024, 1.0, 0.912, 0.812], abs=1e-3)
    assert gauge.parse(ROUND, "16, 1.2, 18 ga, 2/0") == pytest.approx([1.291, 1.2, 1.024, 9.266], abs=1e-3)


def test_axes_change_what_they_say() -> None:
    size, metal, depth, loops = AXES[1:]
    assert grid_cell(FLAT, ((size, 1.5),)).evaluation.finished_length_mm == pytest.approx(9 * math.pi)
    assert grid_cell(FLAT, ((depth, 0.0),)).evaluation.thinnest_mm == D_MM
    assert grid_cell(FLAT, ((depth, 0.5),)).evaluation.thinnest_mm == pytest.approx(0.75 * D_MM)
    sterling, copper = (
        grid_cell(FLAT, ((metal, key),)).evaluation for key in ("sterling-925", "copper-c11000")
    )
    ratio = sterling.metal.density_g_per_cm3 / copper.metal.density_g_per_cm3
    assert sterling.weight_g / copper.weight_g == pytest.approx(ratio)
    assert len(grid_cell(FLAT, ((loops, 4),)).evaluation.spans.turn_deg) == 4
    both = grid_cell(FLAT, ((loops, 3), (size, 2.0)))
    assert both.evaluation.finished_length_mm == pytest.approx(36 * math.pi)
    assert both.title == "3 times, 200 %"
    assert metal.parse(FLAT, "copper, STERLING") == ["copper-c11000", "sterling-925"]


@pytest.mark.parametrize(
    ("axis", "text"),
    [(0, "0.01"), (0, "thin"), (1, "0"), (1, "nan"), (1, "9000"), (2, "moonsilver"), (3, "-1"), (3, "501"),
     (4, "0"), (4, "2.5"), (4, "1001"), (4, "10000000"), (1, "1,,2"), (1, ",".join(["90"] * 21))],
)  # fmt: skip
def test_values_that_make_no_sense_are_refused(axis: int, text: str) -> None:
    with pytest.raises(InputError, match="expected"):
        AXES[axis].parse(ROUND, text)


def test_cells_that_cannot_be_made_say_why() -> None:
    assert why_not(grid_cell(ROUND, ())) == ""
    assert "bead thicker" in why_not(grid_cell(BEADED, ((AXES[0], 2.5),)))
    assert "times as wide as thick" in why_not(grid_cell(TOO_FLAT, ()))
    # Bent to a radius of 0.6 mm there is no room for a tube in 1.3 mm wire.
    assert "tighter than any tube" in why_not(grid_cell(ROUND, ((AXES[0], 1.3), (AXES[1], 0.1))))
    # A loop of R = 6 mm turning 220 degrees between legs of 15 mm: the legs' tips come to within
    # 2 x 6 sin(110 degrees) - 2 x 15 sin(20 degrees) = 1.02 mm of each other.
    leg, bend = Span(length_mm=15.0), Span(length_mm=6 * math.radians(220.0), turn_deg=220.0)
    nearly = replace(ROUND, form=Form(runs=(Run(spans=(leg, bend, leg)),)))
    thin = grid_cell(nearly, ((AXES[0], 0.5),)).evaluation
    assert why_not(grid_cell(nearly, ((AXES[0], 0.9),)), thin) == ""
    assert "runs into itself" in why_not(grid_cell(nearly, ((AXES[0], 1.3),)), thin)


def test_cells_too_large_for_the_wrist_say_so() -> None:
    """A band closes round about its own length, 170 mm; 130 % and 70 % of that are 50 mm off [D]."""
    flat = replace(ROUND, form=Form(runs=(Run(spans=(Span(length_mm=170.0),)),)))
    cuff = replace(flat, worn=Worn(kind="bracelet", standard="wrist", size=165.0))
    assert why_not(grid_cell(cuff, ((AXES[1], 1.0),))) == ""
    assert why_not(grid_cell(cuff, ((AXES[1], 1.3),))).startswith("Too large for wrist 165 mm")
    assert why_not(grid_cell(cuff, ((AXES[1], 0.7),))).startswith("Too small for wrist 165 mm")
    assert why_not(grid_cell(flat, ((AXES[1], 1.3),))) == ""


# The sheet


def form_of(sheet: Sheet, number: int) -> Group:
    return named(sheet)[f"form-{number}"]


def size_of(group: Group) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(group.items)
    return x1 - x0, y1 - y0


def test_all_forms_are_at_true_size_when_they_fit() -> None:
    design = with_variants(
        make_starter("row-of-s-forms", Wire(metal="brass-c26000", diameter_mm=1.290846)),
        Variant(title="light", diameter_mm=1.023687),
        Variant(title="large", scale=1.3),
    )
    candidates = candidates_of(design)
    sheet = comparison_sheet(candidates, 0)
    assert sorted((sheet.width_mm, sheet.height_mm)) in ([210.0, 297.0], [297.0, 420.0])
    for number, candidate in enumerate(candidates, start=1):
        assert size_of(form_of(sheet, number)) == pytest.approx(candidate.evaluation.envelope_mm, abs=0.01)
    assert_legible(sheet)
    bar = named(sheet)["check-bar"].items[0]
    assert isinstance(bar, Path) and np.ptp(bar.points[:, 0]) == pytest.approx(100.0)
    assert "All at true size. Differences are from as drawn." in words_of([named(sheet)["heading"]])


@pytest.mark.parametrize(("length_mm", "reduction"), [(370.0, 1), (700.0, 2), (1_900.0, 5), (3_800.0, 10)])
def test_large_forms_are_reduced_by_a_stated_scale(length_mm: float, reduction: int) -> None:
    """ISO 5455; A3 lying leaves 400 mm inside its margins."""
    long = replace(ROUND, form=Form(runs=(Run(spans=(Span(length_mm=length_mm),)),)))
    candidates = candidates_of(with_variants(long, Variant(title="thick", diameter_mm=3.0)))
    sheet = comparison_sheet(candidates, 0)
    for number, diameter_mm in ((1, 1.0), (2, 3.0)):
        expected = (length_mm / reduction, diameter_mm / reduction)
        assert size_of(form_of(sheet, number)) == pytest.approx(expected, abs=1e-6)
    heading = " ".join(words_of([named(sheet)["heading"]]))
    assert ("All at true size." if reduction == 1 else f"All at 1:{reduction}.") in heading
    if reduction > 1:
        bar = named(sheet)["scale-bar"].items[0]
        assert isinstance(bar, Path) and np.ptp(bar.points[:, 0]) == pytest.approx(100.0 / reduction)
    assert_legible(sheet)


def test_grid_stands_in_its_columns() -> None:
    candidates, columns = grid_candidates(FLAT, [0.8, 1.0, 1.3], [0.8, 1.25])
    sheet = comparison_sheet(candidates, columns)
    middles = np.array([bounds(form_of(sheet, i + 1).items) for i in range(6)]).reshape(3, 2, 4)
    x = (middles[..., 0] + middles[..., 2]) / 2
    y = (middles[..., 1] + middles[..., 3]) / 2
    assert x == pytest.approx(np.repeat(x[:1], 3, axis=0))
    assert y == pytest.approx(np.repeat(y[:, :1], 2, axis=1))
    assert (np.diff(x, axis=1) > 0).all() and (np.diff(y, axis=0) > 0).all()
    assert_legible(sheet)


def test_what_cannot_be_made_is_faint_and_says_why() -> None:
    design = with_variants(TOO_FLAT, Variant(title="round", flare_depth=0.0))
    sheet = comparison_sheet(candidates_of(design), 0)
    faint, plain = (form_of(sheet, number).items for number in (1, 2))
    assert {item.colour for item in faint if isinstance(item, Path)} == {FAINT_LINE}
    assert METAL_TONE in {item.fill for item in plain if isinstance(item, MultiPath)}
    assert " ".join(words_of([named(sheet)["reason-1"]])).startswith("Cannot be made. Span 1: more than 15")
    assert "reason-2" not in named(sheet)
    refused, columns = grid_candidates(BEADED, [1.0, 2.5], [1.0])
    sheet = comparison_sheet(refused, columns)
    assert "form-2" not in named(sheet)
    told = " ".join(words_of([named(sheet)["reason-2"]]))
    assert told == "Cannot be made. Expected a bead thicker than the 2.5 mm wire."
    assert_legible(sheet)


def test_figures_are_aligned_with_their_differences() -> None:
    sheet = comparison_sheet(candidates_of(with_variants(ROUND, Variant(title="b", diameter_mm=1.2))), 0)
    for number in (1, 2):
        texts = [item for item in named(sheet)[f"figures-{number}"].items if isinstance(item, Text)]
        values = [text for text in texts if text.bold]
        assert len(values) == len(FIGURES)
        assert len({round(value.position[0], 6) for value in values}) == 1
    assert "+44 %" in words_of([named(sheet)["figures-2"]])


@pytest.mark.parametrize("count", [1, 7, 40, 101])
def test_many_forms_still_fit_one_sheet(count: int) -> None:
    many = tuple(Variant(title=f"number {i}", diameter_mm=0.8 + 0.01 * i) for i in range(count - 1))
    sheet = comparison_sheet(candidates_of(with_variants(ROUND, *many)), 0)
    assert len([name for name in named(sheet) if name.startswith("form-")]) == count
    assert_legible(sheet)


def test_nothing_to_compare_is_refused() -> None:
    with pytest.raises(FormSketchError, match="at least one form"):
        comparison_sheet([], 0)
    refused, columns = grid_candidates(BEADED, [2.5, 3.0], [1.0])
    with pytest.raises(FormSketchError, match=r"none of the forms can be made\. Expected a bead"):
        comparison_sheet(refused, columns)


def test_more_than_a_sheet_holds_is_refused() -> None:
    candidates, columns = grid_candidates(ROUND, [1.0] * 20, [1.0] * 20)
    with pytest.raises(FormSketchError, match="compare fewer"):
        comparison_sheet(candidates, columns)


@calm(14)
@given(designs(), st.integers(0, 1))
def test_any_design_can_be_compared(design: Design, columns: int) -> None:
    candidates: list[Candidate] = candidates_of(design)
    sheet = comparison_sheet(candidates, columns)
    assert_legible(sheet)
    assert svg_text(sheet) == svg_text(comparison_sheet(candidates_of(design), columns))
    json.dumps(comparison_data(candidates), allow_nan=False)
