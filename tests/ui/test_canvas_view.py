"""Looking at the form: zooming, panning, fitting, true size, pointing and selecting; nothing of it edits."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from PySide6.QtCore import QPointF, QSettings, Qt
from PySide6.QtWidgets import QApplication, QWidget

from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Form, HookEnd, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.ui.form_canvas import FormCanvas
from formsketch.ui.screen_match import CARD_WIDTH_MM, ScreenMatchDialog, true_px_per_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.view import LEAST_PX_PER_MM, MOST_PX_PER_MM
from formsketch.ui.wire_strip_view import WireStripView
from tests.support import events

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
Show = Callable[[QWidget], QWidget]


class Seen:
    """A shown canvas with its session and selection, and what it told."""

    def __init__(self, show: Show, design: Design) -> None:
        self.session, self.selection = Session(design), Selection()
        self.canvas = FormCanvas(self.session, self.selection)
        self.told: list[str] = []
        self.canvas.told.connect(self.told.append)
        self.canvas.resize(900, 600)
        show(self.canvas)

    def sample_px(self, sample: int) -> QPointF:
        return self.canvas.view.to_px(complex(self.canvas.wire.trace.z_mm[sample]))

    def pointed_px(self) -> QPointF:
        """Where the line across the wire is drawn that shows the place pointed at."""
        assert self.selection.sample is not None
        left, right = self.canvas.wire.edges_at_mm(self.selection.sample)
        return self.canvas.view.to_px((left + right) / 2)

    def span_px(self, span: int, share: float = 0.3) -> QPointF:
        """A place on the wire of a span, away from its marks and its belly."""
        line = self.canvas.wire.centreline_mm(self.session.wire.part(span))
        return self.canvas.view.to_px(complex(line[int(len(line) * share)]))

    def empty_px(self) -> QPointF:
        """A place on the table with no wire near it."""
        for y in range(60, 580, 20):
            for x in range(60, 880, 20):
                at = self.canvas.view.to_mm(QPointF(x, y))
                if np.abs(self.canvas.wire.trace.z_mm - at).min() * self.canvas.view.px_per_mm > 60:
                    return QPointF(x, y)
        raise LookupError("no empty place")


@pytest.fixture
def seen(show: Show) -> Iterator[Seen]:
    """A row of S-forms; and that nothing done to it here changes the design."""
    found = Seen(show, make_starter("row-of-s-forms", BRASS))
    before, pose = design_bytes(found.session.design), found.session.pose
    yield found
    assert design_bytes(found.session.design) == before
    assert (found.session.pose, found.session.step_count) == (pose, 0)


# ---- scale and place -----------------------------------------------------------------------------------


@pytest.mark.parametrize("notches", [1, -1, 3.5, -2.25])
def test_the_wheel_zooms_and_keeps_what_lies_under_the_pointer(seen: Seen, notches: float) -> None:
    at = QPointF(312.5, 221.25)
    before = seen.canvas.view
    held = before.to_mm(at)
    events.wheel(seen.canvas, at, notches)
    after = seen.canvas.view
    assert (after.px_per_mm > before.px_per_mm) == (notches > 0)
    assert after.to_mm(at) == pytest.approx(held, abs=1e-9)
    events.wheel(seen.canvas, at, -notches)
    assert seen.canvas.view.px_per_mm == pytest.approx(before.px_per_mm, rel=1e-9)
    assert seen.canvas.view.origin_x_px == pytest.approx(before.origin_x_px, abs=1e-6)


def test_zoom_stops_at_both_ends_and_still_keeps_the_place(seen: Seen) -> None:
    at = QPointF(500.0, 260.0)
    for notches, limit in ((40, MOST_PX_PER_MM), (-120, LEAST_PX_PER_MM)):
        held = seen.canvas.view.to_mm(at)
        for _ in range(3):
            events.wheel(seen.canvas, at, notches)
        assert seen.canvas.view.px_per_mm == limit
        assert seen.canvas.view.to_mm(at) == pytest.approx(held, abs=1e-9 / LEAST_PX_PER_MM)
        assert not seen.canvas.grab().isNull()


def test_no_zoom_in_the_middle_of_a_drag(seen: Seen) -> None:
    start = seen.empty_px()
    events.pull(seen.canvas, start, start + QPointF(40, 20))
    scale = seen.canvas.view.px_per_mm
    events.wheel(seen.canvas, start, 2)
    assert seen.canvas.view.px_per_mm == scale
    events.release(seen.canvas, start + QPointF(40, 20))


@pytest.mark.parametrize("button", [Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton])
def test_dragging_the_table_moves_it_with_the_pointer(seen: Seen, button: Qt.MouseButton) -> None:
    # The middle button moves the table wherever it is pressed.
    start = seen.empty_px() if button == Qt.MouseButton.LeftButton else seen.span_px(4)
    end = start + QPointF(57.25, -33.5)
    before = seen.canvas.view
    held = before.to_mm(start)
    events.drag(seen.canvas, start, end, button=button)
    assert seen.canvas.view.px_per_mm == before.px_per_mm
    assert seen.canvas.view.to_mm(end) == pytest.approx(held, abs=1e-9)
    assert not seen.canvas.is_pulling


def test_escape_puts_the_table_back(seen: Seen) -> None:
    start, before = seen.empty_px(), seen.canvas.view
    events.pull(seen.canvas, start, start + QPointF(80, 60))
    assert seen.canvas.view != before
    events.key(seen.canvas, Qt.Key.Key_Escape)
    assert seen.canvas.view == before
    events.move(seen.canvas, start + QPointF(120, 90), Qt.MouseButton.LeftButton)
    events.release(seen.canvas, start + QPointF(120, 90))
    assert seen.canvas.view == before


def assert_fitted(canvas: FormCanvas) -> None:
    """All of the form is seen, its middle is in the middle of the table, and it fills most of one way."""
    x0, y0, x1, y1 = canvas.wire.bounds_mm
    a, b = canvas.view.to_px(complex(x0, y1)), canvas.view.to_px(complex(x1, y0))
    assert min(a.x(), a.y()) > 22  # the rulers
    assert b.x() < canvas.width()
    assert b.y() < canvas.height()
    wide, high = canvas.width() - 22, canvas.height() - 22
    assert (a.x() + b.x()) / 2 == pytest.approx(22 + wide / 2, abs=0.5)
    assert (a.y() + b.y()) / 2 == pytest.approx(22 + high / 2, abs=0.5)
    assert max((b.x() - a.x()) / wide, (b.y() - a.y()) / high) > 0.8


def test_the_form_is_fitted_when_it_is_first_shown(seen: Seen) -> None:
    assert_fitted(seen.canvas)


def test_a_double_click_on_the_table_shows_the_whole_form(seen: Seen) -> None:
    start = seen.empty_px()
    events.drag(seen.canvas, start, start + QPointF(90, 70))
    events.wheel(seen.canvas, (300, 300), 2)
    moved = seen.canvas.view
    events.double_click(seen.canvas, seen.span_px(5))
    assert seen.canvas.view == moved  # not on the wire
    events.double_click(seen.canvas, seen.empty_px())
    assert_fitted(seen.canvas)


def test_true_size_is_as_many_pixels_as_the_screen_has_to_a_millimetre(seen: Seen) -> None:
    seen.canvas.set_true_scale(3.7725, True)
    seen.canvas.show_true_size()
    left, right = seen.canvas.wire.mark_edges_mm
    marks = (left + right) / 2
    first, last = seen.canvas.view.to_px(complex(marks[0])), seen.canvas.view.to_px(complex(marks[-1]))
    along = np.hypot(last.x() - first.x(), last.y() - first.y())
    assert along == pytest.approx(3.7725 * abs(marks[-1] - marks[0]), rel=1e-12)
    x0, y0, x1, y1 = seen.canvas.wire.bounds_mm
    middle = seen.canvas.view.to_px(complex((x0 + x1) / 2, (y0 + y1) / 2))
    assert middle.x() == pytest.approx(22 + (900 - 22) / 2)
    assert middle.y() == pytest.approx(22 + (600 - 22) / 2)


def test_a_line_of_100_mm_is_100_mm_on_a_matched_screen(show: Show) -> None:
    settings = QSettings()
    holder = show(QWidget())
    assert not true_px_per_mm(holder.screen(), settings)[1]
    dialog = ScreenMatchDialog(holder, settings)
    # A card 85.60 mm wide (ISO/IEC 7810 ID-1) that covers 342.4 px: 4 px to the mm.
    dialog.slider.setValue(round(342.4 / CARD_WIDTH_MM * 400))
    dialog.accept()
    px_per_mm, matched = true_px_per_mm(holder.screen(), QSettings())
    assert (px_per_mm, matched) == (pytest.approx(4.0), True)
    line = Form(runs=(Run(spans=(Span(length_mm=100.0),)),))
    seen = Seen(show, Design(title="Line", wire=BRASS, form=line))
    seen.canvas.set_true_scale(px_per_mm, matched)
    seen.canvas.show_true_size()
    ends = [seen.sample_px(0), seen.sample_px(-1)]
    assert ends[1].x() - ends[0].x() == pytest.approx(400.0)


def test_a_nonsense_match_is_not_used(show: Show) -> None:
    holder, settings = show(QWidget()), QSettings()
    ScreenMatchDialog(holder, settings).accept()
    (key,) = settings.allKeys()
    for nonsense in ("0", "-3", "nan", "9999", "wide"):
        settings.setValue(key, nonsense)
        px_per_mm, matched = true_px_per_mm(holder.screen(), settings)
        assert not matched
        assert 2 <= px_per_mm <= 12


@pytest.mark.parametrize("size", [(1300, 800), (520, 330)])
def test_resizing_keeps_the_middle_in_the_middle(seen: Seen, size: tuple[int, int]) -> None:
    events.wheel(seen.canvas, (200, 300), 1.5)
    scale = seen.canvas.view.px_per_mm
    middle = seen.canvas.view.to_mm(QPointF(450, 300))
    seen.canvas.resize(*size)
    QApplication.processEvents()
    assert seen.canvas.view.px_per_mm == scale
    assert seen.canvas.view.to_mm(QPointF(size[0] / 2, size[1] / 2)) == pytest.approx(middle, abs=1e-9)
    seen.canvas.resize(900, 600)
    QApplication.processEvents()
    assert seen.canvas.view.to_mm(QPointF(450, 300)) == pytest.approx(middle, abs=1e-9)


def test_resizing_while_hidden_keeps_the_middle_too(seen: Seen) -> None:
    middle = seen.canvas.view.to_mm(QPointF(450, 300))
    seen.canvas.hide()
    seen.canvas.resize(1100, 480)
    seen.canvas.show()
    QApplication.processEvents()
    assert seen.canvas.view.to_mm(QPointF(550, 240)) == pytest.approx(middle, abs=1e-9)


def test_zooming_by_a_command_keeps_the_middle_of_the_table(seen: Seen) -> None:
    middle = QPointF(22 + (900 - 22) / 2, 22 + (600 - 22) / 2)
    held, scale = seen.canvas.view.to_mm(middle), seen.canvas.view.px_per_mm
    seen.canvas.zoom(1.25)
    assert seen.canvas.view.px_per_mm == pytest.approx(1.25 * scale)
    assert seen.canvas.view.to_mm(middle) == pytest.approx(held, abs=1e-9)


# ---- selecting and pointing ----------------------------------------------------------------------------


def test_arrow_keys_go_from_span_to_span_and_round(seen: Seen) -> None:
    last = seen.session.wire.span_count - 1
    seen.canvas.setFocus()
    events.key(seen.canvas, Qt.Key.Key_Right)
    assert seen.selection.span == 0
    events.key(seen.canvas, Qt.Key.Key_Right)
    events.key(seen.canvas, Qt.Key.Key_Right)
    assert seen.selection.span == 2
    events.key(seen.canvas, Qt.Key.Key_Left)
    assert seen.selection.span == 1
    events.key(seen.canvas, Qt.Key.Key_Escape)
    assert seen.selection.span is None
    events.key(seen.canvas, Qt.Key.Key_Left)
    assert seen.selection.span == last
    events.key(seen.canvas, Qt.Key.Key_Right)
    assert seen.selection.span == 0


def test_a_click_selects_the_span_under_it_and_the_table_nothing(seen: Seen) -> None:
    for span in range(seen.session.wire.span_count):
        events.click(seen.canvas, seen.span_px(span))
        assert seen.selection.span == span
    events.click(seen.canvas, seen.empty_px())
    assert seen.selection.span is None


def test_dragging_the_table_leaves_the_selection(seen: Seen) -> None:
    events.click(seen.canvas, seen.span_px(3))
    start = seen.empty_px()
    events.drag(seen.canvas, start, start + QPointF(30, 30))
    assert seen.selection.span == 3


def test_a_straight_span_is_met_all_along(show: Show) -> None:
    seen = Seen(show, straights())
    line = seen.canvas.wire.centreline_mm(seen.session.wire.part(2))
    for share in (0.1, 0.25, 0.4, 0.6, 0.9):
        at = seen.canvas.view.to_px(complex(line[0] + share * (line[-1] - line[0])))
        events.click(seen.canvas, at)
        assert seen.selection.span == 2
        seen.selection.select(None)


def test_an_end_of_the_wire_is_no_span(show: Show) -> None:
    curve = Span(length_mm=40.0, turn_deg=60.0)
    form = Form(runs=(Run(spans=(curve,)),), start=HookEnd(inside_diameter_mm=6.0, straight_mm=8.0))
    seen = Seen(show, Design(title="Hooked", wire=BRASS, form=form))
    seen.selection.select(0)
    trace = seen.canvas.wire.trace
    tip = seen.canvas.view.to_px(complex(trace.z_mm[0]))
    events.move(seen.canvas, tip)
    assert seen.selection.sample == pytest.approx(0, abs=1e-9)
    assert "end of the wire" in seen.told[-1]
    events.click(seen.canvas, tip)
    assert seen.selection.span is None


def straights() -> Design:
    """Straight, bent, straight: long stretches that need no samples between their ends."""
    spans = (Span(length_mm=60.0), Span(length_mm=20.0, turn_deg=90.0), Span(length_mm=60.0))
    return Design(title="Straights", wire=BRASS, form=Form(runs=(Run(spans=spans),)))


@pytest.mark.parametrize("make", [lambda: make_starter("row-of-s-forms", BRASS), straights])
def test_pointing_shows_the_same_place_on_the_form_and_on_the_wire(
    show: Show, make: Callable[[], Design]
) -> None:
    seen = Seen(show, make())
    strip = WireStripView(seen.session, seen.selection)
    strip.resize(1000, 200)
    show(strip)
    y = strip.height() / 2 - 20
    spans = seen.session.evaluation.spans
    for span in range(seen.session.wire.span_count):
        for share in (0.13, 0.4, 0.5, 0.77):
            # Not at a sample: between two, on the wire.
            line = seen.canvas.wire.centreline_mm(seen.session.wire.part(span))
            place = share * (len(line) - 1)
            k = int(place)
            at = seen.canvas.view.to_px(complex(line[k] + (place - k) * (line[k + 1] - line[k])))
            events.move(seen.canvas, at)
            away = seen.pointed_px() - at
            assert np.hypot(away.x(), away.y()) < 0.5
            sample = seen.selection.sample
            assert sample is not None
            # The strip's line stands at this place of the cut wire; pointing there points at the same place.
            stock = seen.session.evaluation.stock_at_samples_mm
            x = strip.x_px(float(np.interp(sample, np.arange(len(stock)), stock)))
            x_begin, wide = strip.x_px(spans.stock_from_mm[span]), spans.stock_length_mm[span]
            assert x_begin < x < strip.x_px(spans.stock_from_mm[span] + wide)
            if make is straights and span != 1:
                assert (x - x_begin) / (strip.x_px(wide) - strip.x_px(0)) == pytest.approx(share, abs=1e-6)
            seen.selection.point_at(None)
            events.move(strip, (x, y))
            away = seen.pointed_px() - at
            assert np.hypot(away.x(), away.y()) < 0.5
    for widget in (strip, seen.canvas):
        assert not widget.grab().isNull()
    events.move(strip, (x, 5))
    assert seen.selection.sample is None


def test_leaving_points_at_nothing(seen: Seen) -> None:
    events.move(seen.canvas, seen.span_px(2))
    assert seen.selection.sample is not None
    events.move(seen.canvas, seen.empty_px())
    assert seen.selection.sample is None


def test_where_the_wire_crosses_itself_the_upper_part_is_met(show: Show) -> None:
    # After a loop of 300 degrees of radius R the wire comes down at 60 degrees over its straight beginning:
    # tan 30 deg x R before the end of that [D].
    spans = (Span(length_mm=30.0), Span(length_mm=60.0, turn_deg=300.0), Span(length_mm=40.0))
    seen = Seen(show, Design(title="Loop", wire=BRASS, form=Form(runs=(Run(spans=spans),))))
    radius = 60.0 / np.radians(300.0)
    crossing = seen.session.pose.to_table(complex(30.0 - radius / np.sqrt(3), 0.0))
    for place, span in ((crossing, 2), (crossing - seen.canvas.wire.trace.direction[0] * 6, 0)):
        at = seen.canvas.view.to_px(complex(place))
        events.move(seen.canvas, at)
        assert seen.told[-1].startswith(f"Span {span + 1}:")
        events.click(seen.canvas, at)
        assert seen.selection.span == span


def test_hovering_says_what_can_be_done(seen: Seen) -> None:
    events.move(seen.canvas, seen.span_px(2))
    assert seen.told[-1].startswith("Span 3: drag")
    left, right = seen.canvas.wire.mark_edges_mm
    events.move(seen.canvas, seen.canvas.view.to_px(complex(left[3] + right[3]) / 2))
    assert seen.told[-1].startswith("Mark 4: drag")
    events.move(seen.canvas, seen.empty_px())
    assert "wheel" in seen.told[-1]
    # Only the canvas' own cursors change; nothing is selected by looking.
    assert seen.selection.span is None
