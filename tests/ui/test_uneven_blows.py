"""The dialog 'Uneven blows': real keys and clicks, the form shown at once, one step or none."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QLabel, QPushButton

from formsketch.design.edits import SpanAddress, span_at
from formsketch.design.file_format import design_bytes
from formsketch.design.model import Design, Flare, Form, Run, Span
from formsketch.ui.uneven_blows_dialog import UnevenBlowsDialog
from formsketch.ui.window import Window
from formsketch.units import angle_text
from tests.support.asked import Asked, trigger
from tests.support.events import click, key, keys
from tests.ui.conftest import BRASS

FIRST = SpanAddress(0, 0)


def design(turn_deg: float = 200.0, flare: Flare | None = None, over: bool = False) -> Design:
    span = Span(
        length_mm=30.0, turn_deg=turn_deg, turned_over=over, flare=flare or Flare(thickness=0.6, centre=0.4)
    )
    return Design(title="Loop", wire=BRASS, form=Form(runs=(Run(spans=(span, Span(length_mm=15.0))),)))


@pytest.fixture
def window(open_window: Callable[..., Window]) -> Window:
    shown = open_window(design())
    shown.selection.select(0)
    return shown


def type_share(dialog: UnevenBlowsDialog, text: str) -> None:
    dialog.share.setFocus()
    dialog.share.selectAll()
    keys(dialog.share, text)
    key(dialog.share, Qt.Key.Key_Tab)
    QApplication.processEvents()


def value(dialog: UnevenBlowsDialog, label: str) -> str:
    """What stands beside a label."""
    labels = dialog.findChildren(QLabel)
    return labels[[one.text() for one in labels].index(label) + 1].text()


def button(dialog: UnevenBlowsDialog, which: QDialogButtonBox.StandardButton) -> QPushButton:
    found = dialog.findChild(QDialogButtonBox)
    assert isinstance(found, QDialogButtonBox)
    return found.button(which)


def test_keeping_the_bends_the_form_tightens_at_once_and_esc_puts_it_back(
    window: Window, asked: Asked
) -> None:
    session = window.session
    before, pose, steps = session.design, session.pose, session.step_count
    bent = float(session.evaluation.spans.as_bent_turn_deg[0])

    def act(dialog: UnevenBlowsDialog) -> None:
        click(dialog.keep_bends, (8.0, dialog.keep_bends.height() / 2))
        assert dialog.keep_bends.isChecked()
        type_share(dialog, "12")
        spans = session.evaluation.spans
        assert spans.turn_deg[0] > 205
        assert spans.as_bent_turn_deg[0] == pytest.approx(bent, rel=1e-12)
        assert value(dialog, "Bend to, before hammering") == "200° left"
        assert value(dialog, "Finished turn") == f"{angle_text(float(spans.turn_deg[0]))} left"
        # 0.4 of 1.29 mm deep, 12 % more and less: 1.29 (1 - 0.4 x 1.12) and 1.29 (1 - 0.4 x 0.88).
        assert value(dialog, "Outer edge") == "0.71 mm"
        assert value(dialog, "Inner edge") == "0.84 mm"
        key(dialog, Qt.Key.Key_Escape)

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    assert session.design is before
    assert session.pose == pose
    assert (session.step_count, session.undo_name) == (steps, "")


def test_keeping_the_form_is_one_step_that_undo_takes_back(window: Window, asked: Asked) -> None:
    session, data = window.session, design_bytes(window.session.design)
    place = session.pose.to_table(session.wire.mark_mm(2))

    def act(dialog: UnevenBlowsDialog) -> None:
        type_share(dialog, "5")
        type_share(dialog, "15")
        assert value(dialog, "Finished turn") == "200° left"
        assert value(dialog, "Tube") != ""
        click(button(dialog, QDialogButtonBox.StandardButton.Ok), (10.0, 10.0))

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    written = span_at(session.design, FIRST)
    assert written.flare == Flare(thickness=0.6, centre=0.4, bias=0.15)
    assert (written.turn_deg, written.skew_deg) == (200.0, 0.0)
    assert session.evaluation.spans.as_bent_turn_deg[0] < 190
    assert (session.step_count, session.undo_name) == (1, "Uneven blows on span 1")
    assert np.abs(session.pose.to_table(session.wire.mark_mm(2)) - place) < 1e-9
    session.undo()
    assert design_bytes(session.design) == data


@pytest.mark.parametrize(
    ("turn_deg", "over", "sign"), [(200.0, False, 1), (-200.0, False, -1), (200.0, True, 1)]
)
def test_outer_is_the_outside_of_the_bend_as_it_lies(
    open_window: Callable[..., Window], asked: Asked, turn_deg: float, over: bool, sign: int
) -> None:
    window = open_window(design(turn_deg, over=over))
    window.selection.select(0)

    def act(dialog: UnevenBlowsDialog) -> None:
        type_share(dialog, "10")
        dialog.accept()

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    spans, flare = window.session.evaluation.spans, span_at(window.session.design, FIRST).flare
    assert flare is not None and flare.bias == pytest.approx(sign * 0.1)
    assert spans.outer_edge_mm[0] < spans.inner_edge_mm[0]
    assert abs(spans.as_bent_turn_deg[0]) < 200


def test_inner_edge_by_keys_opens_the_bend(window: Window, asked: Asked) -> None:
    def act(dialog: UnevenBlowsDialog) -> None:
        dialog.edge.setFocus()
        key(dialog.edge, Qt.Key.Key_Down)
        click(dialog.keep_bends, (8.0, dialog.keep_bends.height() / 2))
        type_share(dialog, "10")
        dialog.accept()

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    assert window.session.evaluation.spans.turn_deg[0] < 195
    assert window.session.evaluation.spans.as_bent_turn_deg[0] == pytest.approx(200.0, rel=1e-12)


def test_straight_spans_have_a_right_and_a_left_edge(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(design(0.0))
    window.selection.select(0)

    def act(dialog: UnevenBlowsDialog) -> None:
        assert [dialog.edge.itemText(i) for i in range(2)] == ["right edge", "left edge"]
        type_share(dialog, "10")
        assert value(dialog, "Right edge") < value(dialog, "Left edge")
        click(dialog.keep_bends, (8.0, dialog.keep_bends.height() / 2))
        QApplication.processEvents()
        # Heavier on the right the wire turns left, away from the blows; the edges keep their names.
        assert window.session.evaluation.spans.turn_deg[0] > 1
        assert value(dialog, "Right edge") < value(dialog, "Left edge")
        dialog.reject()

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")


def test_what_cannot_be_hammered_is_said_and_not_used(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(design(flare=Flare(thickness=0.4)))
    window.selection.select(0)
    before = window.session.design

    def act(dialog: UnevenBlowsDialog) -> None:
        type_share(dialog, "90")
        use = button(dialog, QDialogButtonBox.StandardButton.Ok)
        assert not use.isEnabled()
        assert any(
            "heavier edge" in label.text() for label in dialog.findChildren(QLabel) if label.isVisible()
        )
        assert window.session.design is before
        type_share(dialog, "10")
        assert use.isEnabled()
        assert window.session.design is not before
        key(dialog, Qt.Key.Key_Escape)

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    assert window.session.design is before


def test_opened_and_used_as_it_stands_it_changes_nothing(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(design(flare=Flare(thickness=0.6, bias=-0.1234567)))
    window.selection.select(0)
    before = window.session.design

    def act(dialog: UnevenBlowsDialog) -> None:
        assert dialog.edge.currentText() == "inner edge"
        click(dialog.keep_bends, (8.0, dialog.keep_bends.height() / 2))
        click(dialog.keep_form, (8.0, dialog.keep_form.height() / 2))
        dialog.accept()

    asked.drive(UnevenBlowsDialog, act)
    trigger(window, "uneven_blows")
    assert window.session.design is before
    assert window.session.step_count == 0


def test_on_edge_it_is_refused_and_unhammered_it_cannot_be_chosen(
    open_window: Callable[..., Window], asked: Asked
) -> None:
    window = open_window(design(flare=Flare(thickness=0.6, face="edge")))
    window.selection.select(0)
    trigger(window, "uneven_blows")
    assert "on edge" in asked.explained[-1]
    window.selection.select(1)
    QApplication.processEvents()
    window.refresh_commands()
    assert not window.actions_by_name["uneven_blows"].isEnabled()
