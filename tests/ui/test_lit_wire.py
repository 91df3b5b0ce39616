"""The lit wire against Qt's own painter (an independent rasteriser), closed forms and plain optics."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPolygonF

from formsketch.errors import DrawingError
from formsketch.ui import lit_wire
from formsketch.ui.lit_wire import ViewTransform, WireSamples, lit_wire_image

BRASS, PAPER, RIM = (203, 170, 92), (247, 246, 242), (58, 50, 40)
# Qt measures the exact area of a pixel inside the edge, the lit wire the distance of its centre from the
# edge. At 45 degrees these differ by up to (sqrt(1/2) - 1/2)^2 = 0.043 [D]; the rest is 8-bit rounding and,
# on rings, the curve within one pixel.
MOST_COVER_DIFFERENCE = 0.09

# Where stations fall elsewhere along the same wire, a colour may differ by this much of 255.
SHADE = 4

Cover = NDArray[np.float64]


def image_of(
    samples: WireSamples, view: ViewTransform, size: tuple[int, int], **options: int
) -> NDArray[np.uint8]:
    """Rows of pixels of blue, green, red, alpha (premultiplied)."""
    image = lit_wire_image(samples, view, size, BRASS, paper_rgb=PAPER, rim_rgb=RIM, **options)
    assert image.format() == QImage.Format.Format_ARGB32_Premultiplied
    assert (image.width(), image.height()) == size
    return np.frombuffer(image.constBits(), np.uint8).reshape(size[1], size[0], 4).copy()


def cover_of(*arguments: object, **options: int) -> Cover:
    return image_of(*arguments, **options)[..., 3] / 255.0  # type: ignore[arg-type]


def painted(size: tuple[int, int], paint: Callable[[QPainter], None]) -> Cover:
    """Coverage by Qt's own anti-aliased painter."""
    image = QImage(*size, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(0)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("black"))
    paint(painter)
    painter.end()
    return np.frombuffer(image.constBits(), np.uint8).reshape(size[1], size[0], 4)[..., 3] / 255.0


def line(
    start: complex, end: complex, width: float = 8.0, height: float | None = None, count: int = 2
) -> WireSamples:
    z = start + (end - start) * np.linspace(0, 1, count)
    return samples_of(z, np.full(count, np.angle(end - start)), width, width if height is None else height)


def arc(
    centre: complex, radius: float, begin_deg: float, turn_deg: float, width: float, count: int = 60
) -> WireSamples:
    """A counter-clockwise arc from an angle of its radius."""
    angle = np.radians(begin_deg + turn_deg * np.linspace(0, 1, count))
    return samples_of(centre + radius * np.exp(1j * angle), angle + np.pi / 2, width, width)


def samples_of(
    z: NDArray[np.complex128], heading: NDArray[np.float64], width: float, height: float
) -> WireSamples:
    full = np.full(len(z), width), np.full(len(z), height)
    return WireSamples(z.real.copy(), z.imag.copy(), heading, *full, np.array([0, len(z)]))


def one_after_another(*wires: WireSamples) -> WireSamples:
    columns = (np.concatenate([getattr(w, name) for w in wires]) for name in wires[0].__struct_fields__[:5])
    first = np.cumsum([0, *(len(w.x_mm) for w in wires)])
    return WireSamples(*columns, first)


# One pixel to the millimetre, y up from the lower left corner of a 120 x 120 image.
SIZE = (120, 120)
PLAIN_VIEW = ViewTransform(1.0, 0.0, 120.0)


MIDDLE = 60.2 + 60.1j
PIXELS = (np.arange(120) + 0.5)[None, :] + 1j * (120 - (np.arange(120) + 0.5))[:, None]


def linear_cover(inside: Cover) -> Cover:
    """Coverage of pixels whose centres lie so far inside an edge, exact for an edge along the pixels."""
    return np.clip(inside + 0.5, 0, 1)


def on_image(z: complex) -> QPointF:
    return QPointF(z.real, 120.0 - z.imag)


# ---- where there is metal ------------------------------------------------------------------------------


@pytest.mark.parametrize("angle_deg", range(0, 180, 9))
@pytest.mark.parametrize("width", [1.5, 8.0, 31.0])
def test_a_straight_wire_covers_what_qt_covers(angle_deg: int, width: float) -> None:
    way = 120 * np.exp(1j * np.radians(angle_deg))
    middle = 60.3 + 59.8j
    wire = line(middle - way, middle + way, width)
    side = 0.5j * width * way / abs(way)
    corners = (middle - way + side, middle + way + side, middle + way - side, middle - way - side)
    expected = painted(SIZE, lambda p: p.drawPolygon(QPolygonF([on_image(c) for c in corners])))
    assert np.abs(cover_of(wire, PLAIN_VIEW, SIZE) - expected).max() < MOST_COVER_DIFFERENCE


@pytest.mark.parametrize(("radius", "width"), [(40.0, 8.0), (20.0, 12.0), (12.0, 20.0), (30.0, 2.4)])
def test_a_ring_is_covered_by_distance_from_its_edges_without_a_hole(radius: float, width: float) -> None:
    # Full round and a little more, so that no end shows.
    cover = cover_of(arc(MIDDLE, radius, 0, 361, width, count=120), PLAIN_VIEW, SIZE)
    from_middle = np.abs(PIXELS - MIDDLE)
    expected = linear_cover(width / 2 - np.abs(from_middle - radius))
    # The overlap at the ends lays one soft edge over another.
    cover[50:70, 60:], expected[50:70, 60:] = 0, 0
    assert np.abs(cover - expected).max() < MOST_COVER_DIFFERENCE


def test_sparse_samples_of_an_arc_still_follow_the_arc() -> None:
    # 9 intervals of 20 degrees: their chords leave the arc by 50 (1 - cos 10 deg) = 0.76 px [D].
    sparse = cover_of(arc(60, 50.0, 0, 180, 6.0, count=10), PLAIN_VIEW, SIZE)
    dense = cover_of(arc(60, 50.0, 0, 180, 6.0, count=400), PLAIN_VIEW, SIZE)
    assert np.abs(sparse - dense).max() < 0.1


@pytest.mark.parametrize("corner_deg", [3, 15, 30, 75, 110, 150, -60, -135])
@pytest.mark.parametrize("width", [3.0, 9.0, 30.0])
def test_a_sharp_bend_is_round_outside_and_has_no_notch_inside(corner_deg: int, width: float) -> None:
    way = np.exp(1j * np.radians(corner_deg))
    wire = one_after_another(line(MIDDLE - 200, MIDDLE, width), line(MIDDLE, MIDDLE + 200 * way, width))
    before, after = PIXELS - MIDDLE, (PIXELS - MIDDLE) / way
    distance = np.minimum(
        np.where(before.real < 0, np.abs(before.imag), np.abs(before)),
        np.where(after.real > 0, np.abs(after.imag), np.abs(after)),
    )
    difference = np.abs(cover_of(wire, PLAIN_VIEW, SIZE) - linear_cover(width / 2 - distance))
    # Where the two soft edges meet one of them is shown; a notch or a gap would leave most of a pixel bare.
    assert difference.max() < 0.2


def test_a_ball_covers_a_disc_and_lies_over_the_wire() -> None:
    wire = line(-10 + 60j, 130 + 60j, 6.0)
    cover = cover_of(wire.with_balls([(60.3, 30.2, 14.0)]), PLAIN_VIEW, SIZE)[70:]
    expected = linear_cover(14.0 - np.abs(PIXELS - (60.3 + 30.2j)))[70:]
    assert np.abs(cover - expected).max() < 0.15
    over = image_of(wire.with_balls([(60.0, 60.0, 14.0)]), PLAIN_VIEW, SIZE)
    alone = image_of(line(200, 201).with_balls([(60.0, 60.0, 14.0)]), PLAIN_VIEW, SIZE)
    inside = np.abs(PIXELS - (60 + 60j)) < 13
    bare = image_of(wire, PLAIN_VIEW, SIZE)
    off, off_bare = (np.abs(over[inside].astype(int) - other[inside]).mean() for other in (alone, bare))
    assert off < 1  # near its edge the light changes fast, and more than a shade between stations
    assert off_bare > 40


@pytest.mark.parametrize("angle_deg", [0, 17, 45, 90, 200])
def test_area_is_length_times_width_ends_included(angle_deg: int) -> None:
    wire = line(60 + 60j, 60 + 60j + 50 * np.exp(1j * np.radians(angle_deg)), 7.3)
    # A ramp one pixel wide, summed at a spacing of 1 px, is exact; at 45 degrees it is met every 0.707 px and
    # the sum errs by up to sin(pi f)/(2 pi^2 f^2), f = 1.414: 0.024 px of edge [D].
    assert cover_of(wire, PLAIN_VIEW, SIZE).sum() == pytest.approx(50 * 7.3, abs=0.03 * 2 * (50 + 7.3))


def test_nothing_is_painted_away_from_the_wire_or_off_the_image() -> None:
    image = image_of(line(20 + 60j, 100 + 60j, 8.0), PLAIN_VIEW, SIZE)
    assert not image[:54].any()
    assert not image[66:].any()
    assert not image_of(line(300 + 60j, 400 + 60j, 8.0), PLAIN_VIEW, SIZE).any()
    assert not image_of(line(-90 - 90j, -20 - 30j, 8.0), PLAIN_VIEW, SIZE).any()


def test_colour_is_premultiplied() -> None:
    wire = one_after_another(arc(60 + 60j, 30, 20, 300, 9), line(10 + 20j, 110 + 90j, 7.0)).with_balls(
        [(30, 30, 9)]
    )
    image = image_of(wire, PLAIN_VIEW, SIZE)
    assert image[..., 3].any()
    assert (image[..., :3].max(axis=-1) <= image[..., 3]).all()


def test_the_image_is_a_window_on_a_larger_one() -> None:
    wire = one_after_another(arc(60 + 60j, 40, 10, 300, 9), line(10 + 20j, 110 + 90j, 7.0))
    whole = cover_of(wire, PLAIN_VIEW, SIZE)
    part = cover_of(wire, ViewTransform(1.0, -30.0, 80.0), (60, 50))
    # The stations fall elsewhere, so a pixel may be seen from another of the neighbouring stations.
    assert np.abs(part - whole[40:90, 30:90]).max() < 0.03


# ---- what lies over ------------------------------------------------------------------------------------


@pytest.mark.parametrize("swapped", [False, True])
def test_later_wire_lies_over_and_shades_what_lies_under(swapped: bool) -> None:
    level, upright = line(-10 + 60j, 130 + 60j, 12.0), line(60 - 10j, 60 + 130j, 12.0)
    under, over = (upright, level) if swapped else (level, upright)
    crossed = image_of(one_after_another(under, over), PLAIN_VIEW, SIZE).astype(int)
    over_alone = image_of(over, PLAIN_VIEW, SIZE).astype(int)
    under_alone = image_of(under, PLAIN_VIEW, SIZE).astype(int)
    assert np.array_equal(crossed[56:64, 56:64], over_alone[56:64, 56:64])
    # Just beyond the upper piece's edge (6 px), on the side away from the light: right of it or below it.
    beside = (slice(67, 69), slice(56, 64)) if swapped else (slice(56, 64), slice(67, 69))
    assert (crossed[beside][..., 1] < under_alone[beside][..., 1]).all()
    assert crossed[beside][..., 1].mean() < 0.9 * under_alone[beside][..., 1].mean()
    far = (slice(90, 110), slice(54, 66)) if swapped else (slice(54, 66), slice(90, 110))
    assert np.array_equal(crossed[far], under_alone[far])


def test_a_loop_crosses_itself_in_the_order_of_the_wire() -> None:
    # A level approach, a full turn of radius 25, a level way on: the end of the turn lies over the approach.
    first, turn = line(-40 + 30j, 60 + 30j, 8.0, count=12), arc(60 + 55j, 25, -90, 359.9, 8.0, count=80)
    on = line(60 + 30j, 160 + 30j, 8.0, count=12)
    whole = image_of(one_after_another(first, turn, on), PLAIN_VIEW, SIZE)
    last = image_of(one_after_another(turn, on), PLAIN_VIEW, SIZE)
    # Inside the last part, where it comes down over the approach left of the middle.
    at = (slice(85, 89), slice(50, 54))
    assert (last[at][..., 3] == 255).all()
    assert np.abs(whole[at].astype(int) - last[at]).max() <= SHADE
    assert np.abs(whole[at].astype(int) - image_of(first, PLAIN_VIEW, SIZE)[at]).max() > 40


# ---- how it is lit -------------------------------------------------------------------------------------


def green(image: NDArray[np.uint8]) -> NDArray[np.float64]:
    return image[..., 1].astype(float)


def profile(width: float, height: float) -> NDArray[np.float64]:
    """Green down through the middle of a level wire of 40 px plan width, from its upper edge to its lower."""
    return green(image_of(line(-10 + 60j, 130 + 60j, width, height), PLAIN_VIEW, SIZE))[40:80, 60]


def test_a_hammered_flat_is_a_calm_face_no_darker_than_the_metal() -> None:
    face = profile(40.0, 10.0)[7:33]
    assert np.ptp(face) <= 1
    assert BRASS[1] <= face.mean() <= BRASS[1] + 15


def test_a_round_wire_is_lit_from_above_with_a_highlight_on_the_upper_side() -> None:
    round_wire = profile(40.0, 40.0)
    brightest = int(np.argmax(round_wire))
    assert 4 < brightest < 20
    assert round_wire[brightest] > profile(40.0, 10.0)[20]
    assert round_wire[5:18].mean() > 1.3 * round_wire[22:35].mean()
    # One smooth highlight: it rises to it and falls from it until the light from the paper comes in.
    assert (np.diff(round_wire[3:brightest]) >= -1).all()
    assert (np.diff(round_wire[brightest:32]) <= 1).all()


def test_light_comes_as_much_from_the_left_as_from_above() -> None:
    size = lit_wire.BALL_PX
    ball = np.reshape(lit_wire.lit_ball(BRASS, PAPER), (size, size)) >> 8 & 0xFF

    def at(right: float, up: float) -> int:
        return int(ball[round((0.5 + 0.3 * up) * size), round((0.5 + 0.3 * right) * size)])

    upper_left, lower_right = at(-0.7, 0.7), at(0.7, -0.7)
    up, down, left, right = at(0, 1), at(0, -1), at(-1, 0), at(1, 0)
    assert up > down
    assert left > right
    assert upper_left > max(up, down, left, right)
    assert lower_right < 0.6 * upper_left


def test_an_edge_hammered_part_is_lit_as_a_ridge_with_no_flat() -> None:
    # A section 16 wide and 40 high shows only its half-round top edge: the light of a round wire as wide.
    high, round_wire = line(-10 + 60j, 130 + 60j, 16.0, 40.0), line(-10 + 60j, 130 + 60j, 16.0, 16.0)
    assert np.array_equal(image_of(high, PLAIN_VIEW, SIZE), image_of(round_wire, PLAIN_VIEW, SIZE))


def test_a_face_that_falls_away_from_the_light_is_darker_than_one_that_rises_to_it() -> None:
    heights = np.array([12.0, 6.0])
    wire = WireSamples(
        np.array([10.0, 110.0]),
        np.array([60.0, 60.0]),
        np.zeros(2),
        np.full(2, 40.0),
        heights,
        np.array([0, 2]),
    )
    turned = WireSamples(
        wire.x_mm, wire.y_mm, wire.heading_rad, wire.plan_width_mm, heights[::-1].copy(), wire.first
    )
    falls, rises = (green(image_of(w, PLAIN_VIEW, SIZE))[60, 60] for w in (wire, turned))
    assert rises > falls + 2  # thin at the left, the face looks to the left, where the light is


def test_the_rim_is_a_thin_dark_line_inside_the_edge() -> None:
    image = image_of(line(-10 + 60j, 130 + 60j, 40.0, 10.0), PLAIN_VIEW, SIZE).astype(int)
    for edge, within in ((40, 43), (79, 76)):
        assert image[edge, 60, 3] == 255
        assert image[edge, 60, 1] < 0.55 * image[60, 60, 1]
        assert image[within, 60, 1] > image[edge, 60, 1] + 40
    # On thin wire it takes no more than a share of the width, and leaves the metal seen.
    thin = image_of(line(-10 + 60.5j, 130 + 60.5j, 3.0), PLAIN_VIEW, SIZE).astype(int)
    assert thin[59, 60, 1] > 0.75 * BRASS[1]


# ---- speed and refusals --------------------------------------------------------------------------------


def test_never_more_points_than_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    points = lit_wire._Paint.points

    def counted(self: lit_wire._Paint, station: object, across: NDArray[np.float32], *more: object) -> object:
        made.append(across.size)
        return points(self, station, across, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(lit_wire._Paint, "points", counted)
    wire = one_after_another(arc(60 + 60j, 40, 10, 300, 20), line(10 + 20j, 110 + 90j, 17.0))
    full = cover_of(wire, PLAIN_VIEW, SIZE)
    assert max(made) > 3000
    made.clear()
    small = cover_of(wire, PLAIN_VIEW, SIZE, max_points=3000)
    assert 500 < max(made) <= 3000
    assert small.sum() == pytest.approx(full.sum(), rel=0.03)
    made.clear()
    assert not cover_of(wire, PLAIN_VIEW, SIZE, max_points=3).any()
    assert made == []


def test_zooming_far_in_costs_no_more_than_the_image() -> None:
    # 1 m of wire at 1000 px/mm is a million pixels long; only what is seen is cut into stations.
    wire = line(-500 + 0.06j, 500 + 0.06j, 0.02)
    stations = lit_wire._stations(wire, ViewTransform(1000.0, 60.0, 120.0), SIZE)
    assert 120 < stations.table.shape[1] < 300
    assert cover_of(wire, ViewTransform(1000.0, 60.0, 120.0), SIZE).sum() == pytest.approx(120 * 20, rel=1e-3)


def test_samples_that_cannot_be_drawn_are_refused() -> None:
    good = line(0, 10)
    columns = [good.x_mm, good.y_mm, good.heading_rad, good.plan_width_mm, good.height_mm]
    for broken in (np.array([0.0, np.nan]), np.array([0.0, np.inf])):
        with pytest.raises(DrawingError, match="finite"):
            WireSamples(broken, *columns[1:], good.first)
    with pytest.raises(DrawingError, match="one length"):
        WireSamples(np.zeros(3), *columns[1:], good.first)
    with pytest.raises(DrawingError, match="pieces"):
        WireSamples(*columns, np.array([0, 1]))
    for scale in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(DrawingError, match="scale"):
            ViewTransform(scale, 0.0, 0.0)
    with pytest.raises(DrawingError, match="1 x 1"):
        lit_wire_image(good, PLAIN_VIEW, (0, 5), BRASS, paper_rgb=PAPER, rim_rgb=RIM)
