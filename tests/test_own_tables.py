"""What the maker keeps: hammers and alloys in tables of their own, and in the design that is sent."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from formsketch.bench import user_tables
from formsketch.bench.alloys import density_from_parts
from formsketch.bench.hammers import TABLE_KIND, Hammer, load_own_hammers, own_hammer, spread_band
from formsketch.bench.metals import load_metals, metal_from_own
from formsketch.bench.own_alloys import alloy_key, own_alloy, table_row
from formsketch.bench.user_tables import HAMMERS_FILE, METALS_FILE, keep_row
from formsketch.design.edits import change_hammer, change_spread, use_own_metal
from formsketch.design.file_format import design_bytes, load_design
from formsketch.design.model import Hammer as DesignHammer
from formsketch.design.model import Wire
from formsketch.design.starters import make_starter
from formsketch.errors import EditRefused, FormSketchError, InputError, TableError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.report import measurement, measurement_text
from formsketch.shipped import demo_design_files

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


def a_hammer(name: str = "planishing", spread: float = 0.74) -> Hammer:
    return own_hammer(name, spread, spread - 0.05, spread + 0.04, "Sterling silver", "mean of 3 samples")


def test_a_hammer_is_kept_and_found_again(tmp_path: Path) -> None:
    folder = tmp_path / "not" / "yet"
    assert user_tables.user_hammers_file(folder) is None
    assert load_own_hammers(None) == {}
    file = keep_row(HAMMERS_FILE, TABLE_KIND, a_hammer(), folder)
    assert user_tables.user_hammers_file(folder) == file
    assert list(load_own_hammers(file).values()) == [a_hammer()]
    keep_row(HAMMERS_FILE, TABLE_KIND, a_hammer("cross-peen"), folder)
    # A name kept before is replaced, in its place, however it is written.
    keep_row(HAMMERS_FILE, TABLE_KIND, a_hammer("Planishing ", 0.8), folder)
    found = list(load_own_hammers(file).values())
    assert [(hammer.name, hammer.spread) for hammer in found] == [("Planishing", 0.8), ("cross-peen", 0.74)]
    assert [path.name for path in folder.iterdir()] == [HAMMERS_FILE]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "sound JSON"),
        ('{"format": "formsketch-metals", "version": 1, "hammers": []}', '"format": "formsketch-hammers"'),
        (
            '{"format": "formsketch-hammers", "version": 1, "hammers": [{"key": "own-a", "name": "a", '
            '"spread": 0.9, "spread_low": 0.1, "spread_high": 0.2, "known": "D", "source": "x"}]}',
            "row 1 .own-a.*between spread_low and spread_high",
        ),
        (
            '{"format": "formsketch-hammers", "version": 1, "hammers": [{"key": "own-a", "name": "a", '
            '"spread": 1.2, "spread_low": 0.1, "spread_high": 1.3, "known": "D", "source": "x"}]}',
            "row 1 .own-a., spread",
        ),
    ],
)
def test_a_bad_table_is_explained_and_never_written_over(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / HAMMERS_FILE
    file.write_text(text, encoding="utf-8")
    with pytest.raises(TableError, match=said):
        load_own_hammers(file)
    with pytest.raises(TableError, match=said):
        keep_row(HAMMERS_FILE, TABLE_KIND, a_hammer(), tmp_path)
    assert file.read_text(encoding="utf-8") == text


def test_a_folder_that_cannot_be_made_is_explained(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FormSketchError, match="not written"):
        keep_row(HAMMERS_FILE, TABLE_KIND, a_hammer(), tmp_path / "file" / "folder")


@pytest.mark.parametrize(
    ("name", "spread"), [("", 0.7), ("   ", 0.7), ("x" * 81, 0.7), ("mine", 0.99), ("mine", 0.01)]
)
def test_a_hammer_without_a_name_or_off_the_scale_is_refused(name: str, spread: float) -> None:
    with pytest.raises(InputError, match="name of 1 to 80"):
        a_hammer(name, spread)


def test_an_alloy_is_kept_among_the_metals(tmp_path: Path) -> None:
    density = density_from_parts({"Ag": 935, "Cu": 65})
    own = own_alloy("silver 935", density.density_g_per_cm3, 120.0)
    assert own.key == "own-silver-935"
    keep_row(METALS_FILE, "metals", table_row(own, density), tmp_path)
    sterling = load_metals()["sterling-925"]
    other = own_alloy("like sterling", 10.4, sterling.soft_yield_mid_mpa, sterling.e_mid_gpa)
    keep_row(METALS_FILE, "metals", table_row(other, density, sterling), tmp_path)
    found = load_metals(user_tables.user_metals_file(tmp_path))
    kept = found[own.key]
    assert kept.density_g_per_cm3 == own.density_g_per_cm3 and kept.soft_yield_mid_mpa == 120.0
    assert "composition" in kept.source and kept.worked == ()
    like = found[other.key]
    assert like.worked == sterling.worked and like.anneal_low_c == sterling.anneal_low_c
    assert like.indicative and like.mark == "C" and "Sterling" in like.source
    assert found["sterling-925"] == sterling


def test_alloys_have_keys_that_a_table_takes() -> None:
    names = ["Our yellow", "our  yellow", "жёлтое", "белое", "金", "x" * 80, "!!!", "18k / 750"]
    keys = [alloy_key(name) for name in names]
    assert keys[0] == keys[1] == "own-our-yellow"
    assert len(set(keys)) == len(keys) - 1
    for key, name in zip(keys, names, strict=True):
        density = density_from_parts({"Au": 1000})
        own = own_alloy(name, 15.0)
        assert own.key == key
        # As read from a file, where the bounds of a key are checked.
        row = table_row(own, density)
        assert msgspec.convert(msgspec.to_builtins(row), type(row), strict=True) == row


@pytest.mark.parametrize(
    ("name", "density", "yield_mpa", "said"),
    [
        ("", 10.0, None, "name of 1 to 80"),
        ("x", 30.0, None, "density from"),
        ("x", 10.0, 0.0, "yield strength"),
    ],
)
def test_an_alloy_out_of_bounds_is_refused(
    name: str, density: float, yield_mpa: float | None, said: str
) -> None:
    with pytest.raises(InputError, match=said):
        own_alloy(name, density, yield_mpa)


# --- in the design


def test_a_hammer_of_one_s_own_is_written_and_defaults_are_not(tmp_path: Path) -> None:
    design = make_starter("open-cuff", BRASS)
    assert b'"low"' not in design_bytes(design) and b'"hammer"' not in design_bytes(design)
    own = change_hammer(design, DesignHammer(spread=0.7, name="mine", low=0.66, high=0.73))
    text = json.loads(design_bytes(own))
    assert text["hammer"] == {"spread": 0.7, "name": "mine", "low": 0.66, "high": 0.73}
    assert design_bytes(change_spread(own, 0.8)) == design_bytes(design)


def test_files_without_an_own_hammer_keep_their_bytes() -> None:
    for file in demo_design_files():
        design = load_design(file).design
        own = json.loads(design_bytes(design)).get("hammer", {})
        assert ("low" in own) == (design.hammer.low is not None)
        assert design_bytes(change_hammer(design, design.hammer)) == design_bytes(design)


@pytest.mark.parametrize(
    ("hammer", "said"),
    [
        (DesignHammer(spread=0.7, low=0.6), "low and high"),
        (DesignHammer(spread=0.7, high=0.8), "low and high"),
        (DesignHammer(spread=0.7, low=0.71, high=0.8), "within its band"),
        (DesignHammer(spread=0.7, low=0.8, high=0.6), "within its band"),
        (DesignHammer(spread=0.7, low=-0.1, high=0.8), "low"),
        (DesignHammer(spread=0.7, name="two\nlines"), "one line"),
        (DesignHammer(spread=0.7, name="x" * 81), "name"),
    ],
)
def test_a_hammer_that_cannot_be_is_refused(hammer: DesignHammer, said: str) -> None:
    with pytest.raises(EditRefused, match=said):
        change_hammer(make_starter("open-cuff", BRASS), hammer)


def test_an_own_band_goes_before_a_listed_one() -> None:
    assert spread_band(0.8, 0.78, 0.83, "mine") == (0.78, 0.83, "measured on samples of mine")
    assert spread_band(0.8, 0.78, 0.83)[2] == "measured on samples"
    assert spread_band(0.8)[:2] == (0.75, 0.95)


def test_measure_says_which_hammer_and_the_band_of_every_mark() -> None:
    design = make_starter("row-of-s-forms", BRASS)
    said = measurement(evaluate(design))
    assert (said["hammer"]["low"], said["hammer"]["high"]) == (0.75, 0.95)
    assert said["hammer"]["measured"] is False and said["hammer"]["name"] == ""
    own = evaluate(change_hammer(design, DesignHammer(spread=0.7, name="mine", low=0.66, high=0.73)))
    said = measurement(own)
    assert said["hammer"] == {
        "name": "mine",
        "spread": 0.7,
        "low": 0.66,
        "high": 0.73,
        "basis": "measured on samples of mine",
        "measured": True,
    }
    # By volume: the last mark of the same design at either end of the band.
    ends = [float(evaluate(change_spread(design, s)).spans.stock_from_mm[-1]) for s in (0.66, 0.73)]
    assert said["spans"][-1]["stock_from_range_mm"] == pytest.approx(ends, abs=1e-9)
    text = measurement_text(own)
    assert "mine" in text and "0.66 to 0.73" in text and "starting value" not in text


def test_an_own_alloy_stays_with_the_design(tmp_path: Path) -> None:
    own = own_alloy("our silver", 10.4, nickel=True, zinc=True)
    design = use_own_metal(make_starter("open-cuff", BRASS), own)
    file = tmp_path / "sent.formsketch.json"
    file.write_bytes(design_bytes(design))
    e = evaluate(load_design(file).design, {})  # no table at all where it is opened
    assert e.metal.density_g_per_cm3 == 10.4 and e.metal.nickel and e.metal.zinc
    assert metal_from_own(own).soft_yield_mid_mpa is None
    again = use_own_metal(design, own_alloy("our silver", 10.5))
    assert [metal.density_g_per_cm3 for metal in again.metals] == [10.5]
