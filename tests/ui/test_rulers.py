"""Rulers, grid and scale note in millimetres and in inches: 1 in is 25.4 mm (agreement of 1959) [P]."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from PySide6.QtCore import QRect, QSettings
from PySide6.QtGui import QColor, QImage, QPainter

from formsketch.ui.rulers import (
    INCHES,
    MILLIMETRES,
    RULER_PX,
    Scale,
    grid_steps_mm,
    paint_grid,
    paint_rulers,
    place_text,
    places_mm,
    scale_note,
    tick_px,
)
from formsketch.ui.theme import DARK, LIGHT, Palette
from formsketch.ui.view import LEAST_PX_PER_MM, MOST_PX_PER_MM, View
from formsketch.ui.window import Window
from tests.support.asked import trigger

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

INCH_MM = 25.4
SCALES_PX_PER_MM = np.geomspace(LEAST_PX_PER_MM, MOST_PX_PER_MM, 60)


@pytest.mark.parametrize(
    "inches", [0, 1 / 64, 3 / 32, 1 / 16, 1 / 8, 5 / 8, 1 / 4, 3 / 4, 1 / 2, 1, 1.25, 12]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_inches_are_written_as_the_rule_has_them(inches: float, sign: int) -> None:
    text = place_text(sign * inches * INCH_MM, INCHES)
    assert text.startswith("−") == (sign < 0 < inches)
    parts = text.lstrip("−").split(" ")
    assert sum(Fraction(part) for part in parts) == Fraction(inches)
    # Halves of halves: no denominator but a power of two, and in lowest terms.
    for part in parts[-1:]:
        denominator = Fraction(part).denominator
        assert denominator in (1, 2, 4, 8, 16, 32, 64)
        assert "/" not in part or int(part.split("/")[1]) == denominator


@pytest.mark.parametrize(
    ("place", "text"), [(0.0, "0"), (5.0, "5"), (12.5, "12.5"), (-10.0, "−10"), (0.1, "0.1"), (1e-12, "0")]
)
def test_millimetres_are_written_plainly(place: float, text: str) -> None:
    assert place_text(place, MILLIMETRES) == text


@pytest.mark.parametrize("scale", [MILLIMETRES, INCHES], ids=lambda scale: scale.name)
def test_each_step_divides_the_next(scale: Scale) -> None:
    for fine, coarse in zip(scale.steps_mm[:-1], scale.steps_mm[1:], strict=True):
        assert coarse / fine == pytest.approx(round(coarse / fine), rel=1e-12)
        assert coarse > fine


@pytest.mark.parametrize("scale", [MILLIMETRES, INCHES], ids=lambda scale: scale.name)
def test_ticks_and_labels_have_room_at_every_zoom(scale: Scale) -> None:
    for px_per_mm in SCALES_PX_PER_MM:
        minor, major = grid_steps_mm(px_per_mm, scale)
        assert minor * px_per_mm >= 20
        assert major * px_per_mm >= 80
        assert minor <= major
        tick, label = scale.step_mm(px_per_mm, 5.0), scale.step_mm(px_per_mm, 46.0)
        assert label * px_per_mm >= 46
        # Every label stands at a tick, and the longest ticks are those with labels.
        for place in places_mm(0, 4 * label, tick):
            labelled = abs(place / label - round(place / label)) < 1e-6
            assert (tick_px(place, scale, tick, label) == 9.0) == labelled
            assert 3.0 <= tick_px(place, scale, tick, label) <= 9.0


def test_ticks_of_an_inch_shorten_with_each_halving() -> None:
    # As on a maker's rule: 1, then 1/2, 1/4, 1/8, 1/16.
    sizes = [tick_px(INCH_MM / parts, INCHES, INCH_MM / 16, INCH_MM) for parts in (1, 2, 4, 8, 16)]
    assert sizes == sorted(sizes, reverse=True)
    assert len(set(sizes)) == 5
    assert tick_px(3 * INCH_MM / 8, INCHES, INCH_MM / 16, INCH_MM) == sizes[3]


@pytest.mark.parametrize(
    ("px_per_inch", "finest"), [(90, 16), (45, 8), (25, 4), (12, 2), (6, 1)], ids=lambda value: str(value)
)
def test_an_inch_is_divided_as_finely_as_the_scale_allows(px_per_inch: float, finest: int) -> None:
    # Ticks stand at least 5 px apart.
    assert INCHES.step_mm(px_per_inch / INCH_MM, 5.0) == pytest.approx(INCH_MM / finest)


@pytest.mark.parametrize(
    ("scale", "matched", "said"),
    [
        (MILLIMETRES, True, "True size on this screen; squares of 5 mm"),
        (INCHES, True, "True size on this screen; squares of 1/4 in"),
        (INCHES, False, "True size, approximate until the screen is matched; squares of 1/4 in"),
    ],
)
def test_the_note_says_the_scale_and_the_squares(scale: Scale, matched: bool, said: str) -> None:
    # At 4 px to the mm 5 mm are 20 px, 1 mm would be 4; 1/4 in is 25.4 px, 1/8 in 12.7.
    assert scale_note(4.0, 4.0, matched, scale) == said
    assert scale_note(8.0, 4.0, True, scale).startswith("200 % of true size on this screen")


def painted(scale: Scale, colours: Palette, px_per_mm: float, rulers: bool) -> QImage:
    """Paper with grid, and maybe rulers, the origin at 60, 240 px."""
    image = QImage(500, 300, QImage.Format.Format_RGB32)
    image.fill(QColor(colours.paper))
    painter = QPainter(image)
    view = View(px_per_mm, 60.0, 240.0)
    paint_grid(painter, view, QRect(0, 0, 500, 300), colours, scale)
    if rulers:
        paint_rulers(painter, view, QRect(0, 0, 500, 300), colours, scale)
    painter.end()
    return image


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("scale", "unit_mm"), [(MILLIMETRES, 10.0), (INCHES, INCH_MM)], ids=["mm", "in"])
def test_grid_and_ticks_stand_at_whole_units(scale: Scale, unit_mm: float, colours: Palette) -> None:
    # 8 px to the mm: an inch is 203.2 px, a centimetre 80; the stronger lines stand at both.
    px = 8.0
    grid, rule = painted(scale, colours, px, False), painted(scale, colours, px, True)
    strong, soft = QColor(colours.grid_major).rgb(), QColor(colours.ink_soft).rgb()
    for number in (1, 2):
        x = 60.0 + number * unit_mm * px
        near = [int(x) + off for off in (-1, 0, 1)]
        assert any(grid.pixel(column, 150) == strong for column in near)
        assert any(rule.pixel(column, RULER_PX - 2) == soft for column in near)
        # The tick reaches down from 9 px above the table; between two ticks there is none.
        assert any(rule.pixel(column, RULER_PX - 8) == soft for column in near)
    assert grid.pixel(63, 237) == QColor(colours.paper).rgb()


def test_the_corner_names_the_unit() -> None:
    # Different letters there, the same everywhere along the edge of the ruler's corner.
    mm, inches = (painted(scale, LIGHT, 8.0, True) for scale in (MILLIMETRES, INCHES))
    corner = [(x, y) for x in range(2, 20) for y in range(4, 18)]
    assert any(mm.pixel(*at) != inches.pixel(*at) for at in corner)


def test_the_choice_is_seen_and_kept(open_window: Callable[..., Window]) -> None:
    window = open_window()
    action = window.actions_by_name["rulers_in_inches"]
    assert not action.isChecked() and not window.canvas.in_inches
    before = window.canvas.grab().toImage()
    trigger(window, "rulers_in_inches")
    assert action.isChecked() and window.canvas.in_inches
    assert window.canvas.grab().toImage() != before
    assert QSettings().value("rulers_in_inches", type=bool) is True
    window.close()
    again = open_window()
    assert again.canvas.in_inches and again.actions_by_name["rulers_in_inches"].isChecked()
    trigger(again, "rulers_in_inches")
    assert not again.canvas.in_inches
    assert QSettings().value("rulers_in_inches", type=bool) is False
