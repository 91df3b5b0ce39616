"""Cut lists against brute force over every way to part the pieces [exhaustive, D], and their refusals."""

import csv
import io
import itertools
import math
import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from formsketch.cli import commands
from formsketch.comparison.batch_cut import (
    WireCut,
    batch_csv,
    batch_cut,
    batch_data,
    batch_text,
    read_counts,
    read_drawer,
)
from formsketch.design.file_format import load_design
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.fitting.cut_list import CutList, DrawerLength, Piece, cut_list
from formsketch.shipped import demo_design_files


def partitions(items: list[int]) -> Iterator[list[list[int]]]:
    """Every way to part items into groups."""
    if not items:
        yield []
        return
    first, *others = items
    for parts in partitions(others):
        for i in range(len(parts)):
            yield [*parts[:i], [first, *parts[i]], *parts[i + 1 :]]
        yield [[first], *parts]


def least_by_brute_force(lengths: list[float], drawer: list[float], kerf: float) -> float:
    best = float("inf")
    for parts in partitions(list(range(len(lengths)))):
        total = 0.0
        for part in parts:
            need = sum(lengths[i] for i in part) + kerf * (len(part) - 1)
            fitting = [length for length in drawer if need <= length + 1e-9]
            total += min(fitting, default=float("inf"))
        best = min(best, total)
    return best


def assert_covers(found: CutList, pieces: list[Piece], kerf: float) -> None:
    cut = sorted((p.name, p.length_mm) for length in found.lengths for p in length.pieces)
    assert cut == sorted((p.name, p.length_mm) for p in pieces)
    for length in found.lengths:
        used = sum(p.length_mm for p in length.pieces) + kerf * (len(length.pieces) - 1)
        assert used <= length.length_mm + 1e-6 and length.left_mm >= 0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(5, 300), min_size=1, max_size=7),
    st.lists(st.floats(300, 900), min_size=1, max_size=3, unique=True),
    st.sampled_from([0.0, 0.3, 1.0]),
)
def test_small_batches_take_no_more_than_brute_force(
    lengths: list[float], drawer: list[float], kerf: float
) -> None:
    pieces = [Piece(f"piece {n}", length) for n, length in enumerate(lengths)]
    found = cut_list(pieces, [DrawerLength(length) for length in drawer], kerf)
    assert_covers(found, pieces, kerf)
    assert found.taken_mm <= least_by_brute_force(lengths, drawer, kerf) * 1.01 + 1e-6


def least_of_a_drawer(lengths: list[float], bars: list[float], kerf: float) -> float:
    """Least taken where each length is there once: every piece into every bar [exhaustive, D]."""
    best = float("inf")
    for chosen in itertools.product(range(len(bars)), repeat=len(lengths)):
        used = [0.0] * len(bars)
        for length, bar in zip(lengths, chosen, strict=True):
            used[bar] += length + kerf
        if all(need <= bar + kerf + 1e-9 for need, bar in zip(used, bars, strict=True)):
            best = min(best, sum(bar for need, bar in zip(used, bars, strict=True) if need))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_small_batches_from_few_lengths_take_no_more_than_brute_force(seed: int) -> None:
    dice = random.Random(seed)
    bars = [round(dice.uniform(150, 600), 1) for _ in range(4)]
    lengths = [round(dice.uniform(30, 200), 1) for _ in range(6)]
    least = least_of_a_drawer(lengths, bars, 0.5)
    pieces = [Piece(f"p{n}", length) for n, length in enumerate(lengths)]
    drawer = [DrawerLength(bar, 1) for bar in bars]
    if not math.isfinite(least):
        with pytest.raises(InputError, match=r"expected enough|needs"):
            cut_list(pieces, drawer, 0.5)
        return
    found = cut_list(pieces, drawer, 0.5)
    assert_covers(found, pieces, 0.5)
    taken = sorted(length.length_mm for length in found.lengths)
    assert all(taken.count(bar) <= bars.count(bar) for bar in taken)
    assert found.taken_mm <= least * 1.01 + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_a_dozen_pieces_meet_the_bound_or_are_proved(seed: int) -> None:
    # Pieces made by parting whole bars: the best list takes exactly these bars [by construction].
    dice = random.Random(seed)
    lengths = []
    for _ in range(3):
        cuts = sorted(dice.uniform(0.0, 1.0) for _ in range(3))
        parts = np.diff([0.0, *cuts, 1.0])
        lengths += [float(part) * (500.0 + 0.5) - 0.5 for part in parts]
    pieces = [Piece(f"p{n}", length) for n, length in enumerate(lengths) if length > 1.0]
    found = cut_list(pieces, [DrawerLength(500.0)], 0.5)
    assert_covers(found, pieces, 0.5)
    assert found.taken_mm == pytest.approx(1500.0)


def test_three_hundred_pieces_are_cut_near_the_bound_and_in_any_order_alike() -> None:
    dice = random.Random(4)
    kinds = [dice.uniform(20, 400) for _ in range(9)]
    pieces = [Piece(f"kind {n % 9}", kinds[n % 9]) for n in range(300)]
    drawer = [DrawerLength(1000.0), DrawerLength(500.0, 20), DrawerLength(730.0)]
    found = cut_list(pieces, drawer, 0.5)
    assert_covers(found, pieces, 0.5)
    # No list takes less than the pieces with their cuts, but for one cut a length.
    bound = sum(piece.length_mm + 0.5 for piece in pieces) - 0.5 * len(found.lengths)
    assert found.taken_mm <= 1.05 * bound
    for _ in range(2):
        dice.shuffle(pieces)
        dice.shuffle(drawer)
        assert cut_list(pieces, drawer, 0.5) == found


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(5, 300), min_size=25, max_size=120))
def test_large_batches_cover_their_demand_near_the_bound(lengths: list[float]) -> None:
    pieces = [Piece(f"piece {n}", length) for n, length in enumerate(lengths)]
    found = cut_list(pieces, [DrawerLength(1000.0)], 0.0)
    assert_covers(found, pieces, 0.0)
    # No list takes less than the pieces together; first-fit decreasing is within 11/9 + 1 of the best.
    assert found.taken_mm <= sum(lengths) * 11 / 9 + 1000.0


def test_a_drawer_with_few_of_each_is_not_overdrawn() -> None:
    pieces = [Piece(f"p{n}", 90.0) for n in range(6)]
    found = cut_list(pieces, [DrawerLength(200.0, 2), DrawerLength(100.0, 3)], 0.5)
    taken = [length.length_mm for length in found.lengths]
    assert taken.count(200.0) <= 2 and taken.count(100.0) <= 3 and found.taken_mm == 600.0


@pytest.mark.parametrize(
    ("pieces", "drawer", "kerf", "says"),
    [
        ([Piece("long", 500.0)], [DrawerLength(400.0)], 0.0, "long needs 500.0 mm"),
        ([Piece("a", 90.0)] * 3, [DrawerLength(100.0, 2)], 0.0, "expected enough"),
        # Wire enough, and yet each length holds one only.
        ([Piece("a", 90.0)] * 3, [DrawerLength(150.0, 2)], 0.0, "no way was found"),
        ([], [DrawerLength(100.0)], 0.0, "pieces to cut"),
        ([Piece("a", 9.0)], [], 0.0, "lengths in the drawer"),
        ([Piece("a", -9.0)], [DrawerLength(100.0)], 0.0, "more than nought"),
        ([Piece("a", 9.0)], [DrawerLength(float("nan"))], 0.0, "how many"),
        ([Piece("a", 9.0)], [DrawerLength(100.0)], 9.0, "kerf"),
    ],
)
def test_what_cannot_be_cut_is_explained(
    pieces: list[Piece], drawer: list[DrawerLength], kerf: float, says: str
) -> None:
    with pytest.raises(InputError, match=says):
        cut_list(pieces, drawer, kerf)


def test_kerf_is_lost_between_pieces_only() -> None:
    # Two pieces of 50 with one cut of 1 between them fill 101 exactly [arithmetic].
    pair = [Piece("a", 50.0), Piece("b", 50.0)]
    assert len(cut_list(pair, [DrawerLength(101.0)], 1.0).lengths) == 1
    assert len(cut_list(pair, [DrawerLength(100.9)], 1.0).lengths) == 2
    assert list(itertools.chain(*(one.pieces for one in cut_list(pair, [DrawerLength(101.0)], 1.0).lengths)))


def demo(name: str) -> Evaluation:
    return evaluate(load_design(next(file for file in demo_design_files() if name in file.name)).design)


def test_a_batch_is_one_list_a_wire_with_its_totals() -> None:
    eddy, hoops = demo("eddy"), demo("ebb-hoops")
    brass, silver = batch_cut([(eddy, 3), (hoops, 2)], read_drawer("1000, 500 x 3"), 0.5, hold_mm=5.0)
    assert [len(length.pieces) for length in brass.cut.lengths] in ([2, 1], [1, 2])
    assert all(
        p.length_mm == eddy.cut_length_mm + 10.0 for length in brass.cut.lengths for p in length.pieces
    )
    # 1,000 mm of 1.290846 mm brass weigh pi/4 d^2 L rho [closed form].
    data = batch_data([brass, silver])
    assert data[0]["taken_g"] == pytest.approx(
        math.pi / 4 * 1.290846**2 * data[0]["taken_mm"] * 8.53e-3, rel=1e-6
    )
    text = batch_text([brass, silver])
    assert "Eddy bracelet" in text and "Ebb hoops" in text and "ozt" in text


@pytest.mark.parametrize(("text", "says"), [("500 x many", "500 x 3"), ("fish", "fish"), ("", "length")])
def test_a_drawer_that_is_not_understood_is_explained(text: str, says: str) -> None:
    with pytest.raises(FormSketchError, match=says):
        read_drawer(text)


def test_a_batch_too_large_for_the_drawer_names_its_wire() -> None:
    with pytest.raises(InputError, match="Brass C26000"):
        batch_cut([(demo("eddy"), 3)], read_drawer("500 x 2"), 0.5)
    with pytest.raises(InputError, match="pieces of each"):
        batch_cut([(demo("eddy"), 0)], read_drawer("500"), 0.5)


def two_wires() -> list[WireCut]:
    return batch_cut([(demo("eddy"), 3), (demo("ebb-hoops"), 2)], read_drawer("1000, 500 x 3"), 0.5)


def test_the_csv_says_where_every_piece_lies_on_its_length() -> None:
    cuts = two_wires()
    rows = list(csv.DictReader(io.StringIO(batch_csv(cuts))))
    assert len(rows) == 5
    for _, group in itertools.groupby(rows, key=lambda row: (row["metal"], row["length"])):
        own, end = list(group), -0.5
        for row in own:
            # One cut of 0.5 mm between pieces [arithmetic].
            assert float(row["from_mm"]) == pytest.approx(end + 0.5, abs=0.011)
            end = float(row["to_mm"])
        left = float(own[-1]["left_mm"])
        assert end + 0.5 + left == pytest.approx(float(own[0]["length_mm"]), abs=0.011)
        assert all(row["left_mm"] == "" for row in own[:-1])
    grams = sum(float(row["length_g"]) for row in rows if row["length_g"])
    assert grams == pytest.approx(sum(one.taken_g for one in cuts), abs=0.01)


def test_designs_of_one_title_are_told_apart_and_no_title_is_a_sum() -> None:
    from msgspec.structs import replace

    twice = replace(demo("eddy").design, title="=1+2")
    cuts = batch_cut([(evaluate(twice), 1), (evaluate(twice), 1)], read_drawer("1000"), 0.5)
    names = {row["piece"] for row in csv.DictReader(io.StringIO(batch_csv(cuts)))}
    assert names == {" =1+2 (1)", " =1+2 (2)"}


@pytest.mark.parametrize(
    ("text", "counts"),
    [("3", [3, 3]), (" 3, 1", [3, 1]), ("1,2,3", None), ("x", None), ("", None), ("-1", None)],
)
def test_how_many_of_each_is_read_or_explained(text: str, counts: list[int] | None) -> None:
    if counts is None:
        with pytest.raises(FormSketchError, match="each: expected"):
            read_counts(text, 2)
    else:
        assert read_counts(text, 2) == counts


def run(*args: object) -> tuple[int, str]:
    found = CliRunner().invoke(commands, ["cutlist", *(str(arg) for arg in args)])
    return found.exit_code, found.output if found.exception is None else str(found.exception)


@pytest.mark.parametrize("suffix", [".csv", ".txt", ".pdf"])
def test_a_cut_list_is_written_as_its_name_says(tmp_path: Path, suffix: str) -> None:
    files = [file for file in demo_design_files() if "tern-p" in file.name or "slack" in file.name]
    output = tmp_path / f"cuts{suffix}"
    code, said = run(*files, "--each", "2,1", "--drawer", "500 x 2", "-o", output)
    assert code == 0 and "Slack-water" in said and f"{output} written." in said
    data = output.read_bytes()
    if suffix == ".pdf":
        words = pdfium.PdfDocument(data)[0].get_textpage().get_text_range()
        assert "Cut list, sheet 1 of 1" in words and "Slack-water figure-eight" in words
    else:
        assert "Slack-water figure-eight" in data.decode("utf-8")


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("-o", "cuts.xls"), ".csv or .txt or .pdf"),
        (("--each", "1,2"), "each: expected"),
        (("--each", "501"), "pieces of each"),
        (("--kerf-mm", "9"), "kerf"),
    ],
)
def test_a_cut_list_that_cannot_be_made_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    file = next(file for file in demo_design_files() if "eddy" in file.name)
    code, said = run(file, "--drawer", "500 x 2", *args)
    assert code != 0 and says in said and list(tmp_path.iterdir()) == []


def test_the_worked_example_of_the_help_holds() -> None:
    found = cut_list([Piece("piece", 360.0)] * 3, read_drawer("1000, 500 x 3"), 0.5)
    assert [(one.length_mm, len(one.pieces), one.left_mm) for one in found.lengths] == [
        (1000.0, 2, pytest.approx(279.0)),
        (500.0, 1, pytest.approx(139.5)),
    ]
