"""Cut lists against brute force over every way to part the pieces [exhaustive, D], and their refusals."""

import itertools
import math
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formsketch.comparison.batch_cut import batch_cut, batch_data, batch_text, read_drawer
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
