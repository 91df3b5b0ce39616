"""The truth checks in words and as data: figures, and findings with their places on the wire."""

from __future__ import annotations

from typing import Any

from formsketch.evaluation.even_rows import Gap, Row
from formsketch.evaluation.true_checks import TrueChecks
from formsketch.units import length_text
from formsketch.values import Value

# Halves further apart than this share of the piece were never meant to be alike.
_ALIKE_SHARE = 0.1
_FINEST_MM = 0.01
HEADINGS = ("Where", "Flat", "Rolled", "Off even", "What")


class Finding(Value, frozen=True):
    """One thing found: texts under `HEADINGS`, the places it speaks of, and whether it is not true.

    A place is a sample with the share of the way to the next.
    """

    texts: tuple[str, str, str, str, str]
    places: tuple[float, ...]
    faulty: bool


def findings(checks: TrueChecks, tolerance_mm: float) -> list[Finding]:
    """Everything found, what is not true first, each kind in the order of the wire."""
    found = [_gap_finding(checks, gap, tolerance_mm) for gap in checks.gaps]
    seam = checks.seam
    if seam is not None:
        touches = seam.gap_mm < tolerance_mm
        what = "parts come together here" if touches else "clear"
        rolled = length_text(max(seam.gap_mm, 0.0))
        found.append(
            Finding(("where it closes", "", rolled, "", what), (seam.place, seam.other_place), touches)
        )
    found += _side_findings(checks, tolerance_mm)
    if checks.crossings:
        many = checks.crossings > 1
        what = f"{checks.crossings} crossing{'s stand' if many else ' stands'} off the table"
        stack = f"up to {length_text(checks.stacked_mm)} thick"
        found.append(Finding(("lying flat", stack, "", "", what), _crossing_place(checks), False))
    return sorted(found, key=lambda one: not one.faulty)


def _crossing_place(checks: TrueChecks) -> tuple[int, ...]:
    heights = checks.evaluation.samples.height_mm
    most = max(checks.evaluation.crossings, key=lambda c: heights[c.under_sample] + heights[c.over_sample])
    return (most.over_sample,)


def _gap_finding(checks: TrueChecks, gap: Gap, tolerance_mm: float) -> Finding:
    one = gap.opening
    where = _between(checks, one.part, one.other_part)
    flat = "touching" if gap.touches_flat else length_text(one.gap_mm)
    rolled = "" if gap.rolled_mm is None else length_text(max(gap.rolled_mm, 0.0))
    off = "" if gap.off_mm is None else _off_text(gap.off_mm)
    places = (one.place, one.other_place)
    if gap.touches_flat:
        crosses = _crosses(checks, one.part, one.other_part)
        return Finding((where, flat, "", "", "the wire crosses" if crosses else "touches"), places, False)
    if gap.comes_together:
        return Finding((where, flat, rolled, off, "comes together when rolled"), places, True)
    if gap.off_mm is not None and abs(gap.off_mm) > tolerance_mm:
        what = f"too {'wide' if gap.off_mm > 0 else 'narrow'} for an even row"
        return Finding((where, flat, rolled, off, what), places, True)
    return Finding((where, flat, rolled, off, "even" if gap.off_mm is not None else "clear"), places, False)


def _off_text(off_mm: float) -> str:
    """To a hundredth of a millimetre, which is finer than any hand."""
    return f"{round(off_mm / _FINEST_MM) * _FINEST_MM + 0.0:+.2f} mm".replace("-", "−").replace(
        "+0.00", "0.00"
    )


def _side_findings(checks: TrueChecks, tolerance_mm: float) -> list[Finding]:
    found = []
    halves, upper_lower = checks.halves, checks.upper_lower
    if halves is not None and halves.difference_mm > _ALIKE_SHARE * max(checks.evaluation.envelope_mm):
        texts = ("halves", length_text(halves.difference_mm), "", "", "not alike, and not meant to be")
        found.append(Finding(texts, halves.places, False))
    elif halves is not None:
        how = "mirrored" if halves.mirrored else "turned half round"
        for what, value, places in (
            ("line", halves.difference_mm, halves.places),
            ("width", halves.width_difference_mm, halves.width_places),
        ):
            equal = value <= tolerance_mm
            words = "equal" if equal else "not equal: most here"
            texts = (f"halves {how}, {what}", length_text(value), "", "", words)
            found.append(Finding(texts, places, not equal))
    if upper_lower is not None:
        difference = abs(upper_lower.difference_mm)
        equal = difference <= tolerance_mm
        higher = "upper" if upper_lower.difference_mm > 0 else "lower"
        words = "equal" if equal else f"the {higher} loops reach further"
        texts = ("upper against lower loops", length_text(difference), "", "", words)
        found.append(Finding(texts, (upper_lower.sample,), not equal))
    return found


def _crosses(checks: TrueChecks, part: int, other: int) -> bool:
    parts = checks.evaluation.trace.part
    return any(
        {int(parts[c.under_sample]), int(parts[c.over_sample])} == {part, other}
        for c in checks.evaluation.crossings
    )


def _between(checks: TrueChecks, part: int, other: int) -> str:
    """The two parts by the numbers of their spans, counted from 1."""
    names = [_name(checks, one) for one in (part, other)]
    if names[0] == names[1]:
        return f"within {names[0]}"
    if all(name.startswith("span ") for name in names):
        return f"spans {names[0][5:]} and {names[1][5:]}"
    return f"{names[0]} and {names[1]}"


def _name(checks: TrueChecks, part: int) -> str:
    spans = checks.evaluation.chain.spans
    if part < spans.start:
        return "the start end"
    return "the finish end" if part >= spans.stop else f"span {part - spans.start + 1}"


def row_words(checks: TrueChecks, row: Row) -> str:
    """A row of openings in a sentence: how many, mean, from the least to the greatest, and what is off."""
    what = "tip to tip" if row.tips else f"opening{'s' if len(row.gaps) > 1 else ''}"
    if len(row.gaps) == 1:
        return f"1 {what}, {length_text(row.mean_mm)}."
    told = (
        f"{len(row.gaps)} {what}: mean {length_text(row.mean_mm)}, from {length_text(row.least_mm)} to "
        f"{length_text(row.greatest_mm)}, standard deviation {length_text(row.deviation_mm)}"
    )
    if row.off is None:
        return f"{told}."
    gap = checks.gaps[row.off]
    if abs(gap.off_mm or 0.0) < _FINEST_MM:
        return f"{told}; an even row."
    where = _between(checks, gap.opening.part, gap.opening.other_part)
    return f"{told}; most off an even row {where}, by {_off_text(gap.off_mm or 0.0)}."


def verdict(checks: TrueChecks, tolerance_mm: float) -> str:
    """One sentence on the whole piece."""
    faults = sum(one.faulty for one in findings(checks, tolerance_mm))
    within = f"within {length_text(tolerance_mm)}"
    if not faults:
        return f"True {within}."
    return f"{faults} place{'s' if faults > 1 else ''} not true {within}."


def true_text(checks: TrueChecks, tolerance_mm: float) -> str:
    """All of it to read in a terminal."""
    rows = [list(one.texts) for one in findings(checks, tolerance_mm)]
    table = [list(HEADINGS), *rows]
    wide = [max(len(row[i]) for row in table) for i in range(len(HEADINGS))]
    lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in table]
    told = [row_words(checks, row) for row in checks.rows if len(row.gaps) > 1]
    told += [checks.not_rolled] if checks.not_rolled else []
    title = checks.evaluation.design.title or "Untitled"
    return "\n".join([title, "", verdict(checks, tolerance_mm), *told, "", *lines])


def true_data(checks: TrueChecks, tolerance_mm: float) -> dict[str, Any]:
    """All of it as data: mm; spans counted from 1, null for an end; rolled null where nothing is rolled."""
    spans = checks.evaluation.chain.spans

    def span(part: int) -> int | None:
        return part - spans.start + 1 if spans.start <= part < spans.stop else None

    halves, upper_lower, seam = checks.halves, checks.upper_lower, checks.seam
    return {
        "title": checks.evaluation.design.title,
        "tolerance_mm": tolerance_mm,
        "is_true": not any(one.faulty for one in findings(checks, tolerance_mm)),
        "openings": [
            {
                "spans": [span(gap.opening.part), span(gap.opening.other_part)],
                "flat_mm": gap.opening.gap_mm,
                "rolled_mm": gap.rolled_mm,
                "off_even_mm": gap.off_mm,
                "comes_together": gap.comes_together,
            }
            for gap in checks.gaps
        ],
        "rows": [
            {
                "openings": list(row.gaps),
                "tips": row.tips,
                "mean_mm": row.mean_mm,
                "least_mm": row.least_mm,
                "greatest_mm": row.greatest_mm,
                "standard_deviation_mm": row.deviation_mm,
                "most_off": row.off,
            }
            for row in checks.rows
        ],
        "seam_mm": None if seam is None else seam.gap_mm,
        "halves": None
        if halves is None
        else {
            "how": "mirrored" if halves.mirrored else "turned",
            "difference_mm": halves.difference_mm,
            "width_difference_mm": halves.width_difference_mm,
        },
        "upper_less_lower_mm": None if upper_lower is None else upper_lower.difference_mm,
        "crossings": checks.crossings,
        "thickest_crossing_mm": checks.stacked_mm,
        "not_rolled": checks.not_rolled or None,
    }
