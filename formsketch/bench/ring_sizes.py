"""Ring sizes of four systems, each as inner circumference and inner diameter in mm, and back.

ISO 8653: the size is the inner circumference in mm. UK, BS 6820:1987: 36.25 mm + 1.25 mm for each
letter, A being 1. US: inner diameter 0.458 in + 0.032 in for each size (the common chart; no national
standard is in force, sticks differ by 0.1 mm). Japan: inner diameter 13 mm + 1/3 mm for each size
above 1 (trade scale).
"""

import math
import re

from formsketch.errors import InputError
from formsketch.units import mm_from_inch
from formsketch.values import Value

_CLOSE_MM = 0.2  # circumference; further from the size shown than this, the text says "about"
_UK_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_UK_LABEL = re.compile(r"([A-Z])(?:\+([1-6]))?(½|1/2|\.5)?")
_QUARTERS = ("", "¼", "½", "¾")
_SIZE = re.compile(r"(\d+(?:\.\d+)?)?\s*(¼|½|¾|(?<!\d)[13]/[24])?")
_PARTS = {"¼": 0.25, "½": 0.5, "¾": 0.75, "1/4": 0.25, "1/2": 0.5, "3/4": 0.75}
_SUCH_AS = {"iso": "54", "us": "7 or 6½", "japan": "13"}


class _Scale(Value, frozen=True):
    """Sizes that lie evenly along the inner circumference."""

    name: str
    at_zero_mm: float
    step_mm: float
    lowest: float
    highest: float

    def circumference_mm(self, size: float) -> float:
        if not self.lowest <= size <= self.highest:
            raise InputError(
                f"A {self.name} from {self.lowest:g} to {self.highest:g} was expected, not {size:g}."
            )
        return self.at_zero_mm + self.step_mm * size

    def size(self, circumference_mm: float) -> float:
        size = (circumference_mm - self.at_zero_mm) / self.step_mm
        if not self.lowest - 1e-9 <= size <= self.highest + 1e-9:
            raise InputError(
                f"{circumference_mm:g} mm round is no {self.name} from {self.lowest:g} to {self.highest:g}."
            )
        return size


_ISO = _Scale("ISO ring size", 0.0, 1.0, 36.0, 90.0)
_US = _Scale("US ring size", math.pi * mm_from_inch(0.458), math.pi * mm_from_inch(0.032), 0.0, 20.0)
_UK = _Scale("UK ring size", 36.25, 1.25, 1.0, 32.5)  # A to Z+6½
_JP = _Scale("Japanese ring size", math.pi * (13.0 - 1.0 / 3.0), math.pi / 3.0, 1.0, 40.0)


def iso_inner_circumference_mm(size: float) -> float:
    """Inner circumference in mm of an ISO 8653 size, 36 to 90: the size itself. Raises InputError."""
    return _ISO.circumference_mm(size)


def iso_inner_diameter_mm(size: float) -> float:
    """Inner diameter in mm of an ISO 8653 size. Raises InputError out of range."""
    return iso_inner_circumference_mm(size) / math.pi


def iso_size(inner_circumference_mm: float) -> float:
    """ISO 8653 size of an inner circumference in mm. Raises InputError out of range."""
    return _ISO.size(inner_circumference_mm)


def us_inner_circumference_mm(size: float) -> float:
    """Inner circumference in mm of a US size, 0 to 20. Raises InputError out of range."""
    return _US.circumference_mm(size)


def us_inner_diameter_mm(size: float) -> float:
    """Inner diameter in mm of a US size, 0 to 20. Raises InputError out of range."""
    return us_inner_circumference_mm(size) / math.pi


def us_size(inner_circumference_mm: float) -> float:
    """US size of an inner circumference in mm, with its fraction. Raises InputError out of range."""
    return _US.size(inner_circumference_mm)


def uk_inner_circumference_mm(label: str) -> float:
    """Inner circumference in mm of a UK size, "A" to "Z", "Z+1" to "Z+6", each also with a half ("N½").

    Raises InputError for any other label.
    """
    return _UK.circumference_mm(_uk_number(label))


def uk_inner_diameter_mm(label: str) -> float:
    """Inner diameter in mm of a UK size. Raises InputError."""
    return uk_inner_circumference_mm(label) / math.pi


def uk_size(inner_circumference_mm: float) -> str:
    """Nearest UK size, to a half, of an inner circumference in mm: "N", "N½", "Z+1". Raises InputError."""
    halves = round(2.0 * _UK.size(inner_circumference_mm))
    letter, half = divmod(halves, 2)
    past_z = max(0, letter - len(_UK_LETTERS))
    return f"{_UK_LETTERS[letter - past_z - 1]}{f'+{past_z}' if past_z else ''}{'½' if half else ''}"


def jp_inner_circumference_mm(size: float) -> float:
    """Inner circumference in mm of a Japanese size, 1 to 40. Raises InputError out of range."""
    return _JP.circumference_mm(size)


def jp_inner_diameter_mm(size: float) -> float:
    """Inner diameter in mm of a Japanese size, 1 to 40. Raises InputError out of range."""
    return jp_inner_circumference_mm(size) / math.pi


def jp_size(inner_circumference_mm: float) -> float:
    """Japanese size of an inner circumference in mm, with its fraction. Raises InputError out of range."""
    return _JP.size(inner_circumference_mm)


RING_SYSTEMS = {"iso": "ISO", "us": "US", "uk": "UK", "japan": "Japan"}
_BY_SYSTEM = {"iso": _ISO, "us": _US, "uk": _UK, "japan": _JP}


def ring_circumference_mm(system: str, size: float) -> float:
    """Inner circumference in mm of a size in "iso", "us", "uk" (A is 1) or "japan". Raises InputError."""
    return _BY_SYSTEM[system].circumference_mm(size)


def read_ring_size(system: str, text: str) -> float:
    """The number of a size as written, "7", "N½", "6 1/2", with or without its system's name before it.

    Raises InputError for one that is none, or out of range.
    """
    name = RING_SYSTEMS[system]
    typed = re.sub(rf"^{name}\b", "", text.strip(), flags=re.IGNORECASE).strip()
    if system == "uk":
        return _uk_number(typed)
    written = _SIZE.fullmatch(typed)
    if written is None or not (written[1] or written[2]):
        raise InputError(f'"{text}": a size in {name} such as {_SUCH_AS[system]} was expected.')
    size = float(written[1] or 0) + _PARTS.get((written[2] or "").strip(), 0.0)
    _BY_SYSTEM[system].circumference_mm(size)
    return size


def nearest_ring_size(system: str, inner_circumference_mm: float) -> float:
    """The size nearest to an inner circumference in mm, to a quarter in US, a half in UK, else whole.

    Raises InputError where the system does not reach so far.
    """
    parts = {"us": 4, "uk": 2}.get(system, 1)
    return round(_BY_SYSTEM[system].size(inner_circumference_mm) * parts) / parts


def ring_size_label(system: str, size: float) -> str:
    """A size with its system's name: "US 6½", "UK N", "ISO 54"."""
    name = RING_SYSTEMS[system]
    circumference_mm = ring_circumference_mm(system, size)
    if system == "us" and not float(4 * size).is_integer():
        return f"{name} {size:.4g}"
    return f"{name} {_label(name, size, circumference_mm)}"


def ring_size_texts(inner_circumference_mm: float) -> dict[str, str]:
    """Nearest size in each system, by its name: {"ISO": "54.4", "US": "7", "UK": "N½", "Japan": "14"}.

    "about" says that the inner circumference is more than 0.2 mm off that size. A system that does not
    reach this far is left out.
    """
    if not 0 < inner_circumference_mm < math.inf:
        raise InputError(f"An inner circumference above 0 mm was expected, not {inner_circumference_mm:g}.")
    texts = {}
    for name, scale, parts in (("ISO", _ISO, 10), ("US", _US, 4), ("UK", _UK, 2), ("Japan", _JP, 1)):
        try:
            nearest = round(scale.size(inner_circumference_mm) * parts) / parts
        except InputError:
            continue
        off_mm = abs(scale.at_zero_mm + scale.step_mm * nearest - inner_circumference_mm)
        texts[name] = ("about " if off_mm > _CLOSE_MM else "") + _label(name, nearest, inner_circumference_mm)
    return texts


def _label(name: str, nearest: float, inner_circumference_mm: float) -> str:
    if name == "UK":
        return uk_size(inner_circumference_mm)
    if name == "US":
        whole, quarters = divmod(round(nearest * 4), 4)
        return f"{whole or ('' if quarters else 0)}{_QUARTERS[quarters]}"
    return f"{nearest:g}"


def _uk_number(label: str) -> float:
    match = _UK_LABEL.fullmatch(label.upper().replace(" ", ""))
    if match is None or (match[2] and match[1] != "Z"):
        raise InputError(f'"{label}": a UK ring size was expected, A to Z or Z+1 to Z+6, such as N or N½.')
    return _UK_LETTERS.index(match[1]) + 1 + int(match[2] or 0) + (0.5 if match[3] else 0.0)
