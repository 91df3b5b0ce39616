"""Tables read strictly: what is wrong with a person's file is said with file, row and expectation."""

import json
import os
from pathlib import Path
from typing import Any

import pytest

from formsketch.bench import tables, user_tables
from formsketch.bench.hammers import load_hammers
from formsketch.bench.metals import load_metals
from formsketch.bench.tubes import load_tubes
from formsketch.errors import TableError
from formsketch.shipped import resource

ROW: dict[str, Any] = {
    "key": "studio-bronze",
    "name": "Studio bronze",
    "density_g_per_cm3": 8.7,
    "e_low_gpa": 100,
    "e_high_gpa": 110,
    "nickel": False,
    "zinc": False,
}


def _file(tmp_path: Path, content: object, name: str = "metals.json") -> Path:
    path = tmp_path / name
    path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    return path


def _metals(*rows: object) -> dict[str, object]:
    return {"format": "formsketch-metals", "version": 1, "metals": list(rows)}


def _refusal(path: Path) -> str:
    with pytest.raises(TableError) as refusal:
        load_metals(path)
    return str(refusal.value)


@pytest.mark.parametrize("name", ["metals", "tubes", "hammers", "swg"])
def test_every_shipped_row_says_how_it_is_known_and_from_where(name: str) -> None:
    document = json.loads(resource("tables", f"{name}.json").read_text(encoding="utf-8"))
    assert document[name]
    for row in document[name]:
        assert row["known"] in ("P", "M", "P/M", "D", "C")
        assert row["source"].strip()


def test_shipped_files_serve_as_a_persons_own(tmp_path: Path) -> None:
    copy = _file(tmp_path, resource("tables", "metals.json").read_text(encoding="utf-8"))
    assert load_metals(copy) == load_metals()
    copy = _file(tmp_path, resource("tables", "tubes.json").read_text(encoding="utf-8"), "tubes.json")
    assert load_tubes(copy) == load_tubes()


def test_an_own_row_joins_or_replaces(tmp_path: Path) -> None:
    path = _file(tmp_path, _metals(ROW, ROW | {"key": "sterling-925", "name": "My sterling"}))
    metals = load_metals(path)
    assert metals["studio-bronze"].e_mid_gpa == 105.0
    assert metals["studio-bronze"].source == "entered by hand"
    assert metals["sterling-925"].name == "My sterling"
    assert metals["brass-c26000"] == load_metals()["brass-c26000"]
    assert load_metals()["sterling-925"].name == "Sterling silver 925"


def test_own_tubes_join_replace_or_stand_alone(tmp_path: Path) -> None:
    rows = [{"label": "brass rod", "diameter_mm": 7.7}, {"label": "11 mm", "diameter_mm": 11.05}]
    document: dict[str, object] = {"format": "formsketch-tubes", "version": 1, "tubes": rows}
    joined = {tube.label: tube.diameter_mm for tube in load_tubes(_file(tmp_path, document, "joined.json"))}
    assert (joined["brass rod"], joined["11 mm"], len(joined)) == (7.7, 11.05, 81)
    alone = load_tubes(_file(tmp_path, document | {"only_these": True}, "alone.json"))
    assert [tube.label for tube in alone] == ["brass rod", "11 mm"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"density_g_per_cm3": "8.7"}, "density_g_per_cm3: Expected `float`, got `str`"),
        ({"density_g_per_cm3": 0}, "density_g_per_cm3: Expected `float` > 0.5"),
        ({"density_g_per_cm3": True}, "density_g_per_cm3: Expected `float`, got `bool`"),
        ({"nickel": None}, "nickel: Expected `bool`, got `null`"),
        ({"hue": 3}, "unknown field `hue`"),
        ({"known": "Q"}, "Invalid enum value 'Q'"),
        ({"key": "My Bronze"}, "key: Expected `str` matching regex"),
        ({"e_low_gpa": 120}, "low value of e was expected not to be above"),
        ({"melts_low_c": 900}, "a low and a high value of melts were expected"),
        ({"colour": [1, 2]}, "colour: Expected `array` of length 3"),
        ({"colour": [1, 2, 256]}, "colour[2]: Expected `int` <= 255"),
        ({"worked": [{"name": "hard", "reduction_percent": 100}]}, "worked[0].reduction_percent"),
        (
            {"worked": [{"name": "b", "reduction_percent": 20}, {"name": "a", "reduction_percent": 10}]},
            "expected to rise in reduction_percent",
        ),
    ],
)
def test_a_slip_in_a_row_is_named(tmp_path: Path, change: dict[str, object], said: str) -> None:
    path = _file(tmp_path, _metals(ROW | {"key": "first"}, ROW | change))
    message = _refusal(path)
    assert said in message
    assert str(path) in message
    assert "metals row 2" in message


def test_a_field_left_out_is_named(tmp_path: Path) -> None:
    row = {name: value for name, value in ROW.items() if name != "zinc"}
    message = _refusal(_file(tmp_path, _metals(row)))
    assert "metals row 1 (studio-bronze)" in message
    assert "missing required field `zinc`" in message


def test_an_out_of_range_number_spelled_out_is_refused(tmp_path: Path) -> None:
    text = json.dumps(_metals(ROW)).replace("8.7", "1e999")
    assert "density_g_per_cm3: Expected `float` <= 25" in _refusal(_file(tmp_path, text))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "line 1, column 1: sound JSON was expected"),
        ('{"format": "formsketch-metals",\n', "line 2"),
        ("[]", "an object with format, version and rows"),
        ("[" * 100_000, "a table as UTF-8 JSON was expected"),
        ('{"format": "formsketch-tubes", "version": 1, "tubes": []}', '"format": "formsketch-metals"'),
        ('{"format": "formsketch-metals", "version": 2, "metals": []}', '"version": 1'),
        ('{"format": "formsketch-metals", "version": true, "metals": []}', '"version": 1'),
        ('{"format": "formsketch-metals", "version": 1}', 'rows under "metals"'),
        ('{"format": "formsketch-metals", "version": 1, "metals": {}}', 'rows under "metals"'),
        ('{"format": "formsketch-metals", "version": 1, "metals": [], "x": 1}', '"x" is not known here'),
        (
            '{"format": "formsketch-metals", "version": 1, "metals": [], "only_these": true}',
            '"only_these" is not',
        ),
        ('{"format": "formsketch-metals", "version": 1, "metals": [7]}', "metals row 1: Expected `object`"),
        ('{"format": "formsketch-metals", "version": 1, "metals": [{"key": NaN}]}', "NaN stands where"),
        (
            '{"format": "formsketch-metals", "version": 1, "metals": [{"key": "a", "key": "b"}]}',
            '"key" stands twice',
        ),
    ],
)
def test_a_file_that_is_no_table_is_refused(tmp_path: Path, content: str, said: str) -> None:
    message = _refusal(_file(tmp_path, content))
    assert said in message
    assert "metals.json" in message


def test_the_same_key_twice_is_refused(tmp_path: Path) -> None:
    message = _refusal(_file(tmp_path, _metals(ROW, ROW)))
    assert "metals row 2 (studio-bronze): key stands in an earlier row too" in message


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    assert "cannot be read" in _refusal(tmp_path / "absent.json")
    assert "cannot be read" in _refusal(tmp_path)
    binary = tmp_path / "binary.json"
    binary.write_bytes(b"\xff\xfe\x00")
    assert "UTF-8" in _refusal(binary)


def test_a_wrong_only_these_is_refused(tmp_path: Path) -> None:
    content = {"format": "formsketch-tubes", "version": 1, "tubes": [], "only_these": 1}
    with pytest.raises(TableError, match="true or false"):
        load_tubes(_file(tmp_path, content))


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    path = _file(tmp_path, _metals(ROW))
    assert load_metals(path)["studio-bronze"].density_g_per_cm3 == 8.7
    _file(tmp_path, _metals(ROW | {"density_g_per_cm3": 8.9}))
    os.utime(path, ns=(1, 1))  # the file may have been written within one tick of the clock
    assert load_metals(path)["studio-bronze"].density_g_per_cm3 == 8.9


def test_own_tables_are_looked_for_and_never_made(tmp_path: Path) -> None:
    folder = tmp_path / "tables"
    assert user_tables.user_metals_file(folder) is None
    assert user_tables.user_tubes_file(folder) is None
    assert not folder.exists()
    folder.mkdir()
    metals, tubes = _file(folder, "{}", "metals.json"), _file(folder, "{}", "tubes.json")
    assert user_tables.user_metals_file(folder) == metals
    assert user_tables.user_tubes_file(folder) == tubes


def test_the_folder_is_the_persons_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_data_path", lambda name, appauthor: tmp_path / name)
    # Another test may have asked before.
    monkeypatch.setattr(user_tables, "_folder", user_tables._folder.__wrapped__)
    assert user_tables.user_tables_folder() == tmp_path / "FormSketch"
    assert not user_tables.user_tables_folder().exists()
    assert user_tables.user_metals_file() is None


def test_what_ships_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    before = load_metals(), load_tubes(), load_hammers()
    monkeypatch.setattr(tables, "table_document", lambda path: pytest.fail(f"{path} was read again"))
    assert (load_metals(), load_tubes(), load_hammers()) == before
