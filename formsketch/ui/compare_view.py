"""The page of comparing: forms side by side at one true scale, every one of them pullable, or the grid."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QStackedWidget, QVBoxLayout, QWidget

from formsketch.bench.tubes import Tube
from formsketch.comparison.differences import difference_rows
from formsketch.comparison.variants import Candidate
from formsketch.ui.compare_bar import CompareBar
from formsketch.ui.compare_canvas import CompareCanvas, Placing, fitted_placing
from formsketch.ui.compare_pane import ComparePane
from formsketch.ui.grid_page import GridPage
from formsketch.ui.pane_grid import MOST_SHOWN, PaneGrid
from formsketch.ui.pane_selections import PaneSelections
from formsketch.ui.rulers import scale_note
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.ui.shown_figures import figures_with_price
from formsketch.ui.variant_session import Comparing
from formsketch.ui.view import View

_SHOWN = ("Cut length", "Weight", "Height × length", "Loop / wire", "Wire / height", "Cost to make")
FIGURES_SHOWN = [figure for figure in figures_with_price() if figure.label in _SHOWN]


class CompareView(QWidget):
    """The design beside its variants. `left` says that Esc leaves, `refused` what could not be done."""

    told = Signal(str)
    refused = Signal(str)
    left = Signal()
    # What the menu of a form asks: a name, and the number of the variant or None.
    asked = Signal(str, object)

    def __init__(self, session: Session, selection: Selection, tubes: Sequence[Tube] = ()) -> None:
        super().__init__()
        self._session, self._tubes = session, tubes
        self.comparing = Comparing(session)
        self._first, self._true_scale = 0, (4.0, False)
        self.panes: list[ComparePane] = []
        self.selections = PaneSelections(selection)
        self.bar = CompareBar(self.comparing)
        self.bar.changed.connect(self._arrange)
        self.bar.paged.connect(self._turn_page)
        self.over = CompareCanvas(self.comparing.add(None), Selection(), tubes)
        self._tend(self.over)
        self.selections.add(self.over)
        self.grid = GridPage(self.comparing, tubes, self.selections)
        self.grid.told.connect(self.told)
        self.grid.refused.connect(self.refused)
        self._note = QLabel()
        self._note.setContentsMargins(14, 0, 14, 2)
        self._fit_soon = QTimer(self)
        self._fit_soon.setSingleShot(True)
        self._fit_soon.timeout.connect(self.fit)
        self._lay_out()
        self.setAccessibleName("Side by side")
        self.comparing.followed.connect(self._followed)
        session.steps_changed.connect(self._arrange)
        session.opened.connect(self._opened)

    def _lay_out(self) -> None:
        self._cells = PaneGrid()
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.bar)
        column.addWidget(self.over, 1)
        column.addLayout(self._cells, 1)
        column.addWidget(self._note)
        self._column = column
        self.pages = QStackedWidget()
        self.pages.addWidget(side)
        self.pages.addWidget(self.grid)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.pages)

    def _tend(self, canvas: CompareCanvas) -> None:
        canvas.told.connect(self.told)
        canvas.view_wanted.connect(self._look)
        canvas.fit_wanted.connect(self._fit_later)

    # --- which forms

    @property
    def shows_grid(self) -> bool:
        return self.pages.currentIndex() == 1

    def show_grid(self, grid: bool) -> None:
        """Show the grid, or forms side by side."""
        self.pages.setCurrentIndex(1 if grid else 0)
        self.setAccessibleName("The grid" if grid else "Side by side")
        self._arrange()

    @property
    def is_pulling(self) -> bool:
        return any(
            canvas.is_pulling for canvas in (*(p.canvas for p in self.panes), self.over, self.grid.canvas)
        )

    @property
    def shown_panes(self) -> list[ComparePane]:
        """The panes in use, from the left."""
        return [pane for pane in self.panes if pane.session.is_awake]

    def _numbers(self) -> list[int | None]:
        variants = len(self._session.design.variants)
        self._first = max(0, min(self._first, variants - (MOST_SHOWN - 1)))
        return [None, *range(self._first, min(variants, self._first + MOST_SHOWN - 1))]

    def _turn_page(self, by: int) -> None:
        self._first += by * (MOST_SHOWN - 1)
        self._arrange()

    def _arrange(self) -> None:
        """Wake the panes that are needed, put the others to sleep, and place them all."""
        if not self.isVisible() or self.is_pulling:
            return
        self.grid.show_live(self.shows_grid)
        numbers = [] if self.shows_grid else self._numbers()
        while len(self.panes) < len(numbers):
            self._add_pane()
        laid_over = self.bar.lay_over
        for i, pane in enumerate(self.panes):
            awake = i < len(numbers)
            if awake:
                pane.session.wake(numbers[i])
                pane.canvas.setVisible(not laid_over)
                pane.line.setVisible(laid_over)
                pane.line.show_number(i)
                pane.refresh()
            else:
                pane.session.sleep()
            pane.setVisible(awake)
        self.over.setVisible(laid_over)
        self._column.setStretchFactor(self._cells, 0 if laid_over else 1)
        self.bar.show_pages(self._first, len(self._session.design.variants), MOST_SHOWN - 1)
        if not self.shows_grid:
            self._wake_over(laid_over)
            self._lay_cells()
            self._followed()
            self._fit_later()

    def _wake_over(self, laid_over: bool) -> None:
        session = self.over.session
        if laid_over:
            session.wake(None)  # type: ignore[attr-defined]
        else:
            session.sleep()  # type: ignore[attr-defined]
        others = self.shown_panes[1:] if laid_over else []
        self.over.over = [(pane.session, number) for number, pane in enumerate(others, start=1)]

    def _lay_cells(self) -> bool:
        """Lay the panes so that the forms are largest; says whether they were laid otherwise before."""
        room = self.pages.size() - QSize(0, self.bar.height() + self._note.height())
        return self._cells.lay(self.shown_panes, room, self.bar.by_start, self.bar.lay_over)

    def _add_pane(self) -> None:
        pane = ComparePane(self.comparing.add(None), self._tubes, len(FIGURES_SHOWN))
        # At once a part of the page: shown without a parent it would be a window of its own.
        self._cells.addWidget(pane, 0, len(self.panes))
        self._tend(pane.canvas)
        pane.told.connect(self.told)
        pane.asked.connect(self.asked)
        self.selections.add(pane.canvas)
        pane.canvas.show_inches(self.over.in_inches)
        self.panes.append(pane)

    def _opened(self) -> None:
        self._first = 0
        self._arrange()

    # --- following

    def _followed(self) -> None:
        """Numbers, faintness and wires follow what is shown; places stay while something is pulled."""
        panes = self.shown_panes
        if not panes or len(self._numbers()) != len(panes):
            return
        candidates = [
            Candidate(p.session.variant_title, "", p.session.design, p.session.evaluation) for p in panes
        ]
        rows = difference_rows(candidates, FIGURES_SHOWN)
        longest = max(p.session.evaluation.cut_length_mm for p in panes)
        thickest = max(p.session.evaluation.diameter_mm for p in panes)
        for number, (pane, candidate) in enumerate(zip(panes, candidates, strict=True)):
            pane.figures.show_rows(rows, number)
            pane.strip.show_beside(longest, thickest)
            pane.canvas.reason = candidate.reason
        self.over.update()

    # --- where they lie

    def _areas(self) -> list[CompareCanvas]:
        """The canvases that are seen."""
        return [self.over] if self.bar.lay_over else [pane.canvas for pane in self.shown_panes]

    @property
    def _first_seen(self) -> CompareCanvas | None:
        return self.grid.canvas if self.shows_grid else next(iter(self._areas()), None)

    def _fit_later(self) -> None:
        if not self.is_pulling:
            self._fit_soon.start(0)

    def fit(self) -> None:
        """All forms whole, at the largest scale common to them."""
        if self.shows_grid:
            self.grid.fit()
        elif self.shown_panes and not self.is_pulling:
            if self._lay_cells():
                self._fit_later()
                return
            areas = [canvas.table_area for canvas in self._areas()]
            area = min(areas, key=lambda a: a.width() * a.height())
            wires = [pane.canvas.wire for pane in self.shown_panes]
            self._place(fitted_placing(wires, area, self.bar.by_start))

    def _place(self, placing: Placing) -> None:
        for canvas in self._areas():
            canvas.place(placing)
        px_per_mm, matched = self._true_scale
        note = scale_note(placing.px_per_mm, px_per_mm, matched, self.over.scale)
        alone = (
            "   Pin a state (P) or add a variant, and it stands beside this."
            if len(self.shown_panes) < 2
            else ""
        )
        self._note.setText(f"{note}.{alone}")

    def _look(self, canvas: CompareCanvas, view: View) -> None:
        """One was zoomed or moved: all are."""
        if canvas.placing is not None:
            anchor = canvas.placing.anchor_mm(canvas.wire)
            self._place(canvas.placing.seen(view, anchor, canvas.table_area))

    def zoom(self, factor: float) -> None:
        canvas = self._first_seen
        if canvas is not None:
            canvas.show_view(canvas.view.zoomed(factor, canvas.table_area.center()))

    def set_true_scale(self, px_per_mm: float, matched: bool) -> None:
        """How many logical pixels a true millimetre takes on this screen, and whether it was measured."""
        self._true_scale = (px_per_mm, matched)
        self.grid.set_true_scale(px_per_mm, matched)

    def show_true_size(self) -> None:
        """Show the forms as large as they will be."""
        canvas = self._first_seen
        if canvas is not None:
            self.zoom(self._true_scale[0] / canvas.view.px_per_mm)

    def show_inches(self, inches: bool) -> None:
        """Rulers, grid and scale in inches, or in millimetres."""
        for canvas in (*(pane.canvas for pane in self.panes), self.over, self.grid.canvas):
            canvas.show_inches(inches)
        self._fit_later()

    # --- events

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_later()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._arrange()
        self.selections.take()

    def take_focus(self) -> None:
        """Give the keys to a form, not to a field."""
        if self._first_seen is not None:
            self._first_seen.setFocus(Qt.FocusReason.OtherFocusReason)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        for session in self.comparing.awake():
            session.sleep()
        self.grid.show_live(False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
            return
        super().keyPressEvent(event)
