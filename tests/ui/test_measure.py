"""Measuring on the form with mouse and keys: lengths and gaps worked out by hand; it changes nothing."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication

from formsketch.design.model import BeadEnd, Design, End, Flare, Form, PlainEnd, Run, Span, Wire
from formsketch.ui.measure_places import Measurable
from formsketch.ui.measure_tool import MeasureTool
from formsketch.ui.theme import DARK, LIGHT, use_appearance
from formsketch.ui.window import Window
from tests.support import events
from tests.support.asked import said, trigger
from tests.support.desk import Desk, assert_back, state_of

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

ALT, SHIFT = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ShiftModifier
Key = Qt.Key
Lay = Callable[..., Desk]
PLAIN = PlainEnd()


def wire_of(*spans: Span, d: float = 1.0, start: End = PLAIN, finish: End = PLAIN) -> Design:
    form = Form(runs=(Run(spans=spans),), start=start, finish=finish)
    return Design(title="t", wire=Wire(metal="brass-c26000", diameter_mm=d), form=form)


def arc(radius: float, turn: float) -> Span:
    return Span(length_mm=float(np.deg2rad(abs(turn)) * radius), turn_deg=turn)


def u_turn(leg: float = 30.0, radius: float = 3.0, d: float = 1.0) -> Design:
    return wire_of(Span(length_mm=leg), arc(radius, 180.0), Span(length_mm=leg), d=d)


class Dividers:
    """A desk with the measuring tool in hand."""

    def __init__(self, desk: Desk, inches: bool = False) -> None:
        self.desk, self.canvas = desk, desk.canvas
        self.canvas.show_inches(inches)
        self.tool = MeasureTool(desk.session, lambda: desk.canvas.wire, lambda: desk.canvas.in_inches)
        self.canvas.take_tool(self.tool)
        self.canvas.setFocus()

    def edge_mm(self, span: int, share: float, side: int) -> complex:
        """A place on the edge of a span, left (1) or right (-1) of the wire's way."""
        wire = self.canvas.wire
        part = self.desk.session.wire.part(span)
        first, last = int(wire.trace.first[part]), int(wire.trace.first[part + 1]) - 1
        left, right = wire.edges_at_mm(first + share * (last - first))
        return left if side > 0 else right

    def drag(self, start_mm: complex, end_mm: complex, off_px: complex = 0j, alt: bool = False) -> None:
        """From one place to another, missing both by this much."""
        off = QPointF(off_px.real, off_px.imag)
        first, last = self.desk.px(start_mm) + off, self.desk.px(end_mm) + off
        events.drag(self.canvas, first, last, modifiers=ALT if alt else events.PLAIN)

    @property
    def distance_mm(self) -> float:
        assert self.tool.distance_mm is not None
        return self.tool.distance_mm

    @property
    def gap_mm(self) -> float | None:
        return None if self.tool.gap is None else self.tool.gap.width_mm


# ---- lengths -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("zoom", [1.0, 3.0])
def test_from_mark_to_mark_is_the_way_between_them(lay: Lay, zoom: float) -> None:
    # Marks at 0, 10 and 30 mm of a straight wire; the pointer misses them by 3 px.
    hand = Dividers(lay(wire_of(Span(length_mm=10.0), Span(length_mm=20.0))))
    hand.canvas.zoom(zoom)
    marks = hand.desk.marks_mm()
    for a, b, way in ((0, 1, 10.0), (2, 1, 20.0), (0, 2, 30.0)):
        hand.drag(complex(marks[a]), complex(marks[b]), 2 + 2j)
        assert hand.distance_mm == pytest.approx(way, abs=1e-9)
        assert f"{way:.2f} mm from mark {a + 1} to mark {b + 1}." in hand.desk.told[-1]


@pytest.mark.parametrize(("d", "flare"), [(1.0, None), (1.6, None), (1.0, Flare(thickness=0.5))])
def test_across_the_wire_is_as_wide_as_it_is(lay: Lay, d: float, flare: Flare | None) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=20.0, flare=flare), d=d)))
    hand.drag(hand.edge_mm(0, 0.5, 1), hand.edge_mm(0, 0.5, -1))
    # Hammered flat it is as wide as the numbers say; one part of the wire has no gap to itself.
    assert hand.distance_mm == pytest.approx(hand.desk.session.evaluation.widest_mm, abs=0.003)
    assert hand.distance_mm == pytest.approx(d, abs=1e-6) or flare is not None
    assert hand.gap_mm is None


def test_an_edge_is_met_anywhere_along_it(lay: Lay) -> None:
    # From edge to edge of a round bent from 1 mm wire: the inside diameter is 2 R - d, the outside 2 R + d.
    hand = Dividers(lay(wire_of(arc(8.0, 350.0))))
    for side, across in ((1, 15.0), (-1, 17.0)):
        hand.drag(hand.edge_mm(0, 0.2, side), hand.edge_mm(0, 0.2 + 180 / 350, side), 1.5 - 2j)
        assert hand.distance_mm == pytest.approx(across, abs=0.05)
        ends = [end for end in (hand.tool.first, hand.tool.second) if end is not None]
        middle = hand.desk.session.pose.to_table(8j)
        assert [abs(end.at_mm - middle) for end in ends] == pytest.approx([across / 2] * 2, abs=0.005)


def test_beads_are_met_at_their_rims_and_middles(lay: Lay) -> None:
    beads = BeadEnd(diameter_mm=3.0)
    hand = Dividers(lay(wire_of(Span(length_mm=30.0), start=beads, finish=beads)))
    first, last = (disc.centre_mm for disc in hand.canvas.wire.discs)
    way = (last - first) / abs(last - first)
    apart = abs(last - first)
    hand.drag(first - 1.5 * way, last + 1.5 * way, 1 + 1j)
    assert hand.distance_mm == pytest.approx(apart + 3.0, abs=0.03)
    assert (
        "from the edge of the bead at the start to the edge of the bead at the finish" in hand.desk.told[-1]
    )
    hand.drag(first, last, 2 - 1j)
    assert hand.distance_mm == pytest.approx(apart, abs=1e-9)
    assert "the middle of the bead at the finish" in hand.desk.told[-1]


def test_alt_lets_go(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=10.0), Span(length_mm=20.0))))
    marks, px_per_mm = hand.desk.marks_mm(), hand.canvas.view.px_per_mm
    hand.drag(complex(marks[0]), complex(marks[1]) + 3 / px_per_mm, alt=True)
    assert hand.distance_mm == pytest.approx(10.0 + 3 / px_per_mm, abs=1e-9)
    assert hand.tool.second is not None and hand.tool.second.kind == "free"
    assert " from " not in hand.desk.told[-1]


def test_far_from_the_wire_a_place_is_itself(lay: Lay) -> None:
    hand = Dividers(lay(u_turn()))
    a, b = hand.canvas.view.to_mm(QPointF(60, 60)), hand.canvas.view.to_mm(QPointF(160, 60))
    hand.drag(a, b)
    assert hand.distance_mm == pytest.approx(100 / hand.canvas.view.px_per_mm, rel=1e-12)


def test_two_clicks_measure_as_a_drag_does(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=10.0), Span(length_mm=20.0))))
    marks = hand.desk.marks_mm()
    events.click(hand.canvas, hand.desk.px(complex(marks[0])))
    assert hand.tool.distance_mm is None
    assert "second" in hand.desk.told[-1]
    # On the way there the line follows.
    events.move(hand.canvas, hand.desk.px(complex(marks[0]) * 0.5 + complex(marks[2]) * 0.5))
    assert hand.distance_mm == pytest.approx(15.0, abs=0.2)
    events.click(hand.canvas, hand.desk.px(complex(marks[2])))
    assert hand.distance_mm == pytest.approx(30.0, abs=1e-9)
    # It stands while the pointer goes elsewhere; the next press begins another.
    events.move(hand.canvas, (200, 200))
    assert hand.distance_mm == pytest.approx(30.0, abs=1e-9)
    hand.drag(complex(marks[1]), complex(marks[2]))
    assert hand.distance_mm == pytest.approx(20.0, abs=1e-9)


def test_a_double_click_presses_twice(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=10.0), Span(length_mm=20.0))))
    view, at = hand.canvas.view, hand.desk.px(complex(hand.desk.marks_mm()[1]))
    events.double_click(hand.canvas, at)
    assert hand.canvas.view == view
    assert hand.distance_mm == 0


# ---- gaps ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sides", [(1, 1), (1, -1), (-1, -1)])
@pytest.mark.parametrize(("radius", "d"), [(3.0, 1.0), (5.0, 1.6)])
def test_the_gap_between_the_legs_of_a_u(lay: Lay, sides: tuple[int, int], radius: float, d: float) -> None:
    # The legs lie 2 R apart, middle to middle, and so 2 R - d from edge to edge.
    hand = Dividers(lay(u_turn(radius=radius, d=d)))
    for share in (0.3, 0.7, 0.96):
        hand.drag(hand.edge_mm(0, share, sides[0]), hand.edge_mm(2, 1 - share, sides[1]))
        assert hand.gap_mm == pytest.approx(2 * radius - d, abs=0.006)
        outer = sum(side < 0 for side in sides)
        assert hand.distance_mm == pytest.approx(2 * radius - d + outer * d, abs=0.01)
        assert "clear gap between the two parts" in hand.desk.told[-1]


def test_the_gap_is_the_nearest_there_however_it_is_measured(lay: Lay) -> None:
    # Aslant, from one leg to another place of the other.
    hand = Dividers(lay(u_turn()))
    hand.drag(hand.edge_mm(0, 0.4, 1), hand.edge_mm(2, 0.5, 1))
    assert hand.distance_mm == pytest.approx(np.hypot(5.0, 3.0), abs=0.01)
    assert hand.gap_mm == pytest.approx(5.0, abs=0.006)


def test_the_gap_of_a_hoop_is_its_opening(lay: Lay) -> None:
    # Ends square to the round, 20 degrees apart, nearest at their inner corners: 2 (R - d/2) sin 10 deg.
    hand = Dividers(lay(wire_of(arc(10.0, 340.0))))
    hand.drag(hand.edge_mm(0, 0.004, 1), hand.edge_mm(0, 0.996, 1))
    assert hand.gap_mm == pytest.approx(2 * 9.5 * np.sin(np.deg2rad(10.0)), abs=0.006)


def test_the_gap_between_a_bead_and_the_wire(lay: Lay) -> None:
    # A U whose shorter leg ends in a bead beside the longer one.
    legs = (Span(length_mm=40.0), arc(3.0, 180.0), Span(length_mm=20.0))
    hand = Dividers(lay(wire_of(*legs, finish=BeadEnd(diameter_mm=3.0))))
    (disc,) = hand.canvas.wire.discs
    edge = hand.edge_mm(0, (40.0 - 20.0) / 40.0, 1)
    rim = disc.centre_mm + 1.5 * (edge - disc.centre_mm) / abs(edge - disc.centre_mm)
    hand.drag(edge, rim)
    # Middles 6 mm apart, the bead on the line of the leg: 6 - 0.5 - 1.5.
    assert hand.gap_mm == pytest.approx(4.0, abs=0.006)


@pytest.mark.parametrize(
    ("design", "first", "second"),
    [
        # Legs of a V run together; the halves of a round have none where they lie furthest apart.
        (wire_of(Span(length_mm=20.0), Span(length_mm=20.0, corner_deg=140.0)), (0, 0.7, 1), (1, 0.3, 1)),
        (wire_of(arc(10.0, 340.0)), (0, 0.1, 1), (0, 0.6, 1)),
        (wire_of(Span(length_mm=30.0)), (0, 0.2, 1), (0, 0.8, 1)),
    ],
)
def test_where_there_is_no_gap_none_is_said(
    lay: Lay, design: Design, first: tuple[int, float, int], second: tuple[int, float, int]
) -> None:
    hand = Dividers(lay(design))
    hand.drag(hand.edge_mm(*first), hand.edge_mm(*second))
    assert hand.distance_mm > 1
    assert hand.gap_mm is None
    assert "gap" not in hand.desk.told[-1]


def test_a_gap_needs_edges_at_both_ends(lay: Lay) -> None:
    hand = Dividers(lay(u_turn()))
    hand.drag(hand.edge_mm(0, 0.5, 1), hand.edge_mm(2, 0.5, 1), alt=True)
    assert hand.distance_mm == pytest.approx(5.0, abs=0.01)
    assert hand.gap_mm is None


def test_a_gap_is_never_wider_than_what_is_measured(lay: Lay) -> None:
    # Of any two places on edges: the gap between their parts is the least way from one to the other.
    hand = Dividers(
        lay(wire_of(arc(5.0, 200.0), Span(length_mm=8.0), arc(4.0, -240.0), Span(length_mm=12.0)))
    )
    measurable = Measurable(hand.canvas.wire)
    seen = 0
    shares = [(span, share, side) for span in range(4) for share in (0.1, 0.5, 0.9) for side in (1, -1)]
    places = [measurable.near(hand.edge_mm(*share), 1e4) for share in shares]
    for number, (one, other) in enumerate(itertools.combinations(places, 2)):
        a, b = (one, other) if number % 2 else (other, one)
        gap = measurable.gap(a, b)
        if gap is not None:
            seen += 1
            assert 0 < gap.width_mm <= abs(a.at_mm - b.at_mm) + 0.01
            assert abs(gap.from_mm - gap.to_mm) == pytest.approx(gap.width_mm, abs=1e-9)
    assert seen > 5


# ---- keys, words, colours ------------------------------------------------------------------------------


def test_arrow_keys_move_the_second_place(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=10.0), Span(length_mm=20.0))))
    marks = hand.desk.marks_mm()
    hand.drag(complex(marks[0]), complex(marks[1]))
    for _ in range(3):
        events.key(hand.canvas, Key.Key_Right)
    assert hand.distance_mm == pytest.approx(10.3, abs=1e-9)
    events.key(hand.canvas, Key.Key_Left, SHIFT)
    assert hand.distance_mm == pytest.approx(9.3, abs=1e-9)
    events.key(hand.canvas, Key.Key_Up, SHIFT)
    events.key(hand.canvas, Key.Key_Up)
    assert hand.distance_mm == pytest.approx(np.hypot(9.3, 1.1), abs=1e-9)
    events.key(hand.canvas, Key.Key_Down)
    assert hand.distance_mm == pytest.approx(np.hypot(9.3, 1.0), abs=1e-9)
    # No span is chosen by them meanwhile.
    assert hand.desk.selection.span is None


def test_without_a_mouse_it_begins_at_the_first_mark(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=10.0))))
    for _ in range(4):
        events.key(hand.canvas, Key.Key_Right, SHIFT)
    assert hand.distance_mm == pytest.approx(4.0, abs=1e-9)
    assert "4.00 mm from mark 1" in hand.desk.told[-1]


def test_inches_stand_beside_millimetres_when_they_are_chosen(lay: Lay) -> None:
    # 11.1125 mm is 7/16 in.
    hand = Dividers(lay(wire_of(Span(length_mm=11.1125))), inches=True)
    marks = hand.desk.marks_mm()
    hand.drag(complex(marks[0]), complex(marks[1]))
    assert hand.desk.told[-1].startswith("11.11 mm (7/16 in) from mark 1")
    hand.canvas.show_inches(False)
    hand.tool.say()
    assert hand.desk.told[-1].startswith("11.11 mm from mark 1")


def test_nothing_is_changed_by_measuring(lay: Lay) -> None:
    desk = lay(u_turn())
    before = state_of(desk)
    hand = Dividers(desk)
    hand.drag(hand.edge_mm(0, 0.5, 1), hand.edge_mm(2, 0.5, 1))
    hand.drag(complex(desk.marks_mm()[1]), complex(desk.marks_mm()[2]))
    events.key(desk.canvas, Key.Key_Right)
    desk.canvas.take_tool(None)
    assert_back(desk, before)


def test_what_was_measured_goes_with_the_form_it_was_measured_on(lay: Lay) -> None:
    desk = lay(u_turn())
    hand = Dividers(desk)
    hand.drag(hand.edge_mm(0, 0.5, 1), hand.edge_mm(2, 0.5, 1))
    desk.session.change("Other", u_turn(radius=5.0))
    assert hand.tool.distance_mm is None and hand.tool.gap is None
    hand.drag(hand.edge_mm(0, 0.5, 1), hand.edge_mm(2, 0.5, 1))
    assert hand.gap_mm == pytest.approx(9.0, abs=0.006)
    desk.canvas.take_tool(None)
    # Put down it hears of nothing.
    desk.session.undo()


@pytest.mark.parametrize(("appearance", "palette"), [("light", LIGHT), ("dark", DARK)])
def test_the_line_is_seen(lay: Lay, qapp: QApplication, appearance: str, palette: object) -> None:
    use_appearance(qapp, appearance)
    hand = Dividers(lay(u_turn()))
    a, b = hand.edge_mm(0, 0.5, 1), hand.edge_mm(2, 0.5, 1)
    before = hand.canvas.grab().toImage()
    hand.drag(a, b)
    after = hand.canvas.grab().toImage()
    at = hand.desk.px(0.3 * a + 0.7 * b)
    accent = QColor(palette.accent)  # type: ignore[attr-defined]

    def unlike(picture: object) -> int:
        near = [
            QColor(picture.pixel(round(at.x()) + i, round(at.y()) + j))  # type: ignore[attr-defined]
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
        ]
        return min(
            abs(c.red() - accent.red()) + abs(c.green() - accent.green()) + abs(c.blue() - accent.blue())
            for c in near
        )

    assert unlike(after) < 60 < unlike(before)
    use_appearance(qapp, "system")


# ---- in the window -------------------------------------------------------------------------------------


def test_the_key_begins_and_ends_it(open_window: Callable[..., Window]) -> None:
    window = open_window(u_turn())
    action = window.actions_by_name["measure_distance"]
    events.key(window.canvas, Key.Key_D)
    assert action.isChecked() and isinstance(window.canvas.tool, MeasureTool)
    assert "Drag from one place" in said(window)
    events.key(window.canvas, Key.Key_D)
    assert not action.isChecked() and window.canvas.tool is None
    trigger(window, "measure_distance")
    assert action.isChecked()
    events.key(window.canvas, Key.Key_Escape)
    assert not action.isChecked() and window.canvas.tool is None
    # Escape now selects nothing, as without it.
    window.selection.select(1)
    events.key(window.canvas, Key.Key_Escape)
    assert window.selection.span is None


def test_measuring_is_read_aloud(open_window: Callable[..., Window]) -> None:
    window = open_window(wire_of(Span(length_mm=10.0)))
    trigger(window, "measure_distance")
    left, right = window.canvas.wire.mark_edges_mm
    marks = [window.canvas.view.to_px(complex(z)) for z in (left + right) / 2]
    events.drag(window.canvas, *marks)
    assert "10.00 mm from mark 1 to mark 2" in window.canvas.accessibleName()
    assert "10.00 mm from mark 1 to mark 2" in said(window)


def test_from_the_forms_side_by_side_it_goes_back_to_the_form(open_window: Callable[..., Window]) -> None:
    window = open_window(u_turn())
    trigger(window, "compare_forms")
    trigger(window, "measure_distance")
    assert window.pages.currentIndex() == 0
    assert window.canvas.hasFocus()


def test_changing_to_inches_says_the_length_anew(open_window: Callable[..., Window]) -> None:
    window = open_window(wire_of(Span(length_mm=25.4)))
    trigger(window, "measure_distance")
    left, right = window.canvas.wire.mark_edges_mm
    events.drag(window.canvas, *(window.canvas.view.to_px(complex(z)) for z in (left + right) / 2))
    trigger(window, "rulers_in_inches")
    assert "25.40 mm (1 in)" in said(window)


# ---- what lies under another part ----------------------------------------------------------------------


@pytest.mark.parametrize("swapped", [False, True])
def test_what_lies_under_another_part_does_not_hold(lay: Lay, swapped: bool) -> None:
    # After three quarters of a round of radius 8 the wire comes straight down over its beginning, 22 mm on.
    design = wire_of(Span(length_mm=30.0), arc(8.0, 270.0), Span(length_mm=30.0))
    if swapped:
        design = replace(design, form=replace(design.form, swapped_crossings=(0,)))
    hand = Dividers(lay(design))
    hand.canvas.zoom(20.0 / hand.canvas.view.px_per_mm)
    pose, middle = hand.desk.session.pose, QPointF(hand.canvas.rect().center())
    hand.canvas.show_view(hand.canvas.view.moved(middle - hand.desk.px(pose.to_table(22 + 0j))))

    def held_at(own_mm: complex) -> str:
        hand.drag(pose.to_table(own_mm), pose.to_table(own_mm + 3 + 3j))
        assert hand.tool.first is not None
        return hand.tool.first.what

    # Edges where the other part crosses them, half the wire's width from its middle and so 10 px from its
    # own edges: the part that lies over holds by its edge, that under only by what lies over it.
    level, upright = held_at(22 + 0.5j), held_at(21.5 + 0.2j)
    if swapped:
        assert (level, upright) == ("the edge of span 1", "the centreline of span 1")
    else:
        assert (level, upright) == ("the centreline of span 3", "the edge of span 3")
    # Beside the crossing both hold.
    assert held_at(20 + 0.5j) == "the edge of span 1"
    assert held_at(21.5 + 2j) == "the edge of span 3"


def test_the_wire_under_a_bead_does_not_hold(lay: Lay) -> None:
    hand = Dividers(lay(wire_of(Span(length_mm=20.0), d=1.0, finish=BeadEnd(diameter_mm=4.0))))
    hand.canvas.zoom(20.0 / hand.canvas.view.px_per_mm)
    disc = next(disc for disc in hand.canvas.wire.discs if not disc.bend)
    middle = QPointF(hand.canvas.rect().center())
    hand.canvas.show_view(hand.canvas.view.moved(middle - hand.desk.px(disc.centre_mm)))
    end_mm = complex(hand.canvas.wire.trace.z_mm[-1])
    under = disc.centre_mm + 0.8 * (end_mm - disc.centre_mm) / abs(end_mm - disc.centre_mm)
    hand.drag(under + 0.5j, under + 8j)
    assert hand.tool.first is not None
    assert (hand.tool.first.kind, hand.tool.first.at_mm) == ("free", pytest.approx(under + 0.5j, abs=1e-9))
