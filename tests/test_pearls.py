"""Pearls chosen from a stock, their wire and weight; stones along the wire; room for a mark."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import combinations
from math import pi

import numpy as np
import pytest

from formsketch.design.model import Binding
from formsketch.errors import InputError
from formsketch.fitting.pearls import (
    Pearl,
    binding_wire_mm,
    choose_pearls,
    read_stock,
)
from formsketch.fitting.quality_mark import room_for_mark
from formsketch.fitting.stones import WirePlaces, brilliant_ct, nearest_seats_mm, seats_along


def rounds(*sizes: float) -> tuple[Pearl, ...]:
    return tuple(Pearl(size, size) for size in sizes)


def test_a_stock_is_read_entry_by_entry() -> None:
    stock = read_stock("2 x 5.5, 6 x 4\n3 × 4 × 7 rice; 8 mm\n\n1x6x4 Button")
    # Two numbers are a count and a diameter.
    assert stock == (
        *rounds(5.5, 5.5, 4, 4, 4, 4, 4, 4), *[Pearl(4, 7, "rice")] * 3, Pearl(8, 8), Pearl(6, 4, "button")
    )  # fmt: skip
    assert read_stock(" \n") == ()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("pearl", 'entry 1 "pearl"'),
        ("5, 3 x", 'entry 2: expected round, button or rice, got "x"'),
        ("3 x 5 pear", "round, button or rice"),
        ("3 x 5 rice", "diameter x length for a rice"),
        ("0 x 5", "1 to 10000 pearls"),
        ("3 x 0.1", "0.5 to 50 mm"),
        ("99999999 x 5", "1 to 10000 pearls"),
        ("9000 x 5, 9000 x 5", "at most 10000 pearls"),
    ],
)
def test_a_stock_that_cannot_be_read_is_told(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_stock(text)


def best_by_trying(
    rooms: Sequence[float], sizes: Sequence[float], match: float, each: int
) -> tuple[int, float]:
    """Bays filled and mm of pearl, by trying every set of pearls for every step out from the middle."""
    steps = [
        sorted({left, len(rooms) - 1 - left}) for left in reversed(range((len(rooms) + 1) // 2))
    ]  # fmt: skip

    @cache
    def best(step: int, left: tuple[float, ...], most: float) -> tuple[int, float]:
        if step == len(steps):
            return 0, 0.0
        bays = steps[step]
        found = best(step + 1, left, most)
        for numbers in combinations(range(len(left)), each * len(bays)):
            taken = [left[i] for i in numbers]
            if max(taken) - min(taken) <= match + 1e-9 and max(taken) <= min(most, *(rooms[b] for b in bays)):
                rest = tuple(size for i, size in enumerate(left) if i not in numbers)
                count, total = best(step + 1, rest, min(taken))
                found = max(found, (count + len(bays), round(total + sum(taken), 6)))
        return found

    return best(0, tuple(sorted(sizes)), float("inf"))


@pytest.mark.parametrize("seed", range(40))
def test_the_choice_is_the_best_of_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rooms = rng.uniform(3.0, 8.0, int(rng.integers(1, 6))).round(1).tolist()
    sizes = rng.uniform(2.5, 8.0, int(rng.integers(0, 8))).round(1).tolist()
    each, match = int(rng.integers(1, 3)), float(rng.choice([0.0, 0.3, 1.0]))
    chosen = choose_pearls(rooms, rounds(*sizes), match, each)
    count = sum(map(bool, chosen))
    total = sum(pearl.room_mm for bay in chosen for pearl in bay)
    assert (count, round(total, 6)) == best_by_trying(rooms, sizes, match, each)


def test_pearls_are_matched_graded_and_fit() -> None:
    rng = np.random.default_rng(5)
    rooms = [4.0, 6.0, 7.0, 9.0, 7.0, 6.0, 4.0]
    stock = rounds(*rng.uniform(3, 9, 200).round(2).tolist())
    chosen = choose_pearls(rooms, stock, 0.1)
    sizes = [bay[0].room_mm for bay in chosen]
    assert all(size <= room for size, room in zip(sizes, rooms, strict=True))
    assert sizes[:4] == sorted(sizes[:4])
    assert all(abs(sizes[i] - sizes[-1 - i]) <= 0.1 + 1e-9 for i in range(3))
    counted = [pearl for bay in chosen for pearl in bay]
    assert all(counted.count(pearl) <= stock.count(pearl) for pearl in counted)


def test_the_order_of_a_large_stock_does_not_matter() -> None:
    # 500 pearls for 20 bays: a table of 10 steps by 500 pearls, some milliseconds.
    rng = np.random.default_rng(7)
    sizes = rng.uniform(3, 9, 500).round(2)
    rooms = [5.0] * 10 + [8.0] * 10
    chosen = choose_pearls(rooms, rounds(*sizes.tolist()))
    assert all(chosen)
    assert choose_pearls(rooms, rounds(*rng.permutation(sizes).tolist())) == chosen


def test_shapes_are_not_mixed_and_length_counts() -> None:
    # A rice pearl of 4 x 7 needs a ball of 7 mm.
    stock = (Pearl(4, 7, "rice"), Pearl(6, 6), Pearl(6, 4, "button"))
    assert choose_pearls([6.0], stock) == ((Pearl(6, 6),),)
    assert choose_pearls([6.0, 6.0], stock) == ((), ())
    with pytest.raises(InputError):
        choose_pearls([6.0], stock, in_each=3)
    with pytest.raises(InputError):
        choose_pearls([6.0], stock, match_mm=-1)


def test_binding_wire_and_weight_by_hand() -> None:
    # [D] one pass of 6; on each side twice round: 4 pi (1 + 0.4); beads 2 D^3 / (3 d^2) each.
    plain = binding_wire_mm(6.0, 1.0, Binding(gauge_mm=0.4, passes=1, wraps=2, bead_mm=0.0))
    assert plain == pytest.approx(6 + 4 * pi * 1.4)
    beads = binding_wire_mm(6.0, 1.0, Binding(gauge_mm=0.4, passes=1, wraps=2, bead_mm=1.0))
    assert beads - plain == pytest.approx(2 * 2 / (3 * 0.16))
    assert binding_wire_mm(6.0, 1.0, Binding(gauge_mm=0.4, passes=2, wraps=0, bead_mm=0.0)) == pytest.approx(
        12
    )
    # [D] a ball of 10 mm is 0.5236 cm3; [C] pearl 2.7 g/cm3.
    assert Pearl(10, 10).weight_g == pytest.approx(0.5235988 * 2.7)
    for wrong in (Binding(gauge_mm=0.0), Binding(passes=0), Binding(wraps=-1)):
        with pytest.raises(InputError):
            binding_wire_mm(6.0, 1.0, wrong)


def arc_wire(radius_mm: float, angle_rad: float, flat_mm: float = 0.0) -> WirePlaces:
    """A straight of 10 mm and then an arc, in wire 1.5 mm wide in plan whose stock is half as long."""
    s = np.concatenate((np.linspace(0, 10, 50), 10 + np.linspace(0, radius_mm * angle_rad, 400)))
    heading = np.maximum(s - 10, 0) / radius_mm
    z = np.where(s <= 10, s, 10 + radius_mm * np.sin(heading)) + 1j * radius_mm * (1 - np.cos(heading))
    return WirePlaces(s, s / 2, z, heading, np.full(len(s), 1.5), np.full(len(s), flat_mm))


def test_seats_by_length_and_by_angle() -> None:
    wire = arc_wire(10.0, pi)
    seats = seats_along(wire, 4, 0.9)
    total = 10 + 10 * pi
    assert [seat.finished_mm for seat in seats] == pytest.approx([total * k / 8 for k in (1, 3, 5, 7)])
    assert seats[0].mark_mm == pytest.approx(total / 16)
    assert seats[0].left_mm == pytest.approx(0.3)
    assert all(seat.fits for seat in seats)
    assert not any(seat.fits for seat in seats_along(wire, 4, 1.0))
    turned = seats_along(wire, 3, 0.9, "angle")
    assert [seat.finished_mm for seat in turned] == pytest.approx([10 + 10 * pi * k / 6 for k in (1, 3, 5)])
    # [D] neighbours stand 60 degrees apart on a radius of 10: a chord of 10.
    assert nearest_seats_mm(turned) == pytest.approx(10.0, abs=1e-3)
    assert nearest_seats_mm(turned[:1]) is None
    with pytest.raises(InputError, match="straight"):
        seats_along(wire, 3, 0.9, "angle", to_share=0.2)
    for count, seat in ((0, 1.0), (3, 0.0), (3, float("nan"))):
        with pytest.raises(InputError):
            seats_along(wire, count, seat)


def test_a_brilliant_of_six_and_a_half_weighs_about_a_carat() -> None:
    # [M] the usual size chart: a well cut diamond of 6.5 mm weighs 1 ct; depth 60 %.
    assert brilliant_ct(6.5) == pytest.approx(1.0, abs=0.02)
    # [D] linear in density: sapphire at 4.00.
    assert brilliant_ct(6.5, 3.9, 4.0) == pytest.approx(brilliant_ct(6.5, 3.9) * 4.0 / 3.52)


def test_room_for_a_mark() -> None:
    room = room_for_mark(arc_wire(10.0, pi, flat_mm=1.2), 1.0, 2.5)
    assert room is not None
    # On the straight all the flat is there, on the arc it bows by l^2 / 8 R = 0.078.
    assert room.spare_mm == pytest.approx(0.2)
    assert 1.25 <= room.finished_mm <= 8.76
    assert room.mark_mm == pytest.approx(room.finished_mm / 2)
    assert room_for_mark(arc_wire(10.0, pi, flat_mm=0.9), 1.0, 2.5) is None
    # 12 mm do not fit on the straight: of them 2 mm or more lie on the arc.
    longer = room_for_mark(arc_wire(10.0, pi, flat_mm=1.5), 1.0, 12.0)
    assert longer is not None
    assert longer.spare_mm == pytest.approx(0.5 - 12 * 0.2 / 8, abs=0.05)
    assert room_for_mark(arc_wire(10.0, pi, flat_mm=2.0), 1.0, 60.0) is None
    for size in (0.0, float("inf")):
        with pytest.raises(InputError):
            room_for_mark(arc_wire(10.0, pi), size, 2.5)
