"""The palettes are legible and stay apart for every common kind of colour vision; forced choices hold."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from msgspec.structs import fields
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QApplication, QLineEdit, QSpinBox, QWidget

from formsketch.ui import theme
from formsketch.ui.theme import DARK, LIGHT, Palette, current_palette, palette_for, rgb, use_appearance

BOTH = pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])

# Full protanopia, deuteranopia and tritanopia on linear RGB: Machado, Oliveira & Fernandes, IEEE Trans.
# Visualization and Computer Graphics 15 (2009) 1291-1298, table 1 [M hi]; each row adds up to 1, so that
# white stays white, which is checked below.
COLOUR_VISION = {
    "common": np.eye(3),
    "protan": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deutan": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritan": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


@pytest.fixture(autouse=True)
def as_found(qapp: QApplication) -> Iterator[None]:
    yield
    use_appearance(qapp, "system")


def linear(colour: str) -> NDArray[np.float64]:
    """Linear sRGB, IEC 61966-2-1 [P]."""
    channel = np.array(rgb(colour)) / 255
    return np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)


def contrast(first: str, second: str) -> float:
    """Contrast ratio of WCAG 2.1, 1.4.3 [P]."""
    light, dark = sorted((linear(c) @ [0.2126, 0.7152, 0.0722] for c in (first, second)), reverse=True)
    return float((light + 0.05) / (dark + 0.05))


def lab(colour: NDArray[np.float64]) -> NDArray[np.float64]:
    """CIELAB of linear sRGB under D65 [P]."""
    to_xyz = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    xyz = np.array(to_xyz) @ np.clip(colour, 0, 1) / [0.9505, 1.0, 1.089]
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_contrast_is_that_of_the_standard() -> None:
    # WCAG 2.1: black on white 21 [P]; #767676 is the lightest grey that passes 4.5 on white [C].
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


@BOTH
def test_ink_is_legible(palette: Palette) -> None:
    # WCAG 2.1: 7 is level AAA for text, 4.5 level AA [P].
    for ground in (palette.paper, palette.panel, palette.accent_wash, palette.caution_wash):
        assert contrast(palette.ink, ground) >= 7
    for colour in (palette.ink_soft, palette.accent, palette.caution):
        assert contrast(colour, palette.paper) >= 4.5
        assert contrast(colour, palette.panel) >= 4.5
    assert contrast(palette.caution, palette.caution_wash) >= 4.5
    assert contrast(palette.paper, palette.accent) >= 4.5  # selected text


@BOTH
def test_what_can_be_clicked_has_an_outline_that_is_seen(palette: Palette) -> None:
    # WCAG 2.1, 1.4.11: 3 for the parts of a control [P].
    for colour in (palette.outline, palette.accent):
        assert contrast(colour, palette.paper) >= 3
        assert contrast(colour, palette.panel) >= 3
    assert contrast(palette.accent, palette.handle_fill) >= 3


@BOTH
def test_the_grid_stays_behind_what_is_drawn(palette: Palette) -> None:
    minor, major = (contrast(c, palette.paper) for c in (palette.grid_minor, palette.grid_major))
    assert 1.02 < minor < major < 1.5 < contrast(palette.outline, palette.paper)


@pytest.mark.parametrize("vision", COLOUR_VISION)
@BOTH
def test_accent_and_caution_stay_apart(palette: Palette, vision: str) -> None:
    sees = COLOUR_VISION[vision]
    assert sees.sum(axis=1) == pytest.approx([1, 1, 1], abs=2e-6)
    accent, caution = (lab(sees @ linear(c)) for c in (palette.accent, palette.caution))
    # About 2.3 in CIELAB is just noticeable [M hi]; ten times that is plain at a glance.
    assert np.linalg.norm(accent - caution) > 23


@BOTH
def test_every_colour_is_written_in_full(palette: Palette) -> None:
    for field in fields(palette):
        colour = getattr(palette, field.name)
        assert "#" + "".join(f"{channel:02x}" for channel in rgb(colour)) == colour


def test_the_palette_of_a_scheme() -> None:
    assert palette_for(Qt.ColorScheme.Dark) is DARK
    assert palette_for(Qt.ColorScheme.Light) is LIGHT
    assert palette_for(Qt.ColorScheme.Unknown) is LIGHT
    assert palette_for("dark") is DARK
    assert palette_for("light") is LIGHT
    with pytest.raises(KeyError):
        palette_for("sepia")


def test_a_forced_appearance_dresses_the_whole_application(
    qapp: QApplication, show: Callable[[QWidget], QWidget]
) -> None:
    class Paper(QWidget):
        """Painted by hand, as the canvas is."""

        painted: Palette | None = None

        def paintEvent(self, event: QPaintEvent) -> None:
            self.painted = current_palette()
            QPainter(self).fillRect(self.rect(), self.painted.paper)

    paper = Paper()
    show(paper)
    for appearance, palette in ("dark", DARK), ("light", LIGHT), ("dark", DARK):
        use_appearance(qapp, appearance)
        qapp.processEvents()
        assert current_palette() is palette
        assert paper.painted is palette
        assert qapp.palette().color(QPalette.ColorRole.Base).name() == palette.paper
        assert qapp.palette().color(QPalette.ColorRole.WindowText).name() == palette.ink
        assert palette.accent in qapp.styleSheet()
        assert "$" not in qapp.styleSheet()


def test_the_desktop_is_followed_until_an_appearance_is_forced(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Offscreen no desktop changes its mind: say what it would report, and let the signal come.
    desktop = Qt.ColorScheme.Dark

    class Hints:
        def colorScheme(self) -> Qt.ColorScheme:
            return desktop

        def setColorScheme(self, scheme: Qt.ColorScheme) -> None:
            pass

    changed = qapp.styleHints().colorSchemeChanged.emit
    monkeypatch.setattr(theme.QApplication, "styleHints", lambda *_: Hints())
    use_appearance(qapp, "system")
    assert current_palette() is DARK
    desktop = Qt.ColorScheme.Light
    changed(desktop)
    assert current_palette() is LIGHT
    use_appearance(qapp, "light")
    desktop = Qt.ColorScheme.Dark
    changed(desktop)
    assert current_palette() is LIGHT
    use_appearance(qapp, "system")
    assert current_palette() is DARK


@BOTH
def test_focus_is_seen(palette: Palette, qapp: QApplication, show: Callable[[QWidget], QWidget]) -> None:
    use_appearance(qapp, "dark" if palette is DARK else "light")
    for field in (QLineEdit("1.29 mm"), QSpinBox()):
        holder = QWidget()
        holder.resize(160, 60)
        field.setParent(holder)
        field.setGeometry(20, 15, 120, 28)
        show(holder)
        field.clearFocus()
        qapp.processEvents()
        without = holder.grab().toImage()
        field.setFocus()
        holder.activateWindow()
        qapp.processEvents()
        assert field.hasFocus()
        edge = [(80, y) for y in range(13, 20)]
        now = holder.grab().toImage()
        assert any(without.pixelColor(*at) != now.pixelColor(*at) for at in edge)
