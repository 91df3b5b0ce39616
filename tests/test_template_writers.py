"""The neutral drawing's checks, and SVG, PDF, PNG and files as written. Readers: lxml, PDFium, Pillow.

Lettering is measured against FreeType (through Pillow), which reads the bundled font by itself.
"""

import io
import math
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path as FilePath

import numpy as np
import pypdfium2 as pdfium
import pytest
from lxml import etree
from PIL import Image, ImageFont

from formsketch import files
from formsketch.errors import DesignFileError, DrawingError, FormSketchError
from formsketch.files import read_whole, write_atomically
from formsketch.template.drawing import (
    ASCENT_EM,
    CAPITAL_HEIGHT_EM,
    DESCENT_EM,
    Circle,
    Group,
    MultiPath,
    Path,
    Sheet,
    Stroke,
    Text,
    bounds,
    font_file,
    text_width_mm,
    walk,
)
from formsketch.template.output import write_drawing
from formsketch.template.pdf import pdf_bytes
from formsketch.template.png import png_bytes
from formsketch.template.svg import svg_text

POSIX = os.name == "posix"
SVG = "{http://www.w3.org/2000/svg}"
LINE = np.array([[10.0, 10.0], [60.0, 10.0]])
SQUARE = np.array([[10.0, 10.0], [60.0, 10.0], [60.0, 60.0]])


def sample() -> Sheet:
    marks = Group("pen-marks", [Circle((20.0, 20.0), 1.5, Stroke.CONTINUOUS_NARROW, "#ffffff")])
    lettering = [
        Text((10.0, 40.0), "Cut 171.2 mm, loops & <S-forms>", 3.5, bold=True),
        Text((10.0, 50.0), "two  spaces, −1.5 and ⌀3", angle_deg=-90.0, anchor="middle"),
    ]
    form = [Path(LINE, Stroke.LONG_DASH_DOT_NARROW), MultiPath([SQUARE], "#c8b060"), marks]
    return Sheet(210.0, 297.0, "Eddy <&> “bracelet”", [Group("form", form), Group("text", lettering)])


# The drawing


def test_walk_goes_through_nested_groups_in_order() -> None:
    kinds = [type(item) for item in walk(sample().groups)]
    assert kinds == [Path, MultiPath, Circle, Text, Text]


def test_bounds_hold_every_kind_of_item() -> None:
    items = [Path(LINE, Stroke.DASHED_NARROW), Circle((0.0, 0.0), 5.0, None, "#000000")]
    assert bounds([Group("a", items), MultiPath([SQUARE + 7.0], "#000000")]) == (-5.0, -5.0, 67.0, 67.0)
    x0, y0, x1, y1 = bounds([Text((100.0, 100.0), "H", 10.0, "end")])
    assert x1 == 100.0 and x0 < 100.0 - 8.0 and y0 < 90.0 and y1 > 100.0
    with pytest.raises(DrawingError, match="at least one item"):
        bounds([Group("a", [])])


def test_points_are_copied_and_frozen() -> None:
    points = LINE.copy()
    path = Path(points, Stroke.CONTINUOUS_WIDE)
    points[0, 0] = 99.0
    assert path.points[0, 0] == 10.0
    with pytest.raises(ValueError, match="read-only"):
        path.points[0, 0] = 5.0


@pytest.mark.parametrize("bold", [False, True])
def test_lettering_agrees_with_freetype(bold: bool) -> None:
    font = ImageFont.truetype(str(font_file(bold)), 1000, layout_engine=ImageFont.Layout.BASIC)
    for text in ("0123456789", "Eddy bracelet × 8, 1.29 mm Ø", "Größe żółć"):
        width_em = font.getlength(text) / 1000.0
        assert text_width_mm(text, CAPITAL_HEIGHT_EM, bold) == pytest.approx(width_em, abs=2e-3)
    _, top, _, bottom = font.getbbox("H", anchor="ls")
    assert (-top / 1000.0, bottom) == pytest.approx((CAPITAL_HEIGHT_EM, 0.0), abs=2e-3)
    printable = "".join(map(chr, range(33, 127)))
    _, top, _, bottom = font.getbbox(printable, anchor="ls")
    assert -top / 1000.0 <= ASCENT_EM <= -top / 1000.0 + 0.01
    assert bottom / 1000.0 <= DESCENT_EM <= bottom / 1000.0 + 0.01


def test_signs_the_font_lacks_take_the_width_of_their_stand_ins() -> None:
    assert text_width_mm("−1", 2.5) == text_width_mm("–1", 2.5)
    assert text_width_mm("⌀3", 2.5) == text_width_mm("Ø3", 2.5)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e9])
def test_numbers_that_cannot_be_drawn_are_refused(bad: float) -> None:
    points = LINE.copy()
    points[1, 1] = bad
    refused: list[Callable[[], object]] = [
        lambda: Path(points, Stroke.CONTINUOUS_WIDE),
        lambda: MultiPath([SQUARE, np.vstack([points, points])], "#000000"),
        lambda: Circle((bad, 0.0), 1.0, Stroke.CONTINUOUS_WIDE),
        lambda: Circle((0.0, 0.0), bad, Stroke.CONTINUOUS_WIDE),
        lambda: Text((0.0, bad), "a"),
        lambda: Text((0.0, 0.0), "a", bad),
        lambda: Text((0.0, 0.0), "a", angle_deg=bad),
        lambda: Sheet(bad, 100.0, "", []),
        lambda: Sheet(100.0, bad, "", []),
    ]
    for make in refused:
        with pytest.raises(DrawingError, match=r"expected (a number|numbers) from"):
            make()


def test_the_point_at_fault_is_named() -> None:
    with pytest.raises(DrawingError, match=r"a path, point 2: .* got 60\.0, nan"):
        Path(np.array([[10.0, 10.0], [60.0, math.nan], [math.nan, 1.0]]), Stroke.CONTINUOUS_WIDE)


@pytest.mark.parametrize(
    "name", ["", "Form", "1form", "form plan", "form_plan", "-form", "form\n", 'x"', "é"]
)
def test_names_that_are_no_ids_are_refused(name: str) -> None:
    with pytest.raises(DrawingError, match="a group: expected a name"):
        Group(name, [])


@pytest.mark.parametrize("sign", ["\0", "\n", "\t", "\x1b", "\x85", "\ud800", "\uffff", "\u2028"])
def test_signs_no_file_can_carry_are_refused(sign: str) -> None:
    for make in (lambda: Text((0.0, 0.0), f"a{sign}"), lambda: Sheet(100.0, 100.0, f"a{sign}", [])):
        with pytest.raises(DrawingError, match=f"character 2: .* got U\\+{ord(sign):04X}"):
            make()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Text((0.0, 0.0), "a", 2.4), "height: expected a number from 2.5"),
        (lambda: Text((0.0, 0.0), " "), "at least one letter"),
        (lambda: Text((0.0, 0.0), "a", anchor="left"), "anchor"),
        (lambda: Text((0.0, 0.0), "a", baseline="top"), "baseline"),
        (lambda: Text((0.0, 0.0), "a", colour="red"), "colour"),
        (lambda: Text((0.0,), "a"), "expected a place"),
        (lambda: Path(LINE, None), "a line or a fill"),
        (lambda: Path(LINE, "wide"), "a kind of line"),
        (lambda: Path(LINE[:1], Stroke.CONTINUOUS_WIDE), "at least 2 rows"),
        (lambda: Path(np.zeros((4, 3)), Stroke.CONTINUOUS_WIDE), r"got shape \(4, 3\)"),
        (lambda: Path(LINE, None, fill="#12345"), "fill: expected a colour"),
        (lambda: MultiPath([], "#000000"), "at least one ring"),
        (lambda: MultiPath([LINE], "#000000"), "at least 3 rows"),
        (lambda: MultiPath([SQUARE], "#000000", fill_rule="odd"), "evenodd or nonzero"),
        (lambda: Circle((0.0, 0.0), 0.0, Stroke.CONTINUOUS_WIDE), "more than 0 mm"),
        (lambda: Circle((0.0, 0.0), -1.0, Stroke.CONTINUOUS_WIDE), "from 0"),
        (lambda: Group("a", [LINE]), "got ndarray"),
        (lambda: Sheet(4.0, 100.0, "", []), "width: expected a number from 5 to 5080"),
        (lambda: Sheet(99.0, 99.0, "", [Group("a", [Group("b", [])]), Group("b", [])]), "'b' twice"),
    ],
)
def test_what_cannot_be_drawn_is_refused(make: Callable[[], object], told: str) -> None:
    with pytest.raises(DrawingError, match=told):
        make()


# SVG


def test_svg_is_sound_xml_with_named_groups() -> None:
    root = etree.fromstring(svg_text(sample()).encode())
    assert root.tag == SVG + "svg" and root.get("version") == "1.1"
    assert [child.tag.removeprefix(SVG) for child in root][:2] == ["title", "desc"]
    assert root.findtext(SVG + "title") == "Eddy <&> “bracelet”"
    assert [group.get("id") for group in root.iter(SVG + "g")] == ["form", "pen-marks", "text"]
    assert [group.findtext(SVG + "title") for group in root.iter(SVG + "g")] == ["form", "pen marks", "text"]
    assert root.find(f"{SVG}g/{SVG}g/{SVG}circle") is not None
    texts = [text.text for text in root.iter(SVG + "text")]
    assert texts == ["Cut 171.2 mm, loops & <S-forms>", "two  spaces, –1.5 and Ø3"]
    (spaced,) = (text for text in root.iter(SVG + "text") if "  " in text.text)
    assert spaced.get("{http://www.w3.org/XML/1998/namespace}space") == "preserve"


def test_svg_declares_its_encoding() -> None:
    assert svg_text(sample()).startswith('<?xml version="1.0" encoding="utf-8"')


def test_svg_numbers_are_short() -> None:
    """Four decimals, no needless zeros, no minus nought, no exponent."""
    points = np.array([[0.00004, -0.00004], [1.5, 99999.99996], [1.23456789, 1e-7], [-12.0, 100.0]])
    root = etree.fromstring(
        svg_text(Sheet(100.0, 100.0, "", [Group("a", [Path(points, Stroke.DASHED_NARROW)])])).encode()
    )
    (path,) = root.iter(SVG + "path")
    assert path.get("d") == "M 0 0 L 1.5 100000 L 1.2346 0 L -12 100"


# PDF


def test_pdf_holds_its_text_title_and_fonts() -> None:
    data = pdf_bytes([sample(), Sheet(100.0, 50.0, "second", [])])
    document = pdfium.PdfDocument(data)
    assert len(document) == 2
    assert document.get_metadata_dict(skip_empty=True) == {
        "Title": "Eddy <&> “bracelet”",
        "Creator": "FormSketch",
    }
    text = document[0].get_textpage().get_text_range()
    assert "Cut 171.2 mm, loops & <S-forms>" in text
    document.close()
    assert data.count(b"/FontFile2") == 2 and b"Helvetica" not in data  # both faces inside, no other
    assert b"/PrintScaling /None" in data and data.startswith(b"%PDF-1.6")


def test_pdf_of_nothing_is_refused() -> None:
    with pytest.raises(DrawingError, match="at least one sheet"):
        pdf_bytes([])


# PNG


def test_picture_is_on_white_paper() -> None:
    picture = Image.open(io.BytesIO(png_bytes(Sheet(20.0, 10.0, "", []))))
    assert picture.convert("RGBA").getcolors() == [(160 * 80, (255, 255, 255, 255))]


@pytest.mark.parametrize("dots_per_mm", [0.0, -8.0, math.nan, math.inf, 0.001, 1e4])
def test_pictures_out_of_reach_are_refused(dots_per_mm: float) -> None:
    with pytest.raises(DrawingError, match="a picture: expected at least one dot"):
        png_bytes(sample(), dots_per_mm)


# Light to load


def test_loading_the_drawing_loads_no_writer_and_no_window() -> None:
    program = (
        "import sys, formsketch.template.drawing, formsketch.template.output;"
        "print(sorted({'reportlab', 'svgwrite', 'resvg_py', 'PIL', 'PySide6'} & sys.modules.keys()))"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


# Files


@pytest.mark.parametrize(("name", "start"), [("a.svg", b"<?xml"), ("a.PDF", b"%PDF-"), ("a.png", b"\x89PNG")])
def test_the_name_says_the_kind(tmp_path: FilePath, name: str, start: bytes) -> None:
    write_drawing([sample()], tmp_path / name)
    assert (tmp_path / name).read_bytes().startswith(start)
    assert os.listdir(tmp_path) == [name]


def test_only_a_pdf_takes_several_sheets(tmp_path: FilePath) -> None:
    write_drawing([sample(), sample()], tmp_path / "a.pdf")
    with pdfium.PdfDocument(tmp_path / "a.pdf") as document:
        assert len(document) == 2
    for name in ("b.svg", "b.png"):
        with pytest.raises(FormSketchError, match="holds one sheet, got 2"):
            write_drawing([sample(), sample()], tmp_path / name)
    for sheets, name, told in (([sample()], "b.txt", r"ends in \.svg"), ([], "b.pdf", "at least one sheet")):
        with pytest.raises(FormSketchError, match=told):
            write_drawing(sheets, tmp_path / name)
    assert os.listdir(tmp_path) == ["a.pdf"]


def test_a_drawing_that_fails_leaves_the_old_file(tmp_path: FilePath) -> None:
    (tmp_path / "a.png").write_bytes(b"old")
    with pytest.raises(DrawingError, match="a picture"):
        write_drawing([Sheet(5_000.0, 5_000.0, "", [])], tmp_path / "a.png")
    assert (tmp_path / "a.png").read_bytes() == b"old"


def _failing(number: int) -> Callable[..., None]:
    def fail(*_args: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize("step", ["fsync", "replace", "open"])
@pytest.mark.parametrize(
    ("number", "told"),
    [
        (files.errno.ENOSPC, "the disk is full"),
        (files.errno.EACCES, "there is no permission"),
        (files.errno.EROFS, "the disk can only be read"),
        (files.errno.EIO, "the disk cannot be read or written"),
        (files.errno.ESTALE, "the network folder does not answer"),
    ],
)
def test_a_write_that_fails_leaves_the_old_file(
    tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch, step: str, number: int, told: str
) -> None:
    target = tmp_path / "a.json"
    target.write_bytes(b"old")
    with monkeypatch.context() as patched:
        patched.setattr(files.os, step, _failing(number))
        with pytest.raises(FormSketchError) as caught:
            write_atomically(target, b"new")
    assert str(caught.value) == f"{target}: not written, {told}"
    assert target.read_bytes() == b"old" and os.listdir(tmp_path) == ["a.json"]


def test_an_interrupted_write_leaves_nothing_behind(
    tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(*_args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_atomically(tmp_path / "a.json", b"new")
    assert os.listdir(tmp_path) == []


def test_places_where_nothing_can_be_written(tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_bytes(b"old")
    cases = [
        ("folder", "it is a folder"),
        ("missing/a.svg", "the folder does not exist"),
        ("a\0b.svg", "the name holds a character that no file name can have"),
    ]
    if POSIX:
        os.mkfifo(tmp_path / "pipe")
        cases += [
            ("pipe", "it is a device, not a file"),
            ("file/a.svg", "part of the path is a file, not a folder"),
            ("x" * 300, "the name is too long"),
        ]
    for name, told in cases:
        with pytest.raises(FormSketchError, match=f"not written, {told}$"):
            write_atomically(tmp_path / name, b"new")
    monkeypatch.setattr(files.os, "access", lambda *_args: False)  # as for a file marked read-only
    with pytest.raises(FormSketchError, match=r"there is no permission$"):
        write_atomically(tmp_path / "file", b"new")
    assert (tmp_path / "file").read_bytes() == b"old"
    assert set(os.listdir(tmp_path)) - {"pipe"} == {"folder", "file"}


@pytest.mark.skipif(not POSIX, reason="permission bits and links as POSIX has them")
def test_permissions_and_links_are_kept(tmp_path: FilePath) -> None:
    target, link, new = tmp_path / "a.svg", tmp_path / "link.svg", tmp_path / "new.svg"
    target.write_bytes(b"old")
    target.chmod(0o640)
    link.symlink_to(target)
    write_atomically(link, b"new")
    assert link.is_symlink() and target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    write_atomically(new, b"new")
    (tmp_path / "plain").write_bytes(b"")  # a file made the ordinary way
    assert new.stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_reading_whole(tmp_path: FilePath) -> None:
    (tmp_path / "a.json").write_bytes(b"12345")
    assert read_whole(tmp_path / "a.json", 5, "a design file") == b"12345"
    cases = [
        ("a.json", 4, "expected a design file of at most 4 bytes"),
        ("b.json", 5, "there is no such file"),
        ("a\0", 5, "the name holds a character"),
    ]
    if POSIX:
        cases.append((".", 5, "it is a folder"))
    for name, limit, told in cases:
        with pytest.raises(DesignFileError, match=told):
            read_whole(tmp_path / name, limit, "a design file")
