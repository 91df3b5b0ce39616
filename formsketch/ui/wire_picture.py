"""The wire laid on the table, ready to be painted and pointed at."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formsketch.evaluation.evaluate import Evaluation
from formsketch.geometry.outline import Disc
from formsketch.geometry.over_under import Stretch
from formsketch.geometry.trace import Trace
from formsketch.ui.lit_paint import SHADOW_SHARE
from formsketch.ui.lit_tips import with_round_tips
from formsketch.ui.lit_wire import WireSamples
from formsketch.ui.pose import Pose
from formsketch.values import Result

if TYPE_CHECKING:
    from formsketch.evaluation.set_on import SetOn


class PlacedWire(Result, frozen=True):
    """The samples of an evaluation where they lie on the table; y up, mm."""

    evaluation: Evaluation
    trace: Trace
    discs: tuple[Disc, ...]

    @cached_property
    def samples(self) -> WireSamples:
        """What the painter draws: the wire, then its beads and posts."""
        section = self.evaluation.samples
        trace = self.trace
        wire = WireSamples(
            trace.z_mm.real.copy(),
            trace.z_mm.imag.copy(),
            np.angle(trace.direction),
            section.plan_width_mm,
            section.height_mm,
            trace.first,
            tuple((stretch.begin, stretch.end) for stretch in self.on_top),
        )
        start, finish = self.evaluation.ends
        if start.tip_width_mm > 0 or finish.tip_width_mm > 0:
            wire = with_round_tips(wire, start, finish)
        round_ones = [disc for disc in self.discs if not disc.bend and not disc.tip]
        balls = [(d.centre_mm.real, d.centre_mm.imag, d.radius_mm) for d in round_ones]
        return wire.with_balls(balls) if balls else wire

    @cached_property
    def on_top(self) -> tuple[Stretch, ...]:
        """Stretches drawn again so that they lie over, with room for the shadow they throw."""
        shadow_mm = SHADOW_SHARE * float(np.max(self.evaluation.samples.plan_width_mm))
        return self.evaluation.stretches_on_top(shadow_mm)

    @cached_property
    def holes(self) -> tuple[Disc, ...]:
        """The holes drilled through the ends, on the table."""
        return self.evaluation.holes_on(self.trace)

    @cached_property
    def set_on(self) -> SetOn:
        """Pearls, stones and the quality mark where they lie on the table."""
        # Imported here: most forms hold none, and the window opens sooner without.
        from formsketch.evaluation.set_on import SetOn

        return SetOn(self.evaluation, self.trace)

    @cached_property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1) of all that is drawn."""
        z, half = self.trace.z_mm, 0.5 * self.evaluation.samples.plan_width_mm
        x0, y0 = float(np.min(z.real - half)), float(np.min(z.imag - half))
        x1, y1 = float(np.max(z.real + half)), float(np.max(z.imag + half))
        for disc in self.discs:
            x0, x1 = (
                min(x0, disc.centre_mm.real - disc.radius_mm),
                max(x1, disc.centre_mm.real + disc.radius_mm),
            )
            y0, y1 = (
                min(y0, disc.centre_mm.imag - disc.radius_mm),
                max(y1, disc.centre_mm.imag + disc.radius_mm),
            )
        return x0, y0, x1, y1

    def bounds_of_mm(self, parts: Sequence[int]) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1) of these parts of the wire, without beads and posts."""
        own = np.isin(self.trace.part, parts)
        z, half = self.trace.z_mm[own], 0.5 * self.evaluation.samples.plan_width_mm[own]
        return (
            float(np.min(z.real - half)),
            float(np.min(z.imag - half)),
            float(np.max(z.real + half)),
            float(np.max(z.imag + half)),
        )

    @cached_property
    def mark_edges_mm(self) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Both ends of the pen mark at each mark, across the wire."""
        chain, first = self.evaluation.chain, self.trace.first
        marks = np.append(first[chain.spans.start : chain.spans.stop], first[chain.spans.stop] - 1)
        across = 0.5j * self.trace.direction[marks] * self.evaluation.samples.plan_width_mm[marks]
        return self.trace.z_mm[marks] + across, self.trace.z_mm[marks] - across

    def edges_at_mm(self, sample: float, beyond_mm: float = 0.0) -> tuple[complex, complex]:
        """Both edges of the wire at a sample, or between two, each moved outward a little."""
        begin = min(int(sample), len(self.trace.z_mm) - 2)
        share = np.array([begin + 1 - sample, sample - begin])
        near = slice(begin, begin + 2)
        direction = complex(share @ self.trace.direction[near])
        half = 0.5 * float(share @ self.evaluation.samples.plan_width_mm[near]) + beyond_mm
        across = 1j * direction / abs(direction) * half
        at = complex(share @ self.trace.z_mm[near])
        return at + across, at - across

    def centreline_mm(self, part: int) -> NDArray[np.complex128]:
        return self.trace.z_mm[self.trace.first[part] : self.trace.first[part + 1]]

    def sample_near(self, at_mm: complex, slack_mm: float) -> float | None:
        """The place nearest to another on the uppermost wire that covers it, or comes within the slack.

        A sample's number and the share of the way to the next: on a straight span samples lie far apart.
        """
        z, half = self.trace.z_mm, 0.5 * self.evaluation.samples.plan_width_mm
        step = np.diff(z)
        share = ((at_mm - z[:-1]) * step.conj()).real / np.maximum(np.abs(step) ** 2, 1e-18)
        share = np.clip(share, 0.0, 1.0)
        away = np.abs(z[:-1] + share * step - at_mm)
        covered = away <= half[:-1] + share * np.diff(half) + slack_mm
        if not covered.any():
            return None
        hits = np.flatnonzero(covered)
        last = self._drawn_last(hits, hits + share[hits])
        nearest = last[np.argmin(away[last])]
        return float(nearest + share[nearest])

    def _drawn_last(self, hits: NDArray[np.int64], places: NDArray[np.float64]) -> NDArray[np.int64]:
        """Of the intervals that cover a place those of the uppermost part of the wire."""
        for stretch in reversed(self.on_top):
            on_top = hits[(places >= stretch.begin) & (places <= stretch.end)]
            if len(on_top):
                return on_top
        # Elsewhere the part further along lies on top.
        gaps = np.flatnonzero(np.diff(hits) > 1)
        return hits[gaps[-1] + 1 :] if len(gaps) else hits


def placed_wire(evaluation: Evaluation, pose: Pose) -> PlacedWire:
    """Lay an evaluated wire on the table."""
    trace = pose.placed(evaluation.own_ribbon)
    return PlacedWire(evaluation, trace, evaluation.discs_on(trace))
