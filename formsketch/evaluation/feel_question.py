"""What is asked of a finished piece: how it is loaded, and between which two places."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from formsketch.errors import FormSketchError
from formsketch.evaluation.yielding import Softened
from formsketch.geometry.trace import CLOSED_TO_LENGTH
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.evaluation.evaluate import Evaluation

Kind = Literal["open", "ring", "wrist", "lift"]
# Two places nearer than this along the wire have no wire between them.
LEAST_STRETCH_MM = 1e-6
# Typed places may overshoot the wire by this share of it.
PLACE_TOLERANCE = 1e-9


class NoFeel(FormSketchError):
    """A question that this form does not answer; says why."""


class Question(Value, frozen=True):
    """What is asked: the way of loading, and the two places, from the start mark along the finished wire.

    - `open`: pulled apart in the plane of the form, along the line between the two places; places that meet
      are pulled the way they part most easily. A flat flare resists on its strong axis, an edge flare on its
      weak one.
    - `ring`: the same of a form whose ends meet and are joined.
    - `wrist`: bent over the wrist, out of the plane of the form, by equal moments at the two places. A flat
      flare resists on its weak axis, and wire that runs across is twisted.
    - `lift`: held at the first place, the second is lifted out of the plane.

    None stands for the outermost mark; for a `ring` the second place is then half-way round. `softened`
    places are made soft after all hammering, beside those that soldering softens (`soldered`).
    """

    kind: Kind = "open"
    from_mm: float | None = None
    to_mm: float | None = None
    softened: tuple[Softened, ...] = ()


def soldered(evaluation: Evaluation) -> tuple[Softened, ...]:
    """What the solder of heads and tubes softens: all of the wire, as small work is heated through.

    Solder flows above the annealing temperature of every metal in the table, and nothing is taken to have
    been hardened afterwards. Judgement, on the safe side: a torch kept to one end would leave the other hard.
    """
    if not any(stone.soldered for stone in evaluation.design.stones):
        return ()
    chain = evaluation.chain
    before = float(np.sum(chain.length_mm[: chain.spans.start]))
    whole = float(np.sum(chain.length_mm))
    return (Softened(whole / 2 - before, whole),)


def ends_meet(evaluation: Evaluation) -> bool:
    """Whether the two outermost marks lie at one place."""
    return marks_apart_mm(evaluation) < CLOSED_TO_LENGTH * evaluation.finished_length_mm


def marks_apart_mm(evaluation: Evaluation) -> float:
    """How far the two outermost marks are apart."""
    trace, spans = evaluation.own_trace, evaluation.chain.spans
    return float(abs(trace.z_mm[trace.first[spans.stop] - 1] - trace.z_mm[trace.first[spans.start]]))


def along_mm_of(evaluation: Evaluation, sample: float) -> float:
    """Distance from the start mark along the finished wire of a sample of the trace with its fraction."""
    chain, trace = evaluation.chain, evaluation.own_trace
    at = min(int(sample), len(trace.u) - 1)
    part = int(trace.part[at])
    begins = float(np.sum(chain.length_mm[:part]) - np.sum(chain.length_mm[: chain.spans.start]))
    intervals = int(trace.first[part + 1] - trace.first[part]) - 1
    u = min(float(trace.u[at]) + (sample - at) / intervals, 1.0)
    return begins + u * float(chain.length_mm[part])


def stretch_mm(evaluation: Evaluation, question: Question) -> tuple[float, float]:
    """The two places along the wire, the first nearer to the start. Raises `NoFeel`."""
    length = evaluation.finished_length_mm
    joined = question.kind == "ring"
    if joined and not ends_meet(evaluation):
        apart = marks_apart_mm(evaluation)
        raise NoFeel(f"Joined: the two outermost marks were expected to meet, and are {apart:.2f} mm apart.")
    first = 0.0 if question.from_mm is None else question.from_mm
    last = question.to_mm
    if last is None:
        last = length / 2 if joined else length
    for place in (first, last):
        if not 0 <= place <= length * (1 + PLACE_TOLERANCE):
            raise NoFeel(
                f"Place along the finished wire: 0 to {length:.2f} mm was expected, not {place:.2f} mm."
            )
    low, high = min(first, last), min(max(first, last), length)
    if high - low < LEAST_STRETCH_MM:
        raise NoFeel("Two places along the wire were expected, with wire between them.")
    return low, high
