"""An edit is worked out from what is remembered of the form before, and comes to the same as from nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss

from formsketch.bench.metals import load_metals
from formsketch.design.edits import SpanAddress, change_span, with_flare
from formsketch.design.model import Design
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.forging import forged
from formsketch.geometry import trace
from formsketch.geometry.remembered import Remembered
from formsketch.geometry.spans import unit_gauss
from tests.benchmarks.rows import looped_spans
from tests.support.strategies import calm, designs

METALS = load_metals()


def nothing_remembered() -> None:
    trace._LAID_OUT.forget()
    forged._SECTIONS.forget()
    forged._forged.cache_clear()


def numbers(evaluation: Evaluation) -> dict[str, Any]:
    """Every array that is put together from remembered ones, and what comes of all of them."""
    own, samples = evaluation.own_trace, evaluation.samples
    return {
        "z": own.z_mm,
        "direction": own.direction,
        "thickness": samples.thickness_mm,
        "width": samples.width_mm,
        "plan": samples.plan_width_mm,
        "area": np.array(evaluation.silhouette_area_mm2),
        "envelope": np.array(evaluation.envelope_mm),
        # Where two bends just meet, rounding decides whether they touch, with no gap, or have one of 0.
        "gap": np.array(evaluation.smallest_gap_mm or 0.0),
    }


@calm(12)
@given(designs(), st.data())
def test_an_edit_comes_to_the_same_as_the_form_made_from_nothing(design: Design, data: st.DataObject) -> None:
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    at = SpanAddress(run, data.draw(st.integers(0, len(design.form.runs[run].spans) - 1)))
    try:
        edits = [
            change_span(design, at, turn_deg=data.draw(st.floats(-300, 300))),
            change_span(design, at, length_mm=data.draw(st.floats(1.0, 40.0))),
            with_flare(design, at, thickness=data.draw(st.floats(0.3, 0.9)), bias=0.0),
        ]
    except EditRefused:
        return
    for edited in edits:
        nothing_remembered()
        numbers(evaluate(design, METALS))
        after = numbers(evaluate(edited, METALS))
        nothing_remembered()
        fresh = numbers(evaluate(edited, METALS))
        for name, expected in fresh.items():
            size = 1.0 + float(np.max(np.abs(expected)))
            assert after[name].shape == expected.shape, name
            assert np.max(np.abs(after[name] - expected)) <= 1e-12 * size, name


def test_only_what_an_edit_touches_is_laid_out_and_forged_again(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    for module, name in ((trace, "_laid_out"), (forged, "_sections_along")):
        whole = getattr(module, name)
        monkeypatch.setattr(module, name, lambda rows, whole=whole: (made.append(len(rows)), whole(rows))[1])
    nothing_remembered()
    design = looped_spans(40)
    numbers(evaluate(design, METALS))
    assert made == [40, 40]
    numbers(evaluate(change_span(design, SpanAddress(0, 7), turn_deg=201.0), METALS))
    # Another number of intervals may want its flare at other places; nothing of another span is asked for.
    assert made[2:] in ([1], [1, 1])
    made.clear()
    numbers(evaluate(with_flare(design, SpanAddress(0, 7), thickness=0.8), METALS))
    assert set(made) <= {1} and len(made) <= 2


def test_what_is_remembered_is_bounded_and_never_wrong() -> None:
    def squares(rows: np.ndarray) -> Iterator[np.ndarray]:
        return (np.full(int(row[1]), row[0] ** 2) for row in rows)

    remembered = Remembered(most_bytes=8_000)
    rng = np.random.default_rng(7)
    for _ in range(200):
        rows = np.stack((rng.integers(0, 50, 6), np.full(6, 40)), axis=1).astype(float)
        found = remembered.all_of(rows, squares)
        assert [value[0] for value in found] == (rows[:, 0] ** 2).tolist()
        assert remembered.kept_bytes <= 8_000
    # More at once than may be kept is handed out and not kept.
    large = np.array([[3.0, 900.0], [4.0, 900.0]])
    assert [len(value) for value in remembered.all_of(large, squares)] == [900, 900]
    assert remembered.kept_bytes <= 8_000
    with pytest.raises(ValueError, match="read-only"):
        remembered.all_of(large, squares)[0][0] = 1.0


@pytest.mark.parametrize("count", [4, 12, 16, 24])
def test_gauss_legendre_is_numpys(count: int) -> None:
    nodes, weights = unit_gauss(count)
    expected_nodes, expected_weights = leggauss(count)
    assert np.abs(2 * nodes - 1 - expected_nodes).max() < 2e-15
    assert np.abs(2 * weights - expected_weights).max() < 2e-15
