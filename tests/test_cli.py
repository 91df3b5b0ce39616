"""The commands without a window: what they print and write, and how they end."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from formsketch import __version__
from formsketch.bench import user_tables
from formsketch.design.file_format import design_bytes
from formsketch.design.model import (
    BeadEnd,
    Design,
    Flare,
    Form,
    Hammer,
    HookEnd,
    OwnMetal,
    Run,
    Span,
    Variant,
    Wire,
)
from tests.support.commands import run_in_process

FIXED_KEYS = {
    "title",
    "metal",
    "diameter_mm",
    "cut_length_mm",
    "stock_length_mm",
    "finished_length_mm",
    "weight_g",
    "envelope_mm",
    "silhouette_area_mm2",
    "widest_mm",
    "thinnest_mm",
    "cautions",
    "spans",
}
FIXED_SPAN_KEYS = {
    "finished_length_mm",
    "stock_length_mm",
    "stock_from_mm",
    "turn_deg",
    "thinnest_mm",
    "widest_mm",
    "as_bent_radius_mm",
    "tube_diameter_mm",
}

# A metal of its own, so that no table on this machine changes a number. d 1, S 0.6, E 100 GPa, Sy 200 MPa.
OWN = OwnMetal(key="test-metal", name="Test metal", density_g_per_cm3=10.0, yield_mpa=200.0, e_gpa=100.0)
STOCK_OF_FLARE_MM = 9.13622559  # [D] d 1, thickness 0.5, 10 mm finished, S 0.6
WIDTH_AT_HALF_MM = 1.37663150  # [D] t/d 0.5, S 0.6
D, DENSITY, YIELD, E = 1.0, 10.0, 200.0, 100_000.0


BOW_MM = 4 * np.pi / 3  # an arc of 60 degrees, radius 4 mm


def bent_wire() -> Design:
    """A straight leg, an arc of 60 degrees of radius 4 mm, another straight leg hammered."""
    spans = (
        Span(length_mm=12.0),
        Span(length_mm=BOW_MM, turn_deg=60.0),
        Span(length_mm=10.0, flare=Flare(thickness=0.5)),
    )
    return Design(
        title="Bent",
        wire=Wire(metal=OWN.key, diameter_mm=D),
        hammer=Hammer(spread=0.6),
        form=Form(runs=(Run(spans=spans),)),
        metals=(OWN,),
        variants=(Variant(title="heavy", diameter_mm=1.6),),
    )


def run_for_real(*arguments: str, **options: Any) -> subprocess.CompletedProcess[str]:
    """The command as a process of its own; warnings are errors there too."""
    command = [sys.executable, "-W", "error", "-m", "formsketch", *arguments]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", timeout=60, env=environment, **options
    )


@pytest.fixture
def bent_file(tmp_path: Path) -> Path:
    path = tmp_path / "bent.formsketch.json"
    path.write_bytes(design_bytes(bent_wire()))
    return path


def measured(path: Path) -> dict[str, Any]:
    code, out, err = run_in_process("measure", str(path), "--json")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def assert_same_numbers(one: Any, other: Any) -> None:
    """The same, numbers to 12 digits: the very last rest on what this process has worked out before."""
    if isinstance(one, dict):
        assert one.keys() == other.keys()
        for key, value in one.items():
            assert_same_numbers(value, other[key])
    elif isinstance(one, list):
        assert len(one) == len(other)
        for mine, theirs in zip(one, other, strict=True):
            assert_same_numbers(mine, theirs)
    elif isinstance(one, float):
        assert one == pytest.approx(other, rel=1e-12, abs=1e-12)
    else:
        assert one == other


def tube_diameter_mm(free_radius: float) -> float:
    """Tube under a round wire that springs back to this centreline radius, by bracketing.

    [D] elastic-perfectly plastic bending with u = Sy R/(E c): curvature kept is
    k = 1 - (2/pi)[asin u + u sqrt(1 - u^2)(5 - 2u^2)/3].
    """
    c = D / 2

    def miss(held: float) -> float:
        u = YIELD * held / (E * c)
        kept = 1 - 2 / np.pi * (np.arcsin(u) + u * np.sqrt(1 - u * u) * (5 - 2 * u * u) / 3)
        return held / kept - free_radius

    held = brentq(miss, 1e-6, free_radius, xtol=1e-13, rtol=1e-13)
    return 2 * held - D


# measure


def test_measure_has_the_fixed_keys(bent_file: Path) -> None:
    found = measured(bent_file)
    assert found.keys() >= FIXED_KEYS
    assert len(found["spans"]) == 3
    for span in found["spans"]:
        assert span.keys() >= FIXED_SPAN_KEYS
    for caution in found["cautions"]:
        assert caution.keys() >= {"code", "message"}
        assert all(isinstance(caution[key], str) and caution[key] for key in ("code", "message"))


def test_measure_gives_the_right_values(bent_file: Path) -> None:
    found = measured(bent_file)
    assert (found["title"], found["metal"], found["diameter_mm"]) == ("Bent", "test-metal", D)
    stock = 12.0 + BOW_MM + STOCK_OF_FLARE_MM
    assert found["finished_length_mm"] == pytest.approx(22.0 + BOW_MM, rel=1e-12)
    assert found["stock_length_mm"] == pytest.approx(stock, rel=1e-8)
    assert found["cut_length_mm"] == pytest.approx(stock, rel=1e-8)  # plain ends take no wire
    assert found["weight_g"] == pytest.approx(np.pi / 4 * D * D * stock * DENSITY / 1000, rel=1e-8)
    assert found["widest_mm"] == pytest.approx(WIDTH_AT_HALF_MM, abs=5e-9)
    assert found["thinnest_mm"] == pytest.approx(0.5, rel=1e-12)
    # Laid level: the ends of the wire, which are its far ends, on one horizontal line.
    assert found["envelope_mm"] == pytest.approx(box_laid_level(), abs=0.007)


def box_laid_level() -> tuple[float, float]:
    """Box of the bent wire's edges from points by closed forms, turned so that both ends lie level."""
    t = np.linspace(0.0, 1.0, 20_001)
    arc_turned = np.exp(1j * np.deg2rad(60.0) * t)
    arc = 12.0 + 4.0j - 4.0j * arc_turned
    u = np.linspace(0.0, 1.0, 2_001)
    widths = np.array([hammered_width_mm(1 - 0.5 * np.sin(np.pi * x) ** 2) for x in u])
    onward = np.exp(1j * np.deg2rad(60.0))
    edges = [
        *(12.0 * t + side * 0.5j for side in (-1, 1)),
        *(arc + side * 0.5j * arc_turned for side in (-1, 1)),
        *(arc[-1] + onward * (10.0 * u + side * 0.5j * widths) for side in (-1, 1)),
    ]
    finish = arc[-1] + 10.0 * onward
    laid = np.concatenate(edges) * np.exp(-1j * np.angle(finish))
    return float(np.ptp(laid.real)), float(np.ptp(laid.imag))


def hammered_width_mm(thickness: float) -> float:
    """Width at a thickness for d 1 and S 0.6, from the spread law by bracketing."""
    if thickness >= 1:
        return 1.0

    def miss(width: float) -> float:
        height = (thickness * (width - thickness) + np.pi * thickness**2 / 4) / width
        return float(np.log(width) - 0.6 * np.log(np.pi / 4 / height))

    return float(brentq(miss, 0.99, 3.0, xtol=1e-13))


def test_measure_gives_the_right_values_span_by_span(bent_file: Path) -> None:
    leg, bow, flared = measured(bent_file)["spans"]
    for span, finished, stock, stock_from, turn in (
        (leg, 12.0, 12.0, 0.0, 0.0),
        (bow, BOW_MM, BOW_MM, 12.0, 60.0),
        (flared, 10.0, STOCK_OF_FLARE_MM, 12.0 + BOW_MM, 0.0),
    ):
        assert span["finished_length_mm"] == pytest.approx(finished, rel=1e-12)
        assert span["stock_length_mm"] == pytest.approx(stock, rel=1e-8)
        assert span["stock_from_mm"] == pytest.approx(stock_from, rel=1e-12)
        assert span["turn_deg"] == pytest.approx(turn, abs=1e-12)
    for straight in (leg, flared):
        assert straight["as_bent_radius_mm"] is None
        assert straight["tube_diameter_mm"] is None
    assert bow["as_bent_radius_mm"] == pytest.approx(4.0, rel=1e-12)
    assert bow["tube_diameter_mm"] == pytest.approx(tube_diameter_mm(4.0), rel=1e-9)
    assert (leg["thinnest_mm"], leg["widest_mm"]) == pytest.approx((D, D), rel=1e-12)
    assert (flared["thinnest_mm"], flared["widest_mm"]) == pytest.approx((0.5, WIDTH_AT_HALF_MM), abs=5e-9)


def test_measure_writes_repeats_out_and_counts_from_the_cut_end(tmp_path: Path) -> None:
    motif = (
        Span(length_mm=10.0, turn_deg=90.0, skew_deg=30.0, flare=Flare(thickness=0.5)),
        Span(length_mm=5.0, turn_deg=-45.0),
    )
    form = Form(
        runs=(Run(spans=motif, times=3, turned_over=True),),
        start=BeadEnd(diameter_mm=2.0),
        finish=HookEnd(inside_diameter_mm=5.0, turn_deg=180.0, straight_mm=2.0),
    )
    design = Design(
        title="row",
        wire=Wire(metal=OWN.key, diameter_mm=D),
        hammer=Hammer(spread=0.6),
        form=form,
        metals=(OWN,),
    )
    path = tmp_path / "row.formsketch.json"
    path.write_bytes(design_bytes(design))
    found = measured(path)
    spans = found["spans"]
    assert len(spans) == 6
    bead = 5.26474288  # [D] wire in a bead of 2 mm joined to 1 mm wire
    hook = 2.0 + np.pi * 3.0
    stock = 3 * (STOCK_OF_FLARE_MM + 5.0)
    assert found["stock_length_mm"] == pytest.approx(stock, rel=1e-8)
    assert found["cut_length_mm"] == pytest.approx(bead + stock + hook, rel=1e-8)
    starts = bead + np.array([0, 1, 1, 2, 2, 3]) * STOCK_OF_FLARE_MM + np.array([0, 0, 1, 1, 2, 2]) * 5.0
    assert [span["stock_from_mm"] for span in spans] == pytest.approx(list(starts), rel=1e-8)
    # Turned over by turns, every second repeat turns to the other side.
    assert [span["turn_deg"] for span in spans] == pytest.approx([90, -45, -90, 45, 90, -45], rel=1e-12)
    # Tightest place of a scroll: curvature (turn + skew)/L; as bent its radius is smaller by stock/finished.
    tightest = 10.0 / np.deg2rad(120.0) * STOCK_OF_FLARE_MM / 10.0
    for span in spans[::2]:
        assert span["as_bent_radius_mm"] == pytest.approx(tightest, rel=1e-8)
        assert span["tube_diameter_mm"] == pytest.approx(tube_diameter_mm(tightest), rel=1e-7)
    for span in spans[1::2]:
        assert span["as_bent_radius_mm"] == pytest.approx(5.0 / np.deg2rad(45.0), rel=1e-12)


def test_measure_as_text_says_the_same_for_a_person(bent_file: Path) -> None:
    code, out, err = run_in_process("measure", str(bent_file))
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Bent"
    assert any("25.33 mm" in line for line in lines if "Cut length" in line)  # 12 + 4.189 + 9.136
    assert any("0.20 g" in line for line in lines if "Weight" in line)
    assert "nan" not in out.lower() and "None" not in out
    assert "−0" not in out.replace("−0.", "")  # no negative zero


def test_measure_prints_json_and_nothing_else_for_any_title(tmp_path: Path) -> None:
    path = tmp_path / "t.formsketch.json"
    design = bent_wire()
    tree = json.loads(design_bytes(design))
    tree["title"] = 'Größe «8» 漢字 "x" \\'
    path.write_text(json.dumps(tree), encoding="utf-8")
    assert measured(path)["title"] == tree["title"]


# template and compare


@pytest.mark.parametrize(("suffix", "begins"), [(".svg", b"<?xml"), (".pdf", b"%PDF-"), (".SVG", b"<?xml")])
def test_template_writes_a_file_of_the_kind_its_name_says(
    suffix: str, begins: bytes, bent_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / f"template{suffix}"
    code, said, err = run_in_process("template", str(bent_file), "-o", str(out))
    assert (code, err) == (0, "")
    assert out.name in said
    data = out.read_bytes()
    assert data.startswith(begins) or (begins == b"<?xml" and data.lstrip().startswith(b"<svg"))


@pytest.mark.parametrize("suffix", [".svg", ".pdf", ".png"])
def test_compare_writes_a_file_of_the_kind_its_name_says(
    suffix: str, bent_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / f"sheet{suffix}"
    code, _, err = run_in_process("compare", str(bent_file), "-o", str(out))
    assert (code, err) == (0, "")
    begins = {".svg": b"<", ".pdf": b"%PDF-", ".png": b"\x89PNG"}[suffix]
    assert out.read_bytes().startswith(begins)


def test_compare_prints_json(bent_file: Path) -> None:
    code, out, err = run_in_process("compare", str(bent_file), "--json")
    assert (code, err) == (0, "")
    assert "heavy" in out and json.loads(out)


def test_compare_makes_a_grid(bent_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "grid.svg"
    code, _, err = run_in_process(
        "compare", str(bent_file), "-o", str(out), "--diameters", "0.8,1.0,18 ga", "--scales", "0.9,1"
    )
    assert (code, err) == (0, "")
    assert out.stat().st_size > 0


# check, and progress


def test_check_says_of_each_file_that_it_is_sound(bent_file: Path) -> None:
    code, out, err = run_in_process("check", str(bent_file), str(bent_file))
    assert (code, out, err) == (0, f"{bent_file}: sound\n" * 2, "")


def test_check_refuses_what_no_hammer_reaches(tmp_path: Path) -> None:
    # w/t above 15 is beyond rolled strip (general encyclopedia, 'flattening'): to a tenth at S 1 it is 79.
    span = Span(length_mm=10.0, flare=Flare(thickness=0.1))
    design = Design(
        title="foil",
        wire=Wire(metal=OWN.key, diameter_mm=D),
        hammer=Hammer(spread=1.0),
        form=Form(runs=(Run(spans=(span,)),)),
        metals=(OWN,),
    )
    path = tmp_path / "foil.formsketch.json"
    path.write_bytes(design_bytes(design))
    code, out, err = run_in_process("check", str(path))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and path.name in err and "15" in err


def test_a_name_that_is_not_unicode_is_checked_all_the_same(tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"a\xff.formsketch.json")
    try:
        path.write_bytes(design_bytes(bent_wire()))
    except (OSError, UnicodeError):
        pytest.skip("this file system takes no such name")
    done = subprocess.run(
        [sys.executable, "-m", "formsketch", "check", str(path)], capture_output=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert b"sound" in done.stdout and done.stderr == b""


def test_no_progress_when_piped(bent_file: Path) -> None:
    code, out, err = run_in_process("check", *[str(bent_file)] * 12)
    assert (code, err) == (0, "")
    assert out == f"{bent_file}: sound\n" * 12


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is needed")
def test_progress_on_a_terminal(bent_file: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    try:
        done = subprocess.run(
            [sys.executable, "-m", "formsketch", "check", *[str(bent_file)] * 12],
            stdout=subprocess.PIPE,
            stderr=theirs,
            timeout=60,
            env={**os.environ, "TERM": "xterm"},
        )
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 65_536)
            except OSError:  # Linux says so at the end of a closed pseudo-terminal
                break
            if not part:
                break
            shown += part
    finally:
        os.close(ours)
    assert done.returncode == 0
    assert b"Checking" in shown and b"100%" in shown
    # The result itself stays clean of the bar.
    assert done.stdout.decode() == f"{bent_file}: sound\n" * 12


# Errors in the asking


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("measure",), "FILE"),
        (("measure", "missing.formsketch.json"), "missing.formsketch.json"),
        (("measure", "missing.formsketch.json", "--jsno"), "--jsno"),
        (("measure", "a", "b"), "b"),
        (("check",), "FILE"),
        (("check", "missing.formsketch.json"), "missing.formsketch.json"),
        (("template",), "FILE"),
        (("template", "missing.formsketch.json"), "--output"),
        (("template", "missing.formsketch.json", "-o", "out.svg"), "missing.formsketch.json"),
        (("template", "missing.formsketch.json", "-o", "out.doc"), "out.doc"),
        (("template", "missing.formsketch.json", "-o", "out"), ".svg or .pdf"),
        (("template", "missing.formsketch.json", "-o", "out.png"), ".svg or .pdf"),
        (("compare", "missing.formsketch.json"), "-o"),
        (("compare", "missing.formsketch.json", "-o", "out.gif"), "out.gif"),
        (("compare", "missing.formsketch.json", "--json"), "missing.formsketch.json"),
        (("--frob",), "--frob"),
    ],
)
def test_a_mistake_in_the_asking_is_one_line_and_ends_with_2(
    arguments: tuple[str, ...], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run_in_process(*arguments)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and says in err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_command_is_one_line_and_opens_no_window() -> None:
    # A word that is no command is taken as a file to open; there is none of that name.
    code, out, err = run_in_process("frobnicate")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and "frobnicate" in err


@pytest.mark.parametrize(
    "extra",
    [
        ("--diameters", "thick"),
        ("--diameters", ","),
        ("--diameters", "-1"),
        ("--diameters", "1e9"),
        ("--diameters", "nan"),
        ("--diameters", "1", "--scales", "0"),
        ("--diameters", "1", "--scales", "x"),
        ("--diameters", "1", "--scales", "inf"),
    ],
)
def test_a_grid_of_nonsense_is_refused_and_nothing_written(
    extra: tuple[str, ...], bent_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / "grid.svg"
    code, said, err = run_in_process("compare", str(bent_file), "-o", str(out), *extra)
    assert (code, said) == (2, "")
    assert err.count("\n") == 1 and "Traceback" not in err
    assert not out.exists()


@pytest.mark.parametrize("command", ["template", "compare"])
def test_where_nothing_can_be_written_it_says_so(command: str, bent_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "none" / "out.svg"
    code, said, err = run_in_process(command, str(bent_file), "-o", str(out))
    assert (code, said) == (2, "")
    assert err.count("\n") == 1 and str(out) in err
    assert sorted(item.name for item in tmp_path.iterdir()) == [bent_file.name]


@pytest.mark.parametrize("command", ["template", "compare"])
def test_a_failed_command_leaves_the_old_file_whole(command: str, tmp_path: Path) -> None:
    bad, out = tmp_path / "bad.formsketch.json", tmp_path / "out.svg"
    bad.write_text("{}")
    out.write_text("the old one")
    code, _, err = run_in_process(command, str(bad), "-o", str(out))
    assert code == 2 and err.count("\n") == 1
    assert out.read_text() == "the old one"


def test_a_table_of_ones_own_that_is_broken_is_named_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "tables"
    folder.mkdir()
    (folder / "metals.json").write_text('{"format": "formsketch-metals", "version": 1, "metals": [{}]}')
    monkeypatch.setattr(user_tables, "user_tables_folder", lambda: folder)
    shipped = tmp_path / "shipped.formsketch.json"
    tree = json.loads(design_bytes(bent_wire()))
    tree["wire"]["metal"] = "brass-c26000"
    shipped.write_text(json.dumps(tree))
    code, out, err = run_in_process("measure", str(shipped))
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and "metals.json" in err and "row 1" in err


# The command itself


def test_help_and_version() -> None:
    code, out, err = run_in_process("--help")
    assert (code, err) == (0, "")
    for word in ("measure", "template", "compare", "check", "open"):
        assert word in out
    for command in ("measure", "template", "compare", "check", "open"):
        code, out, err = run_in_process(command, "--help")
        assert (code, err) == (0, "") and "Usage" in out
    code, out, err = run_in_process("--version")
    assert (code, err) == (0, "") and __version__ in out


def test_it_runs_as_a_module(bent_file: Path) -> None:
    done = run_for_real("measure", str(bent_file), "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert_same_numbers(json.loads(done.stdout), measured(bent_file))


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX systems")
def test_a_reader_that_goes_away_is_no_fault_to_complain_of(bent_file: Path) -> None:
    # Enough output that the pipe is full before the reader has gone.
    command = f'"{sys.executable}" -m formsketch measure "{bent_file}" --json | head -c 1'
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60)
    assert (done.stdout, done.stderr) == ("{", "")


def test_it_says_numbers_the_same_way_in_any_locale(bent_file: Path) -> None:
    environment = {**os.environ, "LC_ALL": "de_DE.UTF-8", "PYTHONIOENCODING": "utf-8"}
    command = [sys.executable, "-m", "formsketch", "measure", str(bent_file), "--json"]
    done = subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", env=environment, timeout=60
    )
    assert_same_numbers(json.loads(done.stdout), measured(bent_file))


def test_text_for_a_terminal_without_unicode_is_no_crash(bent_file: Path) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    command = [sys.executable, "-m", "formsketch", "measure", str(bent_file)]
    done = subprocess.run(command, capture_output=True, env=environment, timeout=60)
    assert done.returncode == 0, done.stderr
    assert b"Cut length" in done.stdout and b"Traceback" not in done.stderr
