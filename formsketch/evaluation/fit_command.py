"""A fit as it is asked for in words: sizes typed, the ways tried, and the design to write."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from msgspec.structs import replace

from formsketch.bench.lengths import parse_length_mm
from formsketch.bench.ring_sizes import RING_SYSTEMS, read_ring_size
from formsketch.design.edits import checked
from formsketch.design.model import Design, Worn
from formsketch.errors import InputError
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.fit_report import fit_data, fit_text
from formsketch.evaluation.fit_size import WAYS, Fit, OneOfSizes, fit, size_run, with_size_run
from formsketch.evaluation.worn import STANDARDS, Kind, Standard, is_round, wanted_mm
from formsketch.values import Result

_SIZES = ("ring", "wrist", "inside", "diameter", "length")
# What a size is taken for when the kind is not said.
_USUAL: dict[str, Kind] = {"wrist": "bracelet", "inside": "bangle", "diameter": "hoop", "length": "pendant"}


class Answer(Result, frozen=True):
    """The ways found to a size, and the sizes about it where they were asked for."""

    design: Design
    worn: Worn
    fits: Sequence[Fit]
    sizes: Sequence[OneOfSizes]

    def to_write(self) -> Design:
        """The design by the first way that can be made, or with its run of sizes.

        Raises `InputError` where no way can be.
        """
        if self.sizes:
            return with_size_run(replace(self.design, worn=self.worn), list(self.sizes))
        made = next((one.design for one in self.fits if one.design is not None), None)
        if made is None:
            raise InputError(self.fits[0].reason if len(self.fits) == 1 else "No way leads to this size.")
        return made


def fitted(evaluation: Evaluation, way: str | None, five_sizes: bool, **asked: Any) -> Answer:
    """The ways to a size as it was typed. Raises `FormSketchError` in one sentence."""
    ways = [one for one in WAYS if way in (None, one)]
    if not ways:
        raise InputError(f'"{way}": one of {", ".join(WAYS)} was expected.')
    worn = worn_typed(evaluation, **asked)
    wanted_mm(worn)
    design = checked(replace(evaluation.design, worn=worn))
    fits = [fit(evaluation.design, worn, one) for one in ways]
    return Answer(evaluation.design, worn, fits, size_run(design, worn) if five_sizes else ())


def worn_typed(
    evaluation: Evaluation,
    kind: str | None = None,
    ease: str | None = None,
    aspect: float | None = None,
    gap: str | None = None,
    as_laid: bool = False,
    **sizes: str | None,
) -> Worn:
    """What the piece becomes, from a size typed or from what the design carries. Raises `InputError`."""
    given = {name: text for name, text in sizes.items() if text is not None}
    if kind is not None and kind not in STANDARDS:
        raise InputError(f'"{kind}": one of {", ".join(STANDARDS)} was expected.')
    if len(given) > 1:
        raise InputError(f"Expected one size, got {' and '.join(given)}.")
    said = evaluation.design.worn
    if given:
        ((name, text),) = given.items()
        worn = _sized(name, text, kind or _kind_said(said, name))
        if said is not None and said.kind == worn.kind:
            # Another size of the same piece: what else the design says of it stays.
            worn = replace(said, standard=worn.standard, size=worn.size)
        else:
            worn = replace(worn, rolled=not is_round(evaluation))
    elif said is not None:
        worn = said
    else:
        raise InputError(f"Expected a size: one of {', '.join(f'--{name}' for name in _SIZES)}.")
    changes: dict[str, Any] = {} if kind is None else {"kind": kind}
    changes |= {} if ease is None else {"ease_mm": parse_length_mm(ease)}
    changes |= {} if aspect is None else {"aspect": aspect}
    changes |= {} if gap is None else {"gap_mm": signed_length_mm(gap)}
    changes |= {"rolled": False} if as_laid else {}
    return replace(worn, **changes)


def _kind_said(said: Worn | None, name: str) -> str | None:
    """The kind the design says it is, where its size can be given so."""
    return said.kind if said is not None and name in STANDARDS[said.kind] else None


def _sized(name: str, text: str, kind: str | None) -> Worn:
    if name == "ring":
        standard, size = ring_size_typed(text)
        return Worn(kind="ring", standard=standard, size=size)
    usual = cast(Kind, kind or _USUAL[name])
    return Worn(kind=usual, standard=cast(Standard, name), size=parse_length_mm(text))


def ring_size_typed(text: str) -> tuple[Standard, float]:
    """A ring size with its system before it, as "US 7" or "UK N½". Raises `InputError`."""
    first, _, rest = text.strip().partition(" ")
    names = {name.lower(): system for system, name in RING_SYSTEMS.items()}
    system = names.get(first.lower())
    if system is None:
        raise InputError(
            f'"{text}": a ring size such as "US 7", "UK N½", "ISO 54" or "Japan 13" was expected.'
        )
    return cast(Standard, system), read_ring_size(system, rest)


def signed_length_mm(text: str) -> float:
    """A length of either sign, mm. Raises `InputError`."""
    typed = text.strip()
    negative = typed[:1] in ("-", "−")
    length_mm = parse_length_mm(typed[1:] if negative else typed)
    return -length_mm if negative and length_mm else length_mm


def fitting_data(answer: Answer) -> dict[str, Any]:
    """The answer for JSON, as `fit_data` says."""
    return fit_data(answer.design, answer.worn, answer.fits, answer.sizes)


def fitting_text(answer: Answer) -> str:
    """The answer to read."""
    return fit_text(answer.design, answer.worn, answer.fits, answer.sizes)
