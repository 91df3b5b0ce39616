"""Stones along the wire: evenly spaced places for heads or tubes, what metal is left there, and the marks."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import get_args

from PySide6.QtWidgets import QCheckBox, QWidget

from formsketch.design.model import Stone, StoneKind
from formsketch.design.set_edits import add_stones, set_stones
from formsketch.errors import InputError
from formsketch.evaluation.bays import place_text, wire_places
from formsketch.evaluation.set_report import carat_text
from formsketch.fitting.stones import (
    CUT_FORMULAS,
    METAL_LEFT_MM,
    MOST_STONES,
    SOLDER_SENTENCE,
    STONE_KINDS,
    USUAL_DEPTH,
    Seat,
    Spacing,
    nearest_seats_mm,
    seats_along,
    stone_ct,
    stones_set,
)
from formsketch.ui.balls_picture import Placed
from formsketch.ui.fields import CalmComboBox, NumberGroup
from formsketch.ui.fit_page import FitPage, count_of, size_mm
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text

_HEADINGS = (
    "Stone",
    "Along form",
    "To next",
    "On straight wire",
    "Plan width",
    "Left each side",
    "Middle at x, y",
)
_NOTE = (
    f"{SOLDER_SENTENCE} Marks on the straight wire are from its cut start; along the form from the start "
    "mark, by which seats are marked once it is bent."
)
# What head or tube adds to its stone all round where it is not said; common practice, no source.
_USUAL_WALL_MM = 0.3


class StonesPage(FitPage):
    """So many seats, evenly by length or by angle, over the whole form or a stretch of it."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection) -> None:
        super().__init__(parent, session, selection, "Stones along the wire", _HEADINGS)
        self._numbers: dict[str, float] = {
            "stone": 1.5, "depth": 0.0, "seat": 0.0,
            "count": 3, "left": METAL_LEFT_MM, "begin": 0.0, "end": 0.0,
        }  # fmt: skip
        self.seats: tuple[Seat, ...] = ()
        self._add_stone_fields()
        self._add_place_fields()
        self.asked.addStretch(1)
        self.note.setText(_NOTE)
        self.set_them = self.add_button(
            "&Set these stones", "Set stones", lambda design: set_stones(design, self._stones())
        )
        self.add_them = self.add_button(
            "&Add these", "Add stones", lambda design: add_stones(design, self._stones())
        )
        self.resize(1160, 690)
        self.take_out = self.add_button("&Take out", "Take out stones", lambda design: set_stones(design, ()))
        self._begin_with_those_set()

    def _begin_with_those_set(self) -> None:
        """The fields as they come to the stones of the design, taken to be alike and evenly spaced."""
        evaluation = self.session.evaluation
        stones, length_mm = evaluation.design.stones, evaluation.finished_length_mm
        if not stones:
            return
        first, last = stones[0], stones[-1]
        self._numbers |= {
            "stone": first.size_mm, "depth": first.depth_mm or 0.0, "seat": first.seat_mm,
            "count": len(stones),
        }  # fmt: skip
        if len(stones) > 1:
            apart_mm = (last.at_share - first.at_share) * length_mm / (len(stones) - 1)
            self._numbers["begin"] = max(0.0, first.at_share * length_mm - apart_mm / 2)
            self._numbers["end"] = min(length_mm, last.at_share * length_mm + apart_mm / 2)
        for box, key in ((self.kind, first.kind), (self.cut, first.cut), (self.setting, first.setting)):
            box.setCurrentIndex(box.findData(key))
        self.soldered.setChecked(first.soldered)

    def _add_stone_fields(self) -> None:
        group, self.rows = NumberGroup("The stone"), {}
        self.rows["stone"] = group.add_field("Stone, across", self._number("stone", size_mm(0.3, 50.0)))
        self.kind = self._choice([(name.capitalize(), key) for key, (name, _) in STONE_KINDS.items()])
        group.add_field("Kind", self.kind, wide=True)
        self.cut = self._choice([(f"Round {cut}", cut) for cut in CUT_FORMULAS])
        group.add_field("Cut", self.cut, wide=True)
        self.rows["depth"] = group.add_field(
            "Depth", self._number("depth", size_mm(0.0, 50.0)), "0 for usual."
        )
        self.setting = self._choice([("Tube", "tube"), ("Head", "head")])
        group.add_field("Seat", self.setting, wide=True)
        self.rows["seat"] = group.add_field(
            "Seat, outside", self._number("seat", size_mm(0.0, 50.0)), "0 for the stone and 0.3 mm all round."
        )
        self.soldered = QCheckBox("So&ldered on")
        self.soldered.setChecked(True)
        self.soldered.setToolTip("Not: joined cold, cast on, or by laser.")
        self.soldered.toggled.connect(self.refresh)
        group.add_wide(self.soldered)
        self.asked.addWidget(group)

    def _add_place_fields(self) -> None:
        group = NumberGroup("Where")
        self.rows["count"] = group.add_field("Stones", self._number("count", count_of(1, MOST_STONES)))
        self.rows["left"] = group.add_field("Metal left each side", self._number("left", size_mm(0.0, 10.0)))
        self.rows["begin"] = group.add_field(
            "From", self._number("begin", size_mm(0.0, 20_000.0)), "Along the form."
        )
        self.rows["end"] = group.add_field(
            "To", self._number("end", size_mm(0.0, 20_000.0)), "Along the form; 0 for its end."
        )
        self.spacing = self._choice([("Equal lengths", "length"), ("Equal angles", "angle")])
        group.add_field("Spaced by", self.spacing, wide=True)
        self.asked.addWidget(group)

    def _number(self, name: str, read: Callable[[str], float]) -> QWidget:
        return self.field(read, lambda value: self._numbers.__setitem__(name, value))

    def _choice(self, choices: list[tuple[str, str]]) -> CalmComboBox:
        box = CalmComboBox()
        for text, key in choices:
            box.addItem(text, key)
        box.currentIndexChanged.connect(self.refresh)
        return box

    @property
    def stone(self) -> Stone:
        """The stone and seat that the fields say, on no place yet."""
        n = self._numbers
        kind: StoneKind = self.kind.currentData()
        assert kind in get_args(StoneKind)
        return Stone(
            at_share=0.0,
            size_mm=n["stone"],
            seat_mm=n["seat"] or n["stone"] + 2 * _USUAL_WALL_MM,
            setting="head" if self.setting.currentData() == "head" else "tube",
            kind=kind,
            cut=self.cut.currentData(),
            depth_mm=n["depth"] or None,
            soldered=self.soldered.isChecked(),
        )

    def _stones(self) -> tuple[Stone, ...]:
        return stones_set(self.seats, self.session.evaluation.finished_length_mm, self.stone)

    def show_design(self) -> None:
        """The seats of the design as it is; told where they cannot be."""
        e, n, stone = self.session.evaluation, self._numbers, self.stone
        total = e.finished_length_mm
        for name, row in self.rows.items():
            row.show(str(int(n[name])) if name == "count" else length_text(n[name]))
        usual = length_text(USUAL_DEPTH[stone.cut] * stone.size_mm)
        self.rows["depth"].say_aside("" if n["depth"] else f"{usual} taken")
        self.rows["seat"].say_aside("" if n["seat"] else f"{length_text(stone.seat_mm)} taken")
        self.seats = ()
        self.table.show_rows([])
        self.found.setText("")
        self.take_out.setEnabled(bool(e.design.stones))
        for button in (self.set_them, self.add_them, self.write):
            button.setEnabled(False)
        self.picture.show_form(e, with_set=True)
        if stone.setting == "tube" and stone.seat_mm < stone.size_mm:
            raise InputError(
                f"Seat: expected a tube at least as wide as its stone, {length_text(stone.size_mm)}."
            )
        kind: Spacing = "angle" if self.spacing.currentData() == "angle" else "length"
        self.seats = seats_along(
            wire_places(e), int(n["count"]), stone.seat_mm, kind, n["left"],
            n["begin"] / total, min(1.0, (n["end"] or total) / total),
        )  # fmt: skip
        for button in (self.set_them, self.add_them, self.write):
            button.setEnabled(True)
        self.table.show_rows(seat_rows(self.seats))
        self.found.setText(self._sentence(stone))
        placed = [
            Placed(s.at_mm, stone.seat_mm, "stone", str(i), stone_mm=stone.size_mm)
            for i, s in enumerate(self.seats, start=1)
        ]
        self.picture.show_form(e, placed)

    def _sentence(self, stone: Stone) -> str:
        fit, count = sum(seat.fits for seat in self.seats), len(self.seats)
        carat = stone_ct(stone)
        apart = nearest_seats_mm(self.seats)
        near = "" if apart is None else f" Middles {length_text(apart)} apart in plan at least."
        if apart is not None and apart < stone.seat_mm:
            near += " Seats overlap."
        name, density = STONE_KINDS[stone.kind]
        return (
            f"Wide enough: {fit} of {count} places.{near} A round {stone.cut} {name} of "
            f"{length_text(stone.size_mm)} weighs about {carat_text(carat)}, {count} of them "
            f"{carat_text(carat * count)} ({CUT_FORMULAS[stone.cut]}; {density:.2f} g/cm³; good to some "
            "per cent)."
        )

    def notes_text(self) -> str:
        lines = ["Stones along the wire:"]
        for row in seat_rows(self.seats):
            lines.append(f"{row[0]}: mark at {row[3]}, plan width {row[4]}, left each side {row[5]}")
        return "\n".join([*lines, self.found.text(), SOLDER_SENTENCE])


def seat_rows(seats: tuple[Seat, ...]) -> list[list[str]]:
    """A row for each seat: its number, places and sizes, and where the wire is too narrow."""
    steps = [length_text(after.finished_mm - before.finished_mm) for before, after in pairwise(seats)]
    rows = []
    for number, (seat, step) in enumerate(zip(seats, [*steps, ""], strict=True), start=1):
        left = length_text(seat.left_mm) + ("" if seat.fits else ", too narrow")
        sizes = map(length_text, (seat.mark_mm, seat.plan_width_mm))
        rows.append([str(number), length_text(seat.finished_mm), step, *sizes, left, place_text(seat.at_mm)])
    return rows
