"""Uneven blows on a span: heavier on one edge, with the finished form or the bends kept, shown at once."""

from __future__ import annotations

import math

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QLabel,
    QLayout,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.tubes import load_tubes, nearest_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.design.edits import span_at
from formsketch.errors import FormSketchError
from formsketch.evaluation.uneven import turn_gained_band_deg
from formsketch.fitting.uneven_blows import hammer_unevenly
from formsketch.geometry.chain import STRAIGHT_TURN_RAD
from formsketch.ui.dialogs import accept_buttons
from formsketch.ui.fields import NumberGroup
from formsketch.ui.session import Session
from formsketch.units import angle_text, length_text

_MOST_PERCENT, _STEP_PERCENT = 100.0, 5.0
# Room for a caution of three lines.
_CAUTION_PX = 72
_SIDES = ("right", "left")


class UnevenBlowsDialog(QDialog):
    """Asks how much heavier the blows are on which edge of a span, and previews it in the session.

    Whoever opens it commits or cancels what is previewed. Raises `EditRefused` for a span that cannot be
    hammered unevenly.
    """

    def __init__(self, parent: QWidget | None, session: Session, span: int) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"Uneven blows on span {span + 1}")
        self._session, self._span, self._before = session, span, session.wire
        chain, part = self._before.chain, self._before.part(span)
        turn, side = float(chain.turn_rad[part]), float(chain.side[part])
        straight = abs(turn) <= STRAIGHT_TURN_RAD
        self._edges = _SIDES if straight else ("outer", "inner")
        # A bias counts to the wire's right, before any turning over.
        self._sign = side if straight or turn > 0 else -side
        flare = span_at(self._before.design, self._before.address(span)).flare
        self._bias = 0.0 if flare is None else flare.bias
        hammer_unevenly(self._before, span, self._bias, keep_bends=False)
        self._build()
        self._show_numbers()

    def _build(self) -> None:
        self.edge = QComboBox()
        self.edge.addItems([f"{name} edge" for name in self._edges])
        self.edge.setCurrentIndex(int(self._sign * self._bias < 0))
        self.share = QDoubleSpinBox()
        self.share.setRange(0.0, _MOST_PERCENT)
        self.share.setDecimals(1)
        self.share.setSingleStep(_STEP_PERCENT)
        self.share.setSuffix(" %")
        self.share.setValue(100 * abs(self._bias))
        self.share.setToolTip(
            "How much deeper the blows go at that edge than in the middle; at the other edge they go as much "
            "less deep."
        )
        self._as_shown = self.share.value()
        self.keep_form = QRadioButton("Keep the finished form: bend less, or more, before hammering")
        self.keep_bends = QRadioButton("Keep the bends: the form tightens or opens under the hammer")
        self.keep_form.setChecked(True)
        form = QFormLayout()
        form.addRow("Heavier on the", self.edge)
        form.addRow("By", self.share)
        self._fault = QLabel()
        self._fault.setObjectName("caution")
        self._fault.setWordWrap(True)
        buttons = accept_buttons(self)
        self._use = buttons.button(QDialogButtonBox.StandardButton.Ok)
        column = QVBoxLayout(self)
        column.addLayout(form)
        column.addWidget(self.keep_form)
        column.addWidget(self.keep_bends)
        column.addSpacing(8)
        column.addWidget(self._numbers())
        column.addWidget(self._fault)
        column.addStretch(1)
        column.addWidget(buttons)
        # A caution that comes and goes finds room, and the window stays as large as it is.
        column.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        self.resize(480, column.sizeHint().height() + _CAUTION_PX)
        self.edge.currentIndexChanged.connect(self._preview)
        self.share.valueChanged.connect(self._preview)
        self.keep_bends.toggled.connect(self._preview)
        self.share.setFocus()

    def _numbers(self) -> NumberGroup:
        numbers = NumberGroup("At the bench")
        self._outer, self._inner = (
            numbers.add_value(
                f"{name.capitalize()} edge", "At the thinnest place, before it is rounded over."
            )
            for name in self._edges
        )
        self._bend = numbers.add_value("Bend to, before hammering", "How far to bend the round wire.")
        self._tube = numbers.add_value("Tube")
        self._gained = numbers.add_value(
            "The blows add", "Worked out from the spread, not measured; the range is that of the spread."
        )
        self._turns = numbers.add_value("Finished turn")
        return numbers

    @property
    def bias(self) -> float:
        """The bias asked for; what the design holds, to the last digit, where the share was not changed."""
        share = abs(self._bias) if self.share.value() == self._as_shown else self.share.value() / 100
        outer = self.edge.currentIndex() == 0
        return self._sign * (share if outer else -share) + 0.0

    def _preview(self) -> None:
        """Show what is asked for on the form, or say why it cannot be."""
        try:
            pulled = hammer_unevenly(self._before, self._span, self.bias, self.keep_bends.isChecked())
            self._session.preview(pulled.design, pulled.kept_mark)
        except FormSketchError as fault:
            self._session.cancel()
            self._say(str(fault))
            self._use.setEnabled(False)
            return
        self._use.setEnabled(True)
        self._show_numbers()

    def _show_numbers(self) -> None:
        e, i = self._session.evaluation, self._span
        spans = e.spans
        right = bool(e.as_bent.outer_is_right[i])
        edges = float(spans.outer_edge_mm[i]), float(spans.inner_edge_mm[i])
        # The edges are called as they were when the dialog opened, though the bend may have changed side.
        called_right = self._before.chain.side[self._before.part(i)] * self._sign > 0
        outer, inner = edges if right == called_right else edges[::-1]
        self._outer.show(length_text(outer))
        self._inner.show(length_text(inner))
        self._bend.show(_side_text(float(spans.as_bent_turn_deg[i])))
        self._turns.show(_side_text(float(spans.turn_deg[i])))
        low, high = sorted(abs(turn_deg) for turn_deg in turn_gained_band_deg(e, i))
        gained = math.degrees(float(e.as_bent.turn_gained_rad[i]))
        self._gained.show(_side_text(gained), f"{angle_text(low)} to {angle_text(high)}" if gained else "")
        self._show_tube(float(spans.tube_diameter_mm[i]), math.isfinite(float(spans.as_bent_radius_mm[i])))
        about = [c for c in e.cautions if c.code in ("uneven_beyond_model", "sharp_edge") and i in c.spans]
        self._say(" ".join(c.message for c in about))

    def _say(self, words: str) -> None:
        self._fault.setText(words)
        self._fault.setVisible(bool(words))

    def _show_tube(self, tube_mm: float, bent: bool) -> None:
        if math.isfinite(tube_mm):
            nearest = nearest_tubes(tube_mm, load_tubes(user_tubes_file()), 1)
            self._tube.show(length_text(tube_mm), nearest[0].label if nearest else "")
        else:
            self._tube.show("none so tight" if bent else "straight")


def _side_text(turn_deg: float) -> str:
    """How far to which side."""
    text = angle_text(abs(turn_deg))
    return text if text == "0°" else f"{text} {'left' if turn_deg > 0 else 'right'}"
