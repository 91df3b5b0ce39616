"""Balls found in the bays of random forms never overlap the metal, and bad asking is told."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner

from formsketch.bench.metals import load_metals
from formsketch.cli import commands
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.errors import InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.geometry.linear_steps import best_step
from formsketch.geometry.pockets import bays_of

METALS = load_metals()
ROOT = Path(__file__).resolve().parent.parent
# FORMSKETCH_FORMS=1000 looks at as many; it takes some minutes.
FORMS = int(os.environ.get("FORMSKETCH_FORMS", "50"))


def random_form(rng: np.random.Generator) -> Design:
    spans = tuple(
        Span(
            length_mm=float(rng.uniform(4, 30)),
            turn_deg=float(rng.uniform(-330, 330)),
            skew_deg=float(rng.choice([0.0, rng.uniform(-200, 200)])),
        )
        for _ in range(rng.integers(1, 4))
    )
    wire = Wire(metal="brass-c26000", diameter_mm=float(rng.uniform(0.6, 2.0)))
    return Design(title="", wire=wire, form=Form(runs=(Run(spans=spans, times=int(rng.integers(1, 3))),)))


@pytest.mark.parametrize("seed", range(5))
def test_no_ball_overlaps_the_metal(seed: int) -> None:
    rng, found = np.random.default_rng(seed), 0
    for _ in range(FORMS // 5):
        metal = evaluate(random_form(rng), METALS).outline.silhouette
        clearance = float(rng.choice([0.0, 0.2]))
        for bay in bays_of(metal, clearance):
            found += 1
            balls = [(bay.centre_mm, bay.diameter_mm)]
            if bay.pair_diameter_mm:
                balls += [(at, bay.pair_diameter_mm) for at in bay.pair_mm]
                assert abs(bay.pair_mm[1] - bay.pair_mm[0]) >= bay.pair_diameter_mm - 1e-9
            for at, diameter in balls:
                away = shapely.distance(metal, shapely.Point(at.real, at.imag))
                assert away >= diameter / 2 + clearance - 1e-9
            assert bay.pair_diameter_mm <= bay.diameter_mm + 1e-9
            assert bay.diameter_mm >= 1.0
    assert found > FORMS // 10


@pytest.mark.parametrize("seed", range(3))
def test_no_larger_ball_fits_near_a_held_one(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    for _ in range(10):
        metal = evaluate(random_form(rng), METALS).outline.silhouette
        for bay in bays_of(metal):
            if bay.hold != "held":
                continue
            away = (
                bay.diameter_mm
                / 20
                * np.sqrt(rng.uniform(0, 1, 200))
                * np.exp(2j * np.pi * rng.uniform(0, 1, 200))
            )
            places = bay.centre_mm + away
            room = shapely.distance(metal, shapely.points(places.real, places.imag))
            assert np.max(room) <= bay.diameter_mm / 2 + 0.002


@pytest.mark.parametrize(
    ("clearance", "least"), [(-0.1, 1.0), (float("nan"), 1.0), (0.0, 0.0), (0.0, float("inf"))]
)
def test_sizes_that_cannot_be_are_told(clearance: float, least: float) -> None:
    with pytest.raises(InputError, match="expected"):
        bays_of(shapely.box(0, 0, 1, 1), clearance, least)


def test_the_best_step_of_a_plain_programme() -> None:
    # The incircle of the triangle x >= 0, y >= 0, 3 x + 4 y <= 12 is 1, at (1, 1).
    rows = np.array([[-1.0, 0, 1], [0, -1, 1], [0.6, 0.8, 1]])
    step = best_step(rows, np.array([0.0, 0.0, 2.4]), 10.0)
    assert step == pytest.approx([1, 1, 1])
    # Kept to the reach: at (0.5, 0.5) it is 0.5.
    assert best_step(rows, np.array([0.0, 0.0, 2.4]), 0.5) == pytest.approx([0.5, 0.5, 0.5])


def test_the_command_tells_the_bays() -> None:
    file = str(ROOT / "demo_designs" / "slack-water-figure-eight.formsketch.json")
    told = CliRunner().invoke(commands, ["bays", file, "--clearance-mm", "0.1"], catch_exceptions=False)
    assert told.exit_code == 0
    assert "largest ball" in told.output
    assert "0.10 mm clear of the metal" in told.output
    data = json.loads(CliRunner().invoke(commands, ["bays", file, "--json"], catch_exceptions=False).output)
    assert len(data["bays"]) == 2
    assert data["bays"][0]["diameter_mm"] == pytest.approx(data["bays"][1]["diameter_mm"], abs=0.05)
    with pytest.raises(InputError, match="clearance"):
        CliRunner().invoke(commands, ["bays", file, "--clearance-mm", "-1"], catch_exceptions=False)
