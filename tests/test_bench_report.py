"""The numbers at the bench as JSON and text, from the command line and for every sound design."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from msgspec.structs import replace

from formsketch.bench.metals import load_metals
from formsketch.cli import commands
from formsketch.design.edits import change_bend_marks
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.model import Design, Flare, Form, Hammer, Run, Span, Wire
from formsketch.design.transforms import mirrored
from formsketch.errors import DesignFileError, EditRefused, FormSketchError
from formsketch.evaluation.bench_report import bench_measurement, bench_text, spans_text
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.report import measurement
from formsketch.shipped import demo_design_files
from formsketch.template.bench_words import spans_in_words
from formsketch.template.template import template_sheets
from tests.support.strategies import calm, designs

METALS = load_metals()


def hoop(**more: Any) -> Design:
    """A straight and a hammered arc, in brass of 1 mm."""
    spans = (Span(length_mm=10.0), Span(length_mm=20.0, turn_deg=240.0, flare=Flare(thickness=0.5)))
    return Design(
        title="Hoop",
        wire=Wire(metal="brass-c26000", diameter_mm=1.0),
        hammer=Hammer(spread=0.6),
        form=Form(runs=(Run(spans=spans),)),
        **more,
    )


def written(folder: Path, design: Design) -> str:
    file = folder / "hoop.formsketch.json"
    file.write_bytes(design_bytes(design))
    return str(file)


def run(*words: str) -> Any:
    return CliRunner().invoke(commands, ["measure", *words])


@given(designs(wild=True))
@calm(50)
def test_every_sound_design_has_them(design: Design) -> None:
    e = evaluate(design, METALS)
    numbers = bench_measurement(e)
    json.dumps(numbers, allow_nan=False)
    assert len(numbers["bending"]) == len(e.spans.turn_deg)
    hammered = sorted(span for one in numbers["hammering"] for span in one["spans"])
    assert hammered == [i for i, t in enumerate(e.spans.thinnest_mm) if t < e.diameter_mm]
    assert bench_text(e)
    for bend in numbers["bending"]:
        # Held further than wanted, and never more wire than the middle's length.
        if bend["held_deg"] is not None:
            assert abs(bend["held_deg"]) >= abs(bend["turn_deg"]) * (1 - 1e-9)
        assert bend["corrected_length_mm"] <= bend["stock_length_mm"]
        if bend["grip_at_mm"] is not None:
            assert bend["round_from_mm"] <= bend["grip_at_mm"] <= bend["round_to_mm"] + 1e-9


@given(designs())
@calm(20)
def test_mirroring_changes_no_number_but_the_side(design: Design) -> None:
    one, other = (bench_measurement(evaluate(d, METALS)) for d in (design, mirrored(design)))
    assert one["hammering"] == other["hammering"]
    assert one["surface_mm2"] == pytest.approx(other["surface_mm2"], rel=1e-12)
    assert one["wire_account"]["order_g"] == pytest.approx(other["wire_account"]["order_g"], rel=1e-12)
    for a, b in zip(one["bending"], other["bending"], strict=True):
        assert a["turn_deg"] == pytest.approx(-b["turn_deg"])
        assert (a["tube_mm"] or 0.0) == pytest.approx(b["tube_mm"] or 0.0)
        assert a["corrected_length_mm"] == pytest.approx(b["corrected_length_mm"])


def test_json_from_the_command_line(tmp_path: Path) -> None:
    order = ("--coil-mm", "1000", "--hold-mm", "10", "--kerf-mm", "0.5", "--pieces", "20")
    result = run(written(tmp_path, hoop()), "--json", *order)
    assert result.exit_code == 0, result.output
    numbers = json.loads(result.output)
    # [D] the flare takes 18.27245118 mm of stock for 20 mm, and 10 mm straight.
    assert numbers["cut_length_mm"] == pytest.approx(28.27245118, rel=1e-8)
    assert numbers["wire_account"]["piece_mm"] == pytest.approx(48.27245118, rel=1e-8)
    assert numbers["wire_account"]["per_coil"] == 20  # 20 x 48.27 + 19 x 0.5 = 974.9
    (hammering,) = numbers["hammering"]
    assert hammering["spans"] == [1]
    assert hammering["passes"][-1]["cold_work_percent"] == pytest.approx(37.1504, abs=1e-4)  # [D] S 0.6, 0.5
    assert hammering["section"]["width_mm"] == pytest.approx(1.37663150, rel=1e-8)  # [D]
    straight, arc = numbers["bending"]
    assert straight["as_bent_radius_mm"] is None
    assert arc["grip_at_mm"] == pytest.approx(10 + 18.27245118 / 2, rel=1e-8)
    assert numbers["bend_marks"] == "round"
    assert numbers["surface_mm2"] > math.pi * 30


def test_text_from_the_command_line(tmp_path: Path) -> None:
    said = run(written(tmp_path, hoop())).output
    for words in (
        "From round to flat",
        "0.50 thick",
        "Bending, before hammering",
        "Wire: 1 x",
        "dwt",
        "Surface",
    ):
        assert words in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--coil-mm", "20"), "too short"),
        (("--hold-mm", "-1"), "hold at each end"),
        (("--kerf-mm", "nan"), "loss per cut"),
        (("--pieces", "0"), "pieces were expected"),
    ],
)
def test_an_order_that_cannot_be_is_one_sentence(tmp_path: Path, words: tuple[str, str], said: str) -> None:
    result = run(written(tmp_path, hoop()), *words)
    assert isinstance(result.exception, FormSketchError)
    assert said in str(result.exception)
    assert result.output == ""


@pytest.mark.parametrize("file", demo_design_files(), ids=lambda file: file.name)
def test_the_demos_have_them(file: Path) -> None:
    assert run(str(file)).exit_code == 0


def test_bend_marks_are_kept_in_the_file_and_left_out_by_default() -> None:
    plain, grip = hoop(), change_bend_marks(hoop(), "grip")
    assert b"bend_marks" not in design_bytes(plain)
    data = design_bytes(grip)
    assert read_design(data, "hoop").design == grip
    assert change_bend_marks(grip, "round") == plain
    with pytest.raises(DesignFileError, match=r"bend_marks"):
        read_design(data.replace(b'"grip"', b'"squeeze"'), "hoop")
    with pytest.raises(EditRefused, match="bend_marks"):
        change_bend_marks(plain, "squeeze")


def test_the_template_says_which_marks_and_where_to_grip() -> None:
    def texts(design: Design) -> str:
        return " ".join(_texts(template_sheets(evaluate(design, METALS))))

    assert "round its tube from mark to mark" in texts(hoop())
    assert "grip at" not in texts(hoop())
    gripped = texts(replace(hoop(), bend_marks="grip"))
    assert "the bend is centred on it" in gripped
    # 10 mm straight and half of 18.27245118 mm [D].
    assert "grip at 19.1" in gripped
    words = spans_in_words(evaluate(replace(hoop(), bend_marks="grip"), METALS))
    assert [one.grip for one in words] == ["", "grip at 19.1"]
    # A wire with no bend has no way to bend it.
    straight = replace(hoop(), form=Form(runs=(Run(spans=(Span(length_mm=9.0),)),)))
    assert "mark to mark" not in texts(straight)


def _texts(things: Any) -> list[str]:
    """Every text in sheets, groups and items."""
    if isinstance(things, list | tuple):
        return [text for thing in things for text in _texts(thing)]
    if isinstance(getattr(things, "text", None), str):
        return [things.text]
    held = getattr(things, "items", None) or getattr(things, "groups", None)
    return [] if held is None else _texts(list(held))


def test_spans_as_the_maker_counts_them() -> None:
    assert spans_text((2,)) == "Span 3"
    assert spans_text((1, 2, 3)) == "Spans 2 to 4"
    assert spans_text((0, 2, 5)) == "Spans 1, 3, 6"


def test_measuring_for_a_comparison_works_out_nothing_of_this(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*asked: object) -> None:
        raise AssertionError("asked how it feels")

    monkeypatch.setattr("formsketch.evaluation.feel_words.feel_of", never)
    assert not measurement(evaluate(hoop(), METALS)).keys() & {"feel", "bending", "hammering"}
    with pytest.raises(AssertionError, match="how it feels"):
        bench_measurement(evaluate(hoop(), METALS))
