"""The maker's own alloy: its density from composition, weighing or a data sheet, and its strength."""

from __future__ import annotations

import math

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from formsketch.bench.alloys import (
    PURE_METALS,
    AlloyDensity,
    density_from_parts,
    density_from_weighing,
)
from formsketch.bench.metals import TABLE_KIND, Metal, load_metals
from formsketch.bench.own_alloys import own_alloy, table_row
from formsketch.bench.user_tables import METALS_FILE, keep_row, user_metals_file
from formsketch.design.edits import use_own_metal
from formsketch.design.model import OwnMetal
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.ui.fields import CalmComboBox
from formsketch.ui.own_page import OwnPage
from formsketch.units import weight_text

_FIRST_ELEMENTS = ("Au", "Ag", "Cu", "Zn")
_MOST_ROWS = 9
_UNKNOWN, _TYPED = "unknown", "typed below"
_NAME_LIMIT = 80


class OwnAlloyDialog(OwnPage):
    """Describe an alloy; `metal` is set when accepted, for the design it was opened on."""

    def __init__(self, parent: QWidget | None, evaluation: Evaluation) -> None:
        super().__init__(parent, "Own alloy", "such as our 18k yellow, melt 12")
        self._evaluation = evaluation
        self.metal: OwnMetal | None = None
        self._density: AlloyDensity | None = None
        self.name.setMaxLength(_NAME_LIMIT)
        self.rows: list[tuple[QComboBox, QLineEdit]] = []
        self.add_metal = QPushButton("&Add a metal")
        self.add_metal.setAutoDefault(False)
        self.add_metal.clicked.connect(lambda: self._add_row())
        self.in_air, self.in_water = self.field("Weight in air", ""), self.field("Weight in water", "")
        self.water_c = self.field("Water temperature", "20")
        self.reads_to_g = self.field("Balance reads to ±", "0.01")
        self.published = self.field("Density", "")
        self.strength, self.yield_mpa = CalmComboBox(), self.field("Yield strength", "")
        self.e_gpa = self.field("Stiffness", "")
        self.nickel, self.zinc = QCheckBox("Holds nickel"), QCheckBox("Holds zinc")
        self.tabs = QTabWidget()
        self.tabs.addTab(self._composition_tab(), "Composition")
        self.tabs.addTab(self._weighing_tab(), "Weighed in water")
        self.tabs.addTab(self._published_tab(), "Data sheet")
        self.tabs.currentChanged.connect(self.tell)
        self.lay_out(
            "The density gives the weight, the strength the tube under each bend. What you leave out stays "
            "unknown, never a guess.",
            self.tabs,
            self._strength_part(),
        )
        self.setMinimumWidth(560)
        self.tell()

    def _composition_tab(self) -> QWidget:
        page = QWidget()
        self._grid = QGridLayout()
        self._grid.setColumnStretch(2, 1)
        for element in _FIRST_ELEMENTS:
            self._add_row(element)
        words = QLabel("Parts of 1000, or per cent, by weight.")
        words.setObjectName("soft")
        under = QHBoxLayout()
        under.addWidget(self.add_metal)
        under.addStretch(1)
        column = QVBoxLayout(page)
        column.addWidget(words)
        column.addLayout(self._grid)
        column.addLayout(under)
        column.addStretch(1)
        return page

    def _add_row(self, element: str = "Ni") -> None:
        """One more metal of the alloy."""
        which, number = CalmComboBox(), len(self.rows)
        which.setAccessibleName(f"Metal {number + 1} of the alloy")
        for symbol, pure in PURE_METALS.items():
            which.addItem(f"{pure.name} ({symbol})", symbol)
            tip = f"{pure.density_g_per_cm3:g} g/cm³; {pure.source}"
            which.setItemData(which.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)
        which.setCurrentIndex(which.findData(element))
        which.currentIndexChanged.connect(self.tell)
        parts = self.field(f"Parts of metal {number + 1}", "")
        self._grid.addWidget(which, number, 0)
        self._grid.addWidget(parts, number, 1)
        self.rows.append((which, parts))
        self.add_metal.setEnabled(len(self.rows) < _MOST_ROWS)

    def _weighing_tab(self) -> QWidget:
        return self.asked_tab(
            "Weigh a clean solid piece dry, then hanging on a thread in water with a drop of soap, touching "
            "nothing and with no bubbles on it.",
            ("Weight in air, g", self.in_air),
            ("Weight in water, g", self.in_water),
            ("Water temperature, °C", self.water_c),
            ("Balance reads to ±, g", self.reads_to_g),
        )

    def _published_tab(self) -> QWidget:
        return self.asked_tab(
            "As the maker of the metal gives it; for a brass this is better than its composition.",
            ("Density, g/cm³", self.published),
        )

    def _strength_part(self) -> QWidget:
        self.strength.setAccessibleName("Strength")
        self.strength.addItem(_UNKNOWN, None)
        self.strength.addItem(_TYPED, None)
        for metal in load_metals(user_metals_file()).values():
            self.strength.addItem(f"as {metal.name}", metal)
        self.strength.currentIndexChanged.connect(self.tell)
        part = QWidget()
        form = QFormLayout(part)
        form.setContentsMargins(0, 0, 0, 0)
        form.addRow("Strength", self.strength)
        self._typed_strength = QWidget()
        typed = QHBoxLayout(self._typed_strength)
        typed.setContentsMargins(0, 0, 0, 0)
        for label, field in (("Yield, annealed, MPa", self.yield_mpa), ("Stiffness, GPa", self.e_gpa)):
            typed.addWidget(QLabel(label))
            typed.addWidget(field)
        typed.addStretch(1)
        form.addRow(self._typed_strength)
        holds = QHBoxLayout()
        holds.addWidget(self.nickel)
        holds.addWidget(self.zinc)
        holds.addStretch(1)
        form.addRow(holds)
        return part

    # --- reading and telling

    def _typed_density(self) -> AlloyDensity | None:
        """The density by the tab in front; None while nothing is typed."""
        tab = self.tabs.currentIndex()
        if tab == 0:
            return self._from_parts()
        if tab == 1:
            if not self.in_air.text().strip() or not self.in_water.text().strip():
                return None
            return density_from_weighing(*(_number(f) for f in self._weighing_fields()))
        if not self.published.text().strip():
            return None
        density = _number(self.published)
        return AlloyDensity(density, density, density, "from a data sheet")

    def _weighing_fields(self) -> tuple[QLineEdit, ...]:
        return self.in_air, self.in_water, self.water_c, self.reads_to_g

    def _from_parts(self) -> AlloyDensity | None:
        parts: dict[str, float] = {}
        for which, field in self.rows:
            if field.text().strip():
                element = str(which.currentData())
                parts[element] = parts.get(element, 0.0) + _number(field)
        if not parts:
            return None
        found = density_from_parts(parts)
        self.nickel.setChecked(parts.get("Ni", 0.0) > 0)
        self.zinc.setChecked(parts.get("Zn", 0.0) > 0)
        return found

    def _like(self) -> Metal | None:
        """The metal of the table that strength is taken from."""
        like = self.strength.currentData()
        return like if isinstance(like, Metal) else None

    def _alloy(self, density: AlloyDensity, name: str) -> OwnMetal:
        like, typed = self._like(), self.strength.currentText() == _TYPED
        yield_mpa, e_gpa = (like.soft_yield_mid_mpa, like.e_mid_gpa) if like else (None, None)
        if typed:
            yield_mpa, e_gpa = _number_or_none(self.yield_mpa), _number_or_none(self.e_gpa)
        return own_alloy(
            name,
            density.density_g_per_cm3,
            yield_mpa,
            e_gpa,
            nickel=self.nickel.isChecked(),
            zinc=self.zinc.isChecked(),
        )

    def tell(self) -> None:
        """Show what is typed: the density and its band, and what the design then weighs."""
        self._typed_strength.setVisible(self.strength.currentText() == _TYPED)
        self._density = None
        try:
            density = self._typed_density()
            if density is None:
                self.show_result("", "Type what the alloy is made of, or what it weighs.", "")
                return
            alloy = self._alloy(density, self.name.text().strip() or "own alloy")
            e = evaluate(use_own_metal(self._evaluation.design, alloy))
        except FormSketchError as fault:
            self.show_result("", "", str(fault))
            return
        self._density = density
        band = f" ({density.low:.2f} to {density.high:.2f})" if density.high > density.low else ""
        lines = [f"{density.how[:1].upper()}{density.how[1:]}.", density.remark]
        lines.append(f"This design then weighs {weight_text(e.weight_g)}.")
        if (like := self._like()) is not None:
            lines.append(f"Strength is taken as that of {like.name}: a guide, not measured.")
        words = " ".join(line for line in lines if line)
        self.show_result(f"Density {density.density_g_per_cm3:.2f} g/cm³{band}", words, "")

    # --- using and keeping

    def _read(self) -> tuple[AlloyDensity, OwnMetal]:
        self.tell()
        if self._density is None:
            raise InputError(
                self.fault_text() or "What the alloy is made of was expected, or what it weighs."
            )
        return self._density, self._alloy(self._density, self.name.text())

    def use(self) -> None:
        """Take the alloy for the design; raises `FormSketchError` when there is none."""
        _, metal = self._read()
        use_own_metal(self._evaluation.design, metal)
        self.metal = metal

    def keep(self) -> str:
        """Keep the alloy among the person's own metals; the sentence that says so."""
        density, metal = self._read()
        row = table_row(metal, density, self._like())
        keep_row(METALS_FILE, TABLE_KIND, row)
        return f"{row.name} is kept; it is offered among the metals from now on."


def _number(field: QLineEdit) -> float:
    text = field.text().strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'{field.accessibleName()}: a number such as 12.5 was expected, not "{text}".')
    return value


def _number_or_none(field: QLineEdit) -> float | None:
    return _number(field) if field.text().strip() else None
