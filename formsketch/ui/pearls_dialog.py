"""Pearls in the bays: the bays of the form, pearls of a stock chosen for them, their wire and weight."""

from __future__ import annotations

import cmath
from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QPlainTextEdit, QTableWidgetItem, QWidget

from formsketch.design.model import Binding, Design, SetPearl
from formsketch.design.set_edits import set_pearls, take_out_pearls
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.bays import bays_in, hold_words, place_text, wire_places
from formsketch.evaluation.evaluate import Evaluation
from formsketch.fitting.hanging import hole_way, hung
from formsketch.fitting.pearls import MATCH_MM, Pearl, binding_wire_mm, choose_pearls, read_stock
from formsketch.geometry.pockets import LEAST_DIAMETER_MM, Bay
from formsketch.ui.balls_picture import Placed
from formsketch.ui.bench_page import words
from formsketch.ui.fields import NumberGroup
from formsketch.ui.fit_page import FitPage, count_of, size_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text, weight_text

_HEADINGS = ("Bay", "Largest ball", "Two side by side", "Middle at x, y", "Pearls", "How it is held")
_NOTE = (
    "Sizes in plan, x and y from the start mark with the form laid level. The dashed line is the hole; "
    "binding wire runs on from it to the wire. Weight at 2.7 g/cm³, holes not taken off (common practice)."
)


class PearlsPage(FitPage):
    """The bays with the largest balls they hold; ticked ones get pearls of the stock."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection) -> None:
        super().__init__(parent, session, selection, "Pearls in the bays", _HEADINGS)
        self._clearance, self._least, self._match = 0.05, LEAST_DIAMETER_MM, MATCH_MM
        self._in_each, self.binding = 1, Binding()
        self.bays: tuple[Bay, ...] = ()
        # The way of the hole of a single pearl in each bay, None where it cannot be bound.
        self._ways: tuple[complex | None, ...] = ()
        self.pearls: tuple[tuple[Pearl, ...], ...] = ()
        self._left_out: set[int] = set()
        # What bays depend on: form, wire and hammer, clearance and the smallest ball.
        self._shown_for: tuple[object, float, float] | None = None
        self._looking_for: tuple[object, float, float] | None = None
        self._add_fields()
        self.note.setText(_NOTE)
        self.set_them = self.add_button("&Set these pearls", "Set pearls", self._set)
        self.take_out = self.add_button("&Take out", "Take out pearls", take_out_pearls)
        self.work.done.connect(self._have_bays)
        self.table.itemChanged.connect(self._ticked)

    def _add_fields(self) -> None:
        bays, wire = NumberGroup("Bays"), NumberGroup("Binding wire")
        self.clearance = bays.add_field("Clear of the metal", self._number("_clearance", size_mm(0.0, 10.0)))
        self._least_row = bays.add_field("Smallest ball", self._number("_least", size_mm(0.3, 100.0)))
        self._match_row = bays.add_field(
            "Pairs differ by at most",
            self._number("_match", size_mm(0.0, 5.0)),
            "Pearls as far from both ends.",
        )
        self.in_each = bays.add_field(
            "Pearls in each bay", self._number("_in_each", count_of(1, 2)), "1 or 2."
        )
        self._gauge = wire.add_field("Gauge", self._bound("gauge_mm", size_mm(0.1, 3.0)))
        self._passes = wire.add_field("Passes through", self._bound("passes", count_of(1, 9)))
        self._wraps = wire.add_field("Wraps on each side", self._bound("wraps", count_of(0, 50)))
        self._bead = wire.add_field(
            "Bead on each end", self._bound("bead_mm", size_mm(0.0, 10.0)), "0 for none."
        )
        self.stock = QPlainTextEdit()
        self.stock.setAccessibleName("Stock of pearls")
        self.stock.setPlaceholderText("4 x 5.5\n2 x 6 x 4 button\n3 x 4 x 7 rice")
        self.stock.setTabChangesFocus(True)
        self.stock.textChanged.connect(self.refresh)
        label = QLabel("&Stock: number × diameter, maybe × length")
        label.setBuddy(self.stock)
        self.cut = words("soft")
        for part in (bays, label):
            self.asked.addWidget(part)
        self.asked.addWidget(self.stock, 1)
        for part in (wire, self.cut):
            self.asked.addWidget(part)

    def _number(self, name: str, read: Callable[[str], float]) -> QWidget:
        def use(value: float) -> None:
            setattr(self, name, int(value) if name == "_in_each" else value)

        return self.field(read, use)

    def _bound(self, name: str, read: Callable[[str], float]) -> QWidget:
        def use(value: float) -> None:
            given = int(value) if name in ("passes", "wraps") else value
            changed = replace(self.binding, **{name: given})
            binding_wire_mm(1.0, 1.0, changed)
            self.binding = changed

        return self.field(read, use)

    def show_design(self) -> None:
        """The fields at once; the bays when they are found, off the window's thread."""
        self.clearance.show(length_text(self._clearance))
        self._least_row.show(length_text(self._least))
        self._match_row.show(length_text(self._match))
        self.in_each.show(str(self._in_each))
        binding = self.binding
        self._gauge.show(length_text(binding.gauge_mm))
        self._passes.show(str(binding.passes))
        self._wraps.show(str(binding.wraps))
        self._bead.show(length_text(binding.bead_mm))
        evaluation, clearance, least = self.session.evaluation, self._clearance, self._least
        design = evaluation.design
        wanted = ((design.form, design.wire, design.hammer), clearance, least)
        for button in (self.write, self.set_them, self.take_out):
            button.setEnabled(wanted == self._shown_for)
        if wanted == self._shown_for:
            self._show_pearls()
        elif wanted != self._looking_for:
            self._looking_for = wanted
            self.picture.show_form(evaluation)
            self.found.setText("Looking for bays...")
            self.work.ask(lambda: (wanted, *_found(evaluation, clearance, least)))

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._looking_for = None

    def _have_bays(self, result: object) -> None:
        self._looking_for = None
        if isinstance(result, FormSketchError):
            self.explain(str(result))
            return
        assert isinstance(result, tuple)
        wanted, bays, self._ways = result
        if len(bays) != len(self.bays):
            self._left_out.clear()
        self._shown_for, self.bays = wanted, bays
        self.refresh()

    def _ticked(self, item: QTableWidgetItem) -> None:
        if item.column() == 0:
            change = (
                self._left_out.discard if item.checkState() is Qt.CheckState.Checked else self._left_out.add
            )
            change(item.row())
            self.refresh()

    def _show_pearls(self) -> None:
        self.pearls = tuple(() for _ in self.bays)
        try:
            self.pearls = self._chosen()
        finally:
            self._show_table()
            self._show_sums()
            # What is set already is shown until others are chosen.
            evaluation, chosen = self.session.evaluation, any(self.pearls)
            kept = bool(evaluation.design.pearls) and not chosen
            self.set_them.setEnabled(chosen)
            self.take_out.setEnabled(bool(evaluation.design.pearls))
            self.picture.show_form(evaluation, () if kept else self._placed(), with_set=kept)

    def _set(self, design: Design) -> Design:
        """The design with the pearls that are chosen. Raises `InputError` where one cannot be bound."""
        wire, made = wire_places(self.session.evaluation), list[SetPearl]()
        for number, (bay, pearls) in enumerate(zip(self.bays, self.pearls, strict=True)):
            if not pearls:
                continue
            try:
                made += hung(wire, pearls, _middles(bay, pearls), self._hole(number))
            except InputError as fault:
                raise InputError(f"Bay {number + 1}: {fault}. Untick it.") from None
        return set_pearls(design, made, self.binding)

    def _chosen(self) -> tuple[tuple[Pearl, ...], ...]:
        ticked = [n for n in range(len(self.bays)) if n not in self._left_out]
        rooms = [
            self.bays[n].diameter_mm if self._in_each == 1 else self.bays[n].pair_diameter_mm for n in ticked
        ]
        chosen = choose_pearls(rooms, read_stock(self.stock.toPlainText()), self._match, self._in_each)
        by_bay = dict(zip(ticked, chosen, strict=True))
        return tuple(by_bay.get(n, ()) for n in range(len(self.bays)))

    def _hole(self, number: int) -> complex:
        """The way of the hole in a bay: through both of a pair, else as a single one is bound."""
        bay = self.bays[number]
        if len(self.pearls[number]) == 2:
            apart = bay.pair_mm[1] - bay.pair_mm[0]
            return apart / abs(apart)
        return self._ways[number] or cmath.exp(1j * (bay.opens_towards_rad + cmath.pi / 2))

    def _show_table(self) -> None:
        self.table.blockSignals(True)
        self.table.show_rows([self._row(n) for n in range(len(self.bays))])
        for number in range(len(self.bays)):
            item = self.table.item(number, 0)
            assert item is not None
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            out = number in self._left_out
            item.setCheckState(Qt.CheckState.Unchecked if out else Qt.CheckState.Checked)
        self.table.blockSignals(False)

    def _row(self, number: int) -> list[str]:
        bay = self.bays[number]
        pair = length_text(bay.pair_diameter_mm) if bay.pair_diameter_mm else "none"
        pearls = " + ".join(pearl_text(pearl) for pearl in self.pearls[number]) or "none"
        ball, where = length_text(bay.diameter_mm), place_text(bay.centre_mm)
        bound = "" if self._ways[number] else "; nothing near to bind it to"
        return [str(number + 1), ball, pair, where, pearls, hold_words(bay) + bound]

    def _show_sums(self) -> None:
        if not self.bays:
            self.found.setText(f"No bay holds a ball of {length_text(self._least)} or more.")
            self.cut.setText("")
            return
        filled = [pearls for pearls in self.pearls if pearls]
        own = self.session.evaluation.weight_g
        if not filled:
            count = len(self.session.design.pearls)
            are_set = f" {count} pearl{'s are' if count > 1 else ' is'} set." if count else ""
            self.found.setText(f"{len(self.bays)} bays.{are_set} Type a stock of pearls to choose from.")
            self.cut.setText("")
            return
        pearls_g = sum(pearl.weight_g for pearls in filled for pearl in pearls)
        wires = [self._wire_mm(*both) for both in zip(self.bays, self.pearls, strict=True) if both[1]]
        self.found.setText(
            f"{len(filled)} of {len(self.bays)} bays filled: pearls about {weight_text(pearls_g)}, "
            f"with the wire of the form {weight_text(own + pearls_g)}, binding wire not counted."
        )
        frame = length_text(self.session.evaluation.diameter_mm)
        self.cut.setText(
            f"Binding wire {length_text(min(wires))} to {length_text(max(wires))} a bay, "
            f"{length_text(sum(wires))} in all, wrapped round {frame} wire. Add what you hold."
        )

    def _wire_mm(self, bay: Bay, pearls: tuple[Pearl, ...]) -> float:
        """From edge to edge of a bay with a single pearl; a pair is taken to fill it."""
        across = bay.diameter_mm + 2 * self._clearance if len(pearls) == 1 else 0.0
        through = max(across, sum(pearl.length_mm for pearl in pearls))
        return binding_wire_mm(through, self.session.evaluation.diameter_mm, self.binding)

    def _placed(self) -> list[Placed]:
        placed = []
        for number, (bay, pearls) in enumerate(zip(self.bays, self.pearls, strict=True), start=1):
            label = str(number)
            if pearls:
                for at, pearl in zip(_middles(bay, pearls), pearls, strict=True):
                    hole, size = self._hole(number - 1), pearl.diameter_mm
                    placed.append(Placed(at, size, "pearl", label, hole, along_mm=pearl.length_mm))
            elif number - 1 in self._left_out:
                continue
            elif self._in_each == 2 and bay.pair_diameter_mm:
                placed += [Placed(at, bay.pair_diameter_mm, "empty", label) for at in bay.pair_mm]
            else:
                placed.append(Placed(bay.centre_mm, bay.diameter_mm, "empty", label))
        return placed

    def showEvent(self, event: QShowEvent) -> None:
        if not event.spontaneous() and self.session.design.pearls:
            self.binding = self.session.design.binding
        super().showEvent(event)

    def notes_text(self) -> str:
        lines = ["Pearls in the bays:"]
        for number in range(len(self.bays)):
            row = self._row(number)
            lines.append(f"{row[0]}: ball {row[1]}, pair {row[2]}, at {row[3]}, pearls {row[4]}")
        return "\n".join([*lines, self.found.text(), self.cut.text()]).rstrip()


def _found(
    evaluation: Evaluation, clearance_mm: float, least_mm: float
) -> tuple[tuple[Bay, ...], tuple[complex | None, ...]]:
    """The bays and the way of the hole of a pearl in each, asked for square to where the bay opens."""
    bays, wire = bays_in(evaluation, clearance_mm, least_mm), wire_places(evaluation)
    asked = (cmath.exp(1j * (bay.opens_towards_rad + cmath.pi / 2)) for bay in bays)
    return bays, tuple(hole_way(wire, bay.centre_mm, way) for bay, way in zip(bays, asked, strict=True))


def _middles(bay: Bay, pearls: tuple[Pearl, ...]) -> tuple[complex, ...]:
    return bay.pair_mm if len(pearls) == 2 else (bay.centre_mm,)


def pearl_text(pearl: Pearl) -> str:
    """A pearl in a few words: "5.50 mm", "6.00 × 4.00 mm button"."""
    if pearl.shape == "round" and pearl.length_mm == pearl.diameter_mm:
        return length_text(pearl.diameter_mm)
    kind = "" if pearl.shape == "round" else f" {pearl.shape}"
    return f"{pearl.diameter_mm:.2f} × {length_text(pearl.length_mm)}{kind}"
