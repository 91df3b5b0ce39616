"""A form among the maker's finished pieces: the next below and above, the nearest by ratio, what is kept.

Sources: an arc of radius 6 in wire of 1 has a loop of 11 inside [D]; weight over the longer side [D].
"""

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

from formsketch.comparison.scale_of_pieces import (
    MOST_PIECES,
    PROPORTIONS,
    Piece,
    missing,
    piece_from,
    pieces_text,
    place_on_scale,
    place_text,
    proportions_of,
    read_pieces,
    with_piece,
)
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.errors import DesignFileError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.report import measurement

ARC = Design(
    title="Arc",
    wire=Wire(metal="sterling-925", diameter_mm=1.0),
    form=Form(runs=(Run(spans=(Span(length_mm=math.pi * 6.0, turn_deg=180.0),)),)),
)
LOOP = next(p for p in PROPORTIONS if p.name == "loop_to_wire")


def piece(title: str, value: float) -> Piece:
    return Piece(f"/{title}", title, {"loop_to_wire": value})


ROW = (piece("stout", 4.0), piece("fine", 16.0), piece("middling", 6.0))


def test_the_numbers_of_a_piece() -> None:
    e = evaluate(ARC)
    numbers = proportions_of(e)
    assert numbers["loop_to_wire"] == pytest.approx(11.0)
    # 6 pi mm of 1 mm wire at 10.36, over 13 mm.
    assert numbers["grams_per_cm"] == pytest.approx(6 * math.pi * math.pi / 4 * 10.36 / 1000 / 1.3, rel=1e-4)
    assert "gap_to_wire" not in numbers
    # Two legs 6 mm apart, middle to middle.
    half, bent = Span(length_mm=10.0), Span(length_mm=10.0, corner_deg=90.0)
    legs = (half, half, Span(length_mm=6.0, corner_deg=90.0), bent, half)
    staple = replace(ARC, form=Form(runs=(Run(spans=legs),)))
    assert proportions_of(evaluate(staple))["gap_to_wire"] == pytest.approx(5.0)
    shown = measurement(e)["proportion"]
    assert {name: shown[name] for name in numbers} == numbers


@pytest.mark.parametrize(
    ("value", "below", "above", "nearest", "text"),
    [
        (5.0, "stout", "middling", "middling", "between stout and middling, nearer to middling"),
        (
            9.7,
            "middling",
            "fine",
            "middling",
            "between middling and fine, nearer to middling",
        ),  # sqrt(96) = 9.8
        (9.9, "middling", "fine", "fine", "between middling and fine, nearer to fine"),
        (2.0, None, "stout", "stout", "stouter than stout, the last on that side"),
        (20.0, "fine", None, "fine", "finer than fine, the last on that side"),
        (6.01, "middling", "fine", "middling", "the same as middling"),
    ],
)
def test_a_value_falls_between_two_pieces(
    value: float, below: str | None, above: str | None, nearest: str, text: str
) -> None:
    place = place_on_scale(ROW, "loop_to_wire", value)
    assert place is not None
    assert (place.below and place.below.title, place.above and place.above.title) == (below, above)
    assert place.nearest.title == nearest
    assert place_text(ROW, LOOP, value) == text


def test_pieces_without_the_proportion_are_left_out() -> None:
    assert place_on_scale(ROW, "gap_to_wire", 1.0) is None
    assert place_on_scale((), "loop_to_wire", 1.0) is None
    assert place_text((), LOOP, 1.0) == "none of the pieces has this proportion"


def test_a_piece_is_measured_from_its_file_and_missed_when_the_file_goes(tmp_path: Path) -> None:
    file = tmp_path / "arc.formsketch.json"
    file.write_bytes(design_bytes(ARC))
    found = piece_from(file)
    assert (found.title, found.numbers["loop_to_wire"]) == ("Arc", pytest.approx(11.0))
    pieces = with_piece(with_piece(ROW, found), found)
    assert len(pieces) == 4
    assert missing(pieces) == ROW
    file.unlink()
    assert missing(pieces) == pieces
    with pytest.raises(DesignFileError):
        piece_from(file)
    # Its numbers are those of the time.
    assert pieces[-1].numbers == found.numbers


def test_the_list_is_kept_and_what_cannot_be_read_is_left_out() -> None:
    assert read_pieces(pieces_text(ROW)) == ROW
    assert read_pieces("") == read_pieces("{") == read_pieces("3") == ()
    bad = '[{"file": "/a", "title": "a", "numbers": {"loop_to_wire": "wide"}}, 7, '
    good = '{"file": "/b", "title": "b", "numbers": {}}, {"file": "/c", "title": "c", "numbers": {"x": NaN}}]'
    assert [one.title for one in read_pieces(bad + good)] == ["b"]


def test_the_list_has_its_limit() -> None:
    pieces: tuple[Piece, ...] = ()
    for number in range(MOST_PIECES + 5):
        pieces = with_piece(pieces, piece(f"p{number}", 1.0))
    assert len(pieces) == MOST_PIECES
    assert pieces[-1].title == f"p{MOST_PIECES + 4}"
