"""The design file: what is read, what is written, and the schema shipped for other programs.

How bad files are refused is in test_bad_files.py; that any sound design comes back from its file in
test_properties.py.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from msgspec.structs import replace

from formsketch.design import migrations
from formsketch.design.edits import change_texts
from formsketch.design.file_format import (
    SUFFIX,
    design_bytes,
    load_design,
    read_design,
    save_design,
)
from formsketch.design.model import (
    BeadEnd,
    Design,
    Flare,
    Form,
    Hammer,
    PlainEnd,
    Run,
    Span,
    Variant,
    Wire,
)
from formsketch.design.soundness import Unsound
from formsketch.design.starters import STARTERS, make_starter
from formsketch.errors import DesignFileError, FormSketchError
from formsketch.shipped import demo_design_files, resource
from tests import test_bad_files
from tests.support.schema import schema_text

# As the format is described, comments and all that may be left out left in.
DESCRIBED = """{
 "format": "formsketch-design", "version": 1,
 "title": "Eddy bracelet", "notes": "",
 "wire": {"metal": "brass-c26000", "diameter_mm": 1.290846},
 "hammer": {"spread": 0.8},
 "form": {
  "start": {"kind": "bead", "diameter_mm": 2.6},
  "finish": {"kind": "plain"},
  "runs": [
   {"times": 8, "turned_over": true, "ends_scale": 1.0,
    "spans": [
     {"length_mm": 20.94, "turn_deg": 240, "skew_deg": 0, "corner_deg": 0, "turned_over": false,
      "flare": {"thickness": 0.45, "centre": 0.5, "hold": 0.0, "face": "flat"}}]}]},
 "variants": [{"title": "light", "diameter_mm": 1.023687, "scale": 1.0}]
}"""
MEANT = Design(
    title="Eddy bracelet",
    wire=Wire(metal="brass-c26000", diameter_mm=1.290846),
    hammer=Hammer(spread=0.8),
    form=Form(
        start=BeadEnd(diameter_mm=2.6),
        finish=PlainEnd(),
        runs=(
            Run(
                spans=(Span(length_mm=20.94, turn_deg=240.0, flare=Flare(thickness=0.45)),),
                times=8,
                turned_over=True,
            ),
        ),
    ),
    variants=(Variant(title="light", diameter_mm=1.023687),),
)
LEAST = (
    '{"format":"formsketch-design","version":1,"title":"","wire":{"metal":"fine-silver","diameter_mm":1},'
    '"form":{"runs":[{"spans":[{"length_mm":5}]}]}}'
)


# Reading


def test_the_described_file_is_read_as_meant() -> None:
    assert read_design(DESCRIBED.encode(), "described").design == MEANT


def test_what_has_its_default_may_be_left_out() -> None:
    design = read_design(LEAST.encode(), "least").design
    (run,) = design.form.runs
    assert (run.times, run.turned_over, run.ends_scale) == (1, False, 1.0)
    assert run.spans == (Span(length_mm=5.0, turn_deg=0.0, skew_deg=0.0, corner_deg=0.0, flare=None),)
    assert (design.form.start, design.form.finish) == (PlainEnd(), PlainEnd())
    assert (design.notes, design.metals, design.variants) == ("", (), ())
    assert design.hammer.spread == 0.8


def test_keys_may_stand_in_any_order() -> None:
    tree = json.loads(DESCRIBED)
    turned = dict(reversed(list(tree.items())))
    assert read_design(json.dumps(turned).encode(), "turned").design == MEANT


@pytest.mark.parametrize("written", ["1", "1.0", "1e0", "10E-1", "0.1e1"])
def test_a_number_may_be_written_in_any_way_of_json(written: str) -> None:
    data = LEAST.replace('"diameter_mm":1', f'"diameter_mm":{written}').encode()
    assert read_design(data, "number").design.wire.diameter_mm == 1.0


def test_escapes_say_the_same_as_the_letters_themselves() -> None:
    escaped = LEAST.replace('"title":""', '"title":"\\u00e9\\ud83d\\udc8d"').encode()
    assert read_design(escaped, "escaped").design.title == "é💍"


def test_messages_carry_file_place_and_expectation() -> None:
    with pytest.raises(DesignFileError) as refused:
        read_design(DESCRIBED.replace("20.94", "-1").encode(), "eddy.formsketch.json")
    fault = refused.value
    assert (fault.file, fault.place) == ("eddy.formsketch.json", "$.form.runs[0].spans[0].length_mm")
    assert fault.expected in str(fault) and str(fault).startswith("eddy.formsketch.json: $.form")


def test_an_older_file_is_migrated_one_version_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    # As if version 3 were current: 1 called the title "name", 2 gave the wire in inches.
    def name_to_title(tree: dict[str, Any]) -> dict[str, Any]:
        return {"title": tree.pop("name"), **tree}

    def inches_to_mm(tree: dict[str, Any]) -> dict[str, Any]:
        tree["wire"]["diameter_mm"] = tree["wire"].pop("diameter_inch") * 25.4
        return tree

    monkeypatch.setattr(migrations, "CURRENT_VERSION", 3)
    monkeypatch.setattr(migrations, "_STEPS", {1: name_to_title, 2: inches_to_mm})
    tree = json.loads(LEAST)
    tree["name"] = "old"
    del tree["title"]
    tree["wire"] = {"metal": "fine-silver", "diameter_inch": 0.04}
    design = read_design(json.dumps(tree).encode(), "old").design
    assert (design.title, design.wire.diameter_mm) == ("old", pytest.approx(1.016))
    with pytest.raises(DesignFileError, match=r"\$\.version: .*later program"):
        read_design(LEAST.replace('"version":1', '"version":4').encode(), "later")


# Writing


def test_the_canonical_bytes_are_plain_json() -> None:
    data = design_bytes(change_texts(MEANT, title="Größe 💍"))
    text = data.decode("utf-8")
    assert text.endswith("}\n") and "\r" not in text
    assert "Größe 💍" in text  # letters stand as themselves
    tree = json.loads(text)
    assert (tree["format"], tree["version"]) == ("formsketch-design", 1)
    assert list(tree)[:2] == ["format", "version"]
    assert '"turn_deg": 240' in text and "240.0" not in text  # whole numbers without a point
    for left_out in ("notes", "skew_deg", "corner_deg", "ends_scale", "centre", "finish", "hammer"):
        assert f'"{left_out}"' not in text


@pytest.mark.parametrize("number", [1.290846, 0.1 + 0.2, 1 / 3, 5e-2, 19.999999999999996])
def test_numbers_come_back_to_the_last_digit(number: float) -> None:
    design = replace(
        MEANT, wire=replace(MEANT.wire, diameter_mm=number), form=replace(MEANT.form, start=PlainEnd())
    )
    design = replace(design, variants=())
    assert read_design(design_bytes(design), "digits").design.wire.diameter_mm == number


def test_negative_zero_is_written_as_nothing() -> None:
    span = Span(length_mm=5.0, turn_deg=-0.0)
    design = replace(MEANT, form=Form(runs=(Run(spans=(span,)),)))
    assert b"-0" not in design_bytes(design)


def test_an_unsound_design_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / f"old{SUFFIX}"
    save_design(path, MEANT)
    old = path.read_bytes()
    for bad in (float("nan"), float("inf"), -1.0):
        with pytest.raises(Unsound, match=r"\$\.wire\.diameter_mm"):
            save_design(path, replace(MEANT, wire=Wire(metal="x", diameter_mm=bad)))
    assert path.read_bytes() == old
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_unchanged_means_the_same_bytes(newline: str, tmp_path: Path) -> None:
    path = tmp_path / f"foreign{SUFFIX}"
    data = DESCRIBED.replace("\n", newline).encode()
    path.write_bytes(data)
    loaded = load_design(path)
    assert save_design(path, loaded.design, loaded).data == data
    assert path.read_bytes() == data


def test_changed_and_changed_back_is_unchanged(tmp_path: Path) -> None:
    path = tmp_path / f"foreign{SUFFIX}"
    path.write_bytes(DESCRIBED.encode())
    loaded = load_design(path)
    back = change_texts(change_texts(loaded.design, title="other"), title="Eddy bracelet")
    save_design(path, back, loaded)
    assert path.read_bytes() == DESCRIBED.encode()


def test_what_was_saved_is_what_unchanged_is_measured_against(tmp_path: Path) -> None:
    path = tmp_path / f"foreign{SUFFIX}"
    path.write_bytes(DESCRIBED.encode())
    first = load_design(path)
    changed = change_texts(first.design, title="other")
    second = save_design(path, changed, first)
    assert second.data == path.read_bytes() == design_bytes(changed)
    assert save_design(path, changed, second).data == second.data


@pytest.mark.skipif(os.name != "posix", reason="permission bits")
def test_saving_keeps_permissions_and_links(tmp_path: Path) -> None:
    path, link = tmp_path / f"real{SUFFIX}", tmp_path / f"link{SUFFIX}"
    save_design(path, MEANT)
    path.chmod(0o640)
    link.symlink_to(path)
    save_design(link, change_texts(MEANT, title="by the link"))
    assert link.is_symlink() and load_design(path).design.title == "by the link"
    assert path.stat().st_mode & 0o777 == 0o640


def test_where_nothing_can_be_written_the_reason_is_given(tmp_path: Path) -> None:
    with pytest.raises(FormSketchError, match="folder does not exist"):
        save_design(tmp_path / "none" / f"x{SUFFIX}", MEANT)
    with pytest.raises(FormSketchError, match="folder"):
        save_design(tmp_path, MEANT)


# The schema


def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json.loads(resource("design.schema.json").read_bytes()))


def test_the_shipped_schema_is_the_generated_one() -> None:
    assert resource("design.schema.json").read_text(encoding="utf-8") == schema_text()


def test_the_schema_is_a_sound_schema_of_its_draft() -> None:
    schema = json.loads(resource("design.schema.json").read_bytes())
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)


def test_the_schema_accepts_every_demo_design() -> None:
    files = demo_design_files()
    assert files
    for file in files:
        validator().validate(json.loads(file.read_bytes()))
        load_design(file)


@pytest.mark.parametrize("key", STARTERS)
def test_the_schema_accepts_every_starter(key: str) -> None:
    design = make_starter(key, Wire(metal="brass-c26000", diameter_mm=1.3))
    validator().validate(json.loads(design_bytes(design)))


@pytest.mark.parametrize("tree", [json.loads(DESCRIBED), json.loads(LEAST), test_bad_files.RICH])
def test_the_schema_accepts_what_the_program_accepts(tree: dict[str, Any]) -> None:
    validator().validate(tree)
    for end in test_bad_files.OTHER_ENDS.values():
        validator().validate(test_bad_files.put(("form", "start"), end, tree))


def test_the_schema_refuses_what_the_program_refuses() -> None:
    # All that a schema can say: types, bounds, keys, kinds. What ties numbers together it cannot.
    check, refused = validator(), 0
    generators = (test_bad_files.wrong_types, test_bad_files.wrong_numbers, test_bad_files.wrong_headers)
    for make in (*generators, test_bad_files.wrong_keys):
        for name, data, _ in make():
            if name.startswith(("twice", "NaN", "Infinity", "-Infinity", "thousands")):
                continue  # faults of the text, not of what it says
            assert not check.is_valid(json.loads(data)), name
            refused += 1
    assert refused > 150
