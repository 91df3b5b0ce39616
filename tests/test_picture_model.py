"""The picture to trace in the design and its file: its paths, its numbers, and what leaves it alone."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.edits import applied, mirrored, scaled, scaled_with_wire
from formsketch.design.file_format import design_bytes, json_schema, read_design
from formsketch.design.model import Design, Form, Picture, Run, Span, Variant, Wire
from formsketch.design.picture_edits import change_picture, with_picture
from formsketch.design.picture_path import picture_path_fault, portable_name
from formsketch.design.soundness import Unsound, sound
from formsketch.errors import DesignFileError, EditRefused
from tests.support.strategies import calm, numbers

PLAIN = Design(
    title="plain",
    wire=Wire(metal="brass-c26000", diameter_mm=1.0),
    form=Form(runs=(Run(spans=(Span(length_mm=10.0, turn_deg=40.0),)),)),
)
PICTURE = Picture(file="sketches/tern 2.png", width_mm=80.0, x_mm=3.5, y_mm=-2.0, angle_deg=12.0)
OVER = replace(PLAIN, picture=PICTURE)


def written(**picture: Any) -> bytes:
    """A design file with this said of its picture."""
    tree = json.loads(design_bytes(PLAIN))
    tree["picture"] = {"file": "a.png", "width_mm": 10, **picture}
    return json.dumps(tree).encode()


def test_a_design_has_no_picture_unless_it_says_so() -> None:
    assert PLAIN.picture is None
    assert "picture" not in json.loads(design_bytes(PLAIN))


def test_what_is_left_out_has_its_default() -> None:
    picture = read_design(written(), "least").design.picture
    assert picture == Picture(
        file="a.png", width_mm=10.0, x_mm=0.0, y_mm=0.0, angle_deg=0.0, opacity=0.5, locked=False
    )
    assert json.loads(design_bytes(replace(PLAIN, picture=picture)))["picture"] == {
        "file": "a.png",
        "width_mm": 10,
    }


@given(
    st.builds(
        Picture,
        file=st.sampled_from(("a.png", "Sketches/tern 2.JPG", "über/zeichnung.svg", "..a.jpeg", "a..b.PNG")),
        width_mm=numbers(0.1, 10_000.0),
        x_mm=numbers(-100_000.0, 100_000.0),
        y_mm=numbers(-100_000.0, 100_000.0),
        angle_deg=numbers(-360.0, 360.0),
        opacity=numbers(0.0, 1.0),
        locked=st.booleans(),
    )
)
@calm(60)
def test_any_sound_picture_comes_back_from_its_file(picture: Picture) -> None:
    design = with_picture(PLAIN, picture)
    data = design_bytes(design)
    again = read_design(data, "again").design
    assert again == design
    assert design_bytes(again) == data


CLIMBING = (
    "../a.png", "a/../../b.png", "sketches/../a.png", "..\\a.png", "a\\b.png", "/etc/a.png", "//server/a.png",
    "\\\\server\\share\\a.png", "C:/a.png", "C:a.png", "c:\\a.png", "file:///etc/a.png", "a.png:hidden.png",
    "./a.png", "a//b.png", "a.png/", ".. /a.png", ". ./../a.png", "a/.../b.png", "a./b.png", "a /b.png",
    "sketch?.png", "*.png", "a|b.png", '"a".png', "<a>.png",
)  # fmt: skip


@pytest.mark.parametrize("file", CLIMBING)
def test_a_path_that_could_leave_the_folder_is_refused_with_its_place(file: str) -> None:
    with pytest.raises(DesignFileError) as refused:
        read_design(written(file=file), "climbing.formsketch.json")
    assert (refused.value.file, refused.value.place) == ("climbing.formsketch.json", "$.picture.file")
    assert refused.value.expected.startswith("expected a ")


@pytest.mark.parametrize("file", ["", "png", "a.exe", "a.bmp", "a", "a.png\x00", "a\n.png", "a\u2028.png"])
def test_a_path_that_is_no_pictures_is_refused_with_its_place(file: str) -> None:
    with pytest.raises(DesignFileError) as refused:
        read_design(written(file=file), "odd")
    assert refused.value.place == "$.picture.file"


@pytest.mark.parametrize(
    ("key", "good", "bad"),
    [
        ("width_mm", (0.1, 10_000.0), (0.0, -1.0, 0.05, 10_001.0)),
        ("x_mm", (-100_000.0, 100_000.0), (-1e6, 1e6)),
        ("y_mm", (-100_000.0, 100_000.0), (-1e6, 1e6)),
        ("angle_deg", (-360.0, 360.0), (-361.0, 1e4)),
        ("opacity", (0.0, 1.0), (-0.01, 1.01)),
        ("locked", (True, False), (1, "yes")),
        ("file", ("a.png",), (7, "a" * 400 + ".png")),
        ("shadow", (), (True,)),
    ],
)
def test_each_value_has_its_range(key: str, good: tuple[Any, ...], bad: tuple[Any, ...]) -> None:
    for value in good:
        assert getattr(read_design(written(**{key: value}), "good").design.picture, key) == value
    for value in bad:
        with pytest.raises(DesignFileError) as refused:
            read_design(written(**{key: value}), "bad")
        assert refused.value.place in (f"$.picture.{key}", "$.picture")


def test_the_schema_knows_it() -> None:
    schema = json_schema()
    jsonschema.validate(json.loads(design_bytes(OVER)), schema)
    for wrong in ({"width_mm": 0}, {"opacity": 2}, {"shadow": 1}):
        tree = json.loads(written(**wrong))
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(tree, schema)


def test_edits_of_the_form_leave_it_as_it_is() -> None:
    for edited in (scaled(OVER, 2.0), scaled_with_wire(OVER, 0.5), mirrored(OVER)):
        assert edited.picture is OVER.picture
        assert edited != OVER


def test_a_variant_has_none() -> None:
    assert applied(OVER, Variant(title="larger", scale=2.0)) == scaled(PLAIN, 2.0)


def test_it_is_changed_by_edits_that_check() -> None:
    assert change_picture(OVER, opacity=0.2).picture == replace(PICTURE, opacity=0.2)
    assert with_picture(OVER, None) == PLAIN
    with pytest.raises(EditRefused, match=r"\$\.picture\.opacity"):
        change_picture(OVER, opacity=1.5)
    with pytest.raises(EditRefused, match="no picture"):
        change_picture(PLAIN, opacity=0.5)
    with pytest.raises(Unsound, match=r"\$\.picture\.file"):
        sound(replace(PLAIN, picture=replace(PICTURE, file="../x.png")))


@given(st.text(max_size=30), st.sampled_from((".png", ".PNG", ".jpg", ".Jpeg", ".svg")))
@calm(150)
def test_any_name_can_be_made_one_that_a_design_can_hold(stem: str, suffix: str) -> None:
    name = portable_name(stem + suffix)
    assert picture_path_fault(name) == ""
    assert "/" not in name
    assert with_picture(PLAIN, replace(PICTURE, file=name)).picture is not None


@pytest.mark.parametrize("name", ["a.png", "Tern 2 (copy).svg", "a..b.jpg", "zeichnung ü.jpeg"])
def test_a_name_that_is_sound_stays(name: str) -> None:
    assert portable_name(name) == name
