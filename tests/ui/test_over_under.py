"""Over and under at crossings: swapped by mouse and menu, seen on the canvas, met by the pointer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtWidgets import QApplication

from formsketch.bench.metals import load_metals
from formsketch.design.file_format import design_bytes
from formsketch.design.model import BeadEnd, Design, Flare, Form, Run, Span, Wire
from formsketch.design.run_edits import reversed_wire
from formsketch.evaluation.evaluate import evaluate
from formsketch.geometry.trace import level_angle_rad
from formsketch.ui.lit_wire import ViewTransform, lit_wire_image
from formsketch.ui.over_under import crossings_mm
from formsketch.ui.pose import Pose
from formsketch.ui.window import Window
from formsketch.ui.wire_picture import PlacedWire, placed_wire
from tests.support import events
from tests.support.asked import Asked, said, trigger
from tests.support.desk import Desk, assert_one_step, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

METALS = load_metals()
Lay = Callable[..., Desk]


def loops(times: int = 3, d: float = 1.3, swapped: tuple[int, ...] = (), turn: float = 290.0) -> Design:
    """Hammered loops to one side; each crosses its own legs."""
    loop = Span(length_mm=float(np.deg2rad(turn) * 4), turn_deg=turn, flare=Flare(thickness=0.6))
    run = Run(spans=(Span(length_mm=10.0), loop, Span(length_mm=10.0)), times=times)
    return Design(
        title="loops",
        wire=Wire(metal="brass-c26000", diameter_mm=d),
        form=Form(runs=(run,), swapped_crossings=swapped),
    )


# ---- the picture ---------------------------------------------------------------------------------------


def placed(design: Design) -> PlacedWire:
    e = evaluate(design, METALS)
    return placed_wire(e, Pose(0j, level_angle_rad(e.own_trace, e.chain)))


def picture(wire: PlacedWire, px_per_mm: float = 20.0, at_mm: complex | None = None) -> NDArray[np.int64]:
    """Red, green, blue and opacity of each pixel, (rows, columns, 4), a place in the middle of 700 x 400."""
    x0, y0, x1, y1 = wire.bounds_mm
    middle = complex(x0 + x1, y0 + y1) / 2 if at_mm is None else at_mm
    view = ViewTransform(px_per_mm, 350 - px_per_mm * middle.real, 200 + px_per_mm * middle.imag)
    image = lit_wire_image(
        wire.samples,
        view,
        (700, 400),
        (200, 160, 60),
        paper_rgb=(250, 250, 245),
        rim_rgb=(40, 30, 20),
        max_points=5_000_000,  # never drawn smaller, and so softer
    )
    return np.frombuffer(image.constBits(), np.uint8).reshape(400, 700, 4)[..., [2, 1, 0, 3]].astype(np.int64)


@pytest.mark.parametrize("px_per_mm", [3.0, 14.0, 60.0])
@pytest.mark.parametrize("turn", [270.0, 300.0, 330.0])
def test_swapped_is_drawn_as_the_wire_is_from_its_other_end(px_per_mm: float, turn: float) -> None:
    # Read from its finish the wire is drawn from there: what was under now lies over, all else is the same.
    swapped, plain = placed(loops(swapped=(0, 1, 2), turn=turn)), placed(loops(turn=turn))
    other_way = placed(reversed_wire(loops(turn=turn)))
    crossing = complex(plain.trace.z_mm[plain.evaluation.crossings[1].over_sample])
    # The row read from its other end lies turned by half a turn: lay it on the first.
    first, last = other_way.trace.z_mm[0], other_way.trace.z_mm[-1]
    a, b = plain.trace.z_mm[-1], plain.trace.z_mm[0]
    turned = float(np.angle((b - a) / (last - first)))
    trace = other_way.trace.placed(complex(a - first * np.exp(1j * turned)), turned)
    other_way = PlacedWire(other_way.evaluation, trace, other_way.evaluation.discs_on(trace))
    now, wanted, before = (picture(w, px_per_mm, crossing) for w in (swapped, other_way, plain))
    unlike = np.abs(now - wanted).max(axis=2)
    # Samples of the two fall a little differently, so that edge pixels differ by shades.
    changed = np.abs(now - before).max(axis=2) > 24
    assert changed.sum() > 30
    assert (unlike > 24).sum() <= 0.1 * changed.sum()


def test_nothing_but_the_crossing_is_drawn_differently() -> None:
    plain, swapped = placed(loops()), placed(loops(swapped=(1,)))
    crossing = complex(plain.trace.z_mm[plain.evaluation.crossings[1].over_sample])
    before, after = (picture(wire, 20.0, crossing) for wire in (plain, swapped))
    rows, columns = np.nonzero((before != after).any(axis=2))
    assert len(rows) > 100
    # Within two widths of the wire: the parts themselves and the shadows they throw.
    assert np.hypot(columns - 350, rows - 200).max() < 20.0 * 2 * 2 * 1.3
    assert (before[..., 3] > 127).sum() == pytest.approx((after[..., 3] > 127).sum(), rel=1e-3)


def test_a_stretch_drawn_again_has_no_ends_to_be_seen() -> None:
    """Along the part over, from before the crossing to after it, it looks as where nothing is under."""
    swapped = placed(loops(swapped=(1,)))
    alone = placed(loops(times=3))
    ((begin, end),) = swapped.samples.again
    trace, crossing = swapped.trace, swapped.evaluation.crossings[1]
    assert begin < crossing.over_place < end
    at_mm = complex(trace.z_mm[crossing.over_sample])
    after, before = picture(swapped, 40.0, at_mm), picture(alone, 40.0, at_mm)
    places = np.arange(len(trace.z_mm))
    for place in (begin, end):
        z = complex(np.interp(place, places, trace.z_mm))
        for across in np.linspace(-0.4, 0.4, 9):
            sample = int(place)
            off = z + 1.3 * across * 1j * complex(trace.direction[sample]) - at_mm
            row, column = round(200 - 40 * off.imag), round(350 + 40 * off.real)
            assert np.abs(after[row, column] - before[row, column]).max() <= 2


@pytest.mark.parametrize("swapped", [(), (0, 1)])
def test_what_lies_on_top_is_in_no_shadow(swapped: tuple[int, ...]) -> None:
    # Two legs 1.3 mm apart, one under and one over the leg that crosses both: its shadow falls on one only.
    lengths = (30.0, 8.0, 15.0, 16.0, 15.0, 6.7, 30.0)
    spans = [Span(length_mm=length, corner_deg=-90.0 if i else 0.0) for i, length in enumerate(lengths)]
    form = Form(runs=(Run(spans=tuple(spans)),), swapped_crossings=swapped)
    wire = placed(Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=form))
    crossings = wire.evaluation.crossings
    bottom, top = crossings[::-1] if swapped else crossings
    z, way = wire.trace.z_mm, wire.trace.direction
    places = np.arange(len(z))
    above, below = (complex(np.interp(p, places, z)) for p in (top.over_place, bottom.under_place))
    seen = picture(wire, 40.0, above)[..., :3].sum(axis=2)

    def darkest(place: float, at_mm: complex, nearer_mm: complex, off_mm: float) -> int:
        """Darkest just beside the crossing part, or off it by this, on a leg's half nearer to the other."""
        middle, along = at_mm + 0.25 * (nearer_mm - at_mm), complex(way[int(place)])
        found = [middle + side * along * (off_mm + step) - above for side in (1, -1) for step in (0.53, 0.6)]
        return int(min(seen[round(200 - 40 * p.imag), round(350 + 40 * p.real)] for p in found))

    over, under = (top.over_place, above, below), (bottom.under_place, below, above)
    assert darkest(*over, 0.0) == pytest.approx(darkest(*over, 3.0), rel=0.03)
    assert darkest(*under, 0.0) < 0.93 * darkest(*under, 3.0)


def test_a_bead_under_a_stretch_is_kept_elsewhere() -> None:
    design = replace(
        loops(swapped=(0,)), form=replace(loops(swapped=(0,)).form, start=BeadEnd(diameter_mm=3.0))
    )
    wire = placed(design)
    assert len(wire.samples.again) == 1
    bead = wire.discs[0].centre_mm
    assert picture(wire, 20.0, bead)[200, 350, 3] == 255


# ---- by the mouse --------------------------------------------------------------------------------------


def crossing_px(desk: Desk, number: int) -> QPointF:
    return desk.px(complex(crossings_mm(desk.session)[number]))


def test_the_crossings_are_found_where_the_form_lies(lay: Lay) -> None:
    # Moved and turned by a pull, the crossings go with it.
    desk = lay(loops())
    desk.session.place("Elsewhere", desk.design, Pose(20 + 30j, 1.0))
    for number, at in enumerate(crossings_mm(desk.session)):
        crossing = desk.session.evaluation.crossings[number]
        z = np.interp(
            crossing.places, np.arange(len(desk.canvas.wire.trace.z_mm)), desk.canvas.wire.trace.z_mm
        )
        assert np.abs(z - at).max() < 1e-6


def test_a_double_click_on_a_crossing_swaps_it(lay: Lay) -> None:
    desk = lay(loops())
    view = desk.canvas.view
    for number, swapped in ((1, (1,)), (0, (0, 1)), (1, (0,))):
        before = state_of(desk)
        events.double_click(desk.canvas, crossing_px(desk, number) + QPointF(2, -2))
        assert desk.design.form.swapped_crossings == swapped
        assert_one_step(desk, before, f"Swap over and under at crossing {number + 1}")
        desk.session.redo()
    assert desk.canvas.view == view
    # It says which part lies over now: the first leg (under) or the last (over) of the loop's three spans.
    assert any(text.startswith("Crossing 1: span 1 lies over span 3.") for text in desk.told)
    assert any(text.startswith("Crossing 2: span 6 lies over span 4.") for text in desk.told)


def test_beside_a_crossing_a_double_click_does_what_it_did(lay: Lay) -> None:
    desk = lay(loops())
    events.wheel(desk.canvas, (300, 200), 1)
    view = desk.canvas.view
    events.double_click(desk.canvas, desk.px(desk.middle_mm(1)))
    assert desk.session.step_count == 0 and desk.canvas.view == view
    events.double_click(desk.canvas, (60.0, 60.0))
    assert desk.session.step_count == 0 and desk.canvas.view != view


def test_the_pointer_meets_what_lies_over(lay: Lay) -> None:
    desk = lay(loops())
    at = crossing_px(desk, 1)
    for span in (5, 3):  # the leg further along, then, swapped, the leg before the loop
        events.click(desk.canvas, at)
        assert desk.selection.span == span
        assert desk.told[-1].startswith(f"Span {span + 1}:")
        desk.selection.select(None)
        events.double_click(desk.canvas, at)
    # Away from the crossing the same wire is met as ever.
    for span in (3, 5):
        line = desk.line_mm(span)
        away = line[0] if span == 3 else line[-1]
        events.click(desk.canvas, desk.px(complex(0.85 * away + 0.15 * (line[-1] if span == 3 else line[0]))))
        assert desk.selection.span == span


# ---- from the menu -------------------------------------------------------------------------------------


def test_the_command_swaps_the_crossing_nearest_to_the_pointer(open_window: Callable[..., Window]) -> None:
    window = open_window(loops())
    canvas = window.canvas
    for number in (2, 0):
        events.move(
            canvas, canvas.view.to_px(complex(crossings_mm(window.session)[number])) + QPointF(15, 12)
        )
        # The pointer leaves for the menu.
        QApplication.sendEvent(canvas, QEvent(QEvent.Type.Leave))
        trigger(window, "swap_over_under")
        assert number in window.session.design.form.swapped_crossings
    assert window.session.design.form.swapped_crossings == (0, 2)
    assert window.session.undo_name == "Swap over and under at crossing 1"
    assert "Crossing 1: span 1 lies over span 3." in said(window)
    events.key(canvas, Qt.Key.Key_X)
    assert window.session.design.form.swapped_crossings == (2,)


def test_without_a_pointer_it_is_the_crossing_nearest_to_the_selected_span(
    open_window: Callable[..., Window],
) -> None:
    window = open_window(loops())
    assert window.canvas.pointer_mm is None
    window.selection.select(7)
    trigger(window, "swap_over_under")
    assert window.session.design.form.swapped_crossings == (2,)


def test_a_wire_that_does_not_cross_itself_says_so(open_window: Callable[..., Window], asked: Asked) -> None:
    window = open_window()
    trigger(window, "swap_over_under")
    assert asked.explained == ["The wire does not cross itself: there is nothing to swap."]
    assert window.session.step_count == 0


def test_reversing_the_wire_leaves_over_what_lies_over(open_window: Callable[..., Window]) -> None:
    window = open_window(loops(swapped=(1,)))
    before = design_bytes(window.session.design)

    def over() -> list[complex]:
        """Directions of the parts over, at their crossings from left to right."""
        wire, e = window.canvas.wire, window.session.evaluation
        found = sorted(e.crossings, key=lambda crossing: wire.trace.z_mm[crossing.over_sample].real)
        # Either way along is the same line.
        return [complex(wire.trace.direction[crossing.over_sample]) ** 2 for crossing in found]

    lies = over()
    trigger(window, "reverse_wire")
    assert window.session.design.form.swapped_crossings == (0, 2)
    assert np.abs(np.array(over()) - lies).max() < 0.02
    trigger(window, "reverse_wire")
    assert design_bytes(window.session.design) == before
