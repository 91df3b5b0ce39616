"""Bending data of every demo read back by the csv module; arcs agree with length = radius x turn [D]."""

import csv
import io
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from formsketch.design.file_format import load_design
from formsketch.design.model import Design, Form, Run, Span, Wire
from formsketch.evaluation.evaluate import evaluate
from formsketch.shipped import demo_design_files
from formsketch.template.bending_data import bending_csv

DEMOS = demo_design_files()


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_bending_data_reads_back_with_the_csv_module(file: Path) -> None:
    evaluation = evaluate(load_design(file).design)
    rows = list(csv.DictReader(io.StringIO(bending_csv(evaluation))))
    bends = [row for row in rows if row["kind"] != "corner"]
    spans = evaluation.spans
    curved = np.flatnonzero(np.isfinite(spans.as_bent_radius_mm))
    assert [float(row["from_mm"]) for row in bends] == pytest.approx(
        spans.stock_from_mm[curved].tolist(), abs=6e-4
    )
    assert [float(row["as_bent_radius_mm"]) for row in bends] == pytest.approx(
        spans.as_bent_radius_mm[curved].tolist(), abs=6e-5
    )
    # A radius, an angle and a length of an arc agree: length = radius x turn.
    for row in bends:
        if row["kind"] == "arc":
            length = float(row["to_mm"]) - float(row["from_mm"])
            turned = math.radians(abs(float(row["turn_deg"])))
            assert length == pytest.approx(float(row["as_bent_radius_mm"]) * turned, rel=2e-3)
    side = evaluation.chain.side[evaluation.chain.spans]
    assert sum(row["roll_deg"] == "180" for row in rows) <= int(np.count_nonzero(np.diff(side)))


@pytest.mark.parametrize("times", [1, 2, 5])
def test_fed_rolled_and_bent_in_order_the_data_make_the_form(times: int) -> None:
    """Feed, roll and bend as rotations in space, by scipy, on wire that is not hammered."""
    motif = (Span(length_mm=9.0, turn_deg=100.0), Span(length_mm=4.0), Span(length_mm=7.0, turn_deg=-40.0))
    motif = (*motif, Span(length_mm=6.0, turn_deg=70.0, corner_deg=25.0, turned_over=True))
    form = Form(runs=(Run(spans=motif, times=times, turned_over=True),))
    evaluation = evaluate(Design(title="", wire=Wire(metal="brass-c26000", diameter_mm=1.0), form=form))
    frame, place, reached_mm = Rotation.identity(), np.zeros(3), 0.0
    for row in csv.DictReader(io.StringIO(bending_csv(evaluation))):
        begin, end = float(row["from_mm"]), float(row["to_mm"])
        place = place + frame.apply([begin - reached_mm, 0, 0])
        frame = frame * Rotation.from_euler("x", float(row["roll_deg"]), degrees=True)
        turn = math.radians(float(row["turn_deg"]))
        if row["kind"] == "arc":
            radius = math.copysign(float(row["as_bent_radius_mm"]), turn)
            place = place + frame.apply([radius * math.sin(turn), radius * (1 - math.cos(turn)), 0])
        frame, reached_mm = frame * Rotation.from_euler("z", turn), end
    place = place + frame.apply([evaluation.stock_length_mm - reached_mm, 0, 0])
    trace = evaluation.trace
    begins = np.conj(trace.direction[0])
    along, heading = (trace.z_mm[-1] - trace.z_mm[0]) * begins, trace.direction[-1] * begins
    # Three decimals of a millimetre and of a degree add up along the wire.
    assert [along.real, along.imag, 0] == pytest.approx(list(place), abs=0.02)
    ahead = frame.apply([1.0, 0, 0])
    assert list(ahead) == pytest.approx([heading.real, heading.imag, 0], abs=1e-3)
