"""The grid beside the design itself: pull on the design and every cell follows; click a cell to have it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QTimer, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMenu,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.tubes import Tube
from formsketch.comparison.axes import AXES, Axis, AxisValue, written_list
from formsketch.comparison.differences import FIGURES, difference_rows
from formsketch.comparison.variants import Candidate
from formsketch.design.variant_edits import chosen
from formsketch.errors import FormSketchError
from formsketch.ui.compare_canvas import fitted_placing
from formsketch.ui.compare_pane import ComparePane
from formsketch.ui.fields import CalmComboBox
from formsketch.ui.grid_slices import GridSlices, Ways
from formsketch.ui.grid_view import GridView
from formsketch.ui.pane_selections import PaneSelections
from formsketch.ui.shown_figures import figures_with_price
from formsketch.ui.variant_session import Comparing
from formsketch.ui.view import View

_PANE_PX = 330
_BESIDE = [f for f in FIGURES if f.label in ("Cut length", "Weight", "Height × length", "Loop / wire")]
_FIRST_FIGURES = ("Weight", "Loop / wire")
_DOWN, _ACROSS = 0, 1


class GridPage(QWidget):
    """The design, pullable, and the grid made of it."""

    told = Signal(str)
    refused = Signal(str)

    def __init__(self, comparing: Comparing, tubes: Sequence[Tube], selections: PaneSelections) -> None:
        super().__init__()
        self._comparing = comparing
        self.pane = ComparePane(comparing.add(None), tubes, len(_BESIDE))
        self.pane.line.hide()
        self.pane.menu_button.hide()
        self.canvas = self.pane.canvas
        selections.add(self.canvas)
        self.slices = GridSlices(lambda: self.canvas.is_pulling)
        self.view = GridView(self.slices)
        self.axes = [self._axis_box("Down", 0), self._axis_box("Across", 1)]
        self.values = [self._value_line(way) for way in (_DOWN, _ACROSS)]
        self._typed = ["", ""]
        self._shown_values: tuple[tuple[AxisValue, ...], ...] = ()
        self._fit_soon = QTimer(self)
        self._fit_soon.setSingleShot(True)
        self._fit_soon.timeout.connect(self.fit)
        self._make_figures()
        self._lay_out()
        for part in (self.pane, self.view):
            part.told.connect(self.told)
        self.view.chosen.connect(self.choose)
        self.canvas.view_wanted.connect(self._look)
        self.canvas.fit_wanted.connect(lambda: self._fit_soon.start(0))
        comparing.followed.connect(self._followed)
        comparing.base.steps_changed.connect(self._settled)
        comparing.base.opened.connect(self._forget_typed)

    def _axis_box(self, name: str, first: int) -> CalmComboBox:
        box = CalmComboBox()
        box.addItems([axis.name for axis in AXES])
        box.setCurrentIndex(first)
        box.setAccessibleName(name)
        box.setToolTip(f"What varies {name.lower()} the grid.")
        return box

    def _value_line(self, way: int) -> QLineEdit:
        line = QLineEdit()
        line.setAccessibleName(f"Values {('down', 'across')[way]}")
        line.returnPressed.connect(lambda: self._take(way))
        line.editingFinished.connect(lambda: self._take(way))
        return line

    def _make_figures(self) -> None:
        self.figures_button = QToolButton()
        self.figures_button.setText("Figures")
        self.figures_button.setToolTip("What is said below each form.")
        self.figures_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(self.figures_button)
        self.figure_actions = []
        self._figures = figures_with_price()
        for figure in self._figures:
            action = menu.addAction(figure.label)
            action.setCheckable(True)
            action.setChecked(figure.label in _FIRST_FIGURES)
            action.toggled.connect(lambda _: self._rebuild())
            self.figure_actions.append(action)
        self.figures_button.setMenu(menu)

    def _lay_out(self) -> None:
        bar = QGridLayout()
        bar.setContentsMargins(12, 8, 12, 6)
        bar.setHorizontalSpacing(8)
        for way, name in enumerate(("Down", "Across")):
            bar.addWidget(QLabel(name), 0, 3 * way)
            bar.addWidget(self.axes[way], 0, 3 * way + 1)
            bar.addWidget(self.values[way], 0, 3 * way + 2)
            bar.setColumnStretch(3 * way + 2, 1)
            self.axes[way].activated.connect(lambda _, way=way: self._use_axis(way))
        bar.addWidget(self.figures_button, 0, 6)
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addLayout(bar)
        right.addWidget(self.view, 1)
        self.pane.setFixedWidth(_PANE_PX)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(1)
        row.addWidget(self.pane)
        row.addLayout(right, 1)

    # --- what is shown

    def show_live(self, live: bool) -> None:
        """Follow the design, or sleep."""
        session = self.pane.session
        if not live:
            session.sleep()
            self.slices.stop()
            return
        if not session.is_awake:
            session.wake(None)
            self.pane.refresh()
            self._rebuild()
            self._followed()
            self._fit_soon.start(0)

    @property
    def _ways_axes(self) -> tuple[Axis, Axis]:
        return AXES[self.axes[_DOWN].currentIndex()], AXES[self.axes[_ACROSS].currentIndex()]

    def _use_axis(self, way: int) -> None:
        """Another axis; what the other way had is given up for it when both would be the same."""
        self._typed[way] = ""
        down, across = (box.currentIndex() for box in self.axes)
        if down == across:
            other = 1 - way
            self.axes[other].setCurrentIndex(next(i for i in (0, 1) if i != down))
            self._typed[other] = ""
        self._rebuild()

    def _take(self, way: int) -> None:
        """Use what was typed for one way, or say what is wrong with it."""
        line = self.values[way]
        if not line.isModified():
            return
        axis, design = self._ways_axes[way], self._comparing.base.design
        try:
            axis.parse(design, line.text())
        except FormSketchError as fault:
            self._mark(line, True)
            self.told.emit(str(fault))
            return
        line.setModified(False)
        self._typed[way] = line.text().strip()
        self._rebuild()

    @staticmethod
    def _mark(line: QLineEdit, refused: bool) -> None:
        line.setProperty("refused", refused)
        line.style().unpolish(line)
        line.style().polish(line)

    def _values(self) -> tuple[tuple[AxisValue, ...], ...]:
        design = self._comparing.base.design
        return tuple(
            tuple(axis.parse(design, typed)) for axis, typed in zip(self._ways_axes, self._typed, strict=True)
        )

    def _rebuild(self) -> None:
        """Show the grid of both axes, their values and the figures chosen."""
        design = self._comparing.base.design
        try:
            values = self._values()
            down, across = self._ways_axes
            figures = [f for f, a in zip(self._figures, self.figure_actions, strict=True) if a.isChecked()]
            self.view.show_ways(Ways(down, values[_DOWN], across, values[_ACROSS]), figures, design)
        except FormSketchError as fault:
            self.told.emit(str(fault))
            return
        self._shown_values = values
        for line, axis, shown in zip(self.values, self._ways_axes, values, strict=True):
            line.setToolTip(axis.hint)
            if not line.isModified():
                line.setText(written_list(axis, design, shown))
                self._mark(line, False)

    def _followed(self) -> None:
        session = self.pane.session
        if not session.is_awake:
            return
        own = Candidate("", "", session.design, session.evaluation)
        self.pane.figures.show_rows(difference_rows([own], _BESIDE), 0)
        self.canvas.reason = own.reason
        self.view.show_design(session.evaluation)

    def _settled(self) -> None:
        """A step was made or taken back: values that go round the design's own follow it."""
        if not self.pane.session.is_awake:
            return
        try:
            stays = self._values() == self._shown_values
        except FormSketchError:
            stays = False
        if not stays:
            self._rebuild()
        self.slices.rest()

    def _forget_typed(self) -> None:
        self._typed = ["", ""]
        if self.pane.session.is_awake:
            self._rebuild()
            self._fit_soon.start(0)

    # --- choosing

    def choose(self, number: int) -> None:
        """Make a cell the design, one step."""
        cell = self.view.cell(number)
        if cell is None or self.canvas.is_pulling:
            return
        if cell.candidate.design is None:
            self.told.emit(f"{cell.candidate.title}: cannot be made. {cell.reason}")
            return
        base, title = self._comparing.base, cell.candidate.title
        try:
            base.change(f"Choose {title}", chosen(base.design, cell.candidate.design))
        except FormSketchError as fault:
            self.refused.emit(str(fault))
            return
        self._fit_soon.start(0)
        but = f" It cannot be made: {cell.reason}" if cell.reason else ""
        self.told.emit(f"The design is now {title}. Undo takes it back.{but}")

    # --- the design beside it

    def fit(self) -> None:
        """The design whole in its pane."""
        if self.pane.session.is_awake and not self.canvas.is_pulling:
            self.canvas.place(fitted_placing([self.canvas.wire], self.canvas.table_area, False))

    def _look(self, canvas: object, view: View) -> None:
        if self.canvas.placing is not None:
            anchor = self.canvas.placing.anchor_mm(self.canvas.wire)
            self.canvas.place(self.canvas.placing.seen(view, anchor, self.canvas.table_area))

    def set_true_scale(self, px_per_mm: float, matched: bool) -> None:
        """How many logical pixels a true millimetre takes on this screen."""
        self.view.true_px_per_mm = px_per_mm
        self.view.update()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.view.update()
