"""The straight wire: marks and labels where they are on the cut wire, selecting, sliding, hammering."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QLabel, QWidget

from formsketch.design.edits import span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import BeadEnd, Design, Flare, Form, HookEnd, Run, Span, Wire
from formsketch.design.starters import make_starter
from formsketch.evaluation.section_at import section_at
from formsketch.ui import kept_picture, wire_strip_view
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.strip_field import DistanceField
from formsketch.ui.wire_strip_view import WireStripView
from formsketch.units import angle_text
from tests.support import events

# The offscreen platform says so of every window with a least size.
pytestmark = pytest.mark.qt_log_ignore(r"does not support propagateSizeHints\(\)")

BRASS = Wire(metal="brass-c26000", diameter_mm=1.29)
LEFT = Qt.MouseButton.LeftButton
Show = Callable[[QWidget], QWidget]


class Recorder(QPainter):
    """A painter that also keeps the texts and lines it is asked for."""

    texts: tuple[tuple[QRectF, str], ...] = ()
    lines: tuple[QLineF, ...] = ()
    rounded: tuple[QRectF, ...] = ()

    def drawRoundedRect(self, *arguments: Any) -> None:
        Recorder.rounded += (QRectF(arguments[0]),)
        super().drawRoundedRect(*arguments)

    def drawText(self, *arguments: Any) -> Any:
        if isinstance(arguments[0], QRectF):
            Recorder.texts += ((QRectF(arguments[0]), arguments[-1]),)
        return super().drawText(*arguments)

    def drawLine(self, *arguments: Any) -> None:
        if len(arguments) == 2:
            Recorder.lines += (QLineF(*arguments),)
        super().drawLine(*arguments)


class Seen:
    """A shown strip with its session and selection, and what it told."""

    def __init__(self, show: Show, design: Design, wide: int = 1000) -> None:
        self.session, self.selection = Session(design), Selection()
        self.strip = WireStripView(self.session, self.selection)
        self.told: list[str] = []
        self.strip.told.connect(self.told.append)
        self.strip.resize(wide, 200)
        show(self.strip)
        self.y = 80.0  # of the middle of the wire

    @property
    def spans(self) -> Any:
        return self.session.evaluation.spans

    def mark_px(self, mark: int) -> QPointF:
        spans = self.spans
        place = spans.stock_from_mm[mark] if mark < len(spans.stock_from_mm) else self.finish_mm
        return QPointF(self.strip.x_px(float(place)), self.y)

    @property
    def finish_mm(self) -> float:
        return float(self.spans.stock_from_mm[-1] + self.spans.stock_length_mm[-1])

    def span_px(self, span: int, share: float = 0.5) -> QPointF:
        spans = self.spans
        return QPointF(
            self.strip.x_px(float(spans.stock_from_mm[span] + share * spans.stock_length_mm[span])), self.y
        )

    def painted(self, monkeypatch: pytest.MonkeyPatch) -> tuple[list[tuple[QRectF, str]], list[QLineF]]:
        """Texts and lines of one painting."""
        with monkeypatch.context() as patch:
            for module in (wire_strip_view, kept_picture):
                patch.setattr(module, "QPainter", Recorder)
            # What is kept would be shown without being painted.
            self.strip._unbent = kept_picture.KeptPicture()
            Recorder.texts, Recorder.lines, Recorder.rounded = (), (), ()
            self.strip.grab()
        return list(Recorder.texts), list(Recorder.lines)


def hooked() -> Design:
    """Three spans, the middle one hammered, with wire for a hook before them and a bead after."""
    spans = (
        Span(length_mm=30.0, turn_deg=60.0),
        Span(length_mm=40.0, turn_deg=-90.0, flare=Flare(thickness=0.6, centre=0.4, hold=0.2)),
        Span(length_mm=25.0, turn_deg=45.0),
    )
    ends = {"start": HookEnd(inside_diameter_mm=4.0), "finish": BeadEnd(diameter_mm=3.0)}
    return Design(title="Hooked", wire=BRASS, form=Form(runs=(Run(spans=spans),), **ends))


# ---- where things lie ----------------------------------------------------------------------------------


def test_the_cut_wire_reaches_from_side_to_side_to_scale(show: Show) -> None:
    seen = Seen(show, hooked())
    cut_mm = seen.session.evaluation.cut_length_mm
    left, right = seen.strip.x_px(0.0), seen.strip.x_px(cut_mm)
    assert 0 < left < 60
    assert right == pytest.approx(1000 - left)
    assert seen.strip.x_px(cut_mm / 4) == pytest.approx(left + (right - left) / 4)


@pytest.mark.parametrize("make", [hooked, lambda: make_starter("row-of-s-forms", BRASS)])
def test_marks_and_their_labels_stand_where_the_marks_are(
    show: Show, monkeypatch: pytest.MonkeyPatch, make: Callable[[], Design]
) -> None:
    seen = Seen(show, make())
    texts, lines = seen.painted(monkeypatch)
    cut_mm = seen.session.evaluation.cut_length_mm
    places = np.unique([0.0, *seen.spans.stock_from_mm, seen.finish_mm, cut_mm])
    upright = sorted(line.x1() for line in lines if line.dx() == 0 and line.dy() == 40)
    assert upright == pytest.approx([seen.strip.x_px(float(place)) for place in places], abs=0.01)
    labels = {
        round(rect.center().x(), 2): text
        for rect, text in texts
        if rect.height() == 16 and rect.width() == 60
    }
    by_place = {f"{place:.1f}": seen.strip.x_px(float(place)) for place in places}
    assert len(labels) >= 4
    for x, text in labels.items():
        assert x == pytest.approx(by_place[text], abs=0.01)
    # Both ends are named; no two labels lie on one another.
    assert {"0.0", f"{cut_mm:.1f}"} <= set(labels.values())
    assert np.diff(sorted(labels)).min() > 30


def test_the_selected_spans_marks_are_named_first(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(show, make_starter("row-of-s-forms", BRASS, numbers={"times": 60}))
    for span in (0, 17, 61):
        seen.selection.select(span)
        texts, _ = seen.painted(monkeypatch)
        begin = float(seen.spans.stock_from_mm[span])
        assert f"{begin:.1f}" in {text for _, text in texts}


def test_tubes_and_turns_stand_under_the_middles_of_their_spans(
    show: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = Seen(show, hooked())
    texts, _ = seen.painted(monkeypatch)
    for span in range(3):
        x = seen.span_px(span).x()
        here = [text for rect, text in texts if abs(rect.center().x() - x) < 0.01]
        assert f"{seen.spans.tube_diameter_mm[span]:.1f}" in here
        turn = float(seen.spans.turn_deg[span])
        assert f"{angle_text(abs(turn))} {'left' if turn > 0 else 'right'}" in here


def test_a_wire_too_thin_to_show_says_how_much_thicker_it_is_drawn(
    show: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = "thickness drawn"
    kept: list[str] = []
    monkeypatch.setattr(
        Recorder, "drawText", lambda self, *a: kept.append(a[-1]) or QPainter.drawText(self, *a)
    )
    Seen(show, make_starter("row-of-s-forms", BRASS)).painted(monkeypatch)
    (line,) = [text for text in kept if said in text]
    # To scale the wire would be 1.29 mm x px/mm high; it is drawn 15 px high.
    seen = Seen(show, make_starter("row-of-s-forms", BRASS))
    scale = (seen.strip.x_px(100.0) - seen.strip.x_px(0.0)) / 100
    assert f"{said} {15 / (1.29 * scale):.1f} times" in line
    kept.clear()
    thick = Design(
        title="Peg",
        wire=replace(BRASS, diameter_mm=6.0),
        form=Form(runs=(Run(spans=(Span(length_mm=30.0),)),)),
    )
    Seen(show, thick).painted(monkeypatch)
    assert kept
    assert not [text for text in kept if said in text]


def test_how_thin_a_span_is_hammered_stands_under_it(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(show, hooked())
    texts, _ = seen.painted(monkeypatch)
    thick = [(rect, text) for rect, text in texts if text.endswith("thick")]
    # Only the middle span is hammered, to 0.6 of 1.29 mm.
    assert [text for _, text in thick] == ["0.77 mm thick"]
    assert thick[0][0].center().x() == pytest.approx(seen.span_px(1).x(), abs=0.01)
    circle_bottom, words = seen.y + 44 + 14, thick[0][0]
    turn = next(rect for rect, text in texts if text == "90° right")
    assert circle_bottom < turn.bottom() <= words.bottom()
    assert words.bottom() <= seen.strip.height() - 20


# ---- selecting -----------------------------------------------------------------------------------------


def test_a_click_selects_the_span_under_it(show: Show) -> None:
    seen = Seen(show, make_starter("row-of-s-forms", BRASS))
    before = design_bytes(seen.session.design)
    for span in range(seen.session.wire.span_count):
        for share in (0.3, 0.5, 0.7):
            seen.selection.select(None)
            events.click(seen.strip, seen.span_px(span, share))
            assert seen.selection.span == span
    events.click(seen.strip, (500.0, 10.0))
    assert seen.selection.span is None
    assert design_bytes(seen.session.design) == before
    assert seen.session.step_count == 0


def test_wire_of_the_ends_is_no_span(show: Show) -> None:
    seen = Seen(show, hooked())
    start_mm = seen.session.evaluation.ends[0].stock_mm
    assert start_mm > 5
    seen.selection.select(1)
    events.click(seen.strip, (seen.strip.x_px(start_mm / 2), seen.y))
    assert seen.selection.span is None
    seen.selection.select(1)
    bead_mm = (seen.finish_mm + seen.session.evaluation.cut_length_mm) / 2
    assert seen.strip.x_px(bead_mm) - seen.mark_px(3).x() > 6
    events.click(seen.strip, (seen.strip.x_px(bead_mm), seen.y))
    assert seen.selection.span is None


def test_pointing_tells_place_and_section(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(show, hooked())
    # The hold of the flare: 0.6 of the wire thick, 0.774 mm.
    events.move(seen.strip, seen.span_px(1, 0.4))
    texts, _ = seen.painted(monkeypatch)
    (told,) = [text for _, text in texts if "section" in text]
    place = seen.spans.stock_from_mm[1] + 0.4 * seen.spans.stock_length_mm[1]
    assert told.startswith(f"{place:.1f} mm from the start end")
    assert told.endswith("x 0.77 mm")
    assert "Span 2" in seen.told[-1]
    # Area of the stadium, and how hard the hammer has made it.
    sample = seen.selection.sample
    assert sample is not None
    section = section_at(seen.session.evaluation, sample)
    w, t = section.width_mm, section.thickness_mm
    (about,) = [text for _, text in texts if "mm²" in text]
    assert about.startswith(f"{t * (w - t) + np.pi * t * t / 4:.2f} mm², {section.temper}, drawn ")
    # Drawn to scale, by as much as it says.
    (drawn,) = Recorder.rounded
    assert drawn.width() / drawn.height() == pytest.approx(w / t)
    px_per_mm = (seen.strip.x_px(100.0) - seen.strip.x_px(0.0)) / 100
    assert f"drawn {drawn.width() / w / px_per_mm:.1f} times the scale" in about
    assert 0 <= drawn.top() <= drawn.bottom() <= 40
    events.move(seen.strip, (500.0, 5.0))
    assert seen.selection.sample is None


def test_the_section_of_a_span_on_edge_is_drawn_upright(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    flare = Flare(thickness=0.6, hold=0.2, face="edge")
    spans = (Span(length_mm=30.0, turn_deg=60.0, flare=flare), Span(length_mm=20.0))
    seen = Seen(show, Design(title="Edge", wire=BRASS, form=Form(runs=(Run(spans=spans),))))
    events.move(seen.strip, seen.span_px(0))
    seen.painted(monkeypatch)
    (upright,) = Recorder.rounded
    assert upright.height() > 1.5 * upright.width()
    # Where it is round it is round, at the same scale.
    events.move(seen.strip, seen.span_px(1))
    seen.painted(monkeypatch)
    (circle,) = Recorder.rounded
    assert circle.width() == pytest.approx(circle.height())
    assert upright.width() / circle.width() == pytest.approx(0.6, abs=0.01)


# ---- pulling on the straight wire ----------------------------------------------------------------------


def test_a_mark_slides_in_one_step_and_the_wire_in_all_stays(show: Show) -> None:
    seen = Seen(show, hooked())
    session = seen.session
    first, before, spans = session.design, design_bytes(session.design), seen.spans
    cut_mm = session.evaluation.cut_length_mm
    scale = (seen.strip.x_px(100.0) - seen.strip.x_px(0.0)) / 100
    start = seen.mark_px(1)
    events.pull(seen.strip, start, start + QPointF(37.5, 6.0))
    assert seen.strip.is_pulling
    assert session.step_count == 0
    events.release(seen.strip, start + QPointF(37.5, 6.0))
    after = seen.spans
    assert after.stock_from_mm[1] - spans.stock_from_mm[1] == pytest.approx(37.5 / scale, abs=1e-9)
    assert after.stock_from_mm[2] == pytest.approx(spans.stock_from_mm[2], abs=1e-9)
    assert session.evaluation.cut_length_mm == pytest.approx(cut_mm, abs=1e-9)
    assert after.turn_deg == pytest.approx(spans.turn_deg)
    assert (session.step_count, session.undo_name) == (1, "Slide mark 2")
    session.undo()
    assert session.design is first
    assert design_bytes(session.design) == before


def test_a_mark_does_not_slide_past_its_neighbour(show: Show) -> None:
    seen = Seen(show, hooked())
    design = seen.session.design
    end = seen.mark_px(0) - QPointF(9.0, 0.0)
    events.pull(seen.strip, seen.mark_px(1), end, steps=1)
    assert "past its neighbour" in seen.told[-1]
    events.release(seen.strip, end)
    assert seen.session.design is design
    assert seen.session.step_count == 0


def test_a_zone_is_pulled_thinner_and_keeps_its_place(show: Show) -> None:
    seen = Seen(show, hooked())
    session, before = seen.session, seen.spans
    start = seen.span_px(1, 0.4) - QPointF(0.0, 4.0)
    events.drag(seen.strip, start, start + QPointF(0.0, 1.5) + QPointF(2.0, 1.0))
    # The wire is drawn 15 px high; both its faces go with the pointer.
    thinner_mm = 2 * 2.5 / (15 / 1.29)
    assert seen.spans.thinnest_mm[1] == pytest.approx(before.thinnest_mm[1] - thinner_mm, abs=1e-9)
    flare = span_at(session.design, session.wire.address(1)).flare
    assert flare is not None
    assert (flare.centre, flare.hold) == (0.4, 0.2)
    assert session.undo_name == "Hammer span 2"


def test_a_zone_pulled_away_and_back_in_one_pull_is_what_it_was(show: Show) -> None:
    seen = Seen(show, hooked())
    session, design = seen.session, seen.session.design
    start = seen.span_px(1, 0.4) - QPointF(0.0, 4.0)
    events.pull(seen.strip, start, start - QPointF(0.0, 25.0))
    assert span_at(session.design, session.wire.address(1)).flare is None
    events.move(seen.strip, start, LEFT)
    events.release(seen.strip, start)
    flare = span_at(session.design, session.wire.address(1)).flare
    assert flare is not None
    assert replace(flare, thickness=0.6) == span_at(design, session.wire.address(1)).flare


@pytest.mark.parametrize("what", ["mark", "zone"])
def test_escape_puts_back_and_the_rest_of_the_drag_does_nothing(show: Show, what: str) -> None:
    seen = Seen(show, hooked())
    session = seen.session
    design, pose = session.design, session.pose
    start = seen.mark_px(1) if what == "mark" else seen.span_px(1, 0.4) - QPointF(0.0, 4.0)
    events.pull(seen.strip, start, start + QPointF(12.0, 3.0))
    assert session.design is not design
    events.key(seen.strip, Qt.Key.Key_Escape)
    for by in (QPointF(30.0, 5.0), QPointF(-14.0, -9.0)):
        events.move(seen.strip, start + by, LEFT)
        assert session.design is design
    events.release(seen.strip, start)
    assert (session.design, session.pose, session.step_count) == (design, pose, 0)
    assert session.design is design


def test_another_button_does_not_end_a_pull(show: Show) -> None:
    seen = Seen(show, hooked())
    start = seen.mark_px(1)
    events.pull(seen.strip, start, start + QPointF(20.0, 0.0))
    events.press(seen.strip, start, Qt.MouseButton.RightButton)
    events.release(seen.strip, start, Qt.MouseButton.RightButton)
    assert seen.strip.is_pulling
    events.release(seen.strip, start + QPointF(20.0, 0.0))
    assert seen.session.step_count == 1


def test_what_was_pressed_is_forgotten_when_the_design_changes_under_it(show: Show) -> None:
    seen = Seen(show, make_starter("row-of-s-forms", BRASS))
    start = seen.mark_px(seen.session.wire.span_count)
    events.press(seen.strip, start)
    seen.session.change("Hoop", make_starter("hoop", BRASS))
    hoop = seen.session.design
    events.move(seen.strip, start + QPointF(-20.0, 0.0), LEFT)
    events.release(seen.strip, start + QPointF(-20.0, 0.0))
    assert seen.session.design is hoop


# ---- a distance typed ----------------------------------------------------------------------------------


def label_px(seen: Seen, mark: int) -> QPointF:
    """On a mark's label, beside its line."""
    return seen.mark_px(mark) + QPointF(9.0, -32.0)


def open_field(seen: Seen, mark: int, how: str = "double click") -> DistanceField:
    seen.strip.activateWindow()
    if how == "double click":
        events.double_click(seen.strip, label_px(seen, mark))
    else:
        seen.strip.setFocus()
        for _ in range(mark + 1):
            events.key(seen.strip, Qt.Key.Key_Right)
        events.key(seen.strip, Qt.Key.Key_Return)
    field = seen.strip.typed.field
    assert field is not None
    assert field.isVisible()
    return field


def explained(seen: Seen) -> str:
    labels = [label for label in seen.strip.findChildren(QLabel) if label.isVisible()]
    return " ".join(label.text() for label in labels)


def type_in(field: DistanceField, text: str, key: Qt.Key = Qt.Key.Key_Return) -> None:
    """What the field opens with is selected, so that typing takes its place."""
    events.keys(field, text)
    events.key(field, key)


@pytest.mark.parametrize("how", ["double click", "keys"])
@pytest.mark.parametrize(("text", "mm"), [("45.5", 45.5), ("1 3/4 in", 44.45), ("1.5 in + 4", 42.1)])
def test_a_typed_distance_slides_the_mark_as_dragging_does(
    show: Show, how: str, text: str, mm: float
) -> None:
    seen = Seen(show, hooked())
    session, first, before = seen.session, seen.session.design, seen.spans
    field = open_field(seen, 1, how)
    assert field.text() == f"{before.stock_from_mm[1]:.2f} mm"
    assert field.selectedText() == field.text()
    type_in(field, text)
    assert seen.strip.typed.field is None
    assert seen.spans.stock_from_mm[1] == pytest.approx(mm, abs=1e-9)
    assert seen.spans.stock_from_mm[[0, 2]] == pytest.approx(before.stock_from_mm[[0, 2]], abs=1e-9)
    assert seen.spans.turn_deg == pytest.approx(before.turn_deg)
    assert (session.step_count, session.undo_name) == (1, "Slide mark 2")
    typed = session.design
    session.undo()
    assert session.design is first
    # Dragged by the same it is the same form.
    by_px = seen.strip.x_px(mm) - seen.mark_px(1).x()
    events.drag(seen.strip, seen.mark_px(1), seen.mark_px(1) + QPointF(by_px, 0.0))
    for one, other in zip(session.design.form.runs[0].spans, typed.form.runs[0].spans, strict=True):
        assert one.length_mm == pytest.approx(other.length_mm, abs=1e-9)


def test_a_plus_types_the_distance_from_the_mark_before(show: Show) -> None:
    seen = Seen(show, hooked())
    type_in(open_field(seen, 2), "+ 25 mm")
    assert seen.spans.stock_length_mm[1] == pytest.approx(25.0, abs=1e-9)
    assert seen.session.undo_name == "Slide mark 3"


def test_the_last_mark_makes_the_wire_longer(show: Show) -> None:
    seen = Seen(show, hooked())
    cut_mm, finish_mm = seen.session.evaluation.cut_length_mm, seen.finish_mm
    type_in(open_field(seen, 3), "120")
    assert seen.finish_mm == pytest.approx(120.0, abs=1e-9)
    assert seen.session.evaluation.cut_length_mm == pytest.approx(cut_mm + 120.0 - finish_mm)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("far", "far"),
        ("1/2", "unit"),
        ("30 deg", "deg"),
        ("500", "past its neighbour"),
        ("1", "past its neighbour"),
    ],
)
def test_a_wrong_distance_is_explained_in_place_and_escape_leaves(show: Show, text: str, said: str) -> None:
    seen = Seen(show, hooked())
    first = seen.session.design
    field = open_field(seen, 1)
    type_in(field, text)
    assert seen.strip.typed.field is field
    assert (field.text(), field.property("refused")) == (text, True)
    assert said in explained(seen)
    assert seen.told[-1] == explained(seen)
    assert seen.strip.rect().contains(next(iter(seen.strip.findChildren(QLabel))).geometry())
    events.key(field, Qt.Key.Key_Escape)
    assert seen.strip.typed.field is None
    assert explained(seen) == ""
    assert seen.session.design is first
    assert seen.session.step_count == 0
    assert seen.strip.hasFocus()


def test_escape_leaves_a_distance_that_was_typed(show: Show) -> None:
    seen = Seen(show, hooked())
    first = seen.session.design
    type_in(open_field(seen, 1), "44", Qt.Key.Key_Escape)
    assert seen.strip.typed.field is None
    assert seen.session.design is first


def test_enter_without_typing_makes_no_step(show: Show) -> None:
    seen = Seen(show, hooked())
    events.key(open_field(seen, 1), Qt.Key.Key_Return)
    assert seen.strip.typed.field is None
    assert seen.session.step_count == 0


def test_tab_takes_the_distance_and_goes_on_to_the_next_mark(show: Show) -> None:
    seen = Seen(show, hooked())
    type_in(open_field(seen, 1), "44", Qt.Key.Key_Tab)
    assert seen.spans.stock_from_mm[1] == pytest.approx(44.0)
    field = seen.strip.typed.field
    assert field is not None
    assert field.hasFocus()
    assert field.text() == f"{seen.spans.stock_from_mm[2]:.2f} mm"
    type_in(field, "80", Qt.Key.Key_Backtab)
    assert seen.spans.stock_from_mm[2] == pytest.approx(80.0)
    assert seen.strip.typed.field is not None
    assert seen.strip.typed.field.text() == "44.00 mm"
    assert seen.session.step_names[1:] == ["Slide mark 2", "Slide mark 3"]


def test_going_elsewhere_takes_what_was_typed_once(show: Show) -> None:
    seen = Seen(show, hooked())
    field = open_field(seen, 1)
    events.keys(field, "44")
    seen.strip.setFocus()
    assert seen.strip.typed.field is None
    assert seen.spans.stock_from_mm[1] == pytest.approx(44.0)
    assert seen.session.step_count == 1


def test_the_first_mark_is_where_the_end_leaves_it(show: Show) -> None:
    seen = Seen(show, hooked())
    events.double_click(seen.strip, label_px(seen, 0))
    assert seen.strip.typed.field is None
    assert "first mark" in " ".join(seen.told[-2:])


def test_a_mark_in_a_repeat_comes_to_where_it_was_typed(show: Show) -> None:
    seen = Seen(show, make_starter("row-of-s-forms", BRASS))
    marks = len(seen.spans.stock_from_mm)
    seen.selection.select(4)
    type_in(open_field(seen, 4), "70")
    assert len(seen.spans.stock_from_mm) == marks
    assert seen.spans.stock_from_mm[4] == pytest.approx(70.0, abs=1e-9)
    assert seen.session.step_count == 1


def test_the_field_is_left_when_the_design_changes(show: Show) -> None:
    seen = Seen(show, hooked())
    open_field(seen, 2)
    seen.session.change("Hoop", make_starter("hoop", BRASS))
    assert seen.strip.typed.field is None
    assert seen.session.step_count == 1


def test_keys_go_from_mark_to_mark_and_it_is_said(show: Show) -> None:
    seen = Seen(show, hooked())
    seen.strip.activateWindow()
    seen.strip.setFocus()
    events.key(seen.strip, Qt.Key.Key_Left)
    assert f"Mark 4 of 4, {seen.finish_mm:.1f} mm from the start end" in seen.strip.accessibleName()
    events.key(seen.strip, Qt.Key.Key_Right)
    assert "Mark 1 of 4" in seen.strip.accessibleName()
    assert "Enter types its distance" in seen.told[-1]
    events.key(seen.strip, Qt.Key.Key_Escape)
    assert seen.strip.accessibleName() == "The straight wire"


def test_the_mark_that_has_the_focus_is_shown(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = Seen(show, hooked())
    seen.strip.activateWindow()
    seen.strip.setFocus()
    events.key(seen.strip, Qt.Key.Key_Right)
    events.key(seen.strip, Qt.Key.Key_Right)
    seen.painted(monkeypatch)
    (ring,) = Recorder.rounded
    assert ring.center().x() == pytest.approx(seen.mark_px(1).x(), abs=0.01)
