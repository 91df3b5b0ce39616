"""How a design feels beside its variants: so many times as stiff, so many times the load to a set."""

from __future__ import annotations

from msgspec.structs import replace

from formsketch.comparison.variants import Candidate, candidates_of
from formsketch.errors import FormSketchError
from formsketch.evaluation.feel import Feel, feel_of
from formsketch.evaluation.feel_question import Question
from formsketch.values import Value


class Beside(Value, frozen=True):
    """A design beside one other: how many times as stiff, and how many times the load to a set; None where
    one of the two is not known. `reason` says why nothing can be compared, else it is empty.
    """

    title: str
    stiffness: float | None = None
    first_set: float | None = None
    reason: str = ""


def beside_variants(feel: Feel) -> tuple[Beside, ...]:
    """The design of a feel beside each of its variants, asked the same at the same share of their length."""
    variants = candidates_of(feel.evaluation.design)[1:]
    return tuple(_beside(feel, variant) for variant in variants)


def _beside(feel: Feel, variant: Candidate) -> Beside:
    try:
        evaluation = variant.evaluation
        longer = evaluation.finished_length_mm / feel.evaluation.finished_length_mm
        other = feel_of(evaluation, _at_scale(feel.question, longer))
        stiffness = feel.load_per_move.value / other.load_per_move.value
        first, second = feel.first_set, other.first_set
    except FormSketchError as fault:
        return Beside(variant.title, reason=str(fault))
    known = first is not None and second is not None and not (first.at_least or second.at_least)
    ratio = first.load.value / second.load.value if known and first and second else None
    return Beside(variant.title, stiffness, ratio)


def _at_scale(question: Question, scale: float) -> Question:
    """The question with its places moved to the same share of the wire's length."""

    def scaled(place_mm: float | None) -> float | None:
        return None if place_mm is None else place_mm * scale

    softened = tuple(replace(soft, at_mm=soft.at_mm * scale) for soft in question.softened)
    return replace(
        question, from_mm=scaled(question.from_mm), to_mm=scaled(question.to_mm), softened=softened
    )
