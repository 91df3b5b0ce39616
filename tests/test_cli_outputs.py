"""The commands that write files, end to end: what they write, say and end with."""

import json
import os
from pathlib import Path

import pytest
from msgspec.structs import replace

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Run, Span, Variant, Wire
from formsketch.design.starters import make_starter
from tests.support.commands import assert_no_window_loaded, run_in_process

BRASS = Wire(metal="brass-c26000", diameter_mm=1.290846)
RING = replace(
    make_starter("s-ring", BRASS, title="Eddy ring"),
    variants=(Variant(title="light", diameter_mm=1.023687), Variant(title="large", scale=1.2)),
)
TOO_FLAT = Design(
    title="Too flat",
    wire=BRASS,
    form=Form(runs=(Run(spans=(Span(length_mm=40.0, flare=Flare(thickness=0.1)),)),)),
)
UNKNOWN_METAL = replace(RING, wire=Wire(metal="moonsilver", diameter_mm=1.290846), variants=())
STARTS = {".svg": b"<?xml", ".pdf": b"%PDF-", ".png": b"\x89PNG"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the designs are, and where the commands are typed."""
    monkeypatch.chdir(tmp_path)
    for name, design in (("ring", RING), ("flat", TOO_FLAT), ("metal", UNKNOWN_METAL)):
        (tmp_path / f"{name}.formsketch.json").write_bytes(design_bytes(design))
    (tmp_path / "broken.formsketch.json").write_text("{", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("suffix", [".svg", ".pdf", ".PDF"])
def test_template_writes_its_file(folder: Path, suffix: str) -> None:
    code, out, err = run_in_process("template", "ring.formsketch.json", "-o", f"out{suffix}")
    assert (code, err) == (0, "")
    assert (folder / f"out{suffix}").read_bytes().startswith(STARTS[suffix.lower()])
    assert out == f"out{suffix} written; print it at 100 % and measure the check bar.\n"


@pytest.mark.parametrize("suffix", [".svg", ".pdf", ".png"])
def test_compare_writes_its_file(folder: Path, suffix: str) -> None:
    code, out, err = run_in_process("compare", "ring.formsketch.json", "-o", f"out{suffix}")
    assert (code, err) == (0, "")
    assert (folder / f"out{suffix}").read_bytes().startswith(STARTS[suffix])
    assert out == f"out{suffix} written.\n"


def test_files_are_written_in_a_process_of_its_own_without_a_window(folder: Path) -> None:
    names = [("template", ".svg"), ("template", ".pdf"), *(("compare", suffix) for suffix in STARTS)]
    assert_no_window_loaded(
        folder, *((command, "ring.formsketch.json", "-o", command + suffix) for command, suffix in names)
    )
    for command, suffix in names:
        assert (folder / (command + suffix)).read_bytes().startswith(STARTS[suffix])


def test_compare_prints_json_and_writes_as_well(folder: Path) -> None:
    two = "ring.formsketch.json", "flat.formsketch.json"
    code, out, err = run_in_process("compare", *two, "--json", "-o", "out.svg")
    assert (code, err) == (0, "")
    designs = json.loads(out)["designs"]
    assert [one["title"] for one in designs] == [
        "Eddy ring",
        "Eddy ring: light",
        "Eddy ring: large",
        "Too flat",
    ]
    assert designs[0]["reason"] is None and "times as wide as thick" in designs[3]["reason"]
    assert (folder / "out.svg").exists()


def test_compare_makes_a_grid(folder: Path) -> None:
    grid = ["--diameters", "18 ga,16 ga,9", "--scales", "0.9,1"]
    code, out, _ = run_in_process("compare", "ring.formsketch.json", *grid, "--json")
    assert code == 0
    designs = json.loads(out)["designs"]
    assert [one["title"] for one in designs[:3]] == [
        "18 gauge, size × 0.9",
        "18 gauge, size as drawn",
        "16 gauge, size × 0.9",
    ]
    assert len(designs) == 6
    assert designs[4]["reason"] == "Expected a bead thicker than the 9 mm wire."
    # Sizes alone, of the wire as drawn.
    code, _, _ = run_in_process("compare", "ring.formsketch.json", "--scales", "0.9,1.1", "-o", "grid.pdf")
    assert code == 0 and (folder / "grid.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["template", "nothing.json", "-o", "out.svg"], "nothing.json"),
        (["template", "broken.formsketch.json", "-o", "out.svg"], "broken.formsketch.json"),
        (["template", "metal.formsketch.json", "-o", "out.svg"], "metal.formsketch.json: $.wire.metal"),
        (["template", "flat.formsketch.json", "-o", "out.svg"], "No template of Too flat: Span 1"),
        (["template", "ring.formsketch.json", "-o", "out.txt"], "ends in .svg or .pdf"),
        (["template", "ring.formsketch.json", "-o", "out"], "ends in .svg or .pdf"),
        (["template", "ring.formsketch.json", "-o", "missing/out.svg"], "the folder does not exist"),
        (["template", "ring.formsketch.json"], "-o"),
        (["compare", "ring.formsketch.json"], "expected -o"),
        (["compare", "ring.formsketch.json", "-o", "out.gif"], "ends in .svg or .pdf or .png"),
        (
            ["compare", "ring.formsketch.json", "broken.formsketch.json", "-o", "out.svg"],
            "broken.formsketch.json",
        ),
        (["compare", "metal.formsketch.json", "-o", "out.svg"], "metal.formsketch.json: $.wire.metal"),
        (["compare", "ring.formsketch.json", "--diameters", "thick", "-o", "out.svg"], "thick"),
        (["compare", "ring.formsketch.json", "--scales", "0", "-o", "out.svg"], "Scales"),
        (["compare", "ring.formsketch.json", "--diameters", "9", "-o", "out.svg"], "none of the forms"),
        (
            ["compare", "ring.formsketch.json", "flat.formsketch.json", "--scales", "1", "-o", "out.svg"],
            "a grid is made of one FILE",
        ),
    ],
)
def test_failures_say_why_and_write_nothing(folder: Path, arguments: list[str], told: str) -> None:
    before = sorted(os.listdir(folder))
    code, out, err = run_in_process(*arguments)
    assert (code, out) == (2, "")
    (line,) = err.splitlines()
    assert line.startswith("formsketch: ") and told in line
    assert sorted(os.listdir(folder)) == before


def test_a_failure_leaves_the_old_file(folder: Path) -> None:
    (folder / "out.svg").write_text("old", encoding="utf-8")
    assert run_in_process("template", "flat.formsketch.json", "-o", "out.svg")[0] == 2
    assert (folder / "out.svg").read_text(encoding="utf-8") == "old"
    assert run_in_process("template", "ring.formsketch.json", "-o", "out.svg")[0] == 0
    assert (folder / "out.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_the_same_design_gives_the_same_bytes(folder: Path) -> None:
    for suffix in (".svg", ".pdf"):
        for name in ("a", "b"):
            assert run_in_process("template", "ring.formsketch.json", "-o", name + suffix)[0] == 0
        assert (folder / f"a{suffix}").read_bytes() == (folder / f"b{suffix}").read_bytes()
