"""What holds for every sound design, whatever is drawn.

The laws are those of geometry and of conservation of metal: a mirror image has the same numbers; a form
scaled with its wire by k has lengths k, areas k^2 and weight k^3 times as large; wire that is not hammered
does not lengthen. No value here comes from the program itself.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.bench.metals import load_metals
from formsketch.design.edits import (
    SpanAddress,
    applied,
    change_span,
    change_texts,
    loosened,
    mirrored,
    scaled_with_wire,
    with_flare,
    with_flare_depth,
)
from formsketch.design.file_format import design_bytes, load_design, read_design, save_design
from formsketch.design.model import Design, Flare, Form, Run, Span, Wire
from formsketch.design.transforms import scaled_form
from formsketch.errors import EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.feel_words import feel_data
from formsketch.evaluation.report import measurement, measurement_text
from formsketch.shipped import demo_design_files
from tests.support.strategies import calm, designs

FIXED_KEYS = (
    "cut_length_mm",
    "stock_length_mm",
    "finished_length_mm",
    "weight_g",
    "envelope_mm",
    "silhouette_area_mm2",
    "widest_mm",
    "thinnest_mm",
)
SAME = 1e-9


# The peak is looked for at samples along the bar, which a flare adds to: the load there is a sampled one.
SAMPLED_PEAK = re.compile(r"\.feel\..*(first_set|hinge|set_to)")
SAMPLED = 1e-3
# How far a load moves the ends is a sum in which nearly all may cancel out; it is known to this, in mm/N.
STIFFNESS, GIVES_TO = re.compile(r"\.feel\..*\.load_per_move"), 1e-17
EITHER_PLACE = re.compile(r"\.feel\..*\.(along_mm|span|at_least|yield_known)$")


def measured(design: Design) -> dict[str, Any]:
    """All numbers, with the shipped metals only: a person's own table must not change a test.

    Without what is set on the wire: its places are read between samples, and have tests of their own.
    """
    bare = replace(design, pearls=(), stones=(), quality_mark=None)
    evaluation = evaluate(bare, load_metals())
    return measurement(evaluation) | {"feel": feel_data(evaluation)}


def leaves(value: Any, place: str = "") -> dict[str, Any]:
    """Every number, text and None in a tree of dicts and lists, by its place."""
    if isinstance(value, dict):
        return {k: v for key, item in value.items() for k, v in leaves(item, f"{place}.{key}").items()}
    if isinstance(value, list):
        return {k: v for i, item in enumerate(value) for k, v in leaves(item, f"{place}[{i}]").items()}
    return {place: value}


def assert_same_numbers(first: dict[str, Any], second: dict[str, Any], but: tuple[str, ...] = ()) -> None:
    """Every leaf the same: numbers to 1e-9 relative, everything else exactly; but for places ending so.

    Wire that lies along itself has no countable crossings: these are held for the demo designs, below.
    """
    one, other = leaves(first), leaves(second)
    assert one.keys() == other.keys()
    for place, value in one.items():
        if place.endswith(but) and but:
            continue
        if place == ".crossings" or EITHER_PLACE.search(place):
            continue
        if isinstance(value, float):
            near = SAMPLED if SAMPLED_PEAK.search(place) else SAME
            if STIFFNESS.search(place):
                near = max(near, GIVES_TO * abs(value))
            assert other[place] == pytest.approx(value, rel=near, abs=SAME), place
        else:
            assert other[place] == value, place


def unhammered(design: Design) -> Design:
    """The same form with no flare at all."""
    runs = tuple(
        replace(run, spans=tuple(replace(span, flare=None) for span in run.spans)) for run in design.form.runs
    )
    return replace(design, form=replace(design.form, runs=runs), variants=())


def assert_sane(evaluation: Evaluation) -> None:
    """Numbers everywhere, and inside the bounds that geometry and conservation of metal set."""
    json.dumps(measurement(evaluation), allow_nan=False)
    spans = evaluation.spans
    hammered = spans.thinnest_mm < evaluation.diameter_mm
    with np.errstate(invalid="ignore"):
        for values in (spans.finished_length_mm, spans.stock_length_mm, spans.thinnest_mm, spans.widest_mm):
            assert np.isfinite(values).all() and (values > 0).all()
    # Hammering never shortens wire and never narrows it.
    assert (spans.stock_length_mm <= spans.finished_length_mm * (1 + 1e-12)).all()
    assert (spans.widest_mm >= evaluation.diameter_mm * (1 - 1e-12)).all()
    assert (spans.widest_mm[~hammered] <= evaluation.diameter_mm * (1 + 1e-12)).all()
    assert evaluation.cut_length_mm >= evaluation.stock_length_mm > 0
    # A silhouette fits inside its hull, and a hull inside the box around it. The hull's corners are samples:
    # it may lack 0.003 mm along its girth, and 4e-4 of a bead drawn with 128 corners.
    width, height = evaluation.envelope_mm
    hull = evaluation.outline.hull_area_mm2
    lacking = 4.1e-4 * hull + 0.003 * 2 * (width + height)
    assert 0 < evaluation.silhouette_area_mm2 <= hull + lacking
    assert hull <= width * height * (1 + 1e-9)
    # Along the wire the stock only ever runs on.
    samples = evaluation.stock_at_samples_mm
    assert np.isfinite(samples).all() and (np.diff(samples) >= -1e-9).all()
    assert measurement_text(evaluation)


@calm(50)
@given(designs())
def test_any_design_and_its_variants_have_numbers_everywhere(design: Design) -> None:
    assert_sane(evaluate(design, load_metals()))
    for variant in design.variants:
        assert_sane(evaluate(applied(design, variant), load_metals()))


@calm(25)
@given(designs(wild=True))
def test_a_design_at_the_bounds_of_a_file_has_numbers_everywhere(design: Design) -> None:
    assert_sane(evaluate(design, load_metals()))


@calm(80)
@given(designs(wild=True))
def test_saved_and_loaded_a_design_is_itself_and_its_bytes_are_too(design: Design) -> None:
    data = design_bytes(design)
    loaded = read_design(data, "drawn").design
    assert loaded == design
    assert design_bytes(loaded) == data


@calm(25)
@given(designs(), st.sampled_from((None, 0, 3, "\t")), st.booleans())
def test_an_unchanged_design_keeps_foreign_spacing(
    tmp_path_factory: pytest.TempPathFactory, design: Design, indent: int | str | None, ascii_only: bool
) -> None:
    folder = tmp_path_factory.mktemp("foreign")
    tree = json.loads(design_bytes(design))
    data = json.dumps(tree, indent=indent, ensure_ascii=ascii_only, sort_keys=True).encode() + b"\n\n "
    path = folder / "foreign.formsketch.json"
    path.write_bytes(data)
    loaded = load_design(path)
    assert loaded.design == design
    save_design(path, loaded.design, loaded)
    assert path.read_bytes() == data
    changed = change_texts(loaded.design, title="another")
    save_design(path, changed, loaded)
    assert load_design(path).design == changed


@calm(30)
@given(designs())
def test_mirrored_it_has_the_same_numbers(design: Design) -> None:
    plain, mirror = measured(design), measured(mirrored(design))
    assert_same_numbers(plain, mirror, but=(".turn_deg", ".corner_deg", ".as_bent_turn_deg"))
    for one, other in zip(plain["spans"], mirror["spans"], strict=True):
        assert (other["turn_deg"], other["corner_deg"]) == (-one["turn_deg"], -one["corner_deg"])


@calm(40)
@given(designs())
def test_mirrored_twice_it_is_itself(design: Design) -> None:
    assert mirrored(mirrored(design)) == design


@calm(30)
@given(designs(), st.floats(0.5, 2.0))
def test_scaled_with_its_wire_lengths_areas_and_weight_scale(design: Design, scale: float) -> None:
    base = replace(design, variants=())
    try:
        larger = scaled_with_wire(base, scale)
    except EditRefused:
        assume(False)
    first, second = evaluate(base, load_metals()), evaluate(larger, load_metals())
    one, other = measurement(first), measurement(second)
    for key in ("cut_length_mm", "stock_length_mm", "finished_length_mm", "widest_mm", "thinnest_mm"):
        assert other[key] == pytest.approx(one[key] * scale, rel=SAME), key
    assert other["weight_g"] == pytest.approx(one["weight_g"] * scale**3, rel=SAME)
    # Spring-back is free of scale: with u = Sy R/(E c) both R and c grow alike.
    for span, grown in zip(one["spans"], other["spans"], strict=True):
        for key in ("finished_length_mm", "stock_length_mm", "stock_from_mm", "thinnest_mm", "widest_mm"):
            assert grown[key] == pytest.approx(span[key] * scale, rel=SAME), key
        for key in ("as_bent_radius_mm", "tube_diameter_mm"):
            assert (grown[key] is None) == (span[key] is None), key
            if span[key] is not None:
                assert grown[key] == pytest.approx(span[key] * scale, rel=1e-8, abs=1e-9), key
        for key in ("turn_deg", "corner_deg", "cold_work_percent"):
            assert grown[key] == pytest.approx(span[key], rel=SAME, abs=SAME), key
    # The outline is a polygon within a few micrometres of the true edge at either scale; a form with no
    # ends to be laid by is laid by the middles of its chords, which turns it by as little again.
    chord_mm = 0.01 * (1 + scale)
    laid = np.multiply(first.envelope_mm, scale)
    assert np.allclose(second.envelope_mm, laid, rtol=SAME, atol=2 * chord_mm)
    edges_mm = 2 * (first.cut_length_mm + sum(abs(end.bead_diameter_mm) * 4 for end in first.ends)) * scale
    assert (
        abs(second.silhouette_area_mm2 - first.silhouette_area_mm2 * scale**2) <= edges_mm * chord_mm + 1e-3
    )


@calm(30)
@given(designs(), st.data())
def test_loosening_a_run_changes_no_number(design: Design, data: st.DataObject) -> None:
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    assert_same_numbers(measured(design), measured(loosened(design, run)))


@calm(25)
@given(designs())
def test_loosened_throughout_it_has_no_repeats_left_and_the_same_numbers(design: Design) -> None:
    free = design
    for run in range(len(design.form.runs)):
        free = loosened(free, run)
    assert all((run.times, run.turned_over, run.ends_scale) == (1, False, 1.0) for run in free.form.runs)
    assert_same_numbers(measured(design), measured(free))


@calm(30)
@given(designs())
def test_unhammered_wire_is_as_long_finished_as_cut(design: Design) -> None:
    # Limit: without hammering the elongation is 1, the width the diameter, the weight A0 L rho.
    evaluation = evaluate(unhammered(design), load_metals())
    d = evaluation.diameter_mm
    assert evaluation.stock_length_mm == pytest.approx(evaluation.finished_length_mm, rel=1e-12)
    assert (evaluation.thinnest_mm, evaluation.widest_mm) == pytest.approx((d, d), rel=1e-12)
    cut = evaluation.ends[0].stock_mm + evaluation.finished_length_mm + evaluation.ends[1].stock_mm
    weight = np.pi / 4 * d * d * cut * evaluation.metal.density_g_per_cm3 / 1000
    assert evaluation.weight_g == pytest.approx(weight, rel=1e-12)


@calm(24)
@given(designs(), st.floats(0.05, 0.95), st.sampled_from(("flat", "edge")))
def test_a_flare_of_no_depth_changes_no_number(design: Design, centre: float, face: Any) -> None:
    # Limit: thickness 1 is the round wire as it was.
    plain = unhammered(design)
    flat = Flare(thickness=1.0, centre=centre, face=face)
    runs = tuple(
        replace(run, spans=tuple(replace(span, flare=flat) for span in run.spans)) for run in plain.form.runs
    )
    assert_same_numbers(measured(plain), measured(replace(plain, form=replace(plain.form, runs=runs))))


@calm(24)
@given(designs())
def test_a_flare_depth_of_none_is_the_unhammered_wire(design: Design) -> None:
    base = replace(design, variants=())
    assert_same_numbers(measured(with_flare_depth(base, 0.0)), measured(unhammered(base)))


@calm(24)
@given(st.floats(0.5, 3.0), st.floats(0.3, 1.0), st.floats(0.0, 0.8), st.floats(0.0, 1.0))
def test_a_very_large_ring_behaves_as_straight_wire(
    diameter: float, thickness: float, hold: float, spread: float
) -> None:
    # Limit: an arc of 1e-4 degrees over 100 mm has a radius of 57 km.
    flare = Flare(thickness=thickness, hold=hold)
    straight = Design(
        title="straight",
        wire=Wire(metal="brass-c26000", diameter_mm=diameter),
        form=Form(runs=(Run(spans=(Span(length_mm=100.0, flare=flare),)),)),
    )
    straight = replace(straight, hammer=replace(straight.hammer, spread=spread))
    ring = change_span(straight, SpanAddress(0, 0), turn_deg=1e-4)
    one, other = measured(straight), measured(ring)
    for key in FIXED_KEYS:
        assert other[key] == pytest.approx(one[key], rel=1e-6, abs=1e-4), key


@calm(30)
@given(designs(), st.data())
def test_hammering_deeper_takes_less_wire_and_never_narrows(design: Design, data: st.DataObject) -> None:
    # Monotone by the spread law: elongation (h0/h)^(1 - S) and width (h0/h)^S both grow as h falls.
    run = data.draw(st.integers(0, len(design.form.runs) - 1))
    span = data.draw(st.integers(0, len(design.form.runs[run].spans) - 1))
    depths = sorted(data.draw(st.lists(st.floats(0.15, 0.95), min_size=2, max_size=2)))
    base, at = replace(design, variants=()), SpanAddress(run, span)
    even = (with_flare(base, at, thickness=depth, bias=0.0) for depth in depths)
    deep, shallow = (evaluate(made, load_metals()) for made in even)
    assert deep.stock_length_mm <= shallow.stock_length_mm * (1 + 1e-12)
    assert deep.widest_mm >= shallow.widest_mm * (1 - 1e-12)


@pytest.mark.parametrize("file", demo_design_files(), ids=lambda file: file.stem)
def test_crossings_are_as_many_mirrored_and_larger(file: Path) -> None:
    design = load_design(file).design
    count = len(evaluate(design, load_metals()).crossings)
    for changed in (mirrored(design), scaled_form(design, 1.01)):
        assert len(evaluate(changed, load_metals()).crossings) == count
