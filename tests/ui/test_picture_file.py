"""Reading the picture to trace: which way up it is, what it costs, and what is refused before it costs."""

from __future__ import annotations

import io
import os
import struct
import time
import zlib
from pathlib import Path

import pytest
from PIL import Image, ImageOps
from PySide6.QtGui import QColor

from formsketch.errors import FormSketchError, InputError
from formsketch.ui import svg_picture
from formsketch.ui.picture_file import LARGEST_FILE_BYTES, LoadedPicture, inside, load_picture
from formsketch.ui.picture_keeping import copied_to, name_inside

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {}>{}</svg>'
BOX = '<rect x="0" y="0" width="50" height="50" fill="#00ff00"/>'


def corners(size: tuple[int, int] = (40, 20)) -> Image.Image:
    """Red, lime, blue and black from the top left, row by row."""
    image = Image.new("RGB", size, "black")
    wide, high = size[0] // 2, size[1] // 2
    image.paste("red", (0, 0, wide, high))
    image.paste("lime", (wide, 0, size[0], high))
    image.paste("blue", (0, high, wide, size[1]))
    return image


def written(file: Path, data: bytes | str) -> Path:
    file.write_bytes(data.encode() if isinstance(data, str) else data)
    return file


def saved(image: Image.Image, file: Path, **options: object) -> Path:
    image.save(file, **options)
    return file


def seen(picture: LoadedPicture) -> list[str]:
    """Names of the four corners' colours, rounded to full or none of red, green and blue."""
    image = picture.image
    x, y = image.width() // 4, image.height() // 4
    places = ((x, y), (3 * x, y), (x, 3 * y), (3 * x, 3 * y))
    return [rounded(image.pixelColor(*place)) for place in places]


def rounded(colour: QColor) -> str:
    return "".join(
        letter
        for letter, part in zip("RGB", (colour.red(), colour.green(), colour.blue()), strict=True)
        if part > 127
    )


def refusal(file: Path) -> str:
    with pytest.raises(FormSketchError) as refused:
        load_picture(file)
    sentence = str(refused.value)
    assert "\n" not in sentence
    assert file.name in sentence
    return sentence


# ---- what is read --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "named-otherwise.svg"])
def test_pixels_are_read_whatever_the_file_is_called(tmp_path: Path, name: str) -> None:
    kind = "JPEG" if name == "a.jpg" else "PNG"
    picture = load_picture(saved(corners(), tmp_path / name, format=kind))
    assert (picture.image.width(), picture.image.height()) == (40, 20)
    assert (picture.height_to_width, picture.width_mm) == (0.5, None)
    assert seen(picture) == ["R", "G", "B", ""]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photograph_stands_the_way_the_camera_was_held(tmp_path: Path, orientation: int) -> None:
    # [P] Exif 2.3, tag 0x0112; Pillow turns it independently.
    exif = Image.Exif()
    exif[0x0112] = orientation
    file = saved(corners((80, 40)), tmp_path / "photo.jpg", exif=exif, quality=95, subsampling=0)
    picture = load_picture(file)
    upright = ImageOps.exif_transpose(Image.open(file)).convert("RGB")
    assert (picture.image.width(), picture.image.height()) == upright.size
    assert picture.height_to_width == upright.height / upright.width
    x, y = upright.width // 4, upright.height // 4
    expected = [
        rounded(QColor(*upright.getpixel(at))) for at in ((x, y), (3 * x, y), (x, 3 * y), (3 * x, 3 * y))
    ]
    assert seen(picture) == expected


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGBA", "I;16", "CMYK", "LA"])
def test_every_kind_of_pixel_is_read(tmp_path: Path, mode: str) -> None:
    # Half light, half dark.
    image = Image.new("L", (40, 20), 0)
    image.paste(255, (0, 0, 20, 20))
    if mode == "I;16":
        image = image.convert("I").point(lambda value: value * 257).convert("I;16")
    else:
        image = image.convert(mode)
    file = tmp_path / ("a.jpg" if mode == "CMYK" else "a.png")
    assert seen(load_picture(saved(image, file))) == ["RGB", "", "RGB", ""]


def test_nothing_is_white_paper(tmp_path: Path) -> None:
    assert (
        seen(load_picture(saved(Image.new("RGBA", (8, 8), (0, 0, 0, 0)), tmp_path / "a.png"))) == ["RGB"] * 4
    )


def test_one_pixel_is_a_picture(tmp_path: Path) -> None:
    picture = load_picture(saved(Image.new("RGB", (1, 1), "red"), tmp_path / "a.png"))
    assert (picture.image.width(), picture.height_to_width) == (1, 1.0)


def test_a_large_photograph_is_kept_smaller_in_its_shape(tmp_path: Path) -> None:
    picture = load_picture(saved(corners((7000, 5000)), tmp_path / "a.jpg"))
    assert picture.image.width() * picture.image.height() <= 12_100_000
    assert picture.height_to_width == 5000 / 7000
    assert seen(picture) == ["R", "G", "B", ""]


# ---- what is refused -----------------------------------------------------------------------------------


def png_of(wide: int, high: int, depth: int = 8, colour: int = 2) -> bytes:
    """A PNG that says it is this large and holds next to nothing (PNG 1.2, sections 3 and 4)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", wide, high, depth, colour, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )


def jpeg_of(wide: int, high: int) -> bytes:
    """A JPEG whose frame header was made to say another size (ITU T.81, B.2.2)."""
    stream = io.BytesIO()
    Image.new("RGB", (16, 16)).save(stream, "JPEG")
    data = bytearray(stream.getvalue())
    frame = data.index(b"\xff\xc0")
    data[frame + 5 : frame + 9] = struct.pack(">HH", high, wide)
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "pixels"),
    [
        (png_of(30_000, 30_000), "900"),
        (png_of(2**31 - 1, 2**31 - 1), ""),
        (jpeg_of(65_000, 65_000), "4,225"),
        (png_of(7_000, 7_000, depth=16, colour=6), "49"),
        (png_of(7_750, 7_750), "60"),
    ],
    ids=["png", "largest png", "jpeg", "16 bits", "just over"],
)
def test_a_picture_of_too_many_pixels_is_refused_before_it_is_unfolded(
    tmp_path: Path, data: bytes, pixels: str
) -> None:
    file = written(tmp_path / "bomb.png", data)
    began = time.perf_counter()
    sentence = refusal(file)
    assert time.perf_counter() - began < 0.5
    if pixels:
        assert "million pixels was expected" in sentence
        assert f"this one has {pixels}" in sentence


def test_a_file_too_large_is_refused_unread(tmp_path: Path) -> None:
    file = tmp_path / "a.png"
    with open(file, "wb") as stream:
        stream.truncate(LARGEST_FILE_BYTES + 1)
    assert "at most" in refusal(file)


def test_a_thread_is_no_picture(tmp_path: Path) -> None:
    assert "times as long as wide" in refusal(saved(Image.new("L", (2, 900)), tmp_path / "a.png"))


def test_a_damaged_picture_is_refused(tmp_path: Path) -> None:
    whole = saved(Image.effect_noise((200, 200), 80), tmp_path / "a.png").read_bytes()
    for share in (0.02, 0.5):
        assert "damaged" in refusal(written(tmp_path / "cut.png", whole[: int(share * len(whole))]))


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a" + bytes(40), b"no picture", "<svg".encode("utf-16"), b"<html/>", b"<svg", b"\x00" * 99],
)
def test_what_is_no_picture_is_refused(tmp_path: Path, data: bytes) -> None:
    assert "PNG, JPEG or SVG picture was expected" in refusal(written(tmp_path / "a.png", data))


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    assert "is not there" in refusal(tmp_path / "missing.png")
    (tmp_path / "folder.png").mkdir()
    assert "no file" in refusal(tmp_path / "folder.png")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.png")
        assert "no file" in refusal(tmp_path / "pipe.png")  # and does not wait for a writer


# ---- SVG -----------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("few_pixels")
@pytest.mark.parametrize(
    ("attributes", "ratio", "width_mm"),
    [
        ('viewBox="0 0 100 50"', 0.5, None),
        ('width="80mm" height="40mm" viewBox="0 0 100 50"', 0.5, 80.0),
        ('width="2in" height="3in" viewBox="0 0 100 150"', 1.5, 50.8),
        ('width="7.2pt" height="7.2pt" viewBox="0 0 100 100"', 1.0, 2.54),
        ('width="100" height="50"', 0.5, None),
        ('width="100%" height="100%" viewBox="0 0 100 50"', 0.5, None),
    ],
)
def test_an_svg_drawing_has_its_shape_and_its_true_width(
    tmp_path: Path, attributes: str, ratio: float, width_mm: float | None
) -> None:
    # [P] inch 25.4 mm, point 1/72 inch (CSS 2.1, section 4.3.2).
    picture = load_picture(written(tmp_path / "a.svg", SVG.format(attributes, BOX)))
    assert picture.height_to_width == pytest.approx(ratio, rel=1e-3)
    assert picture.width_mm == (None if width_mm is None else pytest.approx(width_mm))
    assert max(picture.image.width(), picture.image.height()) == svg_picture.LONGEST_SIDE_PX
    assert rounded(picture.image.pixelColor(5, 5)) == "G"
    assert rounded(picture.image.pixelColor(picture.image.width() - 5, 5)) == "RGB"


@pytest.mark.parametrize(
    ("attributes", "box"),
    [
        ('width="80mm" height="20mm" viewBox="0 0 8 2"', (0.0, 0.0, 8.0, 2.0)),
        ('width="10.4" height="3.3"', (0.0, 0.0, 10.4, 3.3)),
        ("width='3.4in'   height='17.7in' viewBox='-5,-6 34 177'", (-5.0, -6.0, 34.0, 177.0)),
        ('viewBox="0 0 0.7 0.3"', (0.0, 0.0, 0.7, 0.3)),
        ('width="30" height="60" viewBox="0 0 9 9" preserveAspectRatio="none"', (0.0, 0.0, 9.0, 9.0)),
    ],
)
def test_an_svg_drawing_fills_its_picture_to_the_edge(
    tmp_path: Path, attributes: str, box: tuple[float, float, float, float]
) -> None:
    # A red sheet with a green band along its right edge and a blue one along its lower, each a tenth of it.
    x, y, wide, high = box
    sheet = f'<rect x="{x}" y="{y}" width="{wide}" height="{high}" fill="#ff0000"/>'
    right = f'<rect x="{x + 0.9 * wide}" y="{y}" width="{0.1 * wide}" height="{high}" fill="#00ff00"/>'
    lower = f'<rect x="{x}" y="{y + 0.9 * high}" width="{0.8 * wide}" height="{0.1 * high}" fill="#0000ff"/>'
    drawing = SVG.format(attributes + ' id="a &gt; b > c"', sheet + right + lower)
    image = load_picture(written(tmp_path / "a.svg", drawing)).image

    def colour(across: float, down: float) -> str:
        last_x, last_y = image.width() - 1, image.height() - 1
        return rounded(image.pixelColor(round(across * last_x), round(down * last_y)))

    assert [colour(share, 0.5) for share in (0.01, 0.89, 0.91, 0.99)] == ["R", "R", "G", "G"]
    assert [colour(0.4, share) for share in (0.01, 0.89, 0.91, 0.99)] == ["R", "R", "B", "B"]


@pytest.mark.parametrize(
    "attributes",
    ["", 'width="0" height="5"', 'width="-3" height="5"', 'viewBox="0 0 5"', 'viewBox="0 0 a b"',
     'width="1e300in" height="1e-300mm"', 'width="1" height="101"', 'viewBox="0 0 1e999 1"',
     'viewBox="0 0 nan 1"'],
)  # fmt: skip
def test_an_svg_drawing_of_no_size_is_refused(tmp_path: Path, attributes: str) -> None:
    assert "that says its size" in refusal(written(tmp_path / "a.svg", SVG.format(attributes, BOX)))


def test_an_svg_drawing_brings_in_no_other_file(tmp_path: Path) -> None:
    secret = saved(Image.new("RGB", (4, 4), "red"), tmp_path / "secret.png")
    entity = f'<!DOCTYPE svg [<!ENTITY it \'<image href="{secret}" width="9" height="9"/>\'>]>'
    for drawing in (
        SVG.format("", f'<image href="{secret}" width="9" height="9"/>'),
        SVG.format("", f'<g><x:image xmlns:x="http://www.w3.org/2000/svg" xlink:href="{secret}"/></g>'),
        SVG.format("", f'<filter id="f"><feImage href="{secret}"/></filter>'),
        SVG.format("", '<image href="data:image/png;base64,AAAA" width="9" height="9"/>'),
        entity + SVG.format("", "&it;"),
    ):
        assert "holds another picture" in refusal(written(tmp_path / "a.svg", drawing))
    outside = f'<!DOCTYPE svg [<!ENTITY it SYSTEM "{secret}">]>' + SVG.format('viewBox="0 0 9 9"', "&it;")
    assert "cannot be drawn" in refusal(written(tmp_path / "a.svg", outside))


def test_an_svg_drawing_that_unfolds_without_end_is_refused(tmp_path: Path) -> None:
    entities = '<!ENTITY e0 "lots">' + "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 10))
    box = 'viewBox="0 0 9 9"'
    refusal(
        written(tmp_path / "a.svg", f"<!DOCTYPE svg [{entities}]>" + SVG.format(box, "<text>&e9;</text>"))
    )
    uses = "".join(f'<g id="u{i}">{f"""<use href="#u{i - 1}"/>""" * 10}</g>' for i in range(1, 9))
    assert "cannot be drawn" in refusal(
        written(tmp_path / "a.svg", SVG.format(box, f'<g id="u0">{BOX}</g>{uses}<use href="#u8"/>'))
    )
    deep = SVG.format("", "<g>" * 100_000 + "</g>" * 100_000)
    assert "too involved" in refusal(written(tmp_path / "a.svg", deep))


def test_an_svg_drawing_that_takes_too_long_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(svg_picture, "MOST_SECONDS", 0.02)
    blur = (
        '<filter id="b" x="-9" y="-9" width="99" height="99"><feGaussianBlur stdDeviation="5000"/></filter>'
    )
    slow = SVG.format('viewBox="0 0 100 100"', f'{blur}<rect filter="url(#b)" width="50" height="50"/>')
    began = time.perf_counter()
    assert "takes too long" in refusal(written(tmp_path / "a.svg", slow))
    assert time.perf_counter() - began < 5.0


def test_nothing_is_imported_from_where_the_program_happens_to_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path / "resvg_py.py", "open('ran', 'w')")
    written(tmp_path / "json.py", "open('ran', 'w')")
    monkeypatch.chdir(tmp_path)
    load_picture(written(tmp_path / "a.svg", SVG.format('viewBox="0 0 9 9"', BOX)))
    assert not (tmp_path / "ran").exists()


# ---- where it is kept ----------------------------------------------------------------------------------


def test_a_link_that_leads_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    folder = tmp_path / "designs"
    folder.mkdir()
    outside = saved(corners(), tmp_path / "outside.png")
    inner = saved(corners(), folder / "inner.png")
    try:
        (folder / "link.png").symlink_to(outside)
        (folder / "up").symlink_to(tmp_path, target_is_directory=True)
        (folder / "here.png").symlink_to(inner)
    except OSError:
        pytest.skip("no links on this system")
    assert inside(folder, "inner.png") == inner.resolve()
    assert inside(folder, "here.png") == inner.resolve()
    for file in ("link.png", "up/outside.png", "../outside.png", str(outside)):
        with pytest.raises(InputError, match="outside the design's folder"):
            inside(folder, file)
    assert name_inside(folder, folder / "link.png") is None
    assert name_inside(folder, inner) == "inner.png"
    with pytest.raises(InputError, match="outside the design's folder"):
        copied_to(folder, "up/new.png", b"x")
    assert not (tmp_path / "new.png").exists()


def test_a_link_that_leads_back_to_itself_leads_nowhere(tmp_path: Path) -> None:
    """`Path.resolve` raises for it up to Python 3.12 and no longer does in 3.13; the sentence is the same."""
    try:
        for link, to in (("loop.png", "loop.png"), ("one.png", "other.png"), ("other.png", "one.png")):
            (tmp_path / link).symlink_to(tmp_path / to)
        (tmp_path / "round").symlink_to(tmp_path / "round", target_is_directory=True)
    except OSError:
        pytest.skip("no links on this system")
    for file in ("loop.png", "one.png", "other.png", "round/tern.png"):
        with pytest.raises(InputError, match=f"{file}: this picture's path leads nowhere"):
            inside(tmp_path, file)
    assert inside(tmp_path, "new.png") == (tmp_path / "new.png").resolve()


def test_a_copy_never_replaces_another_file(tmp_path: Path) -> None:
    assert copied_to(tmp_path, "a.png", b"one") == "a.png"
    assert copied_to(tmp_path, "a.png", b"one") == "a.png"
    assert copied_to(tmp_path, "a.png", b"two") == "a-2.png"
    assert copied_to(tmp_path, "a.png", b"two") == "a-2.png"
    assert copied_to(tmp_path, "sketches/a.png", b"two") == "sketches/a.png"
    assert {file.name: file.read_bytes() for file in tmp_path.glob("*.png")} == {
        "a.png": b"one",
        "a-2.png": b"two",
    }
