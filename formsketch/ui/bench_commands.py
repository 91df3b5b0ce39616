"""Commands of the menu Bench: the maker's own hammer and alloy, hammering, bending, wire, feel and price."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from formsketch.bench.rates import rates_file
from formsketch.design.edits import change_hammer, use_own_metal
from formsketch.ui.bench_page import BenchPage
from formsketch.ui.later import Later, candidates_of, print_sheets

if TYPE_CHECKING:
    from formsketch.ui.window import Window

BendingPage = Later("formsketch.ui.bending_page", "BendingPage")
CutListDialog = Later("formsketch.ui.cut_list_dialog", "CutListDialog")
FeelPage = Later("formsketch.ui.feel_page", "FeelPage")
FitDialog = Later("formsketch.ui.fit_dialog", "FitDialog")
HammerPage = Later("formsketch.ui.hammer_page", "HammerPage")
KeptPage = Later("formsketch.ui.kept_page", "KeptPage")
OwnAlloyDialog = Later("formsketch.ui.own_alloy_dialog", "OwnAlloyDialog")
OwnHammerDialog = Later("formsketch.ui.own_hammer_dialog", "OwnHammerDialog")
PearlsPage = Later("formsketch.ui.pearls_dialog", "PearlsPage")
PriceDialog = Later("formsketch.ui.price_dialog", "PriceDialog")
QualityMarkPage = Later("formsketch.ui.quality_mark_dialog", "QualityMarkPage")
StonesPage = Later("formsketch.ui.stones_dialog", "StonesPage")
TruePage = Later("formsketch.ui.true_page", "TruePage")
WireOrderPage = Later("formsketch.ui.wire_order_page", "WireOrderPage")


class BenchCommands:
    """What the bench asks beside the numbers panel; each opens a page of its own."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._pages: dict[Later, BenchPage] = {}

    def own_hammer(self) -> None:
        """Find the spread of the maker's own hammer, for this design or to keep."""
        session = self._window.session
        dialog = OwnHammerDialog(self._window, session.evaluation)
        if dialog.exec() and dialog.hammer is not None:
            session.change("Own hammer", change_hammer(session.design, dialog.hammer))
        self._window.panel.wire.refill()

    def own_alloy(self) -> None:
        """Find the density of the maker's own alloy, for this design or to keep."""
        session = self._window.session
        dialog = OwnAlloyDialog(self._window, session.evaluation)
        if dialog.exec() and dialog.metal is not None:
            session.change(f"Metal {dialog.metal.name}", use_own_metal(session.design, dialog.metal))
        self._window.panel.wire.refill()

    def show_kept(self) -> None:
        """Own hammers and alloys kept by name, to take one away."""
        KeptPage(self._window, self._window.session.design).exec()
        self._window.panel.wire.refill()

    def from_round_to_flat(self) -> None:
        """The passes to a flat; stays open and follows the selection."""
        self._keep_open(HammerPage, lambda w: HammerPage(w, w.session, w.selection))

    def bend_spans(self) -> None:
        """Tubes, turns and marks of every bend; stays open."""
        self._keep_open(BendingPage, lambda w: BendingPage(w, w.session, w.selection, w.canvas.tubes))

    def order_wire(self) -> None:
        """The wire to buy; stays open, what is asked for is kept for the next time."""
        self._keep_open(WireOrderPage, lambda w: WireOrderPage(w, w.session, w.selection, w.settings))

    def show_cut_list(self) -> None:
        """A batch cut from the lengths in the drawer, the design as it is first."""
        window = self._window
        forms = candidates_of(window.session.design, among_others=True)
        CutListDialog(window, forms, window.settings, window.files.folder(), print_sheets).exec()

    def show_feel(self) -> None:
        """How the piece feels in the hand; stays open and rings the first place to bend."""
        self._keep_open(FeelPage, lambda w: FeelPage(w, w.session, w.selection, w.canvas.show_place))

    def check_truth(self) -> None:
        """Whether the piece is true; stays open and rings the places it speaks of."""
        self._keep_open(TruePage, lambda w: TruePage(w, w.session, w.selection, w.canvas.show_place))

    def pearls_in_bays(self) -> None:
        """The bays and pearls for them; stays open."""
        self._keep_open(PearlsPage, lambda w: PearlsPage(w, w.session, w.selection))

    def stones_along(self) -> None:
        """Places for stones; stays open."""
        self._keep_open(StonesPage, lambda w: StonesPage(w, w.session, w.selection))

    def room_for_mark(self) -> None:
        """Where a quality mark fits; stays open."""
        self._keep_open(QualityMarkPage, lambda w: QualityMarkPage(w, w.session, w.selection))

    def _keep_open(self, kind: Later, make: Callable[[Window], BenchPage]) -> None:
        """Show the one page of this kind, in front."""
        window = self._window
        page = self._pages.get(kind)
        if page is None:
            page = self._pages[kind] = make(window)
            window.closed.connect(page.hide)
        page.show()
        page.activateWindow()

    def fit_to_size(self) -> None:
        """Make the piece close at its size, or add its sizes as variants, in one step."""
        session = self._window.session
        dialog = FitDialog(self._window, session.evaluation)
        if dialog.exec() and dialog.design is not None:
            session.change(dialog.step, dialog.design)
        dialog.deleteLater()

    def show_price(self) -> None:
        """What the design and its variants cost; the rates are kept in the maker's own folder."""
        PriceDialog(self._window, candidates_of(self._window.session.design), rates_file()).exec()
