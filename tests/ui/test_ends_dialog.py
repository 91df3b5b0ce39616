"""Choosing ends in a real window, by mouse and keys: kinds, numbers, the pair, pictures and cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QDialogButtonBox, QDoubleSpinBox, QLabel

from formsketch.design.model import (
    Design,
    DrilledEnd,
    EarWireEnd,
    EyeEnd,
    Form,
    HookEnd,
    PlainEnd,
    RoundedEnd,
    Run,
    SHookEnd,
    Span,
    Wire,
)
from formsketch.evaluation.evaluate import evaluate
from formsketch.forging.end_defaults import default_end, fitting_eye
from formsketch.forging.ends import end_piece
from formsketch.ui.end_choice import KINDS, PAIR, EndChoice
from formsketch.ui.ends_dialog import EndsDialog
from formsketch.ui.help_bench import ENDS
from formsketch.ui.picture import level_wire
from formsketch.ui.theme import use_appearance
from formsketch.ui.window import Window
from tests.support.asked import Asked
from tests.support.events import click, key, keys

pytestmark = pytest.mark.qt_log_ignore(r"does not support (propagateSizeHints|raise|grabbing the keyboard)")
CONTROL = Qt.KeyboardModifier.ControlModifier
BAR = Design(
    title="Bar",
    wire=Wire(metal="sterling-925", diameter_mm=1.29),
    form=Form(runs=(Run(spans=(Span(length_mm=40.0, turn_deg=30.0),)),)),
)


@pytest.fixture(autouse=True)
def quick_clicks(qapp: QApplication) -> Iterator[None]:
    """A list that was only just opened takes a click for the second of two: nobody waits for that here."""
    usual = qapp.doubleClickInterval()
    qapp.setDoubleClickInterval(1)
    yield
    qapp.setDoubleClickInterval(usual)


def choose(box: QComboBox, word: str) -> None:
    """Open the list and click on one of its lines."""
    click(box, QPointF(box.rect().center()))
    QApplication.processEvents()
    row = box.findText(word)
    assert row >= 0, word
    view = box.view()
    assert view.isVisible()
    for _ in range(10):
        QTest.qWait(5)
        click(view.viewport(), QPointF(view.visualRect(box.model().index(row, 0)).center()))
        QApplication.processEvents()
        if not view.isVisible():
            break
    assert not view.isVisible()


def type_into(field: QDoubleSpinBox, text: str) -> None:
    field.setFocus()
    field.selectAll()
    keys(field, text)
    key(field, Qt.Key.Key_Tab)


def press_use(dialog: EndsDialog) -> None:
    box = dialog.findChild(QDialogButtonBox)
    button = box.button(QDialogButtonBox.StandardButton.Ok)
    click(button, QPointF(button.rect().center()))


def field_of(choice: EndChoice, name: str) -> QDoubleSpinBox:
    return choice._fields[choice.kind.currentIndex()][name]


def said(dialog: EndsDialog, name: str) -> str:
    """What labels of this kind say, as far as they are shown."""
    labels = dialog.findChildren(QLabel)
    return " ".join(each.text() for each in labels if each.objectName() == name and each.isVisible())


def test_a_kind_is_chosen_by_mouse_its_default_edited_and_undone(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(BAR)
    before = evaluate(BAR).cut_length_mm

    def act(dialog: EndsDialog) -> None:
        choose(dialog.start_choice.kind, "S-hook")
        assert dialog.start_choice.end() == default_end(SHookEnd, 1.29)
        type_into(field_of(dialog.start_choice, "curl_diameter_mm"), "2.1")
        choose(dialog.finish_choice.kind, "rounded")
        press_use(dialog)

    asked.drive(EndsDialog, act)
    key(window.canvas, Qt.Key.Key_E, CONTROL)
    QApplication.processEvents()
    form = window.session.design.form
    assert form.start == replace(default_end(SHookEnd, 1.29), curl_diameter_mm=2.1)
    assert form.finish == RoundedEnd()
    assert (window.session.step_count, window.session.undo_name) == (1, "Ends")
    assert window.session.evaluation.cut_length_mm > before
    assert not window.grab().isNull()
    window.activateWindow()
    QApplication.processEvents()
    key(window.canvas, Qt.Key.Key_Z, CONTROL)
    assert window.session.design is BAR
    key(window.canvas, Qt.Key.Key_Z, CONTROL | Qt.KeyboardModifier.ShiftModifier)
    assert window.session.design.form == form


@pytest.mark.parametrize("choice", KINDS, ids=lambda choice: choice.word)
def test_every_kind_shows_its_picture_and_its_words(
    choice: object, show: Callable[[EndsDialog], EndsDialog]
) -> None:
    dialog = show(EndsDialog(None, BAR))
    word = choice.word  # type: ignore[attr-defined]
    plain = pixels(dialog.finish_choice)
    choose(dialog.finish_choice.kind, word)
    piece = evaluate(replace(BAR, form=replace(BAR.form, finish=dialog.finish_choice.end()))).ends[1]
    assert piece.text in said(dialog, "soft").lower() or piece.text.lower() in said(dialog, "soft").lower()
    assert piece.text == dialog.finish_choice.picture.accessibleDescription()
    assert (pixels(dialog.finish_choice) != plain).any() == (word != "plain")
    # Each number has its own name for whoever hears it.
    names = [field.accessibleName() for field in dialog.finish_choice.findChildren(QDoubleSpinBox)]
    assert all(names) and len(set(names)) == len(names)


def pixels(choice: EndChoice) -> np.ndarray:
    image = choice.picture.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    return np.frombuffer(image.constBits(), np.uint32).copy()


def test_the_pair_sets_a_hook_and_an_eye_that_fits(show: Callable[[EndsDialog], EndsDialog]) -> None:
    dialog = show(EndsDialog(None, BAR))
    choose(dialog.finish_choice.kind, PAIR)
    hook = default_end(HookEnd, 1.29)
    assert isinstance(hook, HookEnd)
    assert dialog.finish_choice.end() == hook
    assert dialog.start_choice.end() == fitting_eye(hook, 1.29)
    # A bead on the hook that does not go through is said at once; the pair made anew fits it.
    type_into(field_of(dialog.finish_choice, "bead_diameter_mm"), "3")
    assert "does not go through the eye" in said(dialog, "caution")
    choose(dialog.finish_choice.kind, PAIR)
    assert dialog.finish_choice.end() == replace(hook, bead_diameter_mm=3.0)
    assert dialog.start_choice.end() == fitting_eye(replace(hook, bead_diameter_mm=3.0), 1.29)
    assert "does not go through" not in said(dialog, "caution")
    # A twisted hook stays one.
    choose(dialog.finish_choice.kind, "twisted hook")
    choose(dialog.finish_choice.kind, PAIR)
    assert dialog.finish_choice.kind.currentText() == "twisted hook"
    assert dialog.finish_choice.end().twist_deg == 90


def test_an_end_that_cannot_be_is_explained_as_it_is_typed(show: Callable[[EndsDialog], EndsDialog]) -> None:
    dialog = show(EndsDialog(None, BAR))
    choose(dialog.start_choice.kind, "ear wire")
    type_into(field_of(dialog.start_choice, "diameter_mm"), "1.5")
    assert "no thicker than the 1.29 mm wire" in said(dialog, "caution")
    press_use(dialog)
    assert dialog.isVisible() and dialog.start == PlainEnd()
    type_into(field_of(dialog.start_choice, "diameter_mm"), "0.9")
    assert not said(dialog, "caution")
    press_use(dialog)
    assert not dialog.isVisible()
    assert isinstance(dialog.start, EarWireEnd) and dialog.start.diameter_mm == 0.9


def test_too_little_metal_round_a_hole_is_cautioned_of(show: Callable[[EndsDialog], EndsDialog]) -> None:
    dialog = show(EndsDialog(None, BAR))
    choose(dialog.start_choice.kind, "drilled")
    assert not said(dialog, "caution") and "punch the place first" in said(dialog, "soft")
    type_into(field_of(dialog.start_choice, "thickness"), "100")
    assert dialog.start_choice.end().thickness == 1.0
    assert "metal on each side" in said(dialog, "caution")


def test_numbers_kept_finer_than_the_fields_show_them(show: Callable[[EndsDialog], EndsDialog]) -> None:
    fine = DrilledEnd(hole_diameter_mm=0.8123, thickness=0.43217, length_mm=4.04)
    dialog = show(EndsDialog(None, replace(BAR, form=replace(BAR.form, start=fine, finish=EyeEnd(
        inside_diameter_mm=2.2222, side="right")))))  # fmt: skip
    assert dialog.start_choice.kind.currentText() == "drilled"
    press_use(dialog)
    assert dialog.start == fine
    assert dialog.finish == EyeEnd(inside_diameter_mm=2.2222, side="right")


@pytest.mark.parametrize("appearance", ["light", "dark"])
def test_a_hole_shows_the_paper_and_a_rounded_tip_is_metal(
    open_window: Callable[..., Window], qapp: QApplication, appearance: str
) -> None:
    drilled = DrilledEnd(hole_diameter_mm=1.4, from_end_mm=1.5, length_mm=6.0, thickness=0.4)
    window = open_window(replace(BAR, form=replace(BAR.form, start=RoundedEnd(), finish=drilled)))
    use_appearance(qapp, appearance)
    canvas = window.canvas
    canvas.fit()
    QApplication.processEvents()
    ratio = canvas.devicePixelRatioF()
    image = canvas.grab().toImage()
    paper = image.pixelColor(round(ratio * canvas.width() / 2), round(ratio * canvas.height() * 0.93))
    wire = canvas.wire
    (hole,) = wire.holes

    def colour(at_mm: complex) -> object:
        at = canvas.view.to_px(at_mm) * ratio
        return image.pixelColor(round(at.x()), round(at.y()))

    assert colour(hole.centre_mm) == paper
    beside = hole.centre_mm + 1j * wire.trace.direction[-1] * (hole.radius_mm + 0.4)
    assert colour(beside) != paper
    # Half-way into the half ball beyond the start mark.
    tip = complex(wire.trace.z_mm[0]) - complex(wire.trace.direction[0]) * 0.3
    assert colour(tip) != paper
    assert QRectF(canvas.rect()).contains(canvas.view.to_px(tip))
    assert level_wire(wire.evaluation).bounds_mm[0] < -0.6


def test_the_worked_example_of_the_help_is_what_the_program_says() -> None:
    hook = HookEnd(inside_diameter_mm=4.0, turn_deg=200.0, straight_mm=2.0)
    bare, beaded = (end_piece(end, 1.0).stock_mm for end in (hook, replace(hook, bead_diameter_mm=2.0)))
    assert f"<b>{bare:.2f} mm</b>" in ENDS
    assert f"<b>{beaded - bare:.2f} mm</b>" in ENDS
