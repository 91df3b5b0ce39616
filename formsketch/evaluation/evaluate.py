"""From a design to all its numbers, in one direction; each step is computed when it is first asked for.

design -> chain -> forged flares -> stock coordinates, tubes, weight
                -> trace -> forged samples -> outline -> envelope, silhouette, proportion
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.bench.carried_metals import is_fuller
from formsketch.bench.hammers import spread_band
from formsketch.bench.metals import Metal, load_metals, metal_from_own
from formsketch.bench.user_tables import user_metals_file
from formsketch.design.model import Design
from formsketch.errors import FormSketchError
from formsketch.evaluation.bands import marks_band_mm
from formsketch.evaluation.cautions import Caution, cautions_of
from formsketch.evaluation.proportion import Proportion
from formsketch.evaluation.span_numbers import SpanNumbers, span_numbers
from formsketch.evaluation.uneven import AsBent, plan_area_lost_mm2
from formsketch.forging.ends import EndPiece, ends_of
from formsketch.forging.forged import (
    ForgedFlares,
    ForgedSamples,
    forge_flares,
    forge_samples,
    stock_fraction_at,
)
from formsketch.forging.section import round_area_mm2
from formsketch.forging.uneven import UnevenFlares, forge_uneven, off_middle_at_mm
from formsketch.geometry.chain import STRAIGHT_TURN_RAD, Chain, chain_of
from formsketch.geometry.clearance import Crossing, crossings, smallest_gap_mm
from formsketch.geometry.outline import Disc, Outline
from formsketch.geometry.over_under import Stretch, stretches_on_top, with_swapped
from formsketch.geometry.trace import CHORD_ERROR_MM, Trace, intervals_needed, level_angle_rad, trace_chain
from formsketch.values import Value

if TYPE_CHECKING:
    from formsketch.evaluation.set_on import SetOn

FloatArray = NDArray[np.float64]


class Band(Value, frozen=True):
    """A number that rests on a model: its value and the range it may fall in."""

    value: float
    low: float
    high: float


class UnknownMetal(FormSketchError):
    """A design in a metal that neither the table nor the design itself describes."""

    def __init__(self, place: str, key: str) -> None:
        self.place = place
        self.expected = f"expected a metal of the table or one the design carries, got {key!r}"
        super().__init__(f"{place}: {self.expected}")


class Evaluation:
    """All numbers and cautions of one design. `evaluate` makes it; nothing in it changes afterwards."""

    def __init__(self, design: Design, metal: Metal, chord_error_mm: float = CHORD_ERROR_MM) -> None:
        """`chord_error_mm`: how far the samples' chords may leave the wire's edges."""
        self.design = design
        self.metal = metal
        self._chord_error_mm = chord_error_mm

    def sampled(self, chord_error_mm: float) -> Evaluation:
        """The same anew, with samples that keep this near to the wire's edges."""
        return Evaluation(self.design, self.metal, chord_error_mm)

    @property
    def diameter_mm(self) -> float:
        return self.design.wire.diameter_mm

    @cached_property
    def ends(self) -> tuple[EndPiece, EndPiece]:
        return ends_of(self.design)

    @cached_property
    def chain(self) -> Chain:
        start, finish = self.ends
        return chain_of(self.design.form, self.diameter_mm, start.parts, finish.parts)

    @cached_property
    def flares(self) -> ForgedFlares:
        return forge_flares(self.chain.flares, self.diameter_mm, self.design.hammer.spread)

    @cached_property
    def uneven(self) -> UnevenFlares | None:
        """What uneven blows do, flare by flare; None where all are even."""
        return forge_uneven(self.chain.flares, self.diameter_mm, self.design.hammer.spread)

    @cached_property
    def as_bent(self) -> AsBent:
        """The spans before hammering."""
        return AsBent(self.chain, self.flares, self.uneven)

    @cached_property
    def spans(self) -> SpanNumbers:
        return span_numbers(self)

    @cached_property
    def finished_length_mm(self) -> float:
        """Centreline of the spans as finished, ends not included."""
        return float(np.sum(self.spans.finished_length_mm))

    @cached_property
    def stock_length_mm(self) -> float:
        """Straight wire in the spans, ends not included."""
        return float(np.sum(self.spans.stock_length_mm))

    @cached_property
    def cut_length_mm(self) -> float:
        """Straight wire to cut, both ends included."""
        return self.ends[0].stock_mm + self.stock_length_mm + self.ends[1].stock_mm

    @cached_property
    def weight_g(self) -> float:
        """Weight of the metal, which all comes from the wire cut; pearls and stones are not in it."""
        return (
            self.cut_length_mm * float(round_area_mm2(self.diameter_mm)) * self.metal.density_g_per_cm3 / 1000
        )

    @cached_property
    def thinnest_mm(self) -> float:
        return float(np.min(self.spans.thinnest_mm))

    @cached_property
    def widest_mm(self) -> float:
        return float(np.max(self.spans.widest_mm))

    @cached_property
    def spread_band(self) -> tuple[float, float, str]:
        """Plausible spread, low and high, and what that rests on."""
        hammer = self.design.hammer
        return spread_band(hammer.spread, hammer.low, hammer.high, hammer.name)

    @cached_property
    def cut_length_band(self) -> Band:
        """Cut length over the plausible range of spread: more spread, less lengthening, more wire."""
        values, flare = [self.cut_length_mm], self.chain.flare
        hammered = flare >= 0
        for other in self.flares_at_band:
            change = other.stock_fraction[flare] - self.flares.stock_fraction[flare]
            values.append(self.cut_length_mm + float(self.chain.length_mm[hammered] @ change[hammered]))
        return Band(values[0], min(values), max(values))

    @cached_property
    def widest_band(self) -> Band:
        """Greatest hammered width over the plausible range of spread."""
        used = self.chain.flare[self.chain.spans]
        values = [self.widest_mm, *(float(np.max(other.widest_mm[used])) for other in self.flares_at_band)]
        return Band(values[0], min(values), max(values))

    @cached_property
    def marks_band_mm(self) -> tuple[FloatArray, FloatArray]:
        """Lowest and highest place of each span's beginning on the straight wire, by plausible spread."""
        return marks_band_mm(self)

    @cached_property
    def flares_at_band(self) -> tuple[ForgedFlares, ForgedFlares]:
        """The flares as forged at the low and the high end of the plausible range of spread."""
        low, high, _ = self.spread_band
        return (
            forge_flares(self.chain.flares, self.diameter_mm, low),
            forge_flares(self.chain.flares, self.diameter_mm, high),
        )

    @cached_property
    def own_trace(self) -> Trace:
        """Samples with the start mark at 0 and the first span beginning along +x."""
        chain, flares = self.chain, self.flares
        widest = np.maximum(
            flares.plan_extreme_mm[chain.flare], np.maximum(chain.diameter_from_mm, chain.diameter_to_mm)
        )
        swell = np.abs(flares.plan_extreme_mm[chain.flare] - self.diameter_mm)
        # The deeper a flare the more sharply it widens near its thinnest place.
        swell *= self.diameter_mm / flares.thinnest_mm[chain.flare]
        if self.uneven is not None:
            widest += 2 * self.uneven.most_off_mm[chain.flare]
        ease = flares.shorter_ease[chain.flare]
        return trace_chain(chain, intervals_needed(chain, widest, swell, ease, self._chord_error_mm))

    @cached_property
    def own_ribbon(self) -> Trace:
        """The middle of the wire's width, which uneven blows move off the line of `own_trace`."""
        if self.uneven is None:
            return self.own_trace
        spread = self.design.hammer.spread
        return self.own_trace.beside(off_middle_at_mm(self.chain, self.own_trace, self.diameter_mm, spread))

    @cached_property
    def trace(self) -> Trace:
        """The ribbon laid level: start and finish mark on one horizontal line, start on the left."""
        return self.own_ribbon.placed(0j, level_angle_rad(self.own_trace, self.chain))

    @cached_property
    def samples(self) -> ForgedSamples:
        return forge_samples(self.chain, self.own_trace, self.diameter_mm, self.design.hammer.spread)

    @cached_property
    def stock_at_samples_mm(self) -> FloatArray:
        """Distance of each sample from the start end of the cut wire, unhammered."""
        trace, chain = self.trace, self.chain
        fraction = stock_fraction_at(self.samples, self.diameter_mm)
        steps = np.diff(trace.u) * (fraction[1:] + fraction[:-1]) / 2
        steps[trace.first[1:-1] - 1] = 0.0
        running = np.concatenate(([0.0], np.cumsum(steps)))
        begin, end = trace.first[:-1], trace.first[1:] - 1
        # Trapezes place the samples inside a part; its exact stock length places the part.
        part_stock = chain.length_mm * (running[end] - running[begin])
        part_stock[chain.spans] = self.spans.stock_length_mm
        start, finish = (end.parts for end in self.ends)
        for number, part in (*enumerate(start[::-1]), *enumerate(finish, chain.spans.stop)):
            part_stock[number] = part_stock[number] if part.stock_mm is None else part.stock_mm
        within = (running - running[begin][trace.part]) / (running[end] - running[begin])[trace.part]
        before_parts = self.ends[0].stock_mm - float(np.sum(part_stock[: chain.spans.start]))
        offset = before_parts + np.concatenate(([0.0], np.cumsum(part_stock)[:-1]))
        return np.asarray(offset[trace.part] + within * part_stock[trace.part])

    @cached_property
    def outline(self) -> Outline:
        """The wire's edge in plan, laid level."""
        chain, flares, span = self.chain, self.flares, self.chain.spans
        mean_width = (chain.diameter_from_mm + chain.diameter_to_mm) / 2
        mean_width[span] = flares.mean_plan_width_mm[chain.flare[span]]
        hammered = chain.flare >= 0
        mean_width[hammered] = flares.mean_plan_width_mm[chain.flare[hammered]]
        area = mean_width * chain.length_mm
        if self.uneven is not None:
            area[span] -= plan_area_lost_mm2(chain, self.uneven)
        return Outline(
            self.trace,
            chain,
            self.samples.plan_width_mm,
            area,
            self.discs_on(self.trace),
            None if self.uneven is None else np.abs(self.own_ribbon.z_mm - self.own_trace.z_mm),
        )

    def discs_on(self, trace: Trace) -> tuple[Disc, ...]:
        """Where this placing has beads and posts, then rounded tips, then the outsides of sharp bends."""
        discs, rounded, chain = [], [], self.chain
        for end, at, outward in self._tips_of(trace):
            if end.bead_diameter_mm > 0:
                discs.append(Disc(at + outward * end.bead_centre_beyond_mm, end.bead_diameter_mm / 2))
            if end.post_diameter_mm > 0:
                discs.append(Disc(at, end.post_diameter_mm / 2))
            if end.tip_width_mm > 0:
                rounded.append(Disc(at, end.tip_width_mm / 2, tip=True))
        discs += rounded
        bent = np.abs(chain.corner_rad) > STRAIGHT_TURN_RAD
        # Where twisted wire is square to its axis it is seen to turn back.
        bent[1:] |= (chain.foreshortening[1:] != 1.0) & (chain.foreshortening[:-1] != 1.0)
        for part in np.flatnonzero(bent):
            if part > 0:
                mark = trace.first[part]
                radius_mm = float(self.samples.plan_width_mm[mark]) / 2
                discs.append(Disc(complex(trace.z_mm[mark]), radius_mm, bend=True))
        return tuple(discs)

    def holes_on(self, trace: Trace) -> tuple[Disc, ...]:
        """The holes drilled through the ends where this placing of the trace has them."""
        return tuple(
            Disc(at + outward * end.hole_beyond_mm, end.hole_diameter_mm / 2)
            for end, at, outward in self._tips_of(trace)
            if end.hole_diameter_mm > 0
        )

    def _tips_of(self, trace: Trace) -> tuple[tuple[EndPiece, complex, complex], ...]:
        """Each end with the place of its tip and the direction outward there."""
        start, finish = self.ends
        return (
            (start, complex(trace.z_mm[0]), -complex(trace.direction[0])),
            (finish, complex(trace.z_mm[-1]), complex(trace.direction[-1])),
        )

    @cached_property
    def envelope_mm(self) -> tuple[float, float]:
        """Width and height of the outline, laid level."""
        x0, y0, x1, y1 = self.outline.bounds_mm
        return x1 - x0, y1 - y0

    @property
    def silhouette_area_mm2(self) -> float:
        """Area the wire covers in plan, less the holes that are drilled within its ends."""
        holes = [end.hole_diameter_mm for end in self.ends if end.hole_diameter_mm < end.tip_width_mm]
        return float(self.outline.silhouette_area_mm2 - np.pi / 4 * sum(hole**2 for hole in holes))

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Where the wire crosses itself, and which part lies over there."""
        return with_swapped(crossings(self.outline), self.design.form.swapped_crossings)

    def stretches_on_top(self, beyond_mm: float = 0.0) -> tuple[Stretch, ...]:
        """What is to be drawn again over the wire, drawn from start to finish, for its swapped crossings.

        Each stretch goes on until the part under it is clear of it by `beyond_mm`.
        """
        if not self.design.form.swapped_crossings:
            return ()
        return stretches_on_top(self.outline, self.crossings, beyond_mm)

    @cached_property
    def smallest_gap_mm(self) -> float | None:
        """The narrowest opening between parts that do not touch, edge to edge in plan."""
        return smallest_gap_mm(self.outline)

    @cached_property
    def proportion(self) -> Proportion:
        return Proportion(self)

    @cached_property
    def set_on(self) -> SetOn:
        """Pearls, stones and the quality mark, the form laid level."""
        # Imported here: most forms hold none, and commands start faster without.
        from formsketch.evaluation.set_on import SetOn

        return SetOn(self)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        return cautions_of(self)


def evaluate(design: Design, metals: Mapping[str, Metal] | None = None) -> Evaluation:
    """Design in, everything out. `metals` is the table to look in after the design's own metals, and for
    what a design does not carry of them, where the table's row is the same metal.

    Raises `UnknownMetal` when the design or one of its variants is of a metal in neither.
    """
    table = load_metals(user_metals_file()) if metals is None else metals
    own = {metal.key: metal for metal in design.metals}
    for number, variant in enumerate(design.variants):
        if variant.metal is not None and variant.metal not in own and variant.metal not in table:
            raise UnknownMetal(f"$.variants[{number}].metal", variant.metal)
    key = design.wire.metal
    carried, row = own.get(key), table.get(key)
    if row is not None and (carried is None or is_fuller(row, carried)):
        return Evaluation(design, row)
    if carried is None:
        raise UnknownMetal("$.wire.metal", key)
    return Evaluation(design, metal_from_own(carried))
