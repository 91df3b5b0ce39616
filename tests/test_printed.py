"""Templates set as the maker wants: parts, papers, tiles, printers put right, mirrored, batches, refusals."""

import itertools
from pathlib import Path

import msgspec
import numpy as np
import pytest

from formsketch.design.file_format import load_design
from formsketch.design.model import Flare, Form, Run, Span, Wire
from formsketch.design.starters import STARTERS, make_starter
from formsketch.design.transforms import scaled_form
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.drawing import Group, Item, Sheet, Stroke, Text, bounds, walk
from formsketch.template.drawing import Path as DrawnPath
from formsketch.template.gauge_part import gauge_rows, spans_text
from formsketch.template.moved import Move
from formsketch.template.papers import PAPERS, paper_named
from formsketch.template.pdf import pdf_bytes
from formsketch.template.plain import plain_layers
from formsketch.template.printed import PART_WORDS, Choice, choice_of, printed_sheets
from formsketch.template.sheet_style import stretch_for
from formsketch.template.stages import as_bent, as_hammered, hammered_apart
from formsketch.template.svg import svg_text
from formsketch.template.writing import batch_outputs, design_files, write_template

ALL = tuple(PART_WORDS)
DEMOS = demo_design_files()[0].parent
BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


def demo(name: str) -> Evaluation:
    return evaluate(load_design(DEMOS / f"{name}.formsketch.json").design)


def groups_of(sheets: list[Sheet]) -> dict[str, Group]:
    """Groups by name, of all sheets."""
    found: dict[str, Group] = {}

    def look(items: tuple[Item | Group, ...]) -> None:
        for item in items:
            if isinstance(item, Group):
                found.setdefault(item.name, item)
                look(tuple(item.items))

    for sheet in sheets:
        look(tuple(sheet.groups))
    return found


@pytest.mark.parametrize("starter", STARTERS)
def test_starters_can_be_set_on_any_paper(starter: str) -> None:
    evaluation = evaluate(make_starter(starter, BRASS))
    for key in PAPERS:
        assert printed_sheets(evaluation, Choice(ALL, paper_named(key)))


def test_what_is_switched_off_is_not_drawn() -> None:
    eddy = demo("eddy-bracelet")
    names = groups_of(printed_sheets(eddy, Choice(("finished",))))
    assert "form-outline" in names and not any(
        name.startswith(("wire-row", "bent", "gauge")) for name in names
    )
    names = groups_of(printed_sheets(eddy, Choice(ALL)))
    assert {"form-outline", "bent-tubes", "hammered-outline", "rule-1", "wire-row-1", "gauge-1"} <= set(names)


@pytest.mark.parametrize("file", sorted(DEMOS.glob("*.formsketch.json")), ids=lambda file: file.stem)
def test_the_table_of_marks_has_a_row_for_every_mark(file: Path) -> None:
    evaluation = evaluate(load_design(file).design)
    sheets = printed_sheets(evaluation, Choice(("table",), paper_named("letter")))
    rows = {
        item.position[1]
        for sheet in sheets
        for group in sheet.groups
        if group.name == "mark-table"
        for item in walk([group])
        if isinstance(item, Text) and item.anchor == "end" and item.text.isdigit()
    }
    assert len(rows) >= min(8, len(evaluation.spans.turn_deg) + 1)


def test_a_wide_form_is_tiled_and_each_tile_names_its_neighbours() -> None:
    wide = evaluate(scaled_form(demo("spring-tide-link").design, 6.0))
    sheets = printed_sheets(wide, Choice(("finished",)))
    tiles = [sheet for sheet in sheets if any(g.name == "tile" for g in sheet.groups)]
    assert len(tiles) >= 2
    words = [item.text for item in walk(tiles[0].groups) if isinstance(item, Text)]
    assert any("tile 1 of" in text and "sheet 3 right" in text for text in words)
    assert all(any(g.name == "crop-marks" for g in tile.groups) for tile in tiles)
    (tile,) = [g for g in tiles[0].groups if g.name == "tile"]
    assert f'id="{tile.name}-window"' in svg_text(tiles[0]) and "clip-path" in svg_text(tiles[0])
    assert pdf_bytes(sheets) == pdf_bytes(printed_sheets(wide, Choice(("finished",))))


def test_sheets_are_turned_where_that_takes_fewer_and_say_so() -> None:
    def words_on(sheet: Sheet) -> str:
        return " ".join(item.text for item in walk(sheet.groups) if isinstance(item, Text))

    # 211.5 mm as hammered: more than A4 is wide, less than it is high, so one sheet lying holds it.
    zigzag = printed_sheets(demo("sandbar-zigzag"), Choice(("hammered",)))
    assert [sheet.width_mm for sheet in zigzag] == [210.0, 297.0]
    assert "turned, long side across" in words_on(zigzag[1]) and "tile" not in words_on(zigzag[1])
    # Lying already, it is left lying and says nothing.
    lying = printed_sheets(demo("sandbar-zigzag"), Choice(("hammered",), paper_named("a4", lying=True)))
    assert {sheet.width_mm for sheet in lying} == {297.0}
    assert not any("turned," in words_on(sheet) for sheet in lying)


def test_loops_that_would_lie_on_each_other_are_drawn_apart() -> None:
    wrack, names = demo("wrack-brooch-pin"), set()
    lengths = hammered_apart(wrack)
    marks = sorted(pair for length in lengths for pair in length.marks)
    # Every length once, from the first mark to the last without a gap.
    assert marks[0][0] == 1 and marks[-1][1] == len(wrack.spans.turn_deg) + 1
    assert all(one[1] == other[0] for one, other in itertools.pairwise(marks))
    assert [length.texts for length in lengths] == [
        ["marks 1 to 6"],
        ["marks 6 to 7, and on to 9"],
        ["marks 9 to 11"],
    ]
    # Nothing is lost by laying them apart: their finished lengths, times how often, are that of the form.
    total = sum(len(one.marks) * evaluate(one.design).finished_length_mm for one in lengths)
    assert total == pytest.approx(wrack.finished_length_mm, rel=1e-9)
    for sheet in printed_sheets(wrack, Choice(("hammered",))):
        names |= {group.name for group in sheet.groups}
    assert {"hammered-outline", "hammered-centreline", "hammered-marks", "hammered-words"} <= names


def test_plain_layers_are_those_asked_for_each_stage_under_the_one_before() -> None:
    asked = ("outline", "bent-outline", "wire-marks", "bars")
    plain = plain_layers(demo("tern-pendant"), asked)
    assert tuple(plain.layers) == asked
    boxes = [bounds(items) for items in plain.layers.values()]
    assert all(above[3] < below[1] for above, below in itertools.pairwise(boxes))
    assert all(box[0] >= 0 and box[2] <= plain.width_mm and box[3] <= plain.height_mm for box in boxes)
    with pytest.raises(FormSketchError, match=r"layers: expected some of outline, .*bars, got 'edge'"):
        plain_layers(demo("tern-pendant"), ("edge",))


def test_a_printers_error_is_taken_out_and_stated() -> None:
    # A printer that makes 99 mm of 100 needs 100/99 of the length drawn [plane geometry, D].
    eddy = demo("eddy-bracelet")
    true = groups_of(printed_sheets(eddy, Choice(("finished",))))
    put_right = printed_sheets(eddy, Choice(("finished",), stretch=stretch_for(99.0, 101.0)))
    for name, number in (("bar-across-metric", 0), ("bar-down-metric", 1)):
        length = np.ptp(groups_of(put_right)[name].items[0].points[:, number])  # type: ignore[union-attr]
        assert length == pytest.approx(100.0 * 100.0 / (99.0, 101.0)[number], abs=1e-9)
    line, was = groups_of(put_right)["form-centreline"].items[0], true["form-centreline"].items[0]
    assert isinstance(line, DrawnPath) and isinstance(was, DrawnPath)
    assert np.ptp(line.points, axis=0) == pytest.approx(np.ptp(was.points, axis=0) * (100 / 99, 100 / 101))
    words = " ".join(item.text for item in walk(put_right[0].groups) if isinstance(item, Text))
    assert "99.0 mm across" in words and "101.0 mm" in words


def test_mirrored_turns_the_form_over_and_keeps_lettering_readable() -> None:
    eddy = demo("eddy-bracelet")
    plain = groups_of(printed_sheets(eddy, Choice(("finished",))))["form-centreline"].items[0]
    turned = groups_of(printed_sheets(eddy, Choice(("finished",), mirrored=True)))["form-centreline"].items[0]
    assert isinstance(plain, DrawnPath) and isinstance(turned, DrawnPath)
    total = plain.points[:, 0] + turned.points[:, 0]
    assert np.ptp(total) < 1e-9 and turned.points[:, 1] == pytest.approx(plain.points[:, 1])


def test_left_handed_runs_the_wire_the_other_way() -> None:
    eddy = demo("eddy-bracelet")
    ways = []
    for left in (False, True):
        names = groups_of(printed_sheets(eddy, Choice(("wire",), left_handed=left)))
        one, two = names["mark-2"].items[0], names["mark-3"].items[0]
        assert isinstance(one, DrawnPath) and isinstance(two, DrawnPath)
        ways.append(two.points[0, 0] - one.points[0, 0])
    assert ways[0] > 0 and ways[1] == pytest.approx(-ways[0])


def test_moving_keeps_lengths_and_mirroring_twice_is_nothing() -> None:
    path = DrawnPath(np.array([[0.0, 0.0], [3.0, 4.0]]), Stroke.CONTINUOUS_NARROW)
    moved = Move(5.0, -2.0, -1.0).item(Move(5.0, -2.0, -1.0).item(path))
    assert isinstance(moved, DrawnPath) and moved.points == pytest.approx(path.points - np.array([0.0, 4.0]))


def test_as_bent_is_as_long_as_the_stock_and_turns_as_far() -> None:
    # Bending keeps the centreline's length; hammering lengthens it afterwards [definition].
    eddy = demo("eddy-bracelet")
    bent = evaluate(as_bent(eddy))
    assert bent.finished_length_mm == pytest.approx(eddy.stock_length_mm, rel=1e-12)
    assert bent.stock_length_mm == pytest.approx(eddy.stock_length_mm, rel=1e-12)
    assert bent.spans.finished_radius_mm == pytest.approx(eddy.spans.as_bent_radius_mm, rel=1e-12)
    assert evaluate(as_hammered(eddy)).cut_length_mm == pytest.approx(eddy.cut_length_mm, rel=1e-12)


def test_gauges_hold_every_size_once_with_its_spans() -> None:
    eddy = demo("eddy-bracelet")
    rows = gauge_rows(eddy)
    named = sorted(span for row in rows for span in row.spans)
    assert named == [i + 1 for i in np.flatnonzero(eddy.spans.thinnest_mm < eddy.diameter_mm)]
    assert spans_text((1, 2, 3, 5)) == "spans 1 to 3, 5" and spans_text((4,)) == "span 4"
    for row, number in zip(rows, range(1, 99), strict=False):
        slot = groups_of(printed_sheets(eddy, Choice(("gauges",))))[f"gauge-{number}"].items[:2]
        gap = slot[1].points[0, 1] - slot[0].points[0, 1]  # type: ignore[union-attr]
        assert gap == pytest.approx(row.width_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"paper": "a9"}, "a4"),
        ({"paper": "a4", "margin_mm": 90.0}, "margin"),
        ({"overlap_mm": 1.0}, "overlap"),
        ({"parts": "wire,hat"}, "'hat'"),
        ({"bar_across_mm": 50.0}, "100 mm bar"),
        ({"bar_down_mm": -1.0}, "100 mm bar"),
        ({"truing_mm": 5.0}, "truing"),
        ({"truing_mm": 200.0, "truing_aspect": 2.0}, "oval"),
    ],
)
def test_what_cannot_be_set_is_explained(asked: dict[str, object], says: str) -> None:
    with pytest.raises(FormSketchError, match=says):
        choice = choice_of(**asked)  # type: ignore[arg-type]
        assert choice is not None
        printed_sheets(demo("eddy-bracelet"), choice)


def test_nothing_asked_is_the_one_small_sheet() -> None:
    assert choice_of() is None


def test_a_form_that_cannot_be_made_has_no_template(tmp_path: Path) -> None:
    flat = Span(length_mm=20.0, flare=Flare(thickness=0.1))
    design = load_design(DEMOS / "eddy-bracelet.formsketch.json").design
    stopped = evaluate(msgspec.structs.replace(design, form=Form(runs=(Run(spans=(flat,)),))))
    for name in ("a.pdf", "a.csv", "a.dxf"):
        with pytest.raises(FormSketchError, match="No template"):
            write_template(stopped, tmp_path / name, Choice())
    assert list(tmp_path.iterdir()) == []


def test_several_sheets_as_svg_are_numbered_files(tmp_path: Path) -> None:
    files = write_template(demo("eddy-bracelet"), tmp_path / "eddy.svg", Choice(ALL))
    assert [file.name for file in files] == [f"eddy-{n}.svg" for n in range(1, len(files) + 1)]
    assert all(file.exists() for file in files)


def test_a_folder_stands_for_its_designs_and_outputs_have_different_names(tmp_path: Path) -> None:
    files = design_files([DEMOS])
    assert len(files) >= 10 and len(set(batch_outputs(files, tmp_path, ".pdf"))) == len(files)
    with pytest.raises(FormSketchError, match="found none"):
        design_files([tmp_path])
    with pytest.raises(FormSketchError, match="expected a folder"):
        batch_outputs(files, tmp_path / "missing", ".pdf")
    with pytest.raises(FormSketchError, match="two of the designs"):
        batch_outputs([files[0], files[0]], tmp_path, ".pdf")
