"""How one piece is made, step by step, with the numbers at each: what the bench card says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from msgspec.structs import replace

from formsketch.bench.working_order import WorkStep, usual_order
from formsketch.evaluation.cautions import Caution
from formsketch.evaluation.evaluate import Evaluation
from formsketch.template import bench_ending as ending
from formsketch.template import bench_work as work
from formsketch.template.bench_words import spans_in_words
from formsketch.template.bench_work import Step
from formsketch.template.title_block import SAFETY_CODES

_STEPS: tuple[Callable[[Evaluation], Iterator[Step]], ...] = (
    work.stock_steps,
    work.mark_step,
    work.bend_step,
    work.hammer_step,
    work.open_step,
    ending.end_steps,
    ending.seat_step,
    ending.set_step,
    ending.true_step,
    ending.quality_mark_step,
    ending.finish_steps,
)

# The step at which a caution is printed; before all steps where the card has no such step, and others.
STEP_OF_CAUTION: dict[str, str] = {
    "eye_protection": "hammer",
    "anneal_between": "hammer",
    "flat_very_wide": "hammer",
    "hammered_beyond_model": "hammer",
    "uneven_beyond_model": "hammer",
    "uneven_step": "hammer",
    "no_tube_so_tight": "bend",
    "inner_edge_folds": "bend",
    "neutral_axis_shift": "bend",
    "springback_unknown": "bend",
    "bead_may_fall": "bead",
    "bead_large": "bead",
    "hot_bead": "bead",
    "post_heat": "post",
    "post_thick": "post",
    "ear_wire": "ends",
    "ear_wire_thick": "ends",
    "catch_does_not_fit": "ends",
    "hook_weak": "ends",
    "hole_little_metal": "drill",
    "drilling": "drill",
    "sharp_tip": "finish",
    "sharp_end": "finish",
    "sharp_edge": "finish",
    "quality_mark": "quality-mark",
    "quality_mark_law": "quality-mark",
    "quality_mark_no_room": "quality-mark",
    "stone_seat_narrow": "seats",
    "stones_meet": "seats",
    "solder_softens": "seats",
    "pearl_does_not_fit": "set",
    "pearls_meet": "set",
    "pearls_last": "set",
}
# The usual words, common practice, no source; local rules first.
_TORCH = (
    "Hot metal looks cold: tongs, a clear bench, fresh air. Pickle: acid into water, never the other way; "
    "gloves and goggles; no steel."
)
_SOFT_AGAIN = (
    "Heat makes soft again what was hammered, as far as the wire glows: keep the torch off the flares."
)
_POST_SOFT = (
    "A post that glows is soft: harden it again by drawing or by a twist in the pliers, not by bending."
)
_AGE_AGAIN = "Heat undoes the hardening: harden after the last heat."
_NO_HEAT = "No heat once pearls or stones are in place: it ruins them."


def bench_steps(evaluation: Evaluation, order: Sequence[WorkStep] | None = None) -> list[Step]:
    """The steps this piece needs, in the maker's own way of working, with what to mind at each.

    Operations the piece does not need are left out, and what the maker leaves out.
    """
    needed = {step.key: step for make in _STEPS for step in make(evaluation)}
    steps = []
    for own in order or usual_order():
        step = needed.get(own.do) if own.do else Step("", own.title)
        if step is not None and not own.left_out:
            words = tuple(line for line in own.words.splitlines() if line.strip())
            steps.append(replace(step, words=words))
    return list(_with_cautions(evaluation, steps))


def cautions_before(evaluation: Evaluation, steps: Sequence[Step]) -> list[str]:
    """What is to be known before the work begins: every caution that no step of the card gives."""
    keys = {step.key for step in steps}
    return [c.message for c in _to_print(evaluation) if STEP_OF_CAUTION.get(c.code) not in keys]


def _to_print(evaluation: Evaluation) -> list[Caution]:
    """All that weighs more than a note, and the notes about safety or about one step.

    Of two that say whose the law of marking is the longer one stands for both.
    """
    codes = {caution.code for caution in evaluation.cautions}
    doubled = {"quality_mark_law"} if "quality_mark" in codes else set()
    return [
        caution
        for caution in evaluation.cautions
        if caution.code not in doubled
        and (caution.weight != "note" or caution.code in SAFETY_CODES or caution.code in STEP_OF_CAUTION)
    ]


def _with_cautions(evaluation: Evaluation, steps: Sequence[Step]) -> Iterator[Step]:
    """The steps with the cautions of each; one that was given at an earlier step is not given again."""
    given: set[str] = set()
    done: set[str] = set()
    for step in steps:
        own = [c.message for c in _to_print(evaluation) if STEP_OF_CAUTION.get(c.code) == step.key]
        cautions = [*step.cautions, *own, *_about_heat(evaluation, step, done)]
        new = tuple(text for text in dict.fromkeys(cautions) if text not in given)
        given.update(new)
        done.add(step.key)
        yield replace(step, cautions=new)


def _about_heat(evaluation: Evaluation, step: Step, done: set[str]) -> Iterator[str]:
    """What to mind when a torch or a kiln is used after these steps."""
    if not step.heat:
        return
    yield _TORCH
    if evaluation.metal.zinc:
        yield f"{evaluation.metal.name} holds zinc: do not overheat it, ventilate well (fume)."
    if "set" in done:
        yield _NO_HEAT
    # Ageing is heat that is meant to harden, far below annealing; soldering seats has words of its own.
    if step.key != "harden":
        if "hammer" in done and step.key != "seats":
            yield _SOFT_AGAIN
        if "post" in done:
            yield _POST_SOFT
        if "harden" in done:
            yield _AGE_AGAIN


def tubes_to_fetch(evaluation: Evaluation) -> list[str]:
    """Every tube the bends ask for, thinnest first, and what to take where no tube serves."""
    sizes_mm = evaluation.spans.tube_diameter_mm.tolist()
    found = sorted(zip(sizes_mm, spans_in_words(evaluation), strict=True), key=lambda span: span[0])
    return list(
        dict.fromkeys(
            f"Ø {words.tube}" if words.tube else f"Ø {words.tube_exact} mm, {words.no_tube}"
            for _, words in found
            if words.tube_exact
        )
    )
