"""Hypothesis strategies for sound designs: every feature of a design file, to the bounds of each number.

`designs()` draws forms a maker could ask for; `designs(wild=True)` goes to the very bounds a file may hold.
Strategies are made once and remembered: to make and check one costs more than to draw from it.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from typing import Any, Literal

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from formsketch.design.model import (
    BeadEnd,
    Binding,
    Design,
    DrilledEnd,
    EarWireEnd,
    End,
    EyeEnd,
    Flare,
    Form,
    Hammer,
    HookEnd,
    OwnMetal,
    PlainEnd,
    PostEnd,
    QualityMark,
    RoundedEnd,
    Run,
    SetPearl,
    SHookEnd,
    Span,
    Stone,
    TaperedEnd,
    Variant,
    Wire,
    Worn,
)
from formsketch.design.soundness import LEAST_EASE, LEAST_EDGE, Unsound, sound

# Metals of the shipped table, one with zinc, one with nickel, one precious, one without a soft yield.
SHIPPED_METALS = ("brass-c26000", "copper-c11000", "nickel-silver-c75200", "sterling-925")
# An ear post or ear wire is at least so thick, in mm.
THINNEST_POST = 0.4


# Where this is set, checks that are the same in kind go through all they could, not a part of it.
EVERY_WAY = bool(os.environ.get("FORMSKETCH_EVERY_WAY"))


def calm(max_examples: int) -> settings:
    """Settings for a property test that is never hurried and leaves nothing in the tree.

    So many examples `EVERY_WAY`, else half of them.
    """
    return settings(
        deadline=None,
        max_examples=max_examples if EVERY_WAY else -(-max_examples // 2),
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


@cache
def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats of ordinary size from low to high, both included; no subnormal numbers.

    For bounds known beforehand; for bounds that are drawn themselves there is `between`.
    """
    return st.floats(low, high, allow_nan=False, allow_infinity=False, allow_subnormal=False)


_SHARES = numbers(0.0, 1.0)


def between(draw: st.DrawFn, low: float, high: float) -> float:
    """A number from low to high, both included, where the bounds are drawn: no strategy is made for them."""
    return min(high, max(low, low + (high - low) * draw(_SHARES)))


@cache
def or_usual(usual: float | None, other: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """What a file has when nothing is said, as often as anything else."""
    return st.one_of(st.just(usual), other)


@cache
def texts(most: int, least: int = 0) -> st.SearchStrategy[str]:
    """One line of any letters, digits, marks, signs and spaces."""
    letters = st.characters(codec="utf-8", categories=("L", "M", "N", "P", "S", "Zs"))
    return st.text(letters, min_size=least, max_size=most)


_ONE_IN_THREE = st.sampled_from((False, False, True))
_BEGINS = st.one_of(st.just(0.0), st.just(0.0), numbers(0.0, 0.9))
_THICKNESSES = st.one_of(numbers(0.3, 0.9), numbers(0.1, 1.0))
_FACES: st.SearchStrategy[Literal["flat", "edge"]] = st.sampled_from(("flat", "edge"))


@cache
@st.composite
def flares(draw: st.DrawFn) -> Flare:
    """A flare that leaves room to ease in and out, shown whole or cut by its span's marks, even or not."""
    hold = draw(or_usual(0.0, numbers(0.0, 0.9)))
    room = hold / 2 + LEAST_EASE + 1e-6
    begin = draw(_BEGINS)
    end = between(draw, begin + 0.01, 1.0) if draw(_ONE_IN_THREE) else 1.0
    thickness = draw(_THICKNESSES)
    face = draw(_FACES)
    most_bias = min(1.0, (1 - LEAST_EDGE) / max(1 - thickness, 0.1) - 1) if face == "flat" else 0.0
    return Flare(
        thickness=thickness,
        centre=between(draw, room, 1 - room) if draw(st.booleans()) else 0.5,
        hold=hold,
        face=face,
        begin=begin,
        end=end,
        bias=between(draw, -most_bias, most_bias) if draw(st.booleans()) else 0.0,
    )


@cache
def angles(most_deg: float) -> st.SearchStrategy[float]:
    """0, the turns a bench knows, and any other to both sides."""
    usual = st.sampled_from((-360.0, -180.0, -90.0, 90.0, 180.0, 240.0, 360.0))
    return st.one_of(st.just(0.0), usual, numbers(-most_deg, most_deg))


@cache
@st.composite
def spans(draw: st.DrawFn, wild: bool = False) -> Span:
    """A span: line, arc, scroll or S, with or without a sharp bend, turning over, a flare."""
    return Span(
        length_mm=draw(numbers(0.01, 200.0) if wild else numbers(2.0, 60.0)),
        turn_deg=draw(angles(7_200.0 if wild else 500.0)),
        skew_deg=draw(or_usual(0.0, angles(7_200.0 if wild else 400.0))),
        corner_deg=draw(or_usual(0.0, numbers(-180.0, 180.0) if wild else numbers(-120.0, 120.0))),
        turned_over=draw(st.booleans()),
        flare=draw(or_usual(None, flares())),
    )


_TIMES, _WILD_TIMES = st.integers(1, 5), st.integers(1, 2)


@cache
def _motifs(wild: bool) -> st.SearchStrategy[list[Span]]:
    return st.lists(spans(wild), min_size=1, max_size=1 if wild else 3)


@cache
@st.composite
def runs(draw: st.DrawFn, wild: bool = False) -> Run:
    """A motif of up to three spans, repeated up to five times, plain or graded; wild ones are kept few."""
    return Run(
        spans=tuple(draw(_motifs(wild))),
        times=draw(_WILD_TIMES if wild else _TIMES),
        turned_over=draw(st.booleans()),
        ends_scale=draw(or_usual(1.0, numbers(0.1, 5.0) if wild else numbers(0.4, 1.5))),
    )


# Ends. Those of fixed bounds are drawn as they are; the others ask the wire.

_EITHER_WAY = {most: st.one_of(numbers(-most, -1.0), numbers(1.0, most)) for most in (270.0, 350.0)}
_BEAD_RATIOS = numbers(1.001, 2.5)
_TWISTS = st.one_of(st.just(0.0), st.sampled_from((-90.0, 90.0, 180.0)), numbers(-180.0, 180.0))
_SIDES: st.SearchStrategy[Literal["left", "right"]] = st.sampled_from(("left", "right"))


def _tapered(draw: st.DrawFn, wire_mm: float) -> TaperedEnd:
    return TaperedEnd(
        length_mm=draw(numbers(0.5, 40.0)),
        tip_diameter_mm=between(draw, max(0.05, 0.2 * wire_mm), wire_mm),
        turn_deg=draw(angles(720.0)),
    )


def _bead(draw: st.DrawFn, wire_mm: float) -> BeadEnd:
    return BeadEnd(diameter_mm=draw(_BEAD_RATIOS) * wire_mm)


def _hook(draw: st.DrawFn, wire_mm: float) -> HookEnd:
    return HookEnd(
        inside_diameter_mm=draw(numbers(0.5, 20.0)),
        turn_deg=draw(or_usual(0.0, numbers(-350.0, 350.0))),
        straight_mm=draw(or_usual(0.0, numbers(0.01, 20.0))),
        bead_diameter_mm=draw(or_usual(0.0, _BEAD_RATIOS)) * wire_mm,
        twist_deg=draw(_TWISTS),
    )


def _eye(draw: st.DrawFn, wire_mm: float) -> EyeEnd:
    return EyeEnd(inside_diameter_mm=draw(numbers(0.5, 20.0)), side=draw(_SIDES))


def _s_hook(draw: st.DrawFn, wire_mm: float) -> SHookEnd:
    return SHookEnd(
        inside_diameter_mm=draw(numbers(0.5, 20.0)),
        curl_diameter_mm=draw(numbers(0.2, 10.0)),
        turn_deg=draw(_EITHER_WAY[350.0]),
        straight_mm=draw(or_usual(0.0, numbers(0.01, 20.0))),
        curl_turn_deg=draw(numbers(10.0, 350.0)),
    )


def _drilled(draw: st.DrawFn, wire_mm: float) -> DrilledEnd:
    """An end with a hole that lies within it, round or hammered flat; the hole may leave too little metal."""
    hole, from_end = draw(numbers(0.2, 5.0)), draw(numbers(0.0, 5.0))
    least = max(0.01, hole + from_end - wire_mm / 2)
    return DrilledEnd(
        hole_diameter_mm=hole,
        from_end_mm=from_end,
        length_mm=between(draw, least, least + 20.0),
        thickness=draw(or_usual(1.0, numbers(0.1, 1.0))),
    )


def _post(draw: st.DrawFn, wire_mm: float) -> PostEnd:
    return PostEnd(
        length_mm=draw(numbers(2.0, 30.0)), diameter_mm=between(draw, THINNEST_POST, min(2.0, wire_mm))
    )


def _ear_wire(draw: st.DrawFn, wire_mm: float) -> EarWireEnd:
    return EarWireEnd(
        diameter_mm=between(draw, THINNEST_POST, min(2.0, wire_mm)),
        inside_diameter_mm=draw(numbers(2.0, 20.0)),
        turn_deg=draw(_EITHER_WAY[270.0]),
        straight_mm=draw(numbers(0.5, 20.0)),
        leg_mm=draw(or_usual(0.0, numbers(0.1, 30.0))),
        kick_deg=draw(or_usual(0.0, numbers(0.0, 90.0))),
        kick_mm=draw(or_usual(0.0, numbers(0.1, 10.0))),
    )


def _plain(draw: st.DrawFn, wire_mm: float) -> PlainEnd:
    return PlainEnd()


def _rounded(draw: st.DrawFn, wire_mm: float) -> RoundedEnd:
    return RoundedEnd()


_KINDS_OF_ANY_WIRE = (_plain, _tapered, _bead, _hook, _eye, _s_hook, _rounded, _drilled)
_ENDS_OF_ANY_WIRE = st.sampled_from(_KINDS_OF_ANY_WIRE)
_ENDS = st.sampled_from((*_KINDS_OF_ANY_WIRE, _post, _ear_wire))


def draw_end(draw: st.DrawFn, wire_mm: float) -> End:
    """An end of any kind that can be made from this wire."""
    kind: Callable[[st.DrawFn, float], End] = draw(_ENDS if wire_mm >= THINNEST_POST else _ENDS_OF_ANY_WIRE)
    return kind(draw, wire_mm)


@cache
def _rows(wild: bool) -> st.SearchStrategy[list[Run]]:
    return st.lists(runs(wild), min_size=1, max_size=2 if wild else 3)


def draw_form(draw: st.DrawFn, wire_mm: float, wild: bool = False) -> Form:
    """One to three runs between two ends."""
    return Form(runs=tuple(draw(_rows(wild))), start=draw_end(draw, wire_mm), finish=draw_end(draw, wire_mm))


@cache
@st.composite
def own_metals(draw: st.DrawFn, key: str) -> OwnMetal:
    """A metal the design carries itself, its strength known or not."""
    return OwnMetal(
        key=key,
        name=draw(texts(20, least=1)),
        density_g_per_cm3=draw(numbers(0.5, 25.0)),
        yield_mpa=draw(or_usual(None, numbers(1.0, 3_000.0))),
        e_gpa=draw(or_usual(None, numbers(1.0, 500.0))),
        nickel=draw(st.booleans()),
        zinc=draw(st.booleans()),
    )


_SPREADS = st.one_of(st.sampled_from((0.0, 0.6, 0.8, 1.0)), numbers(0.0, 1.0))


@cache
@st.composite
def hammers(draw: st.DrawFn) -> Hammer:
    """A hammer by its spread alone, or one measured: with a band around it, named or not."""
    spread = draw(_SPREADS)
    if draw(st.booleans()):
        return Hammer(spread=spread)
    low, high = between(draw, 0.0, spread), between(draw, spread, 1.0)
    return Hammer(spread=spread, name=draw(texts(20)), low=low, high=high)


@cache
def _or_a_metal(metals: tuple[str, ...]) -> st.SearchStrategy[str | None]:
    return or_usual(None, st.sampled_from(metals))


def draw_variant(draw: st.DrawFn, metals: tuple[str, ...], wire_mm: float) -> Variant:
    """A variant that may or may not be possible for a given form."""
    return Variant(
        title=draw(texts(20)),
        diameter_mm=draw(or_usual(None, numbers(0.3, 3.0))),
        metal=draw(_or_a_metal(metals)),
        scale=draw(or_usual(1.0, numbers(0.5, 2.0))),
        flare_depth=draw(or_usual(1.0, numbers(0.0, 1.1))),
        form=draw_form(draw, wire_mm) if draw(st.booleans()) else None,
    )


@cache
def worn() -> st.SearchStrategy[Worn]:
    """What a piece becomes, of any kind, in any standard."""
    kinds = ("ring", "bracelet", "bangle", "cuff", "hoop", "drop", "necklace", "pendant")
    standards = ("iso", "us", "uk", "japan", "wrist", "inside", "diameter", "length")
    return st.builds(
        Worn,
        kind=st.sampled_from(kinds),
        standard=st.sampled_from(standards),
        size=numbers(0.0, 5_000.0),
        ease_mm=or_usual(0.0, numbers(0.0, 200.0)),
        aspect=or_usual(1.0, numbers(0.3, 1.0)),
        gap_mm=or_usual(0.0, numbers(-500.0, 500.0)),
        rolled=st.booleans(),
    )


_PEARL_SHAPES: st.SearchStrategy[Literal["round", "button", "rice"]] = st.sampled_from(
    ("round", "button", "rice")
)


@cache
@st.composite
def set_pearls(draw: st.DrawFn) -> SetPearl:
    """A pearl bound between two places, of any shape, in or out of the line between them."""
    begin = draw(numbers(0.0, 0.99))
    return SetPearl(
        from_share=begin,
        to_share=between(draw, begin + 0.001, 1.0),
        diameter_mm=draw(numbers(0.5, 50.0)),
        length_mm=draw(numbers(0.5, 50.0)),
        shape=draw(_PEARL_SHAPES),
        along=draw(or_usual(0.5, numbers(-9.0, 10.0))),
        aside=draw(or_usual(0.0, numbers(-10.0, 10.0))),
    )


_SETTINGS: st.SearchStrategy[Literal["tube", "head"]] = st.sampled_from(("tube", "head"))
_STONE_KINDS = st.sampled_from(("diamond", "garnet", "cubic-zirconia"))
_STONE_CUTS = st.sampled_from(("brilliant", "faceted", "cabochon"))


@cache
@st.composite
def stones(draw: st.DrawFn) -> Stone:
    """A round stone in a tube or a head, its depth and density said or not."""
    size, setting = draw(numbers(0.3, 50.0)), draw(_SETTINGS)
    return Stone(
        at_share=draw(_SHARES),
        size_mm=size,
        seat_mm=between(draw, size if setting == "tube" else 0.3, 50.0),
        setting=setting,
        kind=draw(_STONE_KINDS),
        cut=draw(_STONE_CUTS),
        depth_mm=draw(or_usual(None, numbers(0.3, 50.0))),
        density_g_per_cm3=draw(or_usual(None, numbers(0.5, 25.0))),
        soldered=draw(st.booleans()),
    )


_PASSES, _WRAPS = st.integers(1, 9), st.integers(0, 50)


@cache
@st.composite
def bindings(draw: st.DrawFn) -> Binding:
    """How pearls are bound on, with beads or without."""
    gauge = draw(numbers(0.1, 3.0))
    return Binding(
        gauge_mm=gauge,
        passes=draw(_PASSES),
        wraps=draw(_WRAPS),
        bead_mm=draw(or_usual(0.0, numbers(1.001, 3.0))) * gauge,
    )


@cache
def quality_marks() -> st.SearchStrategy[QualityMark]:
    """A place for a mark of any size."""
    return st.builds(QualityMark, at_share=_SHARES, wide_mm=numbers(0.1, 20.0), long_mm=numbers(0.1, 100.0))


_UP_TO_TWO = st.integers(0, 2)
_NOTES = st.lists(texts(30), max_size=3).map("\n".join)
_BEND_MARKS: st.SearchStrategy[Literal["round", "grip"]] = st.sampled_from(("round", "grip"))
_PEARLS, _STONES = st.lists(set_pearls(), max_size=2), st.lists(stones(), max_size=2)
_BINDINGS = st.one_of(st.just(Binding()), bindings())


@cache
def _metal_of(keys: tuple[str, ...]) -> st.SearchStrategy[str]:
    return st.sampled_from(keys)


@cache
@st.composite
def designs(draw: st.DrawFn, wild: bool = False) -> Design:
    """A sound design; variants that its form does not allow are left out."""
    wire_mm = draw(numbers(0.05, 20.0) if wild else numbers(0.4, 3.0))
    own = tuple(draw(own_metals(f"own-{i}")) for i in range(draw(_UP_TO_TWO)))
    keys = (*SHIPPED_METALS, *(metal.key for metal in own))
    design = Design(
        title=draw(texts(40)),
        notes=draw(_NOTES),
        wire=Wire(metal=draw(_metal_of(keys)), diameter_mm=wire_mm),
        hammer=draw(hammers()),
        form=draw_form(draw, wire_mm, wild),
        metals=own,
        bend_marks=draw(_BEND_MARKS),
        worn=draw(or_usual(None, worn())),
        pearls=tuple(draw(_PEARLS)),
        binding=draw(_BINDINGS),
        stones=tuple(draw(_STONES)),
        quality_mark=draw(or_usual(None, quality_marks())),
    )
    for _ in range(draw(_UP_TO_TWO)):
        variant = draw_variant(draw, keys, wire_mm)
        try:
            design = sound(replace(design, variants=(*design.variants, variant)))
        except Unsound:
            continue
    return sound(design)
