"""The numbers of an evaluation as a plain object for other programs, and as text for a person."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from formsketch.bench.gauges import gauge_text
from formsketch.bench.tubes import load_tubes, nearest_tubes
from formsketch.bench.user_tables import user_tubes_file
from formsketch.evaluation.evaluate import Band, Evaluation
from formsketch.evaluation.feel_words import feel_rows
from formsketch.evaluation.set_report import set_data, set_rows
from formsketch.units import (
    angle_text,
    band_text,
    length_text,
    pennyweight_from_g,
    percent_text,
    ratio_text,
    weight_text,
)


def measurement(evaluation: Evaluation) -> dict[str, Any]:
    """Every number of a design under fixed keys, ready for JSON: lengths mm, angles degrees, mass g."""
    e, spans, proportion = evaluation, evaluation.spans, evaluation.proportion
    cut, widest = e.cut_length_band, e.widest_band
    low, high, basis = e.spread_band
    mark_low, mark_high = e.marks_band_mm
    return {
        "title": e.design.title,
        "metal": e.metal.key,
        "diameter_mm": e.diameter_mm,
        "cut_length_mm": e.cut_length_mm,
        "cut_length_range_mm": [cut.low, cut.high],
        "stock_length_mm": e.stock_length_mm,
        "finished_length_mm": e.finished_length_mm,
        "ends": [_end_data(e, number) for number in (0, 1)],
        "start_allowance_mm": e.ends[0].stock_mm,
        "finish_allowance_mm": e.ends[1].stock_mm,
        "weight_g": e.weight_g,
        "weight_dwt": pennyweight_from_g(e.weight_g),
        "envelope_mm": list(e.envelope_mm),
        "silhouette_area_mm2": e.silhouette_area_mm2,
        "widest_mm": e.widest_mm,
        "widest_range_mm": [widest.low, widest.high],
        "thinnest_mm": e.thinnest_mm,
        "spread": e.design.hammer.spread,
        "hammer": {
            "name": e.design.hammer.name,
            "spread": e.design.hammer.spread,
            "low": low,
            "high": high,
            "basis": basis,
            "measured": e.design.hammer.low is not None,
        },
        "proportion": {
            "loop_inside_mm": proportion.loop_inside_mm,
            "loop_to_wire": proportion.loop_to_wire,
            "wire_to_height": proportion.wire_to_height,
            "flare_to_wire": proportion.flare_to_wire,
            "silhouette_to_hull": proportion.silhouette_to_hull,
            "gap_to_wire": proportion.gap_to_wire,
            "grams_per_cm": proportion.grams_per_cm,
        },
        **set_data(e),
        "smallest_gap_mm": e.smallest_gap_mm,
        "crossings": len(e.crossings),
        "cautions": [
            {"code": c.code, "message": c.message, "weight": c.weight, "spans": list(c.spans)}
            for c in e.cautions
        ],
        "spans": [
            {
                "finished_length_mm": float(spans.finished_length_mm[i]),
                "stock_length_mm": float(spans.stock_length_mm[i]),
                "stock_from_mm": float(spans.stock_from_mm[i]),
                "stock_from_range_mm": [float(mark_low[i]), float(mark_high[i])],
                "turn_deg": float(spans.turn_deg[i]),
                "corner_deg": float(spans.corner_deg[i]),
                "thinnest_mm": float(spans.thinnest_mm[i]),
                "widest_mm": float(spans.widest_mm[i]),
                "cold_work_percent": 100 * float(spans.strip_reduction[i]),
                "as_bent_radius_mm": _number_or_none(spans.as_bent_radius_mm[i]),
                "tube_diameter_mm": _number_or_none(spans.tube_diameter_mm[i]),
                "as_bent_turn_deg": float(spans.as_bent_turn_deg[i]),
                "outer_edge_mm": float(spans.outer_edge_mm[i]),
                "inner_edge_mm": float(spans.inner_edge_mm[i]),
            }
            for i in range(len(spans.stock_from_mm))
        ],
    }


def measurement_text(evaluation: Evaluation) -> str:
    """The same numbers as aligned lines for a terminal, each with its unit and how far to trust it."""
    rows = [*_piece_rows(evaluation), *feel_rows(evaluation)]
    wide = max(len(label) for label, _, _ in rows)
    lines = [evaluation.design.title or "Untitled", ""]
    lines += [f"{label:<{wide}}  {value:>18}  {aside}".rstrip() for label, value, aside in rows]
    lines += ["", *_span_lines(evaluation)]
    if evaluation.cautions:
        lines += ["", "Cautions"]
        lines += [f"  {caution.message}" for caution in evaluation.cautions]
    return "\n".join(lines)


def _piece_rows(evaluation: Evaluation) -> Iterator[tuple[str, str, str]]:
    e, p = evaluation, evaluation.proportion
    width, height = e.envelope_mm
    low, high, basis = e.spread_band
    yield "Metal", e.metal.name, f"{e.metal.density_g_per_cm3:.2f} g/cm3"
    yield "Wire", length_text(e.diameter_mm), gauge_text(e.diameter_mm)
    yield "Cut length", length_text(e.cut_length_mm), _band(e.cut_length_band)
    yield "Start", "", e.ends[0].text
    yield "Finish", "", e.ends[1].text
    yield (
        "Finished length",
        length_text(e.finished_length_mm),
        "along the middle of the wire, ends not counted",
    )
    yield (
        "Weight",
        weight_text(e.weight_g),
        f"{pennyweight_from_g(e.weight_g):.2f} dwt, before filing and polish",
    )
    yield from set_rows(e)
    yield "Height × length", f"{height:.1f} × {width:.1f} mm", "laid level"
    yield "Widest", length_text(e.widest_mm), _band(e.widest_band)
    yield "Thinnest", length_text(e.thinnest_mm), ""
    if e.design.hammer.name:
        yield "Hammer", "", e.design.hammer.name
    yield "Spread", ratio_text(e.design.hammer.spread), f"{low:.2f} to {high:.2f}, {basis}"
    if p.loop_to_wire is not None:
        yield "Loop / wire", ratio_text(p.loop_to_wire), f"loop {length_text(p.loop_inside_mm or 0)} inside"
    yield "Wire / height", percent_text(100 * p.wire_to_height), ""
    yield "Flare / wire", ratio_text(p.flare_to_wire), ""
    yield (
        "Metal / hull",
        percent_text(100 * p.silhouette_to_hull),
        f"{e.silhouette_area_mm2:.1f} mm2 of metal in plan",
    )
    if e.smallest_gap_mm is not None:
        yield "Smallest gap", length_text(e.smallest_gap_mm), "between parts that do not touch"
    if p.gap_to_wire is not None:
        yield "Gap / wire", ratio_text(p.gap_to_wire), ""
    yield "Weight / length", f"{weight_text(p.grams_per_cm)}/cm", "of the longer side, laid level"


def _band(band: Band) -> str:
    return band_text(band.low, band.high, band.value)


def _span_lines(evaluation: Evaluation) -> Iterator[str]:
    spans, tubes = evaluation.spans, load_tubes(user_tubes_file())
    low, high = evaluation.marks_band_mm
    yield "Marks and bends on the straight wire, from the start of the cut wire"
    yield (
        f"{'span':>5} {'mark at':>9} {'':<11} {'wire':>8} {'turn':>7} {'tube':>9}  {'nearest':<10} "
        f"{'thinnest':>9} {'widest':>8}"
    )
    for i in range(len(spans.stock_from_mm)):
        tube = float(spans.tube_diameter_mm[i])
        mark_band = band_text(float(low[i]), float(high[i]), float(spans.stock_from_mm[i]))
        nearest = nearest_tubes(tube, tubes, 1)[0].label if math.isfinite(tube) else ""
        tube_text = f"{tube:.2f}" if math.isfinite(tube) else "-"
        yield (
            f"{i + 1:>5} {spans.stock_from_mm[i]:>9.2f} {mark_band:<11} {spans.stock_length_mm[i]:>8.2f} "
            f"{angle_text(float(spans.as_bent_turn_deg[i])):>7} {tube_text:>9}  {nearest:<10} "
            f"{spans.thinnest_mm[i]:>9.2f} {spans.widest_mm[i]:>8.2f}"
        )
    yield f"{'cut':>5} {evaluation.cut_length_mm:>9.2f} {_band(evaluation.cut_length_band)}".rstrip()


def _end_data(e: Evaluation, number: int) -> dict[str, Any]:
    """An end: its word, its wire, and the marks inside it from the form's own outward."""
    end = e.ends[number]
    return {
        "kind": end.word,
        "stock_mm": end.stock_mm,
        "marks": [{"for": mark.words[0], "beyond_mm": mark.beyond_mm} for mark in end.marks],
    }


def _number_or_none(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
