"""The numbers at the bench, beside those of `report`: feel, hammering, bending, surface and wire to order.

Kept apart so that comparing many forms never works them out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from msgspec.structs import asdict

from formsketch.bench.tubes import load_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.evaluation.bend_marks import BEND_MARKS_TEXT
from formsketch.evaluation.bending import OnTube, SpanBend, bending_of
from formsketch.evaluation.evaluate import Evaluation
from formsketch.evaluation.feel_words import feel_data
from formsketch.evaluation.hammer_path import (
    BY_TORCH,
    SOLDERED_JOIN,
    HammerPath,
    ageing_text,
    annealing_text,
    anneals_text,
    hammering_of,
    yield_text,
)
from formsketch.evaluation.surface import section_of, surface_mm2, thinnest_edge_mm
from formsketch.evaluation.wire_account import WireAccount, WireOrder, wire_account
from formsketch.units import angle_text, length_text, percent_text, weight_text

SURFACE_TRUST = "nothing taken off where parts touch"


def bench_measurement(evaluation: Evaluation, order: WireOrder | None = None) -> dict[str, Any]:
    """The further keys of `measure --json`: lengths mm, angles degrees, mass g, shares plain fractions.

    Raises InputError when the order's coil is too short for one piece.
    """
    account = wire_account(evaluation, order)
    return {
        "feel": feel_data(evaluation),
        "surface_mm2": surface_mm2(evaluation),
        "thinnest_edge_mm": thinnest_edge_mm(evaluation),
        "bend_marks": evaluation.design.bend_marks,
        "hammering": [
            {
                "spans": list(one.spans),
                "anneals": one.path.anneals,
                "fewest_anneals": one.path.fewest_anneals,
                "trust": one.path.trust,
                "section": _section(one.path),
                "passes": _passes(one.path),
            }
            for one in hammering_of(evaluation)
        ],
        "bending": [_bend(bend) for bend in bending_of(evaluation, load_tubes(user_tubes_file()))],
        "wire_account": _account(account),
    }


def _section(path: HammerPath) -> dict[str, float] | None:
    """The section of the finished flat."""
    last = path.last
    return None if last is None else asdict(section_of(last.width_mm, last.thickness_mm))


def _passes(path: HammerPath) -> list[dict[str, Any]]:
    return [
        {
            "thickness_mm": step.thickness_mm,
            "width_mm": step.width_mm,
            "cold_work_percent": step.cold_work_percent,
            "in_all_percent": step.in_all_percent,
            "temper": step.temper.name,
            "yield_mpa": step.temper.yield_mpa,
            "hardness_hv": step.temper.hardness_hv,
            "anneal_after": step.anneal_after,
        }
        for step in path.steps
    ]


def _bend(bend: SpanBend) -> dict[str, Any]:
    numbers = asdict(bend)
    numbers["on_tubes"] = [_on_tube(one) for one in bend.on_tubes]
    return numbers


def _on_tube(one: OnTube) -> dict[str, Any]:
    numbers = asdict(one)
    tube = numbers.pop("tube")
    return {"tube": tube.label, "tube_diameter_mm": tube.diameter_mm, **numbers}


def _account(account: WireAccount) -> dict[str, Any]:
    names = (
        "piece_mm",
        "order_mm",
        "per_coil",
        "coils",
        "left_per_coil_mm",
        "left_mm",
        "trims_mm",
        "lost_mm",
    )
    weights = ("order_g", "order_dwt", "order_ozt", "scrap_mm", "scrap_g")
    return asdict(account.order) | {name: getattr(account, name) for name in (*names, *weights)}


def bench_text(evaluation: Evaluation, order: WireOrder | None = None) -> str:
    """The same for a terminal, each number with its unit and how far to trust it."""
    blocks = (
        _hammering_lines(evaluation),
        _bending_lines(evaluation),
        account_lines(wire_account(evaluation, order)),
        iter(
            [
                f"Surface {surface_mm2(evaluation) / 100:.2f} cm2, ends included; {SURFACE_TRUST}",
                f"Thinnest edge {length_text(thinnest_edge_mm(evaluation))}",
            ]
        ),
    )
    return "\n\n".join(text for text in ("\n".join(lines) for lines in blocks) if text)


def _hammering_lines(e: Evaluation) -> Iterator[str]:
    found = hammering_of(e)
    if not found:
        return
    yield "From round to flat, from annealed wire, one B&S number a pass"
    for one in found:
        yield f"  {spans_text(one.spans)}: {anneals_text(one.path)}"
        for step in one.path.steps:
            yield (
                f"  {step.thickness_mm:>8.2f} thick {step.width_mm:>6.2f} wide "
                f"{percent_text(step.cold_work_percent):>7}  {step.temper.name}, {yield_text(step.temper)}"
                f"{'; anneal' if step.anneal_after else ''}"
            )
        if one.path.trust:
            yield f"  Width: {one.path.trust}."
    yield f"  {annealing_text(e.metal)}"
    yield f"  {BY_TORCH}"
    yield f"  {ageing_text(e.metal)}"
    yield f"  {SOLDERED_JOIN}"


def _bending_lines(e: Evaluation) -> Iterator[str]:
    bends = bending_of(e, load_tubes(user_tubes_file()))
    if not any(bend.as_bent_radius_mm is not None for bend in bends):
        return
    yield f"Bending, before hammering; {BEND_MARKS_TEXT[e.design.bend_marks]}"
    yield (
        f"{'span':>5} {'mark at':>9} {'turn':>7} {'bend to':>8} {'tube':>7} {'annealed':>13} {'hard':>7}  "
        "nearest: finished radius"
    )
    for i, bend in enumerate(bends):
        if bend.as_bent_radius_mm is None:
            continue
        low, high = bend.tube_range_mm or (None, None)
        band = "-" if low is None or high is None else f"{low:.2f}-{high:.2f}"
        tried = "; ".join(f"{one.tube.label}: {_mm(one.finished_radius_mm)}" for one in bend.on_tubes)
        yield (
            f"{i + 1:>5} {_mm(mark_mm(bend, e.design.bend_marks)):>9} {angle_text(bend.turn_deg):>7} "
            f"{'-' if bend.held_deg is None else angle_text(bend.held_deg):>8} {_mm(bend.tube_mm):>7} "
            f"{band:>13} {_mm(bend.hard_tube_mm):>7}  {tried}{'; ' + bend.caution if bend.caution else ''}"
        )
    yield "  Spring-back is a range; pulling the wire by hand lessens it, down to none."


def account_lines(account: WireAccount) -> Iterator[str]:
    """What to order and what comes back."""
    order = account.order
    hold = "common practice" if order.hold_is_usual else "your own"
    kerf = "common practice" if order.kerf_is_usual else "your own"
    yield (
        f"Wire: {order.pieces} x {length_text(account.piece_mm)}, with {length_text(order.hold_mm)} to hold "
        f"at each end ({hold}); {length_text(order.kerf_mm)} lost per cut ({kerf})"
    )
    if account.coils is not None and account.left_per_coil_mm is not None and order.coil_mm is not None:
        left = length_text(account.left_per_coil_mm)
        yield f"  {account.per_coil} from {length_text(order.coil_mm)}, {left} left; {account.coils} to buy"
    yield (
        f"  Order {length_text(account.order_mm)}: {weight_text(account.order_g)}, "
        f"{account.order_dwt:.2f} dwt, {account.order_ozt:.3f} ozt"
    )
    yield f"  Comes back {weight_text(account.scrap_g)}: {length_text(account.trims_mm)} of trims" + (
        f", {length_text(account.left_mm)} left over" if account.left_mm else ""
    )


def mark_mm(bend: SpanBend, way: str) -> float | None:
    """The pen mark a bend is made by: its beginning, or its middle where it has one and is gripped."""
    if way == "grip" and bend.grip_at_mm is not None:
        return bend.grip_at_mm
    return bend.round_from_mm


def spans_text(spans: tuple[int, ...]) -> str:
    """Spans (from 0) as the maker counts them: "Span 3", "Spans 2 to 10", "Spans 2, 4, 6"."""
    if len(spans) == 1:
        return f"Span {spans[0] + 1}"
    if spans[-1] - spans[0] == len(spans) - 1:
        return f"Spans {spans[0] + 1} to {spans[-1] + 1}"
    return "Spans " + ", ".join(str(span + 1) for span in spans)


def _mm(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"
