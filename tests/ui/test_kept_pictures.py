"""What is painted once and kept is never stale: a window that has been through much looks as a fresh one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QRectF, QSettings, QSize
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from formsketch.design.edits import change_ends, change_spread, change_wire, mirrored, scaled
from formsketch.design.model import BeadEnd, Wire
from formsketch.design.starters import make_starter
from formsketch.ui.kept_picture import KeptPicture
from formsketch.ui.lit_wire import ViewTransform, lit_wire_image
from formsketch.ui.picture import paint_lit
from formsketch.ui.session import Session
from formsketch.ui.theme import LIGHT, current_palette, rgb
from formsketch.ui.view import View
from formsketch.ui.window import Window
from tests.support.pixels import pixels

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)


def turn_flare(window: Window) -> None:
    window.selection.select(4)
    window.edits.flare_on_edge()


CHANGES: dict[str, Callable[[Window], object]] = {
    "zoomed": lambda w: w.canvas.zoom(1.7),
    "another span": lambda w: w.selection.select(3),
    "no span": lambda w: w.selection.select(None),
    "dark": lambda w: w.use_appearance("dark"),
    "in inches": lambda w: w.canvas.show_inches(True),
    "on edge": turn_flare,
    "no flare": lambda w: w.edits.remove_flare(),
    "longer": lambda w: w.session.change("Scale", scaled(w.session.design, 1.2), 0),
    "thicker": lambda w: w.session.change("Wire", change_wire(w.session.design, diameter_mm=1.6), 0),
    "silver": lambda w: w.session.change("Metal", change_wire(w.session.design, metal="sterling-925"), 0),
    "spread": lambda w: w.session.change("Hammer", change_spread(w.session.design, 0.5), 0),
    "mirrored": lambda w: w.session.change("Mirror", mirrored(w.session.design), 0),
    "bead": lambda w: w.session.change(
        "Ends", change_ends(w.session.design, finish=BeadEnd(diameter_mm=3.2)), 0
    ),
    "taken back": lambda w: w.session.undo(),
    "light": lambda w: w.use_appearance("light"),
    "smaller": lambda w: w.resize(1000, 700),
    "in millimetres": lambda w: w.canvas.show_inches(False),
}


def test_after_every_change_it_looks_as_a_fresh_window_does(open_window: Callable[..., Window]) -> None:
    used = open_window(make_starter("row-of-s-forms", BRASS))
    used.selection.select(4)
    seen = {pixels(used.grab().toImage()).tobytes()}
    for name, change in CHANGES.items():
        change(used)
        QApplication.processEvents()
        fresh = Window(Session(used.session.design), QSettings())
        fresh.session._pose = used.session.pose
        fresh.resize(used.size())
        fresh.show()
        fresh.canvas.show_inches(used.canvas.in_inches)
        fresh.selection.select(used.selection.span)
        fresh.canvas.show_view(used.canvas.view)
        QApplication.processEvents()
        for window in (used, fresh):
            window.canvas.clearFocus()  # only one of two windows can have the keys
        for part in ("canvas", "strip"):
            now, wanted = (pixels(getattr(window, part).grab().toImage()) for window in (used, fresh))
            assert now.shape == wanted.shape
            assert (now == wanted).all(), (name, part)
        seen.add(pixels(used.grab().toImage()).tobytes())
        fresh.files.may_leave_design = lambda: True  # type: ignore[method-assign]
        fresh.close()
        fresh.deleteLater()
    # Each change was one to be seen.
    assert len(seen) == 1 + len(CHANGES)


def test_a_picture_is_painted_anew_only_for_another_key(qapp: QApplication) -> None:
    kept, painted = KeptPicture(), []
    sheet = QImage(80, 60, QImage.Format.Format_RGB32)
    sheet.setDevicePixelRatio(1.25)
    painter = QPainter(sheet)

    def paint(key: object, size: QSize, name: str) -> None:
        ground = QColor(10, 200, 30)
        picture = kept.painted(key, size, ground, painter, lambda inside: painted.append(name))  # type: ignore[arg-type]
        # ceil(1.25 x 40), ceil(1.25 x 41), ceil(1.25 x 30), and all of it ground.
        assert (picture.width(), picture.height()) == ({40: 50, 41: 52}[size.width()], 38)
        assert (pixels(picture.toImage())[..., :3] == (30, 200, 10)).all()

    # At 125 % of 40 x 30 and 41 x 30: whole device pixels, and not.
    paint("a", QSize(40, 30), "first")
    paint("a", QSize(40, 30), "same")
    paint("b", QSize(40, 30), "other key")
    paint("b", QSize(41, 30), "other size")
    font = painter.font()
    font.setPointSizeF(31.0)
    painter.setFont(font)
    paint("b", QSize(41, 30), "other letters")
    paint("b", QSize(41, 30), "same again")
    painter.end()
    assert painted == ["first", "other key", "other size", "other letters"]


@pytest.mark.parametrize("place", [(60.0, 150.0), (-150.5, 60.25), (700.0, 90.0)], ids=["in", "left", "out"])
def test_a_wire_lit_where_it_is_looks_as_one_lit_all_over(
    open_window: Callable[..., Window], place: tuple[float, float]
) -> None:
    wire = open_window(make_starter("s-ring", BRASS)).canvas.wire
    view, size = View(4.5, *place), (400, 300)
    colours = current_palette()
    assert colours == LIGHT
    images = [QImage(*size, QImage.Format.Format_RGB32) for _ in range(2)]
    for image in images:
        image.fill(0xFFFFFFFF)
    painter = QPainter(images[0])
    paint_lit(painter, wire, view, QRectF(0, 0, *size), colours, 1.0)
    painter.end()
    painter = QPainter(images[1])
    whole = lit_wire_image(
        wire.samples,
        ViewTransform(view.px_per_mm, view.origin_x_px, view.origin_y_px),
        size,
        wire.evaluation.metal.colour,
        paper_rgb=rgb(colours.paper),
        rim_rgb=rgb(colours.rim),
    )
    painter.drawImage(0, 0, whole)
    painter.end()
    now, wanted = (pixels(image).astype(int) for image in images)
    # Places are single precision: here and there a shade differs by one.
    assert np.abs(now - wanted).max() <= 1
    assert (wanted[..., :3].min() < 255) == (place[0] < 500)
