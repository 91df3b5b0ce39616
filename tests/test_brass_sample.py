"""A gold or silver piece sampled in brass.

Sources: densities 14k US 13.07, sterling 10.36, C26000 8.53; E 14k 90 to 100, C26000 110 GPa [P]; form and
wire enlarged together by k: weight k^3, force per millimetre k E [D]; spring-back of a round wire loses
16/(3 pi) Sy R/(E c) of its curvature for small loads [D]. AWG: ASTM B258 [P], 12 gauge 2.052525 mm.
"""

import math

import pytest
from msgspec.structs import replace

from formsketch.comparison.brass_sample import Differing, brass_sample
from formsketch.design.edits import with_variants
from formsketch.design.model import BeadEnd, Design, Flare, Form, PostEnd, Run, Span, Wire
from formsketch.errors import EditRefused, InputError
from formsketch.evaluation.evaluate import evaluate

GOLD = Wire(metal="gold-14k-yellow-us", diameter_mm=1.2)
LOOP = Span(length_mm=math.pi * 8, turn_deg=360.0, flare=Flare(thickness=0.5))
PIECE = Design(title="Ring", wire=GOLD, form=Form(runs=(Run(spans=(LOOP,)),)))


def row(rows: tuple[Differing, ...], label: str) -> Differing:
    (found,) = [one for one in rows if one.label == label]
    return found


def test_the_same_size_in_brass_differs_as_the_metals_do() -> None:
    found = brass_sample(evaluate(PIECE))
    assert (found.variant.scale, found.variant.diameter_mm, found.variant.metal) == (
        1.0,
        None,
        "brass-c26000",
    )
    assert found.piece.weight_g / found.sample.weight_g == pytest.approx(13.07 / 8.53)
    assert row(found.rows, "Weight").meaning == "the piece weighs 1.53 times the sample in the hand"
    assert "82 to 91 % as stiff" in row(found.rows, "Stiffness").meaning  # 90/110 and 100/110
    assert row(found.rows, "Spread").piece == row(found.rows, "Spread").sample == "0.80"
    assert found.wire_text.startswith("Sample it in Brass C26000 (70/30), 1.20 mm (between 16 and 17 gauge)")


def test_an_enlarged_sample_keeps_every_proportion() -> None:
    found = brass_sample(evaluate(PIECE), 2.4)
    assert found.variant.scale == pytest.approx(2.0)
    piece, sample = found.piece.proportion, found.sample.proportion
    assert sample.loop_to_wire == pytest.approx(piece.loop_to_wire)
    assert sample.flare_to_wire == pytest.approx(piece.flare_to_wire)
    assert sample.wire_to_height == pytest.approx(piece.wire_to_height, rel=1e-3)
    assert found.sample.weight_g / found.piece.weight_g == pytest.approx(8 * 8.53 / 13.07)
    assert "41 to 45 % as stiff" in row(found.rows, "Stiffness").meaning


def test_springing_back_goes_with_yield_over_stiffness() -> None:
    """14k: 315 over 95 GPa, brass 134 over 110: to first order 16/(3 pi) Sy R/(E c)."""
    found = brass_sample(evaluate(PIECE))
    shown = row(found.rows, "Springs back")
    lost = [float(text.removesuffix(" %")) for text in (shown.piece, shown.sample)]
    radius = float(found.piece.spans.as_bent_radius_mm[0])
    first_order = [
        100 * 16 / (3 * math.pi) * sy * radius / (e * 0.6) for sy, e in ((315, 95e3), (134, 110e3))
    ]
    assert lost == pytest.approx(first_order, abs=0.15)
    assert "the piece springs back more" in shown.meaning


def test_hammering_is_held_against_what_each_metal_takes() -> None:
    """t/d 0.5 at a spread of 0.8; brass takes 50 to 60 %, 14k 60 to 70 % [C]."""
    within = row(brass_sample(evaluate(PIECE)).rows, "Takes between anneals")
    assert (within.piece, within.sample) == ("60 to 70 %", "50 to 60 %")
    assert within.meaning.count("within what") == 2
    thin = replace(LOOP, flare=Flare(thickness=0.32))
    deep = brass_sample(evaluate(replace(PIECE, form=Form(runs=(Run(spans=(thin,)),)))))
    worked = 100 * float(deep.piece.spans.strip_reduction.max())
    assert 50 < worked < 60
    told = row(deep.rows, "Takes between anneals").meaning
    assert "within what the piece takes, more than what the sample takes" in told


def test_beads_are_warned_of_and_a_plain_wire_has_no_rows_of_hammering() -> None:
    beaded = replace(PIECE, form=replace(PIECE.form, start=BeadEnd(diameter_mm=2.4)))
    assert "zinc" in row(brass_sample(evaluate(beaded)).rows, "Melting").meaning
    plain = replace(PIECE, form=Form(runs=(Run(spans=(Span(length_mm=30.0),)),)))
    labels = [one.label for one in brass_sample(evaluate(plain)).rows]
    assert labels == ["Weight", "Stiffness", "Spread"]


def test_brass_and_sizes_out_of_reach_are_refused() -> None:
    brass = replace(PIECE, wire=replace(GOLD, metal="brass-c26000"))
    with pytest.raises(InputError, match="silver or gold was expected"):
        brass_sample(evaluate(brass))
    with pytest.raises(InputError, match="times the size was expected"):
        brass_sample(evaluate(PIECE), 15.0)
    posted = replace(PIECE, form=replace(PIECE.form, start=PostEnd(diameter_mm=0.8)))
    with pytest.raises(EditRefused, match="post no thicker"):
        brass_sample(evaluate(posted), 0.6)


def test_the_sample_can_be_kept_as_a_variant() -> None:
    found = brass_sample(evaluate(PIECE), 2.052525)
    kept = with_variants(PIECE, (found.variant,))
    assert kept.variants[0].title == "brass sample, 171 %"
