"""What a grid can go by: wire gauge, size, metal, hammering, number of loops. Pure, and the same for all."""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Sequence

from msgspec.structs import replace

from formsketch.bench.gauges import awg_diameter_mm, awg_number, gauge_label, gauge_number, gauge_text
from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.metals import load_metals
from formsketch.bench.user_tables import user_metals_file
from formsketch.design import transforms
from formsketch.design.model import MOST_REPEATS, Design
from formsketch.errors import InputError
from formsketch.units import percent_text

AxisValue = float | str

DIAMETER_RANGE_MM = (0.05, 20.0)
SCALE_RANGE = (0.05, 20.0)
DEPTH_RANGE = (0.0, 5.0)
# A grid begins with so many steps to either side of the design's own.
STEPS_EACH_WAY = 2
MOST_VALUES = 20
_SIZES = (0.8, 0.9, 1.0, 1.1, 1.2)
_DEPTHS = (0.0, 0.5, 0.75, 1.0, 1.25)
# Sampled in brass, sold in silver or gold: what a maker first asks after.
_METALS = ("brass-c26000", "sterling-925", "gold-14k-yellow-us", "gold-18k-yellow")
_SAME_WIRE = 1e-3
# Gauge numbers within which a wire is called by a whole one, about half a per cent of its diameter.
_SAME_GAUGE = 0.04


class Axis(ABC):
    """One way a design can be varied. `name` is said in choices, `hint` says what can be typed."""

    key: str
    name: str
    hint: str

    @abstractmethod
    def own(self, design: Design) -> AxisValue:
        """The design's own value."""

    @abstractmethod
    def default(self, design: Design) -> list[AxisValue]:
        """Values to begin with, the design's own among them."""

    @abstractmethod
    def applied(self, design: Design, value: AxisValue) -> Design:
        """The design with this value, not yet checked."""

    @abstractmethod
    def label(self, design: Design, value: AxisValue) -> str:
        """The value for people, short."""

    @abstractmethod
    def parse_one(self, design: Design, text: str) -> AxisValue:
        """A typed value. Raises `InputError`."""

    def written(self, design: Design, value: AxisValue) -> str:
        """The value as it can be typed."""
        return self.label(design, value)

    def parse(self, design: Design, text: str) -> list[AxisValue]:
        """The values of a typed list, in its order; the default for an empty one. Raises `InputError`."""
        parts = parts_of(text)
        if len(parts) > MOST_VALUES:
            raise InputError(f"{self.name}: expected at most {MOST_VALUES} values, got {len(parts)}.")
        return [self.parse_one(design, part) for part in parts] or self.default(design)

    def is_own(self, design: Design, value: AxisValue) -> bool:
        """Whether a value is what the design has."""
        own = self.own(design)
        if isinstance(value, float | int) and isinstance(own, float | int):
            return math.isclose(value, own, rel_tol=_SAME_WIRE)
        return value == own


class GaugeAxis(Axis):
    """Wire diameter in mm; typed as B&S numbers or lengths."""

    key, name = "gauge", "Wire gauge"
    hint = "Whole numbers are B&S gauge, 16, 17, 18; others are mm, 1.2, or have a unit, 1/16 in."

    def own(self, design: Design) -> float:
        return design.wire.diameter_mm

    def default(self, design: Design) -> list[AxisValue]:
        own = design.wire.diameter_mm
        exact = awg_number(own)
        nearest = round(exact)
        between = not math.isclose(awg_diameter_mm(nearest), own, rel_tol=5 * _SAME_WIRE)
        thicker = math.floor(exact) if between else nearest - 1
        thinner = thicker + (1 if between else 2)
        numbers = [thicker - i for i in range(STEPS_EACH_WAY)][::-1]
        after = [thinner + i for i in range(STEPS_EACH_WAY)]
        return [
            *(awg_diameter_mm(n) for n in numbers if -5 <= n <= 60),
            own,
            *(awg_diameter_mm(n) for n in after if -5 <= n <= 60),
        ]

    def applied(self, design: Design, value: AxisValue) -> Design:
        return replace(design, wire=replace(design.wire, diameter_mm=float(value)))

    def label(self, design: Design, value: AxisValue) -> str:
        return gauge_text(float(value)).split(" (")[0]

    def written(self, design: Design, value: AxisValue) -> str:
        exact = awg_number(float(value))
        if abs(exact - round(exact)) < _SAME_GAUGE:
            return gauge_label(round(exact))
        return f"{float(value):g} mm"

    def parse_one(self, design: Design, text: str) -> float:
        if re.fullmatch(r"\d+|\d/0", text):
            return awg_diameter_mm(gauge_number(text))
        return parse_diameter_mm(text)


class _ShareAxis(Axis):
    """A share of what is drawn, shown and typed in per cent."""

    values: tuple[float, ...]
    bounds: tuple[float, float]
    hint = "In per cent of what is drawn: 90, 100, 115."

    def own(self, design: Design) -> float:
        return 1.0

    def default(self, design: Design) -> list[AxisValue]:
        return list(self.values)

    def label(self, design: Design, value: AxisValue) -> str:
        return f"{100 * float(value):.4g} %"

    def written(self, design: Design, value: AxisValue) -> str:
        return f"{100 * float(value):.6g}"

    def parse_one(self, design: Design, text: str) -> float:
        low, high = self.bounds
        try:
            share = float(text.replace("%", "").strip()) / 100
        except ValueError:
            share = math.nan
        if not low <= share <= high:
            raise InputError(
                f'{self.name}, "{text}": expected {percent_text(100 * low)} to {percent_text(100 * high)}, '
                "such as 90."
            )
        return share


class SizeAxis(_ShareAxis):
    """Size of the form, the wire as it is."""

    key, name = "size", "Size"
    values, bounds = _SIZES, SCALE_RANGE

    def applied(self, design: Design, value: AxisValue) -> Design:
        return design if value == 1.0 else transforms.scaled_form(design, float(value))


class DepthAxis(_ShareAxis):
    """How deep every flare is hammered."""

    key, name = "depth", "Hammering"
    values, bounds = _DEPTHS, DEPTH_RANGE

    def applied(self, design: Design, value: AxisValue) -> Design:
        return design if value == 1.0 else transforms.deepened(design, float(value))

    def label(self, design: Design, value: AxisValue) -> str:
        return "not hammered" if value == 0.0 else super().label(design, value)


class MetalAxis(Axis):
    """Metal of the table or the design's own, by key."""

    key, name = "metal", "Metal"
    hint = "Names of metals or parts of them: brass, sterling, 14k yellow."

    def own(self, design: Design) -> str:
        return design.wire.metal

    def default(self, design: Design) -> list[AxisValue]:
        others = [key for key in _METALS if key in self._names(design) and key != design.wire.metal]
        return [design.wire.metal, *others[: 2 * STEPS_EACH_WAY]]

    def applied(self, design: Design, value: AxisValue) -> Design:
        return replace(design, wire=replace(design.wire, metal=str(value)))

    def label(self, design: Design, value: AxisValue) -> str:
        return self._names(design).get(str(value), str(value))

    def parse_one(self, design: Design, text: str) -> str:
        names = self._names(design)
        if text in names:
            return text
        exact = [key for key, name in names.items() if name.casefold() == text.casefold()]
        words = text.casefold().split()
        found = exact or [k for k, name in names.items() if all(word in name.casefold() for word in words)]
        if not found:
            raise InputError(f'Metal, "{text}": expected the name of a metal of the table, or a part of it.')
        return found[0]

    @staticmethod
    def _names(design: Design) -> dict[str, str]:
        table = {key: metal.name for key, metal in load_metals(user_metals_file()).items()}
        return table | {own.key: own.name for own in design.metals}


class LoopsAxis(Axis):
    """How often the most repeated motif comes."""

    key, name = "loops", "Number of repeats"
    hint = "Whole numbers: 6, 7, 8."

    def own(self, design: Design) -> int:
        return design.form.runs[self._run(design)].times

    def default(self, design: Design) -> list[AxisValue]:
        own = self.own(design)
        first = max(1, own - STEPS_EACH_WAY)
        return [first + i for i in range(2 * STEPS_EACH_WAY + 1)]

    def applied(self, design: Design, value: AxisValue) -> Design:
        runs, number = list(design.form.runs), self._run(design)
        runs[number] = replace(runs[number], times=int(value))
        return transforms.with_form(design, replace(design.form, runs=tuple(runs)))

    def label(self, design: Design, value: AxisValue) -> str:
        return f"{value} times" if value != 1 else "once"

    def written(self, design: Design, value: AxisValue) -> str:
        return str(value)

    def parse_one(self, design: Design, text: str) -> int:
        if not text.isascii() or not text.isdigit() or not 1 <= int(text[:6]) <= MOST_REPEATS:
            raise InputError(
                f'{self.name}, "{text}": expected a whole number from 1 to {MOST_REPEATS:,}, such as 8.'
            )
        return int(text)

    @staticmethod
    def _run(design: Design) -> int:
        times = [run.times for run in design.form.runs]
        return times.index(max(times))


AXES: tuple[Axis, ...] = (GaugeAxis(), SizeAxis(), MetalAxis(), DepthAxis(), LoopsAxis())
GAUGE, SIZE = AXES[0], AXES[1]


def parse_diameter_mm(text: str) -> float:
    """A wire's diameter in mm. Raises `InputError` for what is no length, or out of 0.05 to 20 mm."""
    diameter_mm = parse_length_mm(text)
    low, high = DIAMETER_RANGE_MM
    if not low <= diameter_mm <= high:
        raise InputError(
            f'Wire diameters, "{text}": expected {low:g} to {high:g} mm, got {diameter_mm:g} mm.'
        )
    return diameter_mm


def parts_of(text: str) -> list[str]:
    """The parts between commas; an empty one is refused unless there is nothing at all."""
    if not text.strip():
        return []
    parts = [part.strip() for part in text.split(",")]
    if not all(parts):
        raise InputError(f'"{text}": expected something between each two commas.')
    return parts


def written_list(axis: Axis, design: Design, values: Sequence[AxisValue]) -> str:
    """The values as a list that can be typed."""
    return ", ".join(axis.written(design, value) for value in values)
