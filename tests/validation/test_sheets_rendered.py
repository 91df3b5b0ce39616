"""Sheets as pictures: the same from independent renderers, and the check bar 100 mm long in a browser.

Renderers: resvg draws the SVG, PDFium the PDF, Chromium (where there is one) the SVG. A CSS pixel is 1/96
inch (CSS Values and Units 3, 5.2) [P]; PDF unit 1/72 inch (ISO 32000-1, 8.3.2.3) [P]. Pictures are alike when
hardly a dot that is dark in one has none dark within one dot of it in the other; some renderers set lettering
with kerning, so it is given more room.
"""

import io
import itertools
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from formsketch.design.transforms import scaled_form
from formsketch.evaluation.evaluate import evaluate
from formsketch.template.drawing import Group, Item, Sheet, Text
from formsketch.template.pdf import pdf_bytes
from formsketch.template.png import png_bytes
from formsketch.template.printed import Choice, printed_sheets
from formsketch.template.svg import svg_text
from tests.support.read_back import POINT_MM, demo

DOTS_PER_MM = 5.0
LINES_APART, LETTERED_APART = 0.002, 0.04
CSS_PIXEL_MM = 25.4 / 96
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
browser = next(filter(None, map(shutil.which, BROWSERS)), None)

Dark = NDArray[np.bool_]


def by_resvg(sheet: Sheet, dots_per_mm: float = DOTS_PER_MM) -> Dark:
    picture = Image.open(io.BytesIO(png_bytes(sheet, dots_per_mm)))
    return np.asarray(picture.convert("L")) < 128


def by_pdfium(sheet: Sheet, dots_per_mm: float = DOTS_PER_MM) -> Dark:
    document = pdfium.PdfDocument(pdf_bytes([sheet]))
    picture = document[0].render(scale=dots_per_mm * POINT_MM, grayscale=True).to_numpy()
    document.close()
    return np.asarray(picture.squeeze() < 128)


def by_browser(sheet: Sheet, folder: Path, scale: float) -> tuple[Dark, float]:
    """The file opened in the browser, `scale` device pixels to a CSS pixel; and its pixels to a mm."""
    assert browser is not None
    file, shot = folder / "sheet.svg", folder / "sheet.png"
    file.write_text(svg_text(sheet), encoding="utf-8")
    width, height = (int(side / CSS_PIXEL_MM) + 2 for side in (sheet.width_mm, sheet.height_mm))
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    command += [f"--user-data-dir={folder / 'profile'}", f"--window-size={width},{height}"]
    command += [f"--force-device-scale-factor={scale:g}", f"--screenshot={shot}", file.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return np.asarray(Image.open(shot).convert("L")) < 128, scale / CSS_PIXEL_MM


def apart(one: Dark, other: Dark) -> float:
    """The larger share of dark dots with none within a dot of them in the other picture."""
    high, wide = (min(a, b) for a, b in zip(one.shape, other.shape, strict=True))
    one, other = one[:high, :wide], other[:high, :wide]
    near = np.ones((3, 3), dtype=bool)
    return max(
        np.count_nonzero(a & ~ndimage.binary_dilation(b, near)) / max(1, np.count_nonzero(a))
        for a, b in itertools.permutations((one, other))
    )


def lines_of(sheet: Sheet) -> Sheet:
    """The sheet without its lettering."""

    def kept(items: list[Item | Group]) -> list[Item | Group]:
        return [
            Group(one.name, kept(list(one.items)), one.clip) if isinstance(one, Group) else one
            for one in items
            if not isinstance(one, Text)
        ]

    groups = [one for one in kept(list(sheet.groups)) if isinstance(one, Group)]
    return Sheet(sheet.width_mm, sheet.height_mm, sheet.title, groups)


def big_tile() -> Sheet:
    big = evaluate(scaled_form(demo("spring-tide-link").design, 6.0))
    sheets = printed_sheets(big, Choice(("finished",)))
    return next(sheet for sheet in sheets if any(group.name == "tile" for group in sheet.groups))


@pytest.mark.parametrize("name", ["mudflat-spiral-pendant", "saltmarsh-cuff"])
def test_two_renderers_draw_the_same_sheet(name: str) -> None:
    sheet = printed_sheets(demo(name), Choice(("bent", "finished", "gauges", "rule")))[-1]
    picture = by_resvg(sheet)
    assert apart(picture, by_pdfium(sheet)) < LETTERED_APART
    lines = by_resvg(lines_of(sheet))
    assert apart(lines, by_pdfium(lines_of(sheet))) < LINES_APART
    # The measure tells: three dots, 0.6 mm, to the side and hardly a line is where it was.
    assert apart(lines, np.roll(lines, 3, axis=1)) > 0.2


def test_two_renderers_cut_a_tile_at_its_window() -> None:
    sheet = lines_of(big_tile())
    picture = by_pdfium(sheet)
    assert apart(by_resvg(sheet), picture) < LINES_APART
    (clip,) = (group.clip for group in sheet.groups if group.name == "tile")
    assert clip is not None
    rows = slice(int((clip[1] + 12) * DOTS_PER_MM), int((clip[3] - 12) * DOTS_PER_MM))
    beyond = int((clip[2] + 0.6) * DOTS_PER_MM)
    assert picture[rows, : int(clip[2] * DOTS_PER_MM)].any() and not picture[rows, beyond:].any()


def bar_length_mm(dark: Dark, dots_per_mm: float) -> float:
    """From tick to tick of the bar across; the bar itself is half a mm longer for its round ends."""
    rows = np.flatnonzero(dark.sum(axis=1) > 95 * dots_per_mm).tolist()
    runs = {row: longest_run(dark[row]) for row in rows}
    metric = [row for row, (begin, end) in runs.items() if abs((end - begin) / dots_per_mm - 100.5) < 0.4]
    row = metric[len(metric) // 2]
    begin, end = runs[row]
    ticks = np.flatnonzero(dark[row - round(1.0 * dots_per_mm), begin - 4 : end + 4]) + begin - 4
    left, right = np.split(ticks, [int(np.argmax(np.diff(ticks))) + 1])
    return float((right.mean() - left.mean()) / dots_per_mm)


def longest_run(row: Dark) -> tuple[int, int]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(int), [0]))))
    at = int(np.argmax(edges[1::2] - edges[::2]))
    return int(edges[2 * at]), int(edges[2 * at + 1])


def test_the_bar_measures_100_mm_on_two_pictures() -> None:
    sheet = printed_sheets(demo("tern-pendant"), Choice(("finished",)))[0]
    for picture in (by_resvg(sheet, 10.0), by_pdfium(sheet, 10.0)):
        assert bar_length_mm(picture, 10.0) == pytest.approx(100.0, abs=0.1)


@pytest.mark.skipif(browser is None, reason=f"no browser on the path, looked for {', '.join(BROWSERS)}")
def test_a_browser_opens_the_sheet_at_its_size(tmp_path: Path) -> None:
    sheet = printed_sheets(demo("saltmarsh-cuff"), Choice(("bent", "finished")))[-1]
    picture, dots_per_mm = by_browser(sheet, tmp_path, 2.0)
    high, wide = picture.shape
    assert wide >= sheet.width_mm * dots_per_mm and high >= sheet.height_mm * dots_per_mm
    assert bar_length_mm(picture, dots_per_mm) == pytest.approx(100.0, abs=0.1)
    lines, _ = by_browser(lines_of(sheet), tmp_path, 2.0)
    assert apart(lines, by_resvg(lines_of(sheet), dots_per_mm)) < LINES_APART
