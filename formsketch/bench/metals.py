"""The metals of the bench: density, stiffness, strength soft and worked, heat, cautions.

Values are those of published data where a row says P, quoted from memory where it says M. A quantity
nobody has given is None, never a guess.
"""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Protocol

import msgspec
from msgspec import Meta

from formsketch.bench.tables import Known, read_table, shipped_table
from formsketch.bench.tempers import temper_name
from formsketch.values import Value

TABLE_KIND = "metals"
# Stiffness of a metal entered without one: the span of the shipped table, fine silver to nickel silver.
ASSUMED_E_GPA = (71.0, 125.0)

_Density = Annotated[float, Meta(gt=0.5, le=25)]
_Stiffness = Annotated[float, Meta(ge=1, le=600)]
_Stress = Annotated[float, Meta(gt=0, le=5000)]
_Hardness = Annotated[float, Meta(gt=0, le=2000)]
_Celsius = Annotated[float, Meta(ge=0, le=4000)]
_Percent = Annotated[float, Meta(ge=0, lt=100)]
_Channel = Annotated[int, Meta(ge=0, le=255)]
_Key = Annotated[str, Meta(pattern=r"^[a-z0-9][a-z0-9.-]{0,63}$")]
_Text = Annotated[str, Meta(max_length=400)]

# Fields that come as a low and a high value, and their units.
_RANGES = (
    ("e", "gpa"),
    ("soft_yield", "mpa"),
    ("soft_strength", "mpa"),
    ("melts", "c"),
    ("anneal", "c"),
    ("cold_work_limit", "percent"),
    ("later_work_limit", "percent"),
)


class WorkedRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Strength after cold work that takes `reduction_percent` off the thickness of a strip."""

    name: Annotated[str, Meta(min_length=1, max_length=60)]
    reduction_percent: _Percent
    yield_mpa: _Stress | None = None
    strength_low_mpa: _Stress | None = None
    strength_high_mpa: _Stress | None = None
    hardness_hv: _Hardness | None = None

    @property
    def strength_mid_mpa(self) -> float | None:
        """Middle of the tensile strength range in MPa, None when unknown."""
        return _middle(self.strength_low_mpa, self.strength_high_mpa)


class Metal(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"mark": "known"}):
    """One metal; the fields are those of a row of the table, where `mark` stands as "known".

    Stresses in MPa, stiffness in GPa, temperatures in C, density in g/cm3. `soft_*` is the annealed
    wire as it is bent. `worked` rows rise in reduction; a row at 0 % is the same metal annealed, as the
    source of the worked rows gives it. `indicative` marks strengths that are no more than a guide.
    `cold_work_limit_*` is the most cold work between anneals, `later_work_limit_*` that after the first
    anneal where it is another.
    `zinc` is True where overheating gives off zinc fume, `nickel` where skin contact is limited by law.
    """

    key: _Key
    name: Annotated[str, Meta(min_length=1, max_length=80)]
    density_g_per_cm3: _Density
    e_low_gpa: _Stiffness
    e_high_gpa: _Stiffness
    soft_yield_low_mpa: _Stress | None = None
    soft_yield_high_mpa: _Stress | None = None
    soft_strength_low_mpa: _Stress | None = None
    soft_strength_high_mpa: _Stress | None = None
    worked: tuple[WorkedRow, ...] = ()
    melts_low_c: _Celsius | None = None
    melts_high_c: _Celsius | None = None
    anneal_low_c: _Celsius | None = None
    anneal_high_c: _Celsius | None = None
    anneal_note: _Text = ""
    cold_work_limit_low_percent: _Percent | None = None
    cold_work_limit_high_percent: _Percent | None = None
    later_work_limit_low_percent: _Percent | None = None
    later_work_limit_high_percent: _Percent | None = None
    age_hardening: _Text = ""
    nickel: bool
    zinc: bool
    colour: tuple[_Channel, _Channel, _Channel] = (190, 188, 184)
    mark: Known = "C"
    source: _Text = "entered by hand"
    indicative: bool = False

    def __post_init__(self) -> None:
        """Raises ValueError for a range upside down or half given, and for worked rows out of order."""
        for stem, unit in _RANGES:
            _check_range(stem, getattr(self, f"{stem}_low_{unit}"), getattr(self, f"{stem}_high_{unit}"))
        for row in self.worked:
            _check_range("strength of a worked row", row.strength_low_mpa, row.strength_high_mpa)
        reductions = [row.reduction_percent for row in self.worked]
        if any(next_one <= one for one, next_one in pairwise(reductions)):
            raise ValueError("worked rows were expected to rise in reduction_percent")

    @property
    def e_mid_gpa(self) -> float:
        """Middle of the range of stiffness (Young's modulus), GPa."""
        return (self.e_low_gpa + self.e_high_gpa) / 2

    @property
    def soft_yield_mid_mpa(self) -> float | None:
        """Middle of the range of yield strength, annealed, MPa; None when unknown."""
        return _middle(self.soft_yield_low_mpa, self.soft_yield_high_mpa)

    @property
    def soft_strength_mid_mpa(self) -> float | None:
        """Middle of the range of tensile strength, annealed, MPa; None when unknown."""
        return _middle(self.soft_strength_low_mpa, self.soft_strength_high_mpa)


class Temper(Value, frozen=True):
    """A metal at a stage of cold work; None where the table does not say.

    `beyond_table`: worked harder than the last row, whose values are then given as they stand.
    """

    name: str
    yield_mpa: float | None
    strength_mpa: float | None
    hardness_hv: float | None
    beyond_table: bool


class OwnMetal(Protocol):
    """A metal that a design brings along."""

    @property
    def key(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def density_g_per_cm3(self) -> float: ...
    @property
    def yield_mpa(self) -> float | None: ...
    @property
    def e_gpa(self) -> float | None: ...
    @property
    def nickel(self) -> bool: ...
    @property
    def zinc(self) -> bool: ...


def load_metals(user_file: Path | None = None) -> dict[str, Metal]:
    """The metals by key: the shipped ones, then those of a person's own file, which replace same keys.

    Raises TableError naming file, row and expectation.
    """
    return {
        **shipped_table("metals.json", TABLE_KIND, Metal, "key").rows,
        **load_own_metals(user_file),
    }


def load_own_metals(user_file: Path | None) -> dict[str, Metal]:
    """The metals of a person's own file by key, none without a file.

    Raises TableError naming file, row and expectation.
    """
    return {} if user_file is None else dict(read_table(user_file, TABLE_KIND, Metal, "key").rows)


def metal_from_own(own: OwnMetal) -> Metal:
    """A `Metal` from a design's own metal; without a stiffness it is taken as `ASSUMED_E_GPA`.

    What a design does not say stays unknown: worked strength and heat.
    """
    stiffness_said = own.e_gpa is not None
    e_low_gpa, e_high_gpa = (own.e_gpa, own.e_gpa) if own.e_gpa is not None else ASSUMED_E_GPA
    assumed = "" if stiffness_said else f"; stiffness not given, taken as {e_low_gpa:g} to {e_high_gpa:g} GPa"
    return Metal(
        key=own.key,
        name=own.name,
        density_g_per_cm3=own.density_g_per_cm3,
        e_low_gpa=e_low_gpa,
        e_high_gpa=e_high_gpa,
        soft_yield_low_mpa=own.yield_mpa,
        soft_yield_high_mpa=own.yield_mpa,
        nickel=own.nickel,
        zinc=own.zinc,
        source=f"entered in the design{assumed}",
        indicative=not stiffness_said or own.yield_mpa is None,
    )


def temper_at(metal: Metal, reduction_percent: float) -> Temper:
    """The metal after cold work equal to a strip reduction of 0 to under 100 %, read between the rows.

    Each quantity is interpolated between the rows that give it, from soft on; where only the soft
    value is known, or none below this reduction, it is None. Raises InputError out of range.
    """
    name = temper_name(reduction_percent)
    last = metal.worked[-1].reduction_percent if metal.worked else 0.0

    def read(value_of: Callable[[WorkedRow], float | None], soft: float | None) -> float | None:
        given = ((row.reduction_percent, value_of(row)) for row in metal.worked)
        points = [(place, value) for place, value in given if value is not None]
        if soft is not None and (not points or points[0][0] > 0):
            points.insert(0, (0.0, soft))
        return _between(points, reduction_percent)

    return Temper(
        name=name,
        yield_mpa=read(lambda row: row.yield_mpa, metal.soft_yield_mid_mpa),
        strength_mpa=read(lambda row: row.strength_mid_mpa, metal.soft_strength_mid_mpa),
        hardness_hv=read(lambda row: row.hardness_hv, None),
        beyond_table=reduction_percent > last,
    )


def _check_range(what: str, low: float | None, high: float | None) -> None:
    if (low is None) != (high is None):
        raise ValueError(f"a low and a high value of {what} were expected, or neither")
    if low is not None and high is not None and low > high:
        raise ValueError(f"the low value of {what} was expected not to be above the high one")


def _middle(low: float | None, high: float | None) -> float | None:
    return None if low is None or high is None else (low + high) / 2


def _between(points: list[tuple[float, float]], place: float) -> float | None:
    """Value at `place` between rising points; the last value beyond them, None before them."""
    if not points or place < points[0][0]:
        return None
    for (left, left_value), (right, right_value) in pairwise(points):
        if place <= right:
            return left_value + (right_value - left_value) * (place - left) / (right - left)
    last, last_value = points[-1]
    # Soft alone says nothing about worked metal.
    return None if last == 0 and place > 0 else last_value
