"""Mutated design files: refused in one line, or read, measured and written again."""

from __future__ import annotations

import json
import random
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from formsketch.bench.metals import load_metals
from formsketch.design.file_format import design_bytes, load_design, read_design
from formsketch.design.model import Design
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.report import measurement
from formsketch.shipped import demo_design_files
from tests.support.strategies import designs
from tests.test_bad_files import RICH
from tests.trust.guard import MOST_SECONDS, Findings, Guard
from tests.trust.mutate import mutated

METALS = load_metals()
MUTANTS_OF_EACH = 10
# A wire wound n times crosses itself up to n² times. Such lumps are sound; the window measures them aside.
MEASURED_S_FOR_EACH_TURN = 0.05


def turns_in(design: Design) -> float:
    """How many times round the wire of a design goes, its variants included."""
    forms = [design.form, *(variant.form for variant in design.variants if variant.form is not None)]
    deg = sum(
        run.times * (abs(s.turn_deg) + abs(s.skew_deg)) for f in forms for run in f.runs for s in run.spans
    )
    return deg / 360


def use(data: bytes, name: str, guard: Guard | None = None) -> None:
    """What the program does with a design file: read, measured, written and read again."""
    design = read_design(data, name).design
    if guard is not None:
        guard.allow(MOST_SECONDS + MEASURED_S_FOR_EACH_TURN * turns_in(design))
    again = read_design(design_bytes(design), name).design
    if again != design:
        raise AssertionError("another design after writing and reading")
    json.dumps(measurement(evaluate(design, METALS)), allow_nan=False)


def fuzz_designs(guard: Guard, count: int, number: int, clock: bool = True) -> Findings:
    """Half of them from designs that hypothesis draws to the bounds, half from demos and a rich design."""
    findings = Findings("design files", number)
    choose = random.Random(number)
    known = [file.read_bytes() for file in demo_design_files()]
    known.append(json.dumps(RICH).encode())
    for at in range(count - count // 2):
        data = mutated(choose.choice(known), choose)
        with guard.case(findings, _kept(guard.own, data, at), clock):
            use(data, "case.formsketch.json", guard)
            if at % 100 == 0:
                load_design(_written(guard.own, data))

    @seed(number)
    @settings(
        max_examples=max(1, count // 2 // MUTANTS_OF_EACH),
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(designs(wild=True), st.integers(0, 2**32))
    def from_drawn(design: Design, drawn: int) -> None:
        random_slips = random.Random(drawn)
        data = design_bytes(design)
        for at in range(MUTANTS_OF_EACH):
            mutant = mutated(data, random_slips)
            with guard.case(findings, _kept(guard.own, mutant, at), clock):
                use(mutant, "case.formsketch.json", guard)

    from_drawn()
    return findings


def _kept(folder: Path, data: bytes, at: int) -> str:
    """The case as it can be given back to `use`."""
    return ascii(data[:4000])


def _written(folder: Path, data: bytes) -> Path:
    file = folder / "case.formsketch.json"
    file.write_bytes(data)
    return file
