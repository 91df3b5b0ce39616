"""Ways to a size, against brute force and against what each must leave alone; runs of sizes; the command.

Sizes of the checks are those of the ring and wrist standards, held in tests/validation/test_fit.py.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from math import ceil, pi, radians, sin
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from formsketch.cli import commands
from formsketch.design.edits import applied, change_run
from formsketch.design.file_format import design_bytes, load_design, read_design, save_design
from formsketch.design.model import (
    Design,
    EarWireEnd,
    EyeEnd,
    Flare,
    Form,
    HookEnd,
    PostEnd,
    Run,
    Span,
    TaperedEnd,
    Wire,
    Worn,
)
from formsketch.design.starters import make_starter
from formsketch.errors import FormSketchError, InputError
from formsketch.evaluation.evaluate import evaluate
from formsketch.evaluation.fit_command import ring_size_typed, worn_typed
from formsketch.evaluation.fit_report import fit_text
from formsketch.evaluation.fit_size import WAYS, all_fits, fit, size_run, with_size_run
from formsketch.evaluation.size_solving import whole_repeats
from formsketch.evaluation.worn import (
    STANDARDS,
    first_worn,
    is_round,
    reached_mm,
    reached_text,
    suggested,
    wanted_mm,
)
from formsketch.shipped import demo_design_files
from tests.support.strategies import EVERY_WAY

BRASS = Wire(metal="brass-c26000", diameter_mm=1.3)
BRACELET = Worn(kind="bracelet", standard="wrist", size=165.0, ease_mm=15.0)
RING = Worn(kind="ring", standard="us", size=7.0)
MOST_TRIED = 16


def row(times: int = 12, turn_deg: float = 240.0, loop_mm: float = 22.0, **more: object) -> Design:
    """A bracelet of loops each turned over from the one before, between a hook and an eye."""
    flare = Flare(thickness=0.6)
    loop = Span(length_mm=loop_mm, turn_deg=turn_deg, turned_over=True, flare=flare)
    half = Span(length_mm=loop_mm / 2, turn_deg=turn_deg / 2)
    runs = (
        Run(spans=(half,)),
        Run(spans=(loop,), times=times),
        Run(spans=(replace(half, turned_over=True),)),
    )
    ends = {"start": HookEnd(inside_diameter_mm=4.0), "finish": EyeEnd(inside_diameter_mm=3.0)}
    return Design(title="Row", wire=BRASS, form=Form(runs=runs, **ends), **more)  # type: ignore[arg-type]


def random_waves(of: random.Random) -> tuple[Design, Worn, Callable[[float], float]]:
    """A row of round loops turned over one from the next, a size, and the inside it closes to by closed form.

    [D] Arcs of radius R that turn T > 180 degrees, by turns above and below: from mark to mark 2 R sin(T/2),
    the first and last loop bulge beyond their marks to R + d/2 from their middles. Rolled up, a round wire's
    inside is its length less pi d, and with a gap g (or a lap) g longer.
    """
    turn, radius, d = of.uniform(185, 300), of.uniform(2.0, 6.0), of.uniform(0.6, 1.6)
    loop = Span(length_mm=radius * radians(turn), turn_deg=turn)
    wire = Wire(metal="brass-c26000", diameter_mm=d)
    run = Run(spans=(loop,), times=of.randint(2, 30), turned_over=True)
    gap = of.choice((0.0, of.uniform(0.5, 8.0), -of.uniform(0.5, 8.0)))
    pitch = 2 * radius * sin(radians(turn) / 2)

    def inside(times: int, size: float = 1.0) -> float:
        return size * ((times - 1) * pitch + 2 * radius) + d + gap - pi * d

    # Somewhere between two counts, sometimes all but on one, never where the piece would be hollow of sense.
    count = of.randint(max(3, ceil((40 - gap) / pitch)), 45)
    wanted = inside(count) + of.choice((0.0, of.uniform(-0.5, 0.5))) * pitch
    worn = Worn(
        kind="bangle", standard="inside", size=round(wanted, 2), gap_mm=gap, aspect=of.choice((1.0, 0.8))
    )
    return Design(title="", wire=wire, form=Form(runs=(run,))), worn, inside


def test_whole_repeats_agree_with_brute_force_on_random_rows() -> None:
    of = random.Random(20)
    for _ in range(200 if EVERY_WAY else 60):
        design, worn, inside = random_waves(of)
        sizes = {n: inside(n) for n in range(1, 80)}
        best = min(sizes, key=lambda n: abs(sizes[n] - worn.size))
        times, size = whole_repeats(design, worn, 0, worn.size)[0]
        assert size == pytest.approx(sizes[times], abs=0.01)
        # Two counts may lie as near as each other.
        assert abs(sizes[times] - worn.size) == pytest.approx(abs(sizes[best] - worn.size), abs=0.02)


def test_what_whole_repeats_leave_is_shared_out() -> None:
    # [D] as above: every loop so much larger or smaller that the row closes at the size.
    of = random.Random(7)
    for _ in range(12):
        design, worn, inside = random_waves(of)
        found = fit(design, worn, "repeats")
        assert found.design is not None
        (run,) = found.design.form.runs
        share = run.spans[0].length_mm / design.form.runs[0].spans[0].length_mm
        assert inside(run.times, share) == pytest.approx(worn.size, abs=0.01)
        assert found.whole_mm == pytest.approx(inside(run.times), abs=0.01)
        assert all(
            abs(inside(run.times) - worn.size) <= abs(inside(n) - worn.size) + 0.02 for n in range(1, 80)
        )


def random_row(of: random.Random) -> Design:
    """Loops to one side with links between them, or a hammered and graded row turned over."""
    turn, inside = of.uniform(200, 320), of.uniform(3, 9)
    thickness = of.uniform(0.4, 1.0)
    wire = Wire(metal="brass-c26000", diameter_mm=of.uniform(0.7, 1.6))
    if of.random() < 0.5:
        loop = Span(length_mm=pi * inside * turn / 360, turn_deg=turn, flare=Flare(thickness=thickness))
        link = Span(length_mm=of.uniform(1.0, 2.0) * inside, turn_deg=360 - turn)
        return Design(title="", wire=wire, form=Form(runs=(Run(spans=(loop, link), times=3),)))
    numbers = {"turn_deg": of.uniform(190, 250), "inside_mm": inside, "times": 3.0, "thickness": thickness}
    return make_starter("row-of-s-forms", wire, numbers=numbers)


def test_whole_repeats_of_any_row_agree_with_trying_every_count() -> None:
    of = random.Random(20)
    for _ in range(12):
        design = random_row(of)
        run = max(range(len(design.form.runs)), key=lambda r: design.form.runs[r].times)
        sizes = {
            n: reached_mm(evaluate(change_run(design, run, times=n)), RING) for n in range(1, MOST_TRIED)
        }
        wanted = of.uniform(sizes[2], sizes[MOST_TRIED - 4])
        nearest = min(abs(size - wanted) for size in sizes.values())
        times, size = whole_repeats(design, RING, run, wanted)[0]
        assert abs(size - wanted) == pytest.approx(nearest, abs=1e-9)
        assert size == pytest.approx(sizes[times], abs=1e-12)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("worn", [BRACELET, replace(BRACELET, size=120.0, gap_mm=-6.0, aspect=0.8)])
def test_each_way_reaches_the_size_or_says_why(way: str, worn: Worn) -> None:
    design = row()
    found = fit(design, worn, way)  # type: ignore[arg-type]
    if found.design is None:
        assert way == "gauge"
        assert found.reason.endswith(".")
        return
    assert reached_mm(evaluate(found.design), worn) == pytest.approx(wanted_mm(worn), abs=0.01)
    assert found.design.worn == worn
    assert found.words


def test_a_way_changes_nothing_else() -> None:
    design = row()
    made = {one.way: one.design for one in all_fits(design, BRACELET)}
    for way in ("repeats", "size", "opening", "scale"):
        assert made[way] is not None
    repeats, size, opening, scale = (made[w] for w in ("repeats", "size", "opening", "scale"))
    assert repeats is not None
    assert size is not None
    assert opening is not None
    assert scale is not None
    assert repeats.form.runs[1].times != 12
    # Shared out: no loop changes by more than half a loop's share of the row.
    shared = repeats.form.runs[1].spans[0].length_mm / 22.0
    assert abs(shared - 1) < 1 / repeats.form.runs[1].times
    assert [one.form.runs[1].times for one in (size, opening, scale)] == [12, 12, 12]
    assert opening.form.runs[1].spans[0].length_mm == 22.0
    assert evaluate(opening).cut_length_mm == pytest.approx(evaluate(design).cut_length_mm)
    assert size.form.runs[0] == design.form.runs[0]
    assert scale.form.runs[0].spans[0].length_mm / 11.0 == pytest.approx(
        scale.form.runs[1].spans[0].length_mm / 22.0
    )
    for one in (repeats, size, opening, scale):
        assert one.wire == design.wire


def test_opening_keeps_a_row_of_loops_and_links_straight() -> None:
    loop, link = Span(length_mm=20.0, turn_deg=270.0), Span(length_mm=9.0, turn_deg=90.0)
    design = Design(title="", wire=BRASS, form=Form(runs=(Run(spans=(loop, link), times=9),)))
    found = fit(design, Worn(kind="bangle", standard="inside", size=130.0), "opening")
    assert found.design is not None
    spans = found.design.form.runs[0].spans
    assert spans[0].turn_deg != 270.0
    assert sum(span.turn_deg for span in spans) == pytest.approx(360.0)


def test_the_wire_closes_what_is_nearly_closed() -> None:
    # [D] a plain blank is pi x wire longer than its inside: thinner wire, wider inside.
    design = Design(title="", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=58.0),)),)))
    found = fit(design, replace(RING, standard="iso", size=55.0), "gauge")
    assert found.design is not None
    assert found.design.wire.diameter_mm == pytest.approx(3.0 / pi, abs=0.01)


def test_free_spans_that_repeat_are_repeats() -> None:
    spans = (Span(length_mm=15.0, turn_deg=200.0, turned_over=True),) * 8
    design = Design(title="", wire=BRASS, form=Form(runs=(Run(spans=spans),)))
    found = fit(design, BRACELET, "repeats")
    assert found.design is not None
    assert found.design.form.runs[0].times > 8


@pytest.mark.parametrize("way", ["repeats", "size", "opening"])
def test_a_form_that_does_not_repeat_says_so(way: str) -> None:
    found = fit(make_starter("s-ring", BRASS), RING, way)  # type: ignore[arg-type]
    assert found.design is None
    assert "repeats in this form." in found.reason


def test_five_sizes_share_the_repeats() -> None:
    design = row()
    sizes = size_run(design, BRACELET)
    made = with_size_run(replace(design, worn=BRACELET), sizes)
    assert [v.title for v in made.variants] == [f"wrist {mm} mm" for mm in (145, 155, 165, 175, 185)]
    for variant, one, wrist in zip(made.variants, sizes, (145, 155, 165, 175, 185), strict=True):
        own = applied(made, variant)
        assert [run.times for run in own.form.runs] == [run.times for run in design.form.runs]
        assert reached_mm(evaluate(own), BRACELET) == pytest.approx(wrist + 15, abs=0.01)
        assert one.cut_length_mm == pytest.approx(evaluate(own).cut_length_mm)
    assert with_size_run(made, sizes) == made


# --- what the design says


def test_what_was_never_said_is_not_written_and_what_was_comes_back() -> None:
    assert b"worn" not in design_bytes(row())
    worn = replace(BRACELET, aspect=0.8, gap_mm=-3.0, rolled=False)
    said = row(worn=worn)
    assert read_design(design_bytes(said), "x").design.worn == worn


@pytest.mark.parametrize("kind", STANDARDS)
def test_a_kind_has_a_first_size(kind: str) -> None:
    assert wanted_mm(first_worn(kind)) > 0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "worn",
    [
        replace(RING, standard="wrist"),
        replace(RING, size=30.0),
        replace(BRACELET, standard="length"),
        replace(BRACELET, size=0.0),
    ],
)
def test_a_size_that_is_none_is_told_in_one_sentence(worn: Worn) -> None:
    with pytest.raises(InputError) as told:
        fit(row(), worn, "scale")
    assert str(told.value).endswith(".")


def test_a_design_suggests_what_it_is() -> None:
    hoop = evaluate(make_starter("hoop", BRASS))
    assert is_round(hoop)
    assert (suggested(hoop).kind, suggested(hoop).rolled) == ("hoop", False)
    assert suggested(evaluate(row())).kind == "bracelet"
    assert suggested(evaluate(row(worn=RING))) == RING


EYE, HOOK = EyeEnd(inside_diameter_mm=2.0), HookEnd(inside_diameter_mm=8.0, turn_deg=190.0)
THIN = Wire(metal="brass-c26000", diameter_mm=0.8)


@pytest.mark.parametrize(
    ("length_mm", "ends", "kind"),
    [
        (57.0, {}, "ring"),
        (57.0, {"start": EYE}, "pendant"),
        (57.0, {"start": EYE, "finish": EYE}, "pendant"),
        (30.0, {"start": HOOK}, "drop"),
        (30.0, {"start": PostEnd()}, "drop"),
        (30.0, {"start": EarWireEnd()}, "drop"),
        (30.0, {"start": HOOK, "finish": EYE}, "pendant"),
        (170.0, {"start": HOOK, "finish": EYE}, "bracelet"),
        (170.0, {"start": HOOK, "finish": HOOK}, "bracelet"),
        (400.0, {"start": HOOK, "finish": EYE}, "necklace"),
        (150.0, {}, "bracelet"),
    ],
)
def test_a_form_is_taken_for_what_its_ends_make_it(length_mm: float, ends: dict[str, Any], kind: str) -> None:
    form = Form(runs=(Run(spans=(Span(length_mm=length_mm),)),), **ends)
    made = evaluate(Design(title="", wire=THIN, form=form))
    worn = suggested(made)
    assert worn.kind == kind
    # At the size it has, so that nothing need change: a quarter of a US size is 0.64 mm round.
    assert reached_mm(made, worn) == pytest.approx(wanted_mm(worn), abs=2.6 if kind == "bracelet" else 0.4)


# What each of the demo designs is to be taken for, whether it says so or not.
TAKEN_FOR = {
    "avocet-studs": "drop",
    "curlew-s-ring": "ring",
    "dunlin-ear-drops": "drop",
    "ebb-hoops": "hoop",
    "eddy-bracelet": "bracelet",
    "groyne-necklace-bar": "pendant",
    "limpet-links": "pendant",
    "mudflat-spiral-pendant": "pendant",
    "samphire-scroll": "pendant",
    "saltmarsh-cuff": "cuff",
    "sandbar-zigzag": "bracelet",
    "slack-water-figure-eight": "pendant",
    "spring-tide-link": "pendant",
    "swash-necklace": "necklace",
    "tern-pendant": "pendant",
    "turnstone-ear-wires": "drop",
    "wrack-brooch-pin": "pendant",
}


@pytest.mark.parametrize("name", TAKEN_FOR)
def test_demo_designs_are_taken_for_what_they_are(name: str) -> None:
    (path,) = [path for path in demo_design_files() if path.name.startswith(name)]
    design = load_design(path).design
    guessed = suggested(evaluate(replace(design, worn=None)))
    assert guessed.kind == TAKEN_FOR[name]
    if design.worn is not None:
        assert guessed.kind == design.worn.kind
        assert guessed.rolled == design.worn.rolled


def test_a_necklace_length_has_its_name() -> None:
    # Common practice, no source: a choker is about 14 to 16 in, princess 17 to 19 in.
    for length_mm, name in ((406.4, "choker"), (457.2, "princess"), (609.6, "matinee"), (863.6, "opera")):
        worn = Worn(kind="necklace", standard="length", size=length_mm)
        assert name in reached_text(worn, length_mm)


@pytest.mark.parametrize("text", ["7", "US", "FR 52", "US seven", "UK 7", "US 40"])
def test_a_ring_size_needs_its_system(text: str) -> None:
    with pytest.raises(FormSketchError):
        ring_size_typed(text)


# --- the command


def run(*arguments: str) -> str:
    return str(CliRunner().invoke(commands, ["fit", *arguments], catch_exceptions=False).output)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "row.formsketch.json"
    save_design(path, row())
    return path


def test_the_command_writes_the_design_fitted(file: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.formsketch.json"
    told = run(str(file), "--wrist", "170", "--ease", "15", "--by", "repeats", "-o", str(out))
    assert "185.0 mm round" in told
    made = load_design(out).design
    assert made.worn == Worn(kind="bracelet", standard="wrist", size=170.0, ease_mm=15.0)
    assert made.worn is not None
    assert reached_mm(evaluate(made), made.worn) == pytest.approx(185.0, abs=0.01)
    # The size goes with the design.
    again = json.loads(run(str(out), "--json"))
    assert again["wanted_mm"] == 185.0
    assert again["reached_mm"] == pytest.approx(185.0, abs=0.01)
    assert [way["by"] for way in again["ways"]] == list(WAYS)


def test_another_size_keeps_what_the_design_says_of_itself() -> None:
    said = replace(BRACELET, aspect=0.8, gap_mm=-3.0)
    made = evaluate(row(worn=said))
    assert worn_typed(made, wrist="150") == replace(said, size=150.0)
    assert worn_typed(made, inside="170 mm") == replace(said, standard="inside", size=170.0)
    assert worn_typed(made, ring="US 7").kind == "ring"
    necklace = evaluate(row(worn=Worn(kind="necklace", standard="length", size=420.0)))
    assert worn_typed(necklace, length="460").kind == "necklace"
    assert worn_typed(evaluate(row()), length="460").kind == "pendant"


def test_the_command_gives_five_ring_sizes(file: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.formsketch.json"
    data = json.loads(run(str(file), "--ring", "UK N½", "--five-sizes", "--json", "-o", str(out)))
    assert data["wanted_mm"] == pytest.approx(36.25 + 1.25 * 14.5)  # [P] BS 6820
    titles = [one["title"] for one in data["sizes"]]
    assert titles == ["UK J½", "UK L½", "UK N½", "UK P½", "UK R½"]
    assert [variant.title for variant in load_design(out).design.variants] == titles


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Expected a size"),
        (("--ring", "US 7", "--wrist", "170"), "Expected one size"),
        (("--wrist", "170", "--by", "magic"), "magic"),
        (("--wrist", "170", "--kind", "crown"), "crown"),
        (("--wrist", "170", "--kind", "ring"), "ring is given as"),
        (("--wrist", "170", "--aspect", "3"), "at most 1"),
    ],
)
def test_what_cannot_be_asked_is_told(file: Path, arguments: tuple[str, ...], told: str) -> None:
    with pytest.raises(FormSketchError, match=told):
        run(str(file), *arguments)


def test_the_text_names_every_way() -> None:
    design = row()
    text = fit_text(design, BRACELET, all_fits(design, BRACELET), size_run(design, BRACELET))
    for words in (*WAYS.values(), "wanted", "now", "wrist 185 mm"):
        assert words in text


def test_what_stops_a_way_is_in_its_sentence() -> None:
    # Thinner wire would leave more inside, but a tip may not be thicker than the wire.
    tip = TaperedEnd(length_mm=5.0, tip_diameter_mm=1.2)
    design = Design(
        title="", wire=BRASS, form=Form(runs=(Run(spans=(Span(length_mm=40.0),)),), start=tip, finish=tip)
    )
    told = fit(design, replace(RING, standard="iso", size=47.0), "gauge").reason
    assert "a tip no thicker than the" in told
