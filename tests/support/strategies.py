"""Hypothesis strategies for sound designs: every feature of a design file, to the bounds of each number.

`designs()` draws forms a maker could ask for; `designs(wild=True)` goes to the very bounds a file may hold.
"""

from __future__ import annotations

import os
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


def calm(max_examples: int) -> settings:
    """Settings for a property test that is never hurried and leaves nothing in the tree.

    So many examples where FORMSKETCH_EVERY_WAY is set, else half of them.
    """
    return settings(
        deadline=None,
        max_examples=max_examples if os.environ.get("FORMSKETCH_EVERY_WAY") else -(-max_examples // 2),
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats of ordinary size from low to high, both included; no subnormal numbers."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False, allow_subnormal=False)


def texts(most: int, least: int = 0) -> st.SearchStrategy[str]:
    """One line of any letters, digits, marks, signs and spaces."""
    letters = st.characters(codec="utf-8", categories=("L", "M", "N", "P", "S", "Zs"))
    return st.text(letters, min_size=least, max_size=most)


@st.composite
def flares(draw: st.DrawFn) -> Flare:
    """A flare that leaves room to ease in and out, shown whole or cut by its span's marks, even or not."""
    hold = draw(st.one_of(st.just(0.0), numbers(0.0, 0.9)))
    room = hold / 2 + LEAST_EASE + 1e-6
    begin = draw(st.one_of(st.just(0.0), st.just(0.0), numbers(0.0, 0.9)))
    end = draw(st.one_of(st.just(1.0), st.just(1.0), numbers(begin + 0.01, 1.0)))
    thickness = draw(st.one_of(numbers(0.3, 0.9), numbers(0.1, 1.0)))
    face: Literal["flat", "edge"] = draw(st.sampled_from(("flat", "edge")))
    most_bias = min(1.0, (1 - LEAST_EDGE) / max(1 - thickness, 0.1) - 1) if face == "flat" else 0.0
    return Flare(
        thickness=thickness,
        centre=draw(st.one_of(st.just(0.5), numbers(room, 1 - room))),
        hold=hold,
        face=face,
        begin=begin,
        end=end,
        bias=draw(st.one_of(st.just(0.0), numbers(-most_bias, most_bias))),
    )


def angles(most_deg: float) -> st.SearchStrategy[float]:
    """0, the turns a bench knows, and any other to both sides."""
    usual = st.sampled_from((-360.0, -180.0, -90.0, 90.0, 180.0, 240.0, 360.0))
    return st.one_of(st.just(0.0), usual, numbers(-most_deg, most_deg))


@st.composite
def spans(draw: st.DrawFn, wild: bool = False) -> Span:
    """A span: line, arc, scroll or S, with or without a sharp bend, turning over, a flare."""
    return Span(
        length_mm=draw(numbers(0.01, 200.0) if wild else numbers(2.0, 60.0)),
        turn_deg=draw(angles(7_200.0 if wild else 500.0)),
        skew_deg=draw(st.one_of(st.just(0.0), angles(7_200.0 if wild else 400.0))),
        corner_deg=draw(st.one_of(st.just(0.0), numbers(-180.0, 180.0) if wild else numbers(-120.0, 120.0))),
        turned_over=draw(st.booleans()),
        flare=draw(st.one_of(st.none(), flares())),
    )


@st.composite
def runs(draw: st.DrawFn, wild: bool = False) -> Run:
    """A motif of up to three spans, repeated up to five times, plain or graded; wild ones are kept few."""
    return Run(
        spans=tuple(draw(st.lists(spans(wild), min_size=1, max_size=1 if wild else 3))),
        times=draw(st.integers(1, 2 if wild else 5)),
        turned_over=draw(st.booleans()),
        ends_scale=draw(st.one_of(st.just(1.0), numbers(0.1, 5.0) if wild else numbers(0.4, 1.5))),
    )


def ends(wire_mm: float) -> st.SearchStrategy[End]:
    """An end of any kind that can be made from this wire."""
    choices: list[st.SearchStrategy[Any]] = [
        st.just(PlainEnd()),
        st.builds(
            TaperedEnd,
            length_mm=numbers(0.5, 40.0),
            tip_diameter_mm=numbers(max(0.05, 0.2 * wire_mm), wire_mm),
            turn_deg=angles(720.0),
        ),
        st.builds(BeadEnd, diameter_mm=numbers(1.001, 2.5).map(lambda ratio: ratio * wire_mm)),
        st.builds(
            HookEnd,
            inside_diameter_mm=numbers(0.5, 20.0),
            turn_deg=st.one_of(st.just(0.0), numbers(-350.0, 350.0)),
            straight_mm=st.one_of(st.just(0.0), numbers(0.01, 20.0)),
            bead_diameter_mm=st.one_of(st.just(0.0), numbers(1.001, 2.5).map(lambda ratio: ratio * wire_mm)),
            twist_deg=st.one_of(st.just(0.0), st.sampled_from((-90.0, 90.0, 180.0)), numbers(-180.0, 180.0)),
        ),
        st.builds(EyeEnd, inside_diameter_mm=numbers(0.5, 20.0), side=st.sampled_from(("left", "right"))),
        st.builds(
            SHookEnd,
            inside_diameter_mm=numbers(0.5, 20.0),
            curl_diameter_mm=numbers(0.2, 10.0),
            turn_deg=st.one_of(numbers(-350.0, -1.0), numbers(1.0, 350.0)),
            straight_mm=st.one_of(st.just(0.0), numbers(0.01, 20.0)),
            curl_turn_deg=numbers(10.0, 350.0),
        ),
        st.just(RoundedEnd()),
        drilled_ends(wire_mm),
    ]
    if wire_mm >= 0.4:
        thickest = min(2.0, wire_mm)
        choices.append(st.builds(PostEnd, length_mm=numbers(2.0, 30.0), diameter_mm=numbers(0.4, thickest)))
        choices.append(
            st.builds(
                EarWireEnd,
                diameter_mm=numbers(0.4, thickest),
                inside_diameter_mm=numbers(2.0, 20.0),
                turn_deg=st.one_of(numbers(-270.0, -1.0), numbers(1.0, 270.0)),
                straight_mm=numbers(0.5, 20.0),
                leg_mm=st.one_of(st.just(0.0), numbers(0.1, 30.0)),
                kick_deg=st.one_of(st.just(0.0), numbers(0.0, 90.0)),
                kick_mm=st.one_of(st.just(0.0), numbers(0.1, 10.0)),
            )
        )
    return st.one_of(choices)


@st.composite
def drilled_ends(draw: st.DrawFn, wire_mm: float) -> DrilledEnd:
    """An end with a hole that lies within it, round or hammered flat; the hole may leave too little metal."""
    hole, from_end = draw(numbers(0.2, 5.0)), draw(numbers(0.0, 5.0))
    least = max(0.01, hole + from_end - wire_mm / 2)
    return DrilledEnd(
        hole_diameter_mm=hole,
        from_end_mm=from_end,
        length_mm=draw(numbers(least, least + 20.0)),
        thickness=draw(st.one_of(st.just(1.0), numbers(0.1, 1.0))),
    )


@st.composite
def forms(draw: st.DrawFn, wire_mm: float, wild: bool = False) -> Form:
    """One to three runs between two ends."""
    return Form(
        runs=tuple(draw(st.lists(runs(wild), min_size=1, max_size=2 if wild else 3))),
        start=draw(ends(wire_mm)),
        finish=draw(ends(wire_mm)),
    )


@st.composite
def own_metals(draw: st.DrawFn, key: str) -> OwnMetal:
    """A metal the design carries itself, its strength known or not."""
    return OwnMetal(
        key=key,
        name=draw(texts(20, least=1)),
        density_g_per_cm3=draw(numbers(0.5, 25.0)),
        yield_mpa=draw(st.one_of(st.none(), numbers(1.0, 3_000.0))),
        e_gpa=draw(st.one_of(st.none(), numbers(1.0, 500.0))),
        nickel=draw(st.booleans()),
        zinc=draw(st.booleans()),
    )


@st.composite
def hammers(draw: st.DrawFn) -> Hammer:
    """A hammer by its spread alone, or one measured: with a band around it, named or not."""
    spread = draw(st.one_of(st.sampled_from((0.0, 0.6, 0.8, 1.0)), numbers(0.0, 1.0)))
    if draw(st.booleans()):
        return Hammer(spread=spread)
    low, high = draw(numbers(0.0, spread)), draw(numbers(spread, 1.0))
    return Hammer(spread=spread, name=draw(texts(20)), low=low, high=high)


@st.composite
def variants(draw: st.DrawFn, metals: tuple[str, ...], wire_mm: float) -> Variant:
    """A variant that may or may not be possible for a given form."""
    return Variant(
        title=draw(texts(20)),
        diameter_mm=draw(st.one_of(st.none(), numbers(0.3, 3.0))),
        metal=draw(st.one_of(st.none(), st.sampled_from(metals))),
        scale=draw(st.one_of(st.just(1.0), numbers(0.5, 2.0))),
        flare_depth=draw(st.one_of(st.just(1.0), numbers(0.0, 1.1))),
        form=draw(st.one_of(st.none(), forms(wire_mm))),
    )


def worn() -> st.SearchStrategy[Worn]:
    """What a piece becomes, of any kind, in any standard."""
    kinds = ("ring", "bracelet", "bangle", "cuff", "hoop", "drop", "necklace", "pendant")
    standards = ("iso", "us", "uk", "japan", "wrist", "inside", "diameter", "length")
    return st.builds(
        Worn,
        kind=st.sampled_from(kinds),
        standard=st.sampled_from(standards),
        size=numbers(0.0, 5_000.0),
        ease_mm=st.one_of(st.just(0.0), numbers(0.0, 200.0)),
        aspect=st.one_of(st.just(1.0), numbers(0.3, 1.0)),
        gap_mm=st.one_of(st.just(0.0), numbers(-500.0, 500.0)),
        rolled=st.booleans(),
    )


@st.composite
def set_pearls(draw: st.DrawFn) -> SetPearl:
    """A pearl bound between two places, of any shape, in or out of the line between them."""
    begin = draw(numbers(0.0, 0.99))
    return SetPearl(
        from_share=begin,
        to_share=draw(numbers(begin + 0.001, 1.0)),
        diameter_mm=draw(numbers(0.5, 50.0)),
        length_mm=draw(numbers(0.5, 50.0)),
        shape=draw(st.sampled_from(("round", "button", "rice"))),
        along=draw(st.one_of(st.just(0.5), numbers(-9.0, 10.0))),
        aside=draw(st.one_of(st.just(0.0), numbers(-10.0, 10.0))),
    )


@st.composite
def stones(draw: st.DrawFn) -> Stone:
    """A round stone in a tube or a head, its depth and density said or not."""
    size = draw(numbers(0.3, 50.0))
    setting: Literal["tube", "head"] = draw(st.sampled_from(("tube", "head")))
    return Stone(
        at_share=draw(numbers(0.0, 1.0)),
        size_mm=size,
        seat_mm=draw(numbers(size if setting == "tube" else 0.3, 50.0)),
        setting=setting,
        kind=draw(st.sampled_from(("diamond", "garnet", "cubic-zirconia"))),
        cut=draw(st.sampled_from(("brilliant", "faceted", "cabochon"))),
        depth_mm=draw(st.one_of(st.none(), numbers(0.3, 50.0))),
        density_g_per_cm3=draw(st.one_of(st.none(), numbers(0.5, 25.0))),
        soldered=draw(st.booleans()),
    )


@st.composite
def bindings(draw: st.DrawFn) -> Binding:
    """How pearls are bound on, with beads or without."""
    gauge = draw(numbers(0.1, 3.0))
    return Binding(
        gauge_mm=gauge,
        passes=draw(st.integers(1, 9)),
        wraps=draw(st.integers(0, 50)),
        bead_mm=draw(st.one_of(st.just(0.0), numbers(1.001, 3.0).map(lambda ratio: ratio * gauge))),
    )


def quality_marks() -> st.SearchStrategy[QualityMark]:
    """A place for a mark of any size."""
    return st.builds(
        QualityMark, at_share=numbers(0.0, 1.0), wide_mm=numbers(0.1, 20.0), long_mm=numbers(0.1, 100.0)
    )


@st.composite
def designs(draw: st.DrawFn, wild: bool = False) -> Design:
    """A sound design; variants that its form does not allow are left out."""
    wire_mm = draw(numbers(0.05, 20.0) if wild else numbers(0.4, 3.0))
    own = tuple(draw(own_metals(f"own-{i}")) for i in range(draw(st.integers(0, 2))))
    keys = (*SHIPPED_METALS, *(metal.key for metal in own))
    design = Design(
        title=draw(texts(40)),
        notes=draw(st.lists(texts(30), max_size=3).map("\n".join)),
        wire=Wire(metal=draw(st.sampled_from(keys)), diameter_mm=wire_mm),
        hammer=draw(hammers()),
        form=draw(forms(wire_mm, wild)),
        metals=own,
        bend_marks=draw(st.sampled_from(("round", "grip"))),
        worn=draw(st.one_of(st.none(), worn())),
        pearls=tuple(draw(st.lists(set_pearls(), max_size=2))),
        binding=draw(st.one_of(st.just(Binding()), bindings())),
        stones=tuple(draw(st.lists(stones(), max_size=2))),
        quality_mark=draw(st.one_of(st.none(), quality_marks())),
    )
    for variant in draw(st.lists(variants(keys, wire_mm), max_size=2)):
        try:
            design = sound(replace(design, variants=(*design.variants, variant)))
        except Unsound:
            continue
    return sound(design)
