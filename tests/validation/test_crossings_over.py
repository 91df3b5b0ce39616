"""What lies over where the wire crosses itself, and that it is drawn so.

Crossings of right-angled paths lie where their coordinates say [D]. Which line of a drawing covers which is
read from a picture of it made by resvg. How long a stretch must be to cover a crossing is plane geometry [D].
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from PIL import Image

from formsketch.bench.metals import load_metals
from formsketch.design.crossing_edits import swap_crossing, swapped_from_finish
from formsketch.design.edits import SpanAddress, applied, mirrored, scaled
from formsketch.design.file_format import design_bytes, read_design
from formsketch.design.mark_edits import insert_mark
from formsketch.design.model import Design, Flare, Form, Run, Span, Variant, Wire
from formsketch.design.run_edits import reversed_wire
from formsketch.design.soundness import Unsound, sound
from formsketch.errors import DesignFileError, EditRefused
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.geometry.clearance import Crossing
from formsketch.shipped import demo_design_files
from formsketch.template.drawing import Circle, Group, Item, Path, Sheet
from formsketch.template.plan import form_items, placed_in
from formsketch.template.png import png_bytes
from tests.support.strategies import calm

METALS = load_metals()
BRASS = "brass-c26000"
# Along the x axis, then back over and under it: the wire crosses its own beginning at 45, 30 and 15 mm.
WOVEN = ((0, 0), (60, 0), (60, 10), (45, 10), (45, -10), (30, -10), (30, 10), (15, 10), (15, -10))
CROSSED_AT_MM = (15.0, 30.0, 45.0)


def numbered(design: Design, *numbers: int) -> Design:
    return sound(replace(design, form=replace(design.form, swapped_crossings=numbers)))


def path(points: Sequence[tuple[float, float]], d: float = 1.0) -> Design:
    """Straights from point to point with sharp bends between them."""
    steps = np.diff([complex(*point) for point in points])
    bends = np.rad2deg(np.angle(steps[1:] / steps[:-1]))
    spans = [
        Span(length_mm=float(abs(step)), corner_deg=float(bend))
        for step, bend in zip(steps, [0.0, *bends], strict=True)
    ]
    return Design(
        title="path", wire=Wire(metal=BRASS, diameter_mm=d), form=Form(runs=(Run(spans=tuple(spans)),))
    )


def loops(times: int = 3, turn: float = 290.0, d: float = 1.0) -> Design:
    """Hammered loops, each crossing its own legs at 110 degrees."""
    leg, loop = Span(length_mm=10.0), Span(length_mm=4.0 * math.radians(turn), turn_deg=turn)
    spans = (leg, replace(loop, flare=Flare(thickness=0.6)), leg)
    return Design(
        title="loops", wire=Wire(metal=BRASS, diameter_mm=d), form=Form(runs=(Run(spans=spans, times=times),))
    )


def evaluated(design: Design) -> Evaluation:
    return evaluate(design, METALS)


def ways_mm(evaluation: Evaluation, crossing: Crossing) -> tuple[float, float]:
    """How far along the wire the part under and the part over are at a crossing."""
    z = evaluation.trace.z_mm
    way = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(z)))))
    under, over = np.interp([crossing.under_place, crossing.over_place], np.arange(len(z)), way)
    return float(under), float(over)


# ---- numbers ---------------------------------------------------------------------------------------------


def test_crossings_are_numbered_as_the_wire_first_comes_by_them() -> None:
    # The last leg crosses first: at 15 mm, where the wire is 60 + 10 + 15 + 20 + 15 + 20 + 15 + 10 mm long.
    e = evaluated(path(WOVEN))
    seen = [ways_mm(e, crossing) for crossing in e.crossings]
    assert [under for under, _ in seen] == pytest.approx(CROSSED_AT_MM, abs=1e-5)
    assert [over for _, over in seen] == pytest.approx((165.0, 130.0, 95.0), abs=1e-5)


@pytest.mark.parametrize("numbers", [(), (0,), (1,), (0, 2), (0, 1, 2)])
def test_a_swapped_crossing_lies_the_other_way_round_and_keeps_its_number(numbers: tuple[int, ...]) -> None:
    plain, e = evaluated(path(WOVEN)), evaluated(numbered(path(WOVEN), *numbers))
    for number, (before, now) in enumerate(zip(plain.crossings, e.crossings, strict=True)):
        assert now.at_mm == before.at_mm
        assert now.places == before.places == (before.under_place, before.over_place)
        assert (now.over_place < now.under_place) == (number in numbers)


def test_swapping_twice_is_none() -> None:
    design = path(WOVEN)
    once = swap_crossing(swap_crossing(design, 2), 0)
    assert once.form.swapped_crossings == (0, 2)
    assert swap_crossing(swap_crossing(once, 0), 2) == design


def test_marks_put_in_change_no_number() -> None:
    design = numbered(loops(), 1)
    marked = insert_mark(design, SpanAddress(0, 0), 0.3)
    before, after = evaluated(design), evaluated(marked)
    assert marked.form.swapped_crossings == (1,)
    assert len(after.crossings) == len(before.crossings) == 3
    for a, b in zip(before.crossings, after.crossings, strict=True):
        assert ways_mm(after, b) == pytest.approx(ways_mm(before, a), abs=1e-3)


@pytest.mark.parametrize(
    ("numbers", "place"),
    [((1, 0), "[1]"), ((0, 0), "[1]"), ((0, 2, 1), "[2]"), ((-1,), "[0]"), ((100_000,), "[0]")],
)
def test_numbers_out_of_order_are_refused_where_they_stand(numbers: tuple[int, ...], place: str) -> None:
    with pytest.raises(Unsound) as refused:
        numbered(path(WOVEN), *numbers)
    assert refused.value.place.removeprefix("$.form.") == f"swapped_crossings{place}"
    assert refused.value.expected.startswith("expected ")


def test_the_file_keeps_them_and_leaves_out_none() -> None:
    design = numbered(path(WOVEN), 0, 2)
    data = design_bytes(design)
    assert read_design(data, "woven").design == design
    assert b"swapped" not in design_bytes(path(WOVEN))
    with pytest.raises(DesignFileError, match=r"swapped_crossings\[1\].*rising order"):
        read_design(data.replace(b"      2\n", b"      0\n"), "woven")


def test_numbers_beyond_the_crossings_do_nothing_and_are_said() -> None:
    plain, beyond = evaluated(path(WOVEN)), evaluated(numbered(path(WOVEN), 1, 3, 7))
    assert [c.over_place < c.under_place for c in beyond.crossings] == [False, True, False]
    assert len(beyond.stretches_on_top()) == 1
    (said,) = (c for c in beyond.cautions if c.code == "crossing_gone")
    assert said.weight == "note"
    assert said.message.startswith("Crossings 4, 8:")
    assert "3 times" in said.message
    for e in (plain, evaluated(numbered(path(WOVEN), 0, 2))):
        assert "crossing_gone" not in {c.code for c in e.cautions}


def test_a_wire_that_never_crosses_itself_says_so_too() -> None:
    straight = numbered(path(((0, 0), (30, 0))), 0)
    (said,) = (c for c in evaluated(straight).cautions if c.code == "crossing_gone")
    assert "does not cross itself" in said.message


# ---- what is done to the whole form ----------------------------------------------------------------------


def test_mirrored_scaled_and_as_a_variant_the_same_part_lies_over() -> None:
    design = replace(
        numbered(path(WOVEN), 1),
        variants=(Variant(title="half", scale=0.5), Variant(title="v", diameter_mm=0.8)),
    )
    made = {
        1.0: (mirrored(design), applied(design, design.variants[1])),
        2.0: (scaled(design, 2.0),),
        0.5: (applied(design, design.variants[0]),),
    }
    before = evaluated(design)
    wanted = np.array([ways_mm(before, crossing) for crossing in before.crossings])
    for scale, designs in made.items():
        for other in designs:
            e = evaluated(other)
            assert np.array([ways_mm(e, c) for c in e.crossings]) == pytest.approx(scale * wanted, abs=1e-4)


def from_finish(design: Design) -> Design:
    return reversed_wire(design, [crossing.places for crossing in evaluated(design).crossings])


@pytest.mark.parametrize("numbers", [(), (0,), (1, 2), (0, 1, 2)])
@pytest.mark.parametrize("make", [lambda: path(WOVEN), loops])
def test_read_from_its_finish_what_lies_over_still_does(make: object, numbers: tuple[int, ...]) -> None:
    assert callable(make)
    design = numbered(make(), *numbers)
    before, after = evaluated(design), evaluated(from_finish(design))
    total = float(np.sum(np.abs(np.diff(before.trace.z_mm))))
    lies = sorted(ways_mm(before, crossing) for crossing in before.crossings)
    read = sorted(tuple(total - way for way in ways_mm(after, c)) for c in after.crossings)
    assert np.array(read) == pytest.approx(np.array(lies), abs=0.02)
    assert from_finish(from_finish(design)) == design


@given(st.data())
@calm(200)
def test_numbers_read_from_the_finish_and_back_are_the_same(data: st.DataObject) -> None:
    ends = data.draw(st.lists(st.integers(0, 1_000), min_size=2, max_size=20, unique=True))
    pairs = [(min(p), max(p)) for p in zip(ends[::2], ends[1::2], strict=False)]
    places = sorted((float(a), float(b)) for a, b in pairs)
    there = sorted((1_000.0 - b, 1_000.0 - a) for a, b in places)
    swapped = tuple(sorted(data.draw(st.sets(st.integers(0, 14)))))
    read = swapped_from_finish(swapped, places)
    assert swapped_from_finish(read, there) == swapped
    for number, (a, b) in enumerate(places):
        # Over there is who was over here: swapped from the one end is unswapped from the other.
        assert (there.index((1_000.0 - b, 1_000.0 - a)) in read) == (number not in swapped)


def test_without_the_crossings_a_form_with_swapped_ones_is_not_reversed() -> None:
    with pytest.raises(EditRefused, match="crosses itself"):
        reversed_wire(numbered(path(WOVEN), 1))
    assert reversed_wire(path(WOVEN)).form.swapped_crossings == ()
    # None are left to be kept.
    gone = numbered(path(((0, 0), (30, 0))), 4)
    assert reversed_wire(gone, ()).form.swapped_crossings == (4,)


# ---- the stretches that are drawn again ------------------------------------------------------------------


@pytest.mark.parametrize("between_deg", [90, 60, 40, 25, 15, 140])
@pytest.mark.parametrize("d", [0.6, 1.5])
def test_a_stretch_covers_the_crossing_at_its_angle_and_little_more(between_deg: float, d: float) -> None:
    # Two straight strips of one width crossing at an angle share a parallelogram, which reaches
    # (d/2)(1 + |cos|)/sin to either side along each [D].
    angle = math.radians(between_deg)
    back = 60 + 40 * math.cos(angle), 40 * math.sin(angle)
    out = 60 - 60 * math.cos(angle), -60 * math.sin(angle)
    e = evaluated(numbered(path(((0, 0), (120, 0), (120, back[1]), back, out), d), 0))
    ((stretch,), (crossing,)) = e.stretches_on_top(), e.crossings
    _, at = ways_mm(e, crossing)
    assert at == pytest.approx(60.0, abs=1e-5)
    begin, end = np.interp([stretch.begin, stretch.end], [0, 1, 2], [0.0, 60.0, 120.0])
    least = d / 2 * (1 + abs(math.cos(angle))) / math.sin(angle)
    assert begin <= 60 - least and end >= 60 + least
    assert end - begin <= 2 * (2 * d / math.sin(angle) + 0.3 * d)
    longer = e.stretches_on_top(beyond_mm=0.5)[0]
    assert longer.begin < stretch.begin and longer.end > stretch.end


def test_a_stretch_ends_halfway_to_the_next_crossing() -> None:
    # Legs 1.2 mm apart on either side of one that passes: crossings 1.2 mm from each other in 1 mm wire.
    narrow = ((0, 0), (40, 0), (40, 8), (20.6, 8), (20.6, -8), (19.4, -8), (19.4, 8))
    e = evaluated(numbered(path(narrow), 0))
    ((stretch,), z) = e.stretches_on_top(), e.trace.z_mm
    begin, end = np.interp([stretch.begin, stretch.end], np.arange(3), np.abs(z[:3] - z[0]))
    assert end == pytest.approx(20.0, abs=1e-5)
    assert begin == pytest.approx(19.4 - 1.0, abs=0.1)  # until discs of 1 mm lie clear of each other


# ---- the drawing -----------------------------------------------------------------------------------------


def drawn(e: Evaluation, dots_per_mm: float, scale: float = 1.0, fill: str = "#ffffff") -> np.ndarray:
    """The form by itself, its outline from 2 mm on, as grey."""
    wide, high = (scale * side + 4.0 for side in e.envelope_mm)
    items: list[Item] = form_items(e, placed_in(e, 0.0, 0.0, wide, high, scale), fill)
    png = png_bytes(Sheet(wide, high, "", [Group("form", items)]), dots_per_mm)
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)


def lies_over(
    e: Evaluation, picture: np.ndarray, dots_per_mm: float, scale: float = 1.0
) -> list[bool | None]:
    """For each crossing, whether the picture shows the part further along over; None for neither."""
    wide, high = (scale * side + 4.0 for side in e.envelope_mm)
    placing = placed_in(e, 0.0, 0.0, wide, high, scale)
    outline = e.outline
    found: list[bool | None] = []
    for crossing in e.crossings:
        edges = []
        for place in crossing.places:
            sample = round(place)
            across = 0.5j * outline.trace.direction[sample] * outline.plan_width_mm[sample]
            seen = [placing.point(crossing.at_mm + side * across) for side in (1, -1)]
            edges.append(all(picture[int(y * dots_per_mm), int(x * dots_per_mm)] < 128 for x, y in seen))
        found.append(edges[1] if edges[0] != edges[1] else None)
    return found


@pytest.mark.parametrize(
    "numbers",
    list(itertools.chain.from_iterable(itertools.combinations(range(3), count) for count in range(4))),
)
@pytest.mark.parametrize("make", [lambda: path(WOVEN, 1.6), lambda: loops(3, 270.0, 1.3)])
@pytest.mark.parametrize("scale", [1.0, 0.6])
def test_the_plan_shows_what_lies_over(make: object, numbers: tuple[int, ...], scale: float) -> None:
    assert callable(make)
    e = evaluated(numbered(make(), *numbers))
    dots_per_mm = 15.0 / scale
    assert lies_over(e, drawn(e, dots_per_mm, scale), dots_per_mm, scale) == [
        n not in numbers for n in range(3)
    ]


def test_what_is_drawn_again_changes_nothing_but_the_crossings() -> None:
    # Away from the crossings the two pictures are one, to the last dot; a mean width of wire and line apart.
    plain, swapped = evaluated(loops()), evaluated(numbered(loops(), 0, 1, 2))
    before, after = drawn(plain, 20.0), drawn(swapped, 20.0)
    wide, high = (side + 4.0 for side in plain.envelope_mm)
    placing = placed_in(plain, 0.0, 0.0, wide, high)
    rows, columns = np.nonzero(before != after)
    assert len(rows)
    places = np.array([placing.point(crossing.at_mm) for crossing in plain.crossings])
    away = np.hypot(columns[:, None] / 20 - places[:, 0], rows[:, None] / 20 - places[:, 1]).min(axis=1)
    assert away.max() < 2.0


def test_the_filled_form_covers_the_same_whatever_lies_over() -> None:
    # The silhouette is one: what is metal in the one is paper in none. Edges drawn twice are a shade darker.
    one, other = (drawn(evaluated(numbered(loops(), *n)), 20.0, fill="#000000") for n in ((), (0, 1, 2)))
    assert not ((one < 64) & (other > 192) | (one > 192) & (other < 64)).any()
    assert (one < 64).any() and (one > 192).any()


@pytest.mark.parametrize("file", demo_design_files(), ids=lambda file: file.name)
def test_no_line_of_a_plan_goes_back_on_itself(file: object) -> None:
    """Where pieces of the wire meet end to end nothing is drawn across it."""
    assert hasattr(file, "read_bytes")
    e = evaluated(read_design(file.read_bytes(), "demo").design)
    for item in form_items(e, placed_in(e, 0.0, 0.0, 100.0, 100.0)):
        if isinstance(item, Circle) or not isinstance(item, Path):
            continue
        z = item.points[:, 0] + 1j * item.points[:, 1]
        z = z[np.concatenate(([True], np.abs(np.diff(z)) > 1e-6))]
        turned = np.angle(np.diff(z)[1:] / np.diff(z)[:-1])
        assert np.all(np.abs(turned) < math.radians(175.0))
