"""A gold or silver piece sampled in brass: which wire, at which size, and what the sample will not tell.

A form and its wire enlarged together by k keep every proportion; areas go with k^2, weight with k^3, and
the force that opens it by a given share of its size with k^2 E, by a given distance with k E. Spread is
taken to be the same in both metals.
"""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from formsketch.bench.gauges import gauge_text
from formsketch.bench.metals import Metal, temper_at
from formsketch.design.edits import applied
from formsketch.design.model import Design, Variant
from formsketch.errors import InputError
from formsketch.evaluation.cautions import PRECIOUS_FROM_G_PER_CM3
from formsketch.evaluation.evaluate import Evaluation, evaluate
from formsketch.forging.springback import curvature_kept_round, loaded_ratio
from formsketch.units import length_text, percent_text, ratio_text, weight_text
from formsketch.values import Result, Value

SAMPLE_METAL = "brass-c26000"
# Far beyond what a bench samples at, in either direction.
SIZE_RANGE = (0.2, 10.0)


class Differing(Value, frozen=True):
    """One thing that differs: the piece, the sample, and what that means at the bench."""

    label: str
    piece: str
    sample: str
    meaning: str


class BrassSample(Result, frozen=True):
    """The sample as a variant of the piece's design, both measured, and what differs."""

    variant: Variant
    piece: Evaluation
    sample: Evaluation
    rows: tuple[Differing, ...]

    @property
    def wire_text(self) -> str:
        """The wire to cut, in words."""
        cut = length_text(self.sample.cut_length_mm)
        return f"Sample it in {self.sample.metal.name}, {gauge_text(self.sample.diameter_mm)}, {cut} of it."


def brass_sample(piece: Evaluation, wire_mm: float | None = None) -> BrassSample:
    """The piece in brass: in the same wire and size, or enlarged with its wire to `wire_mm`.

    Raises `InputError` for a piece that is not of a silver or gold alloy, or a size out of 0.2 to 10, and
    `EditRefused` when the sample cannot be made.
    """
    if piece.metal.density_g_per_cm3 < PRECIOUS_FROM_G_PER_CM3:
        raise InputError(f"A piece of silver or gold was expected; this one is {piece.metal.name}.")
    wire_mm = piece.diameter_mm if wire_mm is None else wire_mm
    scale = wire_mm / piece.diameter_mm
    low, high = SIZE_RANGE
    if not low <= scale <= high:
        raise InputError(
            f"A sample of {low:g} to {high:g} times the size was expected, not {scale:.2f} times."
        )
    title = "brass sample" if scale == 1.0 else f"brass sample, {percent_text(100 * scale)}"
    variant = Variant(
        title=title,
        metal=SAMPLE_METAL,
        scale=scale,
        diameter_mm=None if scale == 1.0 else wire_mm,
    )
    # A metal of the design's own may carry the same key; the sample is of the table's brass.
    sample = evaluate(_plain_metals(applied(replace(piece.design, variants=()), variant)))
    return BrassSample(variant, piece, sample, tuple(_rows(piece, sample, scale)))


def _plain_metals(design: Design) -> Design:
    return replace(design, metals=tuple(metal for metal in design.metals if metal.key != SAMPLE_METAL))


def _rows(piece: Evaluation, sample: Evaluation, scale: float) -> list[Differing]:
    rows = [
        _weight_row(piece, sample),
        _stiffness_row(piece, sample, scale),
        *_springback_rows(piece, sample),
        *_hammering_rows(piece, sample),
        Differing(
            "Spread",
            ratio_text(piece.design.hammer.spread),
            ratio_text(sample.design.hammer.spread),
            "taken to be the same in both metals; a hammered sample of each tells",
        ),
    ]
    if any(end.bead_diameter_mm > 0 for end in piece.ends):
        rows.append(
            Differing(
                "Melting",
                _range(piece.metal.melts_low_c, piece.metal.melts_high_c, "°C"),
                _range(sample.metal.melts_low_c, sample.metal.melts_high_c, "°C"),
                "brass gives off zinc fume when it is overheated: ventilate well",
            )
        )
    return rows


def _weight_row(piece: Evaluation, sample: Evaluation) -> Differing:
    heavier = piece.weight_g / sample.weight_g
    told = f"the piece weighs {ratio_text(heavier)} times the sample in the hand"
    return Differing("Weight", weight_text(piece.weight_g), weight_text(sample.weight_g), told)


def _stiffness_row(piece: Evaluation, sample: Evaluation, scale: float) -> Differing:
    """Force over distance of the whole form goes with E and, all lengths enlarged alike, with the size."""
    low = piece.metal.e_low_gpa / (sample.metal.e_high_gpa * scale)
    high = piece.metal.e_high_gpa / (sample.metal.e_low_gpa * scale)
    share = (
        f"{100 * low:.0f} %" if f"{low:.2f}" == f"{high:.2f}" else f"{100 * low:.0f} to {100 * high:.0f} %"
    )
    return Differing(
        "Stiffness",
        f"E {_range(piece.metal.e_low_gpa, piece.metal.e_high_gpa, 'GPa')}",
        f"E {_range(sample.metal.e_low_gpa, sample.metal.e_high_gpa, 'GPa')}",
        f"the piece is {share} as stiff as the sample, millimetre for millimetre",
    )


def _springback_rows(piece: Evaluation, sample: Evaluation) -> list[Differing]:
    """The middling bend: how much of it springs back, and the tube it wants."""
    lost = [_lost_percent(form) for form in (piece, sample)]
    if lost[0] is None and lost[1] is None:
        return []
    texts = ["not known" if share is None else percent_text(share) for share in lost]
    if lost[0] is None or lost[1] is None:
        meaning = "the yield of one of them is not known; bend a sample of it"
    elif abs(lost[0] - lost[1]) < 0.05:
        meaning = "about the same"
    else:
        more = "more" if lost[0] > lost[1] else "less"
        meaning = f"the piece springs back {more}; choose its tubes from its own template"
    tubes = [_middle(form.spans.tube_diameter_mm) for form in (piece, sample)]
    rows = [Differing("Springs back", texts[0], texts[1], meaning)]
    if tubes[0] is not None and tubes[1] is not None:
        rows.append(
            Differing(
                "Tube, middling bend",
                length_text(tubes[0]),
                length_text(tubes[1]),
                "annealed wire bent once, without pulling",
            )
        )
    return rows


def _lost_percent(form: Evaluation) -> float | None:
    """Curvature lost at the middling bend in per cent of that held; None without a bend or a yield."""
    radius, soft_yield = _middle(form.spans.as_bent_radius_mm), form.metal.soft_yield_mid_mpa
    tube = _middle(form.spans.tube_diameter_mm)
    if radius is None or tube is None or soft_yield is None:
        return None
    held_mm = (tube + form.diameter_mm) / 2
    load = loaded_ratio(held_mm, form.diameter_mm, soft_yield, 1000.0 * form.metal.e_mid_gpa)
    return 100 * (1 - float(curvature_kept_round(load)))


def _middle(values: np.ndarray) -> float | None:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else None


def _hammering_rows(piece: Evaluation, sample: Evaluation) -> list[Differing]:
    """How hard the deepest flare is worked, against what each metal takes between anneals."""
    worked = 100 * float(np.max(piece.spans.strip_reduction))
    if worked <= 0:
        return []
    limits = [_limit(form.metal) for form in (piece, sample)]
    told = [
        "more than" if form.metal.cold_work_limit_low_percent is not None
        and worked > form.metal.cold_work_limit_low_percent else "within"
        for form in (piece, sample)
    ]  # fmt: skip
    rows = [
        Differing(
            "Takes between anneals",
            limits[0],
            limits[1],
            f"the deepest flare is {percent_text(worked)} of cold work: {told[0]} what the piece takes, "
            f"{told[1]} what the sample takes",
        )
    ]
    strengths = [temper_at(form.metal, worked).strength_mpa for form in (piece, sample)]
    if None not in strengths:
        rows.append(
            Differing(
                "Strength, hammered",
                f"{strengths[0]:.0f} MPa",
                f"{strengths[1]:.0f} MPa",
                "tensile, at the deepest flare, between the rows of the metal table",
            )
        )
    return rows


def _limit(metal: Metal) -> str:
    return _range(metal.cold_work_limit_low_percent, metal.cold_work_limit_high_percent, "%")


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None or high is None:
        return "not known"
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"
