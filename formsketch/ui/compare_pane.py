"""One of the forms compared: its canvas, its straight wire, a few numbers, and what can be chosen for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QMenu, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from formsketch.bench.gauges import gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.tubes import Tube
from formsketch.bench.user_tables import user_metals_file
from formsketch.comparison.axes import AXES, GAUGE, SIZE, Axis
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.ui.compare_canvas import CompareCanvas
from formsketch.ui.compare_strip import CompareStrip
from formsketch.ui.fields import CalmComboBox, QuantityField
from formsketch.ui.pane_figures import SIDE_PX, LineSample, PaneFigures
from formsketch.ui.selection import Selection
from formsketch.ui.variant_session import VariantSession

DEPTH = AXES[3]


class ComparePane(QWidget):
    """One form with all that belongs to it. `asked` names what its menu asks of the page."""

    told = Signal(str)
    asked = Signal(str, object)

    def __init__(self, session: VariantSession, tubes: Sequence[Tube], figure_count: int) -> None:
        super().__init__()
        self.session, self.selection = session, Selection()
        self._is_roomy: bool | None = None
        self.canvas = CompareCanvas(session, self.selection, tubes)
        self.canvas.told.connect(self.told)
        self.strip = CompareStrip(session)
        self.figures = PaneFigures(figure_count)
        self.line = LineSample()
        self._title, self._subtitle = QLabel(), QLabel()
        self._title.setObjectName("heading")
        for label in (self._title, self._subtitle):
            label.setContentsMargins(SIDE_PX, 0, 0, 0)
        self.menu_button = QToolButton()
        self.menu_button.setText("…")
        self.menu_button.setToolTip("What can be done with this form.")
        self.menu_button.setAutoRaise(True)
        self.menu_button.setFixedSize(38, 24)
        self.menu_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.menu = QMenu(self.menu_button)
        self.menu.aboutToShow.connect(self._fill_menu)
        self.menu_button.setMenu(self.menu)
        self._lay_out()
        session.changed.connect(self.refresh)

    def _lay_out(self) -> None:
        self.gauge = QuantityField(lambda text: float(_gauge(self._design, text)), self._use_gauge)
        self.size_share = QuantityField(self._share(SIZE), self._use_size)
        self.hammering = QuantityField(self._share(DEPTH), self._use_depth)
        self.metal = CalmComboBox()
        self.metal.setMinimumContentsLength(8)
        self.metal.setSizeAdjustPolicy(CalmComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.metal.activated.connect(self._use_metal)
        for field, name in (
            (self.gauge, "Wire"),
            (self.size_share, "Size"),
            (self.hammering, "Hammered"),
            (self.metal, "Metal"),
        ):
            field.setAccessibleName(name)
        for field in (self.gauge, self.size_share, self.hammering):
            field.refused.connect(self.told)
            field.setFixedWidth(82 if field is self.gauge else 52)
        self.size_share.setToolTip("Per cent of the design as drawn, the wire as it is.")
        self.hammering.setToolTip("How deep every flare is hammered, per cent of the design's.")
        self.gauge.setToolTip(GAUGE.hint)
        self._head = QGridLayout()
        self._head.addWidget(self._title, 0, 0)
        self._head.addWidget(self.menu_button, 0, 2)
        self._head.addWidget(self.line, 2, 0, 1, 3)
        self._head.setColumnStretch(1, 1)
        self._head.setSpacing(1)
        self._chosen = QGridLayout()
        self._chosen.setContentsMargins(SIDE_PX, 4, 8, 6)
        self._chosen.setHorizontalSpacing(6)
        self._chosen.setVerticalSpacing(4)
        self._labels = [QLabel(text) for text in ("Wire", "Metal", "Size", "Depth")]
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(2)
        column.addLayout(self._head)
        column.addWidget(self.canvas, 1)
        column.addWidget(self.strip)
        column.addWidget(self.figures)
        column.addLayout(self._chosen)
        self.lay_details(False)

    def lay_details(self, roomy: bool) -> None:
        """Figures and choices in few rows where there is room across, else in more."""
        if roomy is self._is_roomy:
            return
        self._is_roomy = roomy
        self.figures.lay_out(2 if roomy else 1)
        widgets = (*self._labels, self.gauge, self.metal, self.size_share, self.hammering)
        # Row, column and columns taken by each of them.
        one_row = [(0, 0, 1), (0, 2, 1), (0, 4, 1), (0, 6, 1), (0, 1, 1), (0, 3, 1), (0, 5, 1), (0, 7, 1)]
        rows = [(0, 0, 1), (1, 0, 1), (2, 0, 1), (2, 2, 1), (0, 1, 3), (1, 1, 3), (2, 1, 1), (2, 3, 1)]
        for widget, (row, column, wide) in zip(widgets, one_row if roomy else rows, strict=True):
            self._chosen.addWidget(widget, row, column, 1, wide)
        self._chosen.setColumnStretch(1, 0 if roomy else 1)
        self._chosen.setColumnStretch(3, 1)
        self._chosen.setColumnStretch(8, 1 if roomy else 0)
        self._subtitle.setWordWrap(not roomy)
        # A metal's name needs no word before it.
        self._labels[1].setVisible(not roomy)
        # What has no room is cut off, never the form made narrower for it.
        self._subtitle.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.metal.setMaximumWidth(240 if roomy else 1000)
        self._head.addWidget(self._subtitle, 0 if roomy else 1, 1 if roomy else 0, 1, 1 if roomy else 3)

    def _share(self, axis: Axis) -> Callable[[str], float]:
        return lambda text: float(axis.parse_one(self._design, text))

    @property
    def _design(self) -> Design:
        return self.session.design

    def refresh(self) -> None:
        """Words and fields follow the form; the figures are the page's to show."""
        session, design = self.session, self._design
        if not session.exists:
            return
        variant = session.variant
        title = session.variant_title or "untitled"
        wide = max(60, self.width() - 60)
        self._title.setText(
            self._title.fontMetrics().elidedText(
                title, Qt.TextElideMode.ElideRight, wide // (2 if self._is_roomy else 1)
            )
        )
        metal = session.evaluation.metal.name
        own = " · a form of its own" if variant is not None and variant.form is not None else ""
        self._subtitle.setText(f"{gauge_text(design.wire.diameter_mm)}, {metal}{own}")
        self._subtitle.setToolTip(self._subtitle.text())
        self.canvas.setAccessibleName(f"The form {title}")
        self.gauge.show_value(GAUGE.label(design, design.wire.diameter_mm))
        scale, depth = (1.0, 1.0) if variant is None else (variant.scale, variant.flare_depth)
        self.size_share.show_value(SIZE.label(design, scale))
        self.hammering.show_value(f"{100 * depth:.4g} %")
        for widget in (self.size_share, self.hammering, *self._labels[2:]):
            widget.setEnabled(variant is not None)
        self._show_metal(design)

    def _show_metal(self, design: Design) -> None:
        if self.metal.findData(design.wire.metal) < 0:
            self.fill_metals()
        number = self.metal.findData(design.wire.metal)
        if self.metal.currentIndex() != number:
            self.metal.setCurrentIndex(number)

    def fill_metals(self) -> None:
        """The metals one can choose: the design's own and the table's."""
        self.metal.clear()
        for own in self._design.metals:
            self.metal.addItem(own.name, own.key)
        for key, metal in load_metals(user_metals_file()).items():
            if self.metal.findData(key) < 0:
                self.metal.addItem(metal.name, key)

    # --- what is typed or chosen

    def _use_gauge(self, diameter_mm: float) -> None:
        self.session.change_numbers(f"Wire {gauge_text(diameter_mm).split(' (')[0]}", diameter_mm=diameter_mm)

    def _use_size(self, scale: float) -> None:
        self.session.change_numbers(f"Size {100 * scale:.4g} %", scale=scale)

    def _use_depth(self, depth: float) -> None:
        self.session.change_numbers(f"Hammer {100 * depth:.4g} % as deep", flare_depth=depth)

    def _use_metal(self, number: int) -> None:
        key = self.metal.itemData(number)
        if not key or key == self._design.wire.metal:
            return
        try:
            self.session.change_numbers(self.metal.itemText(number), metal=key)
        except FormSketchError as fault:
            self.told.emit(str(fault))
            self.refresh()

    def _fill_menu(self) -> None:
        """Build the pane's menu for the form it shows."""
        self.menu.clear()
        variant, number = self.session.variant, self.session.number
        rows: list[tuple[str, str]] = [("Pin this state", "pin")]
        if variant is not None:
            rows = [("Make it the design (swap)", "swap"), ("Remove", "remove")]
            if variant.form is not None:
                rows.insert(1, ("Follow the design's form again", "share"))
        for text, name in rows:
            self.menu.addAction(text).triggered.connect(self._asker(name, number))

    def _asker(self, name: str, number: int | None) -> Callable[[], None]:
        return lambda: self.asked.emit(name, number)


def _gauge(design: Design, text: str) -> float:
    """A wire as typed into a small field: also as it is shown there, "16 gauge"."""
    plain = text.strip().removesuffix("gauge").strip()
    return parse_length_mm(text) if plain == "" else float(GAUGE.parse_one(design, plain))
