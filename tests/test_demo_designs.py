"""The demo designs: every starter form and every feature of the design file, each of them makeable."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from formsketch.bench.metals import load_metals
from formsketch.design import model
from formsketch.design.edits import applied
from formsketch.design.file_format import SUFFIX, design_bytes, load_design
from formsketch.design.model import EyeEnd, HookEnd, Wire
from formsketch.design.starters import STARTERS, make_starter
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.evaluation.worn import STANDARDS, reached_mm, wanted_mm
from formsketch.shipped import demo_design_files

FILES = demo_design_files()
DESIGNS = {path.name.removesuffix(SUFFIX): load_design(path).design for path in FILES}
# The shipped metals alone, whatever a person's own table holds.
METALS = load_metals()
each_design = pytest.mark.parametrize("name", DESIGNS)


def evaluations(name: str) -> dict[str, Evaluation]:
    """The design as drawn under an empty title, and each of its variants under its own."""
    design = DESIGNS[name]
    made = {variant.title: evaluate(applied(design, variant), METALS) for variant in design.variants}
    return {"": evaluate(design, METALS), **made}


def values_in(value: Any) -> Iterator[msgspec.Struct]:
    """Every value of the model inside this one, itself first."""
    if isinstance(value, msgspec.Struct):
        yield value
        for field in msgspec.structs.fields(value):
            yield from values_in(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from values_in(item)


EVERYTHING = [value for design in DESIGNS.values() for value in values_in(design)]


def of_kind(kind: type[Any]) -> list[Any]:
    return [value for value in EVERYTHING if isinstance(value, kind)]


# ---- the files ---------------------------------------------------------------------------------------


def test_there_are_about_a_dozen() -> None:
    assert 12 <= len(FILES) <= 24


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_bytes_are_canonical(path: Path) -> None:
    assert design_bytes(load_design(path).design) == path.read_bytes()


def test_titles_are_unique() -> None:
    titles = [design.title for design in DESIGNS.values()]
    assert len(set(titles)) == len(titles)


@each_design
def test_file_is_named_after_its_title(name: str) -> None:
    assert name == re.sub(r"[^a-z0-9]+", "-", DESIGNS[name].title.lower())


# ---- what they cover ---------------------------------------------------------------------------------


def test_every_key_of_the_file_is_used() -> None:
    kinds = [
        kind for kind in vars(model).values() if isinstance(kind, type) and kind.__module__ == model.__name__
    ]
    kinds = [kind for kind in kinds if issubclass(kind, msgspec.Struct) and not kind.__name__.startswith("_")]
    assert {type(value) for value in EVERYTHING} == set(kinds)
    written = {
        (type(value).__name__, field.name)
        for value in EVERYTHING
        for field in msgspec.structs.fields(value)
        if getattr(value, field.name) != field.default
    }
    there_are = {(kind.__name__, field.name) for kind in kinds for field in msgspec.structs.fields(kind)}
    assert there_are - written == set()


def test_both_sides_of_each_choice_are_used() -> None:
    assert {flare.face for flare in of_kind(model.Flare)} == {"flat", "edge"}
    assert {eye.side for eye in of_kind(EyeEnd)} == {"left", "right"}
    assert {flare.centre < 0.5 for flare in of_kind(model.Flare) if flare.centre != 0.5} == {False, True}
    assert {span.turn_deg > 0 for span in of_kind(model.Span) if span.turn_deg} == {False, True}


def test_runs_are_graded_both_ways() -> None:
    repeated = [run for run in of_kind(model.Run) if run.times > 1]
    assert min(run.ends_scale for run in repeated) < 1 < max(run.ends_scale for run in repeated)
    assert any(run.turned_over for run in repeated)


def test_every_kind_of_piece_is_there_at_its_size() -> None:
    worn = {name: design.worn for name, design in DESIGNS.items() if design.worn is not None}
    assert {one.kind for one in worn.values()} == set(STANDARDS)
    for name, one in worn.items():
        # A millimetre is what the hand that trues it makes good.
        has_mm = reached_mm(evaluate(DESIGNS[name], METALS), one)
        assert has_mm == pytest.approx(wanted_mm(one), abs=1.0), name


def test_metals_of_several_kinds() -> None:
    in_use = {design.wire.metal for design in DESIGNS.values()}
    own = {metal.key for design in DESIGNS.values() for metal in design.metals}
    assert in_use & own
    assert in_use >= {
        "brass-c26000",
        "sterling-925",
        "gold-14k-yellow-us",
        "copper-c11000",
        "fine-silver",
        "red-brass-c22000",
    }


# What makes each starter form what it is, said of turns as laid; held against the starters themselves below.


def _turns(e: Evaluation) -> np.ndarray:
    return np.asarray(e.spans.turn_deg)


def _loops(e: Evaluation, least_deg: float) -> np.ndarray:
    return _turns(e)[np.abs(_turns(e)) >= least_deg]


def _ends_apart_mm(e: Evaluation) -> float:
    marks = e.trace.mark_samples[e.chain.spans.start : e.chain.spans.stop + 1]
    return float(abs(e.trace.z_mm[marks[-1]] - e.trace.z_mm[marks[0]]))


def _is_row_of_loops(e: Evaluation) -> bool:
    loops = _loops(e, 270)
    return len(loops) >= 3 and abs(np.sum(np.sign(loops))) == len(loops) <= len(e.crossings)


def _is_row_of_s_forms(e: Evaluation) -> bool:
    loops = _loops(e, 200)
    return len(loops) >= 5 and bool(np.all(loops[1:] * loops[:-1] < 0)) and not e.crossings


def _is_hoop(e: Evaluation) -> bool:
    return len(_turns(e)) == 1 and 270 < abs(_turns(e)[0]) < 360


def _is_s_ring(e: Evaluation) -> bool:
    turns, lengths = _turns(e), e.spans.finished_length_mm
    if len(turns) != 3 or lengths[1] <= 0.9 * lengths[0]:
        return False
    return bool(turns[0] == -turns[2] and turns[1] == 0 and abs(turns[0]) > 180)


def _is_open_cuff(e: Evaluation) -> bool:
    turns = _turns(e)
    one_way = abs(np.sum(np.sign(turns))) == len(turns) > 1
    return one_way and 270 < abs(np.sum(turns)) < 345 and _ends_apart_mm(e) > 20


def _is_scroll(e: Evaluation) -> bool:
    spans = [span for run in e.design.form.runs for span in run.spans]
    tightening = all(abs(span.skew_deg) >= abs(span.turn_deg) > 0 for span in spans)
    return len(spans) == 2 and tightening and spans[0].turn_deg == -spans[1].turn_deg


def _is_spiral(e: Evaluation) -> bool:
    half_rounds = np.isclose(_turns(e), _turns(e)[0]) & np.isclose(np.abs(_turns(e)), 180)
    lengths = e.spans.finished_length_mm[half_rounds]
    return len(lengths) >= 4 and bool(np.all(np.diff(lengths) > 0)) and not e.crossings


def _is_figure_eight(e: Evaluation) -> bool:
    turns = _turns(e)
    left, right = turns[turns > 0].sum(), -turns[turns < 0].sum()
    return bool(left >= 180 and right >= 180) and len(e.crossings) == 1 and _ends_apart_mm(e) < 0.05


def _is_zigzag(e: Evaluation) -> bool:
    legs = (np.abs(_turns(e)) < 1e-9) & (e.spans.thinnest_mm < e.diameter_mm)
    marks = e.trace.z_mm[e.trace.mark_samples]
    along = np.diff(marks)[e.chain.spans][legs]
    return len(along) >= 5 and bool(np.all(along.imag[1:] * along.imag[:-1] < 0))


RECOGNISED: dict[str, Callable[[Evaluation], bool]] = {
    "row-of-loops": _is_row_of_loops,
    "row-of-s-forms": _is_row_of_s_forms,
    "hoop": _is_hoop,
    "s-ring": _is_s_ring,
    "open-cuff": _is_open_cuff,
    "scroll": _is_scroll,
    "spiral": _is_spiral,
    "figure-eight": _is_figure_eight,
    "zigzag": _is_zigzag,
}


@pytest.mark.parametrize("key", STARTERS)
def test_each_starter_is_recognised_as_itself_alone(key: str) -> None:
    e = evaluate(make_starter(key, Wire(metal="brass-c26000", diameter_mm=1.290846)), METALS)
    assert [name for name, recognises in RECOGNISED.items() if recognises(e)] == [key]


@pytest.mark.parametrize("key", STARTERS)
def test_every_starter_form_has_a_demo(key: str) -> None:
    assert any(RECOGNISED[key](evaluate(design, METALS)) for design in DESIGNS.values())


# ---- that they can be made ---------------------------------------------------------------------------


@each_design
def test_heavy_and_light_are_what_they_say(name: str) -> None:
    made = evaluations(name)
    heavy, drawn, light = made["heavy"], made[""], made["light"]
    assert heavy.diameter_mm > drawn.diameter_mm > light.diameter_mm
    assert heavy.weight_g > drawn.weight_g > light.weight_g


@each_design
def test_wire_is_of_whole_gauges(name: str) -> None:
    # [P] ASTM B258: inch = 0.005 x 92^((36 - n)/39).
    for e in evaluations(name).values():
        gauge = 36 - 39 * math.log(e.diameter_mm / 25.4 / 0.005, 92)
        assert gauge == pytest.approx(round(gauge), abs=1e-4)
        assert 10 <= round(gauge) <= 21


@each_design
def test_nothing_stops_and_only_one_lesson_warns(name: str) -> None:
    # The tern is hammered on purpose beyond what sterling takes at once; its gold variant is not.
    lesson = {"anneal_between"} if name == "tern-pendant" else set()
    for e in evaluations(name).values():
        warned = {caution.code for caution in e.cautions if caution.weight != "note"}
        assert warned == (lesson if e.metal.key == "sterling-925" else set())


@pytest.mark.parametrize("name", ["eddy-bracelet", "sandbar-zigzag"])
def test_bracelets_go_round_a_wrist_and_close(name: str) -> None:
    # [C] Common practice, no source: 6 to 30 mm over the wrist, wrists of 140 to 170 mm and more.
    for e in evaluations(name).values():
        assert 150 <= e.envelope_mm[0] <= 180
        hook, eye = e.design.form.start, e.design.form.finish
        assert isinstance(hook, HookEnd) and isinstance(eye, EyeEnd)
        # The eye takes the hook's wire, the hook takes the eye's.
        assert eye.inside_diameter_mm > 1.2 * e.diameter_mm
        assert hook.inside_diameter_mm > 2 * e.diameter_mm


def test_ring_is_long_enough_for_its_finger() -> None:
    # [P] Trade rule for a band: blank = inner circumference + pi x thickness; here an ISO 8653 size 54.
    for e in evaluations("curlew-s-ring").values():
        shank_mm = float(e.spans.thinnest_mm[1])
        assert e.envelope_mm[0] == pytest.approx(54 + math.pi * shank_mm, abs=1.5)


def test_cuff_has_the_round_of_a_wrist() -> None:
    # [C] Common practice, no source: wrist 140 to 180 mm, opening 25 to 32 mm between the ends.
    for e in evaluations("saltmarsh-cuff").values():
        inside_mm = e.finished_length_mm + _ends_apart_mm(e) - math.pi * e.diameter_mm
        assert 140 <= inside_mm <= 180
        assert 25 <= _ends_apart_mm(e) <= 32


def test_ear_wires_fit_an_ear() -> None:
    # [C] Common practice, no source: ear wire 0.8 mm, hardly over 0.9.
    at_the_ear = [e.diameter_mm for e in evaluations("dunlin-ear-drops").values()]
    at_the_ear += [
        end.tip_diameter_mm for end in values_in(DESIGNS["ebb-hoops"]) if isinstance(end, model.TaperedEnd)
    ]
    at_the_ear += [post.diameter_mm for post in of_kind(model.PostEnd)]
    assert all(0.7 <= diameter_mm <= 0.92 for diameter_mm in at_the_ear)


@pytest.mark.parametrize("name", ["mudflat-spiral-pendant", "dunlin-ear-drops"])
def test_hanging_piece_balances_below_where_it_hangs(name: str) -> None:
    # Statics: a hanging body comes to rest with its centre of mass below the point it hangs from. Mass goes
    # with the wire used. Half a millimetre is what a finger sets right.
    e = evaluations(name)[""]
    z, wire_mm = e.trace.z_mm, np.diff(e.stock_at_samples_mm)
    centre = complex(np.sum((z[1:] + z[:-1]) / 2 * wire_mm) / np.sum(wire_mm))
    first, spans = e.trace.first, e.chain.spans
    if name == "dunlin-ear-drops":  # from the top of the hook, down along its straight
        down = complex(e.trace.direction[first[spans.start]])
        ahead = z[: first[spans.start]] / down
        from_top = centre / down - ahead[np.argmin(ahead.real)]
    else:  # from the eye, down through its middle
        last = first[spans.stop] - 1
        from_top = (centre - z[last]) / -complex(e.trace.direction[last])
    assert from_top.real > 5
    assert abs(from_top.imag) < 0.5
