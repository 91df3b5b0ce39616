"""Edits in any order, undone and redone: the wire stays one wire, and undo is exact.

After every edit all numbers are finite and each span ends where the next begins, compared with a walk along
the design as written (40-point Gauss-Legendre over steps of at most 4 rad). A refused edit changes nothing.
Undone to the beginning the design is the first, byte for byte.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable
from functools import lru_cache

import msgspec
import numpy as np
import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from numpy.typing import NDArray

from formsketch.bench.metals import load_metals
from formsketch.design.edits import (
    SpanAddress,
    change_span,
    loosened,
    mirrored,
    scaled,
    with_flare,
    with_flare_depth,
)
from formsketch.design.file_format import design_bytes
from formsketch.design.mark_edits import insert_mark, remove_mark
from formsketch.design.model import Design, Flare, Wire
from formsketch.design.run_edits import (
    copy_flare_to_like,
    even_flares,
    gather_repeats,
    join_runs,
    reversed_wire,
    set_ends_scale,
    set_times,
    split_run,
)
from formsketch.design.starters import STARTERS, make_starter
from formsketch.design.transforms import written_out
from formsketch.errors import FormSketchError
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.report import measurement
from formsketch.fitting.many_spans import with_length, with_skew, with_thickness, with_turn
from formsketch.fitting.pulling import WireInHand, pull_belly, pull_flare, pull_mark, slide_flare
from formsketch.fitting.repeating import row_of
from formsketch.fitting.shaping import (
    even_row,
    open_row,
    pull_belly_keeping_marks,
    pull_mark_constrained,
    pull_skew,
    turn_direction,
)
from formsketch.fitting.typed_marks import slide_mark_to
from formsketch.fitting.uneven_blows import hammer_unevenly
from tests.support.strategies import EVERY_WAY, calm

METALS = load_metals()
WIRE = Wire(metal="brass-c26000", diameter_mm=1.0)
NODES, WEIGHTS = np.polynomial.legendre.leggauss(40)
# Forms grow when they are loosened and split; larger ones only make the test slow.
MOST_SPANS = 20
CONTINUOUS_MM = 1e-9


@lru_cache(maxsize=4)
def evaluated(design: Design) -> Evaluation:
    """Remembered, for what an edit makes is checked and then edited."""
    return evaluate(design, METALS)


def in_hand(design: Design) -> WireInHand:
    evaluation = evaluated(design)
    return WireInHand(design, evaluation.chain, evaluation.own_trace)


def marks_walked(design: Design) -> NDArray[np.complex128]:
    """Places of all marks, the first span leaving 0 along +x, from the spans as they are written."""
    spans = [span for run in design.form.runs for span in written_out(run)]
    rows = np.array([(s.length_mm, s.turn_deg, s.skew_deg, s.corner_deg, s.turned_over) for s in spans])
    side = np.cumprod(1 - 2 * rows[:, 4])
    turn, skew, corner = (np.deg2rad(rows[:, i]) * side for i in (1, 2, 3))
    heading = np.cumsum(turn) - turn + np.cumsum(corner) - corner[0]
    pieces = np.maximum(1, np.ceil((abs(turn) + abs(skew)) / 4)).astype(int)
    of = np.repeat(np.arange(len(spans)), pieces)
    number = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    u = (number[:, None] + (NODES + 1) / 2) / pieces[of][:, None]
    angle = heading[of][:, None] + u * (turn[of][:, None] + skew[of][:, None] * (u - 1))
    steps = np.exp(1j * angle) @ WEIGHTS / 2 / pieces[of]
    moves = np.zeros(len(spans), dtype=complex)
    np.add.at(moves, of, steps)
    return np.concatenate(([0.0], np.cumsum(moves * rows[:, 0])))


def any_span(design: Design, choose: random.Random) -> SpanAddress:
    run = choose.randrange(len(design.form.runs))
    return SpanAddress(run, choose.randrange(len(design.form.runs[run].spans)))


def any_run(design: Design, choose: random.Random) -> int:
    return choose.randrange(len(design.form.runs))


def any_flare(choose: random.Random) -> Flare:
    hold = choose.choice((0.0, 0.3))
    return Flare(thickness=choose.uniform(0.3, 1.0), centre=choose.uniform(0.25, 0.75), hold=hold)


def changed_number(design: Design, choose: random.Random) -> Design:
    name, low, high = choose.choice(
        (
            ("length_mm", 1.0, 30.0),
            ("turn_deg", -300.0, 300.0),
            ("skew_deg", -100.0, 100.0),
            ("corner_deg", -90.0, 90.0),
        )
    )
    return change_span(design, any_span(design, choose), **{name: choose.uniform(low, high)})


def pulled(design: Design, choose: random.Random) -> Design:
    """A pull of any kind, to a place near the span that is pulled."""
    wire = in_hand(design)
    span, mark = choose.randrange(wire.span_count), choose.randrange(wire.span_count + 1)
    target = wire.mark_mm(mark) + complex(choose.gauss(0, 3), choose.gauss(0, 3))
    beside = wire.mark_mm(span) + complex(choose.gauss(0, 6), choose.gauss(0, 6))
    pulls = (
        lambda: turn_direction(wire, mark, choose.gauss(0, 0.3)),
        lambda: pull_belly_keeping_marks(wire, span, beside),
        lambda: pull_skew(wire, span, choose.gauss(0, 60)),
        lambda: open_row(wire, span, choose.uniform(-10, 320)),
        lambda: even_row(wire, span),
        lambda: pull_mark_constrained(wire, mark, target, choose.choice(("along", "square"))),
        lambda: pull_mark(wire, mark, target),
        lambda: pull_belly(wire, span, beside),
        lambda: pull_flare(wire, span, choose.uniform(0.8, 2.5)),
        lambda: slide_flare(wire, span, choose.uniform(0, 1)),
    )
    return choose.choice(pulls)().design


def changed_many(design: Design, choose: random.Random) -> Design:
    wire = in_hand(design)
    spans = [choose.randrange(wire.span_count) for _ in range(3)]
    ways = (
        lambda: with_length(wire, spans, choose.uniform(1, 30)),
        lambda: with_turn(wire, spans, choose.uniform(-300, 300)),
        lambda: with_skew(wire, spans, choose.uniform(-200, 200)),
        lambda: with_thickness(wire, spans, choose.uniform(0.3, 1.5)),
    )
    return choose.choice(ways)()


def row_changed(design: Design, choose: random.Random) -> Design:
    wire = in_hand(design)
    row = row_of(wire, choose.randrange(wire.span_count))
    if choose.random() < 0.5:
        return row.with_times(choose.randint(1, 4)).design
    return row.with_ends_scale(choose.uniform(0.5, 1.4)).design


def hammered_unevenly(design: Design, choose: random.Random) -> Design:
    wire = in_hand(design)
    span = choose.randrange(wire.span_count)
    return hammer_unevenly(wire, span, choose.uniform(-0.3, 0.3), choose.random() < 0.5).design


def typed_mark(design: Design, choose: random.Random) -> Design:
    wire = in_hand(design)
    return slide_mark_to(wire, choose.randrange(wire.span_count + 1), choose.uniform(0, 200)).design


def gathered(design: Design, run: int, loosen_first: bool) -> Design:
    """Repeats gathered; what repeats after many edits is mostly a run loosened just now."""
    return gather_repeats(loosened(design, run) if loosen_first else design, run)


EDITS: dict[str, Callable[[Design, random.Random], Design]] = {
    "insert": lambda d, c: insert_mark(d, any_span(d, c), c.uniform(-0.05, 1.05)),
    "remove": lambda d, c: remove_mark(d, any_span(d, c)),
    "split": lambda d, c: split_run(d, any_run(d, c), c.randint(0, 4)),
    "join": lambda d, c: join_runs(d, any_run(d, c)),
    "gather": lambda d, c: gathered(d, any_run(d, c), c.random() < 0.5),
    "loosen": lambda d, c: loosened(d, any_run(d, c)),
    "times": lambda d, c: set_times(d, any_run(d, c), c.randint(0, 5)),
    "grade": lambda d, c: set_ends_scale(d, any_run(d, c), c.uniform(0.05, 1.5)),
    "reverse": lambda d, c: reversed_wire(d),
    "even": lambda d, c: even_flares(d, {any_span(d, c) for _ in range(3)}, any_flare(c)),
    "copy": lambda d, c: copy_flare_to_like(d, any_span(d, c)),
    "flare": lambda d, c: with_flare(d, any_span(d, c), thickness=c.uniform(0.05, 1.0)),
    "depth": lambda d, c: with_flare_depth(d, c.uniform(0.7, 1.3)),
    "mirror": lambda d, c: mirrored(d),
    "scale": lambda d, c: scaled(d, c.uniform(0.8, 1.25)),
    "over": lambda d, c: change_span(d, any_span(d, c), turned_over=c.random() < 0.5),
    "number": changed_number,
    "many": changed_many,
    "repeats": row_changed,
    "uneven": hammered_unevenly,
    "typed": typed_mark,
    "pull": pulled,
}
# Edits that only write the same form differently.
SAME_FORM = ("insert", "split", "join", "gather", "loosen")
# The fast driver: pulls are many kinds in one, and a form once loosened or joined leaves little to split.
DRAWN = tuple(EDITS)
WEIGHTS_DRAWN = [{"pull": 4.0, "loosen": 0.3, "join": 0.5}.get(name, 1.0) for name in EDITS]
BLOCKS, EDITS_IN_BLOCK = 200 if EVERY_WAY else 50, 50
FEW = {"times": 3, "half_turns": 4}


def checked_marks(design: Design) -> NDArray[np.complex128]:
    """The marks walked as written, after checking that the program's trace is one wire through them."""
    evaluation = evaluated(design)
    flares, trace = evaluation.flares, evaluation.own_trace
    assert np.isfinite(trace.z_mm).all() and np.isfinite(trace.direction).all()
    first, part = trace.first, evaluation.chain.spans
    begins, ends = trace.z_mm[first[part]], trace.z_mm[first[part.start + 1 : part.stop + 1] - 1]
    walked = marks_walked(design)
    # Rounding grows with the length of the wire: 1e-9 mm up to a metre of it.
    allowed = CONTINUOUS_MM * max(1.0, float(np.sum(evaluation.chain.length_mm)) / 1000)
    assert np.abs(begins[1:] - ends[:-1]).max(initial=0.0) <= allowed
    assert np.abs(begins - walked[:-1]).max() <= allowed and abs(ends[-1] - walked[-1]) <= allowed
    for values in (flares.stock_fraction, flares.mean_plan_width_mm, flares.thinnest_mm):
        assert np.isfinite(values).all() and values.min() > 0
    return walked


class Bench:
    """A design under edits, with every design before it and every one undone, kept as values."""

    def __init__(self, design: Design) -> None:
        self.design, self.undone = design, list[Design]()
        self.before: list[Design] = []
        self.first_bytes = design_bytes(design)
        self.made: Counter[str] = Counter()

    def edit(self, name: str, choose: random.Random) -> None:
        before, said = self.design, msgspec.json.encode(self.design)
        try:
            after = EDITS[name](before, choose)
        except FormSketchError as refusal:
            assert str(refusal).endswith("."), refusal
        else:
            marks = checked_marks(after)
            if name in SAME_FORM:
                assert abs(marks[-1] - marks_walked(before)[-1]) < 1e-6
            self.before.append(before)
            self.undone.clear()
            self.design = after
            self.made[name] += 1
        # Made or refused, an edit leaves the design it was given as it was.
        assert msgspec.json.encode(before) == said

    def undo(self) -> None:
        if self.before:
            self.undone.append(self.design)
            self.design = self.before.pop()

    def redo(self) -> None:
        if self.undone:
            self.before.append(self.design)
            self.design = self.undone.pop()

    @property
    def span_count(self) -> int:
        return sum(run.times * len(run.spans) for run in self.design.form.runs)

    def undo_everything(self) -> None:
        last, count = msgspec.json.encode(self.design), len(self.before)
        while self.before:
            self.undo()
        assert design_bytes(self.design) == self.first_bytes
        for _ in range(count):
            self.redo()
        assert msgspec.json.encode(self.design) == last


class EditMachine(RuleBasedStateMachine):
    """Any starter under any edits; hypothesis looks for the shortest way to break it."""

    @initialize(key=st.sampled_from(sorted(STARTERS)))
    def begin(self, key: str) -> None:
        self.bench = Bench(make_starter(key, WIRE))

    @rule(name=st.sampled_from(sorted(EDITS)), seed=st.integers(0, 10_000))
    def edit(self, name: str, seed: int) -> None:
        if self.bench.span_count <= 4 * MOST_SPANS:
            self.bench.edit(name, random.Random(seed))

    @rule(steps=st.integers(1, 4))
    def undo(self, steps: int) -> None:
        for _ in range(steps):
            self.bench.undo()

    @rule()
    def redo(self) -> None:
        self.bench.redo()

    @invariant()
    def is_measured(self) -> None:
        if hasattr(self, "bench"):
            checked_marks(self.bench.design)

    def teardown(self) -> None:
        if hasattr(self, "bench"):
            self.bench.undo_everything()


TestEditMachine = EditMachine.TestCase
TestEditMachine.settings = calm(60)


@pytest.mark.parametrize("seed", [1])
def test_thousands_of_edits(seed: int) -> None:
    choose = random.Random(seed)
    keys = sorted(STARTERS)
    made: Counter[str] = Counter()
    for block in range(BLOCKS):
        key = keys[block % len(keys)]
        numbers = {n.name: FEW[n.name] for n in STARTERS[key].numbers if n.name in FEW}
        bench = Bench(make_starter(key, WIRE, numbers=numbers))
        for _ in range(EDITS_IN_BLOCK):
            drawn = choose.random()
            if drawn < 0.08 or bench.span_count > MOST_SPANS:
                for _ in range(choose.randint(1, 6)):
                    bench.undo()
            elif drawn < 0.12:
                bench.redo()
            bench.edit(choose.choices(DRAWN, WEIGHTS_DRAWN)[0], choose)
        if block % 5 == 0:
            json.dumps(measurement(evaluate(bench.design, METALS)), allow_nan=False)
        bench.undo_everything()
        made += bench.made
    # Every edit was really made, again and again, not only refused.
    assert min(made[name] for name in EDITS) >= BLOCKS // 5, made
