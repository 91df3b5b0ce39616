"""From round to flat: hammer the selected span until it is so thin, so wide, or as thin as can be."""

from __future__ import annotations

from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QPushButton, QWidget

from formsketch.bench.lengths import parse_length_mm
from formsketch.errors import FormSketchError
from formsketch.evaluation.hammer_path import (
    BY_TORCH,
    SOLDERED_JOIN,
    HammerPath,
    Until,
    ageing_text,
    annealing_text,
    anneals_text,
    hammer_path,
    thickness_until_mm,
    yield_text,
)
from formsketch.evaluation.surface import section_of
from formsketch.fitting.pulling import hammer_to
from formsketch.ui.bench_page import BenchPage, words
from formsketch.ui.plain_table import PlainTable
from formsketch.ui.selection import Selection
from formsketch.ui.session import Session
from formsketch.units import length_text, percent_text

_UNTIL: tuple[tuple[Until, str], ...] = (
    ("thickness", "it is so thin"),
    ("width", "it is so wide"),
    ("before_annealing", "the thinnest before annealing"),
    ("in_all", "the thinnest it can be, annealed on the way"),
)
_HEADINGS = ("Pass", "Thick", "Wide", "Cold work", "In all", "Temper", "Then")
_SELECT = "Select a span on the form or on the wire."


class HammerPage(BenchPage):
    """Shows the passes to what is asked for; `use` hammers the span so, as one step."""

    def __init__(self, parent: QWidget, session: Session, selection: Selection) -> None:
        super().__init__(parent, session, selection, "From round to flat")
        self.span = QLabel()
        self.span.setObjectName("heading")
        self.until = QComboBox()
        self.until.setAccessibleName("Hammer until")
        for kind, text in _UNTIL:
            self.until.addItem(text, kind)
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName("Thickness or width to hammer to")
        self.wanted.setFixedWidth(96)
        self.use = QPushButton("&Hammer the span so")
        self.use.setAutoDefault(False)
        self.use.clicked.connect(self._use)
        asked = QHBoxLayout()
        label = QLabel("Hammer &until")
        label.setBuddy(self.until)
        for widget in (label, self.until, self.wanted, self.use):
            asked.addWidget(widget)
        asked.addStretch(1)
        self.outcome, self.trust = words("value"), words("caution")
        self.passes = PlainTable("Passes from round to flat", _HEADINGS, choosing=False)
        self.section, self.heat, self.notes = words(), words(), words("note")
        self.column.addWidget(self.span)
        self.column.addLayout(asked)
        self.column.addWidget(self.outcome)
        self.column.addWidget(self.trust)
        self.column.addWidget(self.passes, 1)
        self.column.addWidget(self.section)
        self.column.addWidget(self.heat)
        self.column.addWidget(self.notes)
        self.until.currentIndexChanged.connect(self._until_changed)
        self.wanted.textEdited.connect(lambda _: self.refresh())
        selection.changed.connect(lambda: self.wanted.setModified(False))
        self.resize(700, 620)

    def _until_changed(self) -> None:
        self.wanted.setModified(False)
        self.refresh()

    def show_design(self) -> None:
        """The path to what is asked for; the span's own size stands in the field until another is typed."""
        e, span = self.session.evaluation, self.chosen_span()
        metal = e.metal
        self.heat.setText(f"{annealing_text(metal)} {BY_TORCH}")
        self.notes.setText(f"{ageing_text(metal)} {SOLDERED_JOIN}")
        kind = self.until.currentData()
        self.wanted.setEnabled(kind in ("thickness", "width") and span is not None)
        self._show(None)
        self.span.setText("Span" if span is None else f"Span {span + 1}, {length_text(e.diameter_mm)} round")
        if span is None:
            self.outcome.setText(_SELECT)
            return
        if not self.wanted.isModified():
            own = e.spans.thinnest_mm if kind != "width" else e.spans.widest_mm
            # The size itself is used, not the digits shown of it.
            self.wanted.setText(length_text(float(own[span])) if self.wanted.isEnabled() else "")
        path = hammer_path(e.diameter_mm, self.thickness_mm(), e.design.hammer.spread, metal)
        self._show(path)

    def thickness_mm(self) -> float:
        """What is asked for, as a thickness. Raises `FormSketchError` when it cannot be read or reached."""
        e, span, kind = self.session.evaluation, self.chosen_span(), self.until.currentData()
        if span is not None and kind in ("thickness", "width") and not self.wanted.isModified():
            return float(e.spans.thinnest_mm[span])
        size_mm = parse_length_mm(self.wanted.text()) if self.wanted.isEnabled() else None
        return thickness_until_mm(kind, e.diameter_mm, e.design.hammer.spread, e.metal, size_mm)

    def _show(self, path: HammerPath | None) -> None:
        self.use.setEnabled(path is not None)
        last = None if path is None else path.last
        trust = "" if path is None else path.trust
        self.trust.setText(f"Width: {trust}." if trust else "")
        self.trust.setVisible(bool(trust))
        self.passes.show_rows([] if path is None else _rows(path))
        section = ""
        if path is None:
            self.outcome.setText("")
        elif last is None:
            self.outcome.setText("Left round: nothing is hammered.")
        else:
            self.outcome.setText(
                f"{length_text(last.thickness_mm)} thick, {length_text(last.width_mm)} wide: "
                f"{anneals_text(path)}. It ends {last.temper.name}, {yield_text(last.temper)}."
            )
            there = section_of(last.width_mm, last.thickness_mm)
            section = (
                f"Section {there.area_mm2:.3f} mm², girth {length_text(there.girth_mm)}, second moment "
                f"{there.weak_mm4:.4f} mm⁴ over the flat and {there.strong_mm4:.4f} mm⁴ in its plane."
            )
        self.section.setText(section)

    def _use(self) -> None:
        span = self.chosen_span()
        if span is None:
            return
        try:
            thickness_mm = self.thickness_mm()
            pulled = hammer_to(self.session.wire, span, thickness_mm)
            self.session.change(f"Hammer span {span + 1} to {length_text(thickness_mm)}", pulled.design, span)
        except FormSketchError as fault:
            self.explain(str(fault))
            return
        self.wanted.setModified(False)
        self.refresh()


def _rows(path: HammerPath) -> list[tuple[str, ...]]:
    """One row a pass."""
    rows: list[tuple[str, ...]] = []
    for number, step in enumerate(path.steps, start=1):
        last = number == len(path.steps)
        rows.append(
            (
                str(number),
                length_text(step.thickness_mm),
                length_text(step.width_mm),
                percent_text(step.cold_work_percent),
                percent_text(step.in_all_percent),
                step.temper.name,
                "anneal" if step.anneal_after else "done" if last else "",
            )
        )
    return rows
